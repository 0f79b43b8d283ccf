//! The program: parses the command line, calls the floors below, prints.

fn main() {}
