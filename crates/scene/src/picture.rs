//! Invented pictures: places, things and people that are nowhere and nobody.
//!
//! Each subject is a small painter that says how much light comes from a place of the picture (`u` to the right, `v` up,
//! both 1 at the middle of the top edge's height); [`film`] makes an instant print of it.

mod beach;
mod canvas;
mod coast;
mod colours;
mod film;
mod forest;
mod haze;
mod lake;
mod night;
mod page;
mod panes;
mod patches;
mod pebbles;
mod portrait;
mod snow;
mod still;
mod stock;
mod street;

use canvas::Canvas;

/// What a picture shows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Subject {
    /// A headland, sea and a low sun in haze.
    Coast,
    /// A lake under mountains.
    Lake,
    /// A path through a misty wood.
    Forest,
    /// A bowl of fruit and a bottle by a window.
    Still,
    /// Head and shoulders of nobody.
    Portrait,
    /// A street at dusk with its lamps.
    Street,
    /// Bare trees in snow and fog, nearly white.
    Snow,
    /// A lit window across the water, nearly black.
    Night,
    /// A beach with people far away.
    Beach,
    /// Hardly anything: mist in two tones.
    Haze,
    /// Lines of script on pale paper.
    Page,
    /// A wall of window panes: rectangles inside rectangles.
    Panes,
    /// Rows of coloured patches.
    Patches,
    /// Gravel, the same all over.
    Pebbles,
    /// The colour chart of [`crate::chart`], photographed: a print that is easily taken for the chart itself. Not among
    /// [`Subject::ALL`], since nobody's box is full of them.
    Colours,
}

impl Subject {
    /// The places, things and people that a box of prints shows.
    pub const ALL: [Self; 9] = [
        Self::Coast,
        Self::Lake,
        Self::Forest,
        Self::Still,
        Self::Portrait,
        Self::Street,
        Self::Snow,
        Self::Night,
        Self::Beach,
    ];

    /// Pictures that make a print hard to find: nearly empty ones, and ones full of edges and rectangles of their own.
    pub const HARD: [Self; 5] = [Self::Haze, Self::Page, Self::Panes, Self::Patches, Self::Pebbles];
}

/// A picture: a subject and the seed that places its parts.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Picture {
    /// What it shows.
    pub subject: Subject,
    /// Where its parts lie.
    pub seed: u64,
    /// 0 for the first exposure of the scene; others are further ones, with the camera moved a little in the hand.
    pub exposure: u8,
    /// How much paler (positive) or darker than usual, stops: densities are scaled by `2^-stops`.
    pub stops: f64,
    /// How far all tones have gone towards one, 0 to 1.
    pub fade: f64,
    /// True for a cut from a small stock of each subject, drawn once: for many frames of few pixels.
    pub stock: bool,
}

impl Picture {
    /// A subject with a seed.
    pub const fn new(subject: Subject, seed: u64) -> Self {
        Self { subject, seed, exposure: 0, stops: 0.0, fade: 0.0, stock: false }
    }

    /// Another exposure of the same scene, `n` from 1.
    pub const fn again(self, n: u8) -> Self {
        Self { exposure: n, ..self }
    }

    /// Reflectance of each cell, row by row from the top, linear sRGB primaries.
    pub fn draw(&self, width: usize, height: usize) -> Vec<[f32; 3]> {
        let mut picture = if self.stock && height <= stock::LARGEST {
            stock::cut(self, width, height)
        } else {
            self.drawn(width, height)
        };
        if self.stops != 0.0 || self.fade != 0.0 {
            film::worn(&mut picture, self.stops as f32, self.fade as f32, self.seed as u32);
        }
        picture
    }

    fn drawn(&self, width: usize, height: usize) -> Vec<[f32; 3]> {
        if self.exposure == 0 {
            return self.paint(width, height, 0);
        }
        // A hand moves by a few parts in a hundred of what a camera sees: the scene is drawn a tenth larger, and the window
        // looks at another part of it, on another sheet of film.
        let (w, h) = (width + width / 10, height + height / 10);
        let mut rng = crate::noise::Rng::new(self.seed ^ u64::from(self.exposure));
        let (x, y) = ((rng.unit() * (w - width) as f64) as usize, (rng.unit() * (h - height) as f64) as usize);
        let all = self.paint(w, h, u32::from(self.exposure));
        (y..y + height).flat_map(|j| all[j * w + x..j * w + x + width].iter().copied()).collect()
    }

    fn paint(&self, width: usize, height: usize, film: u32) -> Vec<[f32; 3]> {
        let seed = crate::noise::mix(self.seed ^ 0x71c7) as u32;
        let light: Canvas = match self.subject {
            Subject::Coast => coast::paint(seed, width, height),
            Subject::Lake => lake::paint(seed, width, height),
            Subject::Forest => forest::paint(seed, width, height),
            Subject::Still => still::paint(seed, width, height),
            Subject::Portrait => portrait::paint(seed, width, height),
            Subject::Street => street::paint(seed, width, height),
            Subject::Snow => snow::paint(seed, width, height),
            Subject::Night => night::paint(seed, width, height),
            Subject::Beach => beach::paint(seed, width, height),
            Subject::Haze => haze::paint(seed, width, height),
            Subject::Page => page::paint(seed, width, height),
            Subject::Panes => panes::paint(seed, width, height),
            Subject::Patches => patches::paint(seed, width, height),
            Subject::Pebbles => pebbles::paint(seed, width, height),
            Subject::Colours => return colours::paint(width, height),
        };
        film::print(light, seed ^ film, film::Key::of(self.subject))
    }
}
