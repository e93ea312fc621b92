//! The view of a record and its assessment that templates are rendered over, and the pictures that go with it.
//!
//! The view is JSON. Facts that nobody stated are `null`, never left out; words of closed sets (`pass`,
//! `contact`) stand as they are, for templates to look up in the language's file. Nothing is concluded here:
//! what is not in the record or the assessment is not in the view.

mod bench;
mod changed;
mod changes;
mod climate;
mod completeness;
mod criteria;
mod facts;
mod grid;
mod kept;
mod map;
mod missing;
mod named;
mod origin;
mod photo;
mod phrasing;
mod results;
mod threshold;
mod verdict;
mod waveforms;
mod wording;

use self::wording::Worder;
use crate::model::Pictures;
use crate::{Engine, Words};
use assess::standard::Standard;
use assess::{Assessment, Changes};
use handlebars::Context;
use record::{Finding, Record, SourceId};
use serde_json::{Map, Value, json};

pub use changed::Difference;

/// What a paper is made of.
#[derive(Clone, Copy, Debug)]
pub struct Subject<'a> {
    /// Facts.
    pub record: &'a Record,
    /// Conclusions.
    pub assessment: &'a Assessment,
    /// What differs from the report that this one amends, where that one is at hand.
    pub changes: Option<&'a Changes>,
    /// The standard's data.
    pub standard: Option<&'a Standard>,
    /// Name and version of the program.
    pub program: &'a str,
}

/// A view with its pictures.
#[derive(Clone, Debug)]
pub struct View {
    /// The view.
    pub value: Value,
    /// Pictures by name.
    pub pictures: Pictures,
    /// What was left out and why.
    pub notes: Vec<Finding>,
}

/// Makes the view. `open` gives the bytes of an original file, or says why it can't.
pub fn view(
    subject: &Subject<'_>,
    words: &Words,
    open: &mut dyn FnMut(SourceId) -> Result<Vec<u8>, String>,
) -> View {
    let mut pictures = Pictures::new();
    let mut notes = Vec::new();
    let mut root = Map::new();
    root.insert("program".into(), json!(subject.program));
    facts::add(subject, &mut root);
    root.insert("language".into(), json!(words.language()));
    // Sentences of the program that no language file has stay English, and are marked so.
    root.insert("translated".into(), json!(words.language() != "en"));
    root.insert("words_for_review".into(), json!(words.review().is_some()));
    verdict::add(subject, words, &mut root);
    results::add(subject, &mut root);
    origin::add(subject, &mut root);
    kept::add(subject, words, &mut root);
    grid::add(subject, words, &mut root, &mut pictures);
    map::add(subject, words, open, &mut root, &mut pictures, &mut notes);
    waveforms::add(subject, words, &mut root, &mut pictures);
    threshold::add(subject, words, &mut root, &mut pictures);
    climate::add(subject, words, &mut root, &mut pictures);
    completeness::add(subject, words, &mut root);
    criteria::add(subject, words, &mut root);
    named::add(words, &mut root);
    changes::add(subject, words, &mut root);
    missing::add(&mut root);
    if !subject.assessment.missing_identity.is_empty() {
        bench::without_verdicts(&mut root);
    }
    View { value: Value::Object(root), pictures, notes }
}

/// The facts that differ from the report that the subject amends, in words; none where that one is not at hand.
pub fn differences(subject: &Subject<'_>, words: &Words) -> Vec<Difference> {
    subject
        .changes
        .map(|changes| changed::rows(Worder { subject, words }, &changes.facts))
        .unwrap_or_default()
}

/// A document made of a subject by templates.
///
/// # Errors
/// When a template can't be used: see [`Engine::render`] and [`crate::read`].
pub fn document(
    engine: &Engine,
    subject: &Subject<'_>,
    open: &mut dyn FnMut(SourceId) -> Result<Vec<u8>, String>,
) -> Result<(crate::Document, View), crate::Refusal> {
    let mut view = view(subject, engine.words(), open);
    let mut context = Context::from(std::mem::take(&mut view.value));
    let markup = engine.render_in(&context)?;
    view.value = std::mem::take(context.data_mut());
    let document = crate::read(&markup, &view.pictures)?;
    Ok((document, view))
}

/// What is written, as text; null where nothing is.
fn text(value: Option<impl std::fmt::Display>) -> Value {
    value.map_or(Value::Null, |v| Value::String(v.to_string()))
}
