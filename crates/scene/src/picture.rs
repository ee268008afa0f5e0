//! Invented pictures.

/// What a picture shows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Subject {
    /// A street lamp's pool of light in the dark.
    Night,
}

/// A picture: a subject and the seed that places its parts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Picture {
    /// What it shows.
    pub subject: Subject,
    /// Where its parts lie.
    pub seed: u64,
}

impl Subject {
    /// All of them.
    pub const ALL: [Self; 1] = [Self::Night];
}

impl Picture {
    /// A subject with a seed.
    pub const fn new(subject: Subject, seed: u64) -> Self {
        Self { subject, seed }
    }
    /// Reflectance of each cell, row by row from the top.
    pub fn draw(&self, width: usize, height: usize) -> Vec<[f32; 3]> {
        (0..width * height)
            .map(|k| {
                [0.1 + 0.5 * (k % width) as f32 / width as f32, 0.3, 0.1 + 0.5 * (k / width) as f32 / height as f32]
            })
            .collect()
    }
}
