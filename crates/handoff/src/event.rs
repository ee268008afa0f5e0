//! Events while prints are handed on.

/// An event while prints are handed on.
#[derive(Clone, Debug)]
pub enum Event {
    /// A print, or a file of a bag, is done.
    Done {
        /// So many are done.
        done: usize,
        /// Of so many.
        of: usize,
    },
    /// A line that a person should read now.
    Problem(String),
}
