//! Grading of code values: gamma, contrast, saturation, tinted blacks and whites.

use pixels::Picture;

/// A grade, applied to code values 0 to 1 in the order of its fields.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Grade {
    /// Exponent of the code value.
    pub gamma: f64,
    /// Weight of `e^2 (3 - 2e)`, an S-curve, against the straight line; negative flattens.
    pub contrast: f64,
    /// Distance from luma (ITU-R BT.601 weights) is scaled by this.
    pub saturation: f64,
    /// Code value of black in each channel.
    pub black: [f64; 3],
    /// Code value of white in each channel.
    pub white: [f64; 3],
}

impl Grade {
    /// Leaves everything as it is.
    pub const NONE: Self = Self { gamma: 1.0, contrast: 0.0, saturation: 1.0, black: [0.0; 3], white: [1.0; 3] };

    /// One code value through gamma and S-curve.
    fn tone(&self, e: f64) -> f64 {
        let e = e.clamp(0.0, 1.0).powf(self.gamma);
        (1.0 - self.contrast) * e + self.contrast * e * e * (3.0 - 2.0 * e)
    }

    /// Grades code values in place.
    pub fn apply(&self, picture: &mut Picture) {
        // Finer than the 8 bits that are left in the end.
        let table: Vec<f32> = (0..=4095).map(|i| self.tone(f64::from(i) / 4095.0) as f32).collect();
        let tone = |v: f32| table[(v.clamp(0.0, 1.0) * 4095.0 + 0.5) as usize];
        let (s, low) = (self.saturation as f32, self.black.map(|v| v as f32));
        let span: [f32; 3] = std::array::from_fn(|c| (self.white[c] - self.black[c]) as f32);
        let [r, g, b] = &mut picture.0;
        for ((r, g), b) in r.data.iter_mut().zip(&mut g.data).zip(&mut b.data) {
            let v = [tone(*r), tone(*g), tone(*b)];
            let luma = 0.299 * v[0] + 0.587 * v[1] + 0.114 * v[2];
            let out: [f32; 3] = std::array::from_fn(|c| low[c] + span[c] * (luma + s * (v[c] - luma)).clamp(0.0, 1.0));
            (*r, *g, *b) = (out[0], out[1], out[2]);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use pixels::Plane;

    fn graded(grade: Grade, rgb: [f32; 3]) -> [f32; 3] {
        let mut p = Picture(rgb.map(|v| Plane::filled(2, 1, v)));
        grade.apply(&mut p);
        p.get(0, 0)
    }

    /// Closed forms of each step.
    #[test]
    fn each_step_does_what_its_formula_says() {
        let near = |a: [f32; 3], b: [f32; 3]| a.iter().zip(b).all(|(x, y)| (x - y).abs() < 4e-4);
        assert!(near(graded(Grade::NONE, [0.1, 0.5, 0.9]), [0.1, 0.5, 0.9]));
        assert!(near(graded(Grade { gamma: 2.0, ..Grade::NONE }, [0.5; 3]), [0.25; 3]));
        assert!(near(graded(Grade { contrast: 1.0, ..Grade::NONE }, [0.25; 3]), [0.15625; 3]));
        let grey = graded(Grade { saturation: 0.0, ..Grade::NONE }, [1.0, 0.0, 0.0]);
        assert!(near(grey, [0.299; 3]));
        let tinted = Grade { black: [0.1, 0.0, 0.2], white: [0.9, 1.0, 0.8], ..Grade::NONE };
        assert!(near(graded(tinted, [0.0; 3]), [0.1, 0.0, 0.2]) && near(graded(tinted, [1.0; 3]), [0.9, 1.0, 0.8]));
    }
}
