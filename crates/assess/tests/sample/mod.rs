//! A small record that passes until one fact is changed: two points, contact 8 kV and air 15 kV with lower levels.
#![allow(clippy::unwrap_used, dead_code, unreachable_pub, reason = "each test uses a part of it")]

use assess::standard::{Standard, built_in};
use record::*;

pub fn standard() -> Standard {
    let (id, text) = built_in().iter().find(|(id, _)| *id == "iec-61000-4-2-ed2").unwrap();
    Standard::parse(id, text).unwrap()
}

pub fn kv(text: &str) -> Kilovolts {
    Kilovolts::parse(text).unwrap()
}

pub fn moment(text: &str) -> Option<Moment> {
    Some(Moment::parse(text).unwrap())
}

pub fn date(text: &str) -> Option<Date> {
    Some(text.parse().unwrap())
}

/// Two points, contact 8 kV and air 15 kV with lower levels, both polarities; all evidence shown.
pub fn passing() -> Draft {
    let mut draft = Draft::default();
    for (name, role) in [("job.toml", SourceRole::Job), ("log.csv", SourceRole::Log)] {
        draft.sources.push(SourceFile {
            name: name.into(),
            role,
            bytes: 1,
            sha256: "0".repeat(64),
            part: None,
            read_by: None,
            understood_as: Vec::new(),
            account: None,
        });
    }
    let facts = &mut draft.facts;
    facts.laboratory.name = Some("Old Pumphouse Laboratory".into());
    facts.item.name = Some("sensor".into());
    facts.item.earthed = Stated::Stated(true);
    facts.method.standard = Some("iec-61000-4-2-ed2".into());
    facts.plan.level = Some("4".into());
    facts.plan.polarity = Some(PolarityRule::Both);
    facts.plan.judged_state = StateId::new("AR");
    facts.functions.push(Function {
        id: FunctionId::new("output").unwrap(),
        description: None,
        monitored_by: None,
        allowed_loss: None,
    });
    facts.demands.push(Demand {
        function: None,
        mode: None,
        application: None,
        from_kv: None,
        to_kv: None,
        accepted: vec!["B".into()],
        basis: None,
    });
    facts.states.push(ItemState {
        id: StateId::new("AR").unwrap(),
        description: None,
        reason: None,
        since: None,
        by: None,
    });
    for (id, application) in [("P1", Application::Contact), ("P2", Application::Air)] {
        facts.points.push(Point {
            id: PointId::new(id).unwrap(),
            description: None,
            applications: vec![application],
            reason: None,
            excluded: None,
            picture: None,
            mark: None,
        });
    }
    facts.equipment.push(Equipment {
        id: EquipmentId::new("G-1").unwrap(),
        role: Some(EquipmentRole::Generator),
        name: None,
        serial: None,
        firmware_version: None,
        calibrated_on: date("2025-06-01"),
        calibration_due: date("2026-06-01"),
        certificate: None,
        calibrated_by: None,
        accredited: Some(true),
        in_tolerance: Some(true),
        transfer_v_per_a: None,
        attenuation_db: None,
        attenuation_ratio: None,
        remark: None,
    });
    facts.generator = Generator {
        equipment: EquipmentId::new("G-1"),
        network_pf: Some(Picofarads::parse("150").unwrap()),
        network_ohm: Some(Ohms::parse("330").unwrap()),
        contact_tip: Some(Tip::Sharp),
        air_tip: Some(Tip::Round),
        return_cable: None,
    };
    facts.climate.push(ClimateReading {
        at: moment("2026-03-12T08:40"),
        temperature_c: Some(Celsius::parse("22").unwrap()),
        humidity_percent: Some(Percent::parse("40").unwrap()),
        pressure_hpa: Some(Hectopascals::parse("1010").unwrap()),
        instrument: None,
    });
    facts.setup_checks.push(SetupCheck {
        kind: SetupCheckKind::Spark,
        what: None,
        reading: None,
        unit: None,
        least: None,
        most: None,
        in_order: Some(true),
        at: moment("2026-03-12T08:50"),
        by: None,
    });
    let mut row = 2;
    for (point, application, voltages) in
        [("P1", Application::Contact, vec!["8"]), ("P2", Application::Air, vec!["2", "4", "8", "15"])]
    {
        for voltage in voltages {
            for polarity in [Polarity::Positive, Polarity::Negative] {
                draft.series.push(series(row, point, application, voltage, polarity));
                row += 1;
            }
        }
    }
    draft
}

pub fn series(row: u64, point: &str, application: Application, voltage: &str, polarity: Polarity) -> Series {
    Series {
        id: SeriesId::new(&format!("log#{row}")).unwrap(),
        point: PointId::new(point).unwrap(),
        application,
        polarity,
        voltage_kv: kv(voltage),
        count: 10,
        sparks: None,
        interval_s: Some(Seconds::parse("1").unwrap()),
        single: None,
        state: StateId::new("AR"),
        mode: None,
        kind: RunKind::Compliance,
        monitoring: Stated::Stated(Monitoring::Continuous),
        tip: None,
        started: moment("2026-03-12T09:10"),
        ended: None,
        tested_by: None,
        external_reference: None,
        remark: None,
        shots: Vec::new(),
        origin: Origin::rows(SourceId(1), row, row),
    }
}

/// An observation in a row of the log: class b with all facts that criterion B needs.
pub fn observation(row: u64) -> Observation {
    Observation {
        id: ObservationId::new(&format!("seen#{row}")).unwrap(),
        series: SeriesId::new(&format!("log#{row}")),
        shot: None,
        at: None,
        function: FunctionId::new("output"),
        seen: Some("dark for a second".into()),
        written_class: None,
        state_changed: Stated::Stated(false),
        data_lost: Stated::Stated(false),
        restored: Stated::Stated(Restoration::ByItself),
        lasted_s: None,
        before_next: Stated::NotStated,
        coincident: Stated::NotStated,
        affected: Stated::NotStated,
        remark: None,
        origin: Origin::cell(SourceId(1), row, 5),
        completed_at: None,
    }
}
