//! Sets a print on pure white with its own shadow.
