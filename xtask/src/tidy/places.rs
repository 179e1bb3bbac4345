//! The project is whole by itself: no path of one machine, no host of a package registry, in any tracked file.

use super::Found;
use super::source::Tree;

/// Texts that only mean something on one machine or behind one registry. Written apart so that this file passes.
const FOREIGN: [(&str, &str); 11] = [
    (concat!("/wo", "rk/"), "a path of one machine"),
    (concat!("/ho", "me/"), "a path of one machine"),
    (concat!("/ro", "ot/"), "a path of one machine"),
    (concat!("/Us", "ers/"), "a path of one machine"),
    (concat!("../sha", "red/"), "a folder outside the project"),
    (concat!("sha", "red/design"), "a folder outside the project"),
    (concat!("sha", "red/peers"), "a folder outside the project"),
    (concat!("sha", "red/checks"), "a folder outside the project"),
    (concat!("sha", "red/data"), "a folder outside the project"),
    (concat!("py", "pi.org"), "the host of a registry"),
    (concat!("npm", "js.org"), "the host of a registry"),
];

/// What Cargo.lock may name as the place of a library.
const LOCK_SOURCE: &str = concat!("registry+https://github.com/rust-lang/cra", "tes.io-index");

/// Looks through every tracked text.
pub fn check(tree: &Tree, found: &mut Found) {
    for (path, text) in &tree.files {
        for (number, line) in text.lines().enumerate() {
            for (foreign, what) in FOREIGN {
                if line.contains(foreign) {
                    found.fault(path, number + 1, format!("{foreign:?} is {what}; say it without"));
                }
            }
            if path == "Cargo.lock" {
                let place = line.strip_prefix("source = \"").and_then(|rest| rest.strip_suffix('"'));
                if place.is_some_and(|place| place != LOCK_SOURCE) {
                    found.fault(path, number + 1, "names another place than the common registry");
                }
            } else if line.contains(concat!("://cra", "tes.io"))
                || line.contains(concat!("index.cra", "tes.io"))
            {
                found.fault(
                    path,
                    number + 1,
                    "names the host of a registry; the name of the library is enough",
                );
            }
        }
    }
}
