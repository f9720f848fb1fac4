//! The command line of Gambrel.

fn main() {}
