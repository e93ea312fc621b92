//! What stands on paper and on the page, read back by poppler: the same words in both, everything on the page, and
//! nothing over anything else, for the demonstration jobs and for jobs that strain a paper.
//!
//! Poppler's `pdfinfo -struct-text` gives the text of a PDF by its tags, `pdftotext -bbox` the box of every word.
#![allow(clippy::unwrap_used, clippy::print_stderr, reason = "a test that can not go on has failed")]

use std::path::{Path, PathBuf};
use std::process::Command;

/// Shapes and languages: each shape, and each language, at least twice over the jobs.
const MADE: &[(&str, &str)] = &[
    ("report", "en"),
    ("summary", "de"),
    ("protocol", "ja"),
    ("summary", "ja"),
    ("report", "fr"),
    ("protocol", "es"),
];

fn top() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

/// Whether poppler is at hand; CI has to have it.
fn poppler() -> bool {
    let there = Command::new("pdfinfo").arg("-v").output().is_ok();
    assert!(there || std::env::var_os("CI").is_none(), "poppler-utils is needed");
    if !there {
        eprintln!("skipped: poppler-utils is not installed");
    }
    there
}

/// Converts a job; gives the exit code and the papers by their ending.
fn convert(job: &Path, template: &str, language: &str, out: &Path) -> Option<i32> {
    let mut program = Command::new(env!("CARGO_BIN_EXE_fulgurite"));
    program.arg("convert").arg(job).args(["--to", "pdf,html", "--replace", "--quiet"]);
    program.args(["--template", template, "--lang", language, "--out"]).arg(out);
    program.output().unwrap().status.code()
}

/// The paper with an ending in a folder.
fn paper(folder: &Path, ending: &str) -> PathBuf {
    let mut found: Vec<PathBuf> = std::fs::read_dir(folder)
        .unwrap()
        .map(|e| e.unwrap().path())
        .filter(|p| p.extension().is_some_and(|e| e == ending))
        .collect();
    assert_eq!(found.len(), 1, "{ending} in {}: {found:?}", folder.display());
    found.remove(0)
}

fn told(program: &str, arguments: &[&str], file: &Path, more: &[&str]) -> String {
    let output = Command::new(program).args(arguments).arg(file).args(more).output().unwrap();
    String::from_utf8_lossy(&output.stdout).into_owned()
}

/// Elements that part no words.
const INLINE: &[&str] = &["a", "span", "strong", "em", "code", "sup", "svg"];

/// Words of a PDF in the order of its tags. Running heads and feet and the repeated heads of tables are no part of
/// the tagged content, so nothing is taken off but the dashes before list entries, which the page's style draws.
/// Labels inside a picture are one word: where each stands is the picture's affair.
fn pdf_words(file: &Path) -> Vec<String> {
    let text = told("pdfinfo", &["-struct-text"], file, &[]);
    let mut out = String::new();
    let (mut before, mut in_picture) = ("", false);
    for line in text.lines().map(str::trim) {
        if let Some(words) = line.strip_prefix('"').and_then(|l| l.strip_suffix('"')) {
            if in_picture {
                out.extend(words.chars().filter(|c| !c.is_whitespace()));
            } else if !(before.starts_with("Lbl") && words.trim() == "\u{2013}") {
                out.push_str(words);
            }
        } else if !["Link", "Object"].iter().any(|inline| line.starts_with(inline)) {
            in_picture = line.starts_with("Figure");
            out.push('\n');
        }
        before = line;
    }
    split(&out)
}

fn split(text: &str) -> Vec<String> {
    // Signs of no width are not drawn.
    let drawn = text.replace(['\u{feff}', '\u{200b}', '\u{2060}'], "");
    drawn.split_whitespace().map(str::to_owned).collect()
}

/// Words of a page's content, without the names of pictures, which are for the ear.
fn html_words(file: &Path) -> Vec<String> {
    let text = std::fs::read_to_string(file).unwrap();
    let main = text.split("<main>").nth(1).unwrap().split("</main>").next().unwrap();
    let mut out = String::new();
    let (mut rest, mut in_picture) = (main, false);
    let put = |out: &mut String, text: &str, in_picture: bool| {
        out.extend(text.chars().filter(|c| !(in_picture && c.is_whitespace())));
    };
    while let Some((before, after)) = rest.split_once('<') {
        put(&mut out, before, in_picture);
        if let Some(inside) = after.strip_prefix("title") {
            rest = inside.split_once("</title>").unwrap().1;
            continue;
        }
        let closes = after.starts_with('/');
        let name: String =
            after.trim_start_matches('/').chars().take_while(char::is_ascii_alphanumeric).collect();
        if name == "svg" {
            in_picture = !closes;
        } else if !in_picture && !INLINE.contains(&name.as_str()) {
            out.push('\n');
        }
        rest = after.split_once('>').unwrap().1;
    }
    put(&mut out, rest, in_picture);
    for (name, sign) in [("&lt;", "<"), ("&gt;", ">"), ("&quot;", "\""), ("&#39;", "'"), ("&amp;", "&")] {
        out = out.replace(name, sign);
    }
    split(&out)
}

/// Both papers of a folder say the same words; gives how many signs they have.
fn same_words(out: &Path, what: &str) -> usize {
    let (a, b) = (pdf_words(&paper(out, "pdf")), html_words(&paper(out, "html")));
    if a != b {
        let at = a.iter().zip(&b).take_while(|(x, y)| x == y).count();
        let near = |t: &[String]| {
            t.iter().skip(at.saturating_sub(4)).take(12).cloned().collect::<Vec<_>>().join(" ")
        };
        panic!("{what}: PDF `{}`, page `{}`", near(&a), near(&b));
    }
    a.iter().map(|word| word.chars().count()).sum()
}

/// A word's box.
struct Word {
    left: f32,
    top: f32,
    right: f32,
    bottom: f32,
    text: String,
}

/// Words by page, and each page's size.
fn words(file: &Path) -> Vec<(f32, f32, Vec<Word>)> {
    let text = told("pdftotext", &["-bbox"], file, &["-"]);
    let number = |line: &str, name: &str| -> f32 {
        line.split(&format!("{name}=\"")).nth(1).unwrap().split('"').next().unwrap().parse().unwrap()
    };
    let mut pages = Vec::new();
    for line in text.lines().map(str::trim) {
        if line.starts_with("<page ") {
            pages.push((number(line, "width"), number(line, "height"), Vec::new()));
        } else if line.starts_with("<word ")
            && let Some(page) = pages.last_mut()
        {
            let [left, top, right, bottom] = ["xMin", "yMin", "xMax", "yMax"].map(|n| number(line, n));
            let text = line.split('>').nth(1).unwrap().trim_end_matches("</word").to_owned();
            page.2.push(Word { left, top, right, bottom, text });
        }
    }
    pages
}

/// Words that stand outside the text column, or over others. A line's box is taller than its letters, so the middle
/// of it is compared.
fn troubles(file: &Path) -> Vec<String> {
    let mut out = Vec::new();
    let pages = words(file);
    assert!(!pages.is_empty(), "{}", file.display());
    for (index, (width, height, mut words)) in pages.into_iter().enumerate() {
        let page = index + 1;
        for w in &words {
            if w.left < 60.0 || w.right > width - 60.0 || w.top < 30.0 || w.bottom > height - 30.0 {
                out.push(format!("page {page}: `{}` is outside: {} to {}", w.text, w.left, w.right));
            }
        }
        for w in &mut words {
            // The right half of these signs is blank, and the sign behind it may stand there. Poppler's box is as wide
            // as the font says, and as high as a sign of full width is wide.
            if w.text.ends_with(['、', '。', '）', '」', '』', '】']) {
                w.right -= (w.bottom - w.top) / 2.0;
            }
            let slack = (w.bottom - w.top) * 0.3;
            (w.top, w.bottom) = (w.top + slack, w.bottom - slack);
        }
        for (i, a) in words.iter().enumerate() {
            for b in &words[i + 1..] {
                let across = a.right.min(b.right) - a.left.max(b.left);
                let down = a.bottom.min(b.bottom) - a.top.max(b.top);
                if across > 1.0 && down > 0.5 {
                    out.push(format!("page {page}: `{}` and `{}` overlap", a.text, b.text));
                }
            }
        }
    }
    out
}

/// A job that strains a paper: names of 400 characters, words of 60, this many series and photos.
fn strain(folder: &Path, series: usize, photos: usize, odd: &str) {
    let name: String = "A level sensor whose name goes on and on ".chars().cycle().take(400).collect();
    let word = "Donaudampfschiffahrtsgesellschaftskapitaenskajuetenschluessel".get(..60).unwrap();
    let mut job = format!(
        "work_started = 2026-03-12\n[report]\nnumber = \"{}\"\n[laboratory]\nname = \"{name}\"\n[client]\nname = \"{word}{word}\"\n\
         [item]\nname = \"{name}\"\nserial = \"{word}\"\nconfiguration = \"{odd} {word} {word}\"\n\
         [method]\nstandard = \"iec-61000-4-2-ed2\"\n[plan]\nlevel = \"2\"\npolarity = \"both\"\n\
         [[demands]]\naccepted = [\"B\"]\nbasis = \"{word}\"\n[[people]]\nname = \"{name}\"\npart = \"tested\"\n\
         [[points]]\nid = \"P1\"\ndescription = \"{name}\"\napplications = [\"contact\"]\npicture = \"p0.png\"\nmark = {{ x = 0.99, y = 0.01 }}\n\
         [[points]]\nid = \"{word}\"\ndescription = \"{word} {odd}\"\napplications = [\"contact\"]\npicture = \"p0.png\"\nmark = {{ x = 0.5, y = 0.5 }}\n",
        &name[..120]
    );
    let photo = top().join("tests/demo/lock-gate/pictures/front.png");
    for i in 0..photos {
        std::fs::copy(&photo, folder.join(format!("p{i}.png"))).unwrap();
        job += &format!("[[attachments]]\nfile = \"p{i}.png\"\nkind = \"photo\"\ncaption = \"{word} {i}\"\n");
    }
    if series > 0 {
        job += "[[logs]]\nfiles = \"log.csv\"\napplication = \"contact\"\ninterval_s = 1\nmonitoring = \"continuous\"\n\
                [logs.columns]\npoint = \"point\"\nvoltage = \"kV\"\npolarity = \"polarity\"\ncount = \"count\"\nremark = \"remark\"\n";
        let mut log = "point,kV,polarity,count,remark\n".to_owned();
        for i in 0..series {
            let (point, sign) = (["P1", word][i % 2], ["+", "-"][i / 2 % 2]);
            log += &format!("{point},{},{sign},10,{odd} {i}\n", [2, 4][i / 4 % 2]);
        }
        std::fs::write(folder.join("log.csv"), log).unwrap();
    }
    std::fs::write(folder.join("job.toml"), job).unwrap();
}

/// Jobs of the cases, each another record, beside the two demonstration jobs.
const CASES: &[&str] = &[
    "csv/ok-verdict-words",
    "csv/ok-unknown-columns",
    "csv/ok-formula-text",
    "csv/ok-preamble-footer",
    "csv/ok-shot-numbers",
    "csv/ok-counter",
    "csv/ok-windows-1252-assumed",
    "csv/ok-merged-cells",
    "csv/ok-header-only",
    "csv/ok-no-discharge",
    "csv/ok-hidden-characters",
    "csv/ok-duplicate-rows",
    "csv/ok-spreadsheet-serial",
    "job/ok-unknown-function",
    "form/ok-not-filled-yet",
    "xlsx/ok-formulas",
    "papers/ok-number-with-many-digits",
    "papers/ok-control-character-in-a-fact",
    "mapping/ok-named-by-the-job",
    "program/ok-messages-short",
];

#[test]
fn both_papers_of_each_demonstration_say_the_same_words_in_their_places() {
    if !poppler() {
        return;
    }
    for demo in ["lock-gate", "lock-gate-settled"] {
        for (template, language) in MADE {
            let out = tempfile::tempdir().unwrap();
            let what = format!("{demo} {template} {language}");
            assert_eq!(
                convert(&top().join("tests/demo").join(demo), template, language, out.path()),
                Some(0),
                "{what}"
            );
            let count = same_words(out.path(), &what);
            assert!(count > 1000, "{what}: {count} signs");
            let pdf = paper(out.path(), "pdf");
            assert_eq!(troubles(&pdf), Vec::<String>::new(), "{what}");
            if *template == "summary" {
                assert_eq!(words(&pdf).len(), 2, "{what}: the summary has two pages");
            }
        }
    }
}

/// One log of the demonstration writes `+4`, the other `+4,0`: both stand with their digits below each other.
#[test]
fn decimal_signs_of_a_column_stand_below_each_other() {
    if !poppler() {
        return;
    }
    let out = tempfile::tempdir().unwrap();
    convert(&top().join("tests/demo/lock-gate"), "protocol", "en", out.path());
    let voltage = |word: &Word, decimal: bool| {
        let digits = word.text.strip_prefix(['+', '\u{2212}']).unwrap_or("");
        let digits = if decimal { digits.strip_suffix(".0") } else { Some(digits) };
        matches!(digits.map(str::as_bytes), Some([b'0'..=b'9']))
    };
    let mut compared = 0;
    for (_, _, words) in words(&paper(out.path(), "pdf")) {
        let lefts = |decimal: bool| words.iter().filter(move |w| voltage(w, decimal)).map(|w| w.left);
        for (whole, parted) in lefts(false).flat_map(|a| lefts(true).map(move |b| (a, b))) {
            assert!((whole - parted).abs() < 0.2, "{whole} {parted}");
            compared += 1;
        }
    }
    assert!(compared > 20, "{compared} pairs");
}

#[test]
fn both_papers_of_twenty_records_say_the_same_words() {
    if !poppler() {
        return;
    }
    for (index, case) in CASES.iter().enumerate() {
        let out = tempfile::tempdir().unwrap();
        let (template, language) = MADE[index % MADE.len()];
        let what = format!("{case} {template} {language}");
        // A job may have errors, such as rows set aside: its papers say so, and are compared all the same.
        convert(&top().join("tests/cases").join(case).join("input/job"), template, language, out.path());
        assert!(same_words(out.path(), &what) > 200, "{what}");
        // A sentence whose parts are not stated ends all the same.
        let text = pdf_words(&paper(out.path(), "pdf")).join(" ");
        for meeting in [";.", ",.", ";,", "、。", "；。", "。。"] {
            assert!(!text.contains(meeting), "{what}: `{meeting}`");
        }
        assert_eq!(troubles(&paper(out.path(), "pdf")), Vec::<String>::new(), "{what}");
    }
}

/// A comparison that never finds a difference is none.
#[test]
fn a_word_left_out_of_one_paper_is_missed() {
    if !poppler() {
        return;
    }
    let out = tempfile::tempdir().unwrap();
    convert(&top().join("tests/demo/lock-gate"), "summary", "en", out.path());
    let html = paper(out.path(), "html");
    let said = html_words(&html);
    let text = std::fs::read_to_string(&html).unwrap();
    let without = text.replacen("I.\u{a0}Marsh", "I.", 1);
    assert_ne!(text, without);
    std::fs::write(&html, without).unwrap();
    assert_eq!(html_words(&html).len(), said.len() - 1);
    assert_ne!(html_words(&html), pdf_words(&paper(out.path(), "pdf")));
}

/// A date, with or without a time, as the English report writes it; everything else as it stands.
fn as_printed(text: &str) -> String {
    const MONTHS: &str =
        "January February March April May June July August September October November December";
    let (date, time) = text.split_once('T').unwrap_or((text, ""));
    let parts: Vec<usize> = date.split('-').filter_map(|part| part.parse().ok()).collect();
    match (parts.as_slice(), date.len()) {
        ([year, month @ 1..=12, day], 10) => {
            let month = MONTHS.split(' ').nth(month - 1).unwrap();
            let time = time.get(..5).map(|time| format!(", {time}")).unwrap_or_default();
            format!("{day} {month} {year}{time}")
        }
        // Units have their signs, and what stood between backquotes is set as code.
        _ => match text {
            "ohm" => "Ω".to_owned(),
            "kohm" => "kΩ".to_owned(),
            "Mohm" => "MΩ".to_owned(),
            _ => text.replace('`', ""),
        },
    }
}

/// Where a point's mark stands on its picture is drawn there, not said.
const DRAWN: &str = ".mark.";

/// Texts of a value by their path.
fn texts(value: &serde_json::Value, path: &str, into: &mut Vec<(String, String)>) {
    match value {
        serde_json::Value::String(text) => into.push((path.to_owned(), text.clone())),
        serde_json::Value::Array(list) => list.iter().for_each(|inner| texts(inner, path, into)),
        serde_json::Value::Object(map) => {
            map.iter().for_each(|(name, inner)| texts(inner, &format!("{path}.{name}"), into));
        }
        _ => {}
    }
}

#[test]
fn what_the_record_says_in_words_is_in_the_report() {
    if !poppler() {
        return;
    }
    for demo in ["lock-gate", "lock-gate-settled"] {
        let out = tempfile::tempdir().unwrap();
        let mut program = Command::new(env!("CARGO_BIN_EXE_fulgurite"));
        program
            .arg("convert")
            .arg(top().join("tests/demo").join(demo))
            .args(["--to", "pdf,json", "--quiet", "--out"]);
        assert!(program.arg(out.path()).output().unwrap().status.success());
        let json = std::fs::read_dir(out.path())
            .unwrap()
            .map(|e| e.unwrap().path())
            .find(|p| p.to_string_lossy().ends_with(".json") && !p.to_string_lossy().contains("assessment"))
            .unwrap();
        let record: serde_json::Value = serde_json::from_slice(&std::fs::read(json).unwrap()).unwrap();
        let mut all = Vec::new();
        texts(&record["facts"], "facts", &mut all);
        texts(&record["sources"], "sources", &mut all);
        let said = pdf_words(&paper(out.path(), "pdf")).concat().to_lowercase();
        let lacking: Vec<String> = all
            .iter()
            .filter(|(path, text)| {
                if path.contains(DRAWN) {
                    return false;
                }
                let printed = as_printed(text);
                let word: String = printed.chars().filter(|c| !c.is_whitespace()).collect();
                !said.contains(&word.to_lowercase())
            })
            .map(|(path, text)| format!("{path}: {text}"))
            .collect();
        assert!(all.len() > 100, "{} texts", all.len());
        assert_eq!(lacking, Vec::<String>::new(), "{demo}");
    }
}

/// A job that states next to nothing, in each language but English: what is lacking, and what would settle it, is
/// said in that language. Words of the record stay as they are.
#[test]
fn what_is_lacking_is_said_in_the_papers_language() {
    let job = tempfile::tempdir().unwrap();
    let of = top().join("tests/records/two-points");
    let facts = std::fs::read_to_string(of.join("job.toml")).unwrap();
    let mut kept =
        facts.replace("earthed = true", "").replace("polarity = \"both\"", "polarity = \"positive\"");
    for table in ["[[climate]]", "[[setup_checks]]", "[generator]", "[[equipment]]"] {
        let start = kept.find(table).unwrap();
        let end = kept[start + 1..].find("\n[").map_or(kept.len(), |at| start + 1 + at + 1);
        kept.replace_range(start..end, "");
    }
    std::fs::write(job.path().join("job.toml"), kept.replace("monitoring = \"continuous\"\n", "")).unwrap();
    std::fs::copy(of.join("log.csv"), job.path().join("log.csv")).unwrap();
    for language in ["de", "fr", "es", "ja"] {
        let out = tempfile::tempdir().unwrap();
        convert(job.path(), "report", language, out.path());
        let html = std::fs::read_to_string(paper(out.path(), "html")).unwrap();
        // Up to the list of what the paper lacks, whose sentences the program has in English.
        let (front, _) = html.split_once("<h2 id=\"points\"").unwrap();
        let english: Vec<&str> = front
            .split("<span class=\"english\" lang=\"en\">")
            .skip(1)
            .filter_map(|rest| rest.split_once('<').map(|(words, _)| words))
            .collect();
        assert_eq!(english, Vec::<&str>::new(), "{language}");
        for key in ["generator.equipment", "item.earthed", "generator.network_pf", "monitoring"] {
            assert!(front.contains(key), "{language}: {key}");
        }
    }
}

#[test]
fn strained_papers_keep_to_the_page() {
    if !poppler() {
        return;
    }
    let cases = [
        (0, 0, "plain"),
        (1, 0, "e\u{301}\u{323} a\u{304} \u{3a9} \u{2264}"),
        (24, 40, "plain"),
        (8, 1, "\u{5e9}\u{5dc}\u{5d5}\u{5dd} (12) \u{5e2}\u{5d5}\u{5dc}\u{5dd}"),
    ];
    for (series, photos, odd) in cases {
        for (template, language) in [("report", "de"), ("summary", "ja"), ("protocol", "en")] {
            let (job, out) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
            strain(job.path(), series, photos, odd);
            convert(job.path(), template, language, out.path());
            let what = format!("{series} series, {photos} photos, {template} {language}");
            assert_eq!(troubles(&paper(out.path(), "pdf")), Vec::<String>::new(), "{what}");
        }
    }
}

/// Thousands of rows: pages by the hundred, and still each in its place.
#[test]
fn five_thousand_series_keep_to_the_page() {
    if !poppler() {
        return;
    }
    let (job, out) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    strain(job.path(), 5000, 0, "plain");
    convert(job.path(), "report", "de", out.path());
    assert_eq!(troubles(&paper(out.path(), "pdf")), Vec::<String>::new());
    let out = tempfile::tempdir().unwrap();
    convert(job.path(), "protocol", "en", out.path());
    let pdf = paper(out.path(), "pdf");
    assert_eq!(troubles(&pdf), Vec::<String>::new());
    assert!(words(&pdf).len() > 100);
    let said = words(&pdf).iter().flat_map(|page| &page.2).filter(|w| w.text.starts_with("log.csv:")).count();
    assert_eq!(said, 5000, "each series has its place on paper");
}

/// A sign that no font has: no PDF, exit 1, and the page is written all the same.
#[test]
fn a_sign_without_a_font_costs_the_pdf_only() {
    let (job, out) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    strain(job.path(), 2, 0, "duck \u{1f986}");
    assert_eq!(convert(job.path(), "report", "en", out.path()), Some(1));
    let html = std::fs::read_to_string(paper(out.path(), "html")).unwrap();
    assert!(html.contains('\u{1f986}'));
    assert!(std::fs::read_dir(out.path()).unwrap().all(|e| e.unwrap().path().extension().unwrap() != "pdf"));
}

/// The papers are made again when a file of the template changes.
#[test]
fn a_preview_follows_the_template() {
    let (template, out) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    let part = template.path().join("parts");
    std::fs::create_dir(&part).unwrap();
    std::fs::write(template.path().join("template.toml"), "base = \"summary\"\n").unwrap();
    std::fs::write(part.join("heading.hbs"), "The first heading").unwrap();
    let mut program = Command::new(env!("CARGO_BIN_EXE_fulgurite"));
    program.args(["template", "preview"]).arg(top().join("tests/demo/lock-gate")).args([
        "--times",
        "2",
        "--template",
    ]);
    let mut running = program
        .arg(template.path())
        .arg("--out")
        .arg(out.path())
        .stdout(std::process::Stdio::null())
        .spawn()
        .unwrap();
    let waits_for = |words: &str| {
        let until = std::time::Instant::now() + std::time::Duration::from_secs(60);
        loop {
            let there = std::fs::read_dir(out.path()).unwrap().any(|entry| {
                let path = entry.unwrap().path();
                path.extension().is_some_and(|e| e == "html")
                    && std::fs::read_to_string(path).is_ok_and(|text| text.contains(words))
            });
            if there {
                return;
            }
            assert!(std::time::Instant::now() < until, "no page says `{words}`");
            std::thread::sleep(std::time::Duration::from_millis(100));
        }
    };
    waits_for("The first heading");
    std::fs::write(part.join("heading.hbs"), "The second heading").unwrap();
    waits_for("The second heading");
    assert!(running.wait().unwrap().success());
}

/// Names of the fields below a part of the record's schema.
fn field_names(
    schema: &serde_json::Value,
    part: &serde_json::Value,
    seen: &mut Vec<String>,
    out: &mut Vec<String>,
) {
    if let Some(name) = part["$ref"].as_str().and_then(|name| name.rsplit('/').next())
        && !seen.iter().any(|known| known == name)
    {
        seen.push(name.to_owned());
        field_names(schema, &schema["$defs"][name], seen, out);
    }
    for (key, inner) in part["properties"].as_object().into_iter().flatten() {
        out.push(key.clone());
        field_names(schema, inner, seen, out);
    }
    for inner in ["items", "additionalProperties"].iter().filter_map(|key| part.get(*key)) {
        field_names(schema, inner, seen, out);
    }
    for choice in ["oneOf", "anyOf", "allOf"].iter().filter_map(|key| part[*key].as_array()).flatten() {
        field_names(schema, choice, seen, out);
    }
}

#[test]
fn every_field_that_may_differ_has_a_word() {
    let told = Command::new(env!("CARGO_BIN_EXE_fulgurite")).args(["schema", "record"]).output().unwrap();
    let schema: serde_json::Value = serde_json::from_slice(&told.stdout).unwrap();
    let (mut seen, mut names) = (Vec::new(), Vec::new());
    // What is left out of a comparison, since it says where a fact was read.
    for (key, part) in schema["properties"].as_object().unwrap() {
        if !["schema", "sources", "origins", "findings", "facts"].contains(&key.as_str()) {
            names.push(key.clone());
        }
        if !["schema", "sources", "origins", "findings"].contains(&key.as_str()) {
            field_names(&schema, part, &mut seen, &mut names);
        }
    }
    names.retain(|name| !["origin", "completed_at"].contains(&name.as_str()));
    assert!(names.len() > 200, "{names:?}");
    for language in ["en", "de", "fr", "es", "ja"] {
        let file = top().join(format!("templates/report/languages/{language}.toml"));
        let words: toml::Table = std::fs::read_to_string(file).unwrap().parse().unwrap();
        let missing: Vec<_> = names.iter().filter(|name| words["field"].get(name).is_none()).collect();
        assert!(missing.is_empty(), "{language}: {missing:?}");
    }
}

#[test]
fn a_comparison_says_facts_in_words() {
    let folder = tempfile::tempdir().unwrap();
    for (language, said) in [
        (
            "en",
            [
                "Equipment G-1, calibrated on",
                "USB contact +4 kV, measuring",
                "spark (discharge 2, 4, 8): no, no, yes",
                "state: AR; started: 12 March 2026, 09:10",
                "; interval: 1 s;",
                "329 more single facts differ and are not listed.",
            ],
        ),
        (
            "de",
            [
                "Prüfmittel G-1, kalibriert am",
                "USB, Kontakt +4 kV, measuring",
                "Funke (Entladung 2, 4, 8): nein, nein, ja",
                "Zustand: AR; begonnen: 12. März 2026, 09:10",
                "; Zeitabstand: 1 s;",
                "329 weitere einzelne Angaben weichen ab",
            ],
        ),
    ] {
        let page = folder.path().join(format!("{language}.html"));
        let mut program = Command::new(env!("CARGO_BIN_EXE_fulgurite"));
        program
            .arg("compare")
            .args(["lock-gate", "lock-gate-settled"].map(|job| top().join("tests/demo").join(job)));
        program.args(["--lang", language, "--html"]).arg(&page);
        assert!(program.output().unwrap().status.success());
        let page = std::fs::read_to_string(page).unwrap().replace('\u{a0}', " ");
        // Names that are never broken have a span of their own.
        let page = page.replace("<span class=\"together\">", "").replace("</span>", "");
        for words in said {
            assert!(page.contains(words), "{language}: {words}");
        }
        // A unit stands behind its number, and not in the name of a fact.
        for raw in [
            ", s: ",
            ", kV: ",
            ", kV<",
            "{&quot;",
            "&quot;:",
            "calibrated_on",
            "/shots/",
            "shots[",
            "2026-03-12T",
        ] {
            assert!(!page.contains(raw), "{language}: {raw}");
        }
    }
}
