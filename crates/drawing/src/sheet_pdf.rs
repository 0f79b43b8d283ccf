//! The sheet on paper: A4 across, PDF, all lines and letters as such.
//!
//! A workshop drawing sheet: frame with centring marks and fields after ISO 5457, title block after ISO 7200 at the bottom right, the
//! drawing at the top left over two of three columns, the verdict at the top right. Everything goes on one page if type of a
//! readable size lets it; if not, the page after carries the rest.

use std::fmt;

use krilla::{Document, geom::Size, metadata::Metadata, page::PageSettings};
use krilla_svg::{SurfaceExt, SvgSettings};
use quantity::{Dimension, print::Units};
use stand::answer::{Answer, Pose};
use writing::Text;

use crate::{
    ink::PRINT,
    letters::{Face, Weight},
    picture::{PictureError, tree},
    sheet::swap_title,
    side_view::{Drawing, PIXEL_MM, Setting, side_view},
    style,
    svg::{Anchor, Ink, number},
    verdict,
};

mod content;
mod flow;
mod setter;

use content::Detail;
use flow::{Piece, Placed, Region, fill};
use setter::{Setter, short};

/// A4 across in CSS pixels.
const WIDTH: f64 = 297.0 / PIXEL_MM;
const HEIGHT: f64 = 210.0 / PIXEL_MM;
/// The same in points, as PDF counts.
const POINTS: [f32; 2] = [841.89, 595.28];

/// The frame of ISO 5457: 20 mm at the left edge for filing, 10 mm elsewhere.
const LEFT: f64 = 20.0 / PIXEL_MM;
const MARGIN: f64 = 10.0 / PIXEL_MM;
/// Width of the border with the fields.
const BORDER: f64 = 5.0 / PIXEL_MM;
/// Space between frame and content, and between columns.
const PAD: f64 = 13.0;
const GAP: f64 = 20.0;
/// Height of the title block.
const BLOCK: f64 = 94.0;

/// Share of the page's height that the drawing may take, with room and without.
const TALL: f64 = 0.6;
const LOW: f64 = 0.5;

/// Type sizes (CSS pixels), details and the drawing's share, best first; the first that needs the fewest pages is taken. 8.3 px are
/// 6.2 pt, the least that reads well on paper.
const TRIED: [(f64, Detail, f64); 9] = [
    (11.0, Detail::Full, TALL),
    (10.4, Detail::Full, TALL),
    (9.8, Detail::Full, TALL),
    (9.3, Detail::Full, TALL),
    (10.0, Detail::Brief, TALL),
    (9.4, Detail::Brief, TALL),
    (9.2, Detail::Brief, LOW),
    (8.7, Detail::Brief, LOW),
    (8.3, Detail::Brief, LOW),
];

/// Why there is no PDF.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum PdfError {
    /// A page could not be drawn.
    Page(PictureError),
    /// The file could not be written together; says why.
    File(String),
}

impl fmt::Display for PdfError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Page(error) => write!(f, "a page of the sheet could not be drawn: {error}"),
            Self::File(why) => write!(f, "the PDF could not be put together: {why}"),
        }
    }
}

impl std::error::Error for PdfError {
    fn source(&self) -> Option<&(dyn std::error::Error + 'static)> {
        match self {
            Self::Page(error) => Some(error),
            Self::File(_) => None,
        }
    }
}

impl From<PictureError> for PdfError {
    fn from(error: PictureError) -> Self {
        Self::Page(error)
    }
}

/// The sheet as a PDF file.
///
/// # Errors
///
/// [`PdfError`] if a page cannot be drawn or the file not be written; no answer is known that leads there.
pub fn sheet_pdf(answer: &Answer, units: Units, words: Option<&Text>) -> Result<Vec<u8>, PdfError> {
    let mut document = Document::new();
    document.set_metadata(
        Metadata::new()
            .title(format!("{}: {}", answer.bike, answer.headline))
            .language("en".to_owned())
            .creator(format!("Swapstand {}", answer.program)),
    );
    let settings =
        PageSettings::from_wh(POINTS[0], POINTS[1]).ok_or_else(|| PdfError::File("the page has no size".to_owned()))?;
    let size = Size::from_wh(POINTS[0], POINTS[1]).ok_or_else(|| PdfError::File("the page has no size".to_owned()))?;
    for page in pages(answer, units, words) {
        let tree = tree(&page)?;
        let mut page = document.start_page_with(settings.clone());
        let mut surface = page.surface();
        surface.draw_svg(&tree, size, SvgSettings::default());
        surface.finish();
        page.finish();
    }
    document.finish().map_err(|e| PdfError::File(format!("{e:?}")))
}

/// The pages of the sheet, an SVG each, A4 across at 96 pixels to the inch.
pub fn pages(answer: &Answer, units: Units, words: Option<&Text>) -> Vec<String> {
    let (tall, low) = (Sheet::drawing(answer, units, TALL), Sheet::drawing(answer, units, LOW));
    let mut best: Option<(usize, Sheet)> = None;
    for (size, detail, share) in TRIED {
        let drawing = if share < TALL { low.clone() } else { tall.clone() };
        let sheet = Sheet::new(answer, units, words, drawing, size, detail);
        let cost = sheet.cost();
        if best.as_ref().is_none_or(|(least, _)| cost < *least) {
            best = Some((cost, sheet));
        }
        if cost == LEAST_COST {
            break;
        }
    }
    best.map(|(_, sheet)| sheet.written(answer, units)).unwrap_or_default()
}

/// Cost of a sheet of one page with its parts list in one piece.
const LEAST_COST: usize = 2;

/// Left edges of the three columns and their width.
fn columns() -> ([f64; 3], f64) {
    let inner = WIDTH - LEFT - MARGIN - 2.0 * PAD;
    let width = (inner - 2.0 * GAP) / 3.0;
    let x = LEFT + PAD;
    ([x, x + width + GAP, x + 2.0 * (width + GAP)], width)
}

/// A sheet with all its pieces, before they are placed.
struct Sheet {
    drawing: Option<Drawing>,
    parts: Vec<Piece>,
    sections: Vec<Piece>,
}

impl Sheet {
    fn drawing(answer: &Answer, units: Units, share: f64) -> Option<Drawing> {
        let width = 2.0 * columns().1 + GAP;
        let setting = Setting {
            width,
            height: Some(HEIGHT * share),
            text: if share < TALL { 8.7 } else { 9.4 },
            face: Face::Print,
            sparse: false,
        };
        side_view(answer, Pose::Unladen, units, setting)
    }

    fn new(answer: &Answer, units: Units, words: Option<&Text>, drawing: Option<Drawing>, size: f64, detail: Detail) -> Self {
        let (_, width) = columns();
        let setter = Setter { width, size };
        Self {
            drawing,
            parts: content::parts_list(answer, setter),
            sections: content::sections(answer, units, words, setter, detail),
        }
    }

    /// Top of what stands under the drawing.
    fn under_drawing(&self) -> f64 {
        MARGIN + self.drawing.as_ref().map_or(PAD, |d| d.height + 0.6 * PAD)
    }

    /// Parts list and sections in their places: the sections begin at the top right, go on under the drawing, then overleaf.
    fn placed(&self) -> (Vec<Placed<'_>>, Vec<Placed<'_>>) {
        let ([first, second, third], _) = columns();
        let bottom = HEIGHT - MARGIN - PAD;
        let top = MARGIN + PAD;
        let overleaf = move |page: usize| {
            [
                Region { page, x: first, top, bottom },
                Region { page, x: second, top, bottom },
                Region { page, x: third, top, bottom: bottom - BLOCK + 0.5 * PAD },
            ]
        };
        let under = self.under_drawing();
        let parts = fill(
            &self.parts,
            [Region { page: 0, x: first, top: under, bottom }, Region { page: 0, x: second, top: under, bottom }]
                .into_iter()
                .chain((1..).flat_map(overleaf)),
        );
        // What the parts list leaves free.
        let end_of_parts = |x: f64| {
            let ends = parts.iter().filter(|p| p.page == 0 && (p.at[0] - x).abs() < 1.0).map(|p| p.at[1] + p.piece.height);
            ends.reduce(f64::max).map_or(under, |end| end + 0.4 * GAP)
        };
        let parts_overleaf = parts.iter().filter(|p| p.page > 0).count() > 0;
        let on_first = [
            Region { page: 0, x: third, top, bottom: bottom - BLOCK + 0.5 * PAD },
            Region { page: 0, x: first, top: end_of_parts(first), bottom },
            Region { page: 0, x: second, top: end_of_parts(second), bottom },
        ];
        // A parts list that goes on overleaf has its column there to itself.
        let next = usize::from(parts_overleaf) + 1;
        let sections = fill(&self.sections, on_first.into_iter().chain((next..).flat_map(overleaf)));
        (parts, sections)
    }

    fn page_count(&self) -> usize {
        let (parts, sections) = self.placed();
        1 + parts.iter().chain(&sections).map(|p| p.page).max().unwrap_or(0)
    }

    /// Pages count most; a parts list that is torn apart is worse than one that is not.
    fn cost(&self) -> usize {
        let (parts, _) = self.placed();
        let torn = parts.windows(2).any(|pair| pair[0].page != pair[1].page || pair[1].at[1] < pair[0].at[1]);
        2 * self.page_count() + usize::from(torn)
    }

    fn written(&self, answer: &Answer, units: Units) -> Vec<String> {
        let (parts, sections) = self.placed();
        let count = self.page_count();
        (0..count)
            .map(|page| {
                let mut ink = Ink::new();
                frame(&mut ink);
                if page == 0 {
                    if let Some(drawing) = &self.drawing {
                        ink.group("d", [columns().0[0], MARGIN + 0.3 * PAD], &drawing.elements);
                    }
                    divide(&mut ink, self.under_drawing());
                } else {
                    divide(&mut ink, MARGIN);
                }
                flow::write(&mut ink, &parts, page);
                flow::write(&mut ink, &sections, page);
                title_block(&mut ink, answer, units, self.drawing.as_ref(), page + 1, count);
                page_svg(&ink.into_string())
            })
            .collect()
    }
}

/// Thin lines between the columns: the third all the way, the first two only below `from`.
fn divide(ink: &mut Ink, from: f64) {
    let ([_, second, third], _) = columns();
    ink.line("thinrule", [third - GAP / 2.0, MARGIN], [third - GAP / 2.0, HEIGHT - MARGIN]);
    ink.line("hair", [second - GAP / 2.0, from.max(MARGIN + PAD)], [second - GAP / 2.0, HEIGHT - MARGIN - PAD]);
    if from > MARGIN {
        ink.line("thinrule", [LEFT, from - 0.3 * PAD], [third - GAP / 2.0, from - 0.3 * PAD]);
    }
}

fn page_svg(elements: &str) -> String {
    let css = PRINT.resolve(
        ".n{font-weight:700}.sm{fill:var(--faint)}.t.on{fill:var(--mark)}.alarm{fill:var(--short)}\
         .rule{stroke:var(--ink);stroke-width:1.1}.thinrule{stroke:var(--ink);stroke-width:.8}.hair{stroke:var(--hair);stroke-width:.7}\
         .frame{fill:none;stroke:var(--ink);stroke-width:2.3}.border{fill:none;stroke:var(--ink);stroke-width:.7}\
         .wash{fill:var(--mark-wash)}.caution{fill:var(--short-wash);stroke:var(--short);stroke-width:1.6}text{fill:var(--ink)}",
    );
    // `text` is named first of all, so that classes win over it.
    let (w, h) = (number(WIDTH), number(HEIGHT));
    format!(
        r#"<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {w} {h}" width="{w}" height="{h}"><style>{}{}{css}</style>{elements}</svg>"#,
        style::alone(&PRINT),
        verdict::style_alone(&PRINT),
    )
}

/// Frame, border with fields of 50 mm counted from the centring marks, letters down and figures across.
fn frame(ink: &mut Ink) {
    let (right, bottom) = (WIDTH - MARGIN, HEIGHT - MARGIN);
    ink.rect("border", LEFT - BORDER, MARGIN - BORDER, right - LEFT + 2.0 * BORDER, bottom - MARGIN + 2.0 * BORDER);
    ink.rect("frame", LEFT, MARGIN, right - LEFT, bottom - MARGIN);
    let (middle_x, middle_y) = (f64::midpoint(LEFT, right), HEIGHT / 2.0);
    let field = 50.0 / PIXEL_MM;
    let marks = |from: f64, to: f64, middle: f64| -> Vec<f64> {
        let half = ((to - from) / 2.0 / field).floor();
        let mut at = middle - half * field;
        let mut all = vec![from];
        while at < to - 1.0 {
            if at > from + 1.0 {
                all.push(at);
            }
            at += field;
        }
        all.push(to);
        all
    };
    let size = 8.0;
    let across = marks(LEFT, right, middle_x);
    for (at, pair) in across.windows(2).enumerate() {
        for (edge, outer) in [(MARGIN, MARGIN - BORDER), (bottom, bottom + BORDER)] {
            if at > 0 {
                ink.line("border", [pair[0], edge], [pair[0], outer]);
            }
            ink.text(
                "",
                [f64::midpoint(pair[0], pair[1]), f64::midpoint(edge, outer) + 0.36 * size],
                size,
                Anchor::Middle,
                &(at + 1).to_string(),
            );
        }
    }
    let down = marks(MARGIN, bottom, middle_y);
    for (pair, letter) in down.windows(2).zip("ABCDEFGH".chars()) {
        for (edge, outer) in [(LEFT, LEFT - BORDER), (right, right + BORDER)] {
            if pair[0] > MARGIN {
                ink.line("border", [edge, pair[0]], [outer, pair[0]]);
            }
            let x = f64::midpoint(edge, outer);
            ink.text("", [x, f64::midpoint(pair[0], pair[1]) + 0.36 * size], size, Anchor::Middle, &letter.to_string());
        }
    }
    // Centring marks: from the border into the frame.
    for (a, b) in [
        ([middle_x, MARGIN - BORDER], [middle_x, MARGIN + 5.0]),
        ([middle_x, bottom + BORDER], [middle_x, bottom - 5.0]),
        ([LEFT - BORDER, middle_y], [LEFT + 5.0, middle_y]),
        ([right + BORDER, middle_y], [right - 5.0, middle_y]),
    ] {
        ink.line("frame", a, b);
    }
}

/// The title block: what, for whom, at which scale, by what; date and checks to be filled in by hand.
fn title_block(ink: &mut Ink, answer: &Answer, units: Units, drawing: Option<&Drawing>, page: usize, pages: usize) {
    let ([_, _, third], width) = columns();
    let left = third - GAP / 2.0;
    let right = WIDTH - MARGIN;
    let top = HEIGHT - MARGIN - BLOCK;
    let row = BLOCK / 4.0;
    let full = right - left;
    debug_assert!(full > width);
    let scale = drawing.map_or_else(|| "–".to_owned(), Drawing::scale_text);
    let dimensions = units.unit(Dimension::Length).symbol().to_owned();
    let sheet = format!("{page} of {pages}");
    let rows: [Vec<(f64, &str, String)>; 4] = [
        vec![(1.0, "Bike", answer.bike.clone())],
        vec![(1.0, "Swap", swap_title(answer, units))],
        vec![
            (0.46, "Rider", answer.rider.clone().unwrap_or_else(|| "not stated".to_owned())),
            (0.2, "Scale", scale),
            (0.16, "Dimensions", dimensions),
            (0.18, "Sheet", sheet),
        ],
        vec![
            (0.34, "Drawn by", format!("Swapstand {}", answer.program)),
            (0.33, "Date", String::new()),
            (0.33, "Checked", String::new()),
        ],
    ];
    for (at, cells) in rows.iter().enumerate() {
        let y = top + row * at as f64;
        ink.line(if at == 0 { "rule" } else { "thinrule" }, [left, y], [right, y]);
        let mut x = left;
        for (share, label, value) in cells {
            if x > left {
                ink.line("thinrule", [x, y], [x, y + row]);
            }
            let cell = share * full;
            ink.text("sm", [x + 6.0, y + 8.6], 6.9, Anchor::Start, label);
            let weight = if at < 2 { Weight::Bold } else { Weight::Regular };
            let value = short(value, cell - 11.0, 9.6, weight);
            ink.text(if at < 2 { "n" } else { "" }, [x + 6.0, y + 19.2], 9.6, Anchor::Start, &value);
            x += cell;
        }
    }
}
