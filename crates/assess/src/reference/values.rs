//! Tables of values that another program computed: a row is a check.

use super::agree::{Within, compare};
use super::case::{text_of, within};
use super::{Got, Held, files, special, statistics};
use toml::Table;

/// Runs a table of values. Its last columns are values by named programs; `column` says which is meant. Rows in which
/// that program is off from `judge`, a column of more digits, by more than the tolerance are left out.
pub(super) fn run(topic: &str, table: &Table) -> Result<Vec<Held>, String> {
    let needed = |key: &str| text_of(table, key).ok_or_else(|| format!("a table of values without `{key}`"));
    let (file, column) = (needed("file")?, needed("column")?);
    let (source, status) = (needed("source")?, needed("status")?);
    let within = within(table)?;
    let (_, text) =
        files::VALUES.iter().find(|(name, _)| *name == file).ok_or_else(|| format!("no {file}"))?;
    let mut lines = text.lines().filter(|line| !line.starts_with('#'));
    let header: Vec<&str> = lines.next().unwrap_or_default().split(',').collect();
    let place = |name: &str| header.iter().position(|head| *head == name).ok_or(format!("{file}: no {name}"));
    let at = place(column)?;
    let judge = text_of(table, "judge").map(place).transpose()?;
    let mut all = Vec::new();
    for line in lines {
        let fields: Vec<&str> = line.split(',').collect();
        let expected = *fields.get(at).ok_or_else(|| format!("{file}: `{line}` is too short"))?;
        let judged = judge.and_then(|judge| fields.get(judge)).and_then(|text| text.parse::<f64>().ok());
        if judged.is_some_and(|judged| !compare(expected, within, &Got::Number(judged)).1) {
            continue;
        }
        let (name, rest) = fields.split_first().ok_or("an empty row")?;
        let found = match topic {
            "special functions" => {
                let arguments = rest.get(..3).unwrap_or(rest).iter().filter(|text| !text.is_empty());
                let arguments: Result<Vec<f64>, _> = arguments.map(|text| text.parse()).collect();
                arguments.ok().and_then(|arguments| special::of_numbers(name, &arguments))
            }
            "statistics" => statistics::of_row(name, rest),
            _ => None,
        };
        let (function, value) = found.ok_or_else(|| format!("{file}: `{line}` can't be run"))?;
        let (got, agrees) = compare(expected, within, &Got::Number(value));
        all.push(Held {
            topic: topic.to_owned(),
            case: line.rsplit_once(',').map_or(line, |(before, _)| before).to_owned(),
            figure: (*name).to_owned(),
            function,
            source: source.to_owned(),
            clause: None,
            status: status.to_owned(),
            expected: expected.to_owned(),
            tolerance: within.to_string(),
            got,
            agrees,
            note: None,
        });
        debug_assert!(!matches!(within, Within::Print), "values of a program carry a tolerance");
    }
    Ok(all)
}
