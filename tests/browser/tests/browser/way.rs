//! A technician's way, with a mouse: from an empty stand to a sheet handed over.

use browser::{Browser, House, Outcome};

pub(crate) async fn from_an_empty_stand_to_a_sheet(_: &House, browser: &Browser) -> Outcome<()> {
    browser.open("/").await?;
    browser.follow("Heron trail bike, size L").await?;
    assert_eq!(browser.address().await?, "/bench?bike=heron");
    let as_it_stands = browser.text("h1").await?;

    browser.follow("choose another Fork").await?;
    browser.find("#find").await?.send_keys("tarn 150").await?;
    browser.find("form[role=search] button").await?.click().await?;
    browser.left("/choose?bike=heron&slot=fork").await?;
    assert!(browser.text("[role=status]").await?.starts_with("1 of 11 parts"));
    browser.follow("Tarn 150").await?;
    assert_eq!(browser.address().await?, "/bench?bike=heron&set.fork=tarn-150");
    let swapped = browser.text("h1").await?;
    assert_ne!(swapped, as_it_stands);
    assert!(browser.text("#part-fork").await?.contains("Tarn 150"));

    let before = browser.text(".moves").await?;
    let slider = browser.find("[data-of=adjust-saddle_height]").await?;
    slider.send_keys("\u{e014}\u{e014}\u{e014}").await?;
    browser.until("the address to follow the slider", "return location.search.includes('adjust.saddle_height=')").await?;
    browser.settled().await?;
    assert_ne!(browser.text(".moves").await?, before);
    let address = browser.address().await?;

    browser.follow("sheet").await?;
    assert_eq!(browser.address().await?, address.replace("/bench?", "/sheet.html?"));
    assert_eq!(browser.text("h1").await?, swapped);
    browser.back().await?;
    assert!(browser.download("sheet as PDF").await?.starts_with(b"%PDF-"));
    assert_eq!(browser.address().await?, address);
    Ok(())
}
