//! Walks a JSON document and collects all that is wrong with it, each with its place.

use std::ops::RangeInclusive;

use serde_json::Value;

use crate::file::FileFault;

/// No coordinate or length (mm) is beyond a kilometre.
pub(crate) const FARTHEST: f64 = 1e6;
/// No file is longer than this (bytes).
const LONGEST_FILE: usize = 64 << 20;

/// One problem of a job or plan file.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{place}: {what}; {remedy}")]
pub struct JobFault {
    /// Where in the file, such as `parts[2].outline`, counted from 0; for a file that is no JSON
    /// the line and column.
    pub place: String,
    /// What is wrong.
    pub what: String,
    /// What to do about it.
    pub remedy: String,
}

impl JobFault {
    /// The file can't be read at all.
    pub(crate) fn of_file(fault: &FileFault) -> Self {
        let said = fault.to_string();
        let (what, remedy) = said.split_once("; ").unwrap_or((&said, "use another"));
        Self {
            place: "the whole file".to_owned(),
            what: what.to_owned(),
            remedy: remedy.to_owned(),
        }
    }
}

/// All problems found so far.
#[derive(Debug, Default)]
pub(crate) struct Faults(pub(crate) Vec<JobFault>);

impl Faults {
    pub(crate) fn add(
        &mut self,
        place: impl Into<String>,
        what: impl Into<String>,
        remedy: impl Into<String>,
    ) {
        self.0.push(JobFault { place: place.into(), what: what.into(), remedy: remedy.into() });
    }

    /// `value` if nothing was wrong.
    pub(crate) fn or<T>(self, value: Option<T>) -> Result<T, Vec<JobFault>> {
        match value {
            Some(value) if self.0.is_empty() => Ok(value),
            _ => Err(self.0),
        }
    }
}

/// The document in `text`, whose `format` is to be `format` and whose `version` 1.
pub(crate) fn document(text: &str, format: &str) -> Result<Value, JobFault> {
    let fault = |place: &str, what: String, remedy: &str| JobFault {
        place: place.to_owned(),
        what,
        remedy: remedy.to_owned(),
    };
    if text.len() > LONGEST_FILE {
        let what = format!("the file is longer than {} MB", LONGEST_FILE >> 20);
        return Err(fault("the whole file", what, "split it into several"));
    }
    let value: Value = serde_json::from_str(text.trim_start_matches('\u{feff}')).map_err(|e| {
        let place = format!("line {}, column {}", e.line(), e.column());
        fault(&place, format!("this is not JSON: {e}"), "mend it there")
    })?;
    if value.get("format").and_then(Value::as_str) != Some(format) {
        let remedy = format!("a file of this kind begins with {{\"format\": \"{format}\"");
        return Err(fault("format", format!("this is no {format}"), &remedy));
    }
    if value.get("version").and_then(Value::as_f64) != Some(1.0) {
        return Err(fault(
            "version",
            "only version 1 is known".to_owned(),
            "write \"version\": 1, or use the program that wrote the file",
        ));
    }
    if value.get("units").is_some_and(|u| u.as_str() != Some("mm")) {
        return Err(fault(
            "units",
            "lengths here are in mm".to_owned(),
            "convert them and write \"units\": \"mm\"",
        ));
    }
    Ok(value)
}

/// A value of the document and where it stands.
#[derive(Clone, Debug)]
pub(crate) struct Node<'a> {
    value: &'a Value,
    place: String,
}

impl<'a> Node<'a> {
    pub(crate) fn root(value: &'a Value) -> Self {
        Self { value, place: String::new() }
    }

    /// The value itself.
    pub(crate) fn value(&self) -> &'a Value {
        self.value
    }

    /// Where it stands.
    pub(crate) fn place(&self) -> &str {
        if self.place.is_empty() { "the file" } else { &self.place }
    }

    /// Where its `key` stands or would stand.
    pub(crate) fn place_of(&self, key: &str) -> String {
        if self.place.is_empty() { key.to_owned() } else { format!("{}.{key}", self.place) }
    }

    /// The value of `key`; `None` where it is missing or null.
    pub(crate) fn get(&self, key: &str) -> Option<Node<'a>> {
        let value = self.value.get(key).filter(|v| !v.is_null())?;
        Some(Node { value, place: self.place_of(key) })
    }

    /// Whether `key` is there and null.
    pub(crate) fn has_null(&self, key: &str) -> bool {
        self.value.get(key).is_some_and(Value::is_null)
    }

    /// The value of `key`, which must be there.
    pub(crate) fn must(&self, key: &str, faults: &mut Faults) -> Option<Node<'a>> {
        let found = self.get(key);
        if found.is_none() {
            faults.add(self.place(), format!("“{key}” is missing"), "add it");
        }
        found
    }

    /// Names every key that is not one of `known`; keys that start with `_` are left alone.
    pub(crate) fn only_keys(&self, known: &[&str], faults: &mut Faults) {
        let Some(map) = self.value.as_object() else {
            return faults.add(self.place(), "this is not a {…} object", "make it one");
        };
        for key in map.keys().filter(|k| !k.starts_with('_') && !known.contains(&k.as_str())) {
            let remedy =
                format!("use one of {}, or start it with _ to have it ignored", known.join(", "));
            faults.add(self.place_of(&shortened(key)), "this key is not known", remedy);
        }
    }

    /// The places of the keys that are none of `known`, but for those that start with `_`.
    pub(crate) fn other_keys(&self, known: &[&str]) -> Vec<String> {
        let keys = self.value.as_object().into_iter().flat_map(|map| map.keys());
        let other = keys.filter(|k| !k.starts_with('_') && !known.contains(&k.as_str()));
        other.map(|key| self.place_of(&shortened(key))).collect()
    }

    /// The members of a list.
    pub(crate) fn list(&self, faults: &mut Faults) -> Vec<Node<'a>> {
        let Some(list) = self.value.as_array() else {
            faults.add(self.place(), "this is not a list", "write it as […]");
            return Vec::new();
        };
        list.iter()
            .enumerate()
            .map(|(i, value)| Node { value, place: format!("{}[{i}]", self.place) })
            .collect()
    }

    /// The list under `key`; empty where there is none.
    pub(crate) fn list_of(&self, key: &str, faults: &mut Faults) -> Vec<Node<'a>> {
        self.get(key).map_or_else(Vec::new, |n| n.list(faults))
    }

    /// A number within a range.
    pub(crate) fn number(&self, range: RangeInclusive<f64>, faults: &mut Faults) -> Option<f64> {
        let number = self.value.as_f64().filter(|n| range.contains(n));
        if number.is_none() {
            let what = format!("{} will not do", shortened(&self.value.to_string()));
            let remedy = format!("write a number from {} to {}", range.start(), range.end());
            faults.add(self.place(), what, remedy);
        }
        number
    }

    /// A whole number within a range.
    pub(crate) fn whole(&self, range: RangeInclusive<usize>, faults: &mut Faults) -> Option<usize> {
        // 3.0 counts as 3.
        let number = self.value.as_f64().filter(|n| n.fract() == 0.0 && *n >= 0.0);
        let number = number.map(|n| n as usize).filter(|n| range.contains(n));
        if number.is_none() {
            let what = format!("{} will not do", shortened(&self.value.to_string()));
            let remedy = format!("write a whole number from {} to {}", range.start(), range.end());
            faults.add(self.place(), what, remedy);
        }
        number
    }

    /// A text that is not blank.
    pub(crate) fn text(&self, faults: &mut Faults) -> Option<&'a str> {
        let text = self.as_text().filter(|t| !t.trim().is_empty());
        if text.is_none() {
            faults.add(self.place(), "this is not a text", "write it as \"…\"");
        }
        text
    }

    /// The text, if it is one.
    pub(crate) fn as_text(&self) -> Option<&'a str> {
        self.value.as_str()
    }

    /// Whether it is a list.
    pub(crate) fn is_list(&self) -> bool {
        self.value.is_array()
    }

    /// True or false.
    pub(crate) fn flag(&self, faults: &mut Faults) -> Option<bool> {
        let flag = self.value.as_bool();
        if flag.is_none() {
            faults.add(self.place(), "this is neither true nor false", "write true or false");
        }
        flag
    }

    /// The flag under `key`; false where there is none.
    pub(crate) fn flag_of(&self, key: &str, faults: &mut Faults) -> bool {
        self.get(key).and_then(|n| n.flag(faults)).unwrap_or(false)
    }

    /// Numbers within a range; `None` unless there are `count` of them.
    pub(crate) fn numbers<const N: usize>(
        &self,
        range: RangeInclusive<f64>,
        faults: &mut Faults,
    ) -> Option<[f64; N]> {
        // Without a list of nodes: outlines have many points.
        let list = self.value.as_array().filter(|l| l.len() == N);
        let Some(list) = list else {
            let what = format!("{} will not do", shortened(&self.value.to_string()));
            faults.add(self.place(), what, format!("write [{}]", ["number"; N].join(", ")));
            return None;
        };
        let mut numbers = [0.0; N];
        for (number, value) in numbers.iter_mut().zip(list) {
            *number = Node { value, place: self.place.clone() }.number(range.clone(), faults)?;
        }
        Some(numbers)
    }
}

/// At most 40 letters of a text, for error lines.
fn shortened(text: &str) -> String {
    match text.char_indices().nth(40) {
        Some((end, _)) => format!("{}…", &text[..end]),
        None => text.to_owned(),
    }
}
