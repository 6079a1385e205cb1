//! The same bits on every machine: see `same_bits.rs`.
