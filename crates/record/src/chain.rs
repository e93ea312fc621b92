//! The measuring chain of a verification: from the voltage at the oscilloscope to the discharge current.
//!
//! Readers turn samples in volts into amperes, so that the conversion belongs to the facts; its arithmetic is exact
//! decimals, and the same on every machine.

use crate::{
    AmperesPerVolt, AttenuationRatio, Decibels, Draft, EquipmentId, Facts, Finding, Place, Trace,
    Verification, VerificationId, VoltsPerAmpere, codes, spoken_path,
};
use rust_decimal::{Decimal, RoundingStrategy};

/// One element between the discharge and the oscilloscope. What it does may stand here, or at its equipment.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct ChainElement {
    /// Which piece of equipment it is.
    pub equipment: Option<EquipmentId>,
    /// Of the target: the voltage into the line for each ampere, at low frequency.
    pub transfer_v_per_a: Option<VoltsPerAmpere>,
    /// Of an attenuator or cable: by how much it lowers the voltage, in decibels.
    pub attenuation_db: Option<Decibels>,
    /// The same as voltage before it over voltage behind it.
    pub attenuation_ratio: Option<AttenuationRatio>,
    /// What it is, where it has no inventory name.
    pub remark: Option<String>,
}

/// What an element does to the signal.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Passes {
    /// It turns current into voltage.
    Transfer(VoltsPerAmpere),
    /// It lowers the voltage.
    Decibels(Decibels),
    /// It lowers the voltage.
    Ratio(AttenuationRatio),
}

impl Passes {
    /// The number, as stated.
    pub fn number(self) -> Decimal {
        match self {
            Self::Transfer(value) => value.as_v_per_a(),
            Self::Decibels(value) => value.as_db(),
            Self::Ratio(value) => value.as_ratio(),
        }
    }

    /// The key under which it is stated.
    pub fn key(self) -> &'static str {
        match self {
            Self::Transfer(_) => "transfer_v_per_a",
            Self::Decibels(_) => "attenuation_db",
            Self::Ratio(_) => "attenuation_ratio",
        }
    }
}

impl std::fmt::Display for Passes {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Transfer(value) => value.fmt(f),
            Self::Decibels(value) => value.fmt(f),
            Self::Ratio(value) => value.fmt(f),
        }
    }
}

/// An element with what it does.
#[derive(Clone, Debug, PartialEq)]
pub struct Stage<'a> {
    /// The element.
    pub element: &'a ChainElement,
    /// What it does; none where nobody says it.
    pub passes: Option<Passes>,
    /// Path of the fact that says it: `/equipment/3/attenuation_db`, `/verifications/0/chain/1/attenuation_db`.
    pub path: String,
}

/// A measuring chain, worked out.
#[derive(Clone, Debug, PartialEq)]
pub struct Chain<'a> {
    /// Its elements, from the target on.
    pub stages: Vec<Stage<'a>>,
    /// What a volt at the oscilloscope stands for; none where the chain is not whole or contradicts itself.
    pub a_per_v: Option<AmperesPerVolt>,
    problems: Vec<Problem>,
}

/// Something in a chain that keeps it from being worked out.
#[derive(Clone, Debug, PartialEq)]
struct Problem {
    code: &'static str,
    message: String,
    path: String,
    /// Path of the fact that it is held against.
    against: Option<String>,
    help: &'static str,
}

/// Digits that a worked-out scale keeps: more than a double holds, and all of them right.
const DIGITS: u32 = 20;
/// A scale that somebody writes beside a chain agrees with it to the digits written, and to so many at least.
const LEAST_DIGITS: usize = 4;

const ONE_VALUE: &str =
    "state one of transfer_v_per_a, attenuation_db and attenuation_ratio for each element";

impl<'a> Chain<'a> {
    /// The chain of the verification at `index` of its list; none where none is stated.
    pub fn of(facts: &Facts, verification: &'a Verification, index: usize) -> Option<Self> {
        if verification.chain.is_empty() {
            return None;
        }
        let mut chain = Self { stages: Vec::new(), a_per_v: None, problems: Vec::new() };
        for (number, element) in verification.chain.iter().enumerate() {
            let path = format!("/verifications/{index}/chain/{number}");
            let stage = chain.stage(facts, element, path);
            chain.stages.push(stage);
        }
        let here = format!("/verifications/{index}/chain");
        let transfers: Vec<&Stage<'_>> =
            chain.stages.iter().filter(|stage| matches!(stage.passes, Some(Passes::Transfer(_)))).collect();
        match transfers.as_slice() {
            [_] => {}
            [] => chain.problems.push(Problem {
                code: codes::CHAIN_INCOMPLETE,
                message: format!(
                    "the measuring chain of `{}` has no element with a transfer impedance",
                    verification.id
                ),
                path: here.clone(),
                against: None,
                help: "state `transfer_v_per_a` of the target, from its certificate",
            }),
            [first, second, ..] => {
                let problem = Problem {
                    code: codes::CHAIN_CONTRADICTS,
                    message: format!(
                        "two elements of the measuring chain of `{}` state a transfer impedance",
                        verification.id
                    ),
                    path: second.path.clone(),
                    against: Some(first.path.clone()),
                    help: "one target turns current into voltage; state what the others do to the voltage",
                };
                chain.problems.push(problem);
            }
        }
        if chain.problems.is_empty() {
            let passes: Vec<Passes> = chain.stages.iter().filter_map(|stage| stage.passes).collect();
            chain.a_per_v = scale(&passes);
            if chain.a_per_v.is_none() {
                chain.problems.push(Problem {
                    code: codes::CHAIN_INCOMPLETE,
                    message: format!("the measuring chain of `{}` comes to no usable scale", verification.id),
                    path: here,
                    against: None,
                    help: "look at the attenuations: together they are more than an instrument can measure",
                });
            }
        }
        Some(chain)
    }

    /// What one element does: as it says itself, or its equipment.
    fn stage(&mut self, facts: &Facts, element: &'a ChainElement, path: String) -> Stage<'a> {
        let own = self.one_of(
            [
                element.transfer_v_per_a.map(Passes::Transfer),
                element.attenuation_db.map(Passes::Decibels),
                element.attenuation_ratio.map(Passes::Ratio),
            ],
            &path,
        );
        let found = element.equipment.as_ref().and_then(|id| {
            let index = facts.equipment.iter().position(|e| e.id == *id)?;
            Some((facts.equipment.get(index)?, format!("/equipment/{index}")))
        });
        let of_equipment = found.and_then(|(equipment, at)| {
            let passes = self.one_of(
                [
                    equipment.transfer_v_per_a.map(Passes::Transfer),
                    equipment.attenuation_db.map(Passes::Decibels),
                    equipment.attenuation_ratio.map(Passes::Ratio),
                ],
                &at,
            )?;
            Some((passes, format!("{at}/{}", passes.key())))
        });
        let named = match (&element.equipment, &element.remark) {
            (Some(id), _) => format!("`{id}`"),
            (None, Some(remark)) => format!("`{remark}`"),
            (None, None) => "an element".to_owned(),
        };
        match (own, of_equipment) {
            (Some(own), Some((theirs, at))) => {
                if own != theirs {
                    self.problems.push(Problem {
                        code: codes::CHAIN_CONTRADICTS,
                        message: format!(
                            "{named} passes {own} by the measuring chain, and {theirs} by its entry under `equipment`"
                        ),
                        path: format!("{path}/{}", own.key()),
                        against: Some(at),
                        help: "state it once: at the equipment, or in the chain",
                    });
                }
                Stage { element, passes: Some(own), path: format!("{path}/{}", own.key()) }
            }
            (Some(own), None) => Stage { element, passes: Some(own), path: format!("{path}/{}", own.key()) },
            (None, Some((theirs, at))) => Stage { element, passes: Some(theirs), path: at },
            (None, None) => {
                // What is stated twice is said already.
                if !self.problems.iter().any(|problem| problem.path == path) {
                    self.problems.push(Problem {
                        code: codes::CHAIN_INCOMPLETE,
                        message: format!(
                            "what {named} of the measuring chain does to the signal is not stated"
                        ),
                        path: path.clone(),
                        against: None,
                        help: ONE_VALUE,
                    });
                }
                Stage { element, passes: None, path }
            }
        }
    }

    /// The only one of three that is stated.
    fn one_of(&mut self, all: [Option<Passes>; 3], path: &str) -> Option<Passes> {
        let stated: Vec<Passes> = all.into_iter().flatten().collect();
        if let [first, second, ..] = stated.as_slice() {
            self.problems.push(Problem {
                code: codes::CHAIN_CONTRADICTS,
                message: format!("one element of a measuring chain passes {first} and {second}"),
                path: path.to_owned(),
                against: None,
                help: ONE_VALUE,
            });
            return None;
        }
        stated.first().copied()
    }
}

/// What is wrong with the measuring chain of the verification at `index`, and where a waveform was converted otherwise.
pub fn chain_findings(draft: &Draft, index: usize) -> Vec<Finding> {
    let Some(verification) = draft.verifications.get(index) else { return Vec::new() };
    let Some(chain) = Chain::of(&draft.facts, verification, index) else { return Vec::new() };
    let at = |finding: Finding, path: &str| match draft.place_of(path) {
        Some(place) => finding.at(Place { label: Some(spoken_path(path)), ..place }),
        None => finding,
    };
    let mut findings = Vec::new();
    for (number, element) in verification.chain.iter().enumerate() {
        if let Some(id) = &element.equipment
            && !draft.facts.equipment.iter().any(|e| e.id == *id)
        {
            let finding = Finding::warning(codes::UNKNOWN_NAME, format!("no equipment is named `{id}`"));
            let finding = finding.help("add it under [[equipment]], or mend the name in the measuring chain");
            findings.push(at(finding, &format!("/verifications/{index}/chain/{number}/equipment")));
        }
    }
    for problem in &chain.problems {
        let finding = if problem.code == codes::CHAIN_CONTRADICTS {
            Finding::error(problem.code, &problem.message)
        } else {
            Finding::warning(problem.code, &problem.message)
        };
        let mut finding = at(finding, &problem.path);
        if let Some(place) = problem.against.as_ref().and_then(|path| draft.place_of(path)) {
            finding = finding.with_related(place, "the other one is stated here");
        }
        findings.push(finding.help(problem.help));
    }
    let Some(ours) = chain.a_per_v else { return findings };
    if let Some((trace, finding)) = converted_otherwise(&verification.id, &verification.traces, ours) {
        let mut finding = finding.at(draft.place(&trace.origin));
        if let Some(place) = draft.place_of(&format!("/verifications/{index}/chain")) {
            finding = finding.with_related(place, "the measuring chain");
        }
        findings.push(finding);
    }
    findings
}

/// The first waveform that was converted with another scale than its measuring chain comes to, with the finding about
/// it, which has no place yet. A scale agrees to the digits that are written, and to four at least.
pub fn converted_otherwise<'t>(
    verification: &VerificationId,
    traces: &'t [Trace],
    ours: AmperesPerVolt,
) -> Option<(&'t Trace, Finding)> {
    let trace = traces.iter().find(|trace| trace.a_per_v.is_some_and(|used| !agree(used, ours)))?;
    let message = format!(
        "`{}` was converted with {}, and the measuring chain of `{verification}` comes to {}",
        trace.name,
        trace.a_per_v?,
        shown(ours)
    );
    let finding = Finding::error(codes::CHAIN_CONTRADICTS, message);
    let help = "take `scale_a_per_v` out if the chain is right, or mend the chain or its equipment";
    Some((trace, finding.help(help)))
}

impl AmperesPerVolt {
    /// The number with so many significant digits at most; the record holds all of them.
    pub fn rounded(self, digits: u32) -> Decimal {
        let number = self.as_a_per_v();
        number.round_sf(digits).unwrap_or(number).normalize()
    }

    /// The number as people read it: six digits.
    pub fn for_print(self) -> Decimal {
        self.rounded(6)
    }
}

fn shown(scale: AmperesPerVolt) -> String {
    format!("{} {}", scale.for_print(), AmperesPerVolt::UNIT)
}

/// Whether a scale that was written down is that of a chain: to the digits written, and to four at least.
fn agree(written: AmperesPerVolt, ours: AmperesPerVolt) -> bool {
    let (written, ours) = (written.as_a_per_v(), ours.as_a_per_v());
    let typed = written.mantissa().unsigned_abs().to_string().len();
    let digits = u32::try_from(typed.clamp(LEAST_DIGITS, DIGITS as usize)).unwrap_or(DIGITS);
    // A last digit of 5 may have been rounded either way.
    [RoundingStrategy::MidpointAwayFromZero, RoundingStrategy::MidpointTowardZero]
        .into_iter()
        .any(|strategy| ours.round_sf_with_strategy(digits, strategy) == Some(written))
}

/// Amperes for each volt behind all elements: the attenuations multiplied, over the transfer impedance.
fn scale(passes: &[Passes]) -> Option<AmperesPerVolt> {
    let (mut decibels, mut factor, mut transfer) = (Decimal::ZERO, Decimal::ONE, None);
    for one in passes {
        match one {
            Passes::Transfer(value) => transfer = Some(value.as_v_per_a()),
            // Added first: 19.9 dB and 0.1 dB are exactly a factor of 10.
            Passes::Decibels(value) => decibels = decibels.checked_add(value.as_db())?,
            Passes::Ratio(value) => factor = factor.checked_mul(value.as_ratio())?,
        }
    }
    let whole = voltage_ratio(decibels)?.checked_mul(factor)?.checked_div(transfer?)?;
    AmperesPerVolt::from_a_per_v(whole.round_sf(DIGITS)?.normalize())
        .ok()
        .filter(|scale| !scale.as_a_per_v().is_zero())
}

/// The ratio of two voltages that differ by so many decibels: 10^(dB/20), since a level of voltages is
/// 20 lg (U1/U2) dB (IUPAC Gold Book, F02361, after its Green Book, 2nd edition, page 79). 0 dB or more.
fn voltage_ratio(decibels: Decimal) -> Option<Decimal> {
    let twenty = Decimal::from(20);
    let decades = decibels.checked_div(twenty)?.floor();
    let rest = decibels.checked_sub(decades.checked_mul(twenty)?)?;
    let mut ratio = Decimal::ONE;
    if !rest.is_zero() {
        // e^x by its series, for x halved four times, then squared as often.
        let ln_10 = Decimal::from_i128_with_scale(23_025_850_929_940_456_840_179_914_547, 28);
        let x = rest.checked_mul(ln_10)?.checked_div(Decimal::from(20 * 16))?;
        let mut term = Decimal::ONE;
        for n in 1..=24 {
            term = term.checked_mul(x)?.checked_div(Decimal::from(n))?;
            ratio = ratio.checked_add(term)?;
        }
        for _ in 0..4 {
            ratio = ratio.checked_mul(ratio)?;
        }
    }
    for _ in 0..u32::try_from(decades).ok()? {
        ratio = ratio.checked_mul(Decimal::TEN)?;
    }
    Some(ratio)
}

#[cfg(test)]
mod tests;
