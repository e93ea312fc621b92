//! Settings under the command line: what is said there counts, then the project's file, then the user's.
#![allow(clippy::unwrap_used, reason = "a test that can not go on has failed")]

use serde_json::Value;
use std::path::Path;
use std::process::{Command, Output};

/// A user's settings in `home`, a project's in `project`, and the program in a folder below it.
fn program(work: &Path) -> Command {
    let mut program = Command::new(env!("CARGO_BIN_EXE_fulgurite"));
    program.current_dir(work.join("project/below")).env_remove("APPDATA");
    program.env("XDG_CONFIG_HOME", work.join("home"));
    program
}

fn told(output: &Output) -> String {
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout.clone()).unwrap()
}

#[cfg(not(windows))]
#[test]
fn the_command_line_over_the_project_over_the_user() {
    let work = tempfile::tempdir().unwrap();
    let (project, home) = (work.path().join("project"), work.path().join("home/fulgurite"));
    std::fs::create_dir_all(project.join("below")).unwrap();
    std::fs::create_dir_all(&home).unwrap();
    std::fs::write(
        project.join("fulgurite.toml"),
        "to = [\"csv\"]\nlang = \"fr\"\nregister = \"r.sqlite\"\n",
    )
    .unwrap();
    std::fs::write(home.join("settings.toml"), "# mine\nlang = \"de\"\nmessage_format = \"json\"\n").unwrap();

    let shown = told(&program(work.path()).args(["settings", "show", "--json"]).output().unwrap());
    let of = |key: &str| {
        let values = shown.lines().map(|line| serde_json::from_str::<Value>(line).unwrap());
        let found = values.into_iter().find(|value| value["key"] == key).unwrap();
        let file = found["file"].as_str().map(|file| file.rsplit('/').next().unwrap().to_owned());
        (found["values"][0].as_str().map(str::to_owned), file, found["row"].as_u64())
    };
    let set = |value: &str, file: &str, row| (Some(value.to_owned()), Some(file.to_owned()), Some(row));
    assert_eq!(of("lang"), set("fr", "fulgurite.toml", 2));
    assert_eq!(of("message_format"), set("json", "settings.toml", 3));
    assert_eq!(of("template"), (Some("report".to_owned()), None, None));

    // The settings do what they say: CSV, into the register beside the project's file, lines of JSON.
    let log = "Point,Mode,Polarity,Voltage [kV],Discharges\nP,contact,+,4,10\n";
    std::fs::write(project.join("below/log.csv"), log).unwrap();
    let line = told(&program(work.path()).args(["convert", "log.csv", "--out", "out"]).output().unwrap());
    let line: Value = serde_json::from_str(line.lines().next().unwrap()).unwrap();
    assert_eq!(line["outputs"][0]["path"], "out/log.results.csv");
    assert_eq!(line["outputs"].as_array().unwrap().len(), 1);
    assert!(project.join("r.sqlite").is_file());

    let over = ["convert", "log.csv", "--out", "over", "--to", "json", "--message-format", "full"];
    let text = told(&program(work.path()).args(over).output().unwrap());
    assert!(text.contains("over/log.json") && !text.contains("log.results.csv"), "{text}");
}

#[test]
fn completions_and_pages_name_every_command() {
    let program = || Command::new(env!("CARGO_BIN_EXE_fulgurite"));
    for shell in ["bash", "zsh", "fish", "powershell", "elvish"] {
        let text = told(&program().args(["completions", shell]).output().unwrap());
        for word in ["convert", "watch", "filter", "register", "--message-format"] {
            assert!(text.contains(word.trim_start_matches('-')), "{shell} lacks {word}");
        }
    }
    assert!(told(&program().arg("man").output().unwrap()).contains(".TH fulgurite 1"));
    let out = tempfile::tempdir().unwrap();
    told(&program().args(["man", "--out"]).arg(out.path()).output().unwrap());
    for name in ["fulgurite.1", "fulgurite-watch.1", "fulgurite-register-find.1"] {
        assert!(out.path().join(name).is_file(), "{name}");
    }
}
