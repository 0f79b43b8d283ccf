//! A technician's way, with a mouse: from an empty stand to what is handed over.

use browser::{Browser, House, Outcome};

/// A chart as a maker prints it, field by field of the form.
pub(crate) const CHART: [(&str, &str); 12] = [
    ("stack", "610 mm"),
    ("reach", "440 mm"),
    ("head_angle", "69 deg"),
    ("seat_angle", "74 deg"),
    ("rear_centre", "437 mm"),
    ("bb_drop", "40 mm"),
    ("front_centre", "707 mm"),
    ("wheelbase", "1141 mm"),
    ("drawn_with-axle_to_crown", "524 mm"),
    ("drawn_with-fork_offset", "44 mm"),
    ("drawn_with-front_radius", "368 mm"),
    ("drawn_with-rear_radius", "368 mm"),
];

/// Writes a name and the chart into the form of a bike, and takes the fork that the chart was drawn with.
pub(crate) async fn fill_in(browser: &Browser) -> Outcome<()> {
    browser.find("#name").await?.send_keys("Whinchat trail bike").await?;
    for (field, value) in CHART {
        browser.find(&format!("#frame-chart-{field}")).await?.send_keys(value).await?;
    }
    browser.find("#slots-fork-part").await?.select_by_value("tarn-130").await?;
    Ok(())
}

pub(crate) async fn from_an_empty_stand_to_sheet_and_card(_: &House, browser: &Browser) -> Outcome<()> {
    // A bike of one's own.
    browser.open("/").await?;
    browser.follow("Put your own bike on the stand").await?;
    fill_in(browser).await?;
    let reading = "#frame-chart-front_centre-reading";
    let agrees = format!("return document.querySelector('{reading}').textContent.startsWith('agrees')");
    browser.until("the chart to be read", &agrees).await?;
    let front_centre = browser.find("#frame-chart-front_centre").await?;
    front_centre.clear().await?;
    front_centre.send_keys("757 mm").await?;
    browser.until("the wrong number to light up", &format!("return !!document.querySelector('{reading}.off')")).await?;
    front_centre.clear().await?;
    front_centre.send_keys("707 mm").await?;
    browser.until("it to be right again", &agrees).await?;
    let form = browser.address().await?;
    browser.find("nav button").await?.click().await?;
    browser.left(&form).await?;
    assert!(browser.text(".block").await?.contains("Whinchat trail bike"));

    // A swap, through the balloon in the drawing.
    browser.find("svg a[href*='slot=fork']").await?.click().await?;
    browser.until("the list", "return location.pathname === '/choose' && document.readyState === 'complete'").await?;
    browser.follow("Tarn 140").await?;
    let verdict = browser.text("h1").await?;
    let bench = browser.address().await?;

    // The answer in words of one's own.
    browser.follow("write the answer").await?;
    let draft = browser.address().await?;
    browser.find("#text").await?.send_keys("\n\nBring it back after a month.").await?;
    browser
        .until("the words to follow", "return document.getElementById('preview').textContent.includes('after a month')")
        .await?;
    browser.find("#writing button").await?.click().await?;
    browser.left(&draft).await?;
    browser.follow("Sheet with these words").await?;
    assert_eq!(browser.text("h1").await?, verdict);
    assert!(browser.text("body").await?.contains("Bring it back after a month."));
    browser.back().await?;
    assert!(browser.download("The same as PDF").await?.starts_with(b"%PDF-"));
    browser.follow("To read aloud").await?;
    assert!(browser.text(".aloud").await?.contains(" words."));

    // The screen card, as drawing and as picture, and what moves.
    browser.open(&bench).await?;
    browser.follow("card for a screen").await?;
    let size = "return document.documentElement.viewBox.baseVal.width / document.documentElement.viewBox.baseVal.height";
    assert_eq!(browser.script(size, Vec::new()).await?, 1920.0 / 1080.0);
    browser.back().await?;
    for (link, width) in [("card as PNG", 1920), ("animation as PNG", 960)] {
        browser.follow(link).await?;
        assert_eq!(browser.script("return document.images[0].naturalWidth", Vec::new()).await?, width, "{link}");
        browser.back().await?;
    }
    browser.follow("animation").await?;
    assert_eq!(browser.script("return document.documentElement.localName", Vec::new()).await?, "svg");
    Ok(())
}

pub(crate) async fn a_bike_goes_into_a_file_and_comes_back_from_it(_: &House, browser: &Browser) -> Outcome<()> {
    browser.open("/bench?bike=heron").await?;
    let shown = browser.text("h1").await?;
    let file = browser.download("its file").await?;
    let kept = tempfile::NamedTempFile::with_suffix(".toml")?;
    std::fs::write(kept.path(), &file)?;
    browser.open("/").await?;
    browser.find("#file").await?.send_keys(kept.path().to_str().ok_or("a path that is no text")?).await?;
    browser.find("form:has(#file) button").await?.click().await?;
    browser.left("/").await?;
    assert_eq!(browser.text("h1").await?, shown);
    assert!(browser.address().await?.starts_with("/bench?own="), "{}", browser.address().await?);
    Ok(())
}

pub(crate) async fn from_a_bike_of_the_demo_to_a_sheet(_: &House, browser: &Browser) -> Outcome<()> {
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
