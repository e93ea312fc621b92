//! From the samples of a trace to its figures.

use super::axis::Axis;
use super::codes;
use super::edge::{At, Curve, crossing, points};
use super::figure::{CurrentAt, Estimator, Figure, Figures, Options};
use super::flags::Flags;
use super::pulse::{self, Pulse};
use crate::standard::number;
use record::{Polarity, Trace};

/// Fewer samples than this are no record of a pulse.
const LEAST_SAMPLES: usize = 8;
/// A greater magnitude is no current, in amperes.
const MOST_A: f64 = 1e9;
/// Noise above this share of the peak makes the largest sample too large; then currents are fitted.
const NOISE_THAT_COUNTS: f64 = 5e-4;
/// Half width of the fit on the edge and at the first peak, in nanoseconds: of 0.1 to 0.4 ns the one with the
/// least error for the rise time of the ideal curve at noise of 0.5 % and 2 % and 5 to 40 samples per nanosecond.
const EDGE_NS: f64 = 0.25;
/// Half width of the fit after the first peak, where the current changes slowly, in nanoseconds.
const TAIL_NS: f64 = 1.0;
/// 10 % of the peak must stand out of the noise of the fitted values by this factor.
const FOOT_ABOVE_NOISE: f64 = 4.0;
/// Fewer samples than this on the edge get a warning (../shared/domain/waveform.md section 2: error above 0.7 %).
const GOOD_EDGE: usize = 8;
/// R C of the networks of IEC 61000-4-2 and ISO 10605, in nanoseconds: 150 pF and 330 pF with 330 ohm and 2 kohm (the
/// last three from memory). Currents that IEC 61000-4-2 names at 30 ns and 60 ns fall with 43 ns, near the first.
const USUAL_NETWORKS_NS: [f64; 4] = [49.5, 108.9, 300.0, 660.0];
/// A decay this much slower or faster than R C is not explained by tolerances.
const MUCH_OFF: f64 = 1.5;
/// A later rise by more than this share of the peak within 2 ns is another discharge.
const SECOND_RISE: f64 = 0.3;

/// Figures of a trace, each with the reason where the record does not allow it, and findings.
pub fn figures(trace: &Trace, options: &Options) -> Figures {
    let mut flags = Flags::new(trace);
    let mut figures = measure(trace, options, &mut flags)
        .unwrap_or_else(|why| Figures::absent(&why, trace.current_a.len(), options));
    figures.findings = flags.into_findings();
    figures
}

fn measure(trace: &Trace, options: &Options, flags: &mut Flags<'_>) -> Result<Figures, String> {
    let samples = &trace.current_a;
    if samples.len() < LEAST_SAMPLES {
        let message = match samples.len() {
            1 => "the record holds a single sample".to_owned(),
            count => format!("the record holds {count} samples"),
        };
        return Err(flags.error(
            codes::TOO_FEW_SAMPLES,
            message,
            None,
            "look whether the export was complete",
        ));
    }
    if let Some(index) = samples.iter().position(|current| !current.is_finite()) {
        let (code, what, help) = match trace.over_range {
            true => (
                codes::OVER_RANGE,
                "marked as over range",
                "set the vertical range so that the peak fits, and record again",
            ),
            false => (
                codes::NOT_A_NUMBER,
                "not a number",
                "export the record again, or look why the instrument wrote no number there",
            ),
        };
        let bad = samples.iter().filter(|current| !current.is_finite()).count();
        let message = format!("sample {} is {what} ({bad} such in the record)", index + 1);
        return Err(flags.error(code, message, Some(index), help));
    }
    // Beyond this, sums of squares could leave the range of a double.
    if let Some((index, current)) = samples.iter().enumerate().find(|(_, current)| current.abs() > MOST_A) {
        let message = format!("sample {} is {current:e} A, which is no current", index + 1);
        let help = "look at the unit of the column and at the conversion to amperes";
        return Err(flags.error(codes::UNLIKELY_UNIT, message, Some(index), help));
    }
    let axis = Axis::check(trace, flags)?;
    let pulse = pulse::find(&axis, samples, flags)?;
    let curve = Curve::new(&axis, samples, pulse.sign, pulse.baseline_a);
    let work = Work { trace, options, axis: &axis, curve: &curve, pulse: &pulse };
    Ok(work.figures(flags))
}

struct Work<'a> {
    trace: &'a Trace,
    options: &'a Options,
    axis: &'a Axis<'a>,
    curve: &'a Curve<'a>,
    pulse: &'a Pulse,
}

/// The edge: peak with its time, crossings of 10 % and 90 %.
struct Edge {
    peak: At,
    t10_ns: Result<f64, String>,
    t90_ns: Result<f64, String>,
}

impl Work<'_> {
    fn figures(&self, flags: &mut Flags<'_>) -> Figures {
        let raw_peak_a = self.curve.at(self.pulse.peak);
        let noise_a = self.pulse.noise_a.unwrap_or(0.0);
        let noisy = noise_a > NOISE_THAT_COUNTS * raw_peak_a;
        let per_side = (EDGE_NS / self.axis.step_ns + 1e-6) as usize;
        let half_ns = (noisy && per_side >= 2).then_some(EDGE_NS);
        if noisy && half_ns.is_none() {
            flags.note(
                codes::NOISE_NOT_REDUCED,
                format!(
                    "noise of {noise_a:.3} A rms, {:.2} % of the peak, and too few samples to fit a curve: the largest sample tends to be too large",
                    100.0 * noise_a / raw_peak_a
                ),
                "record with at least 8 samples per nanosecond",
            );
        }
        // Standard deviation of a value on the curve that is used: that of the constant term of a parabola fitted
        // to 2m + 1 equally spaced values is about 3/2 / sqrt(2m + 1) times that of a single one.
        let effective_a =
            if half_ns.is_some() { 1.5 * noise_a / libm::sqrt((2 * per_side + 1) as f64) } else { noise_a };
        let edge = self.edge(half_ns, effective_a, flags);
        let cut_off = self.cut_off(flags);
        let second = self.second_discharge(noise_a, flags);
        let on_edge = self.samples_on_edge(&edge, flags);
        let rise = self.rise_time(&edge, &cut_off, on_edge, flags);
        let figures = self.assemble(edge, cut_off, second, rise, half_ns.is_some(), on_edge, flags);
        self.plausibility(&figures, flags);
        figures
    }

    fn edge(&self, half_ns: Option<f64>, effective_a: f64, flags: &mut Flags<'_>) -> Edge {
        let Pulse { foot, fallen, peak, .. } = *self.pulse;
        let lead = half_ns.map_or(0.0, |half| 4.0 * half);
        let first = self.axis.first_from(self.axis.at(foot) - lead, self.curve.len()).min(foot);
        let points = points(self.curve, first, fallen, half_ns);
        let raw = At { t_ns: self.axis.at(peak), y: self.curve.at(peak) };
        let top = points.iter().copied().fold(At { t_ns: raw.t_ns, y: f64::NEG_INFINITY }, |best, point| {
            if point.y > best.y { point } else { best }
        });
        let low = 0.1 * top.y;
        if low < FOOT_ABOVE_NOISE * effective_a {
            let why =
                format!("noise of {effective_a:.3} A hides the crossing of 10 % of the peak, {low:.3} A");
            flags.warning(
                codes::NOISE_HIDES_EDGE,
                why.clone(),
                None,
                "use a larger part of the vertical range",
            );
            return Edge { peak: top, t10_ns: Err(why.clone()), t90_ns: Err(why) };
        }
        let missing = || "the edge has no such crossing".to_owned();
        let middle = points.iter().position(|point| point.y >= 0.5 * top.y).unwrap_or(0);
        let below = points.get(..middle).and_then(|before| before.iter().rposition(|point| point.y < low));
        let t10_ns = below
            .and_then(|index| Some(crossing(*points.get(index)?, *points.get(index + 1)?, low)))
            .ok_or_else(missing);
        let high = 0.9 * top.y;
        let above = below.and_then(|from| {
            let more = points.get(from + 1..)?.iter().position(|point| point.y >= high)?;
            Some(from + 1 + more)
        });
        let t90_ns = above
            .and_then(|index| Some(crossing(*points.get(index - 1)?, *points.get(index)?, high)))
            .ok_or_else(missing);
        self.early_crossing(low, effective_a, flags);
        Edge { peak: top, t10_ns, t90_ns }
    }

    /// Notes a part of the record before the edge that reaches 10 % too, beyond what noise explains.
    fn early_crossing(&self, low_a: f64, effective_a: f64, flags: &mut Flags<'_>) {
        let noise_a = self.pulse.noise_a.unwrap_or(effective_a);
        let early = (0..self.pulse.foot).find(|index| self.curve.at(*index) >= low_a + 6.0 * noise_a);
        if let Some(index) = early {
            let message = format!(
                "the current reaches 10 % of the peak before the edge too, at {:.4} ns; times count from the edge",
                self.axis.at(index)
            );
            flags.warning(
                codes::EARLY_CROSSING,
                message,
                Some(index),
                "look at the record: a discharge before the discharge, or ringing",
            );
        }
    }

    /// Why the peak is a lower bound only, where it is cut off flat or was marked as over range.
    fn cut_off(&self, flags: &mut Flags<'_>) -> Option<String> {
        let mut quantum = f64::INFINITY;
        for pair in self.trace.current_a.windows(2) {
            let step = (pair[1] - pair[0]).abs();
            if step > 0.0 {
                quantum = quantum.min(step);
            }
        }
        let flat = pulse::is_cut_off(self.curve, self.pulse.peak, quantum);
        if !flat && !self.trace.over_range {
            return None;
        }
        let bound = self.curve.at(self.pulse.peak);
        let why = if flat { "cut off flat" } else { "marked as over range" };
        let message = format!("the peak is {why}: it is at least {bound:.3} A in magnitude");
        flags.warning(
            if flat { codes::CUT_OFF } else { codes::OVER_RANGE },
            format!("{message}; times count from the crossing of 10 % of that"),
            Some(self.pulse.peak),
            "use a larger vertical range; the record says nothing about the generator's peak",
        );
        Some(message)
    }

    /// The start of another discharge in the record.
    fn second_discharge(&self, noise_a: f64, flags: &mut Flags<'_>) -> Option<f64> {
        let rise_a = SECOND_RISE * self.curve.at(self.pulse.peak) + 6.0 * noise_a;
        let onset = pulse::second_rise(self.curve, self.pulse.fallen, rise_a)?;
        let t_ns = self.axis.at(onset);
        let after = t_ns - self.axis.at(self.pulse.peak);
        flags.warning(
            codes::SECOND_DISCHARGE,
            format!("the current rises steeply again {after:.2} ns after the first peak: another discharge"),
            Some(onset),
            "the figures are those of the first pulse; look for a worn relay, or ringing",
        );
        Some(t_ns)
    }

    fn samples_on_edge(&self, edge: &Edge, flags: &mut Flags<'_>) -> Option<usize> {
        let (Ok(t10), Ok(t90)) = (&edge.t10_ns, &edge.t90_ns) else { return None };
        let count =
            self.axis.first_from(*t90, self.curve.len()) - self.axis.first_from(*t10, self.curve.len());
        if count < GOOD_EDGE {
            let (low, high) = self.rise_bounds(edge.peak.y);
            let said = match count {
                0 => "no sample lies on the edge".to_owned(),
                1 => "a single sample lies on the edge".to_owned(),
                count => format!("{count} samples lie on the edge"),
            };
            let message = format!("{said}: the samples allow a rise time from {low:.3} to {high:.3} ns");
            let code = if count < 3 { codes::EDGE_NOT_RESOLVED } else { codes::FEW_SAMPLES_ON_EDGE };
            flags.warning(code, message, None, "use a higher sampling rate: 8 samples on the edge or more");
        }
        Some(count)
    }

    /// The shortest and longest time between the crossings that rising samples allow.
    fn rise_bounds(&self, peak_a: f64) -> (f64, f64) {
        let samples = self.curve.len();
        let foot = self.pulse.foot;
        let from =
            |level: f64| (foot..samples).find(|index| self.curve.at(*index) >= level).unwrap_or(samples - 1);
        let (first, last) = (from(0.1 * peak_a), from(0.9 * peak_a));
        let before = |index: usize| self.axis.at(index.saturating_sub(1));
        ((before(last) - self.axis.at(first)).max(0.0), self.axis.at(last) - before(first))
    }

    fn rise_time(
        &self,
        edge: &Edge,
        cut_off: &Option<String>,
        on_edge: Option<usize>,
        flags: &mut Flags<'_>,
    ) -> Figure {
        if let Some(why) = cut_off {
            return Figure::Absent(why.clone());
        }
        let rise = match (&edge.t10_ns, &edge.t90_ns) {
            (Ok(t10), Ok(t90)) => t90 - t10,
            (Err(why), _) | (_, Err(why)) => return Figure::Absent(why.clone()),
        };
        if on_edge == Some(0) {
            return Figure::Absent("no sample lies on the edge".to_owned());
        }
        if let Some(bandwidth) = self.options.bandwidth_ghz.map(number).filter(|bandwidth| *bandwidth > 0.0) {
            self.bandwidth(rise, bandwidth, flags);
        }
        Figure::Found(rise)
    }

    /// What the chain's own rise time makes of the edge, by the root-sum-square rule (rule from memory).
    fn bandwidth(&self, rise: f64, bandwidth: f64, flags: &mut Flags<'_>) {
        let own = 0.35 / bandwidth;
        let message = if own >= rise {
            format!(
                "a chain of {bandwidth} GHz has a rise time of {own:.3} ns itself: the edge can't be measured with it"
            )
        } else {
            let edge = libm::sqrt(rise * rise - own * own);
            let share = 100.0 * (rise / edge - 1.0);
            if share < 1.0 {
                return;
            }
            format!(
                "a chain of {bandwidth} GHz lengthens the rise time by about {share:.1} %: {rise:.3} ns read, about {edge:.3} ns before the chain (0.35 / bandwidth, Gaussian response assumed)"
            )
        };
        flags.warning(
            codes::BANDWIDTH,
            message,
            None,
            "use a chain of greater bandwidth; the figure is not corrected",
        );
    }

    #[allow(clippy::too_many_arguments)]
    fn assemble(
        &self,
        edge: Edge,
        cut_off: Option<String>,
        second_ns: Option<f64>,
        rise_time_ns: Figure,
        fitted: bool,
        samples_on_edge: Option<usize>,
        flags: &mut Flags<'_>,
    ) -> Figures {
        let sign = self.pulse.sign;
        let estimator = if fitted {
            Estimator::LocalParabola { edge_ns: EDGE_NS, tail_ns: TAIL_NS }
        } else {
            Estimator::Samples
        };
        let until_ns = second_ns.unwrap_or(f64::INFINITY);
        let last_ns = self.axis.at(self.curve.len() - 1);
        let at = |after_ns: f64| -> Result<f64, String> {
            let t_ns = edge.t10_ns.clone()? + after_ns;
            if t_ns > last_ns {
                let length = last_ns - edge.t10_ns.clone()?;
                return Err(format!("the record ends {length:.2} ns after the crossing of 10 %"));
            }
            if t_ns >= until_ns {
                return Err(format!("another discharge begins before {after_ns} ns"));
            }
            let fit = if fitted { self.curve.fitted(t_ns, TAIL_NS, until_ns) } else { None };
            fit.or_else(|| self.curve.between(t_ns)).ok_or_else(|| "outside the record".to_owned())
        };
        let figure = |result: Result<f64, String>| match result {
            // Adding 0 turns -0 into 0.
            Ok(value) => Figure::Found(value + 0.0),
            Err(why) => Figure::Absent(why),
        };
        let mut currents = Vec::new();
        for time_ns in &self.options.times_ns {
            let current = at(number(*time_ns));
            if let Err(why) = &current
                && edge.t10_ns.is_ok()
                && number(*time_ns) > last_ns - edge.t10_ns.clone().unwrap_or(last_ns)
            {
                flags.warning(
                    codes::ENDS_EARLY,
                    format!("no current at {time_ns} ns: {why}"),
                    Some(self.curve.len() - 1),
                    "record more time after the trigger",
                );
            }
            currents.push(CurrentAt {
                time_ns: *time_ns,
                current_a: figure(current.map(|current| sign * current)),
            });
        }
        let (second_peak_a, second_peak_time_ns) = match self.second_peak(&edge, fitted, last_ns, until_ns) {
            Ok(top) => (Figure::Found(sign * top.y), Figure::Found(top.t_ns)),
            Err(why) => (Figure::Absent(why.clone()), Figure::Absent(why)),
        };
        let charge_60 =
            edge.t10_ns.clone().and_then(|t10| at(60.0).map(|end| self.charge(Some((t10 + 60.0, end)))));
        let (peak_current_a, peak_time_ns) = match &cut_off {
            Some(why) => (Figure::Absent(why.clone()), Figure::Absent(why.clone())),
            None => (Figure::Found(sign * edge.peak.y), Figure::Found(edge.peak.t_ns)),
        };
        Figures {
            polarity: Some(if sign > 0.0 { Polarity::Positive } else { Polarity::Negative }),
            baseline_a: Figure::Found(self.pulse.baseline_a + 0.0),
            noise_rms_a: self.pulse.noise_a,
            estimator,
            peak_current_a,
            peak_time_ns,
            t10_ns: figure(edge.t10_ns.clone()),
            t90_ns: figure(edge.t90_ns.clone()),
            rise_time_ns,
            half_width_ns: figure(self.half_width(&edge, &cut_off)),
            currents,
            second_peak_a,
            second_peak_time_ns,
            charge_60_ns_nc: figure(charge_60.map(|charge| sign * charge)),
            charge_nc: Figure::Found(sign * self.charge(None) + 0.0),
            samples: self.curve.len(),
            sample_step_ns: Some(self.axis.step_ns),
            samples_on_edge,
            findings: Vec::new(),
        }
    }

    /// Width of the first peak at half its height.
    fn half_width(&self, edge: &Edge, cut_off: &Option<String>) -> Result<f64, String> {
        if let Some(why) = cut_off {
            return Err(why.clone());
        }
        let half = 0.5 * edge.peak.y;
        let at = |index: usize| At { t_ns: self.axis.at(index), y: self.curve.at(index) };
        let peak = self.pulse.peak;
        let before = (0..peak).rev().find(|index| self.curve.at(*index) < half);
        let after = (peak..self.curve.len()).find(|index| self.curve.at(*index) < half);
        let from = before.map(|index| crossing(at(index), at(index + 1), half));
        let to = after.map(|index| crossing(at(index - 1), at(index), half));
        from.zip(to)
            .map(|(from, to)| to - from)
            .ok_or_else(|| "the record ends above half the peak".to_owned())
    }

    /// Largest current from 10 ns to 40 ns after the crossing of 10 %.
    fn second_peak(&self, edge: &Edge, fitted: bool, last_ns: f64, until_ns: f64) -> Result<At, String> {
        let t10 = edge.t10_ns.clone()?;
        if t10 + 40.0 > last_ns {
            return Err(format!("the record ends {:.2} ns after the crossing of 10 %", last_ns - t10));
        }
        if t10 + 40.0 >= until_ns {
            return Err("another discharge begins before 40 ns".to_owned());
        }
        let first = self.axis.first_from(t10 + 10.0, self.curve.len());
        let end = self.axis.first_from(t10 + 40.0, self.curve.len());
        let half_ns = fitted.then_some(TAIL_NS);
        let points = points(self.curve, first, end.saturating_sub(1), half_ns);
        let top = points.into_iter().reduce(|best, point| if point.y > best.y { point } else { best });
        top.ok_or_else(|| "no sample lies between 10 ns and 40 ns".to_owned())
    }

    /// Charge from the start of the record to its end, or to a time with the current there, in nanocoulombs:
    /// the area under straight lines between the samples.
    fn charge(&self, until: Option<(f64, f64)>) -> f64 {
        let end = until.map_or(self.curve.len(), |(t_ns, _)| self.axis.first_from(t_ns, self.curve.len()));
        let mut sum = 0.0;
        let mut last = At { t_ns: self.axis.at(0), y: self.curve.at(0) };
        let inner = (1..end).map(|index| At { t_ns: self.axis.at(index), y: self.curve.at(index) });
        for point in inner.chain(until.map(|(t_ns, y)| At { t_ns, y })) {
            sum += 0.5 * (last.y + point.y) * (point.t_ns - last.t_ns);
            last = point;
        }
        sum
    }

    /// Notes a decay that is nearer to that of another usual network than to that of the one stated: the time constant
    /// between the last two of the wanted times of which one is twice the other, against R C.
    fn other_network(&self, figures: &Figures, flags: &mut Flags<'_>) {
        let Some((pf, ohm)) = self.options.network else { return };
        let stated = number(pf.as_pf()) * number(ohm.as_ohm()) / 1000.0;
        let found = |time| figures.current_at(time).and_then(Figure::value).map(f64::abs);
        let pairs = self.options.times_ns.iter().filter_map(|first| {
            let second = *first * record::Decimal::TWO;
            Some((*first, found(*first)?, found(second)?))
        });
        let Some((first_ns, first_a, second_a)) = pairs.max_by_key(|(time, ..)| *time) else { return };
        // Noise and offsets of the later current must not decide.
        let clear = figures.noise_rms_a.is_none_or(|noise| second_a > 8.0 * noise);
        if stated <= 0.0 || first_a <= second_a || !clear {
            return;
        }
        let constant = number(first_ns) / libm::log(first_a / second_a);
        let distance = |rc: f64| libm::log(constant / rc).abs();
        let nearest = USUAL_NETWORKS_NS.into_iter().min_by(|a, b| distance(*a).total_cmp(&distance(*b)));
        let Some(nearest) = nearest.filter(|nearest| distance(*nearest) < distance(stated)) else { return };
        // A network that nobody listed is compared with itself only.
        if distance(stated) < libm::log(MUCH_OFF) || libm::log(nearest / stated).abs() < libm::log(MUCH_OFF) {
            return;
        }
        flags.warning(
            codes::OTHER_NETWORK,
            format!(
                "the current decays with about {constant:.0} ns where {pf} and {ohm} make {stated:.1} ns: \
                 another network seems to be fitted"
            ),
            None,
            "look at the module fitted to the generator; correct the statement or repeat the record",
        );
    }

    /// Findings about polarity and orders of magnitude.
    fn plausibility(&self, figures: &Figures, flags: &mut Flags<'_>) {
        if let (Some(stated), Some(found)) = (self.options.polarity, figures.polarity)
            && stated != found
        {
            flags.warning(
                codes::OTHER_POLARITY,
                format!("the pulse is {found}, the polarity stated is {stated}"),
                Some(self.pulse.peak),
                "look at the generator's setting, or at an inverting probe or channel",
            );
        }
        self.other_network(figures, flags);
        let peak = figures.peak_current_a.value().map(f64::abs);
        let expected = self.options.expected_peak_a.map(number).filter(|expected| *expected > 0.0);
        // A factor of 20 either way is no tolerance: it is another unit.
        let (least, most) = expected.map_or((0.1, 2000.0), |expected| (expected / 20.0, expected * 20.0));
        if let Some(peak) = peak
            && !(least..=most).contains(&peak)
        {
            let message = match expected {
                Some(expected) => {
                    format!("the peak is {peak:.4} A where about {expected:.1} A were expected")
                }
                None => format!("a peak of {peak:.4} A is not that of a discharge"),
            };
            flags.warning(
                codes::UNLIKELY_UNIT,
                message,
                Some(self.pulse.peak),
                "look whether the column holds volts or milliamperes, and at the attenuator's factor",
            );
        }
        if let Some(rise) = figures.rise_time_ns.value()
            && !(0.02..=50.0).contains(&rise)
        {
            flags.warning(
                codes::UNLIKELY_UNIT,
                format!("a rise time of {rise:.4} ns is not that of a discharge"),
                None,
                "look at the unit of the time column",
            );
        }
    }
}
