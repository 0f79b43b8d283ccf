//! The side view as a picture that stands alone: SVG with its colours inside, and PNG.

use std::{
    fmt,
    sync::{Arc, LazyLock},
};

use quantity::print::Units;
use resvg::{tiny_skia, usvg};
use stand::answer::{Answer, Pose};

use crate::{
    ink::LIGHT,
    letters::{FAMILY, Face, Weight, lines, shortened},
    side_view::{Drawing, Setting, side_view},
    style,
    svg::{Anchor, Ink, escaped, number},
    verdict,
};

/// Width of a picture's drawing, CSS pixels; a PNG is scaled from it.
const WIDTH: f64 = 1000.0;
/// Widest PNG, pixels. A wider one would be no use and a great deal of memory.
pub const WIDEST: u32 = 8192;

/// Why there is no picture.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum PictureError {
    /// The answer has no view of that pose.
    NoView(Pose),
    /// The width asked for, pixels, is not from 1 to [`WIDEST`].
    Width(u32),
    /// The drawing could not be rendered; says why.
    Render(String),
}

impl fmt::Display for PictureError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NoView(Pose::Unladen) => {
                write!(f, "the answer has no side view of the unladen bike, so there is nothing to draw")
            }
            Self::NoView(Pose::Sagged) => {
                write!(f, "the answer has no side view with the rider aboard, so there is nothing to draw")
            }
            Self::Width(width) => write!(f, "a picture of {width} pixels is not possible, expected a width from 1 to {WIDEST}"),
            Self::Render(why) => write!(f, "the drawing could not be rendered: {why}"),
        }
    }
}

impl std::error::Error for PictureError {}

/// The embedded typeface, for everything rendered here.
static FONTS: LazyLock<Arc<usvg::fontdb::Database>> = LazyLock::new(|| {
    let mut fonts = usvg::fontdb::Database::new();
    fonts.load_font_data(dejavu::sans_condensed::regular().to_vec());
    fonts.load_font_data(dejavu::sans_condensed::bold().to_vec());
    fonts.set_sans_serif_family(FAMILY);
    Arc::new(fonts)
});

/// Reads an SVG with the embedded typeface and nothing from outside.
pub(crate) fn tree(svg: &str) -> Result<usvg::Tree, PictureError> {
    let options = usvg::Options { fontdb: Arc::clone(&FONTS), font_family: FAMILY.to_owned(), ..usvg::Options::default() };
    usvg::Tree::from_str(svg, &options).map_err(|e| PictureError::Render(e.to_string()))
}

/// The picture as SVG: headline, bike, drawing.
///
/// # Errors
///
/// [`PictureError::NoView`] if the answer has no view of the pose.
pub fn svg(answer: &Answer, pose: Pose, units: Units) -> Result<String, PictureError> {
    let setting = Setting { width: WIDTH, height: None, text: 13.0, face: Face::Print, sparse: false };
    let drawing = side_view(answer, pose, units, setting).ok_or(PictureError::NoView(pose))?;
    Ok(composed(answer, &drawing))
}

fn composed(answer: &Answer, drawing: &Drawing) -> String {
    let mut ink = Ink::new();
    let margin = 26.0;
    let left = margin + 40.0;
    let room = WIDTH - left - margin;
    let mut y = margin + 21.0;
    ink.group("v", [margin, y - 21.0], &verdict::mark(answer.verdict));
    for line in lines(&answer.headline, room, 22.0, Weight::Bold, Face::Print) {
        ink.text("n", [left, y], 22.0, Anchor::Start, &line);
        y += 29.0;
    }
    let caption = format!("{} · scale {}", answer.bike, drawing.scale_text());
    ink.text("sm", [left, y - 4.0], 14.0, Anchor::Start, &shortened(&caption, room, 14.0, Weight::Regular, Face::Print));
    y += 14.0;
    ink.group("", [0.0, y], &drawing.elements);
    let height = y + drawing.height + 6.0;
    format!(
        r#"<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {w} {h}" width="{w}" height="{h}" role="img" aria-labelledby="t d"><title id="t">{}</title><desc id="d">{}</desc><style>{}{}</style><path fill="{}" d="M0 0H{w}V{h}H0Z"/><g class="d">{}</g></svg>"#,
        escaped(&format!("{}: {}", drawing.title, answer.headline)),
        escaped(&drawing.description),
        style::alone(&LIGHT),
        verdict::style_alone(&LIGHT),
        LIGHT.paper,
        ink.into_string(),
        w = number(WIDTH),
        h = number(height),
    )
}

/// The picture as PNG, `width` pixels wide.
///
/// # Errors
///
/// As [`svg`]; [`PictureError::Width`] if the width is not from 1 to [`WIDEST`].
pub fn png(answer: &Answer, pose: Pose, units: Units, width: u32) -> Result<Vec<u8>, PictureError> {
    if !(1..=WIDEST).contains(&width) {
        return Err(PictureError::Width(width));
    }
    let tree = tree(&svg(answer, pose, units)?)?;
    #[expect(clippy::cast_possible_truncation, reason = "the ratio is at most 8.192")]
    let scale = (f64::from(width) / WIDTH) as f32;
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a height in pixels: positive, some thousands")]
    let height = (tree.size().height() * scale).ceil() as u32;
    let mut pixels = tiny_skia::Pixmap::new(width, height.max(1)).ok_or(PictureError::Width(width))?;
    resvg::render(&tree, tiny_skia::Transform::from_scale(scale, scale), &mut pixels.as_mut());
    pixels.encode_png().map_err(|e| PictureError::Render(e.to_string()))
}
