//! The figures an assembled bicycle gives, in one pose.

use mechanics::{
    Real, pedal,
    planar::{PlanarError, Sag, Stance, stand},
    plane::Point,
    rider,
};
use num_dual::DualSVec64;

use crate::{
    answer::Pose,
    parameters::{PARAMETERS, Parameter, Row},
};

/// Ids of the figures, in the order of [`values`].
pub(crate) const FIGURES: [&str; 28] = [
    "head_angle",
    "effective_seat_angle",
    "seat_angle",
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

/// Figures with their sensitivities to the row.
#[derive(Clone, Debug)]
pub(crate) struct PoseFigures {
    /// Base units; `None` where something is missing.
    pub(crate) values: [Option<f64>; COUNT],
    /// ∂figure/∂parameter, a row a parameter.
    pub(crate) gradients: Box<[[f64; COUNT]; PARAMETERS]>,
}

/// Stands the bicycle in a pose.
pub(crate) fn stance<D: Real>(row: &Row<D>, pose: Pose) -> Result<Stance<D>, PlanarError> {
    let zero = D::from(0.0);
    let sag = match pose {
        Pose::Unladen => Sag { fork_mm: zero, rear_axle_mm: zero, front_tyre_mm: zero, rear_tyre_mm: zero },
        Pose::Sagged => row.sag(),
    };
    stand(&row.bicycle(), &sag)
}

/// The figures of a pose with exact derivatives.
pub(crate) fn take(row: &Row<f64>, pose: Pose) -> Result<PoseFigures, PlanarError> {
    type Dual = DualSVec64<PARAMETERS>;
    let duals = Row { numbers: std::array::from_fn(|i| Dual::from_re(row.numbers[i]).derivative(i)), present: row.present };
    let figures = values(&duals, &stance(&duals, pose)?);
    let mut gradients = Box::new([[0.0; COUNT]; PARAMETERS]);
    for (k, figure) in figures.iter().enumerate() {
        if let Some(eps) = figure.as_ref().and_then(|f| f.eps.0.as_ref()) {
            for (parameter, slope) in gradients.iter_mut().zip(eps.iter()) {
                parameter[k] = *slope;
            }
        }
    }
    Ok(PoseFigures { values: figures.map(|f| f.map(|f| f.re)), gradients })
}

/// The figures in base units: mm, degrees, percent.
pub(crate) fn values<D: Real>(row: &Row<D>, stance: &Stance<D>) -> [Option<D>; COUNT] {
    use Parameter as P;
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
        front_weight_share(row, stance),
        pedals.map(|p| pedal::ground_clearance_mm(stance, &p)),
        both.map(|(p, s)| degrees(pedal::lean_rad(stance, &p, &s))),
        both.map(|(p, s)| pedal::toe_clearance_mm(stance, &p, &s)),
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
fn front_weight_share<D: Real>(row: &Row<D>, stance: &Stance<D>) -> Option<D> {
    let (saddle, cockpit) = (stance.saddle?, stance.cockpit?);
    let rider = row.rider();
    let centre = rider::centre_of_mass(&rider, saddle, cockpit.hand, stance.bottom_bracket)?;
    let wheelbase = stance.wheelbase_mm();
    let masses = [
        (rider.mass_kg, centre.x + row.at(Parameter::Posture)),
        (row.at(Parameter::BikeMass), wheelbase * row.at(Parameter::BikeFrontShare)),
    ];
    Some(rider::front_share(&masses, wheelbase) * 100.0)
}
