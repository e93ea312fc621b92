//! Voltage, polarity and kind of discharge of a row.

use crate::codes;
use crate::mapping::Unsigned;
use crate::number::Sign;
use crate::roles::Role;
use crate::row::{Cells, MOST_VOLTAGES, Problem, RowReader};
use crate::units::Unit;
use crate::words::Poles;
use record::{Application, Decimal, Kilovolts, Polarity};

impl RowReader<'_> {
    pub(crate) fn voltage(&self, cells: &Cells<'_>) -> Result<(Kilovolts, Sign), Problem> {
        let column = self.columns.get(Role::Voltage);
        let Some((at, text)) = cells.get(Role::Voltage) else {
            return Err(Problem::row(codes::BAD_NUMBER, column, "the voltage is empty").help(
                "write the voltage, or set `blanks = \"above\"` if an empty cell repeats the one above",
            ));
        };
        if let Some((_, voltage, sign)) = self.voltages.borrow().iter().find(|(known, ..)| known == text) {
            return Ok((*voltage, *sign));
        }
        let found = self.new_voltage(cells, column, at, text)?;
        let mut known = self.voltages.borrow_mut();
        if known.len() < MOST_VOLTAGES {
            known.push((text.to_owned(), found.0, found.1));
        }
        Ok(found)
    }

    /// Reads a voltage that was not read before.
    fn new_voltage(
        &self,
        cells: &Cells<'_>,
        column: Option<usize>,
        at: usize,
        text: &str,
    ) -> Result<(Kilovolts, Sign), Problem> {
        let number = self.number(cells, at, text)?;
        let unit = match number.unit {
            "" => None,
            unit => match Unit::parse(unit).filter(|u| u.is_voltage()) {
                Some(unit) => Some(unit),
                None => {
                    return Err(Problem::row(
                        codes::BAD_NUMBER,
                        column,
                        format!("`{text}` is not a voltage"),
                    )
                    .help("write it like 8, -8 kV or 8000 V"));
                }
            },
        };
        if let (Some(cell), Some(header)) = (unit, self.units.voltage)
            && cell != header
        {
            return Err(Problem::row(
                codes::UNIT_CONFLICT,
                column,
                format!("`{text}` is in {}, and the column is in {}", cell.symbol(), header.symbol()),
            )
            .help("write the voltage in the column's unit"));
        }
        let known = unit.or(self.units.voltage);
        if known.is_none() && self.units.voltage_needs_unit {
            return Err(Problem::row(
                codes::UNIT_NOT_STATED,
                column,
                format!("`{text}` could be a voltage or a level of the standard's table"),
            )
            .help("if it is the voltage, set `units.voltage = \"kV\"` for this log; if it is the level, the log needs a column with the voltage")
            .of_file());
        }
        let hundred = Decimal::ONE_HUNDRED;
        if number.size > hundred && known != Some(Unit::Volt) {
            let problem = Problem::row(codes::VOLTAGE_RANGE, column, format!("`{text}` can't be kilovolts"));
            // A setting speaks for every row; where the column says kilovolts, the others are most likely right.
            return Err(match known {
                None => problem.help("if this log is in volts, set `units.voltage = \"V\"`").of_file(),
                Some(_) => problem
                    .help("look at the original record of the test; if only this row was written in volts, write it in kilovolts in a copy of the log")
                    .help("if the whole log is in volts although it says kilovolts, set `units.voltage = \"V\"`"),
            });
        }
        if known.is_none() {
            self.kilovolts_assumed.set(true);
        }
        let kilovolts = known.unwrap_or(Unit::Kilovolt).kilovolts(number.size).unwrap_or(number.size);
        if kilovolts.is_zero() {
            return Err(Problem::row(
                codes::VOLTAGE_RANGE,
                column,
                format!("`{text}` is no discharge: the voltage is zero"),
            )
            .help("leave the row out if nothing was applied"));
        }
        let voltage = Kilovolts::from_kv(kilovolts)
            .map_err(|e| Problem::row(codes::VOLTAGE_RANGE, column, format!("`{text}`: {e}")))?;
        Ok((voltage, number.sign))
    }

    pub(crate) fn poles(&self, cells: &Cells<'_>, sign: Sign) -> Result<Poles, Problem> {
        let signed = match sign {
            Sign::None => None,
            Sign::Plus => Some(Poles::One(Polarity::Positive)),
            Sign::Minus => Some(Poles::One(Polarity::Negative)),
            Sign::Both => Some(Poles::Both),
        };
        if signed.is_some() {
            self.sign_seen.set(true);
        }
        let word = self.word(cells, Role::Polarity, |cell| self.mapping.words.polarity.get(cell))?;
        let whole_log = match self.mapping.unsigned {
            Some(Unsigned::Polarity(polarity)) => Some(Poles::One(polarity)),
            _ => None,
        };
        let column = self.columns.get(Role::Polarity);
        let poles = match (signed, word.or(whole_log)) {
            (Some(one), Some(other)) if one != other => {
                let (_, text) = cells.get(Role::Voltage).unwrap_or_default();
                let said =
                    cells.get(Role::Polarity).map_or("the settings say otherwise".to_owned(), |(_, cell)| {
                        format!("the polarity column says `{cell}`")
                    });
                return Err(Problem::row(
                    codes::POLARITY_CONTRADICTION,
                    column.or(self.columns.get(Role::Voltage)),
                    format!("contradiction: the voltage is `{text}`, and {said}"),
                )
                .help("look at the original record of the test: one of the two is wrong"));
            }
            (Some(one), _) | (None, Some(one)) => one,
            (None, None) if column.is_some() => {
                return Err(Problem::row(codes::POLARITY_MISSING, column, "the row states no polarity")
                    .help("write + or - in the polarity column, or a sign before the voltage"));
            }
            (None, None) => {
                if self.mapping.unsigned.is_none() {
                    self.plus_assumed.set(true);
                }
                Poles::One(Polarity::Positive)
            }
        };
        if poles == Poles::Both && !self.mapping.count_each {
            return Err(Problem::row(
                codes::BOTH_POLARITIES,
                if word == Some(Poles::Both) { column } else { self.columns.get(Role::Voltage) },
                "one row stands for two runs, one at each polarity",
            )
            .help("write a row for each polarity")
            .help("or set `both_polarities = \"count-each\"` if the count was applied at each polarity"));
        }
        Ok(poles)
    }

    pub(crate) fn application(&self, cells: &Cells<'_>, point: &str) -> Result<Application, Problem> {
        let words = &self.mapping.words;
        let column = self.columns.get(Role::Application);
        let stated = self
            .word(cells, Role::Application, |cell| words.application.get(cell))?
            .or(self.defaults.application);
        let planned = self.points.get(point).copied().filter(|list| !list.is_empty());
        let named = plane(point);
        let possible: &[Application] = match (planned, &named) {
            (Some(list), _) => list,
            (None, Some(one)) => std::slice::from_ref(one),
            (None, None) => &[],
        };
        let plane_only = match possible {
            [one] if one.is_indirect() => Some(*one),
            _ => None,
        };
        match (stated, possible, plane_only) {
            (Some(stated), [], _) => Ok(stated),
            (Some(stated), list, _) if list.contains(&stated) => Ok(stated),
            // A contact discharge to a coupling plane is what the plane's application is.
            (Some(Application::Contact), _, Some(plane)) => Ok(plane),
            (Some(stated), list, _) => {
                let list: Vec<&str> = list.iter().map(|a| a.as_str()).collect();
                let text = cells.get(Role::Application).map_or(stated.as_str(), |(_, cell)| cell);
                Err(Problem::row(
                    codes::APPLICATION_CONTRADICTION,
                    column.or(self.columns.get(Role::Point)),
                    format!("point `{point}` is for {}, and the row says `{text}`", list.join(" and ")),
                )
                .help("look at the original record of the test, and mend the row or the point's `applications` in the job"))
            }
            (None, [one], _) => Ok(*one),
            (None, _, _) => Err(Problem::row(
                codes::APPLICATION_MISSING,
                column.or(self.columns.get(Role::Point)),
                format!("nothing says how point `{point}` was discharged"),
            )
            .help("name the column (`columns.application`), or set `application` for this log to contact, air, hcp or vcp")),
        }
    }
}

/// The coupling plane that a point is named after.
fn plane(point: &str) -> Option<Application> {
    let head = point.get(..3)?;
    if point.get(3..)?.starts_with(char::is_alphanumeric) {
        return None;
    }
    if head.eq_ignore_ascii_case("hcp") {
        Some(Application::Hcp)
    } else if head.eq_ignore_ascii_case("vcp") {
        Some(Application::Vcp)
    } else {
        None
    }
}
