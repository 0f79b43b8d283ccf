//! A command of the browser's developer tools, through its driver: what `WebDriver` itself has no word for.

use fantoccini::wd::WebDriverCompatibleCommand;
use http::Method;
use serde_json::{Value, json};

/// One command with its parameters.
#[derive(Debug)]
pub(crate) struct Devtools {
    pub(crate) command: String,
    pub(crate) parameters: Value,
}

impl WebDriverCompatibleCommand for Devtools {
    fn endpoint(&self, base: &url::Url, session: Option<&str>) -> Result<url::Url, url::ParseError> {
        base.join(&format!("session/{}/goog/cdp/execute", session.unwrap_or_default()))
    }

    fn method_and_body(&self, _: &url::Url) -> (Method, Option<String>) {
        (Method::POST, Some(json!({ "cmd": self.command, "params": self.parameters }).to_string()))
    }
}
