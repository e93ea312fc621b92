//! Tables: widths of columns, rows that stay whole, heads that are repeated.

use crate::Problem;
use crate::flow::{Column, Flow, side_by_side};
use crate::paragraph::Paragraph;
use crate::piece::{Align, Area, Group, Piece};
use crate::style::{self, Type};
use crate::tags::{Kind, NodeId};
use pages::classes::{CellClass, RowClass, TableClass};
use pages::drawing::Ink;
use pages::model::{Cell, Row, Run, Scope, Table};

/// A table up to this height stands on one page.
const SMALL: f32 = 110.0;

/// Space between a cell's text and the next column; less in a table of many columns.
const GAP: f32 = 9.0;

fn gap_of(columns: usize) -> f32 {
    if columns > 8 { 6.5 } else { GAP }
}

/// Room behind each column of a table. Where there are many, a number at the right of its column and the words that
/// begin the next would read as one: there is half as much again, if the rows still keep to one line.
fn gaps(wishes: &[Wish], total: f32) -> Vec<f32> {
    let gap = gap_of(wishes.len());
    let of = |more: f32| -> Vec<f32> {
        let behind = |pair: &[Wish]| match pair {
            [first, second] if first.number && !second.number => gap * more,
            _ => gap,
        };
        wishes.windows(2).map(behind).chain(wishes.last().map(|_| 0.0)).collect()
    };
    if wishes.len() <= 8 {
        return of(1.0);
    }
    let wide = of(1.5);
    let rows: f32 = wishes.iter().zip(&wide).map(|(w, gap)| w.body.max(w.word) + gap).sum();
    if rows <= total { wide } else { of(1.0) }
}

/// What a column asks for.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
struct Wish {
    /// Width of its widest word.
    word: f32,
    /// Width of its widest line below the head.
    body: f32,
    /// Width of its widest line.
    line: f32,
    /// Width that the template asks for, in percent.
    share: Option<u8>,
    /// Whether it holds only numbers, which gain nothing by more width.
    number: bool,
}

impl Flow<'_> {
    pub(crate) fn table(
        &mut self,
        table: &Table,
        column: Column,
        parent: Option<NodeId>,
    ) -> Result<(), Problem> {
        self.anchors.extend(table.id.clone());
        let (of, pad) = match table.class {
            Some(TableClass::Results) => (style::DENSE, 2.6),
            Some(TableClass::Signatures) => (style::CELL, 8.0),
            Some(TableClass::Values) | None => (style::CELL, 3.2),
        };
        if !table.caption.is_empty() {
            let node = self.tags.node(Kind::Caption, parent);
            let p = self.shape(&table.caption, style::CAPTION)?;
            let mut lines = self.lines(&p, column, Align::Left, node);
            lines.iter_mut().for_each(|l| l.keep = true);
            if let Some(last) = lines.last_mut() {
                last.after = 3.0;
            }
            lines.into_iter().for_each(|l| self.push(l));
        }
        let head = self.shape_rows(&table.head, style::CELL_HEAD)?;
        let body = self.shape_rows(&table.body, of)?;
        let wishes = wishes(table, &head, &body);
        let gaps = gaps(&wishes, column.1);
        let widths = widths(&wishes, &gaps, column.1);
        let columns = (widths.as_slice(), gaps.as_slice());
        let node = self.tags.node(Kind::Table, parent);
        let first = self.pieces.len();

        let mut heads = Vec::new();
        if !table.head.is_empty() {
            let part = self.tags.node(Kind::Head, Some(node));
            for (row, cells) in table.head.iter().zip(&head) {
                let line = self.tags.node(Kind::Row, Some(part));
                let pieces = self.row(row, cells, columns, column.0, (style::CELL_HEAD, 3.0), line);
                heads.extend(pieces);
            }
            if let Some(last) = heads.last_mut() {
                last.areas.push(Area::rule(column.0, last.height, column.1, 0.9, Ink::Quiet));
            }
            for piece in &heads {
                let mut piece = piece.clone();
                piece.keep = true;
                self.push(piece);
            }
        }
        let plain = self.heads.len();
        // What is repeated where the table goes on: its head, and the heading row that the next row belongs to.
        let mut number = plain;
        self.heads.push(heads.into_iter().map(decoration).collect());

        let part = self.tags.node(Kind::Rows, Some(node));
        let rows = table.body.len();
        for (i, (row, cells)) in table.body.iter().zip(&body).enumerate() {
            let line = self.tags.node(Kind::Row, Some(part));
            let mut pieces = self.row(row, cells, columns, column.0, (of, pad), line);
            let count = pieces.len();
            // Neither the first nor the last row stands alone, of the table or of a heading row's; that never does.
            let group = |at: usize| table.body.get(at).is_some_and(|row| row.class == Some(RowClass::Group));
            let first_or_next_to_last =
                i == 0 || i.checked_sub(1).is_some_and(group) || i + 2 == rows || group(i + 2);
            let stays = i + 1 < rows && (group(i) || first_or_next_to_last && !group(i + 1));
            for (j, piece) in pieces.iter_mut().enumerate() {
                piece.table = Some(if row.class == Some(RowClass::Group) { plain } else { number });
                let last = j + 1 == count;
                if last {
                    let ink =
                        if table.class == Some(TableClass::Signatures) { Ink::Quiet } else { Ink::Rule };
                    piece.areas.push(Area::rule(column.0, piece.height, column.1, 0.4, ink));
                    piece.keep = stays && count == 1;
                }
                self.ground(piece, row.class, column, table.class, last);
            }
            if row.class == Some(RowClass::Group) {
                let mut again = self.heads.get(plain).cloned().unwrap_or_default();
                again.extend(pieces.iter().cloned().map(decoration));
                number = self.heads.len();
                self.heads.push(again);
            }
            pieces.into_iter().for_each(|piece| self.push(piece));
        }
        if let Some(last) = self.pieces.last_mut() {
            last.after = 13.0;
        }
        let height: f32 = self.pieces.get(first..).unwrap_or_default().iter().map(|p| p.height).sum();
        if (table.class == Some(TableClass::Signatures) || height <= SMALL)
            && let Some((_, rest)) = self.pieces.get_mut(first..).and_then(<[Piece]>::split_last_mut)
        {
            rest.iter_mut().for_each(|p| p.keep = true);
        }
        Ok(())
    }

    /// What lies behind a row, and the room of a signature.
    fn ground(
        &self,
        piece: &mut Piece,
        class: Option<RowClass>,
        column: Column,
        table: Option<TableClass>,
        last: bool,
    ) {
        if table == Some(TableClass::Signatures) && last {
            let more = 38.0 - piece.height;
            if more > 0.0 {
                piece.lower(more);
            }
        }
        let height = piece.height;
        let bar = |ink| Area { x: column.0 - 6.0, y: 1.0, width: 2.2, height: height - 2.0, ink };
        piece.areas.push(match class {
            None => return,
            Some(RowClass::Group) => Area { x: column.0, y: 0.0, width: column.1, height, ink: Ink::Tint },
            Some(RowClass::Fail) => bar(Ink::Fail),
            Some(RowClass::Undetermined) => bar(Ink::Undetermined),
        });
    }

    fn shape_rows(&mut self, rows: &[Row], of: Type) -> Result<Vec<Vec<Paragraph>>, Problem> {
        let mut out = Vec::with_capacity(rows.len());
        for row in rows {
            let mut cells = Vec::with_capacity(row.cells.len());
            for cell in &row.cells {
                let strong = row.class == Some(RowClass::Group) || cell.scope == Some(Scope::Row);
                let of = if strong {
                    Type { strong: of.strong || row.class == Some(RowClass::Group), ..of }
                } else {
                    of
                };
                let mut paragraph = self.shape(&cell.runs, of)?;
                // The words over a column of numbers may stand on several lines; the numbers may not.
                if matches!(cell.class, Some(CellClass::Number | CellClass::Together))
                    && cell.scope != Some(Scope::Column)
                {
                    paragraph.keep_together();
                }
                if !cell.free.is_empty() {
                    paragraph.free = self.width_of(&cell.free, of)?;
                }
                cells.push(paragraph);
            }
            out.push(cells);
        }
        Ok(out)
    }

    /// Width of a few digits as cells of numbers set them.
    fn width_of(&mut self, digits: &str, of: Type) -> Result<f32, Problem> {
        Ok(self.shape(&[Run::text(digits)], of)?.extent().1)
    }

    fn row(
        &mut self,
        row: &Row,
        cells: &[Paragraph],
        (widths, gaps): (&[f32], &[f32]),
        left: f32,
        (of, pad): (Type, f32),
        line: NodeId,
    ) -> Vec<Piece> {
        let mut x = left;
        let mut index = 0;
        let mut columns = Vec::with_capacity(cells.len());
        for (cell, paragraph) in row.cells.iter().zip(cells) {
            let span = usize::from(cell.columns);
            let width: f32 = widths.iter().skip(index).take(span).sum();
            index += span;
            let gap = gaps.get(index.saturating_sub(1)).copied().unwrap_or(0.0);
            let kind = match cell.scope {
                Some(scope) => Kind::HeadCell(scope == Scope::Row, cell.columns),
                None => Kind::Cell(cell.columns),
            };
            let node = self.tags.node(kind, Some(line));
            let align = match cell.class {
                Some(CellClass::Number) => Align::Right,
                Some(CellClass::Centre) => Align::Centre,
                Some(CellClass::Together) | None => Align::Left,
            };
            let inner = (x, (width - gap).max(1.0));
            let mut lines =
                if paragraph.is_empty() { Vec::new() } else { self.lines(paragraph, inner, align, node) };
            if lines.is_empty() {
                // An empty cell is a cell all the same.
                let group = Group { node: Some(node), ..Group::default() };
                lines.push(Piece { height: of.leading, groups: vec![group], ..Piece::default() });
            }
            columns.push(lines);
            x += width;
        }
        side_by_side(columns, of.leading, pad)
    }
}

/// The same piece as decoration: what is repeated has been said.
fn decoration(mut piece: Piece) -> Piece {
    for group in &mut piece.groups {
        group.node = None;
        group.link = None;
    }
    piece
}

fn wishes(table: &Table, head: &[Vec<Paragraph>], body: &[Vec<Paragraph>]) -> Vec<Wish> {
    let count = |row: &Row| row.cells.iter().map(|c| usize::from(c.columns)).sum::<usize>();
    let columns = table.head.iter().chain(&table.body).map(count).max().unwrap_or(0);
    let mut wishes = vec![Wish { number: true, ..Wish::default() }; columns];
    let mut ask = |row: &[Cell], cells: &[Paragraph], is_head: bool| {
        let mut index = 0;
        for (cell, paragraph) in row.iter().zip(cells) {
            if cell.columns == 1
                && let Some(wish) = wishes.get_mut(index)
            {
                let (word, line) = paragraph.extent();
                wish.word = wish.word.max(word);
                wish.line = wish.line.max(line);
                if !is_head {
                    wish.body = wish.body.max(line);
                }
                wish.share = wish.share.or(cell.width);
                wish.number &= is_head || cell.class == Some(CellClass::Number);
            }
            index += usize::from(cell.columns);
        }
    };
    for (row, cells) in table.head.iter().zip(head) {
        ask(&row.cells, cells, true);
    }
    for (row, cells) in table.body.iter().zip(body) {
        ask(&row.cells, cells, false);
    }
    wishes
}

/// Shares a width among columns: each gets its widest word, then what its rows wish for, then its head, which may
/// stand on several lines; what is left goes to text.
fn widths(wishes: &[Wish], gaps: &[f32], total: f32) -> Vec<f32> {
    let gap = |i: usize| gaps.get(i).copied().unwrap_or(0.0);
    // A very long word does not push the others aside; it is cut.
    let most = total * 0.45;
    let word = |i: usize, w: &Wish| w.word.min(most) + gap(i);
    let share = |i: usize, w: &Wish| w.share.map(|s| (total * f32::from(s) / 100.0).max(word(i, w)));
    // A width that the template asks for is firm.
    let least: Vec<f32> = wishes.iter().enumerate().map(|(i, w)| share(i, w).unwrap_or(word(i, w))).collect();
    let wish = |line: fn(&Wish) -> f32| -> Vec<f32> {
        let of = |(i, w): (usize, &Wish)| share(i, w).unwrap_or(line(w).max(w.word.min(most)) + gap(i));
        wishes.iter().enumerate().map(of).collect()
    };
    let (rows, wished) = (wish(|w| w.body), wish(|w| w.line));
    let (sum_least, sum_wished): (f32, f32) = (least.iter().sum(), wished.iter().sum());
    if sum_least >= total {
        return least.iter().map(|w| w / sum_least.max(1.0) * total).collect();
    }
    if sum_wished <= total {
        let text = |i: usize| wishes.get(i).is_some_and(|w| !w.number);
        let base: f32 = wished.iter().enumerate().filter(|(i, _)| text(*i)).map(|(_, w)| w).sum();
        let free = total - sum_wished;
        return wished
            .iter()
            .enumerate()
            .map(|(i, w)| match (base > 0.0, text(i)) {
                (true, true) => w + free * w / base,
                (true, false) => *w,
                (false, _) if sum_wished > 0.0 => w + free * w / sum_wished,
                // A table of empty cells: every column gets the same.
                (false, _) => total / wishes.len() as f32,
            })
            .collect();
    }
    let sum_rows: f32 = rows.iter().sum();
    let (from, to, sum_from, sum_to) = if sum_rows <= total {
        (&rows, &wished, sum_rows, sum_wished)
    } else {
        (&least, &rows, sum_least, sum_rows)
    };
    let share = (total - sum_from) / (sum_to - sum_from).max(0.01);
    from.iter().zip(to).map(|(l, w)| l + (w - l) * share).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn widths_fill_the_table() {
        let wish = |word, line, number| Wish { word, body: line, line, share: None, number };
        for wishes in [
            vec![wish(20.0, 20.0, true), wish(40.0, 300.0, false), wish(30.0, 60.0, false)],
            vec![wish(10.0, 10.0, true); 3],
            vec![wish(900.0, 900.0, false), wish(20.0, 40.0, false)],
            vec![wish(80.0, 80.0, false); 12],
            vec![wish(0.0, 0.0, false)],
        ] {
            let sum: f32 = widths(&wishes, &gaps(&wishes, 470.0), 470.0).iter().sum();
            assert!((sum - 470.0).abs() < 0.1, "{wishes:?}: {sum}");
        }
        // Numbers keep their width, text takes what is left.
        let of = |wishes: &[Wish]| widths(wishes, &gaps(wishes, 470.0), 470.0);
        let w = of(&[wish(20.0, 20.0, true), wish(40.0, 50.0, false)]);
        assert_eq!(w[0], 20.0 + GAP);
        // Rows come before heads: these break where the room does not do for both.
        let head = Wish { word: 60.0, body: 20.0, line: 200.0, share: None, number: true };
        let w = of(&[head, wish(60.0, 380.0, false)]);
        assert!((w[1] - 380.0).abs() < 0.1, "{w:?}");
    }
}
