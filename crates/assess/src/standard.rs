//! Test standards as data: every value with its clause, its source and how far it can be trusted.

mod built_in;
pub mod codes;
mod given;
mod ideal;
mod limits;
mod parse;
mod reader;
mod rules;

pub use built_in::built_in;
pub use given::{Given, Span, Status};
pub use ideal::IdealWaveform;
pub(crate) use ideal::number;
pub use limits::{ClimateLimit, SetupLimit, TimeOrigin, WaveformLimit, WaveformQuantity};
pub use rules::{CountsPer, Evidence, Fact, Level, Outcome, PolarityDemand, Rules};

/// The data of one edition of a test standard, or of a laboratory's or customer's own plan.
#[derive(Clone, Debug, PartialEq)]
pub struct Standard {
    /// Name by which a job refers to it, such as `iec-61000-4-2-ed2`.
    pub id: String,
    /// What it is about, in our own words.
    pub title: String,
    /// The standard's number, such as `IEC 61000-4-2`.
    pub designation: String,
    /// Its edition and year, such as `Ed.2:2008`.
    pub edition: String,
    /// Version of the data file, from 1.
    pub version: u32,
    /// Outcomes that a demand may accept, from the strictest.
    pub outcomes: Vec<Outcome>,
    /// Test levels, in the order of the file.
    pub levels: Vec<Level>,
    /// How discharges are applied and counted.
    pub rules: Rules,
    /// Climate limits, each bound to some applications.
    pub climate: Vec<ClimateLimit>,
    /// What must be shown for a result to be valid.
    pub evidence: Evidence,
    /// Limits of set-up checks.
    pub setup_limits: Vec<SetupLimit>,
    /// Limits of the generator's current waveform.
    pub waveform: Vec<WaveformLimit>,
    /// The formula of the ideal current, where the standard has one.
    pub ideal_waveform: Option<IdealWaveform>,
}

impl Standard {
    /// Reads the text of a standard's file; `file_name` is used in findings only.
    ///
    /// # Errors
    /// Every problem of the text, in the order of the text, each with row and column.
    pub fn parse(file_name: &str, text: &str) -> Result<Self, Vec<record::Finding>> {
        parse::parse(file_name, text)
    }

    /// The name with edition as printed: `IEC 61000-4-2 Ed.2:2008`.
    pub fn full_name(&self) -> String {
        format!("{} {}", self.designation, self.edition)
    }

    /// The level of that name, if the standard has it.
    pub fn level(&self, name: &str) -> Option<&Level> {
        self.levels.iter().find(|level| level.name == name)
    }

    /// The limits of the waveform for a network; for the standard's own network where none is stated.
    pub fn waveform_limits(
        &self,
        network: Option<(record::Picofarads, record::Ohms)>,
    ) -> impl Iterator<Item = &WaveformLimit> {
        let network = network.unwrap_or((self.rules.network_pf.value, self.rules.network_ohm.value));
        self.waveform.iter().filter(move |limit| (limit.network_pf, limit.network_ohm) == network)
    }

    /// The outcome of that name, if the standard's vocabulary has it.
    pub fn outcome(&self, name: &str) -> Option<&Outcome> {
        self.outcomes.iter().find(|outcome| outcome.name == name)
    }
}
