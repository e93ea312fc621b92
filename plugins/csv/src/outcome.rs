//! What a row says about the item: nothing seen, something seen, or nothing at all.

use crate::codes;
use crate::columns::outcome_or_demand;
use crate::roles::Role;
use crate::row::{Cells, Count, Problem, RowReader, unknown_word};
use crate::words::{fold, renamed};
use record::{Affected, Class, Restoration, Seconds};

/// What a row says about the item.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Outcome {
    /// No cell about it is filled.
    Silent,
    /// Somebody wrote that nothing was seen.
    Nothing,
    /// Something was seen.
    Seen(Box<Effect>),
}

/// What was seen.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Effect {
    /// Column of the cell that says it.
    pub(crate) column: usize,
    pub(crate) seen: Option<String>,
    pub(crate) class: Option<Class>,
    pub(crate) function: Option<String>,
    pub(crate) state_changed: Option<bool>,
    pub(crate) data_lost: Option<bool>,
    pub(crate) restored: Option<Restoration>,
    pub(crate) lasted: Option<Seconds>,
    pub(crate) before_next: Option<bool>,
    pub(crate) coincident: Option<bool>,
    pub(crate) affected: Option<Affected>,
}

/// A single letter that names a class or a criterion.
fn letter(text: &str) -> bool {
    matches!(text, "A" | "B" | "C" | "D" | "a" | "b" | "c" | "d")
}

impl RowReader<'_> {
    pub(crate) fn outcome(&self, cells: &Cells<'_>, count: Count) -> Result<Outcome, Problem> {
        let words = &self.mapping.words;
        if let Some((column, cell)) = cells.get(Role::Demand)
            && words.demand.get(cell).is_none()
            && !self.demands.contains(&fold(cell))
        {
            return Err(unknown_word(Role::Demand, column, cell));
        }
        let mut class = self.word(cells, Role::Class, |cell| words.class.get(cell))?;
        let mut at = cells.get(Role::Class).map(|(column, _)| column);
        let mut nothing = class == Some(Class::A);
        let mut seen: Vec<&str> = Vec::new();
        for role in [Role::Result, Role::Observation] {
            let Some((column, cell)) = cells.get(role) else { continue };
            if words.nothing.get(cell).is_some() {
                nothing = true;
                at = at.or(Some(column));
                continue;
            }
            if letter(cell) {
                if !self.mapping.names(role) {
                    let question = outcome_or_demand(record::Place::default(), &self.columns.label(column));
                    let mut problem =
                        Problem::row(codes::OUTCOME_OR_DEMAND, Some(column), question.message).of_file();
                    problem.help = question.help;
                    return Err(problem);
                }
                let written = words.class.get(cell);
                if class.is_some() && class != written {
                    return Err(Problem::row(
                        codes::OUTCOME_CONTRADICTION,
                        Some(column),
                        format!("`{cell}` here, and another class in the class column"),
                    )
                    .help("look at the original record of the test: one of the two is wrong"));
                }
                class = written;
                nothing |= class == Some(Class::A);
                at = at.or(Some(column));
                continue;
            }
            if words.verdict.get(cell).is_some() {
                self.verdict_words.set(self.verdict_words.get().or(Some((cells.record.row, column))));
            }
            seen.push(cell);
            at = Some(column);
        }
        let upsets = self.whole(cells, Role::Upsets, &["x", "×"])?;
        let mut upsets_text = None;
        if let (Some(upsets), Some(column)) = (upsets, self.columns.get(Role::Upsets)) {
            let applied = match count {
                Count::One => 1,
                Count::Set(count) => count,
            };
            if upsets > applied {
                return Err(Problem::row(
                    codes::OUTCOME_CONTRADICTION,
                    Some(column),
                    format!("{upsets} discharges with an effect, and only {applied} applied"),
                )
                .help("look at the original record of the test: one of the two numbers is wrong"));
            }
            if upsets == 0 {
                nothing = true;
            } else {
                upsets_text = Some(format!("{}: {upsets}", self.columns.label(column)));
            }
            at = at.or(Some(column));
        }
        let answer = |cell: &str| words.answer.get(cell);
        let (mut state_changed, mut data_lost, mut restored, mut lasted) = (None, None, None, None);
        if self.columns.effects {
            state_changed = self.fact(cells, Role::StateChanged, answer)?;
            data_lost = self.fact(cells, Role::DataLost, answer)?;
            restored = self.fact(cells, Role::Restored, |cell| words.restored.get(cell))?;
            lasted = self.duration(cells, Role::Lasted, self.units.lasted)?;
        }
        let effect_column = [
            (Role::StateChanged, state_changed == Some(true)),
            (Role::DataLost, data_lost == Some(true)),
            (Role::Restored, restored.is_some_and(|r| r != Restoration::NothingLost)),
            (Role::Lasted, lasted.is_some_and(|s| !s.as_s().is_zero())),
        ]
        .into_iter()
        .find(|(_, effect)| *effect)
        .and_then(|(role, _)| self.columns.get(role));
        let lasting_class = class.is_some_and(|c| c != Class::A);
        let something = !seen.is_empty() || lasting_class || upsets_text.is_some() || effect_column.is_some();
        if !something {
            return Ok(if nothing { Outcome::Nothing } else { Outcome::Silent });
        }
        if nothing && (lasting_class || upsets_text.is_some() || effect_column.is_some()) {
            return Err(Problem::row(
                codes::OUTCOME_CONTRADICTION,
                at.or(effect_column),
                "one cell says that nothing was seen, another says what was seen",
            )
            .help("look at the original record of the test: one of the two is wrong"));
        }
        if let Some(text) = &upsets_text {
            seen.push(text);
        }
        let affected = self.fact(cells, Role::Affected, |cell| words.affected.get(cell))?;
        Ok(Outcome::Seen(Box::new(Effect {
            column: at.or(effect_column).unwrap_or(0),
            seen: (!seen.is_empty()).then(|| seen.join("; ")),
            class,
            function: cells
                .get(Role::Function)
                .map(|(_, cell)| renamed(&words.names.function, cell).to_owned()),
            state_changed,
            data_lost,
            restored,
            lasted,
            before_next: self.fact(cells, Role::BeforeNext, answer)?,
            coincident: self.fact(cells, Role::Coincident, answer)?,
            affected,
        })))
    }
}
