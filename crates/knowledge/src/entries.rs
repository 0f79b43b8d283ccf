//! What the knowledge consists of.

use quantity::{Dimension, Origin, Quantity, Spread};

use crate::ids::{AttributeId, CautionId, FamilyId, KindId, OutputId, SlotId, SourceId, ToolId};

/// What a kind describes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum About {
    /// A part, which may stand in a catalogue.
    Part,
    /// The rider's table of a build.
    Rider,
    /// The set-up table of a build.
    Setup,
    /// The frame's geometry chart.
    Chart,
}

/// A kind of part, or of table.
#[derive(Clone, Debug, PartialEq)]
pub struct Kind {
    /// Id.
    pub id: String,
    /// Name for people.
    pub name: String,
    /// What it describes.
    pub about: About,
}

/// What an attribute holds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum AttributeType {
    /// A quantity; bounds in the base unit.
    Quantity {
        /// Dimension.
        dimension: Dimension,
        /// Least that can be true.
        least: f64,
        /// Most that can be true.
        most: f64,
    },
    /// A whole number.
    Count {
        /// Least.
        least: u32,
        /// Most.
        most: u32,
    },
    /// A name.
    Word,
    /// Yes or no.
    Flag,
    /// A row of numbers.
    Numbers {
        /// Least of each.
        least: f64,
        /// Most of each.
        most: f64,
    },
    /// A member of a family of standards.
    Standard {
        /// The family.
        family: FamilyId,
    },
    /// Several members of a family.
    Standards {
        /// The family.
        family: FamilyId,
    },
}

impl AttributeType {
    /// Dimension of a quantity.
    pub const fn dimension(self) -> Option<Dimension> {
        if let Self::Quantity { dimension, .. } = self { Some(dimension) } else { None }
    }

    /// Family of a standard or of several.
    pub const fn family(self) -> Option<FamilyId> {
        match self {
            Self::Standard { family } | Self::Standards { family } => Some(family),
            _ => None,
        }
    }
}

/// What follows from a standard for another attribute of the same part, where that is not stated.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Fill {
    /// The attribute.
    pub attribute: AttributeId,
    /// Place of the figure in the family.
    pub figure: usize,
}

/// Something that can be stated of a kind.
#[derive(Clone, Debug, PartialEq)]
pub struct Attribute {
    /// Id, unique within the kind.
    pub id: String,
    /// Kind it belongs to.
    pub kind: KindId,
    /// What it holds.
    pub what: AttributeType,
    /// A part without it is refused.
    pub required: bool,
    /// The phrase a sentence uses.
    pub says: String,
    /// How it is measured.
    pub tool: Option<ToolId>,
    /// Sub-table it is written in.
    pub within: Option<String>,
    /// How it stands behind a part's name, `{}` for the value: `"offset {}"`.
    pub figure: Option<String>,
    /// What follows from it.
    pub fills: Vec<Fill>,
    /// Other values of it are worth trying one after the other: it is a number that parts of its kind differ in by degrees.
    pub slider: bool,
    /// Attributes of the same part that no longer hold when another value of this one is tried.
    pub unsays: Vec<AttributeId>,
}

impl Attribute {
    /// Dimension of a quantity.
    pub fn dimension(&self) -> Option<Dimension> {
        self.what.dimension()
    }
}

/// A place on the bicycle.
#[derive(Clone, Debug, PartialEq)]
pub struct Slot {
    /// Id.
    pub id: String,
    /// Name for people.
    pub name: String,
    /// Kind of part that goes there.
    pub kind: KindId,
    /// A bicycle may do without: an adaptor, a shim.
    pub optional: bool,
}

/// How well a source stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Standing {
    /// Seen in print or in a stored text.
    Published,
    /// The trade does it so; no source.
    CommonPractice,
    /// Published, cited from memory.
    Memory,
    /// Our own estimate.
    Judgement,
}

impl Standing {
    pub(crate) const ALL: [Self; 4] = [Self::Published, Self::CommonPractice, Self::Memory, Self::Judgement];

    /// The word in data and for people.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Published => "published",
            Self::CommonPractice => "common practice",
            Self::Memory => "memory",
            Self::Judgement => "judgement",
        }
    }
}

/// Where something comes from.
#[derive(Clone, Debug, PartialEq)]
pub struct Source {
    /// Id.
    pub id: String,
    /// Citation.
    pub text: String,
    /// How well it stands.
    pub standing: Standing,
}

/// How an origin is told to a reader.
#[derive(Clone, Debug, PartialEq)]
pub struct OriginNote {
    /// Origin.
    pub origin: Origin,
    /// Phrase.
    pub says: String,
}

/// What a default tolerance is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ToleranceFor {
    /// One attribute.
    Attribute(AttributeId),
    /// Attributes of a kind with a dimension.
    Kind(KindId, Dimension),
    /// Everything of a dimension.
    Dimension(Dimension),
}

/// How large a default tolerance is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Size {
    /// Half width in the base unit.
    Absolute(f64),
    /// Half width as a share of the value, 0 to 1.
    Relative(f64),
}

/// The ± of values that state none.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tolerance {
    /// Of values from here.
    pub origin: Origin,
    /// Of these values.
    pub of: ToleranceFor,
    /// That large.
    pub size: Size,
    /// Says who.
    pub source: SourceId,
}

impl Tolerance {
    /// The spread it gives a value (base unit).
    pub fn spread(&self, value: f64) -> Spread {
        let half_width = match self.size {
            Size::Absolute(a) => a,
            Size::Relative(share) => (value * share).abs(),
        };
        if half_width == 0.0 { Spread::Exact } else { Spread::Limits(half_width) }
    }
}

/// What a tool reaches in one dimension.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reach {
    /// Dimension.
    pub dimension: Dimension,
    /// Half width, base unit.
    pub plus_minus: f64,
}

/// A measuring tool.
#[derive(Clone, Debug, PartialEq)]
pub struct Tool {
    /// Id.
    pub id: String,
    /// Name with its article.
    pub name: String,
    /// How it is used.
    pub how: String,
    /// What it reaches.
    pub reaches: Vec<Reach>,
    /// Says who.
    pub source: SourceId,
}

impl Tool {
    /// What it reaches in a dimension.
    pub fn reach(&self, dimension: Dimension) -> Option<Reach> {
        self.reaches.iter().copied().find(|r| r.dimension == dimension)
    }
}

/// When an output is shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Shown {
    /// Always.
    Always,
    /// If it moves.
    Changed,
    /// Never.
    Never,
}

/// A figure that an assembled bicycle gives.
#[derive(Clone, Debug, PartialEq)]
pub struct Output {
    /// Id.
    pub id: String,
    /// Name for people.
    pub name: String,
    /// Dimension.
    pub dimension: Dimension,
    /// A change of this size is felt.
    pub noticed: Option<Quantity>,
    /// What more of it means.
    pub more: Option<String>,
    /// What less of it means.
    pub less: Option<String>,
    /// The word for more of it in the short answer.
    pub up: Option<String>,
    /// The word for less of it.
    pub down: Option<String>,
    /// When it is shown.
    pub shown: Shown,
    /// How it is measured on the bike as it stands.
    pub tool: Option<ToolId>,
    /// Says who.
    pub source: SourceId,
}

/// What it means when a margin is short.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Severity {
    /// A rider will feel it.
    Felt,
    /// It works badly.
    WorksBadly,
    /// It does not go together.
    DoesNotGo,
    /// It can hurt somebody.
    Hurts,
}

/// Poses in which outputs are taken.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Pose {
    /// Nobody on the bike.
    Unladen,
    /// Rider aboard.
    Sagged,
}

/// What of an attribute a term takes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Of {
    /// The quantity or count itself.
    Value,
    /// A figure of the standard, by its place in the family.
    Figure(usize),
    /// The largest of a row of numbers.
    Largest,
    /// The smallest.
    Smallest,
    /// How many there are.
    Count,
}

/// What a term of a margin stands for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum TermOf {
    /// An attribute of the part in a slot.
    Part {
        /// Slot.
        slot: SlotId,
        /// Attribute.
        attribute: AttributeId,
        /// What of it.
        of: Of,
    },
    /// An attribute of a table: chart (as reconciled), rider, set-up.
    Table {
        /// Attribute.
        attribute: AttributeId,
    },
    /// An output.
    Output {
        /// Pose.
        pose: Pose,
        /// Output.
        output: OutputId,
    },
    /// How far an output moves, without sign.
    Change {
        /// Pose.
        pose: Pose,
        /// Output.
        output: OutputId,
    },
    /// A number.
    Literal(Quantity),
}

impl TermOf {
    /// The slot of a part's attribute.
    pub const fn slot(&self) -> Option<SlotId> {
        if let Self::Part { slot, .. } = self { Some(*slot) } else { None }
    }
}

/// A term of a margin: `times · of · by`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Term {
    /// What it stands for.
    pub of: TermOf,
    /// How many times.
    pub times: f64,
    /// A second factor, a bare number.
    pub by: Option<TermOf>,
    /// What it counts for where the slot is empty, base unit; without it the margin cannot be taken then.
    pub otherwise: Option<f64>,
}

impl Term {
    /// Whether it is how far something moves.
    pub const fn is_change(&self) -> bool {
        matches!(self.of, TermOf::Change { .. })
    }

    /// Whether it is what the mechanics compute of the whole bicycle.
    pub const fn is_output(&self) -> bool {
        matches!(self.of, TermOf::Output { .. } | TermOf::Change { .. })
    }

    /// Whether it takes a number from anywhere but parts.
    pub fn reads_more_than_parts(&self) -> bool {
        let is_of_parts = |of: &TermOf| matches!(of, TermOf::Literal(_) | TermOf::Part { .. });
        !std::iter::once(&self.of).chain(&self.by).all(is_of_parts)
    }

    /// Its slots.
    pub fn slots(&self) -> impl Iterator<Item = SlotId> {
        self.of.slot().into_iter().chain(self.by.and_then(|by| by.slot()))
    }
}

/// A name that is compared: a word, a standard, several standards, or a figure of a standard that is a word.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct NameOf {
    /// Slot.
    pub slot: SlotId,
    /// Attribute.
    pub attribute: AttributeId,
    /// Place of a figure in the family of the standard; `None` for the name itself.
    pub figure: Option<usize>,
}

/// How a margin is taken.
#[derive(Clone, Debug, PartialEq)]
pub enum MarginKind {
    /// Σ room − Σ need.
    Room {
        /// What there is.
        room: Vec<Term>,
        /// What it takes.
        need: Vec<Term>,
    },
    /// within − |one − other|.
    Same {
        /// The one.
        one: Term,
        /// The other.
        other: Term,
        /// How far they may differ.
        within: Quantity,
    },
    /// min(value − least, most − value); an interference fit is the same of shaft − bore.
    Between {
        /// Terms of the value, the second taken away.
        value: (Term, Option<Term>),
        /// The least it may be.
        least: Term,
        /// The most it may be.
        most: Term,
    },
    /// 0 if both names are the same, −1 if not.
    Alike {
        /// The one.
        one: NameOf,
        /// The other.
        other: NameOf,
    },
    /// 0 if the one is among the others, −1 if not.
    OneOf {
        /// The one.
        one: NameOf,
        /// The list.
        others: NameOf,
    },
    /// 0 if a count is a multiple, less by what is left over if not.
    Multiple {
        /// The count.
        count: Term,
        /// Of which it has to be a multiple.
        of: u32,
    },
}

/// What has to hold for a rule to be asked at all.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Condition {
    /// A part is in the slot.
    Filled(SlotId),
    /// A yes-or-no attribute of the part in a slot is set.
    Flag {
        /// Slot.
        slot: SlotId,
        /// Attribute.
        attribute: AttributeId,
    },
    /// A name is this word.
    Is {
        /// The name.
        name: NameOf,
        /// The word; of a standard, its id.
        word: String,
    },
}

impl Condition {
    /// The slot it looks at.
    pub const fn slot(&self) -> SlotId {
        match self {
            Self::Filled(slot) | Self::Flag { slot, .. } => *slot,
            Self::Is { name, .. } => name.slot,
        }
    }
}

/// A check.
#[derive(Clone, Debug, PartialEq)]
pub struct MarginRule {
    /// Id.
    pub id: String,
    /// Name for people.
    pub name: String,
    /// Slot it is shown with.
    pub slot: SlotId,
    /// Dimension of the margin.
    pub dimension: Dimension,
    /// What it means when short.
    pub severity: Severity,
    /// How it is taken.
    pub kind: MarginKind,
    /// What has to hold.
    pub when: Vec<Condition>,
    /// What must not.
    pub unless: Vec<Condition>,
    /// Sentence when clear.
    pub clear: String,
    /// Sentence when short.
    pub short: String,
    /// Sentence when unsure.
    pub unsure: Option<String>,
    /// Warning when not clear.
    pub caution: Option<CautionId>,
    /// Slots whose part can be changed for another to cure it, where that is not plain from its terms.
    pub cure: Vec<SlotId>,
    /// Says who.
    pub sources: Vec<SourceId>,
}

impl MarginRule {
    /// All its terms.
    pub fn terms(&self) -> Vec<&Term> {
        match &self.kind {
            MarginKind::Room { room, need } => room.iter().chain(need).collect(),
            MarginKind::Same { one, other, .. } => vec![one, other],
            MarginKind::Between { value: (first, second), least, most } => {
                std::iter::once(first).chain(second).chain([least, most]).collect()
            }
            MarginKind::Multiple { count, .. } => vec![count],
            MarginKind::Alike { .. } | MarginKind::OneOf { .. } => Vec::new(),
        }
    }

    /// The names it compares.
    pub fn names(&self) -> Option<(&NameOf, &NameOf)> {
        match &self.kind {
            MarginKind::Alike { one, other } => Some((one, other)),
            MarginKind::OneOf { one, others } => Some((one, others)),
            _ => None,
        }
    }

    /// Whether it rests on what the mechanics compute of the whole bicycle, not only on the parts that meet.
    pub fn is_of_the_whole(&self) -> bool {
        self.terms().iter().any(|term| term.is_output())
    }

    /// Slots it is about: its own, those of its terms and names and of its conditions; one may come twice.
    pub fn slots(&self) -> impl Iterator<Item = SlotId> {
        std::iter::once(self.slot).chain(self.slots_compared()).chain(self.when.iter().chain(&self.unless).map(Condition::slot))
    }

    /// Attributes of parts that it looks at, with their slots; one may come twice.
    pub fn attributes(&self) -> impl Iterator<Item = (SlotId, AttributeId)> {
        let of_term = |of: TermOf| if let TermOf::Part { slot, attribute, .. } = of { Some((slot, attribute)) } else { None };
        let terms = self.terms().into_iter().flat_map(|term| [Some(term.of), term.by]).flatten().filter_map(of_term);
        let names = self.names().map(|(one, other)| [(one.slot, one.attribute), (other.slot, other.attribute)]);
        let conditions = self.when.iter().chain(&self.unless).filter_map(|condition| match condition {
            Condition::Filled(_) => None,
            Condition::Flag { slot, attribute } => Some((*slot, *attribute)),
            Condition::Is { name, .. } => Some((name.slot, name.attribute)),
        });
        terms.chain(names.into_iter().flatten()).chain(conditions)
    }

    /// Slots whose parts it compares; one may come twice.
    pub fn slots_compared(&self) -> impl Iterator<Item = SlotId> {
        let names = self.names().map(|(one, other)| [one.slot, other.slot]);
        self.terms().into_iter().flat_map(Term::slots).chain(names.into_iter().flatten())
    }
}

/// What is assumed of an attribute nobody stated.
#[derive(Clone, Debug, PartialEq)]
pub struct DefaultValue {
    /// Slot, for an attribute of a part; `None` for one of a table.
    pub slot: Option<SlotId>,
    /// Attribute.
    pub attribute: AttributeId,
    /// The value.
    pub value: Quantity,
    /// Why that.
    pub because: String,
    /// Says who.
    pub source: SourceId,
}

/// A warning.
#[derive(Clone, Debug, PartialEq)]
pub struct Caution {
    /// Id.
    pub id: String,
    /// Answers that touch these slots carry it.
    pub slots: Vec<SlotId>,
    /// The words.
    pub text: String,
    /// Says who.
    pub source: SourceId,
}
