//! Whether a file is program text at all.

use super::Source;

/// How much of a file is looked at, bytes; house value.
const HEAD: usize = 8192;
/// One in so many bytes may be a control character that no program holds; house value.
const ONE_IN: usize = 50;

impl Source {
    /// Whether the file holds something other than text: too many control characters in its head that neither text nor
    /// a paper tape's leader has. Letters beyond ASCII say nothing, for comments are in many alphabets.
    #[must_use]
    pub fn is_binary(&self) -> bool {
        let head = self.bytes.get(..HEAD).unwrap_or(&self.bytes);
        let strange = head.iter().filter(|byte| is_strange(**byte)).count();
        strange * ONE_IN > head.iter().filter(|byte| **byte != 0).count()
    }
}

/// Control characters but those of text (tab, line ends, page feed), of tape (NUL, reader and punch on and off) and of
/// the ends of old text files (EOT, SUB).
fn is_strange(byte: u8) -> bool {
    byte < b' ' && !matches!(byte, 0 | 4 | b'\t'..=b'\r' | 0x11..=0x14 | 0x1a)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn is_binary(bytes: &[u8]) -> bool {
        Source::new("a.nc", bytes).is_binary()
    }

    #[test]
    fn tapes_and_comments_of_every_alphabet_are_text() {
        assert!(!is_binary(b""));
        assert!(!is_binary(&[[0; 600].as_slice(), b"\x12%\r\nG0 X1\r\n%\r\n\x14", &[0; 600]].concat()));
        assert!(!is_binary(&[b"\x1a".repeat(3).as_slice(), "(ТОРЕЦ 孔 Bohrung Ø6)\n".as_bytes()].concat()));
        assert!(!is_binary(&[&[0; 200][..], b"\x7f\x7f\x7f(\xd8 6)\nM30\n"].concat()));
    }

    #[test]
    fn other_files_are_not() {
        assert!(is_binary(b"\x7fELF\x02\x01\x01\0\0\0\0\0\0\0\0\0\x03\0\x3e\0\x01\0\0\0"));
        assert!(is_binary(b"\x89PNG\r\n\x1a\n\0\0\0\x0dIHDR\0\0\x01\0\0\0\x01\0\x08\x06"));
        let every: Vec<u8> = (0..=255).collect();
        assert!(is_binary(&every));
    }
}
