//! Sets the page model as one self-contained HTML file.
//!
//! The file asks for nothing from anywhere: style and pictures are inside. It says word for word what the PDF
//! says, and is readable by keyboard, by ear, in light and dark, and on paper.
#![forbid(unsafe_code)]
#![warn(clippy::disallowed_methods)]

mod block;
mod filter;
mod page;
mod write;

pub use filter::Controls;
pub use page::html;
pub use write::HtmlWriter;
