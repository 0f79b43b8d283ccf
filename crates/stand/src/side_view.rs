//! The assembled bicycle as points for a drawing.

use std::f64::consts::PI;

use bike::Build;
use mechanics::plane::Point;

use crate::{
    answer::{Pose, SideView, WheelView},
    assembly::Assembly,
    figures::Laid,
    ground::Ground,
    names::part_quantity,
    parameters::Parameter as P,
};

/// Half an inch: the pitch of a bicycle chain (ISO 9633), mm.
const CHAIN_PITCH_MM: f64 = 12.7;

/// The side view of a build in a pose; `None` if it cannot stand.
pub(crate) fn side_view(ground: &Ground, build: &Build, assembly: &Assembly, pose: Pose) -> Option<SideView> {
    let row = &assembly.row;
    let stance = Laid::out(row).and_then(|laid| laid.stance(pose)).ok()?;
    let names = &ground.names;
    let point = |p: Point<f64>| [p.x, p.y];
    let wheel = |axle: Point<f64>, radius: f64, tyre, rim| {
        let bead = part_quantity(build, tyre, names.tyre_bead_seat_diameter)
            .or_else(|| part_quantity(build, rim, names.bead_seat_diameter));
        WheelView { axle: point(axle), radius, rim_radius: bead.map(|b| b.value() / 2.0) }
    };
    // The seat tube ends on its own line, its stated length from the bottom bracket.
    let seat_tube_top = part_quantity(build, names.frame, names.seat_tube_length).map(|length| {
        let (sin, cos) = row.at(P::SeatTubeAngle).sin_cos();
        let at_stack = Point::new(-row.at(P::Stack) / row.at(P::SeatAngle).tan(), row.at(P::Stack));
        let along = Point::new(-cos, sin);
        let half = at_stack.dot(along);
        let inside = (half * half - at_stack.dot(at_stack) + length.value() * length.value()).max(0.0);
        point(stance.place(at_stack + along.times(inside.sqrt() - half)))
    });
    let pitch_radius = |teeth: f64| CHAIN_PITCH_MM / (2.0 * (PI / teeth).sin());
    let sprockets = build.part(names.cassette).and_then(|p| p.values.numbers(names.sprockets));
    let largest = sprockets.and_then(|s| s.iter().copied().max_by(f64::total_cmp));
    Some(SideView {
        rear_wheel: wheel(stance.rear_axle, row.at(P::RearRadius), names.rear_tyre, names.rear_wheel),
        front_wheel: wheel(stance.front_axle, row.at(P::FrontRadius), names.front_tyre, names.front_wheel),
        bottom_bracket: point(stance.bottom_bracket),
        head_tube_top: point(stance.head_tube_top),
        head_tube_bottom: point(stance.head_tube_bottom),
        crown: point(stance.crown),
        fork_foot: point(stance.fork_foot()),
        steering_axis_ground: point(stance.steering_axis_ground()),
        front_contact: [stance.front_axle.x, 0.0],
        seat_tube_top,
        saddle: stance.saddle.map(point),
        saddle_length: part_quantity(build, names.saddle, names.saddle_length).map_or(270.0, quantity::Quantity::value),
        stem_base: stance.cockpit.map(|c| point(c.stem_base)),
        bar_clamp: stance.cockpit.map(|c| point(c.bar_clamp)),
        hand: stance.cockpit.map(|c| point(c.hand)),
        crank_length: part_quantity(build, names.crank, names.crank_length).map(quantity::Quantity::value),
        ring_radius: build
            .part(names.chainring)
            .and_then(|p| p.values.count(names.ring_teeth))
            .map(|teeth| pitch_radius(f64::from(teeth))),
        sprocket_radius: largest.map(pitch_radius),
        pivot: row.present.arc.then(|| point(stance.place(Point::new(row.at(P::PivotForward), row.at(P::PivotUp))))),
    })
}
