//! The uncertain numbers an assembly rests on, each once.
//!
//! A figure's uncertainty is a list of contributions `c_i u_i`, one for each input; inputs are independent. The bike before the
//! swap and after it share every input that the swap does not touch, so that what is uncertain about both cancels in the change.

use knowledge::{AttributeId, SlotId};

/// Whose number it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Owner {
    /// An entry of the frame's chart; `after` if the swap changes it.
    Chart { after: bool },
    /// The rider; `after` if the swap changes it.
    Rider { after: bool },
    /// The set-up; `after` if the swap adjusts it.
    Setup { after: bool },
    /// A part; `after` if it is the one on trial.
    Part { slot: SlotId, after: bool },
}

/// One uncertain number.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Input {
    pub(crate) owner: Owner,
    pub(crate) attribute: AttributeId,
    /// A figure of the standard that the attribute names, by its place in the family.
    pub(crate) figure: Option<usize>,
    /// Standard uncertainty, base unit.
    pub(crate) standard_uncertainty: f64,
    /// Best value, base unit.
    pub(crate) value: f64,
}

/// All inputs of one evaluation; an input's number is its place here.
#[derive(Clone, Debug, Default)]
pub(crate) struct Inputs {
    list: Vec<Input>,
}

impl Inputs {
    pub(crate) fn with_capacity(count: usize) -> Self {
        Self { list: Vec::with_capacity(count) }
    }

    /// The input that got a number.
    pub(crate) fn numbered(&self, number: usize) -> &Input {
        &self.list[number]
    }

    /// The number of an input, new or seen before.
    pub(crate) fn number(&mut self, input: Input) -> usize {
        let seen =
            self.list.iter().position(|i| i.attribute == input.attribute && i.owner == input.owner && i.figure == input.figure);
        seen.unwrap_or_else(|| {
            self.list.push(input);
            self.list.len() - 1
        })
    }

    pub(crate) fn len(&self) -> usize {
        self.list.len()
    }

    pub(crate) fn iter(&self) -> impl Iterator<Item = (usize, &Input)> {
        self.list.iter().enumerate()
    }
}
