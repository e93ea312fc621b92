//! The plan as a test engineer reads it: how long, in what order, with what; then what stands behind it.

use super::standard::mark;
use super::text::{BAD, CARE, FAINT, STRONG, fold, styled};
use assess::bench_plan::{BenchPlan, BenchSeries};
use assess::standard::Standard;
use assess::{Owed, Verdict};
use record::{Decimal, Record};
use serde_json::{Value, json};

const WIDTH: usize = 92;

fn minutes(seconds: Decimal) -> String {
    format!("{:.1}", (seconds / Decimal::from(60)).round_dp(1))
}

fn head(name: &str, record: &Record) -> String {
    let item = [&record.facts.item.name, &record.facts.item.type_designation];
    let item: Vec<&str> = item.into_iter().flatten().map(String::as_str).collect();
    if item.is_empty() { name.to_owned() } else { item.join(" ") }
}

fn time(plan: &BenchPlan) -> String {
    let (discharges, hand) = plan.minutes();
    let all = discharges + hand;
    format!(
        "{} series, {} discharges: about {all} min at the bench ({discharges} min of discharges, {hand} min of hand work, {})",
        plan.series.len(),
        plan.discharges(),
        "practice"
    )
}

/// The whole plan.
pub(crate) fn full(name: &str, record: &Record, plan: &BenchPlan, standard: &Standard) -> String {
    let mut out = format!("{}\n", styled(STRONG, head(name, record)));
    let level = record.facts.plan.level.as_ref().map(|l| format!(", level {l}"));
    let own = ", voltages of the plan's own".to_owned();
    let status = level_mark(record, standard);
    out += &format!("{}{}{}\n", standard.full_name(), level.unwrap_or(own), styled(CARE, status));
    let (count, per, interval) = standard.counting(record::Application::Contact);
    out += &format!(
        "{}\n",
        styled(
            FAINT,
            fold(
                &format!(
                    "at least {}{} discharges for each {}, at least {}{} apart",
                    count.value,
                    mark(count.status),
                    per.value.as_str().replace('-', ", "),
                    interval.value,
                    mark(interval.status)
                ),
                WIDTH,
                ""
            )
        )
    );
    problems(&mut out, plan);
    out += &format!("\n{}\n", styled(STRONG, fold(&time(plan), WIDTH, "")));
    notes(&mut out, plan);
    table(&mut out, plan);
    positions(&mut out, plan);
    figures(&mut out, plan);
    out
}

fn level_mark(record: &Record, standard: &Standard) -> String {
    let plan = &record.facts.plan;
    if !(plan.contact_kv.is_empty() && plan.air_kv.is_empty() && plan.indirect_kv.is_empty()) {
        return String::new();
    }
    let level = plan.level.as_deref().and_then(|name| standard.level(name));
    let status = level.and_then(|l| {
        [&l.contact_kv, &l.air_kv, &l.indirect_kv].into_iter().flatten().map(|g| g.status).max()
    });
    status.map(mark).unwrap_or_default()
}

fn problems(out: &mut String, plan: &BenchPlan) {
    for problem in &plan.problems {
        *out += &format!(
            "{} {}\n",
            styled(BAD, "not settled:"),
            fold(&problem.text, WIDTH - 13, "             ")
        );
    }
}

fn notes(out: &mut String, plan: &BenchPlan) {
    for (note, status) in &plan.notes {
        let text = format!("{note}{}", status.map(mark).unwrap_or_default());
        *out += &format!("  - {}\n", fold(&text, WIDTH, "    "));
    }
}

fn table(out: &mut String, plan: &BenchPlan) {
    if plan.series.is_empty() {
        return;
    }
    let width =
        plan.series.iter().map(|s| s.required.point.as_str().chars().count()).max().unwrap_or(5).max(5);
    let why = plan.series.iter().any(|s| s.why.is_some());
    *out += &format!(
        "\n{}\n",
        styled(
            FAINT,
            format!(
                "  {:>3}  {:<7} {:<width$} {:>8}  {:>4}  {:>8}  {:<6} {:>6}{}",
                "#",
                "how",
                "point",
                "kV",
                "n",
                "interval",
                "tip",
                "min",
                if why { "  why" } else { "" }
            )
        )
    );
    let mut tip = None;
    for (number, series) in (1..).zip(&plan.series) {
        if tip.is_some_and(|tip| tip != series.tip.value) {
            *out += &format!(
                "       change to the {} tip{}\n",
                series.tip.value,
                styled(CARE, mark(series.tip.status))
            );
        }
        tip = Some(series.tip.value);
        let required = &series.required;
        let kv = format!("{}{}", required.polarity.sign(), required.voltage_kv.as_kv());
        let mode = required.mode.as_ref().map(|m| format!("  {m}")).unwrap_or_default();
        let why = series.why.as_ref().map(|w| format!("  {w}")).unwrap_or_default();
        *out += &format!(
            "  {number:>3}  {:<7} {:<width$} {kv:>8}  {:>4}  {:>8}  {:<6} {:>6}{why}{}\n",
            required.application.as_str(),
            required.point.as_str(),
            series.discharges,
            required.interval_s.to_string(),
            series.tip.value.as_str(),
            minutes(series.discharges_s + series.hand_s),
            styled(FAINT, mode),
        );
    }
    let shared = plan.series.iter().filter_map(|s| s.required.shared).next();
    if let Some(shared) = shared {
        *out += &format!(
            "{}\n",
            styled(
                FAINT,
                format!(
                    "       the standard's {} discharges are shared out over several series",
                    shared.count
                )
            )
        );
    }
}

fn positions(out: &mut String, plan: &BenchPlan) {
    if plan.positions.is_empty() {
        return;
    }
    *out += &format!("\n{}\n", styled(STRONG, "Positions at the coupling planes"));
    let mut at: Option<(record::Application, &str)> = None;
    for position in &plan.positions {
        let here = (position.plane, position.face);
        if at == Some(here) {
            continue;
        }
        at = Some(here);
        let of_face: Vec<String> = plan
            .positions
            .iter()
            .filter(|p| (p.plane, p.face) == here)
            .map(|p| match p.above_mm {
                Some(above) => format!("{} / {above}", p.along_mm),
                None => p.along_mm.to_string(),
            })
            .collect();
        *out += &format!(
            "  {:<4} {:<6} {}{}\n",
            position.plane.as_str(),
            position.face,
            fold(&of_face.join(", "), WIDTH - 24, "              "),
            mark(position.status)
        );
    }
    let rule = "mm from the face's left edge / above the base: vcp, centre of the vertical plane, discharge to the centre of one of its vertical edges; hcp, place on the edge of the horizontal plane, generator in its level, sides other than the front where they face the user";
    *out += &format!("  {}\n", styled(FAINT, fold(rule, WIDTH, "  ")));
}

fn figures(out: &mut String, plan: &BenchPlan) {
    let charge = &plan.charge;
    *out += &format!("\n{}\n", styled(STRONG, "What one discharge carries"));
    *out += &format!(
        "  network {}{}, time constant {} ns (computed)\n",
        charge.network,
        mark(charge.network_status),
        charge.network_tau_ns
    );
    for shot in &charge.shots {
        *out +=
            &format!("  {:>6}  {} uC, {} mJ\n", shot.voltage_kv.to_string(), shot.charge_uc, shot.energy_mj);
    }
    for (text, status) in &charge.bleeding {
        *out += &format!("  - {}\n", fold(&format!("{text}{}", mark(*status)), WIDTH, "    "));
    }
    let h = &plan.hand;
    *out += &format!(
        "  {}\n",
        styled(
            FAINT,
            fold(
                &format!(
                    "hand work reckoned in seconds (practice; set with --hand): tip {}, setting {}, point {}, plane {}, approach {}, charge {}, look {}",
                    h.tip_s, h.setting_s, h.point_s, h.plane_s, h.approach_s, h.charge_removal_s, h.look_s
                ),
                WIDTH,
                "  "
            )
        )
    );
}

/// What is owed.
pub(crate) fn owed(name: &str, record: &Record, owed: &Owed, standard: &Standard) -> String {
    let mut out = format!("{}\n", styled(STRONG, head(name, record)));
    out += &format!("owed for {}\n", standard.full_name());
    for change in &owed.changes {
        out += &format!("{}\n", styled(FAINT, format!("  {change}")));
    }
    problems(&mut out, &owed.plan);
    let total = owed.assessment.plan.len();
    out += &format!("\n{} of {total} required series are covered by what was applied\n", owed.covered);
    if owed.plan.series.is_empty() {
        out += &format!("{}\n", styled(STRONG, "no discharges are owed"));
    } else {
        out += &format!("{}\n", styled(STRONG, fold(&format!("owed: {}", time(&owed.plan)), WIDTH, "")));
    }
    if owed.assessment.verdict() == Verdict::Fail {
        let why = owed.assessment.headline().and_then(|s| s.reasons.first()).map(|r| r.text.as_str());
        let text = format!("what was observed already fails it: {}", why.unwrap_or_default());
        out += &format!("{}\n", styled(BAD, fold(&text, WIDTH, "  ")));
    }
    for paper in &owed.paper {
        out += &format!("  - on paper: {}\n", fold(paper, WIDTH - 12, "    "));
    }
    table(&mut out, &owed.plan);
    if !owed.plan.series.is_empty() {
        out += "\n";
        notes(&mut out, &owed.plan);
    }
    out
}

fn series(number: usize, of: &BenchSeries) -> Value {
    let required = &of.required;
    json!({
        "number": number,
        "application": required.application.as_str(),
        "point": required.point.as_str(),
        "polarity": required.polarity.as_str(),
        "voltage_kv": required.voltage_kv.as_kv().to_string(),
        "mode": required.mode.as_ref().map(|m| m.as_str()),
        "discharges": of.discharges,
        "interval_s": required.interval_s.as_s().to_string(),
        "tip": of.tip.value.as_str(),
        "tip_status": of.tip.status.as_str(),
        "charge_removal": of.charge_removal,
        "why": of.why,
        "discharges_s": of.discharges_s.to_string(),
        "hand_s": of.hand_s.to_string(),
    })
}

/// The plan as JSON.
pub(crate) fn json(plan: &BenchPlan, standard: &Standard) -> Value {
    let (discharges, hand) = plan.minutes();
    json!({
        "standard": standard.id,
        "name": standard.full_name(),
        "series": (1..).zip(&plan.series).map(|(number, of)| series(number, of)).collect::<Vec<_>>(),
        "discharges": plan.discharges(),
        "minutes": { "discharges": discharges.to_string(), "hand": hand.to_string(), "hand_status": "practice" },
        "problems": plan.problems.iter().map(|p| p.text.as_str()).collect::<Vec<_>>(),
        "positions": plan.positions.iter().map(|p| json!({
            "plane": p.plane.as_str(), "face": p.face, "along_mm": p.along_mm.to_string(),
            "above_mm": p.above_mm.map(|a| a.to_string()), "text": p.text, "status": p.status.as_str(),
        })).collect::<Vec<_>>(),
        "notes": plan.notes.iter().map(|(text, status)| json!({
            "text": text, "status": status.map(|s| s.as_str()),
        })).collect::<Vec<_>>(),
        "network": plan.charge.network,
        "network_tau_ns": plan.charge.network_tau_ns.to_string(),
        "per_discharge": plan.charge.shots.iter().map(|s| json!({
            "voltage_kv": s.voltage_kv.as_kv().to_string(),
            "charge_uc": s.charge_uc.to_string(),
            "energy_mj": s.energy_mj.to_string(),
        })).collect::<Vec<_>>(),
        "bleeding": plan.charge.bleeding.iter().map(|(text, status)| json!({
            "text": text, "status": status.as_str(),
        })).collect::<Vec<_>>(),
    })
}

/// What is owed, as JSON.
pub(crate) fn owed_json(owed: &Owed, standard: &Standard) -> Value {
    let mut value = json(&owed.plan, standard);
    if let Some(object) = value.as_object_mut() {
        object.insert("covered".into(), owed.covered.into());
        object.insert("required".into(), owed.assessment.plan.len().into());
        object.insert("changes".into(), owed.changes.clone().into());
        object.insert("paper".into(), owed.paper.clone().into());
        object.insert("verdict_of_what_was_applied".into(), owed.assessment.verdict().as_str().into());
    }
    value
}

/// One row for each series; cells that a spreadsheet could take for a formula get an apostrophe.
pub(crate) fn csv(plan: &BenchPlan) -> String {
    let mut out = String::from(
        "number,application,point,polarity,voltage_kv,mode,discharges,interval_s,tip,charge_removal,discharges_s,hand_s,why\n",
    );
    for (number, of) in (1..).zip(&plan.series) {
        let required = &of.required;
        let cells = [
            number.to_string(),
            required.application.to_string(),
            required.point.to_string(),
            required.polarity.to_string(),
            required.voltage_kv.as_kv().to_string(),
            required.mode.as_ref().map(ToString::to_string).unwrap_or_default(),
            of.discharges.to_string(),
            required.interval_s.as_s().to_string(),
            of.tip.value.to_string(),
            of.charge_removal.clone().unwrap_or_default(),
            of.discharges_s.to_string(),
            of.hand_s.to_string(),
            of.why.clone().unwrap_or_default(),
        ];
        let cells: Vec<String> = cells.iter().map(|cell| csv_cell(cell)).collect();
        out += &cells.join(",");
        out.push('\n');
    }
    out
}

fn csv_cell(text: &str) -> String {
    let formula = text.starts_with(['=', '+', '-', '@', '\t', '\r']);
    let text = if formula { format!("'{text}") } else { text.to_owned() };
    if text.contains([',', '"', '\n', '\r']) { format!("\"{}\"", text.replace('"', "\"\"")) } else { text }
}
