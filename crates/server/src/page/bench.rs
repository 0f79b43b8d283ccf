//! The bench: the bike drawn before and after, what moves, what it must clear, and everything that can be changed.

use drawing::{
    letters::Face,
    sections::{self, Folded},
    side_view::{Setting, side_view_with_links},
};
use maud::{Markup, PreEscaped, html};
use quantity::print::Units;
use stand::answer::{Answer, PartNote, PartRow, Pose};

use crate::{
    asked::Asked,
    on_stand::OnStand,
    page::{document, knobs::Knobs, said},
};

/// The drawing for a screen with room, and the one for a telephone.
const WIDE: Setting = Setting { width: 890.0, height: None, text: 13.5, face: Face::Screen, sparse: false };
const NARROW: Setting = Setting { width: 340.0, height: None, text: 12.0, face: Face::Screen, sparse: true };

/// How much room the drawing has on the screen.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Room {
    /// Nobody said: it is drawn for much and for little, and the style sheet shows one.
    Unknown,
    Wide,
    Narrow,
}

impl Room {
    /// What an address says of it.
    pub(crate) fn said(query: &str) -> Self {
        match said(query, "room").as_str() {
            "wide" => Self::Wide,
            "narrow" => Self::Narrow,
            _ => Self::Unknown,
        }
    }

    pub(crate) fn word(self) -> &'static str {
        match self {
            Self::Unknown => "",
            Self::Wide => "wide",
            Self::Narrow => "narrow",
        }
    }
}

/// The whole page.
pub(crate) fn bench(asked: &Asked, on_stand: &OnStand<'_>, answer: &Answer) -> Markup {
    let knobs = Knobs::of(asked, on_stand);
    let body = html! {
        main #main.sheet.bench {
            (top(asked, answer, on_stand, Room::Unknown))
            form #bench.panel method="get" action="/bench" {
                // What a field says is not sent twice.
                @for (key, value) in asked.pairs().iter().filter(|pair| !knobs.cover(&pair.0)) {
                    input type="hidden" name=(key) value=(value);
                }
                (knobs.markup())
                p.act { button { "Try it" } }
                p #wrong.problems role="alert" hidden {}
                p #said.unseen role="status" {}
            }
            div #list.live { (parts(asked, on_stand, answer)) }
            (moves(answer, on_stand, Folded::Written))
            div #extras.live { (sections::extras(answer, on_stand.units)) }
            (clears(answer, on_stand, Folded::Written))
            (rest(answer, on_stand))
            div #block.live { (title_block(asked, on_stand, answer)) }
        }
    };
    document(&answer.bike, &body)
}

/// Between the parts of a quick answer. A parser of HTML takes it for white space.
pub(crate) const NEXT: char = '\u{c}';

/// So many parts a quick answer has.
pub(crate) const PARTS: usize = 3;

/// The parts of the page that change while a slider moves.
pub(crate) fn live(asked: &Asked, on_stand: &OnStand<'_>, answer: &Answer, room: Room) -> Markup {
    html! {
        (top(asked, answer, on_stand, room))
        (NEXT)
        (moves(answer, on_stand, Folded::LeftOut))
        (NEXT)
        (clears(answer, on_stand, Folded::LeftOut))
    }
}

fn top(asked: &Asked, answer: &Answer, on_stand: &OnStand<'_>, room: Room) -> Markup {
    html! {
        div #top.live {
            (sections::short_answer(answer, on_stand.units, None))
            (view(asked, answer, on_stand, room))
        }
    }
}

fn view(asked: &Asked, answer: &Answer, on_stand: &OnStand<'_>, room: Room) -> Markup {
    let choose = asked.address("/choose");
    let choose =
        |row: &PartRow| Some((format!("{choose}&slot={}", row.slot), format!("{}, {}: choose another", row.balloon, row.label)));
    let figure = |not: Room, setting, name: &str| {
        let drawing =
            if room == not { None } else { side_view_with_links(answer, on_stand.pose, on_stand.units, setting, &choose) };
        drawing.map(|drawing| PreEscaped(drawing.figure(name, name)))
    };
    let figures = [figure(Room::Narrow, WIDE, "wide"), figure(Room::Wide, NARROW, "narrow")];
    let aboard = if on_stand.pose == Pose::Sagged { "with the rider aboard" } else { "unladen" };
    html! {
        section.view {
            h2 { "Before and after" }
            @if figures.iter().any(Option::is_some) {
                figure {
                    @for figure in figures.iter().flatten() { (figure) }
                    figcaption { "Drive side, " (aboard) ", to scale. Numbers as in the list of parts." }
                }
            } @else {
                p { "The bike could not be drawn: too little is known of it." }
            }
        }
    }
}

fn moves(answer: &Answer, on_stand: &OnStand<'_>, folded: Folded) -> Markup {
    html! { div #moves.live { (sections::what_moves(answer, on_stand.units, folded)) } }
}

fn clears(answer: &Answer, on_stand: &OnStand<'_>, folded: Folded) -> Markup {
    html! { div #clears.live { (sections::what_it_must_clear(answer, on_stand.units, folded)) } }
}

/// What waits until the hand has come to rest, as parts and extras do: it asks the catalogue, or stays as it is.
fn rest(answer: &Answer, on_stand: &OnStand<'_>) -> Markup {
    let units = on_stand.units;
    html! {
        div #rest.live {
            div.rest {
                (sections::measure_first(answer))
                (sections::alternatives(answer))
                (sections::not_checked(answer))
                (sections::cost(answer, units))
                (sections::chart(answer, units))
                (sections::assumptions(answer, units))
            }
            (sections::cautions(answer))
            (sections::sources(answer))
        }
    }
}

fn parts(asked: &Asked, on_stand: &OnStand<'_>, answer: &Answer) -> Markup {
    let knowledge = on_stand.workshop.knowledge();
    let free = knowledge
        .slots()
        .filter(|(id, slot)| on_stand.build.part(*id).is_none() && answer.parts.iter().all(|row| row.slot != slot.id));
    html! {
        section.list {
            h2 { "Parts" }
            table.parts {
                thead { tr { th.no scope="col" { "No." } th scope="col" { "Part" } th scope="col" { "On the bike" } th scope="col" { "On trial" } th scope="col" { "Swap" } } }
                tbody {
                    @for row in &answer.parts {
                        @let swapped = row.on_trial.is_some() || row.taken_off;
                        tr #{ "part-" (row.slot) } class=[swapped.then_some("on")] {
                            td.no { i { (row.balloon) } }
                            th scope="row" { (row.label) }
                            td { (note(row.on_the_bike.as_ref())) }
                            td { @if row.taken_off { "taken off" } @else { (note(row.on_trial.as_ref())) } }
                            td.go {
                                a href=(asked.address_with("/choose", &[("slot", &row.slot)])) { "choose" span.unseen { " another " (row.label) } }
                                @if swapped { " " a href=(asked.without(&row.slot).address("/bench")) { "put back" span.unseen { " the " (row.label) } } }
                            }
                        }
                    }
                }
            }
            details {
                summary { "Places where nothing is known to be fitted" }
                ul.places { @for (_, slot) in free { li { a href=(asked.address_with("/choose", &[("slot", &slot.id)])) { (slot.name) } } } }
            }
        }
    }
}

fn note(note: Option<&PartNote>) -> Markup {
    html! {
        @if let Some(note) = note {
            (note.name)
            @if !note.figures.is_empty() { " " small { (note.figures) } }
        } @else { span.faint { "–" } }
    }
}

fn title_block(asked: &Asked, on_stand: &OnStand<'_>, answer: &Answer) -> Markup {
    let aboard = Asked { aboard: true, ..asked.clone() };
    let unladen = Asked { aboard: false, ..asked.clone() };
    let imperial = Asked { imperial: true, ..asked.clone() };
    let metric = Asked { imperial: false, ..asked.clone() };
    let as_it_is = Asked { bike: asked.bike.clone(), ..Asked::default() };
    let either = |words: [&str; 2], links: [&Asked; 2], second: bool| {
        html! {
            @for (place, (word, link)) in words.iter().zip(links).enumerate() {
                @if place > 0 { " · " }
                a href=(link.address("/bench")) aria-current=[((place == 1) == second).then_some("true")] { (word) }
            }
        }
    };
    html! {
        dl.block {
            div.wide {
                dt { "Bike" }
                dd {
                    (answer.bike) " · " a href=(asked.address("/bike")) { "edit this bike" } " · "
                    a href=(as_it_is.address("/bike.toml")) { "its file" } " · " a href="/" { "another" }
                }
            }
            div { dt { "Pose" } dd { (either(["unladen", "rider aboard"], [&unladen, &aboard], on_stand.pose == Pose::Sagged)) } }
            div { dt { "Units" } dd { (either(["metric", "imperial"], [&metric, &imperial], on_stand.units == Units::Imperial)) } }
            div.wide {
                dt { "Hand it over" }
                dd {
                    a href=(asked.address("/write")) { "write the answer" } " · "
                    a href=(asked.address("/sheet.html")) { "sheet" } " · "
                    a href=(asked.address("/sheet.pdf")) { "sheet as PDF" } " · "
                    a href=(asked.address("/drawing.svg")) { "drawing" } " · "
                    a href=(asked.address("/drawing.png")) { "drawing as PNG" } " · "
                    a href=(asked.address("/card.svg")) { "card for a screen" } " · "
                    a href=(asked.address("/card.png")) { "card as PNG" } " · "
                    a href=(asked.address("/animation.svg")) { "animation" } " · "
                    a href=(asked.address("/animation.png")) { "animation as PNG" } " · "
                    a href=(asked.address("/api/answer")) { "JSON" }
                }
            }
            div { dt { "Rider" } dd { (answer.rider.as_deref().unwrap_or("not stated")) } }
            div { dt { "Drawn by" } dd { "Swapstand " (answer.program) } }
        }
    }
}
