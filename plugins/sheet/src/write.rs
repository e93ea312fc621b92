//! Makes the sheet.

use crate::codes;
use crate::content::content;
use crate::finish::finish;
use crate::layout::set;
use genpdf::fonts::{FontData, FontFamily};
use pages::TemplateSet;
use plugin_api::{Artifact, Reported, WriteContext, WriteInput, Writer};
use record::{CodeDoc, Finding};

/// Name of the format.
const NAME: &str = "sheet";

/// Makes the paper sheet for the bench.
#[derive(Clone, Copy, Debug, Default)]
pub struct SheetWriter;

impl Writer for SheetWriter {
    fn name(&self) -> &'static str {
        NAME
    }

    fn about(&self) -> &'static str {
        "the plan on paper, to be filled by hand where no electronics survive (PDF to print, not to keep)"
    }

    fn codes(&self) -> &'static [CodeDoc] {
        codes::ALL
    }

    fn write(&self, input: &WriteInput<'_>, cx: &mut WriteContext) -> Result<Vec<Artifact>, Reported> {
        if input.assessment.plan.is_empty() {
            let mut finding = Finding::error(codes::NO_PLAN, "the job's plan requires no series");
            for problem in &input.assessment.plan_problems {
                finding = finding.help(problem.text.clone());
            }
            return Err(cx.refuse(finding));
        }
        let templates = match TemplateSet::chosen(input.template, input.template_files) {
            Ok(set) => set,
            Err(refusal) => return Err(cx.refuse(*refusal)),
        };
        let fonts = match fonts(&templates) {
            Ok(fonts) => fonts,
            Err(why) => return Err(cx.refuse(not_set(&why))),
        };
        let content = content(input);
        let title = format!("Bench sheet {}", content.code);
        let sheet = match set(content, fonts) {
            Ok(sheet) => sheet,
            Err(error) => return Err(cx.refuse(not_set(&error.to_string()))),
        };
        if !sheet.missing.is_empty() {
            let mut finding = Finding::error(codes::GLYPH_MISSING, missing(&sheet.missing));
            for (character, text) in sheet.missing.iter().take(3) {
                finding = finding
                    .help(format!("write “{text}” without {character}, or use the form for the bench"));
            }
            return Err(cx.refuse(finding));
        }
        for text in &sheet.cut {
            cx.say(
                Finding::warning(codes::TEXT_CUT, format!("cut on the sheet: “{text}”"))
                    .help("describe it in fewer words, or have the report at hand"),
            );
        }
        let bytes = match finish(&sheet.pdf, &title, input.program) {
            Ok(bytes) => bytes,
            Err(why) => return Err(cx.refuse(not_set(&why))),
        };
        Ok(vec![Artifact::bytes(format!("{}.sheet.pdf", input.stem), "application/pdf", NAME, bytes)])
    }
}

fn not_set(why: &str) -> Finding {
    Finding::error(codes::NOT_SET, format!("the sheet can't be set: {why}"))
        .help("use the built-in template, or a TrueType font")
}

fn missing(found: &[(char, String)]) -> String {
    let named: Vec<String> = found
        .iter()
        .take(5)
        .map(|(character, _)| format!("{character} (U+{:04X})", u32::from(*character)))
        .collect();
    let more = found.len().saturating_sub(named.len());
    let more = if more > 0 { format!(" and {more} more") } else { String::new() };
    format!("the sheet's fonts have no glyph for {}{more}", named.join(", "))
}

/// The template's sans-serif faces: upright and bold, the only ones that a sheet uses.
fn fonts(set: &TemplateSet) -> Result<FontFamily<FontData>, String> {
    let [regular, _, bold, ..] = set.manifest().fonts_by_style();
    let load = |path: &str| {
        let bytes = set.shared_file(path).ok_or_else(|| format!("the template has no file {path}"))?;
        FontData::new(bytes.into_owned(), None).map_err(|error| format!("{path}: {error}"))
    };
    let (regular, bold) = (load(regular)?, load(bold)?);
    Ok(FontFamily { regular: regular.clone(), bold: bold.clone(), italic: regular, bold_italic: bold })
}
