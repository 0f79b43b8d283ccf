//! Every page by keyboard alone: the focus goes everywhere, in the order of the page, is seen wherever it is, and goes on.

use browser::{Browser, House, Outcome};
use fantoccini::key::Key;
use serde_json::json;

use crate::pages::{PAGES, open};

/// Notes each place that the focus comes to: which of the page's stops it is, and what is wrong there.
const WATCH: &str = "
    const wanted = 'a[href],button,input:not([type=hidden]),textarea,select,summary,[tabindex=\"0\"]';
    const stops = [...document.querySelectorAll(wanted)].filter(it => it.checkVisibility({ visibilityProperty: true }) && !it.disabled);
    const rgb = text => text.match(/[\\d.]+/g).map(Number);
    const light = ([r, g, b]) => [r, g, b].map(c => c / 255).map(c => c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4)
        .reduce((sum, c, at) => sum + c * [0.2126, 0.7152, 0.0722][at], 0);
    const contrast = (a, b) => (Math.max(light(a), light(b)) + 0.05) / (Math.min(light(a), light(b)) + 0.05);
    const ground = it => {
        for (; it; it = it.parentElement) {
            const colour = rgb(getComputedStyle(it).backgroundColor);
            if (colour.length === 3 || colour[3] === 1) return colour;
        }
        return [255, 255, 255];
    };
    const seen = { stops: stops.length, order: [], wrong: [] };
    let lowest = 0;
    addEventListener('focusin', event => {
        const it = event.target;
        const name = it.outerHTML.slice(0, 110);
        seen.order.push(stops.indexOf(it));
        const style = getComputedStyle(it);
        if (style.outlineStyle === 'none' || Number.parseFloat(style.outlineWidth) < 2) seen.wrong.push(`no outline: ${name}`);
        if (contrast(rgb(style.outlineColor), ground(it.parentElement)) < 3) seen.wrong.push(`a faint outline: ${name}`);
        const box = it.getBoundingClientRect();
        if (box.bottom <= 0 || box.top >= innerHeight || box.right <= 0 || box.left >= innerWidth || box.width < 2)
            seen.wrong.push(`out of sight: ${name}`);
        if (it.matches('.skip')) return;
        if (box.bottom + scrollY < lowest) seen.wrong.push(`goes back up the page: ${name}`);
        lowest = Math.max(lowest, box.top + scrollY);
    });
    window.seen = seen;
    return stops.length;";

pub(crate) async fn every_page_lets_the_focus_through_in_its_order_and_shows_it(_: &House, browser: &Browser) -> Outcome<()> {
    // In one column what follows is below.
    browser.width(360).await?;
    let mut told = Vec::new();
    for (name, way) in &PAGES {
        open(browser, way).await?;
        browser.script("document.activeElement.blur(); getSelection().removeAllRanges(); scrollTo(0, 0)", Vec::new()).await?;
        let stops = browser.script(WATCH, Vec::new()).await?.as_u64().ok_or("no stops are counted")?;
        for _ in 0..stops {
            browser.press(Key::Tab).await?;
        }
        let seen = browser.script("return window.seen", Vec::new()).await?;
        let expected: Vec<u64> = (0..stops).collect();
        if seen["order"] != json!(expected) {
            told.push(format!("{name}: {stops} stops, and the focus went {}", seen["order"]));
        }
        let wrong = seen["wrong"].as_array().ok_or("nothing is noted")?;
        told.extend(wrong.iter().map(|wrong| format!("{name}: {wrong}")));
        // After the last stop the focus is free to leave the page.
        browser.press(Key::Tab).await?;
        let last = format!("return window.seen.order.length === {stops} && document.activeElement !== document.body");
        if stops > 1 && browser.script(&last, Vec::new()).await? == json!(true) {
            told.push(format!("{name}: the last stop does not let go"));
        }
    }
    assert!(told.is_empty(), "{}", told.join("\n"));
    Ok(())
}

pub(crate) async fn the_first_link_leads_past_what_repeats(_: &House, browser: &Browser) -> Outcome<()> {
    for address in ["/", "/bench?bike=heron", "/choose?bike=heron&slot=fork", "/nowhere"] {
        browser.open(address).await?;
        browser.press(Key::Tab).await?;
        assert_eq!(focused(browser).await?, "To the page", "{address}");
        let box_of = "const box = document.activeElement.getBoundingClientRect(); return box.left >= 0 && box.top >= 0";
        assert_eq!(browser.script(box_of, Vec::new()).await?, json!(true), "{address}: it is not to be seen");
        browser.press(Key::Enter).await?;
        browser.press(Key::Tab).await?;
        let inside = "return document.activeElement.closest('main') !== null";
        assert_eq!(browser.script(inside, Vec::new()).await?, json!(true), "{address}");
    }
    Ok(())
}

pub(crate) async fn the_same_way_without_a_mouse(_: &House, browser: &Browser) -> Outcome<()> {
    browser.open("/").await?;
    enter(browser, "Heron trail bike, size L").await?;
    let as_it_stands = browser.text("h1").await?;

    enter(browser, "choose another Fork").await?;
    tab_to(browser, "Only parts with these words").await?;
    browser.write("tarn 150").await?;
    browser.until("the list to follow the words", "return location.search.includes('find=tarn+150')").await?;
    enter(browser, "Tarn 150").await?;
    let swapped = browser.text("h1").await?;
    assert_ne!(swapped, as_it_stands);

    let before = (browser.address().await?, browser.text(".moves").await?);
    tab_to(browser, "Slide: saddle height, bottom bracket to saddle top").await?;
    for key in [Key::Right, Key::Up, Key::PageUp, Key::Left] {
        browser.press(key).await?;
    }
    browser.left(&before.0).await?;
    browser.settled().await?;
    assert_ne!(browser.text(".moves").await?, before.1);
    assert_eq!(focused(browser).await?, "Slide: saddle height, bottom bracket to saddle top", "the focus stays in the hand");
    assert_eq!(browser.text("[role=status]").await?, browser.text("h1").await?, "the verdict is told");

    enter(browser, "sheet").await?;
    assert_eq!(browser.text("h1").await?, swapped);
    Ok(())
}

/// Tabs to something and opens it.
async fn enter(browser: &Browser, name: &str) -> Outcome<()> {
    tab_to(browser, name).await?;
    let before = browser.address().await?;
    browser.press(Key::Enter).await?;
    browser.left(&before).await
}

async fn tab_to(browser: &Browser, name: &str) -> Outcome<()> {
    for _ in 0..400 {
        browser.press(Key::Tab).await?;
        if focused(browser).await? == name {
            return Ok(());
        }
    }
    Err(format!("no way to `{name}` by keyboard").into())
}

/// What has the focus, by its name.
async fn focused(browser: &Browser) -> Outcome<String> {
    let name = "const it = document.activeElement;
        const name = it.getAttribute('aria-label') ?? it.labels?.[0]?.textContent ?? it.textContent;
        return name.trim().replace(/\\s+/g, ' ').slice(0, 200);";
    Ok(browser.script(name, Vec::new()).await?.as_str().unwrap_or_default().to_owned())
}
