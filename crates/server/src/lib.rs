//! The bench in a browser: pages and JSON over HTTP.
//!
//! ```text
//! address ─ asked (words) ─ workshop looks them up ─ on_stand (build, swap, limits) ─ stand ─ Answer ─┬─ page (HTML)
//!                                                                                                     ├─ files (sheet, drawing)
//!                                                                                                     └─ api (JSON)
//! ```
//!
//! What the bench shows is its address, a bike of one's own included: no request depends on an earlier one. What was worked out of an
//! address is remembered, since it is the same the next time, while there is room. Every page works without
//! JavaScript; with it, a moved slider asks for the part of the page that changes.

mod api;
mod asked;
mod demo;
mod files;
mod follow;
mod form;
mod guard;
mod hands;
mod mistake;
mod on_stand;
mod packed;
mod page;
mod remembered;
mod router;
mod told;
mod wire;
mod workshop;

use std::{future::Future, io, net::SocketAddr, sync::Arc, time::Duration};

pub use api::description;
pub use router::app;
pub use workshop::Workshop;

/// What a client may take of the server: time and room.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Allowance {
    /// For the next request or question to come in, but for its body; so long an idle connection is kept, too.
    pub headers: Duration,
    /// For its body to come in.
    pub body: Duration,
    /// For the answer to be worked out, waiting included: longer than the longest search for extras takes.
    pub answer: Duration,
    /// Without any of the answer being taken.
    pub taking: Duration,
    /// For what is under way when the server is to stop.
    pub stop: Duration,
    /// Connections at once; who comes later waits for room.
    pub connections: usize,
}

impl Default for Allowance {
    fn default() -> Self {
        Self {
            headers: Duration::from_secs(15),
            body: Duration::from_secs(15),
            answer: Duration::from_secs(30),
            taking: Duration::from_secs(30),
            stop: Duration::from_secs(10),
            connections: 512,
        }
    }
}

/// A server that has its port, and has not begun.
#[derive(Debug)]
pub struct Bound {
    listener: tokio::net::TcpListener,
    workshop: Arc<Workshop>,
    allowance: Allowance,
}

impl Bound {
    /// Takes a port; port 0 takes any that is free.
    ///
    /// # Errors
    /// If the port is taken or may not be used.
    pub async fn to(address: SocketAddr, workshop: Workshop) -> io::Result<Self> {
        let listener = tokio::net::TcpListener::bind(address).await?;
        Ok(Self { listener, workshop: Arc::new(workshop), allowance: Allowance::default() })
    }

    /// The same with another allowance.
    #[must_use]
    pub fn with(self, allowance: Allowance) -> Self {
        Self { allowance, ..self }
    }

    /// Where it listens.
    ///
    /// # Errors
    /// If the system does not say.
    pub fn address(&self) -> io::Result<SocketAddr> {
        self.listener.local_addr()
    }

    /// Serves until `stop` is done; requests under way are answered first.
    ///
    /// # Errors
    /// If the system does not say where it listens.
    pub async fn serve(self, stop: impl Future<Output = ()>) -> io::Result<()> {
        let address = self.address()?;
        let app = router::app_with(self.workshop, &self.allowance);
        let app = guard::logged(guard::for_this_machine(app, address.ip(), address.port()));
        wire::serve(self.listener, app, &self.allowance, stop).await;
        Ok(())
    }
}
