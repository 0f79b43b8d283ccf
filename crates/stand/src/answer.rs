//! The answer: what every face of the program shows, and all it may show.
//!
//! Text, JSON, page, sheet and card are renderings of this one value; they convert units for print and lay out, and compute
//! nothing. Sentences are told in the units asked for; numbers are in base units (mm, deg, kg, …; see `quantity`), their `plus_minus` is an expanded uncertainty, k = 2
//! (JCGM 100:2008, 6.2). Signs: a margin is clear at zero and above; a change is after minus before.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// The published form's version. It is not promised to stay before the program's version 1.
pub const FORMAT: &str = "swapstand-answer-0";

/// One bike, one proposed change, and what comes of it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Answer {
    /// The published form and its version.
    pub format: String,
    /// Version of the program that gave the answer.
    pub program: String,
    /// Name of the bike.
    pub bike: String,
    /// Who rides it, in a few words; `None` if the build says nothing about a rider.
    pub rider: Option<String>,
    /// The reading of all margins.
    pub verdict: Verdict,
    /// The short answer, one sentence.
    pub headline: String,
    /// Two to four sentences after it: what moves, what is unsure, what to do.
    pub summary: Vec<String>,
    /// The bike part by part, in parts-list order; the numbers are the balloons of the drawing.
    pub parts: Vec<PartRow>,
    /// Set-up values that the swap adjusts.
    pub adjustments: Vec<Adjustment>,
    /// What moves, by how much.
    pub changes: Vec<Change>,
    /// What must clear, worst first.
    pub margins: Vec<Margin>,
    /// What else it takes; `None` if no catalogue was looked at, or nothing is swapped.
    pub extras: Option<Extras>,
    /// Other parts for the same place, and what is there; empty if no catalogue was looked at.
    pub alternatives: Vec<Alternative>,
    /// What to measure first, most decisive first.
    pub measure_first: Vec<Measurement>,
    /// Checks that could not be made, and what they need.
    pub not_checked: Vec<NotChecked>,
    /// Values nobody stated that were assumed.
    pub assumptions: Vec<Assumption>,
    /// How the frame's chart was read.
    pub chart: ChartReport,
    /// What the parts of the swap cost and weigh.
    pub cost: Cost,
    /// Warnings that go with the work.
    pub cautions: Vec<Caution>,
    /// Where every figure and rule comes from, numbered from 1 in order of appearance.
    pub sources: Vec<SourceNote>,
    /// The bike before and after, as points in the plane, a view a pose.
    pub side_views: Vec<SideViews>,
}

/// The reading of the margins, nothing else.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Verdict {
    /// Every check made is clear.
    Fits,
    /// With the extras named, every check that was short is clear.
    FitsWithExtras,
    /// A margin's tolerance straddles zero: a measurement has to settle it.
    MeasureFirst,
    /// It goes together, but something will work badly.
    WorksBadly,
    /// Two parts do not go together.
    DoesNotFit,
    /// A margin that protects somebody is short.
    Unsafe,
}

/// One row of the parts list.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PartRow {
    /// Number of the balloon on the drawing.
    pub balloon: u32,
    /// Slot id, for example `fork`.
    pub slot: String,
    /// Slot name, for example `Fork`.
    pub label: String,
    /// What is on the bike, in a few words with its figures; `None` if the slot is empty.
    pub on_the_bike: Option<PartNote>,
    /// What is on trial; `None` if this slot is not swapped.
    pub on_trial: Option<PartNote>,
    /// The swap leaves the slot empty.
    pub taken_off: bool,
}

/// A part in a few words.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PartNote {
    /// Catalogue id, if it came from one.
    pub id: Option<String>,
    /// Its name.
    pub name: String,
    /// Its main figures, for example `524 mm · offset 44 mm`.
    pub figures: String,
    /// Price in the catalogue's currency.
    pub price: Option<f64>,
    /// Mass in kg.
    pub mass_kg: Option<f64>,
}

/// A set-up value that the swap adjusts.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Adjustment {
    /// `setup.stem_spacers`.
    pub id: String,
    /// What it is, for people.
    pub label: String,
    /// Dimension word of `quantity` ("length", "angle", …).
    pub dimension: String,
    /// Before, base unit; `None` if it was not stated.
    pub before: Option<f64>,
    /// After, base unit.
    pub after: f64,
}

/// Which pose a figure belongs to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Pose {
    /// Standing on the ground, nobody on it.
    Unladen,
    /// With the rider aboard: suspension at its sag, tyres squashed.
    Sagged,
}

/// One figure, before and after.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Change {
    /// Output id, for example `head_angle`.
    pub id: String,
    /// Name for people.
    pub label: String,
    /// Pose.
    pub pose: Pose,
    /// Dimension word of `quantity`.
    pub dimension: String,
    /// Symbol of the base unit the numbers are in.
    pub unit: String,
    /// Before.
    pub before: f64,
    /// ± of `before`.
    pub before_plus_minus: f64,
    /// After.
    pub after: f64,
    /// ± of `after`.
    pub after_plus_minus: f64,
    /// After minus before.
    pub change: f64,
    /// ± of `change`; smaller than that of its ends where both rest on the same numbers.
    pub plus_minus: f64,
    /// A rider will notice it: it exceeds the threshold of common practice; `None` if no threshold is known.
    pub noticed: Option<bool>,
    /// How a sentence says which way it goes ("slacker", "longer"); `None` if it does not move, or has no word.
    pub way: Option<String>,
    /// Belongs on the short list (sheet, terminal), not only in the full table.
    pub main: bool,
    /// What it means for the rider ("steers slower"), if anything.
    pub meaning: Option<String>,
    /// What its ± comes from, largest first.
    pub depends_on: Vec<Contribution>,
}

/// A share of a figure's uncertainty.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Contribution {
    /// The stated number it comes from, for people.
    pub what: String,
    /// Where that number comes from: `measured`, `maker's sheet`, `standard`, `common practice`, `guess`, `assumed`.
    pub from: String,
    /// Its part of the ± (they add as squares), in the figure's unit.
    pub plus_minus: f64,
}

/// The state of a margin.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum State {
    /// At or above zero, tolerance included.
    Clear,
    /// The tolerance straddles zero.
    Unsure,
    /// Below zero, tolerance included.
    Short,
}

/// What it means when a margin is short.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Severity {
    /// A rider will feel it; nothing is wrong.
    Felt,
    /// It goes together but works badly.
    WorksBadly,
    /// It does not go together.
    DoesNotGo,
    /// It can hurt somebody.
    Hurts,
}

/// One check: a signed amount, its tolerance, its source.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Margin {
    /// Rule id, for example `fork.longest`.
    pub id: String,
    /// Name for people.
    pub label: String,
    /// Slot it belongs to.
    pub slot: String,
    /// Balloon number of that slot, if the drawing has one.
    pub balloon: Option<u32>,
    /// Dimension word of `quantity`.
    pub dimension: String,
    /// Symbol of the base unit.
    pub unit: String,
    /// Margin before the swap; `None` where it could not be taken.
    pub before: Option<f64>,
    /// Margin after the swap; ≥ 0 is clear.
    pub after: f64,
    /// ± of `after`.
    pub plus_minus: f64,
    /// Reading of `after`.
    pub state: State,
    /// Reading of `before`.
    pub state_before: Option<State>,
    /// What it means when short.
    pub severity: Severity,
    /// The sentence for the rider.
    pub because: String,
    /// Numbers of the answer's sources.
    pub sources: Vec<u32>,
    /// Warning, where somebody can be hurt.
    pub caution: Option<String>,
    /// What its ± comes from, largest first.
    pub depends_on: Vec<Contribution>,
}

/// What else a swap takes.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Extras {
    /// The finding in one sentence.
    pub finding: String,
    /// How it is known: what was looked at, and that nothing cheaper works.
    pub proof: String,
    /// Sets that clear what the swap makes short, the cheapest first; empty if nothing is needed, or nothing works.
    pub sets: Vec<ExtraSet>,
    /// If nothing works: facts that collide, in plain sentences. Without any one of them there would be a way.
    pub collision: Vec<String>,
    /// Parts of the catalogue that were weighed.
    pub parts_weighed: u32,
}

/// One set of extras.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ExtraSet {
    /// What to fit, take off or do.
    pub items: Vec<Extra>,
    /// Price of its parts, in the catalogue's currency.
    pub parts: f64,
    /// Minutes at the bench for these items.
    pub minutes: f64,
    /// All in: parts and work of swap and extras; `None` if a part of the swap has no price.
    pub all_in: Option<f64>,
    /// Mass of the bike after swap and extras, minus before, kg; `None` if a mass is not known.
    pub mass_change_kg: Option<f64>,
    /// No check is left unsure that was not unsure with the swap alone.
    pub sure: bool,
}

/// One item of a set of extras.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Extra {
    /// Slot id.
    pub slot: String,
    /// Slot name.
    pub label: String,
    /// The item in a few words, as a heading: the part's name, `taken off`, or the work.
    pub what: String,
    /// The part to fit; `None` if something is taken off or worked on.
    pub part: Option<PartNote>,
    /// Name of the part it replaces.
    pub replaces: Option<String>,
    /// New, used or reconditioned, with its age, if it is not new.
    pub condition: Option<String>,
    /// Minutes at the bench.
    pub minutes: f64,
    /// What asks for it.
    pub because: String,
}

/// Another answer to the same wish.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Alternative {
    /// Slot id.
    pub slot: String,
    /// Slot name.
    pub label: String,
    /// The part; `None` means: keep what is there.
    pub part: Option<PartNote>,
    /// How it would read, extras included.
    pub verdict: Verdict,
    /// Price of further parts it takes.
    pub extras: f64,
    /// All in: parts and work; `None` if a part has no price.
    pub all_in: Option<f64>,
    /// What it does, in a few words.
    pub change: String,
    /// Why it is listed.
    pub because: String,
}

/// Every part of a catalogue for one place, each tried.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Fits {
    /// The published form and its version.
    pub format: String,
    /// Version of the program.
    pub program: String,
    /// Name of the bike.
    pub bike: String,
    /// Slot id.
    pub slot: String,
    /// Slot name.
    pub label: String,
    /// What is there.
    pub on_the_bike: Option<PartNote>,
    /// Currency as the catalogue names it.
    pub currency: Option<String>,
    /// The parts, the best first.
    pub rows: Vec<FitRow>,
}

/// The published form's version of [`Fits`].
pub const FITS_FORMAT: &str = "swapstand-fits-0";

/// One part tried.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct FitRow {
    /// The part.
    pub part: PartNote,
    /// New, used or reconditioned, with its age, if it is not new.
    pub condition: Option<String>,
    /// The reading of all margins, extras included.
    pub verdict: Verdict,
    /// The worst margin with the part alone; `None` if every check is clear.
    pub worst: Option<Worst>,
    /// What else it takes; `None` if nothing is needed, or nothing was found that helps (a long list is not searched as far as one swap).
    pub extras: Option<FitExtras>,
    /// All in: part, extras, work; `None` without a price.
    pub all_in: Option<f64>,
    /// What it does, in a few words.
    pub change: String,
}

/// The worst margin of a part tried.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Worst {
    /// Rule id.
    pub id: String,
    /// Name for people.
    pub label: String,
    /// Dimension word of `quantity`.
    pub dimension: String,
    /// The margin, base unit.
    pub margin: f64,
    /// ± of it.
    pub plus_minus: f64,
    /// How it reads.
    pub state: State,
    /// What it means when short.
    pub severity: Severity,
    /// The sentence for the rider.
    pub because: String,
}

/// What else a part tried takes.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct FitExtras {
    /// Slots of the items.
    pub slots: Vec<String>,
    /// Price of parts, and of work at the shop's rate.
    pub price: f64,
    /// Minutes at the bench.
    pub minutes: f64,
}

/// A measurement that would settle something.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Measurement {
    /// What to measure, for people.
    pub what: String,
    /// With what, and how well that can be done.
    pub with: String,
    /// What is known now, printed.
    pub now: String,
    /// Ids of the margins it could settle.
    pub would_settle: Vec<String>,
    /// Chance that one such measurement settles the first of them, 0 to 1.
    pub chance: f64,
    /// The sentence for people.
    pub because: String,
}

/// A check that could not be made.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct NotChecked {
    /// Name of the check or figure.
    pub label: String,
    /// What it needs, for people.
    pub needs: Vec<String>,
}

/// A value nobody stated.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Assumption {
    /// What, for people.
    pub what: String,
    /// Value with ±, printed in the units the answer is told in.
    pub value: String,
    /// Dimension word of `quantity`.
    pub dimension: String,
    /// Base-unit value.
    pub number: f64,
    /// ± of it.
    pub plus_minus: f64,
    /// Why that.
    pub because: String,
    /// Number of one of the answer's sources.
    pub source: u32,
}

/// How the frame's geometry chart was read.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ChartReport {
    /// One sentence: consistent, contradictory, or just determined.
    pub finding: String,
    /// Redundancy of the whole chart: numbers given minus numbers needed.
    pub redundancy: u32,
    /// The entries as given and as adjusted.
    pub entries: Vec<ChartEntry>,
    /// Figures the chart never gave, as they come out of it.
    pub derived: Vec<ChartEntry>,
}

/// One number of the chart.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ChartEntry {
    /// Attribute id.
    pub id: String,
    /// What it is, for people.
    pub label: String,
    /// Dimension word of `quantity`.
    pub dimension: String,
    /// As given; `None` for a derived figure.
    pub given: Option<f64>,
    /// ± as given.
    pub given_plus_minus: Option<f64>,
    /// After reconciling.
    pub adjusted: f64,
    /// ± of it.
    pub plus_minus: f64,
    /// By how much it disagrees with all the others, if it has any redundancy.
    pub disagrees_by: Option<f64>,
    /// The same in standard deviations (Baarda's normalised residual).
    pub sigmas: Option<f64>,
    /// It was found wrong and set aside.
    pub set_aside: bool,
    /// It is one of several that may be wrong; the chart alone cannot tell which.
    pub suspected: bool,
    /// It was not stated but assumed.
    pub assumed: bool,
}

/// Money and mass of the swap.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Cost {
    /// Sum of the prices of the parts on trial; `None` if one has no price.
    pub parts: Option<f64>,
    /// Currency as the catalogue names it.
    pub currency: Option<String>,
    /// Mass of the parts on trial minus that of the parts they replace, kg.
    pub mass_change_kg: Option<f64>,
}

/// A warning that goes with the work.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Caution {
    /// The words.
    pub text: String,
    /// Number of one of the answer's sources.
    pub source: u32,
}

/// Where something comes from.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SourceNote {
    /// From 1, in order of appearance.
    pub number: u32,
    /// Full citation, or `common practice, no source`.
    pub text: String,
    /// How well it stands: `published`, `common practice`, `memory`, `judgement`.
    pub standing: String,
}

/// The bike before and after in one pose.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SideViews {
    /// Pose.
    pub pose: Pose,
    /// Before the swap.
    pub before: SideView,
    /// After it.
    pub after: SideView,
}

/// A point of the side view in mm: x forward from the rear tyre's contact, y up from the ground.
pub type Point = [f64; 2];

/// A wheel seen from the side.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct WheelView {
    /// Axle centre.
    pub axle: Point,
    /// Radius over the tyre (not squashed), mm.
    pub radius: f64,
    /// Half the bead seat diameter, mm; `None` if unknown.
    pub rim_radius: Option<f64>,
}

/// The bike's points seen from the drive side, front wheel to the right. Everything a side view needs; all in mm.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SideView {
    /// Rear wheel.
    pub rear_wheel: WheelView,
    /// Front wheel.
    pub front_wheel: WheelView,
    /// Bottom bracket centre.
    pub bottom_bracket: Point,
    /// Top of the head tube on the steering axis.
    pub head_tube_top: Point,
    /// Bottom of the head tube on the steering axis.
    pub head_tube_bottom: Point,
    /// Crown-race seat.
    pub crown: Point,
    /// Foot of the perpendicular from the front axle on the steering axis.
    pub fork_foot: Point,
    /// The steering axis meets the ground here; trail is from here back to the front contact.
    pub steering_axis_ground: Point,
    /// Front tyre's contact.
    pub front_contact: Point,
    /// Top of the seat tube; `None` if its length is unknown.
    pub seat_tube_top: Option<Point>,
    /// Middle of the saddle's top; `None` if the saddle height is unknown.
    pub saddle: Option<Point>,
    /// Saddle's length, mm.
    pub saddle_length: f64,
    /// Where the stem crosses the steering axis, with the spacers under it; `None` without a stem.
    pub stem_base: Option<Point>,
    /// Bar clamp centre; `None` without a stem.
    pub bar_clamp: Option<Point>,
    /// Middle of the hand; `None` without a bar.
    pub hand: Option<Point>,
    /// Crank length, mm; `None` without cranks.
    pub crank_length: Option<f64>,
    /// Pitch radius of the chainring, mm.
    pub ring_radius: Option<f64>,
    /// Pitch radius of the largest sprocket, mm.
    pub sprocket_radius: Option<f64>,
    /// Main pivot of a suspended rear, if stated.
    pub pivot: Option<Point>,
}
