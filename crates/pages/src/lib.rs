//! From a template to typed pages that every paper is made of, with plots and point maps as vector drawings.
//!
//! The way of a paper: a [`TemplateSet`] (Handlebars files, words by language, looks) is rendered by an
//! [`Engine`] over a view (JSON), which yields a strict subset of XHTML; [`read`] turns that into a [`Document`], and writers set the
//! document as PDF, HTML or whatever comes. Two papers of one document can't disagree, since both are made of
//! the same blocks.
//!
//! Nothing here touches files, clock or environment. Errors are [`record::Finding`]s that name the template's
//! file, line and column.
#![forbid(unsafe_code)]
#![warn(clippy::disallowed_methods)]

mod built_in;
mod calls;
pub mod classes;
pub mod codes;
mod control;
mod decimals;
pub mod drawing;
mod elements;
mod joins;
mod lower;
mod manifest;
mod marks;
pub mod model;
mod nearest;
mod numbers;
mod parts;
pub mod plot;
mod render;
pub mod svg;
mod template;
pub mod view;
mod words;
mod xhtml;

pub use manifest::{Look, Manifest, Paper};
pub use model::{Document, Picture, Pictures};
pub use nearest::nearest;
pub use numbers::Numbers;
pub use render::Engine;
pub use template::TemplateSet;
pub use words::{Review, Words};
pub use xhtml::{Markup, read};

/// An error about a template or its words: no paper is made of it.
pub type Refusal = Box<record::Finding>;
