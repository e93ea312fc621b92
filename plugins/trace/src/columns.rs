//! Which column is the time, which the current, in which units, and what is to be asked.

use crate::codes;
use crate::layout::Layout;
use crate::preamble::Entry;
use crate::settings::{Settings, Values};
use crate::unit::{Kind, Unit, name_and_unit, symbol_in_brackets, unit};
use record::{AmperesPerVolt, Finding, Place};

/// From a cell to a current in amperes.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Scale {
    /// Codes: (code - offset) * multiplier + zero.
    codes: Option<(f64, f64, f64)>,
    unit: Unit,
    a_per_v: Option<f64>,
}

impl Scale {
    /// The current, in amperes.
    pub(crate) fn current_a(&self, value: f64) -> f64 {
        let value = match self.codes {
            Some((multiplier, zero, offset)) => (value - offset) * multiplier + zero,
            None => value,
        };
        self.a_per_v.map_or(1.0, |scale| scale) * self.unit.convert(value)
    }

    /// The current that belongs to one code, in amperes.
    pub(crate) fn step_a(&self) -> Option<f64> {
        let (multiplier, ..) = self.codes?;
        Some((self.a_per_v.unwrap_or(1.0) * self.unit.convert(multiplier)).abs())
    }
}

/// The columns of a table.
#[derive(Debug)]
pub(crate) struct Columns {
    /// Cell of the time (from 0), its unit and its label.
    pub(crate) time: Option<(usize, Unit)>,
    /// Cell of the value (from 0).
    pub(crate) value: usize,
    pub(crate) value_label: String,
    pub(crate) scale: Scale,
    /// Stated conversion, for the record.
    pub(crate) a_per_v: Option<AmperesPerVolt>,
    /// Time between samples, stated in the settings or, without a time column, in the preamble.
    pub(crate) interval_ns: Option<f64>,
    /// The same as the preamble states it beside a time column, for comparison.
    pub(crate) interval_beside_ns: Option<f64>,
    pub(crate) start_ns: Option<f64>,
    /// Number of samples that the preamble announces.
    pub(crate) length: Option<(u64, u64)>,
    /// The decimal sign comes from a setting.
    pub(crate) sign_is_stated: bool,
    pub(crate) understood: Vec<String>,
    pub(crate) warnings: Vec<Finding>,
}

/// Names of a time column that has no unit in its header, in lower case.
const TIME_NAMES: &[&str] = &["time", "t", "x", "zeit", "temps", "tiempo", "tempo"];
/// Names of a column that counts samples, in lower case.
const INDEX_NAMES: &[&str] = &["index", "sample", "no", "no.", "nr", "nr.", "n", "#", "point"];

const HOW_TIME_UNIT: &str =
    "state `time_unit`: s, ms, us, ns or ps (on the command line `--set time_unit=ns`)";
const HOW_VALUE_UNIT: &str =
    "state `value_unit`: A, mA, kA, V or mV (on the command line `--set value_unit=A`)";

struct Finder<'a> {
    file: &'a str,
    layout: &'a Layout,
    settings: &'a Settings,
    labels: Vec<String>,
    names: Vec<String>,
    units: Vec<Option<Unit>>,
    /// Symbols that stand where a unit belongs and are none that is known.
    unknown: Vec<Option<String>>,
    problems: Vec<Finding>,
    warnings: Vec<Finding>,
}

/// Finds the columns; otherwise everything that has to be asked.
pub(crate) fn columns(file: &str, layout: &Layout, settings: &Settings) -> Result<Columns, Vec<Finding>> {
    let mut finder = Finder::new(file, layout, settings);
    let found = finder.find();
    match found {
        Some(columns) if finder.problems.is_empty() => Ok(Columns { warnings: finder.warnings, ..columns }),
        _ => Err(finder.problems),
    }
}

impl<'a> Finder<'a> {
    fn new(file: &'a str, layout: &'a Layout, settings: &'a Settings) -> Self {
        let header = layout.header.as_ref().map(|(cells, _)| cells.as_slice()).unwrap_or_default();
        let mut finder = Self {
            file,
            layout,
            settings,
            labels: Vec::new(),
            names: Vec::new(),
            units: Vec::new(),
            unknown: Vec::new(),
            problems: Vec::new(),
            warnings: Vec::new(),
        };
        for index in 0..layout.cells {
            let label = header.get(index).filter(|label| !label.is_empty());
            let (name, own) = label.map_or((String::new(), None), |label| name_and_unit(label));
            let symbol = layout.units.as_ref().and_then(|units| units.get(index));
            let below = symbol.and_then(|symbol| unit(symbol));
            let stated = label.and_then(|label| symbol_in_brackets(label)).or(symbol.map(String::as_str));
            finder.unknown.push(stated.filter(|stated| unit(stated).is_none()).map(str::to_owned));
            finder
                .labels
                .push(label.map_or_else(|| format!("column {}", index + 1), |label| format!("`{label}`")));
            finder.names.push(name.to_lowercase());
            finder.units.push(own.or(below));
        }
        finder
    }

    fn place(&self, column: Option<usize>) -> Place {
        let header = self.layout.header.as_ref().map(|(_, row)| *row);
        let row = header.or(Some(self.layout.first_row));
        let column = column.and_then(|index| u32::try_from(index + 1).ok());
        Place { file: self.file.to_owned(), row, column, label: None }
    }

    fn problem(&mut self, code: &str, message: String, column: Option<usize>, help: &str) {
        let finding = Finding::error(code, message).at(self.place(column)).help(help);
        self.problems.push(finding);
    }

    /// A column without a usable unit: none is stated, or one that is not known.
    fn no_unit(&mut self, what: &str, index: usize, help: &str) {
        match self.unknown.get(index).cloned().flatten() {
            Some(symbol) => {
                let message = format!("the unit of {what} is stated as `{symbol}`, which can't be used here");
                self.problem(codes::UNKNOWN_UNIT, message, Some(index), help);
            }
            None => {
                let message = format!("the unit of {what} is not stated");
                self.problem(codes::UNIT_NOT_STATED, message, Some(index), help);
            }
        }
    }

    fn label(&self, index: usize) -> String {
        self.labels.get(index).cloned().unwrap_or_default()
    }

    fn find(&mut self) -> Option<Columns> {
        let usable: Vec<usize> = (0..self.layout.cells)
            .filter(|index| !self.layout.empty.get(*index).copied().unwrap_or(true))
            .collect();
        let time = self.time_column(&usable);
        let value = self.value_column(&usable, time)?;
        let time = time.map(|index| (index, self.time_unit(index)));
        let unit = self.value_unit(value);
        let axis_unit = time.and_then(|(_, unit)| unit).or(self.stated_time_unit());
        let stated = self.interval(axis_unit);
        let start = self.start(axis_unit);
        let interval = self.settings.sample_interval_ns.or(stated);
        if time.is_none() && interval.is_none() && self.problems.is_empty() {
            self.problem(
                codes::NO_TIME,
                "the record has no time column and states no sample interval".to_owned(),
                None,
                "state `sample_interval_ns` (on the command line `--set sample_interval_ns=0.05`), or name the `time_column`",
            );
        }
        let time = match time {
            // A stated interval stands in for the whole column; its unit matters for the first time only.
            Some((index, unit)) if self.settings.sample_interval_ns.is_some() => {
                unit.map(|unit| (index, unit))
            }
            Some((index, Some(unit))) => Some((index, unit)),
            Some((index, None)) => {
                let what = format!("the time in {}", self.label(index));
                self.no_unit(&what, index, HOW_TIME_UNIT);
                None
            }
            None => None,
        };
        let codes_factors = self.codes(value);
        let Some(unit) = unit else {
            self.no_unit(&self.label(value), value, HOW_VALUE_UNIT);
            return None;
        };
        let a_per_v = self.a_per_v(unit, value);
        let understood = self.understood(time, value, unit);
        Some(Columns {
            time,
            value,
            value_label: self.label(value),
            scale: Scale { codes: codes_factors, unit, a_per_v: a_per_v.map(|(_, number)| number) },
            a_per_v: a_per_v.map(|(scale, _)| scale),
            interval_ns: self.settings.sample_interval_ns.or(stated.filter(|_| time.is_none())),
            interval_beside_ns: stated.filter(|_| time.is_some()),
            start_ns: self.settings.start_ns.or(start),
            length: self.layout.preamble.length.and_then(|entry| {
                (entry.value >= 0.0 && entry.value <= 1e15).then_some((entry.value as u64, entry.row))
            }),
            sign_is_stated: self.settings.decimal.is_some(),
            understood,
            warnings: Vec::new(),
        })
    }

    /// A column that a setting names, by header or by number from 1.
    fn named(&mut self, key: &str, text: &str) -> Option<usize> {
        let wanted = text.to_lowercase();
        let by_name = (0..self.layout.cells).find(|index| {
            let label = self.labels.get(*index).map(|label| label.trim_matches('`').to_lowercase());
            label.as_deref() == Some(&wanted) || self.names.get(*index) == Some(&wanted)
        });
        let number: Option<usize> = text.parse().ok();
        let by_number =
            number.filter(|number| (1..=self.layout.cells).contains(number)).map(|number| number - 1);
        let found = by_name.or(by_number);
        if found.is_none() {
            let all = self.labels.join(", ");
            self.problem(
                codes::NO_SUCH_COLUMN,
                format!("`{key}` names `{text}`, which is no column of the table"),
                None,
                &format!("the columns are: {all}"),
            );
        }
        found
    }

    fn time_column(&mut self, usable: &[usize]) -> Option<usize> {
        if let Some(text) = self.settings.time_column.clone() {
            return self.named("time_column", &text);
        }
        let of_kind = |kind: Kind| {
            let units = &self.units;
            usable
                .iter()
                .copied()
                .filter(move |index| units.get(*index).copied().flatten().is_some_and(|u| u.kind == kind))
        };
        let timed: Vec<usize> = of_kind(Kind::Time).collect();
        match timed.as_slice() {
            [only] => return Some(*only),
            [first, ..] => {
                let all: Vec<String> = timed.iter().map(|index| self.label(*index)).collect();
                self.problem(
                    codes::TWO_READINGS,
                    format!("{} columns hold times: {}", all.len(), all.join(", ")),
                    Some(*first),
                    "name the one that belongs to the samples: `time_column` (on the command line `--set time_column=1`)",
                );
                return Some(*first);
            }
            [] => {}
        }
        let by_name =
            |index: &&usize| self.names.get(**index).is_some_and(|name| TIME_NAMES.contains(&name.as_str()));
        if let Some(index) = usable.iter().find(by_name) {
            return Some(*index);
        }
        // Without a header, the first of two columns is the time.
        let bare = self.layout.header.is_none() || self.stated_time_unit().is_some();
        match usable {
            [first, _] if bare && !self.is_index(*first) => Some(*first),
            _ => None,
        }
    }

    fn is_index(&self, index: usize) -> bool {
        self.names.get(index).is_some_and(|name| INDEX_NAMES.contains(&name.as_str()))
    }

    fn value_column(&mut self, usable: &[usize], time: Option<usize>) -> Option<usize> {
        if let Some(text) = self.settings.channel.clone() {
            return self.named("channel", &text);
        }
        let left: Vec<usize> =
            usable.iter().copied().filter(|index| Some(*index) != time && !self.is_index(*index)).collect();
        let currents: Vec<usize> = left
            .iter()
            .copied()
            .filter(|index| {
                self.units.get(*index).copied().flatten().is_some_and(|unit| unit.kind == Kind::Current)
            })
            .collect();
        match (left.as_slice(), currents.as_slice()) {
            ([only], _) => Some(*only),
            (_, [only]) => Some(*only),
            ([], _) => {
                self.problem(
                    codes::NO_TABLE,
                    "the table has no column beside the time".to_owned(),
                    None,
                    "look whether the export was complete",
                );
                None
            }
            (several, _) => {
                let all: Vec<String> = several.iter().map(|index| self.label(*index)).collect();
                self.problem(
                    codes::TWO_READINGS,
                    format!("{} columns may hold the discharge current: {}", all.len(), all.join(", ")),
                    several.first().copied(),
                    "name the one: `channel` (on the command line `--set channel=CH1`)",
                );
                None
            }
        }
    }

    /// The unit of times that a setting or the preamble states.
    fn stated_time_unit(&self) -> Option<Unit> {
        self.settings.time_unit.or(self.layout.preamble.time_unit.map(|(unit, _)| unit))
    }

    fn time_unit(&mut self, index: usize) -> Option<Unit> {
        let header = self.units.get(index).copied().flatten().filter(|unit| unit.kind == Kind::Time);
        let preamble = self.layout.preamble.time_unit;
        let file = self.one_unit(header, preamble, index);
        self.over("time_unit", self.settings.time_unit, file, index)
    }

    fn value_unit(&mut self, index: usize) -> Option<Unit> {
        let usable = |unit: &Unit| matches!(unit.kind, Kind::Current | Kind::Voltage);
        let header = self.units.get(index).copied().flatten().filter(usable);
        let file = self.one_unit(header, self.layout.preamble.value_unit, index);
        self.over("value_unit", self.settings.value_unit, file, index)
    }

    /// Header and preamble must not contradict each other.
    fn one_unit(
        &mut self,
        header: Option<Unit>,
        preamble: Option<(Unit, u64)>,
        index: usize,
    ) -> Option<Unit> {
        if let (Some(header), Some((preamble, row))) = (header, preamble)
            && header != preamble
        {
            let message = format!("{} and the preamble state different units", self.label(index));
            let place = Place { file: self.file.to_owned(), row: Some(row), ..Place::default() };
            let finding = Finding::error(codes::CONTRADICTION, message).at(self.place(Some(index)));
            let finding = finding.with_related(place, "the unit in the preamble");
            self.problems.push(finding.help("take the wrong line out of a copy of the file"));
        }
        header.or(preamble.map(|(unit, _)| unit))
    }

    /// A setting comes before the file; where they differ, that is said.
    fn over(&mut self, key: &str, setting: Option<Unit>, file: Option<Unit>, index: usize) -> Option<Unit> {
        if let (Some(setting), Some(file)) = (setting, file)
            && setting != file
        {
            let message = format!("`{key}` states another unit than the file does for {}", self.label(index));
            let finding = Finding::warning(codes::SETTING_OVER_FILE, message).at(self.place(Some(index)));
            self.warnings.push(finding.help("take the setting out if the file is right"));
        }
        setting.or(file)
    }

    /// A time of the preamble in nanoseconds, in its own unit or that of the axis.
    fn preamble_time(&mut self, entry: Entry, axis: Option<Unit>, what: &str) -> Option<f64> {
        let unit = entry.unit.filter(|unit| unit.kind == Kind::Time).or(axis);
        if unit.is_none() {
            let place = Place { file: self.file.to_owned(), row: Some(entry.row), ..Place::default() };
            let finding =
                Finding::error(codes::UNIT_NOT_STATED, format!("the unit of the {what} is not stated"));
            self.problems.push(finding.at(place).help(HOW_TIME_UNIT));
        }
        Some(unit?.convert(entry.value))
    }

    fn interval(&mut self, axis: Option<Unit>) -> Option<f64> {
        let preamble = &self.layout.preamble;
        let needed = self.settings.sample_interval_ns.is_none();
        if let Some(entry) = preamble.interval {
            // Beside a time column with a unit, the interval is only compared.
            if !needed {
                return None;
            }
            return self.preamble_time(entry, axis, "sample interval").filter(|interval| *interval > 0.0);
        }
        let rate = preamble.rate.filter(|_| needed)?;
        let unit = rate.unit.filter(|unit| unit.kind == Kind::Rate)?;
        let per_ns = unit.convert(rate.value);
        (per_ns > 0.0).then_some(1.0 / per_ns)
    }

    fn start(&mut self, axis: Option<Unit>) -> Option<f64> {
        let entry = self.layout.preamble.start.filter(|_| self.settings.start_ns.is_none())?;
        self.preamble_time(entry, axis, "time of the first sample")
    }

    /// Factors for codes, where the values are codes.
    fn codes(&mut self, value: usize) -> Option<(f64, f64, f64)> {
        let preamble = &self.layout.preamble;
        let multiplier = preamble.multiplier?.value;
        let factors =
            (multiplier, preamble.zero.map_or(0.0, |e| e.value), preamble.offset.map_or(0.0, |e| e.value));
        let whole = self.layout.whole.get(value).copied().unwrap_or(false);
        // A column that names its unit holds values, not codes.
        let header_says = self.units.get(value).copied().flatten().is_some();
        match self.settings.values {
            Some(Values::Codes) => Some(factors),
            Some(Values::Scaled) => None,
            None if whole && !header_says => Some(factors),
            None if header_says && !whole => None,
            None => {
                let message = format!(
                    "the preamble has conversion factors, but {} may be converted already",
                    self.label(value)
                );
                self.problem(
                    codes::TWO_READINGS,
                    message,
                    Some(value),
                    "state `values`: codes or scaled (on the command line `--set values=codes`)",
                );
                None
            }
        }
    }

    fn a_per_v(&mut self, unit: Unit, value: usize) -> Option<(AmperesPerVolt, f64)> {
        match (unit.kind, self.settings.scale_a_per_v) {
            (Kind::Voltage, None) if self.settings.chain_a_per_v.is_some() => self.settings.chain_a_per_v,
            (Kind::Voltage, None) => {
                let message =
                    format!("{} holds volts, and no conversion to amperes is stated", self.label(value));
                self.problem(
                    codes::SCALE_NOT_STATED,
                    message,
                    Some(value),
                    "state the measuring chain of the verification in job.toml (on the command line `--transfer-v-per-a` and `--attenuation-db`), or `scale_a_per_v` (`--scale-a-per-v`): target, attenuator and cable together, from their certificates",
                );
                None
            }
            (Kind::Voltage, stated) => stated,
            (_, Some((scale, _))) => {
                let message = format!(
                    "{} holds amperes already: the conversion of {scale} is not applied",
                    self.label(value)
                );
                let finding = Finding::warning(codes::SCALE_NOT_USED, message).at(self.place(Some(value)));
                self.warnings
                    .push(finding.help("state `value_unit = \"V\"` if the column holds volts after all"));
                None
            }
            (_, None) => None,
        }
    }

    fn understood(&self, time: Option<(usize, Unit)>, value: usize, unit: Unit) -> Vec<String> {
        let mut said = vec![format!("delimiter: {}", self.layout.delimiter.word())];
        if let Some(decimal) = self.layout.decimal {
            said.push(format!("decimal sign: {}", decimal.word()));
        }
        said.push(match time {
            Some((index, _)) => format!("time: {}", self.label(index)),
            None => "time: from the sample interval".to_owned(),
        });
        let kind = if unit.kind == Kind::Voltage { "voltage" } else { "current" };
        said.push(format!("{kind}: {}", self.label(value)));
        let Settings { scale_a_per_v, chain_a_per_v, .. } = self.settings;
        match (unit.kind == Kind::Voltage, scale_a_per_v, chain_a_per_v) {
            (true, Some((scale, _)), _) => said.push(format!("conversion: {scale}")),
            (true, None, Some((scale, _))) => {
                said.push(format!("conversion by the measuring chain: {scale}"))
            }
            (false, _, Some(_)) => said.push("conversion by the measuring chain: not needed".to_owned()),
            _ => {}
        }
        said
    }
}
