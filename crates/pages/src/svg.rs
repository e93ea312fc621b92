//! A drawing as SVG, for pages on screens: inks become style-sheet colours, so that they follow light and dark.

use crate::drawing::{Anchor, At, Drawing, Ink, Label, Pen, Shape};
use crate::model::Photo;
use std::fmt::Write;

/// Writes a drawing. `title` is what someone who can't see it is told; `id` must be unique in the page.
/// Photos are embedded as data URIs.
pub fn svg(drawing: &Drawing, id: &str, title: &str) -> String {
    let mut out = String::new();
    let (w, h) = (number(drawing.width), number(drawing.height));
    let _ = write!(
        out,
        "<svg role=\"img\" aria-labelledby=\"{id}\" viewBox=\"0 0 {w} {h}\" width=\"{w}\" height=\"{h}\">\
         <title id=\"{id}\">{}</title>",
        escape(title)
    );
    let mut clips = 0;
    for shape in &drawing.shapes {
        draw(shape, id, &mut clips, &mut out);
    }
    out.push_str("</svg>");
    out
}

fn draw(shape: &Shape, id: &str, clips: &mut u32, out: &mut String) {
    match shape {
        Shape::Line { points, closed, fill, pen } => {
            out.push_str("<path d=\"");
            for (i, p) in points.iter().enumerate() {
                let _ = write!(out, "{}{} {}", if i == 0 { "M" } else { "L" }, number(p.x), number(p.y));
            }
            out.push_str(if *closed { "Z\"" } else { "\"" });
            looks(*fill, *pen, out);
            out.push_str("/>");
        }
        Shape::Rect { at, width, height, fill, pen } => {
            let _ = write!(out, "<rect {}", place(*at, *width, *height));
            looks(*fill, *pen, out);
            out.push_str("/>");
        }
        Shape::Circle { at, radius, fill, pen } => {
            let _ = write!(
                out,
                "<circle cx=\"{}\" cy=\"{}\" r=\"{}\"",
                number(at.x),
                number(at.y),
                number(*radius)
            );
            looks(*fill, *pen, out);
            out.push_str("/>");
        }
        Shape::Label(Label { at, anchor, size, strong, ink, text }) => {
            let anchor = match anchor {
                Anchor::Start => "",
                Anchor::Middle => " text-anchor=\"middle\"",
                Anchor::End => " text-anchor=\"end\"",
            };
            let weight = if *strong { " font-weight=\"600\"" } else { "" };
            let _ = write!(
                out,
                "<text x=\"{}\" y=\"{}\" font-size=\"{}\"{anchor}{weight} fill=\"{}\">{}</text>",
                number(at.x),
                number(at.y),
                number(*size),
                colour(*ink),
                escape(text)
            );
        }
        Shape::Photo { at, width, height, photo } => {
            let _ = write!(
                out,
                "<image {} preserveAspectRatio=\"none\" href=\"{}\"/>",
                place(*at, *width, *height),
                data_uri(photo)
            );
        }
        Shape::Clip { at, width, height, shapes } => {
            *clips += 1;
            let name = format!("{id}-clip-{clips}");
            let _ = write!(
                out,
                "<clipPath id=\"{name}\"><rect {}/></clipPath><g clip-path=\"url(#{name})\">",
                place(*at, *width, *height)
            );
            for shape in shapes {
                draw(shape, id, clips, out);
            }
            out.push_str("</g>");
        }
    }
}

fn place(at: At, width: f32, height: f32) -> String {
    let (x, y, w, h) = (number(at.x), number(at.y), number(width), number(height));
    format!("x=\"{x}\" y=\"{y}\" width=\"{w}\" height=\"{h}\"")
}

fn looks(fill: Option<Ink>, pen: Option<Pen>, out: &mut String) {
    match fill {
        Some(ink) => {
            let _ = write!(out, " fill=\"{}\"", colour(ink));
        }
        None => out.push_str(" fill=\"none\""),
    }
    if let Some(pen) = pen {
        let _ = write!(out, " stroke=\"{}\" stroke-width=\"{}\"", colour(pen.ink), number(pen.width));
        if let Some((dash, gap)) = pen.dash {
            let _ = write!(out, " stroke-dasharray=\"{} {}\"", number(dash), number(gap));
        } else {
            out.push_str(" stroke-linejoin=\"round\"");
        }
    }
}

fn colour(ink: Ink) -> String {
    format!("var(--{})", ink.name())
}

/// A coordinate with at most two decimals; what is no number becomes 0.
fn number(value: f32) -> String {
    if !value.is_finite() {
        return "0".to_owned();
    }
    let mut text = format!("{value:.2}");
    while text.ends_with('0') {
        text.pop();
    }
    if text.ends_with('.') {
        text.pop();
    }
    if text == "-0" { "0".to_owned() } else { text }
}

/// A photo as a data URI.
pub fn data_uri(photo: &Photo) -> String {
    format!("data:{};base64,{}", photo.format.media_type(), base64(&photo.bytes))
}

fn base64(bytes: &[u8]) -> String {
    const DIGITS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let mut out = String::with_capacity(bytes.len().div_ceil(3) * 4);
    for chunk in bytes.chunks(3) {
        let group = chunk.iter().fold(0u32, |n, b| n << 8 | u32::from(*b)) << (8 * (3 - chunk.len()));
        for i in 0..4 {
            let digit = (group >> (18 - 6 * i) & 63) as usize;
            out.push(if i <= chunk.len() { DIGITS[digit] as char } else { '=' });
        }
    }
    out
}

/// Escapes text for markup.
pub fn escape(text: &str) -> String {
    crate::calls::escape(text)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::drawing::{at, dashed, pen};

    #[test]
    fn a_drawing_as_svg() {
        let mut d = Drawing::new(100.0, 50.0);
        d.line([at(0.0, 0.0), at(10.001, 1.0 / 3.0)], dashed(Ink::Accent, 1.0, 3.0, 2.0));
        d.clip(at(0.0, 0.0), 5.0, 5.0, |d| {
            d.circle(at(1.0, 2.0), 3.0, Some(Ink::Fail), Some(pen(Ink::Text, 0.5)))
        });
        d.label(at(1.0, 2.0), Anchor::End, 8.0, Ink::Quiet, "a < b");
        assert_eq!(
            svg(&d, "f", "A & B"),
            "<svg role=\"img\" aria-labelledby=\"f\" viewBox=\"0 0 100 50\" width=\"100\" height=\"50\">\
             <title id=\"f\">A &amp; B</title><path d=\"M0 0L10 0.33\" fill=\"none\" stroke=\"var(--accent)\" \
             stroke-width=\"1\" stroke-dasharray=\"3 2\"/><clipPath id=\"f-clip-1\"><rect x=\"0\" y=\"0\" \
             width=\"5\" height=\"5\"/></clipPath><g clip-path=\"url(#f-clip-1)\"><circle cx=\"1\" cy=\"2\" r=\"3\" \
             fill=\"var(--fail)\" stroke=\"var(--text)\" stroke-width=\"0.5\" stroke-linejoin=\"round\"/></g>\
             <text x=\"1\" y=\"2\" font-size=\"8\" text-anchor=\"end\" fill=\"var(--quiet)\">a &lt; b</text></svg>"
        );
    }

    /// Test vectors of RFC 4648, section 10.
    #[test]
    fn base64_of_rfc_4648() {
        for (plain, coded) in [
            ("", ""),
            ("f", "Zg=="),
            ("fo", "Zm8="),
            ("foo", "Zm9v"),
            ("foob", "Zm9vYg=="),
            ("foobar", "Zm9vYmFy"),
        ] {
            assert_eq!(base64(plain.as_bytes()), coded);
        }
    }
}
