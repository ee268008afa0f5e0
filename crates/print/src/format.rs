//! The known print formats, as data.
