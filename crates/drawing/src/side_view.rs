//! The bicycle from the drive side, before and after, to true scale.
//!
//! Line types of ISO 128-2: after the swap in thick full lines, before it in thin broken ones (only where something moves), axes as
//! chain lines. Dimensions as in ISO 129-1, part references as in ISO 6433, scales after the series of ISO 5455 with the steps
//! between that workshop drawings use.

use std::{collections::HashMap, fmt::Write as _};

use quantity::{
    Dimension,
    print::{self, Units},
};
use stand::answer::{Answer, PartRow, Point, Pose, SideView, SideViews};

use crate::{
    letters::{self, Face, Weight},
    svg::{Anchor, Ink, escaped, number},
};

mod bike;
pub(crate) mod dimensions;
mod layout;
pub(crate) mod motion;
pub(crate) mod plate;

pub use layout::Area;

use bike::{Element, Shape, Stroke};
use layout::{Obstacles, Wanted};

/// One CSS pixel in mm: all drawings are in these.
pub const PIXEL_MM: f64 = 25.4 / 96.0;

/// How a view is to be laid out; lengths in CSS pixels (0.2646 mm).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Setting {
    /// Width of the drawing.
    pub width: f64,
    /// Greatest height, if there is one.
    pub height: Option<f64>,
    /// Type size.
    pub text: f64,
    /// What the text will be set in.
    pub face: Face,
    /// Little room: no stack and reach, and balloons only for what is swapped.
    pub sparse: bool,
}

/// A text on the drawing and the box it takes.
#[derive(Clone, Debug, PartialEq)]
pub struct Label {
    /// The words, or the balloon's number.
    pub text: String,
    /// Where it stands.
    pub area: Area,
}

/// A side view, laid out.
#[derive(Clone, Debug, PartialEq)]
pub struct Drawing {
    /// Width in CSS pixels.
    pub width: f64,
    /// Height in CSS pixels.
    pub height: f64,
    /// The n of the scale 1 : n.
    pub scale: f64,
    /// What it shows, in a few words.
    pub title: String,
    /// What it shows, for those who do not see it.
    pub description: String,
    /// Every text on it with its box, for whoever wants to see that none covers another.
    pub labels: Vec<Label>,
    /// SVG elements, to be styled by the sheet they stand on.
    pub(crate) elements: String,
    /// Balloons that lead somewhere.
    links: String,
}

impl Drawing {
    /// The whole as an `svg` element; `id` must be unique on its page.
    pub fn figure(&self, id: &str, class: &str) -> String {
        // What leads nowhere is one picture; links in it are a group of their own, and the rest is told by the description.
        let (role, elements) = if self.links.is_empty() {
            ("img", self.elements.clone())
        } else {
            ("group", format!(r#"<g aria-hidden="true">{}</g>{}"#, self.elements, self.links))
        };
        format!(
            r#"<svg xmlns="http://www.w3.org/2000/svg" class="d {}" viewBox="0 0 {} {}" width="{}" height="{}" role="{role}" aria-labelledby="{id}-t {id}-d"><title id="{id}-t">{}</title><desc id="{id}-d">{}</desc>{elements}</svg>"#,
            escaped(class),
            number(self.width),
            number(self.height),
            number(self.width),
            number(self.height),
            escaped(&self.title),
            escaped(&self.description),
        )
    }

    /// The scale as a sheet states it: `1 : 10`.
    pub fn scale_text(&self) -> String {
        scale_text(self.scale)
    }
}

/// A scale 1 : n as a sheet states it.
pub(crate) fn scale_text(n: f64) -> String {
    format!("1 : {}", number(n))
}

/// A drawing is so much higher than the next lower one, in type sizes.
const HEIGHT_STEP: f64 = 5.0;

/// What is being drawn, with everything already on it.
struct Scene<'a> {
    setting: Setting,
    view: &'a SideView,
    /// mm on the bicycle to a pixel.
    mm_a_pixel: f64,
    /// Where the bicycle's origin (rear contact) lies.
    origin: Point,
    /// Where texts may stand.
    frame: Area,
    obstacles: Obstacles,
    labels: Vec<Label>,
    ink: Ink,
    links: Ink,
}

impl Scene<'_> {
    fn at(&self, p: Point) -> Point {
        [self.origin[0] + p[0] / self.mm_a_pixel, self.origin[1] - p[1] / self.mm_a_pixel]
    }

    fn ground(&self) -> f64 {
        self.origin[1]
    }

    /// A thin line of a dimension, remembered so that nothing is written over it.
    fn thin(&mut self, class: &str, a: Point, b: Point) {
        self.ink.line(class, a, b);
        self.obstacles.thin.push((a, b));
    }

    fn take(&mut self, label: Label) {
        self.obstacles.areas.push(label.area.grown(0.15 * self.setting.text));
        self.labels.push(label);
    }
}

/// The scale's n: the least of the series at which `mm` fit into `pixels`.
fn scale(mm: f64, pixels: f64) -> f64 {
    next_scale(mm / (pixels * PIXEL_MM))
}

/// The least n of the series of scales 1 : n that is not below `needed`.
pub(crate) fn next_scale(needed: f64) -> f64 {
    const SERIES: [f64; 13] = [1.0, 1.25, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0, 9.0, 10.0];
    let decade = 10.0_f64.powf(needed.log10().floor());
    SERIES.iter().map(|s| s * decade).find(|n| *n >= needed * (1.0 - 1e-9)).unwrap_or(10.0 * decade)
}

/// Draws the view of a pose; `None` if the answer has none.
pub fn side_view(answer: &Answer, pose: Pose, units: Units, setting: Setting) -> Option<Drawing> {
    side_view_with_links(answer, pose, units, setting, &|_| None)
}

/// The same with balloons that lead somewhere: to the address and with the words that `link` gives for a row of the parts list.
pub fn side_view_with_links(
    answer: &Answer,
    pose: Pose,
    units: Units,
    setting: Setting,
    link: &dyn Fn(&PartRow) -> Option<(String, String)>,
) -> Option<Drawing> {
    let views = answer.side_views.iter().find(|v| v.pose == pose)?;
    let telescopic = shortens(answer);
    let after = bike::elements(&views.after, telescopic);
    let before = moved_elements(bike::elements(&views.before, telescopic), &after);
    let t = setting.text;
    let (least, most) = bike::extent(after.iter().chain(&before));
    // Room around the bicycle for balloons, dimensions below, and the legend.
    let (side, above, below) = (if setting.sparse { 1.1 } else { 3.3 } * t, 2.6 * t, 8.5 * t);
    let by_width = (most[0] - least[0], setting.width - 2.0 * side);
    let mut n = scale(by_width.0, by_width.1);
    if let Some(height) = setting.height {
        n = n.max(scale(most[1] - least[1], height - above - below));
    }
    let mm_a_pixel = n * PIXEL_MM;
    let needed = (most[1] - least[1].max(-1.0)) / mm_a_pixel + above + below;
    // Whole steps on a page, and what is over above: what stands around the drawing stays where it is while a saddle goes up a little.
    // A printed sheet has no room to spare, and stays as it is.
    let step = HEIGHT_STEP * t;
    let height = if setting.height.is_some() { needed } else { (needed / step).ceil() * step };
    let left = (setting.width - (most[0] - least[0]) / mm_a_pixel) / 2.0;
    let origin = [left - least[0] / mm_a_pixel, height - below + least[1].max(-1.0) / mm_a_pixel];
    let frame = Area::new(1.0, 1.0, setting.width - 1.0, height - 1.0);
    let obstacles = Obstacles::default();
    let mut scene = Scene {
        setting,
        view: &views.after,
        mm_a_pixel,
        origin,
        frame,
        obstacles,
        labels: Vec::new(),
        ink: Ink::new(),
        links: Ink::new(),
    };

    bodies(&mut scene, &after);
    ground(&mut scene);
    axes(&mut scene, answer, pose, units);
    let moves = !before.is_empty();
    outlines(&mut scene, &before, true);
    outlines(&mut scene, &after, false);
    legend(&mut scene, units, moves, 7.6);
    dimensions::draw(&mut scene, answer, pose, units);
    balloons(&mut scene, answer, link);

    Some(Drawing {
        width: setting.width,
        height,
        scale: n,
        title: format!("{} from the drive side, {}", answer.bike, pose_name(pose)),
        description: description(answer, pose, units, n, moves),
        labels: scene.labels,
        elements: scene.ink.into_string(),
        links: scene.links.into_string(),
    })
}

/// A pose for people.
pub(crate) fn pose_name(pose: Pose) -> &'static str {
    match pose {
        Pose::Unladen => "unladen",
        Pose::Sagged => "rider aboard",
    }
}

/// A fork is telescopic if it is shorter with the rider aboard.
fn shortens(answer: &Answer) -> bool {
    let lengths = |pose| {
        let of = |v: &SideViews| [bike::fork_length(&v.before), bike::fork_length(&v.after)];
        answer.side_views.iter().find(|v| v.pose == pose).map(of)
    };
    match (lengths(Pose::Unladen), lengths(Pose::Sagged)) {
        (Some(free), Some(sagged)) => free.iter().zip(&sagged).any(|(free, sagged)| free - sagged > 1.0),
        _ => false,
    }
}

/// What of the bicycle before is not where the bicycle after is.
fn moved_elements(before: Vec<Element>, after: &[Element]) -> Vec<Element> {
    let now: HashMap<&str, &Element> = after.iter().map(|e| (e.name, e)).collect();
    before.into_iter().filter(|e| e.stroke != Stroke::None && now.get(e.name).is_none_or(|a| bike::moved(e, a))).collect()
}

fn bodies(scene: &mut Scene<'_>, elements: &[Element]) {
    for element in elements.iter().filter(|e| e.body_mm > 0.0) {
        let width = number(element.body_mm / scene.mm_a_pixel);
        let d = match &element.shape {
            Shape::Line(points) => {
                let at: Vec<String> =
                    points.iter().map(|p| scene.at(*p)).map(|p| format!("{} {}", number(p[0]), number(p[1]))).collect();
                format!(r#"<path class="body" stroke-width="{width}" d="M{}"/>"#, at.join("L"))
            }
            Shape::Circle(centre, radius) => {
                let c = scene.at(*centre);
                let r = radius / scene.mm_a_pixel;
                format!(
                    r#"<circle class="body" stroke-width="{width}" cx="{}" cy="{}" r="{}"/>"#,
                    number(c[0]),
                    number(c[1]),
                    number(r)
                )
            }
        };
        scene.ink.add(&d);
    }
}

fn outlines(scene: &mut Scene<'_>, elements: &[Element], was: bool) {
    for element in elements {
        let class = match (was, element.stroke) {
            (_, Stroke::None) => continue,
            (true, _) => "was",
            (false, Stroke::Thick) => "thick",
            (false, Stroke::Thin) => "thin",
        };
        match &element.shape {
            Shape::Line(points) => {
                let at: Vec<Point> = points.iter().map(|p| scene.at(*p)).collect();
                scene.ink.polyline(class, &at);
                let half = (element.body_mm / scene.mm_a_pixel / 2.0).max(1.5);
                scene.obstacles.lines.extend(at.windows(2).map(|pair| (pair[0], pair[1], half)));
            }
            Shape::Circle(centre, radius) => {
                let (centre, radius) = (scene.at(*centre), radius / scene.mm_a_pixel);
                scene.ink.circle(class, centre, radius);
                scene.obstacles.circles.push((centre, radius));
            }
        }
    }
}

/// The ground with its hatching below.
fn ground(scene: &mut Scene<'_>) {
    let t = scene.setting.text;
    let y = scene.ground();
    let (left, right) = (0.8 * t, scene.setting.width - 0.8 * t);
    let step = 0.62 * t;
    let depth = 0.6 * t;
    let mut strokes = Vec::new();
    let mut x = left + depth;
    while x <= right {
        strokes.push([[x, y], [x - depth, y + depth]]);
        x += step;
    }
    let strokes: Vec<&[Point]> = strokes.iter().map(<[Point; 2]>::as_slice).collect();
    scene.ink.lines("hatch", &strokes);
    scene.ink.line("thick", [left, y], [right, y]);
    scene.obstacles.lines.push(([left, y], [right, y], 2.0));
}

/// Steering axis and the crosses of the wheel axles, as chain lines.
fn axes(scene: &mut Scene<'_>, answer: &Answer, pose: Pose, units: Units) {
    let view = scene.view;
    let turned = answer.changes.iter().any(|c| c.id == "head_angle" && c.pose == pose && dimensions::moves(c, units));
    let top = view.stem_base.unwrap_or(view.head_tube_top);
    let (a, b) = (scene.at(top), scene.at(view.steering_axis_ground));
    let end = drawn_out(a, b, 2.2 * scene.setting.text, scene.frame.top);
    scene.thin(if turned { "axis on" } else { "axis" }, end, b);
    for wheel in [&view.rear_wheel, &view.front_wheel] {
        let c = scene.at(wheel.axle);
        let arm = (34.0 / scene.mm_a_pixel).max(0.8 * scene.setting.text);
        scene.ink.line("axis", [c[0] - arm, c[1]], [c[0] + arm, c[1]]);
        scene.ink.line("axis", [c[0], c[1] - arm], [c[0], c[1] + arm]);
    }
}

/// The end of an axis from `b` through `a`, drawn out beyond it, but not over `top`.
fn drawn_out(a: Point, b: Point, by: f64, top: f64) -> Point {
    let along = bike::minus(a, b);
    let l = bike::length(along).max(1.0);
    let room = if along[1] < 0.0 { (a[1] - top).max(0.0) / -along[1] } else { f64::INFINITY };
    bike::plus(a, bike::times(along, (by / l).min(room)))
}

/// A scale bar, true at any size, and what the lines mean; so many type sizes below the ground.
fn legend(scene: &mut Scene<'_>, units: Units, moves: bool, below: f64) {
    let Setting { text: t, width, face, .. } = scene.setting;
    let y = scene.ground() + below * t;
    let unit = units.unit(Dimension::Length);
    let least_mm = 5.0 * t * scene.mm_a_pixel;
    let bar_mm = unit.to_base(crate::gauge::step(unit.from_base(least_mm)));
    let (left, right) = (0.8 * t, 0.8 * t + bar_mm / scene.mm_a_pixel);
    let up = y - 0.5 * t;
    scene.ink.lines("scale", &[&[[left, up - 0.4 * t], [left, up], [right, up], [right, up - 0.4 * t]]]);
    let label = print::value(bar_mm, 0.0, Dimension::Length, units).to_string();
    let small = 0.9 * t;
    scene.ink.text("sm", [right + 0.5 * t, y - 0.35 * t], small, Anchor::Start, &label);
    let wide = letters::width(&label, small, Weight::Regular, face);
    scene.take(Label { text: label, area: Area::new(left, y - 1.1 * t, right + 0.5 * t + wide, y) });
    if !moves {
        return;
    }
    // From the right: after, before.
    let mut x = width - 0.8 * t;
    for (word, class) in [("after", "thick"), ("before", "was")] {
        let wide = letters::width(word, small, Weight::Regular, face);
        let start = x - wide;
        scene.ink.text("sm", [start, y - 0.35 * t], small, Anchor::Start, word);
        let line = 2.6 * t;
        scene.ink.line(class, [start - 0.5 * t - line, y - 0.65 * t], [start - 0.5 * t, y - 0.65 * t]);
        scene.take(Label { text: word.to_owned(), area: Area::new(start - 0.5 * t - line, y - 1.1 * t, x, y) });
        x = start - 1.5 * t - line;
    }
}

fn balloons(scene: &mut Scene<'_>, answer: &Answer, link: &dyn Fn(&PartRow) -> Option<(String, String)>) {
    let t = scene.setting.text;
    let radius = 0.98 * t;
    let swapped = |number: u32| answer.parts.iter().any(|p| p.balloon == number && (p.on_trial.is_some() || p.taken_off));
    let mut wanted: Vec<Wanted> = answer
        .parts
        .iter()
        .filter(|row| !scene.setting.sparse || swapped(row.balloon))
        .map(|row| {
            let targets = bike::targets(scene.view, &row.slot);
            Wanted { number: row.balloon, targets: targets.into_iter().map(|p| scene.at(p)).collect() }
        })
        .filter(|w| !w.targets.is_empty())
        .collect();
    // What is swapped chooses its place first.
    wanted.sort_by_key(|w| (!swapped(w.number), w.number));
    let field = Area::new(scene.frame.left, scene.frame.top, scene.frame.right, scene.ground() - 0.3 * t);
    for balloon in layout::balloons(&wanted, &scene.obstacles, &field, radius) {
        let on = if swapped(balloon.number) { " on" } else { "" };
        let toward = bike::minus(balloon.target, balloon.centre);
        let rim = bike::plus(balloon.centre, bike::times(toward, radius / bike::length(toward).max(radius)));
        scene.ink.line(&format!("leader{on}"), rim, balloon.target);
        scene.ink.circle(&format!("dot{on}"), balloon.target, 0.17 * t);
        let text = balloon.number.to_string();
        let size = if text.len() > 1 { 0.88 * t } else { t };
        let mut ink = Ink::new();
        ink.circle(&format!("balloon{on}"), balloon.centre, radius);
        ink.text(&format!("n{on}"), [balloon.centre[0], balloon.centre[1] + 0.36 * size], size, Anchor::Middle, &text);
        let row = answer.parts.iter().find(|row| row.balloon == balloon.number);
        match row.and_then(link) {
            Some((address, words)) => scene.links.link(&address, &words, &ink.into_string()),
            None => scene.ink.add(&ink.into_string()),
        }
        scene.labels.push(Label { text, area: Area::around(balloon.centre, radius) });
    }
}

fn description(answer: &Answer, pose: Pose, units: Units, n: f64, moves: bool) -> String {
    let mut text = format!("Side view at 1 to {}, front wheel to the right, {}.", number(n), pose_name(pose));
    text.push_str(if moves { " Full lines: after the swap. Broken lines: before." } else { " The swap moves nothing on it." });
    for change in answer.changes.iter().filter(|c| c.pose == pose && c.main) {
        let dimension = Dimension::from_word(&change.dimension).unwrap_or(Dimension::Number);
        let shown = |value, expanded| print::value(value, expanded, dimension, units);
        let (before, after) = (shown(change.before, change.before_plus_minus), shown(change.after, change.after_plus_minus));
        let _ = write!(text, " {}: {before} before, {after} after.", change.label);
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn scales_are_the_next_of_the_series() {
        // 1900 mm on 700 px of 0.2646 mm need at least 1 : 10.26.
        assert!((scale(1900.0, 700.0) - 12.5).abs() < 1e-9);
        assert!((scale(1900.0, 718.2) - 10.0).abs() < 1e-9);
        assert!((scale(100.0, 1000.0) - 0.4).abs() < 1e-9);
    }
}
