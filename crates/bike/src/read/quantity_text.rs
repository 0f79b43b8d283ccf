//! A number with unit, tolerance and origin, however it was written: `531`, `"531 ± 2 mm"`,
//! `{ value = "531 mm", from = "measured", plus_minus = "1 mm" }`.

use std::ops::Range;

use knowledge::Attribute;
use quantity::{Dimension, Origin, Quantity, QuantityError, QuantityProblem, Spread, Unit};
use source_file::toml_table::{Table, Value, What, unknown_key};
use source_file::{Problem, Problems, SourceFile, Text, closest, quoted};

/// The longest text that is read as a quantity, in bytes. `"13 st 4 lb ± 1 %"` has 16.
const LONGEST_QUANTITY_BYTES: usize = 120;

/// What is wanted of a number: its name, its dimension and the bounds of what can be true of a bicycle.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Wanted<'a> {
    /// Its key.
    pub(crate) key: &'a str,
    /// What it is, for people.
    pub(crate) says: &'a str,
    pub(crate) dimension: Dimension,
    /// Least and most, base unit.
    pub(crate) least: f64,
    pub(crate) most: f64,
}

/// A quantity as it was written, before defaults.
#[derive(Clone, Copy, Debug)]
pub(super) struct Loose {
    /// Its origin is not decided yet, and its spread only if a tolerance was stated.
    quantity: Quantity,
    tolerance_stated: bool,
    guess: bool,
    /// The number as written and the unit it was written in, for "did you mean 178 cm".
    number: f64,
    unit: Option<Unit>,
}

/// A quantity with its origin; the spread is `None` if nobody stated one.
#[derive(Clone, Copy, Debug)]
pub(super) struct Sourced {
    pub(super) quantity: Quantity,
    pub(super) spread_stated: bool,
}

impl<'a> Wanted<'a> {
    pub(super) const fn new(key: &'a str, says: &'a str, dimension: Dimension, least: f64, most: f64) -> Self {
        Self { key, says, dimension, least, most }
    }

    /// What is wanted of an attribute that is a quantity.
    pub(super) fn of(attribute: &'a Attribute, dimension: Dimension, least: f64, most: f64) -> Self {
        Self::new(&attribute.id, &attribute.says, dimension, least, most)
    }

    /// How it may be written: a value in the middle of its bounds, `1550 mm`.
    fn example(&self) -> String {
        match self.dimension {
            Dimension::Price => self.dimension.example().to_owned(),
            _ => shown(self.least.midpoint(self.most).round(), Unit::base(self.dimension)),
        }
    }

    /// What would be right: the text put right where that can be told, else a value that this attribute could have.
    fn help(&self, error: &QuantityError) -> Option<String> {
        use QuantityProblem as P;
        if error.corrected().is_some() {
            return error.help();
        }
        let example = self.example();
        match &error.problem {
            P::UnknownUnit { .. } if self.dimension == Dimension::Price => {
                Some("write the bare number; `currency` at the top of the catalogue says what it is in".to_owned())
            }
            P::Empty
            | P::NoNumber
            | P::NotANumber { .. }
            | P::NotFinite
            | P::TooLarge
            | P::GuessInWords { .. }
            | P::Trailing { .. }
            | P::WrongDimension { .. } => Some(format!("write it like \"{example}\"")),
            P::NoTolerance
            | P::NegativeTolerance
            | P::ToleranceDimension { .. }
            | P::SecondTolerance
            | P::UnevenTolerance
            | P::Brackets
            | P::Range => {
                let (number, unit) = example.split_once(' ').unwrap_or((&example, ""));
                Some(format!("write it like \"{}\"", format!("{number} ± 2 {unit}").trim_end()))
            }
            _ => error.help(),
        }
    }

    /// Reads any way of writing a quantity in TOML.
    pub(super) fn toml(&self, value: Value<'_>, origin: Origin, problems: &mut Problems) -> Option<Sourced> {
        let expected = self.dimension.with_article();
        let (file, span, wrong_kind) = (value.file(), value.span(), value.wrong_kind(expected));
        match value.what(problems)? {
            What::Number(number) => self.plain(number).check(self, file, span, problems).map(|loose| loose.sourced(origin)),
            What::Text(text) => {
                self.text(&text, None, problems)?.check(self, file, span, problems).map(|loose| loose.sourced(origin))
            }
            What::Table(table) => self.table(table, origin, problems),
            _ => {
                problems.push(wrong_kind.help(format!("write it like `{} = \"{}\"`", self.key, self.example())));
                None
            }
        }
    }

    /// Reads a cell or an argument; a number without a unit is in `unit`, or in the base unit.
    pub(super) fn cell(&self, text: &Text<'_>, unit: Option<Unit>, origin: Origin, problems: &mut Problems) -> Option<Sourced> {
        self.text(text, unit, problems)?.check(self, text.file(), text.span(), problems).map(|loose| loose.sourced(origin))
    }

    /// A bare number, in the base unit.
    fn plain(&self, number: f64) -> Loose {
        let quantity = Quantity::exact(number, self.dimension, Origin::MakersSheet);
        Loose { quantity, tolerance_stated: false, guess: false, number, unit: None }
    }

    /// A text; a number without a unit is in `unit`, or in the base unit.
    fn text(&self, text: &Text<'_>, unit: Option<Unit>, problems: &mut Problems) -> Option<Loose> {
        if text.len() > LONGEST_QUANTITY_BYTES {
            let problem = text.problem(format!("`{}` is a text of {} bytes", self.key, text.len()));
            problems.push(problem.label(format!("expected {}", self.dimension.with_article())));
            return None;
        }
        match quantity::parse(text, self.dimension) {
            Ok(written) => {
                let (number, quantity, unit) = match (written.unit, unit) {
                    // The column's unit holds where the cell names none: for the number, and as a difference for its tolerance.
                    (None, Some(column)) => {
                        let number = written.quantity.value();
                        let spread = match written.quantity.spread() {
                            Spread::Limits(half_width) => Spread::Limits(column.difference_to_base(half_width)),
                            spread => spread,
                        };
                        (number, written.quantity.with_value(column.to_base(number)).with_spread(spread), Some(column))
                    }
                    (unit, _) => (written.quantity.in_unit(unit.unwrap_or(Unit::base(self.dimension))), written.quantity, unit),
                };
                Some(Loose { quantity, tolerance_stated: written.tolerance_stated, guess: written.guess, number, unit })
            }
            Err(error) => {
                let message = match error.problem {
                    QuantityProblem::WrongDimension { found } => format!("`{}` is given as {}", self.key, found.with_article()),
                    QuantityProblem::Empty => format!("`{}` is empty", self.key),
                    _ => format!("cannot read `{}`: {error}", self.key),
                };
                problems.push(text.problem_within(error.span.clone(), message).label(error.label()).help_if(self.help(&error)));
                None
            }
        }
    }

    /// Reads `{ value = …, from = …, plus_minus = … }`.
    fn table(&self, mut table: Table<'_>, origin: Origin, problems: &mut Problems) -> Option<Sourced> {
        let before = problems.len();
        let file = table.file();
        let missing = table.missing("value", "a number");
        let value: Option<Value<'_>> = table.get("value", problems);
        let from: Option<Text<'_>> = table.get("from", problems);
        let tolerances: Vec<(TolerancesKey, Value<'_>)> =
            TOLERANCE_KEYS.into_iter().filter_map(|key| Some((key, table.get(key.0, problems)?))).collect();
        let known = ["value", "from"].into_iter().chain(TOLERANCE_KEYS.map(|key| key.0));
        let mut meant_for_value = table.is_unreliable();
        for (key, _) in table.take_rest() {
            meant_for_value |= closest(&key, known.clone()) == Some("value");
            problems.push(unknown_key(&key, known.clone()));
        }

        let Some(value) = value else {
            // A misspelt key is one mistake, not two.
            if !meant_for_value {
                problems.push(missing);
            }
            return None;
        };
        let span = value.span();
        let wrong_kind = value.wrong_kind(self.dimension.with_article());
        let loose = match value.what(problems)? {
            What::Number(number) => self.plain(number),
            What::Text(text) => self.text(&text, None, problems)?,
            _ => {
                problems.push(wrong_kind);
                return None;
            }
        };
        let loose = loose.check(self, file, span.clone(), problems);
        let origin = from
            .map_or(Some(origin), |word| origin_named(&word, loose.filter(|loose| loose.guess).map(|_| span.clone()), problems));
        let (loose, origin) = (loose?, origin?);
        let mut sourced = loose.sourced(origin);
        for ((key, spread), value) in tolerances {
            if sourced.spread_stated {
                let problem = value.problem(format!("`{}` has two tolerances", self.key)).label("one too many");
                problems.push(problem.help("leave one of them out"));
                return None;
            }
            let place = (value.file(), value.span());
            let half_width = self.tolerance(key, value, sourced.quantity.value(), problems)?;
            let spread = if half_width == 0.0 { Spread::Exact } else { spread(half_width) };
            if let Some(problem) = self.too_wide(spread.plus_minus(), place.0, place.1) {
                problems.push(problem);
                return None;
            }
            sourced = Sourced { quantity: sourced.quantity.with_spread(spread), spread_stated: true };
        }
        (problems.len() == before).then_some(sourced)
    }

    /// What is wrong with a tolerance (base unit) that is wider than all the value can be: it says nothing of it, and squared it may be
    /// beyond all numbers.
    fn too_wide(&self, half_width: f64, file: &SourceFile, span: Range<usize>) -> Option<Problem> {
        if half_width <= (self.most - self.least) * (1.0 + 1e-9) {
            return None;
        }
        let base = Unit::base(self.dimension);
        let (least, most) = (shown(self.least, base), shown(self.most, base));
        let problem = Problem::at(file, span, format!("`{}` cannot be known to ±{} only", self.key, shown(half_width, base)));
        let problem = problem.label("wider than all it can be");
        Some(
            problem
                .note(format!("{}: from {least} to {most}", self.says))
                .help("leave the tolerance out if nothing is known of it"),
        )
    }

    /// Reads what stands behind `plus_minus` and its like: base unit, of a value (base unit) if it is written as a share.
    fn tolerance(&self, key: &str, value: Value<'_>, of: f64, problems: &mut Problems) -> Option<f64> {
        let expected = self.dimension.with_article();
        let (file, span) = (value.file(), value.span());
        let wrong_kind = value.wrong_kind(&format!("{expected} or a share"));
        let half_width = match value.what(problems)? {
            What::Number(number) => number,
            What::Text(text) if text.len() <= LONGEST_QUANTITY_BYTES => {
                let in_dimension = quantity::parse(&text, self.dimension);
                // `plus_minus = "1 %"` of a length is relative.
                let share = quantity::parse(&text, Dimension::Share).ok().filter(|share| share.unit.is_some());
                match (in_dimension, share) {
                    (Ok(written), _) if !written.tolerance_stated && !written.guess => match written.unit {
                        // A tolerance is a difference: 2 degF are not −16.7 degC.
                        Some(unit) => unit.difference_to_base(written.quantity.in_unit(unit)),
                        None => written.quantity.value(),
                    },
                    (Err(_), Some(share)) if !share.tolerance_stated && !share.guess => share.quantity.value() / 100.0 * of.abs(),
                    (Err(error), _) => {
                        let problem = text.problem_within(error.span.clone(), format!("cannot read `{key}`: {error}"));
                        problems.push(problem.label(error.label()).help_if(error.help()));
                        return None;
                    }
                    (Ok(_), _) => {
                        problems.push(text.problem(format!("`{key}` is {}", quoted(&text))).label("expected one bare number"));
                        return None;
                    }
                }
            }
            _ => {
                problems.push(wrong_kind);
                return None;
            }
        };
        if half_width < 0.0 {
            problems.push(Problem::at(file, span, format!("`{key}` is below zero")).label("must be zero or more"));
            return None;
        }
        Some(half_width)
    }
}

/// The keys that state a spread, and the spread each makes of its number.
type TolerancesKey = (&'static str, fn(f64) -> Spread);
const TOLERANCE_KEYS: [TolerancesKey; 3] =
    [("plus_minus", Spread::Limits), ("expanded", Spread::Expanded), ("standard_deviation", Spread::Standard)];

/// The origin a word names. `guess` is where a `~` stands, which is an origin already.
fn origin_named(word: &Text<'_>, guess: Option<Range<usize>>, problems: &mut Problems) -> Option<Origin> {
    let words = Origin::ALL.map(Origin::word);
    let Some(origin) = Origin::from_word(word) else {
        let problem = word.problem(format!("a value cannot come from {}", quoted(word)));
        problems.push(match closest(word, words.into_iter()) {
            Some(meant) => problem.label(format!("did you mean `{meant}`?")),
            None => problem.label("unknown").help(format!("it can come from {}", super::list(words.into_iter()))),
        });
        return None;
    };
    if let Some(guess) = guess.filter(|_| origin != Origin::Guess) {
        let problem = word.problem(format!("a guess is not from `{}`", origin.word()));
        let mark = word.file().place(guess).label("`~` marks a guess");
        problems.push(problem.label("one or the other").also(mark).help("leave out the `~` or the `from`"));
        return None;
    }
    Some(origin)
}

impl Sourced {
    /// The quantity; where nobody stated a spread, with the usual one.
    pub(super) fn or_spread(self, usual: impl FnOnce(Quantity) -> Option<Spread>) -> Quantity {
        if self.spread_stated {
            return self.quantity;
        }
        self.quantity.with_spread(usual(self.quantity).unwrap_or(Spread::Exact))
    }
}

impl Loose {
    /// Itself, if it is within the bounds.
    fn check(self, wanted: &Wanted<'_>, file: &SourceFile, span: Range<usize>, problems: &mut Problems) -> Option<Self> {
        let value = self.quantity.value();
        // Bounds are written in round numbers of the base unit; a unit's factor may miss them by a rounding.
        let slack = 1e-9 * wanted.least.abs().max(wanted.most.abs());
        if (wanted.least - slack..=wanted.most + slack).contains(&value) {
            let Some(problem) = wanted.too_wide(self.quantity.spread().plus_minus(), file, span) else { return Some(self) };
            problems.push(problem);
            return None;
        }
        let base = Unit::base(wanted.dimension);
        let written = shown(self.number, self.unit.unwrap_or(base));
        let (bound, label) = if value < wanted.least { (wanted.least, "less") } else { (wanted.most, "more") };
        let problem = Problem::at(file, span, format!("`{}` cannot be {written}", wanted.key));
        let problem = problem.label(format!("{label} than {}", shown(bound, base)));
        // A slip of the unit: 178 for a rider's height in mm was meant in cm.
        let meant =
            slips(self.unit, wanted.dimension).find(|unit| (wanted.least..=wanted.most).contains(&unit.to_base(self.number)));
        let problem = problem.help_if(meant.map(|unit| format!("did you mean `{}`?", shown(self.number, unit))));
        problems.push(problem.note(format!(
            "{}: from {} to {}",
            wanted.says,
            shown(wanted.least, base),
            shown(wanted.most, base)
        )));
        None
    }

    /// With its origin: what its `~` says, else what the table it stands in is taken for.
    fn sourced(self, origin: Origin) -> Sourced {
        let origin = if self.guess { Origin::Guess } else { origin };
        Sourced { quantity: self.quantity.with_origin(origin), spread_stated: self.tolerance_stated }
    }
}

/// The units that are easily meant where another one, or none, is written.
fn slips(written: Option<Unit>, dimension: Dimension) -> impl Iterator<Item = Unit> {
    let candidates: &[&str] = match written {
        None => &["mm", "cm", "m", "in", "g", "kg", "lb", "deg", "rad", "bar", "psi", "min", "h"],
        Some(_) => &["mm", "cm", "m", "g", "kg"],
    };
    let units = candidates.iter().filter_map(|name| Unit::named(name));
    units.filter(move |unit| unit.dimension() == dimension && Some(*unit) != written)
}

/// A number with its unit, as one could write it; never longer than a person would.
fn shown(number: f64, unit: Unit) -> String {
    let number = if number.abs() < 1e9 { format!("{}", (number * 1e4).round() / 1e4) } else { format!("{number:.3e}") };
    if unit.symbol().is_empty() { number } else { format!("{number} {}", unit.symbol()) }
}
