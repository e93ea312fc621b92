//! `affected`: which verdicts stand when a piece of equipment was found wrong afterwards.

use super::standards;
use crate::arguments::Affected;
use crate::exit::{CommandError, CommandResult, Exit};
use crate::plugins::plugins;
use crate::render::Output;
use crate::render::text::{BAD, CARE, FAINT, GOOD, STRONG, fold, styled};
use assess::{FoundBy, Standing};
use host::{ConvertRequest, JobStatus, convert_jobs, find_jobs};
use record::{Date, EquipmentId};
use serde_json::json;

pub(crate) fn run(given: &Affected, output: &Output) -> CommandResult {
    let usage = |text: String| CommandError::Usage(text);
    let equipment = EquipmentId::new(&given.equipment)
        .ok_or_else(|| usage(format!("`{}` is no inventory name", given.equipment)))?;
    let from: Date = given
        .from
        .parse()
        .map_err(|_| usage(format!("`{}` is no date: write it as 2026-03-12", given.from)))?;
    let found = given.found.as_deref().map(FoundBy::parse).transpose().map_err(usage)?;
    let plugins = plugins();
    let standards = standards::at_hand(&given.standards)?;
    let jobs = find_jobs(&given.inputs)?;
    let request = ConvertRequest::new(&[], std::path::Path::new(""), &standards);
    let mut broke = false;
    let (mut touched, mut untouched, mut unread) = (0, 0, Vec::new());
    let mut text = String::new();
    let mut counts = [0usize; 3];
    convert_jobs(&plugins, &jobs, &request, None, &mut |result| {
        broke |= result.status == JobStatus::PluginBroke;
        let Some(record) = &result.record else {
            output.findings(Some(result.name.as_str()), &result.findings);
            unread.push(result.name.clone());
            return;
        };
        let id = record.facts.method.standard.as_deref();
        let standard = id.and_then(|id| standards.get(id)).map(|known| &known.standard);
        let Some(of) = assess::affected(record, standard, &equipment, from, found) else {
            untouched += 1;
            return;
        };
        touched += 1;
        if let Some(count) = counts.get_mut(of.standing as usize) {
            *count += 1;
        }
        let days: Vec<String> = of.days.iter().map(Date::to_string).collect();
        let number = record.facts.report.number.as_deref();
        if given.json {
            text += &format!(
                "{}\n",
                json!({
                    "job": result.name, "report": number, "role": of.role.map(|r| r.as_str()), "days": days,
                    "before": of.before.as_str(), "standing": of.standing.as_str(),
                    "after": of.after.as_str(), "why": of.why,
                })
            );
            return;
        }
        let style = match of.standing {
            Standing::Stands => GOOD,
            Standing::Unknown => CARE,
            Standing::Falls => BAD,
        };
        let report = number.map(|n| format!(", report {n}")).unwrap_or_default();
        text += &format!(
            "{}  {}{report}\n",
            styled(style, format!("{:<8}", of.standing.as_str())),
            styled(STRONG, &result.name)
        );
        let used = if days.is_empty() {
            "days of use not stated: counted as touched".to_owned()
        } else {
            format!("used on {}", days.join(", "))
        };
        let role = of.role.map(|r| format!("{r}, ")).unwrap_or_default();
        text +=
            &format!("          {} -> {}; {}\n", of.before, of.after, styled(FAINT, format!("{role}{used}")));
        text += &format!("          {}\n", fold(&of.why, 82, "          "));
    })?;
    if !given.json {
        let news = found.map(|f| format!(", found {f}")).unwrap_or_default();
        text += &format!(
            "\n{touched} of {} records used {equipment} on or after {from}{news}: {} stand, {} unknown, {} fall\n",
            jobs.len(),
            counts[0],
            counts[1],
            counts[2],
        );
        if untouched > 0 {
            text += &format!("{}\n", styled(FAINT, format!("{untouched} not touched")));
        }
        if !unread.is_empty() {
            text += &format!(
                "{}\n",
                styled(BAD, format!("could not be read, so nothing is said about: {}", unread.join(", ")))
            );
        }
        text += &format!(
            "{}\n",
            styled(
                FAINT,
                "A verdict that falls or is unknown: tell the client, and repeat or reassess (ISO/IEC 17025:2017 7.10, from memory)."
            )
        );
    }
    output.print(&text)?;
    Ok(if broke {
        Exit::PluginBroke
    } else if unread.is_empty() {
        Exit::Done
    } else {
        Exit::DataErrors
    })
}
