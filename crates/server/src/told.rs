//! The answer in the technician's words: the draft, what was made of it, and how both go into an address.

use quantity::print::Units;
use source_file::Problem;
use stand::answer::Answer;
use writing::{Draft, Figures, Kept, Refreshed, Text, draft};

use crate::{
    asked::Asked,
    mistake::Mistake,
    on_stand::OnStand,
    packed::{MOST_BYTES, packed, unpacked},
    workshop::Workshop,
};

/// The answer's draft and numbers, and what was made of it with the numbers of today.
#[derive(Debug)]
pub(crate) struct Told {
    pub(crate) draft: Draft,
    pub(crate) figures: Figures,
    pub(crate) refreshed: Refreshed,
    /// It is the draft as it is written.
    pub(crate) as_drafted: bool,
}

impl Told {
    pub(crate) fn new(kept: Option<&Kept>, answer: &Answer, units: Units) -> Self {
        let (draft, figures) = (draft(answer, units), Figures::of(answer, units));
        let as_drafted = kept.is_none();
        let drafted = || Kept::new(&draft, &draft.markdown());
        let refreshed = kept.cloned().unwrap_or_else(drafted).refreshed(&draft, &figures);
        Self { draft, figures, refreshed, as_drafted }
    }

    /// The same bench with the words as they are now, for documents that carry them.
    pub(crate) fn carried(&self, asked: &Asked) -> Result<Asked, Mistake> {
        let text = address_text(&Kept::new(&self.draft, &self.refreshed.markdown()))?;
        Ok(Asked { text: Some(text), ..asked.clone() })
    }

    /// A text as it would be kept.
    pub(crate) fn with(&self, text: &str) -> Refreshed {
        Kept::new(&self.draft, text).refreshed(&self.draft, &self.figures)
    }
}

/// The words for a sheet, if there are any of somebody's own.
pub(crate) fn words(on_stand: &OnStand<'_>, answer: &Answer) -> Option<Text> {
    on_stand.kept.as_ref().map(|kept| Told::new(Some(kept), answer, on_stand.units).refreshed.text())
}

/// Reads what an address says was made of a draft.
pub(crate) fn kept(text: &str) -> Result<Kept, Problem> {
    let damaged = || Problem::new("the address is damaged: the text in it cannot be read").help("copy the whole address");
    let json = unpacked(text).ok_or_else(damaged)?;
    serde_json::from_str(&json).map_err(|_| damaged())
}

/// The address of the page where the answer is written, with a text made of its draft; a text that is the draft is not worth keeping.
pub(crate) fn address_with(workshop: &Workshop, query: &str, text: &str) -> Result<String, Mistake> {
    let asked = Asked { text: None, ..Asked::from_query(query) };
    let on_stand = OnStand::new(&asked, workshop)?;
    let draft = draft(&on_stand.answer()?, on_stand.units);
    let kept = Kept::new(&draft, text);
    if kept.text.trim().is_empty() || kept.text.trim() == draft.markdown() {
        return Ok(asked.address("/write"));
    }
    Ok(Asked { text: Some(address_text(&kept)?), ..asked }.address("/write"))
}

/// A kept text as it stands in an address.
fn address_text(kept: &Kept) -> Result<String, Mistake> {
    let json = serde_json::to_string(kept).map_err(|error| Mistake::Program(error.to_string()))?;
    if json.len() > MOST_BYTES {
        return Err(Problem::new("the text is too long to be kept in an address").help("shorten it").into());
    }
    Ok(packed(&json))
}
