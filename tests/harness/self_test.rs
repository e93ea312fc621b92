//! The harness tried on the actor: it must let a sound case pass and must see each kind of fault.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

use libtest_mimic::{Failed, Trial};

use super::actor;
use super::case::{Mode, Program, check};
use super::codes::{Severity, raised};
use super::coverage;
use super::figures;
use super::folders::{Case, all};
use super::workplace::Tree;

/// What each trial gives.
type Tried = Result<(), Failed>;

/// The trials, by name.
pub(crate) fn trials() -> Vec<Trial> {
    vec![
        trial("a sound case passes", sound_case),
        trial("what is expected can be rewritten, and then holds", bless_then_compare),
        trial("a case that breaks its promise can't be blessed", bless_refuses),
        trial("each fault is seen", faults),
        trial("one change to a base is made, or named when it can't be", edits),
        trial("several runs follow each other", several_runs),
        trial("the environment is the same everywhere", environment),
        trial("a zip is kept by its members", zip_by_members),
        trial("codes are read from the start of lines only", codes),
        trial("codes without a case are named", codes_without_case),
        trial("folders that are no cases are named", stray_folders),
        trial("figures from outside are held against outputs", figures_held),
    ]
}

fn trial(name: &str, run: fn() -> Tried) -> Trial {
    Trial::test(format!("harness: {name}"), run)
}

/// A `tests` folder with one case in it, made for one trial.
struct Stage {
    _folder: tempfile::TempDir,
    tests: PathBuf,
    case: Case,
}

/// Makes the case `group/NAME` from file paths and contents.
fn stage(name: &str, files: &[(&str, &str)]) -> Result<Stage, Failed> {
    let folder = tempfile::tempdir()?;
    let tests = folder.path().to_path_buf();
    let place = tests.join("cases/group").join(name);
    for (path, text) in files {
        let path = match path.strip_prefix("tests/") {
            Some(rest) => tests.join(rest),
            None => place.join(path),
        };
        std::fs::create_dir_all(path.parent().unwrap_or(&place))?;
        std::fs::write(path, text)?;
    }
    let case = Case::at("group", place).ok_or("not the name of a case")?;
    Ok(Stage { _folder: folder, tests, case })
}

impl Stage {
    fn check(&self, mode: Mode) -> Result<(), String> {
        let path = std::env::current_exe().map_err(|error| error.to_string())?;
        check(&self.case, &self.tests, &Program { path, lead: vec![actor::WORD.into()] }, mode)
    }

    fn kept(&self, path: &str) -> Result<String, Failed> {
        Ok(std::fs::read_to_string(self.case.folder.join("expected").join(path))?)
    }
}

fn must(condition: bool, what: &str) -> Tried {
    if condition { Ok(()) } else { Err(Failed::from(what)) }
}

/// The check must fail, and its reason must hold `word`.
fn must_fail(result: Result<(), String>, word: &str) -> Tried {
    match result {
        Ok(()) => Err(Failed::from(format!("passed, and should have failed with `{word}`"))),
        Err(reason) if reason.contains(word) => Ok(()),
        Err(reason) => Err(Failed::from(format!("failed without `{word}`: {reason}"))),
    }
}

const SOUND: &str = r#"
about = "prints and writes"
args = ["say=hello", "tell=note[csv/small]: one", "write=out/a.txt:text"]
codes = ["csv/small"]
"#;

const SOUND_EXPECTED: &[(&str, &str)] = &[
    ("case.toml", SOUND),
    ("input/log.csv", "1\n"),
    ("expected/stdout.txt", "hello\n"),
    ("expected/stderr.txt", "note[csv/small]: one\n"),
    ("expected/out/a.txt", "text"),
];

fn sound_case() -> Tried {
    stage("ok-sound", SOUND_EXPECTED)?.check(Mode::Compare).map_err(Failed::from)
}

fn bless_then_compare() -> Tried {
    let stage =
        stage("ok-sound", &[("case.toml", SOUND), ("input/log.csv", "1\n"), ("expected/old.txt", "x")])?;
    must_fail(stage.check(Mode::Compare), "old.txt: expected, and not there")?;
    stage.check(Mode::Bless)?;
    must(stage.kept("out/a.txt")? == "text", "the output was not kept")?;
    must(stage.kept("old.txt").is_err(), "a left-over file was kept")?;
    stage.check(Mode::Compare).map_err(Failed::from)
}

fn bless_refuses() -> Tried {
    let stage = stage("ok-broken", &[("case.toml", &SOUND.replace("csv/small\"]", "csv/other\"]"))])?;
    must_fail(stage.check(Mode::Bless), "csv/small: raised and not declared")?;
    must(!stage.case.folder.join("expected").exists(), "blessed all the same")
}

/// Name of the case, its `case.toml`, a file of it that differs from the sound case, and the word that must be said.
type Fault<'a> = (&'a str, &'a str, (&'a str, &'a str), &'a str);

fn faults() -> Tried {
    let none = ("input/log.csv", "1\n");
    let list: &[Fault<'_>] = &[
        ("ok-x", SOUND, ("expected/stdout.txt", "hullo\n"), "stdout.txt: differs"),
        ("ok-x", SOUND, ("expected/out/b.txt", ""), "out/b.txt: expected, and not there"),
        ("ok-x", &SOUND.replace("a.txt:", "c.txt:"), none, "out/c.txt: not expected"),
        ("ok-x", &SOUND.replace(":text", ":texts"), none, "out/a.txt: differs"),
        ("ok-x", SOUND, ("notes.txt", "x"), "`notes.txt` is no part of a case"),
        ("ok-x", &SOUND.replace("[\"say", "[\"exit=1\", \"say"), none, "exit 1, not 0"),
        ("ok-x", &SOUND.replace("codes =", "exit = 1\ncodes ="), none, "an ok- case states exit 0"),
        ("ok-x", &SOUND.replace("note[", "error["), none, "an ok- case raises no error"),
        (
            "ok-x",
            &SOUND.replace("codes = [\"", "codes = [\"csv/big\", \""),
            none,
            "csv/big: declared and not raised",
        ),
        ("ok-x", &SOUND.replace("codes = [\"csv/small\"]", ""), none, "csv/small: raised and not declared"),
        (
            "ok-x",
            &SOUND.replace("say=hello", "write=log.csv:2"),
            none,
            "log.csv: the program changed an input",
        ),
        (
            "ok-x",
            &SOUND.replace("say=hello", "remove=log.csv"),
            none,
            "log.csv: the program removed an input",
        ),
        ("ok-x", &SOUND.replace("say=hello", "folder=rest"), none, "rest/: the program left an empty folder"),
        ("ok-x", &SOUND.replace("about", "abuot"), none, "unknown field"),
        ("ok-x", &SOUND.replace("prints and writes", " "), none, "`about` says nothing"),
        ("ok-x", &format!("{SOUND}\n[[run]]\nargs = []\n"), none, "either `args` or [[run]]"),
        (
            "ok-x",
            &format!("{SOUND}\n[expect]\ncontains = {{ \"stdout.txt\" = [\"bye\"] }}\n"),
            none,
            "lacks `bye`",
        ),
        ("ok-x", &format!("{SOUND}\n[expect]\nlacks = {{ \"out/a.txt\" = [\"ex\"] }}\n"), none, "holds `ex`"),
        (
            "ok-x",
            &format!("{SOUND}\n[expect]\ncontains = {{ \"out/z\" = [\"a\"] }}\n"),
            none,
            "out/z: expected, and not",
        ),
        ("err-x", SOUND, none, "an err- case states an exit code other than 0"),
        ("err-x", SOUND, none, "an err- case writes nothing: out/a.txt"),
        ("part-x", SOUND, none, "a part- case states exit 1"),
        (
            "part-x",
            "about = \"x\"\nargs = [\"exit=1\"]\nexit = 1\n",
            none,
            "a part- case leaves what could be read",
        ),
        (
            "part-x",
            "about = \"x\"\nargs = [\"say=a\", \"exit=1\"]\nexit = 1\n",
            none,
            "says what was set aside",
        ),
    ];
    for (name, case, change, word) in list {
        let mut files: BTreeMap<&str, &str> = SOUND_EXPECTED.iter().copied().collect();
        files.insert("case.toml", case);
        files.insert(change.0, change.1);
        let files: Vec<(&str, &str)> = files.into_iter().collect();
        must_fail(stage(name, &files)?.check(Mode::Compare), word)?;
    }
    Ok(())
}

fn figures_held() -> Tried {
    let folder = tempfile::tempdir()?;
    let written: Tree =
        [("a.json".to_owned(), b"{\"a\": [\"1.5\", 2, null]}".to_vec())].into_iter().collect();
    let wrong = |figures: &str| -> Result<Vec<String>, Failed> {
        std::fs::write(folder.path().join(figures::FILE), figures)?;
        Ok(figures::wrong(folder.path(), &written)?)
    };
    let of = |file: &str, at: &str, value: f64| -> Result<String, Failed> {
        let one = format!("{{\"file\": \"{file}\", \"at\": \"{at}\", \"value\": {value}, \"within\": 0.1}}");
        Ok(wrong(&format!("{{\"source\": \"x\", \"figures\": [{one}]}}"))?.join("\n"))
    };
    assert_eq!((of("a.json", "/a/0", 1.55)?, of("a.json", "/a/1", 1.95)?), (String::new(), String::new()));
    assert_eq!(of("a.json", "/a/0", 1.7)?, "a.json: /a/0 is 1.5, not 1.7 within 0.1");
    for (file, at) in [("a.json", "/a/2"), ("a.json", "/b"), ("b.json", "/a/0")] {
        assert!(of(file, at, 1.5)?.contains("is no number"), "{file} {at}");
    }
    for none in ["{\"source\": \"\", \"figures\": []}", "{}", "[]"] {
        assert!(wrong(none).is_err(), "{none}");
    }
    Ok(())
}

fn edits() -> Tried {
    let base = ("tests/demo/job/log.csv", "a;1\nb;2\nb;3\n");
    let case = |edit: &str| {
        format!(
            "about = \"x\"\nbase = \"demo/job\"\nargs = [\"read=\"]\n[[edit]]\nfile = \"job/log.csv\"\n{edit}\n"
        )
    };
    let sound = "replace = \"a;1\"\nwith = \"a;9\"";
    stage("ok-edit", &[("case.toml", &case(sound)), base])?.check(Mode::Compare)?;
    stage("ok-edit", &[("case.toml", &case("remove_line_containing = \"b;\"\ncount = 2")), base])?
        .check(Mode::Compare)?;
    for (edit, word) in [
        ("replace = \"c\"\nwith = \"d\"", "`c` occurs 0 times, not 1"),
        ("remove_line_containing = \"b;\"", "`b;` occurs 2 times, not 1"),
        ("", "needs one of"),
        ("replace = \"a\"\nappend = \"b\"", "needs one of"),
    ] {
        must_fail(stage("ok-edit", &[("case.toml", &case(edit)), base])?.check(Mode::Compare), word)?;
    }
    // The base itself stays as it is.
    let stage = stage("ok-edit", &[("case.toml", &case(sound)), base])?;
    stage.check(Mode::Compare)?;
    must(std::fs::read_to_string(stage.tests.join("demo/job/log.csv"))? == base.1, "the base was changed")
}

fn several_runs() -> Tried {
    let case = r#"
about = "writes, then refuses what was changed"
[[run]]
args = ["write=out/a.txt:text"]
[[run]]
args = ["read=", "tell=error[pack/altered]: a.txt", "exit=1"]
stdin = "line\n"
exit = 1
[[run.edit]]
file = "out/a.txt"
replace = "text"
with = "next"
"#;
    let toml = format!("codes = [\"pack/altered\"]\n{case}");
    let stage = stage(
        "err-runs",
        &[
            ("case.toml", &toml),
            ("expected/2-stdout.txt", "line\n"),
            ("expected/2-stderr.txt", "error[pack/altered]: a.txt\n"),
            ("expected/out/a.txt", "next"),
        ],
    )?;
    stage.check(Mode::Compare).map_err(Failed::from)
}

fn environment() -> Tried {
    let case =
        "about = \"x\"\nargs = [\"env=TZ\", \"env=LC_ALL\", \"env=HOME\", \"env=CARGO\", \"where=\"]\n";
    let told = |zone: &str| format!("TZ={zone}\nLC_ALL=C\nHOME=\nCARGO=\n[CASE]\n");
    stage("ok-env", &[("case.toml", case), ("expected/stdout.txt", &told("UTC"))])?.check(Mode::Compare)?;
    let other = format!("{case}env = {{ TZ = \"Pacific/Chatham\" }}\n");
    let stage = stage("ok-env", &[("case.toml", &other), ("expected/stdout.txt", &told("Pacific/Chatham"))])?;
    stage.check(Mode::Compare).map_err(Failed::from)
}

fn zip_by_members() -> Tried {
    // The zip lies in the input; the actor can't write bytes, so the readable form is looked at by itself.
    let folder = tempfile::tempdir()?;
    let path = folder.path().join("a.zip");
    let mut zip = zip::ZipWriter::new(std::fs::File::create(&path)?);
    zip.start_file("bag/data/a.txt", zip::write::SimpleFileOptions::default())?;
    std::io::Write::write_all(&mut zip, b"abc")?;
    zip.finish()?;
    let shown = super::expected::zip_members(&std::fs::read(&path)?)?;
    // SHA-256 of `abc`: FIPS 180-4, the example of one block.
    let hash = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad";
    must(shown == format!("{hash}          3  bag/data/a.txt\n"), &shown)?;
    let case = "about = \"x\"\nargs = [\"write=out/a.bin:abc\"]\nhash_only = [\"*.bin\"]\n";
    let stage =
        stage("ok-hash", &[("case.toml", case), ("expected/hashes.txt", &format!("{hash}  out/a.bin\n"))])?;
    stage.check(Mode::Compare).map_err(Failed::from)
}

fn codes() -> Tried {
    let printed = "error[csv/not-a-number]: `8.O`\n  --> a.csv:3:2\nnote[evidence/climate]: x\n \
                   warning[a/b]: indented\nerror[nothing]: y\nwarning[A/b]: z\n";
    let wanted: BTreeSet<(Severity, String)> =
        [(Severity::Error, "csv/not-a-number".to_owned()), (Severity::Note, "evidence/climate".to_owned())]
            .into();
    must(raised(printed, "full") == wanted, &format!("{:?}", raised(printed, "full")))?;
    let short = "a: b.csv:3:2: error[csv/not-a-number]: `warning[x/y]: z`\n-: note[evidence/climate]: x\nplain: words\n";
    must(raised(short, "short") == wanted, &format!("{:?}", raised(short, "short")))?;
    let json = "{\"code\":\"csv/not-a-number\",\"severity\":\"error\"}\n{\"error\":\"x\"}\n\
                {\"severity\":\"note\",\"code\":\"evidence/climate\"}\n";
    must(raised(json, "json") == wanted, &format!("{:?}", raised(json, "json")))
}

fn codes_without_case() -> Tried {
    let known: BTreeSet<&str> = ["a/one", "a/two", "a/three"].into();
    let declared: BTreeSet<String> = ["a/one".to_owned(), "a/four".to_owned()].into();
    let excused: BTreeMap<String, String> =
        [("a/two".to_owned(), "can't be made by hand".to_owned()), ("a/one".to_owned(), "x".to_owned())]
            .into();
    let wrong = coverage::compare(&known, &declared, &excused);
    let starts: Vec<&str> = wrong.iter().filter_map(|line| line.split(':').next()).collect();
    must(starts == ["a/three", "a/four", "a/one"], &wrong.join("\n"))?;
    must(
        !coverage::compare(&BTreeSet::new(), &BTreeSet::new(), &BTreeMap::new()).is_empty(),
        "no code is no list",
    )
}

fn stray_folders() -> Tried {
    let stage = stage(
        "ok-sound",
        &[
            ("case.toml", SOUND),
            ("tests/cases/group/maybe-x/case.toml", ""),
            ("tests/cases/group/notes.txt", ""),
            ("tests/cases/loose.txt", ""),
            ("tests/cases/uncovered.toml", ""),
            ("tests/cases/README.md", ""),
        ],
    )?;
    let found = all(&stage.tests.join(Path::new("cases")))?;
    must(found.cases.len() == 1, "one case")?;
    must(found.stray.len() == 3, &found.stray.join("\n"))
}
