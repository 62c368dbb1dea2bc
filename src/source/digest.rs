//! What a file is known by, whatever its name: SHA-256, as `sha256sum` prints it.

use sha2::{Digest, Sha256};
use std::fmt::Write;

/// SHA-256 of bytes in 64 lower-case hexadecimal digits (FIPS 180-4).
#[must_use]
pub fn sha256(bytes: &[u8]) -> String {
    let mut text = String::with_capacity(64);
    for byte in Sha256::digest(bytes) {
        // Writing to a string cannot fail.
        let _ = write!(text, "{byte:02x}");
    }
    text
}

#[cfg(test)]
mod tests {
    /// The one-block example of FIPS 180-2, appendix B.1.
    #[test]
    fn the_standards_example_is_met() {
        let expected = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad";
        assert_eq!(super::sha256(b"abc"), expected);
    }
}
