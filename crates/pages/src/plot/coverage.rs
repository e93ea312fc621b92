//! What the plan asked for against what was applied: points down, levels and polarities across.

use super::outcome::{Outcome, legend, mark};
use super::{guess_lines, guess_width};
use crate::drawing::{Anchor, Drawing, Ink, at, pen};

/// The grid.
#[derive(Clone, Debug)]
pub struct Coverage<'a> {
    /// Groups of columns from left to right: a heading over the names of its columns.
    pub groups: &'a [(String, Vec<String>)],
    /// Rows, a point each.
    pub rows: &'a [CoverageRow],
    /// Words of each outcome, for the legend.
    pub words: &'a [(Outcome, String)],
}

/// A row of the grid.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CoverageRow {
    /// The point's name.
    pub point: String,
    /// What the point is. Shown where the words of every row have room on their line.
    pub description: Option<String>,
    /// A cell for each column.
    pub cells: Vec<Option<CoverageCell>>,
}

/// A cell of the plan; cells outside the plan are absent.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CoverageCell {
    /// What came of it.
    pub outcome: Outcome,
    /// Applied of required ("12/20") where that is short; empty otherwise.
    pub short: String,
}

impl CoverageRow {
    fn in_full(&self) -> String {
        match &self.description {
            Some(description) => format!("{}  {description}", self.point),
            None => self.point.clone(),
        }
    }
}

const SIZE: f32 = 7.6;

/// Draws the grid; rows grow with their names.
pub fn coverage(c: &Coverage<'_>, width: f32) -> Drawing {
    let columns = c.groups.iter().map(|g| g.1.len()).sum::<usize>().max(1) as f32;
    let gaps = c.groups.len() as f32 * 8.0 + 2.0;
    // Cells are as narrow as their marks allow, so that names get the room.
    let any_short = c.rows.iter().flat_map(|r| &r.cells).flatten().any(|cell| !cell.short.is_empty());
    let least = if any_short { 22.0 } else { 13.0 };
    let room = (width - gaps - columns * least - 6.0).max(60.0).min(width * 0.4);
    let longest = |names: &[String]| names.iter().map(|n| guess_width(n, SIZE)).fold(40.0, f32::max);
    // Words broken over lines would pull the grid apart; the tables below it say what each point is.
    let full: Vec<String> = c.rows.iter().map(CoverageRow::in_full).collect();
    let names = if longest(&full) <= room { full } else { c.rows.iter().map(|r| r.point.clone()).collect() };
    let name = longest(&names).min(room) + 6.0;
    let cell = ((width - name - gaps) / columns).min(34.0);
    let mut d = Drawing::new(width, 0.0);
    let mut x = name;
    let mut lefts = Vec::new();
    for (heading, names) in c.groups {
        x += 8.0;
        let right = x + cell * names.len() as f32;
        d.strong(at(x, 8.0), Anchor::Start, SIZE, Ink::Text, heading);
        d.line([at(x, 11.5), at(right, 11.5)], pen(Ink::Quiet, 0.5));
        for column in names {
            d.label(at(x + cell / 2.0, 21.0), Anchor::Middle, SIZE, Ink::Quiet, column);
            lefts.push(x);
            x += cell;
        }
    }
    let right = x;
    let mut y = 25.0;
    for (point, row) in names.iter().zip(c.rows) {
        d.line([at(0.0, y), at(right, y)], pen(Ink::Rule, 0.4));
        let lines = guess_lines(point, SIZE, name);
        let height = 15.5 + (lines.len() as f32 - 1.0) * 9.0;
        for (i, line) in lines.into_iter().enumerate() {
            d.label(at(0.0, y + 10.4 + 9.0 * i as f32), Anchor::Start, SIZE, Ink::Text, line);
        }
        for (left, cell_at) in lefts.iter().zip(&row.cells) {
            let centre = at(left + cell / 2.0, y + 7.8);
            match cell_at {
                Some(cell_at) if cell_at.short.is_empty() => mark(&mut d, cell_at.outcome, centre, 4.0),
                Some(cell_at) => {
                    mark(&mut d, cell_at.outcome, at(centre.x - 8.0, centre.y), 4.0);
                    d.label(
                        at(centre.x - 3.2, centre.y + 2.1),
                        Anchor::Start,
                        5.9,
                        Ink::Text,
                        &cell_at.short,
                    );
                }
                None => {
                    d.line([at(centre.x - 1.5, centre.y), at(centre.x + 1.5, centre.y)], pen(Ink::Quiet, 0.7))
                }
            }
        }
        y += height;
    }
    d.line([at(0.0, y), at(right, y)], pen(Ink::Rule, 0.4));
    legend(&mut d, at(0.0, y + 14.0), 8.0, c.words);
    d.height = y + 20.0;
    d
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::drawing::Shape;

    fn labels(descriptions: [&str; 2]) -> Vec<String> {
        let groups = [("contact, kV".to_owned(), (0..20).map(|i| format!("+{i}")).collect::<Vec<_>>())];
        let rows = descriptions.map(|d| CoverageRow {
            point: "P".to_owned(),
            description: Some(d.to_owned()),
            cells: vec![None; 20],
        });
        let drawing = coverage(&Coverage { groups: &groups, rows: &rows, words: &[] }, 470.0);
        let text = |shape| match shape {
            Shape::Label(label) if label.text.starts_with('P') => Some(label.text),
            _ => None,
        };
        drawing.shapes.into_iter().filter_map(text).collect()
    }

    #[test]
    fn descriptions_stand_on_one_line_or_not_at_all() {
        assert_eq!(labels(["screw", "window"]), ["P screw", "P window"]);
        assert_eq!(labels(["screw", "the front edge of a plane that lies below the item"]), ["P", "P"]);
    }
}
