//! Chance for secrets, and digests of them. Secrets themselves are never kept: only what they digest to.

use sha2::{Digest, Sha256};

/// Letters and digits that nobody mistakes for one another.
const PLAIN: &[u8; 31] = b"abcdefghjkmnpqrstuvwxyz23456789";

/// 32 bytes of the system's chance as 64 hexadecimal digits.
///
/// # Panics
/// When the system gives no chance: without it nobody could be told from anybody else.
pub fn random() -> String {
    let mut bytes = [0u8; 32];
    getrandom::fill(&mut bytes).expect("the system gives chance");
    hex(&bytes)
}

/// A word for today's crew that can be called across a hut: three short groups.
pub fn crew_word() -> String {
    let mut bytes = [0u8; 9];
    getrandom::fill(&mut bytes).expect("the system gives chance");
    let letters: Vec<char> = bytes.iter().map(|b| char::from(PLAIN[usize::from(b % 31)])).collect();
    letters.chunks(3).map(|three| three.iter().collect::<String>()).collect::<Vec<_>>().join("-")
}

/// Seed of a log, from the system's chance; kept in its first entry.
pub fn seed() -> u64 {
    let mut bytes = [0u8; 4];
    getrandom::fill(&mut bytes).expect("the system gives chance");
    u64::from(u32::from_le_bytes(bytes))
}

/// SHA-256 of a text with its purpose, as hexadecimal digits.
pub fn digest(purpose: &str, text: &str) -> String {
    let mut hash = Sha256::new();
    hash.update(purpose.as_bytes());
    hash.update([0]);
    hash.update(text.as_bytes());
    hex(&hash.finalize())
}

/// Whether two texts are the same, in a time that does not tell where they differ.
pub fn same(a: &str, b: &str) -> bool {
    a.len() == b.len() && a.bytes().zip(b.bytes()).fold(0, |odd, (x, y)| odd | (x ^ y)) == 0
}

fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn secrets_differ_and_digests_depend_on_purpose() {
        assert!(random().len() == 64 && random() != random());
        let word = crew_word();
        assert!(word.len() == 11 && word.bytes().all(|b| b == b'-' || PLAIN.contains(&b)), "{word}");
        assert_ne!(digest("a", "x"), digest("b", "x"));
        // SHA-256 of the three bytes "a", 0, "b"; worked out with Python's hashlib.
        assert_eq!(digest("a", "b"), "59b271ae1bbcb1d31d41929817f4b16fb439eb4f31520b5ad1d5ce98920a7138");
        assert!(same("abc", "abc") && !same("abc", "abd") && !same("abc", "ab"));
    }
}
