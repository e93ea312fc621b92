//! One running plug-in: started in a group of its own, listened to with limits, and ended with all that it started.

use super::broke::Broke;
use super::identity::{has_folder, named_file};
use super::{OutsidePlugin, codes, strays};
use plugin_api::wire::stdio::{self, Answer, DoneLine, LONGEST_LINE};
use process_wrap::std::{ChildWrapper, CommandWrap};
use std::collections::VecDeque;
use std::io::{BufRead, BufReader, Read, Write};
use std::path::Path;
use std::process::{ChildStdin, Command, Stdio};
use std::sync::mpsc::{Receiver, RecvTimeoutError, SyncSender, sync_channel};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::{Duration, Instant};

/// How long a plug-in has to end by itself once its input is closed.
const GRACE: Duration = Duration::from_secs(2);

/// Lines of standard error that are kept, and how much of each.
const LAST_LINES: usize = 20;
const LAST_WIDTH: usize = 400;

/// Longest request: it must fit into an empty pipe, so that a plug-in that does not read can't block the host.
const LONGEST_REQUEST: usize = 48 << 10;

/// The variable by which everything that a plug-in starts is known again.
pub(super) const MARK: &str = "FULGURITE_PLUGIN_WORK";

/// What comes out of a plug-in.
enum Heard {
    Line(Vec<u8>),
    /// Bytes without a line end, and then nothing more.
    Half(Vec<u8>),
    TooLong,
    End,
}

/// How a plug-in ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Ended {
    /// Its exit code was 0.
    pub(super) in_order: bool,
    /// It had to be ended, since it did not end by itself.
    pub(super) by_force: bool,
    /// Processes that it had started were still there.
    pub(super) left_behind: bool,
}

/// A running plug-in.
pub(super) struct Process {
    child: Box<dyn ChildWrapper>,
    stdin: Option<ChildStdin>,
    heard: Receiver<Heard>,
    last_words: Arc<Mutex<VecDeque<String>>>,
    work: tempfile::TempDir,
    requests: u64,
    ended: bool,
}

impl std::fmt::Debug for Process {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "Process({})", self.child.id())
    }
}

/// What the host says in its hello; another one than usual only when a plug-in is tried.
#[derive(Clone, Copy, Debug)]
pub(super) struct Greeting<'a> {
    pub(super) protocol: u64,
    pub(super) features: &'a [&'a str],
}

impl Greeting<'_> {
    pub(super) const USUAL: Greeting<'static> = Greeting { protocol: stdio::PROTOCOL, features: &[] };
}

impl Process {
    /// Starts a plug-in and exchanges hellos.
    pub(super) fn start(plugin: &OutsidePlugin, greeting: Greeting<'_>) -> Result<Self, Broke> {
        let mut process = Self::spawn(plugin)?;
        let hello = stdio::hello(greeting.protocol, greeting.features);
        let deadline = Instant::now() + plugin.manifest.timeout();
        let told = process.tell(&hello).and_then(|()| process.hello(plugin, deadline));
        match told {
            Ok(()) => Ok(process),
            Err(broke) => Err(broke.said(process.end_now())),
        }
    }

    fn spawn(plugin: &OutsidePlugin) -> Result<Self, Broke> {
        let did_not = |what: String| {
            Broke::new(codes::DID_NOT_START, format!("did not start: {what}"))
                .help("install what `argv` in its plugin.toml names, or mend `argv`")
        };
        let work = tempfile::Builder::new()
            .prefix("fulgurite-plugin-")
            .tempdir()
            .map_err(|error| did_not(format!("no temporary folder: {error}")))?;
        let (program, arguments) =
            plugin.manifest.argv().split_first().ok_or_else(|| did_not("`argv` is empty".into()))?;
        let whole = |part: &String| named_file(&plugin.folder, part).map_or_else(|| part.into(), Into::into);
        let program: std::ffi::OsString = if has_folder(program) { whole(program) } else { program.into() };
        let mut command = Command::new(&program);
        command.args(arguments.iter().map(whole)).current_dir(work.path());
        environment(&mut command, work.path(), &plugin.folder);
        command.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped());
        let mut wrapped = CommandWrap::from(command);
        #[cfg(unix)]
        wrapped.wrap(process_wrap::std::ProcessGroup::leader());
        #[cfg(windows)]
        wrapped.wrap(process_wrap::std::JobObject);
        let mut child =
            wrapped.spawn().map_err(|error| did_not(format!("`{}`: {error}", program.display())))?;
        let stdin = child.stdin().take();
        let (say, heard) = sync_channel(16);
        if let Some(stdout) = child.stdout().take() {
            std::thread::spawn(move || listen(BufReader::new(stdout), &say));
        }
        let last_words = Arc::new(Mutex::new(VecDeque::new()));
        if let Some(stderr) = child.stderr().take() {
            let last_words = Arc::clone(&last_words);
            std::thread::spawn(move || overhear(BufReader::new(stderr), &last_words));
        }
        Ok(Self { child, stdin, heard, last_words, work, requests: 0, ended: false })
    }

    fn tell(&mut self, line: &str) -> Result<(), Broke> {
        let told = match &mut self.stdin {
            Some(stdin) => stdin.write_all(line.as_bytes()).and_then(|()| stdin.flush()),
            None => Err(std::io::ErrorKind::BrokenPipe.into()),
        };
        told.map_err(|_| Broke::new(codes::DIED, "ended without waiting for what it was to do"))
    }

    /// The next line of its answer.
    fn line(&mut self, deadline: Instant, limit: Duration) -> Result<Vec<u8>, Broke> {
        let left = deadline.saturating_duration_since(Instant::now());
        match self.heard.recv_timeout(left) {
            Ok(Heard::Line(line)) => Ok(line),
            Ok(Heard::Half(line)) => {
                Err(Broke::new(codes::BAD_LINE, format!("ended in the middle of a line: `{}`", shown(&line))))
            }
            Ok(Heard::TooLong) => Err(Broke::new(
                codes::TOO_MUCH,
                format!("gave a line of more than {} MiB", LONGEST_LINE >> 20),
            )
            .help("give large parts by file: `\"file\"` in the place of `\"record\"`")),
            Ok(Heard::End) | Err(RecvTimeoutError::Disconnected) => {
                Err(Broke::new(codes::DIED, format!("ended before its answer did{}", self.status())))
            }
            Err(RecvTimeoutError::Timeout) => Err(Broke::new(
                codes::TIMED_OUT,
                format!("did not answer within {} s, and was ended", limit.as_secs()),
            )
            .help("see what it waits for; or raise timeout_s in its plugin.toml and trust it again")),
        }
    }

    /// How it ended, in words, once its output has.
    fn status(&mut self) -> String {
        let begun = Instant::now();
        while begun.elapsed() < Duration::from_millis(500) {
            match self.child.try_wait() {
                Ok(Some(status)) if status.success() => return ", with exit code 0".to_owned(),
                Ok(Some(status)) => {
                    return match status.code() {
                        Some(code) => format!(", with exit code {code}"),
                        None => format!(" ({status})"),
                    };
                }
                _ => std::thread::sleep(Duration::from_millis(5)),
            }
        }
        String::new()
    }

    fn hello(&mut self, plugin: &OutsidePlugin, deadline: Instant) -> Result<(), Broke> {
        let bad = |what: String| Broke::new(codes::BAD_HELLO, what);
        let line = self.line(deadline, plugin.manifest.timeout())?;
        let hello = stdio::hello_of(&line)
            .map_err(|why| bad(format!("did not say hello: {why}: `{}`", shown(&line))))?;
        if hello.protocol != stdio::PROTOCOL {
            return Err(bad(format!(
                "speaks protocol {}, and this program speaks {}",
                hello.protocol,
                stdio::PROTOCOL
            )));
        }
        let (name, version) = (&plugin.manifest.name, &plugin.manifest.version);
        if hello.name != *name || hello.version != *version {
            return Err(bad(format!(
                "says that it is `{} {}`, and its plugin.toml says `{name} {version}`",
                hello.name, hello.version
            )));
        }
        Ok(())
    }

    /// A new folder for the next request, and its number.
    pub(super) fn next_request(&mut self) -> std::io::Result<(u64, std::path::PathBuf)> {
        self.requests += 1;
        let folder = self.work.path().join(format!("request-{}", self.requests));
        std::fs::create_dir(&folder)?;
        Ok((self.requests, folder))
    }

    /// The group that it leads.
    pub(super) fn group(&self) -> u32 {
        self.child.id()
    }

    /// The folder that it works in.
    pub(super) fn work(&self) -> &Path {
        self.work.path()
    }

    /// Sends a request and hands over every line of the answer, with its number, up to `done`.
    pub(super) fn ask(
        &mut self,
        plugin: &OutsidePlugin,
        request: u64,
        line: &str,
        each: &mut dyn FnMut(u64, Answer) -> Result<(), Broke>,
    ) -> Result<DoneLine, Broke> {
        if line.len() > LONGEST_REQUEST {
            return Err(Broke::new(
                codes::TOO_MUCH,
                "can't be asked: the settings for this file are too long",
            ));
        }
        if let Ok(Heard::Line(line) | Heard::Half(line)) = self.heard.try_recv() {
            let what = format!("said `{}` although nothing was asked", shown(&line));
            return Err(Broke::new(codes::BAD_LINE, what));
        }
        let limit = plugin.manifest.timeout();
        let deadline = Instant::now() + limit;
        self.tell(line)?;
        let mut left = plugin.manifest.output_limit();
        let mut number = 0;
        loop {
            let line = self.line(deadline, limit)?;
            number += 1;
            left = left.checked_sub(line.len() as u64 + 1).ok_or_else(|| {
                Broke::new(
                    codes::TOO_MUCH,
                    format!("gave more than {} MiB for one request", plugin.manifest.output_limit_mib),
                )
                .help("raise output_limit_mib in its plugin.toml and trust it again, if that much is meant")
            })?;
            match stdio::answer_of(&line, request) {
                Ok(Answer::Done(done)) => return Ok(done),
                Ok(answer) => each(number, answer)?,
                Err(why) => {
                    let what = format!("gave a bad line ({number} of its answer): {why}: `{}`", shown(&line));
                    return Err(Broke::new(codes::BAD_LINE, what));
                }
            }
        }
    }

    /// Sends a line whatever it is, and waits for nothing; only when a plug-in is tried.
    pub(super) fn tell_and_leave(&mut self, line: &str) {
        let _ = self.tell(line);
    }

    /// Lets it end: closes its input, waits a little, then ends whatever is left.
    pub(super) fn end(mut self) -> Ended {
        self.stdin = None;
        let begun = Instant::now();
        let mut status = None;
        while status.is_none() && begun.elapsed() < GRACE {
            status = self.child.try_wait().ok().flatten();
            if status.is_none() {
                std::thread::sleep(Duration::from_millis(2));
            }
        }
        let left_behind = self.end_all(status.is_some());
        Ended { in_order: status.is_some_and(|s| s.success()), by_force: status.is_none(), left_behind }
    }

    /// Ends it at once, and gives the last lines of its standard error.
    pub(super) fn end_now(mut self) -> Vec<String> {
        self.stdin = None;
        // A plug-in that died has closed its standard error: what it said arrives within a moment.
        let begun = Instant::now();
        let died = self.child.try_wait().is_ok_and(|status| status.is_some());
        while died && Arc::strong_count(&self.last_words) > 1 && begun.elapsed() < Duration::from_millis(100)
        {
            std::thread::sleep(Duration::from_millis(5));
        }
        self.end_all(died);
        let words = self.last_words.lock().unwrap_or_else(PoisonError::into_inner);
        words.iter().cloned().collect()
    }

    /// Ends the whole group, and what left the group but can still be known; says whether anybody was there beside
    /// the plug-in itself.
    fn end_all(&mut self, leader_is_gone: bool) -> bool {
        self.ended = true;
        let group = self.child.id();
        let others = strays::living(group, self.work.path());
        let in_group = self.child.start_kill().is_ok();
        if !leader_is_gone {
            let _ = self.child.wait();
        }
        strays::end(group, self.work.path());
        // Where the system can't list processes, a group that could still be reached had somebody in it.
        others.map_or(leader_is_gone && in_group, |others| others > 0)
    }
}

impl Drop for Process {
    fn drop(&mut self) {
        if !self.ended {
            self.end_all(false);
        }
    }
}

/// PATH and what a system can't do without; the rest is the same everywhere, so that equal input gives equal output.
fn environment(command: &mut Command, work: &Path, folder: &Path) {
    command.env_clear();
    for name in ["PATH", "SystemRoot", "PATHEXT", "ComSpec"] {
        if let Some(value) = std::env::var_os(name) {
            command.env(name, value);
        }
    }
    for name in ["TMPDIR", "TEMP", "TMP", "HOME", "USERPROFILE"] {
        command.env(name, work);
    }
    command.env(MARK, work).env("FULGURITE_PLUGIN", folder);
    command.env("LANG", "C.UTF-8").env("LC_ALL", "C.UTF-8").env("TZ", "UTC");
    command.env("PYTHONUTF8", "1").env("PYTHONDONTWRITEBYTECODE", "1").env("PYTHONHASHSEED", "0");
}

/// A line as shown in a message, cut where it is long.
fn shown(line: &[u8]) -> String {
    let text = String::from_utf8_lossy(line);
    let text: String = text.trim_end().chars().map(|c| if c.is_control() { ' ' } else { c }).collect();
    match text.char_indices().nth(120) {
        Some((end, _)) => format!("{}...", text.get(..end).unwrap_or_default()),
        None => text,
    }
}

fn listen(mut from: impl BufRead, say: &SyncSender<Heard>) {
    loop {
        let mut line = Vec::new();
        let read = from.by_ref().take(LONGEST_LINE as u64 + 2).read_until(b'\n', &mut line);
        let heard = match read {
            Err(_) => Heard::End,
            Ok(_) if line.is_empty() => Heard::End,
            Ok(_) if line.last() == Some(&b'\n') && line.len() <= LONGEST_LINE + 1 => {
                line.pop();
                if line.last() == Some(&b'\r') {
                    line.pop();
                }
                Heard::Line(line)
            }
            Ok(_) if line.len() > LONGEST_LINE => Heard::TooLong,
            Ok(_) => Heard::Half(line),
        };
        let (more, too_long) = (matches!(heard, Heard::Line(_)), matches!(heard, Heard::TooLong));
        let gone = say.send(heard).is_err();
        if too_long && !gone {
            // The pipe stays open until it is ended: its last words are its own, not about a pipe.
            let _ = std::io::copy(&mut from, &mut std::io::sink());
        }
        if gone || !more {
            return;
        }
    }
}

fn overhear(mut from: impl BufRead, last: &Arc<Mutex<VecDeque<String>>>) {
    loop {
        let mut line = Vec::new();
        match from.by_ref().take(LAST_WIDTH as u64).read_until(b'\n', &mut line) {
            Ok(count) if count > 0 => {}
            _ => return,
        }
        let text = String::from_utf8_lossy(&line);
        let text: String = text.trim_end().chars().map(|c| if c.is_control() { ' ' } else { c }).collect();
        if text.is_empty() {
            continue;
        }
        let mut last = last.lock().unwrap_or_else(PoisonError::into_inner);
        if last.len() == LAST_LINES {
            last.pop_front();
        }
        last.push_back(text);
    }
}
