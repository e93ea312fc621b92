//! A page that was made, turned into one that writes its journal to the program that serves it.

use serde_json::Value;

/// A page for a server, and what the server must know of it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Served {
    /// The page.
    pub html: String,
    /// The form's identity.
    pub id: String,
    /// The first line of the journal's file: the form without its journal.
    pub head: String,
}

/// Where the ground stands in a page.
const GROUND: (&str, &str) = ("<script type=\"application/json\" id=\"ground\">\n", "\n</script>");
/// What a page from disk may do, and what a served one may do beside it: speak to where it came from.
const ALONE: (&str, &str) = ("form-action 'none'", "connect-src 'self'; form-action 'none'");
/// Where the page learns that it is served.
const MARK: (&str, &str) =
    ("<meta name=\"viewport\"", "<meta name=\"served\" content=\"yes\">\n<meta name=\"viewport\"");

/// Turns a page made by this program into one to be served; none where it is no such page.
pub fn served(page: &str) -> Option<Served> {
    let from = page.find(GROUND.0)? + GROUND.0.len();
    let ground = page.get(from..)?.split(GROUND.1).next()?;
    let mut ground: Value = serde_json::from_str(ground).ok()?;
    let object = ground.as_object_mut()?;
    object.retain(|key, _| ["form", "id", "program", "standard", "plan", "facts"].contains(&key.as_str()));
    let id = object.get("id")?.as_str()?.to_owned();
    // The marks stand in the head, before any text of a job.
    let head = page.find("</head>").filter(|end| *end < from)?;
    let (top, rest) = page.split_at(head);
    if !top.contains(ALONE.0) || !top.contains(MARK.0) {
        return None;
    }
    let top = top.replacen(ALONE.0, ALONE.1, 1).replacen(MARK.0, MARK.1, 1);
    Some(Served { html: format!("{top}{rest}"), id, head: ground.to_string() })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::page::page;
    use serde_json::json;

    #[test]
    fn a_page_is_served_with_leave_to_speak_to_its_server_and_nobody_else() {
        let ground = json!({ "form": 1, "id": "abc", "program": "p", "standard": null, "plan": [], "facts": { "a": "</script>" }, "limits": { "x": 1 } });
        let alone = page("form-action 'none'", &ground, &Value::Null);
        assert!(!alone.contains("connect-src"));
        let made = served(&alone).unwrap();
        assert_eq!(made.html.matches("connect-src 'self'; form-action 'none'").count(), 1);
        assert_eq!(made.id, "abc");
        assert_eq!(serde_json::from_str::<Value>(&made.head).unwrap()["facts"]["a"], "</script>");
        assert!(!made.head.contains("limits") && !made.head.contains('\n'));
        assert!(served("<html></html>").is_none());
    }
}
