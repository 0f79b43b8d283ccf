//! The bike changing from before to after: an SVG that moves by itself, and an animated PNG for those who cut a video.
//!
//! It stands as before, moves, and stays as after; a pointer goes from one word to the other. Between the ends points are taken in a
//! straight line ([`crate::side_view`]): that is a picture, not a computation, and so no figure on it changes on the way. Whoever asked
//! their machine for less motion sees both outlines and nothing move.

use std::fmt::Write as _;

use quantity::print::Units;
use resvg::tiny_skia;
use stand::answer::{Answer, Pose};

use crate::{
    board::{Board, Style},
    card::{
        figures::{Figure, changed},
        words,
    },
    ink::Paper,
    letters::{Face, Weight, lines},
    picture::{PictureError, tree},
    side_view::{
        Label,
        motion::{Clock, Motion, STEPS, Timing, eased},
    },
    style,
    svg::{escaped, number, plain},
    verdict,
};

mod frames;

/// Width of an animation, pixels.
pub const WIDTH: u32 = 960;
/// Height of an animation, pixels.
pub const HEIGHT: u32 = 540;

/// How long it stands as before, and moves, seconds.
const TIMING: Timing = Timing { hold: 0.7, moving: 1.5 };
/// Pictures a second of the PNG.
const PICTURES_A_SECOND: u16 = 20;

/// Frame, where words begin and end, and what parts the sheet.
const FRAME: [f64; 4] = [24.0, 14.0, 936.0, 526.0];
const LEFT: f64 = 48.0;
const RIGHT: f64 = 912.0;
const BAND: f64 = 124.0;
const BLOCK: f64 = 464.0;
const PARTED: f64 = 612.0;
/// The pointer's line, and the words at its ends.
const POINTER: f64 = 502.0;

/// Changes named on it, at most.
const FIGURES: usize = 3;

const STYLE: &str = "\
.d .thick{stroke-width:2.6}.d .thin{stroke-width:1.2}\
.d .was{stroke:var(--mark);stroke-width:1.4;stroke-dasharray:7 4}\
.d .axis{stroke-width:1.1;stroke-dasharray:17 4 3 4}\
.d .edge{stroke:var(--ink);stroke-width:2.2}.d .rule{stroke:var(--ink);stroke-width:1.2}\
.d .hairline{stroke:var(--grey);stroke-width:1}.d .moves{fill:var(--mark)}\
.d .now{fill:var(--mark);stroke:var(--mark);stroke-width:1;stroke-linejoin:round}";

/// Shows what stands still where less motion is asked for.
const CALM: &str = ".still{display:none}@media (prefers-reduced-motion:reduce){.moving{display:none}.still{display:inline}}";

/// An animation, laid out.
pub struct Animation<'a> {
    /// Every text on it with its box.
    pub labels: Vec<Label>,
    title: String,
    description: String,
    motion: Motion<'a>,
    /// Where the drawing stands.
    place: [f64; 2],
    /// Where the pointer's way begins and ends.
    way: [f64; 2],
    sheet: String,
    paper: Paper,
}

impl<'a> Animation<'a> {
    /// Lays an answer out. `face` is what the words will be set in.
    ///
    /// # Errors
    ///
    /// [`PictureError::NoView`] if the answer has no view of the pose.
    pub fn new(answer: &'a Answer, pose: Pose, units: Units, paper: Paper, face: Face) -> Result<Self, PictureError> {
        let (left, top) = (LEFT - 14.0, BAND + 4.0);
        let size = [PARTED - 8.0 - left, BLOCK - 4.0 - top];
        let motion = Motion::new(answer, pose, units, size, 19.0).ok_or(PictureError::NoView(pose))?;
        let mut board = Board::new(face);
        frame(&mut board);
        short_answer(&mut board, answer, units);
        let told = figures(&mut board, answer, pose, units, motion.moves());
        let way = ends(&mut board, answer);
        let place = [left, top + (size[1] - motion.height()) / 2.0];
        let labels = std::mem::take(&mut board.labels);
        Ok(Self {
            labels,
            title: format!("{}: before and after. {}", answer.bike, verdict::word(answer.verdict)),
            description: format!("The bike from the drive side, drawn as it moves from before the swap to after it. {told}"),
            motion,
            place,
            way,
            sheet: board.ink.into_string(),
            paper,
        })
    }

    /// The animation as SVG that needs nothing else.
    pub fn svg(&self) -> String {
        let still = format!("{}{}", self.at_place(&self.motion.at_rest()), self.pointer(1.0, ""));
        let moving = format!("{}{}", self.at_place(&self.motion.moving(TIMING)), self.pointer(1.0, &self.pointer_moves()));
        let both = format!(r#"<g class="moving">{moving}</g><g class="still">{still}</g>"#);
        self.picture(CALM, &format!("{}{}{both}", self.sheet, self.at_place(&self.motion.ground())))
    }

    /// The animation as an animated PNG, played once; what knows no movement shows the last picture.
    ///
    /// # Errors
    ///
    /// [`PictureError::Render`] if it cannot be rendered or written; no answer is known that leads there.
    pub fn png(&self) -> Result<Vec<u8>, PictureError> {
        let beneath = self.picture("", &format!("{}{}", self.sheet, self.at_place(&self.motion.ground())));
        let still = rendered(&beneath, None)?;
        let count = if self.motion.moves() { (TIMING.moving * f64::from(PICTURES_A_SECOND)).round() } else { 0.0 };
        let at = |step: f64| -> Result<tiny_skia::Pixmap, PictureError> {
            let share = if count > 0.0 { eased(step / count) } else { 1.0 };
            let bike = format!("{}{}", self.at_place(&self.motion.frame(share)), self.pointer(share, ""));
            rendered(&self.elements("", "", &bike), Some(&still))
        };
        let mut all = vec![at(0.0)?];
        let mut step = 1.0;
        while step <= count {
            all.push(at(step)?);
            step += 1.0;
        }
        frames::written(&all, PICTURES_A_SECOND, TIMING.hold)
    }

    /// A picture with paper and words about it.
    fn picture(&self, more_style: &str, elements: &str) -> String {
        let about = format!(
            r#"<title id="t">{}</title><desc id="d">{}</desc>"#,
            escaped(&plain(&self.title)),
            escaped(&plain(&self.description))
        );
        let paper = format!(r#"<path fill="{}" d="M0 0H{WIDTH}V{HEIGHT}H0Z"/>"#, self.paper.palette().paper);
        self.elements(more_style, &format!("{about}{paper}"), elements)
    }

    fn elements(&self, more_style: &str, before: &str, elements: &str) -> String {
        let palette = self.paper.palette();
        format!(
            r#"<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {HEIGHT}" width="{WIDTH}" height="{HEIGHT}" role="img" aria-labelledby="t d"><style>{}{}{}{more_style}</style>{before}<g class="d">{elements}</g></svg>"#,
            style::alone(palette),
            verdict::style_alone(palette),
            palette.resolve(STYLE),
        )
    }

    fn at_place(&self, elements: &str) -> String {
        format!(r#"<g transform="translate({} {})">{elements}</g>"#, number(self.place[0]), number(self.place[1]))
    }

    /// Where the pointer stands a share of the way.
    fn pointer_at(&self, share: f64) -> f64 {
        self.way[0] + (self.way[1] - self.way[0]) * share
    }

    fn pointer(&self, share: f64, inside: &str) -> String {
        format!(
            r#"<path class="now" transform="translate({} {})" d="M0 -2L-9 -18H9Z">{inside}</path>"#,
            number(self.pointer_at(share)),
            number(POINTER)
        )
    }

    fn pointer_moves(&self) -> String {
        let each = |step: usize| {
            let at = self.pointer_at(eased(step as f64 / STEPS as f64));
            format!("{} {}", number(at), number(POINTER))
        };
        let values: Vec<String> = (0..=STEPS).map(each).collect();
        Clock::new(TIMING).attribute(r#"animateTransform attributeName="transform" type="translate""#, &values)
    }
}

/// The animation as SVG, wide enough for the reader's own typeface where the embedded one is not at hand.
///
/// # Errors
///
/// As [`Animation::new`].
pub fn svg(answer: &Answer, pose: Pose, units: Units, paper: Paper) -> Result<String, PictureError> {
    Ok(Animation::new(answer, pose, units, paper, Face::Screen)?.svg())
}

/// The animation as animated PNG.
///
/// # Errors
///
/// As [`Animation::new`] and [`Animation::png`].
pub fn png(answer: &Answer, pose: Pose, units: Units, paper: Paper) -> Result<Vec<u8>, PictureError> {
    Animation::new(answer, pose, units, paper, Face::Print)?.png()
}

fn rendered(svg: &str, over: Option<&tiny_skia::Pixmap>) -> Result<tiny_skia::Pixmap, PictureError> {
    let tree = tree(svg)?;
    let fresh = || tiny_skia::Pixmap::new(WIDTH, HEIGHT).ok_or(PictureError::Width(WIDTH));
    let mut pixels = over.map_or_else(fresh, |over| Ok(over.clone()))?;
    resvg::render(&tree, tiny_skia::Transform::identity(), &mut pixels.as_mut());
    Ok(pixels)
}

fn frame(board: &mut Board) {
    let [left, top, right, bottom] = FRAME;
    board.ink.rect("edge", left, top, right - left, bottom - top);
    for y in [BAND, BLOCK] {
        board.ink.line("rule", [left, y], [right, y]);
    }
    board.ink.line("rule", [PARTED, BAND], [PARTED, BLOCK]);
}

/// Mark, word, bike and swap.
fn short_answer(board: &mut Board, answer: &Answer, units: Units) {
    let side = 78.0;
    board.ink.add(&format!(
        r#"<g class="v" transform="translate({} {}) scale({})">{}</g>"#,
        number(LEFT - 2.0),
        number(29.0),
        number(side / 28.0),
        verdict::mark(answer.verdict)
    ));
    let left = LEFT + side + 16.0;
    board.text(Style::bold("n", 44.0), [left, 67.0], verdict::word(answer.verdict));
    let swaps = words::swaps(answer, units);
    let mut wordings: Vec<String> = swaps.iter().map(|swap| format!("{} · {swap}", answer.bike)).collect();
    // If not even the shortest goes with the name, what is swapped goes alone.
    wordings.extend(swaps);
    board.fit(&wordings, &[22.0, 20.0], RIGHT - left, Style::regular("", 22.0), [left, 104.0]);
}

/// The main changes, before and after; what they say, for those who do not see it.
fn figures(board: &mut Board, answer: &Answer, pose: Pose, units: Units, moves: bool) -> String {
    let left = PARTED + 20.0;
    let room = RIGHT - left;
    let style = Style::bold("n", 34.0);
    let ends = |figure: &Figure| figure.notes.last().cloned().unwrap_or_default();
    let sizes = [34.0, 30.0, 26.0];
    let has_room = |figure: &Figure| board.wide(&ends(figure), style.sized(sizes[2])) <= room;
    let chosen = changed(answer, pose, units, FIGURES, has_room);
    let height = (BLOCK - BAND) / FIGURES as f64;
    for (row, figure) in chosen.iter().enumerate() {
        let top = BAND + height * row as f64;
        if row > 0 {
            board.ink.line("hairline", [left, top], [FRAME[2], top]);
        }
        board.fit(&figure.labels(), &[21.0, 19.0], room, Style::regular("", 21.0), [left, top + 32.0]);
        board.fit(&[ends(figure)], &sizes, room, style, [left, top + 68.0]);
        let change = format!("{} {}", figure.number, figure.rest);
        board.fit(&[change, figure.number.clone()], &[21.0, 19.0], room, Style::regular("moves", 21.0), [left, top + 98.0]);
    }
    if chosen.is_empty() {
        let words = if moves { "Nothing moves that a rider would notice." } else { "The swap moves nothing on the drawing." };
        for (row, line) in lines(words, room, 22.0, Weight::Regular, board.face).iter().enumerate() {
            board.text(Style::regular("sm", 22.0), [left, BAND + 40.0 + 30.0 * row as f64], line);
        }
    }
    chosen.iter().fold(String::new(), |mut told, figure| {
        let _ = write!(told, "{}: {}. ", figure.label, ends(figure));
        told
    })
}

/// The words at the ends of the pointer's way, and its line between them.
fn ends(board: &mut Board, answer: &Answer) -> [f64; 2] {
    let style = Style::bold("n", 24.0);
    let program = format!("Swapstand {}", answer.program);
    let (program, small) = board.fitting(&[program], &[20.0, 18.0], 220.0, Style::regular("sm", 20.0));
    board.text_before(small, [RIGHT, POINTER], &program);
    let first = board.text(style, [LEFT, POINTER], "before");
    let last = board.text_before(style, [PARTED - 20.0, POINTER], "after");
    let (from, to) = (first + 26.0, last - 26.0);
    let y = POINTER;
    board.ink.line("hairline", [from, y], [to, y]);
    board.ink.line("rule", [from, y - 6.0], [from, y + 6.0]);
    board.ink.line("rule", [to, y - 6.0], [to, y + 6.0]);
    [from, to]
}
