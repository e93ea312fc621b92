//! One standard's file laid over another: what it does not say is taken from the one that it extends.
//!
//! `[rules]`, `[evidence]` and `[sources]` are joined key by key; every other table or list that the upper
//! file gives replaces the lower one's as a whole. A value taken over carries the lower standard's name in
//! its clause, so that nobody looks for it in the wrong text.

use super::codes;
use super::reader::{Layer, Text};
use record::Finding;
use std::borrow::Cow;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// Longest chain of files laid over one another.
const DEEPEST: usize = 8;
/// Keys that say who a file is; they are never taken over.
const IDENTITY: &[&str] =
    &["schema", "id", "title", "designation", "edition", "version", "extends", "laid_over", "basic_edition"];
/// Tables that are joined key by key.
const JOINED: &[&str] = &["rules", "evidence", "sources"];

/// The text of a standard's file and of those that it extends, the uppermost first, each padded so that
/// bytes count through all of them.
pub(super) struct Stack {
    pub(super) layers: Vec<Layer>,
    padded: Vec<String>,
    /// Ids of the files below the uppermost, from the one directly below.
    pub(super) below: Vec<String>,
}

impl Stack {
    /// Collects a file and those that it extends; `find` gives file name and text of a standard by its id.
    ///
    /// # Errors
    /// What is not TOML, and an `extends` that leads nowhere or in a circle.
    pub(super) fn collect(
        file: &str,
        text: &str,
        find: &dyn Fn(&str) -> Option<(String, String)>,
    ) -> Result<Self, Vec<Finding>> {
        let mut stack = Self { layers: Vec::new(), padded: Vec::new(), below: Vec::new() };
        let mut next = Some((file.to_owned(), text.to_owned()));
        while let Some((file, text)) = next.take() {
            let start = stack.layers.last().map_or(0, |layer| layer.start + layer.text.len() + 1);
            stack.padded.push(" ".repeat(start) + &text);
            stack.layers.push(Layer { file, text, start });
            let Some(padded) = stack.padded.last() else { break };
            let (document, errors) = DeTable::parse_recoverable(padded);
            let mut notes = Text::new(&stack.layers);
            for error in &errors {
                let at = error.span().map_or(start, |span| span.start);
                let help = "mend this line; https://toml.io describes the form".to_owned();
                notes.refuse(at, "", codes::BAD_TOML, error.message().replace('\n', "; "), help);
            }
            if let Some(found) = document.get_ref().get("extends") {
                let at = found.span().start;
                match found.get_ref().as_str() {
                    None => {
                        let message = "`extends` is not the id of a standard".to_owned();
                        notes.refuse(at, "extends", codes::BAD_VALUE, message, String::new());
                    }
                    Some(id)
                        if stack.below.iter().any(|known| known == id) || stack.below.len() >= DEEPEST =>
                    {
                        let message = format!("`{id}` is extended by itself, or the chain is too long");
                        notes.refuse(at, "extends", codes::CONTRADICTION, message, String::new());
                    }
                    Some(id) => match find(id) {
                        None => {
                            let message = format!("no standard at hand has the id `{id}`");
                            let help = "`fulgurite standards list` names those at hand; give others with --standards";
                            notes.refuse(at, "extends", codes::UNKNOWN_BASE, message, help.to_owned());
                        }
                        Some(below) => {
                            next = Some(below);
                            stack.below.push(id.to_owned());
                        }
                    },
                }
            }
            if !notes.is_clean() {
                return Err(notes.into_findings());
            }
        }
        Ok(stack)
    }

    /// All layers as one table.
    pub(super) fn table(&self) -> DeTable<'_> {
        let mut tables = self.padded.iter().map(|text| DeTable::parse_recoverable(text).0.into_inner());
        let Some(mut upper) = tables.next() else { return DeTable::new() };
        let mut lower: Option<DeTable<'_>> = None;
        for mut table in tables.collect::<Vec<_>>().into_iter().rev() {
            let name = format!("{} {}", text_of(&table, "designation"), text_of(&table, "edition"));
            let id = text_of(&table, "id").to_owned();
            name_sources(&mut table, &id);
            name_values(&mut table, &name, &id);
            lower = Some(match lower {
                None => table,
                Some(lower) => lay_over(lower, table),
            });
        }
        if let Some(lower) = lower {
            upper = lay_over(lower, upper);
        }
        upper
    }
}

fn text_of<'a>(table: &'a DeTable<'_>, key: &str) -> &'a str {
    table.get(key).and_then(|value| value.get_ref().as_str()).unwrap_or_default()
}

fn lay_over<'t>(lower: DeTable<'t>, upper: DeTable<'t>) -> DeTable<'t> {
    let mut whole = DeTable::new();
    for (key, value) in lower {
        if !IDENTITY.contains(&key.get_ref().as_ref()) {
            whole.insert(key, value);
        }
    }
    for (key, value) in upper {
        let joined = JOINED.contains(&key.get_ref().as_ref());
        match (whole.remove(&key), value) {
            (Some(below), value) if joined => {
                let span = value.span();
                match (below.into_inner(), value.into_inner()) {
                    (DeValue::Table(mut below), DeValue::Table(above)) => {
                        for (key, value) in above {
                            below.remove(&key);
                            below.insert(key, value);
                        }
                        whole.insert(key, Spanned::new(span, DeValue::Table(below)));
                    }
                    (_, above) => {
                        whole.insert(key, Spanned::new(span, above));
                    }
                }
            }
            (_, value) => {
                whole.insert(key, value);
            }
        }
    }
    whole
}

/// Gives the keys of `[sources]` the standard's id, so that two files may use the same word.
fn name_sources(table: &mut DeTable<'_>, id: &str) {
    let Some(sources) = table.get_mut("sources") else { return };
    let span = sources.span();
    if let DeValue::Table(old) = sources.get_mut() {
        let mut named = DeTable::new();
        for (key, value) in std::mem::take(old) {
            let name = Cow::Owned(format!("{id}: {}", key.get_ref()));
            named.insert(Spanned::new(key.span(), name), value);
        }
        *sources = Spanned::new(span, DeValue::Table(named));
    }
}

/// Writes the standard's name before every clause, and its id before every source.
fn name_values(table: &mut DeTable<'_>, name: &str, id: &str) {
    let keys: Vec<_> = table.keys().cloned().collect();
    for key in keys {
        let Some(value) = table.get_mut(&key) else { continue };
        let before = match key.get_ref().as_ref() {
            "sources" => continue,
            "clause" => name,
            "source" => id,
            _ => {
                name_in(value, name, id);
                continue;
            }
        };
        if let Some(text) = value.get_ref().as_str() {
            let named = format!("{before}: {text}");
            *value = Spanned::new(value.span(), DeValue::String(Cow::Owned(named)));
        }
    }
}

fn name_in(value: &mut Spanned<DeValue<'_>>, name: &str, id: &str) {
    match value.get_mut() {
        DeValue::Table(table) => name_values(table, name, id),
        DeValue::Array(list) => {
            for entry in list.iter_mut() {
                name_in(entry, name, id);
            }
        }
        _ => {}
    }
}

/// A table as TOML text that stands by itself.
pub(super) fn to_text(table: &DeTable<'_>, below: &[String]) -> String {
    let mut out = String::from("# One file made of several laid over one another; see laid_over.\n\n");
    for (key, value) in table {
        let key = key.get_ref();
        if key.as_ref() == "extends" {
            continue;
        }
        if !is_section(value.get_ref()) {
            out += &format!("{} = {}\n", bare(key), inline(value.get_ref()));
        }
    }
    let below: Vec<String> = below.iter().map(|id| quoted(id)).collect();
    out += &format!("laid_over = [{}]\n", below.join(", "));
    for (key, value) in table {
        match value.get_ref() {
            DeValue::Table(inner) if is_section(value.get_ref()) => {
                out += &format!("\n[{}]\n", bare(key.get_ref()));
                lines(&mut out, inner);
            }
            DeValue::Array(list) if is_section(value.get_ref()) => {
                for entry in list.iter() {
                    if let DeValue::Table(inner) = entry.get_ref() {
                        out += &format!("\n[[{}]]\n", bare(key.get_ref()));
                        lines(&mut out, inner);
                    }
                }
            }
            _ => {}
        }
    }
    out
}

fn is_section(value: &DeValue<'_>) -> bool {
    match value {
        DeValue::Table(_) => true,
        DeValue::Array(list) => {
            !list.is_empty() && list.iter().all(|entry| matches!(entry.get_ref(), DeValue::Table(_)))
        }
        _ => false,
    }
}

fn lines(out: &mut String, table: &DeTable<'_>) {
    for (key, value) in table {
        *out += &format!("{} = {}\n", bare(key.get_ref()), inline(value.get_ref()));
    }
}

fn bare(key: &str) -> String {
    let plain = !key.is_empty() && key.bytes().all(|b| b.is_ascii_alphanumeric() || b"-_".contains(&b));
    if plain { key.to_owned() } else { quoted(key) }
}

fn inline(value: &DeValue<'_>) -> String {
    match value {
        DeValue::String(text) => quoted(text),
        DeValue::Integer(number) => number.as_str().to_owned(),
        DeValue::Float(number) => number.as_str().to_owned(),
        DeValue::Boolean(value) => value.to_string(),
        DeValue::Datetime(value) => value.to_string(),
        DeValue::Array(list) => {
            let parts: Vec<String> = list.iter().map(|entry| inline(entry.get_ref())).collect();
            format!("[{}]", parts.join(", "))
        }
        DeValue::Table(table) => {
            let parts: Vec<String> = table
                .iter()
                .map(|(key, value)| format!("{} = {}", bare(key.get_ref()), inline(value.get_ref())))
                .collect();
            format!("{{ {} }}", parts.join(", "))
        }
    }
}

fn quoted(text: &str) -> String {
    let mut out = String::from("\"");
    for sign in text.chars() {
        match sign {
            '"' => out += "\\\"",
            '\\' => out += "\\\\",
            sign if sign.is_control() => out += &format!("\\u{:04X}", u32::from(sign)),
            sign => out.push(sign),
        }
    }
    out.push('"');
    out
}
