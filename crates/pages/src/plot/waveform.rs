//! A discharge current over time: as measured, with the limits of its figures and the ideal curve behind.

use super::axis::Axis;
use crate::Numbers;
use crate::drawing::{Anchor, At, Drawing, Ink, Pen, at, dashed, pen};

/// What is drawn. Times are in nanoseconds from the instant at which the current reaches 10 % of its peak;
/// currents are in amperes with the record's sign.
#[derive(Clone, Debug)]
pub struct Waveform<'a> {
    /// Curves as measured: time and current, in order of time.
    pub curves: &'a [Vec<(f64, f64)>],
    /// The ideal curve; empty where there is none.
    pub ideal: &'a [(f64, f64)],
    /// Limits of currents at an instant.
    pub limits: &'a [LimitMark],
    /// Times of 10 % and 90 % of the peak on the rising edge of a single curve.
    pub edge: Option<(f64, f64)>,
    /// Words for the current axis, with its unit.
    pub current: &'a str,
    /// Words for the time axis, with its unit.
    pub time: &'a str,
    /// Words for the measured curve.
    pub measured: &'a str,
    /// Words for the band between the lowest and the highest of several curves.
    pub spread: &'a str,
    /// Words for the ideal curve.
    pub ideal_word: &'a str,
    /// Words for the limits.
    pub limit_word: &'a str,
    /// How numbers are written.
    pub numbers: &'a Numbers,
}

/// Limits of a current at an instant, and what was measured.
#[derive(Clone, Debug, PartialEq)]
pub struct LimitMark {
    /// Name of the figure, such as `I30`.
    pub name: String,
    /// Instant.
    pub at_ns: f64,
    /// Lower limit.
    pub low_a: f64,
    /// Upper limit.
    pub high_a: f64,
    /// Measured values, as far as they could be determined.
    pub measured_a: Vec<f64>,
}

impl LimitMark {
    fn holds(&self, value: f64) -> bool {
        let (low, high) = (self.low_a.min(self.high_a), self.low_a.max(self.high_a));
        value >= low && value <= high
    }
}

/// Curves from which their spread is drawn as a band.
const SET: usize = 3;
const HEIGHT: f32 = 194.0;
const SIZE: f32 = 7.6;

/// Draws a waveform: the whole course at the left, the rising edge at the right.
pub fn waveform(w: &Waveform<'_>, width: f32) -> Drawing {
    let mut d = Drawing::new(width, HEIGHT);
    let (mut low, mut high) = (0.0f64, 0.0f64);
    let seen = w.curves.iter().flatten().chain(w.ideal).filter(|p| p.0 >= -10.0 && p.0 <= 100.0).map(|p| p.1);
    for v in seen.chain(w.limits.iter().flat_map(|l| [l.low_a, l.high_a])).filter(|v| v.is_finite()) {
        (low, high) = (low.min(v), high.max(v));
    }
    // A little noise below zero does not open a whole step below it.
    let round = Axis::around(low, high, 6);
    let slack = (high - low) * 0.06;
    let y = Axis {
        low: if -low < slack { -slack } else { round.low },
        high: if high < slack { slack } else { round.high },
        step: round.step,
    };
    let last = w.curves.iter().filter_map(|c| c.last()).map(|p| p.0).fold(0.0, f64::max);
    let end = if last >= 60.0 { last.clamp(60.0, 100.0) } else { 100.0 };
    let left = 34.0;
    let gap = 30.0;
    let edge_width = (width - left - gap) * 0.29;
    let top = 20.0;
    let bottom = HEIGHT - 28.0;
    let course = Frame {
        x: left,
        width: width - left - gap - edge_width - 4.0,
        top,
        bottom,
        t: Axis::exact(-5.0, libm::ceil(end / 5.0) * 5.0, 10.0),
        y: y.clone(),
    };
    let edge = Frame {
        x: width - edge_width - 4.0,
        width: edge_width,
        top,
        bottom,
        t: Axis::exact(-1.0, 4.0, 1.0),
        y,
    };
    d.label(at(0.0, 9.0), Anchor::Start, SIZE, Ink::Quiet, w.current);
    for frame in [&course, &edge] {
        frame.grid(&mut d, w.numbers);
        let middle = frame.x + frame.width / 2.0;
        d.label(at(middle, HEIGHT - 4.0), Anchor::Middle, SIZE, Ink::Quiet, w.time);
        d.clip(at(frame.x, frame.top - 2.0), frame.width, frame.bottom - frame.top + 4.0, |d| {
            if w.curves.len() >= SET {
                frame.band(d, w.curves);
            }
            frame.curve(d, w.ideal, ideal());
            let thick = if w.curves.len() > 1 { 0.5 } else { 1.1 };
            w.curves.iter().for_each(|curve| frame.curve(d, curve, pen(Ink::Accent, thick)));
        });
    }
    for limit in w.limits.iter().filter(|l| l.at_ns >= course.t.low && l.at_ns <= course.t.high) {
        course.limit(&mut d, limit);
        if limit.at_ns <= edge.t.high {
            edge.limit(&mut d, limit);
        }
    }
    if let Some((t10, t90)) = w.edge {
        edge.rise(&mut d, t10, t90);
    }
    legend(&mut d, w, width);
    d
}

/// A part of the picture with its axes.
struct Frame {
    x: f32,
    width: f32,
    top: f32,
    bottom: f32,
    t: Axis,
    y: Axis,
}

impl Frame {
    fn at(&self, t: f64, i: f64) -> At {
        at(self.t.at(t, self.x, self.x + self.width), self.y.at(i, self.bottom, self.top))
    }

    fn grid(&self, d: &mut Drawing, numbers: &Numbers) {
        for v in self.y.ticks() {
            let y = self.at(0.0, v).y;
            d.line([at(self.x, y), at(self.x + self.width, y)], pen(Ink::Rule, 0.4));
            d.label(at(self.x - 4.0, y + 2.6), Anchor::End, SIZE, Ink::Quiet, self.y.text(v, numbers));
        }
        for t in self.t.ticks() {
            let x = self.at(t, 0.0).x;
            d.line([at(x, self.bottom), at(x, self.bottom + 2.5)], pen(Ink::Quiet, 0.5));
            // Every second tick of a long axis is named.
            if self.t.ticks().count() <= 6 || libm::fmod(t / self.t.step, 2.0) == 0.0 {
                d.label(at(x, self.bottom + 11.0), Anchor::Middle, SIZE, Ink::Quiet, self.t.text(t, numbers));
            }
        }
        d.line([at(self.x, self.top), at(self.x, self.bottom)], pen(Ink::Quiet, 0.5));
        d.line([at(self.x, self.bottom), at(self.x + self.width, self.bottom)], pen(Ink::Quiet, 0.5));
        let zero = self.at(0.0, 0.0).y;
        if zero < self.bottom - 0.5 {
            d.line([at(self.x, zero), at(self.x + self.width, zero)], pen(Ink::Quiet, 0.5));
        }
    }

    /// The band from the lowest to the highest of several curves, at every point of width. Only where all curves
    /// have samples.
    fn band(&self, d: &mut Drawing, curves: &[Vec<(f64, f64)>]) {
        let steps = libm::ceilf(self.width) as usize;
        let mut low: Vec<At> = Vec::new();
        let mut high: Vec<At> = Vec::new();
        for k in 0..=steps {
            let t = self.t.low + (self.t.high - self.t.low) * k as f64 / steps.max(1) as f64;
            let values: Option<Vec<f64>> = curves.iter().map(|c| at_time(c, t)).collect();
            let Some(values) = values else { continue };
            let fold = |f: fn(f64, f64) -> f64, start| values.iter().copied().fold(start, f);
            low.push(self.at(t, fold(f64::min, f64::INFINITY)));
            high.push(self.at(t, fold(f64::max, f64::NEG_INFINITY)));
        }
        if low.len() > 1 {
            low.extend(high.into_iter().rev());
            d.polygon(low, Some(Ink::Rule), None);
        }
    }

    /// A curve, thinned to the lowest and highest value in each half point of width, so that no peak is lost.
    fn curve(&self, d: &mut Drawing, samples: &[(f64, f64)], pen: Pen) {
        let mut points: Vec<At> = Vec::new();
        let mut column: Option<(i64, At, At, At)> = None;
        let mut flush = |c: Option<(i64, At, At, At)>, last: bool| {
            if let Some((_, low, high, end)) = c {
                let (a, b) = if low.x <= high.x { (low, high) } else { (high, low) };
                for p in [a, b] {
                    if points.last() != Some(&p) {
                        points.push(p);
                    }
                }
                if last && points.last() != Some(&end) {
                    points.push(end);
                }
            }
        };
        let margin = (self.t.high - self.t.low) * 0.02;
        let inside = |t: f64| t >= self.t.low - margin && t <= self.t.high + margin;
        for (t, i) in samples.iter().filter(|p| inside(p.0) && p.1.is_finite()) {
            let p = self.at(*t, *i);
            let key = libm::floorf(p.x * 2.0) as i64;
            column = match column {
                Some((k, low, high, _)) if k == key => {
                    Some((k, if p.y > low.y { p } else { low }, if p.y < high.y { p } else { high }, p))
                }
                other => {
                    flush(other, false);
                    Some((key, p, p, p))
                }
            };
        }
        flush(column, true);
        if points.len() > 1 {
            d.line(points, pen);
        }
    }

    /// Limits as a bracket, the measured value as a dot inside it or a cross outside.
    fn limit(&self, d: &mut Drawing, limit: &LimitMark) {
        let (a, b) = (self.at(limit.at_ns, limit.low_a), self.at(limit.at_ns, limit.high_a));
        let line = pen(Ink::Text, 0.9);
        d.line([a, b], line);
        for p in [a, b] {
            d.line([at(p.x - 3.2, p.y), at(p.x + 3.2, p.y)], line);
        }
        // The name stands at the end that is farther from zero, where no curve passes.
        let y = if b.y <= a.y { b.y - 3.4 } else { b.y + 3.4 + SIZE * 0.7 };
        d.label(at(a.x, y), Anchor::Middle, SIZE, Ink::Text, &limit.name);
        for m in &limit.measured_a {
            let p = self.at(limit.at_ns, *m);
            if limit.holds(*m) {
                d.circle(p, 2.1, Some(Ink::Accent), Some(pen(Ink::Paper, 0.6)));
            } else {
                let cross = pen(Ink::Fail, 1.5);
                d.line([at(p.x - 3.0, p.y - 3.0), at(p.x + 3.0, p.y + 3.0)], cross);
                d.line([at(p.x - 3.0, p.y + 3.0), at(p.x + 3.0, p.y - 3.0)], cross);
            }
        }
    }

    /// The span between 10 % and 90 % of the peak.
    fn rise(&self, d: &mut Drawing, t10: f64, t90: f64) {
        let (a, b) = (self.at(t10, 0.0).x, self.at(t90, 0.0).x);
        if !(a >= self.x && b <= self.x + self.width && a < b) {
            return;
        }
        for x in [a, b] {
            d.line([at(x, self.top), at(x, self.bottom)], dashed(Ink::Quiet, 0.5, 1.2, 1.6));
        }
        let y = self.top + 5.0;
        d.line([at(a, y), at(b, y)], pen(Ink::Text, 0.8));
        d.label(at(a - 3.0, y + 2.4), Anchor::End, SIZE, Ink::Text, "tr");
    }
}

/// A curve's current at a time, between its samples; none outside them.
fn at_time(curve: &[(f64, f64)], t: f64) -> Option<f64> {
    let after = curve.partition_point(|p| p.0 < t);
    let (b, a) = (curve.get(after)?, curve.get(after.checked_sub(1)?)?);
    let value = a.1 + (b.1 - a.1) * (t - a.0) / (b.0 - a.0);
    value.is_finite().then_some(value)
}

/// The ideal curve lies under the measured one, and is broad enough to be seen on both sides of it where they agree.
const fn ideal() -> Pen {
    dashed(Ink::Quiet, 2.6, 2.6, 2.6)
}

/// What the lines are, from left to right, ending about where the plot does: each word stands right behind its line,
/// whatever the guess at its width is worth.
fn legend(d: &mut Drawing, w: &Waveform<'_>, width: f32) {
    const LINE: f32 = 16.0;
    const AFTER_LINE: f32 = 5.0;
    const BETWEEN: f32 = 10.0;
    enum Key {
        Spread,
        Measured,
        Ideal,
        Limits,
    }
    let entries = [
        (w.curves.len() >= SET, w.spread, Key::Spread),
        (true, w.measured, Key::Measured),
        (!w.ideal.is_empty(), w.ideal_word, Key::Ideal),
        (!w.limits.is_empty(), w.limit_word, Key::Limits),
    ];
    let entries: Vec<(&str, Key)> =
        entries.into_iter().filter(|(there, ..)| *there).map(|(_, word, key)| (word, key)).collect();
    let of = |word: &str| LINE + AFTER_LINE + super::guess_width(word, SIZE);
    let whole: f32 = entries.iter().map(|(word, _)| of(word) + BETWEEN).sum::<f32>() - BETWEEN;
    let mut x = width - 4.0 - whole;
    let y = 9.0;
    for (word, key) in entries {
        let (a, b) = (at(x, y - 2.6), at(x + LINE, y - 2.6));
        match key {
            Key::Measured => d.line([a, b], pen(Ink::Accent, 1.3)),
            Key::Ideal => d.line([a, b], ideal()),
            Key::Spread => d.rect(at(a.x, a.y - 3.0), LINE, 6.0, Some(Ink::Rule), None),
            Key::Limits => {
                let line = pen(Ink::Text, 0.9);
                d.line([a, b], line);
                for p in [a, b] {
                    d.line([at(p.x, p.y - 2.6), at(p.x, p.y + 2.6)], line);
                }
            }
        }
        d.label(at(b.x + AFTER_LINE, y), Anchor::Start, SIZE, Ink::Quiet, word);
        x += of(word) + BETWEEN;
    }
}
