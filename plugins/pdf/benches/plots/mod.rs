//! The plots of a report as other engines can draw them: shapes with colours, and the fonts of their labels.

use pages::drawing::{Anchor, At, Drawing, Ink, Label, Pen, Shape};
use pages::model::{Picture, Pictures};
use serde_json::{Value, json};

/// The accent of the bench's plots; which it is costs nothing.
const ACCENT: [u8; 3] = [0x0f, 0x5c, 0x7a];

/// Every vector drawing among the pictures.
pub(crate) fn of(pictures: &Pictures) -> Vec<Value> {
    let mut plots = Vec::new();
    for (_, picture) in pictures.iter() {
        if let Picture::Drawing(Drawing { width, height, shapes }) = picture {
            let shapes: Vec<Value> = shapes.iter().filter_map(shape).collect();
            plots.push(json!({"width": width, "height": height, "shapes": shapes}));
        }
    }
    plots
}

/// Files of the report's fonts, by the names that labels use.
pub(crate) fn fonts() -> Value {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/../../templates/fonts");
    json!({
        "regular": format!("{folder}/report-sans-regular.ttf"),
        "semibold": format!("{folder}/report-sans-semibold.ttf"),
    })
}

fn colour(ink: Ink) -> Value {
    json!(ink.colour(ACCENT).map(|part| f32::from(part) / 255.0))
}

fn line(pen: Option<Pen>) -> Value {
    let dash = |pen: Pen| pen.dash.map(|(dash, gap)| [dash, gap]);
    pen.map_or(Value::Null, |pen| json!({"colour": colour(pen.ink), "width": pen.width, "dash": dash(pen)}))
}

/// A shape; photos, which the bench's job has none of, are left out.
fn shape(shape: &Shape) -> Option<Value> {
    Some(match shape {
        Shape::Line { points, closed, fill, pen } => json!({
            "kind": "line", "points": points.iter().map(|At { x, y }| [x, y]).collect::<Vec<_>>(), "closed": closed,
            "fill": fill.map(colour), "pen": line(*pen),
        }),
        Shape::Rect { at, width, height, fill, pen } => json!({
            "kind": "rect", "x": at.x, "y": at.y, "width": width, "height": height, "fill": fill.map(colour),
            "pen": line(*pen),
        }),
        Shape::Circle { at, radius, fill, pen } => json!({
            "kind": "circle", "x": at.x, "y": at.y, "radius": radius, "fill": fill.map(colour), "pen": line(*pen),
        }),
        Shape::Label(Label { at, anchor, size, strong, ink, text }) => json!({
            "kind": "label", "x": at.x, "y": at.y, "size": size, "text": text, "fill": colour(*ink),
            "font": if *strong { "semibold" } else { "regular" },
            "anchor": match anchor { Anchor::Start => "start", Anchor::Middle => "middle", Anchor::End => "end" },
        }),
        Shape::Clip { at, width, height, shapes } => json!({
            "kind": "clip", "x": at.x, "y": at.y, "width": width, "height": height,
            "shapes": shapes.iter().filter_map(self::shape).collect::<Vec<_>>(),
        }),
        Shape::Photo { .. } => return None,
    })
}
