//! Measures the shadow that a print throws on the bed.
