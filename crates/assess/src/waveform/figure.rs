//! What is reported about a trace: each figure, or why it can't be determined.

use crate::phrase::{Phrase, Value, say};
use crate::standard::{Standard, WaveformQuantity, number};
use record::{Decimal, Finding, Kilovolts, Ohms, Picofarads, Polarity};

/// A figure, or why the record does not allow to determine it.
#[derive(Clone, Debug, PartialEq)]
pub enum Figure {
    /// The figure, in the unit that its field names.
    Found(f64),
    /// Why there is none, in one line.
    Absent(String),
}

impl Figure {
    /// The figure, where there is one.
    pub fn value(&self) -> Option<f64> {
        match self {
            Self::Found(value) => Some(*value),
            Self::Absent(_) => None,
        }
    }

    /// Why there is none.
    pub fn why_not(&self) -> Option<&str> {
        match self {
            Self::Found(_) => None,
            Self::Absent(why) => Some(why),
        }
    }
}

/// How the currents were read off the record.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Estimator {
    /// The first peak is the largest sample; between samples the current is a straight line.
    Samples,
    /// Each current is the value of a parabola fitted by least squares to the samples around it; between
    /// the fitted values the current is a straight line, the first peak is the largest fitted value.
    LocalParabola {
        /// Samples up to this far on either side take part on the edge and at the peaks, in nanoseconds.
        edge_ns: f64,
        /// The same for currents after the first peak, in nanoseconds.
        tail_ns: f64,
    },
}

impl Estimator {
    /// The sentence that says so.
    pub fn said(&self) -> Phrase {
        match self {
            Self::Samples => say!(ReadFromSamples, "largest sample, straight lines between samples"),
            Self::LocalParabola { edge_ns, tail_ns } => say!(
                ReadFromParabola,
                "parabola fitted to the samples within {edge} ns on the edge and within {tail} ns after the first peak",
                edge = Value::number(edge_ns),
                tail = Value::number(tail_ns),
            ),
        }
    }
}

impl std::fmt::Display for Estimator {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        self.said().fmt(f)
    }
}

/// What is known beside the trace itself.
#[derive(Clone, Debug, PartialEq)]
pub struct Options {
    /// The polarity that was set on the generator; a trace that shows the other one gets a finding.
    pub polarity: Option<Polarity>,
    /// Magnitude of the first peak that belongs to the charge voltage, in amperes; a peak that is far from it
    /// gets a finding.
    pub expected_peak_a: Option<Decimal>,
    /// Analogue bandwidth of the measuring chain, in gigahertz.
    pub bandwidth_ghz: Option<Decimal>,
    /// The generator's network, storage capacitance and discharge resistance; a pulse that decays like another one's gets
    /// a finding.
    pub network: Option<(Picofarads, Ohms)>,
    /// Times at which the current is wanted, in nanoseconds after the first crossing of 10 % of the peak.
    pub times_ns: Vec<Decimal>,
}

impl Default for Options {
    fn default() -> Self {
        let times_ns = vec![Decimal::from(30), Decimal::from(60)];
        Self { polarity: None, expected_peak_a: None, bandwidth_ghz: None, network: None, times_ns }
    }
}

impl Options {
    /// The times and the peak that a standard has limits for, with a network (the standard's own where none is
    /// stated) at the magnitude of a charge voltage, where that is known.
    pub fn for_limits(
        standard: &Standard,
        charge_kv: Option<Kilovolts>,
        network: Option<(Picofarads, Ohms)>,
    ) -> Self {
        let mut options = Self { network, ..Self::default() };
        for limit in standard.waveform_limits(network) {
            match limit.quantity {
                WaveformQuantity::CurrentAt { time_ns } if !options.times_ns.contains(&time_ns) => {
                    options.times_ns.push(time_ns);
                }
                WaveformQuantity::PeakCurrent => {
                    options.expected_peak_a =
                        charge_kv.and_then(|kv| limit.at(kv)).and_then(|(nominal, _)| nominal);
                }
                WaveformQuantity::CurrentAt { .. } | WaveformQuantity::RiseTime => {}
            }
        }
        options
    }
}

/// The current at a time after the first crossing of 10 % of the peak.
#[derive(Clone, Debug, PartialEq)]
pub struct CurrentAt {
    /// The time, in nanoseconds.
    pub time_ns: Decimal,
    /// The current, in amperes, with the record's sign.
    pub current_a: Figure,
}

/// The figures of one trace. Currents carry the record's sign; times are those of the record's time axis.
#[derive(Clone, Debug, PartialEq)]
pub struct Figures {
    /// Sign of the pulse, where one was found.
    pub polarity: Option<Polarity>,
    /// Current before the pulse, in amperes; it is subtracted from every other current.
    pub baseline_a: Figure,
    /// Standard deviation of the samples before the pulse, in amperes; none with fewer than 5 of them.
    pub noise_rms_a: Option<f64>,
    /// How the currents were read off the record.
    pub estimator: Estimator,
    /// First peak, in amperes.
    pub peak_current_a: Figure,
    /// Time of the first peak, in nanoseconds.
    pub peak_time_ns: Figure,
    /// Time of the first crossing of 10 % of the first peak, in nanoseconds.
    pub t10_ns: Figure,
    /// Time of the first crossing of 90 % after that, in nanoseconds.
    pub t90_ns: Figure,
    /// From 10 % to 90 %, in nanoseconds.
    pub rise_time_ns: Figure,
    /// From the last crossing of half the first peak before it to the first fall below that after it, by straight lines
    /// between samples, in nanoseconds.
    pub half_width_ns: Figure,
    /// Currents at the times asked for.
    pub currents: Vec<CurrentAt>,
    /// Largest current from 10 ns to 40 ns after the first crossing of 10 %, in amperes.
    pub second_peak_a: Figure,
    /// Time of that current, in nanoseconds.
    pub second_peak_time_ns: Figure,
    /// Charge from the start of the record to 60 ns after the first crossing of 10 %, in nanocoulombs.
    pub charge_60_ns_nc: Figure,
    /// Charge of the whole record, in nanocoulombs.
    pub charge_nc: Figure,
    /// Number of samples.
    pub samples: usize,
    /// Time between samples, in nanoseconds; the median where it varies.
    pub sample_step_ns: Option<f64>,
    /// Samples from the crossing of 10 % to that of 90 %.
    pub samples_on_edge: Option<usize>,
    /// What a person must know.
    pub findings: Vec<Finding>,
}

impl Figures {
    /// Figures of a record that allows none, with the reason.
    pub(super) fn absent(why: &str, samples: usize, options: &Options) -> Self {
        let absent = || Figure::Absent(why.to_owned());
        let currents = options.times_ns.iter().map(|time| CurrentAt { time_ns: *time, current_a: absent() });
        Self {
            polarity: None,
            baseline_a: absent(),
            noise_rms_a: None,
            estimator: Estimator::Samples,
            peak_current_a: absent(),
            peak_time_ns: absent(),
            t10_ns: absent(),
            t90_ns: absent(),
            rise_time_ns: absent(),
            half_width_ns: absent(),
            currents: currents.collect(),
            second_peak_a: absent(),
            second_peak_time_ns: absent(),
            charge_60_ns_nc: absent(),
            charge_nc: absent(),
            samples,
            sample_step_ns: None,
            samples_on_edge: None,
            findings: Vec::new(),
        }
    }

    /// The current at a time, where it was asked for.
    pub fn current_at(&self, time_ns: Decimal) -> Option<&Figure> {
        self.currents.iter().find(|current| current.time_ns == time_ns).map(|current| &current.current_a)
    }

    /// Second peak over first peak.
    pub fn second_peak_ratio(&self) -> Figure {
        match (&self.second_peak_a, &self.peak_current_a) {
            (Figure::Found(second), Figure::Found(first)) if *first != 0.0 => Figure::Found(second / first),
            (Figure::Absent(why), _) | (_, Figure::Absent(why)) => Figure::Absent(why.clone()),
            _ => Figure::Absent("the first peak is 0".to_owned()),
        }
    }

    /// About how much too long the samples' distance makes the rise time, as a share of it: half the square of the
    /// step over the rise time, a rule that fits sampled records of the ideal current (0.65 % for 8 samples on the
    /// edge, 2.4 % for 4). None where fewer than 3 samples lie on the edge, or a curve was fitted.
    pub fn effect_of_sampling(&self) -> Option<f64> {
        let ratio = self.sample_step_ns? / self.rise_time_ns.value()?;
        let straight = self.estimator == Estimator::Samples && self.samples_on_edge? >= 3;
        straight.then_some(0.5 * ratio * ratio)
    }

    /// About how much too long the chain's bandwidth makes the rise time, as a share of it: root-sum-square with
    /// 0.35 / bandwidth (rule from memory, Gaussian response). None where the chain is as slow as the edge.
    pub fn effect_of_bandwidth(&self, bandwidth_ghz: Decimal) -> Option<f64> {
        let (rise, own) = (self.rise_time_ns.value()?, 0.35 / number(bandwidth_ghz));
        (own > 0.0 && own < rise).then(|| rise / libm::sqrt(rise * rise - own * own) - 1.0)
    }

    /// The current at 30 ns, in amperes, where it was asked for and could be determined.
    pub fn current_at_30_ns_a(&self) -> Option<f64> {
        self.current_at(Decimal::from(30)).and_then(Figure::value)
    }

    /// The current at 60 ns, in amperes, where it was asked for and could be determined.
    pub fn current_at_60_ns_a(&self) -> Option<f64> {
        self.current_at(Decimal::from(60)).and_then(Figure::value)
    }
}
