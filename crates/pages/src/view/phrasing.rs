//! Sentences of an assessment in the paper's language: the words of its file, filled with the sentence's values.

use super::wording::{Worder, put};
use assess::{Phrase, Value};

impl Worder<'_> {
    /// Several sentences as one text; none where the language lacks words for any of them.
    pub(super) fn sentences(&self, phrases: &[Phrase]) -> Option<String> {
        let all: Option<Vec<String>> = phrases.iter().map(|phrase| self.sentence(phrase)).collect();
        Some(all?.join(self.words.get("said.semicolon")?))
    }

    fn sentence(&self, phrase: &Phrase) -> Option<String> {
        let sentence = self.words.get(&format!("said.{}", phrase.saying))?;
        let values: Option<Vec<(&'static str, String)>> =
            phrase.values.iter().map(|(name, value)| Some((*name, self.value(value)?))).collect();
        put(sentence, &values?)
    }

    pub(super) fn value(&self, value: &Value) -> Option<String> {
        let joined = |list: &[Value], by: &str| {
            let all: Option<Vec<String>> = list.iter().map(|value| self.value(value)).collect();
            Some(all?.join(self.words.get(by)?))
        };
        let day = |day: &dyn std::fmt::Display| self.words.numbers().date(&day.to_string());
        match value {
            Value::Text(text) => Some(text.clone()),
            Value::Number(text) => Some(self.number(text)),
            Value::Day(of) => day(of),
            Value::Word { group, key, .. } => self.word(&format!("{group}.{key}")),
            Value::Series(label) => self.of_label(label),
            Value::Phrase(phrase) => self.sentence(phrase),
            Value::List(list) if list.iter().all(|value| matches!(value, Value::Number(_))) => {
                joined(list, "said.numbers")
            }
            Value::List(list) => joined(list, "said.comma"),
            Value::Clauses(list) => joined(list, "said.semicolon"),
            Value::Days(first, last) if first == last => day(first),
            Value::Days(first, last) => {
                put(self.words.get("said.days")?, &[("from", day(first)?), ("to", day(last)?)])
            }
            Value::NoDay => self.word("said.no-day"),
        }
    }
}
