//! The demonstration box.
