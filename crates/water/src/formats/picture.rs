//! What a picture file says of itself: kind, size, and whether it lies upright. Pixels are the browser's business.

/// A picture as its file describes it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Picture {
    /// Media type.
    pub media: &'static str,
    /// Pixels from left to right, as stored.
    pub width_px: u32,
    /// Pixels from top to bottom, as stored.
    pub height_px: u32,
    /// No note in the file asks a viewer to turn or mirror it.
    pub upright: bool,
}

const PNG: &[u8] = b"\x89PNG\r\n\x1a\n";
/// Tag of Exif for how the stored picture is to be turned; 1 is not at all.
const ORIENTATION: u16 = 0x0112;

/// Reads the head of a JPEG or PNG file, and looks whether the file goes on to its end.
///
/// # Inputs
/// - `bytes`: the whole file; anything at all
///
/// # Gives
/// What it is, or in words why it is no picture that a browser shows.
///
/// # Source
/// Marker segments of ITU-T T.81, chunks of the PNG specification (W3C), the orientation tag of Exif 2.3.
pub fn picture(bytes: &[u8]) -> Result<Picture, String> {
    let found = if bytes.starts_with(PNG) {
        png(bytes)
    } else if bytes.starts_with(&[0xFF, 0xD8]) {
        jpeg(bytes)
    } else if bytes.is_empty() {
        return Err("is empty".into());
    } else {
        return Err("is no JPEG and no PNG picture".into());
    };
    match found {
        Some(picture) if picture.width_px > 0 && picture.height_px > 0 => Ok(picture),
        Some(_) => Err("is a picture without pixels".into()),
        None => Err("is cut short, or is no picture inside".into()),
    }
}

fn png(bytes: &[u8]) -> Option<Picture> {
    let mut at = PNG.len();
    let mut size = None;
    let mut has_pixels = false;
    loop {
        let length = u32::from_be_bytes(four(bytes, at)?) as usize;
        let kind = four(bytes, at + 4)?;
        // Length, kind, content, check sum.
        let next = at.checked_add(length)?.checked_add(12)?;
        if next > bytes.len() {
            return None;
        }
        match &kind {
            b"IHDR" if length >= 8 => {
                size = Some((
                    u32::from_be_bytes(four(bytes, at + 8)?),
                    u32::from_be_bytes(four(bytes, at + 12)?),
                ));
            }
            b"IDAT" => has_pixels = true,
            b"IEND" => break,
            _ => {}
        }
        at = next;
    }
    let (width_px, height_px) = size.filter(|_| has_pixels)?;
    Some(Picture { media: "image/png", width_px, height_px, upright: true })
}

fn jpeg(bytes: &[u8]) -> Option<Picture> {
    let mut at = 2;
    let mut size = None;
    let mut upright = true;
    loop {
        if *bytes.get(at)? != 0xFF {
            return None;
        }
        let marker = *bytes.get(at + 1)?;
        // Fill bytes may stand before a marker.
        if marker == 0xFF {
            at += 1;
            continue;
        }
        if (0xD0..=0xD8).contains(&marker) || marker == 0x01 {
            at += 2;
            continue;
        }
        let length = usize::from(u16::from_be_bytes([*bytes.get(at + 2)?, *bytes.get(at + 3)?]));
        let content = bytes.get(at + 4..at + 2 + length)?;
        match marker {
            0xC4 | 0xC8 | 0xCC => {}
            0xC0..=0xCF => {
                let side =
                    |k: usize| Some(u32::from(u16::from_be_bytes([*content.get(k)?, *content.get(k + 1)?])));
                size = Some((side(3)?, side(1)?));
            }
            0xE1 => upright &= orientation(content).is_none_or(|turn| turn == 1),
            0xDA => break,
            0xD9 => return None,
            _ => {}
        }
        at += 2 + length;
    }
    let ends = bytes[at..].windows(2).any(|pair| pair == [0xFF, 0xD9]);
    let (width_px, height_px) = size.filter(|_| ends)?;
    Some(Picture { media: "image/jpeg", width_px, height_px, upright })
}

/// The orientation that an Exif segment asks for.
fn orientation(content: &[u8]) -> Option<u16> {
    let tiff = content.strip_prefix(b"Exif\0\0")?;
    let little = tiff.starts_with(b"II");
    let two = |at: usize| {
        let pair = [*tiff.get(at)?, *tiff.get(at + 1)?];
        Some(if little { u16::from_le_bytes(pair) } else { u16::from_be_bytes(pair) })
    };
    let first = four(tiff, 4)?;
    let first = if little { u32::from_le_bytes(first) } else { u32::from_be_bytes(first) } as usize;
    let count = usize::from(two(first)?);
    let entry = |n: usize| first.checked_add(2 + 12 * n);
    (0..count).find_map(|n| (two(entry(n)?)? == ORIENTATION).then(|| two(entry(n)? + 8)).flatten())
}

fn four(bytes: &[u8], at: usize) -> Option<[u8; 4]> {
    bytes.get(at..at.checked_add(4)?)?.try_into().ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The least that has the outer form of a PNG.
    fn a_png(width: u32, height: u32) -> Vec<u8> {
        let mut bytes = PNG.to_vec();
        let mut chunk = |kind: &[u8; 4], content: &[u8]| {
            bytes.extend((content.len() as u32).to_be_bytes());
            bytes.extend(kind);
            bytes.extend(content);
            bytes.extend([0; 4]);
        };
        let size: Vec<u8> = [width.to_be_bytes(), height.to_be_bytes()].concat();
        chunk(b"IHDR", &[size.as_slice(), &[8, 2, 0, 0, 0]].concat());
        chunk(b"IDAT", &[0]);
        chunk(b"IEND", &[]);
        bytes
    }

    /// The least that has the outer form of a JPEG, with an Exif note how to turn it.
    fn a_jpeg(turn: Option<u16>) -> Vec<u8> {
        let mut bytes = vec![0xFF, 0xD8];
        if let Some(turn) = turn {
            let mut exif = b"Exif\0\0MM\0\x2A\0\0\0\x08\0\x01\x01\x12\0\x03\0\0\0\x01".to_vec();
            exif.extend(turn.to_be_bytes());
            exif.extend([0, 0]);
            bytes.extend([0xFF, 0xE1]);
            bytes.extend((exif.len() as u16 + 2).to_be_bytes());
            bytes.extend(exif);
        }
        bytes.extend([0xFF, 0xC0, 0, 8, 8, 0, 30, 0, 40, 3, 0xFF, 0xDA, 0, 2, 1, 2, 3, 0xFF, 0xD9]);
        bytes
    }

    #[test]
    fn size_and_kind_are_read() {
        let png = picture(&a_png(7, 5)).unwrap();
        assert_eq!((png.media, png.width_px, png.height_px, png.upright), ("image/png", 7, 5, true));
        let jpeg = picture(&a_jpeg(None)).unwrap();
        assert_eq!((jpeg.media, jpeg.width_px, jpeg.height_px, jpeg.upright), ("image/jpeg", 40, 30, true));
        assert!(picture(&a_jpeg(Some(1))).unwrap().upright);
        assert!(!picture(&a_jpeg(Some(6))).unwrap().upright);
    }

    #[test]
    fn what_is_no_picture_is_said_and_nothing_that_is_cut_short_passes() {
        for bytes in [&b""[..], b"GIF89a", b"<svg/>", b"\xFF\xD8\xFF", PNG] {
            assert!(picture(bytes).is_err(), "{bytes:?}");
        }
        assert!(picture(&a_png(0, 5)).is_err());
        for whole in [a_png(7, 5), a_jpeg(Some(6))] {
            for most in 0..whole.len() {
                assert!(picture(&whole[..most]).is_err(), "{most} of {}", whole.len());
            }
        }
    }
}
