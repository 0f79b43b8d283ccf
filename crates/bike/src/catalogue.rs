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

#[cfg(test)]
mod tests {
    use knowledge::Knowledge;

    use super::*;

    #[test]
    fn parts_are_found_by_id_and_by_kind_and_an_id_is_taken_once() {
        let knowledge = Knowledge::embedded().unwrap();
        let [fork, rotor, stem] = ["fork", "rotor", "stem"].map(|kind| knowledge.kind(kind).unwrap());
        let part = |id: Option<&str>, kind, name: &str| Part { id: id.map(str::to_owned), ..Part::new(kind, name) };
        let mut catalogue = Catalogue::new();
        assert!(catalogue.is_empty());
        for (id, kind) in [("b", fork), ("a", rotor), ("c", fork)] {
            assert_eq!(catalogue.add(part(Some(id), kind, id)), Ok(()));
        }
        assert_eq!(catalogue.add(part(None, fork, "nameless")), Ok(()));
        let taken = catalogue.add(part(Some("a"), fork, "another")).unwrap_err();
        assert_eq!((taken.name.as_str(), taken.kind), ("a", rotor));
        let names = |kind| catalogue.of_kind(kind).map(|part| part.name.clone()).collect::<Vec<_>>();
        assert_eq!(names(fork), ["b", "c", "nameless"]);
        assert_eq!(names(rotor), ["a"]);
        assert_eq!(catalogue.of_kind(stem).len(), 0);
        assert_eq!((catalogue.len(), catalogue.get("c").map(|part| part.kind), catalogue.get("d")), (4, Some(fork), None));
    }
}
