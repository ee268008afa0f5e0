//! The `fallside` command.

fn main() {}
