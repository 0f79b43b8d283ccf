//! The process that drives browsers, on a port it chooses itself.

use std::{
    io::{BufRead as _, BufReader},
    process::{Child, Command, Stdio},
};

use fantoccini::{ClientBuilder, wd::Capabilities};
use serde_json::json;
use tempfile::TempDir;

use crate::{Browser, Fault, Outcome};

/// Its program, of Debian's package `chromium-driver`.
const PROGRAM: &str = "chromedriver";

/// A browser without a screen that asks nobody but the page it is told to open.
const FLAGS: [&str; 10] = [
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--hide-scrollbars",
    "--window-size=1280,900",
];

/// Preference of a browser that keeps a PDF as a file rather than show it.
const KEEP_PDF: &str = "plugins.always_open_pdf_externally";

/// A running driver.
#[derive(Debug)]
pub struct Driver {
    process: Child,
    address: String,
}

impl Driver {
    /// Starts it and reads from it which port it took.
    ///
    /// # Errors
    /// If it is not installed or does not come up.
    pub fn start() -> Outcome<Self> {
        let started = Command::new(PROGRAM).arg("--port=0").stdin(Stdio::null()).stdout(Stdio::piped()).spawn();
        let mut process = started.map_err(|error| {
            format!(
                "`{PROGRAM}` does not start: {error}; `cargo xtask test` installs it, with Debian's chromium and chromium-driver"
            )
        })?;
        let mut lines = BufReader::new(process.stdout.take().ok_or("the driver says nothing")?).lines();
        let port = lines.by_ref().map_while(Result::ok).find_map(|line| {
            let port = line.split("successfully on port ").nth(1)?;
            port.trim_end_matches('.').parse::<u16>().ok()
        });
        // What it says later is read and let go, lest it wait for a reader.
        std::thread::spawn(move || lines.map_while(Result::ok).for_each(drop));
        let mut driver = Self { process, address: String::new() };
        let port = port.ok_or_else(|| Fault::from(format!("`{PROGRAM}` ended before it had a port")))?;
        driver.address = format!("http://127.0.0.1:{port}");
        Ok(driver)
    }

    /// Opens a browser with a fresh profile for pages under `base`; `flags` beside those that all get.
    ///
    /// # Errors
    /// If the browser does not start.
    pub async fn browser(&self, base: &str, flags: &[&str]) -> Outcome<Browser> {
        let profile = TempDir::new()?;
        let own = format!("--user-data-dir={}", profile.path().display());
        let all: Vec<&str> = FLAGS.iter().chain(flags).copied().chain([own.as_str()]).collect();
        let mut wanted = Capabilities::new();
        wanted.insert("goog:chromeOptions".to_owned(), json!({ "args": all, "prefs": { KEEP_PDF: true } }));
        let client = ClientBuilder::new(hyper_util::client::legacy::connect::HttpConnector::new())
            .capabilities(wanted)
            .connect(&self.address)
            .await
            .map_err(|error| format!("no browser: {error}"))?;
        Ok(Browser::new(client, base.to_owned(), profile))
    }
}

impl Drop for Driver {
    fn drop(&mut self) {
        // Asked to stop, it ends its browsers too; killed at once, it would leave them behind.
        let asked = self.address.strip_prefix("http://").map(shut_down);
        if asked.is_none_or(|told| told.is_err()) {
            let _ = self.process.kill();
        }
        let _ = self.process.wait();
    }
}

/// Tells the driver at an address to end itself and its browsers.
fn shut_down(address: &str) -> std::io::Result<()> {
    use std::io::{Read as _, Write as _};
    let mut stream = std::net::TcpStream::connect(address)?;
    stream.set_read_timeout(Some(std::time::Duration::from_secs(10)))?;
    write!(stream, "GET /shutdown HTTP/1.1\r\nHost: {address}\r\nConnection: close\r\n\r\n")?;
    stream.read(&mut [0; 256]).map(drop)
}
