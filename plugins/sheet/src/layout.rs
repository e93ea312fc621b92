//! Distributes the parts over pages and draws each page.

use crate::blocks::{Block, COLUMN, after, before, happened};
use crate::content::{Content, Row};
use crate::pen::{Face, NotShown, Pen};
use genpdf::error::Error;
use genpdf::fonts::{FontData, FontFamily};
use genpdf::render::Area;
use genpdf::style::Style;
use genpdf::{Context, Element, Mm, RenderResult, Size, elements};
use std::rc::Rc;

/// Margin on all four sides, in millimetres.
const MARGIN: f64 = 12.0;
/// The frame within the margins of A4 laid across.
const WIDTH: f64 = 297.0 - 2.0 * MARGIN;
const HEIGHT: f64 = 210.0 - 2.0 * MARGIN;
/// Where the content of a page begins and ends.
const TOP: f64 = 13.0;
const BOTTOM: f64 = HEIGHT - 9.0;
/// Height of a series' row: wide enough for a gloved hand.
const ROW: f64 = 12.4;
/// Height of the heads above the rows.
const HEADS: f64 = 10.0;
/// Places for things that happened, at the least.
const LEAST_NOTES: usize = 4;

/// What one page holds.
enum Page {
    /// Parts at their places.
    Parts(Vec<(f64, f64, Block)>),
    /// Series, from one to another.
    Series(std::ops::Range<usize>),
}

/// A set document, before it is finished.
pub(crate) struct Set {
    pub(crate) pdf: Vec<u8>,
    pub(crate) missing: Vec<(char, String)>,
    pub(crate) cut: Vec<String>,
}

/// Sets all pages.
pub(crate) fn set(content: Content, fonts: FontFamily<FontData>) -> Result<Set, Error> {
    let mut document = genpdf::Document::new(fonts);
    document.set_title(format!("Bench sheet {}", content.code));
    document.set_minimal_conformance();
    document.set_paper_size(Size::new(297, 210));
    let mut decorator = genpdf::SimplePageDecorator::new();
    decorator.set_margins(MARGIN);
    document.set_page_decorator(decorator);

    let cache = document.font_cache();
    let mut pages = columns(before(&content, cache));
    let per_page = (((BOTTOM - TOP - HEADS) / ROW).floor() as usize).max(1);
    let count = content.rows.len();
    pages.extend((0..count.div_ceil(per_page)).map(|page| {
        let first = page * per_page;
        Page::Series(first..(first + per_page).min(count))
    }));
    let mut last: Vec<Block> = (0..LEAST_NOTES).map(|_| happened(&content)).collect();
    last.extend(after(cache));
    pages.extend(columns(last));

    let (content, of) = (Rc::new(content), pages.len());
    let not_shown = Rc::new(NotShown::default());
    for (page, number) in pages.into_iter().zip(1..) {
        if number > 1 {
            document.push(elements::PageBreak::new());
        }
        let (content, not_shown) = (Rc::clone(&content), Rc::clone(&not_shown));
        document.push(Leaf { page, number, of, content, not_shown });
    }
    let mut pdf = Vec::new();
    document.render(&mut pdf)?;
    let missing = not_shown.glyphs.take().into_iter().collect();
    let cut = not_shown.cut.take().into_iter().collect();
    Ok(Set { pdf, missing, cut })
}

/// Fills two columns a page.
fn columns(blocks: Vec<Block>) -> Vec<Page> {
    let mut pages: Vec<Vec<(f64, f64, Block)>> = vec![Vec::new()];
    let (mut column, mut y) = (0u8, TOP);
    let mut blocks = blocks.into_iter().peekable();
    while let Some(block) = blocks.next() {
        let follows = blocks.peek().map_or(0.0, |next| if block.leads { next.height } else { 0.0 });
        if y > TOP && y + block.height + follows > BOTTOM {
            y = TOP;
            column += 1;
            if column == 2 {
                column = 0;
                pages.push(Vec::new());
            }
        }
        let height = block.height;
        if let Some(page) = pages.last_mut() {
            page.push((f64::from(column) * (WIDTH - COLUMN), y, block));
        }
        y += height;
    }
    pages.into_iter().map(Page::Parts).collect()
}

/// One page as an element.
struct Leaf {
    page: Page,
    number: usize,
    of: usize,
    content: Rc<Content>,
    not_shown: Rc<NotShown>,
}

impl Element for Leaf {
    fn render(&mut self, context: &Context, area: Area<'_>, _: Style) -> Result<RenderResult, Error> {
        let pen = Pen { area, cache: &context.font_cache, not_shown: &self.not_shown };
        self.furniture(&pen)?;
        match &self.page {
            Page::Parts(parts) => {
                for (x, y, block) in parts {
                    (block.draw)(&pen, *x, *y)?;
                }
            }
            Page::Series(range) => {
                heads(&pen)?;
                let rows = self.content.rows.get(range.clone()).unwrap_or_default();
                for (row, number) in rows.iter().zip(0u8..) {
                    series(&pen, TOP + HEADS + f64::from(number) * ROW, row)?;
                }
            }
        }
        Ok(RenderResult { size: Size::new(Mm::from(WIDTH), Mm::from(1.0)), has_more: false })
    }
}

impl Leaf {
    /// Head and foot of a page.
    fn furniture(&self, pen: &Pen<'_>) -> Result<(), Error> {
        let content = &self.content;
        pen.text(0.0, 0.0, Face::bold(15), &format!("Sheet {}-{}", content.code, self.number))?;
        pen.paragraph((48.0, 1.8), WIDTH - 90.0, 1, Face::plain(9), &content.head)?;
        pen.text_right(WIDTH, 1.8, Face::plain(9), &format!("page {} of {}", self.number, self.of))?;
        pen.line((0.0, 9.0), (WIDTH, 9.0), false);
        pen.line((0.0, HEIGHT - 6.5), (WIDTH, HEIGHT - 6.5), true);
        let invented = content.invented.as_ref().map(|words| format!("{words}  "));
        let foot = format!(
            "{}High voltage: local rules, the standard and trained staff come first. Never touch tip or return cable in use; discharge planes and item before handling.",
            invented.unwrap_or_default()
        );
        pen.paragraph((0.0, HEIGHT - 5.0), WIDTH, 1, Face::quiet(8), &foot).map(drop)
    }
}

/// Left edges of the columns of a page of series.
const NUMBER: f64 = 0.0;
const POINT: f64 = 11.0;
const KIND: f64 = 72.0;
const VOLTAGE: f64 = 107.0;
const APPLIED: f64 = 147.0;
const SPARKS: f64 = 205.0;
const TIME: f64 = 220.0;
const WATCHED: f64 = 239.0;
const NOTHING: f64 = 251.0;
const NOTE: f64 = 263.0;

fn heads(pen: &Pen<'_>) -> Result<(), Error> {
    let face = Face::quiet(8);
    for (x, first, second) in [
        (NUMBER, "Row", ""),
        (POINT, "Point", ""),
        (KIND, "Discharge, tip", ""),
        (VOLTAGE, "Voltage", ""),
        (APPLIED, "Applied: a mark for each", "discharge or approach"),
        (SPARKS, "Sparks", "(air)"),
        (TIME, "Time", "at the end"),
        (WATCHED, "All", "watched"),
        (NOTHING, "Nothing", "seen"),
        (NOTE, "Note", "no."),
    ] {
        pen.text(x, TOP, face, first)?;
        pen.text(x, TOP + 3.6, face, second)?;
    }
    pen.line((0.0, TOP + HEADS - 1.0), (WIDTH, TOP + HEADS - 1.0), false);
    Ok(())
}

fn series(pen: &Pen<'_>, y: f64, row: &Row) -> Result<(), Error> {
    pen.text(NUMBER, y + 1.4, Face::bold(11), &row.number.to_string())?;
    pen.paragraph((POINT, y - 1.0), KIND - POINT - 3.0, 1, Face::bold(13), &row.point)?;
    pen.paragraph((POINT, y + 5.0), KIND - POINT - 3.0, 2, Face::plain(8), &row.description)?;
    let width = VOLTAGE - KIND - 2.0;
    pen.text(KIND, y - 0.4, Face::plain(10), row.discharge)?;
    let tip = format!("{} tip, {} s apart", row.tip, row.interval_s);
    pen.paragraph((KIND, y + 3.7), width, 1, Face::plain(8), &tip)?;
    pen.paragraph((KIND, y + 7.0), width, 1, Face::quiet(7), &row.mode)?;
    pen.text(VOLTAGE, y - 0.4, Face::bold(20), &row.voltage)?;
    applied(pen, y, row)?;
    if row.air {
        pen.square(SPARKS, y + 1.6, 12.0, 8.4);
    } else {
        pen.text(SPARKS + 4.0, y + 3.0, Face::quiet(9), "–")?;
    }
    pen.square(TIME, y + 1.6, 16.0, 8.4);
    pen.square(WATCHED, y + 2.6, 6.4, 6.4);
    pen.square(NOTHING, y + 2.6, 6.4, 6.4);
    pen.line((NOTE, y + 10.0), (WIDTH, y + 10.0), true);
    pen.line((0.0, y + ROW - 0.8), (WIDTH, y + ROW - 0.8), true);
    Ok(())
}

/// A box for each discharge up to twenty; above, a box for each ten.
fn applied(pen: &Pen<'_>, y: f64, row: &Row) -> Result<(), Error> {
    const SIDE: f64 = 5.0;
    let boxes = if row.count <= 20 { row.count } else { row.count.div_ceil(10).min(20) };
    let two = boxes > 10;
    let side = if two { 4.2 } else { SIDE };
    let top = if two { y + 0.9 } else { y + 1.0 };
    for (number, index) in (0..boxes).zip(0u8..) {
        let (column, line) = (f64::from(number % 10), f64::from(index / 10));
        // A gap after five: hands count in fives.
        let gap = if number % 10 >= 5 { 1.4 } else { 0.0 };
        pen.square(APPLIED + column * (side + 0.3) + gap, top + line * (side + 0.3), side, side);
    }
    let words = if row.count <= 20 {
        format!("{} asked; else number:", row.count)
    } else {
        format!("{} asked, a box for each ten; else number:", row.count)
    };
    if !two {
        pen.text(APPLIED, y + 7.0, Face::quiet(7), &words)?;
        pen.line((APPLIED + 34.0, y + 10.0), (SPARKS - 4.0, y + 10.0), true);
    } else {
        pen.text(APPLIED + 47.0, y + 3.0, Face::quiet(7), &row.count.to_string())?;
    }
    Ok(())
}
