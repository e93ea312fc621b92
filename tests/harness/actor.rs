//! A program that does what its arguments say: the harness tries itself on it.

use std::ffi::OsString;
use std::io::{Read, Write};
use std::process::ExitCode;

/// The first argument that turns this test program into the actor.
pub(crate) const WORD: &str = "--act";

/// Does one thing for each argument: `say=TEXT`, `tell=TEXT` (to stderr), `write=PATH:TEXT`, `remove=PATH`,
/// `folder=PATH`, `env=NAME`, `where=`, `read=`, `exit=CODE`.
pub(crate) fn act(words: impl Iterator<Item = OsString>) -> ExitCode {
    let mut exit = 0;
    for word in words {
        let word = word.to_string_lossy().into_owned();
        let done = match word.split_once('=') {
            Some(("say", text)) => writeln!(std::io::stdout(), "{text}"),
            Some(("tell", text)) => writeln!(std::io::stderr(), "{text}"),
            Some(("write", what)) => {
                let (path, text) = what.split_once(':').unwrap_or((what, ""));
                let folder = std::path::Path::new(path).parent().map_or(Ok(()), std::fs::create_dir_all);
                folder.and_then(|()| std::fs::write(path, text))
            }
            Some(("remove", path)) => std::fs::remove_file(path),
            Some(("folder", path)) => std::fs::create_dir_all(path),
            Some(("env", name)) => {
                writeln!(std::io::stdout(), "{name}={}", std::env::var(name).unwrap_or_default())
            }
            Some(("where", _)) => {
                std::env::current_dir().and_then(|folder| writeln!(std::io::stdout(), "{}", folder.display()))
            }
            Some(("read", _)) => {
                let mut text = String::new();
                std::io::stdin().read_to_string(&mut text).and_then(|_| write!(std::io::stdout(), "{text}"))
            }
            Some(("exit", code)) => {
                exit = code.parse().unwrap_or(99);
                Ok(())
            }
            _ => Err(std::io::Error::other(format!("`{word}` is nothing the actor can do"))),
        };
        if let Err(error) = done {
            let _closed = writeln!(std::io::stderr(), "actor: {error}");
            return ExitCode::from(98);
        }
    }
    ExitCode::from(exit)
}
