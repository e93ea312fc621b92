//! Results of a calibration: name, value, unit and expanded uncertainty, where they stand as one number each.

use crate::tree::Node;

/// So many results are written out; the rest is counted.
const MOST: usize = 12;

/// Results in words, and how many results are in another form (lists, curves, texts).
#[derive(Default)]
pub(crate) struct Results {
    pub(crate) words: Option<String>,
    pub(crate) others: usize,
}

/// All results below `measurementResults`.
pub(crate) fn results(root: &Node) -> Results {
    let (mut lines, mut others) = (Vec::new(), 0);
    let blocks = root.first("measurementResults").into_iter().flat_map(|list| list.all("measurementResult"));
    for result in blocks.filter_map(|block| block.first("results")).flat_map(|list| list.all("result")) {
        let name = result.first("name").and_then(Node::words);
        if let Some(data) = result.first("data") {
            collect(data, name, &mut lines, &mut others);
        }
    }
    let more = lines.len().saturating_sub(MOST);
    lines.truncate(MOST);
    let mut words = lines.join("; ");
    if more > 0 {
        words += &format!("; and {more} more");
    }
    Results { words: (!words.is_empty()).then(|| format!("results of the certificate: {words}")), others }
}

fn collect(data: &Node, above: Option<&str>, lines: &mut Vec<String>, others: &mut usize) {
    for child in &data.children {
        match child.name.as_str() {
            "list" => {
                let name = child.first("name").and_then(Node::words).or(above);
                collect(child, name, lines, others);
            }
            "quantity" => {
                let name = child.first("name").and_then(Node::words).or(above);
                match child.si("real").and_then(real) {
                    Some(value) => {
                        lines.push(name.map_or_else(|| value.clone(), |name| format!("{name}: {value}")))
                    }
                    None => *others += 1,
                }
            }
            "text" | "formula" | "byteData" | "xml" => *others += 1,
            _ => {}
        }
    }
}

/// A value with its unit as written (D-SI: `\kilo\volt`), and U with k and probability as stated.
fn real(of: &Node) -> Option<String> {
    let said = |node: &Node, name: &str| node.si(name).and_then(Node::said).map(str::to_owned);
    let value = said(of, "value").filter(|text| is_number(text))?;
    let unit = said(of, "unit").map(|unit| unit_in_words(&unit)).unwrap_or_default();
    let mut words = format!("{value} {unit}").trim_end().to_owned();
    // D-SI 2.2, then its earlier form.
    let newer = of.si("measurementUncertaintyUnivariate").and_then(|u| u.si("expandedMU"));
    let found = match newer {
        Some(node) => said(node, "valueExpandedMU").map(|u| (u, node)),
        None => of.si("expandedUnc").and_then(|node| said(node, "uncertainty").map(|u| (u, node))),
    };
    if let Some((uncertainty, node)) = found.filter(|(u, _)| is_number(u)) {
        words += &format!(", U = {uncertainty} {unit}");
        words = words.trim_end().to_owned();
        if let Some(k) = said(node, "coverageFactor").filter(|k| is_number(k)) {
            words += &format!(" (k = {k})");
        }
    }
    Some(words)
}

fn is_number(text: &str) -> bool {
    text.parse::<f64>().is_ok_and(f64::is_finite) && text.len() <= 40
}

/// Units of D-SI as people write them; one that is not known stays as it is written.
fn unit_in_words(unit: &str) -> String {
    const PREFIXES: &[(&str, &str)] = &[
        ("giga", "G"),
        ("mega", "M"),
        ("kilo", "k"),
        ("milli", "m"),
        ("micro", "µ"),
        ("nano", "n"),
        ("pico", "p"),
    ];
    const UNITS: &[(&str, &str)] = &[
        ("volt", "V"),
        ("ampere", "A"),
        ("second", "s"),
        ("ohm", "Ω"),
        ("farad", "F"),
        ("hertz", "Hz"),
        ("degreecelsius", "°C"),
        ("percent", "%"),
        ("pascal", "Pa"),
        ("coulomb", "C"),
        ("joule", "J"),
        ("one", ""),
    ];
    let parts: Vec<&str> = unit.split('\\').filter(|part| !part.is_empty()).collect();
    let short =
        |list: &[(&str, &'static str)], word: &str| list.iter().find(|(w, _)| *w == word).map(|(_, s)| *s);
    let words = match parts.as_slice() {
        [unit] => short(UNITS, unit).map(str::to_owned),
        [prefix, unit] => short(PREFIXES, prefix).zip(short(UNITS, unit)).map(|(p, u)| format!("{p}{u}")),
        _ => None,
    };
    words.unwrap_or_else(|| unit.to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn units_are_written_as_people_do_or_left() {
        for (unit, words) in [
            (r"\kilo\volt", "kV"),
            (r"\nano\second", "ns"),
            (r"\one", ""),
            (r"\metre\tothe{2}", r"\metre\tothe{2}"),
        ] {
            assert_eq!(unit_in_words(unit), words);
        }
    }
}
