//! The border: what comes in is looked at before it is believed, what goes out is written only on success, and no panic
//! crosses.

use core::{
    ffi::{c_char, c_void},
    marker::PhantomData,
    ops::ControlFlow,
    ptr, slice, str,
};
use std::panic::{AssertUnwindSafe, catch_unwind};

use fallwise::{
    section::Bore,
    watch::{Progress, Stage, Watch},
};

use crate::{
    error::{Failure, fw_error},
    status::fw_status,
};

/// Every call: what it does, its panic, and its error told.
pub(crate) fn call(error: *mut fw_error, work: impl FnOnce() -> Result<(), Failure>) -> fw_status {
    let failure = match catch_unwind(AssertUnwindSafe(work)) {
        Ok(Ok(())) => return fw_status::FW_OK,
        Ok(Err(failure)) => failure,
        Err(panic) => {
            // Dropping what a panic carries may panic again.
            core::mem::forget(panic);
            Failure::new(fw_status::FW_PANIC, "", "a fault in fallwise itself; please report it")
        }
    };
    // SAFETY: the caller's struct, or NULL, by the contract of the header.
    unsafe { failure.tell(error) };
    failure.status()
}

/// Freeing a handle: nothing to tell, and a panic stays inside.
///
/// # Safety
/// `handle` is NULL, or came from [`hand_out`] as this type and was not freed.
pub(crate) unsafe fn free<T>(handle: *mut T) {
    if !handle.is_null() {
        // SAFETY: by the contract above it came from a box, and nobody else has it.
        let owned = unsafe { Box::from_raw(handle) };
        let _ = catch_unwind(AssertUnwindSafe(move || drop(owned)));
    }
}

fn null(field: &str) -> Failure {
    Failure::new(fw_status::FW_NULL_POINTER, field, format!("{field} is NULL or not aligned"))
}

pub(crate) fn bad_value(field: &str, given: impl core::fmt::Display, expected: &str) -> Failure {
    Failure::new(fw_status::FW_BAD_VALUE, field, format!("{field}: {given} given, expected {expected}"))
}

pub(crate) fn unknown_name(what: &str, name: &str) -> Failure {
    Failure::new(fw_status::FW_UNKNOWN_NAME, what, format!("there is no {what} \"{name}\""))
}

pub(crate) fn out_of_range(what: &str, index: usize, count: usize) -> Failure {
    Failure::new(fw_status::FW_OUT_OF_RANGE, what, format!("{what}: {index} given, there are {count}")).row(index)
}

#[allow(dead_code, reason = "used where something is left out")]
pub(crate) fn not_built(what: &str) -> Failure {
    Failure::new(fw_status::FW_NOT_BUILT, "", format!("this library was built without its feature \"{what}\""))
}

/// What a handle or struct of the caller's points to.
///
/// # Safety
/// `pointer` is NULL, or points to a `T` that stays for the call and that nobody writes to meanwhile.
pub(crate) unsafe fn given<'a, T>(pointer: *const T, field: &str) -> Result<&'a T, Failure> {
    if pointer.is_null() || !pointer.is_aligned() {
        return Err(null(field));
    }
    // SAFETY: not NULL, aligned; the rest is the contract above.
    Ok(unsafe { &*pointer })
}

/// The same where NULL means that there is none.
///
/// # Safety
/// As [`given`].
pub(crate) unsafe fn optional<'a, T>(pointer: *const T, field: &str) -> Result<Option<&'a T>, Failure> {
    // SAFETY: the same contract.
    if pointer.is_null() { Ok(None) } else { unsafe { given(pointer, field) }.map(Some) }
}

/// A handle that the call changes.
///
/// # Safety
/// As [`given`], and nobody reads it meanwhile either.
pub(crate) unsafe fn changed<'a, T>(pointer: *mut T, field: &str) -> Result<&'a mut T, Failure> {
    if pointer.is_null() || !pointer.is_aligned() {
        return Err(null(field));
    }
    // SAFETY: not NULL, aligned; the rest is the contract above.
    Ok(unsafe { &mut *pointer })
}

/// An array of the caller's. NULL goes with a count of 0 only.
///
/// # Safety
/// `pointer` is NULL, or points to `count` values that stay for the call.
pub(crate) unsafe fn array<'a, T>(pointer: *const T, count: usize, field: &str) -> Result<&'a [T], Failure> {
    if count == 0 {
        return Ok(&[]);
    }
    if pointer.is_null() || !pointer.is_aligned() {
        return Err(null(field));
    }
    if count > isize::MAX.unsigned_abs() / size_of::<T>().max(1) {
        return Err(bad_value(field, count, "a count of values that memory can have"));
    }
    // SAFETY: not NULL, aligned, not larger than memory; the rest is the contract above.
    Ok(unsafe { slice::from_raw_parts(pointer, count) })
}

/// An array that must not be empty.
///
/// # Safety
/// As [`array`].
pub(crate) unsafe fn some_array<'a, T>(pointer: *const T, count: usize, field: &str) -> Result<&'a [T], Failure> {
    if pointer.is_null() {
        return Err(null(field));
    }
    if count == 0 {
        return Err(Failure::new(fw_status::FW_EMPTY, field, format!("{field} is empty")));
    }
    // SAFETY: the same contract.
    unsafe { array(pointer, count, field) }
}

/// An optional array beside one of `count` values.
///
/// # Safety
/// As [`array`].
pub(crate) unsafe fn optional_array<T: Copy>(
    pointer: *const T,
    count: usize,
    field: &str,
) -> Result<Option<Vec<T>>, Failure> {
    if pointer.is_null() {
        return Ok(None);
    }
    // SAFETY: the same contract.
    Ok(Some(unsafe { array(pointer, count, field) }?.to_vec()))
}

/// A text of the caller's; empty where it is NULL with a length of 0.
///
/// # Safety
/// As [`array`].
pub(crate) unsafe fn text<'a>(pointer: *const c_char, length: usize, field: &str) -> Result<&'a str, Failure> {
    // SAFETY: the same contract.
    let bytes = unsafe { array(pointer.cast::<u8>(), length, field) }?;
    str::from_utf8(bytes).map_err(|e| {
        Failure::new(fw_status::FW_BAD_UTF8, field, format!("{field} is not UTF-8 at byte {}", e.valid_up_to()))
            .row(e.valid_up_to())
    })
}

/// A text that must not be empty.
///
/// # Safety
/// As [`array`].
pub(crate) unsafe fn some_text<'a>(pointer: *const c_char, length: usize, field: &str) -> Result<&'a str, Failure> {
    if pointer.is_null() {
        return Err(null(field));
    }
    if length == 0 {
        return Err(Failure::new(fw_status::FW_EMPTY, field, format!("{field} is empty")));
    }
    // SAFETY: the same contract.
    unsafe { text(pointer, length, field) }
}

/// Where something is written on success: looked at before the work begins.
pub(crate) struct Out<'a, T>(*mut T, PhantomData<&'a mut T>);

impl<T> Out<'_, T> {
    /// # Safety
    /// `pointer` is NULL, or points to a place of the caller's for a `T`, which need not be one yet.
    pub(crate) unsafe fn new(pointer: *mut T, field: &str) -> Result<Self, Failure> {
        if pointer.is_null() || !pointer.is_aligned() { Err(null(field)) } else { Ok(Self(pointer, PhantomData)) }
    }

    pub(crate) fn put(self, value: T) {
        // SAFETY: looked at when it was made; what stood there is plain data or nothing.
        unsafe { self.0.write(value) };
    }
}

/// A new handle of the caller's.
pub(crate) fn hand_out<T>(out: Out<'_, *mut T>, value: T) {
    out.put(Box::into_raw(Box::new(value)));
}

/// A struct that begins with its size, so that it may grow.
///
/// # Safety
/// `repr(C)`, plain data of which any bytes are a value, and its first field is `struct_size: usize`.
pub(crate) unsafe trait Sized1: Copy {
    /// Size of its first form, which stays what it was when the struct grows.
    const FIRST: usize;

    /// The same with the size that the caller has.
    fn sized(self, struct_size: usize) -> Self;
}

/// Bytes that a caller's struct has, if it is one.
///
/// # Safety
/// As [`given`], of as many bytes as its first field says.
unsafe fn size_of_given<T: Sized1>(pointer: *const T, field: &str) -> Result<usize, Failure> {
    if pointer.is_null() || !pointer.is_aligned() {
        return Err(null(field));
    }
    // SAFETY: not NULL, aligned; the first field of every such struct is its size.
    let size = unsafe { pointer.cast::<usize>().read() };
    check_size::<T>(size, field)?;
    Ok(size)
}

/// Larger than any struct will become, bytes: what was not set is often as large.
const LARGEST: usize = 1 << 16;

fn check_size<T: Sized1>(size: usize, field: &str) -> Result<(), Failure> {
    if (T::FIRST..=LARGEST).contains(&size) {
        return Ok(());
    }
    let message = format!("{field}.struct_size: {size} given, expected {} or what a newer header has", T::FIRST);
    Err(Failure::new(fw_status::FW_BAD_STRUCT_SIZE, field, message))
}

/// A struct of options: what it has, over `default` for what it is too old to have.
///
/// # Safety
/// `pointer` is NULL, or points to as many bytes as its first field says.
pub(crate) unsafe fn options<T: Sized1>(pointer: *const T, default: T, field: &str) -> Result<T, Failure> {
    // SAFETY: the same contract.
    let size = unsafe { size_of_given(pointer, field) }?.min(size_of::<T>());
    let mut value = default;
    // SAFETY: both are so long, plain data, and apart.
    unsafe { ptr::copy_nonoverlapping(pointer.cast::<u8>(), ptr::from_mut(&mut value).cast::<u8>(), size) };
    Ok(value)
}

/// A struct of options as it begins, of the size that the caller has.
///
/// # Safety
/// `pointer` is NULL, or points to `struct_size` bytes of the caller's.
pub(crate) unsafe fn init<T: Sized1>(
    pointer: *mut T,
    struct_size: usize,
    value: T,
    field: &str,
) -> Result<(), Failure> {
    // SAFETY: the same contract.
    let out = unsafe { Out::new(pointer, field) }?;
    check_size::<T>(struct_size, field)?;
    let value = value.sized(struct_size);
    let bytes = struct_size.min(size_of::<T>());
    // SAFETY: there are so many bytes on both sides.
    unsafe { ptr::copy_nonoverlapping(ptr::from_ref(&value).cast::<u8>(), out.0.cast::<u8>(), bytes) };
    Ok(())
}

/// A struct of figures that goes out.
pub(crate) struct OutStruct<'a, T>(*mut T, usize, PhantomData<&'a mut T>);

impl<T: Sized1> OutStruct<'_, T> {
    /// # Safety
    /// `pointer` is NULL, or points to as many bytes of the caller's as its first field says.
    pub(crate) unsafe fn new(pointer: *mut T, field: &str) -> Result<Self, Failure> {
        // SAFETY: the same contract.
        let size = unsafe { size_of_given(pointer, field) }?;
        Ok(Self(pointer, size, PhantomData))
    }

    pub(crate) fn put(self, value: T) {
        let value = value.sized(self.1);
        let bytes = self.1.min(size_of::<T>());
        // SAFETY: there are so many bytes on both sides, looked at when this was made.
        unsafe { ptr::copy_nonoverlapping(ptr::from_ref(&value).cast::<u8>(), self.0.cast::<u8>(), bytes) };
    }
}

/// Looks at a buffer before the work begins.
///
/// # Safety
/// As [`text_out`].
pub(crate) unsafe fn room<T>(buffer: *mut T, capacity: usize, needed: *mut usize) -> Result<(), Failure> {
    // SAFETY: the same contract.
    unsafe { Out::new(needed, "needed") }?;
    if (buffer.is_null() && capacity > 0) || !buffer.is_aligned() { Err(null("buffer")) } else { Ok(()) }
}

/// A text into the caller's buffer, with a NUL behind it. `needed` counts the NUL. A buffer that is NULL with a
/// capacity of 0 only asks.
///
/// # Safety
/// `buffer` is NULL, or points to `capacity` bytes of the caller's; `needed` as in [`Out::new`].
pub(crate) unsafe fn text_out(
    text: &str,
    buffer: *mut c_char,
    capacity: usize,
    needed: *mut usize,
) -> Result<(), Failure> {
    // SAFETY: the same contract.
    unsafe { copied(text.as_bytes(), Some(0), buffer.cast::<u8>(), capacity, needed) }
}

/// Values into the caller's buffer. A buffer that is NULL with a capacity of 0 only asks.
///
/// # Safety
/// As [`text_out`], with a capacity in values.
pub(crate) unsafe fn array_out<T: Copy>(
    values: &[T],
    buffer: *mut T,
    capacity: usize,
    needed: *mut usize,
) -> Result<(), Failure> {
    // SAFETY: the same contract.
    unsafe { copied(values, None, buffer, capacity, needed) }
}

/// # Safety
/// As [`array_out`].
unsafe fn copied<T: Copy>(
    values: &[T],
    end: Option<T>,
    buffer: *mut T,
    capacity: usize,
    needed: *mut usize,
) -> Result<(), Failure> {
    // SAFETY: the same contract.
    let told = unsafe { Out::new(needed, "needed") }?;
    let count = values.len() + usize::from(end.is_some());
    let asks = buffer.is_null() && capacity == 0;
    if !asks && (buffer.is_null() || !buffer.is_aligned()) {
        return Err(null("buffer"));
    }
    told.put(count);
    if asks {
        return Ok(());
    }
    if capacity < count {
        let message = format!("the buffer has room for {capacity}, {count} are needed");
        return Err(Failure::new(fw_status::FW_BUFFER_TOO_SMALL, "buffer", message));
    }
    // SAFETY: there is room for `count`, and the buffer is the caller's, so it is apart from ours.
    unsafe {
        ptr::copy_nonoverlapping(values.as_ptr(), buffer, values.len());
        if let Some(end) = end {
            buffer.add(values.len()).write(end);
        }
    }
    Ok(())
}

/// Numbers into a buffer that has to have exactly so many places.
///
/// # Safety
/// `buffer` is NULL, or points to `values.len()` places of the caller's.
pub(crate) unsafe fn fill(values: &[f64], buffer: *mut f64, field: &str) -> Result<(), Failure> {
    // SAFETY: the same contract.
    unsafe { Out::new(buffer, field) }?;
    // SAFETY: not NULL, aligned; room and apartness are the contract.
    unsafe { ptr::copy_nonoverlapping(values.as_ptr(), buffer, values.len()) };
    Ok(())
}

/// NaN stands for what is absent.
pub(crate) fn or_nan(value: Option<f64>) -> f64 {
    value.unwrap_or(f64::NAN)
}

/// The other way round.
pub(crate) fn unless_nan(value: f64) -> Option<f64> {
    Some(value).filter(|v| !v.is_nan())
}

/// A number that must be finite.
pub(crate) fn finite(value: f64, field: &str) -> Result<f64, Failure> {
    if value.is_finite() { Ok(value) } else { Err(bad_value(field, value, "a finite number")) }
}

/// A bore of a width and a height; a circle where they are the same, or the height is NaN.
pub(crate) fn bore(width_m: f64, height_m: f64) -> Result<Bore, Failure> {
    Ok(if height_m.is_nan() || width_m == height_m {
        Bore::circle(width_m)?
    } else {
        Bore::ellipse(width_m, height_m)?
    })
}

/// A yes or no of C.
pub(crate) fn yes_no(value: i32, field: &str) -> Result<bool, Failure> {
    match value {
        0 => Ok(false),
        1 => Ok(true),
        _ => Err(bad_value(field, value, "0 or 1")),
    }
}

/// What a progress callback and its data are, to be called from the thread that does the work: that of the call.
pub(crate) struct Caller<F>(pub(crate) F, pub(crate) *mut c_void);

// SAFETY: the core asks on the thread of the call, inside the call, where the caller's data are the caller's to use. The core
// only says that a watch may go to other threads; nothing here sends it there, and no handle that outlives the call keeps one.
unsafe impl<F: Send> Send for Caller<F> {}
// SAFETY: as above.
unsafe impl<F: Sync> Sync for Caller<F> {}

/// A watch that asks a callback.
pub(crate) fn watch(progress: unsafe extern "C" fn(*mut c_void, u32, u64) -> i32, user: *mut c_void) -> Watch {
    let caller = Caller(progress, user);
    Watch::new(move |told: Progress| {
        let caller = &caller;
        let stage = match told.stage {
            Stage::Conditioning => 0,
            Stage::Segments => 1,
            Stage::Averaging => 2,
            Stage::Adjusting => 3,
            _ => 4,
        };
        // SAFETY: the caller's function with the caller's data, by the contract of `fw_solve_options`.
        match unsafe { (caller.0)(caller.1, stage, told.draws) } {
            0 => ControlFlow::Continue(()),
            _ => ControlFlow::Break(()),
        }
    })
}

/// Hands bytes under a name to a sink.
///
/// # Safety
/// The sink and its data are the caller's.
#[cfg(feature = "files")]
pub(crate) unsafe fn sink(
    to: unsafe extern "C" fn(*mut c_void, *const c_char, usize, *const u8, usize) -> i32,
    user: *mut c_void,
    name: &str,
    bytes: &[u8],
) -> Result<(), Failure> {
    // SAFETY: the texts live for the call of the sink; the rest is the contract.
    match unsafe { to(user, name.as_ptr().cast(), name.len(), bytes.as_ptr(), bytes.len()) } {
        0 => Ok(()),
        _ => Err(Failure::new(fw_status::FW_SINK, "", "the sink said stop")),
    }
}

#[cfg(test)]
#[allow(clippy::panic, reason = "it is what is tried")]
mod tests {
    use super::*;

    /// What a caller has on its stack, unset but for its size.
    fn error() -> fw_error {
        let mut error = core::mem::MaybeUninit::<fw_error>::zeroed();
        // SAFETY: room for one; zeros are a value of it (status FW_OK).
        unsafe {
            crate::error::fw_error_init(error.as_mut_ptr(), size_of::<fw_error>());
            error.assume_init()
        }
    }

    #[test]
    fn a_panic_is_a_status() {
        /// Panics again when it is dropped, as what a panic carries may.
        struct Again;
        impl Drop for Again {
            fn drop(&mut self) {
                panic!("again");
            }
        }
        std::panic::set_hook(Box::new(|_| ()));
        let mut told = error();
        assert_eq!(call(&raw mut told, || panic!("as asked")), fw_status::FW_PANIC);
        assert_eq!(told.status, fw_status::FW_PANIC);
        assert_ne!(told.message[0], 0);
        assert_eq!(call(ptr::null_mut(), || std::panic::panic_any(Again)), fw_status::FW_PANIC);
        // SAFETY: from a box, and freed once.
        unsafe { free(Box::into_raw(Box::new(Again))) };
        let _ = std::panic::take_hook();
    }

    #[test]
    fn what_is_not_there_or_not_aligned_is_told() {
        let numbers = [0.0; 2];
        let odd = numbers.as_ptr().wrapping_byte_add(1);
        // SAFETY: it is refused before it is read.
        assert_eq!(unsafe { array(odd, 1, "x") }.unwrap_err().status(), fw_status::FW_NULL_POINTER);
        // SAFETY: as above.
        assert_eq!(unsafe { array::<f64>(ptr::null(), 1, "x") }.unwrap_err().status(), fw_status::FW_NULL_POINTER);
        let one = 1.0;
        // SAFETY: as above.
        let endless = unsafe { array(&raw const one, usize::MAX, "x") };
        assert_eq!(endless.unwrap_err().status(), fw_status::FW_BAD_VALUE);
        // SAFETY: nothing is read of nothing.
        assert!(unsafe { array::<f64>(ptr::null(), 0, "x") }.is_ok_and(<[f64]>::is_empty));
    }
}
