//! The series of discharges that were applied.

use crate::sheet::{Sheet, Tag};
use crate::sink::Sink;
use record::Seconds;

pub(super) fn series<S: Sink>(sheet: &mut Sheet<'_, S>) {
    for series in &sheet.record.series {
        let tag = Tag::new("series")
            .is("id", &series.id)
            .is("point", &series.point)
            .is("application", series.application)
            .is("polarity", series.polarity)
            .decimal("voltage-kv", Some(series.voltage_kv.as_kv()))
            .is("count", series.count)
            .maybe("sparks", series.sparks)
            .decimal("interval-s", series.interval_s.map(Seconds::as_s))
            .maybe("single", series.single)
            .maybe("state", series.state.as_ref())
            .maybe("mode", series.mode.as_ref())
            .is("run", series.kind)
            .maybe("tip", series.tip)
            .time("started", series.started.as_ref())
            .time("ended", series.ended.as_ref())
            .maybe("tested-by", series.tested_by.as_ref())
            .maybe("external-reference", series.external_reference.as_ref());
        sheet.element(tag, |sheet| {
            sheet.stated("monitoring", &series.monitoring);
            sheet.words("remark", series.remark.as_ref());
            sheet.origin(&series.origin);
        });
    }
}
