//! A margin as a gauge: a scale with its zero, hatching on the forbidden side, a pointer, the tolerance as a band.
//!
//! How a margin stands is said by place and shape, and by colour only then: a clear pointer is plain, an unsure one hollow with a
//! hatched band across zero, a short one filled, with a bar drawn from zero to it.

use quantity::{
    Dimension,
    print::{self, Units},
};
use stand::answer::{Margin, Severity, State};

use crate::{
    letters::{Face, Weight, width},
    svg::{Anchor, Ink, escaped, number},
};

/// The least of 1, 2, 5 × 10ⁿ that is not below `least`.
pub(crate) fn step(least: f64) -> f64 {
    let decade = 10.0_f64.powf(least.max(1e-9).log10().floor());
    [1.0, 2.0, 5.0, 10.0].into_iter().map(|s| s * decade).find(|s| *s >= least * (1.0 - 1e-9)).unwrap_or(10.0 * decade)
}

/// A gauge, laid out.
#[derive(Clone, Debug, PartialEq)]
pub struct Gauge {
    /// Width in CSS pixels.
    pub width: f64,
    /// Height in CSS pixels.
    pub height: f64,
    /// What it shows, for those who do not see it.
    pub description: String,
    /// SVG elements, to be styled by the sheet they stand on.
    pub(crate) elements: String,
}

impl Gauge {
    /// The whole as an `svg` element.
    pub fn figure(&self) -> String {
        format!(
            r#"<svg xmlns="http://www.w3.org/2000/svg" class="d g" viewBox="0 0 {} {}" width="{}" height="{}" role="img" aria-label="{}">{}</svg>"#,
            number(self.width),
            number(self.height),
            number(self.width),
            number(self.height),
            escaped(&self.description),
            self.elements
        )
    }
}

/// The scale of a gauge, in the unit it is printed in.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Scale {
    step: f64,
    /// First and last tick, in steps from zero.
    first: f64,
    last: f64,
}

impl Scale {
    /// The finest of the 1-2-5 series that carries zero, value and tolerance in at most ten steps, with a step of forbidden ground.
    fn carrying(value: f64, tolerance: f64) -> Self {
        let (low, high) = ((value - tolerance).min(0.0), (value + tolerance).max(0.0));
        let mut step = step(((high - low) / 10.0).max(1e-6));
        loop {
            let scale = Self { step, first: (low / step * 1.0001).floor() - 1.0, last: (high / step * 1.0001).ceil() + 1.0 };
            if scale.last - scale.first <= 10.0 {
                return scale;
            }
            step = self::step(step * 1.5);
        }
    }

    fn share(&self, value: f64) -> f64 {
        (value / self.step - self.first) / (self.last - self.first)
    }
}

/// A dimension word's dimension; a plain number for a word that is not known.
pub(crate) fn dimension_of(word: &str) -> Dimension {
    Dimension::from_word(word).unwrap_or(Dimension::Number)
}

/// A margin as printed: `−4.0 ± 1.2 mm`.
pub fn margin_text(margin: &Margin, units: Units) -> String {
    print::change(margin.after, margin.plus_minus, dimension_of(&margin.dimension), units).to_string()
}

/// How a margin stands, as the style sheets have it. What is only felt is never in the warning colour.
pub fn gauge_class(margin: &Margin) -> &'static str {
    match margin.state {
        State::Clear => "clear",
        State::Unsure => "unsure",
        State::Short if margin.severity == Severity::Felt => "felt",
        State::Short => "short",
    }
}

/// Draws a margin as a gauge of a width (CSS pixels) with its figures in a type size; without figures, and half as high, if that
/// is zero.
pub fn gauge(margin: &Margin, units: Units, width_px: f64, text: f64, face: Face) -> Gauge {
    let dimension = dimension_of(&margin.dimension);
    let unit = units.unit(dimension);
    let value = unit.difference_from_base(margin.after);
    let tolerance = unit.difference_from_base(margin.plus_minus).abs();
    let scale = Scale::carrying(value, tolerance);
    let height = if text > 0.0 { 1.75 * text + 16.0 } else { 22.0 };
    let base = 15.0;
    let inset = (0.9 * text).max(6.0);
    let (left, right) = (inset, width_px - inset);
    let at = |value: f64| left + (right - left) * scale.share(value).clamp(0.0, 1.0);
    let zero = at(0.0);
    let pointer = at(value);
    let mut ink = Ink::new();

    // Forbidden ground: everything below zero.
    hatch(&mut ink, "hatch", left, zero, base - 6.0, base);
    ink.line("scale", [left, base], [right, base]);
    ticks(&mut ink, &scale, left, right, base);
    let (from, to) = (at(value - tolerance), at(value + tolerance));
    match margin.state {
        State::Unsure => {
            ink.rect("box", from, base - 6.0, to - from, 6.0);
            hatch(&mut ink, "bhatch", from, to, base - 6.0, base);
        }
        State::Short => {
            ink.line("reach", [pointer, base - 1.0], [zero, base - 1.0]);
            ink.line("band", [from, base - 2.4], [to, base - 2.4]);
        }
        State::Clear => {
            if to - from > 1.0 {
                ink.line("band", [from, base - 1.6], [to, base - 1.6]);
            }
        }
    }
    ink.line("zero", [zero, 1.0], [zero, base + 6.0]);
    if let Some(before) = margin.before.map(|b| unit.difference_from_base(b)).filter(|b| {
        // Only where it lies on the scale and apart from the pointer.
        (0.0..=1.0).contains(&scale.share(*b)) && (at(*b) - pointer).abs() > 3.0
    }) {
        let x = at(before);
        ink.polygon("was-ptr", &[[x, base + 1.0], [x - 3.0, base + 6.5], [x + 3.0, base + 6.5]]);
    }
    ink.polygon("ptr", &[[pointer, base - 1.0], [pointer - 5.0, base - 12.0], [pointer + 5.0, base - 12.0]]);
    if text > 0.0 {
        figures(&mut ink, &scale, dimension, units, [left, right, base + 7.0 + 0.8 * text], text, face);
    }

    let mut inner = Ink::new();
    inner.group(gauge_class(margin), [0.0, 0.0], &ink.into_string());
    let side = match margin.state {
        State::Clear => "clear of zero",
        State::Unsure => "its tolerance straddles zero",
        State::Short => "below zero",
    };
    Gauge {
        width: width_px,
        height,
        description: format!("{}: {}, {side}", margin.label, margin_text(margin, units)),
        elements: inner.into_string(),
    }
}

/// Strokes at 45° between two heights, clipped to `left` … `right`.
fn hatch(ink: &mut Ink, class: &str, left: f64, right: f64, top: f64, bottom: f64) {
    let rise = bottom - top;
    let mut strokes = Vec::new();
    let mut x = left - rise + 2.0;
    while x < right {
        let start = (x.max(left), bottom - (x.max(left) - x));
        let end_x = (x + rise).min(right);
        strokes.push([[start.0, start.1], [end_x, bottom - (end_x - x)]]);
        x += 4.0;
    }
    let strokes: Vec<&[[f64; 2]]> = strokes.iter().map(<[[f64; 2]; 2]>::as_slice).collect();
    if !strokes.is_empty() {
        ink.lines(class, &strokes);
    }
}

fn ticks(ink: &mut Ink, scale: &Scale, left: f64, right: f64, base: f64) {
    let mut marks = Vec::new();
    let mut tick = scale.first;
    while tick <= scale.last + 0.5 {
        let x = left + (right - left) * (tick - scale.first) / (scale.last - scale.first);
        marks.push([[x, base], [x, base + 4.0]]);
        tick += 1.0;
    }
    let marks: Vec<&[[f64; 2]]> = marks.iter().map(<[[f64; 2]; 2]>::as_slice).collect();
    ink.lines("scale", &marks);
}

/// Zero, and the outermost ticks that leave zero its room.
fn figures(ink: &mut Ink, scale: &Scale, dimension: Dimension, units: Units, [left, right, y]: [f64; 3], text: f64, face: Face) {
    let unit = units.unit(dimension);
    let x = |tick: f64| left + (right - left) * (tick - scale.first) / (scale.last - scale.first);
    let label = |tick: f64| {
        let printed = print::change(unit.difference_to_base(tick * scale.step), 0.0, dimension, units);
        if tick == 0.0 { printed.number } else { printed.to_string() }
    };
    let zero = label(0.0);
    let half_zero = width(&zero, text, Weight::Regular, face) / 2.0 + 0.5 * text;
    ink.text("sm", [x(0.0), y], text, Anchor::Middle, &zero);
    for (tick, anchor) in [(scale.first, Anchor::Start), (scale.last, Anchor::End)] {
        let words = label(tick);
        let wide = width(&words, text, Weight::Regular, face);
        // The outer figures stand flush with the scale's ends, so that they never leave the gauge.
        let inset = (0.9 * text).max(6.0);
        let at = if anchor == Anchor::Start { left - inset } else { right + inset };
        let inner = if anchor == Anchor::Start { at + wide } else { at - wide };
        if (inner - x(0.0)).abs() > half_zero && (inner - x(0.0)).signum() == (at - x(0.0)).signum() {
            ink.text("sm", [at, y], text, anchor, &words);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn steps_are_one_two_five() {
        let shown: Vec<f64> = [0.9, 1.0, 1.1, 3.0, 6.0, 42.0].into_iter().map(step).collect();
        assert_eq!(shown, [1.0, 1.0, 2.0, 5.0, 10.0, 50.0]);
    }

    #[test]
    fn a_scale_carries_zero_pointer_and_tolerance() {
        for (value, tolerance) in
            [(-4.0, 1.2), (1.5, 2.0), (6.2, 0.6), (20.0, 0.0), (0.0, 0.0), (-0.003, 0.0), (1500.0, 3.0), (1e-4, 20.0)]
        {
            let scale = Scale::carrying(value, tolerance);
            for p in [0.0, value, value - tolerance, value + tolerance] {
                assert!((0.0..=1.0).contains(&scale.share(p)), "{value} ± {tolerance}: {p} at {}", scale.share(p));
            }
            assert!(scale.share(0.0) > 0.0, "some forbidden ground is shown");
            assert!(scale.last - scale.first <= 10.0);
            let mantissa = scale.step / 10.0_f64.powf(scale.step.log10().floor());
            assert!([1.0, 2.0, 5.0, 10.0].iter().any(|m| (m - mantissa).abs() < 1e-6), "{}", scale.step);
        }
    }
}
