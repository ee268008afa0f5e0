//! Tasks for developers.

fn main() {}
