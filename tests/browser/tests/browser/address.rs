//! The state of a bench is its address: a copied link is the same bench, and the history brings back what was there.

use browser::{Browser, House, Outcome};
use serde_json::Value;

/// What the bench shows: verdict, figures, parts, and where the sliders stand.
const SHOWN: &str = "
    const text = of => [...document.querySelectorAll(of)].map(it => it.textContent);
    return [text('h1'), text('.moves'), text('.clears'), text('.list'), text('.extras'),
        [...document.querySelectorAll('.knob input')].map(it => [it.id || it.dataset.of, it.value])];";

async fn shown(browser: &Browser) -> Outcome<Value> {
    browser.script(SHOWN, Vec::new()).await
}

/// Moves a slider with the arrow keys and waits until the whole answer to it has come.
async fn slide(browser: &Browser, name: &str, keys: &str) -> Outcome<()> {
    browser.find(&format!("[data-of=adjust-{name}]")).await?.send_keys(keys).await?;
    browser.settled().await
}

pub(crate) async fn a_copied_link_is_the_same_bench(house: &House, browser: &Browser) -> Outcome<()> {
    browser.open("/bench?bike=heron&set.fork=tarn-140").await?;
    slide(browser, "saddle_height", "\u{e014}\u{e014}\u{e014}\u{e014}").await?;
    slide(browser, "rider-mass", "\u{e012}\u{e012}").await?;
    let copied = browser.address().await?;
    assert!(copied.contains("adjust.saddle_height=") && copied.contains("adjust.rider.mass="), "{copied}");
    let other = house.browser().await?;
    other.open(&copied).await?;
    assert_eq!(shown(&other).await?, shown(browser).await?);
    house.give_back(other).await
}

pub(crate) async fn back_and_forward_bring_verdict_and_slider_back(_: &House, browser: &Browser) -> Outcome<()> {
    browser.open("/bench?bike=heron").await?;
    let first = shown(browser).await?;
    browser.open("/bench?bike=heron&set.fork=tarn-150").await?;
    let swapped = shown(browser).await?;
    slide(browser, "saddle_height", "\u{e014}\u{e014}").await?;
    let moved = shown(browser).await?;
    slide(browser, "saddle_height", "\u{e014}").await?;
    let moved_on = shown(browser).await?;
    assert!(first != swapped && swapped != moved && moved != moved_on);

    for expected in [&moved, &swapped, &first] {
        browser.back().await?;
        again(browser, expected).await?;
    }
    for expected in [&swapped, &moved, &moved_on] {
        browser.forward().await?;
        again(browser, expected).await?;
    }
    Ok(())
}

/// Waits until the bench shows what it showed.
async fn again(browser: &Browser, expected: &Value) -> Outcome<()> {
    let same = format!("const now = JSON.stringify((() => {{ {SHOWN} }})()); return now === JSON.stringify({expected})");
    let waited = browser.until("the bench to be as it was", &same).await;
    if waited.is_err() {
        assert_eq!(&shown(browser).await?, expected);
    }
    waited
}
