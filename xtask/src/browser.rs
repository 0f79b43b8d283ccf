//! What the browser tests need and cargo does not bring: a browser, its driver, and the accessibility audit.

use std::{
    fs,
    path::Path,
    process::{Command, Stdio},
};

use crate::{say, target};

/// Programs, and Debian's packages of them.
const CHROMIUM: (&str, &str) = ("chromium", "chromium");
const DRIVER: (&str, &str) = ("chromedriver", "chromium-driver");
const NPM: (&str, &str) = ("npm", "npm");

/// The audit's package. Its rules change with its version, and the pages are held against these.
const AUDIT: &str = "axe-core";
const AUDIT_VERSION: &str = "4.14.1";

/// Sees that everything is there; what is missing is installed, once.
pub(crate) fn ready(root: &Path) -> Result<(), String> {
    say("── browser: chromium, its driver and the accessibility audit");
    packages(&[CHROMIUM, DRIVER])?;
    let folder = target(root).join("tmp/audit");
    let manifest = fs::read_to_string(folder.join("node_modules").join(AUDIT).join("package.json")).unwrap_or_default();
    if manifest.contains(&format!("\"version\": \"{AUDIT_VERSION}\"")) {
        return Ok(());
    }
    packages(&[NPM])?;
    fs::create_dir_all(&folder).map_err(|error| format!("{}: {error}", folder.display()))?;
    let mut npm = Command::new(NPM.0);
    npm.arg("install").arg("--prefix").arg(&folder).args(["--no-audit", "--no-fund", "--ignore-scripts"]);
    run(npm.arg(format!("{AUDIT}@{AUDIT_VERSION}")))
}

/// Installs the packages of those programs that do not start.
fn packages(wanted: &[(&str, &str)]) -> Result<(), String> {
    let missing: Vec<&str> = wanted.iter().filter(|program| !starts(program.0)).map(|program| program.1).collect();
    if missing.is_empty() {
        return Ok(());
    }
    let install = || run(apt()?.args(["install", "--yes"]).args(&missing));
    // A fresh machine has no list of packages yet.
    let installed = install().or_else(|_| run(apt()?.arg("update")).and_then(|()| install()));
    installed.map_err(|error| {
        format!("{error}\nthe browser tests need these packages: {}; install them and run this again", missing.join(", "))
    })
}

/// Debian's installer, as root.
fn apt() -> Result<Command, String> {
    let id = Command::new("id").arg("-u").output().map_err(|error| format!("id: {error}"))?;
    let mut command = Command::new(if id.stdout.trim_ascii() == b"0" { "env" } else { "sudo" });
    command.args(["DEBIAN_FRONTEND=noninteractive", "apt-get"]);
    Ok(command)
}

fn starts(program: &str) -> bool {
    Command::new(program).arg("--version").stdout(Stdio::null()).stderr(Stdio::null()).status().is_ok_and(|it| it.success())
}

fn run(command: &mut Command) -> Result<(), String> {
    let shown = format!("{command:?}").replace('"', "");
    say(&format!("   {shown}"));
    match command.stdin(Stdio::null()).status() {
        Ok(status) if status.success() => Ok(()),
        Ok(status) => Err(format!("`{shown}` ended with {status}")),
        Err(error) => Err(format!("`{shown}` does not start: {error}")),
    }
}
