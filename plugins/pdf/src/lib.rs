//! Sets the page model as PDF/A-3a and PDF/UA-1 with its own pagination.
//!
//! [`pdf`] takes a document, its pictures and fonts, and gives bytes; the same input gives the same bytes. The PDF
//! library (krilla) refuses what would not conform; signs that no font has are refused before it sees them.
#![forbid(unsafe_code)]
#![warn(clippy::disallowed_methods)]

mod codes;
mod decoration;
mod east;
mod flow;
mod fonts;
mod outline;
mod paginate;
mod paint;
mod paragraph;
mod photo;
mod piece;
mod style;
mod table;
mod tags;
mod together;
mod write;

pub use codes::CODES;
pub use fonts::Book;
pub use write::PdfWriter;

use flow::Flow;
use krilla::configure::{Accessibility, Archival, ConfigurationBuilder};
use krilla::embed::{AssociationKind, EmbeddedFile, MimeType};
use krilla::error::KrillaError;
use krilla::metadata::{DateTime, Metadata};
use krilla::{Document as Pdf, SerializeSettings};
use pages::Look;
use pages::model::{Document, Pictures, Running};
use record::Finding;
use std::sync::Arc;

/// A file that goes along inside the PDF.
#[derive(Clone, Debug)]
pub struct Attached {
    /// Name.
    pub name: String,
    /// Media type.
    pub media_type: String,
    /// What it is, in a line.
    pub about: String,
    /// How it stands to the report.
    pub relation: Relation,
    /// Content.
    pub bytes: Arc<Vec<u8>>,
}

/// How an attached file stands to the report (`AFRelationship` of ISO 19005-3).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Relation {
    /// The report was made from it.
    Source,
    /// It says the same in another form.
    Alternative,
    /// It adds to the report.
    Supplement,
}

/// What a PDF is made with, beside its content.
#[derive(Clone, Debug)]
pub struct Settings<'a> {
    /// Looks.
    pub look: &'a Look,
    /// Date of issue as year, month, day: it becomes the date inside the file. A draft has none, and gets a
    /// fixed one.
    pub issued: Option<(u16, u8, u8)>,
    /// What tells this report from all others: its number and revision.
    pub identity: &'a str,
    /// The program with its version.
    pub producer: &'a str,
    /// Files that go along.
    pub attached: &'a [Attached],
}

/// Why a document can't be set.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Problem {
    NoGlyph { sign: char, around: String },
    Picture { name: String, why: String },
}

impl From<Problem> for Box<Finding> {
    fn from(problem: Problem) -> Self {
        Box::new(match problem {
            Problem::NoGlyph { sign, around } => {
                let code = u32::from(sign);
                let message =
                    format!("no font has the sign `{sign}` (U+{code:04X}), which stands in `{around}`");
                Finding::error(codes::NO_GLYPH, message)
                    .help("add a font file that has it to a template of your own, under `[fonts] fallback`")
            }
            Problem::Picture { name, why } => {
                Finding::error(codes::PICTURE, format!("the picture `{name}` can't be set: {why}"))
                    .help("save the photo again as JPEG or PNG")
            }
        })
    }
}

/// Sets a document.
///
/// # Errors
/// When no font has a sign of it, a picture is damaged, or the result would not conform to PDF/A-3a and PDF/UA-1.
pub fn pdf(
    document: &Document,
    pictures: &Pictures,
    book: &Book,
    settings: &Settings<'_>,
) -> Result<Vec<u8>, Box<Finding>> {
    Laid::out(document, pictures, book, settings)?.paint()
}

/// A document on its pages, not yet painted: each glyph has its place, and nothing of the PDF is made.
pub struct Laid<'a> {
    document: &'a Document,
    pictures: &'a Pictures,
    book: &'a Book,
    settings: &'a Settings<'a>,
    shaper: paragraph::Shaper<'a>,
    tags: tags::Tags,
    pages: Vec<paginate::Page>,
    top: f32,
}

impl<'a> Laid<'a> {
    /// Breaks a document into lines and pages.
    ///
    /// # Errors
    /// When no font has a sign of it, or a picture is damaged.
    pub fn out(
        document: &'a Document,
        pictures: &'a Pictures,
        book: &'a Book,
        settings: &'a Settings<'a>,
    ) -> Result<Self, Box<Finding>> {
        let paper = settings.look.paper.size();
        let column = (style::SIDE, paper.0 - 2.0 * style::SIDE);
        let mut shaper = paragraph::Shaper::new(book);
        let top = style::TOP + running_overhang(&mut shaper, &document.head, column.1)?;
        let bottom = style::BOTTOM + running_overhang(&mut shaper, &document.foot, column.1)?;
        let height = paper.1 - top - bottom;
        let mut flow = Flow::new(shaper, pictures, height);
        flow.blocks(&document.blocks, column, None)?;
        let pages = paginate::pages(&mut flow, height);
        let Flow { shaper, tags, .. } = flow;
        Ok(Self { document, pictures, book, settings, shaper, tags, pages, top })
    }

    /// Paints the pages and writes the PDF.
    ///
    /// # Errors
    /// When the result would not conform to PDF/A-3a and PDF/UA-1.
    pub fn paint(mut self) -> Result<Vec<u8>, Box<Finding>> {
        let (document, settings) = (self.document, self.settings);
        let configuration = ConfigurationBuilder::new()
            .with_archival_validator(Archival::A3_A)
            .with_accessibility_validator(Accessibility::UA1)
            .finish()
            .map_err(|e| not_conforming(format!("{e:?}")))?;
        let mut pdf = Pdf::new_with(SerializeSettings { configuration, ..SerializeSettings::default() });
        let mut painter = paint::Painter {
            book: self.book,
            shaper: &mut self.shaper,
            tags: &mut self.tags,
            accent: settings.look.accent.0,
            paper: settings.look.paper.size(),
            top: self.top,
            running: (&document.head, &document.foot),
        };
        painter.paint(&mut pdf, &self.pages);
        pdf.set_outline(outline::outline(&self.pages, &document.title, self.top));
        pdf.set_tag_tree(self.tags.tree(&document.language));

        let (year, month, day) = settings.issued.unwrap_or(DRAFT_DATE);
        let date = DateTime::new(year)
            .month(month)
            .day(day)
            .hour(0)
            .minute(0)
            .second(0)
            .utc_offset_hour(0)
            .utc_offset_minute(0);
        let mut metadata = Metadata::new()
            .title(document.title.clone())
            .language(document.language.clone())
            .creator(settings.producer.to_owned())
            .producer(settings.producer.to_owned())
            .creation_date(date)
            .document_id(settings.identity.to_owned());
        if !document.author.is_empty() {
            metadata = metadata.authors(vec![document.author.clone()]);
        }
        if !document.subject.is_empty() {
            metadata = metadata.description(document.subject.clone());
        }
        pdf.set_metadata(metadata);
        for file in settings.attached {
            let embedded = EmbeddedFile {
                path: file.name.clone(),
                mime_type: MimeType::new(&file.media_type),
                description: Some(file.about.clone()),
                association_kind: match file.relation {
                    Relation::Source => AssociationKind::Source,
                    Relation::Alternative => AssociationKind::Alternative,
                    Relation::Supplement => AssociationKind::Supplement,
                },
                data: Arc::clone(&file.bytes).into(),
                modification_date: Some(date),
                compress: Some(true),
                location: None,
            };
            if pdf.embed_file(embedded).is_none() {
                return Err(not_conforming(format!("two attached files are called `{}`", file.name)));
            }
        }
        pdf.finish().map_err(|e| match e {
            KrillaError::Validation(errors) => {
                not_conforming(errors.iter().map(|e| format!("{:?}", e.0)).collect::<Vec<_>>().join("; "))
            }
            KrillaError::Image(image, _, why) => {
                Problem::Picture { name: photo::name_of(&image, self.pictures), why }.into()
            }
            other => not_conforming(format!("{other:?}")),
        })
    }
}

/// The date inside a draft, which has no date of issue: no clock is asked, so that drafts are the same bytes.
const DRAFT_DATE: (u16, u8, u8) = (2000, 1, 1);

fn not_conforming(why: String) -> Box<Finding> {
    Box::new(
        Finding::error(
            codes::NOT_CONFORMING,
            format!("the report would not conform to PDF/A-3a and PDF/UA-1: {why}"),
        )
        .help("mend what is named; other outputs are written meanwhile"),
    )
}

/// How much a running line needs beyond one line; also finds signs in it that no font has.
fn running_overhang(shaper: &mut paragraph::Shaper<'_>, line: &Running, width: f32) -> Result<f32, Problem> {
    let mut used = 0.0;
    let mut lines = 1;
    for (runs, at_right) in [(&line.right, true), (&line.left, false)] {
        let runs = paint::numbered(runs, 1000, 1000);
        let p = shaper
            .paragraph(&runs, style::RUNNING)
            .map_err(|paragraph::NoGlyph { sign, around }| Problem::NoGlyph { sign, around })?;
        if p.is_empty() {
            continue;
        }
        let set = p.lines(if at_right { width * 0.6 } else { width - used });
        lines = lines.max(set.len());
        if at_right {
            used = set.iter().map(|l| l.width).fold(0.0, f32::max) + 18.0;
        }
    }
    Ok((lines - 1) as f32 * style::RUNNING.leading)
}
