//! What the laboratory states about the uncertainty of waveform figures, and the rule for deciding with it.

use crate::{Decimal, word::words};

words!(
    /// A figure of a waveform.
    WaveformFigure {
        /// First peak.
        FirstPeak = "first-peak",
        /// Rise time from 10 % to 90 %.
        RiseTime = "rise-time",
        /// Current at a time.
        CurrentAt = "current-at",
    }
);
words!(
    /// What an uncertainty is given in.
    UncertaintyUnit {
        /// Percent of the figure.
        Percent = "percent",
        /// Amperes.
        Amperes = "A",
        /// Nanoseconds.
        Nanoseconds = "ns",
    }
);
words!(
    /// The distribution of a contribution, and with it what its value is.
    ContributionKind {
        /// Expanded uncertainty with its coverage factor.
        Normal = "normal",
        /// Standard uncertainty.
        Standard = "standard",
        /// Half-width of limits that are equally likely between.
        Rectangular = "rectangular",
        /// Half-width of limits that are likelier than their middle, such as mismatch.
        UShaped = "u-shaped",
        /// Half-width of limits that are less likely than their middle.
        Triangular = "triangular",
        /// Experimental standard deviation of readings, of which the mean is used.
        TypeA = "type-a",
    }
);
words!(
    /// How a figure is held against its limits.
    WaveformRule {
        /// Inside the limits passes.
        Simple = "simple",
        /// Inside the limits, less a guard band, passes.
        GuardBand = "guard-band",
        /// Pass, conditional pass, conditional fail, fail.
        FourWay = "four-way",
    }
);

/// One line of a budget.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct UncertaintyContribution {
    /// What contributes.
    pub what: String,
    /// Its distribution.
    pub kind: ContributionKind,
    /// What the kind says, in the budget's unit.
    pub value: Decimal,
    /// Coverage factor, for `normal`.
    pub k: Option<Decimal>,
    /// Number of readings, for `type-a`.
    pub readings: Option<u32>,
    /// Degrees of freedom, where they are known and finite.
    pub dof: Option<Decimal>,
    /// Change of the figure per change of the contribution; 1 where it is not stated.
    pub sensitivity: Option<Decimal>,
}

/// The uncertainty of one figure: as a result, or as the budget that it follows from.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FigureUncertainty {
    /// The figure.
    pub figure: WaveformFigure,
    /// Time of a current, in nanoseconds.
    pub time_ns: Option<Decimal>,
    /// What the values are given in.
    pub unit: UncertaintyUnit,
    /// Expanded uncertainty, where it is stated as such.
    pub expanded: Option<Decimal>,
    /// Coverage factor: of `expanded`, or the one agreed for the budget.
    pub k: Option<Decimal>,
    /// Coverage probability from which the budget's coverage factor follows, such as 0.95.
    pub coverage: Option<Decimal>,
    /// The budget's lines.
    pub contributions: Vec<UncertaintyContribution>,
    /// Name of the laboratory's document.
    pub document: Option<String>,
}

/// Uncertainty of waveform figures, and the rule for deciding with it.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub struct WaveformUncertainty {
    /// Per figure.
    pub figures: Vec<FigureUncertainty>,
    /// The decision rule.
    pub rule: Option<WaveformRule>,
    /// Width of the guard band in expanded uncertainties.
    pub guard_band: Option<Decimal>,
}
