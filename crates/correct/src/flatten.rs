//! Straightens a frame onto a canvas with one resample.
