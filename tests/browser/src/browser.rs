//! A window of a browser: pages opened, things found on them, keys pressed.

use std::time::Duration;

use fantoccini::{
    Client, Locator,
    actions::{InputSource as _, KeyAction, KeyActions},
    elements::Element,
    key::Key,
};
use serde_json::{Value, json};
use tempfile::TempDir;

use crate::{Fault, Outcome, devtools::Devtools};

/// How long something that a page does of itself may take before it counts as not done.
const LONGEST: Duration = Duration::from_secs(20);
/// How often is looked.
const EVERY: Duration = Duration::from_millis(15);

/// A browser of its own profile.
#[derive(Debug)]
pub struct Browser {
    client: Client,
    /// The server's address, without a path.
    base: String,
    profile: TempDir,
}

impl Browser {
    pub(crate) fn new(client: Client, base: String, profile: TempDir) -> Self {
        Self { client, base, profile }
    }

    /// Opens a page by its path and query.
    ///
    /// # Errors
    /// If the browser cannot.
    pub async fn open(&self, address: &str) -> Outcome<()> {
        let whole = format!("{}{address}", self.base);
        self.client.goto(&whole).await.map_err(|error| format!("{address}: {error}"))?;
        self.complete().await
    }

    /// Path and query of the page that is open.
    ///
    /// # Errors
    /// If the browser does not answer.
    pub async fn address(&self) -> Outcome<String> {
        let url = self.client.current_url().await?;
        Ok(url.as_str().strip_prefix(&self.base).unwrap_or(url.as_str()).to_owned())
    }

    /// The first element that a selector names.
    ///
    /// # Errors
    /// If there is none.
    pub async fn find(&self, selector: &str) -> Outcome<Element> {
        let found = self.client.find(Locator::Css(selector)).await;
        Ok(found.map_err(|error| format!("no `{selector}` on the page: {error}"))?)
    }

    /// A link by its whole text, hidden words included, as a screen reader tells it.
    ///
    /// # Errors
    /// If there is none.
    pub async fn link(&self, text: &str) -> Outcome<Element> {
        let path = format!("//a[normalize-space(.)='{text}']");
        Ok(self.client.find(Locator::XPath(&path)).await.map_err(|error| format!("no link `{text}`: {error}"))?)
    }

    /// Follows a link and waits for the page it leads to.
    ///
    /// # Errors
    /// If there is no such link, or it leads nowhere.
    pub async fn follow(&self, text: &str) -> Outcome<()> {
        let before = self.address().await?;
        self.link(text).await?.click().await?;
        self.left(&before).await
    }

    /// Waits until another page than this one is open and complete.
    ///
    /// # Errors
    /// If that does not come about.
    pub async fn left(&self, before: &str) -> Outcome<()> {
        let deadline = tokio::time::Instant::now() + LONGEST;
        while self.address().await? == before {
            if tokio::time::Instant::now() > deadline {
                return Err(format!("still at {before}").into());
            }
            tokio::time::sleep(EVERY).await;
        }
        self.complete().await
    }

    async fn complete(&self) -> Outcome<()> {
        self.until("the page to be complete", "return document.readyState === 'complete'").await
    }

    /// Waits until the bench asks for nothing more: it says so itself.
    ///
    /// # Errors
    /// If it goes on asking.
    pub async fn settled(&self) -> Outcome<()> {
        self.until("the bench to settle", "return document.getElementById('main').getAttribute('aria-busy') === 'false'").await
    }

    /// Text of an element as it is shown; white space between words is one space.
    ///
    /// # Errors
    /// If there is no such element.
    pub async fn text(&self, selector: &str) -> Outcome<String> {
        let text = self.find(selector).await?.text().await?;
        Ok(text.split_whitespace().collect::<Vec<_>>().join(" "))
    }

    /// What a script says of the page.
    ///
    /// # Errors
    /// If it throws.
    pub async fn script(&self, script: &str, arguments: Vec<Value>) -> Outcome<Value> {
        Ok(self.client.execute(script, arguments).await?)
    }

    /// The same of a script that calls its last argument when it is done.
    ///
    /// # Errors
    /// If it throws, or takes too long.
    pub async fn script_later(&self, script: &str, arguments: Vec<Value>) -> Outcome<Value> {
        Ok(self.client.execute_async(script, arguments).await?)
    }

    /// Waits until a script says yes.
    ///
    /// # Errors
    /// If it never does.
    pub async fn until(&self, what: &str, script: &str) -> Outcome<()> {
        let deadline = tokio::time::Instant::now() + LONGEST;
        while self.script(script, Vec::new()).await? != json!(true) {
            if tokio::time::Instant::now() > deadline {
                return Err(format!("waited in vain for {what} at {}", self.address().await?).into());
            }
            tokio::time::sleep(EVERY).await;
        }
        Ok(())
    }

    /// A command of the developer tools.
    ///
    /// # Errors
    /// If the browser refuses it.
    pub async fn devtools(&self, command: &str, parameters: Value) -> Outcome<Value> {
        let asked = Devtools { command: command.to_owned(), parameters };
        Ok(self.client.issue_cmd(asked).await.map_err(|error| format!("{command}: {error}"))?)
    }

    /// Presses a key and lets it go.
    ///
    /// # Errors
    /// If the browser cannot.
    pub async fn press(&self, key: Key) -> Outcome<()> {
        let value = char::from(key);
        let press = KeyActions::new("keyboard".to_owned()).then(KeyAction::Down { value }).then(KeyAction::Up { value });
        Ok(self.client.perform_actions(press).await?)
    }

    /// Types a text into whatever has the focus.
    ///
    /// # Errors
    /// If the browser cannot.
    pub async fn write(&self, text: &str) -> Outcome<()> {
        let strokes = text.chars().fold(KeyActions::new("keyboard".to_owned()), |strokes, value| {
            strokes.then(KeyAction::Down { value }).then(KeyAction::Up { value })
        });
        Ok(self.client.perform_actions(strokes).await?)
    }

    /// One step back in the history, or forward.
    ///
    /// # Errors
    /// If the browser cannot.
    pub async fn back(&self) -> Outcome<()> {
        Ok(self.client.back().await?)
    }

    /// One step forward in the history.
    ///
    /// # Errors
    /// If the browser cannot.
    pub async fn forward(&self) -> Outcome<()> {
        Ok(self.client.forward().await?)
    }

    /// A window of another width, CSS pixels.
    ///
    /// # Errors
    /// If the browser refuses it.
    pub async fn width(&self, width: u32) -> Outcome<()> {
        let size = json!({ "width": width, "height": 900, "deviceScaleFactor": 1, "mobile": false });
        self.devtools("Emulation.setDeviceMetricsOverride", size).await.map(drop)
    }

    /// The light scheme of a page, or the dark one.
    ///
    /// # Errors
    /// If the browser refuses it.
    pub async fn scheme(&self, dark: bool) -> Outcome<()> {
        let value = if dark { "dark" } else { "light" };
        let features = json!({ "features": [{ "name": "prefers-color-scheme", "value": value }] });
        self.devtools("Emulation.setEmulatedMedia", features).await.map(drop)
    }

    /// Lets pages run their scripts, or not.
    ///
    /// # Errors
    /// If the browser refuses it.
    pub async fn scripts(&self, run: bool) -> Outcome<()> {
        self.devtools("Emulation.setScriptExecutionDisabled", json!({ "value": !run })).await.map(drop)
    }

    /// Follows a link to a file that the browser keeps rather than shows, and reads the file.
    ///
    /// # Errors
    /// If no file comes.
    pub async fn download(&self, text: &str) -> Outcome<Vec<u8>> {
        let folder = self.profile.path().join("downloads");
        std::fs::create_dir_all(&folder)?;
        let kept = json!({ "behavior": "allow", "downloadPath": folder });
        self.devtools("Browser.setDownloadBehavior", kept).await?;
        self.link(text).await?.click().await?;
        let deadline = tokio::time::Instant::now() + LONGEST;
        loop {
            let files = std::fs::read_dir(&folder)?.collect::<Result<Vec<_>, _>>()?;
            // A file under way has an ending of its own.
            if let Some(file) = files.iter().find(|file| file.path().extension().is_none_or(|it| it != "crdownload"))
                && files.len() == 1
            {
                let bytes = std::fs::read(file.path())?;
                std::fs::remove_file(file.path())?;
                return Ok(bytes);
            }
            if tokio::time::Instant::now() > deadline {
                return Err(format!("`{text}` brought no file").into());
            }
            tokio::time::sleep(EVERY).await;
        }
    }

    /// What is to be seen, as PNG.
    ///
    /// # Errors
    /// If the browser cannot.
    pub async fn picture(&self) -> Outcome<Vec<u8>> {
        Ok(self.client.screenshot().await?)
    }

    /// Takes back everything that was changed of the window, and leaves the page.
    ///
    /// # Errors
    /// If the browser does not answer.
    pub async fn clear(&self) -> Outcome<()> {
        self.devtools("Emulation.clearDeviceMetricsOverride", json!({})).await?;
        self.devtools("Emulation.setEmulatedMedia", json!({ "media": "", "features": [] })).await?;
        self.scripts(true).await?;
        self.client.release_actions().await?;
        Ok(self.client.goto("about:blank").await?)
    }

    /// Closes it.
    ///
    /// # Errors
    /// If it does not answer.
    pub async fn close(self) -> Outcome<()> {
        self.client.close().await.map_err(Fault::from)
    }
}
