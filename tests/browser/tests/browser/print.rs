//! Bench and sheet on paper: few pages, and nothing on them that only a screen can use.

use base64::{Engine as _, prelude::BASE64_STANDARD};
use browser::{Browser, House, Outcome};
use serde_json::json;

pub(crate) async fn bench_and_sheet_go_on_few_pages_without_what_is_for_the_screen(_: &House, browser: &Browser) -> Outcome<()> {
    for path in ["/bench", "/sheet.html"] {
        browser.open(&format!("{path}?bike=heron&set.fork=tarn-150")).await?;
        browser.devtools("Emulation.setEmulatedMedia", json!({ "media": "print" })).await?;
        let text = browser.text("body").await?;
        for screen_only in ["Try it", "Set-up and rider", "choose", "To the page"] {
            assert!(!text.contains(screen_only), "{path}: {screen_only}");
        }
        assert!(text.contains("What moves") && text.contains("What it must clear"), "{path}: {text}");
        browser.devtools("Emulation.setEmulatedMedia", json!({ "media": "" })).await?;

        let printed = browser.devtools("Page.printToPDF", json!({ "preferCSSPageSize": true })).await?;
        let printed = BASE64_STANDARD.decode(printed["data"].as_str().ok_or("no PDF")?)?;
        assert!(printed.starts_with(b"%PDF-"), "{path}");
        // A page that is not there cannot be printed.
        let beyond = browser.devtools("Page.printToPDF", json!({ "preferCSSPageSize": true, "pageRanges": "8-" })).await;
        assert!(beyond.is_err_and(|error| error.to_string().contains("range")), "{path}: eight pages and more");
    }
    Ok(())
}
