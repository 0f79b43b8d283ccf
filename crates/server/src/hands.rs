//! How much is worked on at once: as many questions as the machine has hands for; the others wait their turn, and not for ever.

use std::{num::NonZero, sync::Arc, thread, time::Duration};

use tokio::{
    sync::{OwnedSemaphorePermit, Semaphore},
    time::timeout,
};

use crate::mistake::Mistake;

/// Two for each processor, so that a short question gets through beside a long one.
const TO_A_PROCESSOR: usize = 2;

/// One for each processor, where a question takes a millisecond: more at once would only take longer, each of them.
const QUICK_TO_A_PROCESSOR: usize = 1;

/// How long a question waits for its turn.
const LONGEST_WAIT: Duration = Duration::from_secs(10);

/// The hands of a workshop.
#[derive(Debug)]
pub(crate) struct Hands {
    free: Arc<Semaphore>,
    longest_wait: Duration,
}

/// One of them, taken until this is dropped.
#[derive(Debug)]
pub(crate) struct Hand(#[expect(dead_code, reason = "held, not asked")] OwnedSemaphorePermit);

impl Default for Hands {
    fn default() -> Self {
        Self::new(TO_A_PROCESSOR * processors(), LONGEST_WAIT)
    }
}

fn processors() -> usize {
    thread::available_parallelism().map_or(1, NonZero::get)
}

impl Hands {
    /// Hands for questions that take a millisecond.
    pub(crate) fn quick() -> Self {
        Self::new(QUICK_TO_A_PROCESSOR * processors(), LONGEST_WAIT)
    }

    pub(crate) fn new(count: usize, longest_wait: Duration) -> Self {
        Self { free: Arc::new(Semaphore::new(count)), longest_wait }
    }

    /// Takes one, in the order of asking.
    pub(crate) async fn take(&self) -> Result<Hand, Mistake> {
        match timeout(self.longest_wait, Arc::clone(&self.free).acquire_owned()).await {
            Ok(Ok(hand)) => Ok(Hand(hand)),
            _ => Err(Mistake::busy()),
        }
    }
}

#[cfg(test)]
mod tests {
    use axum::{
        body::Body,
        http::{Request, StatusCode, header},
    };
    use knowledge::Knowledge;
    use tower::ServiceExt as _;

    use super::*;
    use crate::{Workshop, app};

    /// Whatever is asked, and by whom.
    #[tokio::test]
    async fn a_busy_program_says_so_and_when_to_ask_again() {
        let workshop = Workshop::open(Knowledge::embedded().unwrap(), &[]).unwrap();
        let busy = app(Arc::new(Workshop { hands: Hands::new(0, Duration::from_millis(5)), ..workshop }));
        for (address, kind) in [
            ("/api/answer?bike=heron", "application/problem+json"),
            ("/bench?bike=heron", "text/html; charset=utf-8"),
            ("/drawing.png?bike=heron", "text/html; charset=utf-8"),
        ] {
            let response = busy.clone().oneshot(Request::get(address).body(Body::empty()).unwrap()).await.unwrap();
            assert_eq!(response.status(), StatusCode::SERVICE_UNAVAILABLE, "{address}");
            assert_eq!(response.headers()[header::CONTENT_TYPE], kind, "{address}");
            assert_eq!(response.headers()[header::RETRY_AFTER], "1", "{address}");
        }
    }

    #[tokio::test]
    async fn who_waits_too_long_is_told_that_the_program_is_busy_and_a_freed_hand_is_taken() {
        let hands = Hands::new(1, Duration::from_millis(5));
        let taken = hands.take().await.unwrap();
        assert_eq!(hands.take().await.unwrap_err().status(), StatusCode::SERVICE_UNAVAILABLE);
        drop(taken);
        assert!(hands.take().await.is_ok());
    }
}
