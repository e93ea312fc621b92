//! Rendering a template set over a view.

use crate::calls::{Misuse, escape, register};
use crate::marks::Marked;
use crate::parts::named;
use crate::xhtml::Markup;
use crate::{Refusal, TemplateSet, Words, codes, nearest};
use handlebars::{Context, Handlebars, RenderError, RenderErrorReason, TemplateError};
use record::{Finding, Place};
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::{Arc, Mutex, PoisonError};

/// The templates of a set, understood once and rendered as often as needed.
pub struct Engine {
    hb: Handlebars<'static>,
    parts: BTreeMap<String, Part>,
    document: String,
    words: Arc<Words>,
}

impl Engine {
    /// Understands the templates of a set for a language.
    ///
    /// # Errors
    /// When the set has no such language, or a template can't be understood: with its file, line and column.
    pub fn new(set: &TemplateSet, language: &str) -> Result<Self, Refusal> {
        let words = Arc::new(set.words(language)?);
        let mut hb = Handlebars::new();
        hb.set_strict_mode(true);
        hb.set_prevent_indent(true);
        hb.register_escape_fn(escape);
        register(&mut hb, &words);
        let parts = parts(set)?;
        for (name, part) in &parts {
            hb.register_template_string(name, named(&part.marked.text))
                .map_err(|e| syntax(&parts, name, &e))?;
        }
        let document = set.manifest().document.trim_end_matches(".hbs").to_owned();
        Ok(Self { hb, parts, document, words })
    }

    /// The engine of a set that comes with the program, understood once for all papers that are made of it: that
    /// takes longer than a report.
    ///
    /// # Errors
    /// When there is no set of that name, or it has no such language.
    pub fn built_in(name: &str, language: &str) -> Result<Arc<Self>, Refusal> {
        // Whoever comes second waits for the first, which is sooner done than a second one.
        let mut kept = KEPT.lock().unwrap_or_else(PoisonError::into_inner);
        let key = (name.to_owned(), language.to_owned());
        if let Some(engine) = kept.get(&key) {
            return Ok(Arc::clone(engine));
        }
        let engine = Arc::new(Self::new(&TemplateSet::built_in(name)?, language)?);
        kept.insert(key, Arc::clone(&engine));
        Ok(engine)
    }

    /// The words that templates take theirs from.
    pub fn words(&self) -> &Words {
        &self.words
    }

    /// Renders the set's document over a view. The view is a JSON object; facts that may be absent are `null` in
    /// it, never left out, since asking for a field that isn't there is an error.
    ///
    /// # Errors
    /// When a template asks for an unknown field or word, or misuses a helper: with the template's file, line and
    /// column.
    pub fn render(&self, view: &Value) -> Result<Markup, Refusal> {
        self.render_in(&Context::from(view.clone()))
    }

    /// The same for a view that need not be copied.
    pub(crate) fn render_in(&self, view: &Context) -> Result<Markup, Refusal> {
        let text = self
            .hb
            .render_with_context(&self.document, view)
            .map_err(|e| refusal(&self.parts, &self.document, view.data(), &e))?;
        Ok(Markup {
            text,
            files: self.parts.values().map(|p| p.file.clone()).collect(),
            decimal: self.words.numbers().decimal().to_owned(),
        })
    }
}

impl std::fmt::Debug for Engine {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "Engine({}, {} parts)", self.document, self.parts.len())
    }
}

/// Engines of built-in sets by set and language. There are few of either, and neither changes.
static KEPT: Mutex<BTreeMap<(String, String), Arc<Engine>>> = Mutex::new(BTreeMap::new());

/// A template file.
struct Part {
    file: String,
    marked: Marked,
}

fn parts(set: &TemplateSet) -> Result<BTreeMap<String, Part>, Refusal> {
    let mut out = BTreeMap::new();
    let files = set.files().filter(|(path, _)| path.ends_with(".hbs"));
    for (index, (path, bytes)) in files.enumerate() {
        let text = set.text(path, bytes)?;
        if let Some(at) = text.find("{{{").or_else(|| text.find("{{&")) {
            let row = text[..at].matches('\n').count() as u64 + 1;
            let column = text[..at].rsplit('\n').next().unwrap_or("").chars().count() as u32 + 1;
            let place = Place { file: path.to_owned(), row: Some(row), column: Some(column), label: None };
            return Err(Box::new(
                Finding::error(codes::SYNTAX, "text must not pass unescaped")
                    .at(place)
                    .help("write `{{` and `}}`; use `{{lines ...}}` for text of several lines"),
            ));
        }
        let marked = Marked::new(text, index);
        out.insert(path.trim_end_matches(".hbs").to_owned(), Part { file: path.to_owned(), marked });
    }
    Ok(out)
}

fn place(parts: &BTreeMap<String, Part>, name: &str, line: usize, column: usize) -> Place {
    match parts.get(name) {
        Some(part) => Place {
            file: part.file.clone(),
            row: Some(line as u64),
            column: u32::try_from(part.marked.column(line, column)).ok(),
            label: None,
        },
        None => Place { file: format!("{name}.hbs"), row: Some(line as u64), column: None, label: None },
    }
}

fn syntax(parts: &BTreeMap<String, Part>, name: &str, error: &TemplateError) -> Refusal {
    let reason = error.reason().to_string();
    // The parser's drawing of the place starts on the second line; its last line says what it expected.
    let mut lines = reason.lines().map(str::trim);
    let first = lines.next().unwrap_or_default();
    let last = lines.next_back().map(|l| l.trim_start_matches("= ")).filter(|l| !l.is_empty());
    let mut message = first.trim_end_matches(':').to_owned();
    if let Some(last) = last {
        message = format!("{message}: {last}");
    }
    let (line, column) = error.pos().unwrap_or((1, 1));
    Box::new(
        Finding::error(codes::SYNTAX, message)
            .at(place(parts, name, line, column))
            .help("check that every `{{#...}}` has its `{{/...}}` and every quotation mark its pair"),
    )
}

fn refusal(parts: &BTreeMap<String, Part>, document: &str, view: &Value, error: &RenderError) -> Refusal {
    let name = error.template_name.as_deref().unwrap_or(document);
    let at = place(parts, name, error.line_no.unwrap_or(1), error.column_no.unwrap_or(1));
    let finding = match error.reason() {
        RenderErrorReason::MissingVariable(path) => {
            let path = path.as_deref().unwrap_or("");
            let field = path.rsplit(['.', '/']).next().unwrap_or(path).trim_matches(['[', ']']);
            let mut names = BTreeSet::new();
            keys(view, &mut names);
            let finding = Finding::error(codes::FIELD, format!("there is no field `{path}` here"));
            match nearest(field, names.iter().map(String::as_str)) {
                Some(near) if near != field => finding.help(format!("the nearest name is `{near}`")),
                Some(_) => {
                    finding.help(format!("`{field}` exists elsewhere in the view; check the path to it"))
                }
                None => finding.help("check the name"),
            }
        }
        RenderErrorReason::NestedError(inner) => match inner.downcast_ref::<Misuse>() {
            Some(misuse) => {
                let finding = Finding::error(misuse.code, &misuse.message);
                match &misuse.help {
                    Some(help) => finding.help(help),
                    None => finding.help("guard values that may be absent with `{{#if}}`"),
                }
            }
            None => Finding::error(codes::HELPER, inner.to_string()).help("see the helper's description"),
        },
        RenderErrorReason::PartialNotFound(part) => {
            let finding = Finding::error(codes::SYNTAX, format!("there is no part `{part}`"));
            match nearest(part, parts.keys().map(String::as_str)) {
                Some(near) => finding.help(format!("the nearest part is `{near}`")),
                None => finding.help(format!("add the file `{part}.hbs`")),
            }
        }
        RenderErrorReason::HelperNotFound(helper) => {
            let names = [
                "word", "num", "date", "moment", "lines", "if", "unless", "each", "with", "lookup", "eq",
                "ne", "and", "or", "not",
            ];
            let finding = Finding::error(codes::SYNTAX, format!("there is no helper `{helper}`"));
            match nearest(helper, names) {
                Some(near) => finding.help(format!("the nearest helper is `{near}`")),
                None => finding.help(format!("helpers are {}", names.join(", "))),
            }
        }
        other => Finding::error(codes::SYNTAX, other.to_string()).help("mend the template at this place"),
    };
    Box::new(finding.at(at))
}

fn keys(value: &Value, out: &mut BTreeSet<String>) {
    match value {
        Value::Object(map) => {
            for (key, inner) in map {
                out.insert(key.clone());
                keys(inner, out);
            }
        }
        // Entries of a list are alike: the first few show all their names.
        Value::Array(list) => list.iter().take(3).for_each(|inner| keys(inner, out)),
        _ => {}
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use super::*;

    #[test]
    fn papers_of_one_set_and_language_share_an_engine() {
        let first = Engine::built_in("summary", "de").unwrap();
        assert!(Arc::ptr_eq(&first, &Engine::built_in("summary", "de").unwrap()));
        assert!(!Arc::ptr_eq(&first, &Engine::built_in("summary", "en").unwrap()));
        assert_eq!(first.words().language(), "de");
        assert!(Engine::built_in("summary", "xx").is_err());
        assert!(Engine::built_in("sumary", "de").is_err());
    }
}
