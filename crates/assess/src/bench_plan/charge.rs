//! Energy, charge and time constants: what is stored, how fast it flows, and how long it stays.

use super::BenchSeries;
use crate::standard::{Standard, Status};
use record::{Decimal, Kilovolts, Record};

/// What one discharge carries at one voltage; exact products of the nominal values.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ShotFigures {
    /// The voltage.
    pub voltage_kv: Kilovolts,
    /// Charge C V, in microcoulombs.
    pub charge_uc: Decimal,
    /// Energy C V^2 / 2, in millijoules.
    pub energy_mj: Decimal,
}

/// Energy, charge and time constants of a plan.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ChargeFigures {
    /// The network reckoned with, as printed.
    pub network: String,
    /// How it is known.
    pub network_status: Status,
    /// Per voltage of the plan, rising.
    pub shots: Vec<ShotFigures>,
    /// Time constant R C of the network, in nanoseconds.
    pub network_tau_ns: Decimal,
    /// Bleeding of the plane or of an item that is not earthed, each in words with how its values are known.
    pub bleeding: Vec<(String, Status)>,
}

/// Vacuum permittivity in picofarads per millimetre (CODATA 2018: 8.854 187 812 8 e-12 F/m).
const EPSILON_PF_PER_MM: Decimal = Decimal::from_parts(88_541_878, 0, 0, false, 10);
/// Bound for the permittivity of an insulating sheet; usual plastics are below 5 (common practice, no source).
const SHEET_PERMITTIVITY: Decimal = Decimal::from_parts(10, 0, 0, false, 0);

pub(super) fn figures(record: &Record, standard: &Standard, series: &[BenchSeries]) -> ChargeFigures {
    let plan = &record.facts.plan;
    let rules = &standard.rules;
    let (pf, ohm) = match (plan.network_pf, plan.network_ohm) {
        (Some(pf), Some(ohm)) => (pf, ohm),
        _ => (rules.network_pf.value, rules.network_ohm.value),
    };
    let mut voltages: Vec<Kilovolts> = series.iter().map(|s| s.required.voltage_kv).collect();
    voltages.sort();
    voltages.dedup();
    let (c, thousand) = (pf.as_pf(), Decimal::ONE_THOUSAND);
    let shots = voltages
        .into_iter()
        .map(|kv| {
            let v = kv.as_kv();
            // pF kV = nC; pF kV^2 = uJ.
            let charge = c * v / thousand;
            let energy = c * v * v / Decimal::from(2) / thousand;
            ShotFigures { voltage_kv: kv, charge_uc: charge.normalize(), energy_mj: energy.normalize() }
        })
        .collect();
    let tau = (c * ohm.as_ohm() / thousand).normalize();
    ChargeFigures {
        network: format!("{pf} / {ohm}"),
        network_status: rules.network_pf.status.max(rules.network_ohm.status),
        shots,
        network_tau_ns: tau,
        bleeding: bleeding(record, standard, series),
    }
}

fn bleeding(record: &Record, standard: &Standard, series: &[BenchSeries]) -> Vec<(String, Status)> {
    let mut said = Vec::new();
    let Some(planes) = &standard.planes else { return said };
    let kohm = planes.bleeder_kohm.value;
    let interval = series.iter().map(|s| s.required.interval_s).min();
    // kohm pF = ns; five time constants leave less than 1 per cent.
    let five = |pf: Decimal| (kohm * pf * Decimal::from(5) / Decimal::ONE_THOUSAND).round_dp(0);
    let against = |us: Decimal| match interval {
        Some(interval) if us / Decimal::from(1_000_000) < interval.as_s() => {
            format!("well within the interval of {interval} if both resistors are intact")
        }
        Some(interval) => format!("longer than the interval of {interval}: wait longer"),
        None => "no interval is stated".to_owned(),
    };
    if series.iter().any(|s| s.required.application.is_indirect()) {
        let bound = planes.hcp_capacitance_pf.value;
        let us = five(bound);
        said.push((
            format!(
                "horizontal plane: {kohm} kohm and at most {bound} pF bleed to below 1 % in {us} us, {}",
                against(us)
            ),
            planes.hcp_capacitance_pf.status.max(planes.bleeder_kohm.status),
        ));
    }
    if series.iter().any(|s| s.charge_removal.is_some()) {
        let item = &record.facts.item;
        match (item.length_mm, item.width_mm) {
            (Some(length), Some(width)) => {
                let sheet = Decimal::from_parts(5, 0, 0, false, 1);
                let area = length.as_mm() * width.as_mm();
                let bound = (EPSILON_PF_PER_MM * SHEET_PERMITTIVITY * area / sheet).round_dp(0);
                let us = five(bound);
                said.push((
                    format!(
                        "item not earthed: at most {bound} pF to the plane (its base on 0.5 mm of a sheet with permittivity 10); through {kohm} kohm below 1 % in {us} us, {}; without a bleeder the charge stays",
                        against(us)
                    ),
                    Status::Practice,
                ));
            }
            _ => said.push((
                "item not earthed: its capacitance can't be bounded without its length and width".into(),
                Status::Unknown,
            )),
        }
    }
    said
}
