//! From good input to bad: bytes changed, spans cut, doubled and swapped, numbers and words put in.

use measure::chance::Draws;

/// Words that break parsers.
const WORDS: [&[u8]; 40] = [
    b"NaN",
    b"nan",
    b"inf",
    b"-inf",
    b"Infinity",
    b"null",
    b"true",
    b"1e999",
    b"-1e999",
    b"1e-999",
    b"0",
    b"-0.0",
    b"180",
    b"-180.0000001",
    b"90",
    b"-90",
    b"360",
    b"999999999999999999999",
    b"4294967296",
    b"18446744073709551616",
    b"\"",
    b"\"\"\"",
    b"'",
    b"[",
    b"]",
    b"{",
    b"}",
    b"[[",
    b"]]",
    b",",
    b";",
    b"\t",
    b"\r\n",
    b"\0",
    b"\xEF\xBB\xBF",
    b"\xFF\xFE",
    b"\xC3",
    b"\xF0\x9F\x8C\x8A",
    b"#",
    b"=",
];

/// One case: a good input with a few things done to it.
pub fn case(seeds: &[Vec<u8>], draws: &mut Draws) -> Vec<u8> {
    let mut bytes = seeds[draws.index(seeds.len())].clone();
    let steps = 1 + draws.index(8);
    for _ in 0..steps {
        step(&mut bytes, seeds, draws);
    }
    bytes
}

fn step(bytes: &mut Vec<u8>, seeds: &[Vec<u8>], draws: &mut Draws) {
    if bytes.is_empty() {
        bytes.extend_from_slice(WORDS[draws.index(WORDS.len())]);
        return;
    }
    let (from, to) = span(bytes.len(), draws);
    match draws.index(9) {
        0 => bytes[from] ^= 1 << draws.index(8),
        1 => bytes[from] = draws.index(256) as u8,
        2 => drop(bytes.drain(from..to)),
        3 => {
            let copy = bytes[from..to].to_vec();
            let at = draws.index(bytes.len() + 1);
            bytes.splice(at..at, copy);
        }
        4 => {
            bytes.splice(from..from, WORDS[draws.index(WORDS.len())].iter().copied());
        }
        5 => bytes.truncate(from),
        6 => {
            let other = &seeds[draws.index(seeds.len())];
            let (start, end) = span(other.len().max(1), draws);
            let piece = other.get(start..end.min(other.len())).unwrap_or(&[]).to_vec();
            bytes.splice(from..to, piece);
        }
        7 => number(bytes, from, draws),
        _ => {
            let copy = bytes[from..to].repeat(1 + draws.index(40));
            bytes.splice(from..to, copy);
        }
    }
    bytes.truncate(200_000);
}

/// A span, mostly short.
fn span(length: usize, draws: &mut Draws) -> (usize, usize) {
    let from = draws.index(length);
    let most = if draws.index(4) == 0 { length } else { 32 };
    (from, (from + 1 + draws.index(most)).min(length))
}

/// The number nearest after a place becomes another number.
fn number(bytes: &mut Vec<u8>, from: usize, draws: &mut Draws) {
    let digit = |b: &u8| b.is_ascii_digit() || matches!(b, b'.' | b'-');
    let Some(start) = bytes[from..].iter().position(digit).map(|n| n + from) else { return };
    let length = bytes[start..].iter().take_while(|b| digit(b)).count();
    let value = match draws.index(5) {
        0 => draws.between(-400.0, 400.0).to_string(),
        1 => (draws.index(2000) as i64 - 1000).to_string(),
        2 => format!("{:e}", draws.between(-1.0, 1.0) * 10f64.powi(draws.index(600) as i32 - 300)),
        3 => String::from_utf8_lossy(WORDS[draws.index(WORDS.len())]).into_owned(),
        _ => {
            let own = String::from_utf8_lossy(&bytes[start..start + length]).parse::<f64>().unwrap_or(1.0);
            (own + draws.between(-1e-3, 1e-3)).to_string()
        }
    };
    bytes.splice(start..start + length, value.into_bytes());
}
