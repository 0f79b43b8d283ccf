//! The program serving, in a process of its own.

use std::{
    fs,
    io::{BufRead as _, BufReader},
    process::{Child, Command, Stdio},
};

use browser::Outcome;

/// A running server.
#[derive(Debug)]
pub(crate) struct Program {
    process: Child,
    /// Without a path.
    pub(crate) base: String,
}

impl Program {
    /// Starts it on a free port, over the demo's workshop.
    pub(crate) fn start(path: &str) -> Outcome<Self> {
        let mut command = Command::new(path);
        command.args(["serve", "--port", "0", "--no-browser"]).stdin(Stdio::null()).stdout(Stdio::piped());
        let process = command.spawn().map_err(|error| format!("{path}: {error}"))?;
        let mut program = Self { process, base: String::new() };
        let output = program.process.stdout.take().ok_or("the program says nothing")?;
        let line = BufReader::new(output).lines().next().ok_or("the program ended at once")??;
        let base = line.split_whitespace().find(|word| word.starts_with("http://")).ok_or("no address is said")?;
        program.base.push_str(base.trim_end_matches('/'));
        Ok(program)
    }

    /// Host and port.
    pub(crate) fn host(&self) -> &str {
        self.base.trim_start_matches("http://")
    }

    /// What it holds in memory now.
    pub(crate) fn memory_mib(&self) -> Outcome<f64> {
        let status = fs::read_to_string(format!("/proc/{}/status", self.process.id()))?;
        let line = status.lines().find_map(|line| line.strip_prefix("VmRSS:")).ok_or("the system does not say")?;
        let kib: f64 = line.trim().trim_end_matches(" kB").parse()?;
        Ok(kib / 1024.0)
    }
}

impl Drop for Program {
    fn drop(&mut self) {
        let _ = self.process.kill();
        let _ = self.process.wait();
    }
}
