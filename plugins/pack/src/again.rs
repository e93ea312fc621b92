//! What a pack says, held against what comes out when the whole program does the work again.

use crate::bag_write::{RECORD_PATH, Role};
use crate::derive::file_differences;
use crate::open::OpenPack;
use crate::report::{Findings, Kind, Problem, Report, State};
use plugin_api::wire::{differences, v1};
use record::Record;
use serde_json::Value;
use std::collections::BTreeSet;

/// Differences shown.
const MOST_SHOWN: usize = 40;

/// Lines of a standard's data shown.
const MOST_LINES: usize = 12;

/// How a piece of work came out that was done again.
pub enum Standing<T> {
    /// It was done, with this result.
    Done(T),
    /// It was not done, for this reason.
    NotDone(String),
    /// It was begun and failed, although it once succeeded.
    Failed(Vec<String>),
}

/// A document that was written again.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Rewritten {
    /// The name that its writer gave it.
    pub name: String,
    /// Its bytes.
    pub bytes: Vec<u8>,
}

impl Report {
    /// Says that a pack whose checks had passed could not be opened again.
    pub fn enter_unopened(&mut self, problems: Vec<Problem>) {
        let mut findings = Findings::default();
        for problem in problems {
            findings.fail(problem);
        }
        let reason = "the pack could not be opened again".to_owned();
        self.enter(Kind::ReadAgain, findings, State::NotDone { reason });
    }

    /// Says whether the older packs are those that this one and they name.
    pub fn enter_chain(&mut self, chain: Standing<Vec<String>>) {
        let mut findings = Findings::default();
        let state = match chain {
            Standing::Done(steps) if steps.is_empty() => {
                State::Ok { detail: "it amends no other report".to_owned() }
            }
            Standing::Done(steps) => State::Ok { detail: steps.join("; ") },
            Standing::NotDone(reason) => State::NotDone { reason },
            Standing::Failed(problems) => {
                for what in problems {
                    findings.fail(Problem::new("", what));
                }
                State::Ok { detail: String::new() }
            }
        };
        self.enter(Kind::Chain, findings, state);
    }

    /// Holds the record against the one read again from the pack's original files. Findings under the codes given are
    /// left out of the comparison: they are about files that a pack does not hold.
    pub fn enter_read_again(&mut self, pack: &OpenPack, again: Standing<Record>, left_out: &[&str]) {
        let mut findings = Findings::default();
        let again = match again {
            Standing::Done(again) => again,
            Standing::NotDone(reason) => {
                return self.enter(Kind::ReadAgain, findings, State::NotDone { reason });
            }
            Standing::Failed(problems) => {
                for what in problems {
                    findings.fail(Problem::new("", what));
                }
                let detail = String::new();
                return self.enter(Kind::ReadAgain, findings, State::Ok { detail });
            }
        };
        let readers = |record: &Record| -> Vec<Option<String>> {
            record.sources.iter().map(|source| source.read_by.clone()).collect()
        };
        let same_readers = readers(&pack.record) == readers(&again);
        let value = |record: &Record| {
            let mut value = v1::record_to_value(record);
            leave_out(&mut value, left_out, same_readers);
            value
        };
        let found = differences(&value(&pack.record), &value(&again), MOST_SHOWN);
        if !found.is_empty() && !same_readers {
            let list = |record: &Record| {
                let mut names: Vec<String> = readers(record).into_iter().flatten().collect();
                names.sort();
                names.dedup();
                names.join(", ")
            };
            let what = format!(
                "the pack's record was read by {}, this build has {}: that may be the reason for what differs",
                list(&pack.record),
                list(&again)
            );
            findings
                .note(Problem::new(RECORD_PATH, what).help("verify it with the version that made it, too"));
        }
        file_differences(RECORD_PATH, "stored", "read again", found, &mut findings);
        let words =
            if same_readers { "" } else { ", by readers of another version; findings were not compared" };
        let detail = format!(
            "{} files, {} series, {} observations, every fact compared{words}",
            again.sources.len(),
            again.series.len(),
            again.observations.len()
        );
        self.enter(Kind::ReadAgain, findings, State::Ok { detail });
    }

    /// Holds the papers and summaries against those written again from the record.
    pub fn enter_written_again(&mut self, pack: &OpenPack, again: Standing<Vec<Rewritten>>) {
        let mut findings = Findings::default();
        let again = match again {
            Standing::Done(again) => again,
            Standing::NotDone(reason) => {
                return self.enter(Kind::WrittenAgain, findings, State::NotDone { reason });
            }
            Standing::Failed(problems) => {
                for what in problems {
                    findings.fail(Problem::new("", what));
                }
                let detail = String::new();
                return self.enter(Kind::WrittenAgain, findings, State::Ok { detail });
            }
        };
        let (mut same, mut left) = (Vec::new(), Vec::new());
        for document in pack.documents(Role::Paper).chain(pack.documents(Role::Summary)) {
            let Some(made) = again.iter().find(|made| made.name == document.name) else {
                left.push(document.name);
                continue;
            };
            match pack.read(&document) {
                Ok(bytes) if bytes == made.bytes => same.push(document.name),
                Ok(bytes) => {
                    let at = bytes.iter().zip(&made.bytes).take_while(|(a, b)| a == b).count() + 1;
                    let what = format!("is not what comes of the record: it differs from byte {at} on");
                    findings.fail(Problem::new(&document.path, what));
                }
                Err(error) => findings.fail(Problem::new(&document.path, format!("can't be read: {error}"))),
            }
        }
        for name in left {
            findings.note(Problem::new(&name, "was not written again"));
        }
        let state = match same.len() {
            0 => State::NotDone { reason: "the pack has no document that this build writes".to_owned() },
            _ => State::Ok { detail: format!("{}, byte for byte", same.join(", ")) },
        };
        self.enter(Kind::WrittenAgain, findings, state);
    }

    /// Holds the pack's data of its standard against the text of those that this build has under the same id.
    pub fn enter_standard(&mut self, pack: &OpenPack, known: Option<(u32, &str)>) {
        let mut findings = Findings::default();
        let own =
            pack.standard.as_ref().and_then(|(at, standard)| Some((standard, &pack.standards.get(*at)?.1)));
        let state = match (own, known) {
            (None, _) => {
                State::NotDone { reason: "the pack has no data of the standard that its record names".into() }
            }
            (Some((standard, _)), None) => State::NotDone {
                reason: format!(
                    "this build has no data of `{}`: the pack's own were used, look at them",
                    standard.id
                ),
            },
            (Some((standard, own)), Some((version, text))) if own == text => {
                State::Ok { detail: format!("`{}`, version {version}", standard.id) }
            }
            (Some((standard, own)), Some((version, text))) => {
                only_in("only in the pack", own, text, &mut findings);
                only_in("only in this build", text, own, &mut findings);
                let detail = if standard.version == version {
                    format!(
                        "`{}`, version {version}, is not the same in the pack: the verdict rests on other data than \
                         this build has under that name",
                        standard.id
                    )
                } else {
                    format!("`{}`: version {} in the pack, {version} here", standard.id, standard.version)
                };
                State::Differs { detail }
            }
        };
        self.enter(Kind::Standard, findings, state);
    }
}

/// Notes the first lines of a text that another does not have; comments are left out.
fn only_in(place: &str, text: &str, other: &str, findings: &mut Findings) {
    let known: BTreeSet<&str> = other.lines().collect();
    let mut lines = text.lines().filter(|line| {
        !known.contains(line) && !line.trim().is_empty() && !line.trim_start().starts_with('#')
    });
    for line in lines.by_ref().take(MOST_LINES) {
        findings.note(Problem::new(place, crate::names::shown(line)));
    }
    let more = lines.count();
    if more > 0 {
        findings.note(Problem::new(place, format!("{more} more lines")));
    }
}

/// Takes out of a record what may differ although the facts are the same.
fn leave_out(value: &mut Value, codes: &[&str], same_readers: bool) {
    if let Some(findings) = value.get_mut("findings").and_then(Value::as_array_mut) {
        findings.retain(|finding| {
            let code = finding.get("code").and_then(Value::as_str).unwrap_or_default();
            same_readers && !codes.contains(&code)
        });
    }
    if same_readers {
        return;
    }
    for source in value.get_mut("sources").and_then(Value::as_array_mut).into_iter().flatten() {
        if let Some(source) = source.as_object_mut() {
            source.remove("read_by");
            source.remove("part");
            source.remove("understood_as");
        }
    }
}
