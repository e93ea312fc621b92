//! Processes that a plug-in started and that left its group: on Linux they are known by the variable that they
//! inherit, and are ended too. Elsewhere the group (Unix) or the job object (Windows) has to do.

#[cfg(not(target_os = "linux"))]
use std::path::Path;

/// How many processes beside the plug-in itself still live; none where the system can't say.
#[cfg(not(target_os = "linux"))]
pub(super) fn living(_: u32, _: &Path) -> Option<usize> {
    None
}

#[cfg(not(target_os = "linux"))]
pub(super) fn end(_: u32, _: &Path) {}

#[cfg(target_os = "linux")]
pub(super) use linux::{end, living};

#[cfg(target_os = "linux")]
mod linux {
    use super::super::process::MARK;
    use rustix::process::{Pid, Signal, kill_process};
    use std::os::unix::ffi::OsStrExt;
    use std::path::Path;

    /// Rounds of looking and ending: what starts others while it is ended is met in the next one.
    const ROUNDS: usize = 20;

    pub(crate) fn living(group: u32, work: &Path) -> Option<usize> {
        Some(others(group, work).len())
    }

    pub(crate) fn end(group: u32, work: &Path) {
        for _ in 0..ROUNDS {
            let found = others(group, work);
            if found.is_empty() {
                return;
            }
            for pid in found {
                let _ = kill_process(pid, Signal::KILL);
            }
            std::thread::sleep(std::time::Duration::from_millis(5));
        }
    }

    /// Living processes of the group or with the mark, without the leader.
    fn others(group: u32, work: &Path) -> Vec<Pid> {
        let mut mark = format!("{MARK}=").into_bytes();
        mark.extend_from_slice(work.as_os_str().as_bytes());
        let Ok(entries) = std::fs::read_dir("/proc") else { return Vec::new() };
        let mut found = Vec::new();
        for entry in entries.flatten() {
            let name = entry.file_name();
            let Some(pid) = name.to_str().and_then(|name| name.parse::<i32>().ok()) else { continue };
            if i64::from(pid) == i64::from(group) || i64::from(pid) == i64::from(std::process::id()) {
                continue;
            }
            let Ok(stat) = std::fs::read_to_string(entry.path().join("stat")) else { continue };
            // The name of the program stands in parentheses and may hold anything.
            let Some((_, after)) = stat.rsplit_once(')') else { continue };
            let mut fields = after.split_ascii_whitespace();
            let (state, pgrp) = (fields.next(), fields.nth(1));
            if matches!(state, Some("Z" | "X")) {
                continue;
            }
            let in_group = pgrp.and_then(|pgrp| pgrp.parse::<u32>().ok()) == Some(group);
            let marked = || {
                std::fs::read(entry.path().join("environ"))
                    .is_ok_and(|environ| environ.split(|b| *b == 0).any(|variable| variable == mark))
            };
            if (in_group || marked())
                && let Some(pid) = Pid::from_raw(pid)
            {
                found.push(pid);
            }
        }
        found
    }
}
