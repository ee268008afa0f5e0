//! One mosaic without what another shows.

use super::Mosaic;
use rayon::prelude::*;

impl Mosaic {
    /// These readings less the light of `dark`, a mosaic of the same sensor at the same exposure; `None` where the two are not alike.
    ///
    /// A saturated reading stays saturated. The level of no light stays where it was, so noise about it stays too.
    pub fn minus(&self, dark: &Self) -> Option<Self> {
        let alike = (self.width, self.height, self.pattern) == (dark.width, dark.height, dark.pattern)
            && self.white == dark.white
            && self.samples.len() == dark.samples.len();
        if !alike {
            return None;
        }
        let mut samples = vec![0u16; self.samples.len()];
        samples.par_chunks_mut(self.width).enumerate().for_each(|(y, row)| {
            for (x, out) in row.iter_mut().enumerate() {
                let k = y * self.width + x;
                let on = f32::from(self.samples[k]);
                let light = f32::from(dark.samples[k]) - dark.black[y & 1][x & 1];
                *out = if on >= self.white { self.samples[k] } else { (on - light + 0.5).clamp(0.0, 65535.0) as u16 };
            }
        });
        Some(Self { samples, ..self.clone() })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Metadata;

    fn mosaic(samples: [u16; 4]) -> Mosaic {
        Mosaic {
            width: 2,
            height: 2,
            pattern: [[0, 1], [1, 2]],
            black: [[512.0; 2]; 2],
            white: 16383.0,
            as_shot: [1.0; 3],
            colours: None,
            samples: samples.to_vec(),
            metadata: Metadata::default(),
        }
    }

    /// Readings over black add as light does.
    #[test]
    fn light_is_subtracted_over_black_and_saturation_stays() {
        let alone = mosaic([5512, 16383, 600, 512]).minus(&mosaic([1512, 2512, 700, 540])).unwrap();
        assert_eq!(alone.samples, [4512, 16383, 412, 484]);
        let small = Mosaic { width: 1, ..mosaic([0; 4]) };
        assert!(mosaic([0; 4]).minus(&small).is_none());
    }
}
