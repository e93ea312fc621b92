//! What must hold of the verdict on any record: small records, each with some facts spoilt at random.
#![allow(clippy::unwrap_used, reason = "a test that can not go on has failed")]

mod sample;

use assess::{Act, Assessment, Reason, StateVerdict, Verdict, assess};
use proptest::prelude::*;
use record::*;
use sample::*;
use std::collections::BTreeSet;

/// One change that takes something away from a record that passes.
type Spoil = fn(&mut Draft);

const SPOILS: &[Spoil] = &[
    |d| d.facts.equipment.clear(),
    |d| d.facts.equipment.iter_mut().for_each(|e| e.calibration_due = date("2026-03-11")),
    |d| d.facts.equipment.iter_mut().for_each(|e| e.accredited = Some(false)),
    |d| d.facts.equipment.iter_mut().for_each(|e| e.accredited = None),
    |d| d.facts.equipment.iter_mut().for_each(|e| e.in_tolerance = Some(false)),
    |d| d.facts.generator.equipment = None,
    |d| d.facts.climate.clear(),
    |d| d.facts.climate.iter_mut().for_each(|c| c.humidity_percent = Some(Percent::parse("75").unwrap())),
    |d| d.facts.climate.iter_mut().for_each(|c| c.pressure_hpa = None),
    |d| d.facts.setup_checks.clear(),
    |d| d.facts.setup_checks.iter_mut().for_each(|c| c.in_order = Some(false)),
    |d| d.facts.setup_checks.iter_mut().for_each(|c| c.at = None),
    |d| d.facts.item.earthed = Stated::NotStated,
    |d| d.facts.item.earthed = Stated::Stated(false),
    |d| d.facts.generator.air_tip = Some(Tip::Sharp),
    |d| d.facts.generator.contact_tip = None,
    |d| d.facts.generator.network_ohm = None,
    |d| d.facts.generator.network_pf = Some(Picofarads::parse("330").unwrap()),
    |d| d.series.iter_mut().for_each(|s| s.monitoring = Stated::NotStated),
    |d| d.series.iter_mut().take(2).for_each(|s| s.monitoring = Stated::Stated(Monitoring::Interrupted)),
    |d| d.series.iter_mut().for_each(|s| s.monitoring = Stated::Stated(Monitoring::ResultEach)),
    |d| d.series.iter_mut().take(3).for_each(|s| s.interval_s = None),
    |d| d.series.iter_mut().take(4).for_each(|s| s.count = 7),
    |d| drop(d.series.pop()),
    |d| d.series.iter_mut().take(1).for_each(|s| s.single = Some(false)),
    |d| d.series.iter_mut().skip(2).take(1).for_each(|s| s.interval_s = Some(Seconds::parse("0.1").unwrap())),
    |d| d.facts.plan.polarity = Some(PolarityRule::Positive),
    |d| d.facts.demands.clear(),
    |d| {
        d.unread.push(UnreadRow {
            source: SourceId(1),
            row: 99,
            last_row: 99,
            text: "?".into(),
            code: "csv/bad".into(),
            why: "no number".into(),
        });
    },
];

/// What can be seen, from the mildest to the worst.
fn outcome(row: u64, badness: usize) -> Observation {
    let base = observation(row);
    match badness {
        0 => Observation { restored: Stated::Stated(Restoration::NothingLost), ..base },
        1 => base,
        2 => Observation { state_changed: Stated::Stated(true), ..base },
        3 => Observation { restored: Stated::Stated(Restoration::Operator), ..base },
        4 => Observation { restored: Stated::Stated(Restoration::PowerCycle), ..base },
        5 => Observation { restored: Stated::Stated(Restoration::NotRestored), ..base },
        _ => Observation { data_lost: Stated::Stated(true), ..base },
    }
}

fn forget(mut observation: Observation, facts: u8) -> Observation {
    if facts & 1 > 0 {
        observation.state_changed = Stated::NotStated;
    }
    if facts & 2 > 0 {
        observation.data_lost = Stated::NotStated;
    }
    if facts & 4 > 0 {
        observation.restored = Stated::NotStated;
    }
    if facts & 8 > 0 {
        observation.series = None;
    }
    observation
}

fn judged(draft: &Draft) -> (Record, Assessment) {
    let record = check(draft.clone()).unwrap();
    let assessment = assess(&record, Some(&standard()));
    (record, assessment)
}

fn headline(assessment: &Assessment) -> &StateVerdict {
    assessment.headline().unwrap()
}

/// Some spoils, and an observation in one of the rows or none.
fn spoilt() -> impl Strategy<Value = Draft> {
    let spoils = proptest::sample::subsequence((0..SPOILS.len()).collect::<Vec<_>>(), 0..5);
    (spoils, 0usize..8, 2u64..12, 0u8..16).prop_map(|(spoils, badness, row, facts)| {
        let mut draft = passing();
        for index in spoils {
            SPOILS[index](&mut draft);
        }
        if badness < 7 {
            draft.observations.push(forget(outcome(row, badness), facts));
        }
        draft
    })
}

/// What a person at the desk would do about one entry of the list, in the way that lets the test stand.
fn settle(draft: &mut Draft, act: &Act, plan: &[assess::Required], day: &mut u32) {
    let whole = passing();
    match act {
        Act::State { paths } => {
            for path in paths {
                let top = path.trim_start_matches('/').split('/').next().unwrap_or_default();
                let (facts, good) = (&mut draft.facts, &whole.facts);
                match top {
                    "equipment" => facts.equipment = good.equipment.clone(),
                    "generator" => facts.generator = good.generator.clone(),
                    "climate" => facts.climate.extend(good.climate.clone()),
                    // A check without a time turns out to be of a day without discharges.
                    "setup_checks" if path.ends_with("/at") => {
                        let index: usize = path.split('/').nth(2).unwrap().parse().unwrap();
                        facts.setup_checks[index].at = moment("2026-03-01T09:00");
                        facts.setup_checks.extend(good.setup_checks.clone());
                    }
                    "setup_checks" => facts.setup_checks.extend(good.setup_checks.clone()),
                    "item" => facts.item.earthed = Stated::Stated(true),
                    "charge_removal" => {
                        facts.charge_removal =
                            Stated::Stated(ChargeRemoval { method: "earthed brush".into() });
                    }
                    "plan" => facts.plan.polarity_basis = Some("search of 2026-03-11".into()),
                    "demands" => facts.demands = good.demands.clone(),
                    other => panic!("nothing is known about {other}"),
                }
                // Who names the generator states its calibration with it, as the list says.
                if path == "/generator/equipment" {
                    facts.equipment = good.equipment.clone();
                }
            }
        }
        Act::StateSeries { series, fact } => {
            for own in draft.series.iter_mut().filter(|s| series.contains(&s.id)) {
                match *fact {
                    "monitoring" => own.monitoring = Stated::Stated(Monitoring::Continuous),
                    "interval_s" => own.interval_s = Some(Seconds::parse("1").unwrap()),
                    other => panic!("{other}"),
                }
            }
        }
        Act::StateObservation { observation } => {
            let known: Vec<SeriesId> = draft.series.iter().map(|s| s.id.clone()).collect();
            for own in draft.observations.iter_mut().filter(|o| o.id == *observation) {
                if own.series.as_ref().is_none_or(|id| !known.contains(id)) {
                    own.coincident = Stated::Stated(false);
                }
                for fact in [&mut own.state_changed, &mut own.data_lost] {
                    if fact.is_not_stated() {
                        *fact = Stated::Stated(false);
                    }
                }
                if own.restored.is_not_stated() {
                    own.restored = Stated::Stated(Restoration::ByItself);
                }
            }
        }
        Act::Rule { file, row } => draft.facts.rulings.push(RowRuling {
            file: file.clone(),
            row: *row,
            by: "T. Sedge".into(),
            at: None,
            ruling: "no discharge".into(),
        }),
        Act::Apply { owed } => apply(draft, owed, plan, day),
        Act::Repeat { series, owed } => {
            for own in draft.series.iter_mut().filter(|s| series.contains(&s.id)) {
                own.kind = RunKind::Exploratory;
            }
            draft.facts.generator.network_pf = whole.facts.generator.network_pf;
            draft.facts.generator.network_ohm = whole.facts.generator.network_ohm;
            // An observation of the series set aside is no longer one of the compliance run.
            apply(draft, owed, plan, day);
        }
    }
}

/// Applies discharges on a day of its own, with everything in order on that day.
fn apply(draft: &mut Draft, owed: &[(usize, u32)], plan: &[assess::Required], day: &mut u32) {
    *day += 1;
    let at = |time: &str| moment(&format!("2026-04-{day:02}T{time}"));
    for (row, count) in owed {
        let required = &plan[*row];
        let number = 1000 + draft.series.len() as u64;
        let mut own = series(number, required.point.as_str(), required.application, "1", required.polarity);
        own.voltage_kv = required.voltage_kv;
        own.count = *count;
        own.started = at("10:00");
        own.tip = Some(if required.application == Application::Air { Tip::Round } else { Tip::Sharp });
        draft.series.push(own);
    }
    let whole = passing();
    draft
        .facts
        .climate
        .extend(whole.facts.climate.into_iter().map(|c| ClimateReading { at: at("09:00"), ..c }));
    draft
        .facts
        .setup_checks
        .extend(whole.facts.setup_checks.into_iter().map(|c| SetupCheck { at: at("09:00"), ..c }));
}

fn every_reason<'a>(reasons: &'a [Reason], found: &mut Vec<&'a Reason>) {
    for reason in reasons {
        found.push(reason);
        every_reason(&reason.because, found);
    }
}

/// The assessment without the order in which things were read: what is said, sorted.
fn said(record: &Record, assessment: &Assessment) -> BTreeSet<String> {
    let mut said = BTreeSet::new();
    for state in &assessment.states {
        said.insert(format!("{:?} {} {}", state.state, state.verdict, state.failure_observed));
        for reason in &state.reasons {
            let places: BTreeSet<String> =
                reason.origins.iter().map(|o| record.place(o).to_string()).collect();
            said.insert(format!("{} {:?} {} {places:?}", reason.rule, reason.effect, reason.text));
        }
        for row in &state.coverage {
            let label = assessment.plan[row.required].label();
            said.insert(format!("{label} {} {} {:?} {}", row.counted, row.state, row.worst, row.verdict));
        }
        for item in &state.evidence {
            said.insert(format!("{} {} {}", item.kind, item.state, item.text()));
        }
        for settlement in &state.settle {
            said.insert(format!("settle: {} {:?}", settlement.what, settlement.minutes));
        }
    }
    said
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 512, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn applying_the_shortest_list_makes_the_verdict_determined(mut draft in spoilt()) {
        let mut day = 0;
        let (_, first) = judged(&draft);
        for act in headline(&first).settle.iter().map(|s| s.act.clone()) {
            settle(&mut draft, &act, &first.plan, &mut day);
        }
        let (record, second) = judged(&draft);
        let state = headline(&second);
        let texts: Vec<&str> = state.reasons.iter().map(|r| r.text.as_str()).collect();
        // A judgement of severity may bring a failure to light; both answers are determined.
        prop_assert!(
            state.verdict != Verdict::Undetermined,
            "{:#?}\nafter {:#?}\n{:?}", texts, headline(&first).settle, record.series.len()
        );
        prop_assert!(state.settle.is_empty());
    }

    #[test]
    fn every_leaf_of_every_reason_is_an_origin_that_exists(draft in spoilt()) {
        let (record, assessment) = judged(&draft);
        for state in &assessment.states {
            let mut all = Vec::new();
            every_reason(&state.reasons, &mut all);
            prop_assert!(!all.is_empty());
            for reason in all {
                prop_assert!(!reason.origins.is_empty() || !reason.because.is_empty(), "{}", reason.text);
                for origin in &reason.origins {
                    prop_assert!((origin.source.0 as usize) < record.sources.len(), "{}", reason.text);
                }
            }
        }
    }

    #[test]
    fn more_clean_discharges_never_turn_a_pass_into_undetermined(extra in proptest::collection::vec((0usize..10, 1u32..30), 0..6)) {
        let mut draft = passing();
        for (index, (of, count)) in extra.into_iter().enumerate() {
            let like = draft.series[of].clone();
            let row = 100 + index as u64;
            let id = SeriesId::new(&format!("log#{row}")).unwrap();
            draft.series.push(Series { id, count, origin: Origin::rows(SourceId(1), row, row), ..like });
        }
        prop_assert_eq!(judged(&draft).1.verdict(), Verdict::Pass);
    }

    #[test]
    fn a_worse_outcome_never_improves_a_verdict(mut draft in spoilt(), row in 2u64..12, mild in 0usize..7, worse in 0usize..7) {
        prop_assume!(mild < worse);
        draft.observations.clear();
        let mut with = draft.clone();
        with.observations.push(outcome(row, mild));
        let mut with_worse = draft.clone();
        with_worse.observations.push(outcome(row, worse));
        let (none, mild, worse) = (judged(&draft).1.verdict(), judged(&with).1.verdict(), judged(&with_worse).1.verdict());
        prop_assert!(none <= mild && mild <= worse, "{none} {mild} {worse}");
    }

    #[test]
    fn the_order_of_reading_changes_nothing(draft in spoilt(), seed in any::<u64>()) {
        let (record, first) = judged(&draft);
        let mut mixed = draft.clone();
        let mut state = seed;
        let mut next = move || {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            (state >> 33) as usize
        };
        fn shuffle<T>(list: &mut [T], next: &mut impl FnMut() -> usize) {
            for index in (1..list.len()).rev() {
                list.swap(index, next() % (index + 1));
            }
        }
        shuffle(&mut mixed.series, &mut next);
        shuffle(&mut mixed.facts.points, &mut next);
        shuffle(&mut mixed.facts.climate, &mut next);
        shuffle(&mut mixed.facts.setup_checks, &mut next);
        // The two sources in the other order: every origin follows.
        mixed.sources.reverse();
        let last = mixed.sources.len() as u32 - 1;
        for series in &mut mixed.series {
            series.origin.source = SourceId(last - series.origin.source.0);
        }
        for observation in &mut mixed.observations {
            observation.origin.source = SourceId(last - observation.origin.source.0);
        }
        for unread in &mut mixed.unread {
            unread.source = SourceId(last - unread.source.0);
        }
        let (mixed_record, second) = judged(&mixed);
        let (first, second) = (said(&record, &first), said(&mixed_record, &second));
        prop_assert_eq!(first, second);
    }
}
