//! Test standards as data: every value with its clause, its source and how far it can be trusted.

mod built_in;
pub mod codes;
mod counts;
mod given;
mod ideal;
mod layers;
mod limits;
mod parse;
mod parse_counts;
mod reader;
mod rules;

pub use built_in::built_in;
pub use counts::{CountRule, Network, Planes, ReportItem, Total, TotalOf};
pub use given::{Given, Span, Status};
pub use ideal::IdealWaveform;
pub(crate) use ideal::number;
pub use limits::{ClimateLimit, SetupLimit, TimeOrigin, WaveformBounds, WaveformLimit, WaveformQuantity};
pub(crate) use parse::checklist as parse_checklist;
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
    /// Ids of the standards that it is laid over, the nearest first.
    pub laid_over: Vec<String>,
    /// For a product or generic standard: the edition of the basic standard that it dates.
    pub basic_edition: Option<Given<String>>,
    /// Outcomes that a demand may accept, from the strictest.
    pub outcomes: Vec<Outcome>,
    /// Test levels, in the order of the file.
    pub levels: Vec<Level>,
    /// How discharges are applied and counted.
    pub rules: Rules,
    /// Counts that differ from the general ones, by kind of discharge.
    pub counts: Vec<CountRule>,
    /// Constraints over the whole job.
    pub totals: Vec<Total>,
    /// Networks from which the plan chooses; none where the rules name the only one.
    pub networks: Vec<Network>,
    /// The coupling planes, where the standard has any.
    pub planes: Option<Planes>,
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
    /// What the plan must fix and the report must hold.
    pub report: Vec<ReportItem>,
}

/// A standard's data, and a text that holds all of them by itself.
#[derive(Clone, Debug, PartialEq)]
pub struct Loaded {
    /// The data.
    pub standard: Standard,
    /// The text of the file; of a file laid over others, one text made of all.
    pub text: String,
}

impl Standard {
    /// Reads the text of a standard's file; `file_name` is used in findings only.
    ///
    /// # Errors
    /// Every problem of the text, in the order of the text, each with row and column.
    pub fn parse(file_name: &str, text: &str) -> Result<Self, Vec<record::Finding>> {
        let find = |id: &str| {
            let (id, text) = built_in().iter().find(|(known, _)| *known == id)?;
            Some((format!("{id}.toml"), (*text).to_owned()))
        };
        Self::parse_over(file_name, text, &find).map(|loaded| loaded.standard)
    }

    /// The same, for a file that may extend others: `find` gives file name and text of a standard by its id.
    ///
    /// # Errors
    /// Every problem of the text and of those that it extends.
    pub fn parse_over(
        file_name: &str,
        text: &str,
        find: &dyn Fn(&str) -> Option<(String, String)>,
    ) -> Result<Loaded, Vec<record::Finding>> {
        parse::parse(file_name, text, find)
    }

    /// The count rule of a kind of discharge: number, what it belongs to, and least time between discharges.
    pub fn counting(
        &self,
        application: record::Application,
    ) -> (&Given<u32>, &Given<CountsPer>, &Given<record::Seconds>) {
        let own = self.counts.iter().find(|rule| rule.applies_to.value.contains(&application));
        (
            own.and_then(|rule| rule.discharges.as_ref()).unwrap_or(&self.rules.discharges),
            own.and_then(|rule| rule.counts_per.as_ref()).unwrap_or(&self.rules.counts_per),
            own.and_then(|rule| rule.interval_s.as_ref()).unwrap_or(&self.rules.interval_s),
        )
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
