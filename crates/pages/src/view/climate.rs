//! Climate readings, and their course over the test.

use super::facts::{list, moment};
use super::{Subject, text};
use crate::Words;
use crate::model::{Picture, Pictures};
use crate::plot::{COLUMN, Climate, climate};
use record::{Application, ClimateReading, Decimal};
use serde_json::{Map, Value, json};

pub(super) fn add(
    subject: &Subject<'_>,
    words: &Words,
    root: &mut Map<String, Value>,
    pictures: &mut Pictures,
) {
    let readings = &subject.record.facts.climate;
    let drawn = draw(subject, words, readings, pictures);
    root.insert(
        "climate".into(),
        json!({
            "readings": list(readings, |r| {
                json!({
                    "at": moment(r.at.as_ref()),
                    "temperature_c": text(r.temperature_c.map(|v| v.as_celsius())),
                    "humidity_percent": text(r.humidity_percent.map(|v| v.as_percent())),
                    "pressure_hpa": text(r.pressure_hpa.map(|v| v.as_hpa())),
                    "instrument": r.instrument,
                })
            }),
            "picture": if drawn { json!("climate") } else { Value::Null },
            "limits": limits(subject, words),
        }),
    );
}

/// Limits by kind of discharge, as the standard's data have them.
fn limits(subject: &Subject<'_>, words: &Words) -> Value {
    let Some(standard) = subject.standard else { return json!([]) };
    let span = |least: Decimal, most: Decimal, status: assess::standard::Status| json!({"least": least.to_string(), "most": most.to_string(), "status": status.as_str(), "sound": status.is_sound()});
    let named = |of: Application| {
        let said = words.get(&format!("discharge.{of}")).or_else(|| words.get(&format!("application.{of}")));
        json!(said.unwrap_or(of.as_str()))
    };
    list(&standard.climate, |c| {
        json!({
            "discharges": list(&c.applies_to.value, |of| named(*of)),
            "temperature": c.temperature_c.as_ref().map(|g| span(g.value.least.as_celsius(), g.value.most.as_celsius(), g.status)),
            "humidity": c.humidity_percent.as_ref().map(|g| span(g.value.least.as_percent(), g.value.most.as_percent(), g.status)),
            "pressure": c.pressure_hpa.as_ref().map(|g| span(g.value.least.as_hpa(), g.value.most.as_hpa(), g.status)),
        })
    })
}

fn draw(subject: &Subject<'_>, words: &Words, readings: &[ClimateReading], pictures: &mut Pictures) -> bool {
    let mut timed: Vec<_> = readings.iter().filter_map(|r| Some((r.at.as_ref()?.local(), r))).collect();
    timed.sort_by_key(|(at, _)| *at);
    let (Some((first, _)), Some((last, _))) = (timed.first(), timed.last()) else { return false };
    let whole = last.duration_since(*first).as_secs_f64();
    if whole <= 0.0 {
        return false;
    }
    let float = |d: Decimal| d.to_string().parse::<f64>().unwrap_or(f64::NAN);
    // The limits that bind some kind of discharge of the plan.
    let planned = |c: &&assess::standard::ClimateLimit| {
        subject.assessment.plan.iter().any(|r| c.applies_to.value.contains(&r.application))
    };
    let bound = subject.standard.and_then(|s| s.climate.iter().find(planned));
    let course = |get: &dyn Fn(&ClimateReading) -> Option<Decimal>| -> Vec<(f64, f64)> {
        timed
            .iter()
            .filter_map(|(at, r)| Some((at.duration_since(*first).as_secs_f64() / whole, float(get(r)?))))
            .collect()
    };
    let temperature = course(&|r| r.temperature_c.map(|v| v.as_celsius()));
    let humidity = course(&|r| r.humidity_percent.map(|v| v.as_percent()));
    let pressure = course(&|r| r.pressure_hpa.map(|v| v.as_hpa()));
    let span = |s: Option<(Decimal, Decimal)>| (s.map(|s| float(s.0)), s.map(|s| float(s.1)));
    let t = bound
        .and_then(|b| b.temperature_c.as_ref())
        .map(|g| (g.value.least.as_celsius(), g.value.most.as_celsius()));
    let h = bound
        .and_then(|b| b.humidity_percent.as_ref())
        .map(|g| (g.value.least.as_percent(), g.value.most.as_percent()));
    let p =
        bound.and_then(|b| b.pressure_hpa.as_ref()).map(|g| (g.value.least.as_hpa(), g.value.most.as_hpa()));
    let quantities: Vec<Climate<'_>> = [
        ("plot.temperature", &temperature, t),
        ("plot.humidity", &humidity, h),
        ("plot.pressure", &pressure, p),
    ]
    .into_iter()
    .filter(|(_, readings, _)| !readings.is_empty())
    .map(|(key, readings, limits)| Climate { name: words.or_key(key), readings, limits: span(limits) })
    .collect();
    if quantities.is_empty() {
        return false;
    }
    let same_day = first.date() == last.date();
    let end = |at: &jiff::civil::DateTime| {
        let clock = format!("{:02}:{:02}", at.hour(), at.minute());
        if same_day {
            clock
        } else {
            words.numbers().moment(&format!("{}T{clock}", at.date())).unwrap_or(clock)
        }
    };
    let drawing =
        climate(&quantities, (&end(first), &end(last)), words.or_key("plot.limit"), words.numbers(), COLUMN);
    pictures.insert("climate".into(), Picture::Drawing(drawing));
    true
}
