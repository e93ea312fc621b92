//! Packs whose checksums all agree and whose verdict does not follow from their record: the viewer must say so.

use crate::node::{node, told};
use crate::packed::Job;
use assess::{Assessment, Verdict};
use record::{Class, Restoration, Stated};
use serde_json::Value;
use std::path::Path;

/// What the viewer finds in a pack; `None` where there is no node.
fn examined(folder: &Path, pack: &[u8]) -> Option<Value> {
    let path = folder.join("pack.zip");
    std::fs::write(&path, pack).unwrap();
    let output = node(&["../tests/viewer/examine.mjs", &path.to_string_lossy()])?;
    assert!(output.status.success(), "{}", told(&output));
    Some(serde_json::from_slice(&output.stdout).unwrap())
}

/// A job with an observation that decides its verdict.
fn failing() -> Job {
    (0..2000)
        .map(|seed| Job::new(seed, 500))
        .find(|job| {
            let assessment = job.assess();
            let own_count = job.record.facts.plan.discharges.is_some();
            assessment.verdict() == Verdict::Fail && assessment.states.len() > 1 && !own_count
        })
        .unwrap()
}

/// Changes a pack before it is written, so that every checksum fits.
type Forgery = fn(&mut Job, &mut Assessment);

const FORGERIES: [(&str, Forgery); 10] = [
    ("the verdict turned", |_, a| a.states[0].verdict = Verdict::Pass),
    ("the verdict of another state turned", |_, a| {
        let verdict = &mut a.states[1].verdict;
        *verdict = if *verdict == Verdict::Pass { Verdict::Fail } else { Verdict::Pass };
    }),
    ("a reason left out", |_, a| {
        a.states[0].reasons.remove(0);
    }),
    ("more discharges counted", |_, a| a.states[0].coverage[0].counted += 1),
    ("an observation's class changed", |_, a| a.observations[0].class = Some(Class::A)),
    ("evidence said to be not required", |_, a| a.states[0].evidence[0].required = false),
    ("what was seen changed in the record", |job, _| {
        for observation in &mut job.record.observations {
            observation.restored = Stated::Stated(Restoration::NothingLost);
            observation.data_lost = Stated::Stated(false);
        }
    }),
    ("a series taken out of the record", |job, _| {
        job.record.series.remove(0);
    }),
    ("another demand in the record", |job, _| {
        for demand in &mut job.record.facts.demands {
            demand.accepted = vec!["C".into()];
        }
    }),
    ("fewer discharges asked for by the standard's data", |job, _| {
        job.standard_text =
            job.standard_text.replace("discharges = { value = 10", "discharges = { value = 1");
    }),
];

#[test]
fn a_forgery_with_sound_checksums_is_caught_by_deriving_again() {
    let folder = tempfile::tempdir().unwrap();
    let job = failing();
    let Some(sound) = examined(folder.path(), &job.pack(&job.assess())) else { return };
    assert_eq!((&sound["intact"], &sound["again"]), (&true.into(), &"agrees".into()), "{sound}");
    for (name, forge) in FORGERIES {
        let mut job = failing();
        let mut assessment = job.assess();
        forge(&mut job, &mut assessment);
        let found = examined(folder.path(), &job.pack(&assessment)).unwrap();
        assert_eq!((&found["intact"], &found["again"]), (&true.into(), &"differs".into()), "{name}: {found}");
    }
}
