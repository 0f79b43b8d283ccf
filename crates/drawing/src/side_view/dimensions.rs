//! Dimension lines, ISO 129-1: thin lines with filled arrow heads, extension lines from the feature, the figure above the line.
//!
//! Written is the value after the swap and, in brackets, its change, rounded as their tolerances have it. What changes is in the
//! marking-out ink. Stack and reach stand on the bottom bracket as they do on a geometry chart, and only if they change.

use quantity::{
    Dimension,
    print::{self, Printed, Units},
};
use stand::answer::{Answer, Change, Point, Pose};

use super::{
    Label, Scene,
    bike::{length, minus, plus, times},
    layout::Area,
};
use crate::{letters, svg::Anchor};

/// What a dimension says.
struct Figure {
    name: &'static str,
    text: String,
    moves: bool,
}

impl Figure {
    fn class(&self, of: &str) -> String {
        if self.moves { format!("{of} on") } else { of.to_owned() }
    }

    /// The texts to try, best first.
    fn wordings(&self) -> Vec<Vec<String>> {
        let named = format!("{} {}", self.name, self.text);
        vec![vec![named], vec![self.name.to_owned(), self.text.clone()], vec![self.text.clone()]]
    }
}

/// The number as a drawing has it: without unit (the sheet states it) but for the degree sign.
fn bare(printed: &Printed) -> String {
    if printed.unit == "°" { format!("{}°", printed.number) } else { printed.number.clone() }
}

/// Whether a change is more than nothing once it is printed.
pub(crate) fn moves(change: &Change, units: Units) -> bool {
    let dimension = Dimension::from_word(&change.dimension).unwrap_or(Dimension::Number);
    print::change(change.change, change.plus_minus, dimension, units).number.chars().any(|c| ('1'..='9').contains(&c))
}

fn figure(answer: &Answer, pose: Pose, id: &str, name: &'static str, units: Units) -> Option<Figure> {
    let change = answer.changes.iter().find(|c| c.id == id && c.pose == pose)?;
    let dimension = Dimension::from_word(&change.dimension).unwrap_or(Dimension::Number);
    let after = bare(&print::value(change.after, change.after_plus_minus, dimension, units));
    let moves = moves(change, units);
    let text = if moves {
        format!("{after} ({})", bare(&print::change(change.change, change.plus_minus, dimension, units)))
    } else {
        after
    };
    Some(Figure { name, text, moves })
}

/// Draws the dimensions a view has room for.
pub(super) fn draw(scene: &mut Scene<'_>, answer: &Answer, pose: Pose, units: Units) {
    let of = |id, name| figure(answer, pose, id, name, units);
    wheelbase(scene, of("wheelbase", "wheelbase"));
    trail(scene, of("trail", "trail"));
    head_angle(scene, of("head_angle", "head angle"));
    bb_height(scene, of("bb_height", "BB height"));
    if !scene.setting.sparse {
        stack(scene, of("stack", "stack").filter(|f| f.moves));
        reach(scene, of("reach", "reach").filter(|f| f.moves));
    }
}

fn wheelbase(scene: &mut Scene<'_>, figure: Option<Figure>) {
    let Some(figure) = figure else { return };
    let t = scene.setting.text;
    let y = scene.ground() + 4.7 * t;
    let (a, b) = (scene.at([scene.view.rear_wheel.axle[0], 0.0]), scene.at(scene.view.front_contact));
    let middle = f64::midpoint(a[0], b[0]);
    if write(scene, &figure, &[(Anchor::Middle, [middle, y - 0.35 * t])]).is_some() {
        for x in [a[0], b[0]] {
            scene.thin(&figure.class("dim"), [x, a[1] + 0.9 * t], [x, y + 0.3 * t]);
        }
        dimension_line(scene, &figure, [a[0], y], [b[0], y]);
    }
}

fn trail(scene: &mut Scene<'_>, figure: Option<Figure>) {
    let Some(figure) = figure else { return };
    let t = scene.setting.text;
    let y = scene.ground() + 2.5 * t;
    let contact = scene.at(scene.view.front_contact)[0];
    let axis = scene.at(scene.view.steering_axis_ground)[0];
    let (left, right) = (contact.min(axis), contact.max(axis));
    // The figure seldom fits between; it stands on the line drawn out to the left.
    let inside = right - left > 3.0 * t;
    let end = left - if inside { 0.3 } else { 1.3 } * t;
    if let Some(area) = write(scene, &figure, &[(Anchor::End, [end, y - 0.35 * t])]) {
        for x in [left, right] {
            scene.thin(&figure.class("dim"), [x, scene.ground() + 0.9 * t], [x, y + 0.3 * t]);
        }
        dimension_line(scene, &figure, [left, y], [right, y]);
        scene.thin(&figure.class("dim"), [area.left, y], [left, y]);
    }
}

/// The angle between the ground, forward, and the axis drawn out below it: the same as the one behind the axis above.
fn head_angle(scene: &mut Scene<'_>, figure: Option<Figure>) {
    let Some(figure) = figure else { return };
    let t = scene.setting.text;
    let corner = scene.at(scene.view.steering_axis_ground);
    let along = minus(corner, scene.at(scene.view.head_tube_top));
    let angle = along[1].atan2(along[0]);
    let radius = 2.9 * t;
    let end = plus(corner, times([angle.cos(), angle.sin()], radius));
    let start = plus(corner, [radius, 0.0]);
    let n = crate::svg::number;
    scene.ink.path(
        &figure.class("dim"),
        &format!("M{} {}A{r} {r} 0 0 1 {} {}", n(start[0]), n(start[1]), n(end[0]), n(end[1]), r = n(radius)),
    );
    // The heads lie along the arc's chord near its ends.
    let lead = 0.9 * t / radius / 2.0;
    arrow(scene, &figure, start, [lead.sin(), -lead.cos()]);
    arrow(scene, &figure, end, [-(angle - lead).sin(), (angle - lead).cos()]);
    scene.thin(&figure.class("axis"), corner, plus(corner, times([angle.cos(), angle.sin()], radius + 0.8 * t)));
    let beside = plus(corner, times([(angle * 0.4).cos(), (angle * 0.4).sin()], radius + 0.6 * t));
    let edge = scene.frame.right;
    let below = scene.ground() + 4.7 * t - 0.35 * t;
    let lowest = scene.ground() + 6.05 * t;
    write(
        scene,
        &figure,
        &[
            (Anchor::Start, [beside[0], beside[1] + 0.4 * t]),
            (Anchor::Start, [corner[0] + 0.4 * t, below]),
            (Anchor::End, [edge, below]),
            (Anchor::End, [edge, lowest]),
        ],
    );
}

fn bb_height(scene: &mut Scene<'_>, figure: Option<Figure>) {
    let Some(figure) = figure else { return };
    let t = scene.setting.text;
    let bb = scene.at(scene.view.bottom_bracket);
    let foot = [bb[0], scene.ground()];
    if foot[1] - bb[1] < 2.5 * t {
        return;
    }
    let middle = f64::midpoint(bb[1], foot[1]);
    let low = foot[1] - 0.8 * t;
    let spots: Vec<(Anchor, Point)> = [low - 1.2 * t, low, middle, middle + t]
        .into_iter()
        .flat_map(|y| [(Anchor::Start, [bb[0] + 0.5 * t, y]), (Anchor::End, [bb[0] - 0.5 * t, y])])
        .collect();
    if write(scene, &figure, &spots).is_some() {
        dimension_line(scene, &figure, bb, foot);
    }
}

fn stack(scene: &mut Scene<'_>, figure: Option<Figure>) {
    let Some(figure) = figure else { return };
    let t = scene.setting.text;
    let bb = scene.at(scene.view.bottom_bracket);
    let top = [bb[0], scene.at(scene.view.head_tube_top)[1]];
    if bb[1] - top[1] < 6.0 * t {
        return;
    }
    for text in [format!("{} {}", figure.name, figure.text), figure.text.clone()] {
        let width = letters::width(&text, t, letters::Weight::Regular, scene.setting.face);
        for (percent, side) in (25..=90).step_by(5).flat_map(|percent| [(percent, -0.35), (percent, 1.05)]) {
            let at = [bb[0] + side * t, bb[1] + (top[1] - bb[1]) * f64::from(percent) / 100.0];
            let area = Area::new(at[0] - 0.8 * t, at[1] - width / 2.0, at[0] + 0.25 * t, at[1] + width / 2.0);
            if area.within(&scene.frame) && scene.obstacles.free(&area) {
                dimension_line(scene, &figure, bb, top);
                scene.ink.text_upwards(&figure.class("t"), at, t, Anchor::Middle, &text);
                scene.take(Label { text, area });
                return;
            }
        }
    }
}

fn reach(scene: &mut Scene<'_>, figure: Option<Figure>) {
    let Some(figure) = figure else { return };
    let t = scene.setting.text;
    let head = scene.at(scene.view.head_tube_top);
    let start = [scene.at(scene.view.bottom_bracket)[0], head[1]];
    if (head[0] - start[0]).abs() < 5.0 * t {
        return;
    }
    let spots: Vec<(Anchor, Point)> = [0.5, 0.4, 0.6, 0.3]
        .iter()
        .map(|share| (Anchor::Middle, [start[0] + (head[0] - start[0]) * share, head[1] - 0.35 * t]))
        .collect();
    if write(scene, &figure, &spots).is_some() {
        dimension_line(scene, &figure, start, head);
    }
}

/// Writes a figure at the first free spot (baseline points), in the longest wording that fits; the box it took.
fn write(scene: &mut Scene<'_>, figure: &Figure, spots: &[(Anchor, Point)]) -> Option<Area> {
    let t = scene.setting.text;
    for lines in figure.wordings() {
        let width = lines.iter().map(|l| letters::width(l, t, letters::Weight::Regular, scene.setting.face)).fold(0.0, f64::max);
        // The last line stands on the spot, the others above it.
        let above = 1.2 * t * (lines.len() - 1) as f64;
        for (anchor, at) in spots {
            let left = match anchor {
                Anchor::Start => at[0],
                Anchor::Middle => at[0] - width / 2.0,
                Anchor::End => at[0] - width,
            };
            let area = Area::new(left, at[1] - above - 0.85 * t, left + width, at[1] + 0.25 * t);
            if !area.within(&scene.frame) || !scene.obstacles.free(&area) {
                continue;
            }
            for (row, line) in lines.iter().enumerate() {
                let y = at[1] - above + 1.2 * t * row as f64;
                scene.ink.text(&figure.class("t"), [at[0], y], t, *anchor, line);
            }
            scene.take(Label { text: lines.join(" "), area });
            return Some(area);
        }
    }
    None
}

/// A line with a head at either end; where it is too short the heads come from outside.
fn dimension_line(scene: &mut Scene<'_>, figure: &Figure, a: Point, b: Point) {
    let t = scene.setting.text;
    let along = minus(b, a);
    let l = length(along);
    if l <= 0.0 {
        return;
    }
    let e = times(along, 1.0 / l);
    if l > 3.0 * t {
        scene.thin(&figure.class("dim"), a, b);
        arrow(scene, figure, a, times(e, -1.0));
        arrow(scene, figure, b, e);
    } else {
        scene.thin(&figure.class("dim"), plus(a, times(e, -1.5 * t)), plus(b, times(e, 1.5 * t)));
        arrow(scene, figure, a, e);
        arrow(scene, figure, b, times(e, -1.0));
    }
}

/// A filled head with its tip at `tip`, pointing along the unit vector `e`.
fn arrow(scene: &mut Scene<'_>, figure: &Figure, tip: Point, e: Point) {
    let t = scene.setting.text;
    let back = plus(tip, times(e, -0.85 * t));
    let side = times([-e[1], e[0]], 0.16 * t);
    scene.ink.polygon(&figure.class("arrow"), &[tip, plus(back, side), minus(back, side)]);
}
