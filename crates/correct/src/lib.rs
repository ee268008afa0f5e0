//! Acts on pixels from what was measured; it never searches for anything itself.

pub mod ambient;
pub mod canvas;
pub mod cast;
pub mod colour;
pub mod counter;
pub mod flatten;
pub mod mount;
pub mod rim;
pub mod shadow_layer;
pub mod unbend;
