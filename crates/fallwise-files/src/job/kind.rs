//! A table whose `kind` says which other keys it has: every fault with its place, and with the kind.

use fallwise::error::nearest;
use serde::{
    Deserializer,
    de::{DeserializeSeed, EnumAccess, Error, VariantAccess, Visitor},
};

use super::{
    fault::{Fault, missing},
    read::{Entries, absent},
    tree::{Entry, Node, Value},
};
use crate::error::shown;

/// The key that says which other keys a table has.
const KIND: &str = "kind";

impl<'t> Node<'t> {
    /// A table whose `kind` says which other keys it has.
    pub(super) fn of_kind<'a>(&'a self, kinds: &'static [&'static str]) -> Result<OfKind<'a, 't>, Fault> {
        let Value::Table(entries) = &self.value else {
            let found = self.said().map_or_else(|| "a list".to_owned(), |said| format!("\"{}\"", shown(&said)));
            return Err(Fault::new(format!("{found} cannot stand here")).expected("a table"));
        };
        let Some(kind) = entries.iter().find(|e| e.key == KIND) else {
            // A slip in that very key.
            if let Some(entry) = entries.iter().find(|e| nearest(&e.key, [KIND]).is_some()) {
                return Err(Fault::unknown_field(&entry.key, &[KIND]).at(entry.at));
            }
            return Err(missing(&[KIND]).expected(format!("one of {}, in quotes", kinds.join(", "))));
        };
        Ok(OfKind { node: self, entries, kind: &kind.node })
    }
}

/// Such a table, as serde takes a choice: the kind first, then the other keys.
pub(super) struct OfKind<'a, 't> {
    node: &'a Node<'t>,
    entries: &'a [Entry<'t>],
    kind: &'a Node<'t>,
}

impl<'de> EnumAccess<'de> for OfKind<'_, '_> {
    type Error = Fault;
    type Variant = Self;

    fn variant_seed<S: DeserializeSeed<'de>>(self, seed: S) -> Result<(S::Value, Self), Fault> {
        let kind = self.kind.here(seed.deserialize(self.kind)).map_err(|fault| fault.within(KIND))?;
        Ok((kind, self))
    }
}

impl<'de> VariantAccess<'de> for OfKind<'_, '_> {
    type Error = Fault;

    fn unit_variant(self) -> Result<(), Fault> {
        Ok(())
    }

    fn newtype_variant_seed<S: DeserializeSeed<'de>>(self, seed: S) -> Result<S::Value, Fault> {
        seed.deserialize(self)
    }

    fn tuple_variant<V: Visitor<'de>>(self, _: usize, visitor: V) -> Result<V::Value, Fault> {
        self.deserialize_any(visitor)
    }

    fn struct_variant<V: Visitor<'de>>(self, fields: &'static [&'static str], visitor: V) -> Result<V::Value, Fault> {
        self.deserialize_struct("", fields, visitor)
    }
}

/// The keys beside `kind`.
impl<'de> Deserializer<'de> for OfKind<'_, '_> {
    type Error = Fault;

    fn deserialize_any<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Fault> {
        self.node.here(visitor.visit_map(Entries::of(self.entries, Some(KIND))))
    }

    fn deserialize_struct<V: Visitor<'de>>(
        self,
        name: &'static str,
        fields: &'static [&'static str],
        visitor: V,
    ) -> Result<V::Value, Fault> {
        let kind = self.kind.said().unwrap_or_default();
        if let Some(entry) = self.entries.iter().find(|e| e.key != KIND && !fields.contains(&e.key.as_ref())) {
            let mut fault = Fault::unknown_field(&entry.key, fields).at(entry.at);
            fault.problem = format!("key \"{}\" does not go with kind \"{}\"", shown(&entry.key), shown(&kind));
            return Err(fault);
        }
        let absent = absent(name, self.entries);
        if !absent.is_empty() {
            let mut fault = missing(&absent);
            fault.problem = format!("{} for kind \"{}\"", fault.problem, shown(&kind));
            if absent.contains(&"sd") {
                fault = fault.expected(
                    "in \"sd\" the standard deviation, which says how well it is known; one of 0 holds exactly",
                );
            }
            return self.node.here(Err(fault));
        }
        self.deserialize_any(visitor)
    }

    serde::forward_to_deserialize_any! {
        bool i8 i16 i32 i64 i128 u8 u16 u32 u64 u128 f32 f64 char str string bytes byte_buf option unit unit_struct
        newtype_struct seq tuple tuple_struct map enum identifier ignored_any
    }
}
