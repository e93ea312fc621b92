//! Where two JSON values differ, place by place: for comparing records and assessments.

use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};
use std::fmt;

/// One place where two values differ.
#[derive(Clone, Debug, PartialEq)]
pub struct Difference {
    /// Where: keys and list entries from the top, `/` between them; an entry that has an `id` is named by it.
    pub path: String,
    /// What the first value has there; none where it has nothing.
    pub first: Option<Value>,
    /// What the second value has there; none where it has nothing.
    pub second: Option<Value>,
}

impl fmt::Display for Difference {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {} against {}", self.path, shown(self.first.as_ref()), shown(self.second.as_ref()))
    }
}

/// The first differences and how many there are.
#[derive(Clone, Debug, PartialEq, Default)]
pub struct Differences {
    /// The first ones, in the order of the values.
    pub list: Vec<Difference>,
    /// How many more there are.
    pub more: usize,
}

impl Differences {
    /// Whether there is none.
    pub fn is_empty(&self) -> bool {
        self.list.is_empty()
    }
}

/// A value in a message: as JSON, cut where it is long.
pub fn shown(value: Option<&Value>) -> String {
    let Some(value) = value else { return "nothing".to_owned() };
    let text = value.to_string();
    match text.char_indices().nth(120) {
        Some((end, _)) => format!("{}...", text.get(..end).unwrap_or_default()),
        None => text,
    }
}

/// Compares two values and keeps up to `most` differences.
///
/// Lists whose entries all have an `id` of their own are compared entry by entry with the same `id`, so that one entry
/// more does not make all that follow differ; other lists by position. The order of such entries counts all the same.
pub fn differences(first: &Value, second: &Value, most: usize) -> Differences {
    let mut work = Work { found: Differences::default(), most };
    work.values("", first, second);
    work.found
}

struct Work {
    found: Differences,
    most: usize,
}

impl Work {
    fn add(&mut self, path: &str, first: Option<&Value>, second: Option<&Value>) {
        if self.found.list.len() < self.most {
            self.found.list.push(Difference {
                path: if path.is_empty() { "/".to_owned() } else { path.to_owned() },
                first: first.cloned(),
                second: second.cloned(),
            });
        } else {
            self.found.more += 1;
        }
    }

    fn values(&mut self, path: &str, first: &Value, second: &Value) {
        match (first, second) {
            (Value::Object(a), Value::Object(b)) => {
                for (key, value) in a {
                    let here = format!("{path}/{key}");
                    match b.get(key) {
                        Some(other) => self.values(&here, value, other),
                        None => self.add(&here, Some(value), None),
                    }
                }
                for (key, value) in b.iter().filter(|(key, _)| !a.contains_key(*key)) {
                    self.add(&format!("{path}/{key}"), None, Some(value));
                }
            }
            (Value::Array(a), Value::Array(b)) => match (by_id(a), by_id(b)) {
                (Some(one), Some(two)) if !(a.is_empty() && b.is_empty()) => {
                    self.named(path, (a, &one), (b, &two));
                }
                _ => {
                    for at in 0..a.len().max(b.len()) {
                        let here = format!("{path}/{at}");
                        match (a.get(at), b.get(at)) {
                            (Some(x), Some(y)) => self.values(&here, x, y),
                            (x, y) => self.add(&here, x, y),
                        }
                    }
                }
            },
            (a, b) if a == b => {}
            (a, b) => self.add(path, Some(a), Some(b)),
        }
    }

    fn named(&mut self, path: &str, first: Named<'_>, second: Named<'_>) {
        let (a, one) = first;
        let (b, two) = second;
        for value in a {
            let Some(id) = id(value) else { continue };
            let here = format!("{path}/{id}");
            match two.get(id).and_then(|at| b.get(*at)) {
                Some(other) => self.values(&here, value, other),
                None => self.add(&here, Some(value), None),
            }
        }
        for value in b {
            let Some(id) = id(value) else { continue };
            if !one.contains_key(id) {
                self.add(&format!("{path}/{id}"), None, Some(value));
            }
        }
        let order = |list: &[Value], other: &BTreeMap<&str, usize>| -> Vec<String> {
            list.iter().filter_map(id).filter(|id| other.contains_key(id)).map(str::to_owned).collect()
        };
        let (before, after) = (order(a, two), order(b, one));
        if before != after {
            let order = |ids: Vec<String>| Value::Array(ids.into_iter().map(Value::String).collect());
            self.add(&format!("{path}/(order)"), Some(&order(before)), Some(&order(after)));
        }
    }
}

type Named<'v> = (&'v [Value], &'v BTreeMap<&'v str, usize>);

fn id(value: &Value) -> Option<&str> {
    value.as_object()?.get("id")?.as_str()
}

/// The place of each entry by its `id`, where every entry has one of its own.
fn by_id(list: &[Value]) -> Option<BTreeMap<&str, usize>> {
    let mut seen = BTreeSet::new();
    list.iter()
        .enumerate()
        .map(|(at, value)| id(value).filter(|id| seen.insert(*id)).map(|id| (id, at)))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    fn paths(first: Value, second: Value) -> Vec<String> {
        differences(&first, &second, 10).list.into_iter().map(|d| d.to_string()).collect()
    }

    #[test]
    fn every_place_is_named() {
        assert!(paths(json!({"a": [1, {"b": null}]}), json!({"a": [1, {"b": null}]})).is_empty());
        assert_eq!(
            paths(json!({"a": [1, 2], "c": 3}), json!({"a": [1], "d": "x"})),
            ["/a/1: 2 against nothing", "/c: 3 against nothing", "/d: nothing against \"x\""]
        );
        assert_eq!(paths(json!(1), json!("1")), ["/: 1 against \"1\""]);
        // Ten and ten point nought are different digits on paper.
        assert_eq!(paths(json!("10"), json!("10.0")), ["/: \"10\" against \"10.0\""]);
    }

    #[test]
    fn entries_with_an_id_are_compared_with_their_like() {
        let first = json!([{"id": "s1", "count": 10}, {"id": "s2", "count": 10}, {"id": "s3", "count": 10}]);
        let second = json!([{"id": "s1", "count": 10}, {"id": "s3", "count": 11}]);
        assert_eq!(
            paths(first.clone(), second),
            ["/s2: {\"id\":\"s2\",\"count\":10} against nothing", "/s3/count: 10 against 11"]
        );
        let turned = json!([{"id": "s2", "count": 10}, {"id": "s1", "count": 10}, {"id": "s3", "count": 10}]);
        assert_eq!(paths(first, turned), ["/(order): [\"s1\",\"s2\",\"s3\"] against [\"s2\",\"s1\",\"s3\"]"]);
    }

    #[test]
    fn many_differences_are_counted() {
        let list = |n: i32| Value::Array((0..50).map(|i| json!(i * n)).collect());
        let found = differences(&list(1), &list(2), 3);
        assert_eq!((found.list.len(), found.more), (3, 46));
    }
}
