//! Pictures one after the other as an animated PNG: the first one whole, of each further one only what differs.
//!
//! A pixel that stays is written as fully transparent and the pictures are laid over one another (PNG, third edition: `fcTL`
//! with blend "over" and dispose "none"), within the least box around everything that differs.

use png::{BitDepth, BlendOp, ColorType, Compression, DisposeOp, Encoder, EncodingError, SrgbRenderingIntent};
use resvg::tiny_skia::Pixmap;

use crate::picture::PictureError;

/// Bytes of a pixel: red, green, blue, opacity.
const PIXEL: usize = 4;

impl From<EncodingError> for PictureError {
    fn from(error: EncodingError) -> Self {
        Self::Render(error.to_string())
    }
}

/// Writes pictures of one size, each shown for one part of a second but the first and the last, which are shown for `hold` seconds.
/// What knows no movement is given the last one.
pub(super) fn written(pictures: &[Pixmap], a_second: u16, hold: f64) -> Result<Vec<u8>, PictureError> {
    let (Some(first), Some(last)) = (pictures.first(), pictures.last()) else {
        return Err(PictureError::Render("there is no picture to write".to_owned()));
    };
    let steps: Vec<Step> = std::iter::once(Some(Step::whole(first)))
        .chain(pictures.windows(2).map(|pair| Step::between(&pair[0], &pair[1])))
        .flatten()
        .collect();
    let mut bytes = Vec::new();
    let mut encoder = Encoder::new(&mut bytes, first.width(), first.height());
    encoder.set_color(ColorType::Rgba);
    encoder.set_depth(BitDepth::Eight);
    encoder.set_compression(Compression::Balanced);
    encoder.set_source_srgb(SrgbRenderingIntent::Perceptual);
    encoder.set_animated(u32::try_from(steps.len()).unwrap_or(u32::MAX), 1)?;
    encoder.set_sep_def_img(true)?;
    encoder.set_dispose_op(DisposeOp::None)?;
    let mut writer = encoder.write_header()?;
    writer.write_image_data(last.data())?;
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "some seconds in thousandths")]
    let held = (hold * 1000.0) as u16;
    for (place, step) in steps.iter().enumerate() {
        let stands = place == 0 || place + 1 == steps.len();
        let (part, whole) = if stands { (held, 1000) } else { (1, a_second) };
        writer.set_frame_delay(part, whole)?;
        writer.set_blend_op(if place == 0 { BlendOp::Source } else { BlendOp::Over })?;
        // A box is checked against the place of the one before it.
        writer.set_frame_position(0, 0)?;
        writer.set_frame_dimension(step.width, step.height)?;
        writer.set_frame_position(step.left, step.top)?;
        writer.write_image_data(&step.pixels)?;
    }
    writer.finish()?;
    Ok(bytes)
}

/// What a picture lays over the one before it.
struct Step {
    left: u32,
    top: u32,
    width: u32,
    height: u32,
    pixels: Vec<u8>,
}

impl Step {
    fn whole(picture: &Pixmap) -> Self {
        Self { left: 0, top: 0, width: picture.width(), height: picture.height(), pixels: picture.data().to_vec() }
    }

    /// `None` if nothing differs.
    fn between(before: &Pixmap, after: &Pixmap) -> Option<Self> {
        let row_bytes = after.width() as usize * PIXEL;
        let rows = || before.data().chunks_exact(row_bytes).zip(after.data().chunks_exact(row_bytes));
        let differs = |(a, b): &(&[u8], &[u8])| a != b;
        let top = rows().position(|pair| differs(&pair))?;
        let bottom = rows().rposition(|pair| differs(&pair))?;
        let pixels = |(a, b): (&'_ [u8], &'_ [u8])| -> Vec<bool> {
            a.chunks_exact(PIXEL).zip(b.chunks_exact(PIXEL)).map(|(a, b)| a != b).collect()
        };
        let (mut left, mut right) = (usize::MAX, 0);
        for pair in rows().skip(top).take(bottom - top + 1) {
            let differing = pixels(pair);
            left = left.min(differing.iter().position(|it| *it).unwrap_or(usize::MAX));
            right = right.max(differing.iter().rposition(|it| *it).unwrap_or(0));
        }
        let mut laid = Vec::with_capacity((right - left + 1) * (bottom - top + 1) * PIXEL);
        for (a, b) in rows().skip(top).take(bottom - top + 1) {
            let within = left * PIXEL..(right + 1) * PIXEL;
            for (a, b) in a[within.clone()].chunks_exact(PIXEL).zip(b[within].chunks_exact(PIXEL)) {
                laid.extend_from_slice(if a == b { &[0; PIXEL] } else { b });
            }
        }
        let short = |length: usize| u32::try_from(length).unwrap_or(u32::MAX);
        Some(Self {
            left: short(left),
            top: short(top),
            width: short(right - left + 1),
            height: short(bottom - top + 1),
            pixels: laid,
        })
    }
}
