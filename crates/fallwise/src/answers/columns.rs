//! Names of the columns of a row.

use serde::de::{self, Deserializer};

/// Names of the fields of a row, in their order, as it would be read: those of the columns of its table, also where that has no rows.
///
/// # Example
/// ```
/// use fallwise::answers::{RelayQuantityRow, field_names};
///
/// assert_eq!(field_names::<RelayQuantityRow>(), ["stretch", "item", "quantity", "unit", "rate", "amount"]);
/// ```
pub fn field_names<T: de::DeserializeOwned>() -> &'static [&'static str] {
    let mut names: &'static [&'static str] = &[];
    // Ends with an error once the names are told, since there is nothing to read.
    let _ = T::deserialize(FieldNames(&mut names));
    names
}

struct FieldNames<'a>(&'a mut &'static [&'static str]);

impl<'de> Deserializer<'de> for FieldNames<'_> {
    type Error = de::value::Error;

    fn deserialize_struct<V: de::Visitor<'de>>(
        self,
        _name: &'static str,
        fields: &'static [&'static str],
        visitor: V,
    ) -> Result<V::Value, Self::Error> {
        *self.0 = fields;
        self.deserialize_any(visitor)
    }

    fn deserialize_any<V: de::Visitor<'de>>(self, _visitor: V) -> Result<V::Value, Self::Error> {
        Err(de::Error::custom("names only"))
    }

    serde::forward_to_deserialize_any! {
        bool i8 i16 i32 i64 i128 u8 u16 u32 u64 u128 f32 f64 char str string bytes byte_buf option unit unit_struct
        newtype_struct seq tuple tuple_struct map enum identifier ignored_any
    }
}
