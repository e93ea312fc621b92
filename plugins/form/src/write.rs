//! Makes the page.

use crate::base64::encode;
use crate::codes;
use crate::ground::ground;
use crate::page::page;
use plugin_api::{Artifact, Reported, WriteContext, WriteInput, Writer};
use record::{CodeDoc, Finding, Place};
use serde_json::{Map, Value};
use std::collections::BTreeSet;
use std::io::Read;

/// Name of the format.
const NAME: &str = "form";

/// Largest picture that is put into a page, in bytes.
const LARGEST_PICTURE: usize = 8 << 20;

/// Makes the form for the bench.
#[derive(Clone, Copy, Debug, Default)]
pub struct FormWriter;

impl Writer for FormWriter {
    fn name(&self) -> &'static str {
        NAME
    }

    fn about(&self) -> &'static str {
        "the form for the bench: one page made from facts and plan, to be filled without a network"
    }

    fn codes(&self) -> &'static [CodeDoc] {
        codes::WRITTEN
    }

    fn write(&self, input: &WriteInput<'_>, cx: &mut WriteContext) -> Result<Vec<Artifact>, Reported> {
        if input.assessment.plan.is_empty() {
            let mut finding = Finding::error(codes::NO_PLAN, "the job's plan requires no series");
            for problem in &input.assessment.plan_problems {
                finding = finding.help(problem.text.clone());
            }
            if input.standard.is_none() {
                finding = finding.help("name the standard (method.standard) and its data");
            }
            return Err(cx.refuse(finding));
        }
        let item = &input.record.facts.item;
        let title = match (&item.type_designation, &item.serial) {
            (Some(kind), Some(serial)) => format!("Bench form {kind} {serial}"),
            (Some(kind), None) => format!("Bench form {kind}"),
            _ => format!("Bench form {}", item.name.as_deref().unwrap_or(input.stem)),
        };
        let pictures = pictures(input, cx);
        let text = page(&title, &ground(input), &pictures);
        let path = format!("{}.bench.html", input.stem);
        Ok(vec![Artifact::bytes(path, "text/html", NAME, text.into_bytes())])
    }
}

/// The pictures on which points are marked, as data addresses.
fn pictures(input: &WriteInput<'_>, cx: &mut WriteContext) -> Value {
    let facts = &input.record.facts;
    let wanted: BTreeSet<&String> = facts.points.iter().filter_map(|p| p.picture.as_ref()).collect();
    let mut found = Map::new();
    for name in wanted {
        let attachment = facts.attachments.iter().find(|a| a.file == *name);
        let mut left_out = |why: String| {
            cx.say(
                Finding::warning(codes::PICTURE_LEFT_OUT, format!("the picture is not in the form: {why}"))
                    .at(Place { file: name.clone(), ..Place::default() })
                    .help("list it under [[attachments]] as a PNG or JPEG file, or go without"),
            );
        };
        let Some(id) = attachment.and_then(|a| a.source) else {
            left_out("it is not among the attachments".into());
            continue;
        };
        let mut bytes = Vec::new();
        let read = input
            .originals
            .open(id)
            .and_then(|file| file.take(LARGEST_PICTURE as u64 + 1).read_to_end(&mut bytes));
        match (read, media_type(&bytes)) {
            (Err(error), _) => left_out(error.to_string()),
            (Ok(size), _) if size > LARGEST_PICTURE => left_out("it is larger than 8 MiB".into()),
            (Ok(_), None) => left_out("it is neither PNG nor JPEG".into()),
            (Ok(_), Some(kind)) => {
                found.insert(name.clone(), format!("data:{kind};base64,{}", encode(&bytes)).into());
            }
        }
    }
    Value::Object(found)
}

/// The kind of picture by its first bytes.
pub(crate) fn media_type(bytes: &[u8]) -> Option<&'static str> {
    if bytes.starts_with(b"\x89PNG\r\n\x1a\n") {
        Some("image/png")
    } else if bytes.starts_with(&[0xFF, 0xD8, 0xFF]) {
        Some("image/jpeg")
    } else {
        None
    }
}
