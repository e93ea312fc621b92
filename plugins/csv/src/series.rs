//! From rows to series: equal rows that follow one another are discharges of one series.

use crate::outcome::{Effect, Outcome};
use crate::records::Record;
use crate::roles::{Columns, Role};
use crate::row::{Count, Row};
use crate::words::Poles;
use plugin_api::{Batches, SeriesDefaults};
use record::{
    FunctionId, ModeId, Monitoring, Observation, ObservationId, Origin, PointId, Polarity, Rows, RunKind,
    Series, SeriesId, Shot, SourceId, StateId, Stated,
};

/// So much text from other columns a series keeps; the rest stays in the original file, and the text says so.
const MOST_NOTES: usize = 4000;

/// So many rows with odd numbers are named.
const MOST_ODD: usize = 5;

/// So many series are handed over together. A list of all that grows would be copied again and again.
const BATCH: usize = 256;

/// So many names of points are looked through for one that is known.
const MOST_POINTS: usize = 16;

/// Builds series from rows.
pub(crate) struct Grouping<'a> {
    stem: &'a str,
    source: SourceId,
    defaults: &'a SeriesDefaults,
    columns: &'a Columns,
    /// What goes with the last series, as long as it may go on.
    open: Option<Open>,
    /// Room for writing a name.
    id: String,
    /// Points that were named before.
    points: Vec<PointId>,
    /// Finished series.
    finished: Batches<Series>,
    /// Series behind them; the last may still go on.
    series: Vec<Series>,
    /// Observations.
    pub(crate) observations: Vec<Observation>,
    /// Rows whose shot number does not follow the one before: row, number, number before.
    pub(crate) odd_numbers: Vec<(u64, u32, u32)>,
    /// How many such rows there are in all.
    pub(crate) odd_count: u64,
    /// A series was taken as watched since each of its rows says what came of it.
    pub(crate) watched_by_outcome: bool,
    /// What the first row did to a series that was open before it.
    began: Option<Began>,
}

/// What the first row of a part of a log does to a series that is open before it.
enum Began {
    /// It ends it, whatever it is.
    Closed,
    /// It goes on if it is like this one.
    Opened { like: Box<Series>, shot_number: Option<u32>, alone: bool },
}

/// What is remembered of a series as long as it may go on.
struct Open {
    /// Each row so far has a cell about the item.
    watched: bool,
    shot_number: Option<u32>,
    notes: Notes,
}

/// Remarks and kept columns of a series, a note a column.
#[derive(Default)]
struct Notes {
    notes: Vec<Note>,
    length: usize,
    cut: bool,
}

/// What one column said, each change once.
#[derive(Default)]
struct Note {
    column: usize,
    demanded: bool,
    text: String,
    /// Where the last cell starts in the text.
    last: usize,
}

impl Notes {
    /// Adds a cell; each column has a slot of its own, always the same.
    fn add(&mut self, slot: usize, column: usize, cell: &str, demanded: bool) {
        if cell.is_empty() {
            return;
        }
        if self.notes.len() <= slot {
            self.notes.resize_with(slot + 1, Note::default);
        }
        let Some(note) = self.notes.get_mut(slot) else { return };
        if note.text.get(note.last..) == Some(cell) {
            return;
        }
        if self.length + cell.len() > MOST_NOTES {
            self.cut = true;
            return;
        }
        (note.column, note.demanded) = (column, demanded);
        if !note.text.is_empty() {
            note.text.push_str(", ");
        }
        note.last = note.text.len();
        note.text.push_str(cell);
        self.length += cell.len();
    }

    fn finish(self, columns: &Columns) -> Option<String> {
        let mut out = String::new();
        for note in self.notes.iter().filter(|note| !note.text.is_empty()) {
            if !out.is_empty() {
                out.push_str("; ");
            }
            // The first remark column needs no name.
            if columns.remarks.first() != Some(&note.column) {
                out.push_str(&columns.label(note.column));
                out.push_str(if note.demanded { " (demanded): " } else { ": " });
            }
            out.push_str(&note.text);
        }
        if self.cut {
            out.push_str(if out.is_empty() { "see the original log" } else { "; more in the original log" });
        }
        (!out.is_empty()).then_some(out)
    }
}

impl<'a> Grouping<'a> {
    /// A grouping for one source.
    pub(crate) fn new(
        stem: &'a str,
        source: SourceId,
        defaults: &'a SeriesDefaults,
        columns: &'a Columns,
    ) -> Self {
        Self {
            stem,
            source,
            defaults,
            columns,
            open: None,
            id: String::new(),
            points: Vec::new(),
            finished: Batches::default(),
            series: Vec::new(),
            observations: Vec::new(),
            odd_numbers: Vec::new(),
            odd_count: 0,
            watched_by_outcome: false,
            began: None,
        }
    }

    /// Takes a row.
    pub(crate) fn push(&mut self, row: Row<'_>, record: &Record<'_>) {
        let last = record.row + record.lines - 1;
        match row.poles {
            Poles::Both => {
                self.close();
                for (polarity, sign) in [(Polarity::Positive, "+"), (Polarity::Negative, "-")] {
                    self.open(&row, polarity, record, last, sign);
                    self.close();
                }
                // What was seen belongs to one of the two runs, and the row does not say to which.
                if let Outcome::Seen(effect) = row.outcome {
                    self.observe(*effect, None, None, record);
                }
            }
            Poles::One(polarity) => {
                if self.goes_on(&row, polarity) {
                    self.extend(&row, record, last);
                } else {
                    self.end_open();
                    self.open(&row, polarity, record, last, "");
                    if self.began.is_none() {
                        self.begin(&row);
                    }
                }
                let single_row = matches!(row.count, Count::Set(n) if n > 1);
                if let Outcome::Seen(effect) = row.outcome {
                    let current = self.series.last();
                    let series = current.map(|series| series.id.clone());
                    let shot = current.filter(|_| !single_row).map(|series| series.count);
                    self.observe(*effect, series, shot, record);
                }
                if single_row {
                    self.close();
                }
            }
        }
    }

    /// Keeps an observation from a row in which no discharge was applied.
    pub(crate) fn observe_without_discharge(&mut self, effect: Effect, record: &Record<'_>) {
        self.observe(effect, None, None, record);
    }

    /// Ends the series that may go on.
    pub(crate) fn close(&mut self) {
        self.began.get_or_insert(Began::Closed);
        self.end_open();
    }

    fn begin(&mut self, row: &Row<'_>) {
        let Some(like) = self.series.last() else { return };
        let alone = matches!(row.count, Count::Set(n) if n != 1) || row.sparks.is_some();
        let like = Box::new(Series { shots: Vec::new(), ..like.clone() });
        self.began = Some(Began::Opened { like, shot_number: row.shot_number, alone });
    }

    /// Whether the rows that were grouped apart can follow those of this grouping: false where the open series goes
    /// on with them.
    pub(crate) fn can_be_followed_by(&self, next: &Grouping<'_>) -> bool {
        let (Some(open), Some(series)) = (&self.open, self.series.last()) else { return true };
        match &next.began {
            None | Some(Began::Closed) => true,
            Some(Began::Opened { like, shot_number, alone }) => {
                let restarts = *shot_number == Some(1) && open.shot_number.is_some();
                let equal = series.voltage_kv == like.voltage_kv
                    && series.polarity == like.polarity
                    && series.application == like.application
                    && series.point == like.point
                    && series.interval_s == like.interval_s
                    && series.state == like.state
                    && series.mode == like.mode
                    && series.kind == like.kind
                    && series.single == like.single
                    && series.tip == like.tip
                    && series.tested_by == like.tested_by
                    && series.external_reference == like.external_reference;
                *alone || series.sparks.is_some() || restarts || !equal
            }
        }
    }

    /// Takes over what was grouped apart from the rows that follow. Finished series and observations of this grouping
    /// must have been handed over, and so must those of the other.
    pub(crate) fn follow(&mut self, next: Grouping<'a>) {
        self.series.extend(next.series);
        self.open = next.open.or(self.open.take());
        self.observations.extend(next.observations);
        let room = MOST_ODD.saturating_sub(self.odd_numbers.len());
        self.odd_numbers.extend(next.odd_numbers.into_iter().take(room));
        self.odd_count += next.odd_count;
        self.watched_by_outcome |= next.watched_by_outcome;
    }

    /// Whether a row was met that makes, continues or ends series.
    pub(crate) fn has_begun(&self) -> bool {
        self.began.is_some()
    }

    fn end_open(&mut self) {
        let Some(Open { watched, notes, .. }) = self.open.take() else { return };
        let Some(series) = self.series.last_mut() else { return };
        series.remark = notes.finish(self.columns);
        series.monitoring = match self.defaults.monitoring {
            Some(stated) => Stated::Stated(stated),
            None if watched => {
                self.watched_by_outcome = true;
                Stated::Stated(Monitoring::ResultEach)
            }
            None => Stated::NotStated,
        };
        if series.sparks.is_none()
            && !series.shots.is_empty()
            && series.shots.iter().all(|s| s.spark.is_some())
        {
            let sparks = series.shots.iter().filter(|s| s.spark == Some(true)).count();
            series.sparks = u32::try_from(sparks).ok();
        }
    }

    /// Takes the finished series out.
    pub(crate) fn take(&mut self) -> Batches<Series> {
        let last = if self.open.is_some() { self.series.pop() } else { None };
        self.finished.push(std::mem::take(&mut self.series));
        self.series.extend(last);
        std::mem::take(&mut self.finished)
    }

    fn goes_on(&self, row: &Row<'_>, polarity: Polarity) -> bool {
        let (Some(Open { shot_number, .. }), Some(series)) = (&self.open, self.series.last()) else {
            return false;
        };
        if matches!(row.count, Count::Set(n) if n != 1) || row.sparks.is_some() || series.sparks.is_some() {
            return false;
        }
        if row.shot_number == Some(1) && shot_number.is_some() {
            return false;
        }
        let text = |own: Option<&str>, default: Option<&str>, series: Option<&str>| own.or(default) == series;
        let defaults = self.defaults;
        series.voltage_kv == row.voltage
            && series.polarity == polarity
            && series.application == row.application
            && series.point.as_str() == row.point
            && series.interval_s == row.interval.or(defaults.interval_s)
            && text(
                row.state,
                defaults.state.as_ref().map(StateId::as_str),
                series.state.as_ref().map(StateId::as_str),
            )
            && text(
                row.mode,
                defaults.mode.as_ref().map(ModeId::as_str),
                series.mode.as_ref().map(ModeId::as_str),
            )
            && series.kind == row.kind.or(defaults.kind).unwrap_or(RunKind::Compliance)
            && series.single == row.single.or(defaults.single)
            && series.tip == row.tip
            && text(row.person, defaults.tested_by.as_deref(), series.tested_by.as_deref())
            && text(row.reference, None, series.external_reference.as_deref())
    }

    /// A point's name, which series of the same point share.
    fn point(&mut self, text: &str) -> Option<PointId> {
        if let Some(known) = self.points.iter().find(|known| known.as_str() == text) {
            return Some(known.clone());
        }
        let point = PointId::new(text)?;
        if self.points.len() < MOST_POINTS {
            self.points.push(point.clone());
        }
        Some(point)
    }

    fn open(&mut self, row: &Row<'_>, polarity: Polarity, record: &Record<'_>, last: u64, sign: &str) {
        self.id.clear();
        self.id.push_str(self.stem);
        self.id.push('#');
        push_number(&mut self.id, record.row);
        self.id.push_str(sign);
        let (Some(id), Some(point)) = (SeriesId::new(&self.id), self.point(row.point)) else { return };
        let defaults = self.defaults;
        let (count, shots) = match row.count {
            Count::Set(count) if count != 1 || row.sparks.is_some() => (count, Vec::new()),
            _ => {
                // Ten is the usual number.
                let mut shots = Vec::with_capacity(10);
                shots.push(Shot { row: record.row, at: row.at.clone(), spark: row.spark });
                (1, shots)
            }
        };
        if self.series.len() == BATCH {
            // What is open is the one that is put in now.
            self.finished.push(std::mem::replace(&mut self.series, Vec::with_capacity(BATCH)));
        }
        self.series.push(Series {
            id,
            point,
            application: row.application,
            polarity,
            voltage_kv: row.voltage,
            count,
            sparks: row.sparks,
            interval_s: row.interval.or(defaults.interval_s),
            single: row.single.or(defaults.single),
            state: row.state.and_then(StateId::new).or_else(|| defaults.state.clone()),
            mode: row.mode.and_then(ModeId::new).or_else(|| defaults.mode.clone()),
            kind: row.kind.or(defaults.kind).unwrap_or(RunKind::Compliance),
            monitoring: Stated::NotStated,
            tip: row.tip,
            started: row.at.clone(),
            ended: if shots.is_empty() { None } else { row.at.clone() },
            tested_by: row.person.map(str::to_owned).or_else(|| defaults.tested_by.clone()),
            external_reference: row.reference.map(str::to_owned),
            remark: None,
            shots,
            origin: Origin::rows(self.source, record.row, last),
        });
        let mut open = Open {
            watched: row.outcome != Outcome::Silent,
            shot_number: row.shot_number,
            notes: Notes::default(),
        };
        note(self.columns, &mut open.notes, row, record);
        self.open = Some(open);
    }

    fn extend(&mut self, row: &Row<'_>, record: &Record<'_>, last: u64) {
        let (Some(open), Some(series)) = (&mut self.open, self.series.last_mut()) else { return };
        series.count = series.count.saturating_add(1);
        series.shots.push(Shot { row: record.row, at: row.at.clone(), spark: row.spark });
        if row.at.is_some() {
            series.ended.clone_from(&row.at);
        }
        if let Some(Rows { last: end, .. }) = &mut series.origin.rows {
            *end = last;
        }
        open.watched &= row.outcome != Outcome::Silent;
        if let (Some(number), Some(before)) = (row.shot_number, open.shot_number)
            && Some(number) != before.checked_add(1)
        {
            self.odd_count += 1;
            if self.odd_numbers.len() < MOST_ODD {
                self.odd_numbers.push((record.row, number, before));
            }
        }
        open.shot_number = row.shot_number.or(open.shot_number);
        note(self.columns, &mut open.notes, row, record);
    }

    fn observe(&mut self, effect: Effect, series: Option<SeriesId>, shot: Option<u32>, record: &Record<'_>) {
        let Some(id) = ObservationId::new(&format!("{}#{}", self.stem, record.row)) else { return };
        let column = u32::try_from(effect.column).unwrap_or(u32::MAX).saturating_add(1);
        let remarks: Vec<&str> =
            self.columns.remarks.iter().map(|c| record.cell(*c)).filter(|cell| !cell.is_empty()).collect();
        self.observations.push(Observation {
            id,
            series,
            shot,
            at: None,
            function: effect.function.as_deref().and_then(FunctionId::new),
            seen: effect.seen,
            written_class: effect.class,
            state_changed: effect.state_changed.into(),
            data_lost: effect.data_lost.into(),
            restored: effect.restored.into(),
            lasted_s: effect.lasted,
            before_next: effect.before_next.into(),
            coincident: effect.coincident.into(),
            affected: effect.affected.into(),
            remark: (!remarks.is_empty()).then(|| remarks.join("; ")),
            origin: Origin::cell(self.source, record.row, column),
            completed_at: None,
        });
    }
}

/// Appends the digits of a number; faster than formatting, and a log of sets does it on every row.
fn push_number(text: &mut String, number: u64) {
    if number >= 10 {
        push_number(text, number / 10);
    }
    text.push(char::from(b'0' + u8::try_from(number % 10).unwrap_or(0)));
}

/// Keeps a row's remarks (unless they go with what was seen) and the columns without a role.
fn note(columns: &Columns, notes: &mut Notes, row: &Row<'_>, record: &Record<'_>) {
    let told = matches!(row.outcome, Outcome::Seen(_));
    let remarks = columns.remarks.iter().map(|column| (*column, false));
    let kept = columns.kept.iter().map(|column| (*column, false));
    let demand = columns.get(Role::Demand).map(|column| (column, true));
    for (slot, (column, demanded)) in remarks.chain(kept).chain(demand).enumerate() {
        if !(told && slot < columns.remarks.len()) {
            notes.add(slot, column, record.cell(column), demanded);
        }
    }
}
