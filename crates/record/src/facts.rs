//! Everything about a job that is not a discharge, an observation or a waveform.

use crate::*;

/// The facts of a job. Whatever a laboratory may not know is optional; nothing defaults silently.
#[derive(Clone, Debug, PartialEq, Default)]
pub struct Facts {
    /// Set when the data are invented, with the words that every output prints.
    pub invented: Option<String>,
    /// The report's identity.
    pub report: ReportIdentity,
    /// The laboratory.
    pub laboratory: Laboratory,
    /// The client.
    pub client: Client,
    /// References of others.
    pub references: Vec<ExternalReference>,
    /// Receipt of the item.
    pub receipt: Receipt,
    /// First day of the work.
    pub work_started: Option<Date>,
    /// Last day of the work.
    pub work_ended: Option<Date>,
    /// Who supplied which facts.
    pub supplied: Vec<Supplied>,
    /// Work done by others.
    pub external_providers: Vec<ExternalProvider>,
    /// Decision rule.
    pub decision_rule: DecisionRule,
    /// Scope of accreditation per method.
    pub accreditation_scope: Vec<AccreditationScope>,
    /// Identity of the test plan.
    pub test_plan: TestPlanIdentity,
    /// Item under test.
    pub item: Item,
    /// Associated equipment.
    pub associated: Vec<AssociatedEquipment>,
    /// Operating modes.
    pub modes: Vec<Mode>,
    /// Monitored functions.
    pub functions: Vec<Function>,
    /// Accepted outcomes.
    pub demands: Vec<Demand>,
    /// Method.
    pub method: Method,
    /// Plan.
    pub plan: Plan,
    /// People.
    pub people: Vec<Person>,
    /// Equipment.
    pub equipment: Vec<Equipment>,
    /// Generator configuration.
    pub generator: Generator,
    /// Uncertainty of waveform figures, and the rule for deciding with it.
    pub waveform_uncertainty: WaveformUncertainty,
    /// Climate readings.
    pub climate: Vec<ClimateReading>,
    /// Set-up checks.
    pub setup_checks: Vec<SetupCheck>,
    /// Charge removal.
    pub charge_removal: Stated<ChargeRemoval>,
    /// Modification states, in order; the first is the item as received.
    pub states: Vec<ItemState>,
    /// Points of application.
    pub points: Vec<Point>,
    /// Attachments.
    pub attachments: Vec<Attachment>,
    /// Opinions.
    pub opinions: Vec<Opinion>,
    /// Judgements.
    pub judgements: Vec<Judgement>,
    /// Rulings on rows that could not be read.
    pub rulings: Vec<RowRuling>,
    /// Justifications of a plan run in part.
    pub partial_plan_justifications: Vec<PartialPlanJustification>,
}
