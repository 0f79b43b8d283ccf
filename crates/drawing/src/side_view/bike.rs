//! The bicycle as lines and circles, in mm: what is drawn, where each part can be pointed at, and what stands in the way.
//!
//! Frame and parts are schematic: centre lines between the points the answer gives, with a body of a usual width behind them.
//! Nothing is guessed: a point the answer does not give leaves its lines out.

use std::f64::consts::TAU;

use stand::answer::{Point, SideView, WheelView};

/// Usual widths of bodies seen from the side, mm. They carry no meaning; they let the eye tell a tube from a line.
mod body_mm {
    pub(super) const STAY: f64 = 18.0;
    pub(super) const TUBE: f64 = 34.0;
    pub(super) const DOWN_TUBE: f64 = 42.0;
    pub(super) const HEAD_TUBE: f64 = 46.0;
    pub(super) const STEERER: f64 = 34.0;
    pub(super) const FORK: f64 = 30.0;
    pub(super) const FORK_LOWER: f64 = 44.0;
    pub(super) const SEATPOST: f64 = 27.0;
    pub(super) const BAR: f64 = 24.0;
    pub(super) const CRANK: f64 = 22.0;
}

/// Radius of a hub shell and of the bottom bracket as drawn, mm.
const HUB_MM: f64 = 14.0;
/// Half the length of a pedal's platform as drawn, mm.
const HALF_PEDAL_MM: f64 = 46.0;
/// Radius of a grip as drawn, mm.
const GRIP_MM: f64 = 15.0;
/// How far the rails put the saddle's top above the end of the post, mm.
const RAILS_MM: f64 = 42.0;

/// What an element is made of.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Shape {
    Line(Vec<Point>),
    Circle(Point, f64),
}

/// Line type, ISO 128-2: an outline is thick, the rest thin.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Stroke {
    Thick,
    Thin,
    /// Only a body, no line of its own.
    None,
}

/// One line or circle of the bicycle.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Element {
    pub(super) name: &'static str,
    pub(super) shape: Shape,
    pub(super) stroke: Stroke,
    /// Width of the body behind it, mm; zero for none.
    pub(super) body_mm: f64,
}

pub(super) fn plus(a: Point, b: Point) -> Point {
    [a[0] + b[0], a[1] + b[1]]
}

pub(super) fn minus(a: Point, b: Point) -> Point {
    [a[0] - b[0], a[1] - b[1]]
}

pub(super) fn times(a: Point, k: f64) -> Point {
    [a[0] * k, a[1] * k]
}

pub(super) fn length(a: Point) -> f64 {
    // Pixels and millimetres: nothing here overflows, and this is asked ten thousand times a drawing.
    (a[0] * a[0] + a[1] * a[1]).sqrt()
}

/// The point `share` of the way from `a` to `b`.
pub(super) fn between(a: Point, b: Point, share: f64) -> Point {
    plus(a, times(minus(b, a), share))
}

fn unit(a: Point) -> Point {
    let l = length(a);
    if l > 0.0 { times(a, 1.0 / l) } else { [0.0, 0.0] }
}

/// The length from crown to the axle's foot on the steering axis: that of a fork in its pose.
pub(super) fn fork_length(view: &SideView) -> f64 {
    length(minus(view.crown, view.fork_foot))
}

/// Everything that is drawn, from back to front. `telescopic`: the fork is known to shorten under load.
pub(super) fn elements(view: &SideView, telescopic: bool) -> Vec<Element> {
    let mut all = Vec::with_capacity(40);
    wheel(&mut all, ["rear tyre", "rear tyre body", "rear rim", "rear hub"], &view.rear_wheel);
    wheel(&mut all, ["front tyre", "front tyre body", "front rim", "front hub"], &view.front_wheel);
    drivetrain(&mut all, view);
    frame(&mut all, view);
    fork(&mut all, view, telescopic);
    cockpit(&mut all, view);
    seat(&mut all, view);
    crank(&mut all, view);
    all
}

fn line(all: &mut Vec<Element>, name: &'static str, points: Vec<Point>, stroke: Stroke, body_mm: f64) {
    all.push(Element { name, shape: Shape::Line(points), stroke, body_mm });
}

fn circle(all: &mut Vec<Element>, name: &'static str, centre: Point, radius: f64, stroke: Stroke, body_mm: f64) {
    all.push(Element { name, shape: Shape::Circle(centre, radius), stroke, body_mm });
}

fn wheel(all: &mut Vec<Element>, names: [&'static str; 4], wheel: &WheelView) {
    if let Some(rim) = wheel.rim_radius.filter(|rim| *rim < wheel.radius) {
        // The tyre's body: a ring as wide as the tyre is high.
        circle(all, names[1], wheel.axle, f64::midpoint(wheel.radius, rim), Stroke::None, wheel.radius - rim);
        circle(all, names[2], wheel.axle, rim, Stroke::Thin, 0.0);
    }
    circle(all, names[0], wheel.axle, wheel.radius, Stroke::Thick, 0.0);
    circle(all, names[3], wheel.axle, HUB_MM, Stroke::Thin, 0.0);
}

fn drivetrain(all: &mut Vec<Element>, view: &SideView) {
    let (bb, axle) = (view.bottom_bracket, view.rear_wheel.axle);
    if let Some(radius) = view.sprocket_radius {
        circle(all, "sprocket", axle, radius, Stroke::Thin, 0.0);
    }
    let Some(ring) = view.ring_radius else { return };
    circle(all, "ring", bb, ring, Stroke::Thin, 0.0);
    let Some(sprocket) = view.sprocket_radius else { return };
    // The chain runs along the two outer tangents.
    let along = minus(bb, axle);
    let distance = length(along);
    let lean = (sprocket - ring) / distance.max(1.0);
    if lean.abs() >= 1.0 {
        return;
    }
    let (e, n) = (unit(along), unit([-along[1], along[0]]));
    let across = (1.0 - lean * lean).sqrt();
    for (name, side) in [("chain above", 1.0), ("chain below", -1.0)] {
        let normal = plus(times(e, lean), times(n, side * across));
        line(all, name, vec![plus(axle, times(normal, sprocket)), plus(bb, times(normal, ring))], Stroke::Thin, 0.0);
    }
}

fn frame(all: &mut Vec<Element>, view: &SideView) {
    let (bb, axle) = (view.bottom_bracket, view.rear_wheel.axle);
    let (top, bottom) = (view.head_tube_top, view.head_tube_bottom);
    line(all, "down tube", vec![bb, between(bottom, top, 0.22)], Stroke::Thick, body_mm::DOWN_TUBE);
    if let Some(pivot) = view.pivot {
        line(all, "swing arm", vec![axle, pivot], Stroke::Thick, body_mm::STAY * 1.4);
        circle(all, "pivot", pivot, HUB_MM * 0.8, Stroke::Thick, 0.0);
    } else {
        line(all, "chain stay", vec![axle, bb], Stroke::Thick, body_mm::STAY);
    }
    if let Some(seat) = view.seat_tube_top {
        line(all, "seat tube", vec![bb, seat], Stroke::Thick, body_mm::TUBE);
        let joint = between(seat, bb, (45.0 / length(minus(seat, bb)).max(90.0)).min(0.5));
        line(all, "top tube", vec![joint, between(bottom, top, 0.82)], Stroke::Thick, body_mm::TUBE);
        if view.pivot.is_none() {
            line(all, "seat stay", vec![axle, joint], Stroke::Thick, body_mm::STAY * 0.8);
        }
    }
    line(all, "head tube", vec![bottom, top], Stroke::Thick, body_mm::HEAD_TUBE);
    circle(all, "bottom bracket", bb, HUB_MM * 1.2, Stroke::Thin, 0.0);
}

/// Crown, leg and drop-out: the leg runs beside the steering axis by most of the offset, the drop-out makes up the rest.
fn fork(all: &mut Vec<Element>, view: &SideView, telescopic: bool) {
    let offset = minus(view.front_wheel.axle, view.fork_foot);
    let beside = times(offset, 0.6);
    let shoulder = plus(between(view.crown, view.fork_foot, 0.04), beside);
    let end = plus(view.fork_foot, beside);
    line(all, "lower cup", vec![view.head_tube_bottom, view.crown], Stroke::Thick, body_mm::HEAD_TUBE);
    if telescopic {
        let seal = between(shoulder, end, 0.42);
        line(all, "stanchion", vec![shoulder, seal], Stroke::None, body_mm::FORK);
        line(all, "lower leg", vec![seal, end], Stroke::None, body_mm::FORK_LOWER);
        let half = times(unit(offset), body_mm::FORK_LOWER / 2.0);
        line(all, "seal", vec![minus(seal, half), plus(seal, half)], Stroke::Thin, 0.0);
    } else {
        line(all, "blade", vec![shoulder, end], Stroke::None, body_mm::FORK);
    }
    line(all, "fork", vec![view.crown, shoulder, end, view.front_wheel.axle], Stroke::Thick, 0.0);
}

fn cockpit(all: &mut Vec<Element>, view: &SideView) {
    let Some(base) = view.stem_base else { return };
    line(all, "steerer", vec![view.head_tube_top, base], Stroke::Thick, body_mm::STEERER);
    let Some(clamp) = view.bar_clamp else { return };
    line(all, "stem", vec![base, clamp], Stroke::Thick, body_mm::STEERER);
    let Some(hand) = view.hand else { return };
    line(all, "bar", vec![clamp, hand], Stroke::Thick, body_mm::BAR);
    circle(all, "grip", hand, GRIP_MM, Stroke::Thick, 0.0);
}

fn seat(all: &mut Vec<Element>, view: &SideView) {
    let Some(saddle) = view.saddle else { return };
    if let Some(top) = view.seat_tube_top {
        let under = minus(saddle, [0.0, RAILS_MM]);
        line(all, "seatpost", vec![top, under], Stroke::Thick, body_mm::SEATPOST);
    } else {
        // Where the seat tube ends is not known; the saddle still stands above the bottom bracket.
        line(all, "seat line", vec![view.bottom_bracket, minus(saddle, [0.0, RAILS_MM])], Stroke::Thin, 0.0);
    }
    let half = view.saddle_length / 2.0;
    let shell = vec![
        plus(saddle, [-half, 9.0]),
        plus(saddle, [-half * 0.45, 0.0]),
        plus(saddle, [half * 0.3, 0.0]),
        plus(saddle, [half, -8.0]),
    ];
    line(all, "saddle", shell, Stroke::Thick, 0.0);
    let rails = vec![
        plus(saddle, [-half * 0.6, 0.0]),
        minus(saddle, [half * 0.2, RAILS_MM]),
        minus(saddle, [-half * 0.2, RAILS_MM]),
        plus(saddle, [half * 0.7, -6.0]),
    ];
    line(all, "rails", rails, Stroke::Thin, 0.0);
}

fn crank(all: &mut Vec<Element>, view: &SideView) {
    let Some(crank) = view.crank_length else { return };
    let pedal = plus(view.bottom_bracket, [crank, 0.0]);
    line(all, "crank", vec![view.bottom_bracket, pedal], Stroke::Thick, body_mm::CRANK);
    line(
        all,
        "pedal",
        vec![minus(pedal, [HALF_PEDAL_MM, 0.0]), plus(pedal, [HALF_PEDAL_MM, 0.0])],
        Stroke::Thick,
        body_mm::CRANK,
    );
}

/// Whether an element has moved, by more than a drawing can show: 0.3 mm.
pub(super) fn moved(a: &Element, b: &Element) -> bool {
    let apart = |a: Point, b: Point| length(minus(a, b)) > 0.3;
    match (&a.shape, &b.shape) {
        (Shape::Line(a), Shape::Line(b)) => a.len() != b.len() || a.iter().zip(b).any(|(a, b)| apart(*a, *b)),
        (Shape::Circle(a, r), Shape::Circle(b, s)) => apart(*a, *b) || (r - s).abs() > 0.3,
        _ => true,
    }
}

fn around(centre: Point, radius: f64, degrees: &[f64]) -> Vec<Point> {
    degrees.iter().map(|d| plus(centre, times([(d / 360.0 * TAU).cos(), (d / 360.0 * TAU).sin()], radius))).collect()
}

/// Where a part can be pointed at; empty if it is not on the drawing.
pub(super) fn targets(view: &SideView, slot: &str) -> Vec<Point> {
    let (front, rear) = (&view.front_wheel, &view.rear_wheel);
    let bb = view.bottom_bracket;
    let leg = |share: f64| plus(between(view.crown, view.fork_foot, share), times(minus(front.axle, view.fork_foot), 0.6));
    let rim = |wheel: &WheelView, degrees: &[f64]| wheel.rim_radius.map_or_else(Vec::new, |r| around(wheel.axle, r, degrees));
    let tread = |wheel: &WheelView, degrees: &[f64]| {
        let height = wheel.rim_radius.map_or(0.0, |rim| (wheel.radius - rim) / 2.0);
        around(wheel.axle, wheel.radius - height, degrees)
    };
    match slot {
        "frame" => {
            let down = |share| between(bb, view.head_tube_bottom, share);
            let mut on = vec![down(0.45), down(0.6), down(0.75)];
            if let Some(seat) = view.seat_tube_top {
                on.extend([
                    between(seat, view.head_tube_top, 0.35),
                    between(seat, view.head_tube_top, 0.6),
                    between(bb, seat, 0.55),
                ]);
            }
            on
        }
        "fork" => vec![leg(0.3), leg(0.45), leg(0.6), leg(0.75)],
        "headset" => vec![view.head_tube_top, view.head_tube_bottom],
        "stem" => match (view.stem_base, view.bar_clamp) {
            (Some(base), Some(clamp)) => vec![between(base, clamp, 0.5), base],
            (Some(base), None) => vec![base],
            _ => Vec::new(),
        },
        "bar" => match (view.bar_clamp, view.hand) {
            (Some(clamp), Some(hand)) => vec![between(clamp, hand, 0.75), hand, clamp],
            _ => Vec::new(),
        },
        "front_wheel" => rim(front, &[35.0, 10.0, 150.0, 200.0, -30.0, 60.0]),
        "rear_wheel" => rim(rear, &[145.0, 170.0, 120.0, 210.0, 90.0]),
        "front_tyre" => tread(front, &[50.0, 20.0, 0.0, 75.0, -20.0]),
        "rear_tyre" => tread(rear, &[130.0, 160.0, 180.0, 105.0, 200.0]),
        "seatpost" => match (view.seat_tube_top, view.saddle) {
            (Some(top), Some(saddle)) => vec![between(top, saddle, 0.4), between(top, saddle, 0.65), between(top, saddle, 0.2)],
            _ => Vec::new(),
        },
        "saddle" => view.saddle.map_or_else(Vec::new, |s| {
            vec![plus(s, [-view.saddle_length * 0.3, 2.0]), plus(s, [view.saddle_length * 0.3, -3.0]), s]
        }),
        "crank" => view.crank_length.map_or_else(Vec::new, |l| vec![plus(bb, [l * 0.55, 0.0]), plus(bb, [l * 0.75, 0.0])]),
        "pedals" => view.crank_length.map_or_else(Vec::new, |l| vec![plus(bb, [l + 30.0, 0.0]), plus(bb, [l - 20.0, 0.0])]),
        "chainring" => view.ring_radius.map_or_else(Vec::new, |r| around(bb, r, &[-50.0, -130.0, -90.0, 60.0, 120.0])),
        "cassette" => view.sprocket_radius.map_or_else(Vec::new, |r| around(rear.axle, r, &[-120.0, 180.0, 120.0, -60.0, 150.0])),
        "shock" => match (view.pivot, view.seat_tube_top) {
            (Some(pivot), Some(seat)) => vec![between(between(pivot, seat, 0.45), view.head_tube_bottom, 0.2)],
            _ => Vec::new(),
        },
        "front_rotor" => around(front.axle, HUB_MM, &[-45.0, 30.0, 200.0]),
        "rear_rotor" => around(rear.axle, HUB_MM, &[215.0, 135.0, -45.0]),
        _ => Vec::new(),
    }
}

/// The corners of the box around everything: least and greatest x and y, mm. The ground is inside.
pub(super) fn extent<'a>(elements: impl Iterator<Item = &'a Element>) -> (Point, Point) {
    let (mut least, mut most) = ([f64::INFINITY, 0.0], [f64::NEG_INFINITY, 0.0]);
    let mut take = |p: Point, r: f64| {
        for axis in 0..2 {
            least[axis] = f64::min(least[axis], p[axis] - r);
            most[axis] = f64::max(most[axis], p[axis] + r);
        }
    };
    for element in elements {
        match &element.shape {
            Shape::Line(points) => points.iter().for_each(|p| take(*p, element.body_mm / 2.0)),
            Shape::Circle(centre, radius) => take(*centre, *radius),
        }
    }
    (least, most)
}
