//! Sentences of an assessment in the paper's language: the words of its file, filled with the sentence's values.

use super::named::unit;
use super::wording::{Worder, put};
use assess::{Phrase, Value};

impl Worder<'_> {
    /// Several sentences as one text; none where the language lacks words for any of them.
    pub(super) fn sentences(&self, phrases: &[Phrase]) -> Option<String> {
        let all: Option<Vec<String>> = phrases.iter().map(|phrase| self.sentence(phrase)).collect();
        Some(all?.join(self.joint("said.semicolon", "; ")?))
    }

    fn sentence(&self, phrase: &Phrase) -> Option<String> {
        let sentence = if self.english() {
            phrase.pattern
        } else {
            self.words.get(&format!("said.{}", phrase.saying))?
        };
        let value = |name: &str, value: &Value| match value {
            Value::Text(text) if name == "unit" => Some(unit(text).to_owned()),
            value => self.value(value),
        };
        let values: Option<Vec<(&'static str, String)>> =
            phrase.values.iter().map(|(name, of)| Some((*name, value(name, of)?))).collect();
        put(sentence, &values?)
    }

    /// Whether the paper is in the language that the assessment's own words are in.
    pub(super) fn english(&self) -> bool {
        self.words.language() == "en"
    }

    /// What stands between the parts of a list.
    fn joint<'a>(&'a self, key: &str, english: &'a str) -> Option<&'a str> {
        if self.english() { Some(english) } else { self.words.get(key) }
    }

    pub(super) fn value(&self, value: &Value) -> Option<String> {
        let joined = |list: &[Value], by: &str, english: &str| {
            let all: Option<Vec<String>> = list.iter().map(|value| self.value(value)).collect();
            Some(all?.join(self.joint(by, english)?))
        };
        let day = |day: &dyn std::fmt::Display| self.words.numbers().date(&day.to_string());
        match value {
            Value::Text(text) => Some(text.clone()),
            Value::Number(text) => Some(self.number(text)),
            Value::Day(of) => day(of),
            // A paper says of what a status is one; in the assessment the word stands alone.
            Value::Word { group, english, .. } if self.english() && *group != "status" => {
                Some(english.clone())
            }
            Value::Word { group, key, .. } => self.word(&format!("{group}.{key}")),
            Value::Series(label) if self.english() => Some(label.clone()),
            Value::Series(label) => self.of_label(label),
            Value::Phrase(phrase) => self.sentence(phrase),
            Value::List(list) if list.iter().all(|value| matches!(value, Value::Number(_))) => {
                joined(list, "said.numbers", ", ")
            }
            Value::List(list) => joined(list, "said.comma", ", "),
            Value::Clauses(list) => joined(list, "said.semicolon", "; "),
            Value::Days(first, last) if first == last => day(first),
            Value::Days(first, last) => {
                put(self.joint("said.days", "{from} to {to}")?, &[("from", day(first)?), ("to", day(last)?)])
            }
            Value::NoDay if self.english() => Some("the test day".to_owned()),
            Value::NoDay => self.word("said.no-day"),
        }
    }
}
