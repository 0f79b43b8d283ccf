//! The way of a chain around ring, sprocket and jockey wheels: its length in every gear, how long a chain has to be, where the cage
//! stands, and what is left when it is too long or too short.
//!
//! Every toothed wheel is its pitch circle, on which the pins of a seated chain lie; it turns counter-clockwise (s = +1) or clockwise
//! (s = −1), seen from the drive side. A straight run leaves wheel a and meets wheel b along the unit vector u:
//!
//! ```text
//! r = p / (2 sin(π/z))            pitch radius
//! ρ = s r                         with its sense of turning
//! d = b − a,  k = ρa − ρb         centres, and how much further one touches than the other
//! l = √(d·d − k²)                 straight run
//! u = (l d − k d⊥) / d·d          its direction; d⊥ is d turned a right angle clockwise
//! θ = s · angle(u in → u out)     wrap, 0 ≤ θ < 2π
//! L = Σ l + Σ p z θ/2π            length: where it is wrapped, a link for each tooth
//! ```
//!
//! | symbol | here | unit | meaning |
//! |--------|------|------|---------|
//! | p | [`PITCH_MM`] | mm | pitch of the chain, pin to pin |
//! | z | `teeth` | – | teeth |
//! | r | [`pitch_radius_mm`] | mm | radius of the circle through the pins |
//! | L | `length_mm` | mm | length of the path |
//!
//! **Derailleur.** In the direction the chain moves: ring (clockwise), from its lowest point back to the lower jockey wheel
//! (clockwise), over to the front of the upper one (counter-clockwise), over to the back of the sprocket (clockwise), and on top to the
//! ring again. Both jockey wheels sit on a cage that turns about its pivot by φ, from straight down, forward positive. A spring turns it
//! back until the chain is straight or a stop is met; the chain of n links stands where `L(φ) = n p (1 + e)`, e its elongation by wear.
//! Turning the cage forward shortens the path until the runs' pull has no lever left about the pivot: that is the tightest it can be.
//!
//! A derailleur set up for its pack keeps the upper jockey wheel at about the same distance from every sprocket; here it does so exactly,
//! on a straight line from the axle (an idealisation, judgement).
//!
//! Not covered: the run's sag under its weight; the way across (see the chainline); links that bridge the corner where a run meets a
//! wheel: counting by angle is within 0.01 link of the text formula of machine design (`tests/chain_paths.rs`).
//! Source: ISO 606:2015, Annex A (pitch circle); otherwise plane geometry, own derivation.
//! Checked against: `tests/chain_paths.rs` (worked examples of machine design; equal wheels in closed form; the cage in a rhombus).

use std::fmt;

use crate::{Real, plane::Point};

/// Pitch of a bicycle chain, half an inch (ISO 9633).
pub const PITCH_MM: f64 = 12.7;

/// The fewest teeth a chain can be wrapped around.
pub const FEWEST_TEETH: u32 = 6;

/// Pitch radius, mm.
pub fn pitch_radius_mm(teeth: u32) -> f64 {
    PITCH_MM / (2.0 * (std::f64::consts::PI / f64::from(teeth)).sin())
}

/// How a wheel turns when the cranks are pedalled forward, seen from the drive side.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Turns {
    /// As ring, sprocket and lower jockey wheel do.
    Clockwise,
    /// As the upper jockey wheel does.
    CounterClockwise,
}

impl Turns {
    fn sign(self) -> f64 {
        match self {
            Self::Clockwise => -1.0,
            Self::CounterClockwise => 1.0,
        }
    }
}

/// A toothed wheel in the path of a chain.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Toothed<D> {
    /// Its centre, mm.
    pub centre: Point<D>,
    /// Teeth.
    pub teeth: u32,
    /// Which way it turns.
    pub turns: Turns,
}

/// Why there is no path.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum ChainError {
    /// A wheel with too few teeth.
    TooFewTeeth {
        /// Its teeth.
        teeth: u32,
    },
    /// Two wheels of which one lies in the other's way.
    TooClose {
        /// Teeth of the wheel that the chain leaves.
        from_teeth: u32,
        /// Teeth of the wheel it goes to.
        to_teeth: u32,
        /// Distance of the centres, mm.
        apart_mm: f64,
    },
    /// The chain passes a wheel without going around it.
    Passes {
        /// Its teeth.
        teeth: u32,
    },
    /// A length that cannot be: of a cage, a gap, an elongation.
    Impossible {
        /// What is meant.
        what: &'static str,
        /// Its value, in the unit its name says.
        value: f64,
    },
}

impl fmt::Display for ChainError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::TooFewTeeth { teeth } => {
                write!(f, "a wheel of {teeth} teeth cannot carry a chain: it takes {FEWEST_TEETH} or more")
            }
            Self::TooClose { from_teeth, to_teeth, apart_mm } => {
                write!(
                    f,
                    "wheels of {from_teeth} and {to_teeth} teeth with their centres {apart_mm:.0} mm apart run into each other"
                )
            }
            Self::Passes { teeth } => write!(f, "the chain would pass the wheel of {teeth} teeth without going around it"),
            Self::Impossible { what, value } => write!(f, "{what} cannot be {value}"),
        }
    }
}

impl std::error::Error for ChainError {}

/// A closed path around N wheels.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Path<D, const N: usize> {
    /// Length of the chain in it, mm.
    pub length_mm: D,
    /// Straight runs, mm: the first from the first wheel to the second, the last from the last to the first.
    pub runs_mm: [D; N],
    /// Directions of the straight runs, unit vectors.
    pub directions: [Point<D>; N],
    /// Wraps, rad.
    pub wraps_rad: [D; N],
}

impl<D: Real, const N: usize> Path<D, N> {
    /// Length in links.
    pub fn links(&self) -> D {
        self.length_mm / PITCH_MM
    }

    /// Where the straight run from wheel `place` leaves it, and where it meets the next one.
    pub fn run(&self, wheels: &[Toothed<D>; N], place: usize) -> Option<[Point<D>; 2]> {
        let (from, to) = (wheels.get(place)?, wheels.get((place + 1) % N)?);
        let side = right_of(*self.directions.get(place)?);
        let touch = |wheel: &Toothed<D>| wheel.centre + side.times(D::from(wheel.turns.sign() * pitch_radius_mm(wheel.teeth)));
        Some([touch(from), touch(to)])
    }
}

/// Turned a right angle clockwise.
fn right_of<D: Real>(way: Point<D>) -> Point<D> {
    Point::new(way.y, -way.x)
}

/// A wrap this little below nothing is one: the chain just touches. More, and it passes.
const TOUCHES_RAD: f64 = 1e-9;

/// The path around wheels in the order in which the chain meets them.
///
/// # Errors
/// [`ChainError`] if a wheel has too few teeth, wheels run into each other, or the chain would pass one of them by.
pub fn path<D: Real, const N: usize>(wheels: &[Toothed<D>; N]) -> Result<Path<D, N>, ChainError> {
    let zero = D::from(0.0);
    let mut path = Path { length_mm: zero, runs_mm: [zero; N], directions: [Point::new(zero, zero); N], wraps_rad: [zero; N] };
    if let Some(wheel) = wheels.iter().find(|wheel| wheel.teeth < FEWEST_TEETH) {
        return Err(ChainError::TooFewTeeth { teeth: wheel.teeth });
    }
    let radii = wheels.map(|wheel| wheel.turns.sign() * pitch_radius_mm(wheel.teeth));
    for at in 0..N {
        let next = (at + 1) % N;
        let (way, further) = (wheels[next].centre - wheels[at].centre, radii[at] - radii[next]);
        let apart = way.dot(way);
        let run = apart - further * further;
        if run.re() <= 0.0 || run.re().is_nan() {
            let (from_teeth, to_teeth) = (wheels[at].teeth, wheels[next].teeth);
            return Err(ChainError::TooClose { from_teeth, to_teeth, apart_mm: apart.re().sqrt() });
        }
        let run = run.sqrt();
        path.runs_mm[at] = run;
        path.directions[at] = (way.times(run) - right_of(way).times(D::from(further))).times(apart.recip());
        path.length_mm += run;
    }
    for (at, wheel) in wheels.iter().enumerate() {
        let (before, after) = (path.directions[(at + N - 1) % N], path.directions[at]);
        let turned = (before.x * after.y - before.y * after.x).atan2(before.dot(after)) * wheel.turns.sign();
        // A chain wraps a wheel by less than a turn and never backwards; a little backwards it passes the wheel by.
        let wrap = if turned.re() < -std::f64::consts::FRAC_PI_4 { turned + std::f64::consts::TAU } else { turned };
        if wrap.re() < -TOUCHES_RAD {
            return Err(ChainError::Passes { teeth: wheel.teeth });
        }
        path.wraps_rad[at] = wrap;
        path.length_mm += wrap * (PITCH_MM * f64::from(wheel.teeth) / std::f64::consts::TAU);
    }
    Ok(path)
}

/// The path around a ring and a sprocket alone.
///
/// # Errors
/// As [`path`].
pub fn around_two<D: Real>(ring_teeth: u32, sprocket_teeth: u32, centre_distance_mm: D) -> Result<Path<D, 2>, ChainError> {
    let zero = D::from(0.0);
    path(&[
        Toothed { centre: Point::new(centre_distance_mm, zero), teeth: ring_teeth, turns: Turns::Clockwise },
        Toothed { centre: Point::new(zero, zero), teeth: sprocket_teeth, turns: Turns::Clockwise },
    ])
}

/// Steps that a search takes at most; it takes four.
const MOST_STEPS: usize = 60;

/// How near a length has to be met, mm.
const MET_MM: f64 = 1e-10;

/// The distance of ring and sprocket at which so many links are straight, mm: where the axle of a bicycle without a derailleur has to
/// be. `elongation` is the chain's wear (0.005 is half a percent).
///
/// # Errors
/// [`ChainError`] if there is none: too few links to go around both wheels.
pub fn centre_distance_mm(ring_teeth: u32, sprocket_teeth: u32, links: u32, elongation: f64) -> Result<f64, ChainError> {
    let length = chain_mm(links, elongation)?;
    let half_wrapped = 0.5 * PITCH_MM * f64::from(ring_teeth + sprocket_teeth);
    let least = (pitch_radius_mm(ring_teeth) - pitch_radius_mm(sprocket_teeth)).abs();
    let mut distance = (0.5 * (length - half_wrapped)).max(1.001 * least + 0.1);
    for _ in 0..MOST_STEPS {
        let path = around_two(ring_teeth, sprocket_teeth, distance)?;
        let over = path.length_mm - length;
        // Moving the sprocket away lengthens both runs by the share of it that lies along them.
        let slope = 2.0 * path.directions[1].x.abs();
        distance -= over / slope;
        if over.abs() < MET_MM {
            break;
        }
        if distance <= least || distance.is_nan() {
            return Err(ChainError::TooClose { from_teeth: ring_teeth, to_teeth: sprocket_teeth, apart_mm: distance });
        }
    }
    Ok(distance)
}

/// Length of so many links, mm.
fn chain_mm(links: u32, elongation: f64) -> Result<f64, ChainError> {
    // More than a twentieth is no chain any more.
    if !(0.0..0.05).contains(&elongation) {
        return Err(ChainError::Impossible { what: "the elongation of a chain", value: elongation });
    }
    Ok(PITCH_MM * f64::from(links) * (1.0 + elongation))
}

/// The cage of a rear derailleur.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cage {
    /// Teeth of the upper jockey wheel.
    pub upper_teeth: u32,
    /// Teeth of the lower jockey wheel.
    pub lower_teeth: u32,
    /// Pivot to the upper jockey wheel's centre, mm.
    pub pivot_to_upper_mm: f64,
    /// Pivot to the lower jockey wheel's centre, mm.
    pub pivot_to_lower_mm: f64,
    /// By how much the line to the upper wheel lies ahead of the line to the lower one, rad.
    pub upper_ahead_rad: f64,
    /// Where the spring has turned it to its stop, rad from straight down, forward positive.
    pub rest_rad: f64,
}

/// A drivetrain with a derailleur, in the plane of the chain.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Derailleur<D> {
    /// Bottom bracket from the rear axle, mm.
    pub bottom_bracket: Point<D>,
    /// The cage.
    pub cage: Cage,
    /// Between the pitch circles of sprocket and upper jockey wheel, if that sits on the cage's pivot, mm.
    pub gap_mm: f64,
    /// Direction from the rear axle to the cage's pivot, rad from straight down, forward positive.
    pub hangs_rad: f64,
}

/// How the chain stands in a gear.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Standing<D> {
    /// The cage, rad from straight down, forward positive; at its stop if the chain hangs, at its tightest if it is too short.
    pub cage_rad: D,
    /// What the chain has over the longest path, mm: it hangs by that much where it is positive.
    pub slack_mm: D,
    /// What the chain has over the shortest path, mm: it is too short by that much where it is negative.
    pub reserve_mm: D,
}

impl<D: Real> Derailleur<D> {
    fn checked(&self) -> Result<(), ChainError> {
        let cage = &self.cage;
        let lengths = [
            ("the distance from the cage's pivot to the upper jockey wheel", cage.pivot_to_upper_mm),
            ("the distance from the cage's pivot to the lower jockey wheel", cage.pivot_to_lower_mm),
            ("the gap between sprocket and jockey wheel", self.gap_mm),
        ];
        if let Some(&(what, value)) = lengths.iter().find(|(_, value)| !(0.0..1000.0).contains(value)) {
            return Err(ChainError::Impossible { what, value });
        }
        let angles = [
            ("the angle at which a cage rests", cage.rest_rad),
            ("the angle between the jockey wheels", cage.upper_ahead_rad),
            ("the angle at which a derailleur hangs", self.hangs_rad),
        ];
        let turn = -std::f64::consts::PI..=std::f64::consts::PI;
        match angles.iter().find(|(_, angle)| !turn.contains(angle)) {
            Some(&(what, value)) => Err(ChainError::Impossible { what, value }),
            None => Ok(()),
        }
    }

    /// Ring, lower jockey wheel, upper jockey wheel and sprocket, with the cage at an angle (rad from straight down, forward positive).
    pub fn wheels(&self, ring_teeth: u32, sprocket_teeth: u32, cage_rad: D) -> [Toothed<D>; 4] {
        let down = -std::f64::consts::FRAC_PI_2;
        let cage = &self.cage;
        let from_axle = pitch_radius_mm(sprocket_teeth) + pitch_radius_mm(cage.upper_teeth) + self.gap_mm;
        let pivot = Point::direction(D::from(down + self.hangs_rad)).times(D::from(from_axle));
        let upper = pivot + Point::direction(cage_rad + (down + cage.upper_ahead_rad)).times(D::from(cage.pivot_to_upper_mm));
        let lower = pivot + Point::direction(cage_rad + down).times(D::from(cage.pivot_to_lower_mm));
        let zero = D::from(0.0);
        [
            Toothed { centre: self.bottom_bracket, teeth: ring_teeth, turns: Turns::Clockwise },
            Toothed { centre: lower, teeth: cage.lower_teeth, turns: Turns::Clockwise },
            Toothed { centre: upper, teeth: cage.upper_teeth, turns: Turns::CounterClockwise },
            Toothed { centre: Point::new(zero, zero), teeth: sprocket_teeth, turns: Turns::Clockwise },
        ]
    }

    /// The path with the cage at an angle, and how fast it grows as the cage turns forward, mm per rad (what the change of the wraps adds
    /// to that left out: about a hundredth of it).
    fn path(&self, gear: [u32; 2], cage_rad: D) -> Result<(Path<D, 4>, D), ChainError> {
        let wheels = self.wheels(gear[0], gear[1], cage_rad);
        let path = path(&wheels)?;
        let cage = &self.cage;
        // A wheel that moves lengthens the run that comes to it by its way along it, and shortens the one that leaves.
        let slope = |wheel: usize, arm: f64, ahead: f64| {
            let way = Point::direction(cage_rad + ahead).times(D::from(arm));
            (path.directions[wheel - 1] - path.directions[wheel]).dot(way)
        };
        let growth = slope(1, cage.pivot_to_lower_mm, 0.0) + slope(2, cage.pivot_to_upper_mm, cage.upper_ahead_rad);
        Ok((path, growth))
    }

    /// The longest and the shortest path in a gear, mm, and the cage's angle at the shortest, rad.
    ///
    /// # Errors
    /// [`ChainError`] if wheels run into each other or the chain passes one by.
    pub fn extremes(&self, ring_teeth: u32, sprocket_teeth: u32) -> Result<([D; 2], f64), ChainError> {
        self.checked()?;
        let gear = [ring_teeth, sprocket_teeth];
        let rest = self.cage.rest_rad;
        let longest = self.path(gear, D::from(rest))?.0.length_mm;
        // Forward of the stop the path shortens until the runs have no lever about the pivot, or the wheels run into each other.
        let shortens = |angle: f64| self.path(gear, D::from(angle)).map(|(_, growth)| growth.re() < 0.0);
        let (mut low, mut high) = (rest, rest + std::f64::consts::PI);
        for _ in 0..TIGHTEST_STEPS {
            let middle = 0.5 * (low + high);
            if shortens(middle) == Ok(true) { low = middle } else { high = middle }
        }
        Ok(([longest, self.path(gear, D::from(low))?.0.length_mm], low))
    }

    /// How a chain stands in a gear. `elongation` is its wear (0.005 is half a percent).
    ///
    /// # Errors
    /// As [`Derailleur::extremes`], or an elongation that cannot be.
    pub fn standing(&self, ring_teeth: u32, sprocket_teeth: u32, links: u32, elongation: f64) -> Result<Standing<D>, ChainError> {
        let length = chain_mm(links, elongation)?;
        let ([longest, shortest], tightest) = self.extremes(ring_teeth, sprocket_teeth)?;
        let (slack_mm, reserve_mm) = (-(longest - length), -(shortest - length));
        let rest = self.cage.rest_rad;
        let cage_rad = if slack_mm.re() >= 0.0 {
            D::from(rest)
        } else if reserve_mm.re() <= 0.0 {
            D::from(tightest)
        } else {
            self.straight([ring_teeth, sprocket_teeth], length, [rest, tightest])?
        };
        Ok(Standing { cage_rad, slack_mm, reserve_mm })
    }

    /// The angle between two at which the path has a length.
    fn straight(&self, gear: [u32; 2], length: f64, [mut low, mut high]: [f64; 2]) -> Result<D, ChainError> {
        // The path is long at `low`, short at `high`: Newton's step where it stays between them, else the middle.
        let mut angle = 0.5 * (low + high);
        for _ in 0..MOST_STEPS {
            let (path, growth) = self.path(gear, D::from(angle))?;
            let over = path.length_mm.re() - length;
            if over.abs() < MET_MM {
                break;
            }
            if over > 0.0 {
                low = angle;
            } else {
                high = angle;
            }
            let step = angle - over / growth.re();
            angle = if step > low && step < high { step } else { 0.5 * (low + high) };
        }
        // One step more, with derivatives.
        let (path, _) = self.path(gear, D::from(angle))?;
        let slope = self.slope(gear, angle)?;
        Ok(-((path.length_mm - length) / slope) + angle)
    }

    /// How fast the path grows as the cage turns forward, mm per rad, wraps and all.
    fn slope(&self, gear: [u32; 2], angle: f64) -> Result<f64, ChainError> {
        const STEP_RAD: f64 = 1e-5;
        let length = |angle: f64| self.path(gear, D::from(angle)).map(|(path, _)| path.length_mm.re());
        Ok((length(angle + STEP_RAD)? - length(angle - STEP_RAD)?) / (2.0 * STEP_RAD))
    }
}

/// Halvings of the half turn in which the tightest angle lies: to some 10⁻⁸ rad, where the path is shortest and so no longer changes.
const TIGHTEST_STEPS: usize = 28;

/// How many links a drivetrain wants.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Links {
    /// Around the largest ring and the largest sprocket, without the derailleur and not rounded, with what the suspension adds.
    pub around_largest: f64,
    /// The fewest that go around largest ring and largest sprocket through the derailleur, its cage stretched: an even number.
    pub fewest: u32,
    /// The most that do not hang in smallest ring and smallest sprocket: an even number.
    pub most: u32,
    /// By the trade's rule: around both largest, two links over, then up to an even number.
    pub recommended: u32,
}

/// Links that the rule leaves over largest ring and largest sprocket: one inner and one outer (common practice, no source).
pub const OVER_LARGEST: f64 = 2.0;

/// How many links rings and sprockets want. `growth_mm` is how much further the axle moves from the bottom bracket over the rear
/// suspension's travel: both runs grow by it.
///
/// # Errors
/// As [`Derailleur::extremes`]; a growth that is no number.
pub fn links(
    derailleur: &Derailleur<f64>,
    [smallest_ring, largest_ring]: [u32; 2],
    [smallest_sprocket, largest_sprocket]: [u32; 2],
    growth_mm: f64,
) -> Result<Links, ChainError> {
    if !growth_mm.is_finite() {
        return Err(ChainError::Impossible { what: "the growth of the chain's path", value: growth_mm });
    }
    let growth = (2.0 * growth_mm).max(0.0);
    let distance = derailleur.bottom_bracket.length();
    let around_largest = (around_two(largest_ring, largest_sprocket, distance)?.length_mm + growth) / PITCH_MM;
    let ([_, shortest], _) = derailleur.extremes(largest_ring, largest_sprocket)?;
    let ([longest, _], _) = derailleur.extremes(smallest_ring, smallest_sprocket)?;
    Ok(Links {
        around_largest,
        fewest: even_up((shortest + growth) / PITCH_MM),
        most: even_down(longest / PITCH_MM),
        recommended: even_up(around_largest + OVER_LARGEST),
    })
}

/// The least even number not below `links`: inner and outer links take turns, so that a chain closes with an even number only.
pub fn even_up(links: f64) -> u32 {
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "saturates, and no chain is that long")]
    let pairs = (links / 2.0 - 1e-9).ceil() as u32;
    2 * pairs.min(u32::MAX / 2)
}

/// The greatest even number not above `links`.
pub fn even_down(links: f64) -> u32 {
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "saturates, and no chain is that long")]
    let pairs = (links / 2.0 + 1e-9).floor() as u32;
    2 * pairs.min(u32::MAX / 2)
}
