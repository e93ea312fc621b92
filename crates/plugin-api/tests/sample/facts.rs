//! Made-up facts of a job; every field is filled from what is drawn.

use super::draw::Draw;
use record::*;

pub(crate) fn facts(d: &mut Draw<'_>, sources: &[SourceFile]) -> Facts {
    let modes = d.list(|d| Mode { id: d.name(ModeId::new), description: d.some_text() });
    let functions = d.list(|d| Function {
        id: d.name(FunctionId::new),
        description: d.some_text(),
        monitored_by: d.some_text(),
        allowed_loss: d.some_text(),
    });
    let states = d.list(|d| ItemState {
        id: d.name(StateId::new),
        description: d.some_text(),
        reason: d.some_text(),
        since: d.some_moment(),
        by: d.some_text(),
    });
    let equipment = d.list(equipment);
    let mode_ids: Vec<ModeId> = modes.iter().map(|m| m.id.clone()).collect();
    let function_ids: Vec<FunctionId> = functions.iter().map(|f| f.id.clone()).collect();
    let state_ids: Vec<StateId> = states.iter().map(|s| s.id.clone()).collect();
    let equipment_ids: Vec<EquipmentId> = equipment.iter().map(|e| e.id.clone()).collect();
    let plan = plan(d, &mode_ids, &state_ids);
    Facts {
        invented: d.some_text(),
        report: ReportIdentity {
            title: d.some_text(),
            number: d.some_text(),
            revision: d.some_text(),
            amends: d.some_text(),
            amends_pack: d.some_text(),
            amendment_reason: d.some_text(),
            state: d.maybe(|d| d.one_of(IssueState::ALL)),
            issued_on: d.some_date(),
        },
        laboratory: Laboratory {
            name: d.some_text(),
            address: d.some_text(),
            place_of_work: d.some_text(),
            accreditation: d.some_text(),
        },
        client: Client { name: d.some_text(), contact: d.some_text() },
        references: d.list(|d| ExternalReference {
            kind: d.text(),
            value: d.text(),
            revision: d.some_text(),
            belongs_to: d.some_text(),
        }),
        receipt: Receipt { received_on: d.some_date(), condition: d.some_text() },
        work_started: d.some_date(),
        work_ended: d.some_date(),
        supplied: d.list(|d| Supplied { fact: d.text(), by: d.one_of(Supplier::ALL), remark: d.some_text() }),
        external_providers: d.list(|d| ExternalProvider { name: d.text(), what: d.some_text() }),
        decision_rule: DecisionRule {
            rule: d.some_text(),
            agreed_with: d.some_text(),
            agreed_on: d.some_date(),
        },
        accreditation_scope: d.list(|d| AccreditationScope {
            method: d.text(),
            inside: d.maybe(Draw::yes),
            remark: d.some_text(),
        }),
        test_plan: TestPlanIdentity {
            number: d.some_text(),
            revision: d.some_text(),
            dated: d.some_date(),
            owner: d.some_text(),
        },
        item: item(d),
        associated: d.list(|d| AssociatedEquipment {
            name: d.text(),
            serial: d.some_text(),
            purpose: d.some_text(),
        }),
        modes,
        functions,
        demands: d.list(|d| Demand {
            function: d.maybe(|d| d.some_name(FunctionId::new, &function_ids)),
            mode: d.maybe(|d| d.some_name(ModeId::new, &mode_ids)),
            application: d.maybe(|d| d.one_of(Application::ALL)),
            from_kv: d.some_quantity(Kilovolts::from_kv),
            to_kv: d.some_quantity(Kilovolts::from_kv),
            accepted: d.list(|d| if d.yes() { "B".to_owned() } else { d.text() }),
            basis: d.some_text(),
        }),
        method: Method {
            standard: d.maybe(|d| if d.yes() { "iec-61000-4-2-ed2".to_owned() } else { d.text() }),
            product_standard: d.some_text(),
            deviations: d.list(|d| Deviation {
                what: d.text(),
                reason: d.some_text(),
                clause: d.some_text(),
            }),
            procedure: d.some_text(),
        },
        plan,
        people: d.list(|d| Person {
            name: d.text(),
            part: d.one_of(PartPlayed::ALL),
            position: d.some_text(),
            on: d.some_date(),
            key: d.maybe(|d| d.key()),
        }),
        generator: Generator {
            equipment: d.maybe(|d| d.some_name(EquipmentId::new, &equipment_ids)),
            network_pf: d.some_quantity(Picofarads::from_pf),
            network_ohm: d.some_quantity(Ohms::from_ohm),
            contact_tip: d.maybe(|d| d.one_of(Tip::ALL)),
            air_tip: d.maybe(|d| d.one_of(Tip::ALL)),
            return_cable: d.some_text(),
        },
        waveform_uncertainty: WaveformUncertainty {
            figures: d.list(|d| FigureUncertainty {
                figure: d.one_of(WaveformFigure::ALL),
                time_ns: d.maybe(Draw::decimal),
                unit: d.one_of(UncertaintyUnit::ALL),
                expanded: d.maybe(Draw::decimal),
                k: d.maybe(Draw::decimal),
                coverage: d.maybe(Draw::decimal),
                contributions: d.list(|d| UncertaintyContribution {
                    what: d.text(),
                    kind: d.one_of(ContributionKind::ALL),
                    value: d.decimal(),
                    k: d.maybe(Draw::decimal),
                    readings: d.maybe(Draw::whole),
                    dof: d.maybe(Draw::decimal),
                    sensitivity: d.maybe(Draw::decimal),
                }),
                document: d.some_text(),
            }),
            rule: d.maybe(|d| d.one_of(WaveformRule::ALL)),
            guard_band: d.maybe(Draw::decimal),
        },
        equipment,
        climate: d.list(|d| ClimateReading {
            at: d.some_moment(),
            temperature_c: d.some_quantity(Celsius::from_celsius),
            humidity_percent: d.some_quantity(Percent::from_percent),
            pressure_hpa: d.some_quantity(Hectopascals::from_hpa),
            instrument: d.some_text(),
        }),
        setup_checks: d.list(setup_check),
        charge_removal: d.stated(|d| ChargeRemoval { method: d.text() }),
        points: d.list(point),
        attachments: d.list(|d| Attachment {
            file: d.text(),
            kind: d.maybe(|d| d.one_of(AttachmentKind::ALL)),
            caption: d.some_text(),
            source: d.maybe(|d| d.source_id(sources)),
        }),
        opinions: d.list(|d| Opinion { text: d.text(), by: d.text(), basis: d.some_text() }),
        judgements: d.list(|d| Judgement {
            concerns: d.text(),
            verdict: d.maybe(|d| d.one_of(JudgedVerdict::ALL)),
            by: d.text(),
            at: d.some_moment(),
            why: d.text(),
        }),
        rulings: d.list(|d| RowRuling {
            file: d.text(),
            row: d.row(),
            by: d.text(),
            at: d.some_moment(),
            ruling: d.text(),
        }),
        partial_plan_justifications: d.list(|d| PartialPlanJustification {
            state: d.some_name(StateId::new, &state_ids),
            by: d.text(),
            why: d.text(),
        }),
        states,
    }
}

fn plan(d: &mut Draw<'_>, modes: &[ModeId], states: &[StateId]) -> Plan {
    Plan {
        network_pf: d.some_quantity(Picofarads::from_pf),
        network_ohm: d.some_quantity(Ohms::from_ohm),
        level: d.maybe(|d| if d.yes() { "4".to_owned() } else { d.text() }),
        contact_kv: d.list(|d| d.quantity(Kilovolts::from_kv)),
        air_kv: d.list(|d| d.quantity(Kilovolts::from_kv)),
        indirect_kv: d.list(|d| d.quantity(Kilovolts::from_kv)),
        polarity: d.maybe(|d| d.one_of(PolarityRule::ALL)),
        polarity_basis: d.some_text(),
        discharges: d.maybe(Draw::whole),
        interval_s: d.some_quantity(Seconds::from_s),
        modes: d.list(|d| d.some_name(ModeId::new, modes)),
        chosen_by: d.some_text(),
        // A state that the job does not describe is refused by the check.
        judged_state: d.maybe(|d| (!states.is_empty()).then(|| d.one_of(states))).flatten(),
    }
}

fn item(d: &mut Draw<'_>) -> Item {
    Item {
        name: d.some_text(),
        type_designation: d.some_text(),
        maker: d.some_text(),
        serial: d.some_text(),
        hardware_version: d.some_text(),
        firmware_version: d.some_text(),
        supply: d.some_text(),
        arrangement: d.maybe(|d| d.one_of(Arrangement::ALL)),
        earthed: d.stated(Draw::yes),
        earthing: d.some_text(),
        length_mm: d.some_quantity(Millimetres::from_mm),
        width_mm: d.some_quantity(Millimetres::from_mm),
        height_mm: d.some_quantity(Millimetres::from_mm),
        configuration: d.some_text(),
        conditions_of_use: d.some_text(),
    }
}

fn equipment(d: &mut Draw<'_>) -> Equipment {
    Equipment {
        id: d.name(EquipmentId::new),
        role: d.maybe(|d| d.one_of(EquipmentRole::ALL)),
        name: d.some_text(),
        serial: d.some_text(),
        firmware_version: d.some_text(),
        calibrated_on: d.some_date(),
        calibration_due: d.some_date(),
        certificate: d.some_text(),
        calibrated_by: d.some_text(),
        accredited: d.maybe(Draw::yes),
        in_tolerance: d.maybe(Draw::yes),
        transfer_v_per_a: d.some_quantity(|n| VoltsPerAmpere::from_v_per_a(above_one(n))),
        attenuation_db: d.some_quantity(Decibels::from_db),
        attenuation_ratio: d.some_quantity(|n| AttenuationRatio::from_ratio(above_one(n))),
        remark: d.some_text(),
    }
}

/// A number that any ratio can be.
pub(crate) fn above_one(number: Decimal) -> Decimal {
    number.abs() % Decimal::from(90) + Decimal::ONE
}

fn setup_check(d: &mut Draw<'_>) -> SetupCheck {
    SetupCheck {
        kind: d.one_of(SetupCheckKind::ALL),
        what: d.some_text(),
        reading: d.maybe(Draw::decimal),
        unit: d.some_text(),
        least: d.maybe(Draw::decimal),
        most: d.maybe(Draw::decimal),
        in_order: d.maybe(Draw::yes),
        at: d.some_moment(),
        by: d.some_text(),
    }
}

fn point(d: &mut Draw<'_>) -> Point {
    Point {
        id: d.name(PointId::new),
        description: d.some_text(),
        applications: d.list(|d| d.one_of(Application::ALL)),
        reason: d.some_text(),
        excluded: d.maybe(|d| d.maybe(Draw::text)).flatten(),
        picture: d.some_text(),
        mark: d.maybe(|d| Mark { x: d.decimal(), y: d.decimal() }),
    }
}
