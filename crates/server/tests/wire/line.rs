//! The line that stays open for question after question: what it answers, what it refuses, and how it ends.

use axum::http::{HeaderValue, header};
use futures_util::{SinkExt as _, StreamExt as _};
use proptest::prelude::*;
use server::Allowance;
use tokio::{net::TcpStream, time::timeout};
use tokio_tungstenite::{
    WebSocketStream, client_async,
    tungstenite::{Error, Message, client::IntoClientRequest as _, protocol::frame::coding::CloseCode},
};

use super::{CLOSE, HANGS, SOON, Server};

type Line = WebSocketStream<TcpStream>;

/// A line opened as a page from `origin` opens it, or as a program does, which says none.
async fn open(server: &Server, origin: Option<&str>) -> Result<Line, Error> {
    let mut asked = format!("ws://localhost:{}/bench/line", server.address.port()).into_client_request()?;
    if let Some(origin) = origin {
        asked.headers_mut().insert(header::ORIGIN, HeaderValue::from_str(origin).unwrap());
    }
    let opened = timeout(HANGS, client_async(asked, server.connect().await)).await.expect("a line or a refusal");
    opened.map(|(line, _)| line)
}

async fn next(line: &mut Line) -> Option<Result<Message, Error>> {
    timeout(HANGS, line.next()).await.expect("an answer or an end")
}

/// The status and the text of the answer to a question.
async fn ask(line: &mut Line, question: &str) -> (u16, String) {
    line.send(Message::text(question)).await.unwrap();
    let answer = next(line).await.unwrap().unwrap().into_text().unwrap();
    let (status, text) = answer.split_once('\n').expect("a line of its own for the status");
    (status.parse().unwrap(), text.to_owned())
}

/// Why the line was ended from there, as a code and in words.
async fn ended(line: &mut Line) -> (CloseCode, String) {
    loop {
        match next(line).await.expect("a word at the end").unwrap() {
            Message::Close(frame) => {
                let frame = frame.expect("a reason");
                return (frame.code, frame.reason.to_string());
            }
            other => assert!(!other.is_text(), "{other}"),
        }
    }
}

/// The body and the status of one answer by request.
async fn by_request(server: &Server, question: &str) -> (u16, String) {
    let got = server.said(server.request(&format!("GET /bench/live?{question}"), CLOSE).as_bytes()).await;
    let (head, body) = got.split_once("\r\n\r\n").unwrap();
    (head["HTTP/1.1 ".len()..][..3].parse().unwrap(), body.to_owned())
}

const BENCH: &str = "bike=heron&set.fork=tarn-150&adjust.saddle_height=712+mm";

#[tokio::test]
async fn a_line_answers_what_a_request_answers() {
    let server = Server::new(Allowance::default()).await;
    let mut line = open(&server, None).await.unwrap();
    for question in [BENCH, "bike=heron", "bike=moorhen&room=wide", "bike=wheatear&room=narrow"] {
        let (status, parts) = ask(&mut line, question).await;
        assert_eq!(status, 200, "{parts}");
        assert!(parts.contains("<svg"), "{question}");
        assert_eq!((status, parts), by_request(&server, question).await, "{question}");
    }
}

/// A part that is what it was in the answer before is not said again; on another line it is.
#[tokio::test]
async fn only_what_is_new_is_said() {
    let server = Server::new(Allowance::default()).await;
    let mut line = open(&server, None).await.unwrap();
    let at = |height: u32| format!("bike=heron&set.fork=tarn-150&adjust.saddle_height={height}+mm&room=wide");
    let whole = |parts: &str| parts.split('\u{c}').map(str::to_owned).collect::<Vec<_>>();
    let mut heard: Vec<String> = Vec::new();
    let mut unsaid = 0;
    for question in [at(700), at(701), at(701), "bike=moorhen&room=wide".to_owned(), at(702)] {
        let said = whole(&ask(&mut line, &question).await.1);
        assert_eq!(said.len(), 3, "{question}");
        unsaid += said.iter().filter(|part| part.is_empty()).count();
        heard =
            said.iter().enumerate().map(|(at, part)| if part.is_empty() { heard[at].clone() } else { part.clone() }).collect();
        assert_eq!(heard, whole(&by_request(&server, &question).await.1), "{question}");
    }
    // A millimetre more leaves the gauges as they are, and asking again everything.
    assert_eq!(unsaid, 1 + 3);
    let mut other = open(&server, None).await.unwrap();
    assert!(whole(&ask(&mut other, &at(702)).await.1).iter().all(|part| !part.is_empty()));
}

/// What is wrong is said in the words a request gets, and the line stays.
#[tokio::test]
async fn a_mistake_is_told_and_the_next_question_answered() {
    let server = Server::new(Allowance::default()).await;
    let mut line = open(&server, None).await.unwrap();
    for (question, status, words) in [
        ("bike=hern", 404, "heron"),
        ("bike=heron&set.fork=nothing", 422, "nothing"),
        ("bike=heron&adjust.saddle_height=much", 422, "much"),
        ("bike=heron&adjust.saddle_height=-1+mm", 422, "saddle"),
        ("bike=heron&set.fork=%3Cscript%3E", 422, "script"),
    ] {
        let told = ask(&mut line, question).await;
        assert!(told.0 == status && told.1.contains(words), "{question}: {told:?}");
        assert_eq!(told, by_request(&server, question).await, "{question}");
    }
    assert_eq!(ask(&mut line, BENCH).await.0, 200);
}

/// A page from elsewhere can open a line to any machine; its browser says where it is from.
#[tokio::test]
async fn only_a_page_from_here_opens_a_line() {
    let server = Server::new(Allowance::default()).await;
    let port = server.address.port();
    assert!(open(&server, Some(&format!("http://localhost:{port}"))).await.is_ok());
    for other in
        ["http://evil.example", &format!("http://evil.example:{port}"), "http://localhost:1", "http://localhost", "null", ""]
    {
        match open(&server, Some(other)).await {
            Err(Error::Http(refused)) => {
                assert_eq!(refused.status(), 403, "{other}");
                let words = String::from_utf8(refused.into_body().unwrap()).unwrap();
                assert!(words.contains("may not open a line here"), "{other}: {words}");
            }
            other => panic!("{other:?}"),
        }
    }
}

#[tokio::test]
async fn what_opens_no_line_is_told_what_does() {
    let server = Server::new(Allowance::default()).await;
    let plain = server.said(server.request("GET /bench/line?bike=heron", CLOSE).as_bytes()).await;
    assert!(plain.starts_with("HTTP/1.1 4") && plain.contains("/bench/live"), "{plain}");
    let keyless = "Connection: Upgrade\r\nUpgrade: websocket\r\nSec-WebSocket-Version: 13\r\n";
    let keyless = server.said(server.request("GET /bench/line", &(keyless.to_owned() + CLOSE)).as_bytes()).await;
    assert!(keyless.starts_with("HTTP/1.1 4") && keyless.contains("/bench/live"), "{keyless}");
    let posted = server.said(server.request("POST /bench/line", CLOSE).as_bytes()).await;
    assert!(posted.starts_with("HTTP/1.1 405 "), "{posted}");
}

#[tokio::test]
async fn what_is_no_question_ends_the_line() {
    let server = Server::new(Allowance::default()).await;
    let mut line = open(&server, None).await.unwrap();
    line.send(Message::binary(b"bike=heron".as_slice())).await.unwrap();
    assert_eq!(ended(&mut line).await, (CloseCode::Unsupported, "a question is text".to_owned()));
    // No address is so long.
    let mut line = open(&server, None).await.unwrap();
    line.send(Message::text(format!("bike={}", "x".repeat(70_000)))).await.unwrap();
    assert_eq!(ended(&mut line).await.0, CloseCode::Policy);
    // A word in between is none, and a polite end is answered.
    let mut line = open(&server, None).await.unwrap();
    line.send(Message::Ping(b"there?".as_slice().into())).await.unwrap();
    assert!(next(&mut line).await.unwrap().unwrap().is_pong());
    assert_eq!(ask(&mut line, BENCH).await.0, 200);
    line.close(None).await.unwrap();
    let last = next(&mut line).await;
    assert!(matches!(last, Some(Ok(Message::Close(_)))), "{last:?}");
    assert_eq!(by_request(&server, BENCH).await.0, 200);
}

/// A line counts as a connection for as long as it is open, and it is not open for ever.
#[tokio::test]
async fn a_line_on_which_nobody_asks_makes_room() {
    let server = Server::new(Allowance { headers: SOON, connections: 1, ..Allowance::default() }).await;
    let mut line = open(&server, None).await.unwrap();
    assert_eq!(ask(&mut line, BENCH).await.0, 200);
    let waiting = by_request(&server, BENCH);
    tokio::pin!(waiting);
    assert!(timeout(SOON / 3, &mut waiting).await.is_err(), "there is no room yet");
    assert_eq!(ended(&mut line).await, (CloseCode::Normal, "nobody asks".to_owned()));
    drop(line);
    assert_eq!(waiting.await.0, 200);
}

#[tokio::test]
async fn the_end_of_the_server_ends_its_lines() {
    let mut server = Server::new(Allowance::default()).await;
    let mut line = open(&server, None).await.unwrap();
    assert_eq!(ask(&mut line, BENCH).await.0, 200);
    server.stop();
    assert_eq!(ended(&mut line).await, (CloseCode::Away, "the program ends".to_owned()));
    server.end().await;
}

/// Whatever is asked, an answer comes or a reason, never a fault of the server's own, and the line stays.
#[test]
fn hostile_questions_are_answered() {
    let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build().unwrap();
    let (server, line) = runtime.block_on(async {
        let server = Server::new(Allowance::default()).await;
        let line = open(&server, None).await.unwrap();
        (server, std::cell::RefCell::new(line))
    });
    let piece = prop_oneof![
        Just("bike=heron".to_owned()),
        Just("set.fork=tarn-150".to_owned()),
        "(bike|set\\.fork|set|adjust\\.saddle_height|adjust\\.rider\\.mass|room|candidate|=)=[^&]{0,12}",
        "[a-z.%+]{1,8}=\\PC{0,12}",
        "\\PC{0,20}",
    ];
    let questions = prop::collection::vec(piece, 0..5).prop_map(|pieces| pieces.join("&"));
    proptest!(ProptestConfig::with_cases(200), |(question in questions)| {
        let (status, text) = runtime.block_on(ask(&mut line.borrow_mut(), &question));
        prop_assert!(status == 200 || (400..500).contains(&status), "{question:?}: {status} {text}");
        prop_assert!(!text.is_empty());
    });
    drop(server);
}
