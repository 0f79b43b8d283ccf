//! Looking entries up by id.

use std::collections::HashMap;

use crate::ids::{AttributeId, CautionId, KindId, OutputId, SlotId, SourceId, ToolId};

/// Ids to places.
#[derive(Clone, Debug, Default)]
pub(crate) struct Names {
    pub(crate) kinds: HashMap<String, KindId>,
    pub(crate) slots: HashMap<String, SlotId>,
    /// By kind.
    pub(crate) attributes: Vec<HashMap<String, AttributeId>>,
    pub(crate) sources: HashMap<String, SourceId>,
    pub(crate) tools: HashMap<String, ToolId>,
    pub(crate) outputs: HashMap<String, OutputId>,
    pub(crate) cautions: HashMap<String, CautionId>,
    pub(crate) margins: HashMap<String, usize>,
}
