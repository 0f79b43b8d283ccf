//! Everything a test needs around it, started once: the bench's server, the driver, and browsers that are handed on.

use std::{
    net::{Ipv4Addr, SocketAddr},
    panic::{AssertUnwindSafe, catch_unwind, resume_unwind},
    path::PathBuf,
    sync::{Mutex, PoisonError},
    time::Duration,
};

use knowledge::Knowledge;
use server::{Bound, Workshop};
use tokio::runtime::Runtime;

use crate::{Browser, Driver, Fault, Outcome};

/// A test that takes longer has got stuck.
const LONGEST: Duration = Duration::from_secs(90);

/// A server over the demo's workshop, and browsers to look at it.
#[derive(Debug)]
pub struct House {
    driver: Driver,
    base: String,
    /// Browsers that nobody uses.
    idle: Mutex<Vec<Browser>>,
    runtime: Runtime,
}

impl House {
    /// Opens the demo's workshop on a free port and starts the driver.
    ///
    /// # Errors
    /// If either does not come up.
    pub fn open() -> Outcome<Self> {
        let runtime = Runtime::new()?;
        let workshop = Workshop::open(Knowledge::embedded().map_err(|problems| problems.to_string())?, &[]);
        let workshop = workshop.map_err(|problems| problems.to_string())?;
        let bound = runtime.block_on(Bound::to(SocketAddr::from((Ipv4Addr::LOCALHOST, 0)), workshop))?;
        let base = format!("http://{}", bound.address()?);
        runtime.spawn(bound.serve(std::future::pending()));
        Ok(Self { driver: Driver::start()?, base, idle: Mutex::default(), runtime })
    }

    /// Lets a test have a browser. If it fails, what was to be seen is kept as a picture in `pictures`.
    ///
    /// # Errors
    /// What the test says, or that it got stuck.
    ///
    /// # Panics
    /// If the test does.
    pub fn visit(&self, name: &str, pictures: &str, test: impl AsyncFnOnce(&Browser) -> Outcome<()>) -> Outcome<()> {
        let browser = self.runtime.block_on(self.browser())?;
        let timed = async { tokio::time::timeout(LONGEST, test(&browser)).await };
        let tried = catch_unwind(AssertUnwindSafe(|| self.runtime.block_on(timed)));
        if let Ok(Ok(Ok(()))) = tried {
            return self.runtime.block_on(self.give_back(browser));
        }
        let picture = PathBuf::from(pictures).join(format!("{name}.png"));
        let seen: Outcome<String> = self.runtime.block_on(async {
            std::fs::write(&picture, browser.picture().await?)?;
            let address = browser.address().await?;
            browser.close().await?;
            Ok(format!("at {address}, seen in {}", picture.display()))
        });
        let seen = seen.unwrap_or_else(|error| format!("no picture: {error}"));
        match tried {
            Err(panic) => resume_unwind(panic),
            Ok(Err(_)) => Err(format!("got stuck; {seen}").into()),
            Ok(Ok(told)) => told.map_err(|error| format!("{error}\n{seen}").into()),
        }
    }

    /// Another browser, that shares nothing with the first.
    ///
    /// # Errors
    /// If it does not start.
    pub async fn browser(&self) -> Outcome<Browser> {
        let idle = self.idle.lock().unwrap_or_else(PoisonError::into_inner).pop();
        match idle {
            Some(browser) => Ok(browser),
            None => self.driver.browser(&self.base, &[]).await,
        }
    }

    /// Takes a browser back, for the next test.
    ///
    /// # Errors
    /// If it does not answer any more.
    pub async fn give_back(&self, browser: Browser) -> Outcome<()> {
        browser.clear().await.map_err(|error| Fault::from(format!("the browser cannot be used again: {error}")))?;
        self.idle.lock().unwrap_or_else(PoisonError::into_inner).push(browser);
        Ok(())
    }
}
