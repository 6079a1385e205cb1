//! Tables: rows of figures and texts by the names of their columns.

use core::ffi::c_char;

use fallwise::answers::field_names;
use serde::{Serialize, de};
use serde_json::Value;

use crate::{
    border::{Out, array_out, call, free, given, out_of_range, room, some_text, text_out, unknown_name},
    error::{Failure, fw_error},
    status::fw_status,
};

/// A table: rows of figures and texts under named columns, in SI units and radians.
///
/// Names of columns are those of the rows of `result.json`, units in them; the JSON Schema of the result describes
/// each. Nothing in a table changes: it may be read by several threads at once. It stays whole when what it was made of
/// is freed.
pub struct fw_table {
    columns: Vec<Column>,
    rows: usize,
}

struct Column {
    name: &'static str,
    cells: Cells,
}

/// The cells of a column, of one kind.
enum Cells {
    /// No row has anything here.
    Absent,
    /// Numbers, whole numbers, and 0 or 1 for no and yes; NaN where absent.
    Numbers(Vec<f64>),
    /// Texts; lists and the like as JSON.
    Texts(Vec<Option<Box<str>>>),
}

impl fw_table {
    /// The table of rows that serde can tell.
    pub(crate) fn of<'a, T: Serialize + de::DeserializeOwned + 'a>(
        rows: impl IntoIterator<Item = &'a T>,
    ) -> Result<Self, Failure> {
        let mut columns: Vec<Column> =
            field_names::<T>().iter().map(|name| Column { name, cells: Cells::Absent }).collect();
        let mut count = 0;
        for row in rows {
            let Value::Object(mut cells) = serde_json::to_value(row)? else {
                return Err(Failure::new(fw_status::FW_JSON, "", "a row that is no object"));
            };
            for column in &mut columns {
                column.cells.push(count, cells.remove(column.name).unwrap_or(Value::Null));
            }
            count += 1;
        }
        Ok(Self { columns, rows: count })
    }

    /// A table of one column of texts.
    pub(crate) fn of_texts(name: &'static str, texts: &[String]) -> Self {
        let cells = Cells::Texts(texts.iter().map(|text| Some(text.as_str().into())).collect());
        Self { columns: vec![Column { name, cells }], rows: texts.len() }
    }

    fn column(&self, name: &str) -> Result<&Cells, Failure> {
        let found = self.columns.iter().find(|column| column.name == name);
        found.map(|column| &column.cells).ok_or_else(|| unknown_name("column", name))
    }

    fn row(&self, row: usize) -> Result<usize, Failure> {
        if row < self.rows { Ok(row) } else { Err(out_of_range("row", row, self.rows)) }
    }
}

impl Cells {
    /// The cell of row `row`, all before which are there.
    fn push(&mut self, row: usize, value: Value) {
        let number = match value {
            Value::Null => match self {
                Self::Absent => return,
                Self::Numbers(numbers) => return numbers.push(f64::NAN),
                Self::Texts(texts) => return texts.push(None),
            },
            Value::Bool(yes) => Some(f64::from(u8::from(yes))),
            Value::Number(ref number) => number.as_f64(),
            Value::String(_) | Value::Array(_) | Value::Object(_) => None,
        };
        if let Self::Absent = self {
            *self = match number {
                Some(_) => Self::Numbers(vec![f64::NAN; row]),
                None => Self::Texts((0..row).map(|_| None).collect()),
            };
        }
        match self {
            Self::Numbers(numbers) => numbers.push(number.unwrap_or(f64::NAN)),
            Self::Texts(texts) => texts.push(Some(match value {
                Value::String(text) => text.into(),
                other => other.to_string().into(),
            })),
            Self::Absent => {}
        }
    }
}

/// How many rows and columns a table has.
///
/// Fails with FW_NULL_POINTER only. Does not allocate.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_table_size(
    table: *const fw_table,
    rows: *mut usize,
    columns: *mut usize,
    error: *mut fw_error,
) -> fw_status {
    call(error, || {
        // SAFETY: the caller's handle and places, by the contract of the header.
        let (table, rows, columns) =
            unsafe { (given(table, "table")?, Out::new(rows, "rows")?, Out::new(columns, "columns")?) };
        rows.put(table.rows);
        columns.put(table.columns.len());
        Ok(())
    })
}

/// The name of a column, by its index from 0, into `buffer` of `capacity` bytes; `*needed` counts the NUL.
///
/// Fails with FW_OUT_OF_RANGE. Does not allocate.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_table_column_name(
    table: *const fw_table,
    column: usize,
    buffer: *mut c_char,
    capacity: usize,
    needed: *mut usize,
    error: *mut fw_error,
) -> fw_status {
    call(error, || {
        // SAFETY: the caller's buffer, by the contract of the header.
        unsafe { room(buffer, capacity, needed) }?;
        // SAFETY: the caller's handle, by the contract of the header.
        let table = unsafe { given(table, "table") }?;
        let found = table.columns.get(column).ok_or_else(|| out_of_range("column", column, table.columns.len()))?;
        // SAFETY: the caller's buffer, by the contract of the header.
        unsafe { text_out(found.name, buffer, capacity, needed) }
    })
}

/// A number of a table, in SI units: yes is 1 and no 0; NaN where it is not determined.
///
/// `column` is a name of `column_length` bytes, `row` counts from 0. Fails with FW_UNKNOWN_NAME, FW_OUT_OF_RANGE, and
/// FW_BAD_VALUE for a column of texts. Does not allocate.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_table_number(
    table: *const fw_table,
    row: usize,
    column: *const c_char,
    column_length: usize,
    value: *mut f64,
    error: *mut fw_error,
) -> fw_status {
    call(error, || {
        // SAFETY: the caller's handle, text and place, by the contract of the header.
        let (table, column, value) =
            unsafe { (given(table, "table")?, some_text(column, column_length, "column")?, Out::new(value, "value")?) };
        let cells = table.column(column)?;
        let row = table.row(row)?;
        value.put(match cells {
            Cells::Absent => f64::NAN,
            Cells::Numbers(numbers) => numbers.get(row).copied().unwrap_or(f64::NAN),
            Cells::Texts(_) => return Err(other_kind(column, "texts")),
        });
        Ok(())
    })
}

/// All numbers of a column, row by row, into `buffer` of `capacity` numbers; as fw_table_number.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_table_numbers(
    table: *const fw_table,
    column: *const c_char,
    column_length: usize,
    buffer: *mut f64,
    capacity: usize,
    needed: *mut usize,
    error: *mut fw_error,
) -> fw_status {
    call(error, || {
        // SAFETY: the caller's buffer, by the contract of the header.
        unsafe { room(buffer, capacity, needed) }?;
        // SAFETY: the caller's handle and text, by the contract of the header.
        let (table, column) = unsafe { (given(table, "table")?, some_text(column, column_length, "column")?) };
        match table.column(column)? {
            // SAFETY: the caller's buffer, by the contract of the header.
            Cells::Numbers(numbers) => unsafe { array_out(numbers, buffer, capacity, needed) },
            // SAFETY: as above.
            Cells::Absent => unsafe { array_out(&vec![f64::NAN; table.rows], buffer, capacity, needed) },
            Cells::Texts(_) => Err(other_kind(column, "texts")),
        }
    })
}

/// A text of a table, UTF-8, into `buffer` of `capacity` bytes; `*needed` counts the NUL. Lists are told as JSON.
///
/// Fails with FW_UNKNOWN_NAME, FW_OUT_OF_RANGE, FW_NOT_DETERMINED where there is none, and FW_BAD_VALUE for a column of
/// numbers. Does not allocate.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_table_text(
    table: *const fw_table,
    row: usize,
    column: *const c_char,
    column_length: usize,
    buffer: *mut c_char,
    capacity: usize,
    needed: *mut usize,
    error: *mut fw_error,
) -> fw_status {
    call(error, || {
        // SAFETY: the caller's buffer, by the contract of the header.
        unsafe { room(buffer, capacity, needed) }?;
        // SAFETY: the caller's handle and text, by the contract of the header.
        let (table, column) = unsafe { (given(table, "table")?, some_text(column, column_length, "column")?) };
        let cells = table.column(column)?;
        let row = table.row(row)?;
        let text = match cells {
            Cells::Absent => None,
            Cells::Texts(texts) => texts.get(row).and_then(Option::as_deref),
            Cells::Numbers(_) => return Err(other_kind(column, "numbers")),
        };
        let none =
            || Failure::new(fw_status::FW_NOT_DETERMINED, column, format!("{column}: there is none in row {row}"));
        // SAFETY: the caller's buffer, by the contract of the header.
        unsafe { text_out(text.ok_or_else(none)?, buffer, capacity, needed) }
    })
}

fn other_kind(column: &str, kind: &str) -> Failure {
    Failure::new(fw_status::FW_BAD_VALUE, column, format!("column \"{column}\" is one of {kind}"))
}

/// Frees a table. NULL is allowed.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_table_free(table: *mut fw_table) {
    // SAFETY: a handle of this library that was not freed, by the contract of the header.
    unsafe { free(table) };
}
