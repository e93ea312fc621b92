//! The helpers that templates may call: words, numbers, dates, and conditions that refuse unknown fields.

use crate::control::visible;
use crate::numbers::Cut;
use crate::parts::{CALL, Part};
use crate::words::{Words, fill};
use crate::{codes, nearest};
use handlebars::{
    Context, Handlebars, Helper, HelperDef, HelperResult, JsonRender, Output, PathAndJson, RenderContext,
    RenderError, RenderErrorReason, Renderable, ScopedJson,
};
use serde_json::Value;
use std::borrow::Cow;
use std::fmt;
use std::io;
use std::sync::Arc;

/// A helper's complaint, with its code.
#[derive(Debug)]
pub(crate) struct Misuse {
    pub(crate) code: &'static str,
    pub(crate) message: String,
    pub(crate) help: Option<String>,
}

impl fmt::Display for Misuse {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.message)
    }
}

impl std::error::Error for Misuse {}

fn misuse(code: &'static str, message: String, help: Option<String>) -> RenderError {
    RenderErrorReason::NestedError(Box::new(Misuse { code, message, help })).into()
}

fn wrong(message: String) -> RenderError {
    misuse(codes::HELPER, message, None)
}

/// Refuses a parameter that names a field which does not exist.
pub(crate) fn known(param: &PathAndJson<'_>) -> Result<(), RenderError> {
    if param.is_value_missing() {
        return Err(RenderError::from(RenderErrorReason::MissingVariable(param.relative_path().cloned())));
    }
    Ok(())
}

fn nth<'a, 'rc>(h: &'a Helper<'rc>, i: usize) -> Result<&'a Value, RenderError> {
    let param = h.param(i).ok_or_else(|| wrong(format!("`{}` wants a value", h.name())))?;
    known(param)?;
    Ok(param.value())
}

pub(crate) fn register(hb: &mut Handlebars<'_>, words: &Arc<Words>) {
    hb.register_helper("word", Box::new(Saying(Word(Arc::clone(words)))));
    hb.register_helper("num", Box::new(Saying(Num(Arc::clone(words)))));
    hb.register_helper("date", Box::new(Saying(Date(Arc::clone(words)))));
    hb.register_helper("moment", Box::new(Saying(Moment(Arc::clone(words)))));
    hb.register_helper(CALL, Box::new(Part));
    hb.register_helper("moments", Box::new(Saying(Moments(Arc::clone(words)))));
    hb.register_helper("lines", Box::new(Setting(lines)));
    hb.register_helper("quoted", Box::new(Setting(quoted)));
    hb.register_helper("if", Box::new(Condition(true)));
    hb.register_helper("unless", Box::new(Condition(false)));
}

/// A helper that makes a text of its parameters.
trait Says {
    fn text<'a>(&'a self, h: &Helper<'_>) -> Result<Cow<'a, str>, RenderError>;
}

/// Such a helper as the template library wants it. What it says goes straight into the output; the library's own way
/// there makes two copies of it.
struct Saying<T>(T);

impl<T: Says> HelperDef for Saying<T> {
    fn call_inner<'reg: 'rc, 'rc>(
        &self,
        h: &Helper<'rc>,
        _: &'reg Handlebars<'reg>,
        _: &'rc Context,
        _: &mut RenderContext<'reg, 'rc>,
    ) -> Result<ScopedJson<'rc>, RenderError> {
        Ok(ScopedJson::Derived(Value::String(self.0.text(h)?.into_owned())))
    }

    fn call<'reg: 'rc, 'rc>(
        &self,
        h: &Helper<'rc>,
        _: &'reg Handlebars<'reg>,
        _: &'rc Context,
        rc: &mut RenderContext<'reg, 'rc>,
        out: &mut dyn Output,
    ) -> HelperResult {
        let text = self.0.text(h)?;
        // Where the helper is part of an expression, its text is escaped with that.
        if rc.is_disable_escape() {
            out.write(&text)?
        } else {
            out.write(&escape(&text))?
        }
        Ok(())
    }
}

/// `{{word "verdict" verdict}}`: the parts joined by dots are the key; `{name}` places are filled from
/// the named parameters. `capital=true` begins with a capital letter.
struct Word(Arc<Words>);

impl Says for Word {
    fn text<'a>(&'a self, h: &Helper<'_>) -> Result<Cow<'a, str>, RenderError> {
        let mut key = String::new();
        for param in h.params() {
            known(param)?;
            let part = param.value();
            match part.as_str() {
                Some(text) if !text.is_empty() => {
                    if !key.is_empty() {
                        key.push('.');
                    }
                    key.push_str(text);
                }
                _ => return Err(wrong(format!("`word` was given `{part}` as part of a key"))),
            }
        }
        let Some(words) = self.0.get(&key) else {
            let help = match self.0.near(&key) {
                Some(near) => format!("the nearest key of {} is `{near}`", self.0.file()),
                None => format!("add it to {}", self.0.file()),
            };
            return Err(misuse(codes::WORD, format!("there are no words for `{key}`"), Some(help)));
        };
        let mut values = Vec::new();
        let mut capital = false;
        for (name, value) in h.hash() {
            known(value)?;
            if *name == "capital" {
                capital = value.value() == &Value::Bool(true);
                continue;
            }
            values.push((*name, value.value().render()));
        }
        let text = if values.is_empty() && !words.contains('{') {
            Cow::Borrowed(words)
        } else {
            Cow::Owned(fill(words, &values).map_err(|why| {
                misuse(codes::WORD, format!("`{key}`: {why}"), Some(format!("see {}", self.0.file())))
            })?)
        };
        Ok(if capital { Cow::Owned(capitalised(&text)) } else { text })
    }
}

/// The same words with a capital letter in front.
pub(crate) fn capitalised(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or_else(String::new, |first| first.to_uppercase().chain(chars).collect())
}

/// `{{num value digits=3}}`, also `places=`, `sign=true`, `group=true`.
struct Num(Arc<Words>);

impl Says for Num {
    fn text<'a>(&'a self, h: &Helper<'_>) -> Result<Cow<'a, str>, RenderError> {
        let value = nth(h, 0)?;
        let text = match value {
            Value::String(text) => text.clone(),
            Value::Number(number) => number.to_string(),
            other => return Err(wrong(format!("`num` was given `{other}`, which is no number"))),
        };
        let mut cut = Cut::default();
        for (name, param) in h.hash() {
            let value = param.value();
            let count = || value.as_u64().and_then(|n| u32::try_from(n).ok()).filter(|n| *n <= 20);
            match *name {
                "digits" => cut.digits = count(),
                "places" => cut.places = count(),
                "sign" => cut.sign = value == &Value::Bool(true),
                "group" => cut.group = value == &Value::Bool(true),
                other => {
                    let near = nearest(other, ["digits", "places", "sign", "group"]);
                    let help = near.map(|n| format!("the nearest setting is `{n}`"));
                    return Err(misuse(codes::HELPER, format!("`num` has no setting `{other}`"), help));
                }
            }
        }
        match self.0.numbers().number(&text, cut) {
            Some(text) => Ok(Cow::Owned(text)),
            None => Err(wrong(format!("`num` was given `{text}`, which is no number"))),
        }
    }
}

/// `{{date value}}`
struct Date(Arc<Words>);

impl Says for Date {
    fn text<'a>(&'a self, h: &Helper<'_>) -> Result<Cow<'a, str>, RenderError> {
        let value = nth(h, 0)?;
        match value.as_str().and_then(|text| self.0.numbers().date(text)) {
            Some(text) => Ok(Cow::Owned(text)),
            None => Err(wrong(format!("`date` was given `{value}`, which is no date"))),
        }
    }
}

/// `{{moment value}}`: date and time of day, with the offset from UTC where one was written.
struct Moment(Arc<Words>);

impl Says for Moment {
    fn text<'a>(&'a self, h: &Helper<'_>) -> Result<Cow<'a, str>, RenderError> {
        let value = nth(h, 0)?;
        match value.as_str().and_then(|text| self.0.numbers().moment(text)) {
            Some(text) => Ok(Cow::Owned(text)),
            None => Err(wrong(format!("`moment` was given `{value}`, which is no date with a time"))),
        }
    }
}

/// `{{moments first last}}`: a span of time, with the date once where it lies within a day.
struct Moments(Arc<Words>);

impl Says for Moments {
    fn text<'a>(&'a self, h: &Helper<'_>) -> Result<Cow<'a, str>, RenderError> {
        let (first, last) = (nth(h, 0)?, nth(h, 1)?);
        let both = first.as_str().zip(last.as_str());
        match both.and_then(|(first, last)| self.0.numbers().moments(first, last)) {
            Some(text) => Ok(Cow::Owned(text)),
            None => Err(wrong(format!(
                "`moments` was given `{first}` and `{last}`, which are no dates with a time"
            ))),
        }
    }
}

/// A helper that sets a text of the record in marks of its own.
struct Setting(fn(&str, &mut dyn Output) -> io::Result<()>);

impl HelperDef for Setting {
    fn call<'reg: 'rc, 'rc>(
        &self,
        h: &Helper<'rc>,
        _: &'reg Handlebars<'reg>,
        _: &'rc Context,
        _: &mut RenderContext<'reg, 'rc>,
        out: &mut dyn Output,
    ) -> HelperResult {
        let value = nth(h, 0)?;
        let text = value
            .as_str()
            .ok_or_else(|| wrong(format!("`{}` was given `{value}`, which is no text", h.name())))?;
        self.0(text, out)?;
        Ok(())
    }
}

/// `{{lines text}}`: a text whose line ends are kept.
fn lines(text: &str, out: &mut dyn Output) -> io::Result<()> {
    for (i, line) in text.lines().enumerate() {
        if i > 0 {
            out.write("<br/>")?;
        }
        out.write(&escape(line))?;
    }
    Ok(())
}

/// `{{quoted text}}`: a text of the program, with what it shows between backquotes set as code.
fn quoted(text: &str, out: &mut dyn Output) -> io::Result<()> {
    let mut rest = text;
    while let Some((before, (code, after))) =
        rest.split_once('`').and_then(|(before, after)| Some((before, after.split_once('`')?)))
    {
        out.write(&escape(before))?;
        // Nothing between two of them is no code: both stand as they are.
        if code.trim().is_empty() {
            out.write(&escape(&format!("`{code}`")))?;
        } else {
            out.write(&format!("<code>{}</code>", escape(code)))?;
        }
        rest = after;
    }
    out.write(&escape(rest))
}

/// `{{#if field}}` and `{{#unless field}}`: as usual, but a field that does not exist is an error, and so
/// is never mistaken for one that is empty. Zero counts as a value.
struct Condition(bool);

impl HelperDef for Condition {
    fn call<'reg: 'rc, 'rc>(
        &self,
        h: &Helper<'rc>,
        hb: &'reg Handlebars<'reg>,
        ctx: &'rc Context,
        rc: &mut RenderContext<'reg, 'rc>,
        out: &mut dyn Output,
    ) -> HelperResult {
        let holds = match nth(h, 0)? {
            Value::Null => false,
            Value::Bool(b) => *b,
            Value::String(s) => !s.is_empty(),
            Value::Array(a) => !a.is_empty(),
            Value::Object(o) => !o.is_empty(),
            Value::Number(_) => true,
        };
        let part = if holds == self.0 { h.template() } else { h.inverse() };
        part.map_or(Ok(()), |t| t.render(hb, ctx, rc, out))
    }
}

/// Escapes text for XHTML.
pub(crate) fn escape(text: &str) -> String {
    let text = visible(text);
    let mut out = String::with_capacity(text.len() + 8);
    let mut rest = &*text;
    while let Some((before, after)) = rest.find(['&', '<', '>', '"']).and_then(|at| rest.split_at_checked(at))
    {
        out.push_str(before);
        let mut signs = after.chars();
        out.push_str(match signs.next() {
            Some('&') => "&amp;",
            Some('<') => "&lt;",
            Some('>') => "&gt;",
            _ => "&quot;",
        });
        rest = signs.as_str();
    }
    out.push_str(rest);
    out
}
