//! Acts on pixels from what was measured; it never searches for anything itself.

pub mod ambient;
pub mod canvas;
pub mod colour;
pub mod counter;
pub mod flatten;
pub mod mount;
pub mod unbend;
pub mod white;
