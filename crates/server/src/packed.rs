//! A bike of one's own inside an address: its file deflated (RFC 1951) and written in the URL alphabet of base 64 (RFC 4648, 5).

use std::io::{Read, Write};

use base64::{Engine, engine::general_purpose::URL_SAFE_NO_PAD};
use flate2::{Compression, read::DeflateDecoder, write::DeflateEncoder};

/// The longest file that is unpacked, in bytes: a build with every part written out takes a tenth. A small address may unpack to
/// gigabytes otherwise.
pub(crate) const MOST_BYTES: usize = 256 * 1024;

/// The longest that it may be packed: an address may have 65 534 bytes, and a bench says more than its bike.
pub(crate) const MOST_PACKED: usize = 60_000;

/// Packs a file.
pub(crate) fn packed(text: &str) -> String {
    let mut encoder = DeflateEncoder::new(Vec::new(), Compression::best());
    // Writing into memory cannot fail.
    let bytes = encoder.write_all(text.as_bytes()).and_then(|()| encoder.finish()).unwrap_or_default();
    URL_SAFE_NO_PAD.encode(bytes)
}

/// Unpacks it; `None` if it is not what [`packed`] gives, or too long.
pub(crate) fn unpacked(packed: &str) -> Option<String> {
    let bytes = URL_SAFE_NO_PAD.decode(packed).ok()?;
    let mut text = String::new();
    DeflateDecoder::new(bytes.as_slice()).take(MOST_BYTES as u64 + 1).read_to_string(&mut text).ok()?;
    (text.len() <= MOST_BYTES).then_some(text)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_packed_unpacks() {
        for text in ["", "name = \"Heron\"\n", "ä ± ≥\n", &"x".repeat(200_000)] {
            assert_eq!(unpacked(&packed(text)).as_deref(), Some(text));
        }
    }

    #[test]
    fn what_was_not_packed_and_what_would_fill_the_memory_is_refused() {
        assert_eq!(unpacked("%%"), None);
        assert_eq!(unpacked("AAAA"), None);
        assert_eq!(unpacked(&packed(&"x".repeat(300_000))), None);
    }
}
