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
mod guard;
mod mistake;
mod on_stand;
mod packed;
mod page;
mod remembered;
mod router;
mod told;
mod workshop;

use std::{future::Future, io, net::SocketAddr, sync::Arc};

pub use router::app;
pub use workshop::Workshop;

/// A server that has its port, and has not begun.
#[derive(Debug)]
pub struct Bound {
    listener: tokio::net::TcpListener,
    workshop: Arc<Workshop>,
}

impl Bound {
    /// Takes a port; port 0 takes any that is free.
    ///
    /// # Errors
    /// If the port is taken or may not be used.
    pub async fn to(address: SocketAddr, workshop: Workshop) -> io::Result<Self> {
        Ok(Self { listener: tokio::net::TcpListener::bind(address).await?, workshop: Arc::new(workshop) })
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
    /// If the port fails.
    pub async fn serve(self, stop: impl Future<Output = ()> + Send + 'static) -> io::Result<()> {
        axum::serve(self.listener, app(self.workshop)).with_graceful_shutdown(stop).await
    }
}
