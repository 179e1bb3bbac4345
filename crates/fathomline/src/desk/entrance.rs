//! Who may join: whoever knows the day's crew word, or comes by the QR code's token.
//!
//! Guessing the word is slowed down per address. The token cannot be guessed and is not slowed down, and whoever
//! has joined is never asked again: so nobody can lock a crew out by guessing.

use super::pace::Pace;
use super::secrets;
use argon2::password_hash::{
    PasswordHasher,
    phc::{Output, PasswordHash},
};
use argon2::{Algorithm, Argon2, Block, Params, Version};
use std::net::IpAddr;
use std::sync::{Mutex, PoisonError};

/// Wrong words that an address may send before it must wait: a crew that mistypes behind one router.
const FREE_TRIES: u32 = 20;
/// One more try each so many seconds.
const TRY_EACH_S: f64 = 6.0;

/// Why somebody is not let in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Shut {
    /// Wrong word or token.
    Wrong,
    /// Too many wrong words from this address: wait so many seconds.
    Wait(u64),
}

/// The entrance of one desk.
pub struct Entrance {
    word_hash: String,
    token: String,
    tries: Pace<IpAddr>,
    /// One word is looked at at a time: each takes memory and a core for a moment, and the plan needs both. The memory is
    /// kept: given back and taken again for each phone it leaves holes that nothing else fits into.
    turn: Mutex<Vec<Block>>,
}

impl Entrance {
    /// For a word that was hashed before and the token of the QR code.
    pub fn new(word_hash: String, token: String) -> Entrance {
        Entrance { word_hash, token, tries: Pace::new(FREE_TRIES, TRY_EACH_S), turn: Mutex::default() }
    }

    /// The token of the QR code.
    pub fn token(&self) -> &str {
        &self.token
    }

    /// Whether this is the QR code's token.
    pub fn token_fits(&self, token: &str) -> bool {
        secrets::same(&secrets::digest("token", token), &secrets::digest("token", &self.token))
    }

    /// Whether this is the day's word. Takes tens of milliseconds of a core on purpose.
    pub fn word_fits(&self, word: &str, from: IpAddr, now_ms: i64) -> Result<(), Shut> {
        self.tries.take(&from, now_ms).map_err(Shut::Wait)?;
        let mut room = self.turn.lock().unwrap_or_else(PoisonError::into_inner);
        if !fits(word, &self.word_hash, &mut room).unwrap_or(false) {
            return Err(Shut::Wrong);
        }
        self.tries.forgive(&from);
        Ok(())
    }
}

/// Hash of a crew word, to be kept.
///
/// # Panics
/// When the system gives no chance for the salt.
pub fn word_hash(word: &str) -> String {
    let mut salt = [0u8; 16];
    getrandom::fill(&mut salt).expect("the system gives chance");
    hasher().hash_password_with_salt(plain(word).as_bytes(), &salt).expect("a word can be hashed").to_string()
}

/// Whether a word gives the hash that was kept; nothing if that is no hash of ours.
fn fits(word: &str, kept: &str, room: &mut Vec<Block>) -> Option<bool> {
    let kept = PasswordHash::new(kept).ok()?;
    let (salt, hash) = (kept.salt?, kept.hash?);
    let hasher = hasher();
    room.resize(hasher.params().block_count(), Block::new());
    let mut bytes = vec![0; hash.len()];
    hasher
        .hash_password_into_with_memory(plain(word).as_bytes(), &salt, &mut bytes, room.as_mut_slice())
        .ok()?;
    // Compared in a time that does not tell where they differ.
    Some(Output::new(&bytes).ok()? == hash)
}

/// Argon2id with 19 MiB, two passes, one lane: what OWASP's password storage page gives as its first choice
/// (from memory, unverified).
fn hasher() -> Argon2<'static> {
    let params = Params::new(19 * 1024, 2, 1, None).expect("within Argon2's limits");
    Argon2::new(Algorithm::Argon2id, Version::V0x13, params)
}

/// Words are called and typed: case, blanks and dashes do not count.
fn plain(word: &str) -> String {
    word.chars().filter(|c| c.is_alphanumeric()).flat_map(char::to_lowercase).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn address(last: u8) -> IpAddr {
        IpAddr::from([192, 168, 1, last])
    }

    #[test]
    fn the_word_opens_however_it_is_typed_and_nothing_else_does() {
        let entrance = Entrance::new(word_hash("abc-def-ghj"), "t".repeat(64));
        assert_eq!(entrance.word_fits("ABC DEF GHJ", address(1), 0), Ok(()));
        assert_eq!(entrance.word_fits("abcdefghk", address(1), 0), Err(Shut::Wrong));
        assert_eq!(entrance.word_fits("", address(1), 0), Err(Shut::Wrong));
        let odd = Entrance::new("no hash".into(), "t".into());
        assert_eq!(odd.word_fits("no hash", address(1), 0), Err(Shut::Wrong));
        assert!(
            entrance.token_fits(&"t".repeat(64)) && !entrance.token_fits("t") && !entrance.token_fits("")
        );
    }

    #[test]
    fn guessing_is_slowed_down_for_the_guesser_alone() {
        let entrance = Entrance::new(word_hash("abc"), "t".into());
        (0..FREE_TRIES).for_each(|_| assert_eq!(entrance.tries.take(&address(1), 1000), Ok(())));
        assert_eq!(entrance.word_fits("abc", address(1), 1000), Err(Shut::Wait(6)));
        assert_eq!(entrance.word_fits("abc", address(2), 1000), Ok(()), "another address is not slowed down");
        assert_eq!(entrance.word_fits("abc", address(1), 7100), Ok(()), "and nobody waits for long");
    }
}
