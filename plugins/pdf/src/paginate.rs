//! Pieces to pages: what must stay together does, heads of tables come again.

use crate::flow::Flow;
use crate::piece::Piece;

/// A piece on a page.
#[derive(Debug)]
pub(crate) struct Placed {
    /// Distance of its top from the top of the text.
    pub y: f32,
    /// Space above it that was kept, which belongs to the passages around it.
    pub gap: f32,
    /// The piece.
    pub piece: Piece,
}

/// A page.
#[derive(Debug, Default)]
pub(crate) struct Page {
    /// Its pieces from top to bottom.
    pub pieces: Vec<Placed>,
}

/// Least part of its size at which a picture is set so that it ends a page instead of leaving it half empty: the words
/// in it, of 7.5 points, come to 6 then, and the smallest print that is read without effort is not much less.
const LEAST_PICTURE: f32 = 0.8;

/// Fills pages of a height.
pub(crate) fn paginate(pieces: Vec<Piece>, heads: &[Vec<Piece>], height: f32) -> Vec<Page> {
    let mut out = Pages { pages: vec![Page::default()], heads, height, y: 0.0, after: 0.0, fresh: true };
    let mut chain: Vec<Piece> = Vec::new();
    for piece in pieces {
        let open = piece.keep;
        chain.push(piece);
        if !open {
            out.chain(std::mem::take(&mut chain));
        }
    }
    out.chain(chain);
    out.pages
}

struct Pages<'a> {
    pages: Vec<Page>,
    heads: &'a [Vec<Piece>],
    height: f32,
    y: f32,
    after: f32,
    /// Whether the page is still empty.
    fresh: bool,
}

impl Pages<'_> {
    /// Places pieces that stay together, on a new page where they don't fit on this one.
    fn chain(&mut self, mut chain: Vec<Piece>) {
        let Some(first) = chain.first() else { return };
        let mut total = 0.0;
        let mut after = 0.0f32;
        for (i, piece) in chain.iter().enumerate() {
            total += if i == 0 { piece.height } else { piece.height + piece.before.max(after) };
            after = piece.after;
        }
        let gap = if self.fresh { 0.0 } else { self.after.max(first.before) };
        let fits = self.y + gap + total <= self.height + 0.01;
        let head: f32 = self.head(first).iter().map(|h| h.height).sum();
        let could = head + total <= self.height + 0.01;
        let over = self.y + gap + total - self.height;
        let pictures: f32 = chain.iter().map(Piece::picture_height).sum();
        let smaller = !self.fresh && !first.new_page && !fits && over <= pictures * (1.0 - LEAST_PICTURE);
        if smaller {
            chain.iter_mut().for_each(|piece| piece.shrink(1.0 - over / pictures));
        } else if !self.fresh && (first.new_page || (!fits && could)) {
            self.turn(first);
        }
        for piece in chain {
            self.place(piece);
        }
    }

    fn place(&mut self, piece: Piece) {
        let mut gap = if self.fresh { 0.0 } else { self.after.max(piece.before) };
        if !self.fresh && self.y + gap + piece.height > self.height + 0.01 {
            self.turn(&piece);
            gap = 0.0;
        }
        self.put(piece, gap);
    }

    fn put(&mut self, piece: Piece, gap: f32) {
        let y = self.y + gap;
        self.y = y + piece.height;
        self.after = piece.after;
        self.fresh = false;
        if let Some(page) = self.pages.last_mut() {
            page.pieces.push(Placed { y, gap, piece });
        }
    }

    fn head(&self, piece: &Piece) -> &[Piece] {
        piece.table.and_then(|t| self.heads.get(t)).map_or(&[], Vec::as_slice)
    }

    /// Starts a page; a table that goes on starts it with its head.
    fn turn(&mut self, next: &Piece) {
        self.pages.push(Page::default());
        (self.y, self.after, self.fresh) = (0.0, 0.0, true);
        let head = self.head(next).to_vec();
        for mut piece in head {
            piece.around.clone_from(&next.around);
            self.put(piece, 0.0);
        }
        // The head alone does not make the page used.
        self.fresh = true;
    }
}

/// Fills pages with a flow's pieces.
pub(crate) fn pages(flow: &mut Flow<'_>, height: f32) -> Vec<Page> {
    paginate(std::mem::take(&mut flow.pieces), &flow.heads, height)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn piece(height: f32, keep: bool) -> Piece {
        Piece { height, keep, ..Piece::default() }
    }

    fn shape(pages: &[Page]) -> Vec<Vec<f32>> {
        pages.iter().map(|p| p.pieces.iter().map(|p| p.piece.height).collect()).collect()
    }

    #[test]
    fn what_belongs_together_stays_together() {
        let pages = paginate(
            vec![piece(60.0, false), piece(20.0, true), piece(30.0, false), piece(10.0, false)],
            &[],
            100.0,
        );
        assert_eq!(shape(&pages), [vec![60.0], vec![20.0, 30.0, 10.0]]);
    }

    #[test]
    fn a_picture_that_almost_fits_is_set_smaller() {
        let picture = |h| Piece { picture: Some([50.0, h]), ..piece(h, true) };
        let figure = |h| vec![piece(60.0, false), picture(h), piece(5.0, false)];
        let pages = paginate(figure(40.0), &[], 100.0);
        assert_eq!(pages.len(), 1);
        assert!((pages[0].pieces[1].piece.height - 35.0).abs() < 0.01);
        assert!((pages[0].pieces[2].y - 95.0).abs() < 0.01);
        // Below four fifths of its size it keeps its size and goes on the next page.
        assert_eq!(shape(&paginate(figure(44.0), &[], 100.0)), [vec![60.0], vec![44.0, 5.0]]);
    }

    #[test]
    fn what_never_fits_together_is_parted() {
        let pages = paginate(vec![piece(60.0, true), piece(60.0, true), piece(60.0, false)], &[], 100.0);
        assert_eq!(shape(&pages), [vec![60.0], vec![60.0], vec![60.0]]);
    }

    #[test]
    fn a_row_comes_under_the_head_that_it_names() {
        let row = |table| Piece { height: 50.0, table: Some(table), ..Piece::default() };
        let heads = vec![vec![piece(7.0, true)], vec![piece(7.0, true), piece(9.0, true)]];
        let pages = paginate(vec![row(0), row(1), row(1), row(0)], &heads, 100.0);
        assert_eq!(shape(&pages), [vec![50.0, 50.0], vec![7.0, 9.0, 50.0], vec![7.0, 50.0]]);
    }

    #[test]
    fn heads_come_again_and_spaces_do_not() {
        let row = |h| Piece { height: h, table: Some(0), before: 5.0, ..Piece::default() };
        let heads = vec![vec![piece(7.0, true)]];
        let pages = paginate(vec![piece(7.0, true), row(50.0), row(50.0), row(30.0)], &heads, 100.0);
        assert_eq!(shape(&pages), [vec![7.0, 50.0], vec![7.0, 50.0, 30.0]]);
        assert_eq!(pages[1].pieces[1].y, 7.0);
    }
}
