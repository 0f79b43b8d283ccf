//! Part kinds, outputs, margins, defaults, tools, cautions and sources, loaded from TOML and checked.
//!
//! The files of the project's `knowledge/` folder are built into the program; a folder of the user's own may replace any of them.
//! Everything that refers to something else is resolved and dimension-checked while loading, so that what is loaded is sound: an id is a
//! small number that exists, and the terms of a margin can be added. All that is wrong in all files is reported at once.
//!
//! | file | holds |
//! |---|---|
//! | `sources.toml` | citations; the ± of values that state none |
//! | `tools.toml` | what is measured with what, and how well |
//! | `standards/*.toml` | families of interfaces with their figures and tolerances |
//! | `part_kinds.toml` | kinds of part and their attributes; the slots of a bicycle |
//! | `outputs.toml` | figures of an assembled bicycle |
//! | `cautions.toml` | what to say where somebody can be hurt |
//! | `margins.toml` | what is compared with what of the whole bicycle, and the sentences for it |
//! | `joints/*.toml` | the same wherever two parts meet |
//! | `defaults.toml` | what is assumed where nobody said |
//! | `shop.toml` | times of fitting, lives of parts, work in place of a part, likeness |
//!
//! ```
//! use knowledge::Knowledge;
//! use quantity::{Origin, Spread};
//!
//! let knowledge = Knowledge::embedded()?;
//! let fork = knowledge.slot("fork").expect("a bicycle has a fork");
//! let offset = knowledge.attribute(knowledge.slot_of(fork).kind, "offset").expect("a fork has an offset");
//! assert_eq!(knowledge.attribute_of(offset).says, "fork offset");
//! let (spread, source) = knowledge.default_tolerance(offset, Origin::MakersSheet, 44.0).expect("a sheet says about what is true");
//! assert_eq!(spread, Spread::Limits(0.5));
//! assert_eq!(knowledge.source_of(source).standing.word(), "judgement");
//! # Ok::<(), source_file::Problems>(())
//! ```

mod codes;
mod entries;
mod files;
mod ids;
mod names;
mod read;
mod rules;
mod shop;
mod standards;
mod terms;

use std::{path::Path, sync::Arc};

use quantity::{Dimension, Origin, Spread};
use source_file::Problems;

pub use codes::Code;
pub use entries::{
    About, Attribute, AttributeType, Caution, Condition, DefaultValue, Fill, Kind, MarginKind, MarginRule, NameOf, Of,
    OriginNote, Output, Pose, Reach, Severity, Shown, Size, Slot, Source, Standing, Term, TermOf, Tolerance, ToleranceFor, Tool,
};
pub use files::FILES;
pub use ids::{AttributeId, CautionId, FamilyId, KindId, OutputId, SlotId, SourceId, ToolId};

pub use shop::{Fitting, Life, Like, Work};
pub use standards::{Family, FamilyFigure, Figure, FigureType, Standard, UnknownStandard};

use names::Names;

/// All that is known about bicycles in general.
#[derive(Clone, Debug, Default)]
pub struct Knowledge {
    /// Kinds, by [`KindId`].
    pub kinds: Vec<Kind>,
    /// Attributes of all kinds, by [`AttributeId`].
    pub attributes: Vec<Attribute>,
    /// Slots in the order of the parts list, by [`SlotId`].
    pub slots: Vec<Slot>,
    /// Outputs in the order they are shown, by [`OutputId`].
    pub outputs: Vec<Output>,
    /// Families of standards, by [`FamilyId`].
    pub families: Vec<Family>,
    /// Checks: of the whole bicycle, then of its joints.
    pub margins: Vec<MarginRule>,
    /// How long fitting takes.
    pub fittings: Vec<Fitting>,
    /// How long parts last.
    pub lives: Vec<Life>,
    /// Work in place of a part.
    pub works: Vec<Work>,
    /// How alike a part has to be to the one it replaces.
    pub likes: Vec<Like>,
    /// What is assumed.
    pub defaults: Vec<DefaultValue>,
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
        let knowledge = read::read(&files, &mut problems);
        problems.unless_any(knowledge)
    }

    /// The kind of that id.
    pub fn kind(&self, id: &str) -> Option<KindId> {
        self.names.kinds.get(id)
    }

    /// The slot of that id.
    pub fn slot(&self, id: &str) -> Option<SlotId> {
        self.names.slots.get(id)
    }

    /// The attribute of that id in a kind.
    pub fn attribute(&self, kind: KindId, id: &str) -> Option<AttributeId> {
        self.names.attributes.get(kind.index())?.get(id)
    }

    /// The output of that id.
    pub fn output(&self, id: &str) -> Option<OutputId> {
        self.names.outputs.get(id)
    }

    /// The source of that id.
    pub fn source(&self, id: &str) -> Option<SourceId> {
        self.names.sources.get(id)
    }

    /// The tool of that id.
    pub fn tool(&self, id: &str) -> Option<ToolId> {
        self.names.tools.get(id)
    }

    /// The caution of that id.
    pub fn caution(&self, id: &str) -> Option<CautionId> {
        self.names.cautions.get(id)
    }

    /// The margin of that id.
    pub fn margin(&self, id: &str) -> Option<&MarginRule> {
        self.margins.get(self.names.margins.get(id)?)
    }

    /// What a kind's id stands for. Ids belong to the knowledge they were asked of; so for all that follow.
    pub fn kind_of(&self, id: KindId) -> &Kind {
        &self.kinds[id.index()]
    }

    /// The family of that id.
    pub fn family(&self, id: &str) -> Option<FamilyId> {
        self.names.families.get(id)
    }

    /// A family of standards.
    pub fn family_of(&self, id: FamilyId) -> &Family {
        &self.families[id.index()]
    }

    /// The member of a family that a text names: listed, or read from the text of a designation.
    ///
    /// # Errors
    /// [`UnknownStandard`] with what was probably meant.
    pub fn standard(&self, family: FamilyId, text: &str) -> Result<Arc<Standard>, UnknownStandard> {
        self.family_of(family).find(family, text)
    }

    /// How long fitting a part of a kind takes, in minutes; nothing where nobody said.
    pub fn fitting_minutes(&self, kind: KindId) -> f64 {
        self.fittings.iter().find(|f| f.kind == kind).map_or(0.0, |f| f.minutes)
    }

    /// How long a part of a kind serves.
    pub fn life(&self, kind: KindId) -> Option<&Life> {
        self.lives.iter().find(|life| life.kind == kind)
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
        self.slots.iter().enumerate().filter_map(|(i, slot)| Some((SlotId::at(i)?, slot)))
    }

    /// Outputs with their ids, in the order they are shown.
    pub fn outputs(&self) -> impl Iterator<Item = (OutputId, &Output)> {
        self.outputs.iter().enumerate().filter_map(|(i, output)| Some((OutputId::at(i)?, output)))
    }

    /// Attributes of a kind with their ids, in the order they are written.
    pub fn attributes_of(&self, kind: KindId) -> impl Iterator<Item = (AttributeId, &Attribute)> {
        let all = self.attributes.iter().enumerate().filter_map(|(i, attribute)| Some((AttributeId::at(i)?, attribute)));
        all.filter(move |(_, attribute)| attribute.kind == kind)
    }

    /// The kind that describes a table of a build file; `None` for parts, which are of many kinds.
    pub fn table(&self, about: About) -> Option<KindId> {
        self.kinds.iter().position(|kind| kind.about == about && about != About::Part).and_then(KindId::at)
    }

    /// How a reader is told where a value comes from.
    pub fn origin_says(&self, origin: Origin) -> &str {
        self.origins.iter().find(|note| note.origin == origin).map_or_else(|| origin.word(), |note| &note.says)
    }

    /// What is assumed of an attribute of the part in a slot.
    pub fn default_of_part(&self, slot: SlotId, attribute: AttributeId) -> Option<&DefaultValue> {
        self.defaults.iter().find(|d| d.slot == Some(slot) && d.attribute == attribute)
    }

    /// What is assumed of an attribute of a table.
    pub fn default_of_table(&self, attribute: AttributeId) -> Option<&DefaultValue> {
        self.defaults.iter().find(|d| d.slot.is_none() && d.attribute == attribute)
    }

    /// The spread of a value (base unit) that states none, and who says so. The most specific tolerance counts: that of the attribute,
    /// else, of a measured value, what the attribute's tool reaches, else that of its kind and dimension, else that of its dimension.
    /// `None` if the attribute is no quantity, or the value is computed.
    pub fn default_tolerance(&self, attribute: AttributeId, origin: Origin, value: f64) -> Option<(Spread, SourceId)> {
        let about = self.attribute_of(attribute);
        let dimension = about.dimension()?;
        let tool = about.tool.filter(|_| origin == Origin::Measured).map(|tool| self.tool_of(tool));
        let reached = tool.and_then(|tool| Some((Spread::Limits(tool.reach(dimension)?.plus_minus), tool.source)));
        self.tolerance(origin, &[ToleranceFor::Attribute(attribute)], value).or(reached).or_else(|| {
            self.tolerance(origin, &[ToleranceFor::Kind(about.kind, dimension), ToleranceFor::Dimension(dimension)], value)
        })
    }

    /// The same of a value that is no attribute, such as a part's mass.
    pub fn default_tolerance_of_dimension(&self, dimension: Dimension, origin: Origin, value: f64) -> Option<(Spread, SourceId)> {
        self.tolerance(origin, &[ToleranceFor::Dimension(dimension)], value)
    }

    /// The first of the wanted tolerances that there is.
    fn tolerance(&self, origin: Origin, wanted: &[ToleranceFor], value: f64) -> Option<(Spread, SourceId)> {
        let of_origin = || self.tolerances.iter().filter(|tolerance| tolerance.origin == origin);
        let found = wanted.iter().find_map(|of| of_origin().find(|tolerance| tolerance.of == *of))?;
        Some((found.spread(value), found.source))
    }
}
