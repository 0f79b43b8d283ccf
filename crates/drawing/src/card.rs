//! The card: one answer as a picture for a screen, to be read from across a room.
//!
//! One verdict, one headline, three numbers (`figures` has the rule that chooses them), one drawing, on a sheet with frame and centring
//! marks after ISO 5457 and a title block in the manner of ISO 7200. It is 1920 by 1080 pixels; all words stand inside the inner nine
//! tenths of it, which no screen and no programme's own writing cuts off. What is too long is first set smaller, then worded shorter,
//! and only then cut, behind a word and with an ellipsis.

use quantity::print::Units;
use resvg::tiny_skia;
use stand::answer::{Answer, Pose};

use crate::{
    board::{Board, Style},
    ink::Paper,
    letters::{Face, Weight, few_lines, lines},
    picture::{PictureError, tree},
    side_view::{Label, plate::plate},
    style,
    svg::{escaped, number, plain},
    verdict,
};

pub(crate) mod figures;
pub(crate) mod words;

use figures::{Figure, Tone, chosen};

/// Width of a card, pixels.
pub const WIDTH: u32 = 1920;
/// Height of a card, pixels.
pub const HEIGHT: u32 = 1080;
/// Numbers on a card.
pub const NUMBERS: usize = 3;
/// The least type size of what has to be read, pixels.
pub const LEAST_TEXT: f64 = 34.0;
/// Type size of what only labels or signs: headings of the title block.
const SMALL_TEXT: f64 = 25.0;

/// The frame's sides, and those of the edge the sheet would be trimmed to.
const FRAME: [f64; 4] = [48.0, 28.0, 1872.0, 1052.0];
const TRIM: [f64; 4] = [22.0, 10.0, 1898.0, 1070.0];
/// Where words begin and end.
const LEFT: f64 = 98.0;
const RIGHT: f64 = 1822.0;
/// Where the verdict ends, the title block begins, and what lies between is parted.
const BAND: f64 = 278.0;
const BLOCK: f64 = 942.0;
const PARTED: f64 = 1118.0;
/// Height of the line with the caution.
const STRIP: f64 = 58.0;
/// Side of the verdict's mark.
const MARK: f64 = 156.0;

/// What the figures' own style does not have: pens and inks for a screen.
const STYLE: &str = "\
.d .thick{stroke-width:4.6}.d .thin{stroke-width:2.2}\
.d .was{stroke:var(--mark);stroke-width:2.4;stroke-dasharray:13 7}\
.d .axis{stroke-width:1.9;stroke-dasharray:30 7 5 7}.d .hatch{stroke-width:1.7}.d .scale{stroke-width:2.2}\
.d .leader{stroke-width:2}\
.d .edge{stroke:var(--ink);stroke-width:4}.d .rule{stroke:var(--ink);stroke-width:2}\
.d .trim{stroke:var(--grey);stroke-width:1.4}.d .hairline{stroke:var(--grey);stroke-width:1.6}\
.d .moves{fill:var(--mark)}.d .falls{fill:var(--short)}\
.d .wash{fill:var(--short-wash)}.d .sign{stroke:var(--short);stroke-width:4;stroke-linejoin:round;stroke-linecap:round}";

/// A card, laid out.
#[derive(Clone, Debug, PartialEq)]
pub struct Card {
    /// What it is, in a sentence.
    pub title: String,
    /// What it says, for those who do not see it.
    pub description: String,
    /// Every text on it with its box.
    pub labels: Vec<Label>,
    elements: String,
    paper: Paper,
}

impl Card {
    /// Lays an answer out. `face` is what the words will be set in.
    pub fn new(answer: &Answer, pose: Pose, units: Units, paper: Paper, face: Face) -> Self {
        let mut board = Board::new(face);
        let cautions = words::cautions(answer);
        let middle_ends = if cautions.is_empty() { BLOCK } else { BLOCK - STRIP };
        sheet(&mut board);
        short_answer(&mut board, answer);
        let (drawn, described) = view(&mut board, answer, pose, units, middle_ends);
        let numbers = numbers(&mut board, answer, pose, units, middle_ends);
        caution(&mut board, &cautions);
        title_block(&mut board, answer, units);
        let told: Vec<String> = numbers.iter().map(|it| format!("{}: {} {}.", it.label, it.number, it.rest)).collect();
        let pointed = format!("{} {}", told.join(" "), if drawn { described } else { NOT_DRAWN.to_owned() });
        Self {
            title: format!("{}: {}. {}", answer.bike, verdict::word(answer.verdict), answer.headline),
            description: pointed,
            labels: board.labels,
            elements: board.ink.into_string(),
            paper,
        }
    }

    /// The card as SVG that needs nothing else.
    pub fn svg(&self) -> String {
        let palette = self.paper.palette();
        format!(
            r#"<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {HEIGHT}" width="{WIDTH}" height="{HEIGHT}" role="img" aria-labelledby="t d"><title id="t">{}</title><desc id="d">{}</desc><style>{}{}{}</style><path fill="{}" d="M0 0H{WIDTH}V{HEIGHT}H0Z"/><g class="d">{}</g></svg>"#,
            escaped(&plain(&self.title)),
            escaped(&plain(&self.description)),
            style::alone(palette),
            verdict::style_alone(palette),
            palette.resolve(STYLE),
            palette.paper,
            self.elements,
        )
    }
}

/// The card as SVG, wide enough for the reader's own typeface where the embedded one is not at hand.
pub fn svg(answer: &Answer, pose: Pose, units: Units, paper: Paper) -> String {
    Card::new(answer, pose, units, paper, Face::Screen).svg()
}

/// The card as PNG.
///
/// # Errors
///
/// [`PictureError::Render`] if it cannot be rendered; no answer is known that leads there.
pub fn png(answer: &Answer, pose: Pose, units: Units, paper: Paper) -> Result<Vec<u8>, PictureError> {
    let tree = tree(&Card::new(answer, pose, units, paper, Face::Print).svg())?;
    let mut pixels = tiny_skia::Pixmap::new(WIDTH, HEIGHT).ok_or(PictureError::Width(WIDTH))?;
    resvg::render(&tree, tiny_skia::Transform::identity(), &mut pixels.as_mut());
    pixels.encode_png().map_err(|error| PictureError::Render(error.to_string()))
}

/// Frame, trimmed edge, centring marks, and the lines between the parts.
fn sheet(board: &mut Board) {
    let ink = &mut board.ink;
    for (class, [left, top, right, bottom]) in [("trim", TRIM), ("edge", FRAME)] {
        ink.rect(class, left, top, right - left, bottom - top);
    }
    let [left, top, right, bottom] = FRAME;
    let (x, y) = (f64::midpoint(left, right), f64::midpoint(top, bottom));
    let mark = 12.0;
    ink.line("edge", [x, TRIM[1]], [x, top + mark]);
    ink.line("edge", [x, TRIM[3]], [x, bottom - mark]);
    ink.line("edge", [TRIM[0], y], [left + mark, y]);
    ink.line("edge", [TRIM[2], y], [right - mark, y]);
    ink.line("rule", [left, BAND], [right, BAND]);
    ink.line("rule", [left, BLOCK], [right, BLOCK]);
}

/// Mark, word, headline; and what else it takes, if there is a line left.
fn short_answer(board: &mut Board, answer: &Answer) {
    let scale = MARK / 28.0;
    board.ink.add(&format!(
        r#"<g class="v" transform="translate({} {}) scale({})">{}</g>"#,
        number(LEFT - 4.0),
        number(59.0),
        number(scale),
        verdict::mark(answer.verdict)
    ));
    let left = LEFT + MARK + 30.0;
    let room = RIGHT - left;
    board.text(Style::bold("n", 92.0), [left, 126.0], verdict::word(answer.verdict));
    let takes = words::takes(answer);
    let most = if takes.is_empty() { 3 } else { 2 };
    let (broken, size) = headline(board, &words::headlines(answer), room, most);
    let lead = size * 1.22;
    // One line stands lower than the first of two, so that the band is filled.
    let alone = broken.len() + usize::from(!takes.is_empty()) == 1;
    let mut y = if alone { 200.0 } else { 151.0 + size * 0.82 };
    for line in &broken {
        board.text(Style::regular("", size), [left, y], line);
        y += lead;
    }
    if !takes.is_empty() {
        board.fit(&takes, &[40.0, LEAST_TEXT], room, Style::regular("moves", 40.0), [left, y + 2.0]);
    }
}

/// Breaks the headline: the longest wording that fits some size, the largest size it fits.
fn headline(board: &Board, wordings: &[String], room: f64, most: usize) -> (Vec<String>, f64) {
    // Three lines have room only in the least size.
    let tried = [(50.0, 2), (44.0, 2), (39.0, 3), (LEAST_TEXT, 3)];
    for words in wordings {
        let words = plain(words);
        for (size, fits) in tried {
            let broken = lines(&words, room, size, Weight::Regular, board.face);
            // A word broken inside is set smaller first.
            let whole = broken.join(" ") == words;
            if broken.len() <= fits.min(most) && whole {
                return (broken, size);
            }
        }
    }
    let last = plain(wordings.last().map_or("", String::as_str));
    (few_lines(&last, most, room, LEAST_TEXT, Weight::Regular, board.face), LEAST_TEXT)
}

const NOT_DRAWN: &str = "The bike could not be drawn: too little is known of it.";

/// The drawing, or why there is none; whether there is one, and what it shows.
fn view(board: &mut Board, answer: &Answer, pose: Pose, units: Units, ends: f64) -> (bool, String) {
    let (left, top) = (LEFT - 20.0, BAND + 8.0);
    let size = [PARTED - 20.0 - left, ends - 4.0 - top];
    board.ink.line("rule", [PARTED, BAND], [PARTED, ends]);
    if let Some(drawing) = plate(answer, pose, units, size, 38.0, board.face) {
        let at = [left, top + (size[1] - drawing.height) / 2.0];
        board.drawing(at, &drawing.elements, &drawing.labels);
        return (true, drawing.description);
    }
    let style = Style::regular("sm", 40.0);
    let broken = lines(NOT_DRAWN, size[0] - 160.0, style.size, style.weight, board.face);
    let mut y = top + size[1] / 2.0 - 20.0;
    for line in broken {
        board.text(style, [left + 80.0, y], &line);
        y += 52.0;
    }
    (false, String::new())
}

/// Type sizes of a number, the largest first, and of its ± and unit beside it.
const NUMBER_SIZES: [f64; 4] = [106.0, 96.0, 86.0, 76.0];
const REST: f64 = 0.46;

/// What name and note take below a number, and a number's height above its line as a share of its size.
const UNDER: [f64; 2] = [58.0, 98.0];
const DIGIT: f64 = 0.74;

/// The largest size in which a number has room.
fn number_size(board: &Board, figure: &Figure, [room, height]: [f64; 2]) -> Option<f64> {
    let wide = |size: f64| {
        let rest = (size * REST).max(LEAST_TEXT + 6.0);
        board.wide(&figure.number, Style::bold("", size))
            + board.wide(&format!("\u{a0}{}", figure.rest), Style::regular("", rest))
    };
    // Between two lines it needs air above and below.
    let tall = |size: f64| DIGIT * size + UNDER[1] + 34.0;
    let least = NUMBER_SIZES[NUMBER_SIZES.len() - 1];
    NUMBER_SIZES.into_iter().find(|size| wide(*size) <= room && (tall(*size) <= height || *size <= least))
}

/// The three numbers, one under the other.
fn numbers(board: &mut Board, answer: &Answer, pose: Pose, units: Units, ends: f64) -> Vec<Figure> {
    let left = PARTED + 38.0;
    let room = RIGHT - left;
    let height = (ends - BAND) / NUMBERS as f64;
    let chosen = chosen(answer, pose, units, NUMBERS, |figure| number_size(board, figure, [room, height]).is_some());
    for (row, figure) in chosen.iter().enumerate() {
        let top = BAND + height * row as f64;
        if row > 0 {
            board.ink.line("hairline", [left, top], [FRAME[2], top]);
        }
        let class = match figure.tone {
            Tone::Plain | Tone::Unsure => ("n", ""),
            Tone::Changed => ("n moves", "moves"),
            Tone::Short => ("n falls", "falls"),
        };
        let size = number_size(board, figure, [room, height]).unwrap_or(NUMBER_SIZES[NUMBER_SIZES.len() - 1]);
        let rest = format!("\u{a0}{}", figure.rest);
        let beside = Style::regular(class.1, (size * REST).max(LEAST_TEXT + 6.0));
        // Number, name and note as one block in the middle of its row.
        let block = DIGIT * size + UNDER[usize::from(!figure.notes.is_empty())];
        let y = top + (height - block) / 2.0 + DIGIT * size;
        board.runs([left, y], &[(Style::bold(class.0, size), &figure.number), (beside, &rest)]);
        let (mut label, mut style) = board.fitting(&figure.labels(), &[40.0, 37.0, LEAST_TEXT], room, Style::bold("n", 40.0));
        if label.ends_with('…') {
            // Lighter letters are narrower.
            (label, style) = board.fitting(&figure.labels(), &[LEAST_TEXT], room, Style::regular("", LEAST_TEXT));
        }
        board.text(style, [left, y + 49.0], &label);
        if !figure.notes.is_empty() {
            board.fit(&figure.notes, &[LEAST_TEXT], room, Style::regular("sm", LEAST_TEXT), [left, y + 90.0]);
        }
    }
    chosen
}

/// One caution, as much of it as a line holds, and where there is more.
fn caution(board: &mut Board, wordings: &[(String, bool)]) {
    let Some((shortest, _)) = wordings.last() else { return };
    let (top, y) = (BLOCK - STRIP, BLOCK - STRIP / 2.0 + 12.0);
    let [frame_left, _, frame_right, _] = FRAME;
    board.ink.rect("wash", frame_left + 2.0, top, frame_right - frame_left - 4.0, STRIP - 1.0);
    board.ink.line("rule", [frame_left, top], [frame_right, top]);
    let sign = top + 7.0;
    board.ink.path("sign", &format!("M{} {}l22 40h-44Zm0 14v12m0 8v.2", number(LEFT + 20.0), number(sign)));
    let style = Style::regular("", LEAST_TEXT);
    let left = LEFT + 62.0;
    let more = "more on the sheet";
    let room_beside = RIGHT - left - board.wide(more, style) - 30.0;
    let fits = wordings.iter().find(|(words, all)| {
        let room = if *all { RIGHT - left } else { room_beside };
        board.wide(&plain(words), style) <= room
    });
    let (words, all) = fits.cloned().unwrap_or_else(|| (shortest.clone(), false));
    board.fit(&[words], &[LEAST_TEXT], if all { RIGHT - left } else { room_beside }, style, [left, y]);
    if !all {
        board.text_before(Style::regular("sm", LEAST_TEXT), [RIGHT, y], more);
    }
}

/// Name of the bike, what is on trial, and who drew it.
fn title_block(board: &mut Board, answer: &Answer, units: Units) {
    let (heading, value) = (Style::regular("sm", SMALL_TEXT), Style::bold("n", 40.0));
    let (over, on) = (BLOCK + 31.0, BLOCK + 73.0);
    let gap = 26.0;
    let program = format!("Swapstand {}", answer.program);
    let tolerance = "± worked out, k = 2";
    // The version is the program's own; the other two share what it leaves, and the bike takes no more than it needs.
    let (program, program_style) = board.fitting(&[program], &[36.0, LEAST_TEXT], 420.0, Style::regular("", 36.0));
    let last = RIGHT - board.wide(&program, program_style).max(board.wide(tolerance, heading));
    let shared = last - 2.0 * gap - LEFT;
    let (bike, bike_style) = board.fitting(std::slice::from_ref(&answer.bike), &[40.0, 37.0, LEAST_TEXT], shared * 0.45, value);
    let second = LEFT + board.wide(&bike, bike_style).max(200.0) + 2.0 * gap;
    board.text(heading, [LEFT, over], "bike");
    board.text(bike_style, [LEFT, on], &bike);
    board.text(heading, [second, over], "on trial");
    board.fit(&words::swaps(answer, units), &[40.0, 37.0, LEAST_TEXT], last - 2.0 * gap - second, value, [second, on]);
    board.text(heading, [last, over], tolerance);
    board.text(program_style, [last, on], &program);
    for x in [second - gap, last - gap] {
        board.ink.line("rule", [x, BLOCK], [x, FRAME[3]]);
    }
}
