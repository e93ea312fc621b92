//! `plan`: the test plan of a job, of a standard alone, or what is owed for another standard.

use super::standards;
use crate::arguments::Plan;
use crate::exit::{CommandError, CommandResult, Exit};
use crate::plugins::plugins;
use crate::render::{Output, plan as render};
use assess::bench_plan::{HandWork, bench_plan};
use assess::{Other, owed};
use host::{ReadSettings, Standards, find_jobs, read_job};
use record::{
    Application, Arrangement, Draft, Facts, Millimetres, Ohms, Picofarads, Point, PointId, Record, Seconds,
    Stated,
};
use std::path::Path;

pub(crate) fn run(given: &Plan, output: &Output) -> CommandResult {
    let standards = standards::at_hand(&given.standards)?;
    let hand = hand_work(given)?;
    let (record, name) = match given.owed.as_ref().or(given.job.as_ref()) {
        Some(path) => match read(path, output)? {
            Some(found) => found,
            None => return Ok(Exit::DataErrors),
        },
        None => (from_arguments(given, &standards)?, "plan".to_owned()),
    };
    let mut record = record;
    if let Some(network) = &given.network {
        let (pf, ohm) = parse_network(network)?;
        record.facts.plan.network_pf = Some(pf);
        record.facts.plan.network_ohm = Some(ohm);
    }
    let id = given.standard.as_deref().or(record.facts.method.standard.as_deref());
    let Some(id) = id else {
        return Err(CommandError::Usage(
            "the job names no standard (method.standard): give --standard ID".into(),
        ));
    };
    let standard = &standards::find(&standards, id)?.standard;
    if given.owed.is_some() {
        let other = Other { level: given.level.clone(), accepted: given.accept.clone() };
        let owed = owed(&record, standard, &other, hand);
        let text = if given.json {
            format!("{:#}\n", render::owed_json(&owed, standard))
        } else if given.csv {
            render::csv(&owed.plan)
        } else {
            render::owed(&name, &record, &owed, standard)
        };
        output.print(&text)?;
        return Ok(Exit::Done);
    }
    if let Some(level) = &given.level {
        let plan = &mut record.facts.plan;
        plan.level = Some(level.clone());
        for list in [&mut plan.contact_kv, &mut plan.air_kv, &mut plan.indirect_kv] {
            list.clear();
        }
    }
    let plan = bench_plan(&record, standard, hand);
    let text = if given.json {
        format!("{:#}\n", render::json(&plan, standard))
    } else if given.csv {
        render::csv(&plan)
    } else {
        render::full(&name, &record, &plan, standard)
    };
    output.print(&text)?;
    Ok(if plan.problems.is_empty() { Exit::Done } else { Exit::DataErrors })
}

/// Reads the one job of a path.
fn read(path: &Path, output: &Output) -> Result<Option<(Record, String)>, CommandError> {
    let jobs = find_jobs(&[path.to_path_buf()])?;
    let [job] = jobs.as_slice() else {
        return Err(CommandError::Usage(format!("{} jobs are there: name one", jobs.len())));
    };
    let read = read_job(&plugins(), job, &ReadSettings::default());
    output.findings(None, &read.findings);
    Ok(read.record.map(|record| (record, read.name)))
}

fn hand_work(given: &Plan) -> Result<HandWork, CommandError> {
    let mut hand = HandWork::default();
    for setting in &given.hand {
        let bad = || {
            CommandError::Usage(format!(
                "`{setting}`: write tip=60, setting=10, point=20, plane=120, approach=3, charge=3 or look=15"
            ))
        };
        let (key, value) = setting.split_once('=').ok_or_else(bad)?;
        let seconds = Seconds::parse(value.trim()).map_err(|_| bad())?.as_s();
        let slot = match key.trim() {
            "tip" => &mut hand.tip_s,
            "setting" => &mut hand.setting_s,
            "point" => &mut hand.point_s,
            "plane" => &mut hand.plane_s,
            "approach" => &mut hand.approach_s,
            "charge" => &mut hand.charge_removal_s,
            "look" => &mut hand.look_s,
            _ => return Err(bad()),
        };
        *slot = seconds;
    }
    Ok(hand)
}

fn parse_network(text: &str) -> Result<(Picofarads, Ohms), CommandError> {
    let bad = || CommandError::Usage(format!("`{text}`: write the network as PF/OHM, such as 150/330"));
    let (pf, ohm) = text.split_once('/').ok_or_else(bad)?;
    Ok((Picofarads::parse(pf.trim()).map_err(|_| bad())?, Ohms::parse(ohm.trim()).map_err(|_| bad())?))
}

/// A record that holds nothing but the plan that the arguments describe.
fn from_arguments(given: &Plan, standards: &Standards) -> Result<Record, CommandError> {
    let mut facts = Facts::default();
    let id = given.standard.clone().unwrap_or_default();
    let standard = &standards::find(standards, &id)?.standard;
    facts.method.standard = Some(id);
    facts.plan.level = given.level.clone();
    facts.plan.polarity = given.polarity.parse().ok();
    if facts.plan.polarity != Some(record::PolarityRule::Both) {
        facts.plan.polarity_basis = Some("chosen on the command line".into());
    }
    facts.item.earthed = Stated::Stated(!given.unearthed);
    facts.item.arrangement =
        Some(if given.floor_standing { Arrangement::FloorStanding } else { Arrangement::TableTop });
    if let Some(size) = &given.size {
        let bad = || {
            CommandError::Usage(format!("`{size}`: write length x width x height in mm, such as 180x120x65"))
        };
        let sides: Vec<Millimetres> = size
            .split(['x', 'X'])
            .map(|side| Millimetres::parse(side.trim()).map_err(|_| bad()))
            .collect::<Result<_, _>>()?;
        let [length, width, height] = sides.as_slice() else { return Err(bad()) };
        facts.item.length_mm = Some(*length);
        facts.item.width_mm = Some(*width);
        facts.item.height_mm = Some(*height);
    }
    let mut point = |name: String, application: Application| {
        if let Some(id) = PointId::new(&name) {
            facts.points.push(Point {
                id,
                description: None,
                applications: vec![application],
                reason: None,
                excluded: None,
                picture: None,
                mark: None,
            });
        }
    };
    let has = |pick: fn(&assess::standard::Level) -> bool| {
        standard.levels.iter().any(|l| l.open.is_some() || pick(l))
    };
    if has(|l| l.contact_kv.is_some()) {
        for number in 1..=given.contact_points {
            point(format!("C{number}"), Application::Contact);
        }
    }
    if has(|l| l.air_kv.is_some()) {
        for number in 1..=given.air_points {
            point(format!("A{number}"), Application::Air);
        }
    }
    if standard.planes.is_some() && !given.no_planes {
        if !given.floor_standing {
            point("HCP".into(), Application::Hcp);
        }
        for face in ["front", "right", "rear", "left"] {
            point(format!("VCP-{face}"), Application::Vcp);
        }
    }
    record::check(Draft { facts, ..Draft::default() }).map_err(CommandError::Findings)
}
