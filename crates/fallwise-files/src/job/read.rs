//! From the tree to the form, by serde: every fault with the path of keys it lies at and its place.

use serde::{
    Deserializer,
    de::{DeserializeSeed, Error, IntoDeserializer, MapAccess, SeqAccess, Visitor, value::StrDeserializer},
};

use super::{
    fault::{Fault, missing},
    tie::TieForm,
    tree::{Entry, Node, Value},
};

/// Keys that must stand in a table of the form, by the name of its struct. serde would tell the first one only.
const REQUIRED: [(&str, &[&str]); 25] = [
    ("DischargeForm", &["frequency"]),
    ("OriginForm", &["longitude", "latitude"]),
    ("ReadingForm", &["station"]),
    ("AsBuiltForm", &["station", "invert"]),
    ("ReachForm", &["from", "to"]),
    ("ReversalForm", &["first", "second"]),
    ("BendForm", &["station", "deflection"]),
    ("StepForm", &["station", "rise"]),
    ("FeatureForm", &["kind", "station"]),
    ("GroundForm", &["station", "elevation"]),
    ("SurfaceForm", &["from", "to"]),
    ("KeepOutForm", &["from", "to"]),
    ("MovableForm", &["station"]),
    ("LandmarkForm", &["name", "east", "north"]),
    ("DigForm", &["station"]),
    ("InvertTie", &["station", "elevation", "sd"]),
    ("PlanTie", &["station", "east", "north", "sd"]),
    ("AzimuthTie", &["station", "azimuth", "sd"]),
    ("DepthTie", &["station", "depth"]),
    ("HeightDifferenceTie", &["from", "to", "rise", "sd"]),
    ("LengthTie", &["from", "to", "length", "sd"]),
    ("ReversalCheckTie", &["first", "second"]),
    ("LevelCheckTie", &["reading", "sd"]),
    ("WaterLevelTie", &["from", "to"]),
    ("WaterDepthTie", &["station", "depth", "sd", "edge"]),
];

impl Node<'_> {
    /// Gives a fault that has no place yet the place of this value, and what stands here.
    pub(super) fn here<T>(&self, result: Result<T, Fault>) -> Result<T, Fault> {
        result.map_err(|mut fault| {
            if fault.at.is_none() {
                fault.at = Some(self.span.start);
                fault.value = fault.value.take().or_else(|| self.said().map(std::borrow::Cow::into_owned));
            }
            fault
        })
    }
}

impl<'de> Deserializer<'de> for &Node<'_> {
    type Error = Fault;

    fn deserialize_any<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Fault> {
        self.here(match &self.value {
            Value::Null => visitor.visit_unit(),
            Value::YesNo(yes) => visitor.visit_bool(*yes),
            Value::Number(text) => number(text, visitor),
            Value::Text(text) => visitor.visit_str(text),
            Value::Date(_) => {
                Err(Fault::new("text must stand in quotes").expected("such as \"2024-05-01 10:00 +02:00\""))
            }
            Value::List(items) => visitor.visit_seq(Items { items: items.iter(), index: 0 }),
            Value::Table(entries) => visitor.visit_map(Entries::of(entries, None)),
        })
    }

    fn deserialize_option<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Fault> {
        match self.value {
            Value::Null => visitor.visit_none(),
            _ => visitor.visit_some(self),
        }
    }

    fn deserialize_newtype_struct<V: Visitor<'de>>(self, _: &'static str, visitor: V) -> Result<V::Value, Fault> {
        visitor.visit_newtype_struct(self)
    }

    fn deserialize_struct<V: Visitor<'de>>(
        self,
        name: &'static str,
        fields: &'static [&'static str],
        visitor: V,
    ) -> Result<V::Value, Fault> {
        if let Value::Table(entries) = &self.value {
            // A key with a slip in it is not known, rather than the one that was meant missing.
            if let Some(entry) = entries.iter().find(|e| !fields.contains(&e.key.as_ref())) {
                return Err(Fault::unknown_field(&entry.key, fields).at(entry.at));
            }
            let absent = absent(name, entries);
            if !absent.is_empty() {
                return self.here(Err(missing(&absent)));
            }
        }
        self.deserialize_any(visitor)
    }

    fn deserialize_enum<V: Visitor<'de>>(
        self,
        name: &'static str,
        variants: &'static [&'static str],
        visitor: V,
    ) -> Result<V::Value, Fault> {
        if name == TieForm::TABLE {
            return self.here(self.of_kind(variants).and_then(|table| visitor.visit_enum(table)));
        }
        self.here(match &self.value {
            Value::Text(word) => {
                let word: StrDeserializer<'_, Fault> = word.as_ref().into_deserializer();
                visitor.visit_enum(word)
            }
            _ => Err(Fault::new(format!("{} cannot stand here", self.said().as_deref().unwrap_or("a list or table")))
                .expected(format!("one of {}, in quotes", variants.join(", ")))),
        })
    }

    serde::forward_to_deserialize_any! {
        bool i8 i16 i32 i64 i128 u8 u16 u32 u64 u128 f32 f64 char str string bytes byte_buf unit unit_struct seq tuple
        tuple_struct map identifier ignored_any
    }
}

fn number<'de, V: Visitor<'de>>(text: &str, visitor: V) -> Result<V::Value, Fault> {
    if let Ok(whole) = text.parse::<u64>() {
        visitor.visit_u64(whole)
    } else if let Ok(whole) = text.parse::<i64>() {
        visitor.visit_i64(whole)
    } else {
        match text.parse::<f64>() {
            Ok(number) if number.is_finite() => visitor.visit_f64(number),
            _ => Err(Fault::new(format!("{} is no finite number", crate::error::shown(text)))),
        }
    }
}

struct Items<'a, 't> {
    items: core::slice::Iter<'a, Node<'t>>,
    index: usize,
}

impl<'de> SeqAccess<'de> for Items<'_, '_> {
    type Error = Fault;

    fn next_element_seed<T: DeserializeSeed<'de>>(&mut self, seed: T) -> Result<Option<T::Value>, Fault> {
        let Some(item) = self.items.next() else { return Ok(None) };
        let index = self.index;
        self.index += 1;
        item.here(seed.deserialize(item)).map(Some).map_err(|fault| fault.within(&format!("[{index}]")))
    }

    fn size_hint(&self) -> Option<usize> {
        Some(self.items.len())
    }
}

/// Keys of the form with this name that must stand in a table and do not.
pub(super) fn absent(form: &str, entries: &[Entry<'_>]) -> Vec<&'static str> {
    let required = REQUIRED.iter().find(|(name, _)| *name == form).map_or(&[][..], |(_, keys)| keys);
    required.iter().copied().filter(|key| !entries.iter().any(|e| e.key == *key)).collect()
}

pub(super) struct Entries<'a, 't> {
    left: core::slice::Iter<'a, Entry<'t>>,
    /// A key that has been read already.
    but: Option<&'static str>,
    current: Option<&'a Entry<'t>>,
}

impl<'a, 't> Entries<'a, 't> {
    pub(super) fn of(entries: &'a [Entry<'t>], but: Option<&'static str>) -> Self {
        Self { left: entries.iter(), but, current: None }
    }
}

impl<'de> MapAccess<'de> for Entries<'_, '_> {
    type Error = Fault;

    fn next_key_seed<K: DeserializeSeed<'de>>(&mut self, seed: K) -> Result<Option<K::Value>, Fault> {
        let but = self.but;
        self.current = self.left.find(|entry| but.is_none_or(|key| entry.key != key));
        let Some(entry) = self.current else { return Ok(None) };
        let key: StrDeserializer<'_, Fault> = entry.key.as_ref().into_deserializer();
        seed.deserialize(key).map(Some).map_err(|fault| fault.at(entry.at))
    }

    fn next_value_seed<V: DeserializeSeed<'de>>(&mut self, seed: V) -> Result<V::Value, Fault> {
        let Some(entry) = self.current.take() else { return Err(Fault::custom("a value without a key")) };
        entry.node.here(seed.deserialize(&entry.node)).map_err(|fault| fault.within(&crate::error::shown(&entry.key)))
    }
}
