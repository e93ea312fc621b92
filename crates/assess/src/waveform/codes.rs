//! Codes of the findings about a trace.

use record::CodeDoc;

macro_rules! codes {
    ($($(#[$meta:meta])* $name:ident = $code:literal {
        means: $means:literal, matters: $matters:literal, example: $example:literal, remedy: $remedy:literal $(,)?
    })+) => {
        $($(#[$meta])* pub const $name: &str = $code;)+

        /// Every code with its explanation.
        pub const ALL: &[CodeDoc] = &[$(CodeDoc {
            code: $name, means: $means, matters: $matters, example: $example, remedy: $remedy,
        }),+];
    };
}

codes! {
    /// Too few samples to be a record of a pulse.
    TOO_FEW_SAMPLES = "waveform/too-few-samples" {
        means: "The record holds fewer than 8 samples.",
        matters: "No pulse can be recognised in so few samples.",
        example: "a file with the single row `0,1`",
        remedy: "Look whether the export was complete.",
    }
    /// A sample that is not a number.
    NOT_A_NUMBER = "waveform/not-a-number" {
        means: "A sample of the record is not a number.",
        matters: "Whatever stood there is unknown; a figure across it would be invented.",
        example: "a row `2.065e-08,NaN`",
        remedy: "Export the record again, or look why the instrument wrote no number there.",
    }
    /// Samples outside the instrument's range.
    OVER_RANGE = "waveform/over-range" {
        means: "The instrument marked samples as outside its vertical range.",
        matters: "The true current is larger than anything recorded, so that the peak is not known.",
        example: "a row `1.5e-09,OVER`",
        remedy: "Use a larger vertical range or a greater attenuation, and record again.",
    }
    /// A time axis that can't be used.
    BAD_TIME = "waveform/bad-time" {
        means: "The record has no usable time for each of its samples.",
        matters: "Every figure of the waveform rests on the time axis.",
        example: "a sample interval of 0",
        remedy: "State the sample interval, or export the record again.",
    }
    /// Time that runs backwards.
    TIME_BACKWARDS = "waveform/time-backwards" {
        means: "A sample has an earlier time than the one before it.",
        matters: "The record is not one sweep: files were joined, or rows were reordered.",
        example: "a row at 20 ns after a row at 40 ns",
        remedy: "Split the file at the row that is named, or export the record again.",
    }
    /// Times that were rounded until they became equal.
    TIME_ROUNDED = "waveform/time-rounded" {
        means: "Several samples have the same time: the time column was rounded.",
        matters: "A rise time of 0.8 ns can't be read off times that are rounded to 0.1 ns.",
        example: "two rows at -6.0e-09 s where the step is 0.05 ns",
        remedy: "Export the time with more digits, or state the sample interval.",
    }
    /// Steps of different length.
    UNEVEN_STEP = "waveform/uneven-step" {
        means: "The time between samples varies by more than 1 %.",
        matters: "Samples are missing, or the time was rounded; the figures are interpolated across the gaps.",
        example: "a step of 0.2 ns in a record with steps of 0.05 ns",
        remedy: "Look whether rows were lost; export the record again where the gap touches the edge.",
    }
    /// A record without any change.
    FLAT = "waveform/flat" {
        means: "Every sample of the record has the same value.",
        matters: "There is no pulse in it.",
        example: "a column of zeros",
        remedy: "Look whether the right channel was exported.",
    }
    /// Noise without a pulse.
    NO_PULSE = "waveform/no-pulse" {
        means: "Nothing in the record stands out of its noise.",
        matters: "There is no pulse in it, so there are no figures.",
        example: "a record of the noise of an open input",
        remedy: "Look at trigger, channel and attenuator, and record again.",
    }
    /// A record that begins inside the pulse.
    NO_LEADING_EDGE = "waveform/no-leading-edge" {
        means: "The record begins inside the pulse.",
        matters: "The crossing of 10 % of the peak, from which all times count, is not in it, nor is the level before the pulse.",
        example: "a first row with 29.8 A",
        remedy: "Record more time before the trigger.",
    }
    /// Few samples before the pulse.
    SHORT_BASELINE = "waveform/short-baseline" {
        means: "Fewer than 5 samples lie before the pulse.",
        matters: "The level before the pulse is subtracted from every current; so few samples hardly determine it.",
        example: "a record that begins 0.1 ns before the edge",
        remedy: "Record more time before the trigger.",
    }
    /// A peak that is cut off flat.
    CUT_OFF = "waveform/cut-off" {
        means: "The peak of the record is cut off flat.",
        matters: "The current was larger than the range of the instrument: peak and rise time are unknown, and the generator must not be blamed.",
        example: "seven equal samples at 23.9 A between steep sides",
        remedy: "Use a larger vertical range or a greater attenuation, and record again.",
    }
    /// A record that ends before a time at which a current is wanted.
    ENDS_EARLY = "waveform/ends-early" {
        means: "The record ends before the time at which a current is wanted.",
        matters: "That current can't be compared with its limits.",
        example: "a record that ends 40 ns after the edge",
        remedy: "Record more time after the trigger.",
    }
    /// Another discharge in the record.
    SECOND_DISCHARGE = "waveform/second-discharge" {
        means: "The current rises steeply a second time.",
        matters: "The item gets two pulses instead of one, and currents after the second are not those of a single discharge.",
        example: "a second edge 35 ns after the first",
        remedy: "Repeat the record; if it happens again, have the generator's relay looked at.",
    }
    /// An edge with 3 to 7 samples.
    FEW_SAMPLES_ON_EDGE = "waveform/few-samples-on-edge" {
        means: "Fewer than 8 samples lie between 10 % and 90 % of the peak.",
        matters: "The rise time is read too long: by about 2 % with 4 samples, 5 % with 3.",
        example: "a record with 5 samples per nanosecond",
        remedy: "Use a higher sampling rate.",
    }
    /// An edge with fewer than 3 samples.
    EDGE_NOT_RESOLVED = "waveform/edge-not-resolved" {
        means: "Fewer than 3 samples lie between 10 % and 90 % of the peak.",
        matters: "The rise time depends more on where the samples happen to lie than on the pulse; it is not compared with its limits.",
        example: "a record with 1 sample per nanosecond",
        remedy: "Use a higher sampling rate.",
    }
    /// Noise that hides the foot of the edge.
    NOISE_HIDES_EDGE = "waveform/noise-hides-edge" {
        means: "The noise is so large that the crossing of 10 % of the peak can't be told from it.",
        matters: "The rise time and all currents at a time count from that crossing.",
        example: "noise of 1 A rms on a peak of 15 A",
        remedy: "Use a larger part of the instrument's vertical range.",
    }
    /// Noise that could not be reduced.
    NOISE_NOT_REDUCED = "waveform/noise-not-reduced" {
        means: "The record is noisy, and its samples are too far apart to fit a curve to them.",
        matters: "The largest of several noisy samples tends to be too large, by about one standard deviation of the noise.",
        example: "noise of 2 % of the peak at 5 samples per nanosecond",
        remedy: "Record with at least 8 samples per nanosecond.",
    }
    /// A crossing of 10 % before the edge.
    EARLY_CROSSING = "waveform/early-crossing" {
        means: "The current reaches 10 % of the peak before the edge, too.",
        matters: "Times count from the first crossing of 10 %; here they count from the edge, and a person must decide whether that is right.",
        example: "a small pulse 3 ns before the discharge",
        remedy: "Look at the record; repeat it.",
    }
    /// A pulse of the other sign.
    OTHER_POLARITY = "waveform/other-polarity" {
        means: "The pulse has the other sign than the polarity that is stated.",
        matters: "Either the generator was set otherwise, or the channel inverts; the record may belong to another setting.",
        example: "a negative pulse in a verification at positive polarity",
        remedy: "Look at the generator's setting and at the channel; correct the statement or repeat the record.",
    }
    /// A decay that belongs to another network.
    OTHER_NETWORK = "waveform/other-network" {
        means: "The current decays like that of another network than the one that is stated.",
        matters: "The severity applied is then not the one that the record says, and the limits compared are those of the wrong network.",
        example: "a record with a time constant of 94 ns for a network of 150 pF and 330 ohm (50 ns)",
        remedy: "Look at the module fitted to the generator; correct the statement, or repeat the record.",
    }
    /// A figure of an unlikely order of magnitude.
    UNLIKELY_UNIT = "waveform/unlikely-unit" {
        means: "A figure is far from any that a discharge can have.",
        matters: "Most likely a unit or a factor is wrong, and every figure with it.",
        example: "a peak of 15000 A at 4 kV, from a column in milliamperes read as amperes",
        remedy: "Look at the units of the columns and at the conversion from volts to amperes.",
    }
    /// A chain that is too slow for the edge.
    BANDWIDTH = "waveform/bandwidth" {
        means: "The bandwidth of the measuring chain lengthens the rise time by 1 % or more.",
        matters: "The rise time that is read is longer than that of the generator.",
        example: "a rise time of 0.88 ns with a chain of 1 GHz",
        remedy: "Use a chain of greater bandwidth; the figure is shown as read.",
    }
}
