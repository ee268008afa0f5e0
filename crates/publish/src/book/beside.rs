//! What goes beside the book.
