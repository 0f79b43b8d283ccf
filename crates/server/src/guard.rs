//! What stands around every request: who may ask, limits of time and size, headers, a line in the log.

use std::{any::Any, net::IpAddr, time::Duration};

use axum::{
    Router,
    body::{Body, Bytes},
    extract::{DefaultBodyLimit, FromRequest as _, Request, State},
    http::{HeaderName, HeaderValue, Response, StatusCode, header, uri::Authority},
    middleware::{Next, from_fn, from_fn_with_state},
    response::IntoResponse as _,
};
use source_file::{Problem, quoted};
use tokio::time::timeout;
use tower_http::{catch_panic::CatchPanicLayer, set_header::SetResponseHeaderLayer, timeout::TimeoutLayer, trace::TraceLayer};
use tracing::Span;

use crate::{Allowance, mistake::Mistake, packed::MOST_BYTES};

/// A form with a bike in it, its text written as a form writes it: three bytes for most that are not letters.
const LARGEST_BODY_BYTES: usize = 3 * MOST_BYTES;

/// Seconds after which a busy program may be asked again.
const AGAIN_AFTER: &str = "1";

/// So much of a path goes into the log.
const MOST_LOGGED_CHARS: usize = 100;

/// Pages take style and script from here alone, and send forms here alone.
const PAGES: &str = "default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self' data:; connect-src 'self'; \
                     form-action 'self'; base-uri 'none'; frame-ancestors 'none'";
/// A sheet or a picture stands alone: its style is inside it, and it has no script.
pub(crate) const ALONE: &str =
    "default-src 'none'; style-src 'unsafe-inline'; img-src data:; form-action 'none'; base-uri 'none'; frame-ancestors 'none'";

/// Puts the guard around an app.
pub(crate) fn guarded(app: Router, allowance: &Allowance) -> Router {
    let always =
        |name: HeaderName, value: &'static str| SetResponseHeaderLayer::if_not_present(name, HeaderValue::from_static(value));
    app.layer(CatchPanicLayer::custom(failed))
        .layer(from_fn_with_state(allowance.body, with_whole_body))
        .layer(DefaultBodyLimit::max(LARGEST_BODY_BYTES))
        .layer(TimeoutLayer::with_status_code(StatusCode::SERVICE_UNAVAILABLE, allowance.answer))
        .layer(from_fn(in_words))
        .layer(always(header::CONTENT_SECURITY_POLICY, PAGES))
        .layer(always(header::X_CONTENT_TYPE_OPTIONS, "nosniff"))
        .layer(always(header::REFERRER_POLICY, "no-referrer"))
        .layer(always(HeaderName::from_static("cross-origin-opener-policy"), "same-origin"))
        .layer(always(HeaderName::from_static("cross-origin-resource-policy"), "same-origin"))
        .layer(always(header::CACHE_CONTROL, "no-store"))
}

/// Lets those ask alone who call this machine by a name of its own: a page from elsewhere whose name was made to point here calls it
/// by that name. Anyone may ask if the address is not of this machine alone.
pub(crate) fn for_this_machine(app: Router, address: IpAddr, port: u16) -> Router {
    if address.is_loopback() { app.layer(from_fn_with_state(port, called_by_own_name)) } else { app }
}

/// A line in the log for each request: what a query says may be long, and private.
pub(crate) fn logged(app: Router) -> Router {
    let trace = TraceLayer::new_for_http()
        .make_span_with(|request: &Request| {
            let path: String = request.uri().path().chars().take(MOST_LOGGED_CHARS).collect();
            tracing::info_span!("request", method = %request.method(), path)
        })
        .on_request(())
        .on_response(|response: &Response<Body>, taken: Duration, _: &Span| {
            tracing::info!(status = response.status().as_u16(), milliseconds = taken.as_secs_f64() * 1e3, "answered");
        })
        .on_body_chunk(())
        .on_eos(())
        .on_failure(());
    app.layer(trace)
}

/// Takes the whole body in before anything is done about it, so that no work waits for a slow sender.
async fn with_whole_body(State(patience): State<Duration>, request: Request, next: Next) -> Response<Body> {
    let path = request.uri().path().to_owned();
    let (head, body) = request.into_parts();
    let declared = head.headers.get(header::CONTENT_LENGTH).and_then(|length| length.to_str().ok()?.parse::<u64>().ok());
    if declared.is_some_and(|length| length > LARGEST_BODY_BYTES as u64) {
        return too_long().response(&path);
    }
    let whole = Bytes::from_request(Request::from_parts(head.clone(), body), &());
    match timeout(patience, whole).await {
        Ok(Ok(body)) => next.run(Request::from_parts(head, Body::from(body))).await,
        Ok(Err(rejected)) if rejected.status() == StatusCode::PAYLOAD_TOO_LARGE => too_long().response(&path),
        Ok(Err(_)) => Mistake::Request(StatusCode::BAD_REQUEST, Problem::new("the body broke off")).response(&path),
        Err(_) => Mistake::Request(StatusCode::REQUEST_TIMEOUT, Problem::new("the body did not come in time")).response(&path),
    }
}

fn too_long() -> Mistake {
    let long = Problem::new(format!("the body is longer than {} KiB", LARGEST_BODY_BYTES >> 10));
    Mistake::Request(StatusCode::PAYLOAD_TOO_LARGE, long)
}

/// Puts words to a status that came without any, and to a busy program's when to ask again.
async fn in_words(request: Request, next: Next) -> Response<Body> {
    let path = request.uri().path().to_owned();
    let mut response = next.run(request).await;
    if response.status() == StatusCode::SERVICE_UNAVAILABLE {
        response.headers_mut().insert(header::RETRY_AFTER, HeaderValue::from_static(AGAIN_AFTER));
    }
    let (status, headers) = (response.status(), response.headers());
    let is_wordless = (status.is_client_error() || status.is_server_error()) && !headers.contains_key(header::CONTENT_TYPE);
    if !is_wordless {
        return response;
    }
    let kept = [header::ALLOW, header::RETRY_AFTER].map(|name| Some((name.clone(), headers.get(name)?.clone())));
    let mut told = Mistake::of_status(status).response(&path);
    told.headers_mut().extend(kept.into_iter().flatten());
    told
}

async fn called_by_own_name(State(port): State<u16>, request: Request, next: Next) -> Response<Body> {
    let path = request.uri().path().to_owned();
    let mut hosts = request.headers().get_all(header::HOST).iter();
    let wrong = match (hosts.next().map(HeaderValue::to_str), hosts.next()) {
        (Some(Ok(host)), None) => {
            // What the request line names goes before the header.
            let named = [Some(host), request.uri().authority().map(Authority::as_str)];
            named.into_iter().flatten().find(|name| !is_own_name(name, port)).map(|name| {
                let wrong = Problem::new(format!("{} is not this machine's own name for itself", quoted(name)));
                Mistake::Request(StatusCode::MISDIRECTED_REQUEST, wrong.help(format!("ask `localhost:{port}`")))
            })
        }
        _ => Some(Mistake::Request(StatusCode::BAD_REQUEST, Problem::new("the request has to name one host, once"))),
    };
    match wrong {
        Some(mistake) => mistake.response(&path).into_response(),
        None => next.run(request).await,
    }
}

/// Whether a name with its port means a port of this machine, seen from itself.
fn is_own_name(name: &str, port: u16) -> bool {
    let Ok(authority) = name.parse::<Authority>() else { return false };
    let host = authority.host().trim_start_matches('[').trim_end_matches(']');
    let is_own = host.eq_ignore_ascii_case("localhost") || host.parse::<IpAddr>().is_ok_and(|address| address.is_loopback());
    // A name without a port means that of the protocol.
    let named = if authority.as_str().ends_with(authority.host()) { Some(80) } else { authority.port_u16() };
    is_own && !authority.as_str().contains('@') && named == Some(port)
}

/// What a failure of the program answers: nothing of its inside.
fn failed(_: Box<dyn Any + Send + 'static>) -> Response<Body> {
    StatusCode::INTERNAL_SERVER_ERROR.into_response()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_names_of_this_machine_with_the_right_port_are_its_own() {
        for own in ["localhost:7240", "LocalHost:7240", "127.0.0.1:7240", "127.9.9.9:7240", "[::1]:7240"] {
            assert!(is_own_name(own, 7240), "{own}");
        }
        assert!(is_own_name("localhost", 80) && is_own_name("[::1]", 80) && is_own_name("127.0.0.1:80", 80));
        for other in [
            "localhost",
            "localhost:7241",
            "localhost:",
            "evil.example:7240",
            "localhost.evil.example:7240",
            "127.0.0.1.evil.example:7240",
            "192.168.0.2:7240",
            "[::2]:7240",
            "0.0.0.0:7240",
            "user@localhost:7240",
            "localhost:7240@evil.example",
            "",
            ":7240",
            "[::1",
            "localhost:72400",
            "2130706433:7240",
        ] {
            assert!(!is_own_name(other, 7240), "{other}");
        }
    }
}
