//! The code of a sheet: short enough to be copied by hand, different for every plan.

use assess::Required;
use record::Facts;
use sha2::{Digest, Sha256};

/// Letters and digits that a hand does not mix up: no I, L, O, U.
const LETTERS: &[u8; 32] = b"0123456789ABCDEFGHJKMNPQRSTVWXYZ";

/// Code of a job's plan on paper: five characters. The same report, item and plan give the same code.
pub fn sheet_code(facts: &Facts, plan: &[Required]) -> String {
    let item = &facts.item;
    code(&[facts.report.number.as_deref(), item.type_designation.as_deref(), item.serial.as_deref()], plan)
}

fn code(named: &[Option<&str>], plan: &[Required]) -> String {
    let mut digest = Sha256::new();
    for name in named {
        digest.update(name.unwrap_or_default().as_bytes());
        digest.update([0]);
    }
    for required in plan {
        digest.update(required.label().as_bytes());
        digest.update(required.count.to_be_bytes());
    }
    digest
        .finalize()
        .iter()
        .take(5)
        .filter_map(|byte| LETTERS.get(usize::from(byte & 31)))
        .map(|letter| char::from(*letter))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn another_report_or_item_has_another_code() {
        let one = code(&[Some("R-1"), Some("0017")], &[]);
        assert_eq!(one.len(), 5);
        assert_eq!(one, code(&[Some("R-1"), Some("0017")], &[]));
        assert_ne!(one, code(&[Some("R-10"), Some("017")], &[]));
        assert_ne!(one, code(&[None, Some("0017")], &[]));
    }
}
