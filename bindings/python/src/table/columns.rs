//! Rows of plain structs as columns, by their serde form: names, order and types are those of the core.

use serde::{
    Serialize, Serializer,
    de::{self, DeserializeOwned, Deserializer, MapAccess, Visitor},
    ser::{self, Impossible, SerializeStruct},
};

/// A column. `None` only where `nullable`.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Column {
    pub(crate) name: String,
    /// Whether a value may be absent.
    pub(crate) nullable: bool,
    pub(crate) values: Values,
}

/// The values of a column.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Values {
    Float(Vec<Option<f64>>),
    Int(Vec<Option<i64>>),
    Bool(Vec<Option<bool>>),
    Text(Vec<Option<String>>),
}

impl Values {
    pub(crate) fn len(&self) -> usize {
        match self {
            Self::Float(v) => v.len(),
            Self::Int(v) => v.len(),
            Self::Bool(v) => v.len(),
            Self::Text(v) => v.len(),
        }
    }
}

/// A row that is not flat: a table cannot hold it.
#[derive(Debug)]
pub(crate) struct NotFlat(String);

impl core::fmt::Display for NotFlat {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        f.write_str(&self.0)
    }
}

impl std::error::Error for NotFlat {}

impl ser::Error for NotFlat {
    fn custom<T: core::fmt::Display>(message: T) -> Self {
        Self(message.to_string())
    }
}

/// The rows as columns; there also where there are no rows.
pub(crate) fn of_rows<T: Serialize + DeserializeOwned>(rows: &[T]) -> Result<Vec<Column>, NotFlat> {
    let mut columns = Vec::new();
    // What is read is thrown away: only what was asked for counts.
    let _ = T::deserialize(Shape(&mut columns));
    for row in rows {
        row.serialize(Rows { columns: &mut columns, next: 0 })?;
    }
    Ok(columns)
}

/// Tells a struct's fields, and of each which type it asks for.
struct Shape<'a>(&'a mut Vec<Column>);

impl<'de> Deserializer<'de> for Shape<'_> {
    type Error = de::value::Error;

    fn deserialize_struct<V: Visitor<'de>>(
        self,
        _name: &'static str,
        fields: &'static [&'static str],
        visitor: V,
    ) -> Result<V::Value, Self::Error> {
        visitor.visit_map(Fields { columns: self.0, names: fields, next: 0 })
    }

    fn deserialize_any<V: Visitor<'de>>(self, _visitor: V) -> Result<V::Value, Self::Error> {
        Err(de::Error::custom("not a struct"))
    }

    serde::forward_to_deserialize_any! {
        bool i8 i16 i32 i64 i128 u8 u16 u32 u64 u128 f32 f64 char str string bytes byte_buf option unit unit_struct
        newtype_struct seq tuple tuple_struct map enum identifier ignored_any
    }
}

struct Fields<'a> {
    columns: &'a mut Vec<Column>,
    names: &'static [&'static str],
    next: usize,
}

impl<'de> MapAccess<'de> for Fields<'_> {
    type Error = de::value::Error;

    fn next_key_seed<K: de::DeserializeSeed<'de>>(&mut self, seed: K) -> Result<Option<K::Value>, Self::Error> {
        let Some(name) = self.names.get(self.next) else { return Ok(None) };
        self.next += 1;
        seed.deserialize(de::value::StrDeserializer::new(name)).map(Some)
    }

    fn next_value_seed<V: de::DeserializeSeed<'de>>(&mut self, seed: V) -> Result<V::Value, Self::Error> {
        let name = self.next.checked_sub(1).and_then(|i| self.names.get(i)).copied().unwrap_or_default();
        seed.deserialize(Asked { columns: self.columns, name, nullable: false })
    }
}

/// Notes which type a field asks for, and gives it a value of that type.
struct Asked<'a> {
    columns: &'a mut Vec<Column>,
    name: &'static str,
    nullable: bool,
}

impl Asked<'_> {
    fn note(self, values: Values) {
        self.columns.push(Column { name: self.name.to_owned(), nullable: self.nullable, values });
    }
}

macro_rules! asked {
    ($($method:ident $visit:ident $values:ident $value:expr;)*) => { $(
        fn $method<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Self::Error> {
            self.note(Values::$values(Vec::new()));
            visitor.$visit($value)
        }
    )* };
}

impl<'de> Deserializer<'de> for Asked<'_> {
    type Error = de::value::Error;

    asked! {
        deserialize_f64 visit_f64 Float 0.0;
        deserialize_i64 visit_i64 Int 0;
        deserialize_u32 visit_u32 Int 0;
        deserialize_u64 visit_u64 Int 0;
        deserialize_bool visit_bool Bool false;
        deserialize_str visit_str Text "";
        deserialize_string visit_str Text "";
    }

    fn deserialize_option<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Self::Error> {
        visitor.visit_some(Self { nullable: true, ..self })
    }

    fn deserialize_any<V: Visitor<'de>>(self, _visitor: V) -> Result<V::Value, Self::Error> {
        Err(de::Error::custom(format!("{}: not a number, text or truth value", self.name)))
    }

    serde::forward_to_deserialize_any! {
        i8 i16 i32 i128 u8 u16 u128 f32 char bytes byte_buf unit unit_struct newtype_struct seq tuple tuple_struct map
        struct enum identifier ignored_any
    }
}

/// Takes rows apart into the columns.
struct Rows<'a> {
    columns: &'a mut Vec<Column>,
    next: usize,
}

fn not_flat<T>(what: &str) -> Result<T, NotFlat> {
    Err(NotFlat(format!("{what} in a row")))
}

impl SerializeStruct for Rows<'_> {
    type Ok = ();
    type Error = NotFlat;

    fn serialize_field<T: Serialize + ?Sized>(&mut self, name: &'static str, value: &T) -> Result<(), NotFlat> {
        let column = self.columns.get_mut(self.next).filter(|column| column.name == name);
        self.next += 1;
        value.serialize(Cell(column.ok_or_else(|| NotFlat(format!("no column for {name}")))?))
    }

    fn end(self) -> Result<(), NotFlat> {
        Ok(())
    }
}

struct Cell<'a>(&'a mut Column);

impl Cell<'_> {
    fn wrong(&self) -> NotFlat {
        NotFlat(format!("{}: of another type than it is read as", self.0.name))
    }
}

macro_rules! no_rows {
    ($($method:ident($($argument:ty),*);)*) => { $(
        fn $method(self, $(_: $argument),*) -> Result<Self::Ok, NotFlat> { not_flat(stringify!($method)) }
    )* };
}

macro_rules! no_compounds {
    () => {
        type SerializeSeq = Impossible<(), NotFlat>;
        type SerializeTuple = Impossible<(), NotFlat>;
        type SerializeTupleStruct = Impossible<(), NotFlat>;
        type SerializeTupleVariant = Impossible<(), NotFlat>;
        type SerializeMap = Impossible<(), NotFlat>;
        type SerializeStructVariant = Impossible<(), NotFlat>;

        fn serialize_seq(self, _: Option<usize>) -> Result<Self::SerializeSeq, NotFlat> {
            not_flat("a list")
        }
        fn serialize_tuple(self, _: usize) -> Result<Self::SerializeTuple, NotFlat> {
            not_flat("a tuple")
        }
        fn serialize_tuple_struct(self, _: &'static str, _: usize) -> Result<Self::SerializeTupleStruct, NotFlat> {
            not_flat("a tuple")
        }
        fn serialize_tuple_variant(
            self,
            _: &'static str,
            _: u32,
            _: &'static str,
            _: usize,
        ) -> Result<Self::SerializeTupleVariant, NotFlat> {
            not_flat("a variant")
        }
        fn serialize_map(self, _: Option<usize>) -> Result<Self::SerializeMap, NotFlat> {
            not_flat("a map")
        }
        fn serialize_struct_variant(
            self,
            _: &'static str,
            _: u32,
            _: &'static str,
            _: usize,
        ) -> Result<Self::SerializeStructVariant, NotFlat> {
            not_flat("a variant")
        }
        fn serialize_newtype_struct<T: Serialize + ?Sized>(self, _: &'static str, value: &T) -> Result<(), NotFlat> {
            value.serialize(self)
        }
        fn serialize_newtype_variant<T: Serialize + ?Sized>(
            self,
            _: &'static str,
            _: u32,
            _: &'static str,
            _: &T,
        ) -> Result<(), NotFlat> {
            not_flat("a variant")
        }
    };
}

impl Serializer for Rows<'_> {
    type Ok = ();
    type Error = NotFlat;
    type SerializeStruct = Self;

    fn serialize_struct(self, _: &'static str, _: usize) -> Result<Self, NotFlat> {
        Ok(self)
    }

    fn serialize_some<T: Serialize + ?Sized>(self, _: &T) -> Result<(), NotFlat> {
        not_flat("an option")
    }

    no_rows! {
        serialize_bool(bool); serialize_i8(i8); serialize_i16(i16); serialize_i32(i32); serialize_i64(i64);
        serialize_u8(u8); serialize_u16(u16); serialize_u32(u32); serialize_u64(u64); serialize_f32(f32);
        serialize_f64(f64); serialize_char(char); serialize_str(&str); serialize_bytes(&[u8]); serialize_none();
        serialize_unit(); serialize_unit_struct(&'static str);
        serialize_unit_variant(&'static str, u32, &'static str);
    }
    no_compounds!();
}

impl Serializer for Cell<'_> {
    type Ok = ();
    type Error = NotFlat;
    type SerializeStruct = Impossible<(), NotFlat>;

    fn serialize_struct(self, _: &'static str, _: usize) -> Result<Self::SerializeStruct, NotFlat> {
        not_flat("a struct")
    }

    fn serialize_bool(self, value: bool) -> Result<(), NotFlat> {
        let Values::Bool(values) = &mut self.0.values else { return Err(self.wrong()) };
        values.push(Some(value));
        Ok(())
    }

    fn serialize_i64(self, value: i64) -> Result<(), NotFlat> {
        let Values::Int(values) = &mut self.0.values else { return Err(self.wrong()) };
        values.push(Some(value));
        Ok(())
    }

    fn serialize_u64(self, value: u64) -> Result<(), NotFlat> {
        match i64::try_from(value) {
            Ok(value) => self.serialize_i64(value),
            Err(_) => not_flat("a number beyond 2^63"),
        }
    }

    fn serialize_u32(self, value: u32) -> Result<(), NotFlat> {
        self.serialize_i64(i64::from(value))
    }

    fn serialize_f64(self, value: f64) -> Result<(), NotFlat> {
        let Values::Float(values) = &mut self.0.values else { return Err(self.wrong()) };
        values.push(Some(value));
        Ok(())
    }

    fn serialize_str(self, value: &str) -> Result<(), NotFlat> {
        let Values::Text(values) = &mut self.0.values else { return Err(self.wrong()) };
        values.push(Some(value.to_owned()));
        Ok(())
    }

    fn serialize_none(self) -> Result<(), NotFlat> {
        match &mut self.0.values {
            Values::Float(values) => values.push(None),
            Values::Int(values) => values.push(None),
            Values::Bool(values) => values.push(None),
            Values::Text(values) => values.push(None),
        }
        Ok(())
    }

    fn serialize_some<T: Serialize + ?Sized>(self, value: &T) -> Result<(), NotFlat> {
        value.serialize(self)
    }

    no_rows! {
        serialize_i8(i8); serialize_i16(i16); serialize_i32(i32); serialize_u8(u8); serialize_u16(u16);
        serialize_f32(f32); serialize_char(char); serialize_bytes(&[u8]); serialize_unit();
        serialize_unit_struct(&'static str); serialize_unit_variant(&'static str, u32, &'static str);
    }
    no_compounds!();
}
