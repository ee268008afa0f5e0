//! Gallery.
