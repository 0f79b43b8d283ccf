//! Assembling a build: from what is stated of chart, parts, rider and set-up to the row of numbers the mechanics take, each with
//! the inputs it rests on.

use std::sync::Arc;

use bike::{Build, Part};
use knowledge::{AttributeId, Of, SlotId, SourceId};
use mechanics::tyre;
use quantity::Quantity;

use crate::{
    frame_chart::{self, ReadChart},
    ground::Ground,
    inputs::{Input, Inputs, Owner},
    parameters::{PARAMETERS, Parameter as P, Present, Row},
    problem::StandProblem,
};

/// `parameter` rests on `input` with the contribution ∂parameter/∂input · u.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Rest {
    pub(crate) parameter: P,
    pub(crate) input: usize,
    pub(crate) contribution: f64,
}

/// A value nobody stated.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Assumed {
    pub(crate) owner: Owner,
    pub(crate) attribute: AttributeId,
    pub(crate) quantity: Quantity,
    pub(crate) source: SourceId,
}

/// A quantity found, stated or assumed.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Known {
    /// Base unit.
    pub(crate) value: f64,
    /// Input number and standard uncertainty; `None` if exact.
    pub(crate) input: Option<(usize, f64)>,
}

/// A build assembled.
#[derive(Clone, Debug)]
pub(crate) struct Assembly {
    pub(crate) row: Row<f64>,
    pub(crate) rests: Vec<Rest>,
    pub(crate) assumed: Vec<Assumed>,
}

/// What a build is assembled from: the build, its chart, and, for the one after a swap, the build before it.
pub(crate) struct Source<'a> {
    pub(crate) ground: &'a Ground,
    pub(crate) build: &'a Build,
    pub(crate) chart: &'a ReadChart,
    /// `None` for the bike before the swap.
    pub(crate) before: Option<&'a Build>,
}

impl<'a> Source<'a> {
    /// Looks a quantity of a part up: stated, or assumed if the part is there.
    pub(crate) fn of_part(&self, slot: SlotId, attribute: AttributeId) -> Option<(Owner, Quantity, Option<SourceId>)> {
        let part = self.build.part(slot)?;
        let owner = self.owner_of(slot);
        if let Some(quantity) = part.values.quantity(attribute) {
            return Some((owner, quantity, None));
        }
        self.ground.default_of(Some(slot), attribute).map(|d| (owner, d.0, Some(d.1)))
    }

    /// Looks up what a term takes of a part: the quantity or count, stated or assumed, or a figure of a standard.
    pub(crate) fn of_part_figure(&self, slot: SlotId, attribute: AttributeId, of: Of) -> Option<(Owner, Quantity)> {
        let part = self.build.part(slot)?;
        Some((self.owner_of(slot), self.ground.of_part(slot, part, attribute, of)?))
    }

    /// Whose the part in a slot is.
    pub(crate) fn owner_of(&self, slot: SlotId) -> Owner {
        Owner::Part { slot, after: self.build.part(slot).is_some_and(|part| self.is_new(slot, part)) }
    }

    /// A number of a table with its standard uncertainty; the chart's own numbers as reconciled.
    pub(crate) fn table_number(&self, assembly: &Assembly, attribute: AttributeId) -> Option<(f64, f64)> {
        let Some(parameter) = self.ground.chart_parameter(attribute) else {
            let quantity = self.of_table(attribute)?.1;
            return Some((quantity.value(), quantity.standard_uncertainty()));
        };
        // A parameter rests on each input of the chart once.
        let rests = assembly.rests.iter().filter(|rest| rest.parameter == parameter);
        let variance: f64 = rests.map(|rest| rest.contribution * rest.contribution).sum();
        Some((assembly.row.at(parameter), variance.sqrt()))
    }

    /// Looks a quantity of a table up (rider or set-up): stated, or assumed.
    pub(crate) fn of_table(&self, attribute: AttributeId) -> Option<(Owner, Quantity, Option<SourceId>)> {
        let rider = self.ground.is_rider(attribute);
        let values = if rider { &self.build.rider } else { &self.build.setup };
        let stated = values.quantity(attribute);
        let moved = self.before.is_some_and(|b| if rider { &b.rider } else { &b.setup }.quantity(attribute) != stated);
        let owner = if rider { Owner::Rider { after: moved } } else { Owner::Setup { after: moved } };
        match stated {
            Some(quantity) => Some((owner, quantity, None)),
            None => self.ground.default_of(None, attribute).map(|d| (owner, d.0, Some(d.1))),
        }
    }

    /// Whose number a chart entry is.
    fn of_chart(&self, attribute: AttributeId) -> Owner {
        let moved = self.before.is_some_and(|b| b.chart.quantity(attribute) != self.build.chart.quantity(attribute));
        Owner::Chart { after: moved }
    }

    /// Whether a slot holds what it did before the swap.
    pub(crate) fn holds_what_it_did(&self, slot: SlotId) -> bool {
        self.before.is_some_and(|before| match (before.part(slot), self.build.part(slot)) {
            (Some(old), Some(new)) => Arc::ptr_eq(old, new),
            (old, new) => old.is_none() && new.is_none(),
        })
    }

    /// Whether the part in this slot is another one than before the swap.
    fn is_new(&self, slot: SlotId, part: &'a Arc<Part>) -> bool {
        self.before.is_some_and(|b| b.part(slot).is_none_or(|old| !Arc::ptr_eq(old, part)))
    }
}

/// Assembles.
pub(crate) fn assemble(source: &Source<'_>, inputs: &mut Inputs) -> Result<Assembly, StandProblem> {
    let mut work = Work {
        source,
        inputs,
        numbers: [0.0; PARAMETERS],
        rests: Vec::with_capacity(200),
        assumed: Vec::new(),
        present: Present::default(),
    };
    work.frame();
    work.headset();
    work.fork()?;
    work.wheels();
    work.sag();
    work.cockpit();
    work.seating();
    work.cranks();
    work.rider();
    Ok(Assembly { row: Row { numbers: work.numbers, present: work.present }, rests: work.rests, assumed: work.assumed })
}

struct Work<'s, 'a> {
    source: &'s Source<'a>,
    inputs: &'s mut Inputs,
    numbers: [f64; PARAMETERS],
    rests: Vec<Rest>,
    assumed: Vec<Assumed>,
    present: Present,
}

impl Work<'_, '_> {
    fn known(&mut self, found: (Owner, Quantity, Option<SourceId>), attribute: AttributeId) -> Known {
        let (owner, quantity, source) = found;
        if let Some(source) = source {
            self.assumed.push(Assumed { owner, attribute, quantity, source });
        }
        known(self.inputs, owner, attribute, quantity)
    }

    fn part(&mut self, slot: SlotId, attribute: AttributeId) -> Option<Known> {
        let found = self.source.of_part(slot, attribute)?;
        Some(self.known(found, attribute))
    }

    fn table(&mut self, attribute: AttributeId) -> Option<Known> {
        let found = self.source.of_table(attribute)?;
        Some(self.known(found, attribute))
    }

    /// `parameter += factor · known`.
    fn add(&mut self, parameter: P, known: Known, factor: f64) {
        self.numbers[parameter as usize] += factor * known.value;
        self.lean(parameter, known, factor);
    }

    /// Records that a parameter rests on an input without adding its value: for products and functions.
    fn lean(&mut self, parameter: P, known: Known, slope: f64) {
        if let Some((input, u)) = known.input {
            self.rests.push(Rest { parameter, input, contribution: slope * u });
        }
    }

    /// Frame as drawn: the reconciled chart; each of its numbers is an input of its own.
    fn frame(&mut self) {
        let chart = self.source.chart;
        let places = [P::RearCentreHorizontal, P::BbDrop, P::Stack, P::Reach, P::HeadAngle, P::HeadTube];
        for (i, &parameter) in places.iter().enumerate() {
            self.numbers[parameter as usize] = chart.reconciled.theta[i];
        }
        for (j, &n) in chart.observed.iter().enumerate() {
            let number = &chart.numbers[n];
            let u = frame_chart::standard_uncertainty(number);
            let input = self.chart_input(number.attribute, number.quantity, u);
            for (i, &parameter) in places.iter().enumerate() {
                let slope = chart.reconciled.sensitivity[(i, j)] * frame_chart::per_base(number.entry);
                if slope != 0.0 {
                    self.rests.push(Rest { parameter, input, contribution: slope * u });
                }
            }
        }
        let names = &self.source.ground.names;
        let build = self.source.build;
        let radian = 1.0_f64.to_radians();
        let effective = build.chart.quantity(names.chart_seat_angle);
        let actual = build.chart.quantity(names.chart_actual_seat_angle);
        // A seat tube of which only one angle is known is taken as straight through the bottom bracket.
        if let Some((quantity, attribute)) =
            effective.map(|q| (q, names.chart_seat_angle)).or(actual.map(|q| (q, names.chart_actual_seat_angle)))
        {
            let known = known(self.inputs, self.source.of_chart(attribute), attribute, quantity);
            self.add(P::SeatAngle, known, radian);
            match actual {
                Some(tube) if effective.is_some() => {
                    let known = self::known(
                        self.inputs,
                        self.source.of_chart(names.chart_actual_seat_angle),
                        names.chart_actual_seat_angle,
                        tube,
                    );
                    self.add(P::SeatTubeAngle, known, radian);
                }
                _ => self.add(P::SeatTubeAngle, known, radian),
            }
            self.present.seating = true;
            self.present.seat_tube = true;
        } else {
            // Only ever shown as a line of the drawing; no figure is taken from it.
            self.numbers[P::SeatAngle as usize] = 73.0 * radian;
            self.numbers[P::SeatTubeAngle as usize] = 73.0 * radian;
        }
        if let Some(standover) = build.chart.quantity(names.chart_standover)
            && self.present.seating
        {
            // The chart measures from the ground it was drawn on.
            let ground = chart.reconciled.entry(mechanics::chart::Entry::BbHeight).0;
            let known = known(self.inputs, self.source.of_chart(names.chart_standover), names.chart_standover, standover);
            self.add(P::StandoverUp, known, 1.0);
            self.numbers[P::StandoverUp as usize] -= ground;
            self.present.standover = true;
        }
    }

    fn chart_input(&mut self, attribute: AttributeId, quantity: Quantity, standard_uncertainty: f64) -> usize {
        self.inputs.number(Input {
            owner: self.source.of_chart(attribute),
            attribute,
            figure: None,
            standard_uncertainty,
            value: quantity.value(),
        })
    }

    fn headset(&mut self) {
        let names = &self.source.ground.names;
        let (slot, radian) = (names.headset, 1.0_f64.to_radians());
        if let Some(lower) = self.part(slot, names.headset_lower_stack) {
            self.add(P::LowerStack, lower, 1.0);
        } else {
            self.take_from_chart(P::LowerStack, 6);
        }
        for (parameter, attribute, factor) in [
            (P::UpperStack, names.headset_upper_stack, 1.0),
            (P::AxisChange, names.headset_angle_change, radian),
            (P::AxisPivot, names.headset_angle_pivot, 0.01),
        ] {
            if let Some(known) = self.part(slot, attribute) {
                // The pivot of an axis that is not tilted is of no interest, nor is its tolerance.
                if parameter == P::AxisPivot && self.numbers[P::AxisChange as usize] == 0.0 {
                    self.numbers[parameter as usize] = factor * known.value;
                    self.assumed.pop_if(|a| a.attribute == attribute);
                    continue;
                }
                self.add(parameter, known, factor);
            }
        }
    }

    /// A parameter that is one of the reconciled chart's own numbers.
    fn take_from_chart(&mut self, parameter: P, unknown: usize) {
        let chart = self.source.chart;
        self.numbers[parameter as usize] = chart.reconciled.theta[unknown];
        for (j, &n) in chart.observed.iter().enumerate() {
            let number = &chart.numbers[n];
            let u = frame_chart::standard_uncertainty(number);
            let slope = chart.reconciled.sensitivity[(unknown, j)] * frame_chart::per_base(number.entry);
            let input = self.chart_input(number.attribute, number.quantity, u);
            self.rests.push(Rest { parameter, input, contribution: slope * u });
        }
    }

    fn fork(&mut self) -> Result<(), StandProblem> {
        let names = &self.source.ground.names;
        let length = self.part(names.fork, names.fork_axle_to_crown);
        let offset = self.part(names.fork, names.fork_offset);
        let (Some(length), Some(offset)) = (length, offset) else {
            return Err(StandProblem::Missing { what: "a fork with its axle-to-crown and offset".to_owned() });
        };
        self.add(P::AxleToCrown, length, 1.0);
        self.add(P::Offset, offset, 1.0);
        Ok(())
    }

    fn wheels(&mut self) {
        let names = &self.source.ground.names;
        let front = self.wheel(names.front_wheel, names.front_tyre, P::FrontRadius, P::FrontWidth, P::FrontSquash, 9);
        let rear = self.wheel(names.rear_wheel, names.rear_tyre, P::RearRadius, P::RearWidth, P::RearSquash, 8);
        self.present.tyres = front && rear;
    }

    /// One wheel: radius over the tyre, width on its rim, squash. Returns whether a tyre is there.
    fn wheel(&mut self, wheel: SlotId, tyre_slot: SlotId, radius: P, width: P, squash: P, unknown: usize) -> bool {
        let names = &self.source.ground.names;
        let Some(stated_width) = self.part(tyre_slot, names.tyre_width) else {
            self.take_from_chart(radius, unknown);
            return false;
        };
        // Width on this rim, if both rims are known.
        let rims = self.part(wheel, names.rim_inner_width).zip(self.part(tyre_slot, names.tyre_measured_on_rim));
        let first = self.rests.len();
        self.add(width, stated_width, 1.0);
        if let Some((rim, stated_on)) = rims {
            self.add(width, rim, tyre::WIDTH_PER_RIM_WIDTH);
            self.add(width, stated_on, -tyre::WIDTH_PER_RIM_WIDTH);
        }
        let bead = self.part(tyre_slot, names.tyre_bead_seat_diameter).map_or(0.0, |b| b.value);
        if let Some(stated) = self.part(tyre_slot, names.tyre_radius) {
            self.add(radius, stated, 1.0);
        } else {
            self.numbers[radius as usize] = tyre::radius_mm(bead, self.numbers[width as usize]);
            for i in first..self.rests.len() {
                let rest = self.rests[i];
                self.rests.push(Rest { parameter: radius, ..rest });
            }
        }
        if let Some(drop) = self.table(names.tyre_drop) {
            let share = drop.value / 100.0;
            let (r, height) = (self.numbers[radius as usize], self.numbers[radius as usize] - bead * 0.5);
            self.numbers[squash as usize] = tyre::squash_mm(r, bead, share);
            self.lean(squash, drop, height / 100.0);
            for i in first..self.rests.len() {
                let rest = self.rests[i];
                if rest.parameter == radius {
                    self.rests.push(Rest { parameter: squash, contribution: rest.contribution * share, ..rest });
                }
            }
        }
        true
    }

    /// Sag of fork and rear: share of travel times travel.
    fn sag(&mut self) {
        let names = &self.source.ground.names;
        for (parameter, slot, travel, share) in [
            (P::ForkSag, names.fork, names.fork_travel, names.front_sag),
            (P::RearSag, names.frame, names.frame_travel, names.rear_sag),
        ] {
            let Some(travel) = self.part(slot, travel) else { continue };
            if travel.value == 0.0 {
                continue;
            }
            if let Some(share) = self.table(share) {
                self.numbers[parameter as usize] = share.value / 100.0 * travel.value;
                self.lean(parameter, share, travel.value / 100.0);
                self.lean(parameter, travel, share.value / 100.0);
            }
        }
        if let (Some(forward), Some(up)) = (self.part(names.frame, names.pivot_forward), self.part(names.frame, names.pivot_up)) {
            self.add(P::PivotForward, forward, 1.0);
            self.add(P::PivotUp, up, 1.0);
            self.present.arc = true;
        }
    }

    fn cockpit(&mut self) {
        let names = &self.source.ground.names;
        let (stem, bar, radian) = (names.stem, names.bar, 1.0_f64.to_radians());
        if self.source.build.part(stem).is_none() || self.source.build.part(bar).is_none() {
            return;
        }
        let Some(length) = self.part(stem, names.stem_length) else { return };
        self.add(P::StemLength, length, 1.0);
        for (parameter, attribute, factor) in
            [(P::StemRise, names.stem_rise, radian), (P::StemHeight, names.stem_clamp_height, 1.0)]
        {
            if let Some(known) = self.part(stem, attribute) {
                self.add(parameter, known, factor);
            }
        }
        if let Some(spacers) = self.table(names.stem_spacers) {
            self.add(P::Spacers, spacers, 1.0);
        }
        if let Some(rise) = self.part(bar, names.bar_rise) {
            self.add(P::BarRise, rise, 1.0);
        }
        if let Some(reach) = self.part(bar, names.bar_reach) {
            self.add(P::HandForward, reach, 1.0);
        }
        // The swept part of the bar takes the hand back by its length times the sine of the sweep.
        if let (Some(sweep), Some(swept)) = (self.part(bar, names.bar_back_sweep), self.part(bar, names.bar_swept_length)) {
            let (sin, cos) = (sweep.value * radian).sin_cos();
            self.numbers[P::HandForward as usize] -= swept.value * sin;
            self.lean(P::HandForward, sweep, -swept.value * cos * radian);
            self.lean(P::HandForward, swept, -sin);
        }
        self.present.cockpit = true;
    }

    fn seating(&mut self) {
        let names = &self.source.ground.names;
        let Some(height) = self.table(names.saddle_height) else {
            self.present.seating = false;
            return;
        };
        if !self.present.seating {
            return;
        }
        self.add(P::SaddleHeight, height, 1.0);
        if let Some(setback) = self.part(names.seatpost, names.seatpost_setback) {
            self.add(P::SaddleBack, setback, 1.0);
        }
        if let Some(back) = self.table(names.saddle_back) {
            self.add(P::SaddleBack, back, 1.0);
        }
    }

    fn cranks(&mut self) {
        let names = &self.source.ground.names;
        let (crank, pedals) = (names.crank, names.pedals);
        let (Some(length), Some(q)) = (self.part(crank, names.crank_length), self.part(crank, names.crank_q_factor)) else {
            return;
        };
        let (Some(centre), Some(edge), Some(thickness)) = (
            self.part(pedals, names.pedal_centre),
            self.part(pedals, names.pedal_outer_edge),
            self.part(pedals, names.pedal_thickness),
        ) else {
            return;
        };
        self.add(P::CrankLength, length, 1.0);
        self.add(P::PedalCentre, q, 0.5);
        self.add(P::PedalCentre, centre, 1.0);
        self.add(P::PedalEdge, q, 0.5);
        self.add(P::PedalEdge, edge, 1.0);
        self.add(P::PedalThickness, thickness, 1.0);
        self.present.cranks = true;
    }

    fn rider(&mut self) {
        let names = &self.source.ground.names;
        if !(self.present.seating && self.present.cockpit) {
            return;
        }
        for (parameter, attribute, factor) in [
            (P::RiderMass, names.rider_mass, 1.0),
            (P::RiderHeight, names.rider_height, 1.0),
            (P::Posture, names.posture, 1.0),
            (P::BikeMass, names.bike_mass, 1.0),
            (P::BikeFrontShare, names.bike_front_share, 0.01),
        ] {
            if let Some(known) = self.table(attribute) {
                self.add(parameter, known, factor);
            }
        }
    }
}

/// A quantity as an input, if it is uncertain.
pub(crate) fn known(inputs: &mut Inputs, owner: Owner, attribute: AttributeId, quantity: Quantity) -> Known {
    known_figure(inputs, owner, attribute, None, quantity)
}

/// The same of a figure of the standard that the attribute names.
pub(crate) fn known_figure(
    inputs: &mut Inputs,
    owner: Owner,
    attribute: AttributeId,
    figure: Option<usize>,
    quantity: Quantity,
) -> Known {
    let u = quantity.standard_uncertainty();
    let input = (u > 0.0).then(|| {
        let number = inputs.number(Input { owner, attribute, figure, standard_uncertainty: u, value: quantity.value() });
        (number, u)
    });
    Known { value: quantity.value(), input }
}
