//! Drawn pictures of the item and the bench; no photograph, since nothing of it exists.

use tiny_skia::{Color, FillRule, LineCap, Paint, Path, PathBuilder, Pixmap, Rect, Stroke, Transform};

const WIDTH: f32 = 960.0;
const HEIGHT: f32 = 640.0;

struct Sheet {
    pixmap: Pixmap,
}

impl Sheet {
    fn new() -> Result<Self, String> {
        let mut pixmap = Pixmap::new(WIDTH as u32, HEIGHT as u32).ok_or("no room for a picture")?;
        pixmap.fill(Color::from_rgba8(0xf4, 0xf2, 0xec, 0xff));
        Ok(Self { pixmap })
    }

    fn fill(&mut self, path: Option<Path>, grey: [u8; 3]) {
        let Some(path) = path else { return };
        let mut paint = Paint { anti_alias: true, ..Paint::default() };
        paint.set_color_rgba8(grey[0], grey[1], grey[2], 0xff);
        self.pixmap.fill_path(&path, &paint, FillRule::Winding, Transform::identity(), None);
    }

    fn line(&mut self, path: Option<Path>, grey: [u8; 3], width: f32) {
        let Some(path) = path else { return };
        let mut paint = Paint { anti_alias: true, ..Paint::default() };
        paint.set_color_rgba8(grey[0], grey[1], grey[2], 0xff);
        let stroke = Stroke { width, line_cap: LineCap::Round, ..Stroke::default() };
        self.pixmap.stroke_path(&path, &paint, &stroke, Transform::identity(), None);
    }

    /// A box with rounded corners, in fractions of the sheet: left, top, width, height; radius in pixels.
    fn panel(&mut self, [x, y, w, h]: [f32; 4], radius: f32, inside: [u8; 3], edge: [u8; 3], width: f32) {
        let path = rounded(x * WIDTH, y * HEIGHT, w * WIDTH, h * HEIGHT, radius);
        self.fill(path.clone(), inside);
        self.line(path, edge, width);
    }

    fn disc(&mut self, x: f32, y: f32, radius: f32, inside: [u8; 3], edge: [u8; 3], width: f32) {
        let path = PathBuilder::from_circle(x * WIDTH, y * HEIGHT, radius);
        self.fill(path.clone(), inside);
        self.line(path, edge, width);
    }

    fn stroke(&mut self, points: &[(f32, f32)], grey: [u8; 3], width: f32) {
        let mut path = PathBuilder::new();
        for (index, (x, y)) in points.iter().enumerate() {
            if index == 0 { path.move_to(x * WIDTH, y * HEIGHT) } else { path.line_to(x * WIDTH, y * HEIGHT) }
        }
        self.line(path.finish(), grey, width);
    }

    fn png(self) -> Result<Vec<u8>, String> {
        self.pixmap.encode_png().map_err(|e| e.to_string())
    }
}

fn rounded(x: f32, y: f32, w: f32, h: f32, r: f32) -> Option<Path> {
    if r <= 0.0 {
        return Some(PathBuilder::from_rect(Rect::from_xywh(x, y, w, h)?));
    }
    // Distance of the control point for a quarter of a circle by one cubic curve.
    let k = r * 0.447_715_3;
    let mut path = PathBuilder::new();
    path.move_to(x + r, y);
    path.line_to(x + w - r, y);
    path.cubic_to(x + w - k, y, x + w, y + k, x + w, y + r);
    path.line_to(x + w, y + h - r);
    path.cubic_to(x + w, y + h - k, x + w - k, y + h, x + w - r, y + h);
    path.line_to(x + r, y + h);
    path.cubic_to(x + k, y + h, x, y + h - k, x, y + h - r);
    path.line_to(x, y + r);
    path.cubic_to(x, y + k, x + k, y, x + r, y);
    path.close();
    path.finish()
}

const INK: [u8; 3] = [0x2e, 0x34, 0x3b];
const BODY: [u8; 3] = [0xd9, 0xdc, 0xdd];
const METAL: [u8; 3] = [0xb4, 0xb9, 0xbd];
const DARK: [u8; 3] = [0x59, 0x62, 0x6a];
const GLASS: [u8; 3] = [0xbf, 0xcb, 0xc0];
const TABLE: [u8; 3] = [0xe7, 0xe0, 0xd2];
const FAINT: [u8; 3] = [0x9a, 0xa0, 0xa4];

fn screw(sheet: &mut Sheet, x: f32, y: f32) {
    sheet.disc(x, y, 17.0, METAL, INK, 2.5);
    let arm = 0.011;
    sheet.stroke(&[(x - arm, y - arm), (x + arm, y + arm)], INK, 3.0);
}

/// Front: window, keypad, four screws, USB port.
pub(super) fn front() -> Result<Vec<u8>, String> {
    let mut sheet = Sheet::new()?;
    sheet.panel([0.12, 0.13, 0.76, 0.76], 34.0, BODY, INK, 4.0);
    for (x, y) in [(0.175, 0.22), (0.825, 0.22), (0.175, 0.80), (0.825, 0.80)] {
        screw(&mut sheet, x, y);
    }
    sheet.panel([0.22, 0.24, 0.32, 0.32], 12.0, GLASS, INK, 3.0);
    // The level on the display: a tank with a water line.
    sheet.stroke(&[(0.27, 0.31), (0.27, 0.50), (0.49, 0.50), (0.49, 0.31)], DARK, 4.0);
    sheet.stroke(&[(0.28, 0.40), (0.33, 0.39), (0.38, 0.41), (0.43, 0.39), (0.48, 0.40)], DARK, 3.0);
    for row in 0..3 {
        for column in 0..3 {
            let (x, y) = (0.60 + column as f32 * 0.07, 0.28 + row as f32 * 0.13);
            sheet.panel([x, y, 0.055, 0.09], 9.0, [0xf1, 0xf2, 0xf2], DARK, 2.5);
        }
    }
    sheet.panel([0.645, 0.765, 0.09, 0.07], 9.0, METAL, INK, 3.0);
    sheet.panel([0.660, 0.787, 0.06, 0.026], 4.0, DARK, INK, 1.5);
    sheet.png()
}

/// Rear: M12 connector and cable gland.
pub(super) fn rear() -> Result<Vec<u8>, String> {
    let mut sheet = Sheet::new()?;
    sheet.panel([0.12, 0.18, 0.76, 0.66], 30.0, BODY, INK, 4.0);
    sheet.disc(0.30, 0.56, 62.0, METAL, INK, 4.0);
    sheet.disc(0.30, 0.56, 40.0, DARK, INK, 3.0);
    for (dx, dy) in [(0.0, -0.03), (0.021, 0.0), (-0.021, 0.0), (0.0, 0.03)] {
        sheet.disc(0.30 + dx, 0.56 + dy, 5.0, METAL, METAL, 1.0);
    }
    sheet.disc(0.68, 0.56, 66.0, [0x6f, 0x77, 0x7d], INK, 4.0);
    sheet.disc(0.68, 0.56, 34.0, DARK, INK, 3.0);
    sheet.stroke(&[(0.68, 0.56), (0.72, 0.74), (0.80, 0.93), (0.90, 0.99)], INK, 22.0);
    sheet.panel([0.40, 0.26, 0.20, 0.12], 4.0, [0xf6, 0xf6, 0xf4], FAINT, 2.0);
    sheet.png()
}

/// The bench from above: ground plane, table with the horizontal plane, item, positions of the vertical plane.
pub(super) fn bench() -> Result<Vec<u8>, String> {
    let mut sheet = Sheet::new()?;
    sheet.panel([0.03, 0.04, 0.94, 0.92], 0.0, [0xe3, 0xe5, 0xe6], FAINT, 2.0);
    sheet.panel([0.12, 0.16, 0.76, 0.68], 6.0, TABLE, FAINT, 2.0);
    sheet.panel([0.15, 0.19, 0.70, 0.64], 2.0, METAL, INK, 2.5);
    sheet.panel([0.40, 0.36, 0.20, 0.24], 10.0, BODY, INK, 3.5);
    sheet.stroke(&[(0.50, 0.36), (0.50, 0.22), (0.62, 0.08)], INK, 6.0);
    for plate in [
        [0.40, 0.645, 0.20, 0.012],
        [0.40, 0.305, 0.20, 0.012],
        [0.355, 0.36, 0.008, 0.24],
        [0.637, 0.36, 0.008, 0.24],
    ] {
        sheet.panel(plate, 0.0, DARK, INK, 1.5);
    }
    sheet.png()
}
