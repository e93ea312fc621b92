//! The data model of one electrostatic-discharge test job: facts only, each with its origin.
//!
//! Readers fill a [`Draft`]; [`check`] is the only function that makes a [`Record`] of it. Conclusions
//! (coverage, verdict, waveform figures) are not here: they are computed from a Record by `assess`.
//! The crate is pure: no files, no clock, no serialisation (the serialisable mirror is `wire::v1` in
//! `plugin-api`, so that a change in here is never a change of format by accident).
#![forbid(unsafe_code)]
#![warn(clippy::disallowed_methods)]

mod attachment;
mod chain;
mod check;
mod climate;
mod draft;
mod equipment;
mod facts;
mod finding;
mod id;
mod item;
mod judgement;
mod laboratory;
mod method;
mod moment;
mod observation;
mod origin;
mod people;
mod point;
mod quantity;
mod series;
mod series_times;
mod setup;
mod source;
mod stated;
mod trace;
mod waveform_uncertainty;
mod word;

pub use attachment::{Attachment, AttachmentKind};
pub use chain::{Chain, ChainElement, Passes, Stage, chain_findings, converted_otherwise};
pub use check::{Checked, Record, check, codes};
pub use climate::ClimateReading;
pub use draft::{Draft, RowAccount, UnreadRow};
pub use equipment::{Equipment, EquipmentRole, Generator, Tip};
pub use facts::Facts;
pub use finding::{CodeDoc, Finding, Place, Severity, spoken_path};
pub use id::{EquipmentId, FunctionId, ModeId, ObservationId, PointId, SeriesId, StateId, VerificationId};
pub use item::{Arrangement, AssociatedEquipment, Function, Item, ItemState, Mode};
pub use judgement::{JudgedVerdict, Judgement, Opinion, PartialPlanJustification, RowRuling};
pub use laboratory::{
    AccreditationScope, Client, DecisionRule, ExternalProvider, ExternalReference, IssueState, Laboratory,
    Receipt, ReportIdentity, Supplied, Supplier, TestPlanIdentity,
};
pub use method::{Demand, Deviation, Method, Plan, PolarityRule};
pub use moment::Moment;
pub use observation::{Affected, Class, Observation, Restoration, RowReference};
pub use origin::{Origin, Rows, SourceId};
pub use people::{KeyFingerprint, PartPlayed, Person};
pub use point::{Mark, Point};
pub use quantity::{
    AmperesPerVolt, AttenuationRatio, BadQuantity, Celsius, Decibels, Hectopascals, Kilovolts, Millimetres,
    Ohms, Percent, Picofarads, Seconds, VoltsPerAmpere, parse_decimal,
};
pub use series::{Application, Monitoring, Polarity, RunKind, Series, Shot};
pub use setup::{ChargeRemoval, SetupCheck, SetupCheckKind};
pub use source::{SourceFile, SourceRole};
pub use stated::Stated;
pub use trace::{TimeBase, Trace, Verification};
pub use waveform_uncertainty::{
    ContributionKind, FigureUncertainty, UncertaintyContribution, UncertaintyUnit, WaveformFigure,
    WaveformRule, WaveformUncertainty,
};
pub use word::UnknownWord;

pub use jiff::civil::Date;
pub use jiff::civil::DateTime as CivilTime;
pub use rust_decimal::{Decimal, RoundingStrategy};
