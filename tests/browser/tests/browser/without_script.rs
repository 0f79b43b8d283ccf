//! The same way in a browser that runs no script: forms and links do it all.

use browser::{Browser, House, Outcome};

use crate::way::fill_in;

pub(crate) async fn the_same_way_with_forms_and_links(_: &House, browser: &Browser) -> Outcome<()> {
    browser.scripts(false).await?;
    browser.open("/").await?;
    browser.follow("Heron trail bike, size L").await?;
    // The script would show the sliders.
    assert!(!browser.find("[data-of=adjust-saddle_height]").await?.is_displayed().await?);
    let as_it_stands = browser.text("h1").await?;

    browser.follow("choose another Fork").await?;
    browser.find("#find").await?.send_keys("tarn 150").await?;
    browser.find("form[role=search] button").await?.click().await?;
    browser.left("/choose?bike=heron&slot=fork").await?;
    browser.follow("Tarn 150").await?;
    let swapped = browser.text("h1").await?;
    assert_ne!(swapped, as_it_stands);

    let before = (browser.address().await?, browser.text(".moves").await?);
    browser.find("#adjust-saddle_height").await?.send_keys("750 mm").await?;
    browser.find("#bench button").await?.click().await?;
    browser.left(&before.0).await?;
    let address = browser.address().await?;
    assert!(address.contains("set.fork=tarn-150") && address.contains("adjust.saddle_height=750+mm"), "{address}");
    assert_ne!(browser.text(".moves").await?, before.1);
    assert_eq!(browser.find("#adjust-saddle_height").await?.prop("value").await?.as_deref(), Some("750 mm"));

    browser.follow("sheet").await?;
    assert_eq!(browser.text("h1").await?, swapped);
    browser.back().await?;
    assert!(browser.download("sheet as PDF").await?.starts_with(b"%PDF-"));
    browser.follow("put back the Fork").await?;
    assert!(!browser.text("#part-fork").await?.contains("Tarn 150"));
    assert_ne!(browser.text("h1").await?, swapped);
    Ok(())
}

pub(crate) async fn a_bike_of_ones_own_with_the_form_alone(_: &House, browser: &Browser) -> Outcome<()> {
    browser.scripts(false).await?;
    browser.open("/bike").await?;
    fill_in(browser).await?;
    let front_centre = browser.find("#frame-chart-front_centre").await?;
    front_centre.clear().await?;
    front_centre.send_keys("757 mm").await?;
    // The script would read the chart while it is typed.
    assert_eq!(browser.text("#frame-chart-front_centre-reading").await?, "");
    browser.find("#frame button[value=check]").await?.click().await?;
    browser.find("#frame-chart-front_centre-reading.off").await?;
    let front_centre = browser.find("#frame-chart-front_centre").await?;
    assert_eq!(front_centre.prop("value").await?.as_deref(), Some("757 mm"));
    front_centre.clear().await?;
    front_centre.send_keys("707 mm").await?;
    let form = browser.address().await?;
    browser.find("nav button").await?.click().await?;
    browser.left(&form).await?;
    assert!(browser.text(".block").await?.contains("Whinchat trail bike"));

    browser.follow("write the answer").await?;
    let draft = browser.address().await?;
    browser.find("#text").await?.send_keys("\n\nBring it back after a month.").await?;
    browser.find("#writing button").await?.click().await?;
    browser.left(&draft).await?;
    assert!(browser.text("#preview").await?.contains("Bring it back after a month."));
    browser.follow("Sheet with these words").await?;
    assert!(browser.text("body").await?.contains("Bring it back after a month."));
    Ok(())
}
