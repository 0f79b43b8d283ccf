//! Names of entries as small numbers: their places in the knowledge's lists.

macro_rules! ids {
    ($($(#[$doc:meta])* $name:ident),* $(,)?) => {$(
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
        pub struct $name(u16);

        impl $name {
            /// The id of a place in its list; `None` if the list is longer than an id can count, which is refused when loading.
            pub(crate) fn at(index: usize) -> Option<Self> {
                u16::try_from(index).ok().map(Self)
            }

            /// Place in its list.
            pub const fn index(self) -> usize {
                self.0 as usize
            }
        }
    )*};
}

ids! {
    /// A kind of part or table.
    KindId,
    /// A slot of the bicycle.
    SlotId,
    /// An attribute, unique over all kinds.
    AttributeId,
    /// A source.
    SourceId,
    /// A measuring tool.
    ToolId,
    /// An output of the mechanics.
    OutputId,
    /// A caution.
    CautionId,
    /// A family of standards.
    FamilyId,
}
