//! Threshold searches: runs of their own kind, which say nothing about conformity.

use super::{Subject, text};
use crate::Words;
use crate::model::{Picture, Pictures};
use crate::plot::{COLUMN, Step, ThresholdSearch, threshold};
use record::{Application, Class, PointId, Polarity, RunKind, Series, StateId, Stated};
use serde_json::{Map, Value, json};

/// What makes series one search.
type Search<'a> = (&'a PointId, Application, Polarity, Option<&'a StateId>);

pub(super) fn add(
    subject: &Subject<'_>,
    words: &Words,
    root: &mut Map<String, Value>,
    pictures: &mut Pictures,
) {
    let mut searches: Vec<(Search<'_>, Vec<&Series>)> = Vec::new();
    for series in subject.record.series.iter().filter(|s| s.kind == RunKind::Threshold) {
        let key = (&series.point, series.application, series.polarity, series.state.as_ref());
        match searches.iter_mut().find(|s| s.0 == key) {
            Some(search) => search.1.push(series),
            None => searches.push((key, vec![series])),
        }
    }
    let mut all = Vec::new();
    for (index, ((point, application, polarity, state), series)) in searches.into_iter().enumerate() {
        let steps: Vec<Step> = series
            .iter()
            .map(|s| Step {
                kv: s.voltage_kv.as_kv().to_string().parse().unwrap_or(f64::NAN),
                seen: seen(subject, s),
            })
            .collect();
        let first = series.iter().zip(&steps).find(|(_, step)| step.seen == Some(true)).map(|(s, _)| s);
        let name = format!("threshold-{}", index + 1);
        let drawing = threshold(
            &ThresholdSearch {
                steps: &steps,
                voltage: words.or_key("plot.voltage"),
                order: words.or_key("plot.step"),
                words: ["plot.seen", "plot.nothing_seen", "plot.not_watched"].map(|key| words.or_key(key)),
                numbers: words.numbers(),
            },
            COLUMN,
        );
        pictures.insert(name.clone(), Picture::Drawing(drawing));
        all.push(json!({
            "picture": name,
            "point": point.as_str(),
            "description": super::verdict::point_words(subject.record, point.as_str()),
            "application": application.as_str(),
            "sign": polarity.sign().to_string(),
            "state": text(state),
            "steps": steps.len().to_string(),
            "first_kv": text(first.map(|s| s.voltage_kv.as_kv())),
        }));
    }
    root.insert("thresholds".into(), Value::Array(all));
}

/// Whether anything but class a was seen in a series; unknown where nothing is noted and nobody says that the
/// item was watched all the time.
fn seen(subject: &Subject<'_>, series: &Series) -> Option<bool> {
    let of = subject.record.observations.iter().filter(|o| o.series.as_ref() == Some(&series.id));
    let class = |id: &record::ObservationId| {
        subject.assessment.observations.iter().find(|j| j.observation == *id).and_then(|j| j.class)
    };
    let watched = matches!(series.monitoring, Stated::Stated(record::Monitoring::Continuous));
    let mut any = false;
    for observation in of {
        any = true;
        if class(&observation.id) != Some(Class::A) {
            return Some(true);
        }
    }
    (any || watched).then_some(false)
}
