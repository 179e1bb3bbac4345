//! A report that cannot be.

use serde::Serialize;

/// Why a report is refused, and the way out.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, thiserror::Error)]
#[error("{code}: {what}; {remedy}")]
pub struct Refusal {
    /// Code, explained in docs/problems.md.
    pub code: &'static str,
    /// What cannot be.
    pub what: String,
    /// What to do instead.
    pub remedy: String,
}

/// A refusal as a result.
pub(super) fn refuse<T>(
    code: &'static str,
    what: impl Into<String>,
    remedy: impl Into<String>,
) -> Result<T, Refusal> {
    Err(Refusal { code, what: what.into(), remedy: remedy.into() })
}
