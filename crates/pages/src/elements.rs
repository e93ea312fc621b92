//! The elements and attributes of the subset of XHTML that papers are made of.

macro_rules! elements {
    ($($variant:ident = $name:literal [$($attribute:literal),*],)+) => {
        /// An element of the subset.
        #[derive(Clone, Copy, Debug, PartialEq, Eq)]
        pub(crate) enum Element { $($variant,)+ }
        impl Element {
            pub(crate) const ALL: &'static [Self] = &[$(Self::$variant),+];
            pub(crate) const fn name(self) -> &'static str {
                match self { $(Self::$variant => $name,)+ }
            }
            pub(crate) const fn attributes(self) -> &'static [&'static str] {
                match self { $(Self::$variant => &[$($attribute),*],)+ }
            }
            pub(crate) fn parse(name: &str) -> Option<Self> {
                match name { $($name => Some(Self::$variant),)+ _ => None }
            }
        }
    };
}

elements! {
    Html = "html" ["lang"],
    Head = "head" [],
    Title = "title" [],
    Meta = "meta" ["name", "content"],
    Body = "body" [],
    Header = "header" [],
    Footer = "footer" [],
    Section = "section" ["id", "class"],
    H1 = "h1" ["id"],
    H2 = "h2" ["id"],
    H3 = "h3" ["id"],
    H4 = "h4" ["id"],
    P = "p" ["class"],
    Strong = "strong" [],
    Em = "em" [],
    Code = "code" [],
    Span = "span" ["class"],
    A = "a" ["href"],
    Br = "br" [],
    Ul = "ul" ["class"],
    Ol = "ol" ["class"],
    Li = "li" [],
    Dl = "dl" ["class"],
    Dt = "dt" [],
    Dd = "dd" [],
    Table = "table" ["id", "class"],
    Caption = "caption" [],
    Thead = "thead" [],
    Tbody = "tbody" [],
    Tr = "tr" ["class"],
    Th = "th" ["class", "scope", "colspan", "width"],
    Td = "td" ["class", "colspan", "width"],
    Figure = "figure" ["id"],
    Img = "img" ["name", "alt"],
    Figcaption = "figcaption" [],
    Aside = "aside" ["class"],
}

impl Element {
    /// Heading level, for headings.
    pub(crate) const fn level(self) -> Option<u8> {
        match self {
            Self::H1 => Some(1),
            Self::H2 => Some(2),
            Self::H3 => Some(3),
            Self::H4 => Some(4),
            _ => None,
        }
    }
    /// Whether text may stand in it.
    pub(crate) const fn holds_text(self) -> bool {
        !matches!(
            self,
            Self::Html
                | Self::Head
                | Self::Meta
                | Self::Body
                | Self::Header
                | Self::Footer
                | Self::Section
                | Self::Br
                | Self::Ul
                | Self::Ol
                | Self::Dl
                | Self::Table
                | Self::Thead
                | Self::Tbody
                | Self::Tr
                | Self::Figure
                | Self::Img
                | Self::Aside
        )
    }
}
