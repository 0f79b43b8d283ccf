//! Many who move a slider at once, each on a connection that stays open.

use std::time::{Duration, Instant};

use browser::{Fault, Outcome};
use http::{Request, StatusCode, header};
use http_body_util::{BodyExt as _, Empty};
use hyper::{body::Bytes, client::conn::http1};
use hyper_util::rt::TokioIo;
use tokio::{net::TcpStream, task::JoinSet, time::sleep};

use crate::{program::Program, say, spread::told};

const CLIENTS: usize = 200;
/// What each of them asks; the first few, while all arrive at once, are not counted.
const QUESTIONS: usize = 70;
const ARRIVING: usize = 10;

/// Benches that they stand at.
const BENCHES: [&str; 5] =
    ["bike=heron&set.fork=tarn-150", "bike=heron&set.cassette=oxbow-11s-11-42", "bike=moorhen", "bike=bittern", "bike=wheatear"];

pub(crate) async fn measure(program: &Program) -> Outcome<()> {
    for (pace, pause) in
        [("each five times a second", Duration::from_millis(200)), ("each as fast as it is answered", Duration::ZERO)]
    {
        let begun = Instant::now();
        let mut crowd = JoinSet::new();
        for client in 0..CLIENTS {
            crowd.spawn(one(program.host().to_owned(), client, pause));
        }
        let (mut times_ms, mut refused) = (Vec::new(), 0);
        while let Some(one) = crowd.join_next().await {
            let (times, no) = one??;
            times_ms.extend(times);
            refused += no;
        }
        let rate = (CLIENTS * QUESTIONS) as f64 / begun.elapsed().as_secs_f64();
        say(&format!("{CLIENTS} at once, {pace}: {}; {rate:.0} answers a second, {refused} errors", told(times_ms)));
    }
    Ok(())
}

/// One of them: times of its questions, and how many were not answered well.
async fn one(host: String, client: usize, pause: Duration) -> Outcome<(Vec<f64>, usize)> {
    let (mut sender, connection) = http1::handshake(TokioIo::new(TcpStream::connect(&host).await?)).await?;
    tokio::spawn(connection);
    // Not all in the same moment.
    sleep(pause * u32::try_from(client)? / u32::try_from(CLIENTS)?).await;
    let (mut times_ms, mut refused) = (Vec::with_capacity(QUESTIONS), 0);
    for step in 0..QUESTIONS {
        let bench = BENCHES[client % BENCHES.len()];
        let (height, mass) = (690 + (step * 7 + client) % 80, 60 + (step + client * 3) % 50);
        let address = format!("/bench/live?{bench}&adjust.saddle_height={height}+mm&adjust.rider.mass={mass}+kg");
        let request = Request::get(address).header(header::HOST, &host).body(Empty::<Bytes>::new())?;
        let begun = Instant::now();
        sender.ready().await?;
        let response = sender.send_request(request).await?;
        let status = response.status();
        response.into_body().collect().await.map_err(Fault::from)?;
        let took = begun.elapsed();
        if step >= ARRIVING {
            times_ms.push(took.as_secs_f64() * 1e3);
        }
        refused += usize::from(status != StatusCode::OK);
        sleep(pause.saturating_sub(took)).await;
    }
    Ok((times_ms, refused))
}
