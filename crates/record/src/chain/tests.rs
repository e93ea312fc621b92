//! The measuring chain: ratios and scales to the digit, and what is said of statements that do not go together.

use super::*;
use crate::{Equipment, Origin, SourceId, TimeBase, Trace, VerificationId};

fn decimal(text: &str) -> Decimal {
    crate::parse_decimal(text).unwrap()
}

/// Ratios to 28 digits from Python's decimal module with 60 digits, `Decimal(10) ** (dB / 20)`.
#[test]
fn decibels_are_ratios_to_twenty_digits() {
    for (decibels, ratio) in [
        ("0", "1"),
        ("0.3", "1.035142166679343817275623473"),
        ("3", "1.412537544622754302155607864"),
        ("6", "1.995262314968879601352455397"),
        ("10", "3.162277660168379331998893544"),
        ("19.87", "9.851446428040349633915100334"),
        ("20", "10"),
        ("20.3", "10.35142166679343817275623473"),
        ("39.95", "99.42600739529566568329459308"),
        ("60", "1000"),
        ("119.99", "998849.3699365051495153820575"),
    ] {
        let (ours, theirs) = (voltage_ratio(decimal(decibels)).unwrap(), decimal(ratio));
        let apart = (ours - theirs).abs() / theirs;
        assert!(apart < decimal("1e-24"), "{decibels} dB: {ours}, not {theirs}");
    }
}

fn passes(target: &str, decibels: &[&str], ratios: &[&str]) -> Vec<Passes> {
    let mut all = vec![Passes::Transfer(VoltsPerAmpere::parse(target).unwrap())];
    all.extend(decibels.iter().map(|text| Passes::Decibels(Decibels::parse(text).unwrap())));
    all.extend(ratios.iter().map(|text| Passes::Ratio(AttenuationRatio::parse(text).unwrap())));
    all
}

/// The same source; i = u / Z of target, attenuator and cable.
#[test]
fn scales_have_twenty_right_digits() {
    for (target, decibels, ratios, wanted) in [
        ("2", &["20"][..], &[][..], "5"),
        ("2", &["19.9", "0.1"], &[], "5"),
        ("1.02", &["20", "0.3"], &[], "10.148452614503370758"),
        ("2.013", &["19.87", "0.42"], &[], "5.1363691057246466309"),
        ("0.987", &["6.02"], &["10", "1.035"], "20.971195897364641895"),
        ("0.2", &[], &[], "5"),
        ("2", &[], &["10"], "5"),
    ] {
        let ours = scale(&passes(target, decibels, ratios)).unwrap().as_a_per_v();
        assert_eq!(ours.to_string(), wanted, "{target} {decibels:?} {ratios:?}");
    }
    assert_eq!(scale(&passes("1000000", &[], &[])).unwrap().to_string(), "0.000001 A/V");
    assert_eq!(scale(&passes("0.000001", &["120"], &["10"])), None, "more than a scale can be");
    assert_eq!(scale(&passes("1", &["120", "120", "120"], &["1000000", "1000000", "1000000"])), None);
}

#[test]
fn a_written_scale_agrees_to_its_digits_and_four_at_least() {
    let ours = scale(&passes("2.02", &["20"], &[])).unwrap();
    assert!(ours.to_string().starts_with("4.9504950495"), "{ours}");
    let written = |text: &str| agree(AmperesPerVolt::parse(text).unwrap(), ours);
    assert!(written("4.95") && written("4.950") && written("4.9505") && written("4.950495"));
    assert!(!written("5") && !written("4.9") && !written("4.9504") && !written("4.951"));
    assert!(written(&ours.as_a_per_v().to_string()));
}

fn draft(chain: Vec<ChainElement>) -> Draft {
    let equipment = |id: &str| Equipment {
        id: EquipmentId::new(id).unwrap(),
        role: None,
        name: None,
        serial: None,
        firmware_version: None,
        calibrated_on: None,
        calibration_due: None,
        certificate: None,
        calibrated_by: None,
        accredited: None,
        in_tolerance: None,
        transfer_v_per_a: None,
        attenuation_db: None,
        attenuation_ratio: None,
        remark: None,
    };
    let facts = Facts {
        equipment: vec![
            Equipment { transfer_v_per_a: Some(VoltsPerAmpere::parse("2").unwrap()), ..equipment("T-2") },
            Equipment { attenuation_db: Some(Decibels::parse("20").unwrap()), ..equipment("A-1") },
            equipment("S-5"),
        ],
        ..Facts::default()
    };
    let verification = Verification {
        chain,
        traces: vec![Trace {
            name: "a.csv".into(),
            segment: 1,
            time: TimeBase::Uniform { start_ns: 0.0, step_ns: 1.0 },
            current_a: vec![1.0],
            over_range: false,
            step_a: None,
            a_per_v: Some(AmperesPerVolt::parse("5.000").unwrap()),
            origin: Origin::rows(SourceId(0), 1, 1),
        }],
        ..Verification::new(VerificationId::new("V").unwrap())
    };
    Draft { facts, verifications: vec![verification], ..Draft::default() }
}

fn of(id: &str) -> ChainElement {
    ChainElement { equipment: EquipmentId::new(id), ..ChainElement::default() }
}

fn said(draft: &Draft) -> Vec<(String, String)> {
    chain_findings(draft, 0).into_iter().map(|f| (f.code, f.message)).collect()
}

#[test]
fn what_the_equipment_does_is_taken_from_its_entry() {
    let cable =
        ChainElement { attenuation_db: Some(Decibels::parse("0").unwrap()), ..ChainElement::default() };
    let draft = draft(vec![of("T-2"), of("A-1"), cable]);
    let chain = Chain::of(&draft.facts, &draft.verifications[0], 0).unwrap();
    assert_eq!(chain.a_per_v.unwrap().to_string(), "5 A/V");
    let paths: Vec<&str> = chain.stages.iter().map(|stage| stage.path.as_str()).collect();
    assert_eq!(
        paths,
        [
            "/equipment/0/transfer_v_per_a",
            "/equipment/1/attenuation_db",
            "/verifications/0/chain/2/attenuation_db"
        ]
    );
    assert_eq!(said(&draft), []);
}

#[test]
fn what_does_not_go_together_is_named_with_both_values() {
    let db = |text: &str| Some(Decibels::parse(text).unwrap());
    for (chain, code, words) in [
        (vec![of("A-1")], codes::CHAIN_INCOMPLETE, &["transfer impedance"][..]),
        (vec![of("T-2"), of("S-5")], codes::CHAIN_INCOMPLETE, &["`S-5`", "not stated"]),
        (vec![of("T-2"), of("T-2")], codes::CHAIN_CONTRADICTS, &["two elements"]),
        (
            vec![of("T-2"), ChainElement { attenuation_db: db("19.9"), ..of("A-1") }],
            codes::CHAIN_CONTRADICTS,
            &["19.9 dB", "20 dB"],
        ),
        (
            vec![
                of("T-2"),
                ChainElement {
                    attenuation_db: db("6"),
                    attenuation_ratio: Some(AttenuationRatio::parse("2").unwrap()),
                    ..ChainElement::default()
                },
            ],
            codes::CHAIN_CONTRADICTS,
            &["6 dB", "2 to 1"],
        ),
        // 5 A/V were applied, 2 V/A and 20.3 dB come to another scale.
        (
            vec![of("T-2"), of("A-1"), ChainElement { attenuation_db: db("0.3"), ..ChainElement::default() }],
            codes::CHAIN_CONTRADICTS,
            &["5.000 A/V", "5.17571 A/V"],
        ),
    ] {
        let found = said(&draft(chain));
        assert_eq!(found.len(), 1, "{found:?}");
        assert_eq!(found[0].0, code, "{found:?}");
        assert!(words.iter().all(|word| found[0].1.contains(word)), "{found:?}");
    }
    let found = said(&draft(vec![of("T-2"), of("A-9")]));
    assert_eq!(found[0].0, codes::UNKNOWN_NAME);
}
