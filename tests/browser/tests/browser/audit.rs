//! Every page held against the rules of an accessibility audit from outside, colour contrast among them.

use std::{fmt::Write as _, fs, path::Path};

use browser::{Browser, House, Outcome};

use crate::pages::{PAGES, open};

/// Runs the audit and says what breaks a rule: rule, element, why.
const RUN: &str = "
    const done = arguments[arguments.length - 1];
    axe.run(document, { resultTypes: ['violations'] }).then(
        found => done(found.violations.flatMap(rule => rule.nodes.map(node =>
            `${rule.id}: ${node.target.join(' ')}: ${node.failureSummary.replace(/\\s+/g, ' ')}`))),
        error => done([`the audit failed: ${error}`]));";

pub(crate) async fn no_page_breaks_a_rule_in_the_light(_: &House, browser: &Browser) -> Outcome<()> {
    every_page(browser, false).await
}

pub(crate) async fn no_page_breaks_a_rule_in_the_dark(_: &House, browser: &Browser) -> Outcome<()> {
    every_page(browser, true).await
}

async fn every_page(browser: &Browser, dark: bool) -> Outcome<()> {
    let audit = Path::new(env!("CARGO_TARGET_TMPDIR")).join("audit/node_modules/axe-core/axe.min.js");
    let audit = fs::read_to_string(&audit)
        .map_err(|error| format!("{}: {error}; `cargo xtask test` installs the audit", audit.display()))?;
    browser.scheme(dark).await?;
    let mut told = String::new();
    for (name, way) in &PAGES {
        open(browser, way).await?;
        browser.script(&audit, Vec::new()).await?;
        let broken = browser.script_later(RUN, Vec::new()).await?;
        for line in broken.as_array().ok_or("the audit says nothing")? {
            let _ = writeln!(told, "{name}: {}", line.as_str().unwrap_or_default());
        }
    }
    assert!(told.is_empty(), "{told}");
    Ok(())
}
