//! The figures of the bench in a browser: a slider moved to the frame that shows it, many who move one at once, memory.
//!
//! Its one argument is the program as it is released.

mod crowd;
mod frame;
mod program;
mod spread;

use browser::Outcome;
use tokio::runtime::Runtime;

use crate::program::Program;

fn main() -> Outcome<()> {
    let path = std::env::args().nth(1).ok_or("the path of the program is not said")?;
    let runtime = Runtime::new()?;
    let program = Program::start(&path)?;
    say(&format!("memory of the server after its start: {:.1} MiB", program.memory_mib()?));
    runtime.block_on(frame::measure(&program))?;
    runtime.block_on(crowd::measure(&program))?;
    say(&format!("memory of the server after the crowd: {:.1} MiB", program.memory_mib()?));
    Ok(())
}

/// The one place of this program that prints.
fn say(text: &str) {
    #[expect(clippy::print_stdout, reason = "figures are what this program is for")]
    {
        println!("{text}");
    }
}
