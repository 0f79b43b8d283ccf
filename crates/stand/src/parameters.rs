//! The numbers the mechanics take, as one row: where each of them stands in it, and a bicycle made from such a row.
//!
//! Derivatives are taken with respect to this row (its length is fixed, so they live on the stack); what the row's numbers rest
//! on is the business of [`crate::assembly`].

use mechanics::{
    Real,
    pedal::{Pedals, Sections},
    planar::{AxlePath, Bicycle, Cockpit, Fork, Headset, MainFrame, Sag, Seating, Wheels},
    plane::Point,
    rider::Rider,
};

macro_rules! row {
    ($($(#[$doc:meta])* $name:ident),* $(,)?) => {
        /// A place in the row. Lengths in mm, angles in rad, masses in kg, shares from 0 to 1.
        #[derive(Clone, Copy, Debug, PartialEq, Eq)]
        pub(crate) enum Parameter { $($(#[$doc])* $name),* }

        /// Length of the row.
        pub(crate) const PARAMETERS: usize = [$(Parameter::$name),*].len();
    };
}

// The order matters for speed only: derivatives are taken for [`CHUNK`] neighbours at a time, and numbers that no neighbour acts on
// stay plain. So what acts on everything stands first, and what acts on little stands together.
row! {
    RearCentreHorizontal,
    BbDrop,
    Stack,
    Reach,
    HeadAngle,
    HeadTube,
    LowerStack,
    AxisChange,

    AxisPivot,
    AxleToCrown,
    Offset,
    FrontRadius,
    RearRadius,
    SeatAngle,
    SeatTubeAngle,
    /// Point of the top tube where standover is measured, above the bottom bracket as drawn.
    StandoverUp,

    ForkSag,
    RearSag,
    FrontSquash,
    RearSquash,
    PivotForward,
    PivotUp,
    FrontWidth,
    RearWidth,

    UpperStack,
    Spacers,
    StemHeight,
    StemLength,
    StemRise,
    BarRise,
    HandForward,
    SaddleHeight,

    SaddleBack,
    RiderHeight,
    RiderMass,
    Posture,
    BikeMass,
    BikeFrontShare,
    CrankLength,
    PedalCentre,

    PedalEdge,
    PedalThickness,
}

/// Derivatives taken in one pass. Some 33 parameters of a bike are uncertain, so three passes do.
pub(crate) const CHUNK: usize = 12;

/// Which parts of the row mean something.
#[expect(clippy::struct_excessive_bools, reason = "each says whether one group of the row means something; they are independent")]
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Present {
    pub(crate) cockpit: bool,
    pub(crate) seating: bool,
    pub(crate) seat_tube: bool,
    pub(crate) cranks: bool,
    pub(crate) standover: bool,
    pub(crate) arc: bool,
    pub(crate) tyres: bool,
}

/// The row with its meaning.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Row<D> {
    pub(crate) numbers: [D; PARAMETERS],
    pub(crate) present: Present,
}

impl<D: Real> Row<D> {
    pub(crate) fn at(&self, parameter: Parameter) -> D {
        self.numbers[parameter as usize]
    }

    pub(crate) fn bicycle(&self) -> Bicycle<D> {
        use Parameter as P;
        Bicycle {
            frame: MainFrame {
                rear_centre_horizontal_mm: self.at(P::RearCentreHorizontal),
                bb_drop_mm: self.at(P::BbDrop),
                stack_mm: self.at(P::Stack),
                reach_mm: self.at(P::Reach),
                head_angle_rad: self.at(P::HeadAngle),
                head_tube_mm: self.at(P::HeadTube),
                seat_angle_rad: self.at(P::SeatAngle),
                seat_tube_angle_rad: self.at(P::SeatTubeAngle),
            },
            headset: Headset {
                lower_stack_mm: self.at(P::LowerStack),
                upper_stack_mm: self.at(P::UpperStack),
                axis_change_rad: self.at(P::AxisChange),
                axis_pivot: self.at(P::AxisPivot),
            },
            fork: Fork { axle_to_crown_mm: self.at(P::AxleToCrown), offset_mm: self.at(P::Offset) },
            wheels: Wheels { front_radius_mm: self.at(P::FrontRadius), rear_radius_mm: self.at(P::RearRadius) },
            axle_path: if self.present.arc {
                AxlePath::Arc(Point::new(self.at(P::PivotForward), self.at(P::PivotUp)))
            } else {
                AxlePath::Straight
            },
            cockpit: self.present.cockpit.then(|| Cockpit {
                spacers_mm: self.at(P::Spacers),
                stem_height_mm: self.at(P::StemHeight),
                stem_length_mm: self.at(P::StemLength),
                stem_rise_rad: self.at(P::StemRise),
                bar_rise_mm: self.at(P::BarRise),
                hand_forward_mm: self.at(P::HandForward),
            }),
            seating: self
                .present
                .seating
                .then(|| Seating { saddle_height_mm: self.at(P::SaddleHeight), back_mm: self.at(P::SaddleBack) }),
        }
    }

    pub(crate) fn sag(&self) -> Sag<D> {
        use Parameter as P;
        Sag {
            fork_mm: self.at(P::ForkSag),
            rear_axle_mm: self.at(P::RearSag),
            front_tyre_mm: self.at(P::FrontSquash),
            rear_tyre_mm: self.at(P::RearSquash),
        }
    }

    pub(crate) fn pedals(&self) -> Option<Pedals<D>> {
        use Parameter as P;
        self.present.cranks.then(|| Pedals {
            crank_length_mm: self.at(P::CrankLength),
            centre_from_middle_mm: self.at(P::PedalCentre),
            edge_from_middle_mm: self.at(P::PedalEdge),
            thickness_mm: self.at(P::PedalThickness),
        })
    }

    pub(crate) fn sections(&self) -> Option<Sections<D>> {
        use Parameter as P;
        self.present.tyres.then(|| Sections {
            front_width_mm: self.at(P::FrontWidth),
            rear_width_mm: self.at(P::RearWidth),
            front_radius_mm: self.at(P::FrontRadius),
        })
    }

    pub(crate) fn rider(&self) -> Rider<D> {
        Rider { mass_kg: self.at(Parameter::RiderMass), height_mm: self.at(Parameter::RiderHeight) }
    }
}
