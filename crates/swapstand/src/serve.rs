//! `serve`: the bench in a browser.

use std::net::SocketAddr;

use knowledge::Knowledge;
use server::{Bound, Workshop};
use source_file::Problem;

use crate::{arguments::Serve, outcome::Failure, printer::Printer};

pub(crate) fn run(request: &Serve, knowledge: Knowledge, printer: Printer) -> Result<(), Failure> {
    let workshop = Workshop::open(knowledge, &request.files)?;
    if request.log {
        tracing_subscriber::fmt().json().flatten_event(true).with_writer(std::io::stderr).init();
    }
    // A task here is a whole answer, a millisecond or two: after the sixty-one of the default, a question that came in meanwhile
    // would have lain there for a tenth of a second.
    let runtime = tokio::runtime::Builder::new_multi_thread().enable_all().event_interval(2).global_queue_interval(2).build()?;
    let outcome = runtime.block_on(serve(request, workshop, printer));
    // Work whose asker has been given up is not waited for.
    runtime.shutdown_background();
    outcome
}

async fn serve(request: &Serve, workshop: Workshop, printer: Printer) -> Result<(), Failure> {
    let wanted = SocketAddr::new(request.host, request.port);
    let bound = Bound::to(wanted, workshop).await.map_err(|error| {
        Problem::new(format!("cannot listen at {wanted}: {error}")).help("name another port, or `--port 0` for any that is free")
    })?;
    let address = format!("http://{}/", bound.address()?);
    printer.result(&format!("The bench is at {address}\n"))?;
    if !wanted.ip().is_loopback() {
        printer.message("Whoever reaches this address can use the bench: there is no password.\n")?;
    }
    if !request.no_browser && open::that_detached(&address).is_err() {
        printer.message("No browser could be opened; open the address yourself.\n")?;
    }
    bound.serve(stopped()).await?;
    Ok(())
}

/// Waits to be told to stop: an interrupt from the keyboard, or a request to end.
async fn stopped() {
    let interrupt = async {
        let _ = tokio::signal::ctrl_c().await;
    };
    #[cfg(unix)]
    {
        use tokio::signal::unix::{SignalKind, signal};
        if let Ok(mut ended) = signal(SignalKind::terminate()) {
            tokio::select! {
                () = interrupt => {}
                _ = ended.recv() => {}
            }
            return;
        }
    }
    interrupt.await;
}
