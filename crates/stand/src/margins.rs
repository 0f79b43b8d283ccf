//! Taking one margin: the rule says what is compared, a [`Lookup`] where the numbers come from.
//!
//! One reading of the rules serves an evaluation, which wants to know what a margin's ± comes from, and the search for extras, which
//! asks thousands of times and only wants margin and ±.

use bike::{Part, Value};
use knowledge::{AttributeId, Condition, Knowledge, MarginKind, MarginRule, NameOf, Of, SlotId, Term, TermOf};
use quantity::{Dimension, Origin, Quantity, gum::COVERAGE_FACTOR};

/// Standard uncertainty of a name that is only a guess: its margin is right or wrong by one, and the expanded uncertainty spans both.
const DOUBT: f64 = 1.0 / COVERAGE_FACTOR;

/// Where the numbers of a rule come from.
pub(crate) trait Lookup {
    /// The part in a slot.
    fn part(&self, slot: SlotId) -> Option<&Part>;

    /// What a term stands for, base unit; `factor` times its contributions are added up.
    fn value(&mut self, of: &TermOf, factor: f64) -> Option<f64>;

    /// Notes that a name is a guess of this standard uncertainty.
    fn doubt(&mut self, name: &NameOf, standard_uncertainty: f64);
}

/// A margin as a rule gives it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Reading {
    /// The margin, base unit.
    pub(crate) value: f64,
    /// What the sentence fills in: `{room}` and `{need}`, or `{room}`, `{least}` and `{most}`.
    pub(crate) filled: [f64; 3],
}

/// Takes a margin; `None` if the rule is not asked here, or a number it needs is missing.
pub(crate) fn take<L: Lookup>(rule: &MarginRule, lookup: &mut L) -> Option<Reading> {
    if !asked(rule, lookup) {
        return None;
    }
    match &rule.kind {
        MarginKind::Room { room, need } => {
            // Values first: a sum of which a term is missing adds no contributions.
            let room_sum = sum(room, 1.0, lookup)?;
            let need_sum = sum(need, -1.0, lookup)?;
            Some(Reading { value: room_sum - need_sum, filled: [room_sum, need_sum, 0.0] })
        }
        MarginKind::Same { one, other, within } => {
            // The sign of the difference decides that of the contributions, so the values are looked at first (adding none of them).
            let a = term(one, 0.0, lookup)?;
            let b = term(other, 0.0, lookup)?;
            let sign = if a >= b { -1.0 } else { 1.0 };
            term(one, sign, lookup)?;
            term(other, -sign, lookup)?;
            Some(Reading { value: within.value() - (a - b).abs(), filled: [a, b, 0.0] })
        }
        MarginKind::Between { value: (first, second), least, most } => {
            let mut value = term(first, 0.0, lookup)?;
            if let Some(second) = second {
                value += term(second, 0.0, lookup)?;
            }
            let (low, high) = (term(least, 0.0, lookup)?, term(most, 0.0, lookup)?);
            let (margin, sign, bound) =
                if value - low <= high - value { (value - low, 1.0, least) } else { (high - value, -1.0, most) };
            term(first, sign, lookup)?;
            if let Some(second) = second {
                term(second, sign, lookup)?;
            }
            term(bound, -sign, lookup)?;
            Some(Reading { value: margin, filled: [value, low, high] })
        }
        MarginKind::Alike { one, other } => names(one, other, lookup, is_same),
        MarginKind::OneOf { one, others } => names(one, others, lookup, |one, others| others.holds(one)),
        MarginKind::Multiple { count, of } => {
            let count = term(count, 1.0, lookup)?;
            let left = count.rem_euclid(f64::from(*of));
            Some(Reading { value: if left == 0.0 { 0.0 } else { -left }, filled: [count, f64::from(*of), 0.0] })
        }
    }
}

/// Whether the conditions of a rule hold.
pub(crate) fn asked(rule: &MarginRule, lookup: &impl Lookup) -> bool {
    rule.when.iter().all(|condition| holds(condition, lookup)) && !rule.unless.iter().any(|condition| holds(condition, lookup))
}

/// Whether a condition holds; what nobody stated does not.
pub(crate) fn holds(condition: &Condition, lookup: &impl Lookup) -> bool {
    match condition {
        Condition::Filled(slot) => lookup.part(*slot).is_some(),
        Condition::Flag { slot, attribute } => lookup.part(*slot).and_then(|part| part.values.flag(*attribute)).unwrap_or(false),
        Condition::Is { name, word } => name_of(lookup.part(name.slot), name).is_some_and(|found| match found {
            Name::Word(found) => found == word,
            Name::Standard(standard, _) => standard.id == *word,
            Name::Several(list) => list.iter().any(|standard| standard.id == *word),
        }),
    }
}

/// Σ times · term, its contributions added with `sign`.
fn sum<L: Lookup>(terms: &[Term], sign: f64, lookup: &mut L) -> Option<f64> {
    let mut sum = 0.0;
    for each in terms {
        sum += term(each, sign, lookup)?;
    }
    Some(sum)
}

/// times · of · by, its contributions added with `factor`.
fn term<L: Lookup>(term: &Term, factor: f64, lookup: &mut L) -> Option<f64> {
    if let (Some(otherwise), Some(slot)) = (term.otherwise, term.of.slot())
        && lookup.part(slot).is_none()
    {
        return Some(otherwise);
    }
    let Some(by) = &term.by else {
        return Some(term.times * lookup.value(&term.of, factor * term.times)?);
    };
    let (value, second) = (lookup.value(&term.of, 0.0)?, lookup.value(by, 0.0)?);
    if factor != 0.0 {
        lookup.value(&term.of, factor * term.times * second)?;
        lookup.value(by, factor * term.times * value)?;
    }
    Some(term.times * value * second)
}

/// What a name says on a part.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Name<'p> {
    /// A word.
    Word(&'p str),
    /// A standard, perhaps a guess.
    Standard(&'p knowledge::Standard, bool),
    /// Several standards.
    Several(&'p [std::sync::Arc<knowledge::Standard>]),
}

fn is_same(one: &Name<'_>, other: &Name<'_>) -> bool {
    match (one, other) {
        (Name::Word(one), Name::Word(other)) => one == other,
        (Name::Standard(one, _), Name::Standard(other, _)) => one == other,
        _ => false,
    }
}

impl Name<'_> {
    fn holds(&self, one: &Name<'_>) -> bool {
        matches!((self, one), (Name::Several(list), Name::Standard(one, _)) if list.iter().any(|each| **each == **one))
    }

    fn is_guess(&self) -> bool {
        matches!(self, Name::Standard(_, true))
    }

    /// For people.
    pub(crate) fn says(&self) -> String {
        match self {
            Name::Word(word) => (*word).to_owned(),
            Name::Standard(standard, _) => standard.says.clone(),
            Name::Several(list) => {
                let names: Vec<String> = list.iter().map(|standard| standard.says.clone()).collect();
                quantity::words::joined_with(&names, "or")
            }
        }
    }
}

/// What a name says on the part in its slot.
pub(crate) fn name_of<'p>(part: Option<&'p Part>, name: &NameOf) -> Option<Name<'p>> {
    match part?.values.get(name.attribute)? {
        Value::Word(word) => Some(Name::Word(word)),
        Value::Standard(named) => match name.figure {
            Some(figure) => named.standard.word(figure).map(Name::Word),
            None => Some(Name::Standard(&named.standard, named.guess)),
        },
        Value::Standards(list) => Some(Name::Several(list)),
        _ => None,
    }
}

/// Whether the standard that a name rests on is a guess.
fn is_guess(part: Option<&Part>, name: &NameOf) -> bool {
    part.and_then(|part| part.values.standard(name.attribute)).is_some_and(|named| named.guess)
}

fn names<L: Lookup>(
    one: &NameOf,
    other: &NameOf,
    lookup: &mut L,
    fits: impl Fn(&Name<'_>, &Name<'_>) -> bool,
) -> Option<Reading> {
    let (first, second) = (name_of(lookup.part(one.slot), one)?, name_of(lookup.part(other.slot), other)?);
    let value = if fits(&first, &second) { 0.0 } else { -1.0 };
    let guesses = [(one, first.is_guess()), (other, second.is_guess())];
    let guesses = guesses.map(|(name, guess)| (name, guess || is_guess(lookup.part(name.slot), name)));
    for (name, guess) in guesses {
        if guess {
            lookup.doubt(name, DOUBT);
        }
    }
    Some(Reading { value, filled: [0.0; 3] })
}

/// What a term takes of a part's attribute: a quantity with its spread. What is exact has no spread.
pub(crate) fn of_part(knowledge: &Knowledge, part: &Part, attribute: AttributeId, of: Of) -> Option<Quantity> {
    let number = |value: f64| Some(Quantity::exact(value, Dimension::Number, Origin::MakersSheet));
    match (part.values.get(attribute)?, of) {
        (Value::Quantity(quantity), Of::Value) => Some(*quantity),
        (Value::Count(count), Of::Value) => number(f64::from(*count)),
        (Value::Numbers(numbers), Of::Largest) => number(numbers.iter().copied().fold(f64::NEG_INFINITY, f64::max)),
        (Value::Numbers(numbers), Of::Smallest) => number(numbers.iter().copied().fold(f64::INFINITY, f64::min)),
        (Value::Numbers(numbers), Of::Count) => number(numbers.len() as f64),
        (Value::Standard(named), Of::Figure(figure)) => {
            let quantity = named.standard.quantity(figure)?;
            if !named.guess {
                return Some(quantity);
            }
            // A guessed standard is as good as a guessed number.
            let spread = knowledge.default_tolerance_of_dimension(quantity.dimension(), Origin::Guess, quantity.value());
            Some(spread.map_or(quantity, |(spread, _)| quantity.with_spread(spread)).with_origin(Origin::Guess))
        }
        _ => None,
    }
}
