//! The part of the bench that follows a slider, asked for by a request, or question after question on a line that stays open
//! (a WebSocket, RFC 6455): a browser takes three milliseconds more for a request than for a word on a line.
//!
//! A question is what stands behind the `?` of a bench's address. Its answer on a line begins with a line of its own, the status that
//! a response would have; then come the parts of the page, or what is wrong in words. A part that is what it was in the answer before
//! on this line is left empty: while a saddle goes up, most of a page stays as it is.

use std::{
    future::ready,
    hash::{BuildHasher as _, RandomState},
    sync::Arc,
    time::Duration,
};

use axum::{
    Extension, Router,
    extract::{
        RawQuery, State,
        ws::{CloseFrame, Message, WebSocket, WebSocketUpgrade, close_code, rejection::WebSocketUpgradeRejection},
    },
    http::{HeaderMap, StatusCode, Uri, header},
    response::{IntoResponse, Response},
    routing::get,
};
use source_file::{Problem, quoted};
use tokio::time::timeout;

use crate::{
    asked::Asked,
    mistake::Mistake,
    on_stand::OnStand,
    page::{self, Room},
    router::{Shop, words_alone},
    wire::Place,
    workshop::Workshop,
};

/// Where a script opens a line.
const LINE: &str = "/bench/line";

/// A question is no longer than an address may be.
const LONGEST_QUESTION_BYTES: usize = 64 * 1024;

/// Most questions are shorter. Every open line keeps so much.
const USUAL_QUESTION_BYTES: usize = 4 * 1024;

/// Addresses of this room. A line on which nobody asks for so long is closed.
pub(crate) fn routes(patience: Duration) -> Router<Arc<Workshop>> {
    let line =
        move |workshop: Shop, place, headers: HeaderMap, upgrade| ready(line(workshop, place, &headers, upgrade, patience));
    Router::new().route("/bench/live", get(live)).route(LINE, get(line))
}

/// The parts of the page that change, in the order of asking. They take a millisecond, less than it takes to hand work on where many
/// ask.
async fn parts(workshop: &Workshop, query: &str) -> Result<Arc<str>, Mistake> {
    let _hand = workshop.quick_hands.take().await?;
    let (asked, room) = (Asked::from_query(query), Room::said(query));
    let address = asked.address(room.word());
    if let Some(known) = workshop.remembered.page(&address) {
        return Ok(known);
    }
    let on_stand = OnStand::new(&asked, workshop)?;
    let parts = Arc::<str>::from(page::live(&asked, &on_stand, &on_stand.quick_answer()?, room).into_string());
    workshop.remembered.keep_page(address, parts.clone());
    Ok(parts)
}

async fn live(State(workshop): Shop, RawQuery(query): RawQuery) -> Response {
    match parts(&workshop, query.as_deref().unwrap_or_default()).await {
        Ok(parts) => ([(header::CONTENT_TYPE, "text/html; charset=utf-8")], String::from(&*parts)).into_response(),
        Err(mistake) => words_alone(&mistake),
    }
}

fn line(
    State(workshop): Shop,
    place: Option<Extension<Place>>,
    headers: &HeaderMap,
    upgrade: Result<WebSocketUpgrade, WebSocketUpgradeRejection>,
    patience: Duration,
) -> Response {
    let opened = of_own_page(headers).and_then(|()| {
        let refused = |rejection: WebSocketUpgradeRejection| {
            let status = rejection.into_response().status();
            Mistake::Request(status, Problem::new("a line is opened as a WebSocket").help("ask `/bench/live` for one answer"))
        };
        upgrade.map_err(refused)
    });
    match opened {
        Ok(upgrade) => upgrade
            .max_message_size(LONGEST_QUESTION_BYTES)
            .max_frame_size(LONGEST_QUESTION_BYTES)
            .read_buffer_size(USUAL_QUESTION_BYTES)
            .write_buffer_size(0)
            .on_upgrade(move |socket| answer_all(socket, workshop, place.map(|Extension(place)| place), patience)),
        Err(mistake) => mistake.response(LINE),
    }
}

/// A browser lets every page open a line, and says which page it was: only one from here may.
fn of_own_page(headers: &HeaderMap) -> Result<(), Mistake> {
    let Some(origin) = headers.get(header::ORIGIN) else { return Ok(()) };
    let from = origin.to_str().ok().and_then(|origin| origin.parse::<Uri>().ok());
    let from = from.as_ref().and_then(Uri::authority).map(|authority| authority.as_str().to_ascii_lowercase());
    let own = headers.get(header::HOST).and_then(|host| host.to_str().ok()).map(str::to_ascii_lowercase);
    if from.is_some() && from == own {
        return Ok(());
    }
    let stranger = quoted(&String::from_utf8_lossy(origin.as_bytes()));
    Err(Mistake::Request(StatusCode::FORBIDDEN, Problem::new(format!("a page of {stranger} may not open a line here"))))
}

/// Answers question after question until nobody asks any more, or the server is to stop.
async fn answer_all(mut socket: WebSocket, workshop: Arc<Workshop>, mut place: Option<Place>, patience: Duration) {
    let (mut answered, mut said) = (0_u64, Said::default());
    let why = loop {
        let asked = tokio::select! {
            () = told_to_end(place.as_mut()) => break (close_code::AWAY, "the program ends"),
            asked = timeout(patience, socket.recv()) => asked,
        };
        let question = match asked {
            Err(_) => break (close_code::NORMAL, "nobody asks"),
            Ok(None) => break (close_code::NORMAL, ""),
            Ok(Some(Err(error))) => {
                tracing::debug!(%error, "a line broke");
                break (close_code::POLICY, "not understood");
            }
            Ok(Some(Ok(Message::Binary(_)))) => break (close_code::UNSUPPORTED, "a question is text"),
            // Answered while the next one is waited for; after an end there is none.
            Ok(Some(Ok(Message::Ping(_) | Message::Pong(_) | Message::Close(_)))) => continue,
            Ok(Some(Ok(Message::Text(question)))) => question,
        };
        let answer = match parts(&workshop, &question).await {
            Ok(parts) => told(StatusCode::OK, &said.news(&parts)),
            Err(mistake) => told(mistake.status(), &mistake.words()),
        };
        if let Err(error) = socket.send(Message::text(answer)).await {
            tracing::debug!(%error, "an answer was not taken");
            return;
        }
        answered += 1;
    };
    tracing::info!(answered, "a line ended");
    let frame = CloseFrame { code: why.0, reason: why.1.into() };
    let _ = timeout(patience, socket.send(Message::Close(Some(frame)))).await;
}

/// What was said last on a line, to say only what is new.
#[derive(Default)]
struct Said {
    /// Keyed at random, so that nobody can make two parts look alike.
    state: RandomState,
    parts: Vec<u64>,
}

impl Said {
    /// The parts of an answer, those left empty that are what they were.
    fn news(&mut self, answer: &str) -> String {
        let before = std::mem::replace(&mut self.parts, answer.split(page::NEXT).map(|part| self.state.hash_one(part)).collect());
        // A name may have the sign between two parts in it: then nobody can tell which part is which.
        if before.len() != page::PARTS || self.parts.len() != page::PARTS {
            return answer.to_owned();
        }
        let mut news = String::with_capacity(answer.len());
        for (at, part) in answer.split(page::NEXT).enumerate() {
            if at > 0 {
                news.push(page::NEXT);
            }
            if before[at] != self.parts[at] {
                news.push_str(part);
            }
        }
        news
    }
}

async fn told_to_end(place: Option<&mut Place>) {
    match place {
        Some(place) => place.end().await,
        None => std::future::pending().await,
    }
}

fn told(status: StatusCode, text: &str) -> String {
    format!("{}\n{text}", status.as_str())
}
