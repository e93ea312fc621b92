//! The decoration of a page: grounds and frames of passages, bars and rules.

use crate::paginate::Page;
use crate::piece::{Area, Around};
use pages::classes::AsideClass;
use pages::drawing::Ink;

/// All areas of a page in the order of painting, those of one ink together: grounds lie behind everything else.
/// Positions count from the top of the text.
pub(crate) fn of(page: &Page) -> Vec<Area> {
    let mut areas: Vec<Area> = stretches(page).iter().flat_map(Stretch::areas).collect();
    for placed in &page.pieces {
        let above = placed.piece.above.iter().filter(|_| placed.gap > 0.0);
        areas.extend(above.chain(&placed.piece.areas).map(|area| Area { y: area.y + placed.y, ..*area }));
    }
    areas.sort_by_key(|area| (area.ink != Ink::Tint, area.ink));
    areas
}

/// A passage that is set off, as far as it goes on one page.
struct Stretch {
    around: Around,
    top: f32,
    bottom: f32,
}

/// The passages of a page, from the outermost.
fn stretches(page: &Page) -> Vec<Stretch> {
    let mut all: Vec<Stretch> = Vec::new();
    let mut before: &[Around] = &[];
    for placed in &page.pieces {
        let bottom = placed.y + placed.piece.height;
        for around in &placed.piece.around {
            let goes_on = before.iter().any(|other| other.id == around.id);
            match all.iter_mut().rfind(|stretch| goes_on && stretch.around.id == around.id) {
                Some(stretch) => stretch.bottom = bottom,
                None => all.push(Stretch { around: *around, top: placed.y, bottom }),
            }
        }
        before = &placed.piece.around;
    }
    all
}

impl Stretch {
    /// Ground and frame.
    fn areas(&self) -> Vec<Area> {
        let Self { around: Around { class, x, width, .. }, top, bottom } = *self;
        let whole = |ink| Area { x, y: top, width, height: bottom - top, ink };
        let bar = |width, ink| Area { width, ..whole(ink) };
        match class {
            AsideClass::VerdictPass => vec![whole(Ink::Tint), bar(3.6, Ink::Pass)],
            AsideClass::VerdictFail => vec![whole(Ink::Tint), bar(3.6, Ink::Fail)],
            AsideClass::VerdictUndetermined => vec![whole(Ink::Tint), bar(3.6, Ink::Undetermined)],
            AsideClass::Note => vec![bar(2.0, Ink::Rule)],
            AsideClass::Caution => frame(whole(Ink::Text), 0.9),
            AsideClass::Invented | AsideClass::State => frame(whole(Ink::Quiet), 0.6),
        }
    }
}

/// The edges of an area, on its inside.
fn frame(area: Area, thick: f32) -> Vec<Area> {
    let side = Area { width: thick, ..area };
    let edge = Area { height: thick, ..area };
    vec![
        side,
        Area { x: area.x + area.width - thick, ..side },
        edge,
        Area { y: area.y + area.height - thick, ..edge },
    ]
}
