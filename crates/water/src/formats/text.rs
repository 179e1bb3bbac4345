//! Bytes to text: byte-order marks, other encodings, line numbers.

use crate::problem::{At, Report};

/// The text of a file without its byte-order mark; `None` with a problem where it is not UTF-8 or has nothing in it.
pub fn text<'a>(bytes: &'a [u8], report: &mut Report) -> Option<&'a str> {
    let bytes = bytes.strip_prefix(b"\xEF\xBB\xBF").unwrap_or(bytes);
    if bytes.starts_with(&[0xFF, 0xFE]) || bytes.starts_with(&[0xFE, 0xFF]) {
        report.fatal(
            "W003",
            At::file(),
            "starts with the mark of UTF-16 at byte 0, and files here are UTF-8",
            "save it again as UTF-8",
        );
        return None;
    }
    match std::str::from_utf8(bytes) {
        Ok(text) if text.trim().is_empty() => {
            report.fatal("W002", At::file(), "is empty", "fill it in, or take it out of the folder");
            None
        }
        Ok(text) => Some(text),
        Err(error) => {
            let offset = error.valid_up_to();
            let line = 1 + bytes[..offset].iter().filter(|b| **b == b'\n').count();
            report.fatal(
                "W003",
                At::line(line),
                format!("byte {offset} (0x{:02X}) is not UTF-8", bytes[offset]),
                "save it again as UTF-8",
            );
            None
        }
    }
}

/// The line, from 1, that holds a byte offset.
pub fn line_of(text: &str, offset: usize) -> usize {
    1 + text.as_bytes()[..offset.min(text.len())].iter().filter(|b| **b == b'\n').count()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn marks_are_skipped_and_bad_bytes_are_named() {
        for (bytes, expect) in [
            (&b"\xEF\xBB\xBFname"[..], "name"),
            (b"ab\xFFc", "byte 2 (0xFF) is not UTF-8"),
            (b"\xFF\xFEn\0", "starts with the mark of UTF-16"),
            (b"", "is empty"),
            (b"\xEF\xBB\xBF\r\n ", "is empty"),
        ] {
            let mut report = Report::of("f");
            let got = match text(bytes, &mut report) {
                Some(text) => text.to_string(),
                None => report.problems[0].what.clone(),
            };
            assert!(got.starts_with(expect), "{got}");
        }
    }
}
