//! Points, and the maps that show where they are.

use super::facts::list;
use super::photo::photo;
use super::{Subject, text};
use crate::Words;
use crate::model::{Picture, Pictures};
use crate::plot::{COLUMN, Ground, MapPoint, Outcome, point_map};
use assess::Verdict;
use record::{Finding, Place, Point, SourceId};
use serde_json::{Map, Value, json};
use std::sync::Arc;

/// Height that a map may have, in points.
const TALLEST: f32 = 280.0;

pub(super) fn add(
    subject: &Subject<'_>,
    words: &Words,
    open: &mut dyn FnMut(SourceId) -> Result<Vec<u8>, String>,
    root: &mut Map<String, Value>,
    pictures: &mut Pictures,
    notes: &mut Vec<Finding>,
) {
    let facts = &subject.record.facts;
    let outcome = |point: &Point| {
        let judged =
            subject.assessment.headline().and_then(|s| s.points.iter().find(|p| p.name == point.id.as_str()));
        match judged {
            _ if point.excluded.is_some() => Outcome::Untested,
            // Bench data state no conformity.
            Some(_) if !subject.assessment.missing_identity.is_empty() => Outcome::Applied,
            Some(part) => match part.verdict {
                Verdict::Pass => Outcome::Pass,
                Verdict::Fail => Outcome::Fail,
                Verdict::Undetermined => Outcome::Undetermined,
            },
            None => Outcome::Untested,
        }
    };
    let word = |key: &str| words.get(key).map_or_else(|| key.to_owned(), str::to_owned);
    let outcome_word = |o: Outcome| match o {
        Outcome::Pass => "verdict.pass",
        Outcome::Fail => "verdict.fail",
        Outcome::Undetermined => "verdict.undetermined",
        Outcome::Untested => "verdict.untested",
        Outcome::Applied => "verdict.applied",
    };
    root.insert(
        "points".into(),
        list(&facts.points, |p| {
            json!({
                "id": p.id.as_str(),
                "description": p.description,
                "applications": p.applications.iter().map(|a| a.as_str()).collect::<Vec<_>>(),
                "reason": p.reason,
                "excluded": p.excluded,
                "picture": p.picture,
                "outcome": match outcome(p) {
                    Outcome::Pass => json!("pass"),
                    Outcome::Fail => json!("fail"),
                    Outcome::Undetermined => json!("undetermined"),
                    Outcome::Untested => Value::Null,
                    Outcome::Applied => json!("applied"),
                },
            })
        }),
    );
    let mut maps = Vec::new();
    let mut shown: Vec<&str> = Vec::new();
    for attachment in &facts.attachments {
        let marked: Vec<MapPoint> = facts
            .points
            .iter()
            .filter(|p| p.picture.as_deref() == Some(&attachment.file))
            .filter_map(|p| {
                let mark = p.mark?;
                let share = |d: record::Decimal| d.to_string().parse::<f64>().unwrap_or(0.5);
                let name = p.id.as_str().to_owned();
                Some(MapPoint { name, x: share(mark.x), y: share(mark.y), outcome: outcome(p) })
            })
            .collect();
        let picture =
            matches!(attachment.kind, Some(record::AttachmentKind::Photo | record::AttachmentKind::Drawing));
        let Some(source) = attachment.source.filter(|_| picture || !marked.is_empty()) else { continue };
        let photo = match open(source) {
            Ok(bytes) => {
                photo(&attachment.file, bytes).ok_or_else(|| "it is neither JPEG nor PNG".to_owned())
            }
            Err(why) => Err(why),
        };
        let name = format!("picture-{}", maps.len() + 1);
        let photo = match photo {
            Ok(photo) => photo,
            Err(why) => {
                let place = Place { file: attachment.file.clone(), ..Place::default() };
                notes.push(
                    Finding::warning(
                        crate::codes::PICTURE,
                        format!("the picture is listed but not shown: {why}"),
                    )
                    .at(place)
                    .help("give it as JPEG or PNG to have it shown"),
                );
                continue;
            }
        };
        let list: Vec<String> =
            marked.iter().map(|m| format!("{} {}", m.name, word(outcome_word(m.outcome)))).collect();
        if marked.is_empty() {
            pictures.insert(name.clone(), Picture::Photo(photo));
        } else {
            let ground = Ground::Photo(Arc::new(photo));
            let drawing = point_map(&ground, &marked, |o| word(outcome_word(o)), COLUMN, TALLEST);
            pictures.insert(name.clone(), Picture::Drawing(drawing));
        }
        shown.push(&attachment.file);
        maps.push(json!({
            "name": name,
            "file": attachment.file,
            "caption": attachment.caption,
            "kind": text(attachment.kind),
            "marks": list.join(", "),
            "marked": !marked.is_empty(),
        }));
    }
    root.insert("maps".into(), Value::Array(maps));
}
