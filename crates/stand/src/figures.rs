//! The figures an assembled bicycle gives, in one pose.

use mechanics::{
    Real, pedal,
    planar::{Drawn, PlanarError, Sag, Stance, draw},
    plane::Point,
    rider,
};
use num_dual::DualSVec64;

use crate::{
    answer::Pose,
    parameters::{CHUNK, Parameter, Row},
};

/// Ids of the figures, in the order of [`values`].
pub(crate) const FIGURES: [&str; 29] = [
    "head_angle",
    "effective_seat_angle",
    "seat_angle",
    "seat_tube_angle",
    "reach",
    "stack",
    "trail",
    "mechanical_trail",
    "wheel_flop",
    "wheelbase",
    "rear_centre",
    "rear_centre_horizontal",
    "front_centre",
    "bb_height",
    "bb_drop",
    "axle_to_crown",
    "bar_reach",
    "bar_stack",
    "saddle_to_bar_reach",
    "saddle_to_bar_drop",
    "standover",
    "front_weight_share",
    "pedal_clearance",
    "lean_at_pedal",
    "toe_clearance",
    "front_tyre_width",
    "rear_tyre_width",
    "front_radius",
    "rear_radius",
];

/// How many there are.
pub(crate) const COUNT: usize = FIGURES.len();

/// A bicycle ready to be posed: laid out as drawn, with the rider's centre of mass, both of which no pose changes.
pub(crate) struct Laid<'r, D> {
    row: &'r Row<D>,
    drawn: Drawn<D>,
    rider: Option<Point<D>>,
}

impl<'r, D: Real> Laid<'r, D> {
    pub(crate) fn out(row: &'r Row<D>) -> Result<Self, PlanarError> {
        let drawn = draw(&row.bicycle())?;
        let zero = D::from(0.0);
        let rider = drawn
            .saddle
            .zip(drawn.cockpit)
            .and_then(|(saddle, cockpit)| rider::centre_of_mass(&row.rider(), saddle, cockpit.hand, Point::new(zero, zero)));
        Ok(Self { row, drawn, rider })
    }

    /// Stands it in a pose.
    pub(crate) fn stance(&self, pose: Pose) -> Result<Stance<D>, PlanarError> {
        let zero = D::from(0.0);
        self.drawn.stand(&match pose {
            Pose::Unladen => Sag { fork_mm: zero, rear_axle_mm: zero, front_tyre_mm: zero, rear_tyre_mm: zero },
            Pose::Sagged => self.row.sag(),
        })
    }
}

/// The figures of all poses, base units; `None` where something is missing. Their exact derivatives with respect to the `active`
/// parameters (places in the row) go to `slopes(pose, parameter, ∂figures/∂parameter)`, [`CHUNK`] of them computed in a pass.
pub(crate) fn take<const POSES: usize>(
    row: &Row<f64>,
    poses: [Pose; POSES],
    active: &[usize],
    mut slopes: impl FnMut(usize, usize, &[f64; COUNT]),
) -> Result<[[Option<f64>; COUNT]; POSES], PlanarError> {
    type Dual = DualSVec64<CHUNK>;
    // Once on plain numbers: values, and where the toe comes closest.
    let plain = Laid::out(row)?;
    let mut steers = [0.0; POSES];
    let mut taken = [[None; COUNT]; POSES];
    for (i, pose) in poses.into_iter().enumerate() {
        let stance = plain.stance(pose)?;
        if let Some((pedals, sections)) = row.pedals().zip(row.sections()) {
            steers[i] = pedal::closest_steer_rad(&stance, &pedals, &sections);
        }
        taken[i] = values(&plain, &stance, steers[i]);
    }
    for chunk in active.chunks(CHUNK) {
        let mut seeds = Row { numbers: row.numbers.map(Dual::from_re), present: row.present };
        for (place, &parameter) in chunk.iter().enumerate() {
            seeds.numbers[parameter] = seeds.numbers[parameter].derivative(place);
        }
        let laid = Laid::out(&seeds)?;
        for (i, pose) in poses.into_iter().enumerate() {
            let figures = values(&laid, &laid.stance(pose)?, steers[i]);
            let mut jacobian = [[0.0; COUNT]; CHUNK];
            for (k, figure) in figures.iter().enumerate() {
                if let Some(eps) = figure.as_ref().and_then(|f| f.eps.0.as_ref()) {
                    for (row, slope) in jacobian.iter_mut().zip(eps.iter()) {
                        row[k] = *slope;
                    }
                }
            }
            for (row, &parameter) in jacobian.iter().zip(chunk) {
                slopes(i, parameter, row);
            }
        }
    }
    Ok(taken)
}

/// The figures in base units: mm, degrees, percent.
fn values<D: Real>(laid: &Laid<'_, D>, stance: &Stance<D>, steer_rad: f64) -> [Option<D>; COUNT] {
    use Parameter as P;
    let row = laid.row;
    let degrees = |angle: D| angle * 1.0_f64.to_degrees();
    let bar = stance.bar_reach_stack_mm();
    let saddle_to_bar = stance.saddle_to_bar_mm();
    let pedals = row.pedals();
    let both = pedals.zip(row.sections());
    let tyres = row.present.tyres;
    [
        Some(degrees(stance.head_angle_rad)),
        stance.effective_seat_angle_rad().map(degrees),
        Some(degrees(stance.seat_angle_rad)),
        row.present.seat_tube.then(|| degrees(stance.seat_tube_angle_rad)),
        Some(stance.reach_mm()),
        Some(stance.stack_mm()),
        Some(stance.trail_mm()),
        Some(stance.mechanical_trail_mm()),
        Some(stance.wheel_flop_mm()),
        Some(stance.wheelbase_mm()),
        Some(stance.rear_centre_mm()),
        Some(stance.rear_centre_horizontal_mm()),
        Some(stance.front_centre_mm()),
        Some(stance.bb_height_mm()),
        Some(stance.bb_drop_mm()),
        Some(stance.axle_to_crown_mm),
        bar.map(|b| b.x),
        bar.map(|b| b.y),
        saddle_to_bar.map(|s| s.x),
        saddle_to_bar.map(|s| s.y),
        row.present.standover.then(|| stance.place(standover_point(row)).y),
        front_weight_share(laid, stance),
        pedals.map(|p| pedal::ground_clearance_mm(stance, &p)),
        both.map(|(p, s)| degrees(pedal::lean_rad(stance, &p, &s))),
        both.map(|(p, s)| pedal::toe_clearance_at_mm(stance, &p, &s, steer_rad)),
        tyres.then(|| row.at(P::FrontWidth)),
        tyres.then(|| row.at(P::RearWidth)),
        Some(row.at(P::FrontRadius)),
        Some(row.at(P::RearRadius)),
    ]
}

/// Where standover is measured, as drawn: halfway between the seat tube's line and the head tube's top.
fn standover_point<D: Real>(row: &Row<D>) -> Point<D> {
    let seat_x = -row.at(Parameter::Stack) / row.at(Parameter::SeatAngle).tan();
    Point::new((seat_x + row.at(Parameter::Reach)) * 0.5, row.at(Parameter::StandoverUp))
}

/// Share of rider and bike on the front wheel, percent.
fn front_weight_share<D: Real>(laid: &Laid<'_, D>, stance: &Stance<D>) -> Option<D> {
    let row = laid.row;
    let centre = stance.place(laid.rider?);
    let wheelbase = stance.wheelbase_mm();
    let masses = [
        (row.at(Parameter::RiderMass), centre.x + row.at(Parameter::Posture)),
        (row.at(Parameter::BikeMass), wheelbase * row.at(Parameter::BikeFrontShare)),
    ];
    Some(rider::front_share(&masses, wheelbase) * 100.0)
}
