//! The whole job in the photographer's terms.
