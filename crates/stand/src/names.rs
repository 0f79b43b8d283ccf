//! The attributes and slots that the mechanics need, looked up once by name.
//!
//! Part kinds are data; this is where the assembly says which of them it understands. A knowledge folder that lacks one of them is
//! refused with its name.

use bike::Build;
use knowledge::{AttributeId, Knowledge, SlotId};
use mechanics::{chart::Entry, tyre};
use quantity::{Dimension, Quantity};

use crate::problem::StandProblem;

macro_rules! names {
    ($($field:ident = $table:literal . $attribute:literal),* $(,)?; $($slot:ident = $slot_id:literal),* $(,)?) => {
        /// See the module.
        #[derive(Clone, Debug)]
        pub(crate) struct Names {
            $(pub(crate) $field: AttributeId,)*
            $(pub(crate) $slot: SlotId,)*
            /// Chart entries with their attributes.
            pub(crate) chart: Vec<(Entry, AttributeId)>,
        }

        impl Names {
            /// All attributes that are looked up here.
            pub(crate) fn attributes(&self) -> Vec<AttributeId> {
                vec![$(self.$field),*]
            }

            /// Looks every name up.
            pub(crate) fn find(knowledge: &Knowledge) -> Result<Self, StandProblem> {
                let attribute = |kind: &str, id: &str| {
                    knowledge
                        .kind(kind)
                        .and_then(|k| knowledge.attribute(k, id))
                        .ok_or_else(|| StandProblem::Unknown { name: format!("{kind}.{id}") })
                };
                let slot = |id: &str| knowledge.slot(id).ok_or_else(|| StandProblem::Unknown { name: id.to_owned() });
                Ok(Self {
                    $($field: attribute($table, $attribute)?,)*
                    $($slot: slot($slot_id)?,)*
                    chart: CHART.iter().map(|&(entry, id)| Ok((entry, attribute("chart", id)?))).collect::<Result<_, StandProblem>>()?,
                })
            }
        }
    };
}

/// Chart entries by attribute id.
const CHART: [(Entry, &str); 16] = [
    (Entry::Stack, "stack"),
    (Entry::Reach, "reach"),
    (Entry::HeadAngle, "head_angle"),
    (Entry::HeadTube, "head_tube"),
    (Entry::RearCentre, "rear_centre"),
    (Entry::RearCentreHorizontal, "rear_centre_horizontal"),
    (Entry::BbDrop, "bb_drop"),
    (Entry::BbHeight, "bb_height"),
    (Entry::FrontCentre, "front_centre"),
    (Entry::Wheelbase, "wheelbase"),
    (Entry::Trail, "trail"),
    (Entry::AxleToCrown, "axle_to_crown"),
    (Entry::ForkOffset, "fork_offset"),
    (Entry::LowerHeadsetStack, "lower_headset_stack"),
    (Entry::FrontRadius, "front_radius"),
    (Entry::RearRadius, "rear_radius"),
];

names! {
    chart_seat_angle = "chart"."seat_angle",
    chart_actual_seat_angle = "chart"."actual_seat_angle",
    chart_standover = "chart"."standover",
    rider_mass = "rider"."mass",
    rider_height = "rider"."height",
    saddle_height = "setup"."saddle_height",
    saddle_back = "setup"."saddle_back",
    stem_spacers = "setup"."stem_spacers",
    front_sag = "setup"."front_sag",
    rear_sag = "setup"."rear_sag",
    tyre_drop = "setup"."tyre_drop",
    posture = "setup"."posture",
    bike_mass = "setup"."bike_mass",
    bike_front_share = "setup"."bike_front_share",
    frame_travel = "frame"."travel",
    pivot_forward = "frame"."pivot_forward",
    pivot_up = "frame"."pivot_up",
    seat_tube_length = "frame"."seat_tube_length",
    fork_axle_to_crown = "fork"."axle_to_crown",
    fork_offset = "fork"."offset",
    fork_travel = "fork"."travel",
    headset_lower_stack = "headset"."lower_stack",
    headset_upper_stack = "headset"."upper_stack",
    headset_angle_change = "headset"."angle_change",
    headset_angle_pivot = "headset"."angle_pivot",
    stem_length = "stem"."length",
    stem_rise = "stem"."rise",
    stem_clamp_height = "stem"."clamp_height",
    bar_rise = "bar"."rise",
    bar_reach = "bar"."reach",
    bar_back_sweep = "bar"."back_sweep",
    bar_swept_length = "bar"."swept_length",
    seatpost_setback = "seatpost"."setback",
    saddle_length = "saddle"."length",
    bead_seat_diameter = "wheel"."bead_seat_diameter",
    rim_inner_width = "wheel"."rim_inner_width",
    tyre_bead_seat_diameter = "tyre"."bead_seat_diameter",
    tyre_width = "tyre"."width",
    tyre_measured_on_rim = "tyre"."measured_on_rim",
    tyre_radius = "tyre"."radius",
    crank_length = "crank"."length",
    crank_q_factor = "crank"."q_factor",
    pedal_centre = "pedal"."centre",
    pedal_outer_edge = "pedal"."outer_edge",
    pedal_thickness = "pedal"."thickness",
    ring_teeth = "chainring"."teeth",
    sprockets = "cassette"."sprockets";
    frame = "frame",
    fork = "fork",
    headset = "headset",
    stem = "stem",
    bar = "bar",
    front_wheel = "front_wheel",
    front_tyre = "front_tyre",
    rear_wheel = "rear_wheel",
    rear_tyre = "rear_tyre",
    seatpost = "seatpost",
    saddle = "saddle",
    crank = "crank",
    pedals = "pedals",
    chainring = "chainring",
    cassette = "cassette",
}

impl Names {
    /// Slots whose parts the assembly reads.
    pub(crate) fn shaping(&self) -> [SlotId; 13] {
        [
            self.frame,
            self.fork,
            self.headset,
            self.stem,
            self.bar,
            self.front_wheel,
            self.front_tyre,
            self.rear_wheel,
            self.rear_tyre,
            self.seatpost,
            self.saddle,
            self.crank,
            self.pedals,
        ]
    }

    /// Radius over the tyre from what is stated of wheel and tyre, without its tolerance.
    pub(crate) fn nominal_wheel_radius(&self, build: &Build, wheel: SlotId, tyre: SlotId) -> Option<Quantity> {
        if let Some(stated) = part_quantity(build, tyre, self.tyre_radius) {
            return Some(stated);
        }
        let width = part_quantity(build, tyre, self.tyre_width)?;
        let bead = part_quantity(build, tyre, self.tyre_bead_seat_diameter)
            .or_else(|| part_quantity(build, wheel, self.bead_seat_diameter))?;
        let on_rim = part_quantity(build, wheel, self.rim_inner_width).zip(part_quantity(build, tyre, self.tyre_measured_on_rim));
        let width_mm =
            on_rim.map_or(width.value(), |(rim, stated_on)| tyre::width_on_rim_mm(width.value(), stated_on.value(), rim.value()));
        Some(Quantity::exact(tyre::radius_mm(bead.value(), width_mm), Dimension::Length, width.origin()))
    }
}

/// A quantity stated of the part in a slot.
pub(crate) fn part_quantity(build: &Build, slot: SlotId, attribute: AttributeId) -> Option<Quantity> {
    build.part(slot)?.values.quantity(attribute)
}
