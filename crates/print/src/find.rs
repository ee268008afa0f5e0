//! Finds the outline and the window of a print.
