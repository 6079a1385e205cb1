//! The text of a job as a tree whose every key and value knows where it stands: the same tree from TOML and from JSON.

use core::ops::Range;
use std::{borrow::Cow, collections::BTreeSet, fmt};

use serde::{Deserialize, de};
use serde_json::value::RawValue;
use toml::de::{DeTable, DeValue};

use super::fault::Fault;
use crate::error::{plain, shown};

/// Lists and tables stand within each other at most this deep, as in the TOML reader.
const DEEPEST: usize = 80;

/// A value and the bytes of the text that it takes.
#[derive(Debug)]
pub(super) struct Node<'t> {
    pub(super) span: Range<usize>,
    pub(super) value: Value<'t>,
}

#[derive(Debug)]
pub(super) enum Value<'t> {
    Null,
    YesNo(bool),
    /// In digits, so that no reader rounds it twice.
    Number(Cow<'t, str>),
    Text(Cow<'t, str>),
    /// A date without quotes, which TOML has a kind of its own for.
    Date(String),
    List(Vec<Node<'t>>),
    Table(Vec<Entry<'t>>),
}

#[derive(Debug)]
pub(super) struct Entry<'t> {
    /// Where the key begins.
    pub(super) at: usize,
    pub(super) key: Cow<'t, str>,
    pub(super) node: Node<'t>,
}

impl Node<'_> {
    /// What stands here as one would say it; nothing for lists and tables.
    pub(super) fn said(&self) -> Option<Cow<'_, str>> {
        match &self.value {
            Value::Null => Some("null".into()),
            Value::YesNo(yes) => Some(yes.to_string().into()),
            Value::Number(text) | Value::Text(text) => Some(text.as_ref().into()),
            Value::Date(text) => Some(text.into()),
            Value::List(_) | Value::Table(_) => None,
        }
    }

    /// The node at a path of keys such as `bend[2].station`, or the last one on the way there, and whether it is the one.
    pub(super) fn find(&self, path: &str) -> (&Self, bool) {
        let mut node = self;
        for part in path.split(['.', '[']).filter(|p| !p.is_empty()) {
            let next = match (&node.value, part.strip_suffix(']')) {
                (Value::List(items), Some(index)) => index.parse::<usize>().ok().and_then(|i| items.get(i)),
                (Value::Table(entries), None) => entries.iter().find(|e| e.key == part).map(|e| &e.node),
                _ => None,
            };
            match next {
                Some(next) => node = next,
                None => return (node, false),
            }
        }
        (node, true)
    }
}

/// The tree of a TOML text.
pub(super) fn from_toml(text: &str) -> Result<Node<'_>, Fault> {
    let table = DeTable::parse(text).map_err(|error| toml_syntax(text, &error))?;
    Ok(Node { span: 0..0, value: toml_table(table.into_inner()) })
}

fn toml_table(table: DeTable<'_>) -> Value<'_> {
    let mut entries: Vec<Entry<'_>> = table
        .into_iter()
        .map(|(key, value)| {
            let span = value.span();
            let at = key.span().start;
            Entry { at, key: key.into_inner(), node: Node { span, value: toml_value(value.into_inner()) } }
        })
        .collect();
    // In the order of the text, so that the first fault in it is the one that is told.
    entries.sort_by_key(|entry| entry.at);
    Value::Table(entries)
}

fn toml_value(value: DeValue<'_>) -> Value<'_> {
    match value {
        DeValue::String(text) => Value::Text(text),
        DeValue::Integer(whole) if whole.radix() == 10 => Value::Number(whole.as_str().to_owned().into()),
        DeValue::Integer(whole) => Value::Number(match u64::from_str_radix(whole.as_str(), whole.radix()) {
            Ok(number) => number.to_string().into(),
            Err(_) => whole.as_str().to_owned().into(),
        }),
        DeValue::Float(number) => Value::Number(number.as_str().to_owned().into()),
        DeValue::Boolean(yes) => Value::YesNo(yes),
        DeValue::Datetime(date) => Value::Date(date.to_string()),
        DeValue::Array(items) => Value::List(
            items.into_iter().map(|item| Node { span: item.span(), value: toml_value(item.into_inner()) }).collect(),
        ),
        DeValue::Table(table) => toml_table(table),
    }
}

fn toml_syntax(text: &str, error: &toml::de::Error) -> Fault {
    let span = error.span().unwrap_or(0..0);
    // A word without quotes is first tried as a number, whose message would mislead.
    let word = text.get(span.clone()).filter(|w| w.starts_with(char::is_alphabetic));
    match word.filter(|_| error.message().starts_with("invalid")) {
        Some(word) => Fault::new(format!("\"{}\" is no value", shown(word)))
            .at(span.start)
            .value(word)
            .expected("text in quotes, a number, true or false"),
        None => Fault::new(plain(error.message())).at(span.start),
    }
}

/// The tree of a JSON text.
pub(super) fn from_json(text: &str) -> Result<Node<'_>, Fault> {
    let whole: &RawValue = serde_json::from_str(text).map_err(|error| {
        let message = error.to_string();
        let message = message.rsplit_once(" at line ").map_or(message.as_str(), |(message, _)| message);
        let line_start = text.split_inclusive('\n').take(error.line().saturating_sub(1)).map(str::len).sum::<usize>();
        Fault::new(plain(message)).at(line_start + error.column().saturating_sub(1))
    })?;
    json_value(text, whole, 0)
}

fn json_value<'t>(text: &'t str, raw: &'t RawValue, depth: usize) -> Result<Node<'t>, Fault> {
    let written = raw.get();
    let start = offset(text, written);
    let again = |error: &serde_json::Error| {
        let message = error.to_string();
        Fault::new(plain(message.rsplit_once(" at line ").map_or(message.as_str(), |(m, _)| m))).at(start)
    };
    if depth > DEEPEST {
        return Err(Fault::new("lists and tables stand within each other too deep").at(start));
    }
    let value = match written.bytes().next() {
        Some(b'{') => {
            let Members(members) = serde_json::from_str(written).map_err(|e| again(&e))?;
            let mut seen = BTreeSet::new();
            let mut entries = Vec::with_capacity(members.len());
            for (key, value) in members {
                let at = offset(text, key.get());
                let key = json_text(key).map_err(|e| again(&e))?;
                if !seen.insert(key.clone()) {
                    return Err(Fault::new(format!("key \"{}\" is there twice", shown(&key))).at(at));
                }
                // A member that is null is one that is not there; TOML has no such thing.
                if value.get() != "null" {
                    entries.push(Entry { at, key, node: json_value(text, value, depth + 1)? });
                }
            }
            Value::Table(entries)
        }
        Some(b'[') => {
            let items: Vec<&RawValue> = serde_json::from_str(written).map_err(|e| again(&e))?;
            Value::List(items.into_iter().map(|item| json_value(text, item, depth + 1)).collect::<Result<_, _>>()?)
        }
        Some(b'"') => Value::Text(json_text(raw).map_err(|e| again(&e))?),
        Some(b't') => Value::YesNo(true),
        Some(b'f') => Value::YesNo(false),
        Some(b'n') => Value::Null,
        _ => Value::Number(written.into()),
    };
    Ok(Node { span: start..start + written.len(), value })
}

fn json_text(raw: &RawValue) -> Result<Cow<'_, str>, serde_json::Error> {
    // Borrowed where nothing is escaped.
    match serde_json::from_str::<&str>(raw.get()) {
        Ok(text) => Ok(text.into()),
        Err(_) => serde_json::from_str::<String>(raw.get()).map(Cow::from),
    }
}

/// Where a part of the text begins in it.
fn offset(text: &str, part: &str) -> usize {
    (part.as_ptr() as usize).saturating_sub(text.as_ptr() as usize)
}

/// The members of a JSON object, in their order, unread.
struct Members<'t>(Vec<(&'t RawValue, &'t RawValue)>);

impl<'de> Deserialize<'de> for Members<'de> {
    fn deserialize<D: de::Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct InOrder;
        impl<'de> de::Visitor<'de> for InOrder {
            type Value = Members<'de>;

            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("an object")
            }

            fn visit_map<A: de::MapAccess<'de>>(self, mut map: A) -> Result<Self::Value, A::Error> {
                let mut members = Vec::new();
                while let Some(member) = map.next_entry()? {
                    members.push(member);
                }
                Ok(Members(members))
            }
        }
        deserializer.deserialize_map(InOrder)
    }
}
