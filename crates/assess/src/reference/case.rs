//! A file of reference cases: what each asks, what it expects, and from where.

use super::agree::{Within, compare};
use super::inputs::Inputs;
use super::{Computed, Held, decision, special, statistics, uncertainty, values, waveform};
use toml::{Table, Value};

/// Runs the cases and tables of values of one file.
pub(super) fn run_file(text: &str) -> Result<Vec<Held>, String> {
    let file: Table = text.parse().map_err(|error| format!("{error}"))?;
    let topic = text_of(&file, "topic").ok_or("no topic")?;
    let mut all = Vec::new();
    for case in tables(&file, "case")? {
        let name = text_of(case, "name").ok_or("a case without a name")?;
        all.extend(run(topic, &file, case).map_err(|error| format!("{name}: {error}"))?);
    }
    for table in tables(&file, "values")? {
        all.extend(values::run(topic, table)?);
    }
    if all.is_empty() { Err("no cases".to_owned()) } else { Ok(all) }
}

fn tables<'a>(file: &'a Table, key: &str) -> Result<Vec<&'a Table>, String> {
    let list = file.get(key).and_then(Value::as_array).map_or(&[][..], Vec::as_slice);
    let each = list.iter().map(Value::as_table).collect::<Option<_>>();
    each.ok_or_else(|| format!("`{key}` holds something that is no table"))
}

pub(super) fn text_of<'a>(table: &'a Table, key: &str) -> Option<&'a str> {
    table.get(key)?.as_str()
}

fn run(topic: &str, file: &Table, case: &Table) -> Result<Vec<Held>, String> {
    // What all cases of a file share stands at its head.
    let own = |key: &str| text_of(case, key).or_else(|| text_of(file, key));
    let needed = |key: &str| own(key).ok_or_else(|| format!("no {key}"));
    let empty = Table::new();
    let inputs = Inputs(case.get("inputs").and_then(Value::as_table).unwrap_or(&empty));
    let kind = needed("kind")?;
    let computed = match topic {
        "decision" => decision::compute(kind, inputs),
        "special functions" => special::compute(kind, inputs),
        "statistics" => statistics::compute(kind, inputs),
        "uncertainty" => uncertainty::compute(kind, inputs),
        "waveform" => waveform::compute(kind, inputs),
        other => Err(format!("no runner for the topic `{other}`")),
    }?;
    let expected = case.get("expected").and_then(Value::as_table).ok_or("nothing is expected")?;
    let common = match within(case)? {
        Within::Print => within(file)?,
        own => own,
    };
    let hold = |(figure, expected): (&String, &Value)| -> Result<Held, String> {
        let (text, within) = match expected {
            Value::String(text) => (text.as_str(), common),
            Value::Table(table) => {
                (text_of(table, "value").ok_or_else(|| format!("{figure}: no value"))?, within(table)?)
            }
            _ => return Err(format!("{figure}: the expected figure must be text, to keep its digits")),
        };
        let found = computed.iter().find(|computed| computed.figure == *figure);
        let Computed { function, got, .. } =
            found.ok_or_else(|| format!("`{kind}` gives no figure `{figure}`"))?;
        let (got, agrees) = compare(text, within, got);
        Ok(Held {
            topic: topic.to_owned(),
            case: text_of(case, "name").unwrap_or_default().to_owned(),
            figure: figure.clone(),
            function,
            source: needed("source")?.to_owned(),
            clause: own("clause").map(str::to_owned),
            status: needed("status")?.to_owned(),
            expected: text.to_owned(),
            tolerance: within.to_string(),
            got,
            agrees,
            note: own("note").map(str::to_owned),
        })
    };
    expected.iter().map(hold).collect()
}

/// The tolerance that a case, an expected figure or a table of values states.
pub(super) fn within(table: &Table) -> Result<Within, String> {
    let number = |key: &str| -> Result<Option<f64>, String> {
        let text = text_of(table, key);
        text.map(|text| text.parse().map_err(|_| format!("the tolerance `{text}` is no number"))).transpose()
    };
    Ok(match (number("absolute")?, number("relative")?) {
        (Some(distance), _) => Within::Absolute(distance),
        (None, Some(share)) => Within::Relative(share),
        (None, None) => Within::Print,
    })
}
