//! The colours of a sheet: paper, ink, one accent for what changes, one warning for what is short.
//!
//! Two palettes with the same names, one for light and one for dark surroundings; print always takes the light one on white paper.
//! Contrast is that of WCAG 2.2 (relative luminance of sRGB); the tests hold text at 4.5 and graphics at 3.

use std::fmt;

/// A colour in sRGB.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Colour(pub u8, pub u8, pub u8);

impl fmt::Display for Colour {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "#{:02x}{:02x}{:02x}", self.0, self.1, self.2)
    }
}

impl Colour {
    /// Relative luminance, 0 (black) to 1 (white), WCAG 2.2.
    pub fn luminance(self) -> f64 {
        let linear = |channel: u8| {
            let c = f64::from(channel) / 255.0;
            if c <= 0.04045 { c / 12.92 } else { ((c + 0.055) / 1.055).powf(2.4) }
        };
        0.2126 * linear(self.0) + 0.7152 * linear(self.1) + 0.0722 * linear(self.2)
    }

    /// Contrast ratio against another colour, 1 to 21.
    pub fn contrast(self, other: Self) -> f64 {
        let (a, b) = (self.luminance(), other.luminance());
        (a.max(b) + 0.05) / (a.min(b) + 0.05)
    }
}

/// One set of inks.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Palette {
    /// The ground everything stands on.
    pub paper: Colour,
    /// Lines and text.
    pub ink: Colour,
    /// Small print: text of second rank.
    pub faint: Colour,
    /// Broken lines, ticks and hatching.
    pub grey: Colour,
    /// Rules between rows; they carry no meaning.
    pub hair: Colour,
    /// The body of tubes and tyres behind their lines; carries no meaning.
    pub body: Colour,
    /// Marking-out blue: what changes.
    pub mark: Colour,
    /// Ground behind a row that changes.
    pub mark_wash: Colour,
    /// What is short.
    pub short: Colour,
    /// Ground behind a warning.
    pub short_wash: Colour,
}

/// For light surroundings: drawing paper.
pub const LIGHT: Palette = Palette {
    paper: Colour(0xfa, 0xf8, 0xf2),
    ink: Colour(0x1b, 0x24, 0x2c),
    faint: Colour(0x55, 0x5d, 0x63),
    grey: Colour(0x6f, 0x77, 0x7d),
    hair: Colour(0xd4, 0xd2, 0xca),
    body: Colour(0xe7, 0xe5, 0xdd),
    mark: Colour(0x1d, 0x49, 0xb8),
    mark_wash: Colour(0xe6, 0xea, 0xf3),
    short: Colour(0xa9, 0x27, 0x14),
    short_wash: Colour(0xf8, 0xe9, 0xe2),
};

/// For dark surroundings: a slate.
pub const DARK: Palette = Palette {
    paper: Colour(0x14, 0x1d, 0x24),
    ink: Colour(0xe8, 0xec, 0xee),
    faint: Colour(0xa8, 0xb3, 0xba),
    grey: Colour(0x86, 0x93, 0x9b),
    hair: Colour(0x37, 0x44, 0x4d),
    body: Colour(0x26, 0x33, 0x3c),
    mark: Colour(0x93, 0xb6, 0xff),
    mark_wash: Colour(0x1e, 0x2c, 0x42),
    short: Colour(0xff, 0x91, 0x78),
    short_wash: Colour(0x3a, 0x23, 0x20),
};

/// For print: the light inks on the white of the page.
pub const PRINT: Palette = Palette {
    paper: Colour(0xff, 0xff, 0xff),
    body: Colour(0xec, 0xec, 0xec),
    hair: Colour(0xcf, 0xcf, 0xcf),
    mark_wash: Colour(0xe9, 0xee, 0xf8),
    short_wash: Colour(0xfb, 0xec, 0xe7),
    ..LIGHT
};

/// What a picture is to be looked at on.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Paper {
    /// Drawing paper, for light surroundings.
    #[default]
    Light,
    /// A slate, for dark ones.
    Dark,
}

impl Paper {
    /// Its inks.
    pub const fn palette(self) -> &'static Palette {
        match self {
            Self::Light => &LIGHT,
            Self::Dark => &DARK,
        }
    }
}

impl Palette {
    /// Every ink with its name, as in the style sheets.
    pub const fn named(&self) -> [(&'static str, Colour); 10] {
        [
            ("paper", self.paper),
            ("ink", self.ink),
            ("faint", self.faint),
            ("grey", self.grey),
            ("hair", self.hair),
            ("body", self.body),
            ("mark", self.mark),
            ("mark-wash", self.mark_wash),
            ("short", self.short),
            ("short-wash", self.short_wash),
        ]
    }

    /// The inks as custom properties of a style sheet: `--ink:#1b242c;…`.
    pub fn properties(&self) -> String {
        let each: Vec<String> = self.named().iter().map(|(name, colour)| format!("--{name}:{colour};")).collect();
        each.concat()
    }

    /// Writes this palette's colours into a style sheet that names them as `var(--ink)`, for renderers without custom properties.
    pub fn resolve(&self, style_sheet: &str) -> String {
        self.named()
            .iter()
            .fold(style_sheet.to_owned(), |css, (name, colour)| css.replace(&format!("var(--{name})"), &colour.to_string()))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn contrast_of_known_pairs() {
        let (black, white) = (Colour(0, 0, 0), Colour(255, 255, 255));
        assert!((black.contrast(white) - 21.0).abs() < 1e-9);
        assert!((white.contrast(white) - 1.0).abs() < 1e-9);
        // #767676 on white is the well-known grey that just passes 4.5.
        assert!((Colour(0x76, 0x76, 0x76).contrast(white) - 4.54).abs() < 0.01);
    }

    #[test]
    fn text_and_graphics_stand_out_on_every_ground_they_are_used_on() {
        for palette in [LIGHT, DARK, PRINT] {
            for ground in [palette.paper, palette.mark_wash, palette.short_wash] {
                for text in [palette.ink, palette.faint, palette.mark, palette.short] {
                    assert!(text.contrast(ground) >= 4.5, "text {text} on {ground}: {:.2}", text.contrast(ground));
                }
            }
            for ground in [palette.paper, palette.body] {
                for line in [palette.ink, palette.grey, palette.mark, palette.short] {
                    assert!(line.contrast(ground) >= 3.0, "line {line} on {ground}: {:.2}", line.contrast(ground));
                }
            }
            // The number in a filled balloon.
            assert!(palette.paper.contrast(palette.ink) >= 4.5);
        }
    }

    #[test]
    fn a_style_sheet_is_resolved() {
        assert_eq!(LIGHT.resolve("a{fill:var(--ink);stroke:var(--mark-wash)}"), "a{fill:#1b242c;stroke:#e6eaf3}");
    }
}
