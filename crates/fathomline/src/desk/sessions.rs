//! Who is joined: a random cookie for each device, of which only the digest is kept.
//!
//! Sessions live as long as the data folder: a restart asks nobody anything, and nothing runs out during an alarm.

use super::secrets;
use std::collections::BTreeMap;
use std::sync::{PoisonError, RwLock};

/// Name of the cookie.
pub const COOKIE: &str = "fathomline";
/// Name of the header that shows that a report comes from our own page.
pub const CSRF_HEADER: &str = "x-fathomline-csrf";
/// Age at which a browser forgets the cookie \[s\]: a season, so that none is forgotten on a long day.
const COOKIE_S: u64 = 200 * 24 * 3600;

/// A device that showed its cookie.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Guest {
    /// Device.
    pub device: String,
    /// What its page must send along with every report.
    pub csrf: String,
}

/// Every session.
pub struct Sessions {
    by_digest: RwLock<BTreeMap<String, String>>,
}

impl Sessions {
    /// Those of the store.
    pub fn new(kept: Vec<(String, String)>) -> Sessions {
        Sessions { by_digest: RwLock::new(kept.into_iter().collect()) }
    }

    /// Lets a device in under a cookie whose digest was stored.
    pub fn admit(&self, cookie_digest: &str, device: &str) {
        let mut all = self.by_digest.write().unwrap_or_else(PoisonError::into_inner);
        all.insert(cookie_digest.to_string(), device.to_string());
    }

    /// The device behind a request's `Cookie` header.
    pub fn guest(&self, header: &str) -> Option<Guest> {
        let cookie = cookie(header)?;
        let digest = cookie_digest(cookie);
        let device = self.by_digest.read().unwrap_or_else(PoisonError::into_inner).get(&digest).cloned()?;
        Some(Guest { device, csrf: csrf(cookie) })
    }

    /// How many devices have joined.
    pub fn devices(&self) -> usize {
        let all = self.by_digest.read().unwrap_or_else(PoisonError::into_inner);
        let mut devices: Vec<&String> = all.values().collect();
        devices.sort();
        devices.dedup();
        devices.len()
    }
}

/// Digest under which a cookie is kept.
pub fn cookie_digest(cookie: &str) -> String {
    secrets::digest("cookie", cookie)
}

/// The word that goes into the header; follows from the cookie, so that nothing more must be kept.
pub fn csrf(cookie: &str) -> String {
    secrets::digest("csrf", cookie)[..32].to_string()
}

/// `Set-Cookie` for a new session.
pub fn set_cookie(cookie: &str, tls: bool) -> String {
    let secure = if tls { "; Secure" } else { "" };
    format!("{COOKIE}={cookie}; Path=/; Max-Age={COOKIE_S}; HttpOnly; SameSite=Strict{secure}")
}

/// Our cookie in a `Cookie` header; none if it is there twice, since one of them is not ours.
fn cookie(header: &str) -> Option<&str> {
    let mut ours = header.split(';').filter_map(|part| {
        let (name, value) = part.trim().split_once('=')?;
        (name == COOKIE).then_some(value)
    });
    let first = ours.next()?;
    (ours.next().is_none() && first.len() == 64 && first.bytes().all(|b| b.is_ascii_hexdigit()))
        .then_some(first)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_cookie_opens_its_own_session_and_no_other() {
        let sessions = Sessions::new(Vec::new());
        let cookie = secrets::random();
        assert_eq!(sessions.guest(&format!("{COOKIE}={cookie}")), None);
        sessions.admit(&cookie_digest(&cookie), "phone-1");
        let guest = sessions.guest(&format!("other=1; {COOKIE}={cookie}")).unwrap();
        assert_eq!((guest.device.as_str(), guest.csrf.clone()), ("phone-1", csrf(&cookie)));
        for odd in [
            String::new(),
            format!("{COOKIE}="),
            format!("{COOKIE}={}", secrets::random()),
            format!("{COOKIE}={cookie}; {COOKIE}={cookie}"),
            format!("x{COOKIE}={cookie}"),
            format!("{COOKIE}={}", cookie_digest(&cookie)),
        ] {
            assert_eq!(sessions.guest(&odd), None, "{odd}");
        }
        assert_eq!(sessions.devices(), 1);
        assert!(set_cookie(&cookie, true).ends_with("HttpOnly; SameSite=Strict; Secure"));
        assert!(set_cookie(&cookie, false).ends_with("HttpOnly; SameSite=Strict"));
    }
}
