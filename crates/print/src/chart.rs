//! Finds a colour chart and reads its patches.
