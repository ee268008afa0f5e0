//! Errors that a person reads: one line, with what to do next.

use std::path::Path;

/// An error for a person: one clear line, and what to do next.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{says}{}", remedy.as_deref().map(|r| format!(" {r}")).unwrap_or_default())]
pub struct Failure {
    /// What happened, a sentence.
    pub says: String,
    /// What to do next, a sentence.
    pub remedy: Option<String>,
    /// True if no other frame can be written either (a full disk, a read-only folder).
    pub stops_the_run: bool,
}

impl Failure {
    /// A failure of this file or frame only.
    pub fn new(says: impl Into<String>) -> Self {
        Self { says: says.into(), remedy: None, stops_the_run: false }
    }
    /// Adds what to do next.
    ///
    /// ```
    /// let failure = base::Failure::new("a.jpg is damaged.").with_remedy("Copy it from the card again.");
    /// assert_eq!(failure.to_string(), "a.jpg is damaged. Copy it from the card again.");
    /// ```
    pub fn with_remedy(mut self, remedy: impl Into<String>) -> Self {
        self.remedy = Some(remedy.into());
        self
    }
    /// An error while writing a result.
    pub fn writing(path: &Path, error: &std::io::Error) -> Self {
        use std::io::ErrorKind as Kind;
        let name = path.display();
        match error.kind() {
            Kind::StorageFull | Kind::QuotaExceeded => Self {
                says: format!("The disk is full: {name} could not be written."),
                remedy: Some("Free some space and run the same command again; it continues where it stopped.".into()),
                stops_the_run: true,
            },
            Kind::PermissionDenied | Kind::ReadOnlyFilesystem => Self {
                says: format!("{name} may not be written: permission is denied, or the disk is read-only."),
                remedy: Some("Choose another folder with --out.".into()),
                stops_the_run: true,
            },
            Kind::InvalidFilename => Self::new(format!("{name} could not be written: its name is too long."))
                .with_remedy("Give the file or its folder a shorter name."),
            _ => Self::new(format!("{name} could not be written: {error}.")),
        }
    }
    /// An error while reading a file.
    pub fn reading(error: &std::io::Error) -> Self {
        use std::io::ErrorKind as Kind;
        match error.kind() {
            Kind::NotFound => Self::new("There is no such file."),
            Kind::PermissionDenied => Self::new("You do not have permission to read it.")
                .with_remedy("Change its permissions, or copy it to a folder of yours."),
            Kind::InvalidInput => Self::new(format!("It could not be read: {error}."))
                .with_remedy("Give a regular file, or copy it to one."),
            _ => Self::new(format!("It could not be read: {error}.")),
        }
    }
}

impl From<codec::Error> for Failure {
    /// The codec's message without the path, which the run prints itself. A full or read-only disk stops the run.
    fn from(error: codec::Error) -> Self {
        if let codec::Error::Write { why, hint, .. } = error {
            let stops_the_run = ["the disk is full", "permission is denied"].contains(&why.as_str());
            return Self { says: format!("A result cannot be written: {why}."), remedy: Some(hint), stops_the_run };
        }
        let text = error.to_string();
        let line = text.strip_prefix(&format!("{}: ", error.path().display())).unwrap_or(&text);
        Self::new(crate::wording::capital(line))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_codecs_lines_lose_their_path_and_keep_their_advice() {
        let path = std::path::PathBuf::from("/card/F1.jpg");
        assert_eq!(
            Failure::from(codec::Error::Empty { path: path.clone() }).to_string(),
            "The file is empty. Copy it from the card again."
        );
        let full = codec::Error::Write { path, why: "the disk is full".into(), hint: "Make room.".into() };
        let full = Failure::from(full);
        assert!(full.stops_the_run);
        assert_eq!(full.to_string(), "A result cannot be written: the disk is full. Make room.");
    }
}
