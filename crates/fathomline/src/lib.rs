//! What the binary and its tests share: every number by hand calculator.
//!
//! Start reading at [`explain`].

pub mod explain;
