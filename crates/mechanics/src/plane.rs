//! Points and directions in the bicycle's plane: x forward, y up, millimetres.

use std::ops::{Add, Sub};

use crate::Real;

/// A point, or the way from one point to another, in mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Point<D> {
    /// Forward, mm.
    pub x: D,
    /// Up, mm.
    pub y: D,
}

impl<D: Real> Point<D> {
    /// The point `x` forward and `y` up.
    pub fn new(x: D, y: D) -> Self {
        Self { x, y }
    }

    /// The unit vector that points `angle` above forward (rad, counter-clockwise seen from the drive side).
    pub fn direction(angle: D) -> Self {
        let (sin, cos) = angle.sin_cos();
        Self { x: cos, y: sin }
    }

    /// This way, `factor` times as long.
    #[must_use]
    pub fn times(self, factor: D) -> Self {
        Self { x: self.x * factor, y: self.y * factor }
    }

    /// Scalar product, mm².
    pub fn dot(self, other: Self) -> D {
        self.x * other.x + self.y * other.y
    }

    /// Length, mm.
    pub fn length(self) -> D {
        self.dot(self).sqrt()
    }

    /// Angle above forward, rad.
    pub fn angle(self) -> D {
        self.y.atan2(self.x)
    }

    /// This way turned by `angle` (rad, counter-clockwise).
    #[must_use]
    pub fn turned(self, angle: D) -> Self {
        let (sin, cos) = angle.sin_cos();
        Self { x: self.x * cos - self.y * sin, y: self.x * sin + self.y * cos }
    }

    /// The plain number behind each coordinate.
    pub fn re(self) -> Point<f64> {
        Point { x: self.x.re(), y: self.y.re() }
    }
}

impl<D: Real> Add for Point<D> {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self { x: self.x + other.x, y: self.y + other.y }
    }
}

impl<D: Real> Sub for Point<D> {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self { x: self.x - other.x, y: self.y - other.y }
    }
}

/// Where the circles about `a` (radius `a_mm`) and `b` (radius `b_mm`) meet, the meeting point on the left of the way from
/// `a` to `b`; `None` if they do not meet.
pub fn circles_meet_left<D: Real>(a: Point<D>, a_mm: D, b: Point<D>, b_mm: D) -> Option<Point<D>> {
    let way = b - a;
    let apart_squared = way.dot(way);
    if apart_squared.re() <= 0.0 {
        return None;
    }
    // Along the way to the common chord, then square to it.
    let along = (apart_squared + a_mm * a_mm - b_mm * b_mm) / (apart_squared * 2.0);
    let square = a_mm * a_mm / apart_squared - along * along;
    if square.re() < 0.0 {
        return None;
    }
    let square = square.sqrt();
    Some(Point { x: a.x + way.x * along - way.y * square, y: a.y + way.y * along + way.x * square })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn circles_meet_where_a_three_four_five_triangle_says() {
        let meet: Point<f64> = circles_meet_left(Point::new(0.0, 0.0), 3.0, Point::new(5.0, 0.0), 4.0).unwrap();
        assert!((meet.x - 1.8).abs() < 1e-12 && (meet.y - 2.4).abs() < 1e-12);
        assert!(circles_meet_left(Point::new(0.0, 0.0), 1.0, Point::new(5.0, 0.0), 1.0).is_none());
        assert!(circles_meet_left(Point::new(0.0, 0.0), 1.0, Point::new(0.0, 0.0), 1.0).is_none());
    }

    #[test]
    fn turning_keeps_lengths() {
        let way: Point<f64> = Point::new(3.0, -4.0).turned(0.7);
        assert!((way.length() - 5.0).abs() < 1e-12);
    }
}
