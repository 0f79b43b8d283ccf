//! Why a bike cannot be put on the stand.

use std::fmt;

use knowledge::Knowledge;
use mechanics::{chart::ChartError, planar::PlanarError};

use crate::names::Names;

/// What is missing or impossible about a bike.
#[derive(Clone, Debug, PartialEq)]
pub enum StandProblem {
    /// The knowledge in use lacks a name the assembly needs.
    Unknown {
        /// Attribute or slot.
        name: String,
    },
    /// The build gives no number of the frame's chart.
    NoChart,
    /// The chart does not determine the frame.
    Chart {
        /// Why.
        error: ChartError,
        /// Chart entries of which one more would do, as attribute ids with what they are.
        would_help: Vec<(String, String)>,
    },
    /// Something has to be there for the bike to stand.
    Missing {
        /// What, for people.
        what: String,
    },
    /// The parts make no bike that can stand.
    CannotStand {
        /// Before the swap, or after it.
        after: bool,
        /// Why.
        error: PlanarError,
    },
}

impl StandProblem {
    /// Fills in the chart entries that would help, by name.
    pub(crate) fn with_names(self, names: &Names, knowledge: &Knowledge) -> Self {
        match self {
            Self::Chart { error: ChartError::Undetermined { missing, would_help: entries }, .. } => {
                let would_help = names
                    .chart
                    .iter()
                    .filter(|(entry, _)| entries.contains(entry))
                    .map(|&(_, attribute)| {
                        let attribute = knowledge.attribute_of(attribute);
                        (attribute.id.clone(), attribute.says.clone())
                    })
                    .collect();
                Self::Chart { error: ChartError::Undetermined { missing, would_help: entries }, would_help }
            }
            other => other,
        }
    }

    /// What would be right.
    pub fn help(&self) -> Option<String> {
        match self {
            Self::Unknown { .. } => Some("add it to part_kinds.toml, or leave that file out of the knowledge folder".to_owned()),
            Self::NoChart => {
                Some("write what the frame's chart gives under [frame.chart]: stack, reach, head_angle, rear_centre …".to_owned())
            }
            Self::Chart { error: ChartError::Undetermined { missing: 1, .. }, would_help } => {
                Some(format!("one more number would do; any of: {}", list(would_help)))
            }
            Self::Chart { error: ChartError::Undetermined { missing, .. }, would_help } => {
                Some(format!("{missing} more numbers are needed, out of: {}", list(would_help)))
            }
            Self::Chart { .. } => Some("check the chart for a slip: millimetres for lengths, degrees for angles".to_owned()),
            Self::Missing { .. } | Self::CannotStand { .. } => None,
        }
    }
}

fn list(entries: &[(String, String)]) -> String {
    entries.iter().map(|(id, says)| format!("`{id}` ({says})")).collect::<Vec<_>>().join(", ")
}

impl fmt::Display for StandProblem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Unknown { name } => write!(f, "the knowledge in use has no `{name}`"),
            Self::NoChart => write!(f, "the build gives no number of the frame's geometry chart"),
            Self::Chart { error: ChartError::Undetermined { missing: 1, .. }, .. } => {
                write!(f, "the frame's chart leaves one number open")
            }
            Self::Chart { error, .. } => write!(f, "the frame's chart cannot be reconciled: {error}"),
            Self::Missing { what } => write!(f, "the bike cannot stand without {what}"),
            Self::CannotStand { after: false, error } => write!(f, "this bike cannot stand: {error}"),
            Self::CannotStand { after: true, error } => write!(f, "after the swap the bike cannot stand: {error}"),
        }
    }
}

impl std::error::Error for StandProblem {}
