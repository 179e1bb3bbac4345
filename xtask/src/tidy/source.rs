//! The tracked files, and Rust sources cut into what the rules look at: bare code, functions, test lines.
//!
//! This is a scanner, not a parser: it knows comments, strings, braces and `fn`, which is all the rules need.

use crate::shell;
use std::fs;

/// All tracked (and new, not ignored) files of the checkout.
pub struct Tree {
    /// Paths from the root, with the text; files that are not UTF-8 are left out.
    pub files: Vec<(String, String)>,
    /// The Rust files among them.
    pub sources: Vec<Source>,
}

/// One Rust file.
pub struct Source {
    /// Path from the root.
    pub path: String,
    /// The file as it is.
    pub text: String,
    /// The same length and lines, with comments and the insides of strings blanked.
    pub bare: String,
    /// For each line whether it belongs to a test.
    pub test: Vec<bool>,
    /// Functions with a body, in the order written.
    pub functions: Vec<Function>,
}

/// One function with a body.
pub struct Function {
    /// Name.
    pub name: String,
    /// Line of the `fn`, from 1.
    pub line: usize,
    /// Line of the closing brace.
    pub end: usize,
    /// Whether it is plain `pub`.
    pub public: bool,
    /// From the name to the opening brace.
    pub signature: String,
    /// Its documentation, without the slashes.
    pub doc: Vec<String>,
}

impl Tree {
    /// Reads every tracked file.
    pub fn read() -> Result<Tree, String> {
        let listed = shell::output(&mut shell::git("ls-files -z --cached --others --exclude-standard"))
            .map_err(|e| format!("{e}; tidy needs a git checkout"))?;
        let mut files: Vec<(String, String)> = listed
            .split('\0')
            .filter(|path| !path.is_empty())
            .filter_map(|path| Some((path.to_string(), fs::read_to_string(shell::root().join(path)).ok()?)))
            .collect();
        files.sort();
        let sources = files
            .iter()
            .filter(|(path, _)| path.ends_with(".rs"))
            .map(|(path, text)| Source::new(path, text))
            .collect();
        Ok(Tree { files, sources })
    }

    /// The text of one file.
    pub fn text(&self, path: &str) -> Option<&str> {
        self.files.iter().find(|(name, _)| name == path).map(|(_, text)| text.as_str())
    }
}

impl Source {
    /// Cuts a file.
    pub fn new(path: &str, text: &str) -> Source {
        let bare = bare(text);
        let lines: Vec<&str> = text.lines().collect();
        let all = path.contains("/tests/") || path.starts_with("tests/") || path.ends_with("/tests.rs");
        let mut test = vec![all; lines.len() + 1];
        let mut at = 0;
        while let Some(found) = bare[at..].find("#[cfg(test)]") {
            let start = at + found;
            let end = body(&bare, start).map_or(start, |(_, end)| end);
            let (first, last) = (line_of(&bare, start), line_of(&bare, end));
            test[first - 1..last.min(lines.len())].fill(true);
            at = end.max(start + 1);
        }
        let functions = functions(&bare, &lines);
        Source { path: path.to_string(), text: text.to_string(), bare, test, functions }
    }

    /// The crate of a file under crates/, else an empty text.
    pub fn house(&self) -> &str {
        self.path.strip_prefix("crates/").and_then(|rest| rest.split('/').next()).unwrap_or("")
    }

    /// Whether a line (from 1) belongs to a test.
    pub fn is_test(&self, line: usize) -> bool {
        self.test.get(line - 1).copied().unwrap_or(false)
    }

    /// Bare lines that are no test, with their numbers from 1.
    pub fn working_lines(&self) -> impl Iterator<Item = (usize, &str)> {
        self.bare.lines().enumerate().map(|(k, line)| (k + 1, line)).filter(|(k, _)| !self.is_test(*k))
    }
}

fn line_of(text: &str, at: usize) -> usize {
    text.as_bytes()[..at].iter().filter(|&&b| b == b'\n').count() + 1
}

/// Whether a byte may be part of a name.
pub fn is_name(byte: u8) -> bool {
    byte == b'_' || byte.is_ascii_alphanumeric() || byte >= 0x80
}

/// Where the first braces after `from` open and close; `None` if a `;` comes first.
fn body(bare: &str, from: usize) -> Option<(usize, usize)> {
    let bytes = bare.as_bytes();
    let mut nested = 0_i32;
    let mut k = from;
    let open = loop {
        match *bytes.get(k)? {
            b'(' | b'[' => nested += 1,
            b')' | b']' => nested -= 1,
            b';' if nested <= 0 => return None,
            b'{' if nested <= 0 => break k,
            _ => {}
        }
        k += 1;
    };
    let mut depth = 0_i32;
    for (k, byte) in bytes.iter().enumerate().skip(open) {
        match byte {
            b'{' => depth += 1,
            b'}' => depth -= 1,
            _ => {}
        }
        if depth == 0 {
            return Some((open, k));
        }
    }
    None
}

fn functions(bare: &str, lines: &[&str]) -> Vec<Function> {
    let bytes = bare.as_bytes();
    let mut all = Vec::new();
    for (at, _) in bare.match_indices("fn ") {
        let name_end = (at + 3..bytes.len()).find(|&k| !is_name(bytes[k])).unwrap_or(bytes.len());
        if (at > 0 && is_name(bytes[at - 1])) || name_end == at + 3 {
            continue;
        }
        let Some((open, close)) = body(bare, name_end) else { continue };
        let line = line_of(bare, at);
        let before = &bare[bare[..at].rfind('\n').map_or(0, |k| k + 1)..at];
        let mut doc: Vec<String> = lines[..line - 1]
            .iter()
            .rev()
            .map(|text| text.trim())
            .take_while(|text| text.starts_with("///") || text.starts_with("#["))
            .filter_map(|text| text.strip_prefix("///").map(|rest| rest.trim().to_string()))
            .collect();
        doc.reverse();
        all.push(Function {
            name: bare[at + 3..name_end].to_string(),
            line,
            end: line_of(bare, close),
            public: before.trim_start().starts_with("pub "),
            signature: bare[at + 3..open].to_string(),
            doc,
        });
    }
    all
}

/// The same text with comments, and what stands inside strings and character literals, replaced by blanks.
pub fn bare(text: &str) -> String {
    let bytes = text.as_bytes();
    let mut out = Vec::with_capacity(bytes.len());
    let mut k = 0;
    while k < bytes.len() {
        let end = skipped(text, k);
        if end > k {
            out.extend(bytes[k..end].iter().map(|&b| if b == b'\n' { b'\n' } else { b' ' }));
            k = end;
        } else {
            out.push(bytes[k]);
            k += 1;
        }
    }
    String::from_utf8_lossy(&out).into_owned()
}

/// Where the comment, string or character literal that starts at `k` ends; `k` itself if none starts there.
fn skipped(text: &str, k: usize) -> usize {
    let bytes = text.as_bytes();
    let rest = &text.as_bytes()[k..];
    let until = |needle: &str, from: usize| text[from..].find(needle).map_or(text.len(), |f| from + f);
    if rest.starts_with(b"//") {
        return until("\n", k);
    }
    if rest.starts_with(b"/*") {
        return comment_end(bytes, k);
    }
    let after_name = k > 0 && is_name(bytes[k - 1]);
    if rest[0] == b'r' && (!after_name || bytes[k - 1] == b'b') {
        let hashes = rest[1..].iter().take_while(|&&b| b == b'#').count();
        if rest.get(1 + hashes) == Some(&b'"') {
            let close = format!("\"{}", "#".repeat(hashes));
            return (until(&close, k + 2 + hashes) + close.len()).min(text.len());
        }
    }
    match rest[0] {
        b'"' => quote_end(bytes, k, b'"'),
        b'\'' if rest.get(1) == Some(&b'\\') => quote_end(bytes, k, b'\''),
        b'\'' => {
            let width = text[k + 1..].chars().next().map_or(0, char::len_utf8);
            // A quote with one character and another quote is a literal; else it is a lifetime.
            if width > 0 && rest.get(1 + width) == Some(&b'\'') { k + 2 + width } else { k }
        }
        _ => k,
    }
}

fn comment_end(bytes: &[u8], from: usize) -> usize {
    let (mut k, mut depth) = (from, 0);
    while k < bytes.len() {
        if bytes[k..].starts_with(b"/*") {
            depth += 1;
            k += 2;
        } else if bytes[k..].starts_with(b"*/") {
            depth -= 1;
            k += 2;
            if depth == 0 {
                break;
            }
        } else {
            k += 1;
        }
    }
    k.min(bytes.len())
}

fn quote_end(bytes: &[u8], from: usize, close: u8) -> usize {
    let mut k = from + 1;
    while k < bytes.len() && bytes[k] != close {
        k += if bytes[k] == b'\\' { 2 } else { 1 };
    }
    (k + 1).min(bytes.len())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn comments_and_strings_are_blanked_and_lines_kept() {
        let text = "a /* { /* } */ */ b // println!\nlet s = \"HashMap \\\" {\"; let c = '{'; let l: &'a str = r#\"}\"#;\n";
        let bare = bare(text);
        assert_eq!(bare.len(), text.len());
        assert_eq!(bare.lines().count(), 2);
        for word in ["println", "HashMap", "{", "}"] {
            assert!(!bare.contains(word), "{word} is still in {bare:?}");
        }
        assert!(bare.contains("&'a str"));
    }

    #[test]
    fn functions_have_their_lines_docs_and_visibility() {
        let text = "/// Gives one.\n#[must_use]\npub fn one(a: [f64; 3]) -> f64 {\n    if a[0] > 0.0 { 1.0 } else { 2.0 }\n}\n\ntrait T {\n    fn none(&self);\n}\n";
        let source = Source::new("crates/x/src/a.rs", text);
        assert_eq!(source.functions.len(), 1);
        let one = &source.functions[0];
        assert_eq!((one.name.as_str(), one.line, one.end, one.public), ("one", 3, 5, true));
        assert_eq!(one.doc, ["Gives one."]);
        assert_eq!(source.house(), "x");
    }

    #[test]
    fn test_modules_are_known() {
        let text = "fn a() {}\n#[cfg(test)]\nmod tests {\n    fn b() {}\n}\nfn c() {}\n";
        let source = Source::new("crates/x/src/a.rs", text);
        let tested: Vec<bool> = (1..=6).map(|line| source.is_test(line)).collect();
        assert_eq!(tested, [false, true, true, true, true, false]);
        assert!(Source::new("crates/x/tests/a.rs", text).is_test(1));
    }
}
