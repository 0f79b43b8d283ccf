//! The project's own chores: `cargo xtask test` is the whole suite in one command, and what `.ci/run` calls.

mod house_rules;

use std::{
    env,
    path::{Path, PathBuf},
    process::{Command, ExitCode},
    time::Instant,
};

const HELP: &str = "\
cargo xtask test      format, lints, documentation, house rules, every test, each benchmark once
cargo xtask rules     the house rules alone
cargo xtask figures   the figures of the README: build time, size, start, memory, benchmarks";

fn main() -> ExitCode {
    let root = root();
    let outcome = match env::args().nth(1).as_deref() {
        Some("test") => test(&root),
        Some("rules") => house_rules::check(&root),
        Some("figures") => figures(&root),
        _ => {
            say(HELP);
            return ExitCode::from(2);
        }
    };
    match outcome {
        Ok(()) => ExitCode::SUCCESS,
        Err(message) => {
            say(&format!("error: {message}"));
            ExitCode::FAILURE
        }
    }
}

/// The workspace's folder: the parent of this crate's.
fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).parent().map_or_else(|| PathBuf::from("."), Path::to_path_buf)
}

fn test(root: &Path) -> Result<(), String> {
    let started = Instant::now();
    step(root, "format", &["fmt", "--all", "--check"], &[])?;
    say("── house rules");
    house_rules::check(root)?;
    step(root, "lints", &["clippy", "--workspace", "--all-targets", "--locked", "--", "--deny", "warnings"], &[])?;
    step(root, "documentation", &["doc", "--workspace", "--no-deps", "--locked"], &[("RUSTDOCFLAGS", "--deny warnings")])?;
    step(root, "tests", &["test", "--workspace", "--locked"], &[("INSTA_UPDATE", "no")])?;
    step(root, "each benchmark once", &["test", "--workspace", "--benches", "--locked"], &[])?;
    say(&format!("── all passed in {} s", started.elapsed().as_secs()));
    Ok(())
}

/// Prints the figures that the README quotes.
fn figures(root: &Path) -> Result<(), String> {
    step(root, "release build", &["build", "--release", "--locked"], &[])?;
    step(root, "benchmarks", &["bench", "--workspace", "--locked"], &[])
}

/// Runs one cargo command in the workspace.
fn step(root: &Path, name: &str, arguments: &[&str], environment: &[(&str, &str)]) -> Result<(), String> {
    say(&format!("── {name}: cargo {}", arguments.join(" ")));
    let cargo = env::var_os("CARGO").unwrap_or_else(|| "cargo".into());
    let status = Command::new(cargo)
        .args(arguments)
        .envs(environment.iter().copied())
        .current_dir(root)
        .status()
        .map_err(|error| format!("cargo does not start: {error}"))?;
    if status.success() { Ok(()) } else { Err(format!("{name} failed")) }
}

/// The one place of this program that prints.
fn say(text: &str) {
    #[expect(clippy::print_stderr, reason = "a chore reports to the terminal")]
    {
        eprintln!("{text}");
    }
}
