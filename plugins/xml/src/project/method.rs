//! What was agreed to be done: method, demands, plan, required series.

use crate::sheet::{Sheet, Tag};
use crate::sink::Sink;
use assess::Assessment;
use record::{Facts, Kilovolts, Seconds};

pub(super) fn method<S: Sink>(sheet: &mut Sheet<'_, S>, facts: &Facts, assessment: &Assessment) {
    let method = &facts.method;
    sheet.element(Tag::new("method").maybe("standard", method.standard.as_ref()), |sheet| {
        if let Some(used) = &assessment.standard {
            sheet.empty(
                Tag::new("standard-data")
                    .is("id", &used.id)
                    .is("name", &used.name)
                    .is("version", used.version),
            );
        }
        sheet.words("product-standard", method.product_standard.as_ref());
        sheet.words("procedure", method.procedure.as_ref());
        for deviation in &method.deviations {
            let tag = Tag::new("deviation").maybe("clause", deviation.clause.as_ref());
            sheet.element(tag, |sheet| {
                sheet.leaf(Tag::new("what"), &deviation.what);
                sheet.words("reason", deviation.reason.as_ref());
            });
        }
    });
    for demand in &facts.demands {
        let tag = Tag::new("demand")
            .maybe("function", demand.function.as_ref())
            .maybe("mode", demand.mode.as_ref())
            .maybe("application", demand.application)
            .decimal("from-kv", demand.from_kv.map(Kilovolts::as_kv))
            .decimal("to-kv", demand.to_kv.map(Kilovolts::as_kv));
        sheet.element(tag, |sheet| {
            for accepted in &demand.accepted {
                sheet.leaf(Tag::new("accepted"), accepted);
            }
            sheet.words("basis", demand.basis.as_ref());
        });
    }
    plan(sheet, facts, assessment);
}

fn plan<S: Sink>(sheet: &mut Sheet<'_, S>, facts: &Facts, assessment: &Assessment) {
    let plan = &facts.plan;
    let tag = Tag::new("plan")
        .maybe("level", plan.level.as_ref())
        .maybe("polarity", plan.polarity)
        .maybe("discharges", plan.discharges)
        .decimal("interval-s", plan.interval_s.map(Seconds::as_s))
        .maybe("chosen-by", plan.chosen_by.as_ref())
        .maybe("judged-state", plan.judged_state.as_ref());
    sheet.element(tag, |sheet| {
        sheet.words("polarity-basis", plan.polarity_basis.as_ref());
        let own = [("contact", &plan.contact_kv), ("air", &plan.air_kv), ("indirect", &plan.indirect_kv)];
        for (target, voltages) in own {
            for voltage in voltages {
                let tag = Tag::new("voltage").is("target", target).decimal("kv", Some(voltage.as_kv()));
                sheet.empty(tag);
            }
        }
        for mode in &plan.modes {
            sheet.empty(Tag::new("in-mode").is("id", mode));
        }
        for (number, required) in (1usize..).zip(&assessment.plan) {
            let tag = Tag::new("required")
                .is("number", number)
                .is("point", &required.point)
                .is("application", required.application)
                .is("polarity", required.polarity)
                .decimal("voltage-kv", Some(required.voltage_kv.as_kv()))
                .maybe("mode", required.mode.as_ref())
                .is("count", required.count)
                .decimal("interval-s", Some(required.interval_s.as_s()));
            sheet.empty(tag);
        }
        for problem in &assessment.plan_problems {
            super::verdict::reason(sheet, "problem", problem);
        }
    });
}
