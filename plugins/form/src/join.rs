//! Joins the modules of the page into one script: each becomes a closed room that hands out what it exports.

/// Joins modules, given in an order in which each stands behind those that it imports.
///
/// The modules keep to a plain form: an import is one line (`import { a, b } from "./x.js";`), an export stands at the
/// start of a line. Comments that fill a whole line are left out, since the page is read by a machine; whoever wants
/// to read the code finds it in plugins/form/page.
pub(crate) fn join(modules: &[(&str, &str)]) -> String {
    let mut script = String::new();
    for (name, text) in modules {
        let mut body = String::new();
        let mut exported = Vec::new();
        for line in text.lines() {
            let trimmed = line.trim_start();
            if trimmed.is_empty() || trimmed.starts_with("//") {
                continue;
            }
            if let Some((names, from)) = line
                .strip_prefix("import { ")
                .and_then(|rest| rest.strip_suffix(".js\";"))
                .and_then(|rest| rest.split_once(" } from \"./"))
            {
                body += &format!("const {{ {names} }} = room_{from};\n");
            } else if let Some(rest) = line.strip_prefix("export ") {
                exported.extend(exported_name(rest));
                body += rest;
                body.push('\n');
            } else {
                body += line;
                body.push('\n');
            }
        }
        script +=
            &format!("const room_{name} = (() => {{\n{body}return {{ {} }};\n}})();\n", exported.join(", "));
    }
    script
}

/// The name that a declaration gives: `function f(`, `async function f(`, `class C`, `const c =`.
fn exported_name(declaration: &str) -> Option<&str> {
    let rest = declaration.strip_prefix("async ").unwrap_or(declaration);
    let rest = ["function ", "class ", "const "].iter().find_map(|word| rest.strip_prefix(word))?;
    rest.split(|c: char| !c.is_alphanumeric() && c != '_').next()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn modules_become_rooms_that_hand_out_what_they_export() {
        let script = join(&[
            ("a", "// about\nexport const ONE = 1;\nexport async function two() {}\nfunction own() {}\n"),
            ("b", "import { ONE, two } from \"./a.js\";\nexport class C extends ONE {}\n"),
        ]);
        assert_eq!(
            script,
            "const room_a = (() => {\nconst ONE = 1;\nasync function two() {}\nfunction own() {}\nreturn { ONE, two };\n})();\n\
             const room_b = (() => {\nconst { ONE, two } = room_a;\nclass C extends ONE {}\nreturn { C };\n})();\n"
        );
    }
}
