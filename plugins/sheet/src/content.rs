//! What stands on the sheet, taken from facts, plan and the standard's data, before anything is set.

use assess::standard::{ClimateLimit, Standard, Status};
use assess::{Required, SPARK_CHECK, bench_checks, tip_to_fit};
use plugin_api::{WriteInput, sheet_code};
use record::{Application, Stated, Tip};

/// The words of a sheet.
pub(crate) struct Content {
    /// Code of the whole sheet; a page adds its number.
    pub(crate) code: String,
    pub(crate) head: String,
    pub(crate) invented: Option<String>,
    /// Name and value, for the first page.
    pub(crate) identity: Vec<(String, String)>,
    pub(crate) climate: Vec<(String, String)>,
    pub(crate) equipment: Vec<(String, String)>,
    pub(crate) fitted: Vec<(String, String)>,
    pub(crate) checks: Vec<Check>,
    pub(crate) rows: Vec<Row>,
    pub(crate) functions: Vec<String>,
    /// Whether the item's charge may have to be taken off before each discharge.
    pub(crate) removal: Option<String>,
    pub(crate) earthed_open: bool,
}

/// A check of the set-up: a reading where it has limits, else a look.
pub(crate) struct Check {
    pub(crate) what: String,
    pub(crate) limits: Option<String>,
}

/// One series.
pub(crate) struct Row {
    pub(crate) number: usize,
    pub(crate) point: String,
    pub(crate) description: String,
    pub(crate) discharge: &'static str,
    pub(crate) tip: Tip,
    pub(crate) mode: String,
    pub(crate) voltage: String,
    pub(crate) count: u32,
    pub(crate) interval_s: String,
    pub(crate) air: bool,
}

/// Takes it all together.
pub(crate) fn content(input: &WriteInput<'_>) -> Content {
    let facts = &input.record.facts;
    let plan = &input.assessment.plan;
    let item = &facts.item;
    let described = |parts: &[Option<&str>]| parts.iter().flatten().copied().collect::<Vec<_>>().join(", ");
    let serial = item.serial.as_ref().map(|serial| format!("serial {serial}"));
    let name = described(&[item.name.as_deref(), item.type_designation.as_deref(), serial.as_deref()]);
    let number = facts.report.number.as_deref();
    let mut identity = vec![
        ("Report".to_owned(), number.unwrap_or("not stated").to_owned()),
        ("Item".to_owned(), if name.is_empty() { "not stated".to_owned() } else { name.clone() }),
        ("Method".to_owned(), input.standard.map_or_else(|| "not stated".to_owned(), Standard::full_name)),
    ];
    let firmware = item.firmware_version.as_ref().map(|version| format!("firmware {version}"));
    let versions =
        described(&[item.hardware_version.as_deref(), firmware.as_deref(), item.supply.as_deref()]);
    for (words, value) in [
        ("Client", facts.client.name.clone()),
        ("Version, supply", Some(versions).filter(|text| !text.is_empty())),
        ("State judged", facts.plan.judged_state.as_ref().map(ToString::to_string)),
        ("Place", facts.laboratory.place_of_work.clone()),
    ] {
        if let Some(value) = value {
            identity.push((words.to_owned(), value));
        }
    }
    Content {
        code: sheet_code(facts, plan),
        head: described(&[number, Some(name.as_str()).filter(|name| !name.is_empty())]),
        invented: facts.invented.clone(),
        identity,
        climate: climate(input.standard, plan),
        equipment: equipment(input),
        fitted: fitted(input),
        checks: checks(input),
        rows: plan.iter().zip(1..).map(|(required, number)| row(input, required, number)).collect(),
        functions: facts
            .functions
            .iter()
            .map(|function| function.description.clone().unwrap_or_else(|| function.id.to_string()))
            .collect(),
        removal: removal(input),
        earthed_open: matches!(item.earthed, Stated::NotStated),
    }
}

fn row(input: &WriteInput<'_>, required: &Required, number: usize) -> Row {
    let facts = &input.record.facts;
    let point = facts.points.iter().find(|point| point.id == required.point);
    let kind = match required.application {
        Application::Contact => "contact",
        Application::Air => "air",
        Application::Hcp => "horizontal plane",
        Application::Vcp => "vertical plane",
    };
    Row {
        number,
        point: required.point.to_string(),
        description: point.and_then(|point| point.description.clone()).unwrap_or_default(),
        discharge: kind,
        tip: tip_to_fit(&facts.generator, input.standard, required.application),
        mode: required.mode.as_ref().map(|mode| format!("item in mode {mode}")).unwrap_or_default(),
        voltage: format!("{}{}", required.polarity.sign(), required.voltage_kv),
        count: required.count,
        interval_s: required.interval_s.as_s().to_string(),
        air: required.application == Application::Air,
    }
}

fn equipment(input: &WriteInput<'_>) -> Vec<(String, String)> {
    let facts = &input.record.facts;
    let line = |piece: &record::Equipment| {
        let serial = piece.serial.as_ref().map(|serial| format!("serial {serial}"));
        let about: Vec<&str> = [piece.name.as_deref(), serial.as_deref()].into_iter().flatten().collect();
        let due = match (piece.calibration_due, piece.accredited) {
            (Some(due), Some(false)) => format!("calibration valid until {due}, not accredited"),
            (Some(due), _) => format!("calibration valid until {due}"),
            (None, _) => "end of calibration not stated".to_owned(),
        };
        (format!("{}  {}", piece.id, about.join(", ")), due)
    };
    facts.equipment.iter().map(line).collect()
}

fn fitted(input: &WriteInput<'_>) -> Vec<(String, String)> {
    let generator = &input.record.facts.generator;
    let network = match (generator.network_pf, generator.network_ohm) {
        (Some(capacitance), Some(resistance)) => Some(format!("{capacitance} and {resistance}")),
        _ => None,
    };
    [
        ("Generator", generator.equipment.as_ref().map(ToString::to_string)),
        ("Network", network),
        ("Tip for contact", generator.contact_tip.map(|tip| tip.to_string())),
        ("Tip for air", generator.air_tip.map(|tip| tip.to_string())),
        ("Return cable", generator.return_cable.clone()),
    ]
    .into_iter()
    .map(|(words, value)| (words.to_owned(), value.unwrap_or_default()))
    .collect()
}

fn climate(standard: Option<&Standard>, plan: &[Required]) -> Vec<(String, String)> {
    let limit = standard.and_then(|standard| {
        standard
            .climate
            .iter()
            .find(|limit| plan.iter().any(|required| limit.applies_to.value.contains(&required.application)))
    });
    let kinds = |limit: &ClimateLimit| {
        limit.applies_to.value.iter().map(|kind| kind.as_str()).collect::<Vec<_>>().join(", ")
    };
    let words = |limit: &ClimateLimit, least: String, most: String, status| {
        format!("{least} to {most} for {}{}", kinds(limit), mark(status))
    };
    let bounds = |pick: fn(&ClimateLimit) -> Option<(String, String, Status)>| {
        limit
            .and_then(|limit| pick(limit).map(|(least, most, status)| words(limit, least, most, status)))
            .unwrap_or_default()
    };
    vec![
        (
            "Temperature, °C".to_owned(),
            bounds(|limit| {
                limit.temperature_c.as_ref().map(|given| {
                    let span = &given.value;
                    (span.least.as_celsius().to_string(), span.most.as_celsius().to_string(), given.status)
                })
            }),
        ),
        (
            "Relative humidity, %".to_owned(),
            bounds(|limit| {
                limit.humidity_percent.as_ref().map(|given| {
                    let span = &given.value;
                    (span.least.as_percent().to_string(), span.most.as_percent().to_string(), given.status)
                })
            }),
        ),
        (
            "Air pressure, hPa".to_owned(),
            bounds(|limit| {
                limit.pressure_hpa.as_ref().map(|given| {
                    let span = &given.value;
                    (span.least.as_hpa().to_string(), span.most.as_hpa().to_string(), given.status)
                })
            }),
        ),
    ]
}

/// How a value of the standard is known, where that must be said.
fn mark(status: Status) -> String {
    match status {
        Status::Seen | Status::Computed => String::new(),
        other => format!(" ({})", other.as_str()),
    }
}

fn checks(input: &WriteInput<'_>) -> Vec<Check> {
    let list = bench_checks(input.standard, &input.assessment.plan, &input.record.facts.item);
    let mut found: Vec<Check> = list
        .into_iter()
        .map(|check| {
            let mark = check.status.map(mark).unwrap_or_default();
            Check { limits: check.limits().map(|limits| limits + &mark), what: check.what }
        })
        .collect();
    found.push(Check { what: SPARK_CHECK.to_owned(), limits: None });
    found
}

/// How charge comes off the item before each discharge, where it is not earthed or nobody said.
fn removal(input: &WriteInput<'_>) -> Option<String> {
    let facts = &input.record.facts;
    if matches!(facts.item.earthed, Stated::Stated(true) | Stated::NotApplicable { .. }) {
        return None;
    }
    Some(match &facts.charge_removal {
        Stated::Stated(removal) => removal.method.clone(),
        _ => String::new(),
    })
}
