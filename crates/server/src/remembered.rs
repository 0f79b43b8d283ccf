//! What was worked out of an address: an answer follows from its address alone, so the next one who asks the same is told the same at
//! once. Bounded; the seldom asked goes first.

use std::sync::Arc;

use quick_cache::{Weighter, sync::Cache};
use stand::answer::Fits;

use crate::mistake::Mistake;

/// Bytes of pages that are kept: a slider's way there and back on some benches.
const PAGES_BYTES: u64 = 8 << 20;
/// A page with its address, for the first size of the store.
const PAGE_BYTES: usize = 48 << 10;
/// Lists of what fits: a long one is some megabytes.
const LISTS: usize = 8;

#[derive(Debug)]
pub(crate) struct Remembered {
    pages: Cache<String, Arc<str>, Size>,
    lists: Cache<String, Arc<Fits>>,
}

/// A page weighs its bytes and those of its address.
#[derive(Clone, Debug)]
struct Size;

impl Weighter<String, Arc<str>> for Size {
    fn weight(&self, address: &String, page: &Arc<str>) -> u64 {
        (address.len() + page.len()) as u64
    }
}

impl Remembered {
    pub(crate) fn new() -> Self {
        let pages = usize::try_from(PAGES_BYTES).unwrap_or(usize::MAX) / PAGE_BYTES;
        Self { pages: Cache::with_weighter(pages, PAGES_BYTES, Size), lists: Cache::new(LISTS) }
    }

    /// The part of a bench that follows a slider.
    pub(crate) fn page(&self, address: &str) -> Option<Arc<str>> {
        self.pages.get(address)
    }

    pub(crate) fn keep_page(&self, address: String, page: Arc<str>) {
        self.pages.insert(address, page);
    }

    /// What fits, worked out if it is not known; those who ask the same at once wait for one answer.
    pub(crate) fn fits(&self, address: &str, work_out: impl FnOnce() -> Result<Fits, Mistake>) -> Result<Arc<Fits>, Mistake> {
        self.lists.get_or_insert_with(address, || work_out().map(Arc::new))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_kept_stays_within_its_bounds() {
        let remembered = Remembered::new();
        for place in 0..2_000 {
            remembered.keep_page(format!("?bike={place}"), "x".repeat(PAGE_BYTES).into());
        }
        assert!(remembered.pages.weight() <= PAGES_BYTES);
        assert!(!remembered.pages.is_empty());
        remembered.keep_page("?bike=heron".to_owned(), "x".into());
        assert_eq!(remembered.page("?bike=heron").as_deref(), Some("x"));
    }
}
