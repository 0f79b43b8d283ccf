//! A catalogue: parts by id, and by kind, in the order they were written.

use std::collections::HashMap;
use std::sync::Arc;

use knowledge::KindId;

use crate::part::Part;

/// Parts to choose from. Ids are unique.
#[derive(Clone, Debug, Default)]
pub struct Catalogue {
    parts: Vec<Arc<Part>>,
    by_id: HashMap<String, usize>,
    by_kind: Vec<Vec<usize>>,
    currency: Option<String>,
}

impl Catalogue {
    /// A catalogue without parts.
    pub fn new() -> Self {
        Self::default()
    }

    /// Adds a part.
    ///
    /// # Errors
    /// The part that already has this id, if one has. A part without id is added but cannot be found by one.
    pub fn add(&mut self, part: Part) -> Result<(), Arc<Part>> {
        let place = self.parts.len();
        if let Some(id) = &part.id {
            if let Some(before) = self.get(id) {
                return Err(Arc::clone(before));
            }
            self.by_id.insert(id.clone(), place);
        }
        let kind = part.kind.index();
        if self.by_kind.len() <= kind {
            self.by_kind.resize_with(kind + 1, Vec::new);
        }
        self.by_kind[kind].push(place);
        self.parts.push(Arc::new(part));
        Ok(())
    }

    /// States the currency of the prices.
    pub fn set_currency(&mut self, currency: impl Into<String>) {
        self.currency = Some(currency.into());
    }

    /// The part with this id.
    pub fn get(&self, id: &str) -> Option<&Arc<Part>> {
        self.by_id.get(id).and_then(|place| self.parts.get(*place))
    }

    /// The parts of a kind, in the order they were written.
    pub fn of_kind(&self, kind: KindId) -> impl ExactSizeIterator<Item = &Arc<Part>> {
        let places: &[usize] = self.by_kind.get(kind.index()).map_or(&[], Vec::as_slice);
        places.iter().map(|place| &self.parts[*place])
    }

    /// All parts, in the order they were written.
    pub fn iter(&self) -> impl ExactSizeIterator<Item = &Arc<Part>> {
        self.parts.iter()
    }

    /// How many parts there are.
    pub fn len(&self) -> usize {
        self.parts.len()
    }

    /// There is no part.
    pub fn is_empty(&self) -> bool {
        self.parts.is_empty()
    }

    /// The currency of the prices, if it was stated.
    pub fn currency(&self) -> Option<&str> {
        self.currency.as_deref()
    }
}
