//! A frame that is packed.

use finish::report::Report;

/// A frame, its original's path in the bag if it is there, and its report.
pub(super) struct Shot {
    pub original: Option<String>,
    pub report: Report,
}
