//! Renders the frame a rig would take, with its truth.
