//! A standard's data as a person reads them: what a test needs first comes first, and every value that was not
//! seen in the standard itself says how it is known.

use super::text::{CARE, FAINT, STRONG, fold, styled};
use assess::standard::{Given, SetupLimit, Standard, Status, TotalOf, WaveformBounds};
use record::{Application, Kilovolts};
use std::fmt::Display;

const WIDTH: usize = 92;

/// Printed under the list.
pub(crate) const LIST_END: &str = "\nThe data are no substitute for the standards: values marked (memory) or (second-hand) are to be checked.\n\
    `fulgurite standards show ID` prints them, with --sources where each comes from.\n";

/// One line of the list.
pub(crate) fn line(standard: &Standard, built_in: bool) -> String {
    let own = if built_in { String::new() } else { format!(" {}", styled(CARE, "own file")) };
    format!(
        "{:<26} {}{own}\n{:26} {}\n",
        styled(STRONG, format!("{:<26}", standard.id)),
        standard.full_name(),
        "",
        styled(FAINT, &standard.title)
    )
}

/// How a value is known, where that has to be said.
pub(crate) fn mark(status: Status) -> String {
    if status.is_sound() { String::new() } else { format!(" ({status})") }
}

struct Page {
    text: String,
    sources: bool,
}

impl Page {
    fn head(&mut self, title: &str) {
        self.text += &format!("\n{}\n", styled(STRONG, title));
    }

    fn row<T>(&mut self, name: &str, shown: impl Display, given: &Given<T>) {
        self.plain(name, format!("{shown}{}", styled(CARE, mark(given.status))));
        if let Some(note) = &given.note {
            self.plain("", styled(FAINT, fold(note, WIDTH - 26, &" ".repeat(28))));
        }
        self.source(&given.clause, &given.source, given.status);
    }

    fn plain(&mut self, name: &str, shown: impl Display) {
        self.text += &format!("  {name:<25} {shown}\n");
    }

    fn source(&mut self, clause: &str, source: &str, status: Status) {
        if self.sources {
            let text = fold(&format!("{clause}; {status}: {source}"), WIDTH - 26, &" ".repeat(28));
            self.plain("", styled(FAINT, text));
        }
    }
}

fn list(kv: &[Kilovolts]) -> String {
    kv.iter().map(|kv| kv.as_kv().to_string()).collect::<Vec<_>>().join(", ")
}

fn applications(list: &[Application]) -> String {
    list.iter().map(|a| a.as_str()).collect::<Vec<_>>().join(", ")
}

fn yes(value: bool) -> &'static str {
    if value { "yes" } else { "no" }
}

/// The whole standard.
pub(crate) fn full(standard: &Standard, sources: bool) -> String {
    let mut page = Page { text: String::new(), sources };
    page.text += &format!("{}\n", styled(STRONG, standard.full_name()));
    page.text += &format!("{}\n", standard.title);
    page.text +=
        &format!("{}\n", styled(FAINT, format!("id {}, data version {}", standard.id, standard.version)));
    if !standard.laid_over.is_empty() {
        let over = format!("laid over {}: what it does not say is theirs", standard.laid_over.join(", "));
        page.text += &format!("{}\n", styled(FAINT, over));
    }
    if let Some(basic) = &standard.basic_edition {
        page.row("edition of basic standard", &basic.value, basic);
    }
    levels(&mut page, standard);
    rules(&mut page, standard);
    conditions(&mut page, standard);
    evidence(&mut page, standard);
    page.head("Outcomes that can be demanded");
    for outcome in &standard.outcomes {
        let classes: Vec<&str> = outcome.classes.iter().map(|c| c.as_str()).collect();
        let needs: Vec<&str> = outcome.needs.iter().map(|n| n.as_str()).collect();
        let needs = if needs.is_empty() { String::new() } else { format!("; needs {}", needs.join(", ")) };
        page.plain(
            &outcome.name,
            format!("accepts class {}{needs}{}", classes.join(", "), styled(CARE, mark(outcome.status))),
        );
        page.plain("", styled(FAINT, fold(&outcome.meaning, WIDTH - 26, &" ".repeat(28))));
        page.source(&outcome.clause, &outcome.source, outcome.status);
    }
    waveform(&mut page, standard);
    if !standard.report.is_empty() {
        page.head("What plan and report must hold");
        for item in &standard.report {
            page.plain(
                &item.clause,
                fold(&format!("{}{}", item.asks, mark(item.status)), WIDTH - 26, &" ".repeat(28)),
            );
        }
    }
    page.text += "\n";
    page.text += &styled(
        FAINT,
        fold(
            "No value here replaces the standard. (memory): from memory, check before use. (second-hand): seen in texts about the standard. (practice): common practice or this program's choice. (unknown): nobody knows.",
            WIDTH,
            "",
        ),
    );
    page.text += "\n";
    page.text
}

fn levels(page: &mut Page, standard: &Standard) {
    page.head("Levels, kV");
    let own_indirect = standard.levels.iter().any(|level| level.indirect_kv.is_some());
    let indirect = if own_indirect { "planes" } else { "" };
    page.text += &format!("  {:<18} {:<24} {:<24} {indirect}\n", "", "contact", "air");
    for level in &standard.levels {
        if let Some(open) = &level.open {
            page.text += &format!(
                "  {:<18} left open: the plan states its voltages{}\n",
                level.name,
                mark(open.status)
            );
            page.source(&open.clause, &open.source, open.status);
            continue;
        }
        let cell = |given: &Option<Given<Vec<Kilovolts>>>| {
            given.as_ref().map_or_else(|| "-".to_owned(), |g| format!("{}{}", list(&g.value), mark(g.status)))
        };
        let planes = if own_indirect { cell(&level.indirect_kv) } else { String::new() };
        let line = format!(
            "  {:<18} {:<24} {:<24} {planes}",
            level.name,
            cell(&level.contact_kv),
            cell(&level.air_kv)
        );
        page.text += &format!("{}\n", line.trim_end());
        for given in [&level.contact_kv, &level.air_kv, &level.indirect_kv].into_iter().flatten() {
            if let Some(note) = &given.note {
                page.text += &format!("{:21}{}\n", "", styled(FAINT, note));
            }
            page.source(&given.clause, &given.source, given.status);
            if !page.sources {
                break;
            }
        }
    }
}

fn rules(page: &mut Page, standard: &Standard) {
    let rules = &standard.rules;
    page.head("How to apply");
    let per = |word: &str| word.replace('-', ", ").replace("point, level", "point and level");
    page.row("discharges, at least", rules.discharges.value, &rules.discharges);
    page.row("for each", per(rules.counts_per.value.as_str()), &rules.counts_per);
    page.row("polarity", rules.polarity.value.as_str().replace('-', " "), &rules.polarity);
    page.row("interval, at least", rules.interval_s.value, &rules.interval_s);
    for count in &standard.counts {
        let kinds = applications(&count.applies_to.value);
        if let Some(given) = &count.discharges {
            page.row(&format!("  {kinds}: at least"), given.value, given);
        }
        if let Some(given) = &count.counts_per {
            page.row(&format!("  {kinds}: for each"), per(given.value.as_str()), given);
        }
        if let Some(given) = &count.interval_s {
            page.row(&format!("  {kinds}: interval"), given.value, given);
        }
    }
    for total in &standard.totals {
        let what = match total.of {
            TotalOf::Job => "in all, at least",
            TotalOf::Polarity => "of each polarity",
            TotalOf::Points => "points, at least",
        };
        let shown = format!("{} ({})", total.least.value, applications(&total.applies_to.value));
        page.row(what, shown, &total.least);
    }
    let lower = |value: bool| if value { "tested too" } else { "not asked" };
    page.row("lower levels, contact", lower(rules.lower_levels_contact.value), &rules.lower_levels_contact);
    page.row("lower levels, air", lower(rules.lower_levels_air.value), &rules.lower_levels_air);
    page.row("single discharges only", yes(rules.single_discharges.value), &rules.single_discharges);
    page.row(
        "planes take contact level",
        yes(rules.indirect_uses_contact_level.value),
        &rules.indirect_uses_contact_level,
    );
    page.row(
        "air approach without spark",
        if rules.air_approach_without_spark_counts.value { "counts" } else { "does not count" },
        &rules.air_approach_without_spark_counts,
    );
    page.head("Generator");
    if standard.networks.is_empty() {
        page.row("storage capacitance", rules.network_pf.value, &rules.network_pf);
        page.row("discharge resistance", rules.network_ohm.value, &rules.network_ohm);
    } else {
        for network in &standard.networks {
            page.plain(
                &format!("{} / {}", network.pf, network.ohm),
                fold(&format!("{}{}", network.used_for, mark(network.status)), WIDTH - 26, &" ".repeat(28)),
            );
            page.source(&network.clause, &network.source, network.status);
        }
    }
    page.row("tip, contact", rules.contact_tip.value, &rules.contact_tip);
    page.row("tip, air", rules.air_tip.value, &rules.air_tip);
    page.row(
        "charge voltage within",
        format!("{} %", rules.voltage_tolerance_percent.value),
        &rules.voltage_tolerance_percent,
    );
}

fn conditions(page: &mut Page, standard: &Standard) {
    if !standard.climate.is_empty() {
        page.head("Climate");
    }
    for climate in &standard.climate {
        page.row("binds", applications(&climate.applies_to.value), &climate.applies_to);
        if let Some(given) = &climate.temperature_c {
            page.row(
                "temperature",
                format!("{} to {}", given.value.least.as_celsius(), given.value.most),
                given,
            );
        }
        if let Some(given) = &climate.humidity_percent {
            page.row(
                "relative humidity",
                format!("{} to {}", given.value.least.as_percent(), given.value.most),
                given,
            );
        }
        if let Some(given) = &climate.pressure_hpa {
            page.row("pressure", format!("{} to {}", given.value.least.as_hpa(), given.value.most), given);
        }
    }
    if !standard.setup_limits.is_empty() {
        page.head("Set-up");
    }
    for limit in &standard.setup_limits {
        page.text += &format!("  {}\n", limit.what);
        setup(page, limit);
    }
}

fn setup(page: &mut Page, limit: &SetupLimit) {
    for (name, given) in [("nominal", &limit.nominal), ("at least", &limit.least), ("at most", &limit.most)] {
        if let Some(given) = given {
            page.row(&format!("  {name}"), format!("{} {}", given.value, limit.unit), given);
        }
    }
}

fn evidence(page: &mut Page, standard: &Standard) {
    page.head("What must be shown for a result to stand");
    let evidence = &standard.evidence;
    let kinds: Vec<&str> = evidence.setup_kinds.value.iter().map(|k| k.as_str()).collect();
    for (name, given) in [
        ("generator calibrated", &evidence.calibration),
        ("set-up verified before use", &evidence.setup_verification),
        ("climate inside limits", &evidence.climate),
        ("charge removed, unearthed", &evidence.charge_removal_unearthed),
        ("tip fits the mode", &evidence.tip),
        ("network", &evidence.network),
        ("item watched throughout", &evidence.monitoring),
        ("waveform measured", &evidence.waveform),
    ] {
        page.row(name, if given.value { "required" } else { "not required, shown as a bonus" }, given);
    }
    page.row("a verification is one of", kinds.join(", "), &evidence.setup_kinds);
}

fn waveform(page: &mut Page, standard: &Standard) {
    if !standard.waveform.is_empty() {
        page.head("Waveform of the generator, contact discharge into the target");
    }
    for limit in &standard.waveform {
        let unit = limit.quantity.unit();
        let per = if limit.per_kv { "/kV" } else { "" };
        let at = limit.only_at_kv.map(|kv| format!(" at {kv}")).unwrap_or_default();
        let shown = match limit.bounds {
            WaveformBounds::Tolerance { nominal, minus_percent, plus_percent } => {
                format!("{nominal} {unit}{per}{at}, -{minus_percent} % +{plus_percent} %")
            }
            WaveformBounds::Range { least, most } => format!("{least} to {most} {unit}{per}{at}"),
        };
        let network = format!("{} / {}", limit.network_pf, limit.network_ohm);
        let origin = limit
            .time_origin
            .as_ref()
            .map(|origin| {
                format!(", from {}{}", origin.value.as_str().replace('-', " "), mark(origin.status))
            })
            .unwrap_or_default();
        page.plain(
            &limit.quantity.to_string(),
            format!("{shown}{}{origin}  {}", styled(CARE, mark(limit.status)), styled(FAINT, network)),
        );
        page.source(&limit.clause, &limit.source, limit.status);
    }
}
