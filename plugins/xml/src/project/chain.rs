//! How volts at the oscilloscope became amperes: the measuring chain of each verification, and what it comes to.

use crate::sheet::{Sheet, Tag};
use crate::sink::Sink;
use record::{Chain, Passes};

/// Digits of a scale that was worked out: the schema promises no more, and every processor takes them.
pub(super) const DIGITS: u32 = 15;

pub(super) fn chains<S: Sink>(sheet: &mut Sheet<'_, S>) {
    let record = sheet.record;
    for (index, verification) in record.verifications.iter().enumerate() {
        let Some(chain) = Chain::of(&record.facts, verification, index) else { continue };
        let tag = Tag::new("measuring-chain")
            .is("verification", &verification.id)
            .decimal("a-per-v", chain.a_per_v.map(|scale| scale.rounded(DIGITS)));
        sheet.element(tag, |sheet| {
            for stage in &chain.stages {
                let does = |key: &str| stage.passes.filter(|passes| passes.key() == key).map(Passes::number);
                let tag = Tag::new("chain-element")
                    .maybe("equipment", stage.element.equipment.as_ref())
                    .decimal("transfer-v-per-a", does("transfer_v_per_a"))
                    .decimal("attenuation-db", does("attenuation_db"))
                    .decimal("attenuation-ratio", does("attenuation_ratio"));
                sheet.element(tag, |sheet| {
                    sheet.words("remark", stage.element.remark.as_ref());
                    if let Some(origin) = stage.passes.and_then(|_| record.origins.get(&stage.path)) {
                        sheet.origin(origin);
                    }
                });
            }
        });
    }
}
