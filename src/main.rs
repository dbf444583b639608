//! Parses the command line, calls `cli`, exits with its code.

fn main() {}
