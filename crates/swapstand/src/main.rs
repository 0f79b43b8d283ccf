//! The program: parses the command line, calls the floors below, prints. It decides nothing.
//!
//! Exit status: 0 answered (whatever the verdict), 2 the input is wrong (and says where), 1 the program failed.

mod arguments;
mod check;
mod fits;
mod greeting;
mod load;
mod outcome;
mod parts;
mod printer;
mod serve;
mod terms;
mod text;
mod trial;

use std::process::ExitCode;

use clap::{CommandFactory, Parser};

use arguments::{Arguments, Command, SchemaOf};
use outcome::Failure;
use printer::Printer;

fn main() -> ExitCode {
    let arguments = match Arguments::try_parse() {
        Ok(arguments) => arguments,
        Err(error) => {
            // clap prints help and version to standard output (status 0) and mistakes to standard error (status 2).
            let status = if error.use_stderr() { 2 } else { 0 };
            return if error.print().is_ok() { ExitCode::from(status) } else { ExitCode::FAILURE };
        }
    };
    let printer = Printer::new(arguments.common.colour);
    match run(&arguments, printer) {
        Ok(()) => ExitCode::SUCCESS,
        Err(failure) => {
            let status = failure.status();
            match printer.message(&failure.render(printer.colour_of_messages())) {
                Ok(()) => ExitCode::from(status),
                Err(_) => ExitCode::FAILURE,
            }
        }
    }
}

fn run(arguments: &Arguments, printer: Printer) -> Result<(), Failure> {
    let knowledge = || load::knowledge(arguments.common.knowledge.as_deref());
    match &arguments.command {
        None => printer.result(greeting::TEXT)?,
        Some(Command::Try(request)) => trial::run(request, knowledge()?, printer)?,
        Some(Command::Fits(request)) => fits::run(request, knowledge()?, printer)?,
        Some(Command::Check(request)) => check::run(request, knowledge()?, printer)?,
        Some(Command::Parts(request)) => parts::run(request, &knowledge()?, printer)?,
        Some(Command::Serve(request)) => serve::run(request, knowledge()?, printer)?,
        Some(Command::Schema(request)) => {
            let knowledge = knowledge()?;
            let schema = match request.of {
                SchemaOf::Build => bike::schema::build(&knowledge),
                SchemaOf::Catalogue => bike::schema::catalogue(&knowledge),
                SchemaOf::Swap => bike::schema::swap(&knowledge),
            };
            printer.result(&format!("{schema:#}\n"))?;
        }
        Some(Command::Completions(request)) => {
            let mut text = Vec::new();
            clap_complete::generate(request.shell, &mut Arguments::command(), "swapstand", &mut text);
            printer.result(&String::from_utf8_lossy(&text))?;
        }
        Some(Command::Man) => {
            let mut text = Vec::new();
            clap_mangen::Man::new(Arguments::command()).render(&mut text)?;
            printer.result(&String::from_utf8_lossy(&text))?;
        }
    }
    Ok(())
}
