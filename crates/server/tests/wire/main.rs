//! The server met over real connections: what a browser never sends, and how it ends.

#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a test stops at the first thing that is not there")]

mod line;

use std::{
    cell::RefCell,
    io,
    net::{IpAddr, Ipv4Addr, SocketAddr},
    sync::LazyLock,
    time::Duration,
};

use knowledge::Knowledge;
use server::{Allowance, Bound, Workshop};
use tokio::{
    io::{AsyncReadExt as _, AsyncWriteExt as _},
    net::TcpStream,
    sync::oneshot,
    task::JoinHandle,
    time::timeout,
};

/// Nothing here takes so long unless it hangs.
const HANGS: Duration = Duration::from_secs(20);

/// What is to run out in a test runs out soon.
const SOON: Duration = Duration::from_millis(300);

struct Server {
    address: SocketAddr,
    stop: Option<oneshot::Sender<()>>,
    ended: JoinHandle<io::Result<()>>,
}

impl Server {
    async fn new(allowance: Allowance) -> Self {
        Self::at(IpAddr::V4(Ipv4Addr::LOCALHOST), allowance).await
    }

    async fn at(host: IpAddr, allowance: Allowance) -> Self {
        LazyLock::force(&HEARD);
        let workshop = Workshop::open(Knowledge::embedded().unwrap(), &[]).unwrap_or_else(|problems| panic!("{problems}"));
        let bound = Bound::to(SocketAddr::new(host, 0), workshop).await.unwrap().with(allowance);
        let address = bound.address().unwrap();
        let (stop, stopped) = oneshot::channel();
        let ended = tokio::spawn(bound.serve(async move { drop(stopped.await) }));
        Self { address, stop: Some(stop), ended }
    }

    async fn connect(&self) -> TcpStream {
        TcpStream::connect((Ipv4Addr::LOCALHOST, self.address.port())).await.unwrap()
    }

    /// A request line with the headers that have to be there.
    fn request(&self, line: &str, more: &str) -> String {
        format!("{line} HTTP/1.1\r\nHost: localhost:{}\r\n{more}\r\n", self.address.port())
    }

    fn stop(&mut self) {
        self.stop.take().unwrap().send(()).unwrap();
    }

    async fn end(self) {
        timeout(HANGS, self.ended).await.expect("the server ends").unwrap().unwrap();
    }

    /// All that comes of these bytes until the server closes the connection.
    async fn said(&self, bytes: &[u8]) -> String {
        let mut stream = self.connect().await;
        // The server may have had enough before all is sent.
        let _ = stream.write_all(bytes).await;
        rest(&mut stream).await
    }
}

/// What comes until the end of the connection.
async fn rest(stream: &mut TcpStream) -> String {
    let mut bytes = Vec::new();
    let mut piece = [0; 4096];
    loop {
        match timeout(HANGS, stream.read(&mut piece)).await.expect("the server closes the connection") {
            Ok(0) => break,
            Ok(count) => bytes.extend_from_slice(&piece[..count]),
            // What was not read of a refused request makes the end of the connection an abrupt one.
            Err(error) if error.kind() == io::ErrorKind::ConnectionReset => break,
            Err(error) => panic!("{error}"),
        }
    }
    String::from_utf8_lossy(&bytes).into_owned()
}

/// What comes of one answer on a connection that stays: its head and body.
async fn one(stream: &mut TcpStream) -> (String, Vec<u8>) {
    let mut head = Vec::new();
    while !head.ends_with(b"\r\n\r\n") {
        head.push(timeout(HANGS, stream.read_u8()).await.expect("an answer").unwrap());
    }
    let head = String::from_utf8(head).unwrap();
    let length = head.lines().find_map(|line| line.strip_prefix("content-length: ")).map_or(0, |length| length.parse().unwrap());
    let mut body = vec![0; length];
    timeout(HANGS, stream.read_exact(&mut body)).await.expect("a whole answer").unwrap();
    (head, body)
}

const CLOSE: &str = "Connection: close\r\n";

#[tokio::test]
async fn a_request_is_answered_and_head_leaves_the_body_out() {
    let server = Server::new(Allowance::default()).await;
    let got = server.said(server.request("GET /api/bikes", CLOSE).as_bytes()).await;
    assert!(got.starts_with("HTTP/1.1 200 OK\r\n") && got.contains("\"heron\""), "{got}");
    let head = server.said(server.request("HEAD /api/bikes", CLOSE).as_bytes()).await;
    assert!(head.starts_with("HTTP/1.1 200 OK\r\n") && head.ends_with("\r\n\r\n") && !head.contains("heron"), "{head}");
    assert!(head.contains("content-length: ") && !head.contains("content-length: 0"), "{head}");
    let old = server.said(format!("GET /healthz HTTP/1.0\r\nHost: 127.0.0.1:{}\r\n\r\n", server.address.port()).as_bytes()).await;
    assert!(old.starts_with("HTTP/1.0 200 OK\r\n") && old.ends_with("ok\n"), "{old}");
}

#[tokio::test]
async fn requests_sent_at_once_are_answered_in_their_order() {
    let server = Server::new(Allowance::default()).await;
    let mut stream = server.connect().await;
    let body = "{\"bike\": \"heron\", \"slot\": \"fork\"}";
    let posted = format!("Content-Type: application/json\r\nContent-Length: {}\r\n", body.len());
    let all = server.request("GET /api/slots", "")
        + &server.request("POST /api/fits", &posted)
        + body
        + &server.request("GET /healthz", "")
        + &server.request("GET /nowhere", CLOSE);
    stream.write_all(all.as_bytes()).await.unwrap();
    let [slots, fits, health, nowhere] =
        [one(&mut stream).await, one(&mut stream).await, one(&mut stream).await, one(&mut stream).await];
    assert!(slots.1.starts_with(b"{\"slots\":"));
    assert!(fits.1.starts_with(b"{\"format\":\"swapstand-fits-0\""), "{}", String::from_utf8_lossy(&fits.1));
    assert_eq!(health.1, b"ok\n");
    assert!(nowhere.0.starts_with("HTTP/1.1 404 "), "{}", nowhere.0);
    assert_eq!(rest(&mut stream).await, "");
}

/// A page from elsewhere whose name was made to point at this machine would be let in by its browser.
#[tokio::test]
async fn only_this_machines_own_names_are_answered_on_loopback() {
    let server = Server::new(Allowance::default()).await;
    let port = server.address.port();
    let ask = |line: &str, hosts: &str| format!("{line} HTTP/1.1\r\n{hosts}Connection: close\r\n\r\n").into_bytes();
    for own in ["localhost", "127.0.0.1", "[::1]", "LOCALHOST"] {
        let got = server.said(&ask("GET /healthz", &format!("Host: {own}:{port}\r\n"))).await;
        assert!(got.starts_with("HTTP/1.1 200 "), "{own}: {got}");
    }
    for other in ["evil.example", "localhost", "localhost:1", &format!("evil.example:{port}"), &format!("192.0.2.1:{port}"), ""] {
        for path in ["/healthz", "/api/bikes", "/", "/style.css"] {
            let got = server.said(&ask(&format!("GET {path}"), &format!("Host: {other}\r\n"))).await;
            assert!(got.starts_with("HTTP/1.1 421 ") && !got.contains("heron"), "{other}: {got}");
            assert!(got.contains("this machine's own name") || got.contains("this machine&#39;s own name"), "{other}: {got}");
        }
    }
    let got =
        server.said(&ask(&format!("GET http://evil.example:{port}/api/bikes"), &format!("Host: localhost:{port}\r\n"))).await;
    assert!(got.starts_with("HTTP/1.1 421 ") && got.contains("application/problem+json"), "{got}");
    for hosts in ["", &format!("Host: localhost:{port}\r\nHost: evil.example\r\n")] {
        let got = server.said(&ask("GET /api/bikes", hosts)).await;
        assert!(got.starts_with("HTTP/1.1 400 ") && got.contains("has to name one host"), "{got}");
    }
}

/// Who lets other machines in has given the server names that it does not know.
#[tokio::test]
async fn a_server_for_other_machines_answers_to_every_name() {
    let server = Server::at(IpAddr::V4(Ipv4Addr::UNSPECIFIED), Allowance::default()).await;
    let got = server.said(b"GET /healthz HTTP/1.1\r\nHost: workshop.example\r\nConnection: close\r\n\r\n").await;
    assert!(got.starts_with("HTTP/1.1 200 "), "{got}");
}

#[tokio::test]
async fn what_is_no_http_is_refused() {
    let server = Server::new(Allowance::default()).await;
    let host = format!("Host: localhost:{}\r\n", server.address.port());
    let long = |count| "x".repeat(count);
    for (bytes, status) in [
        ("nonsense\r\n\r\n".to_owned(), 400),
        ("GET / HTTP/9.9\r\n\r\n".to_owned(), 400),
        (format!("GET /\0 HTTP/1.1\r\n{host}\r\n"), 400),
        (format!("G\u{fc}T / HTTP/1.1\r\n{host}\r\n"), 400),
        (format!("GET / HTTP/1.1\r\n{host}A b: c\r\n\r\n"), 400),
        (format!("POST /stand HTTP/1.1\r\n{host}Content-Length: -1\r\n\r\n"), 400),
        (format!("POST /stand HTTP/1.1\r\n{host}Content-Length: 1\r\nContent-Length: 2\r\n\r\nab"), 400),
        (format!("POST /stand HTTP/1.1\r\n{host}Transfer-Encoding: chunked\r\n\r\nZZ\r\n"), 400),
        ("\u{16}\u{3}\u{1}\u{2}\0\u{1}\0\u{1}".to_owned(), 400),
        (format!("GET /?{} HTTP/1.1\r\n{host}\r\n", long(70_000)), 414),
        (format!("GET / HTTP/1.1\r\n{host}A: {}\r\n\r\n", long(200_000)), 431),
        (format!("GET / HTTP/1.1\r\n{host}{}\r\n", "A: b\r\n".repeat(500)), 431),
    ] {
        let got = server.said(bytes.as_bytes()).await;
        let start: String = bytes.chars().take(40).collect();
        assert!(got.starts_with(&format!("HTTP/1.1 {status} ")), "{start:?}: {got}");
    }
    // And it still answers.
    let got = server.said(server.request("GET /healthz", CLOSE).as_bytes()).await;
    assert!(got.ends_with("ok\n"));
}

#[tokio::test]
async fn a_body_that_is_too_long_is_refused_before_it_is_sent() {
    let server = Server::new(Allowance::default()).await;
    let declared = server.request("POST /api/answer", "Content-Type: application/json\r\nContent-Length: 999999999\r\n");
    let got = server.said(declared.as_bytes()).await;
    assert!(got.starts_with("HTTP/1.1 413 ") && got.contains("\"the body is longer than 768 KiB\""), "{got}");
    // One that does not say how long it is, when it has become too long.
    let mut stream = server.connect().await;
    let head = server.request("POST /api/answer", "Content-Type: application/json\r\nTransfer-Encoding: chunked\r\n");
    stream.write_all(head.as_bytes()).await.unwrap();
    let chunk = format!("10000\r\n{}\r\n", " ".repeat(0x10000));
    for _ in 0..13 {
        if stream.write_all(chunk.as_bytes()).await.is_err() {
            break;
        }
    }
    let got = rest(&mut stream).await;
    assert!(got.starts_with("HTTP/1.1 413 "), "{got}");
}

#[tokio::test]
async fn who_does_not_go_on_is_cut_off() {
    let server = Server::new(Allowance { headers: SOON, body: SOON, ..Allowance::default() }).await;
    // Nothing is said at all; a request line is begun; a header a byte at a time.
    assert_eq!(server.said(b"").await, "");
    assert_eq!(server.said(b"GET /healthz HT").await, "");
    let mut stream = server.connect().await;
    stream.write_all(b"GET / HTTP/1.1\r\n").await.unwrap();
    let (mut reading, mut writing) = stream.split();
    let trickle = async {
        while writing.write_all(b"A: b\r\n").await.is_ok() {
            tokio::time::sleep(SOON / 10).await;
        }
    };
    let mut byte = [0];
    let ended = async { timeout(HANGS, reading.read(&mut byte)).await.expect("the connection is closed") };
    tokio::select! {
        () = trickle => {}
        ended = ended => assert!(matches!(ended, Ok(0) | Err(_)), "nothing is answered"),
    }
    // A body that does not come is told so.
    let got = server
        .said(server.request("POST /api/answer", "Content-Type: application/json\r\nContent-Length: 10\r\n").as_bytes())
        .await;
    assert!(got.starts_with("HTTP/1.1 408 ") && got.contains("application/problem+json"), "{got}");
    // A connection on which nothing more is asked is closed.
    let mut stream = server.connect().await;
    stream.write_all(server.request("GET /healthz", "").as_bytes()).await.unwrap();
    assert!(one(&mut stream).await.0.starts_with("HTTP/1.1 200 "));
    assert_eq!(rest(&mut stream).await, "");
}

/// However many connections are open, one gets its turn as soon as others have been idle for long enough.
#[tokio::test]
async fn idle_connections_keep_nobody_out_for_long() {
    let server = Server::new(Allowance { headers: SOON, connections: 8, ..Allowance::default() }).await;
    let mut idle = Vec::new();
    for _ in 0..40 {
        idle.push(server.connect().await);
    }
    let got = server.said(server.request("GET /healthz", CLOSE).as_bytes()).await;
    assert!(got.ends_with("ok\n"), "{got}");
}

/// Who asks for much and takes nothing of it does not hold a connection for ever.
#[tokio::test]
async fn an_answer_that_is_not_taken_is_given_up() {
    let server = Server::new(Allowance { taking: SOON, connections: 1, ..Allowance::default() }).await;
    let mut stream = server.connect().await;
    // More answers than the system holds on both ends.
    let ask = server.request("GET /api/catalogue.schema.json", "");
    for _ in 0..60 {
        if stream.write_all(ask.as_bytes()).await.is_err() {
            break;
        }
    }
    let got = server.said(server.request("GET /healthz", CLOSE).as_bytes()).await;
    assert!(got.ends_with("ok\n"), "{got}");
}

#[tokio::test]
async fn what_is_under_way_at_the_end_is_answered_and_idle_connections_do_not_hold_it_up() {
    let mut server = Server::new(Allowance::default()).await;
    let mut idle = server.connect().await;
    idle.write_all(server.request("GET /healthz", "").as_bytes()).await.unwrap();
    assert!(one(&mut idle).await.0.starts_with("HTTP/1.1 200 "));
    let silent = server.connect().await;
    // A body has begun to come, so the request is under way.
    let mut asking = server.connect().await;
    let body = "{\"bike\": \"heron\", \"slot\": \"fork\"}";
    let head = format!("Content-Type: application/json\r\nContent-Length: {}\r\nExpect: 100-continue\r\n", body.len());
    asking.write_all(server.request("POST /api/fits", &head).as_bytes()).await.unwrap();
    assert!(one(&mut asking).await.0.starts_with("HTTP/1.1 100 "));
    server.stop();
    assert_eq!(rest(&mut idle).await, "", "an idle connection is closed");
    asking.write_all(body.as_bytes()).await.unwrap();
    let got = rest(&mut asking).await;
    assert!(got.starts_with("HTTP/1.1 200 ") && got.contains("swapstand-fits-0"), "{got}");
    let address = server.address;
    drop(silent);
    server.end().await;
    assert!(TcpStream::connect(address).await.is_err(), "nobody listens any more");
}

#[tokio::test]
async fn the_end_does_not_wait_for_ever() {
    let mut server = Server::new(Allowance { stop: SOON, ..Allowance::default() }).await;
    let mut asking = server.connect().await;
    let head = "Content-Type: application/json\r\nContent-Length: 10\r\nExpect: 100-continue\r\n";
    asking.write_all(server.request("POST /api/fits", head).as_bytes()).await.unwrap();
    assert!(one(&mut asking).await.0.starts_with("HTTP/1.1 100 "));
    server.stop();
    server.end().await;
}

thread_local! {
    /// What this thread's servers wrote to the log.
    static LOG: RefCell<Vec<u8>> = const { RefCell::new(Vec::new()) };
}

/// One log for all tests, before anything could be written: whether a place in the code is heard at all is found out once for the whole
/// process, the first time anybody comes by.
static HEARD: LazyLock<()> = LazyLock::new(|| {
    let log = tracing_subscriber::fmt().json().flatten_event(true).with_writer(|| Kept).finish();
    tracing::subscriber::set_global_default(log).unwrap();
});

struct Kept;

impl io::Write for Kept {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        LOG.with_borrow_mut(|log| io::Write::write(log, bytes))
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

/// Single-threaded, so that this thread sees all of it.
#[tokio::test]
async fn the_log_has_a_line_a_request_without_what_the_query_says() {
    let server = Server::new(Allowance::default()).await;
    server.said(server.request("GET /api/answer?bike=hern&secret=1", CLOSE).as_bytes()).await;
    server.said(server.request(&format!("GET /{}%0a%22", "x".repeat(500)), CLOSE).as_bytes()).await;
    let text = String::from_utf8(LOG.take()).unwrap();
    let lines: Vec<serde_json::Value> = text.lines().map(|line| serde_json::from_str(line).unwrap()).collect();
    assert_eq!(lines.len(), 2, "{text}");
    assert_eq!((&lines[0]["span"]["method"], &lines[0]["span"]["path"]), (&"GET".into(), &"/api/answer".into()));
    assert_eq!(lines[0]["status"], 404);
    assert!(lines[0]["milliseconds"].as_f64().unwrap() > 0.0);
    assert!(!text.contains("secret") && !text.contains("hern"), "{text}");
    assert!(lines[1]["span"]["path"].as_str().unwrap().len() < 200, "{text}");
}
