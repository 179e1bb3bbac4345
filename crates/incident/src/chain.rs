//! The chain of digests: each line of the log holds the digest of the line before, so that none can be altered unseen.
//!
//! The digest is SHA-256 over the bytes of the line without its line end: anybody can verify a log without us.
//! Start reading at [`line()`] and [`verify`].

use crate::event::Entry;
use serde::{Deserialize, Serialize};
use sha2::{Digest as _, Sha256};

/// Digest of a line of the log.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct Digest([u8; 32]);

impl Digest {
    /// As 64 small hexadecimal digits.
    pub fn hex(&self) -> String {
        self.0.iter().map(|byte| format!("{byte:02x}")).collect()
    }

    /// Reads 64 hexadecimal digits.
    pub fn from_hex(text: &str) -> Option<Digest> {
        let mut bytes = [0; 32];
        if text.len() != 64 || !text.bytes().all(|b| b.is_ascii_hexdigit()) {
            return None;
        }
        for (byte, k) in bytes.iter_mut().zip((0..64).step_by(2)) {
            *byte = u8::from_str_radix(&text[k..k + 2], 16).ok()?;
        }
        Some(Digest(bytes))
    }
}

/// The last line of a log that holds.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Head {
    /// Number of the last entry; 0 for an empty log.
    pub seq: u64,
    /// Digest of its line; of zeros for an empty log.
    pub digest: Digest,
}

/// The first line that does not hold.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("line {line} of the log does not hold: {why}")]
pub struct Broken {
    /// Line, from 1.
    pub line: usize,
    /// Why.
    pub why: String,
}

#[derive(Serialize)]
struct Line<'a> {
    before: String,
    #[serde(flatten)]
    entry: &'a Entry,
}

#[derive(Deserialize)]
struct Read {
    before: String,
    seq: u64,
}

/// One entry as a line of readable JSON that holds the digest of the line before; no line end.
///
/// # Inputs
/// - `entry` · `before`: digest of the line before; [`Digest::default`] for the first
///
/// # Gives
/// The line.
///
/// # Panics
/// Never: an entry has no keys that JSON cannot hold.
///
/// # Source
/// chain of digests, common practice
pub fn line(entry: &Entry, before: &Digest) -> String {
    serde_json::to_string(&Line { before: before.hex(), entry }).expect("an entry is plain data")
}

/// The entry of a line.
///
/// # Gives
/// The entry, one of a later program included; the reason if the line is no entry at all.
///
/// # Source
/// the log's own format
pub fn entry(line: &str) -> Result<Entry, String> {
    serde_json::from_str(line.trim_end_matches(['\r', '\n'])).map_err(|error| error.to_string())
}

/// SHA-256 of a line.
///
/// # Source
/// FIPS 180-4 (crate `sha2`)
pub fn digest(line: &str) -> Digest {
    Digest(Sha256::digest(line.trim_end_matches(['\r', '\n']).as_bytes()).into())
}

/// Letters that are not taken for one another when read aloud or by hand; 28 of them, with digits that are none of them.
const SIGNS: &[u8; 28] = b"23456789ACDEFGHJKLMNPQRTVWXY";

/// A digest's short code, such as `K7-41-QD`: read over the radio, printed, kept by the phones.
///
/// # Gives
/// Six signs out of 28: one log in 480 million others has the same by chance.
///
/// # Source
/// the first bytes of the digest as a number, written in signs that sound and look apart
pub fn head_code(digest: &Digest) -> String {
    let mut number = digest.0[..8].iter().fold(0_u64, |sum, &byte| (sum << 8) | u64::from(byte));
    let mut code = String::new();
    for k in 0..6 {
        if k == 2 || k == 4 {
            code.push('-');
        }
        code.push(char::from(SIGNS[(number % 28) as usize]));
        number /= 28;
    }
    code
}

/// Walks a log from its first line.
///
/// # Inputs
/// - `lines`: in order, with or without line ends
///
/// # Gives
/// The head if every line names the digest of the one before and counts on by one; otherwise the first that does not.
///
/// # Source
/// chain of digests, common practice
pub fn verify<'a>(lines: impl IntoIterator<Item = &'a str>) -> Result<Head, Broken> {
    let mut head = Head::default();
    for (index, text) in lines.into_iter().enumerate() {
        let broken = |why: String| Broken { line: index + 1, why };
        let read: Read =
            serde_json::from_str(text).map_err(|error| broken(format!("it is no entry ({error})")))?;
        if read.seq != head.seq + 1 {
            return Err(broken(format!("entry {} follows entry {}", read.seq, head.seq)));
        }
        if Digest::from_hex(&read.before) != Some(head.digest) {
            return Err(broken("it does not follow from the line above: one of the two was altered".into()));
        }
        head = Head { seq: read.seq, digest: digest(text) };
    }
    Ok(head)
}
