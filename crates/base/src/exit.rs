//! How a command ends.

/// What became of a whole run. The process exits with this number.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[repr(u8)]
pub enum Exit {
    /// Everything was done, whatever the verdicts.
    AllDone = 0,
    /// Some file or folder could not be read or finished; each has its line.
    WithProblems = 1,
    /// Nothing could be done.
    NothingDone = 2,
}
