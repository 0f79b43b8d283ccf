//! A two-wheeler standing on level ground: the exact pose of a rigid frame on two wheels of unequal radius.
//!
//! Lengths of the frame are given as the chart draws them, in a plane with the bottom bracket at the origin, x forward and y up
//! (the *drawn* plane): [`draw`]. [`Drawn::stand`] puts both wheels on the ground and turns the whole by the pitch that takes:
//!
//! ```text
//! a = (cos α, −sin α)     down the steering axis         n = (sin α, cos α)     square to it, forward
//! C = P + ((1−p) H + l) a                                crown-race seat; P = T + p H (cos α₀, −sin α₀)
//! F = C + (√(L² − o²) − s) a + o n                       front axle, fork compressed by s along the axis
//! φ = asin((R_f − R_r) / |F − A|) − atan2(F − A)         pitch, counter-clockwise
//! head angle = α − φ
//! trail = (R_f cos(head angle) − o) / sin(head angle)
//! ```
//!
//! | symbol | here | unit | meaning |
//! |--------|------|------|---------|
//! | T | `reach_mm`, `stack_mm` | mm | top of the head tube from the bottom bracket, as drawn |
//! | α₀, α | `head_angle_rad`, plus `axis_change_rad` | rad | head tube, steering axis, from horizontal |
//! | H, l | `head_tube_mm`, `lower_stack_mm` | mm | head tube, lower headset stack |
//! | p | `axis_pivot` | – | where the tilted axis crosses the head tube's middle line, 0 at its top |
//! | L, o | `axle_to_crown_mm`, `offset_mm` | mm | straight line axle to crown-race seat; square to the axis |
//! | s | `fork_sag_mm` | mm | compression along the steering axis |
//! | A | `rear_centre_horizontal_mm`, `bb_drop_mm` | mm | rear axle, moved by the rear's travel |
//! | R_f, R_r | `front_radius_mm`, `rear_radius_mm` | mm | axle above the ground: radius less squash |
//!
//! No small-angle shortcut, no iteration: each quantity is explicit in the ones before it. In the stance, the origin is the
//! rear tyre's contact.
//!
//! Not covered: suspension linkages (the rear axle moves on a straight line or an arc), frame and fork bending, sloping ground.
//! Source of the trail formula and its signs: Meijaard, Papadopoulos, Ruina & Schwab (2007) Linearized dynamics equations for
//! the balance and steer of a bicycle, Proc. R. Soc. A 463, 1955–1982, §2 and Table 1. The rest is plane trigonometry.
//! Checked against: `tests/two_wheelers.rs` (that paper's bicycle, measured bicycles, an independent root search).

use std::fmt;

use crate::{Real, plane::Point};

/// The rigid main frame as the chart draws it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MainFrame<D> {
    /// Rear axle behind the bottom bracket, level, mm.
    pub rear_centre_horizontal_mm: D,
    /// Rear axle above the bottom bracket, mm.
    pub bb_drop_mm: D,
    /// Top of the head tube above the bottom bracket, mm.
    pub stack_mm: D,
    /// Top of the head tube ahead of the bottom bracket, mm.
    pub reach_mm: D,
    /// Head tube from horizontal, rear side, rad.
    pub head_angle_rad: D,
    /// Head tube length, mm.
    pub head_tube_mm: D,
    /// Bottom bracket to the seat tube's line at stack height, from horizontal, rear side, rad.
    pub seat_angle_rad: D,
    /// Seat tube itself from horizontal, rear side, rad.
    pub seat_tube_angle_rad: D,
}

/// What sits between head tube and fork, and above the head tube.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Headset<D> {
    /// Lower stack, mm.
    pub lower_stack_mm: D,
    /// Upper stack with its cover, mm.
    pub upper_stack_mm: D,
    /// Steering axis minus head tube, rad; negative is slacker.
    pub axis_change_rad: D,
    /// Where the tilted axis crosses the head tube's middle line: 0 at the top, 1 at the bottom.
    pub axis_pivot: D,
}

/// A fork.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fork<D> {
    /// Axle centre to crown-race seat in a straight line, unladen, mm.
    pub axle_to_crown_mm: D,
    /// Square to the steering axis, mm.
    pub offset_mm: D,
}

/// Both wheels, over the tyre, not squashed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wheels<D> {
    /// Front, mm.
    pub front_radius_mm: D,
    /// Rear, mm.
    pub rear_radius_mm: D,
}

/// How far the bike has sunk.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sag<D> {
    /// Fork, along the steering axis, mm.
    pub fork_mm: D,
    /// Rear axle, upward against the frame as drawn, mm.
    pub rear_axle_mm: D,
    /// Front tyre, mm.
    pub front_tyre_mm: D,
    /// Rear tyre, mm.
    pub rear_tyre_mm: D,
}

/// The way the rear axle moves against the main frame.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum AxlePath<D> {
    /// Straight up in the drawn plane.
    Straight,
    /// On a circle about a pivot (drawn plane, from the bottom bracket).
    Arc(Point<D>),
}

/// Stem, spacers and bar.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cockpit<D> {
    /// Spacers under the stem, mm.
    pub spacers_mm: D,
    /// Stem's height on the steerer, mm; the stem leaves the axis at half of it.
    pub stem_height_mm: D,
    /// Stem length, axis to bar clamp, mm.
    pub stem_length_mm: D,
    /// Stem above square to the steerer, rad.
    pub stem_rise_rad: D,
    /// Clamp to hand along the steering axis, up, mm.
    pub bar_rise_mm: D,
    /// Clamp to hand square to the steering axis, forward, mm: bar reach less what the sweep takes back.
    pub hand_forward_mm: D,
}

/// Saddle position.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Seating<D> {
    /// Bottom bracket to saddle top in a straight line, mm.
    pub saddle_height_mm: D,
    /// Seatpost setback and saddle moved back on its rails, together, level as drawn, mm.
    pub back_mm: D,
}

/// A bicycle: everything that decides how it stands.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bicycle<D> {
    /// Main frame.
    pub frame: MainFrame<D>,
    /// Headset.
    pub headset: Headset<D>,
    /// Fork.
    pub fork: Fork<D>,
    /// Wheels.
    pub wheels: Wheels<D>,
    /// Way of the rear axle.
    pub axle_path: AxlePath<D>,
    /// Stem, spacers, bar; `None` if there is no stem or bar.
    pub cockpit: Option<Cockpit<D>>,
    /// Saddle position; `None` if the saddle height is unknown.
    pub seating: Option<Seating<D>>,
}

/// The bicycle standing on the ground: origin at the rear contact, x forward, y up, mm and rad.
#[derive(Clone, Copy, Debug)]
pub struct Stance<D> {
    /// How far the drawn frame is turned, counter-clockwise, rad.
    pub pitch_rad: D,
    /// Steering axis from horizontal, rear side.
    pub head_angle_rad: D,
    /// Bottom bracket to the seat tube's line at stack height as drawn, from horizontal.
    pub seat_angle_rad: D,
    /// Seat tube itself from horizontal.
    pub seat_tube_angle_rad: D,
    /// Straight line axle to crown-race seat, as compressed.
    pub axle_to_crown_mm: D,
    /// Fork offset (square to the steering axis).
    pub offset_mm: D,
    /// Rear axle.
    pub rear_axle: Point<D>,
    /// Front axle; its x is the wheelbase.
    pub front_axle: Point<D>,
    /// Bottom bracket.
    pub bottom_bracket: Point<D>,
    /// Top of the head tube.
    pub head_tube_top: Point<D>,
    /// Bottom of the head tube.
    pub head_tube_bottom: Point<D>,
    /// Crown-race seat.
    pub crown: Point<D>,
    /// Where the stem leaves the steering axis, and the bar clamp, and the hand.
    pub cockpit: Option<CockpitStance<D>>,
    /// Middle of the saddle's top.
    pub saddle: Option<Point<D>>,
    /// Where the origin of the drawn plane went is [`Stance::bottom_bracket`]; this turns any other drawn point along with it.
    drawn_sin_cos: (D, D),
}

/// Hands and stem in the stance.
#[derive(Clone, Copy, Debug)]
pub struct CockpitStance<D> {
    /// Where the stem leaves the steering axis.
    pub stem_base: Point<D>,
    /// Bar clamp centre.
    pub bar_clamp: Point<D>,
    /// Middle of the hand.
    pub hand: Point<D>,
}

/// Why a bicycle cannot stand as described.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum PlanarError {
    /// The offset is longer than the fork.
    OffsetBeyondFork {
        /// Axle to crown, mm.
        axle_to_crown_mm: f64,
        /// Offset, mm.
        offset_mm: f64,
    },
    /// The fork is compressed by more than its length.
    SagBeyondFork {
        /// Axle to crown, mm.
        axle_to_crown_mm: f64,
        /// Compression, mm.
        sag_mm: f64,
    },
    /// The axles are closer together than the difference of the wheel radii.
    AxlesTooClose {
        /// Distance of the axles, mm.
        apart_mm: f64,
        /// Difference of the radii, mm.
        radii_differ_mm: f64,
    },
    /// The rear axle cannot rise that far on its arc.
    RearTravelBeyondArc {
        /// Asked for, mm.
        travel_mm: f64,
        /// Possible, mm.
        most_mm: f64,
    },
    /// The saddle is closer to the bottom bracket than the seat tube's line passes it.
    SaddleTooLow {
        /// Saddle height asked for, mm.
        saddle_height_mm: f64,
    },
}

impl fmt::Display for PlanarError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::OffsetBeyondFork { axle_to_crown_mm, offset_mm } => write!(
                f,
                "a fork offset of {offset_mm:.0} mm is longer than the fork's axle-to-crown of {axle_to_crown_mm:.0} mm"
            ),
            Self::SagBeyondFork { axle_to_crown_mm, sag_mm } => {
                write!(f, "a fork of {axle_to_crown_mm:.0} mm axle-to-crown cannot be compressed by {sag_mm:.0} mm")
            }
            Self::AxlesTooClose { apart_mm, radii_differ_mm } => write!(
                f,
                "the axles are {apart_mm:.0} mm apart, too close for wheels whose radii differ by {radii_differ_mm:.0} mm"
            ),
            Self::RearTravelBeyondArc { travel_mm, most_mm } => write!(
                f,
                "the rear axle cannot rise {travel_mm:.0} mm on its arc about the stated pivot, {most_mm:.0} mm at most"
            ),
            Self::SaddleTooLow { saddle_height_mm } => {
                write!(f, "a saddle height of {saddle_height_mm:.0} mm does not reach the seat tube's line")
            }
        }
    }
}

impl std::error::Error for PlanarError {}

/// The bicycle laid out in the drawn plane, before it is put on the ground: what is the same in every pose.
#[derive(Clone, Copy, Debug)]
pub struct Drawn<D> {
    frame: MainFrame<D>,
    wheels: Wheels<D>,
    axle_path: AxlePath<D>,
    /// Steering axis from horizontal, rad.
    axis_angle_rad: D,
    /// Unit vectors down the steering axis and square to it, forward.
    down: Point<D>,
    forward: Point<D>,
    head_tube_top: Point<D>,
    head_tube_bottom: Point<D>,
    crown: Point<D>,
    /// Crown-race seat to the front axle along the axis, unladen, mm.
    along_mm: D,
    offset_mm: D,
    axle_to_crown_mm: D,
    /// Stem, clamp, hand.
    pub cockpit: Option<CockpitStance<D>>,
    /// Middle of the saddle's top.
    pub saddle: Option<Point<D>>,
}

/// Stands the bicycle on the ground: [`draw`] and [`Drawn::stand`] in one.
///
/// # Errors
/// [`PlanarError`] if no such bicycle can stand.
pub fn stand<D: Real>(bicycle: &Bicycle<D>, sag: &Sag<D>) -> Result<Stance<D>, PlanarError> {
    draw(bicycle)?.stand(sag)
}

/// Lays the bicycle out in the drawn plane.
///
/// # Errors
/// [`PlanarError::OffsetBeyondFork`], [`PlanarError::SaddleTooLow`].
pub fn draw<D: Real>(bicycle: &Bicycle<D>) -> Result<Drawn<D>, PlanarError> {
    let Bicycle { frame, headset, fork, .. } = bicycle;

    // The steering axis.
    let (head_sin, head_cos) = frame.head_angle_rad.sin_cos();
    let tube_down = Point::new(head_cos, -head_sin);
    let head_tube_top = Point::new(frame.reach_mm, frame.stack_mm);
    let head_tube_bottom = head_tube_top + tube_down.times(frame.head_tube_mm);
    let axis_angle_rad = frame.head_angle_rad + headset.axis_change_rad;
    let (axis_sin, axis_cos) = axis_angle_rad.sin_cos();
    let down = Point::new(axis_cos, -axis_sin);
    let forward = Point::new(axis_sin, axis_cos);
    let above_pivot_mm = headset.axis_pivot * frame.head_tube_mm;
    let pivot = head_tube_top + tube_down.times(above_pivot_mm);
    let axis_top = pivot - down.times(above_pivot_mm);
    let crown = axis_top + down.times(frame.head_tube_mm + headset.lower_stack_mm);

    let along_squared = fork.axle_to_crown_mm * fork.axle_to_crown_mm - fork.offset_mm * fork.offset_mm;
    if along_squared.re() <= 0.0 {
        return Err(PlanarError::OffsetBeyondFork {
            axle_to_crown_mm: fork.axle_to_crown_mm.re(),
            offset_mm: fork.offset_mm.re(),
        });
    }
    let cockpit = bicycle.cockpit.as_ref().map(|c| {
        let stem_base = axis_top - down.times(headset.upper_stack_mm + c.spacers_mm + c.stem_height_mm * 0.5);
        let (rise_sin, rise_cos) = c.stem_rise_rad.sin_cos();
        let bar_clamp = stem_base + forward.times(c.stem_length_mm * rise_cos) - down.times(c.stem_length_mm * rise_sin);
        let hand = bar_clamp + forward.times(c.hand_forward_mm) - down.times(c.bar_rise_mm);
        CockpitStance { stem_base, bar_clamp, hand }
    });
    let saddle = bicycle.seating.as_ref().map(|s| saddle(frame, s)).transpose()?;
    Ok(Drawn {
        frame: *frame,
        wheels: bicycle.wheels,
        axle_path: bicycle.axle_path,
        axis_angle_rad,
        down,
        forward,
        head_tube_top,
        head_tube_bottom,
        crown,
        along_mm: along_squared.sqrt(),
        offset_mm: fork.offset_mm,
        axle_to_crown_mm: fork.axle_to_crown_mm,
        cockpit,
        saddle,
    })
}

impl<D: Real> Drawn<D> {
    /// Puts both wheels on the ground, sunk by `sag`.
    ///
    /// # Errors
    /// [`PlanarError`] if no such bicycle can stand.
    pub fn stand(&self, sag: &Sag<D>) -> Result<Stance<D>, PlanarError> {
        let along_mm = self.along_mm - sag.fork_mm;
        if along_mm.re() <= 0.0 {
            return Err(PlanarError::SagBeyondFork { axle_to_crown_mm: self.axle_to_crown_mm.re(), sag_mm: sag.fork_mm.re() });
        }
        let front_axle = self.crown + self.down.times(along_mm) + self.forward.times(self.offset_mm);
        let rear_axle = rear_axle(&self.frame, self.axle_path, sag.rear_axle_mm)?;

        // Both tyres on the ground.
        let way = front_axle - rear_axle;
        let apart_mm = way.length();
        let rear_up_mm = self.wheels.rear_radius_mm - sag.rear_tyre_mm;
        let rise_mm = self.wheels.front_radius_mm - sag.front_tyre_mm - rear_up_mm;
        if apart_mm.re() <= rise_mm.re().abs() {
            return Err(PlanarError::AxlesTooClose { apart_mm: apart_mm.re(), radii_differ_mm: rise_mm.re().abs() });
        }
        let pitch_rad = (rise_mm / apart_mm).asin() - way.angle();

        let (sin, cos) = pitch_rad.sin_cos();
        let turn = |p: Point<D>| Point::new(p.x * cos - p.y * sin, p.x * sin + p.y * cos);
        let bottom_bracket = Point::new(D::from(0.0), rear_up_mm) - turn(rear_axle);
        let place = |p: Point<D>| bottom_bracket + turn(p);
        Ok(Stance {
            pitch_rad,
            head_angle_rad: self.axis_angle_rad - pitch_rad,
            seat_angle_rad: self.frame.seat_angle_rad - pitch_rad,
            seat_tube_angle_rad: self.frame.seat_tube_angle_rad - pitch_rad,
            axle_to_crown_mm: (along_mm * along_mm + self.offset_mm * self.offset_mm).sqrt(),
            offset_mm: self.offset_mm,
            rear_axle: place(rear_axle),
            front_axle: place(front_axle),
            bottom_bracket,
            head_tube_top: place(self.head_tube_top),
            head_tube_bottom: place(self.head_tube_bottom),
            crown: place(self.crown),
            cockpit: self.cockpit.map(|c| CockpitStance {
                stem_base: place(c.stem_base),
                bar_clamp: place(c.bar_clamp),
                hand: place(c.hand),
            }),
            saddle: self.saddle.map(place),
            drawn_sin_cos: (sin, cos),
        })
    }
}

/// The rear axle in the drawn plane, raised by `travel_mm` on its path.
fn rear_axle<D: Real>(frame: &MainFrame<D>, path: AxlePath<D>, travel_mm: D) -> Result<Point<D>, PlanarError> {
    let unladen = Point::new(-frame.rear_centre_horizontal_mm, frame.bb_drop_mm);
    match path {
        AxlePath::Straight => Ok(Point::new(unladen.x, unladen.y + travel_mm)),
        AxlePath::Arc(pivot) => {
            let arm = unladen - pivot;
            let raised_mm = arm.y + travel_mm;
            let level_squared = arm.dot(arm) - raised_mm * raised_mm;
            if level_squared.re() <= 0.0 {
                return Err(PlanarError::RearTravelBeyondArc {
                    travel_mm: travel_mm.re(),
                    most_mm: arm.length().re() - arm.y.re(),
                });
            }
            Ok(Point::new(pivot.x - level_squared.sqrt(), pivot.y + raised_mm))
        }
    }
}

/// The saddle's top in the drawn plane: on the seat tube's line, moved back, `saddle_height_mm` from the bottom bracket.
fn saddle<D: Real>(frame: &MainFrame<D>, seating: &Seating<D>) -> Result<Point<D>, PlanarError> {
    let (tube_sin, tube_cos) = frame.seat_tube_angle_rad.sin_cos();
    let up_tube = Point::new(-tube_cos, tube_sin);
    let at_stack = Point::new(-frame.stack_mm / frame.seat_angle_rad.tan(), frame.stack_mm);
    let line = at_stack - Point::new(seating.back_mm, D::from(0.0));
    // |line + t up| = saddle height, the upper of the two.
    let half = line.dot(up_tube);
    let inside = half * half - line.dot(line) + seating.saddle_height_mm * seating.saddle_height_mm;
    if inside.re() <= 0.0 {
        return Err(PlanarError::SaddleTooLow { saddle_height_mm: seating.saddle_height_mm.re() });
    }
    Ok(line + up_tube.times(inside.sqrt() - half))
}

impl<D: Real> Stance<D> {
    /// Where a point of the drawn plane (from the bottom bracket) went.
    pub fn place(&self, drawn: Point<D>) -> Point<D> {
        let (sin, cos) = self.drawn_sin_cos;
        self.bottom_bracket + Point::new(drawn.x * cos - drawn.y * sin, drawn.x * sin + drawn.y * cos)
    }

    /// Horizontal distance of the axles, mm.
    pub fn wheelbase_mm(&self) -> D {
        self.front_axle.x
    }

    /// Bottom bracket above the ground, mm.
    pub fn bb_height_mm(&self) -> D {
        self.bottom_bracket.y
    }

    /// Bottom bracket below the rear axle, mm.
    pub fn bb_drop_mm(&self) -> D {
        self.rear_axle.y - self.bottom_bracket.y
    }

    /// Top of the head tube above the bottom bracket, mm.
    pub fn stack_mm(&self) -> D {
        self.head_tube_top.y - self.bottom_bracket.y
    }

    /// Top of the head tube ahead of the bottom bracket, mm.
    pub fn reach_mm(&self) -> D {
        self.head_tube_top.x - self.bottom_bracket.x
    }

    /// Bottom bracket to rear axle in a straight line, mm.
    pub fn rear_centre_mm(&self) -> D {
        (self.rear_axle - self.bottom_bracket).length()
    }

    /// The same, level, mm.
    pub fn rear_centre_horizontal_mm(&self) -> D {
        self.bottom_bracket.x - self.rear_axle.x
    }

    /// Bottom bracket to front axle in a straight line, mm.
    pub fn front_centre_mm(&self) -> D {
        (self.front_axle - self.bottom_bracket).length()
    }

    /// Ground trail, mm: from the front contact forward to where the steering axis meets the ground.
    pub fn trail_mm(&self) -> D {
        let (sin, cos) = self.head_angle_rad.sin_cos();
        (self.front_axle.y * cos - self.offset_mm) / sin
    }

    /// Mechanical trail, mm: the same, square to the steering axis.
    pub fn mechanical_trail_mm(&self) -> D {
        self.trail_mm() * self.head_angle_rad.sin()
    }

    /// Wheel flop, mm: trail × sin × cos of the head angle.
    pub fn wheel_flop_mm(&self) -> D {
        let (sin, cos) = self.head_angle_rad.sin_cos();
        self.trail_mm() * sin * cos
    }

    /// Where the steering axis meets the ground.
    pub fn steering_axis_ground(&self) -> Point<D> {
        Point::new(self.front_axle.x + self.trail_mm(), D::from(0.0))
    }

    /// Foot of the perpendicular from the front axle on the steering axis.
    pub fn fork_foot(&self) -> Point<D> {
        let (sin, cos) = self.head_angle_rad.sin_cos();
        self.front_axle - Point::new(sin, cos).times(self.offset_mm)
    }

    /// Seat angle at the rider: bottom bracket to saddle top, from horizontal, rad.
    pub fn effective_seat_angle_rad(&self) -> Option<D> {
        self.saddle.map(|saddle| {
            let way = saddle - self.bottom_bracket;
            way.y.atan2(-way.x)
        })
    }

    /// Hand from the bottom bracket: (forward, up), mm.
    pub fn bar_reach_stack_mm(&self) -> Option<Point<D>> {
        self.cockpit.map(|c| c.hand - self.bottom_bracket)
    }

    /// Saddle to hand: x forward, y down (saddle above the hand is positive), mm.
    pub fn saddle_to_bar_mm(&self) -> Option<Point<D>> {
        let (saddle, hand) = (self.saddle?, self.cockpit?.hand);
        Some(Point::new(hand.x - saddle.x, saddle.y - hand.y))
    }
}
