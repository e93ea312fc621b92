//! From the text of a standard's file to its data; everything that is wrong is named at once.

use super::layers::{Stack, to_text};
use super::parse_counts::{count_rule, network, planes, report_item, total};
use super::reader::{
    Section, Text, Value, count, decimal, not_negative, one_of, one_or_rising, positive, several_of, some_of,
    texts, words_of, yes_or_no,
};
use super::*;
use record::{
    BadQuantity, Celsius, Decimal, Finding, Hectopascals, Kilovolts, Ohms, Percent, Picofarads, Seconds,
};
use toml::de::DeValue;

/// The form of the file that this program writes and reads.
const SCHEMA: u32 = 1;

pub(super) fn parse(
    file: &str,
    text: &str,
    find: &dyn Fn(&str) -> Option<(String, String)>,
) -> Result<Loaded, Vec<Finding>> {
    let stack = Stack::collect(file, text, find)?;
    let document = stack.table();
    let mut notes = Text::new(&stack.layers);
    let mut top = Section::new("", 0, &document);
    if let Some(found) = top.value(&mut notes, "schema", count)
        && found != SCHEMA
    {
        let message = format!("the file is written in form {found}; this program reads form {SCHEMA}");
        notes.refuse(0, "schema", codes::UNKNOWN_SCHEMA, message, String::new());
        return Err(notes.into_findings());
    }
    let standard = whole(&mut notes, top);
    match standard {
        Some(mut standard) if notes.is_clean() => {
            if stack.below.is_empty() {
                return Ok(Loaded { standard, text: text.to_owned() });
            }
            standard.laid_over = stack.below.clone();
            Ok(Loaded { standard, text: to_text(&document, &stack.below) })
        }
        _ => Err(notes.into_findings()),
    }
}

fn whole(text: &mut Text<'_>, mut top: Section<'_, '_>) -> Option<Standard> {
    sources(text, &mut top);
    let id = top.value(text, "id", identifier);
    let title = top.value(text, "title", words_of);
    let designation = top.value(text, "designation", words_of);
    let edition = top.value(text, "edition", words_of);
    let version = top.value(text, "version", count);
    // The file below has been laid under this one by now; the key itself says no more.
    let _ = top.get("extends");
    let laid_over = if_there(&mut top, "laid_over", |top, key| top.value(text, key, texts));
    let basic_edition = top.given_if(text, "basic_edition", words_of);
    let outcomes = named(text, &mut top, "outcomes", outcome);
    let levels = named(text, &mut top, "levels", level);
    let rules = top.section(text, "rules").and_then(|section| rules(text, section));
    let climate = list(text, &mut top, "climate", climate_limit);
    let counts = list(text, &mut top, "counts", count_rule);
    let totals = list(text, &mut top, "totals", total);
    let networks = list(text, &mut top, "networks", network);
    let planes = if_there(&mut top, "planes", |top, key| {
        let section = top.section(text, key)?;
        planes(text, section)
    });
    let report = list(text, &mut top, "report", report_item);
    let evidence = top.section(text, "evidence").and_then(|section| evidence(text, section));
    let setup_limits = list(text, &mut top, "setup_limits", setup_limit);
    let waveform = waveform(text, &mut top);
    let ideal_waveform = if_there(&mut top, "ideal_waveform", |top, key| {
        let section = top.section(text, key)?;
        ideal(text, section)
    });
    top.finish(text);
    Some(Standard {
        id: id?,
        title: title?,
        designation: designation?,
        edition: edition?,
        version: version?,
        laid_over: laid_over.unwrap_or_default(),
        basic_edition,
        outcomes,
        levels,
        rules: rules?,
        counts,
        totals,
        networks,
        planes,
        climate,
        evidence: evidence?,
        setup_limits,
        waveform,
        ideal_waveform,
        report,
    })
}

/// A list of tables that may be absent.
fn list<T>(
    text: &mut Text<'_>,
    top: &mut Section<'_, '_>,
    key: &'static str,
    read: fn(&mut Text<'_>, Section<'_, '_>) -> Option<T>,
) -> Vec<T> {
    top.sections(text, key).into_iter().filter_map(|section| read(text, section)).collect()
}

fn sources(text: &mut Text<'_>, top: &mut Section<'_, '_>) {
    let Some(found) = top.need(text, "sources") else { return };
    let DeValue::Table(table) = found.get_ref() else {
        return top.bad(text, "sources", found, "`sources` is not a table: write [sources]".to_owned());
    };
    for (key, value) in table {
        match words_of(value) {
            Ok(words) => {
                text.sources.insert(key.get_ref().as_ref().to_owned(), words);
            }
            Err(why) => text.refuse(
                value.span().start,
                &format!("sources.{}", key.get_ref()),
                codes::BAD_VALUE,
                why,
                String::new(),
            ),
        }
    }
}

/// A list of entries with different names; at least one.
fn named<T>(
    text: &mut Text<'_>,
    top: &mut Section<'_, '_>,
    key: &'static str,
    read: fn(&mut Text<'_>, Section<'_, '_>) -> Option<(String, T)>,
) -> Vec<T> {
    if top.need(text, key).is_none() {
        return Vec::new();
    }
    let mut names: Vec<String> = Vec::new();
    let mut entries = Vec::new();
    for section in top.sections(text, key) {
        let (at, label) = (section.at(), section.label("name"));
        let Some((name, entry)) = read(text, section) else { continue };
        if names.contains(&name) {
            let message = format!("two entries of `{key}` are named `{name}`");
            text.refuse(at, &label, codes::CONTRADICTION, message, "take one of them out".to_owned());
        }
        names.push(name);
        entries.push(entry);
    }
    entries
}

fn outcome(text: &mut Text<'_>, mut section: Section<'_, '_>) -> Option<(String, Outcome)> {
    let name = section.value(text, "name", words_of);
    let meaning = section.value(text, "meaning", words_of);
    let classes = section.value(text, "classes", some_of);
    let needs = section.value(text, "needs", several_of);
    let proof = section.proof(text);
    section.finish(text);
    let (clause, source, status) = proof?;
    let name = name?;
    Some((
        name.clone(),
        Outcome { name, meaning: meaning?, classes: classes?, needs: needs?, clause, source, status },
    ))
}

fn level(text: &mut Text<'_>, mut section: Section<'_, '_>) -> Option<(String, Level)> {
    let name = section.value(text, "name", words_of);
    let mut voltages = |key| section.given_if(text, key, |value| one_or_rising(value, charge_voltage));
    let (contact_kv, air_kv, indirect_kv) =
        (voltages("contact_kv"), voltages("air_kv"), voltages("indirect_kv"));
    let open = if_there(&mut section, "open", |section, key| section.given(text, key, yes_or_no));
    let has_voltage = ["contact_kv", "air_kv", "indirect_kv"].into_iter().any(|key| section.has(key));
    let is_open = open.as_ref().is_some_and(|open| open.value);
    // An `open` that could not be read has its own finding.
    let open_is_clear = open.is_some() || !section.has("open");
    if has_voltage == is_open && open_is_clear {
        let message =
            if has_voltage { "the level is open and has voltages" } else { "the level has no voltage" };
        let help = "give `contact_kv`, `air_kv` or both, or `open` with the value true".to_owned();
        text.refuse(section.at(), &section.label(""), codes::CONTRADICTION, message, help);
    }
    section.finish(text);
    let name = name?;
    Some((name.clone(), Level { name, contact_kv, air_kv, indirect_kv, open }))
}

fn rules(text: &mut Text<'_>, mut section: Section<'_, '_>) -> Option<Rules> {
    let discharges = section.given(text, "discharges", count);
    let counts_per = section.given(text, "counts_per", one_of);
    let polarity = section.given(text, "polarity", one_of);
    let interval_s = section.given(text, "interval_s", |value| quantity(value, Seconds::from_s));
    let lower_levels_contact = section.given(text, "lower_levels_contact", yes_or_no);
    let lower_levels_air = section.given(text, "lower_levels_air", yes_or_no);
    let mut steps = |key| section.given_if(text, key, |value| one_or_rising(value, charge_voltage));
    let (contact_steps_kv, air_steps_kv) = (steps("contact_steps_kv"), steps("air_steps_kv"));
    let single_discharges = section.given(text, "single_discharges", yes_or_no);
    let contact_tip = section.given(text, "contact_tip", one_of);
    let air_tip = section.given(text, "air_tip", one_of);
    let network_pf = section.given(text, "network_pf", |value| above_zero(value, Picofarads::from_pf));
    let network_ohm = section.given(text, "network_ohm", |value| above_zero(value, Ohms::from_ohm));
    let voltage_tolerance_percent = section.given(text, "voltage_tolerance_percent", percentage);
    let indirect_uses_contact_level = section.given(text, "indirect_uses_contact_level", yes_or_no);
    let air_approach_without_spark_counts =
        section.given(text, "air_approach_without_spark_counts", yes_or_no);
    section.finish(text);
    Some(Rules {
        discharges: discharges?,
        counts_per: counts_per?,
        polarity: polarity?,
        interval_s: interval_s?,
        lower_levels_contact: lower_levels_contact?,
        lower_levels_air: lower_levels_air?,
        contact_steps_kv,
        air_steps_kv,
        single_discharges: single_discharges?,
        contact_tip: contact_tip?,
        air_tip: air_tip?,
        network_pf: network_pf?,
        network_ohm: network_ohm?,
        voltage_tolerance_percent: voltage_tolerance_percent?,
        indirect_uses_contact_level: indirect_uses_contact_level?,
        air_approach_without_spark_counts: air_approach_without_spark_counts?,
    })
}

fn evidence(text: &mut Text<'_>, mut section: Section<'_, '_>) -> Option<Evidence> {
    let calibration = section.given(text, "calibration", yes_or_no);
    let calibration_roles = section.given_if(text, "calibration_roles", some_of);
    let setup_limits = section.given_if(text, "setup_limits", yes_or_no);
    let setup_verification = section.given(text, "setup_verification", yes_or_no);
    let setup_kinds = section.given(text, "setup_kinds", several_of);
    let climate = section.given(text, "climate", yes_or_no);
    let charge_removal_unearthed = section.given(text, "charge_removal_unearthed", yes_or_no);
    let tip = section.given(text, "tip", yes_or_no);
    let network = section.given(text, "network", yes_or_no);
    let monitoring = section.given(text, "monitoring", yes_or_no);
    let waveform = section.given(text, "waveform", yes_or_no);
    section.finish(text);
    Some(Evidence {
        calibration: calibration?,
        calibration_roles,
        setup_limits,
        setup_verification: setup_verification?,
        setup_kinds: setup_kinds?,
        climate: climate?,
        charge_removal_unearthed: charge_removal_unearthed?,
        tip: tip?,
        network: network?,
        monitoring: monitoring?,
        waveform: waveform?,
    })
}

fn climate_limit(text: &mut Text<'_>, mut section: Section<'_, '_>) -> Option<ClimateLimit> {
    let applies_to = section.given(text, "applies_to", some_of);
    let temperature_c = if_there(&mut section, "temperature_c", |section, key| {
        section.given_span(text, key, |value| quantity(value, Celsius::from_celsius))
    });
    let humidity_percent = if_there(&mut section, "humidity_percent", |section, key| {
        section.given_span(text, key, |value| quantity(value, Percent::from_percent))
    });
    let pressure_hpa = if_there(&mut section, "pressure_hpa", |section, key| {
        section.given_span(text, key, |value| quantity(value, Hectopascals::from_hpa))
    });
    section.finish(text);
    Some(ClimateLimit { applies_to: applies_to?, temperature_c, humidity_percent, pressure_hpa })
}

/// Reads a key if it is there, and in any case lets `finish` know that it is a key.
pub(super) fn if_there<'a, 't, T>(
    section: &mut Section<'a, 't>,
    key: &'static str,
    read: impl FnOnce(&mut Section<'a, 't>, &'static str) -> Option<T>,
) -> Option<T> {
    section.get(key)?;
    read(section, key)
}

fn setup_limit(text: &mut Text<'_>, mut section: Section<'_, '_>) -> Option<SetupLimit> {
    let kind = section.value(text, "kind", one_of);
    let what = section.value(text, "what", words_of);
    let unit = section.value(text, "unit", |value| {
        let word = words_of(value)?;
        let known = SetupLimit::UNITS.contains(&word.as_str());
        if known {
            Ok(word)
        } else {
            Err(format!("`{word}` is not one of: {}", SetupLimit::UNITS.join(", ")))
        }
    });
    let mut end = |key| if_there(&mut section, key, |section, key| section.given(text, key, not_negative));
    let (nominal, least, most) = (end("nominal"), end("least"), end("most"));
    let ends = [&least, &nominal, &most].map(|end| end.as_ref().map(|end| end.value));
    let rising: Vec<Decimal> = ends.into_iter().flatten().collect();
    if !rising.is_sorted() {
        let message = "`least`, `nominal` and `most` do not rise";
        text.refuse(section.at(), &section.label(""), codes::CONTRADICTION, message, String::new());
    }
    if rising.is_empty() {
        let help = "give `least`, `most` or both".to_owned();
        text.refuse(section.at(), &section.label(""), codes::MISSING_KEY, "the limit has no end", help);
    }
    section.finish(text);
    Some(SetupLimit { kind: kind?, what: what?, unit: unit?, nominal, least, most })
}

fn waveform(text: &mut Text<'_>, top: &mut Section<'_, '_>) -> Vec<WaveformLimit> {
    let mut limits: Vec<WaveformLimit> = Vec::new();
    for section in top.sections(text, "waveform") {
        let (at, label) = (section.at(), section.label(""));
        let Some(limit) = waveform_limit(text, section) else { continue };
        let same = |other: &WaveformLimit| {
            (other.network_pf, other.network_ohm, other.quantity)
                == (limit.network_pf, limit.network_ohm, limit.quantity)
        };
        if limits.iter().any(same) {
            let message = format!("two limits for the {} with the same network", limit.quantity);
            text.refuse(at, &label, codes::CONTRADICTION, message, "take one of them out".to_owned());
        }
        limits.push(limit);
    }
    limits
}

fn waveform_limit(text: &mut Text<'_>, mut section: Section<'_, '_>) -> Option<WaveformLimit> {
    let network_pf = section.value(text, "network_pf", |value| above_zero(value, Picofarads::from_pf));
    let network_ohm = section.value(text, "network_ohm", |value| above_zero(value, Ohms::from_ohm));
    let word = section.value(text, "quantity", |value| {
        let word = words_of(value)?;
        let known = ["peak-current", "rise-time", "current-at"];
        if known.contains(&word.as_str()) {
            Ok(word)
        } else {
            Err(format!("`{word}` is not one of: {}", known.join(", ")))
        }
    });
    let mut time_origin = None;
    let quantity = match word.as_deref() {
        Some("peak-current") => Some(WaveformQuantity::PeakCurrent),
        Some("rise-time") => Some(WaveformQuantity::RiseTime),
        Some("current-at") => {
            time_origin = section.given(text, "time_origin", one_of);
            section.value(text, "time_ns", positive).map(|time_ns| WaveformQuantity::CurrentAt { time_ns })
        }
        _ => None,
    };
    let per_kv = section.value(text, "per_kv", yes_or_no);
    let only_at_kv = if_there(&mut section, "only_at_kv", |s, key| s.value(text, key, charge_voltage));
    let bounds = waveform_bounds(text, &mut section);
    let proof = section.proof(text);
    section.finish(text);
    let (clause, source, status) = proof?;
    Some(WaveformLimit {
        network_pf: network_pf?,
        network_ohm: network_ohm?,
        quantity: quantity?,
        per_kv: per_kv?,
        only_at_kv,
        bounds: bounds?,
        time_origin,
        clause,
        source,
        status,
    })
}

/// A nominal value with tolerances, or two ends.
fn waveform_bounds(text: &mut Text<'_>, section: &mut Section<'_, '_>) -> Option<WaveformBounds> {
    if section.has("least") || section.has("most") {
        let (least, most) = (section.value(text, "least", positive), section.value(text, "most", positive));
        let (least, most) = (least?, most?);
        if least > most {
            let message = "`least` is greater than `most`";
            text.refuse(section.at(), &section.label(""), codes::CONTRADICTION, message, String::new());
            return None;
        }
        return Some(WaveformBounds::Range { least, most });
    }
    let nominal = section.value(text, "nominal", positive);
    let minus_percent = section.value(text, "minus_percent", percentage);
    let plus_percent = section.value(text, "plus_percent", percentage);
    Some(WaveformBounds::Tolerance {
        nominal: nominal?,
        minus_percent: minus_percent?,
        plus_percent: plus_percent?,
    })
}

fn ideal(text: &mut Text<'_>, mut section: Section<'_, '_>) -> Option<IdealWaveform> {
    let at_kv = section.value(text, "at_kv", charge_voltage);
    let mut constant = |key| section.value(text, key, positive).map(number);
    let currents = [constant("i1_a"), constant("i2_a")];
    let times = [constant("t1_ns"), constant("t2_ns"), constant("t3_ns"), constant("t4_ns")];
    let exponent = constant("n");
    let proof = section.proof(text);
    section.finish(text);
    let (clause, source, status) = proof?;
    let [i1, i2] = currents;
    let [t1, t2, t3, t4] = times;
    Some(IdealWaveform {
        at_kv: at_kv?,
        currents_a: [i1?, i2?],
        times_ns: [t1?, t2?, t3?, t4?],
        exponent: exponent?,
        clause,
        source,
        status,
    })
}

/// Lower-case letters, digits and hyphens.
fn identifier(value: &Value<'_>) -> Result<String, String> {
    let word = words_of(value)?;
    let fits = word.bytes().all(|b| b.is_ascii_lowercase() || b.is_ascii_digit() || b == b'-');
    if fits { Ok(word) } else { Err(format!("`{word}` has other signs than a-z, 0-9 and -")) }
}

pub(super) fn quantity<T>(
    value: &Value<'_>,
    from: fn(Decimal) -> Result<T, BadQuantity>,
) -> Result<T, String> {
    from(decimal(value)?).map_err(|why| why.to_string())
}

pub(super) fn above_zero<T>(
    value: &Value<'_>,
    from: fn(Decimal) -> Result<T, BadQuantity>,
) -> Result<T, String> {
    positive(value)?;
    quantity(value, from)
}

fn charge_voltage(value: &Value<'_>) -> Result<Kilovolts, String> {
    above_zero(value, Kilovolts::from_kv)
}

fn percentage(value: &Value<'_>) -> Result<Decimal, String> {
    let number = not_negative(value)?;
    if number <= Decimal::ONE_HUNDRED {
        Ok(number)
    } else {
        Err(format!("{number} is more than 100 per cent"))
    }
}

/// Reads a list of what must be stated: `schema`, `name`, `version`, `[sources]` and `[[report]]`.
pub(crate) fn checklist(file: &str, text: &str) -> Result<crate::completeness::Checklist, Vec<Finding>> {
    let stack = Stack::collect(file, text, &|_| None)?;
    let document = stack.table();
    let mut notes = Text::new(&stack.layers);
    let mut top = Section::new("", 0, &document);
    sources(&mut notes, &mut top);
    let _ = top.value(&mut notes, "schema", count);
    let name = top.value(&mut notes, "name", words_of);
    let version = top.value(&mut notes, "version", count);
    let items = list(&mut notes, &mut top, "report", report_item);
    top.finish(&mut notes);
    match (name, version) {
        (Some(name), Some(version)) if notes.is_clean() => {
            Ok(crate::completeness::Checklist { name, version, items })
        }
        _ => Err(notes.into_findings()),
    }
}
