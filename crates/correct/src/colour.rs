//! Fits colour from a chart and judges it.
