//! Writing the answer: the draft to edit, how it looks, what to look at again, and the same to read aloud.

use drawing::words::{Marks, Words};
use maud::{Markup, html};
use stand::answer::Answer;
use writing::{
    Refreshed, Text,
    aloud::{self, Line, QUICKEST, SLOWEST, Script, USUAL_PACE},
    kept::{Note, Written},
};

use crate::{
    asked::Asked,
    mistake::Mistake,
    on_stand::OnStand,
    page::{document, said},
    told::Told,
    workshop::Workshop,
};

pub(crate) fn write(workshop: &Workshop, query: &str) -> Result<Markup, Mistake> {
    let asked = Asked::from_query(query);
    let on_stand = OnStand::new(&asked, workshop)?;
    let answer = on_stand.answer()?;
    let told = Told::new(on_stand.kept.as_ref(), &answer, on_stand.units);
    let markdown = told.refreshed.markdown();
    let fresh = Asked { text: None, ..asked.clone() };
    let carried = told.carried(&asked)?;
    let body = html! {
        main #main.sheet.writing {
            section.text {
                p { a href=(asked.address("/bench")) { "← Back to the bench" } }
                h1 { "The answer in words" }
                p { (answer.bike) ": " (answer.headline) }
                form #writing method="post" action=(asked.address("/write")) {
                    label for="text" { "Text" }
                    p.small #text-help {
                        "Drafted from the answer. Change what you like; a number in square brackets stays that of the answer, whatever is "
                        "swapped later. Empty lines part paragraphs, " code { "**" } " around words makes them strong, " code { "- " }
                        " begins a point, " code { "![](#drawing)" } " puts the drawing in."
                    }
                    textarea #text name="text" rows="24" spellcheck="true" aria-describedby="text-help" { "\n" (markdown) }
                    p.act {
                        button { "Keep it" }
                        @if !told.as_drafted { " " a href=(fresh.address("/write")) { "begin again from the draft" } }
                    }
                }
            }
            div #preview { (shown(&told.refreshed, &told, &answer, &on_stand)) }
            section.over {
                h2 { "Hand it over" }
                p.small { "As it was kept last." }
                ul.hand {
                    li { a href=(carried.address("/sheet.html")) { "Sheet with these words" } }
                    li { a href=(carried.address("/sheet.pdf")) { "The same as PDF" } }
                    li { a href=(asked.address("/aloud")) { "To read aloud" } }
                }
            }
        }
    };
    Ok(document("The answer in words", &body))
}

/// How a text that is being written looks.
pub(crate) fn preview(workshop: &Workshop, query: &str, text: &str) -> Result<Markup, Mistake> {
    let asked = Asked::from_query(query);
    let on_stand = OnStand::new(&asked, workshop)?;
    let answer = on_stand.answer()?;
    let told = Told::new(on_stand.kept.as_ref(), &answer, on_stand.units);
    let refreshed = told.with(&text.replace("\r\n", "\n"));
    Ok(html! { div #preview { (shown(&refreshed, &told, &answer, &on_stand)) } })
}

fn shown(refreshed: &Refreshed, told: &Told, answer: &Answer, on_stand: &OnStand<'_>) -> Markup {
    let words = Words { answer, figures: &told.figures, units: on_stand.units, pose: on_stand.pose, marks: Marks::Shown };
    let script = aloud::script(&refreshed.text());
    let marked = refreshed.paragraphs.iter().filter(|written| written.is_marked()).count();
    html! {
        section.told {
            h2 { "As it reads" }
            p.small role="status" {
                (script.words) " words, " (minutes(&script, USUAL_PACE)) " to read aloud at " (USUAL_PACE) " words a minute. "
                @if marked > 0 { b { (marked) @if marked == 1 { " paragraph asks" } @else { " paragraphs ask" } " to be looked at again." } }
            }
            @for (place, written) in refreshed.paragraphs.iter().enumerate() {
                div.paragraph.marked[written.is_marked()] {
                    (words.html(&written.text(), &format!("told-{place}")))
                    (notes(written, &words))
                }
            }
        }
    }
}

fn notes(written: &Written, words: &Words<'_>) -> Markup {
    html! {
        @if written.is_new { p.note { "New in the draft since the text was kept." } }
        @match &written.note {
            Some(Note::NothingToSay) => { p.note { "The draft has nothing to say of this any more: is it still true?" } }
            Some(Note::SaysNow(draft)) => {
                details.note {
                    summary { "The draft of this paragraph reads differently now: is yours still true?" }
                    (words.html(&Text::from_markdown(draft), "draft"))
                }
            }
            None => {}
        }
        @if !written.own.is_empty() {
            p.note { "Of your own, not the answer's: " (written.own.join(", ")) ". No computation keeps that true." }
        }
    }
}

/// The text to be read aloud.
pub(crate) fn aloud(workshop: &Workshop, query: &str) -> Result<Markup, Mistake> {
    let asked = Asked::from_query(query);
    let on_stand = OnStand::new(&asked, workshop)?;
    let answer = on_stand.answer()?;
    let told = Told::new(on_stand.kept.as_ref(), &answer, on_stand.units);
    let script = aloud::script(&told.refreshed.text());
    let pace = said(query, "pace").parse::<u32>().unwrap_or(USUAL_PACE).clamp(SLOWEST, QUICKEST);
    let body = html! {
        main #main.sheet.plain {
            section.aloud {
                p.no-print { a href=(asked.address("/write")) { "← Back to the text" } }
                h1 { "To read aloud" }
                p { (answer.bike) ". " b { (minutes(&script, pace)) } ", " (script.words) " words." }
                form #pace method="get" action="/aloud" class="no-print" {
                    @for (key, value) in asked.pairs() { input type="hidden" name=(key) value=(value); }
                    label for="words-a-minute" { "Pace, words a minute" }
                    input #words-a-minute type="number" name="pace" min=(SLOWEST) max=(QUICKEST) step="5" value=(pace);
                    button { "Work out the time" }
                }
                @for line in &script.lines {
                    @match line {
                        Line::Say(words) => { p.say { (words) } }
                        Line::Do(what) => { p.do { "[" (what) "]" } }
                    }
                }
            }
        }
    };
    Ok(document("To read aloud", &body))
}

/// How long a script takes: `3 min 20 s`.
fn minutes(script: &Script, pace: u32) -> String {
    let seconds = script.takes(pace).as_secs();
    // Nobody reads to the second.
    let seconds = if seconds < 60 { seconds } else { seconds.div_ceil(5) * 5 };
    match (seconds / 60, seconds % 60) {
        (0, seconds) => format!("{seconds}\u{a0}s"),
        (minutes, 0) => format!("{minutes}\u{a0}min"),
        (minutes, seconds) => format!("{minutes}\u{a0}min {seconds}\u{a0}s"),
    }
}
