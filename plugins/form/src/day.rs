//! From the journal to what it says: the same fold as the page's, entry after entry.

use crate::entry::{Entry, Kind};
use crate::file::Planned;
use record::Rows;
use serde_json::{Map, Value};
use std::collections::{BTreeMap, BTreeSet};

/// An entry with the row of the file at which it stands.
#[derive(Clone, Debug)]
pub(crate) struct Placed {
    pub(crate) row: u64,
    pub(crate) entry: Entry,
}

/// What was stated about one thing.
#[derive(Debug, Default)]
pub(crate) struct Said<'a> {
    /// The values that hold.
    pub(crate) values: Map<String, Value>,
    /// Every statement, in order.
    pub(crate) statements: Vec<&'a Placed>,
}

/// Reasons of a correction that say that the reading itself was made before.
const SLIPS: &[&str] = &["wrong touch", "read or typed wrongly"];

impl Said<'_> {
    /// When the reading that holds was made: a slip that was put right keeps the time.
    pub(crate) fn at(&self) -> &str {
        let mut at = "";
        for statement in &self.statements {
            let slip = statement.entry.why.as_deref().is_some_and(|why| SLIPS.contains(&why));
            if at.is_empty() || !slip {
                at = &statement.entry.at;
            }
        }
        at
    }

    /// Who made the last statement.
    pub(crate) fn by(&self) -> Option<&str> {
        self.statements.last().and_then(|statement| statement.entry.by.as_deref())
    }

    /// The row of the last statement.
    pub(crate) fn row(&self) -> u64 {
        self.statements.last().map_or(0, |statement| statement.row)
    }
}

/// A planned series in one state of the item.
#[derive(Debug, Default)]
pub(crate) struct Work<'a> {
    pub(crate) shots: Vec<&'a Placed>,
    pub(crate) done: Option<&'a Placed>,
    pub(crate) skip: Option<&'a Placed>,
}

impl Work<'_> {
    /// The rows of the file that the series stands in, first to last.
    pub(crate) fn rows(&self) -> Option<Rows> {
        let rows = self.shots.iter().chain(&self.done).map(|placed| placed.row);
        let (first, last) = (rows.clone().min()?, rows.max()?);
        Some(Rows { first, last })
    }
}

/// Something that happened.
#[derive(Debug)]
pub(crate) struct Event<'a> {
    pub(crate) touched: &'a Placed,
    pub(crate) state: Option<String>,
    pub(crate) series: Option<String>,
    pub(crate) told: Map<String, Value>,
    pub(crate) last_row: u64,
}

/// A series by the state of the item and its id in the plan.
pub(crate) type SeriesKey = (Option<String>, String);

/// What a journal says.
#[derive(Debug, Default)]
pub(crate) struct Day<'a> {
    /// What was stated, by what it is about.
    pub(crate) said: BTreeMap<&'a str, Said<'a>>,
    /// Series in the order in which they were first touched.
    pub(crate) series: Vec<(SeriesKey, Work<'a>)>,
    pub(crate) events: Vec<Event<'a>>,
    /// Series that were added to the plan.
    pub(crate) outside: Vec<&'a Placed>,
    /// States that the item was put into.
    pub(crate) states: Vec<&'a Placed>,
    pub(crate) photos: Vec<&'a Placed>,
    pub(crate) notes: Vec<&'a Placed>,
    pub(crate) signed: Option<&'a Placed>,
    /// Entries that were taken back, each with the entry that did so.
    pub(crate) taken_back: Vec<(&'a Placed, &'a Placed)>,
    /// Choices of a series out of its turn.
    pub(crate) chosen: Vec<&'a Placed>,
}

/// Folds a journal.
pub(crate) fn fold<'a>(journal: &'a [Placed], first_state: Option<&str>) -> Day<'a> {
    let by_number: BTreeMap<u64, &Placed> = journal.iter().map(|placed| (placed.entry.n, placed)).collect();
    let mut day = Day::default();
    let mut undone: BTreeSet<u64> = BTreeSet::new();
    for placed in journal.iter().filter(|placed| placed.entry.kind == Kind::Undo) {
        if let Some(of) = placed.entry.of.and_then(|of| by_number.get(&of)) {
            undone.insert(of.entry.n);
            day.taken_back.push((of, placed));
        }
    }
    let mut state = first_state.map(str::to_owned);
    for placed in journal.iter().filter(|placed| !undone.contains(&placed.entry.n)) {
        let entry = &placed.entry;
        match entry.kind {
            Kind::Said => {
                let Some(about) = entry.about.as_deref() else { continue };
                let said = day.said.entry(about).or_default();
                said.values.extend(entry.values.clone().unwrap_or_default());
                said.statements.push(placed);
            }
            Kind::Shot | Kind::Done | Kind::Skip | Kind::Next => {
                let Some(id) = entry.series.clone() else { continue };
                let work = day.work((state.clone(), id));
                match entry.kind {
                    Kind::Shot => work.shots.push(placed),
                    Kind::Done => work.done = Some(placed),
                    Kind::Skip => work.skip = Some(placed),
                    _ => {
                        work.skip = None;
                        day.chosen.push(placed);
                    }
                }
            }
            Kind::Happened => {
                if let Some(id) = entry.series.clone() {
                    let _ = day.work((state.clone(), id));
                }
                day.events.push(Event {
                    touched: placed,
                    state: state.clone(),
                    series: entry.series.clone(),
                    told: Map::new(),
                    last_row: placed.row,
                });
            }
            Kind::Told => {
                let event = day.events.iter_mut().find(|event| event.touched.entry.event == entry.event);
                let Some(event) = event else { continue };
                let mut values = entry.values.clone().unwrap_or_default();
                if let Some(series) = values.remove("series") {
                    event.series = series.as_str().map(str::to_owned);
                    if let Some(id) = event.series.clone() {
                        let key = (event.state.clone(), id);
                        let _ = day.work(key);
                    }
                    continue_told(&mut day, entry, values, placed.row);
                } else {
                    event.told.extend(values);
                    event.last_row = placed.row;
                }
            }
            Kind::Outside => day.outside.push(placed),
            Kind::State => {
                state = entry.state.clone();
                day.states.push(placed);
            }
            Kind::Photo => day.photos.push(placed),
            Kind::Note => day.notes.push(placed),
            Kind::Signed => day.signed = Some(placed),
            Kind::Opened | Kind::Left | Kind::Clock | Kind::Undo | Kind::Saved => {}
        }
    }
    day
}

/// The rest of a statement that also moved its event to another series.
fn continue_told(day: &mut Day<'_>, entry: &Entry, values: Map<String, Value>, row: u64) {
    if let Some(event) = day.events.iter_mut().find(|event| event.touched.entry.event == entry.event) {
        event.told.extend(values);
        event.last_row = row;
    }
}

impl<'a> Day<'a> {
    /// A plan with the series that were added to it.
    pub(crate) fn whole_plan(&self, plan: &[Planned]) -> Vec<Planned> {
        let added = self.outside.iter().filter_map(|placed| {
            let entry = &placed.entry;
            let planned = entry.planned.as_ref()?;
            Some(Planned {
                id: entry.series.clone()?,
                point: planned.point.clone(),
                application: planned.application.clone(),
                polarity: planned.polarity.clone(),
                voltage_kv: planned.voltage_kv.clone(),
                mode: planned.mode.clone(),
                count: planned.count,
                interval_s: planned.interval_s.clone(),
                tip: planned.tip.clone(),
            })
        });
        plan.iter().cloned().chain(added).collect()
    }

    fn work(&mut self, key: SeriesKey) -> &mut Work<'a> {
        let at = match self.series.iter().position(|(known, _)| *known == key) {
            Some(at) => at,
            None => {
                self.series.push((key, Work::default()));
                self.series.len() - 1
            }
        };
        &mut self.series[at].1
    }
}
