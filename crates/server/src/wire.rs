//! Connections: taken as long as there is room, cut off if nothing comes of them, and ended in good order.

use std::{convert::Infallible, future::Future, io, sync::Arc, time::Duration};

use axum::{
    Router,
    body::Body,
    http::{Request, Response},
};
use hyper::{body::Incoming, server::conn::http1, service::service_fn};
use hyper_util::rt::{TokioIo, TokioTimer};
use tokio::{
    net::{TcpListener, TcpStream},
    sync::{OwnedSemaphorePermit, Semaphore, watch},
    time::{sleep, timeout},
};
use tokio_io_timeout::TimeoutStream;
use tower::ServiceExt as _;

use crate::Allowance;

/// Request line and headers together: an address with a bike of one's own in it takes a tenth.
const LARGEST_HEAD_BYTES: usize = 80 * 1024;

/// After the system has refused a connection (no file handle is left, mostly), it is asked again so much later.
const PAUSE: Duration = Duration::from_millis(50);

/// The place of a connection: it is taken as long as any copy of this is kept. Requests carry one.
#[derive(Clone, Debug)]
pub(crate) struct Place {
    #[expect(dead_code, reason = "held, not asked")]
    taken: Arc<OwnedSemaphorePermit>,
    end: watch::Receiver<bool>,
}

impl Place {
    /// Waits until the server is to stop.
    pub(crate) async fn end(&mut self) {
        // Where nobody is left to say it, it is the end, too.
        let _ = self.end.wait_for(|ended| *ended).await;
    }
}

/// Serves until `stop` is done, and then until what is under way has been answered.
pub(crate) async fn serve(listener: TcpListener, app: Router, allowance: &Allowance, stop: impl Future<Output = ()>) {
    let mut http = http1::Builder::new();
    http.timer(TokioTimer::new()).header_read_timeout(allowance.headers).max_buf_size(LARGEST_HEAD_BYTES);
    let room = Arc::new(Semaphore::new(allowance.connections));
    let (say_end, end) = watch::channel(false);
    let mut stop = std::pin::pin!(stop);
    loop {
        let next = tokio::select! {
            () = &mut stop => break,
            next = next(&listener, &room) => next,
        };
        let (stream, taken) = match next {
            Ok(next) => next,
            Err(error) => {
                tracing::debug!(%error, "no connection");
                sleep(PAUSE).await;
                continue;
            }
        };
        let mut stream = TimeoutStream::new(stream);
        stream.set_write_timeout(Some(allowance.taking));
        let mut place = Place { taken: Arc::new(taken), end: end.clone() };
        let (app, at) = (app.clone(), place.clone());
        let answer = service_fn(move |mut request: Request<Incoming>| {
            request.extensions_mut().insert(at.clone());
            answer(app.clone(), request)
        });
        let connection = http.serve_connection(TokioIo::new(Box::pin(stream)), answer).with_upgrades();
        tokio::spawn(async move {
            let mut connection = std::pin::pin!(connection);
            let done = tokio::select! {
                done = connection.as_mut() => done,
                () = place.end() => {
                    connection.as_mut().graceful_shutdown();
                    connection.await
                }
            };
            if let Err(error) = done {
                tracing::debug!(%error, "a connection ended early");
            }
        });
    }
    drop(listener);
    say_end.send_replace(true);
    let all = u32::try_from(allowance.connections).unwrap_or(u32::MAX);
    if timeout(allowance.stop, room.acquire_many(all)).await.is_err() {
        tracing::warn!("some requests were still under way at the end");
    }
}

/// The next connection, when there is room for one.
async fn next(listener: &TcpListener, room: &Arc<Semaphore>) -> io::Result<(TcpStream, OwnedSemaphorePermit)> {
    let place = Arc::clone(room).acquire_owned().await.map_err(io::Error::other)?;
    let (stream, _) = listener.accept().await?;
    // An answer is sent whole; waiting for more to send would only hold it up.
    stream.set_nodelay(true)?;
    Ok((stream, place))
}

async fn answer(app: Router, request: Request<Incoming>) -> Result<Response<Body>, Infallible> {
    app.oneshot(request.map(Body::new)).await
}
