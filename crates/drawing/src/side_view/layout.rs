//! Keeping words and balloons apart from one another and from the bicycle.
//!
//! Everything here is in the units of the drawing, y downwards. Dimension texts have a few places each and take the first free one;
//! balloons try a fan of places around their part and take the cheapest, then each is moved once more with all others standing.

use std::sync::LazyLock;

use stand::answer::Point;

use super::bike::{length, minus, plus, times};

/// A box that is taken.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Area {
    /// Left edge.
    pub left: f64,
    /// Upper edge.
    pub top: f64,
    /// Right edge.
    pub right: f64,
    /// Lower edge.
    pub bottom: f64,
}

impl Area {
    pub(crate) fn new(left: f64, top: f64, right: f64, bottom: f64) -> Self {
        Self { left, top, right, bottom }
    }

    pub(super) fn around(centre: Point, radius: f64) -> Self {
        Self::new(centre[0] - radius, centre[1] - radius, centre[0] + radius, centre[1] + radius)
    }

    pub(super) fn grown(self, by: f64) -> Self {
        Self::new(self.left - by, self.top - by, self.right + by, self.bottom + by)
    }

    /// Whether two boxes share more than an edge.
    pub fn overlaps(&self, other: &Self) -> bool {
        self.left < other.right && other.left < self.right && self.top < other.bottom && other.top < self.bottom
    }

    pub(crate) fn within(&self, outer: &Self) -> bool {
        self.left >= outer.left && self.right <= outer.right && self.top >= outer.top && self.bottom <= outer.bottom
    }

    fn contains(&self, p: Point) -> bool {
        p[0] > self.left && p[0] < self.right && p[1] > self.top && p[1] < self.bottom
    }

    /// Whether a straight line from `a` to `b` runs through the box.
    pub(super) fn crossed_by(&self, a: Point, b: Point) -> bool {
        let corners = [[self.left, self.top], [self.right, self.top], [self.right, self.bottom], [self.left, self.bottom]];
        self.contains(a) || self.contains(b) || (0..4).any(|i| cross(a, b, corners[i], corners[(i + 1) % 4]))
    }
}

/// A length squared: to compare lengths, thousands of times a drawing, it takes no root.
fn square([x, y]: Point) -> f64 {
    x * x + y * y
}

/// Whether the straight lines a–b and c–d cross.
pub(super) fn cross(a: Point, b: Point, c: Point, d: Point) -> bool {
    let apart = |i: usize| a[i].max(b[i]) < c[i].min(d[i]) || c[i].max(d[i]) < a[i].min(b[i]);
    if apart(0) || apart(1) {
        return false;
    }
    let side = |p: Point, q: Point, r: Point| (q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0]);
    side(a, b, c) * side(a, b, d) < 0.0 && side(c, d, a) * side(c, d, b) < 0.0
}

/// Whether a point is further from the straight line a–b than this.
fn is_further(p: Point, a: Point, b: Point, than: f64) -> bool {
    // Most lines are nowhere near.
    if p[0] < a[0].min(b[0]) - than
        || p[0] > a[0].max(b[0]) + than
        || p[1] < a[1].min(b[1]) - than
        || p[1] > a[1].max(b[1]) + than
    {
        return true;
    }
    let ab = minus(b, a);
    let squared = square(ab);
    let along = if squared > 0.0 { ((p[0] - a[0]) * ab[0] + (p[1] - a[1]) * ab[1]) / squared } else { 0.0 };
    square(minus(p, plus(a, times(ab, along.clamp(0.0, 1.0))))) > than * than
}

/// What is drawn and must not be written over.
#[derive(Clone, Debug, Default)]
pub(super) struct Obstacles {
    /// Straight lines with half the width they take.
    pub(super) lines: Vec<(Point, Point, f64)>,
    /// Circles' lines.
    pub(super) circles: Vec<(Point, f64)>,
    /// Texts.
    pub(super) areas: Vec<Area>,
    /// Thin lines of dimensions: no text on them, leaders may cross.
    pub(super) thin: Vec<(Point, Point)>,
}

impl Obstacles {
    /// Whether a box is free of everything drawn.
    pub(super) fn free(&self, area: &Area) -> bool {
        let clear_of_circle = |(centre, radius): &(Point, f64)| {
            let nearest = [centre[0].clamp(area.left, area.right), centre[1].clamp(area.top, area.bottom)];
            let corners = [[area.left, area.top], [area.right, area.top], [area.right, area.bottom], [area.left, area.bottom]];
            let far = corners.iter().map(|c| length(minus(*c, *centre))).fold(0.0, f64::max);
            length(minus(nearest, *centre)) > *radius || far < *radius
        };
        !self.areas.iter().any(|other| other.overlaps(area))
            && !self.lines.iter().any(|(a, b, half)| area.grown(*half).crossed_by(*a, *b))
            && !self.thin.iter().any(|(a, b)| area.crossed_by(*a, *b))
            && self.circles.iter().all(clear_of_circle)
    }

    fn free_disc(&self, centre: Point, radius: f64) -> bool {
        !self.areas.iter().any(|other| other.overlaps(&Area::around(centre, radius)))
            && self.lines.iter().all(|(a, b, half)| is_further(centre, *a, *b, radius + half))
            && self.thin.iter().all(|(a, b)| is_further(centre, *a, *b, radius))
            && self.circles.iter().all(|(c, r)| (length(minus(centre, *c)) - r).abs() > radius)
    }

    /// How many drawn lines a leader crosses.
    fn crossings(&self, a: Point, b: Point) -> usize {
        let circle = |(c, r): &&(Point, f64)| {
            (square(minus(a, *c)) < r * r) != (square(minus(b, *c)) < r * r) && !is_further(*c, a, b, *r)
        };
        self.lines.iter().filter(|(c, d, _)| cross(a, b, *c, *d)).count()
            + self.thin.iter().filter(|(c, d)| cross(a, b, *c, *d)).count()
            + self.circles.iter().filter(circle).count()
    }
}

/// A balloon to be placed.
#[derive(Clone, Debug)]
pub(super) struct Wanted {
    pub(super) number: u32,
    /// Where it may point.
    pub(super) targets: Vec<Point>,
}

/// A balloon in its place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Balloon {
    pub(super) number: u32,
    pub(super) centre: Point,
    pub(super) target: Point,
}

/// Directions tried around a target. Odd against a right angle, so that leaders are neither level nor plumb (ISO 6433).
const DIRECTIONS: u16 = 26;
/// Distances tried, in radii of a balloon.
const DISTANCES: [f64; 9] = [2.6, 3.4, 4.4, 5.8, 7.5, 9.5, 12.0, 15.0, 19.0];

/// Places balloons of a radius inside a frame. One that finds no place is left out.
pub(super) fn balloons(wanted: &[Wanted], obstacles: &Obstacles, frame: &Area, radius: f64) -> Vec<Balloon> {
    let mut searches: Vec<Search<'_>> = wanted.iter().map(|want| Search::new(want, obstacles, frame, radius)).collect();
    let mut placed: Vec<Option<Found>> = vec![None; wanted.len()];
    // Moves so far, and how many there had been when each was last placed: with nothing moved since, it would be put there again.
    let (mut moves, mut placed_after) = (0, vec![None; wanted.len()]);
    // Placed one after the other the first ones choose freely; two more rounds let each give way to the later ones.
    for _round in 0..3 {
        for (at, search) in searches.iter_mut().enumerate() {
            if placed_after[at] == Some(moves) {
                continue;
            }
            let earlier = placed[at].take();
            let others: Vec<Balloon> = placed.iter().flatten().map(|found| found.balloon).collect();
            placed[at] = search.best(&others, earlier);
            moves += usize::from(placed[at].map(|found| found.balloon) != earlier.map(|found| found.balloon));
            placed_after[at] = Some(moves);
        }
    }
    placed.into_iter().flatten().map(|found| found.balloon).collect()
}

/// A balloon with what its place costs.
#[derive(Clone, Copy, Debug)]
struct Found {
    balloon: Balloon,
    cost: f64,
}

/// One step of the fan around the targets of any balloon, in radii of a balloon.
struct Step {
    /// Which of the targets.
    rank: usize,
    out: Point,
    far: f64,
    at_least: f64,
}

/// Targets that a part has, at most; more are not looked at.
const MOST_TARGETS: usize = 8;

/// The fan around so many targets, less one: the same for every balloon that has them.
static FANS: LazyLock<[Vec<Step>; MOST_TARGETS]> = LazyLock::new(|| std::array::from_fn(|place| fan(place + 1)));

/// The fan, the cheapest step first; of two that cost the same, the one written first.
fn fan(targets: usize) -> Vec<Step> {
    let mut fan = Vec::new();
    for rank in 0..targets {
        for direction in 0..DIRECTIONS {
            let angle = (f64::from(direction) + 0.5) / f64::from(DIRECTIONS) * std::f64::consts::TAU;
            let (sin, cos) = angle.sin_cos();
            let level_or_plumb = if sin.abs() < 0.15 || cos.abs() < 0.15 { 1.5 } else { 0.0 };
            fan.extend(DISTANCES.map(|far| Step {
                rank,
                out: [cos, sin],
                far,
                at_least: far + 0.8 * rank as f64 + level_or_plumb,
            }));
        }
    }
    fan.sort_by(|a, b| a.at_least.total_cmp(&b.at_least));
    fan
}

/// The search for the place of one balloon.
struct Search<'a> {
    want: &'a Wanted,
    fan: &'static [Step],
    obstacles: &'a Obstacles,
    frame: &'a Area,
    radius: f64,
    /// What the steps of the fan cost with all that is drawn, as far as they were looked at: in the first rounds and in the later ones
    /// it is the same.
    costs: Vec<Cost>,
}

/// What a place costs.
#[derive(Clone, Copy, Debug)]
enum Cost {
    /// That much; without end if something is in the way.
    Is(f64),
    /// That much or more: it is not yet looked at with all that is drawn.
    AtLeast(f64),
}

impl<'a> Search<'a> {
    fn new(want: &'a Wanted, obstacles: &'a Obstacles, frame: &'a Area, radius: f64) -> Self {
        let targets = want.targets.len().min(MOST_TARGETS);
        let fan = if targets == 0 { &[] } else { FANS[targets - 1].as_slice() };
        Self { want, fan, obstacles, frame, radius, costs: Vec::new() }
    }

    /// The cheapest place that keeps clear of the other balloons; where it stood earlier unless there is a cheaper one.
    fn best(&mut self, others: &[Balloon], earlier: Option<Found>) -> Option<Found> {
        let mut best = earlier.filter(|found| others.iter().all(|other| apart(&found.balloon, other, self.radius)));
        let mut least = best.map_or(f64::INFINITY, |found| found.cost);
        for (at, step) in self.fan.iter().enumerate() {
            let at_least = step.at_least * self.radius;
            if at_least >= least {
                break;
            }
            if self.costs.len() == at {
                self.costs.push(self.at(step).map_or(Cost::Is(f64::INFINITY), |balloon| self.least_cost(balloon, at_least)));
            }
            let (Cost::Is(known) | Cost::AtLeast(known)) = self.costs[at];
            if known >= least {
                continue;
            }
            let Some(balloon) = self.at(step) else { continue };
            if !others.iter().all(|other| apart(&balloon, other, self.radius)) {
                continue;
            }
            if let Cost::AtLeast(at_least) = self.costs[at] {
                self.costs[at] = Cost::Is(self.cost(balloon, at_least));
            }
            if let Cost::Is(cost) = self.costs[at]
                && cost < least
            {
                (least, best) = (cost, Some(Found { balloon, cost }));
            }
        }
        best
    }

    /// The balloon at a step of the fan, if it is inside the frame.
    fn at(&self, step: &Step) -> Option<Balloon> {
        let target = *self.want.targets.get(step.rank)?;
        let centre = plus(target, times(step.out, step.far * self.radius));
        let is_inside = Area::around(centre, self.radius * 1.1).within(self.frame);
        is_inside.then_some(Balloon { number: self.want.number, centre, target })
    }

    /// What a place costs at least, beyond its step of the fan: outside the bicycle a balloon is found sooner than inside a wheel.
    fn least_cost(&self, balloon: Balloon, at_least: f64) -> Cost {
        let around = self.obstacles.circles.iter().filter(|(c, r)| square(minus(balloon.centre, *c)) < r * r).count();
        Cost::AtLeast(at_least + 2.4 * self.radius * around as f64)
    }

    /// What it costs with all that is drawn.
    fn cost(&self, balloon: Balloon, at_least: f64) -> f64 {
        let Balloon { centre, target, .. } = balloon;
        let (obstacles, radius) = (self.obstacles, self.radius);
        let out = minus(centre, target);
        let out = times(out, 1.0 / length(out));
        let (rim, start) = (minus(centre, times(out, radius)), plus(target, times(out, 0.3 * radius)));
        let is_free = obstacles.free_disc(centre, radius * 1.3)
            && !obstacles.areas.iter().any(|area| area.grown(radius * 0.2).crossed_by(target, rim));
        if is_free { at_least + 2.2 * radius * obstacles.crossings(start, rim) as f64 } else { f64::INFINITY }
    }
}

/// Whether two balloons and their leaders keep clear of each other.
fn apart(a: &Balloon, b: &Balloon, radius: f64) -> bool {
    let least = 2.7 * radius;
    square(minus(a.centre, b.centre)) > least * least
        && is_further(b.centre, a.target, a.centre, 1.5 * radius)
        && is_further(a.centre, b.target, b.centre, 1.5 * radius)
        && !cross(a.target, a.centre, b.target, b.centre)
}

/// A name beside the bicycle, with a leader to what it names.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Tag {
    /// The box of the words.
    pub(super) area: Area,
    /// Where the leader leaves them.
    pub(super) from: Point,
    pub(super) target: Point,
}

/// How many of the distances are near enough for a name.
const NEAR: usize = 6;

/// Finds the place of a name, `size` wide and high, that costs least; `None` if there is no room for it. `pad` is the space kept around it.
pub(super) fn tag(targets: &[Point], size: [f64; 2], obstacles: &Obstacles, frame: &Area, pad: f64) -> Option<Tag> {
    let mut best: Option<(f64, Tag)> = None;
    for (rank, target) in targets.iter().enumerate() {
        for direction in 0..2 * DIRECTIONS {
            let angle = (f64::from(direction) + 0.5) / f64::from(2 * DIRECTIONS) * std::f64::consts::TAU;
            let (sin, cos) = angle.sin_cos();
            for far in &DISTANCES[..NEAR] {
                let from = plus(*target, times([cos, sin], far * pad * 2.0));
                // The words stand beside the leader's end, on the side it points to, or over or under it where it is steep.
                let (left, top) = if cos.abs() > 0.5 {
                    (if cos > 0.0 { from[0] + pad } else { from[0] - pad - size[0] }, from[1] - size[1] / 2.0)
                } else {
                    (from[0] - size[0] / 2.0, if sin > 0.0 { from[1] + pad } else { from[1] - pad - size[1] })
                };
                let area = Area::new(left, top, left + size[0], top + size[1]);
                let in_the_way = || {
                    !obstacles.free(&area.grown(pad))
                        || obstacles.areas.iter().any(|other| other.grown(pad / 2.0).crossed_by(*target, from))
                };
                if !area.within(frame) || in_the_way() {
                    continue;
                }
                let around = obstacles.circles.iter().filter(|(c, r)| length(minus(from, *c)) < *r).count();
                let start = plus(*target, times([cos, sin], 0.3 * pad));
                let cost =
                    pad * (2.0 * far + 0.8 * rank as f64 + 4.0 * obstacles.crossings(start, from) as f64 + 3.0 * around as f64);
                if best.as_ref().is_none_or(|(least, _)| cost < *least) {
                    best = Some((cost, Tag { area, from, target: *target }));
                }
            }
        }
    }
    best.map(|(_, tag)| tag)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_through_a_box_is_seen() {
        let area = Area::new(0.0, 0.0, 10.0, 4.0);
        assert!(area.crossed_by([-5.0, 2.0], [15.0, 2.0]));
        assert!(area.crossed_by([5.0, 2.0], [5.0, 2.1]));
        assert!(!area.crossed_by([-5.0, -1.0], [15.0, -1.0]));
    }

    #[test]
    fn a_box_inside_a_circle_is_free_and_one_on_its_line_is_not() {
        let obstacles = Obstacles { circles: vec![([0.0, 0.0], 50.0)], ..Obstacles::default() };
        assert!(obstacles.free(&Area::new(-5.0, -5.0, 5.0, 5.0)));
        assert!(!obstacles.free(&Area::new(45.0, -5.0, 55.0, 5.0)));
        assert!(obstacles.free(&Area::new(55.0, -5.0, 65.0, 5.0)));
    }

    #[test]
    fn balloons_keep_apart_even_on_one_target() {
        let wanted: Vec<Wanted> = (1..=8).map(|number| Wanted { number, targets: vec![[100.0, 100.0]] }).collect();
        let placed = balloons(&wanted, &Obstacles::default(), &Area::new(0.0, 0.0, 200.0, 200.0), 8.0);
        assert!(placed.len() >= 6, "{}", placed.len());
        for (at, a) in placed.iter().enumerate() {
            for b in &placed[at + 1..] {
                assert!(length(minus(a.centre, b.centre)) > 16.0);
            }
        }
    }

    #[test]
    fn a_balloon_without_room_is_left_out() {
        let wanted = [Wanted { number: 1, targets: vec![[5.0, 5.0]] }];
        assert!(balloons(&wanted, &Obstacles::default(), &Area::new(0.0, 0.0, 10.0, 10.0), 8.0).is_empty());
    }
}
