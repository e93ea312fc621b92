//! Whatever is entered at the bench is in the report, or the report says where it stands: a form with a value of its
//! own in each field that a form can save, taken by one command to report and pack, and each value looked for.
#![allow(clippy::unwrap_used, reason = "a test that can not go on has failed")]

use serde_json::{Value, json};
use std::collections::{BTreeMap, BTreeSet};
use std::io::Read;
use std::path::{Path, PathBuf};
use std::process::Command;

const FILE: &str = "day.form.json";

fn top() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

fn program() -> Command {
    Command::new(env!("CARGO_BIN_EXE_fulgurite"))
}

/// A form in which each field of each kind of entry is filled, with texts and numbers that stand nowhere else.
fn entries() -> Vec<Value> {
    let applied = |point: &str, application: &str, polarity: &str, kv: &str, count: u32, interval: &str| {
        json!({ "point": point, "application": application, "polarity": polarity, "voltage_kv": kv, "mode": "M9",
            "state": "AR", "tip": "round", "count": count, "interval_s": interval, "single": false })
    };
    let copied = |sheet: &str, row: u32, by: &str, day: &str, at: &str| json!({ "sheet": sheet, "row": row, "tested_by": by, "day": day, "at": at });
    let sha = "23e5c96c789570b1a740a7463526bb846d97506642e12a6a5e6b9b3b7a90cd5f";
    let made = vec![
        json!({ "kind": "opened", "why": "first", "storage": "kept as told q01" }),
        json!({ "kind": "said", "about": "person", "values": { "name": "Q. Zwei" } }),
        json!({ "kind": "said", "about": "climate/2026-03-12/1", "values": { "temperature_c": "21.37", "humidity_percent": "43.9", "pressure_hpa": "1013.7", "instrument": "TH-q03" } }),
        json!({ "kind": "said", "about": "climate/2026-03-12/1", "values": { "humidity_percent": "44.8" }, "was": { "humidity_percent": "43.9" }, "why": "read or typed wrongly" }),
        json!({ "kind": "said", "about": "check/2026-03-12/bleeder", "values": { "kind": "bleeder", "what": "cable q05", "unit": "kohm", "least": "846.5", "most": "1034.5", "reading": "957.25" } }),
        json!({ "kind": "said", "about": "check/2026-03-12/strap", "values": { "kind": "strap", "what": "strap q06", "in_order": true } }),
        json!({ "kind": "said", "about": "generator", "values": { "equipment": "G-1", "network_pf": "151.5", "network_ohm": "333.5", "contact_tip": "sharp", "air_tip": "round", "return_cable": "course q07" } }),
        json!({ "kind": "said", "about": "earthed", "values": { "earthed": false } }),
        json!({ "kind": "said", "about": "charge", "values": { "method": "brush q09" } }),
        json!({ "kind": "said", "about": "weather", "values": { "sky": "grey q10" } }),
        json!({ "kind": "shot", "series": "3", "spark": true }),
        json!({ "kind": "shot", "series": "3", "spark": false }),
        json!({ "kind": "happened", "event": "e1", "series": "1", "shot": 17 }),
        json!({ "kind": "told", "event": "e1", "values": { "affected": "item", "coincident": true, "function": "display", "seen": "dark q13", "state_changed": false, "data_lost": false, "restored": "by-itself", "before_next": true, "lasted_s": "3.75", "remark": "remark q13", "smell": "ozone q13" } }),
        json!({ "kind": "done", "series": "1", "applied": applied("P1", "contact", "positive", "4", 21, "1.25"), "watched": false }),
        json!({ "kind": "done", "series": "3", "applied": applied("P2", "air", "positive", "8.1", 23, "1.75"), "watched": true, "sparks": 19 }),
        json!({ "kind": "skip", "series": "2", "why": "skipped q16", "by": "B. Drei" }),
        json!({ "kind": "skip", "series": "4", "why": "overtaken q17" }),
        json!({ "kind": "next", "series": "4", "why": "chosen q18" }),
        json!({ "kind": "done", "series": "4", "applied": applied("P2", "air", "negative", "8.2", 27, "2.25"), "watched": true,
            "copied": copied("SHEET-q19", 419, "C. Vier", "2026-03-11", "2026-03-11T07:53:00") }),
        json!({ "kind": "outside", "series": "x1", "why": "outside q20", "planned": { "point": "P1", "application": "contact", "polarity": "negative", "voltage_kv": "4.5", "mode": "M9", "count": 37, "interval_s": "2.75", "tip": "sharp" } }),
        json!({ "kind": "note", "text": "regretted q21" }),
        json!({ "kind": "undo", "of": 22, "why": "undone q22" }),
        json!({ "kind": "state", "state": "MOD-q23", "description": "braid q23", "reason": "reason q23" }),
        json!({ "kind": "photo", "file": "photo-q24.jpg", "type": "image/jpeg", "bytes": 11, "sha256": sha, "about": "P1", "caption": "Taken q24: P1" }),
        json!({ "kind": "note", "text": "remark q25" }),
        json!({ "kind": "clock", "moved_s": 3671 }),
        json!({ "kind": "left" }),
        json!({ "kind": "opened", "why": "after-interruption", "gap_s": 4733, "taken_over": true, "storage": "kept q28" }),
        json!({ "kind": "saved", "file": "saved-q29.form.json" }),
        json!({ "kind": "opened", "why": "loaded", "file": "loaded-q30.form.json", "gap_s": 7411 }),
        json!({ "kind": "happened", "event": "e2", "copied": copied("SHEET-q31", 431, "D. Acht", "2026-03-10", "2026-03-10T06:41:00") }),
        json!({ "kind": "told", "event": "e2", "values": { "affected": "associated", "seen": "beep q32" } }),
        json!({ "kind": "signed", "name": "E. Neun" }),
    ];
    let mut entries = Vec::new();
    for (entry, n) in made.into_iter().zip(1u32..) {
        let mut entry = entry;
        let object = entry.as_object_mut().unwrap();
        object.insert("n".into(), n.into());
        object.insert("key".into(), format!("opl-{n}").into());
        object.insert("at".into(), format!("2026-03-12T{:02}:{:02}:00.000+01:00", 9 + n / 60, n % 60).into());
        object.entry("by").or_insert_with(|| "Q. Zwei".into());
        entries.push(entry);
    }
    entries
}

/// The form as the page saves it, and the row of each entry.
fn form(entries: &[Value]) -> (String, u64) {
    let mut text =
        std::fs::read_to_string(top().join("tests/cases/form/ok-everything/input").join(FILE)).unwrap();
    text = text
        .replace(r#""modes":[]"#, "")
        .replace(r#""functions":[{"#, r#""modes":[{"id":"M9"}],"functions":[{"#);
    let (head, _) = text.split_once("\"journal\": [\n").unwrap();
    let head = head.replace(r#""air_kv":["8"]"#, r#""air_kv":["8"],"interval_s":"1""#);
    let first = head.matches('\n').count() as u64 + 2;
    let rows: Vec<String> = entries.iter().map(|entry| format!("  {entry}")).collect();
    let photo = "  \"photo-q24.jpg\": \"/9j/4AAQSkZJRgA=\"";
    (format!("{head}\"journal\": [\n{}\n],\n\"photos\": {{\n{photo}\n}}\n}}\n", rows.join(",\n")), first)
}

/// A time or a day as the English report writes it; everything else as it stands.
fn as_printed(text: &str) -> String {
    let (date, time) = text.split_once('T').unwrap_or((text, ""));
    let parts: Vec<&str> = date.split('-').collect();
    match (parts.as_slice(), date.len()) {
        ([year, "03", day], 10) => {
            let time = time.get(..5).map(|time| format!(", {time}")).unwrap_or_default();
            format!("{} March {year}{time}", day.trim_start_matches('0'))
        }
        _ => text.to_owned(),
    }
}

/// What a person reads on the page.
fn shown(html: &str) -> String {
    let mut text = String::new();
    let mut inside = true;
    for character in html.split("<body").nth(1).unwrap_or_default().chars() {
        match character {
            '<' => inside = true,
            '>' if inside => inside = false,
            _ if !inside => text.push(character),
            _ => {}
        }
    }
    for (mark, sign) in [("&#160;", " "), ("&quot;", "\""), ("&lt;", "<"), ("&gt;", ">"), ("&amp;", "&")] {
        text = text.replace(mark, sign);
    }
    text
}

fn squeezed(text: &str) -> String {
    text.chars()
        .filter(|c| !c.is_whitespace() && *c != '\u{a0}' && *c != '\u{202f}')
        .collect::<String>()
        .to_lowercase()
}

/// The list of what is not printed: the rows of each kind.
fn kept(html: &str, words: &toml::Table) -> BTreeMap<String, BTreeSet<u64>> {
    let mut kinds: BTreeMap<String, BTreeSet<u64>> = BTreeMap::new();
    let list = html.split("id=\"kept\"").nth(1).unwrap_or_default().split("</ul>").next().unwrap_or_default();
    for line in list.split("<li>").skip(1) {
        let line = shown(&format!("<body>{line}"));
        let known = words["kept_what"].as_table().unwrap();
        let (kind, said) = known
            .iter()
            .find(|(_, said)| squeezed(&line).starts_with(&squeezed(said.as_str().unwrap())))
            .unwrap_or_else(|| panic!("no such kind: {line}"));
        let said = squeezed(said.as_str().unwrap());
        let places = squeezed(&line).split_off(said.len());
        let found = kinds.entry(kind.clone()).or_default();
        for part in places.replace(&format!("{FILE}:"), "").split([',', ';']) {
            let mut ends = part.split('\u{2013}').filter_map(|end| end.parse::<u64>().ok());
            if let Some(first) = ends.next() {
                found.extend(first..=ends.next().unwrap_or(first));
            }
        }
    }
    kinds
}

/// Fields that name an entry or point to one; nobody types them.
const LINKS: &[&str] = &["/n", "/key", "/of", "/event", "/series"];

/// Kinds of the list that may answer for a field.
fn answers_for(path: &str) -> &'static [&'static str] {
    match path.split('/').nth(1).unwrap_or_default() {
        "at" => &["at", "session", "shots", "taken-back"],
        "by" => &["by", "taken-back"],
        "why" => &["why", "session", "taken-back"],
        "storage" | "taken_over" | "gap_s" => &["session"],
        "file" => &["session", "taken-back"],
        "type" => &["photo"],
        "planned" => &["planned", "taken-back"],
        "values" => &["values", "earlier", "taken-back"],
        "copied" => &["copied", "taken-back"],
        "spark" => &["shots"],
        "text" | "name" => &["taken-back", "earlier"],
        _ => &[],
    }
}

/// How an answer of yes or no, or a word of a closed set, is printed; other values are looked for as they stand.
fn in_words(path: &str, value: &Value) -> Option<&'static str> {
    Some(match (path, value) {
        ("/watched", Value::Bool(true)) => "Watched: all the time",
        ("/watched", Value::Bool(false)) => "Watched: not all the time",
        ("/applied/single", _) => "at a repetition rate",
        ("/applied/application" | "/planned/application", value) if value == "air" => "air",
        ("/applied/polarity" | "/planned/polarity", value) if value == "positive" => "+",
        ("/applied/polarity" | "/planned/polarity", _) => "\u{2212}",
        ("/applied/tip", _) => "round tip",
        ("/values/kind", value) if value == "bleeder" => "Bleeder cable",
        ("/values/unit", value) if value == "kohm" => "k\u{3a9}",
        ("/values/kind", _) => "Return strap",
        ("/values/in_order", _) => "strap q06–––yes",
        ("/values/earthed", _) => "Earthed no",
        ("/values/affected", value) if value == "item" => "affected: the item",
        ("/values/affected", _) => "affected: associated equipment only",
        ("/values/coincident", _) => "coincident with a discharge: yes",
        ("/values/state_changed", _) => "operating state changed: no",
        ("/values/data_lost", _) => "stored data lost: no",
        ("/values/restored", _) => "restored: by itself",
        ("/values/before_next", _) => "over before the next discharge: yes",
        ("/why", value) if value == "after-interruption" => "without having been left in order",
        _ => return None,
    })
}

fn leaves(value: &Value, path: &str, into: &mut Vec<(String, Value)>) {
    match value {
        Value::Object(map) => {
            map.iter().for_each(|(key, inner)| leaves(inner, &format!("{path}/{key}"), into))
        }
        Value::Null => {}
        _ => into.push((path.to_owned(), value.clone())),
    }
}

/// Fields that are neither printed nor listed, with their rows.
fn lost(entries: &[Value], first: u64, said: &str, kept: &BTreeMap<String, BTreeSet<u64>>) -> Vec<String> {
    let said = squeezed(said);
    let mut lost = Vec::new();
    for (entry, row) in entries.iter().zip(first..) {
        let mut fields = Vec::new();
        leaves(entry, "", &mut fields);
        for (path, value) in fields {
            if path == "/kind"
                || path == "/about" && entry["kind"] == "said"
                || LINKS.contains(&path.as_str())
            {
                // What an entry is, is said by where it stands.
                continue;
            }
            let text = value.as_str().map_or_else(|| value.to_string(), str::to_owned);
            let words = in_words(&path, &value).map_or_else(|| as_printed(&text), str::to_owned);
            // A raw time stands in findings and remarks.
            let printed =
                said.contains(&squeezed(&words)) || said.contains(&squeezed(&text)) && text.len() > 3;
            let listed =
                answers_for(&path).iter().any(|kind| kept.get(*kind).is_some_and(|rows| rows.contains(&row)));
            if !printed && !listed {
                lost.push(format!("row {row} ({}) {path}: {text}", entry["kind"]));
            }
        }
    }
    lost
}

#[test]
fn each_field_of_a_form_is_in_the_report_or_named_there() {
    let folder = tempfile::tempdir().unwrap();
    let entries = entries();
    let (text, first) = form(&entries);
    std::fs::write(folder.path().join(FILE), &text).unwrap();

    // Nothing that a form can save is left out of this form.
    let schema = program().args(["schema", "form"]).output().unwrap();
    let schema: Value = serde_json::from_slice(&schema.stdout).unwrap();
    for (part, holders) in [
        ("Entry", entries.iter().collect::<Vec<_>>()),
        ("Applied", entries.iter().filter_map(|e| e.get("applied")).collect()),
        ("Outside", entries.iter().filter_map(|e| e.get("planned")).collect()),
        ("Copied", entries.iter().filter_map(|e| e.get("copied")).collect()),
    ] {
        let fields = schema["$defs"][part]["properties"].as_object().unwrap_or_else(|| panic!("{part}"));
        let left: Vec<&String> = fields
            .keys()
            .filter(|key| !holders.iter().any(|held| held.get(key.as_str()).is_some()))
            .collect();
        assert!(left.is_empty() && !fields.is_empty(), "{part}: {left:?}");
    }
    let kinds = schema["$defs"]["Kind"]["oneOf"].as_array().unwrap();
    for kind in kinds.iter().map(|kind| &kind["const"]) {
        assert!(entries.iter().any(|entry| entry["kind"] == *kind), "{kind}");
    }

    // One command: form, record, report, pack.
    let made = program()
        .args(["convert", FILE, "--to", "html,pdf,json,pack", "--out", "made"])
        .current_dir(folder.path())
        .output()
        .unwrap();
    assert!(made.status.success(), "{}", String::from_utf8_lossy(&made.stderr));
    let file = |ending: &str| {
        std::fs::read_dir(folder.path().join("made"))
            .unwrap()
            .map(|entry| entry.unwrap().path())
            .find(|path| path.to_string_lossy().ends_with(ending))
            .unwrap_or_else(|| panic!("no {ending}"))
    };
    let html = std::fs::read_to_string(file(".html")).unwrap();
    let words = |language: &str| -> toml::Table {
        let path = top().join(format!("templates/report/languages/{language}.toml"));
        toml::from_str(&std::fs::read_to_string(path).unwrap()).unwrap()
    };
    let list = kept(&html, &words("en"));
    assert!(list.contains_key("links"), "{list:?}");
    let said = shown(&html);
    assert_eq!(lost(&entries, first, &said, &list), Vec::<String>::new(), "{list:?}");
    // Without its line in the list, or its text on the page, a field is missed.
    assert!(!lost(&entries, first, &said.replace("remark q25", ""), &list).is_empty());
    assert!(!lost(&entries, first, &said, &BTreeMap::new()).is_empty());

    // The pack holds the form as it was read, so what the list names can be found.
    let mut pack = zip::ZipArchive::new(std::fs::File::open(file(".zip")).unwrap()).unwrap();
    let held = (0..pack.len()).any(|at| {
        let mut bytes = Vec::new();
        pack.by_index(at).unwrap().read_to_end(&mut bytes).unwrap();
        bytes == text.as_bytes()
    });
    assert!(held);

    // The list in every language, on both papers.
    for language in ["de", "fr", "es", "ja"] {
        let made = program()
            .args(["convert", FILE, "--to", "html", "--lang", language, "--out", language])
            .current_dir(folder.path())
            .output()
            .unwrap();
        assert!(made.status.success(), "{}", String::from_utf8_lossy(&made.stderr));
        let path = std::fs::read_dir(folder.path().join(language)).unwrap().next().unwrap().unwrap().path();
        let page = std::fs::read_to_string(path).unwrap();
        let words = words(language);
        assert!(page.contains(words["kept"]["title"].as_str().unwrap()), "{language}");
        assert_eq!(kept(&page, &words), list, "{language}");
    }
    if let Ok(told) =
        Command::new("pdftotext").args(["-raw", "-enc", "UTF-8"]).arg(file(".pdf")).arg("-").output()
    {
        let pdf = squeezed(&String::from_utf8_lossy(&told.stdout).replace('\u{ad}', "-"));
        assert!(pdf.contains("entered,notprintedhere"));
        let part = html.split("id=\"kept\"").nth(1).unwrap().split("</ul>").next().unwrap();
        assert!(pdf.contains("regretted") == said.contains("regretted"));
        assert!(part.contains(FILE));
    }
}

/// The form of the demonstration's whole plan, without its pictures, stays small enough for any tablet.
#[test]
fn a_form_without_its_pictures_is_small() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("bench.html");
    let made = program()
        .arg("form")
        .arg(top().join("tests/demo/lock-gate"))
        .arg("--out")
        .arg(&out)
        .output()
        .unwrap();
    assert!(made.status.success(), "{}", String::from_utf8_lossy(&made.stderr));
    let page = std::fs::read_to_string(out).unwrap();
    let (before, rest) = page.split_once("id=\"pictures\">").unwrap();
    let (pictures, after) = rest.split_once("</script>").unwrap();
    assert!(pictures.contains("data:image/"));
    let bytes = before.len() + after.len();
    println!("{bytes} bytes without pictures, {} with them", page.len());
    // The design's limit.
    assert!(bytes <= 300_000, "{bytes} bytes");
}
