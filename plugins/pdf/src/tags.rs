//! The structure of the document for readers that can't see it.
//!
//! Nodes are made while the text is set; each is hung into its parent when the first of its content is painted,
//! so that the tree is in reading order whatever the order of making.

use krilla::tagging::{Identifier, ListNumbering, Node, TableHeaderScope, Tag, TagGroup, TagKind, TagTree};
use std::num::{NonZeroU16, NonZeroU32};

/// A node's number.
pub(crate) type NodeId = usize;

/// What a node is.
#[derive(Clone, Debug)]
pub(crate) enum Kind {
    /// The root, a section.
    Section,
    /// A heading with its level and words.
    Heading(u8, String),
    /// A paragraph.
    Paragraph,
    /// A list; numbered or not.
    List(bool),
    /// An entry of a list.
    Entry,
    /// Its label.
    Label,
    /// Its body.
    Body,
    /// A table.
    Table,
    /// Its head.
    Head,
    /// Its rows.
    Rows,
    /// A row.
    Row,
    /// A heading cell: whether it heads its row, and how many columns it covers.
    HeadCell(bool, u16),
    /// A cell and how many columns it covers.
    Cell(u16),
    /// A picture and the words for it.
    Figure(String),
    /// Words to a picture or table.
    Caption,
    /// A link.
    Link,
    /// A passage set off.
    Aside,
}

struct TagNode {
    kind: Kind,
    parent: Option<NodeId>,
    hung: bool,
    children: Vec<Child>,
}

enum Child {
    Node(NodeId),
    Content(Identifier),
}

/// The tree as it grows.
#[derive(Default)]
pub(crate) struct Tags {
    nodes: Vec<TagNode>,
    roots: Vec<NodeId>,
}

impl Tags {
    /// Makes a node; without a parent it stands at the top.
    pub(crate) fn node(&mut self, kind: Kind, parent: Option<NodeId>) -> NodeId {
        self.nodes.push(TagNode { kind, parent, hung: false, children: Vec::new() });
        self.nodes.len() - 1
    }

    /// Hangs a node into its parent, and that into its own, where that has not been done.
    pub(crate) fn hang(&mut self, id: NodeId) {
        let mut id = id;
        loop {
            let Some(node) = self.nodes.get_mut(id) else { return };
            if std::mem::replace(&mut node.hung, true) {
                return;
            }
            match node.parent {
                Some(parent) => {
                    // A parent that was never seen before must be hung first, but its place is the same.
                    if let Some(node) = self.nodes.get_mut(parent) {
                        node.children.push(Child::Node(id));
                    }
                    id = parent;
                }
                None => {
                    self.roots.push(id);
                    return;
                }
            }
        }
    }

    /// Adds painted content to a node.
    pub(crate) fn content(&mut self, id: NodeId, content: Identifier) {
        self.hang(id);
        if let Some(node) = self.nodes.get_mut(id) {
            node.children.push(Child::Content(content));
        }
    }

    /// The finished tree.
    pub(crate) fn tree(&self, language: &str) -> TagTree {
        let mut tree = TagTree::new().with_lang(Some(language.to_owned()));
        for root in &self.roots {
            tree.push(self.group(*root));
        }
        tree
    }

    fn group(&self, id: NodeId) -> Node {
        let Some(node) = self.nodes.get(id) else { return TagGroup::new(Tag::NonStruct).into() };
        let span = |n: &u16| NonZeroU32::new(u32::from(*n)).filter(|n| n.get() > 1);
        let kind: TagKind = match &node.kind {
            Kind::Section => Tag::Section.into(),
            Kind::Heading(level, words) => {
                let level = NonZeroU16::new(u16::from(*level)).unwrap_or(NonZeroU16::MIN);
                Tag::Hn(level, Some(words.clone())).into()
            }
            Kind::Paragraph => Tag::P.into(),
            Kind::List(true) => Tag::L(ListNumbering::Decimal).into(),
            Kind::List(false) => Tag::L(ListNumbering::None).into(),
            Kind::Entry => Tag::LI.into(),
            Kind::Label => Tag::Lbl.into(),
            Kind::Body => Tag::LBody.into(),
            Kind::Table => Tag::Table.into(),
            Kind::Head => Tag::THead.into(),
            Kind::Rows => Tag::TBody.into(),
            Kind::Row => Tag::TR.into(),
            Kind::HeadCell(row, columns) => {
                let scope = if *row { TableHeaderScope::Row } else { TableHeaderScope::Column };
                Tag::TH(scope).with_col_span(span(columns)).into()
            }
            Kind::Cell(columns) => Tag::TD.with_col_span(span(columns)).into(),
            Kind::Figure(words) => Tag::Figure(Some(words.clone())).into(),
            Kind::Caption => Tag::Caption.into(),
            Kind::Link => Tag::Link.into(),
            Kind::Aside => Tag::Div.into(),
        };
        let children = node.children.iter().map(|c| match c {
            Child::Node(id) => self.group(*id),
            Child::Content(content) => Node::Leaf(*content),
        });
        TagGroup::with_children(kind, children.collect()).into()
    }
}
