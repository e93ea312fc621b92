//! Made-up discharges, observations, waveforms and findings; every field is filled from what is drawn.

use super::draw::Draw;
use super::facts::above_one;
use record::*;

pub(crate) fn draft(d: &mut Draw<'_>, sources: Vec<SourceFile>, facts: Facts) -> Draft {
    let series = d.list(|d| d.list(|d| series(d, &sources, &facts)));
    let series: Vec<Series> = series.into_iter().flatten().collect();
    Draft {
        origins: d
            .list(|d| {
                let path = if d.yes() { "/item/serial".to_owned() } else { format!("/{}", d.raw()) };
                (path, d.origin(&sources))
            })
            .into_iter()
            .collect(),
        observations: d.list(|d| observation(d, &sources, &facts, &series)),
        verifications: d.list(|d| verification(d, &sources)),
        unread: d.list(|d| UnreadRow {
            source: d.source_id(&sources),
            row: d.row(),
            last_row: d.row(),
            text: d.raw(),
            code: d.raw(),
            why: d.raw(),
        }),
        passed_through: d.list(|d| (format!("/{}", d.raw()), kept(d))).into_iter().collect(),
        findings: d.list(finding),
        series,
        facts,
        sources,
    }
}

pub(crate) fn source(d: &mut Draw<'_>) -> SourceFile {
    SourceFile {
        name: d.text(),
        role: d.one_of(SourceRole::ALL),
        bytes: d.number(),
        sha256: (0..32).map(|_| format!("{:02x}", d.byte())).collect(),
        part: d.maybe(Draw::raw),
        read_by: d.some_text(),
        understood_as: d.list(Draw::raw),
        account: d.maybe(|d| RowAccount {
            total: d.number(),
            used: d.number(),
            set_aside: d.number(),
            preamble: d.number(),
            footer: d.number(),
            blank: d.number(),
        }),
    }
}

fn series(d: &mut Draw<'_>, sources: &[SourceFile], facts: &Facts) -> Series {
    let points: Vec<PointId> = facts.points.iter().map(|p| p.id.clone()).collect();
    let states: Vec<StateId> = facts.states.iter().map(|s| s.id.clone()).collect();
    let modes: Vec<ModeId> = facts.modes.iter().map(|m| m.id.clone()).collect();
    Series {
        id: d.name(SeriesId::new),
        point: d.some_name(PointId::new, &points),
        application: d.one_of(Application::ALL),
        polarity: d.one_of(Polarity::ALL),
        voltage_kv: d.quantity(Kilovolts::from_kv),
        count: d.whole(),
        sparks: d.maybe(Draw::whole),
        interval_s: d.some_quantity(Seconds::from_s),
        single: d.maybe(Draw::yes),
        state: d.maybe(|d| d.some_name(StateId::new, &states)),
        mode: d.maybe(|d| d.some_name(ModeId::new, &modes)),
        kind: d.one_of(RunKind::ALL),
        monitoring: d.stated(|d| d.one_of(Monitoring::ALL)),
        tip: d.maybe(|d| d.one_of(Tip::ALL)),
        started: d.some_moment(),
        ended: d.some_moment(),
        tested_by: d.some_text(),
        external_reference: d.some_text(),
        remark: d.some_text(),
        shots: d.list(|d| Shot {
            row: u64::from(d.byte()) + 1,
            at: d.some_moment(),
            spark: d.maybe(Draw::yes),
        }),
        origin: d.origin(sources),
    }
}

fn observation(d: &mut Draw<'_>, sources: &[SourceFile], facts: &Facts, series: &[Series]) -> Observation {
    let functions: Vec<FunctionId> = facts.functions.iter().map(|f| f.id.clone()).collect();
    let series: Vec<SeriesId> = series.iter().map(|s| s.id.clone()).collect();
    Observation {
        id: d.name(ObservationId::new),
        series: d.maybe(|d| d.some_name(SeriesId::new, &series)),
        shot: d.maybe(|d| d.whole().max(1)),
        at: d.maybe(|d| RowReference {
            file: sources.get(d.below(sources.len() + 1)).map_or_else(|| d.text(), |s| s.name.clone()),
            row: u64::from(d.byte()) + 1,
        }),
        function: d.maybe(|d| d.some_name(FunctionId::new, &functions)),
        seen: d.some_text(),
        written_class: d.maybe(|d| d.one_of(Class::ALL)),
        state_changed: d.stated(Draw::yes),
        data_lost: d.stated(Draw::yes),
        restored: d.stated(|d| d.one_of(Restoration::ALL)),
        lasted_s: d.some_quantity(Seconds::from_s),
        before_next: d.stated(Draw::yes),
        coincident: d.stated(Draw::yes),
        affected: d.stated(|d| d.one_of(Affected::ALL)),
        remark: d.some_text(),
        origin: d.origin(sources),
        completed_at: d.maybe(|d| d.origin(sources)),
    }
}

fn verification(d: &mut Draw<'_>, sources: &[SourceFile]) -> Verification {
    let chain = chain(d);
    let whole = chain.iter().any(|element| element.transfer_v_per_a.is_some());
    Verification {
        id: d.name(VerificationId::new),
        equipment: d.maybe(|d| d.name(EquipmentId::new)),
        charge_kv: d.some_quantity(Kilovolts::from_kv),
        polarity: d.maybe(|d| d.one_of(Polarity::ALL)),
        network_pf: d.some_quantity(Picofarads::from_pf),
        network_ohm: d.some_quantity(Ohms::from_ohm),
        bandwidth_ghz: d.maybe(Draw::decimal),
        chain,
        at: d.some_moment(),
        by: d.some_text(),
        remark: d.some_text(),
        traces: d.list(|d| {
            let trace = trace(d, sources);
            // A conversion that is not the chain's is refused.
            Trace { a_per_v: trace.a_per_v.filter(|_| !whole), ..trace }
        }),
    }
}

/// A measuring chain that does not contradict itself, with or without its target.
fn chain(d: &mut Draw<'_>) -> Vec<ChainElement> {
    let mut chain = d.list(|d| {
        let attenuation_db = d.some_quantity(|n| Decibels::from_db(n.abs() % Decimal::from(20)));
        let ratio = d.some_quantity(|n| AttenuationRatio::from_ratio(above_one(n)));
        ChainElement {
            equipment: d.maybe(|d| d.name(EquipmentId::new)),
            transfer_v_per_a: None,
            attenuation_db,
            attenuation_ratio: ratio.filter(|_| attenuation_db.is_none()),
            remark: d.some_text(),
        }
    });
    if d.yes() {
        let target = ChainElement {
            equipment: d.maybe(|d| d.name(EquipmentId::new)),
            transfer_v_per_a: Some(d.quantity(|n| VoltsPerAmpere::from_v_per_a(above_one(n)))),
            attenuation_db: None,
            attenuation_ratio: None,
            remark: d.some_text(),
        };
        chain.insert(0, target);
    }
    chain
}

fn trace(d: &mut Draw<'_>, sources: &[SourceFile]) -> Trace {
    // A sample that could not be read is not a number.
    let current_a: Vec<f64> = d.list(|d| if d.byte() % 8 == 7 { f64::NAN } else { d.float() });
    let time = if d.yes() {
        let mut at = d.float();
        TimeBase::Listed(
            current_a
                .iter()
                .map(|_| {
                    let now = at;
                    at = (at + 1.0).max(at.next_up());
                    now
                })
                .collect(),
        )
    } else {
        TimeBase::Uniform { start_ns: d.float(), step_ns: d.float().abs().max(f64::MIN_POSITIVE) }
    };
    Trace {
        name: d.text(),
        segment: d.whole(),
        time,
        current_a,
        over_range: d.yes(),
        step_a: d.maybe(Draw::float),
        a_per_v: d.some_quantity(AmperesPerVolt::from_a_per_v),
        origin: d.origin(sources),
    }
}

/// JSON text of any kind, numbers that no double holds too.
fn kept(d: &mut Draw<'_>) -> String {
    match d.below(6) {
        0 => "null".to_owned(),
        1 => {
            d.one_of(&["1.10", "12345678901234567890123", "-0.0", "1e2", "0.1000000000000000055"]).to_owned()
        }
        2 => serde_json::Value::String(d.raw()).to_string(),
        3 => "true".to_owned(),
        4 => format!("[{}, {}]", kept(d), kept(d)),
        _ => format!("{{\"a/b\": {},\n\"µ\": {}}}", kept(d), kept(d)),
    }
}

fn finding(d: &mut Draw<'_>) -> Finding {
    let severity = d.one_of(Severity::ALL);
    let mut finding = Finding::new(severity, &d.raw(), d.raw());
    finding.place = d.maybe(place);
    finding.related = d.maybe(|d| (place(d), d.raw()));
    finding.help = d.list(Draw::raw);
    finding.clause = d.some_text();
    finding
}

fn place(d: &mut Draw<'_>) -> Place {
    Place {
        file: d.raw(),
        row: d.maybe(Draw::number),
        column: d.maybe(Draw::whole),
        label: d.maybe(Draw::raw),
    }
}
