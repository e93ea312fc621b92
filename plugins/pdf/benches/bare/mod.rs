//! The PDF library by itself: words at given places, in one font and without kerning, tagged and archival like the
//! report, and nothing else: no running lines, no plots, no links, a flat structure.

use harfrust::{Buffer, ShapeOptions, ShaperFont, shape};
use krilla::color::rgb;
use krilla::configure::{Accessibility, Archival, ConfigurationBuilder};
use krilla::destination::XyzDestination;
use krilla::geom::{PathBuilder, Point, Rect};
use krilla::metadata::{DateTime, Metadata};
use krilla::outline::{Outline, OutlineNode};
use krilla::page::PageSettings;
use krilla::paint::Fill;
use krilla::tagging::{
    Artifact, ArtifactType, ContentTag, SpanTag, TableHeaderScope, Tag, TagGroup, TagTree,
};
use krilla::text::{Font, GlyphId, KrillaGlyph};
use krilla::{Document, SerializeSettings};
use std::sync::Arc;

const PAPER: (f32, f32) = (595.276, 841.89);
const SIDE: f32 = 50.0;
const SIZE: f32 = 8.0;

/// One font, and how wide its first signs are.
pub(crate) struct Bare {
    font: Font,
    shape: harfrust::Font,
    /// Glyph and advance (in em) of each of the first signs, so that none is looked up while the clock runs.
    signs: Vec<(u32, f32)>,
}

impl Bare {
    pub(crate) fn new(bytes: &'static [u8]) -> Self {
        let data: Arc<dyn AsRef<[u8]> + Send + Sync> = Arc::new(bytes);
        let font = Font::new(data.into(), 0).unwrap();
        let shape = harfrust::Font::new(bytes.to_vec(), 0).unwrap();
        let mut bare = Self { font, shape, signs: Vec::new() };
        bare.signs = ('\0'..'\u{2300}').map(|sign| bare.glyph(sign)).collect();
        bare
    }

    /// Glyph of a sign and its own advance; a sign that the font lacks is set as a question mark.
    fn glyph(&self, sign: char) -> (u32, f32) {
        let has = self.shape.charmap().map_unicode(sign as u32).is_some();
        let mut buffer = Buffer::default();
        buffer.push_str(if has { sign } else { '?' }.encode_utf8(&mut [0; 4]));
        buffer.guess_segment_properties();
        shape(&ShaperFont::new(&self.shape), &mut buffer, ShapeOptions::new()).unwrap();
        let units = f32::from(self.shape.units_per_em());
        match (buffer.glyph_infos().last(), buffer.glyph_positions().last()) {
            (Some(info), Some(at)) if info.glyph_id != 0 => (info.glyph_id, at.x_advance as f32 / units),
            _ => self.glyph('?'),
        }
    }

    fn glyphs(&self, text: &str) -> Vec<KrillaGlyph> {
        text.char_indices()
            .map(|(at, sign)| {
                let (glyph, advance) =
                    self.signs.get(sign as usize).copied().unwrap_or_else(|| self.glyph(sign));
                KrillaGlyph {
                    glyph_id: GlyphId::new(glyph),
                    text_range: at..at + sign.len_utf8(),
                    x_advance: advance,
                    x_offset: 0.0,
                    y_offset: 0.0,
                    y_advance: 0.0,
                    location: None,
                }
            })
            .collect()
    }

    /// Puts rows of cells on a number of pages, as many on each.
    pub(crate) fn pdf(&self, rows: &[Vec<String>], pages: usize) -> Vec<u8> {
        let configuration = ConfigurationBuilder::new()
            .with_archival_validator(Archival::A3_A)
            .with_accessibility_validator(Accessibility::UA1)
            .finish()
            .unwrap();
        let mut pdf = Document::new_with(SerializeSettings { configuration, ..SerializeSettings::default() });
        let mut tree = TagTree::new().with_lang(Some("en".to_owned()));
        let fill = |shade: u8| Fill { paint: rgb::Color::new(shade, shade, shade).into(), ..Fill::default() };
        for rows in rows.chunks(rows.len().div_ceil(pages).max(1)) {
            let mut page = pdf.start_page_with(PageSettings::from_wh(PAPER.0, PAPER.1).unwrap());
            let mut surface = page.surface();
            let mut table = TagGroup::new(Tag::Table);
            let leading = (PAPER.1 - 2.0 * SIDE) / rows.len() as f32;
            for (number, row) in rows.iter().enumerate() {
                let y = SIDE + (number + 1) as f32 * leading;
                let mut line = TagGroup::new(Tag::TR);
                let width = (PAPER.0 - 2.0 * SIDE) / row.len().max(1) as f32;
                for (column, cell) in row.iter().enumerate() {
                    let id = surface.start_tagged(ContentTag::Span(SpanTag::empty()));
                    surface.set_fill(Some(fill(20)));
                    let at = Point::from_xy(SIDE + column as f32 * width, y);
                    surface.draw_glyphs(at, &self.glyphs(cell), self.font.clone(), cell, SIZE, false);
                    surface.end_tagged();
                    let mut group = match number {
                        0 => TagGroup::new(Tag::TH(TableHeaderScope::Column)),
                        _ => TagGroup::new(Tag::TD),
                    };
                    group.push(id);
                    line.push(group);
                }
                table.push(line);
                surface.start_tagged(ContentTag::Artifact(Artifact::with_kind(ArtifactType::Other)));
                surface.set_fill(Some(fill(200)));
                let mut path = PathBuilder::new();
                path.push_rect(Rect::from_xywh(SIDE, y + 2.0, PAPER.0 - 2.0 * SIDE, 0.4).unwrap());
                surface.draw_path(&path.finish().unwrap());
                surface.end_tagged();
            }
            tree.push(table);
            surface.finish();
            page.finish();
        }
        pdf.set_tag_tree(tree);
        let mut outline = Outline::new();
        let top = XyzDestination::new(0, Point::from_xy(SIDE, SIDE));
        outline.push_child(OutlineNode::new("Report".to_owned(), top));
        pdf.set_outline(outline);
        let date = DateTime::new(2000)
            .month(1)
            .day(1)
            .hour(0)
            .minute(0)
            .second(0)
            .utc_offset_hour(0)
            .utc_offset_minute(0);
        pdf.set_metadata(
            Metadata::new()
                .title("Report".to_owned())
                .language("en".to_owned())
                .creation_date(date)
                .document_id("bench".to_owned()),
        );
        pdf.finish().unwrap()
    }
}
