//! `swapstand serve` as its user meets it: what it prints, and how it ends.

#![cfg(unix)]
#![allow(clippy::unwrap_used, reason = "a test stops at the first thing that is not there")]

use std::{
    io::{BufRead, BufReader, Read, Write},
    net::TcpStream,
    process::{Child, ChildStderr, ChildStdout, Command, Output, Stdio},
};

struct Served {
    child: Child,
    out: BufReader<ChildStdout>,
    err: ChildStderr,
    /// Host and port of the address that was printed.
    host: String,
}

fn command(arguments: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_swapstand"));
    command.arg("serve").args(arguments).env("NO_COLOR", "1").env("COLUMNS", "100");
    command.stdin(Stdio::null()).stdout(Stdio::piped()).stderr(Stdio::piped());
    command
}

/// Starts a server at a free port and waits for the line that says where it is.
fn serve(arguments: &[&str]) -> Served {
    let mut child = command(&[&["--port", "0", "--no-browser"], arguments].concat()).spawn().unwrap();
    let mut out = BufReader::new(child.stdout.take().unwrap());
    let err = child.stderr.take().unwrap();
    let mut line = String::new();
    out.read_line(&mut line).unwrap();
    let address = line.strip_prefix("The bench is at http://").and_then(|line| line.strip_suffix("/\n"));
    let host = address.unwrap_or_else(|| panic!("{line}")).to_owned();
    Served { child, out, err, host }
}

impl Served {
    fn get(&self, path: &str) -> String {
        let mut stream = TcpStream::connect(&self.host).unwrap();
        write!(stream, "GET {path} HTTP/1.1\r\nHost: {}\r\nConnection: close\r\n\r\n", self.host).unwrap();
        let mut got = String::new();
        stream.read_to_string(&mut got).unwrap();
        got
    }

    /// Sends a signal and waits for the end: exit status, and what else was printed.
    fn end(mut self, signal: &str) -> (Option<i32>, String, String) {
        let sent = Command::new("kill").args([signal, &self.child.id().to_string()]).status().unwrap();
        assert!(sent.success());
        let status = self.child.wait().unwrap();
        let (mut out, mut err) = (String::new(), String::new());
        self.out.read_to_string(&mut out).unwrap();
        self.err.read_to_string(&mut err).unwrap();
        (status.code(), out, err)
    }
}

#[test]
fn it_says_where_it_is_answers_and_ends_in_good_order_when_it_is_told_to() {
    for signal in ["-TERM", "-INT"] {
        let served = serve(&[]);
        assert!(served.host.starts_with("127.0.0.1:") && !served.host.ends_with(":0"), "{}", served.host);
        assert!(served.get("/api/bikes").contains("\"heron\""));
        // A connection that is left open does not hold up the end.
        let _idle = TcpStream::connect(&served.host).unwrap();
        assert_eq!(served.end(signal), (Some(0), String::new(), String::new()), "{signal}");
    }
}

#[test]
fn with_a_log_it_writes_a_line_a_request_to_standard_error() {
    let served = serve(&["--log"]);
    served.get("/api/answer?bike=heron&budget=300");
    served.get("/api/nothing");
    let (code, out, log) = served.end("-TERM");
    assert_eq!((code, out.as_str()), (Some(0), ""));
    let lines: Vec<serde_json::Value> = log.lines().map(|line| serde_json::from_str(line).unwrap()).collect();
    let seen: Vec<_> =
        lines.iter().map(|line| (line["span"]["path"].as_str().unwrap(), line["status"].as_u64().unwrap())).collect();
    assert_eq!(seen, [("/api/answer", 200), ("/api/nothing", 404)], "{log}");
    assert!(lines.iter().all(|line| line["span"]["method"] == "GET" && line["milliseconds"].is_number()), "{log}");
    assert!(!log.contains("budget"), "{log}");
}

#[test]
fn a_port_that_is_taken_and_a_bike_that_is_wrong_are_told() {
    let served = serve(&[]);
    let port = served.host.rsplit_once(':').unwrap().1.to_owned();
    let refused = |arguments: &[&str]| -> (Option<i32>, String) {
        let Output { status, stdout, stderr } = command(arguments).output().unwrap();
        assert_eq!(stdout, b"");
        (status.code(), String::from_utf8(stderr).unwrap())
    };
    let (code, told) = refused(&["--no-browser", "--port", &port]);
    assert_eq!(code, Some(2), "{told}");
    assert!(told.contains(&format!("cannot listen at 127.0.0.1:{port}")) && told.contains("`--port 0`"), "{told}");
    let (code, told) = refused(&["--no-browser", "--port", "0", "no-such-bike.toml"]);
    assert_eq!(code, Some(2), "{told}");
    assert!(told.contains("no-such-bike.toml"), "{told}");
    served.end("-TERM");
}
