//! The facts of a job in the canonical form; `job.toml` has the same keys.

use super::mirror::mirror;
use super::scalar::{Maybe, Nth, Number, Whole, Word};

mirror!(
    /// The testing laboratory.
    Laboratory = record::Laboratory {
        /// Name.
        name: Option<String>,
        /// Postal address.
        address: Option<String>,
        /// Where the work was done, where that is not the address.
        place_of_work: Option<String>,
        /// Accreditation as the laboratory states it.
        accreditation: Option<String>,
    }
);
mirror!(
    /// The customer.
    Client = record::Client {
        /// Name.
        name: Option<String>,
        /// How to reach them.
        contact: Option<String>,
    }
);
mirror!(
    /// The report's own identity.
    ReportIdentity = record::ReportIdentity {
        /// Title, where the laboratory has one of its own.
        title: Option<String>,
        /// Report number.
        number: Option<String>,
        /// Revision.
        revision: Option<String>,
        /// Number of the report that this one amends or replaces.
        amends: Option<String>,
        /// Identity of the evidence pack of that report: the SHA-256 of its `tagmanifest-sha256.txt`.
        amends_pack: Option<String>,
        /// Why it was amended.
        amendment_reason: Option<String>,
        /// Draft or issued.
        state: Option<Word<record::IssueState>>,
        /// Date of issue.
        issued_on: Option<String>,
    }
);
mirror!(
    /// A number under which others know the job or a part of it.
    ExternalReference = record::ExternalReference {
        /// What is referred to: order, sample, method code, ...
        kind: String,
        /// The reference itself.
        value: String,
        /// Its revision.
        revision: Option<String>,
        /// What it belongs to: `job`, `item` or a series by name.
        belongs_to: Option<String>,
    }
);
mirror!(
    /// Receipt of the item.
    Receipt = record::Receipt {
        /// Day of receipt.
        received_on: Option<String>,
        /// Condition on receipt.
        condition: Option<String>,
    }
);
mirror!(
    /// Who supplied a fact.
    Supplied = record::Supplied {
        /// The fact or group of facts.
        fact: String,
        /// By whom.
        by: Word<record::Supplier>,
        /// Remark.
        remark: Option<String>,
    }
);
mirror!(
    /// Work done by somebody outside.
    ExternalProvider = record::ExternalProvider {
        /// Who.
        name: String,
        /// What they did.
        what: Option<String>,
    }
);
mirror!(
    /// The rule by which conformity is decided.
    DecisionRule = record::DecisionRule {
        /// The rule in words.
        rule: Option<String>,
        /// Who agreed it.
        agreed_with: Option<String>,
        /// When it was agreed.
        agreed_on: Option<String>,
    }
);
mirror!(
    /// Whether a method lies inside the laboratory's scope of accreditation.
    AccreditationScope = record::AccreditationScope {
        /// The method with its edition.
        method: String,
        /// Inside the scope or outside.
        inside: Option<bool>,
        /// Remark.
        remark: Option<String>,
    }
);
mirror!(
    /// Identity of the test plan.
    TestPlanIdentity = record::TestPlanIdentity {
        /// Number or title.
        number: Option<String>,
        /// Revision.
        revision: Option<String>,
        /// Its date.
        dated: Option<String>,
        /// Whose plan it is.
        owner: Option<String>,
    }
);
mirror!(
    /// The item under test.
    Item = record::Item {
        /// What it is.
        name: Option<String>,
        /// Type designation.
        type_designation: Option<String>,
        /// Maker.
        maker: Option<String>,
        /// Serial number.
        serial: Option<String>,
        /// Hardware version.
        hardware_version: Option<String>,
        /// Firmware or software version.
        firmware_version: Option<String>,
        /// Supply.
        supply: Option<String>,
        /// How it stands during the test.
        arrangement: Option<Word<record::Arrangement>>,
        /// Whether it is earthed in the test.
        earthed: Option<Maybe<bool>>,
        /// How it is earthed, or why it is not.
        earthing: Option<String>,
        /// Length in millimetres.
        length_mm: Option<Number>,
        /// Width in millimetres.
        width_mm: Option<Number>,
        /// Height in millimetres.
        height_mm: Option<Number>,
        /// Cables, accessories, settings.
        configuration: Option<String>,
        /// Conditions of use that conformity depends on.
        conditions_of_use: Option<String>,
    }
);
mirror!(
    /// Equipment that works with the item but is not under test.
    AssociatedEquipment = record::AssociatedEquipment {
        /// What it is.
        name: String,
        /// Serial number.
        serial: Option<String>,
        /// What it does in the test.
        purpose: Option<String>,
    }
);
mirror!(
    /// An operating mode of the item.
    Mode = record::Mode {
        /// Name used in logs.
        id: String,
        /// Description.
        description: Option<String>,
    }
);
mirror!(
    /// A function of the item that is watched.
    Function = record::Function {
        /// Name used in observations and demands.
        id: String,
        /// Description.
        description: Option<String>,
        /// How it is watched.
        monitored_by: Option<String>,
        /// The loss of performance that is allowed, in words.
        allowed_loss: Option<String>,
    }
);
mirror!(
    /// A modification state of the item.
    ItemState = record::ItemState {
        /// Name used in logs.
        id: String,
        /// Description; for a modified item, what was changed.
        description: Option<String>,
        /// Why it was changed.
        reason: Option<String>,
        /// Since when.
        since: Option<String>,
        /// Who changed it.
        by: Option<String>,
    }
);
mirror!(
    /// A departure from the method.
    Deviation = record::Deviation {
        /// What was done otherwise.
        what: String,
        /// Why.
        reason: Option<String>,
        /// The clause that it departs from.
        clause: Option<String>,
    }
);
mirror!(
    /// The method.
    Method = record::Method {
        /// Id of the standard's data file.
        standard: Option<String>,
        /// Product or generic standard on top of it, in words.
        product_standard: Option<String>,
        /// Departures.
        deviations: Vec<Deviation>,
        /// The laboratory's own procedure.
        procedure: Option<String>,
    }
);
mirror!(
    /// What the plan asks for.
    Plan = record::Plan {
        /// Level of the standard's table.
        level: Option<String>,
        /// Own voltages for contact discharge to the item.
        contact_kv: Vec<Number>,
        /// Own voltages for air discharge.
        air_kv: Vec<Number>,
        /// Own voltages for the coupling planes.
        indirect_kv: Vec<Number>,
        /// Which polarities.
        polarity: Option<Word<record::PolarityRule>>,
        /// Why one polarity suffices.
        polarity_basis: Option<String>,
        /// Discharges per point, polarity and voltage.
        discharges: Option<Whole>,
        /// Time between discharges.
        interval_s: Option<Number>,
        /// Storage capacitance of the network that the plan chooses, in picofarads.
        network_pf: Option<Number>,
        /// Discharge resistance of the network that the plan chooses, in ohms.
        network_ohm: Option<Number>,
        /// Modes in which every point is tested.
        modes: Vec<String>,
        /// Whose choice it is.
        chosen_by: Option<String>,
        /// The modification state to be judged.
        judged_state: Option<String>,
    }
);
mirror!(
    /// Which outcomes are accepted for a function.
    Demand = record::Demand {
        /// The function; all functions where none is named.
        function: Option<String>,
        /// Only in this mode.
        mode: Option<String>,
        /// Only for this kind of discharge.
        application: Option<Word<record::Application>>,
        /// Only from this voltage up.
        from_kv: Option<Number>,
        /// Only up to this voltage.
        to_kv: Option<Number>,
        /// The criterion or outcomes accepted.
        accepted: Vec<String>,
        /// Where the demand comes from.
        basis: Option<String>,
    }
);
mirror!(
    /// A person and their part.
    Person = record::Person {
        /// Name.
        name: String,
        /// What they did.
        part: Word<record::PartPlayed>,
        /// Position in the laboratory.
        position: Option<String>,
        /// When they signed for it.
        on: Option<String>,
        /// Fingerprint of the key with which they sign the evidence pack, as `ssh-keygen -l` prints it
        /// (`SHA256:...`).
        key: Option<String>,
    }
);
mirror!(
    /// A piece of test equipment.
    Equipment = record::Equipment {
        /// Inventory name.
        id: String,
        /// What it is used for.
        role: Option<Word<record::EquipmentRole>>,
        /// What it is.
        name: Option<String>,
        /// Serial number.
        serial: Option<String>,
        /// Firmware or software version.
        firmware_version: Option<String>,
        /// Day of the last calibration.
        calibrated_on: Option<String>,
        /// Last day on which that calibration is valid.
        calibration_due: Option<String>,
        /// Certificate number.
        certificate: Option<String>,
        /// Who calibrated it.
        calibrated_by: Option<String>,
        /// Whether that calibration was accredited.
        accredited: Option<bool>,
        /// Whether the calibration found it within its tolerances.
        in_tolerance: Option<bool>,
        /// Of a current target: volts into the line for each ampere, at low frequency.
        transfer_v_per_a: Option<Number>,
        /// Of an attenuator or cable: by how much it lowers the voltage, in decibels.
        attenuation_db: Option<Number>,
        /// The same as voltage before it over voltage behind it.
        attenuation_ratio: Option<Number>,
        /// Remark.
        remark: Option<String>,
    }
);
mirror!(
    /// How the generator was configured.
    Generator = record::Generator {
        /// Which generator.
        equipment: Option<String>,
        /// Storage capacitance of the network.
        network_pf: Option<Number>,
        /// Discharge resistance of the network.
        network_ohm: Option<Number>,
        /// Tip used for contact discharge.
        contact_tip: Option<Word<record::Tip>>,
        /// Tip used for air discharge.
        air_tip: Option<Word<record::Tip>>,
        /// Where the return cable ran and where it was connected.
        return_cable: Option<String>,
    }
);
mirror!(
    /// One reading of the room's climate.
    ClimateReading = record::ClimateReading {
        /// When.
        at: Option<String>,
        /// Temperature.
        temperature_c: Option<Number>,
        /// Relative humidity.
        humidity_percent: Option<Number>,
        /// Air pressure.
        pressure_hpa: Option<Number>,
        /// Which instrument.
        instrument: Option<String>,
    }
);
mirror!(
    /// A check of the set-up.
    SetupCheck = record::SetupCheck {
        /// What kind.
        kind: Word<record::SetupCheckKind>,
        /// What exactly was checked.
        what: Option<String>,
        /// The reading.
        reading: Option<Number>,
        /// Unit of reading and limits.
        unit: Option<String>,
        /// Least acceptable reading.
        least: Option<Number>,
        /// Greatest acceptable reading.
        most: Option<Number>,
        /// Whether the person found it in order.
        in_order: Option<bool>,
        /// When.
        at: Option<String>,
        /// By whom.
        by: Option<String>,
    }
);
mirror!(
    /// How charge was taken off an item that is not earthed.
    ChargeRemoval = record::ChargeRemoval {
        /// The method.
        method: String,
    }
);
mirror!(
    /// A mark on a picture.
    Mark = record::Mark {
        /// From the left edge, 0 to 1.
        x: Number,
        /// From the top edge, 0 to 1.
        y: Number,
    }
);
mirror!(
    /// A place where discharges are applied.
    Point = record::Point {
        /// Name used in logs.
        id: String,
        /// Description.
        description: Option<String>,
        /// How discharges are applied there.
        applications: Vec<Word<record::Application>>,
        /// Why it was chosen.
        reason: Option<String>,
        /// Why it is not tested.
        excluded: Option<String>,
        /// Picture on which it is marked.
        picture: Option<String>,
        /// The mark on that picture.
        mark: Option<Mark>,
    }
);
mirror!(
    /// A file that belongs to the record.
    Attachment = record::Attachment {
        /// File name within the job.
        file: String,
        /// What it is.
        kind: Option<Word<record::AttachmentKind>>,
        /// Caption.
        caption: Option<String>,
        /// Position in `sources`.
        source: Option<Whole>,
    }
);
mirror!(
    /// An opinion or interpretation.
    Opinion = record::Opinion {
        /// The opinion.
        text: String,
        /// Whose.
        by: String,
        /// On what basis.
        basis: Option<String>,
    }
);
mirror!(
    /// An engineer's judgement.
    Judgement = record::Judgement {
        /// What it concerns.
        concerns: String,
        /// The verdict that the person states.
        verdict: Option<Word<record::JudgedVerdict>>,
        /// Who.
        by: String,
        /// When.
        at: Option<String>,
        /// On what grounds.
        why: String,
    }
);
mirror!(
    /// A ruling on a log row that could not be read.
    RowRuling = record::RowRuling {
        /// The log's name.
        file: String,
        /// The row.
        row: Option<Nth>,
        /// Who ruled.
        by: String,
        /// When.
        at: Option<String>,
        /// What the row means, or why it does not matter.
        ruling: String,
    }
);
mirror!(
    /// Why a plan run only in part suffices.
    PartialPlanJustification = record::PartialPlanJustification {
        /// The state.
        state: String,
        /// Who.
        by: String,
        /// Why.
        why: String,
    }
);
mirror!(
    /// One line of an uncertainty budget.
    UncertaintyContribution = record::UncertaintyContribution {
        /// What contributes.
        what: String,
        /// Its distribution; says what `value` is.
        kind: Word<record::ContributionKind>,
        /// Expanded uncertainty, standard uncertainty, half-width of limits, or standard deviation of readings.
        value: Number,
        /// Coverage factor, for `normal`.
        k: Option<Number>,
        /// Number of readings, for `type-a`.
        readings: Option<Whole>,
        /// Degrees of freedom, where they are finite.
        dof: Option<Number>,
        /// Change of the figure per change of the contribution; 1 where it is not stated.
        sensitivity: Option<Number>,
    }
);
mirror!(
    /// The uncertainty of one figure of a waveform: as a result, or as the budget that it follows from.
    FigureUncertainty = record::FigureUncertainty {
        /// The figure.
        figure: Word<record::WaveformFigure>,
        /// Time of a current, in nanoseconds.
        time_ns: Option<Number>,
        /// What the values are given in: percent of the figure, amperes or nanoseconds.
        unit: Word<record::UncertaintyUnit>,
        /// Expanded uncertainty, where it is stated as such.
        expanded: Option<Number>,
        /// Coverage factor: of `expanded`, or the one agreed for the budget.
        k: Option<Number>,
        /// Coverage probability from which the budget's coverage factor follows, such as 0.95.
        coverage: Option<Number>,
        /// The budget's lines.
        contributions: Vec<UncertaintyContribution>,
        /// Name of the laboratory's document.
        document: Option<String>,
    }
);
mirror!(
    /// Uncertainty of waveform figures, and the rule for deciding with it.
    WaveformUncertainty = record::WaveformUncertainty {
        /// Per figure.
        figures: Vec<FigureUncertainty>,
        /// The decision rule.
        rule: Option<Word<record::WaveformRule>>,
        /// Width of the guard band in expanded uncertainties.
        guard_band: Option<Number>,
    }
);
mirror!(
    /// The facts of a job.
    Facts = record::Facts {
        /// Set when the data are invented: the words that every output prints.
        invented: Option<String>,
        /// The report's identity.
        report: ReportIdentity,
        /// The laboratory.
        laboratory: Laboratory,
        /// The client.
        client: Client,
        /// References of others.
        references: Vec<ExternalReference>,
        /// Receipt of the item.
        receipt: Receipt,
        /// First day of the work.
        work_started: Option<String>,
        /// Last day of the work.
        work_ended: Option<String>,
        /// Who supplied which facts.
        supplied: Vec<Supplied>,
        /// Work done by others.
        external_providers: Vec<ExternalProvider>,
        /// Decision rule.
        decision_rule: DecisionRule,
        /// Scope of accreditation per method.
        accreditation_scope: Vec<AccreditationScope>,
        /// Identity of the test plan.
        test_plan: TestPlanIdentity,
        /// Item under test.
        item: Item,
        /// Associated equipment.
        associated: Vec<AssociatedEquipment>,
        /// Operating modes.
        modes: Vec<Mode>,
        /// Monitored functions.
        functions: Vec<Function>,
        /// Accepted outcomes.
        demands: Vec<Demand>,
        /// Method.
        method: Method,
        /// Plan.
        plan: Plan,
        /// People.
        people: Vec<Person>,
        /// Equipment.
        equipment: Vec<Equipment>,
        /// Generator configuration.
        generator: Generator,
        /// Uncertainty of waveform figures, and the rule for deciding with it.
        waveform_uncertainty: WaveformUncertainty,
        /// Climate readings.
        climate: Vec<ClimateReading>,
        /// Set-up checks.
        setup_checks: Vec<SetupCheck>,
        /// Charge removal.
        charge_removal: Option<Maybe<ChargeRemoval>>,
        /// Modification states, the first as received.
        states: Vec<ItemState>,
        /// Points of application.
        points: Vec<Point>,
        /// Attachments.
        attachments: Vec<Attachment>,
        /// Opinions.
        opinions: Vec<Opinion>,
        /// Judgements.
        judgements: Vec<Judgement>,
        /// Rulings on rows that could not be read.
        rulings: Vec<RowRuling>,
        /// Justifications of a plan run in part.
        partial_plan_justifications: Vec<PartialPlanJustification>,
    }
);
