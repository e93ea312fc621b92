//! The item under test, what works with it, its modes, functions and modification states.

use crate::sheet::{Sheet, Tag};
use crate::sink::Sink;
use record::{Facts, Millimetres};

pub(super) fn item<S: Sink>(sheet: &mut Sheet<'_, S>, facts: &Facts) {
    let item = &facts.item;
    let tag = Tag::new("item")
        .maybe("type", item.type_designation.as_ref())
        .maybe("serial", item.serial.as_ref())
        .maybe("hardware-version", item.hardware_version.as_ref())
        .maybe("firmware-version", item.firmware_version.as_ref())
        .maybe("arrangement", item.arrangement)
        .decimal("length-mm", item.length_mm.map(Millimetres::as_mm))
        .decimal("width-mm", item.width_mm.map(Millimetres::as_mm))
        .decimal("height-mm", item.height_mm.map(Millimetres::as_mm));
    sheet.element(tag, |sheet| {
        sheet.words("name", item.name.as_ref());
        sheet.words("maker", item.maker.as_ref());
        sheet.words("supply", item.supply.as_ref());
        sheet.stated("earthed", &item.earthed);
        sheet.words("earthing", item.earthing.as_ref());
        sheet.words("configuration", item.configuration.as_ref());
        sheet.words("conditions-of-use", item.conditions_of_use.as_ref());
    });
    for associated in &facts.associated {
        let tag = Tag::new("associated-equipment")
            .is("name", &associated.name)
            .maybe("serial", associated.serial.as_ref());
        sheet.element(tag, |sheet| sheet.words("purpose", associated.purpose.as_ref()));
    }
    for mode in &facts.modes {
        sheet.element(Tag::new("mode").is("id", &mode.id), |sheet| {
            sheet.words("description", mode.description.as_ref());
        });
    }
    for function in &facts.functions {
        sheet.element(Tag::new("function").is("id", &function.id), |sheet| {
            sheet.words("description", function.description.as_ref());
            sheet.words("monitored-by", function.monitored_by.as_ref());
            sheet.words("allowed-loss", function.allowed_loss.as_ref());
        });
    }
    for state in &facts.states {
        let tag = Tag::new("item-state")
            .is("id", &state.id)
            .time("since", state.since.as_ref())
            .maybe("by", state.by.as_ref());
        sheet.element(tag, |sheet| {
            sheet.words("description", state.description.as_ref());
            sheet.words("reason", state.reason.as_ref());
        });
    }
}
