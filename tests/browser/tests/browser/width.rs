//! No page is wider than its window, from a telephone to a wall, and with text twice as large.

use browser::{Browser, House, Outcome};
use serde_json::json;

use crate::pages::{PAGES, open};

/// How far the page reaches beyond the window, and what reaches furthest.
const BEYOND: &str = "
    const beyond = document.documentElement.scrollWidth - innerWidth;
    if (beyond <= 0) return null;
    const all = [...document.body.querySelectorAll('*')];
    const widest = all.reduce((a, b) => b.getBoundingClientRect().right > a.getBoundingClientRect().right ? b : a);
    return `${beyond} px: ${widest.outerHTML.slice(0, 120)}`;";

pub(crate) async fn no_page_scrolls_sideways(_: &House, browser: &Browser) -> Outcome<()> {
    let mut told = Vec::new();
    for (name, way) in &PAGES {
        open(browser, way).await?;
        for width in [320, 360, 768, 1280, 1920] {
            browser.width(width).await?;
            let beyond = browser.script(BEYOND, Vec::new()).await?;
            if beyond != json!(null) {
                told.push(format!("{name} at {width} px: {beyond}"));
            }
        }
    }
    assert!(told.is_empty(), "{}", told.join("\n"));
    Ok(())
}

pub(crate) async fn no_page_scrolls_sideways_with_text_twice_as_large(_: &House, browser: &Browser) -> Outcome<()> {
    let mut told = Vec::new();
    browser.width(1280).await?;
    for (name, way) in &PAGES {
        open(browser, way).await?;
        browser.script("document.documentElement.style.fontSize = '200%'", Vec::new()).await?;
        let beyond = browser.script(BEYOND, Vec::new()).await?;
        if beyond != json!(null) {
            told.push(format!("{name}: {beyond}"));
        }
    }
    assert!(told.is_empty(), "{}", told.join("\n"));
    Ok(())
}
