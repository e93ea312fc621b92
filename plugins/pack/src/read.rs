//! Reads a pack as an input: its record, with the original files that the pack holds.

use crate::codes::{ALTERED, CODES, NOT_A_PACK, RESULT_DIFFERS};
use crate::open::{OpenPack, zip_stores};
use crate::report::{Outcome, Problem, Report, State};
use crate::request::{Depth, Request};
use crate::store::Limits;
use crate::verify::verify_zip;
use plugin_api::{Intake, Probe, ReadContext, Reader, Reported, Source};
use record::{CodeDoc, Draft, Finding, Place, SourceId};
use std::io::BufReader;
use std::sync::Arc;

/// Problems of a pack that are shown; `verify` lists all.
const MOST_SHOWN: usize = 20;

/// Reads evidence packs.
#[derive(Clone, Copy, Debug, Default)]
pub struct PackReader;

impl Reader for PackReader {
    fn name(&self) -> &'static str {
        "pack"
    }

    fn about(&self) -> &'static str {
        "evidence packs: the record inside, with its original files, to be written anew"
    }

    fn codes(&self) -> &'static [CodeDoc] {
        CODES
    }

    fn probe(&self, head: &[u8], file_name: &str) -> Probe {
        let name = file_name.to_ascii_lowercase();
        // A pack as it was written begins with its READ-ME-FIRST.txt; other zips (workbooks) begin otherwise.
        let start = head.get(..1024).unwrap_or(head);
        let marked = start.windows(b"/READ-ME-FIRST.txt".len()).any(|part| part == b"/READ-ME-FIRST.txt");
        match head.starts_with(b"PK\x03\x04") && marked || name.ends_with(".evidence.zip") {
            true => Probe::Yes,
            // Packed again, damaged, or no pack: the reader says which.
            false if name.ends_with(".zip") => Probe::Maybe,
            false => Probe::No,
        }
    }

    fn read(&self, source: &Source<'_>, intake: &mut Intake, _: &ReadContext<'_>) -> Result<(), Reported> {
        let place = Place { file: source.name.to_owned(), ..Place::default() };
        let limits = Limits::default();
        let Some(container) = source.container() else {
            return Err(intake.refuse(
                Finding::error(NOT_A_PACK, "a pack inside another container can't be read")
                    .at(place)
                    .help("unpack the outer one first"),
            ));
        };
        let opened = match container() {
            Ok(file) => file,
            Err(error) => {
                let finding = Finding::error(NOT_A_PACK, format!("the file can't be read: {error}"));
                return Err(intake.refuse(finding.at(place).help("make the file readable and run again")));
            }
        };
        let request = Request { limits: limits.clone(), depth: Depth::ReDerive, ..Request::default() };
        let report = verify_zip(BufReader::new(opened), request);
        match report.outcome {
            Outcome::Intact | Outcome::Rezipped => {}
            Outcome::Contradicted if only_the_verdict(&report) => {
                let mut finding = Finding::warning(
                    RESULT_DIFFERS,
                    "the assessment in this pack is not what its record comes to; what is written here is",
                )
                .at(place.clone());
                for problem in problems(&report).take(3) {
                    finding = finding.help(words(problem));
                }
                intake.say(finding.help("`fulgurite verify` shows every difference"));
            }
            Outcome::ForeignBag | Outcome::Unpacked | Outcome::Complete => {
                let finding = Finding::error(NOT_A_PACK, "a BagIt bag, but not a pack that this build knows");
                return Err(intake.refuse(finding.at(place).help("unpack it and convert what is inside")));
            }
            _ => {
                let mut finding =
                    Finding::error(ALTERED, format!("the pack is not in order: {}", report.outcome.id()));
                for problem in problems(&report).take(MOST_SHOWN) {
                    finding = finding.help(words(problem));
                }
                return Err(intake.refuse(finding.at(place).help("ask its sender for it again")));
            }
        }
        let pack = match OpenPack::open(zip_stores(container, &limits), &limits) {
            Ok(pack) => pack,
            Err(found) => {
                let mut finding = Finding::error(ALTERED, "the pack's content can't be read");
                for problem in found.iter().take(MOST_SHOWN) {
                    finding = finding.help(words(problem));
                }
                return Err(intake.refuse(finding.at(place)));
            }
        };
        for at in 0..pack.record.sources.len() {
            let id = SourceId(u32::try_from(at).unwrap_or(u32::MAX));
            if let Some(opener) = pack.original(id) {
                intake.original(id, opener);
            }
        }
        if let Some((at, _)) = &pack.standard
            && let Some((name, text)) = pack.standards.get(*at)
        {
            intake.standard(name, text);
        }
        // Where the verdict is another one now, what was compared with it is another thing too.
        if report.outcome != Outcome::Contradicted
            && let Some((_, changes)) = pack.changes
        {
            intake.changes(changes);
        }
        intake.understood("evidence pack, every checksum fits");
        let record = Arc::unwrap_or_clone(pack.record);
        intake.whole(Draft {
            sources: record.sources,
            facts: record.facts,
            origins: record.origins,
            series: record.series,
            observations: record.observations,
            verifications: record.verifications,
            unread: record.unread,
            passed_through: record.passed_through,
            findings: record.findings,
        });
        Ok(())
    }
}

fn only_the_verdict(report: &Report) -> bool {
    report.checks.iter().all(|check| check.id == "verdict" || !matches!(check.state, State::Failed { .. }))
}

fn problems(report: &Report) -> impl Iterator<Item = &Problem> {
    report.checks.iter().flat_map(|check| match &check.state {
        State::Failed { problems, .. } => problems.as_slice(),
        _ => &[],
    })
}

fn words(problem: &Problem) -> String {
    if problem.place.is_empty() {
        problem.what.clone()
    } else {
        format!("{}: {}", problem.place, problem.what)
    }
}
