//! Acts on pixels from what was measured; it never searches for anything itself.

pub mod canvas;
pub mod cast;
pub mod colour;
pub mod flatten;
pub mod mount;
pub mod shadow_layer;
