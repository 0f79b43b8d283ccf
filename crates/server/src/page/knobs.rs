//! Numbers that can be changed, as fields with a slider beside each: every quantity that the part kinds list for set-up and rider,
//! and of the parts on the bench those in which parts differ by degrees.

use bike::Values;
use knowledge::{About, Attribute, AttributeId, AttributeType, KindId, Knowledge};
use maud::{Markup, html};
use quantity::{
    Dimension,
    print::{self, Units},
    words::capital,
};

use crate::{asked::Asked, on_stand::OnStand};

/// All numbers of a bench that can be changed, in groups.
pub(crate) struct Knobs {
    groups: Vec<Group>,
}

/// Numbers under one heading.
struct Group {
    heading: String,
    /// A part's: they fold away.
    of_part: bool,
    knobs: Vec<Knob>,
}

/// One number that can be changed.
struct Knob {
    /// As an address calls it: `rider.mass`.
    name: String,
    label: String,
    /// What somebody wrote in its place.
    written: Option<String>,
    /// As it is without: printed; empty if nobody said.
    now: String,
    /// The slider, in the units shown: least, most, step, value.
    slider: Option<[f64; 4]>,
    unit: &'static str,
}

/// How much of the range of what can be a slider reaches to either side.
const REACH: f64 = 0.15;

impl Knobs {
    pub(crate) fn of(asked: &Asked, on_stand: &OnStand<'_>) -> Self {
        let knowledge = on_stand.workshop.knowledge();
        let maker = Maker { asked, knowledge, units: on_stand.units };
        let mut groups = Vec::new();
        for (heading, about, prefix, values) in
            [("Set-up", About::Setup, "", &on_stand.build.setup), ("Rider", About::Rider, "rider.", &on_stand.build.rider)]
        {
            let knobs = knowledge.table(about).map(|kind| maker.knobs(kind, prefix, values, |_| true)).unwrap_or_default();
            groups.push(Group { heading: heading.to_owned(), of_part: false, knobs });
        }
        for (id, slot) in knowledge.slots() {
            let Some(part) = on_stand.part(id) else { continue };
            let knobs = maker.knobs(part.kind, &format!("{}.", slot.id), &part.values, |attribute| attribute.slider);
            let knobs: Vec<Knob> = knobs.into_iter().filter(|knob| knob.slider.is_some()).collect();
            if !knobs.is_empty() {
                groups.push(Group { heading: slot.name.clone(), of_part: true, knobs });
            }
        }
        Self { groups }
    }

    /// Whether a pair of the address is one of these.
    pub(crate) fn cover(&self, key: &str) -> bool {
        let name = key.strip_prefix("adjust.");
        name.is_some_and(|name| self.groups.iter().flat_map(|group| &group.knobs).any(|knob| knob.name == name))
    }

    pub(crate) fn markup(&self) -> Markup {
        let (parts, tables): (Vec<&Group>, Vec<&Group>) = self.groups.iter().partition(|group| group.of_part);
        let is_changed = parts.iter().flat_map(|group| &group.knobs).any(|knob| knob.written.is_some());
        html! {
            section.knobs {
                h2 { "Numbers to try" }
                p.small { "Empty: as it is. A number may carry unit and tolerance, “20 ± 2 mm”." }
                @for group in tables { (fieldset(group)) }
                @if !parts.is_empty() {
                    details open[is_changed] {
                        summary { "Parts with other numbers" }
                        p.small { "As if there were a part like this one but for the number; it has no price." }
                        @for group in parts { (fieldset(group)) }
                    }
                }
            }
        }
    }
}

/// Makes knobs of attributes.
struct Maker<'m> {
    asked: &'m Asked,
    knowledge: &'m Knowledge,
    units: Units,
}

impl Maker<'_> {
    fn knobs(&self, kind: KindId, prefix: &str, stated: &Values, wanted: impl Fn(&Attribute) -> bool) -> Vec<Knob> {
        let attributes = self.knowledge.attributes_of(kind).filter(|(_, attribute)| wanted(attribute));
        attributes.filter_map(|(id, attribute)| self.knob(id, attribute, prefix, stated)).collect()
    }

    fn knob(&self, id: AttributeId, attribute: &Attribute, prefix: &str, stated: &Values) -> Option<Knob> {
        let AttributeType::Quantity { dimension, least, most, .. } = attribute.what else { return None };
        let name = format!("{prefix}{}", attribute.id);
        let written = self.asked.adjust.iter().find(|adjust| adjust.0 == name).map(|adjust| adjust.1.clone());
        let now = stated.quantity(id).map(quantity::Quantity::value).or_else(|| self.assumed(id));
        let unit = self.units.unit(dimension);
        let slider = now.map(|now| {
            let reach = REACH * (most - least);
            let step = step(dimension, self.units);
            let round = |value: f64| (unit.from_base(value) / step).round() * step;
            [round((now - reach).max(least)), round((now + reach).min(most)), step, round(now)]
        });
        Some(Knob {
            name,
            label: attribute.says.clone(),
            written,
            now: now.map(|now| print::value(now, 0.0, dimension, self.units).to_string()).unwrap_or_default(),
            slider,
            unit: unit.symbol(),
        })
    }

    /// What is taken if nobody says.
    fn assumed(&self, id: AttributeId) -> Option<f64> {
        self.knowledge.default_of_table(id).map(|default| default.value.value())
    }
}

/// The least that a slider moves, in the units shown.
fn step(dimension: Dimension, units: Units) -> f64 {
    match (dimension, units) {
        (Dimension::Length, Units::Imperial) => 0.05,
        (Dimension::Angle | Dimension::Pressure, Units::Metric) => 0.1,
        _ => 1.0,
    }
}

fn fieldset(group: &Group) -> Markup {
    html! { fieldset { legend { (group.heading) } @for knob in &group.knobs { (field(knob)) } } }
}

fn field(knob: &Knob) -> Markup {
    let id = format!("adjust-{}", knob.name.replace('.', "-"));
    html! {
        div.knob {
            label for=(id) { (capital(&knob.label)) }
            input id=(id) name={ "adjust." (knob.name) } value=[knob.written.as_deref()] placeholder=(knob.now) autocomplete="off" inputmode="text";
            @if let Some([least, most, step, value]) = knob.slider {
                input.slide type="range" min=(short(least)) max=(short(most)) step=(step) value=(short(value)) data-of=(id) data-unit=(knob.unit) aria-label={ "Slide: " (knob.label) } hidden;
            }
        }
    }
}

/// A number as an attribute.
fn short(value: f64) -> String {
    let text = format!("{value:.2}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}
