//! What stands around every request: limits of time and size, headers, a line in the log.

use std::{any::Any, time::Duration};

use axum::{
    Router,
    body::Body,
    http::{HeaderName, HeaderValue, Response, StatusCode, header},
};
use tower_http::{
    catch_panic::CatchPanicLayer, limit::RequestBodyLimitLayer, set_header::SetResponseHeaderLayer, timeout::TimeoutLayer,
    trace::TraceLayer,
};

use crate::packed::MOST_BYTES;

/// Longer than the longest search for extras takes.
const LONGEST: Duration = Duration::from_secs(30);
/// A form with a bike in it, its text written as a form writes it: three bytes for most that are not letters.
const LARGEST_BODY_BYTES: usize = 3 * MOST_BYTES;

/// Pages take style and script from here alone, and send forms here alone.
const PAGES: &str = "default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self' data:; connect-src 'self'; \
                     form-action 'self'; base-uri 'none'; frame-ancestors 'none'";
/// A sheet or a picture stands alone: its style is inside it, and it has no script.
pub(crate) const ALONE: &str =
    "default-src 'none'; style-src 'unsafe-inline'; img-src data:; form-action 'none'; base-uri 'none'; frame-ancestors 'none'";

/// Puts the guard around an app.
pub(crate) fn guarded<S: Clone + Send + Sync + 'static>(app: Router<S>) -> Router<S> {
    let always =
        |name: HeaderName, value: &'static str| SetResponseHeaderLayer::if_not_present(name, HeaderValue::from_static(value));
    app.layer(CatchPanicLayer::custom(failed))
        .layer(always(header::CONTENT_SECURITY_POLICY, PAGES))
        .layer(always(header::X_CONTENT_TYPE_OPTIONS, "nosniff"))
        .layer(always(header::REFERRER_POLICY, "no-referrer"))
        .layer(always(HeaderName::from_static("cross-origin-opener-policy"), "same-origin"))
        .layer(always(HeaderName::from_static("cross-origin-resource-policy"), "same-origin"))
        .layer(always(header::CACHE_CONTROL, "no-store"))
        .layer(RequestBodyLimitLayer::new(LARGEST_BODY_BYTES))
        .layer(TimeoutLayer::with_status_code(StatusCode::SERVICE_UNAVAILABLE, LONGEST))
        .layer(TraceLayer::new_for_http())
}

/// What a failure of the program answers: nothing of its inside.
fn failed(_: Box<dyn Any + Send + 'static>) -> Response<Body> {
    let mut response = Response::new(Body::from("swapstand failed; the log of the program says more\n"));
    *response.status_mut() = StatusCode::INTERNAL_SERVER_ERROR;
    response
}
