//! Text to lines: fonts by sign, shaping, directions, line breaks.
//!
//! Shaping is harfrust's, break opportunities are icu_segmenter's (UAX 14), directions unicode-bidi's (UAX 9).
//! Glyphs are kept in ems, so that one shaping serves every size.

use crate::east;
use crate::fonts::{Book, is_ignorable};
use crate::style::{Look, Type, look};
use harfrust::{Buffer, Direction, Script, ShapeOptions, ShapePlan, ShaperFont, shape};
use icu_segmenter::{GraphemeClusterSegmenter, LineSegmenter};
use krilla::text::{GlyphId, KrillaGlyph};
use pages::model::{Run, RunKind};
use pages::plot::Outcome;
use std::collections::HashMap;
use std::ops::Range;
use std::rc::Rc;
use std::sync::Arc;

/// Stands in the text where a mark is drawn.
const MARK: char = '\u{fffc}';
/// What is at most this many ems wide asks not to be broken.
const FEW: f32 = 4.3;
/// Width of a mark and the space after it, in ems.
const MARK_WIDTH: f32 = 1.22;

/// A sign that no font has, and the text around it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct NoGlyph {
    /// The sign.
    pub sign: char,
    /// Where it stands.
    pub around: String,
}

/// A shaped sign, in ems.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Glyph {
    /// Its number in the font.
    pub id: u32,
    /// Byte in the item's text.
    pub cluster: u32,
    /// To the next one.
    pub advance: f32,
    /// Offset to the right.
    pub dx: f32,
    /// Offset upwards.
    pub dy: f32,
}

/// A text of one font and direction, shaped.
#[derive(Debug)]
struct Shaped {
    glyphs: Vec<Glyph>,
    /// Sum of the advances.
    advance: f32,
    /// The glyphs as a line sets them that holds the whole text: most cells of a table are such lines.
    whole: Rc<[KrillaGlyph]>,
}

/// A stretch of text of one look, font and direction.
#[derive(Debug)]
struct Item {
    range: Range<usize>,
    level: u8,
    span: usize,
    content: Content,
}

#[derive(Debug)]
enum Content {
    Glyphs { face: usize, shaped: Rc<Shaped> },
    Mark(Outcome),
}

/// A stretch of one look.
#[derive(Debug)]
pub(crate) struct Span {
    range: Range<usize>,
    /// How it is set.
    pub look: Look,
    /// Where it leads.
    pub link: Option<Arc<str>>,
}

/// A paragraph, shaped but not yet broken into lines.
#[derive(Debug)]
pub(crate) struct Paragraph {
    text: Rc<str>,
    spans: Vec<Span>,
    items: Vec<Item>,
    /// Byte and width of each cluster, in order of the text.
    clusters: Vec<(usize, f32)>,
    /// Bytes after which a line may end, and whether it must.
    breaks: Vec<(usize, bool)>,
    /// Distance of baselines.
    pub leading: f32,
    /// Room that stays empty behind a number at the right margin.
    pub free: f32,
    size: f32,
}

/// A line.
#[derive(Debug, Default)]
pub(crate) struct Line {
    /// Width without the space at its end.
    pub width: f32,
    /// Its parts from left to right.
    pub parts: Vec<Part>,
}

/// A part of a line.
#[derive(Debug)]
pub(crate) struct Part {
    /// Distance from the line's left end.
    pub x: f32,
    /// Width.
    pub width: f32,
    /// Its span.
    pub span: usize,
    /// Glyphs of a font with their text, or a mark.
    pub content: PartContent,
}

/// What a part is.
#[derive(Debug)]
pub(crate) enum PartContent {
    /// Glyphs; their text ranges count from the start of `text` within the paragraph.
    Glyphs {
        /// Number of the font.
        face: usize,
        /// The glyphs.
        glyphs: Rc<[KrillaGlyph]>,
        /// Their text within the paragraph.
        text: Range<usize>,
    },
    /// A mark.
    Mark(Outcome),
}

/// Shapes text with the fonts of a book; keeps what it has shaped.
pub(crate) struct Shaper<'b> {
    book: &'b Book,
    fonts: Vec<ShaperFont<'b, 'static>>,
    plans: HashMap<(usize, Option<Script>, bool), ShapePlan>,
    known: Vec<HashMap<String, Rc<Shaped>>>,
    /// Where each text may be broken; the words of a report come again and again.
    breaks: HashMap<Rc<str>, Rc<[usize]>>,
    buffer: Option<Buffer>,
}

impl<'b> Shaper<'b> {
    /// A shaper over a book.
    pub(crate) fn new(book: &'b Book) -> Self {
        Self {
            book,
            fonts: book.faces().iter().map(|f| ShaperFont::new(&f.shape)).collect(),
            plans: HashMap::new(),
            known: (0..book.faces().len() * 4).map(|_| HashMap::new()).collect(),
            breaks: HashMap::new(),
            buffer: None,
        }
    }

    /// Shapes runs in a type.
    ///
    /// # Errors
    /// When no font has a sign.
    pub(crate) fn paragraph(&mut self, runs: &[Run], within: Type) -> Result<Paragraph, NoGlyph> {
        let mut text = String::new();
        let mut spans: Vec<Span> = Vec::new();
        for run in runs {
            let start = text.len();
            let mut look = look(&run.style, within);
            match &run.kind {
                RunKind::Text(words) => {
                    // One mark before a verdict, not one before each of its runs.
                    let again =
                        spans.last().is_some_and(|s| s.look.mark.is_some() && s.look.mark == look.mark);
                    if look.mark.is_some() && !again {
                        text.push(MARK);
                    }
                    let unset = |c: char| matches!(c, MARK | '\u{feff}' | '\n' | '\r');
                    if words.contains(unset) {
                        text.extend(words.chars().filter(|c| !unset(*c)));
                    } else {
                        text.push_str(words);
                    }
                }
                RunKind::Break => {
                    // A space as well, so that words of two lines stay two words for who reads the text by itself.
                    text.push_str(" \n");
                    look.mark = None;
                }
                RunKind::PageNumber | RunKind::PageCount => {}
            }
            if text.len() > start {
                spans.push(Span { range: start..text.len(), look, link: run.style.link.clone() });
            }
        }
        let mut p = Paragraph {
            text: text.into(),
            spans,
            items: Vec::new(),
            clusters: Vec::new(),
            breaks: Vec::new(),
            leading: within.leading,
            free: 0.0,
            size: within.size,
        };
        self.shape_all(&mut p)?;
        let ends = self.ends(&p.text);
        p.take_breaks(&ends);
        Ok(p)
    }

    /// Bytes of a text before which a line may end.
    fn ends(&mut self, text: &Rc<str>) -> Rc<[usize]> {
        if let Some(ends) = self.breaks.get(text) {
            return Rc::clone(ends);
        }
        let segmenter =
            LineSegmenter::new_for_non_complex_scripts(icu_segmenter::options::LineBreakOptions::default());
        let ends: Rc<[usize]> = segmenter.segment_str(text).filter(|at| *at > 0).collect();
        self.breaks.insert(Rc::clone(text), Rc::clone(&ends));
        ends
    }

    fn shape_all(&mut self, p: &mut Paragraph) -> Result<(), NoGlyph> {
        let text = Rc::clone(&p.text);
        let levels = levels(&text);
        let spans = std::mem::take(&mut p.spans);
        for (index, span) in spans.iter().enumerate() {
            match self.book.plainly(span.look.style, &text[span.range.clone()]) {
                Some(face) if levels.is_none() => self.plain(face, index, span.range.clone(), p),
                _ => self.mixed(index, span, levels.as_deref(), p)?,
            }
        }
        p.spans = spans;
        p.clusters.reserve_exact(text.len());
        for item in &p.items {
            let span = p.spans.get(item.span).map_or(p.size, |s| s.look.size);
            match &item.content {
                Content::Mark(_) => p.clusters.push((item.range.start, MARK_WIDTH * span)),
                Content::Glyphs { shaped, .. } => {
                    let first = p.clusters.len();
                    for g in &shaped.glyphs {
                        p.clusters.push((item.range.start + g.cluster as usize, g.advance * span));
                    }
                    if item.level % 2 == 1 {
                        p.clusters[first..].sort_by_key(|c| c.0);
                    }
                }
            }
        }
        Ok(())
    }

    /// Shapes a span that one font sets from left to right: one item for each of its lines.
    fn plain(&mut self, face: usize, span: usize, range: Range<usize>, p: &mut Paragraph) {
        let text = Rc::clone(&p.text);
        let mut start = range.start;
        for part in text[range].split('\n') {
            let mut open = Some(Open { start, face, level: 0 });
            start += part.len();
            if !part.is_empty() {
                self.close(&mut open, start, span, p);
            }
            start += 1;
        }
    }

    /// Shapes a span cluster by cluster: each may want another font or direction.
    fn mixed(
        &mut self,
        index: usize,
        span: &Span,
        levels: Option<&[u8]>,
        p: &mut Paragraph,
    ) -> Result<(), NoGlyph> {
        let text = Rc::clone(&p.text);
        let (book, style) = (self.book, span.look.style);
        let mut open: Option<Open> = None;
        for range in clusters(&text, span.range.clone()) {
            let cluster = &text[range.clone()];
            let level = levels.and_then(|l| l.get(range.start)).copied().unwrap_or(0);
            if cluster == "\n" {
                self.close(&mut open, range.start, index, p);
                continue;
            }
            if let (true, Some(outcome)) = (cluster.starts_with(MARK), span.look.mark) {
                self.close(&mut open, range.start, index, p);
                let end = range.start + MARK.len_utf8();
                p.items.push(Item {
                    range: range.start..end,
                    level,
                    span: index,
                    content: Content::Mark(outcome),
                });
                continue;
            }
            let blank = cluster.chars().all(|c| c == ' ' || is_ignorable(c));
            let picked = match &open {
                // Spaces and joiners go with what is before them, where its font has a space at all.
                Some(open) if blank && book.face(open.face).is_some_and(|f| f.has(' ')) => Ok(open.face),
                _ => book.pick(style, cluster),
            };
            let none = |sign| NoGlyph { sign, around: around(&text, range.start) };
            match picked {
                Ok(face) => self.go_on(&mut open, Open { start: range.start, face, level }, index, p),
                Err(sign) if cluster.chars().nth(1).is_none() => return Err(none(sign)),
                // No font has all signs of the cluster: one for each.
                Err(_) => {
                    let mut faces = Vec::new();
                    for (at, sign) in cluster.char_indices() {
                        let face = book.pick(style, sign.encode_utf8(&mut [0; 4])).map_err(none)?;
                        faces.push((range.start + at, face));
                    }
                    for (start, face) in faces {
                        self.go_on(&mut open, Open { start, face, level }, index, p);
                    }
                }
            }
        }
        self.close(&mut open, span.range.end, index, p);
        Ok(())
    }

    /// Goes on with the open stretch where font and level stay the same, else starts the next.
    fn go_on(&mut self, open: &mut Option<Open>, next: Open, span: usize, p: &mut Paragraph) {
        if open.as_ref().is_none_or(|o| o.face != next.face || o.level != next.level) {
            self.close(open, next.start, span, p);
            *open = Some(next);
        }
    }

    /// Makes an item of the open stretch.
    fn close(&mut self, open: &mut Option<Open>, end: usize, span: usize, p: &mut Paragraph) {
        if let Some(Open { start, face, level }) = open.take() {
            let tight = east::tight(&p.text, end);
            let shaped = self.shape(face, &p.text[start..end], level % 2 == 1, tight);
            let content = Content::Glyphs { face, shaped };
            p.items.push(Item { range: start..end, level, span, content });
        }
    }

    /// Shapes a text of one font and direction. `tight` where its last sign gives up the blank behind it.
    fn shape(&mut self, face: usize, text: &str, rtl: bool, tight: bool) -> Rc<Shaped> {
        let slot = face * 4 + usize::from(tight) * 2 + usize::from(rtl);
        if let Some(shaped) = self.known.get(slot).and_then(|m| m.get(text)) {
            return Rc::clone(shaped);
        }
        let mut buffer = self.buffer.take().unwrap_or_default();
        buffer.clear();
        buffer.push_str(text);
        buffer.guess_segment_properties();
        let direction = if rtl { Direction::RightToLeft } else { Direction::LeftToRight };
        buffer.set_direction(direction);
        let mut glyphs = Vec::new();
        if let (Some(font), Some(data)) = (self.fonts.get(face), self.book.face(face)) {
            let script = buffer.script();
            let plan = self
                .plans
                .entry((face, script, rtl))
                .or_insert_with(|| ShapePlan::new(&data.shape, direction, script, buffer.language(), &[]));
            // Plan and buffer agree in direction and script, so this can't fail; if it did, no glyph would be
            // drawn and the conformance check would miss none, hence the empty result is caught by tests.
            if shape(font, &mut buffer, ShapeOptions::new().plan(Some(plan))).is_ok() {
                glyphs = buffer
                    .glyph_infos()
                    .iter()
                    .zip(buffer.glyph_positions())
                    .map(|(info, at)| Glyph {
                        id: info.glyph_id,
                        cluster: info.cluster,
                        advance: at.x_advance as f32 / data.units,
                        dx: at.x_offset as f32 / data.units,
                        dy: at.y_offset as f32 / data.units,
                    })
                    .collect();
            }
        }
        self.buffer = Some(buffer);
        east::close_up(&mut glyphs, text, tight);
        let advance = glyphs.iter().map(|g| g.advance).sum();
        let whole = ranged(&glyphs, 0, &(0..text.len()));
        let shaped = Rc::new(Shaped { glyphs, advance, whole });
        if let Some(known) = self.known.get_mut(slot) {
            known.insert(text.to_owned(), Rc::clone(&shaped));
        }
        shaped
    }
}

/// A stretch of text that goes on: where it started, its font and level.
struct Open {
    start: usize,
    face: usize,
    level: u8,
}

/// Some text before and after a byte.
fn around(text: &str, at: usize) -> String {
    let before: Vec<char> = text[..at].chars().rev().take(24).collect();
    let after = text[at..].chars().take(16);
    before.into_iter().rev().chain(after).map(|c| if c == '\n' || c == MARK { ' ' } else { c }).collect()
}

/// Grapheme clusters within a range. Plain Latin text takes the short way: each byte is one.
fn clusters(text: &str, range: Range<usize>) -> Vec<Range<usize>> {
    let part = &text[range.clone()];
    if part.is_ascii() {
        return range.map(|i| i..i + 1).collect();
    }
    let ends: Vec<usize> = GraphemeClusterSegmenter::new().segment_str(part).collect();
    let mut out = Vec::with_capacity(ends.len());
    for pair in ends.windows(2) {
        if let [a, b] = pair {
            // A mark before a word may be taken for its base; it never is.
            let start = range.start + a;
            if part[*a..*b].starts_with(MARK) && *b - *a > MARK.len_utf8() {
                let middle = start + MARK.len_utf8();
                out.push(start..middle);
                out.push(middle..range.start + b);
            } else {
                out.push(start..range.start + b);
            }
        }
    }
    out
}

/// Level of each byte where anything runs from right to left; none where nothing does.
fn levels(text: &str) -> Option<Vec<u8>> {
    let rtl = |c: char| matches!(c as u32, 0x590..=0x8ff | 0x200f | 0x202b | 0x202e | 0x2067 | 0xfb1d..=0xfdff | 0xfe70..=0xfeff | 0x1_0800..=0x1_0fff | 0x1_e800..=0x1_efff);
    if !text.chars().any(rtl) {
        return None;
    }
    let info = unicode_bidi::BidiInfo::new(text, None);
    Some(info.levels.iter().map(|l| l.number()).collect())
}

impl Paragraph {
    /// The paragraph's text.
    pub(crate) fn text(&self) -> &Rc<str> {
        &self.text
    }

    /// A span by its number.
    pub(crate) fn span(&self, index: usize) -> Option<&Span> {
        self.spans.get(index)
    }

    /// Size of its type.
    pub(crate) fn size(&self) -> f32 {
        self.size
    }

    /// Whether there is nothing to set.
    pub(crate) fn is_empty(&self) -> bool {
        self.text.is_empty()
    }

    /// Takes all breaks away but the hard ones.
    pub(crate) fn keep_together(&mut self) {
        let end = self.text.len();
        self.breaks.retain(|(at, must)| *must || *at == end);
    }

    /// Takes those of a text's breaks that the looks of its spans let stand.
    fn take_breaks(&mut self, ends: &[usize]) {
        let text = &*self.text;
        let after_mark = |at: usize| text[..at].ends_with(MARK);
        let together =
            |at: usize| self.spans.iter().any(|s| s.look.together && at > s.range.start && at < s.range.end);
        self.breaks.reserve_exact(ends.len());
        for &at in ends {
            let must = text[..at].ends_with('\n');
            if must || at == text.len() || !(after_mark(at) || together(at)) {
                self.breaks.push((at, must));
            }
        }
    }

    /// Width from byte to byte.
    fn width_of(&self, from: usize, to: usize) -> f32 {
        let first = self.clusters.partition_point(|c| c.0 < from);
        self.clusters[first..].iter().take_while(|c| c.0 < to).map(|c| c.1).sum()
    }

    /// End of a stretch without the white space at its end.
    fn trimmed(&self, from: usize, to: usize) -> usize {
        from + self.text[from..to]
            .trim_end_matches([' ', '\n', '\u{2028}', '\u{2029}', '\u{b}', '\u{c}', '\u{85}'])
            .len()
    }

    /// Width of the widest stretch without a break, and of the widest line where only hard breaks count.
    pub(crate) fn extent(&self) -> (f32, f32) {
        let (mut word, mut line, mut current) = (0.0f32, 0.0f32, 0.0f32);
        let mut from = 0;
        for &(at, must) in &self.breaks {
            let bare = self.width_of(from, self.trimmed(from, at));
            word = word.max(bare);
            line = line.max(current + bare);
            current = if must { 0.0 } else { current + self.width_of(from, at) };
            from = at;
        }
        // A few signs stay together where the script lets them part anywhere: no column of single signs.
        (word.max(line.min(FEW * self.size)) + self.free, line + self.free)
    }

    /// Breaks the paragraph into lines of at most `width`; words that are longer are cut between clusters.
    pub(crate) fn lines(&self, width: f32) -> Vec<Line> {
        let limit = width.max(1.0) + 0.02;
        let mut lines = Vec::new();
        let (mut start, mut filled, mut from) = (0, 0.0f32, 0);
        for &(at, must) in &self.breaks {
            let bare_end = self.trimmed(from, at);
            let bare = self.width_of(from, bare_end);
            if filled > 0.0 && filled + bare > limit {
                lines.push(self.line(start, from));
                (start, filled) = (from, 0.0);
            }
            if bare > limit {
                let first = self.clusters.partition_point(|c| c.0 < from);
                let mut last = usize::MAX;
                for &(byte, w) in self.clusters[first..].iter().take_while(|c| c.0 < bare_end) {
                    if byte != last && filled > 0.0 && filled + w > limit {
                        lines.push(self.line(start, byte));
                        (start, filled) = (byte, 0.0);
                    }
                    filled += w;
                    last = byte;
                }
                filled += self.width_of(bare_end, at);
            } else {
                filled += self.width_of(from, at);
            }
            if must {
                lines.push(self.line(start, at));
                (start, filled) = (at, 0.0);
            }
            from = at;
        }
        if start < self.text.len() || lines.is_empty() {
            lines.push(self.line(start, self.text.len()));
        }
        lines
    }

    fn line(&self, from: usize, to: usize) -> Line {
        let end = self.trimmed(from, to);
        let mut pieces: Vec<(&Item, Range<usize>)> = Vec::new();
        let first = self.items.partition_point(|i| i.range.end <= from);
        for item in self.items[first..].iter().take_while(|i| i.range.start < to) {
            pieces.push((item, item.range.start.max(from)..item.range.end.min(to)));
        }
        reorder(&mut pieces);
        let mut line = Line { width: self.width_of(from, end), parts: Vec::new() };
        let mut x = 0.0;
        for (item, range) in pieces {
            let size = self.spans.get(item.span).map_or(self.size, |s| s.look.size);
            let (width, content) = match &item.content {
                Content::Mark(outcome) => (MARK_WIDTH * size, PartContent::Mark(*outcome)),
                Content::Glyphs { face, shaped } => {
                    let (advance, glyphs) = if range == item.range {
                        (shaped.advance, Rc::clone(&shaped.whole))
                    } else {
                        let within = |g: &&Glyph| range.contains(&(item.range.start + g.cluster as usize));
                        let inside: Vec<Glyph> = shaped.glyphs.iter().filter(within).copied().collect();
                        let advance = inside.iter().map(|g| g.advance).sum();
                        (advance, ranged(&inside, item.range.start, &range))
                    };
                    (advance * size, PartContent::Glyphs { face: *face, glyphs, text: range })
                }
            };
            line.parts.push(Part { x, width, span: item.span, content });
            x += width;
        }
        line
    }
}

/// Glyphs with the text that each stands for, counted from the start of `text`.
fn ranged(glyphs: &[Glyph], base: usize, text: &Range<usize>) -> Rc<[KrillaGlyph]> {
    let mut starts: Vec<usize> = glyphs.iter().map(|g| base + g.cluster as usize).collect();
    let ascending = starts.is_sorted();
    if !ascending {
        starts.sort_unstable();
    }
    starts.dedup();
    let mut next = 0;
    glyphs
        .iter()
        .map(|g| {
            let start = base + g.cluster as usize;
            if ascending {
                next += starts[next..].iter().take_while(|s| **s <= start).count();
            } else {
                next = starts.partition_point(|s| *s <= start);
            }
            let end = starts.get(next).copied().unwrap_or(text.end);
            KrillaGlyph {
                glyph_id: GlyphId::new(g.id),
                text_range: start - text.start..end - text.start,
                x_advance: g.advance,
                x_offset: g.dx,
                y_offset: g.dy,
                y_advance: 0.0,
                location: None,
            }
        })
        .collect()
}

/// Puts the pieces of a line into the order in which they are seen (rule L2 of UAX 9).
fn reorder(pieces: &mut [(&Item, Range<usize>)]) {
    let highest = pieces.iter().map(|p| p.0.level).max().unwrap_or(0);
    for level in (1..=highest).rev() {
        let mut i = 0;
        while i < pieces.len() {
            let run = pieces[i..].iter().take_while(|p| p.0.level >= level).count();
            if run > 1 {
                pieces[i..i + run].reverse();
            }
            i += run.max(1);
        }
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use super::*;
    use crate::style;
    use pages::TemplateSet;

    /// What an item says, to compare.
    fn said(p: &Paragraph) -> Vec<(Range<usize>, usize, Option<usize>, usize)> {
        let one = |item: &Item| match &item.content {
            Content::Glyphs { face, shaped } => {
                (item.range.clone(), item.span, Some(*face), shaped.glyphs.len())
            }
            Content::Mark(_) => (item.range.clone(), item.span, None, 0),
        };
        p.items.iter().map(one).collect()
    }

    #[test]
    fn plain_text_in_one_piece_is_what_its_signs_are_one_by_one() {
        let book = Book::load(&TemplateSet::built_in("report").unwrap()).unwrap();
        let mut shaper = Shaper::new(&book);
        for text in ["", " ", "AVA office 12/10", "  led by spaces", "one \ntwo", "\n\nx\n", "ends \n"] {
            let span =
                Span { range: 0..text.len(), look: look(&Run::text("").style, style::TEXT), link: None };
            assert!(book.plainly(span.look.style, text).is_some(), "{text:?}");
            let empty = || Paragraph {
                text: text.into(),
                spans: Vec::new(),
                items: Vec::new(),
                clusters: Vec::new(),
                breaks: Vec::new(),
                leading: 0.0,
                free: 0.0,
                size: 9.0,
            };
            let (mut plain, mut mixed) = (empty(), empty());
            shaper.plain(book.plainly(span.look.style, text).unwrap(), 0, 0..text.len(), &mut plain);
            shaper.mixed(0, &span, None, &mut mixed).unwrap();
            assert_eq!(said(&plain), said(&mixed), "{text:?}");
        }
        // A sign that the font lacks, and any beyond ASCII, takes the long way.
        assert_eq!(book.plainly(crate::fonts::Style::Regular, "a\tb"), None);
        assert_eq!(book.plainly(crate::fonts::Style::Regular, "caf\u{e9}"), None);
    }

    #[test]
    fn a_line_of_a_whole_text_is_what_its_glyphs_come_to() {
        let book = Book::load(&TemplateSet::built_in("report").unwrap()).unwrap();
        let mut shaper = Shaper::new(&book);
        for (text, rtl) in [("office 12", false), ("e\u{301}\u{323}x", false), ("\u{5e9}\u{5dc}", true)] {
            let face =
                book.pick(crate::fonts::Style::Regular, &text[..text.chars().next().unwrap().len_utf8()]);
            let shaped = shaper.shape(face.unwrap(), text, rtl, false);
            let covered: std::collections::BTreeSet<usize> =
                shaped.whole.iter().flat_map(|glyph| glyph.text_range.clone()).collect();
            assert_eq!(covered, (0..text.len()).collect(), "{text}");
            for (glyph, set) in shaped.glyphs.iter().zip(shaped.whole.iter()) {
                assert_eq!(set.text_range.start, glyph.cluster as usize, "{text}");
            }
        }
    }
}
