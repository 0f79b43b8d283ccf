//! The project's own chores.

fn main() {}
