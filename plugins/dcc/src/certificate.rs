//! From a certificate's elements to what the record says of a piece of equipment.
//!
//! Elements after the public schema of version 3.1.2; what 3.3 writes otherwise (uncertainties of D-SI 2.2) is known
//! from published examples, 3.2 from memory.

use crate::codes;
use crate::result;
use crate::tree::{Node, Refusal, Space};
use record::{Date, Equipment, EquipmentId, Finding, Origin, SourceId};
use std::collections::BTreeMap;

/// The outermost element.
pub(crate) const ROOT: &str = "digitalCalibrationCertificate";
/// Versions that are read, up to their last number, which changes nothing in what elements mean.
const VERSIONS: &[&str] = &["3.0.", "3.1.", "3.2.", "3.3."];

/// What a certificate says.
#[derive(Debug)]
pub(crate) struct Read {
    pub(crate) equipment: Equipment,
    /// By the path in a list of one piece of equipment.
    pub(crate) origins: BTreeMap<String, Origin>,
    pub(crate) understood: Vec<String>,
    pub(crate) findings: Vec<Finding>,
}

/// Reads the certificate of the equipment `id`, whose serial number may be known.
pub(crate) fn read(
    root: &Node,
    id: &EquipmentId,
    serial: Option<&str>,
    source: SourceId,
) -> Result<Read, Refusal> {
    if root.space != Space::Dcc || root.name != ROOT {
        let what =
            format!("the file begins with `{}`, not with a calibration certificate", short(&root.name));
        let help = "name the digital calibration certificate";
        return Err(Refusal::new(codes::NOT_A_CERTIFICATE, what, Some(root.row), help));
    }
    let version = root.attribute("schemaVersion").unwrap_or_default();
    if !VERSIONS.iter().any(|known| version.starts_with(known)) {
        let what = format!("the certificate is of version `{}`", short(version));
        let help = "versions 3.0 to 3.3 are read; type what it says into [[equipment]] of job.toml";
        return Err(Refusal::new(codes::UNKNOWN_VERSION, what, Some(root.row), help));
    }
    let missing = |what: &str, row: u64| {
        let message = format!("the certificate has no {what}");
        Refusal::new(
            codes::NOT_A_CERTIFICATE,
            message,
            Some(row),
            "ask its laboratory for a whole certificate",
        )
    };
    let data = root.first("administrativeData").ok_or_else(|| missing("administrative data", root.row))?;
    let core = data.first("coreData").ok_or_else(|| missing("core data", data.row))?;
    let mut work = Work { source, origins: BTreeMap::new(), findings: Vec::new() };

    let number = core.first("uniqueIdentifier").filter(|n| n.said().is_some());
    let number = number.ok_or_else(|| missing("number (uniqueIdentifier)", core.row))?;
    let day = core.first("endPerformanceDate").and_then(|node| Some((day(node.said()?)?, node)));
    let (day, day_node) = day.ok_or_else(|| missing("day of calibration (endPerformanceDate)", core.row))?;
    let (item, item_serial) = work.item(data, serial)?;
    let name = item.first("name");
    let laboratory = data.at(&["calibrationLaboratory", "contact", "name"]);
    let mut conformity = conformity(root, data);
    let mut results = result::results(root);
    let items = data.first("items").map_or(0, |list| list.all("item").count());
    if items > 1 && (conformity.is_some() || results.words.is_some() || results.others > 0) {
        let what = format!(
            "the certificate covers {items} items and does not say in a form that is read which of them its conformity and results are for"
        );
        let help = "look into the certificate, and state in_tolerance of this equipment in job.toml";
        work.findings.push(Finding::warning(codes::NOT_TAKEN, what).help(help));
        (conformity, results) = (None, result::Results::default());
    }
    if results.others > 0 {
        let what =
            format!("{} results are lists, curves or texts and stay in the certificate", results.others);
        work.findings.push(Finding::note(codes::NOT_TAKEN, what));
    }

    work.from("certificate", number);
    work.from("calibrated_on", day_node);
    for (key, node) in [("name", name), ("serial", item_serial), ("calibrated_by", laboratory)] {
        if let Some(node) = node {
            work.from(key, node);
        }
    }
    if let Some((_, node)) = conformity {
        work.from("in_tolerance", node);
    }
    if results.words.is_some()
        && let Some(node) = root.first("measurementResults")
    {
        work.from("remark", node);
    }
    let mut understood = vec![format!("DCC {}", short(version))];
    let model = item.first("model").and_then(Node::said);
    let maker = item.at(&["manufacturer", "name"]).and_then(Node::words);
    understood.extend(model.map(|model| format!("model {}", short(model))));
    understood.extend(maker.map(|maker| format!("maker {}", short(maker))));
    Ok(Read {
        equipment: Equipment {
            id: id.clone(),
            role: None,
            name: name.and_then(Node::words).map(short),
            serial: item_serial.and_then(Node::said).map(short),
            firmware_version: None,
            calibrated_on: Some(day),
            calibration_due: None,
            certificate: number.said().map(short),
            calibrated_by: laboratory.and_then(Node::words).map(short),
            accredited: None,
            in_tolerance: conformity.map(|(conforms, _)| conforms),
            transfer_v_per_a: None,
            attenuation_db: None,
            attenuation_ratio: None,
            remark: results.words,
        },
        origins: work.origins,
        understood,
        findings: work.findings,
    })
}

struct Work {
    source: SourceId,
    origins: BTreeMap<String, Origin>,
    findings: Vec<Finding>,
}

impl Work {
    fn from(&mut self, key: &str, node: &Node) {
        self.origins.insert(format!("/equipment/0/{key}"), Origin::rows(self.source, node.row, node.row));
    }

    /// The item that the certificate is about, and where its serial number stands.
    fn item<'a>(
        &mut self,
        data: &'a Node,
        serial: Option<&str>,
    ) -> Result<(&'a Node, Option<&'a Node>), Refusal> {
        let list = data.first("items");
        let items: Vec<&Node> = list.into_iter().flat_map(|list| list.all("item")).collect();
        let row = list.map(|list| list.row);
        let with_serial = |item: &&'a Node| {
            serial.is_some_and(|serial| marks(item).any(|mark| mark.said() == Some(serial)))
        };
        let matching: Vec<&Node> = items.iter().copied().filter(|item| with_serial(item)).collect();
        let item = match (items.as_slice(), matching.as_slice()) {
            ([], _) => {
                let help = "ask its laboratory for a whole certificate";
                return Err(Refusal::new(
                    codes::NOT_A_CERTIFICATE,
                    "the certificate is about no item",
                    row,
                    help,
                ));
            }
            (_, [one]) => *one,
            ([one], []) => *one,
            _ => {
                let what = format!("the certificate covers {} items", items.len());
                let help =
                    "state the serial number of the equipment in job.toml, as the certificate writes it";
                return Err(Refusal::new(codes::WHICH_ITEM, what, row, help));
            }
        };
        let found = match serial {
            // The mark that equals the known number, whatever it is called.
            Some(serial) => marks(item).find(|mark| mark.said() == Some(serial)),
            None => None,
        };
        let stated = found.or_else(|| self.serial(item));
        if let (Some(known), Some(stated)) = (serial, stated)
            && stated.said() != Some(known)
        {
            let what = format!(
                "the certificate is for serial number `{}`, and the job's equipment has `{known}`",
                short(stated.said().unwrap_or_default())
            );
            let help = "name the certificate of this equipment, or mend its serial number";
            return Err(Refusal::new(codes::OTHER_INSTRUMENT, what, Some(stated.row), help));
        }
        Ok((item, stated))
    }

    /// The maker's serial number: the mark that says so, or the only one of the maker.
    fn serial<'a>(&mut self, item: &'a Node) -> Option<&'a Node> {
        let list = item.first("identifications")?;
        let by_name = list.all("identification").find(|mark| {
            mark.attribute("refType").is_some_and(|kind| kind.split(' ').any(|k| k == "basic_serialNumber"))
        });
        if let Some(mark) = by_name {
            return mark.first("value");
        }
        let of_maker: Vec<&Node> = list
            .all("identification")
            .filter(|mark| mark.first("issuer").and_then(Node::said) == Some("manufacturer"))
            .collect();
        match of_maker.as_slice() {
            [] => None,
            [one] => one.first("value"),
            more => {
                let what =
                    format!("{} marks of the maker, and none says that it is the serial number", more.len());
                self.findings.push(Finding::note(codes::NOT_TAKEN, what));
                None
            }
        }
    }
}

/// Every mark of an item: serial numbers and inventory names.
fn marks(item: &Node) -> impl Iterator<Item = &Node> {
    let list = item.first("identifications").into_iter();
    list.flat_map(|list| list.all("identification")).filter_map(|mark| mark.first("value"))
}

/// Whether the certificate states conformity: all statements `pass`, or one that is not. Conditional ones and `noPass`, which need
/// a reader, count as neither.
fn conformity<'a>(root: &'a Node, data: &'a Node) -> Option<(bool, &'a Node)> {
    let general = data.first("statements").into_iter().flat_map(|list| list.all("statement"));
    let results = root.first("measurementResults").into_iter().flat_map(|list| list.all("measurementResult"));
    let of_results =
        results.filter_map(|r| r.first("measurementMetaData")).flat_map(|list| list.all("metaData"));
    let stated: Vec<&Node> = general.chain(of_results).filter_map(|s| s.first("conformity")).collect();
    if let Some(fails) = stated.iter().find(|s| s.said() == Some("fail")) {
        return Some((false, fails));
    }
    let all = stated.iter().all(|s| s.said() == Some("pass"));
    stated.first().filter(|_| all).map(|first| (true, *first))
}

/// A day, without the zone that XML allows behind it.
fn day(text: &str) -> Option<Date> {
    text.get(..10)?.parse().ok()
}

/// A text of a certificate, cut where it is longer than any name.
fn short(text: &str) -> String {
    let text: String = text.split_whitespace().collect::<Vec<_>>().join(" ");
    match text.char_indices().nth(300) {
        Some((end, _)) => format!("{}...", text.get(..end).unwrap_or_default()),
        None => text,
    }
}
