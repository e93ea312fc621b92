//! From blocks to pieces: everything but tables.

use crate::paragraph::{NoGlyph, Paragraph, Shaper};
use crate::piece::{Align, Area, Around, Group, Op, Piece, set_line};
use crate::style::{self, Type};
use crate::tags::{Kind, NodeId, Tags};
use crate::{Problem, photo};
use pages::classes::{AsideClass, FactsClass, ListClass, ParagraphClass, SectionClass};
use pages::drawing::{Ink, Shape, at, pen};
use pages::model::{Block, Fact, ListItem, Picture, Pictures, Run, plain};
use std::rc::Rc;

/// Sets blocks.
pub(crate) struct Flow<'b> {
    pub(crate) shaper: Shaper<'b>,
    pub(crate) pictures: &'b Pictures,
    /// The structure.
    pub tags: Tags,
    /// Pieces in order.
    pub pieces: Vec<Piece>,
    /// Head pieces of each table.
    pub heads: Vec<Vec<Piece>>,
    pub(crate) around: Vec<Around>,
    asides: usize,
    pub(crate) anchors: Vec<String>,
    /// Height that a page has for text.
    pub(crate) page: f32,
    /// Level of the heading that was just set: a short introduction below it stays with what it introduces.
    introduced: Option<u8>,
    /// Whether this is the head of the paper, where second headings are set small.
    in_title: bool,
}

/// A column: left edge and width.
pub(crate) type Column = (f32, f32);

impl<'b> Flow<'b> {
    /// A flow of pages with this height for text.
    pub(crate) fn new(shaper: Shaper<'b>, pictures: &'b Pictures, page: f32) -> Self {
        Self {
            shaper,
            pictures,
            tags: Tags::default(),
            pieces: Vec::new(),
            heads: Vec::new(),
            around: Vec::new(),
            asides: 0,
            anchors: Vec::new(),
            page,
            introduced: None,
            in_title: false,
        }
    }

    pub(crate) fn push(&mut self, mut piece: Piece) {
        piece.around.clone_from(&self.around);
        piece.anchors.append(&mut self.anchors);
        self.pieces.push(piece);
    }

    /// Sets blocks into a column.
    pub(crate) fn blocks(
        &mut self,
        blocks: &[Block],
        column: Column,
        parent: Option<NodeId>,
    ) -> Result<(), Problem> {
        for (i, block) in blocks.iter().enumerate() {
            self.block(block, blocks.get(i + 1), column, parent)?;
        }
        Ok(())
    }

    fn block(
        &mut self,
        block: &Block,
        next: Option<&Block>,
        column: Column,
        parent: Option<NodeId>,
    ) -> Result<(), Problem> {
        // A paragraph at the end of its section, before a section of its own, or before a heading that does not lie
        // below its own, introduces nothing.
        let under = self.introduced.take();
        let introduces = under.is_some_and(|under| {
            let goes_on = |next: &Block| {
                !matches!(next, Block::Heading { level, .. } if *level <= under)
                    && !matches!(next, Block::Section { .. })
            };
            matches!(block, Block::Paragraph { .. }) && next.is_some_and(goes_on)
        });
        let first = self.pieces.len();
        match block {
            Block::Section { id, class, blocks } => {
                self.anchors.extend(id.clone());
                let node = self.tags.node(Kind::Section, parent);
                let first = self.pieces.len();
                let outer = std::mem::replace(&mut self.in_title, *class == Some(SectionClass::Title));
                let set = self.blocks(blocks, column, Some(node));
                self.in_title = outer;
                set?;
                match class {
                    Some(SectionClass::NewPage) => {
                        if let Some(piece) = self.pieces.get_mut(first) {
                            piece.new_page = true;
                        }
                    }
                    Some(SectionClass::Whole) => self.keep_whole(first),
                    Some(SectionClass::Title) | None => {}
                }
            }
            Block::Heading { level, id, runs } => {
                self.heading(*level, id.as_deref(), runs, column, parent)?
            }
            Block::Paragraph { class, runs } => self.paragraph(*class, runs, column, parent)?,
            Block::List { ordered, class, items } => {
                self.list(*ordered, *class, items, column, parent, 0)?;
            }
            Block::Facts { class: Some(FactsClass::Card), entries } => self.card(entries, column, parent)?,
            Block::Facts { class: None, entries } => self.facts(entries, column, parent)?,
            Block::Table(table) => self.table(table, column, parent)?,
            Block::Figure { id, picture, alternative, caption } => {
                self.anchors.extend(id.clone());
                self.figure(picture, alternative, caption, column, parent)?;
            }
            Block::Aside { class, blocks } => self.aside(*class, blocks, column, parent)?,
        }
        if introduces && let Some(lines @ [_, ..]) = self.pieces.get_mut(first..).filter(|l| l.len() <= 4) {
            lines.iter_mut().for_each(|l| l.keep = true);
            // Of two paragraphs after a heading both stay with what they introduce.
            if matches!(next, Some(Block::Paragraph { .. })) {
                self.introduced = under;
            }
        }
        Ok(())
    }

    /// Keeps pieces from `first` on together, where they fit on a page.
    fn keep_whole(&mut self, first: usize) {
        let Some(pieces) = self.pieces.get_mut(first..) else { return };
        let height: f32 = pieces.iter().map(|p| p.height + p.before.max(p.after)).sum();
        if height <= self.page
            && let Some((_, rest)) = pieces.split_last_mut()
        {
            rest.iter_mut().for_each(|p| p.keep = true);
        }
    }

    pub(crate) fn shape(&mut self, runs: &[Run], of: Type) -> Result<Paragraph, Problem> {
        self.shaper.paragraph(runs, of).map_err(|NoGlyph { sign, around }| Problem::NoGlyph { sign, around })
    }

    /// Sets the lines of a paragraph as pieces of one line each.
    pub(crate) fn lines(&mut self, p: &Paragraph, column: Column, align: Align, node: NodeId) -> Vec<Piece> {
        let lines = p.lines(column.1);
        let count = lines.len();
        let mut out = Vec::with_capacity(count);
        for (i, line) in lines.iter().enumerate() {
            let tags = &mut self.tags;
            let mut link = |_: &std::sync::Arc<str>| Some(tags.node(Kind::Link, Some(node)));
            let groups = set_line(p, line, column, 0.0, align, Some(node), &mut link);
            // Neither the first nor the last line stands alone.
            let keep = count > 1 && (i == 0 || i + 2 == count);
            out.push(Piece { height: p.leading, keep, groups, ..Piece::default() });
        }
        out
    }

    fn text(
        &mut self,
        runs: &[Run],
        of: Type,
        column: Column,
        align: Align,
        node: NodeId,
        space: (f32, f32),
    ) -> Result<(), Problem> {
        let p = self.shape(runs, of)?;
        if p.is_empty() {
            return Ok(());
        }
        let mut pieces = self.lines(&p, column, align, node);
        if let Some(first) = pieces.first_mut() {
            first.before = space.0;
        }
        if let Some(last) = pieces.last_mut() {
            last.after = space.1;
        }
        pieces.into_iter().for_each(|piece| self.push(piece));
        Ok(())
    }

    fn heading(
        &mut self,
        level: u8,
        id: Option<&str>,
        runs: &[Run],
        column: Column,
        parent: Option<NodeId>,
    ) -> Result<(), Problem> {
        self.anchors.extend(id.map(str::to_owned));
        let words = plain(runs);
        let node = self.tags.node(Kind::Heading(level, words.clone()), parent);
        let first = self.pieces.len();
        let small = self.in_title && level == 2;
        let looks = if small { 3 } else { level };
        self.text(runs, style::heading(looks), column, Align::Left, node, style::heading_space(looks))?;
        if let Some(pieces) = self.pieces.get_mut(first..) {
            pieces.iter_mut().for_each(|p| p.keep = true);
            if let Some(piece) = pieces.first_mut() {
                piece.outline = Some((level, words));
                self.introduced = Some(level);
            }
            // A part starts under a thin rule, so that its start is found when leafing.
            if level == 2
                && !small
                && let Some(piece) = pieces.first_mut()
            {
                piece.above.push(Area::rule(column.0, -7.0, column.1, 0.5, Ink::Rule));
            }
        }
        Ok(())
    }

    fn paragraph(
        &mut self,
        class: Option<ParagraphClass>,
        runs: &[Run],
        column: Column,
        parent: Option<NodeId>,
    ) -> Result<(), Problem> {
        let (of, space, align) = match class {
            None => (style::TEXT, (0.0, 6.5), Align::Left),
            Some(ParagraphClass::Lead) => (style::LEAD, (0.0, 8.0), Align::Left),
            Some(ParagraphClass::Small) => (style::SMALL, (0.0, 5.0), Align::Left),
            Some(ParagraphClass::Kicker) => (style::KICKER, (0.0, 2.0), Align::Left),
            Some(ParagraphClass::Verdict) => {
                let ink = match self.around.last().map(|a| a.class) {
                    Some(AsideClass::VerdictPass) => Ink::Pass,
                    Some(AsideClass::VerdictFail) => Ink::Fail,
                    Some(AsideClass::VerdictUndetermined) => Ink::Undetermined,
                    _ => Ink::Text,
                };
                (Type { ink, ..style::VERDICT }, (0.0, 4.0), Align::Left)
            }
            Some(ParagraphClass::End) => (style::SMALL, (24.0, 0.0), Align::Centre),
        };
        let node = self.tags.node(Kind::Paragraph, parent);
        let first = self.pieces.len();
        self.text(runs, of, column, align, node, space)?;
        let kicker = class == Some(ParagraphClass::Kicker);
        if let Some(pieces) = self.pieces.get_mut(first..) {
            pieces.iter_mut().filter(|_| kicker).for_each(|p| p.keep = true);
            if class == Some(ParagraphClass::End)
                && let Some(piece) = pieces.first_mut()
            {
                piece.areas.push(Area::rule(column.0 + column.1 / 2.0 - 30.0, -8.0, 60.0, 0.8, Ink::Text));
            }
        }
        Ok(())
    }

    fn list(
        &mut self,
        ordered: bool,
        class: Option<ListClass>,
        items: &[ListItem],
        column: Column,
        parent: Option<NodeId>,
        depth: usize,
    ) -> Result<(), Problem> {
        let list = self.tags.node(Kind::List(ordered), parent);
        let bare = class == Some(ListClass::Bare);
        let indent = if bare {
            0.0
        } else if ordered {
            18.0
        } else {
            12.0
        };
        for (i, item) in items.iter().enumerate() {
            let entry = self.tags.node(Kind::Entry, Some(list));
            let label = self.tags.node(Kind::Label, Some(entry));
            let body = self.tags.node(Kind::Body, Some(entry));
            let inner = (column.0 + indent, (column.1 - indent).max(40.0));
            let first = self.pieces.len();
            let space = if depth == 0 { 4.0 } else { 2.0 };
            self.text(&item.runs, style::TEXT, inner, Align::Left, body, (0.0, space))?;
            if !bare {
                let groups = if ordered {
                    let p = self.shape(&[Run::text(format!("{}.", i + 1))], style::TEXT)?;
                    self.lines(&p, (column.0, indent), Align::Left, label)
                        .pop()
                        .map(|p| p.groups)
                        .unwrap_or_default()
                } else {
                    // A drawn bullet is decoration: the structure already says that this is an entry.
                    let (x, y) = (column.0 + 3.0, style::TEXT.leading / 2.0 + 0.2);
                    let shape = if depth.is_multiple_of(2) {
                        Shape::Rect {
                            at: at(x, y - 1.1),
                            width: 3.6,
                            height: 1.1,
                            fill: Some(Ink::Quiet),
                            pen: None,
                        }
                    } else {
                        Shape::Circle {
                            at: at(x + 1.2, y - 0.4),
                            radius: 1.2,
                            fill: None,
                            pen: Some(pen(Ink::Quiet, 0.7)),
                        }
                    };
                    vec![Group {
                        ops: vec![Op::Shapes { x: 0.0, y: 0.0, scale: 1.0, shapes: Rc::new(vec![shape]) }],
                        ..Group::default()
                    }]
                };
                if let Some(piece) = self.pieces.get_mut(first) {
                    piece.groups.splice(0..0, groups);
                }
            }
            for inner_list in &item.lists {
                if let Block::List { ordered, class, items } = inner_list {
                    if let Some(last) = self.pieces.last_mut() {
                        last.after = 2.0;
                        last.keep = true;
                    }
                    self.list(*ordered, *class, items, inner, Some(body), depth + 1)?;
                }
            }
        }
        if depth == 0
            && let Some(last) = self.pieces.last_mut()
        {
            last.after = 9.0;
        }
        Ok(())
    }

    /// Names at the left, values at the right, a thin rule below each.
    fn facts(&mut self, entries: &[Fact], column: Column, parent: Option<NodeId>) -> Result<(), Problem> {
        let list = self.tags.node(Kind::List(false), parent);
        let split = (column.1 * 0.29).clamp(60.0, 140.0);
        for (i, fact) in entries.iter().enumerate() {
            let entry = self.tags.node(Kind::Entry, Some(list));
            let label = self.tags.node(Kind::Label, Some(entry));
            let body = self.tags.node(Kind::Body, Some(entry));
            let (name, value) =
                (self.shape(&fact.name, style::NAME)?, self.shape(&fact.value, style::VALUE)?);
            let names = self.lines(&name, (column.0, split - 10.0), Align::Left, label);
            let values = self.lines(&value, (column.0 + split, column.1 - split), Align::Left, body);
            let rows = side_by_side(vec![names, values], style::VALUE.leading, 3.2);
            let count = rows.len();
            for (j, mut piece) in rows.into_iter().enumerate() {
                if j + 1 == count && i + 1 < entries.len() {
                    piece.areas.push(Area::rule(column.0, piece.height, column.1, 0.4, Ink::Rule));
                }
                // The first entry does not stand alone, nor does the last.
                piece.keep = j + 1 < count.min(6)
                    || (j + 1 == count && (i == 0 || i + 2 == entries.len()) && i + 1 < entries.len());
                self.push(piece);
            }
        }
        if let Some(last) = self.pieces.last_mut() {
            last.after = 12.0;
        }
        Ok(())
    }

    /// Names above values, three side by side.
    fn card(&mut self, entries: &[Fact], column: Column, parent: Option<NodeId>) -> Result<(), Problem> {
        let list = self.tags.node(Kind::List(false), parent);
        let across = 3;
        let gap = 16.0;
        let width = (column.1 - gap * (across as f32 - 1.0)) / across as f32;
        for row in entries.chunks(across) {
            let mut columns = Vec::new();
            for (i, fact) in row.iter().enumerate() {
                let entry = self.tags.node(Kind::Entry, Some(list));
                let label = self.tags.node(Kind::Label, Some(entry));
                let body = self.tags.node(Kind::Body, Some(entry));
                let x = column.0 + i as f32 * (width + gap);
                let name = self.shape(&fact.name, Type { size: 7.8, leading: 11.4, ..style::NAME })?;
                let value = self.shape(&fact.value, Type { size: 9.6, leading: 12.6, ..style::VALUE })?;
                let mut lines = self.lines(&name, (x, width), Align::Left, label);
                lines.extend(self.lines(&value, (x, width), Align::Left, body));
                columns.push(lines);
            }
            let height = columns.iter().map(|c| c.iter().map(|p| p.height).sum::<f32>()).fold(0.0, f32::max);
            let mut piece = Piece { height: height + 2.0, after: 7.0, ..Piece::default() };
            for lines in columns {
                let mut y = 0.0;
                for line in lines {
                    let height = line.height;
                    piece.take(line, y);
                    y += height;
                }
            }
            self.push(piece);
        }
        if let Some(last) = self.pieces.last_mut() {
            last.after = 14.0;
        }
        Ok(())
    }

    fn figure(
        &mut self,
        name: &str,
        alternative: &str,
        caption: &[Run],
        column: Column,
        parent: Option<NodeId>,
    ) -> Result<(), Problem> {
        let Some(picture) = self.pictures.get(name) else { return Ok(()) };
        let (width, height, shapes) = match picture {
            Picture::Drawing(d) => (d.width, d.height, Rc::new(d.shapes.clone())),
            Picture::Photo(p) => {
                photo::check(p).map_err(|why| Problem::Picture { name: p.name.clone(), why })?;
                let width = column.1.min(p.width as f32 * 0.75);
                let height = width * p.height as f32 / p.width.max(1) as f32;
                let photo =
                    Shape::Photo { at: at(0.0, 0.0), width, height, photo: std::sync::Arc::new(p.clone()) };
                (width, height, Rc::new(vec![photo]))
            }
        };
        let words = self.shape(caption, style::CAPTION)?;
        let lines = if words.is_empty() { 0 } else { words.lines(column.1).len() };
        let room = (self.page - lines as f32 * words.leading - 20.0).max(60.0);
        let scale = (column.1 / width.max(1.0)).min(room / height.max(1.0)).min(1.0);
        let node = self.tags.node(Kind::Figure(alternative.to_owned()), parent);
        for shape in shapes.iter() {
            self.check_labels(shape)?;
        }
        self.push(Piece {
            height: height * scale,
            before: 6.0,
            after: 6.0,
            keep: lines > 0,
            picture: Some([width * scale, height * scale]),
            groups: vec![Group {
                node: Some(node),
                ops: vec![Op::Shapes { x: column.0, y: 0.0, scale, shapes }],
                picture: true,
                ..Group::default()
            }],
            ..Piece::default()
        });
        if lines > 0 {
            let node = self.tags.node(Kind::Caption, parent);
            let first = self.pieces.len();
            self.text(caption, style::CAPTION, column, Align::Left, node, (0.0, 14.0))?;
            if let Some((_, rest)) = self.pieces.get_mut(first..).and_then(<[Piece]>::split_last_mut) {
                rest.iter_mut().for_each(|p| p.keep = true);
            }
        }
        Ok(())
    }

    /// Labels of drawings are set when they are painted; a sign that no font has is found now.
    fn check_labels(&mut self, shape: &Shape) -> Result<(), Problem> {
        match shape {
            Shape::Label(label) => {
                let of = Type { size: label.size, leading: label.size, strong: label.strong, ink: label.ink };
                self.shape(&[Run::text(label.text.clone())], of).map(|_| ())
            }
            Shape::Clip { shapes, .. } => shapes.iter().try_for_each(|s| self.check_labels(s)),
            Shape::Photo { photo, .. } => {
                photo::check(photo).map_err(|why| Problem::Picture { name: photo.name.clone(), why })
            }
            _ => Ok(()),
        }
    }

    fn aside(
        &mut self,
        class: AsideClass,
        blocks: &[Block],
        column: Column,
        parent: Option<NodeId>,
    ) -> Result<(), Problem> {
        let node = self.tags.node(Kind::Aside, parent);
        self.asides += 1;
        let id = self.asides;
        self.around.push(Around { id, class, x: column.0, width: column.1 });
        let pad = match class {
            AsideClass::VerdictPass | AsideClass::VerdictFail | AsideClass::VerdictUndetermined => {
                (11.0, 16.0)
            }
            _ => (8.0, 12.0),
        };
        let mark = if class == AsideClass::Caution { 22.0 } else { 0.0 };
        let inner = (column.0 + pad.1 + mark, column.1 - 2.0 * pad.1 - mark);
        let first = self.pieces.len();
        self.push(Piece { height: pad.0, before: 8.0, keep: true, ..Piece::default() });
        self.blocks(blocks, inner, Some(node))?;
        if let Some(last) = self.pieces.last_mut() {
            last.keep = true;
            last.after = 0.0;
        }
        self.push(Piece { height: pad.0, after: 12.0, ..Piece::default() });
        self.around.pop();
        if mark > 0.0
            && let Some(piece) = self.pieces.get_mut(first + 1)
        {
            let (x, y) = (column.0 + pad.1 - 1.0, 0.5);
            let shapes = vec![
                Shape::Line {
                    points: vec![at(x + 7.0, y), at(x + 14.0, y + 12.4), at(x, y + 12.4)],
                    closed: true,
                    fill: None,
                    pen: Some(pen(Ink::Text, 1.1)),
                },
                Shape::Line {
                    points: vec![at(x + 7.0, y + 4.2), at(x + 7.0, y + 8.4)],
                    closed: false,
                    fill: None,
                    pen: Some(pen(Ink::Text, 1.2)),
                },
                Shape::Circle { at: at(x + 7.0, y + 10.3), radius: 0.8, fill: Some(Ink::Text), pen: None },
            ];
            let op = Op::Shapes { x: 0.0, y: 0.0, scale: 1.0, shapes: Rc::new(shapes) };
            piece.groups.insert(0, Group { ops: vec![op], ..Group::default() });
        }
        // Space inside the passage belongs to it, so that its ground has no gaps.
        if let Some(pieces) = self.pieces.get_mut(first..) {
            let mut carried = 0.0;
            for (i, piece) in pieces.iter_mut().enumerate() {
                if i > 0 {
                    let space = piece.before.max(carried);
                    carried = piece.after;
                    piece.before = 0.0;
                    piece.lower(space);
                }
                piece.after = 0.0;
            }
        }
        if let Some(last) = self.pieces.last_mut() {
            last.after = 12.0;
        }
        self.keep_whole(first);
        Ok(())
    }
}

/// Joins columns of lines into pieces: one where they are short, else several of a few lines each, so that a
/// long text can go over pages. `pad` is the space above and below the whole.
pub(crate) fn side_by_side(columns: Vec<Vec<Piece>>, leading: f32, pad: f32) -> Vec<Piece> {
    const MOST: usize = 24;
    const STEP: usize = 6;
    let longest = columns.iter().map(Vec::len).max().unwrap_or(0);
    let step = if longest > MOST { STEP } else { longest.max(1) };
    let chunks = longest.div_ceil(step).max(1);
    let mut out: Vec<Piece> = (0..chunks).map(|_| Piece::default()).collect();
    for column in columns {
        for (i, line) in column.into_iter().enumerate() {
            let chunk = i / step;
            let top = (i % step) as f32 * leading + if chunk == 0 { pad } else { 0.0 };
            if let Some(piece) = out.get_mut(chunk) {
                piece.take(line, top);
            }
        }
    }
    for (chunk, piece) in out.iter_mut().enumerate() {
        let lines = (longest - (chunk * step).min(longest)).min(step);
        piece.height = lines as f32 * leading;
        if chunk == 0 {
            piece.height += pad;
        }
        if chunk + 1 == chunks {
            piece.height += pad;
        }
    }
    out
}
