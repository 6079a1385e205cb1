#![no_main]

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| {
    fallwise_fuzz::live(bytes);
});
