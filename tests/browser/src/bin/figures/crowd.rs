//! Many who move a slider at once, each on a line that stays open, as a browser's page does.

use std::time::{Duration, Instant};

use browser::Outcome;
use futures_util::{SinkExt as _, StreamExt as _};
use tokio::{net::TcpStream, task::JoinSet, time::sleep};
use tokio_tungstenite::{client_async, tungstenite::Message};

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
    let stream = TcpStream::connect(&host).await?;
    stream.set_nodelay(true)?;
    let (mut line, _) = client_async(format!("ws://{host}/bench/line"), stream).await?;
    // Not all in the same moment.
    sleep(pause * u32::try_from(client)? / u32::try_from(CLIENTS)?).await;
    let (mut times_ms, mut refused) = (Vec::with_capacity(QUESTIONS), 0);
    for step in 0..QUESTIONS {
        let bench = BENCHES[client % BENCHES.len()];
        let (height, mass) = (690 + (step * 7 + client) % 80, 60 + (step + client * 3) % 50);
        let question = format!("{bench}&adjust.saddle_height={height}+mm&adjust.rider.mass={mass}+kg&room=wide");
        let begun = Instant::now();
        line.send(Message::text(question)).await?;
        let answer = line.next().await.ok_or("the line ended")??;
        let took = begun.elapsed();
        if step >= ARRIVING {
            times_ms.push(took.as_secs_f64() * 1e3);
        }
        refused += usize::from(!answer.to_text()?.starts_with("200\n"));
        sleep(pause.saturating_sub(took)).await;
    }
    Ok((times_ms, refused))
}
