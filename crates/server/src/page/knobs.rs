//! Set-up and rider as fields with a slider beside each: every quantity that the part kinds list for them, with its bounds.

use bike::Build;
use knowledge::{About, AttributeId, AttributeType, Knowledge};
use maud::{Markup, html};
use quantity::{
    Dimension,
    print::{self, Units},
};

use crate::{asked::Asked, on_stand::OnStand};

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

pub(crate) fn knobs(asked: &Asked, on_stand: &OnStand<'_>) -> Markup {
    let knowledge = on_stand.workshop.knowledge();
    html! {
        section.knobs {
            h2 { "Set-up and rider" }
            p.small { "Empty: as it is. A number may carry unit and tolerance, “20 ± 2 mm”." }
            @for (heading, about) in [("Set-up", About::Setup), ("Rider", About::Rider)] {
                fieldset {
                    legend { (heading) }
                    @for knob in of_table(about, asked, &on_stand.build, knowledge, on_stand.units) { (field(&knob)) }
                }
            }
        }
    }
}

fn of_table(about: About, asked: &Asked, build: &Build, knowledge: &Knowledge, units: Units) -> Vec<Knob> {
    let Some(kind) = knowledge.table(about) else { return Vec::new() };
    let (prefix, stated) = if about == About::Rider { ("rider.", &build.rider) } else { ("", &build.setup) };
    let attributes = knowledge.attributes_of(kind);
    attributes
        .filter_map(|(id, attribute)| {
            let AttributeType::Quantity { dimension, least, most, .. } = attribute.what else { return None };
            let name = format!("{prefix}{}", attribute.id);
            let written = asked.adjust.iter().find(|adjust| adjust.0 == name).map(|adjust| adjust.1.clone());
            let now = stated.quantity(id).map(quantity::Quantity::value).or_else(|| assumed(id, knowledge));
            let unit = units.unit(dimension);
            let shown = |value: f64| print::value(value, 0.0, dimension, units);
            let slider = now.map(|now| {
                let reach = REACH * (most - least);
                let step = step(dimension, units);
                let round = |value: f64| (unit.from_base(value) / step).round() * step;
                [round((now - reach).max(least)), round((now + reach).min(most)), step, round(now)]
            });
            Some(Knob {
                name,
                label: attribute.says.clone(),
                written,
                now: now.map(|now| shown(now).to_string()).unwrap_or_default(),
                slider,
                unit: unit.symbol(),
            })
        })
        .collect()
}

/// What is taken if nobody says.
fn assumed(id: AttributeId, knowledge: &Knowledge) -> Option<f64> {
    knowledge.default_of_table(id).map(|default| default.value.value())
}

/// The least that a slider moves, in the units shown.
fn step(dimension: Dimension, units: Units) -> f64 {
    match (dimension, units) {
        (Dimension::Length, Units::Imperial) => 0.05,
        (Dimension::Angle | Dimension::Pressure, Units::Metric) => 0.1,
        _ => 1.0,
    }
}

fn field(knob: &Knob) -> Markup {
    let id = format!("adjust-{}", knob.name.replace('.', "-"));
    html! {
        div.knob {
            label for=(id) { (knob.label) }
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
