//! What the camera wrote about the exposures of a sitting, and where one differs.

use finish::report::CameraWords;

/// The frames' settings, by the names they are told under.
#[derive(Default)]
pub(super) struct Settings(pub Vec<(String, CameraWords)>);

/// An aperture that is not what it should be.
pub(super) struct Odd {
    /// "The frames are", "F3.jpg is".
    pub who: String,
    /// "the plan is", "the others are".
    pub against: String,
    pub found: f64,
    pub wanted: f64,
    /// Positive where it is closed too far: `2 log2(found / wanted)`.
    pub stops: f64,
}

impl Settings {
    /// The most frequent value of a setting; of equals the first.
    pub fn usual(&self, of: impl Fn(&CameraWords) -> Option<f64>) -> Option<f64> {
        let all: Vec<f64> = self.0.iter().filter_map(|(_, w)| of(w)).collect();
        let like = |v: f64| all.iter().filter(|o| (*o / v - 1.0).abs() < 0.01).count();
        all.iter().copied().rev().max_by_key(|&v| like(v))
    }

    /// The aperture that is farthest from the planned one, or without a plan from the most frequent.
    pub fn odd_aperture(&self, planned: Option<f64>) -> Option<Odd> {
        let usual = self.usual(|w| w.f_number)?;
        let wanted = planned.unwrap_or(usual);
        let off = |n: f64| 2.0 * (n / wanted).log2();
        let with = self.0.iter().filter_map(|(name, w)| Some((name, w.f_number?)));
        let (name, found) = with.clone().max_by(|a, b| off(a.1).abs().total_cmp(&off(b.1).abs()))?;
        let all = with.into_iter().all(|(_, n)| (n / found - 1.0).abs() < 0.01);
        Some(Odd {
            who: if all { "The frames are".into() } else { format!("{name} is") },
            against: if planned.is_some() { "the plan is" } else { "the others are" }.into(),
            found,
            wanted,
            stops: off(found),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shot(name: &str, f_number: f64) -> (String, CameraWords) {
        (name.into(), CameraWords { f_number: Some(f_number), ..CameraWords::default() })
    }

    /// f/8 to f/16 is two stops (ISO 517).
    #[test]
    fn the_odd_frame_is_named() {
        let s = Settings(vec![shot("a", 8.0), shot("b", 8.0), shot("c", 16.0)]);
        let odd = s.odd_aperture(None).unwrap();
        assert_eq!((odd.who.as_str(), odd.wanted), ("c is", 8.0));
        assert!((odd.stops - 2.0).abs() < 1e-9);
        assert!((Settings(vec![shot("a", 5.6)]).odd_aperture(Some(8.0)).unwrap().stops + 1.029).abs() < 0.01);
        assert!(Settings::default().odd_aperture(Some(8.0)).is_none());
    }
}
