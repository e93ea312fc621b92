//! The summary in the making: elements and typed values go in, what XML can't hold is replaced and said.

use crate::codes;
use crate::sink::Sink;
use record::{Date, Decimal, Finding, Moment, Origin, Record, Stated};
use std::collections::BTreeSet;
use std::fmt::Display;

/// Most digits of an `xs:decimal` that every processor must accept (XML Schema 1.0 part 2, 3.2.3).
const DECIMAL_DIGITS: usize = 18;

/// An element with its attributes.
pub(crate) struct Tag {
    name: &'static str,
    attributes: Vec<(&'static str, Value)>,
}

enum Value {
    Text(String),
    Decimal(Decimal),
    Double(f64),
    Date(Date),
    Time(Moment),
}

impl Tag {
    pub(crate) fn new(name: &'static str) -> Self {
        Self { name, attributes: Vec::new() }
    }

    fn with(mut self, key: &'static str, value: Option<Value>) -> Self {
        self.attributes.extend(value.map(|value| (key, value)));
        self
    }

    /// A name, a word, a whole number, a yes or no: whatever prints as its lexical form.
    pub(crate) fn is(self, key: &'static str, value: impl Display) -> Self {
        self.with(key, Some(Value::Text(value.to_string())))
    }

    /// The same, left out where there is none.
    pub(crate) fn maybe(self, key: &'static str, value: Option<impl Display>) -> Self {
        self.with(key, value.map(|value| Value::Text(value.to_string())))
    }

    pub(crate) fn decimal(self, key: &'static str, value: Option<Decimal>) -> Self {
        self.with(key, value.map(Value::Decimal))
    }

    pub(crate) fn double(self, key: &'static str, value: Option<f64>) -> Self {
        self.with(key, value.map(Value::Double))
    }

    pub(crate) fn date(self, key: &'static str, value: Option<Date>) -> Self {
        self.with(key, value.map(Value::Date))
    }

    pub(crate) fn time(self, key: &'static str, value: Option<&Moment>) -> Self {
        self.with(key, value.cloned().map(Value::Time))
    }

    /// The words inside are this program's own, in English; those of the laboratory carry no language.
    pub(crate) fn english(self) -> Self {
        self.is("xml:lang", "en")
    }
}

/// Takes the summary element by element.
pub(crate) struct Sheet<'a, S: Sink> {
    pub(crate) record: &'a Record,
    sink: &'a mut S,
    path: Vec<&'static str>,
    findings: Vec<Finding>,
    said: BTreeSet<String>,
}

impl<'a, S: Sink> Sheet<'a, S> {
    pub(crate) fn new(record: &'a Record, sink: &'a mut S) -> Self {
        Self { record, sink, path: Vec::new(), findings: Vec::new(), said: BTreeSet::new() }
    }

    /// What was replaced or left out.
    pub(crate) fn into_findings(self) -> Vec<Finding> {
        self.findings
    }

    /// An element with whatever `inside` puts into it.
    pub(crate) fn element(&mut self, tag: Tag, inside: impl FnOnce(&mut Self)) {
        self.path.push(tag.name);
        let mut attributes = Vec::with_capacity(tag.attributes.len());
        for (key, value) in tag.attributes {
            if let Some(text) = self.lexical(key, value) {
                attributes.push((key, text));
            }
        }
        self.sink.start(tag.name, &attributes);
        inside(self);
        self.sink.end(tag.name);
        self.path.pop();
    }

    /// An element without content.
    pub(crate) fn empty(&mut self, tag: Tag) {
        self.element(tag, |_| {});
    }

    /// An element with text.
    pub(crate) fn leaf(&mut self, tag: Tag, text: &str) {
        self.element(tag, |sheet| {
            let text = sheet.clean("", text);
            sheet.sink.text(&text);
        });
    }

    /// An element with the laboratory's words, where there are any.
    pub(crate) fn words(&mut self, name: &'static str, text: Option<&String>) {
        if let Some(text) = text {
            self.leaf(Tag::new(name), text);
        }
    }

    /// A fact that may be stated or declared not applicable; nothing where nobody said.
    pub(crate) fn stated<T: Display>(&mut self, name: &'static str, fact: &Stated<T>) {
        match fact {
            Stated::Stated(value) => self.empty(Tag::new(name).is("value", value)),
            Stated::NotApplicable { reason } => self.empty(Tag::new(name).is("not-applicable", reason)),
            Stated::NotStated => {}
        }
    }

    /// A place in an original file.
    pub(crate) fn origin(&mut self, origin: &Origin) {
        let place = self.record.place(origin);
        let tag = Tag::new("origin")
            .is("file", place.file)
            .maybe("row", origin.rows.map(|rows| rows.first))
            .maybe("last-row", origin.rows.filter(|r| r.last != r.first).map(|rows| rows.last))
            .maybe("column", origin.column);
        self.empty(tag);
    }

    fn lexical(&mut self, key: &'static str, value: Value) -> Option<String> {
        let (text, sound) = match value {
            Value::Text(text) => return Some(self.clean(key, &text)),
            Value::Decimal(number) => {
                let text = number.to_string();
                let digits = text.bytes().filter(u8::is_ascii_digit).count();
                (text, digits <= DECIMAL_DIGITS)
            }
            Value::Double(number) => {
                let plain = number == 0.0 || (1e-6..1e15).contains(&number.abs());
                (if plain { number.to_string() } else { format!("{number:e}") }, number.is_finite())
            }
            Value::Date(date) => (date.to_string(), date.year() > 0),
            Value::Time(time) => {
                let sound = time.local().year() > 0
                    && match time {
                        // At most 14 hours, in whole minutes (XML Schema 1.0 part 2, 3.2.7.3).
                        Moment::WithOffset { offset_s, .. } => {
                            offset_s % 60 == 0 && offset_s.abs() <= 14 * 3600
                        }
                        Moment::Local(_) => true,
                    };
                (time.to_string(), sound)
            }
        };
        if !sound {
            let at = self.at(key);
            self.say(
                Finding::warning(
                    codes::VALUE_LEFT_OUT,
                    format!("`{text}` is beyond what XML Schema readers must accept; {at} was left out"),
                )
                .help("look at whether the value is right; the record's JSON holds it unchanged"),
            );
        }
        sound.then_some(text)
    }

    /// The text with U+FFFD for every character that XML 1.0 (clause 2.2) can't hold.
    fn clean(&mut self, key: &'static str, text: &str) -> String {
        let holds = |c: char| !matches!(c, '\0'..='\u{8}' | '\u{b}' | '\u{c}' | '\u{e}'..='\u{1f}' | '\u{fffe}' | '\u{ffff}');
        for letter in text.chars().filter(|c| !holds(*c)) {
            let at = self.at(key);
            self.say(
                Finding::warning(
                    codes::CHARACTER_REPLACED,
                    format!(
                        "U+{:04X} can't stand in XML; U+FFFD stands in its place in {at}",
                        u32::from(letter)
                    ),
                )
                .help("remove the character at its source; the record's JSON holds it unchanged"),
            );
        }
        text.chars().map(|c| if holds(c) { c } else { '\u{fffd}' }).collect()
    }

    fn at(&self, key: &str) -> String {
        let path = self.path.join("/");
        if key.is_empty() { path } else { format!("{path}/@{key}") }
    }

    /// Says it once.
    fn say(&mut self, finding: Finding) {
        if self.said.insert(finding.message.clone()) {
            self.findings.push(finding);
        }
    }
}
