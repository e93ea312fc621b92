//! What stood in the room and who was there: people, equipment, generator, climate, set-up, points.

use crate::sheet::{Sheet, Tag};
use crate::sink::Sink;
use record::{Celsius, Facts, Generator, Hectopascals, Ohms, Percent, Picofarads, Stated};

pub(super) fn bench<S: Sink>(sheet: &mut Sheet<'_, S>, facts: &Facts) {
    for person in &facts.people {
        let tag = Tag::new("person")
            .is("name", &person.name)
            .is("part", person.part)
            .maybe("position", person.position.as_ref())
            .date("on", person.on)
            .maybe("key", person.key.as_ref());
        sheet.empty(tag);
    }
    for equipment in &facts.equipment {
        let tag = Tag::new("equipment")
            .is("id", &equipment.id)
            .maybe("role", equipment.role)
            .maybe("serial", equipment.serial.as_ref())
            .maybe("firmware-version", equipment.firmware_version.as_ref())
            .date("calibrated-on", equipment.calibrated_on)
            .date("calibration-due", equipment.calibration_due)
            .maybe("certificate", equipment.certificate.as_ref())
            .maybe("accredited", equipment.accredited)
            .maybe("in-tolerance", equipment.in_tolerance);
        sheet.element(tag, |sheet| {
            sheet.words("name", equipment.name.as_ref());
            sheet.words("calibrated-by", equipment.calibrated_by.as_ref());
            sheet.words("remark", equipment.remark.as_ref());
        });
    }
    if facts.generator != Generator::default() {
        let generator = &facts.generator;
        let tag = Tag::new("generator")
            .maybe("equipment", generator.equipment.as_ref())
            .decimal("network-pf", generator.network_pf.map(Picofarads::as_pf))
            .decimal("network-ohm", generator.network_ohm.map(Ohms::as_ohm))
            .maybe("contact-tip", generator.contact_tip)
            .maybe("air-tip", generator.air_tip);
        sheet.element(tag, |sheet| sheet.words("return-cable", generator.return_cable.as_ref()));
    }
    for reading in &facts.climate {
        let tag = Tag::new("climate")
            .time("at", reading.at.as_ref())
            .decimal("temperature-c", reading.temperature_c.map(Celsius::as_celsius))
            .decimal("humidity-percent", reading.humidity_percent.map(Percent::as_percent))
            .decimal("pressure-hpa", reading.pressure_hpa.map(Hectopascals::as_hpa))
            .maybe("instrument", reading.instrument.as_ref());
        sheet.empty(tag);
    }
    for check in &facts.setup_checks {
        let tag = Tag::new("setup-check")
            .is("kind", check.kind)
            .decimal("reading", check.reading)
            .decimal("least", check.least)
            .decimal("most", check.most)
            .maybe("unit", check.unit.as_ref())
            .maybe("in-order", check.in_order)
            .time("at", check.at.as_ref())
            .maybe("by", check.by.as_ref());
        sheet.element(tag, |sheet| sheet.words("what", check.what.as_ref()));
    }
    let removal = match &facts.charge_removal {
        Stated::Stated(removal) => Stated::Stated(&removal.method),
        Stated::NotStated => Stated::NotStated,
        Stated::NotApplicable { reason } => Stated::NotApplicable { reason: reason.clone() },
    };
    sheet.stated("charge-removal", &removal);
    for point in &facts.points {
        let applications: Vec<&str> = point.applications.iter().map(|a| a.as_str()).collect();
        let tag = Tag::new("point")
            .is("id", &point.id)
            .maybe("applications", (!applications.is_empty()).then(|| applications.join(" ")));
        sheet.element(tag, |sheet| {
            sheet.words("description", point.description.as_ref());
            sheet.words("reason", point.reason.as_ref());
            sheet.words("excluded", point.excluded.as_ref());
            if point.picture.is_some() || point.mark.is_some() {
                let tag = Tag::new("mark")
                    .maybe("picture", point.picture.as_ref())
                    .decimal("x", point.mark.map(|m| m.x))
                    .decimal("y", point.mark.map(|m| m.y));
                sheet.empty(tag);
            }
        });
    }
}
