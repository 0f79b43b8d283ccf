//! Standards that are read from the text of a designation instead of being listed one by one.

use quantity::{Dimension, Origin, Quantity};

use crate::standards::Figure;

/// A designation that can be read.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Code {
    /// ISO 5775-1, tyres: nominal section width and bead seat diameter in mm, `57-622`.
    Iso5775Tyre,
    /// ISO 5775-2, rims: bead seat diameter, width between the hooks and profile, `622x21TC`.
    Iso5775Rim,
    /// Standardized Headset Identification System: kind, seat diameter and, after the stroke, what passes through or sits in it:
    /// `ZS44/28.6`; a head tube has no stroke.
    Shis,
}

impl Code {
    pub(crate) const ALL: [(&str, Self); 3] =
        [("iso 5775 tyre", Self::Iso5775Tyre), ("iso 5775 rim", Self::Iso5775Rim), ("s.h.i.s.", Self::Shis)];

    /// Figures that come from the text, with the dimension of those that are quantities.
    pub(crate) const fn figures(self) -> &'static [(&'static str, Option<Dimension>)] {
        match self {
            Self::Iso5775Tyre => &[("width", Some(Dimension::Length)), ("bead_seat_diameter", Some(Dimension::Length))],
            Self::Iso5775Rim => {
                &[("bead_seat_diameter", Some(Dimension::Length)), ("inner_width", Some(Dimension::Length)), ("profile", None)]
            }
            Self::Shis => &[("kind", None), ("seat", Some(Dimension::Length)), ("steerer", Some(Dimension::Length))],
        }
    }

    /// An example and what it means.
    pub const fn example(self) -> &'static str {
        match self {
            Self::Iso5775Tyre => "write the size as on its side: width and bead seat diameter in mm, `57-622`",
            Self::Iso5775Rim => "write the size as on the rim: bead seat diameter, width between the hooks, profile, `622x30TC`",
            Self::Shis => {
                "write kind and seat, `ZS44`; of a headset, after a stroke, the steerer or crown race it is for, `ZS44/28.6`"
            }
        }
    }

    /// Reads a designation: its usual spelling and its figures, in the order of [`Code::figures`]. `None` if it is none.
    ///
    /// Sizes are nominal: what a tyre measures on its rim is another matter (see `mechanics::tyre`), so they carry no tolerance here.
    pub(crate) fn read(self, text: &str) -> Option<(String, Vec<Option<Figure>>)> {
        let text = squeezed(text);
        match self {
            Self::Iso5775Tyre => {
                let (width, bead) = text.split_once('-')?;
                let (width, bead) = (whole(width, 2)?, whole(bead, 3)?);
                // 10-mm tyres and 130-mm tyres exist; 999-mm beads do not.
                let fits = (10.0..=140.0).contains(&width) && (200.0..=700.0).contains(&bead);
                fits.then(|| (format!("{width:02}-{bead}"), vec![millimetres(width), millimetres(bead)]))
            }
            Self::Iso5775Rim => {
                let (bead, rest) = text.split_once('x')?;
                let letters = rest.find(|c: char| c.is_ascii_alphabetic()).unwrap_or(rest.len());
                let (width, profile) = rest.split_at(letters);
                let (bead, width) = (whole(bead, 3)?, decimal(width)?);
                let profile = profile.to_ascii_uppercase();
                // Crotchet, hooked-bead, straight-side, drop-centre, and the tubeless forms of crotchet and straight side.
                if !["", "C", "HB", "SS", "DC", "TC", "TSS"].contains(&profile.as_str()) || !(8.0..=110.0).contains(&width) {
                    return None;
                }
                let written = format!("{bead}x{width}{profile}");
                let profile = (!profile.is_empty()).then_some(Figure::Word(profile));
                (200.0..=700.0).contains(&bead).then_some((written, vec![millimetres(bead), millimetres(width), profile]))
            }
            Self::Shis => {
                let text = text.to_ascii_uppercase();
                let kind = ["EC", "ZS", "IS"].into_iter().find(|kind| text.starts_with(kind))?;
                let mut numbers = text[kind.len()..].splitn(2, '/');
                let seat = decimal(numbers.next()?)?;
                let steerer = match numbers.next() {
                    Some(number) => Some(decimal(number)?),
                    None => None,
                };
                let fits = (24.0..=66.0).contains(&seat) && steerer.is_none_or(|s| (20.0..=60.0).contains(&s));
                let written = steerer.map_or_else(|| format!("{kind}{seat}"), |steerer| format!("{kind}{seat}/{steerer}"));
                fits.then(|| {
                    let figures = vec![Some(Figure::Word(kind.to_owned())), millimetres(seat), steerer.and_then(millimetres)];
                    (written, figures)
                })
            }
        }
    }

    /// The member of its family that carries figures which the text does not: the seat of a headset code.
    pub(crate) fn base(self, written: &str) -> Option<&str> {
        match self {
            Self::Shis => Some(written.split('/').next().unwrap_or(written)),
            Self::Iso5775Tyre | Self::Iso5775Rim => None,
        }
    }
}

/// A text without spaces and marks that make no difference.
pub(crate) fn squeezed(text: &str) -> String {
    text.trim()
        .chars()
        .filter(|c| !c.is_whitespace())
        .map(|c| match c {
            '×' | 'X' => 'x',
            '–' | '‑' | '−' => '-',
            ',' => '.',
            other => other,
        })
        .collect()
}

fn whole(text: &str, least_digits: usize) -> Option<f64> {
    let digits = text.len() >= least_digits && text.len() <= 3 && text.bytes().all(|b| b.is_ascii_digit());
    digits.then(|| text.parse().ok()).flatten()
}

fn decimal(text: &str) -> Option<f64> {
    let plain = !text.is_empty() && text.len() <= 6 && text.bytes().all(|b| b.is_ascii_digit() || b == b'.');
    plain.then(|| text.parse().ok()).flatten()
}

#[expect(clippy::unnecessary_wraps, reason = "figures of a member may be missing, these never are")]
fn millimetres(value: f64) -> Option<Figure> {
    Some(Figure::Quantity(Quantity::exact(value, Dimension::Length, Origin::Standard)))
}
