//! Each row of the table of verdicts, on one small record that passes until one fact is changed.
//!
//! The table is the project's own (DEVELOPERS.md, "Where is ..."); classes and criteria follow
//! IEC 61000-4-2:2008 clause 9 as the data file of the standard has them, with its status marks.
#![allow(clippy::unwrap_used, reason = "a test that can not go on has failed")]

mod sample;

use assess::{Assessment, Rule, Verdict, assess};
use record::*;
use sample::*;

#[track_caller]
fn judged(change: impl FnOnce(&mut Draft)) -> (Record, Assessment) {
    let mut draft = passing();
    change(&mut draft);
    let record = check(draft).unwrap();
    let assessment = assess(&record, Some(&standard()));
    (record, assessment)
}

/// The verdict, that the rule appears among its deciding reasons, and that every reason has an origin.
#[track_caller]
fn expect(verdict: Verdict, rule: Rule, change: impl FnOnce(&mut Draft)) -> Assessment {
    let (record, assessment) = judged(change);
    let state = assessment.headline().unwrap();
    let texts: Vec<&str> = state.reasons.iter().map(|r| r.text.as_str()).collect();
    assert_eq!(state.verdict, verdict, "{texts:#?}");
    assert!(state.reasons.iter().any(|r| r.rule == rule), "no reason by {rule}: {texts:#?}");
    for reason in &state.reasons {
        assert!(!reason.origins.is_empty(), "no origin: {}", reason.text);
        for origin in &reason.origins {
            assert!((origin.source.0 as usize) < record.sources.len());
        }
    }
    if verdict == Verdict::Undetermined {
        assert!(!state.settle.is_empty(), "undetermined without a way to settle it: {texts:#?}");
    } else {
        assert!(state.settle.is_empty());
    }
    assessment
}

#[test]
fn a_complete_record_passes() {
    let assessment = expect(Verdict::Pass, Rule::MeetsPlan, |_| {});
    assert_eq!(assessment.plan.len(), 10);
}

#[test]
fn an_outcome_outside_the_demand_fails() {
    let operator = |d: &mut Draft| {
        d.observations
            .push(Observation { restored: Stated::Stated(Restoration::Operator), ..observation(3) });
    };
    let assessment = expect(Verdict::Fail, Rule::OutcomeOutsideDemand, operator);
    assert_eq!(assessment.observations[0].class, Some(Class::C));
    // Other evidence problems stand beside it and don't undo it.
    expect(Verdict::Fail, Rule::EvidenceNotStated, |d| {
        operator(d);
        d.facts.setup_checks.clear();
    });
    // A self-recovering reset is class b and still outside criterion B.
    expect(Verdict::Fail, Rule::OutcomeOutsideDemand, |d| {
        d.observations.push(Observation { state_changed: Stated::Stated(true), ..observation(3) });
    });
}

#[test]
fn a_failure_at_unknown_severity_is_undetermined_and_said() {
    let fail = |d: &mut Draft| {
        d.observations
            .push(Observation { restored: Stated::Stated(Restoration::NotRestored), ..observation(3) });
    };
    for spoil in [
        (|d: &mut Draft| d.facts.equipment[0].calibration_due = None) as fn(&mut Draft),
        |d| d.facts.equipment[0].in_tolerance = Some(false),
        |d| d.facts.generator.network_pf = Some(Picofarads::parse("330").unwrap()),
        |d| d.facts.generator.contact_tip = Some(Tip::Round),
    ] {
        let assessment = expect(Verdict::Undetermined, Rule::FailureAtUnknownSeverity, |d| {
            fail(d);
            spoil(d);
        });
        assert!(assessment.headline().unwrap().failure_observed);
    }
}

#[test]
fn an_unread_row_caps_the_verdict_until_somebody_rules() {
    let unread = |d: &mut Draft| {
        d.unread.push(UnreadRow {
            source: SourceId(1),
            row: 12,
            last_row: 12,
            text: "?".into(),
            code: "csv/bad".into(),
            why: "no number".into(),
        });
    };
    expect(Verdict::Undetermined, Rule::RowUnread, unread);
    expect(Verdict::Pass, Rule::RowRuled, |d| {
        unread(d);
        d.facts.rulings.push(RowRuling {
            file: "log.csv".into(),
            row: 12,
            by: "T. Sedge".into(),
            at: None,
            ruling: "a remark of the tester, no discharge".into(),
        });
    });
    // Fail beats undetermined.
    expect(Verdict::Fail, Rule::RowUnread, |d| {
        unread(d);
        d.observations
            .push(Observation { restored: Stated::Stated(Restoration::PowerCycle), ..observation(3) });
    });
}

#[test]
fn outcomes_without_effect_are_reported_and_change_nothing() {
    let severe = || Observation { restored: Stated::Stated(Restoration::NotRestored), ..observation(3) };
    for change in [
        (|d: &mut Draft, o: Observation| {
            d.series[1].kind = RunKind::Exploratory;
            d.series.push(Series {
                origin: Origin::rows(SourceId(1), 30, 30),
                ..series(30, "P1", Application::Contact, "8", Polarity::Negative)
            });
            d.observations.push(o);
        }) as fn(&mut Draft, Observation),
        |d, o| d.observations.push(Observation { coincident: Stated::Stated(false), ..o }),
        |d, o| d.observations.push(Observation { affected: Stated::Stated(Affected::Associated), ..o }),
        |d, o| {
            d.series.push(series(30, "P1", Application::Contact, "9", Polarity::Negative));
            d.observations.push(Observation { series: SeriesId::new("log#30"), ..o });
        },
    ] {
        expect(Verdict::Pass, Rule::OutcomeWithoutEffect, |d| change(d, severe()));
    }
}

#[test]
fn criterion_b_asks_for_exactly_the_facts_that_are_missing() {
    expect(Verdict::Pass, Rule::OutcomeWithinDemand, |d| d.observations.push(observation(3)));
    for (change, fact) in [
        (
            (|o: &mut Observation| o.state_changed = Stated::NotStated) as fn(&mut Observation),
            "whether the operating state changed",
        ),
        (|o| o.data_lost = Stated::NotStated, "whether stored data were lost"),
        (|o| o.restored = Stated::NotStated, "who or what restored the function"),
    ] {
        let assessment = expect(Verdict::Undetermined, Rule::ObservationFactsMissing, |d| {
            let mut seen = Observation { written_class: Some(Class::B), ..observation(3) };
            change(&mut seen);
            d.observations.push(seen);
        });
        let settle = &assessment.headline().unwrap().settle;
        assert_eq!(settle.len(), 1, "{settle:#?}");
        assert_eq!(settle[0].what.to_string(), format!("log.csv:3:5: state {fact}"));
    }
}

#[test]
fn a_short_or_missing_series_is_undetermined_and_says_what_is_owed() {
    let assessment = expect(Verdict::Undetermined, Rule::SeriesShort, |d| d.series[0].count = 7);
    let settle = &assessment.headline().unwrap().settle;
    assert_eq!(settle.len(), 1);
    assert_eq!(settle[0].what.to_string(), "apply 3 more discharges: P1 contact +8 kV");
    assert_eq!(settle[0].minutes.unwrap().to_string(), "0.05");
    expect(Verdict::Undetermined, Rule::SeriesShort, |d| {
        d.series.remove(0);
    });
    // Several partial series add up.
    expect(Verdict::Pass, Rule::MeetsPlan, |d| {
        d.series[0].count = 7;
        d.series.push(Series { count: 3, ..series(30, "P1", Application::Contact, "8", Polarity::Positive) });
    });
    // Bursts and too short an interval don't count.
    expect(Verdict::Undetermined, Rule::SeriesShort, |d| d.series[0].single = Some(false));
    expect(Verdict::Undetermined, Rule::SeriesShort, |d| {
        d.series[0].interval_s = Some(Seconds::parse("0.05").unwrap());
    });
}

#[test]
fn an_unwatched_series_is_undetermined() {
    expect(Verdict::Undetermined, Rule::SeriesNotWatched, |d| d.series[0].monitoring = Stated::NotStated);
    expect(Verdict::Undetermined, Rule::SeriesNotWatched, |d| {
        d.series[0].monitoring = Stated::Stated(Monitoring::Interrupted);
    });
    expect(Verdict::Undetermined, Rule::IntervalNotStated, |d| d.series[0].interval_s = None);
}

#[test]
fn a_plan_run_in_part_in_a_modified_state_needs_a_named_justification() {
    let retest = |d: &mut Draft| {
        d.facts.states.push(ItemState {
            id: StateId::new("M1").unwrap(),
            description: None,
            reason: None,
            since: None,
            by: None,
        });
        d.facts.plan.judged_state = StateId::new("M1");
        for row in [40, 41] {
            let polarity = if row == 40 { Polarity::Positive } else { Polarity::Negative };
            d.series.push(Series {
                state: StateId::new("M1"),
                ..series(row, "P1", Application::Contact, "8", polarity)
            });
        }
    };
    let assessment = expect(Verdict::Undetermined, Rule::PlanInPart, retest);
    assert_eq!(assessment.states.len(), 2);
    assert_eq!(assessment.states[1].verdict, Verdict::Pass, "the other state stands beside it");
    expect(Verdict::Pass, Rule::PlanInPartJustified, |d| {
        retest(d);
        d.facts.partial_plan_justifications.push(PartialPlanJustification {
            state: StateId::new("M1").unwrap(),
            by: "O. Heron".into(),
            why: "the change touches this point only".into(),
        });
    });
}

#[test]
fn required_evidence_that_is_violated_or_not_stated_is_undetermined() {
    for change in [
        (|d: &mut Draft| d.facts.equipment.clear()) as fn(&mut Draft),
        |d| d.facts.equipment[0].calibration_due = date("2026-03-11"),
        |d| d.facts.equipment[0].accredited = Some(false),
        |d| d.facts.climate[0].humidity_percent = Some(Percent::parse("61").unwrap()),
        |d| d.facts.climate.clear(),
        |d| d.facts.setup_checks.clear(),
        |d| d.facts.setup_checks[0].in_order = Some(false),
        |d| d.facts.setup_checks[0].at = moment("2026-03-12T17:00"),
        |d| d.facts.item.earthed = Stated::Stated(false),
        |d| d.facts.item.earthed = Stated::NotStated,
        |d| d.facts.generator.air_tip = None,
        |d| d.facts.generator.network_ohm = None,
    ] {
        let (_, assessment) = judged(change);
        let state = assessment.headline().unwrap();
        let texts: Vec<&str> = state.reasons.iter().map(|r| r.text.as_str()).collect();
        assert_eq!(state.verdict, Verdict::Undetermined, "{texts:#?}");
        let evidence = state
            .reasons
            .iter()
            .filter(|r| matches!(r.rule, Rule::EvidenceViolated | Rule::EvidenceNotStated))
            .count();
        assert_eq!(evidence, 1, "{texts:#?}");
        assert_eq!(state.settle.len(), 1, "{:#?}", state.settle);
    }
    // A calibration that ends on the test day is in date; humidity does not bind contact discharge.
    expect(Verdict::Pass, Rule::MeetsPlan, |d| d.facts.equipment[0].calibration_due = date("2026-03-12"));
    expect(Verdict::Pass, Rule::MeetsPlan, |d| {
        d.facts.points.remove(1);
        d.series.truncate(2);
        d.facts.climate.clear();
    });
}

#[test]
fn a_deviation_with_its_reason_is_stated_beside_the_verdict() {
    expect(Verdict::Pass, Rule::Deviation, |d| {
        d.facts.method.deviations.push(Deviation {
            what: "support of 0.6 mm".into(),
            reason: Some("as delivered".into()),
            clause: None,
        });
    });
}

#[test]
fn without_method_demand_or_polarity_nothing_can_be_said() {
    expect(Verdict::Undetermined, Rule::DemandNotStated, |d| d.facts.demands.clear());
    expect(Verdict::Undetermined, Rule::PlanUnknown, |d| d.facts.plan.polarity = None);
    expect(Verdict::Undetermined, Rule::PlanUnknown, |d| d.facts.plan.level = Some("9".into()));
    let record = check(passing()).unwrap();
    let assessment = assess(&record, None);
    assert_eq!(assessment.verdict(), Verdict::Undetermined);
    assert_eq!(assessment.headline().unwrap().reasons[0].rule, Rule::MethodUnknown);
}

#[test]
fn the_facts_win_over_a_written_letter() {
    let (_, assessment) = judged(|d| {
        d.observations.push(Observation {
            written_class: Some(Class::B),
            restored: Stated::Stated(Restoration::Operator),
            ..observation(3)
        });
    });
    assert_eq!(assessment.verdict(), Verdict::Fail);
    assert_eq!(assessment.findings[0].code, assess::codes::CLASS_CONTRADICTS_FACTS);
}

#[test]
fn the_order_of_reading_changes_nothing() {
    let (_, forward) = judged(|d| d.observations.push(observation(3)));
    let (_, backward) = judged(|d| {
        d.observations.push(observation(3));
        d.series.reverse();
    });
    assert_eq!(forward.verdict(), backward.verdict());
    let coverage = |a: &Assessment| {
        a.headline().unwrap().coverage.iter().map(|c| (c.required, c.counted, c.worst)).collect::<Vec<_>>()
    };
    assert_eq!(coverage(&forward), coverage(&backward));
}

#[test]
fn a_failure_is_stated_where_the_severity_of_its_own_series_is_known() {
    let fail = |d: &mut Draft| {
        d.observations
            .push(Observation { restored: Stated::Stated(Restoration::NotRestored), ..observation(3) });
    };
    // The tip for air discharge says nothing about a contact discharge.
    expect(Verdict::Fail, Rule::EvidenceNotStated, |d| {
        fail(d);
        d.facts.generator.air_tip = None;
    });
    // Nor does a wrong tip in another series; in its own it does.
    expect(Verdict::Fail, Rule::EvidenceViolated, |d| {
        fail(d);
        d.series[0].tip = Some(Tip::Round);
    });
    expect(Verdict::Undetermined, Rule::FailureAtUnknownSeverity, |d| {
        fail(d);
        d.series[1].tip = Some(Tip::Round);
    });
    // A contact series is sound by itself whatever tip was used for air.
    let (_, assessment) = judged(|d| d.facts.generator.air_tip = None);
    let rows = &assessment.headline().unwrap().coverage;
    assert_eq!((rows[0].verdict, rows[9].verdict), (Verdict::Pass, Verdict::Undetermined));
}

#[test]
fn no_failure_is_stated_against_a_requirement_that_nobody_knows() {
    let fail = |d: &mut Draft| {
        d.observations
            .push(Observation { restored: Stated::Stated(Restoration::NotRestored), ..observation(3) });
    };
    let assessment = expect(Verdict::Undetermined, Rule::FailureAtUnknownSeverity, |d| {
        fail(d);
        d.facts.plan.level = Some("9".into());
    });
    assert!(assessment.headline().unwrap().failure_observed);
    // A kind of discharge that the plan does not ask for has no required level to be at or below.
    expect(Verdict::Pass, Rule::OutcomeWithoutEffect, |d| {
        d.series.push(series(30, "P1", Application::Vcp, "8", Polarity::Negative));
        d.observations.push(Observation {
            restored: Stated::Stated(Restoration::NotRestored),
            series: SeriesId::new("log#30"),
            ..observation(3)
        });
    });
}

#[test]
fn points_and_functions_claim_no_more_than_what_stands_behind_them() {
    // A failure in a series that does not count is still a failure of its point.
    let (_, assessment) = judged(|d| {
        d.series.push(Series {
            single: Some(false),
            ..series(30, "P1", Application::Contact, "8", Polarity::Negative)
        });
        d.observations.push(Observation {
            restored: Stated::Stated(Restoration::NotRestored),
            series: SeriesId::new("log#30"),
            ..observation(3)
        });
    });
    let state = assessment.headline().unwrap();
    assert_eq!(state.verdict, Verdict::Fail);
    let points: Vec<_> = state.points.iter().map(|p| (p.name.as_str(), p.verdict)).collect();
    assert_eq!(points, [("P1", Verdict::Fail), ("P2", Verdict::Pass)]);
    // Another function's failure does not make up for series that are missing.
    let (_, assessment) = judged(|d| {
        d.facts.functions.push(Function {
            id: FunctionId::new("display").unwrap(),
            description: None,
            monitored_by: None,
            allowed_loss: None,
        });
        d.observations
            .push(Observation { restored: Stated::Stated(Restoration::NotRestored), ..observation(3) });
        d.series.remove(0);
    });
    // The observation keeps its series: rows are named, not counted.
    let functions: Vec<_> = assessment.headline().unwrap().functions.iter().map(|f| f.verdict).collect();
    assert_eq!(functions, [Verdict::Fail, Verdict::Undetermined]);
}

#[test]
fn the_calibration_of_other_equipment_says_nothing_about_the_severity() {
    let (id, text) = assess::standard::built_in().iter().find(|(id, _)| *id == "iec-61000-4-2-ed2").unwrap();
    let roles = "calibration_roles = { value = [\"climate\"], clause = \"made up\", source = \"choice\", status = \"practice\" }";
    let text = text.replacen("\n[evidence]\n", &format!("\n[evidence]\n{roles}\n"), 1);
    let standard = assess::standard::Standard::parse(id, &text).unwrap();
    let mut draft = passing();
    draft
        .observations
        .push(Observation { restored: Stated::Stated(Restoration::NotRestored), ..observation(3) });
    let assessment = assess(&check(draft).unwrap(), Some(&standard));
    let state = assessment.headline().unwrap();
    assert_eq!(state.verdict, Verdict::Fail);
    assert!(
        state.reasons.iter().any(|r| r.rule == Rule::EvidenceNotStated),
        "no climate instrument is named"
    );
}

/// The table in tests/cases/README.md names a case for every row and for every two rows that follow one another, and
/// each named case prints the verdict that the table gives.
#[test]
fn every_row_and_every_two_adjacent_rows_have_a_case_of_the_whole_program() {
    let cases = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/cases");
    let readme = std::fs::read_to_string(cases.join("README.md")).unwrap();
    let mut held = std::collections::BTreeSet::new();
    let table = readme.split("## The table of verdicts").nth(1).unwrap();
    for line in table.split("\n## ").next().unwrap().lines().filter(|line| line.contains("| `")) {
        let cells: Vec<&str> = line.split('|').map(str::trim).collect();
        let [_, row, _, verdict, names, _] = cells[..] else { continue };
        for name in names.split(", ").map(|name| name.trim_matches('`')) {
            let printed =
                std::fs::read_to_string(cases.join("verdict").join(name).join("expected/stdout.txt"))
                    .unwrap();
            // The state judged is printed first; the others follow.
            let first = ["PASS", "FAIL", "UNDETERMINED"];
            let got = printed.lines().find(|line| first.iter().any(|word| line.starts_with(word))).unwrap();
            let got = got.split("  state").next().unwrap();
            let want = match verdict {
                "failure observed" => "UNDETERMINED  failure observed".to_owned(),
                other => other.to_uppercase(),
            };
            assert_eq!(got, want, "{name} of row {row}");
        }
        held.insert(row.to_owned());
    }
    for row in 1..=10 {
        assert!(held.contains(&row.to_string()), "row {row}");
        let pair = format!("{row} and {}", row + 1);
        assert!(row == 10 || held.contains(&pair), "rows {pair}");
    }
}
