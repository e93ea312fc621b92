//! The page model: what a paper says, typed, and nothing about how it is set.

use crate::classes::{
    AsideClass, CellClass, FactsClass, ListClass, ParagraphClass, RowClass, SectionClass, SpanClass,
    TableClass,
};
use crate::drawing::Drawing;
use std::collections::BTreeMap;
use std::sync::Arc;

/// A paper's content.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Document {
    /// Title, for the window and the catalogue.
    pub title: String,
    /// Language as a BCP 47 tag.
    pub language: String,
    /// Who issues it; empty when nobody is named.
    pub author: String,
    /// What it is about, in a line; empty when not said.
    pub subject: String,
    /// Running head of each page.
    pub head: Running,
    /// Running foot of each page.
    pub foot: Running,
    /// Content in reading order.
    pub blocks: Vec<Block>,
}

/// A line at the head or foot of each page.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Running {
    /// At the left margin.
    pub left: Vec<Run>,
    /// At the right margin.
    pub right: Vec<Run>,
}

/// A piece of text of one kind.
#[derive(Clone, Debug, PartialEq)]
pub struct Run {
    /// What it is.
    pub kind: RunKind,
    /// How it is marked.
    pub style: RunStyle,
}

impl Run {
    /// Plain text.
    pub fn text(text: impl Into<String>) -> Self {
        Self { kind: RunKind::Text(text.into()), style: RunStyle::default() }
    }
}

/// What a run is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum RunKind {
    /// Words; white space is single spaces, never a line end.
    Text(String),
    /// A line end.
    Break,
    /// The number of the page it stands on; in running lines only.
    PageNumber,
    /// The number of pages; in running lines only.
    PageCount,
}

/// How a run is marked.
#[derive(Clone, Debug, Default, PartialEq, Eq, Hash)]
pub struct RunStyle {
    /// Strong importance.
    pub strong: bool,
    /// Emphasis.
    pub emphasis: bool,
    /// A code, a checksum, a file's content.
    pub code: bool,
    /// What it stands for.
    pub class: Option<SpanClass>,
    /// A word that is never broken at its hyphens.
    pub whole: bool,
    /// Id of the place in this document that it leads to.
    pub link: Option<Arc<str>>,
}

/// A block of content.
#[derive(Clone, Debug, PartialEq)]
pub enum Block {
    /// A part with its heading.
    Section {
        /// Name to link to.
        id: Option<String>,
        /// What it is.
        class: Option<SectionClass>,
        /// Content.
        blocks: Vec<Block>,
    },
    /// A heading; stays with what follows.
    Heading {
        /// 1 to 4.
        level: u8,
        /// Name to link to.
        id: Option<String>,
        /// Text.
        runs: Vec<Run>,
    },
    /// A paragraph.
    Paragraph {
        /// What it is.
        class: Option<ParagraphClass>,
        /// Text.
        runs: Vec<Run>,
    },
    /// A list.
    List {
        /// Numbered from 1.
        ordered: bool,
        /// How it is set.
        class: Option<ListClass>,
        /// Entries.
        items: Vec<ListItem>,
    },
    /// Names and values.
    Facts {
        /// How it is set.
        class: Option<FactsClass>,
        /// Each name with its value.
        entries: Vec<Fact>,
    },
    /// A table.
    Table(Table),
    /// A picture with its words.
    Figure {
        /// Name to link to.
        id: Option<String>,
        /// Name of the picture among the [`Pictures`] handed in with the template's view.
        picture: String,
        /// What someone who can't see the picture is told.
        alternative: String,
        /// Words below it; empty for none.
        caption: Vec<Run>,
    },
    /// A passage set off from the rest.
    Aside {
        /// What it is for.
        class: AsideClass,
        /// Content.
        blocks: Vec<Block>,
    },
}

/// An entry of a list.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct ListItem {
    /// Text.
    pub runs: Vec<Run>,
    /// Lists inside it.
    pub lists: Vec<Block>,
}

/// A name with its value.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Fact {
    /// Name.
    pub name: Vec<Run>,
    /// Value.
    pub value: Vec<Run>,
}

/// A table. Its head rows are repeated on each page, its rows are kept whole.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Table {
    /// Name to link to.
    pub id: Option<String>,
    /// What it is for.
    pub class: Option<TableClass>,
    /// What the table shows; empty for none.
    pub caption: Vec<Run>,
    /// Rows at the head of each page.
    pub head: Vec<Row>,
    /// Rows.
    pub body: Vec<Row>,
}

/// A row.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Row {
    /// What it is.
    pub class: Option<RowClass>,
    /// Cells from left to right.
    pub cells: Vec<Cell>,
}

/// A cell.
#[derive(Clone, Debug, PartialEq)]
pub struct Cell {
    /// Whether it heads a row or a column.
    pub scope: Option<Scope>,
    /// Columns that it covers, at least 1.
    pub columns: u16,
    /// How it is set.
    pub class: Option<CellClass>,
    /// Width wished for its column, as a share of the table's width in percent.
    pub width: Option<u8>,
    /// Text.
    pub runs: Vec<Run>,
    /// Digits that a number lacks behind its decimal sign beside others of its column, with the sign where it has
    /// none: room that stays empty. Empty for none.
    pub free: String,
}

/// What a heading cell heads.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Scope {
    /// Its column.
    Column,
    /// Its row.
    Row,
}

/// A picture that a document shows.
#[derive(Clone, Debug, PartialEq)]
pub enum Picture {
    /// A vector drawing.
    Drawing(Drawing),
    /// A photo or scan, passed on byte for byte.
    Photo(Photo),
}

/// A raster picture.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Photo {
    /// Name of the file it is from, for findings.
    pub name: String,
    /// Format of the bytes.
    pub format: PhotoFormat,
    /// The file.
    pub bytes: Arc<Vec<u8>>,
    /// Width in pixels, at least 1.
    pub width: u32,
    /// Height in pixels, at least 1.
    pub height: u32,
}

/// Formats that every paper can show.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PhotoFormat {
    /// JPEG.
    Jpeg,
    /// PNG.
    Png,
}

impl PhotoFormat {
    /// Media type.
    pub const fn media_type(self) -> &'static str {
        match self {
            Self::Jpeg => "image/jpeg",
            Self::Png => "image/png",
        }
    }
}

/// Pictures by name.
pub type Pictures = BTreeMap<String, Picture>;

/// The text of some runs, line ends as spaces.
pub fn plain(runs: &[Run]) -> String {
    let mut out = String::new();
    for run in runs {
        match &run.kind {
            RunKind::Text(text) => out.push_str(text),
            RunKind::Break => out.push(' '),
            RunKind::PageNumber | RunKind::PageCount => {}
        }
    }
    out
}
