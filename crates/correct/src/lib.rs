//! Acts on pixels from what was measured; it never searches for anything itself.

pub mod colour;
pub mod flatten;
pub mod white;
