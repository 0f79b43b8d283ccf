//! Keeping words and balloons apart from one another and from the bicycle.
//!
//! Everything here is in the units of the drawing, y downwards. Dimension texts have a few places each and take the first free one;
//! balloons try a fan of places around their part and take the cheapest, then each is moved once more with all others standing.

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
    pub(super) fn new(left: f64, top: f64, right: f64, bottom: f64) -> Self {
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

    pub(super) fn within(&self, outer: &Self) -> bool {
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

/// Whether the straight lines a–b and c–d cross.
pub(super) fn cross(a: Point, b: Point, c: Point, d: Point) -> bool {
    let side = |p: Point, q: Point, r: Point| (q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0]);
    side(a, b, c) * side(a, b, d) < 0.0 && side(c, d, a) * side(c, d, b) < 0.0
}

/// Distance from a point to the straight line a–b.
fn distance(p: Point, a: Point, b: Point) -> f64 {
    let ab = minus(b, a);
    let squared = ab[0] * ab[0] + ab[1] * ab[1];
    let along = if squared > 0.0 { ((p[0] - a[0]) * ab[0] + (p[1] - a[1]) * ab[1]) / squared } else { 0.0 };
    length(minus(p, plus(a, times(ab, along.clamp(0.0, 1.0)))))
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
            && self.lines.iter().all(|(a, b, half)| distance(centre, *a, *b) > radius + half)
            && self.thin.iter().all(|(a, b)| distance(centre, *a, *b) > radius)
            && self.circles.iter().all(|(c, r)| (length(minus(centre, *c)) - r).abs() > radius)
    }

    /// How many drawn lines a leader crosses.
    fn crossings(&self, a: Point, b: Point) -> usize {
        let circle =
            |(c, r): &&(Point, f64)| (length(minus(a, *c)) < *r) != (length(minus(b, *c)) < *r) && distance(*c, a, b) < *r;
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
    let mut placed: Vec<Option<Balloon>> = vec![None; wanted.len()];
    // Placed one after the other the first ones choose freely; two more rounds let each give way to the later ones.
    for _round in 0..3 {
        for (at, want) in wanted.iter().enumerate() {
            placed[at] = None;
            let others: Vec<Balloon> = placed.iter().flatten().copied().collect();
            placed[at] = best(want, &others, obstacles, frame, radius);
        }
    }
    placed.into_iter().flatten().collect()
}

fn best(want: &Wanted, others: &[Balloon], obstacles: &Obstacles, frame: &Area, radius: f64) -> Option<Balloon> {
    let mut best: Option<(f64, Balloon)> = None;
    for (rank, target) in want.targets.iter().enumerate() {
        for direction in 0..DIRECTIONS {
            let angle = (f64::from(direction) + 0.5) / f64::from(DIRECTIONS) * std::f64::consts::TAU;
            let (sin, cos) = angle.sin_cos();
            for far in DISTANCES {
                let centre = plus(*target, times([cos, sin], far * radius));
                // Cheapest first: what lies outside or costs too much is not looked at closely.
                let mut cost = far * radius + 0.8 * radius * rank as f64;
                if sin.abs() < 0.15 || cos.abs() < 0.15 {
                    cost += 1.5 * radius;
                }
                if best.as_ref().is_some_and(|(least, _)| cost >= *least) || !Area::around(centre, radius * 1.1).within(frame) {
                    continue;
                }
                let rim = minus(centre, times([cos, sin], radius));
                let start = plus(*target, times([cos, sin], 0.3 * radius));
                cost += 2.2 * radius * obstacles.crossings(start, rim) as f64;
                // Outside the bicycle a balloon is found sooner than inside a wheel.
                cost += 2.4 * radius * obstacles.circles.iter().filter(|(c, r)| length(minus(centre, *c)) < *r).count() as f64;
                if best.as_ref().is_some_and(|(least, _)| cost >= *least) {
                    continue;
                }
                let balloon = Balloon { number: want.number, centre, target: *target };
                if obstacles.free_disc(centre, radius * 1.3)
                    && !obstacles.areas.iter().any(|a| a.grown(radius * 0.2).crossed_by(*target, rim))
                    && others.iter().all(|other| apart(&balloon, other, radius))
                {
                    best = Some((cost, balloon));
                }
            }
        }
    }
    best.map(|(_, balloon)| balloon)
}

/// Whether two balloons and their leaders keep clear of each other.
fn apart(a: &Balloon, b: &Balloon, radius: f64) -> bool {
    length(minus(a.centre, b.centre)) > 2.7 * radius
        && distance(b.centre, a.target, a.centre) > 1.5 * radius
        && distance(a.centre, b.target, b.centre) > 1.5 * radius
        && !cross(a.target, a.centre, b.target, b.centre)
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
