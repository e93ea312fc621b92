//! The outline: headings down to the third level, nested.

use crate::paginate::Page;
use crate::style;
use krilla::destination::XyzDestination;
use krilla::geom::Point;
use krilla::outline::{Outline, OutlineNode};

/// The outline of some pages; a document without headings gets its title.
pub(crate) fn outline(pages: &[Page], title: &str, top: f32) -> Outline {
    let mut entries = Vec::new();
    for (number, page) in pages.iter().enumerate() {
        for placed in &page.pieces {
            if let Some((level, words)) = &placed.piece.outline
                && *level <= 3
            {
                entries.push((*level, words.clone(), number, top + placed.y));
            }
        }
    }
    if entries.is_empty() {
        entries.push((1, title.to_owned(), 0, top));
    }
    let mut outline = Outline::new();
    let mut rest = entries.as_slice();
    while !rest.is_empty() {
        let (node, after) = branch(rest);
        if let Some(node) = node {
            outline.push_child(node);
        }
        rest = after;
    }
    outline
}

type Entry = (u8, String, usize, f32);

/// Takes the first entry with those below it.
fn branch(entries: &[Entry]) -> (Option<OutlineNode>, &[Entry]) {
    let Some(((level, words, page, y), mut rest)) = entries.split_first() else { return (None, &[]) };
    let to = XyzDestination::new(*page, Point::from_xy(style::SIDE, (*y - 8.0).max(0.0)));
    let mut node = OutlineNode::new(words.clone(), to);
    while rest.first().is_some_and(|e| e.0 > *level) {
        let (child, after) = branch(rest);
        if let Some(child) = child {
            node.push_child(child);
        }
        rest = after;
    }
    (Some(node), rest)
}
