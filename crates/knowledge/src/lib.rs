//! Part kinds, outputs, margins, defaults, tools, cautions and sources, loaded from TOML and checked.
//!
//! The files of the project's `knowledge/` folder are built into the program; a folder of the user's own may replace any of them.
//! Everything that refers to something else is resolved and dimension-checked while loading, so that what is loaded is sound.

mod entries;
mod files;
mod ids;
mod names;
mod read;
mod terms;

use std::path::Path;

use quantity::{Origin, Spread};
use source_file::Problems;

pub use entries::{
    About, Attribute, AttributeType, Caution, Default, Flag, Kind, MarginKind, MarginRule, OriginNote, Output, Pose, Reach,
    Severity, Shown, Size, Slot, Source, Standing, Term, TermOf, Tolerance, ToleranceFor, Tool,
};
pub use files::FILES;
pub use ids::{AttributeId, CautionId, KindId, OutputId, SlotId, SourceId, ToolId};

use names::Names;

/// All that is known about bicycles in general.
#[derive(Clone, Debug, std::default::Default)]
pub struct Knowledge {
    /// Kinds, by [`KindId`].
    pub kinds: Vec<Kind>,
    /// Attributes of all kinds, by [`AttributeId`].
    pub attributes: Vec<Attribute>,
    /// Slots in the order of the parts list, by [`SlotId`].
    pub slots: Vec<Slot>,
    /// Outputs in the order they are shown, by [`OutputId`].
    pub outputs: Vec<Output>,
    /// Checks.
    pub margins: Vec<MarginRule>,
    /// What is assumed.
    pub defaults: Vec<Default>,
    /// Warnings, by [`CautionId`].
    pub cautions: Vec<Caution>,
    /// Measuring tools, by [`ToolId`].
    pub tools: Vec<Tool>,
    /// Sources, by [`SourceId`].
    pub sources: Vec<Source>,
    /// How origins are told.
    pub origins: Vec<OriginNote>,
    /// The ± of values that state none.
    pub tolerances: Vec<Tolerance>,
    names: Names,
}

impl Knowledge {
    /// The built-in knowledge.
    ///
    /// # Errors
    /// None in a released program: a test loads it.
    pub fn embedded() -> Result<Self, Problems> {
        let mut problems = Problems::new();
        let knowledge = read::read(&files::embedded(), &mut problems);
        problems.unless_any(knowledge)
    }

    /// The built-in knowledge with the files of a folder in place of those of the same name.
    ///
    /// # Errors
    /// Every mistake in the folder's files.
    pub fn load(folder: &Path) -> Result<Self, Problems> {
        let mut problems = Problems::new();
        let files = files::with_folder(folder, &mut problems);
        if !problems.is_empty() {
            return Err(problems);
        }
        let knowledge = read::read(&files, &mut problems);
        problems.unless_any(knowledge)
    }

    /// The kind of that id.
    pub fn kind(&self, id: &str) -> Option<KindId> {
        self.names.kinds.get(id).copied()
    }

    /// The slot of that id.
    pub fn slot(&self, id: &str) -> Option<SlotId> {
        self.names.slots.get(id).copied()
    }

    /// The attribute of that id in a kind.
    pub fn attribute(&self, kind: KindId, id: &str) -> Option<AttributeId> {
        self.names.attributes.get(kind.index())?.get(id).copied()
    }

    /// The output of that id.
    pub fn output(&self, id: &str) -> Option<OutputId> {
        self.names.outputs.get(id).copied()
    }

    /// The source of that id.
    pub fn source(&self, id: &str) -> Option<SourceId> {
        self.names.sources.get(id).copied()
    }

    /// A kind.
    pub fn kind_of(&self, id: KindId) -> &Kind {
        &self.kinds[id.index()]
    }

    /// A slot.
    pub fn slot_of(&self, id: SlotId) -> &Slot {
        &self.slots[id.index()]
    }

    /// An attribute.
    pub fn attribute_of(&self, id: AttributeId) -> &Attribute {
        &self.attributes[id.index()]
    }

    /// An output.
    pub fn output_of(&self, id: OutputId) -> &Output {
        &self.outputs[id.index()]
    }

    /// A caution.
    pub fn caution_of(&self, id: CautionId) -> &Caution {
        &self.cautions[id.index()]
    }

    /// A tool.
    pub fn tool_of(&self, id: ToolId) -> &Tool {
        &self.tools[id.index()]
    }

    /// A source.
    pub fn source_of(&self, id: SourceId) -> &Source {
        &self.sources[id.index()]
    }

    /// Slots with their ids.
    pub fn slots(&self) -> impl Iterator<Item = (SlotId, &Slot)> {
        self.slots.iter().enumerate().map(|(i, slot)| (SlotId::at(i), slot))
    }

    /// What is assumed of an attribute of a table.
    pub fn default_of_table(&self, attribute: AttributeId) -> Option<&Default> {
        self.defaults.iter().find(|d| d.slot.is_none() && d.attribute == attribute)
    }

    /// The spread of a value (base unit) from an origin that states none, and who says so: that of the attribute, of a measurement
    /// what its tool reaches, that of the kind and dimension, that of the dimension.
    pub fn default_tolerance(&self, attribute: AttributeId, origin: Origin, value: f64) -> Option<(Spread, SourceId)> {
        let about = self.attribute_of(attribute);
        let dimension = about.dimension()?;
        let fits = |of: ToleranceFor| match of {
            ToleranceFor::Attribute(a) => (a == attribute).then_some(0),
            ToleranceFor::Kind(k, d) => (k == about.kind && d == dimension).then_some(1),
            ToleranceFor::Dimension(d) => (d == dimension).then_some(2),
        };
        let best = self
            .tolerances
            .iter()
            .filter(|t| t.origin == origin)
            .filter_map(|t| Some((fits(t.of)?, t)))
            .min_by_key(|found| found.0);
        let tool = about.tool.filter(|_| origin == Origin::Measured).map(|t| self.tool_of(t));
        if let Some((tool, reach)) = tool.and_then(|t| Some((t, t.reach(dimension)?)))
            && best.is_none_or(|(rank, _)| rank > 0)
        {
            return Some((Spread::Limits(reach.plus_minus), tool.source));
        }
        best.map(|(_, t)| (t.spread(value), t.source))
    }
}
