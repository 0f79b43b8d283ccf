//! A part: what it is called, what kind it is, what is stated about it.

use knowledge::{AttributeId, KindId, Knowledge};
use quantity::Quantity;
use quantity::print::{self, Units};

use crate::value::{Value, Values, WrittenAt};

/// A part, from a catalogue or written out in a build.
#[derive(Clone, Debug)]
pub struct Part {
    /// Id in its catalogue; `None` if it was written out on the spot.
    pub id: Option<String>,
    /// Kind of part.
    pub kind: KindId,
    /// What people call it.
    pub name: String,
    /// Who makes it.
    pub maker: Option<String>,
    /// Mass.
    pub mass: Option<Quantity>,
    /// Price in the currency of its catalogue.
    pub price: Option<f64>,
    /// New, or not.
    pub condition: Condition,
    /// How long it has been used since it was new or was last overhauled; years. `None` if nobody said.
    pub age_years: Option<f64>,
    /// What is stated about it: attributes of its kind.
    pub values: Values,
    /// The geometry chart that belongs to it: attributes of the kind `chart`. A frame has one, empty if nothing is known of it;
    /// no other part has.
    pub chart: Option<Values>,
    /// Where it was written; `None` if it was never in a file.
    pub place: Option<WrittenAt>,
}

/// Whether a part is new.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Condition {
    /// Never used.
    #[default]
    New,
    /// Used, as it came off a bike.
    Used,
    /// Used, taken apart and put right by somebody who stands behind it.
    Reconditioned,
}

impl Condition {
    pub(crate) const ALL: [Self; 3] = [Self::New, Self::Used, Self::Reconditioned];

    /// The word in files and for people.
    pub const fn word(self) -> &'static str {
        match self {
            Self::New => "new",
            Self::Used => "used",
            Self::Reconditioned => "reconditioned",
        }
    }
}

/// Equal if everything stated is: a place is no part of what is stated.
impl PartialEq for Part {
    fn eq(&self, other: &Self) -> bool {
        self.chart == other.chart && self.equals_without_chart(other)
    }
}

impl Part {
    /// A part of which only kind and name are known.
    pub fn new(kind: KindId, name: impl Into<String>) -> Self {
        Self {
            id: None,
            kind,
            name: name.into(),
            maker: None,
            mass: None,
            price: None,
            condition: Condition::New,
            age_years: None,
            values: Values::new(),
            chart: None,
            place: None,
        }
    }

    /// As `==`, the chart left out.
    pub(crate) fn equals_without_chart(&self, other: &Self) -> bool {
        let Self { id, kind, name, maker, mass, price, condition, age_years, values, chart: _, place: _ } = self;
        *id == other.id
            && *kind == other.kind
            && *name == other.name
            && *maker == other.maker
            && *mass == other.mass
            && *price == other.price
            && *condition == other.condition
            && *age_years == other.age_years
            && *values == other.values
    }

    /// The quantity of an attribute; `None` if it is not stated or is no quantity.
    pub fn quantity(&self, attribute: AttributeId) -> Option<Quantity> {
        self.values.quantity(attribute)
    }

    /// The part's main figures in a few words, metric: `544 mm · offset 44 mm · 150 mm travel`.
    ///
    /// Which attributes these are, in what order and in what words, is said by `figure` in the part kinds; attributes that are
    /// not stated are left out, and so is a flag that is not set. Empty if nothing is stated.
    pub fn figures(&self, knowledge: &Knowledge) -> String {
        self.figures_in(knowledge, Units::Metric)
    }

    /// As [`Part::figures`], in the units asked for.
    pub fn figures_in(&self, knowledge: &Knowledge, units: Units) -> String {
        let figures: Vec<String> = knowledge
            .attributes_of(self.kind)
            .filter_map(|(id, attribute)| {
                let pattern = attribute.figure.as_deref()?;
                Some(pattern.replace("{}", &shown(self.values.get(id)?, units)?))
            })
            .collect();
        figures.join(" · ")
    }
}

/// A value as it stands in a figure; `None` if there is nothing to show.
fn shown(value: &Value, units: Units) -> Option<String> {
    match value {
        Value::Quantity(quantity) => Some(print::value(quantity.value(), 0.0, quantity.dimension(), units).to_string()),
        Value::Count(count) => Some(count.to_string()),
        Value::Word(word) => Some(word.clone()),
        Value::Standard(named) => Some(named.standard.id.clone()),
        Value::Standards(list) => {
            let ids: Vec<&str> = list.iter().map(|standard| standard.id.as_str()).collect();
            (!ids.is_empty()).then(|| ids.join(", "))
        }
        Value::Flag(true) => Some(String::new()),
        Value::Flag(false) => None,
        Value::Numbers(numbers) => match (numbers.first(), numbers.last()) {
            (Some(first), Some(last)) if numbers.len() > 1 => Some(format!("{first}–{last}")),
            (Some(only), _) => Some(only.to_string()),
            _ => None,
        },
    }
}

#[cfg(test)]
mod tests {
    use source_file::SourceFile;

    use super::*;
    use crate::read::catalogue_from;

    #[test]
    fn a_parts_main_figures_are_those_the_part_kinds_name() {
        let knowledge = Knowledge::embedded().unwrap();
        let text = "\
id,kind,name,axle_to_crown,offset,travel,teeth,speeds,sprockets,foot_retention,thickness,lower_stack,upper_stack,angle_change
a,fork,A,544 ± 1,44,150,,,,,,,,
b,chainring,B,,,,32,,,,,,,
c,cassette,C,,,,,12,10 12 14 51,,,,,
d,pedal,D,,,,,,,yes,14,,,
e,pedal,E,,,,,,,no,,,,
f,headset,F,,,,,,,,,4,11,-1.5
g,saddle,G,,,,,,,,,,,
";
        let catalogue =
            catalogue_from(&SourceFile::from_text("parts.csv", text), &knowledge).unwrap_or_else(|problems| panic!("{problems}"));
        let figures = |id: &str| catalogue.get(id).unwrap().figures(&knowledge).replace('\u{a0}', " ");
        assert_eq!(figures("a"), "544 mm · offset 44 mm · 150 mm travel");
        assert_eq!(figures("b"), "32 teeth");
        assert_eq!(figures("c"), "12 speeds · 10–51");
        assert_eq!(figures("d"), "14 mm thick · holds the foot");
        assert_eq!(figures("e"), "");
        assert_eq!(figures("f"), "4 mm below · 11 mm above · axis −1.5°");
        assert_eq!(figures("g"), "");
        let inches = catalogue.get("a").unwrap().figures_in(&knowledge, Units::Imperial).replace('\u{a0}', " ");
        assert_eq!(inches, "21.42 in · offset 1.73 in · 5.91 in travel");
    }
}
