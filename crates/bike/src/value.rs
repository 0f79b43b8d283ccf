//! What is stated about a thing: a value for each attribute, and where it was written.
//!
//! A [`Values`] is a small sorted list, not a map: a part states a dozen attributes, and a catalogue holds thousands of parts.
//! The place a value was written at is kept for messages; it is no part of the value, so two values are equal wherever they stand.

use std::fmt;
use std::sync::Arc;

use knowledge::{AttributeId, Standard};
use quantity::Quantity;

/// A file and a line in it, for messages that point back at what somebody wrote.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct WrittenAt {
    /// The file as the user named it.
    pub file: Arc<str>,
    /// The line, from 1.
    pub line: u32,
}

impl fmt::Display for WrittenAt {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}:{}", self.file, self.line)
    }
}

/// A standard somebody named, perhaps only as a guess.
#[derive(Clone, Debug, PartialEq)]
pub struct Named {
    /// The standard.
    pub standard: Arc<Standard>,
    /// It is a guess: `"~ZS44"`.
    pub guess: bool,
}

/// What an attribute is stated to be.
#[derive(Clone, Debug, PartialEq)]
pub enum Value {
    /// A number with a dimension, in its base unit, with its spread and origin.
    Quantity(Quantity),
    /// A whole number of things.
    Count(u32),
    /// A word.
    Word(String),
    /// The name of a standard.
    Standard(Named),
    /// The names of several standards of one family.
    Standards(Vec<Arc<Standard>>),
    /// Yes or no.
    Flag(bool),
    /// A row of plain numbers.
    Numbers(Vec<f64>),
}

/// A value and where it was written.
#[derive(Clone, Debug)]
pub struct Stated {
    /// The value.
    pub value: Value,
    /// Where it was written; `None` if it was never in a file.
    pub place: Option<WrittenAt>,
}

/// Equal if the values are: a place is no part of what is stated.
impl PartialEq for Stated {
    fn eq(&self, other: &Self) -> bool {
        self.value == other.value
    }
}

/// The attributes that are stated, each once, in the order of [`AttributeId`].
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Values {
    entries: Vec<(AttributeId, Stated)>,
}

impl Values {
    /// Nothing stated.
    pub const fn new() -> Self {
        Self { entries: Vec::new() }
    }

    /// The value of an attribute, if it is stated.
    pub fn get(&self, attribute: AttributeId) -> Option<&Value> {
        self.stated(attribute).map(|stated| &stated.value)
    }

    /// The value of an attribute with its place, if it is stated.
    pub fn stated(&self, attribute: AttributeId) -> Option<&Stated> {
        let found = self.entries.binary_search_by_key(&attribute, |entry| entry.0).ok()?;
        self.entries.get(found).map(|entry| &entry.1)
    }

    /// Where an attribute was written, if it was.
    pub fn place(&self, attribute: AttributeId) -> Option<&WrittenAt> {
        self.stated(attribute).and_then(|stated| stated.place.as_ref())
    }

    /// The quantity of an attribute; `None` if it is not stated or is no quantity.
    pub fn quantity(&self, attribute: AttributeId) -> Option<Quantity> {
        match self.get(attribute) {
            Some(Value::Quantity(quantity)) => Some(*quantity),
            _ => None,
        }
    }

    /// The count of an attribute; `None` if it is not stated or is no count.
    pub fn count(&self, attribute: AttributeId) -> Option<u32> {
        match self.get(attribute) {
            Some(Value::Count(count)) => Some(*count),
            _ => None,
        }
    }

    /// The word of an attribute; `None` if it is not stated or is no word.
    pub fn word(&self, attribute: AttributeId) -> Option<&str> {
        match self.get(attribute) {
            Some(Value::Word(word)) => Some(word),
            _ => None,
        }
    }

    /// The standard of an attribute; `None` if it is not stated or is no single standard.
    pub fn standard(&self, attribute: AttributeId) -> Option<&Named> {
        match self.get(attribute) {
            Some(Value::Standard(named)) => Some(named),
            _ => None,
        }
    }

    /// The standards of an attribute; `None` if it is not stated or is no list of standards.
    pub fn standards(&self, attribute: AttributeId) -> Option<&[Arc<Standard>]> {
        match self.get(attribute) {
            Some(Value::Standards(list)) => Some(list),
            _ => None,
        }
    }

    /// The yes or no of an attribute; `None` if it is not stated or is no flag.
    pub fn flag(&self, attribute: AttributeId) -> Option<bool> {
        match self.get(attribute) {
            Some(Value::Flag(flag)) => Some(*flag),
            _ => None,
        }
    }

    /// The numbers of an attribute; `None` if it is not stated or is no row of numbers.
    pub fn numbers(&self, attribute: AttributeId) -> Option<&[f64]> {
        match self.get(attribute) {
            Some(Value::Numbers(numbers)) => Some(numbers),
            _ => None,
        }
    }

    /// States an attribute, in place of what was stated before; the value was never in a file.
    pub fn set(&mut self, attribute: AttributeId, value: Value) {
        self.set_stated(attribute, Stated { value, place: None });
    }

    /// States an attribute with its place, in place of what was stated before.
    pub fn set_stated(&mut self, attribute: AttributeId, stated: Stated) {
        match self.entries.binary_search_by_key(&attribute, |entry| entry.0) {
            Ok(found) => self.entries[found].1 = stated,
            Err(place) => self.entries.insert(place, (attribute, stated)),
        }
    }

    /// Takes an attribute back; what was stated about it, if anything.
    pub fn remove(&mut self, attribute: AttributeId) -> Option<Stated> {
        let found = self.entries.binary_search_by_key(&attribute, |entry| entry.0).ok()?;
        Some(self.entries.remove(found).1)
    }

    /// All that `other` states goes before what is stated here.
    pub fn overlay(&mut self, other: &Self) {
        for (attribute, stated) in &other.entries {
            self.set_stated(*attribute, stated.clone());
        }
    }

    /// What is stated, in the order of the attributes.
    pub fn iter(&self) -> impl ExactSizeIterator<Item = (AttributeId, &Value)> {
        self.entries.iter().map(|(attribute, stated)| (*attribute, &stated.value))
    }

    /// How many attributes are stated.
    pub fn len(&self) -> usize {
        self.entries.len()
    }

    /// Nothing is stated.
    pub fn is_empty(&self) -> bool {
        self.entries.is_empty()
    }
}

#[cfg(test)]
mod tests {
    use knowledge::{About, Knowledge};

    use super::*;

    #[test]
    fn what_is_stated_last_goes_and_the_order_is_that_of_the_attributes() {
        let knowledge = Knowledge::embedded().unwrap();
        let rider = knowledge.table(About::Rider).unwrap();
        let [mass, height, inseam] = ["mass", "height", "inseam"].map(|id| knowledge.attribute(rider, id).unwrap());
        let mut values = Values::new();
        for (attribute, count) in [(inseam, 1), (mass, 2), (height, 3), (mass, 4)] {
            values.set(attribute, Value::Count(count));
        }
        let stated: Vec<_> = values.iter().map(|(attribute, value)| (attribute, value.clone())).collect();
        assert_eq!(stated, [(mass, Value::Count(4)), (height, Value::Count(3)), (inseam, Value::Count(1))]);

        let mut other = Values::new();
        other.set(height, Value::Flag(true));
        values.overlay(&other);
        assert_eq!(values.flag(height), Some(true));
        assert_eq!((values.count(mass), values.count(height), values.len()), (Some(4), None, 3));
        assert_eq!(values.remove(mass).map(|stated| stated.value), Some(Value::Count(4)));
        assert_eq!(values.get(mass), None);
        assert_eq!(values.remove(mass), None);
    }

    #[test]
    fn where_a_value_was_written_is_no_part_of_it() {
        let knowledge = Knowledge::embedded().unwrap();
        let rider = knowledge.table(About::Rider).unwrap();
        let mass = knowledge.attribute(rider, "mass").unwrap();
        let place = WrittenAt { file: Arc::from("heron.toml"), line: 5 };
        let mut written = Values::new();
        written.set_stated(mass, Stated { value: Value::Count(1), place: Some(place.clone()) });
        let mut told = Values::new();
        told.set(mass, Value::Count(1));
        assert_eq!(written, told);
        assert_eq!(written.place(mass).map(ToString::to_string).as_deref(), Some("heron.toml:5"));
        assert_eq!(told.place(mass), None);
    }
}
