//! The project's own chores: `cargo xtask test` is the whole suite in one command, and what `.ci/run` calls.

mod browser;
mod house_rules;

use std::{
    env,
    path::{Path, PathBuf},
    process::{Command, ExitCode},
    time::Instant,
};

const HELP: &str = "\
cargo xtask test             format, lints, documentation, house rules, every test, each benchmark once
cargo xtask rules            the house rules alone
cargo xtask figures          the figures of the README: size, start to exit of whole commands, benchmarks
cargo xtask browser-figures  those of the bench in a browser: slider to painted frame, many at once, memory";

fn main() -> ExitCode {
    let root = root();
    let outcome = match env::args().nth(1).as_deref() {
        Some("test") => test(&root),
        Some("rules") => house_rules::check(&root),
        Some("figures") => figures(&root),
        Some("browser-figures") => browser_figures(&root),
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

/// Where cargo builds.
fn target(root: &Path) -> PathBuf {
    env::var_os("CARGO_TARGET_DIR").map_or_else(|| root.join("target"), PathBuf::from)
}

fn test(root: &Path) -> Result<(), String> {
    let started = Instant::now();
    step(root, "format", &["fmt", "--all", "--check"], &[])?;
    say("── house rules");
    house_rules::check(root)?;
    step(root, "lints", &["clippy", "--workspace", "--all-targets", "--locked", "--", "--deny", "warnings"], &[])?;
    step(root, "documentation", &["doc", "--workspace", "--no-deps", "--locked"], &[("RUSTDOCFLAGS", "--deny warnings")])?;
    browser::ready(root)?;
    step(root, "tests", &["test", "--workspace", "--locked"], &[("INSTA_UPDATE", "no")])?;
    step(root, "each benchmark once", &["test", "--workspace", "--benches", "--locked"], &[])?;
    say(&format!("── all passed in {} s", started.elapsed().as_secs()));
    Ok(())
}

/// Whole commands timed for the README.
const TIMED: [(&str, &[&str]); 4] = [
    ("try", &["try", "demo/heron.toml", "--set", "fork=tarn-150"]),
    ("check", &["check", "demo/moorhen.toml"]),
    ("try with a PDF sheet", &["try", "demo/heron.toml", "--set", "fork=tarn-150", "--sheet", "target/figures.pdf"]),
    ("try with a PNG drawing", &["try", "demo/heron.toml", "--set", "fork=tarn-150", "--drawing", "target/figures.png"]),
];

/// Runs of each; the median counts.
const RUNS: usize = 31;

/// Prints the figures that the README quotes.
fn figures(root: &Path) -> Result<(), String> {
    step(root, "release build", &["build", "--release", "--locked"], &[])?;
    let program = target(root).join("release/swapstand");
    let bytes = std::fs::metadata(&program).map_err(|error| format!("{}: {error}", program.display()))?.len();
    say(&format!("size of the program: {:.1} MB", bytes as f64 / 1e6));
    for (name, arguments) in TIMED {
        let mut times_ms = Vec::with_capacity(RUNS);
        for _ in 0..RUNS {
            let started = Instant::now();
            let output = Command::new(&program).args(arguments).current_dir(root).output().map_err(|error| error.to_string())?;
            if !output.status.success() {
                return Err(format!("{name}: {}", String::from_utf8_lossy(&output.stderr)));
            }
            times_ms.push(started.elapsed().as_secs_f64() * 1e3);
        }
        times_ms.sort_by(f64::total_cmp);
        say(&format!("{name}, start to exit: {:.1} ms (median of {RUNS})", times_ms[RUNS / 2]));
    }
    step(root, "benchmarks", &["bench", "--workspace", "--locked", "--bench", "swap"], &[])
}

/// Prints the figures of the bench in a browser, of the program as it is released.
fn browser_figures(root: &Path) -> Result<(), String> {
    browser::ready(root)?;
    step(root, "release build", &["build", "--release", "--locked"], &[])?;
    let program = target(root).join("release/swapstand");
    step(root, "measuring", &["run", "--quiet", "--locked", "--package", "browser", "--", &program.display().to_string()], &[])
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
