//! What the bare bed would read at every place of a frame.
