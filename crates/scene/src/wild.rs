//! Frames as people really take and post them: any light, ground and camera, then resized, graded, grained, sharpened and
//! compressed.
//!
//! Everything is drawn at random from a seed, in small pictures of a few hundred pixels as a rule, so that property tests can
//! draw thousands. What is true of each is known as of every rendered frame.
//!
//! ```
//! let shot = scene::wild(3);
//! assert_eq!(shot.truth.prints.len(), 1);
//! assert_eq!(shot.truth.width, shot.frame.width);
//! ```

mod dct;
mod draw;
mod grade;
mod grain;
mod resize;
mod sharpen;

pub use dct::Compress;
pub use grade::Grade;
pub use grain::Grain;
pub use resize::Kernel;
pub use sharpen::Sharpen;

use crate::noise::mix;
use crate::rig::Scene;
use crate::{Shot, render};
use pixels::colour::srgb_encode;
use pixels::{Encoding, Frame, Picture, Primaries, Samples, Tone};

/// One such frame, before it is drawn.
#[derive(Clone, Debug, PartialEq)]
pub struct Wild {
    /// What is photographed; its sensor writes linear light.
    pub scene: Scene,
    /// Columns and rows that the camera takes.
    pub taken: (usize, usize),
    /// Columns and rows of the picture as it is posted.
    pub size: (usize, usize),
    /// What happens on the way.
    pub posting: Posting,
    /// What is unusual about it, in short words: for reading a list of failures.
    pub tags: Vec<&'static str>,
}

/// What is done to a picture between camera and page, in this order.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Posting {
    /// How it is resized, on code values.
    pub kernel: Kernel,
    /// How it is graded.
    pub grade: Grade,
    /// The grain laid over it.
    pub grain: Grain,
    /// How it is sharpened.
    pub sharpen: Sharpen,
    /// How it is compressed.
    pub compress: Compress,
}

/// Draws the frame of a seed: 8-bit display-referred samples and their truth.
pub fn wild(seed: u64) -> Shot {
    Wild::of(seed).shoot()
}

impl Wild {
    /// The frame of a seed.
    pub fn of(seed: u64) -> Self {
        draw::draw(seed)
    }

    /// Takes the picture and posts it.
    pub fn shoot(&self) -> Shot {
        let shot = render(&self.scene, self.taken.0, self.taken.1);
        let (width, height) = self.size;
        let mut picture = encoded(&shot.frame);
        picture = Picture(picture.0.map(|p| resize::resized(&p, width, height, self.posting.kernel)));
        self.posting.apply(&mut picture, mix(self.scene.seed ^ 0x9057));
        let encoding = Encoding { display_referred: true, ..Encoding::new(Tone::srgb(), Primaries::srgb()) };
        let frame = Frame { width, height, samples: Samples::U8(samples(&picture)), encoding };
        Shot { frame, mosaic: None, truth: shot.truth.resized(width, height) }
    }
}

impl Posting {
    /// Everything after resizing, on code values 0 to 1.
    fn apply(&self, picture: &mut Picture, seed: u64) {
        self.grade.apply(picture);
        self.grain.apply(picture, seed);
        self.sharpen.apply(picture);
        self.compress.apply(picture);
    }
}

/// The sRGB code values 0 to 1 of a frame of linear light.
fn encoded(frame: &Frame) -> Picture {
    let mut picture = frame.read(0, 0, frame.width, frame.height, 1);
    // Sixteen thousand steps of light: under the toe a step is an eighth of an 8-bit level.
    const STEPS: f32 = 16_383.0;
    let table: Vec<f32> = (0..=STEPS as u32).map(|i| srgb_encode(f64::from(i) / f64::from(STEPS)) as f32).collect();
    for plane in &mut picture.0 {
        plane.data.iter_mut().for_each(|v| *v = table[(v.clamp(0.0, 1.0) * STEPS + 0.5) as usize]);
    }
    picture
}

fn samples(picture: &Picture) -> Vec<u8> {
    let [r, g, b] = &picture.0;
    let code = |v: &f32| (v.clamp(0.0, 1.0) * 255.0 + 0.5) as u8;
    r.data.iter().zip(&g.data).zip(&b.data).flat_map(|((r, g), b)| [code(r), code(g), code(b)]).collect()
}
