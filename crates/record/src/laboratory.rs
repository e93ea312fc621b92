//! Who tests for whom, and how the report and the order are identified.

use crate::word::words;
use jiff::civil::Date;

/// The testing laboratory (ISO/IEC 17025:2017 7.8.2.1 b, c).
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub struct Laboratory {
    /// Name.
    pub name: Option<String>,
    /// Postal address.
    pub address: Option<String>,
    /// Where the work was done, where that is not the address.
    pub place_of_work: Option<String>,
    /// Accreditation as the laboratory states it.
    pub accreditation: Option<String>,
}

/// The customer (ISO/IEC 17025:2017 7.8.2.1 e).
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub struct Client {
    /// Name.
    pub name: Option<String>,
    /// How to reach them.
    pub contact: Option<String>,
}

words!(
    /// Whether a report has been issued.
    IssueState {
        /// Not yet authorised.
        Draft = "draft",
        /// Authorised and handed over.
        Issued = "issued",
    }
);

/// The report's own identity (ISO/IEC 17025:2017 7.8.2.1 d, j; 7.8.8).
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub struct ReportIdentity {
    /// Title, where the laboratory has one of its own.
    pub title: Option<String>,
    /// Report number.
    pub number: Option<String>,
    /// Revision.
    pub revision: Option<String>,
    /// Number of the report that this one amends or replaces.
    pub amends: Option<String>,
    /// Identity of the evidence pack of that report: the SHA-256 of its `tagmanifest-sha256.txt`.
    pub amends_pack: Option<String>,
    /// Why it was amended.
    pub amendment_reason: Option<String>,
    /// Draft or issued.
    pub state: Option<IssueState>,
    /// Date of issue; a draft has none.
    pub issued_on: Option<Date>,
}

/// A number under which the client or a records system knows the job, a part of it, or the method.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ExternalReference {
    /// What is referred to: order, sample, method code, ...
    pub kind: String,
    /// The reference itself.
    pub value: String,
    /// Its revision.
    pub revision: Option<String>,
    /// What it belongs to: `job`, `item` or a series by name.
    pub belongs_to: Option<String>,
}

/// Receipt of the item (ISO/IEC 17025:2017 7.8.2.1 g, h).
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub struct Receipt {
    /// Day of receipt.
    pub received_on: Option<Date>,
    /// Condition on receipt.
    pub condition: Option<String>,
}

words!(
    /// Who supplied a fact.
    Supplier {
        /// The laboratory answers for it.
        Laboratory = "laboratory",
        /// The client supplied it; the report marks it (ISO/IEC 17025:2017 7.8.2.2).
        Client = "client",
    }
);

/// Who supplied a fact or a group of facts.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Supplied {
    /// The fact or group, as the record names it (`item`, `item/firmware`, `functions`).
    pub fact: String,
    /// By whom.
    pub by: Supplier,
    /// A remark, for instance that it can affect the validity of results.
    pub remark: Option<String>,
}

/// Work done by somebody outside (ISO/IEC 17025:2017 7.8.2.1 p).
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ExternalProvider {
    /// Who.
    pub name: String,
    /// What they did.
    pub what: Option<String>,
}

/// The rule by which conformity is decided (ISO/IEC 17025:2017 7.1.3, 7.8.6).
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub struct DecisionRule {
    /// The rule in words.
    pub rule: Option<String>,
    /// Who agreed it.
    pub agreed_with: Option<String>,
    /// When it was agreed.
    pub agreed_on: Option<Date>,
}

/// Whether a method in an edition lies inside the laboratory's scope of accreditation.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct AccreditationScope {
    /// The method with its edition.
    pub method: String,
    /// Inside the scope or outside.
    pub inside: Option<bool>,
    /// A remark.
    pub remark: Option<String>,
}

/// Identity of the test plan.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub struct TestPlanIdentity {
    /// Number or title.
    pub number: Option<String>,
    /// Revision.
    pub revision: Option<String>,
    /// Its date.
    pub dated: Option<Date>,
    /// Whose plan it is.
    pub owner: Option<String>,
}
