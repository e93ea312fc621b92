//! The parts of the pages around the series: each knows its height and draws itself.

use crate::content::{Check, Content};
use crate::pen::{Face, Pen, lines};
use assess::{BEFORE_CHECKS, CAUTIONS, SPARK_CHECK};
use genpdf::error::Error;
use genpdf::fonts::FontCache;

/// Width of a column, in millimetres: two stand beside each other.
pub(crate) const COLUMN: f64 = 131.0;

const TITLE: Face = Face::bold(12);
const BODY: Face = Face::plain(9);
const QUIET: Face = Face::quiet(8);
/// Height of a line that is written on by hand.
const HAND: f64 = 8.4;
/// The same over its limits: they belong to what stands above them, so what stands below keeps its distance.
const LIMITED: f64 = 10.6;

type Draw = Box<dyn Fn(&Pen<'_>, f64, f64) -> Result<(), Error>>;

/// A part that is never split.
pub(crate) struct Block {
    pub(crate) height: f64,
    /// A title, which stays with what follows it.
    pub(crate) leads: bool,
    pub(crate) draw: Draw,
}

impl Block {
    fn new(height: f64, draw: impl Fn(&Pen<'_>, f64, f64) -> Result<(), Error> + 'static) -> Self {
        Self { height, leads: false, draw: Box::new(draw) }
    }
}

/// The parts before the shots, in the order in which they are filled.
pub(crate) fn before(content: &Content, cache: &FontCache) -> Vec<Block> {
    let mut found = vec![cautions(cache), identity(content, cache), title("Who tests")];
    found.push(write_on(&[("Name", 75.0), ("Day", 56.0)]));
    found.push(title("Room"));
    found.extend(content.climate.iter().map(|(what, limits)| climate(what, limits)));
    found.push(write_on(&[("Instrument", 75.0), ("Time before", 28.0), ("after", 28.0)]));
    found.push(title("Item"));
    found.push(write_on(&[("State of the item on the bench", COLUMN)]));
    if content.earthed_open {
        found.push(ticks("Is the item earthed in the test?", &["earthed", "not earthed"]));
    }
    match content.removal.as_deref() {
        Some("") => {
            found.push(write_on(&[("If not earthed, charge comes off before each discharge by", COLUMN)]))
        }
        Some(method) => {
            found.push(said(format!("Before each discharge, take the charge off the item: {method}"), cache));
        }
        None => {}
    }
    if !content.equipment.is_empty() {
        found.push(title("Equipment"));
    }
    for (name, due) in &content.equipment {
        found.push(equipment(name.clone(), due.clone()));
    }
    found.push(title("Fitted"));
    for (what, planned) in &content.fitted {
        found.push(fitted(what.clone(), planned.clone()));
    }
    found.push(title("Set-up checks"));
    found.push(said(BEFORE_CHECKS.to_owned(), cache));
    found.extend(content.checks.iter().map(check));
    found
}

/// The parts after the shots.
pub(crate) fn after(cache: &FontCache) -> Vec<Block> {
    vec![
        title("After the shots"),
        ticks(SPARK_CHECK, &["in order", "not in order"]),
        title("Remarks"),
        write_on(&[("", COLUMN)]),
        title("Name"),
        write_on(&[("Written down at the bench by", 90.0), ("Day", 41.0)]),
        title("Copied into the record"),
        said(
            "Each row carries the code of its page and its number: enter them with it, in the form's table (Rows from a paper sheet), or in the table that `convert --to sheet-rows` makes. Keep this sheet: it is the original."
                .to_owned(),
            cache,
        ),
        write_on(&[("Copied by", 62.0), ("Day", 25.0), ("Compared by", 44.0)]),
    ]
}

/// One place for something that happened.
pub(crate) fn happened(content: &Content) -> Block {
    let functions = content.functions.clone();
    let rows_of_functions = functions.len().div_ceil(2) as f64;
    Block::new(72.0 + 6.0 * rows_of_functions, move |pen, x, y| {
        pen.line((x, y), (x + COLUMN, y), false);
        blanks(
            pen,
            x,
            y + 1.0,
            &[
                ("Note no.", 26.0),
                ("Row", 26.0),
                ("Discharge no.", 32.0),
                ("Time", 26.0),
                ("Lasted, s", 21.0),
            ],
        )?;
        pen.text(x, y + 12.5, QUIET, "What was seen, in the words of who saw it")?;
        pen.line((x, y + 23.0), (x + COLUMN, y + 23.0), true);
        let mut at = y + 26.0;
        for (question, answers) in QUESTIONS {
            question_line(pen, x, at, question, answers)?;
            at += if answers.len() > 3 { 13.0 } else { 7.0 };
        }
        if !functions.is_empty() {
            pen.text(x, at, QUIET, "Function")?;
            for (pair, row) in functions.chunks(2).zip(0u8..) {
                for (function, column) in pair.iter().zip(0u8..) {
                    let at_x = x + 42.0 + f64::from(column) * 45.0;
                    pen.square(at_x, at + f64::from(row) * 6.0, 4.0, 4.0);
                    pen.paragraph((at_x + 5.4, at + f64::from(row) * 6.0), 38.0, 1, QUIET, function)?;
                }
            }
        }
        Ok(())
    })
}

/// What a verdict may need to know of an event; the questions of the form for the bench.
const QUESTIONS: &[(&str, &[&str])] = &[
    ("What was affected?", &["the item", "only equipment beside it"]),
    ("Did it come with a discharge?", &["yes", "no"]),
    ("Did the operating state change?", &["no", "yes"]),
    ("Were stored data lost?", &["no", "yes"]),
    ("Over before the next discharge?", &["yes", "no"]),
    (
        "What brought it back?",
        &[
            "it came back by itself",
            "a control was used",
            "supply off and on",
            "it did not come back",
            "nothing was lost",
        ],
    ),
];

fn question_line(pen: &Pen<'_>, x: f64, y: f64, question: &str, answers: &[&str]) -> Result<(), Error> {
    pen.text(x, y, QUIET, question)?;
    let (mut right, mut down) = (x + 42.0, y);
    for (answer, number) in answers.iter().zip(0u8..) {
        if number == 2 && answers.len() > 3 {
            (right, down) = (x + 42.0, y + 6.0);
        }
        right += pen.tick(right, down, QUIET, answer)?;
    }
    Ok(())
}

fn title(words: &'static str) -> Block {
    Block { leads: true, ..Block::new(8.5, move |pen, x, y| pen.text(x, y + 2.5, TITLE, words)) }
}

fn cautions(cache: &FontCache) -> Block {
    let found: Vec<String> = CAUTIONS
        .iter()
        .flat_map(|caution| lines(cache, BODY, COLUMN - 12.0, &format!("–  {caution}")))
        .collect();
    let height = 13.0 + found.len() as f64 * 4.8;
    Block::new(height + 2.0, move |pen, x, y| {
        pen.square(x, y, COLUMN, height);
        pen.text(x + 4.0, y + 2.5, TITLE, "High voltage")?;
        for (line, number) in found.iter().zip(0u8..) {
            pen.text(x + 4.0, y + 10.0 + f64::from(number) * 4.8, BODY, line)?;
        }
        Ok(())
    })
}

fn identity(content: &Content, cache: &FontCache) -> Block {
    let rows: Vec<(String, Vec<String>)> = content
        .identity
        .iter()
        .map(|(name, value)| (name.clone(), lines(cache, BODY, COLUMN - 32.0, value)))
        .collect();
    let height: f64 = rows.iter().map(|(_, value)| value.len() as f64 * 4.4 + 0.8).sum();
    Block::new(height + 3.0, move |pen, x, y| {
        let mut at = y + 2.0;
        for (name, value) in &rows {
            pen.text(x, at, QUIET, name)?;
            for line in value {
                pen.text(x + 32.0, at, BODY, line)?;
                at += 4.4;
            }
            at += 0.8;
        }
        Ok(())
    })
}

fn said(words: String, cache: &FontCache) -> Block {
    let found = lines(cache, QUIET, COLUMN, &words);
    Block::new(found.len() as f64 * 4.0 + 2.0, move |pen, x, y| {
        for (line, number) in found.iter().zip(0u8..) {
            pen.text(x, y + f64::from(number) * 4.0, QUIET, line)?;
        }
        Ok(())
    })
}

/// Names with a line to write on after each.
fn blanks(pen: &Pen<'_>, x: f64, y: f64, parts: &[(&str, f64)]) -> Result<(), Error> {
    let mut left = x;
    for (name, width) in parts {
        pen.text(left, y + 3.6, QUIET, name)?;
        let words = name.chars().count() as f64 * 1.55;
        pen.line((left + words + 2.0, y + HAND - 1.5), (left + width - 2.0, y + HAND - 1.5), true);
        left += width;
    }
    Ok(())
}

fn write_on(parts: &'static [(&'static str, f64)]) -> Block {
    Block::new(HAND, move |pen, x, y| blanks(pen, x, y, parts))
}

fn ticks(question: &'static str, answers: &'static [&'static str]) -> Block {
    Block::new(7.5, move |pen, x, y| {
        pen.text(x, y + 2.0, QUIET, question)?;
        let mut right = x + 74.0;
        for answer in answers {
            right += pen.tick(right, y + 1.5, QUIET, answer)?;
        }
        Ok(())
    })
}

fn climate(what: &str, limits: &str) -> Block {
    let (what, limits) = (what.to_owned(), limits.to_owned());
    Block::new(LIMITED, move |pen, x, y| {
        pen.text(x, y + 0.6, BODY, &what)?;
        pen.paragraph((x, y + 4.6), 62.0, 1, BODY, &limits)?;
        blanks(pen, x + 64.0, y, &[("before", 33.0), ("after", 34.0)])
    })
}

fn equipment(name: String, due: String) -> Block {
    Block::new(LIMITED, move |pen, x, y| {
        pen.paragraph((x, y), COLUMN - 22.0, 1, BODY, &name)?;
        pen.paragraph((x, y + 4.2), COLUMN - 22.0, 1, BODY, &due)?;
        pen.tick(x + COLUMN - 20.0, y + 1.0, QUIET, "in date").map(drop)
    })
}

fn fitted(what: String, planned: String) -> Block {
    Block::new(HAND, move |pen, x, y| {
        pen.text(x, y + 2.5, QUIET, &what)?;
        if planned.is_empty() {
            pen.line((x + 28.0, y + HAND - 1.5), (x + COLUMN, y + HAND - 1.5), true);
            return Ok(());
        }
        pen.paragraph(
            (x + 28.0, y + 0.4),
            45.0,
            3,
            Face::plain(if planned.len() > 50 { 7 } else { 9 }),
            &planned,
        )?;
        pen.tick(x + 75.0, y + 1.8, QUIET, "so")?;
        blanks(pen, x + 88.0, y, &[("else", COLUMN - 88.0)])
    })
}

fn check(check: &Check) -> Block {
    let (what, limits) = (check.what.clone(), check.limits.clone());
    Block::new(LIMITED, move |pen, x, y| match &limits {
        Some(limits) => {
            pen.paragraph((x, y), 92.0, 1, BODY, &what)?;
            pen.paragraph((x, y + 4.2), 92.0, 1, BODY, limits)?;
            blanks(pen, x + 94.0, y, &[("read", COLUMN - 94.0)])
        }
        None => {
            pen.paragraph((x, y), 84.0, 2, BODY, &what)?;
            let right = x + 86.0 + pen.tick(x + 86.0, y + 1.0, QUIET, "in order")?;
            pen.tick(right, y + 1.0, QUIET, "not").map(drop)
        }
    })
}
