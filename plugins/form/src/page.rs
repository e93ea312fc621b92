//! The page: its parts, and how they are put into one file.

use crate::join::join;
use serde_json::Value;

/// The modules, each behind those that it imports.
const MODULES: &[(&str, &str)] = &[
    ("moment", include_str!("../page/moment.js")),
    ("limits", include_str!("../page/limits.js")),
    ("fold", include_str!("../page/fold.js")),
    ("checks", include_str!("../page/checks.js")),
    ("wanting", include_str!("../page/wanting.js")),
    ("file", include_str!("../page/file.js")),
    ("dom", include_str!("../page/dom.js")),
    ("ask_why", include_str!("../page/ask_why.js")),
    ("ask_outside", include_str!("../page/ask_outside.js")),
    ("copy_row", include_str!("../page/copy_row.js")),
    ("pace", include_str!("../page/pace.js")),
    ("photo", include_str!("../page/photo.js")),
    ("keys", include_str!("../page/keys.js")),
    ("store", include_str!("../page/store.js")),
    ("server_store", include_str!("../page/server_store.js")),
    ("journal", include_str!("../page/journal.js")),
    ("screen_before", include_str!("../page/screen_before.js")),
    ("screen_event", include_str!("../page/screen_event.js")),
    ("screen_table", include_str!("../page/screen_table.js")),
    ("screen_shots", include_str!("../page/screen_shots.js")),
    ("screen_after", include_str!("../page/screen_after.js")),
    ("head", include_str!("../page/head.js")),
    ("help", include_str!("../page/help.js")),
    ("app", include_str!("../page/app.js")),
    ("main", include_str!("../page/main.js")),
];

const PAGE: &str = include_str!("../page/page.html");
const STYLE: &str = include_str!("../page/style.css");

/// The page as one file. `pictures` maps the name of a picture to a data address.
pub(crate) fn page(title: &str, ground: &Value, pictures: &Value) -> String {
    let title = title.replace('&', "&amp;").replace('<', "&lt;").replace('"', "&quot;");
    let parts: [(&str, &str); 5] = [
        ("{{title}}", &title),
        ("{{style}}", STYLE),
        ("{{ground}}", &inside_script(ground)),
        ("{{pictures}}", &inside_script(pictures)),
        ("{{script}}", &join(MODULES)),
    ];
    // One pass over the page, so that no part is searched for the marks of another.
    let mut out = String::new();
    let mut rest = PAGE;
    while let Some(at) = rest.find("{{") {
        let (before, from) = rest.split_at(at);
        out += before;
        match parts.iter().find(|(mark, _)| from.starts_with(mark)) {
            Some((mark, text)) => {
                out += text;
                rest = from.get(mark.len()..).unwrap_or_default();
            }
            None => {
                out += "{{";
                rest = from.get(2..).unwrap_or_default();
            }
        }
    }
    out + rest
}

/// JSON that may stand in a script element: no text in it can end the element or open a comment.
fn inside_script(value: &Value) -> String {
    value.to_string().replace('<', "\\u003c")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_text_of_a_job_can_leave_its_place() {
        let hostile = serde_json::json!({ "a": "</script><script>alert(1)</script><!-- {{script}}" });
        let html = page("<b>\"&", &hostile, &Value::Null);
        assert!(!html.contains("alert(1)</script>"));
        assert!(html.contains("<title>&lt;b>&quot;&amp;</title>"));
        assert_eq!(html.matches("{{script}}").count(), 1);
    }

    #[test]
    fn every_module_of_the_folder_is_joined_behind_what_it_imports() {
        let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("page");
        let mut found: Vec<String> = std::fs::read_dir(folder)
            .unwrap()
            .filter_map(|entry| {
                entry.unwrap().file_name().into_string().unwrap().strip_suffix(".js").map(str::to_owned)
            })
            .collect();
        found.sort();
        let mut named: Vec<&str> = MODULES.iter().map(|(name, _)| *name).collect();
        for (index, (name, text)) in MODULES.iter().enumerate() {
            for line in text.lines().filter(|line| line.starts_with("import ")) {
                let from = line.split("./").nth(1).unwrap().split('.').next().unwrap();
                assert!(
                    MODULES[..index].iter().any(|(earlier, _)| *earlier == from),
                    "{name} imports {from}"
                );
            }
        }
        named.sort_unstable();
        assert_eq!(found, named);
    }

    #[test]
    fn the_page_without_pictures_is_small() {
        // The limit is the design's: 300 kB without photos.
        assert!(page("t", &Value::Null, &Value::Null).len() < 150_000);
    }
}
