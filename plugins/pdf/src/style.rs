//! The looks of the report: sizes, leading, space, measured in points.

use crate::fonts::Style;
use pages::classes::SpanClass;
use pages::drawing::Ink;
use pages::model::RunStyle;
use pages::plot::Outcome;

/// Distance from the paper's edge to the text, left and right.
pub(crate) const SIDE: f32 = 62.0;
/// Distance from the upper edge to the text.
pub(crate) const TOP: f32 = 78.0;
/// Distance from the lower edge to the text.
pub(crate) const BOTTOM: f32 = 74.0;
/// Baseline of the running head from the upper edge.
pub(crate) const HEAD: f32 = 44.0;
/// Baseline of the running foot from the lower edge.
pub(crate) const FOOT: f32 = 40.0;

/// How a stretch of text is set.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Type {
    /// Size.
    pub size: f32,
    /// Distance of baselines.
    pub leading: f32,
    /// Whether all of it is semibold.
    pub strong: bool,
    /// Ink.
    pub ink: Ink,
}

const fn of(size: f32, leading: f32, strong: bool, ink: Ink) -> Type {
    Type { size, leading, strong, ink }
}

/// Running text.
pub(crate) const TEXT: Type = of(9.6, 13.6, false, Ink::Text);
/// The paragraph that sums up.
pub(crate) const LEAD: Type = of(11.2, 16.0, false, Ink::Text);
/// Small print.
pub(crate) const SMALL: Type = of(8.2, 11.4, false, Ink::Quiet);
/// The line above a title.
pub(crate) const KICKER: Type = of(8.6, 12.0, true, Ink::Accent);
/// The word of the verdict.
pub(crate) const VERDICT: Type = of(17.0, 22.0, true, Ink::Text);
/// Running head and foot.
pub(crate) const RUNNING: Type = of(7.8, 10.0, false, Ink::Quiet);
/// Names in lists of facts.
pub(crate) const NAME: Type = of(8.4, 12.4, false, Ink::Quiet);
/// Values in lists of facts.
pub(crate) const VALUE: Type = of(9.2, 12.4, false, Ink::Text);
/// Tables.
pub(crate) const CELL: Type = of(8.6, 11.6, false, Ink::Text);
/// Heads of tables.
pub(crate) const CELL_HEAD: Type = of(7.8, 10.2, true, Ink::Quiet);
/// Tables of many rows.
pub(crate) const DENSE: Type = of(7.9, 10.4, false, Ink::Text);
/// Words below a picture or above a table.
pub(crate) const CAPTION: Type = of(8.4, 11.6, false, Ink::Quiet);

/// Type of a heading.
pub(crate) const fn heading(level: u8) -> Type {
    match level {
        1 => of(23.0, 28.0, true, Ink::Text),
        2 => of(14.4, 19.0, true, Ink::Text),
        3 => of(11.0, 15.0, true, Ink::Text),
        _ => of(9.6, 13.6, true, Ink::Quiet),
    }
}

/// Space before and after a heading.
pub(crate) const fn heading_space(level: u8) -> (f32, f32) {
    match level {
        1 => (0.0, 8.0),
        2 => (26.0, 8.0),
        3 => (17.0, 5.0),
        _ => (11.0, 3.0),
    }
}

/// How one run is set within a type.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Look {
    /// Style of type.
    pub style: Style,
    /// Size.
    pub size: f32,
    /// Height of its baseline over the line's.
    pub rise: f32,
    /// Ink.
    pub ink: Ink,
    /// Mark before it.
    pub mark: Option<Outcome>,
    /// Whether it is never broken.
    pub together: bool,
}

/// How a run is set within a type.
pub(crate) fn look(run: &RunStyle, within: Type) -> Look {
    let strong = run.strong || within.strong;
    let mut look = Look {
        style: match (run.code, strong, run.emphasis) {
            (true, _, _) => Style::Code,
            (_, false, false) => Style::Regular,
            (_, false, true) => Style::Italic,
            (_, true, false) => Style::Strong,
            (_, true, true) => Style::StrongItalic,
        },
        size: if run.code { within.size * 0.88 } else { within.size },
        rise: 0.0,
        ink: within.ink,
        mark: None,
        together: run.whole,
    };
    let verdict = |look: &mut Look, outcome: Outcome| {
        look.style = Style::Strong;
        look.ink = outcome.ink();
        look.mark = Some(outcome);
        look.together = true;
    };
    match run.class {
        None => {}
        Some(SpanClass::VerdictPass) => verdict(&mut look, Outcome::Pass),
        Some(SpanClass::VerdictFail) => verdict(&mut look, Outcome::Fail),
        Some(SpanClass::VerdictUndetermined) => verdict(&mut look, Outcome::Undetermined),
        Some(SpanClass::Quiet) => look.ink = Ink::Quiet,
        Some(SpanClass::Missing) => {
            look.ink = Ink::Undetermined;
            look.together = true;
            look.style = if strong { Style::StrongItalic } else { Style::Italic };
        }
        Some(SpanClass::StatusMark) => {
            look.rise = look.size * 0.32;
            look.size *= 0.74;
            look.ink = Ink::Quiet;
        }
        // A reader's voice is told the language; the eye is told by the mark behind it.
        Some(SpanClass::English) => {}
        Some(SpanClass::Together) => look.together = true,
        Some(SpanClass::Origin) => {
            look.together = true;
            look.ink = Ink::Quiet;
            look.size *= 0.94;
        }
    }
    if run.link.is_some() && look.ink == Ink::Text {
        look.ink = Ink::Accent;
    }
    look
}
