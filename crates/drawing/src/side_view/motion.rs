//! The side view between before and after, for a picture that moves.
//!
//! Points are taken in a straight line from where they are before to where they are after. That is a picture and not a computation: a
//! bicycle half way through a swap does not stand anywhere, and no figure is ever read off between the ends.

use std::{collections::HashMap, fmt::Write as _};

use quantity::print::Units;
use stand::answer::{Answer, Point, Pose, SideView, WheelView};

use super::{
    bike::{self, Element, Shape, Stroke, between, minus, plus},
    dimensions, drawn_out, ground, outlines,
    plate::{Placing, placing},
};
use crate::{letters::Face, side_view::PIXEL_MM, svg::number};

/// When what happens, in seconds from the start.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Timing {
    /// Standing as before.
    pub(crate) hold: f64,
    /// Moving.
    pub(crate) moving: f64,
}

/// Steps of a movement in the moving SVG; between them a browser goes straight on.
pub(crate) const STEPS: usize = 8;

/// A movement that sets off and comes to rest gently: `3 u² − 2 u³`.
pub(crate) fn eased(u: f64) -> f64 {
    let u = u.clamp(0.0, 1.0);
    u * u * (3.0 - 2.0 * u)
}

/// A line or circle in the units of the drawing.
#[derive(Clone, Debug, PartialEq)]
struct Drawn {
    /// Which it is; the same before and after.
    name: String,
    class: &'static str,
    shape: Shape,
    /// Width of its line, where that is not the style's.
    width: Option<f64>,
}

impl Drawn {
    /// Whether it can turn into another without a jump.
    fn turns_into(&self, other: &Self) -> bool {
        match (&self.shape, &other.shape) {
            (Shape::Line(a), Shape::Line(b)) => a.len() == b.len(),
            (Shape::Circle(..), Shape::Circle(..)) => true,
            _ => false,
        }
    }

    fn path(points: &[Point]) -> String {
        let mut d = String::new();
        for (at, p) in points.iter().enumerate() {
            let _ = write!(d, "{}{} {}", if at == 0 { 'M' } else { 'L' }, number(p[0]), number(p[1]));
        }
        d
    }

    /// The element with what is written inside it.
    fn write(&self, out: &mut String, more: &str, inside: &str) {
        let width = self.width.map(|w| format!(r#" stroke-width="{}""#, number(w))).unwrap_or_default();
        let class = self.class;
        let _ = match &self.shape {
            Shape::Line(points) => {
                write!(out, r#"<path class="{class}"{width}{more} d="{}">{inside}</path>"#, Self::path(points))
            }
            Shape::Circle(c, r) => write!(
                out,
                r#"<circle class="{class}"{width}{more} cx="{}" cy="{}" r="{}">{inside}</circle>"#,
                number(c[0]),
                number(c[1]),
                number(*r)
            ),
        };
    }
}

/// A bicycle: bodies behind, lines before them.
struct Layers {
    bodies: Vec<Drawn>,
    lines: Vec<Drawn>,
}

/// One layer from its first key to its last.
fn layer(out: &mut String, keys: &[&[Drawn]], clock: &Clock) {
    let (Some(before), Some(after)) = (keys.first(), keys.last()) else { return };
    let by_name: Vec<HashMap<&str, &Drawn>> =
        keys.iter().map(|key| key.iter().map(|drawn| (drawn.name.as_str(), drawn)).collect()).collect();
    // What is there no longer lies under what is.
    for drawn in *before {
        let there = by_name.last().and_then(|names| names.get(drawn.name.as_str()));
        if there.is_none_or(|there| !drawn.turns_into(there)) {
            drawn.write(out, r#" opacity="0""#, &clock.until_it_ends());
        }
    }
    for drawn in *after {
        let way: Vec<&Drawn> = by_name.iter().filter_map(|names| names.get(drawn.name.as_str()).copied()).collect();
        if way.len() == keys.len() && way.iter().all(|at| at.turns_into(drawn)) {
            drawn.write(out, "", &clock.along(&way));
        } else {
            drawn.write(out, "", &clock.once_it_ends());
        }
    }
}

/// A bicycle that can be drawn anywhere on its way.
pub(crate) struct Motion<'a> {
    placing: Placing<'a>,
    width: f64,
    text: f64,
    turned: bool,
}

impl<'a> Motion<'a> {
    /// The view of a pose in a box; `None` if the answer has none.
    pub(crate) fn new(answer: &'a Answer, pose: Pose, units: Units, size: [f64; 2], text: f64) -> Option<Self> {
        let turned = answer.changes.iter().any(|c| c.id == "head_angle" && c.pose == pose && dimensions::moves(c, units));
        Some(Self { placing: placing(answer, pose, size, text)?, width: size[0], text, turned })
    }

    /// Height the drawing takes.
    pub(crate) fn height(&self) -> f64 {
        self.placing.height
    }

    /// Whether anything on the drawing moves.
    pub(crate) fn moves(&self) -> bool {
        !self.placing.gone.is_empty()
    }

    /// What the bicycle stands on.
    pub(crate) fn ground(&self) -> String {
        let mut scene = self.placing.scene(self.width, self.text, Face::Print);
        ground(&mut scene);
        scene.ink.into_string()
    }

    /// The broken lines of what moves away; they stand still.
    fn gone(&self) -> String {
        let mut scene = self.placing.scene(self.width, self.text, Face::Print);
        outlines(&mut scene, &self.placing.gone, true);
        scene.ink.into_string()
    }

    /// The bicycle a share of the way.
    pub(crate) fn frame(&self, share: f64) -> String {
        let all = self.drawn(share);
        let mut out = String::new();
        all.bodies.iter().for_each(|drawn| drawn.write(&mut out, "", ""));
        out.push_str(&self.gone());
        all.lines.iter().for_each(|drawn| drawn.write(&mut out, "", ""));
        out
    }

    /// The bicycle after, as it comes from before: every line that moves with its movement inside it. Whatever does not know
    /// movements shows it where they end.
    pub(crate) fn moving(&self, timing: Timing) -> String {
        let clock = Clock::new(timing);
        let keys: Vec<Layers> = (0..=STEPS).map(|step| self.drawn(eased(step as f64 / STEPS as f64))).collect();
        let bodies: Vec<&[Drawn]> = keys.iter().map(|key| key.bodies.as_slice()).collect();
        let lines: Vec<&[Drawn]> = keys.iter().map(|key| key.lines.as_slice()).collect();
        let mut out = String::new();
        layer(&mut out, &bodies, &clock);
        out.push_str(&self.gone());
        layer(&mut out, &lines, &clock);
        out
    }

    /// The bicycle after, for those who want nothing to move.
    pub(crate) fn at_rest(&self) -> String {
        self.frame(1.0)
    }

    fn drawn(&self, share: f64) -> Layers {
        let view = on_the_way(&self.placing.views.before, &self.placing.views.after, share);
        let mm_a_pixel = self.placing.scale * PIXEL_MM;
        let at = |p: &Point| [self.placing.origin[0] + p[0] / mm_a_pixel, self.placing.origin[1] - p[1] / mm_a_pixel];
        let placed = |shape: &Shape| match shape {
            Shape::Line(points) => Shape::Line(points.iter().map(at).collect()),
            Shape::Circle(centre, radius) => Shape::Circle(at(centre), radius / mm_a_pixel),
        };
        let elements = bike::elements(&view, self.placing.telescopic);
        let named = |e: &Element, class, layer: &str, width| Drawn {
            name: format!("{} {layer}", e.name),
            class,
            shape: placed(&e.shape),
            width,
        };
        let bodies =
            elements.iter().filter(|e| e.body_mm > 0.0).map(|e| named(e, "body", "body", Some(e.body_mm / mm_a_pixel))).collect();
        let mut lines = self.axes(&view, at);
        lines.extend(elements.iter().filter_map(|e| match e.stroke {
            Stroke::Thick => Some(named(e, "thick", "line", None)),
            Stroke::Thin => Some(named(e, "thin", "line", None)),
            Stroke::None => None,
        }));
        Layers { bodies, lines }
    }

    fn axes(&self, view: &SideView, at: impl Fn(&Point) -> Point) -> Vec<Drawn> {
        let top = view.stem_base.unwrap_or(view.head_tube_top);
        let (a, b) = (at(&top), at(&view.steering_axis_ground));
        let end = drawn_out(a, b, 1.4 * self.text, 1.0);
        let class = if self.turned { "axis on" } else { "axis" };
        let mut axes = vec![Drawn { name: "steering axis".to_owned(), class, shape: Shape::Line(vec![end, b]), width: None }];
        for (name, wheel) in [("rear", &view.rear_wheel), ("front", &view.front_wheel)] {
            let c = at(&wheel.axle);
            let arm = 0.8 * self.text;
            for (way, [x, y]) in [("level", [arm, 0.0]), ("plumb", [0.0, arm])] {
                let shape = Shape::Line(vec![minus(c, [x, y]), plus(c, [x, y])]);
                axes.push(Drawn { name: format!("{name} axle {way}"), class: "axis", shape, width: None });
            }
        }
        axes
    }
}

/// Times as an SVG writes them.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Clock {
    /// Key times of a movement: standing, then a step each.
    times: String,
    /// The whole, seconds.
    whole: f64,
}

impl Clock {
    pub(crate) fn new(timing: Timing) -> Self {
        let whole = timing.hold + timing.moving;
        let start = timing.hold / whole;
        let mut times = "0".to_owned();
        for step in 0..=STEPS {
            let _ = write!(times, ";{:.4}", start + (1.0 - start) * step as f64 / STEPS as f64);
        }
        Self { times: times.replace(";1.0000", ";1"), whole }
    }

    /// One attribute through its values, a value a step; nothing if they are all the same.
    pub(crate) fn attribute(&self, tag: &str, values: &[String]) -> String {
        let Some(first) = values.first().filter(|first| values.iter().any(|value| value != *first)) else { return String::new() };
        format!(
            r#"<{tag} values="{first};{}" keyTimes="{}" dur="{}s" fill="freeze"/>"#,
            values.join(";"),
            self.times,
            number(self.whole)
        )
    }

    fn along(&self, way: &[&Drawn]) -> String {
        let each = |value: &dyn Fn(&Shape) -> String| way.iter().map(|at| value(&at.shape)).collect::<Vec<String>>();
        let circle = |name: &str, of: &dyn Fn(Point, f64) -> f64| {
            let value = |shape: &Shape| match shape {
                Shape::Circle(centre, radius) => number(of(*centre, *radius)).to_string(),
                Shape::Line(_) => String::new(),
            };
            self.attribute(&format!(r#"animate attributeName="{name}""#), &each(&value))
        };
        match way.first().map(|at| &at.shape) {
            Some(Shape::Line(_)) => {
                let d = |shape: &Shape| match shape {
                    Shape::Line(points) => Drawn::path(points),
                    Shape::Circle(..) => String::new(),
                };
                self.attribute(r#"animate attributeName="d""#, &each(&d))
            }
            Some(Shape::Circle(..)) => {
                [circle("cx", &|centre, _| centre[0]), circle("cy", &|centre, _| centre[1]), circle("r", &|_, radius| radius)]
                    .concat()
            }
            None => String::new(),
        }
    }

    /// Seen until the movement ends.
    fn until_it_ends(&self) -> String {
        self.switch("1;0")
    }

    /// Not seen before the movement ends.
    fn once_it_ends(&self) -> String {
        self.switch("0;1")
    }

    fn switch(&self, values: &str) -> String {
        format!(
            r#"<animate attributeName="opacity" calcMode="discrete" values="{values}" keyTimes="0;0.999" dur="{}s" fill="freeze"/>"#,
            number(self.whole)
        )
    }
}

/// The points a share of the way. What only one of the two has belongs to it alone: to the one before until the way ends.
fn on_the_way(before: &SideView, after: &SideView, share: f64) -> SideView {
    if share >= 1.0 {
        return after.clone();
    }
    let point = |of: fn(&SideView) -> Point| between(of(before), of(after), share);
    let size = |a: f64, b: f64| a + (b - a) * share;
    let maybe = |of: fn(&SideView) -> Option<Point>| match (of(before), of(after)) {
        (Some(a), Some(b)) => Some(between(a, b, share)),
        (a, _) => a,
    };
    let maybe_size = |a: Option<f64>, b: Option<f64>| match (a, b) {
        (Some(a), Some(b)) => Some(size(a, b)),
        (a, _) => a,
    };
    let wheel = |a: &WheelView, b: &WheelView| WheelView {
        axle: between(a.axle, b.axle, share),
        radius: size(a.radius, b.radius),
        rim_radius: maybe_size(a.rim_radius, b.rim_radius),
    };
    SideView {
        rear_wheel: wheel(&before.rear_wheel, &after.rear_wheel),
        front_wheel: wheel(&before.front_wheel, &after.front_wheel),
        bottom_bracket: point(|v| v.bottom_bracket),
        head_tube_top: point(|v| v.head_tube_top),
        head_tube_bottom: point(|v| v.head_tube_bottom),
        crown: point(|v| v.crown),
        fork_foot: point(|v| v.fork_foot),
        steering_axis_ground: point(|v| v.steering_axis_ground),
        front_contact: point(|v| v.front_contact),
        seat_tube_top: maybe(|v| v.seat_tube_top),
        saddle: maybe(|v| v.saddle),
        saddle_length: size(before.saddle_length, after.saddle_length),
        stem_base: maybe(|v| v.stem_base),
        bar_clamp: maybe(|v| v.bar_clamp),
        hand: maybe(|v| v.hand),
        crank_length: maybe_size(before.crank_length, after.crank_length),
        ring_radius: maybe_size(before.ring_radius, after.ring_radius),
        sprocket_radius: maybe_size(before.sprocket_radius, after.sprocket_radius),
        pivot: maybe(|v| v.pivot),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_way_is_eased_at_both_ends() {
        assert!(eased(0.0).abs() < 1e-12 && (eased(1.0) - 1.0).abs() < 1e-12 && (eased(0.5) - 0.5).abs() < 1e-12);
        assert!(eased(0.1) < 0.1 && eased(0.9) > 0.9);
    }

    #[test]
    fn a_clock_has_a_time_for_each_value() {
        let clock = Clock::new(Timing { hold: 0.6, moving: 1.4 });
        let values: Vec<String> = (0..=STEPS).map(|step| step.to_string()).collect();
        let written = clock.attribute("animate", &values);
        let of =
            |name: &str| written.split(&format!(r#"{name}=""#)).nth(1).unwrap().split('"').next().unwrap().split(';').count();
        assert_eq!(of("values"), of("keyTimes"));
        assert!(clock.attribute("animate", &["1".to_owned(), "1".to_owned()]).is_empty());
    }
}
