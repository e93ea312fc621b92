//! Paints pages with krilla: content, decoration, links, structure.

use crate::decoration;
use crate::fonts::{Book, Face};
use crate::paginate::Page;
use crate::paragraph::{PartContent, Shaper};
use crate::photo;
use crate::piece::{Area, Group, Op};
use crate::style::{self, Type};
use crate::tags::Tags;
use crate::together::groups;
use krilla::Document as Pdf;
use krilla::annotation::{Annotation, LinkAnnotation, Target};
use krilla::color::rgb;
use krilla::destination::XyzDestination;
use krilla::geom::{PathBuilder, Point, Rect, Size, Transform};
use krilla::num::NormalizedF32;
use krilla::page::PageSettings;
use krilla::paint::{Fill, FillRule, LineCap, LineJoin, Stroke, StrokeDash};
use krilla::surface::Surface;
use krilla::tagging::{Artifact, ArtifactType, ContentTag, SpanTag};
use krilla::text::KrillaGlyph;
use pages::drawing::{Anchor, At, Drawing, Ink, Label, Pen, Shape, at};
use pages::model::{Run, RunKind, Running};
use pages::plot::mark;
use std::collections::BTreeMap;

/// What painting needs beside the pages.
pub(crate) struct Painter<'a, 'b> {
    /// Fonts.
    pub book: &'b Book,
    /// Shaper, for running lines and labels of drawings.
    pub shaper: &'a mut Shaper<'b>,
    /// Structure, which grows as content is painted.
    pub tags: &'a mut Tags,
    /// Accent colour.
    pub accent: [u8; 3],
    /// Size of the paper.
    pub paper: (f32, f32),
    /// Top of the text.
    pub top: f32,
    /// Running head and foot.
    pub running: (&'a Running, &'a Running),
}

impl Painter<'_, '_> {
    /// Paints all pages into a PDF.
    pub(crate) fn paint(&mut self, pdf: &mut Pdf, pages: &[Page]) {
        let mut anchors: BTreeMap<&str, (usize, f32)> = BTreeMap::new();
        for (number, page) in pages.iter().enumerate() {
            for placed in &page.pieces {
                for name in &placed.piece.anchors {
                    anchors.entry(name).or_insert((number, self.top + placed.y));
                }
            }
        }
        for (number, page) in pages.iter().enumerate() {
            let Some(settings) = PageSettings::from_wh(self.paper.0, self.paper.1) else { continue };
            let mut sheet = pdf.start_page_with(settings);
            let mut surface = sheet.surface();
            self.running_lines(&mut surface, number + 1, pages.len());
            self.decoration(&mut surface, decoration::of(page));
            let mut links = Vec::new();
            for placed in &page.pieces {
                for group in &placed.piece.groups {
                    self.group(&mut surface, group, self.top + placed.y, &mut links);
                }
            }
            surface.finish();
            for (target, words, rect, node) in links {
                let Some((page, y)) = anchors.get(target.as_ref()) else { continue };
                let to = XyzDestination::new(*page, Point::from_xy(style::SIDE, (*y - 10.0).max(0.0)));
                let [x, top, w, h] = rect;
                let Some(rect) = Rect::from_xywh(x, top, w.max(0.5), h) else { continue };
                let link = LinkAnnotation::new(rect, Target::Destination(to.into()));
                let id = sheet.add_tagged_annotation(Annotation::new_link(link, Some(words)));
                if let Some(node) = node {
                    self.tags.content(node, id);
                }
            }
            sheet.finish();
        }
    }

    #[expect(clippy::type_complexity, reason = "a link waits here until its page's content is done")]
    fn group(
        &mut self,
        surface: &mut Surface<'_>,
        group: &Group,
        y: f32,
        links: &mut Vec<(std::sync::Arc<str>, String, [f32; 4], Option<usize>)>,
    ) {
        let tag = match (group.node, group.picture) {
            (None, _) => ContentTag::Artifact(Artifact::with_kind(ArtifactType::Layout)),
            (Some(_), true) => ContentTag::Other,
            (Some(_), false) => ContentTag::Span(SpanTag::empty()),
        };
        if group.ops.is_empty() {
            if let Some(node) = group.node {
                self.tags.hang(node);
            }
            return;
        }
        let id = surface.start_tagged(tag);
        for op in &group.ops {
            self.op(surface, op, y);
        }
        surface.end_tagged();
        if let Some(node) = group.node {
            self.tags.content(node, id);
        }
        if let Some((target, words, rect)) = &group.link {
            let [x, top, w, h] = *rect;
            links.push((std::sync::Arc::clone(target), words.clone(), [x, top + y, w, h], group.node));
        }
    }

    fn op(&mut self, surface: &mut Surface<'_>, op: &Op, y: f32) {
        match op {
            Op::Glyphs { x, y: base, face, size, ink, text, range, glyphs } => {
                let (Some(face), Some(words)) = (self.book.face(*face), text.get(range.clone())) else {
                    return;
                };
                self.glyphs(surface, (*x, y + base), face, *size, *ink, words, glyphs);
            }
            Op::Mark(outcome, x, my, r) => {
                let mut d = Drawing::new(0.0, 0.0);
                mark(&mut d, *outcome, at(*x, y + my), *r);
                self.shapes(surface, &d.shapes);
            }
            Op::Shapes { x, y: sy, scale, shapes } => {
                surface.push_transform(&Transform::from_row(
                    *scale,
                    0.0,
                    0.0,
                    *scale,
                    fine(*x),
                    fine(y + sy),
                ));
                self.shapes(surface, shapes);
                surface.pop();
            }
        }
    }

    /// Paints the decoration of a page: the areas of one ink are one path.
    fn decoration(&self, surface: &mut Surface<'_>, areas: Vec<Area>) {
        if areas.is_empty() {
            return;
        }
        surface.start_tagged(ContentTag::Artifact(Artifact::with_kind(ArtifactType::Layout)));
        for same in areas.chunk_by(|a, b| a.ink == b.ink) {
            let mut path = PathBuilder::new();
            for area in same {
                if let Some(rect) = rect([area.x, self.top + area.y, area.width, area.height]) {
                    path.push_rect(rect);
                }
            }
            self.path(surface, path, same.first().map(|area| area.ink), None);
        }
        surface.end_tagged();
    }

    fn running_lines(&mut self, surface: &mut Surface<'_>, number: usize, count: usize) {
        let (left, right) = (style::SIDE, self.paper.0 - style::SIDE);
        let (head, foot) = self.running;
        let foot_y = self.paper.1 - style::FOOT;
        surface.start_tagged(ContentTag::Artifact(Artifact::with_kind(ArtifactType::Header)));
        let head_end = self.running_line(surface, head, style::HEAD, number, count);
        self.area(surface, [left, head_end + 5.0, right - left, 0.5], Some(Ink::Rule), None);
        surface.end_tagged();
        surface.start_tagged(ContentTag::Artifact(Artifact::with_kind(ArtifactType::Footer)));
        self.area(surface, [left, foot_y - 13.0, right - left, 0.5], Some(Ink::Rule), None);
        self.running_line(surface, foot, foot_y, number, count);
        surface.end_tagged();
    }

    /// Sets a running line: the right side in one line, the left side in what is left, over several lines where
    /// it must be. Returns the lowest baseline.
    fn running_line(
        &mut self,
        surface: &mut Surface<'_>,
        line: &Running,
        y: f32,
        number: usize,
        count: usize,
    ) -> f32 {
        let (left, right) = (style::SIDE, self.paper.0 - style::SIDE);
        let width = right - left;
        let right_runs = numbered(&line.right, number, count);
        let left_runs = numbered(&line.left, number, count);
        let mut low = y;
        let mut used = 0.0;
        for (runs, at_right) in [(right_runs, true), (left_runs, false)] {
            let Ok(p) = self.shaper.paragraph(&runs, style::RUNNING) else { continue };
            if p.is_empty() {
                continue;
            }
            let room = if at_right { width * 0.6 } else { width - used };
            for (i, set) in p.lines(room).iter().enumerate() {
                let x = if at_right { right - set.width } else { left };
                if at_right {
                    used = f32::max(used, set.width + 18.0);
                }
                let base = y + i as f32 * style::RUNNING.leading;
                low = low.max(base);
                self.parts(surface, &p, set, x, base);
            }
        }
        low
    }

    fn parts(
        &self,
        surface: &mut Surface<'_>,
        p: &crate::paragraph::Paragraph,
        line: &crate::paragraph::Line,
        x: f32,
        y: f32,
    ) {
        for part in &line.parts {
            let Some(span) = p.span(part.span) else { continue };
            if let PartContent::Glyphs { face, glyphs, text } = &part.content
                && let (Some(face), Some(words)) = (self.book.face(*face), p.text().get(text.clone()))
            {
                let from = (x + part.x, y - span.look.rise);
                self.glyphs(surface, from, face, span.look.size, span.look.ink, words, glyphs);
            }
        }
    }

    /// Draws glyphs of one font from the left end of their baseline.
    #[expect(clippy::too_many_arguments, reason = "what a stretch of glyphs is made of")]
    fn glyphs(
        &self,
        surface: &mut Surface<'_>,
        (x, y): (f32, f32),
        face: &Face,
        size: f32,
        ink: Ink,
        words: &str,
        glyphs: &[KrillaGlyph],
    ) {
        surface.set_stroke(None);
        surface.set_fill(Some(self.fill(ink)));
        let from = Point::from_xy(fine(x), fine(y));
        match plain_spaces(words, glyphs) {
            Some((words, glyphs)) => {
                surface.draw_glyphs(from, &glyphs, face.pdf.clone(), &words, size, false);
            }
            None => surface.draw_glyphs(from, glyphs, face.pdf.clone(), words, size, false),
        }
    }

    fn shapes(&mut self, surface: &mut Surface<'_>, shapes: &[Shape]) {
        for group in groups(shapes) {
            match group.look() {
                Some((fill, pen)) => {
                    let mut path = PathBuilder::new();
                    group.shapes().for_each(|shape| trace(&mut path, shape));
                    self.path(surface, path, fill, pen);
                }
                None => group.shapes().for_each(|shape| self.no_path(surface, shape)),
            }
        }
    }

    /// Paints a shape that is no path of its own.
    fn no_path(&mut self, surface: &mut Surface<'_>, shape: &Shape) {
        match shape {
            Shape::Label(label) => self.label(surface, label),
            Shape::Photo { at: p, width, height, photo } => {
                if let (Ok(image), Some(size)) = (photo::image(photo), Size::from_wh(*width, *height)) {
                    surface.push_transform(&Transform::from_translate(p.x, p.y));
                    surface.draw_image(image, size);
                    surface.pop();
                }
            }
            Shape::Clip { at: p, width, height, shapes } => {
                let mut edge = PathBuilder::new();
                let Some(rect) = Rect::from_xywh(p.x, p.y, *width, *height) else { return };
                edge.push_rect(rect);
                let Some(edge) = edge.finish() else { return };
                surface.push_clip_path(&edge, &FillRule::NonZero);
                self.shapes(surface, shapes);
                surface.pop();
            }
            Shape::Line { .. } | Shape::Rect { .. } | Shape::Circle { .. } => {}
        }
    }

    fn label(&mut self, surface: &mut Surface<'_>, label: &Label) {
        let of = Type { size: label.size, leading: label.size, strong: label.strong, ink: label.ink };
        let Ok(p) = self.shaper.paragraph(&[Run::text(label.text.clone())], of) else { return };
        for line in p.lines(f32::MAX) {
            let At { x, y } = label.at;
            let x = match label.anchor {
                Anchor::Start => x,
                Anchor::Middle => x - line.width / 2.0,
                Anchor::End => x - line.width,
            };
            self.parts(surface, &p, &line, x, y);
        }
    }

    fn area(&self, surface: &mut Surface<'_>, sides: [f32; 4], fill: Option<Ink>, pen: Option<Pen>) {
        if let Some(rect) = rect(sides) {
            let mut path = PathBuilder::new();
            path.push_rect(rect);
            self.path(surface, path, fill, pen);
        }
    }

    fn path(&self, surface: &mut Surface<'_>, path: PathBuilder, fill: Option<Ink>, pen: Option<Pen>) {
        let Some(path) = path.finish() else { return };
        if fill.is_none() && pen.is_none() {
            return;
        }
        surface.set_fill(fill.map(|ink| self.fill(ink)));
        surface.set_stroke(pen.map(|pen| Stroke {
            paint: self.colour(pen.ink).into(),
            width: fine(pen.width),
            line_cap: LineCap::Butt,
            line_join: LineJoin::Round,
            dash: pen.dash.map(|(dash, gap)| StrokeDash { array: vec![dash, gap], offset: 0.0 }),
            ..Stroke::default()
        }));
        surface.draw_path(&path);
    }

    fn colour(&self, ink: Ink) -> rgb::Color {
        let [r, g, b] = ink.colour(self.accent);
        rgb::Color::new(r, g, b)
    }

    fn fill(&self, ink: Ink) -> Fill {
        Fill { paint: self.colour(ink).into(), opacity: NormalizedF32::ONE, rule: FillRule::NonZero }
    }
}

/// A length to a hundredth of a point, which is finer than any printer: numbers of half the length to write, to pack
/// and to read.
fn fine(points: f32) -> f32 {
    (points * 100.0).round() / 100.0
}

/// Adds a shape to a path.
fn trace(path: &mut PathBuilder, shape: &Shape) {
    match shape {
        Shape::Line { points, closed, .. } => trace_line(path, points, *closed),
        Shape::Rect { at: p, width, height, .. } => {
            if let Some(rect) = rect([p.x, p.y, *width, *height]) {
                path.push_rect(rect);
            }
        }
        Shape::Circle { at, radius, .. } => trace_circle(path, *at, *radius),
        Shape::Label(_) | Shape::Photo { .. } | Shape::Clip { .. } => {}
    }
}

fn trace_line(path: &mut PathBuilder, points: &[At], closed: bool) {
    for (i, p) in points.iter().enumerate() {
        let (x, y) = (fine(p.x), fine(p.y));
        if i == 0 { path.move_to(x, y) } else { path.line_to(x, y) }
    }
    if closed {
        path.close();
    }
}

fn trace_circle(path: &mut PathBuilder, c: At, r: f32) {
    // A quarter circle as a cubic curve: the usual constant 4 (sqrt 2 - 1) / 3.
    let (k, c, r) = (fine(r * 0.552_285), at(fine(c.x), fine(c.y)), fine(r));
    let [left, inner_left, inner_right, right] = [c.x - r, c.x - k, c.x + k, c.x + r].map(fine);
    let [top, inner_top, inner_low, low] = [c.y - r, c.y - k, c.y + k, c.y + r].map(fine);
    path.move_to(right, c.y);
    path.cubic_to(right, inner_low, inner_right, low, c.x, low);
    path.cubic_to(inner_left, low, left, inner_low, left, c.y);
    path.cubic_to(left, inner_top, inner_left, top, c.x, top);
    path.cubic_to(inner_right, top, right, inner_top, right, c.y);
    path.close();
}

/// A rectangle from its left and upper edge, width and height; by its edges, so that two that touch still do.
fn rect([x, y, width, height]: [f32; 4]) -> Option<Rect> {
    Rect::from_ltrb(fine(x), fine(y), fine(x + width), fine(y + height))
}

/// The text with plain spaces in place of those that don't break, and without spaces of no width, once lines are
/// broken. Fonts draw all of them with one glyph, and a glyph that stands for two signs would be wrapped each time in
/// a passage with its own replacement text, at which some readers lose the words up to the line's end.
fn plain_spaces(words: &str, glyphs: &[KrillaGlyph]) -> Option<(String, Vec<KrillaGlyph>)> {
    const FIRM: [char; 2] = ['\u{a0}', '\u{202f}'];
    const NO_WIDTH: [char; 2] = ['\u{200b}', '\u{2060}'];
    if words.is_ascii() || !(words.contains(FIRM) || words.contains(NO_WIDTH)) {
        return None;
    }
    let mut text = String::with_capacity(words.len());
    // Where each byte of the text, and its end, has come to.
    let mut places = Vec::with_capacity(words.len() + 1);
    for sign in words.chars() {
        places.resize(places.len() + sign.len_utf8(), text.len());
        match sign {
            sign if FIRM.contains(&sign) => text.push(' '),
            sign if NO_WIDTH.contains(&sign) => {}
            sign => text.push(sign),
        }
    }
    places.push(text.len());
    let place = |at: usize| places.get(at).copied().unwrap_or(text.len());
    let moved = glyphs.iter().map(|glyph| {
        let text_range = place(glyph.text_range.start)..place(glyph.text_range.end);
        KrillaGlyph { text_range, ..glyph.clone() }
    });
    let moved = moved.filter(|g| !g.text_range.is_empty()).collect();
    Some((text, moved))
}

/// Running text with its page numbers.
pub(crate) fn numbered(runs: &[Run], number: usize, count: usize) -> Vec<Run> {
    let mut out = runs.to_vec();
    for run in &mut out {
        match run.kind {
            RunKind::PageNumber => run.kind = RunKind::Text(number.to_string()),
            RunKind::PageCount => run.kind = RunKind::Text(count.to_string()),
            RunKind::Text(_) | RunKind::Break => {}
        }
    }
    out
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use super::*;
    use krilla::text::GlyphId;

    #[test]
    fn firm_spaces_become_plain_and_those_of_no_width_go() {
        let words = "4\u{a0}kV\u{2060}, 10\u{202f}\u{200b}mm";
        let glyphs: Vec<KrillaGlyph> = words
            .char_indices()
            .map(|(at, sign)| {
                let range = at..at + sign.len_utf8();
                KrillaGlyph::new(GlyphId::new(1), 0.5, 0.0, 0.0, 0.0, range, None)
            })
            .collect();
        let (text, moved) = plain_spaces(words, &glyphs).unwrap();
        assert_eq!(text, "4 kV, 10 mm");
        let each: Vec<&str> = moved.iter().map(|glyph| &text[glyph.text_range.clone()]).collect();
        assert_eq!(each.concat(), text);
        assert!(plain_spaces("plain words", &[]).is_none());
    }
}
