//! What proves which file it was.

use std::fmt::Write as _;

use fallwise::answers::InputRow;
use sha2::{Digest, Sha256};

/// SHA-256 (FIPS 180-4) in hexadecimal.
pub(crate) fn sha256(bytes: &[u8]) -> String {
    Sha256::digest(bytes).iter().fold(String::with_capacity(64), |mut text, byte| {
        let _ = write!(text, "{byte:02x}");
        text
    })
}

/// The row of a file that went in, from its bytes as they were read.
pub(crate) fn input(role: &str, name: &str, bytes: &[u8]) -> InputRow {
    InputRow { role: role.to_owned(), name: name.to_owned(), sha256: sha256(bytes), bytes: bytes.len() as u64 }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_published_digest() {
        // FIPS 180-4, example "abc" (from memory).
        assert_eq!(sha256(b"abc"), "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    }
}
