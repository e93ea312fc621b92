//! The rows of the table: required series and uncounted ones per state, then what belongs to no series.

use crate::columns::{Cell, Row};
use assess::{Assessment, Coverage, Required, StateVerdict, Uncounted, binding};
use record::{
    Application, Class, Decimal, Kilovolts, ModeId, Observation, Origin, Polarity, Record, Series, SeriesId,
    StateId,
};
use std::collections::{BTreeMap, BTreeSet};

/// Stands between the parts of a cell that holds several.
const AND: &str = "; ";

pub(crate) struct Rows<'a> {
    record: &'a Record,
    assessment: &'a Assessment,
    series: BTreeMap<&'a SeriesId, &'a Series>,
}

impl<'a> Rows<'a> {
    pub(crate) fn new(record: &'a Record, assessment: &'a Assessment) -> Self {
        let series = record.series.iter().map(|series| (&series.id, series)).collect();
        Self { record, assessment, series }
    }

    /// Every row, state after state, the judged one first.
    pub(crate) fn all(&self) -> Vec<Row> {
        let mut rows = Vec::new();
        for (index, state) in self.assessment.states.iter().enumerate() {
            rows.extend(state.coverage.iter().map(|coverage| self.required(state, index == 0, coverage)));
            rows.extend(state.uncounted.iter().map(|uncounted| self.uncounted(state, index == 0, uncounted)));
            rows.extend(self.loose(state.state.as_ref()).map(|o| self.observation(state, index == 0, o)));
        }
        rows.extend(self.record.unread.iter().map(|unread| Row {
            row: Cell::plain(Some("unread")),
            not_counted_because: Cell::text(Some(&unread.why)),
            observations: Cell::text(Some(&unread.text)),
            origin: Cell::text(Some(self.place(&Origin::rows(unread.source, unread.row, unread.row)))),
            ..self.blank()
        }));
        rows
    }

    /// A row that knows the job and nothing else.
    fn blank(&self) -> Row {
        let facts = &self.record.facts;
        Row {
            report: Cell::text(facts.report.number.as_ref()),
            item: Cell::text(facts.item.name.as_ref()),
            item_type: Cell::text(facts.item.type_designation.as_ref()),
            serial: Cell::text(facts.item.serial.as_ref()),
            state: Cell::Empty,
            judged: Cell::Empty,
            row: Cell::Empty,
            point: Cell::Empty,
            application: Cell::Empty,
            polarity: Cell::Empty,
            voltage_kv: Cell::Empty,
            magnitude_kv: Cell::Empty,
            mode: Cell::Empty,
            required: Cell::Empty,
            applied: Cell::Empty,
            counted: Cell::Empty,
            sparks: Cell::Empty,
            coverage: Cell::Empty,
            worst_class: Cell::Empty,
            demand: Cell::Empty,
            verdict: Cell::Empty,
            not_counted_because: Cell::Empty,
            observations: Cell::Empty,
            origin: Cell::Empty,
            external_reference: Cell::Empty,
            series: Cell::Empty,
            state_verdict: Cell::Empty,
            invented: Cell::text(facts.invented.as_ref()),
        }
    }

    fn of_state(&self, state: &StateVerdict, judged: bool) -> Row {
        Row {
            state: Cell::text(state.state.as_ref()),
            judged: Cell::plain(Some(if judged { "yes" } else { "no" })),
            state_verdict: Cell::plain(Some(state.verdict)),
            ..self.blank()
        }
    }

    fn required(&self, state: &StateVerdict, judged: bool, coverage: &Coverage) -> Row {
        let series: Vec<&Series> =
            coverage.series.iter().filter_map(|id| self.series.get(id)).copied().collect();
        let observed: Vec<&Observation> =
            self.record.observations.iter().filter(|o| coverage.observations.contains(&o.id)).collect();
        let row = Row {
            row: Cell::plain(Some("required")),
            applied: Cell::plain(Some(series.iter().map(|s| u64::from(s.count)).sum::<u64>())),
            counted: Cell::plain(Some(coverage.counted)),
            sparks: Cell::plain(coverage.sparks),
            coverage: Cell::plain(Some(coverage.state)),
            worst_class: Cell::plain(coverage.worst),
            verdict: Cell::plain(Some(coverage.verdict)),
            ..self.of_series(self.of_state(state, judged), &series, &observed)
        };
        let Some(required) = self.assessment.plan.get(coverage.required) else { return row };
        let Required { point, application, polarity, voltage_kv, mode, count, shared: _, interval_s: _ } =
            required;
        Row {
            point: Cell::text(Some(point)),
            required: Cell::plain(Some(count)),
            demand: Cell::text(self.demand(mode.as_ref(), *application, *voltage_kv)),
            mode: Cell::text(mode.as_ref()),
            ..discharge(row, *application, *polarity, *voltage_kv)
        }
    }

    fn uncounted(&self, state: &StateVerdict, judged: bool, uncounted: &Uncounted) -> Row {
        let row = Row {
            row: Cell::plain(Some("not-counted")),
            counted: Cell::plain(Some(0)),
            not_counted_because: Cell::text(Some(&uncounted.why)),
            ..self.of_state(state, judged)
        };
        let Some(series) = self.series.get(&uncounted.series).copied() else {
            return Row { series: Cell::text(Some(&uncounted.series)), ..row };
        };
        let observed: Vec<&Observation> =
            self.record.observations.iter().filter(|o| o.series.as_ref() == Some(&series.id)).collect();
        let row = Row {
            point: Cell::text(Some(&series.point)),
            mode: Cell::text(series.mode.as_ref()),
            applied: Cell::plain(Some(series.count)),
            sparks: Cell::plain(series.sparks),
            worst_class: Cell::plain(observed.iter().filter_map(|o| self.class(o)).max()),
            ..self.of_series(row, &[series], &observed)
        };
        discharge(row, series.application, series.polarity, series.voltage_kv)
    }

    fn observation(&self, state: &StateVerdict, judged: bool, observation: &Observation) -> Row {
        let outcome = self.assessment.observations.iter().find(|j| j.observation == observation.id);
        Row {
            row: Cell::plain(Some("observation")),
            worst_class: Cell::plain(self.class(observation)),
            verdict: Cell::plain(outcome.and_then(|j| j.verdict)),
            observations: Cell::text(Some(self.words(&[observation]))),
            origin: Cell::text(Some(self.place(&observation.origin))),
            ..self.of_state(state, judged)
        }
    }

    /// Observations judged in a state that belong to none of the record's series.
    fn loose(&self, state: Option<&StateId>) -> impl Iterator<Item = &'a Observation> {
        let judged: BTreeSet<_> = self
            .assessment
            .observations
            .iter()
            .filter(|j| j.state.as_ref() == state)
            .map(|j| &j.observation)
            .collect();
        let of_series = |o: &Observation| o.series.as_ref().is_some_and(|id| self.series.contains_key(id));
        let found: Vec<&Observation> =
            self.record.observations.iter().filter(|o| judged.contains(&o.id) && !of_series(o)).collect();
        found.into_iter()
    }

    fn of_series(&self, row: Row, series: &[&Series], observed: &[&Observation]) -> Row {
        let several = |parts: Vec<String>| (!parts.is_empty()).then(|| parts.join(AND));
        let mut references: Vec<String> = Vec::new();
        for one in series {
            let of_job = self
                .record
                .facts
                .references
                .iter()
                .filter(|r| r.belongs_to.as_deref() == Some(one.id.as_str()))
                .map(|r| &r.value);
            for reference in one.external_reference.iter().chain(of_job) {
                if !references.contains(reference) {
                    references.push(reference.clone());
                }
            }
        }
        Row {
            observations: Cell::text((!observed.is_empty()).then(|| self.words(observed))),
            origin: Cell::text(several(series.iter().map(|s| self.place(&s.origin)).collect())),
            external_reference: Cell::text(several(references)),
            series: Cell::text(several(series.iter().map(|s| s.id.to_string()).collect())),
            ..row
        }
    }

    fn class(&self, observation: &Observation) -> Option<Class> {
        self.assessment.observations.iter().find(|j| j.observation == observation.id)?.class
    }

    /// What was seen, each with its class.
    fn words(&self, observed: &[&Observation]) -> String {
        let one = |observation: &&Observation| {
            let seen = observation.seen.as_deref().unwrap_or("not described");
            match self.class(observation) {
                Some(class) => format!("class {class}: {seen}"),
                None => format!("class not determinable: {seen}"),
            }
        };
        observed.iter().map(one).collect::<Vec<_>>().join(AND)
    }

    /// The outcomes accepted at a discharge, per function.
    fn demand(&self, mode: Option<&ModeId>, application: Application, kv: Kilovolts) -> Option<String> {
        let facts = &self.record.facts;
        if facts.demands.is_empty() {
            return None;
        }
        let accepted = |function| {
            let mut words: Vec<&str> = Vec::new();
            for demand in binding(facts, function, mode, application, kv) {
                for word in &demand.accepted {
                    if !words.contains(&word.as_str()) {
                        words.push(word);
                    }
                }
            }
            if words.is_empty() { "not stated".to_owned() } else { words.join(" or ") }
        };
        if facts.functions.is_empty() {
            return Some(accepted(None));
        }
        let each = facts.functions.iter().map(|f| format!("{}: {}", f.id, accepted(Some(&f.id))));
        Some(each.collect::<Vec<_>>().join(AND))
    }

    /// `file:row`, `file:first-last` or the file alone.
    fn place(&self, origin: &Origin) -> String {
        let file = self.record.place(origin).file;
        match origin.rows {
            None => file,
            Some(rows) => {
                // Behind a sheet's name stands its mark already.
                let mark = if file.ends_with('!') { "" } else { ":" };
                let last = if rows.first == rows.last { String::new() } else { format!("-{}", rows.last) };
                format!("{file}{mark}{}{last}", rows.first)
            }
        }
    }
}

fn discharge(row: Row, application: Application, polarity: Polarity, voltage: Kilovolts) -> Row {
    let magnitude = voltage.as_kv();
    let signed: Decimal = match polarity {
        Polarity::Positive => magnitude,
        // A voltage of 0 has no sign.
        Polarity::Negative if magnitude.is_zero() => magnitude,
        Polarity::Negative => -magnitude,
    };
    Row {
        application: Cell::plain(Some(application)),
        polarity: Cell::plain(Some(polarity)),
        voltage_kv: Cell::plain(Some(signed)),
        magnitude_kv: Cell::plain(Some(magnitude)),
        ..row
    }
}
