//! Gives every frame its role from a first look at all of them, and finds the blank, chart and flash-off frame each uses.

use crate::Role;
use crate::job::Look;
use base::wording::stops_measured;

/// Input for the role of one frame.
#[derive(Clone, Debug)]
pub struct RoleInput<'a> {
    /// Its first look.
    pub look: &'a Look,
    /// The role the photographer gave it.
    pub told: Option<Role>,
}

/// A role and why.
#[derive(Clone, Debug, PartialEq)]
pub struct Given {
    /// The role.
    pub role: Role,
    /// Why.
    pub reason: String,
    /// True if an empty bed is certainly intended: given by the user, or before the first or after the last print.
    pub empty_is_meant: bool,
}

/// A flash-off frame holds at most a sixteenth of the light of the others: rooms are kept 8 stops under the flash, and a
/// frame four stops under could not be finished anyway.
const FLASH_OFF_STOPS: f64 = 4.0;
/// Scores are scaled so that one half is undecided.
const DOUBT: f64 = 0.5;

/// Roles for all frames, in the order given.
pub fn roles(frames: &[RoleInput]) -> Vec<Given> {
    let usual = geometry::fit::median(&mut frames.iter().map(|f| f.look.mean_level).collect::<Vec<_>>());
    let mut given: Vec<Given> = frames.iter().map(|f| role(f, usual, frames.len())).collect();
    let order = in_time(&frames.iter().map(|f| f.look).collect::<Vec<_>>());
    let looks: Vec<&Look> = frames.iter().map(|f| f.look).collect();
    let open: Vec<bool> = frames.iter().map(|f| f.told.is_none()).collect();
    let so_far: Vec<Role> = given.iter().map(|g| g.role).collect();
    for (i, under) in crate::pairs::flash_off_frames(&looks, &so_far, &open, &order) {
        given[i].role = Role::Ambient;
        given[i].reason =
            format!("the flash did not fire: the same print, {} darker and in another light", stops_measured(under));
    }
    let holds = |i: &usize| given[*i].role.holds_print();
    let first = order.iter().position(holds).unwrap_or(usize::MAX);
    let last = order.iter().rposition(holds).unwrap_or(0);
    for (place, &i) in order.iter().enumerate() {
        if given[i].role == Role::Blank && frames[i].told.is_none() && first < place && place < last {
            given[i].empty_is_meant = false;
            given[i].reason = "the bed is empty, although prints come before and after".into();
        }
    }
    given
}

fn role(frame: &RoleInput, usual: f64, of: usize) -> Given {
    let look = frame.look;
    let given = |role, reason: String| Given { role, reason, empty_is_meant: true };
    if let Some(told) = frame.told {
        return given(told, "you said so".into());
    }
    let under = (usual / look.mean_level.max(1e-6)).log2();
    if of > 1 && under > FLASH_OFF_STOPS {
        return given(
            Role::Ambient,
            format!("the flash did not fire: {} darker than the others", stops_measured(under)),
        );
    }
    if look.ruler_score >= DOUBT {
        return given(Role::Ruler, "it shows the ruler sheet".into());
    }
    if look.chart_score >= DOUBT {
        return given(Role::Chart, "it shows a grid of colour patches".into());
    }
    if look.print_score < DOUBT {
        return given(Role::Blank, "the bed is empty".into());
    }
    if look.window_score < DOUBT {
        return given(Role::Back, "a print without a window is on the bed".into());
    }
    given(Role::Front, "a print with its window is on the bed".into())
}

/// Indices in the order the frames were taken; as given where any has no time.
pub fn in_time(looks: &[&Look]) -> Vec<usize> {
    let mut order: Vec<usize> = (0..looks.len()).collect();
    let times: Option<Vec<i64>> = looks.iter().map(|l| taken(l)).collect();
    if let Some(times) = times {
        order.sort_by_key(|&i| times[i]);
    }
    order
}

/// The references a frame may use, as places in a list ordered by time: the last at or before it and the first after it,
/// the nearer first.
pub(crate) fn around(place: usize, references: &[usize], times: &[Option<i64>]) -> Vec<usize> {
    let before = references.iter().copied().rfind(|&r| r < place);
    let after = references.iter().copied().find(|&r| r > place);
    let distance = |r: usize| match (times[r], times[place]) {
        (Some(a), Some(b)) => (a - b).unsigned_abs(),
        _ => r.abs_diff(place) as u64,
    };
    let mut both: Vec<usize> = before.into_iter().chain(after).collect();
    both.sort_by_key(|&r| distance(r));
    both
}

/// When a frame was taken, seconds on the camera clock.
pub(crate) fn taken(look: &Look) -> Option<i64> {
    look.exif.taken.as_deref().and_then(seconds_of)
}

/// `YYYY-MM-DDTHH:MM:SS` (any separators) as seconds since 1970 on the camera's own clock.
pub fn seconds_of(text: &str) -> Option<i64> {
    let mut parts = text.split(|c: char| !c.is_ascii_digit()).filter(|p| !p.is_empty()).map(str::parse::<i64>);
    let mut next = || parts.next()?.ok();
    let (y, m, d, h, min, s) = (next()?, next()?, next()?, next()?, next()?, next()?);
    // Days since 1970-01-01 in the Gregorian calendar, counting years from March so that the leap day comes last.
    let (y, m) = if m > 2 { (y, m - 3) } else { (y - 1, m + 9) };
    let days = 365 * y + y.div_euclid(4) - y.div_euclid(100) + y.div_euclid(400) + (153 * m + 2) / 5 + d - 1 - 719_468;
    Some(((days * 24 + h) * 60 + min) * 60 + s)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::CameraWords;

    fn look(level: f64, chart: f64, print: f64, window: f64, taken: &str) -> Look {
        Look {
            mean_level: level,
            chart_score: chart,
            print_score: print,
            window_score: window,
            exif: CameraWords { taken: Some(taken.into()), ..CameraWords::default() },
            ..Look::default()
        }
    }

    fn roles_of(looks: &[Look]) -> Vec<Given> {
        roles(&looks.iter().map(|look| RoleInput { look, told: None }).collect::<Vec<_>>())
    }

    #[test]
    fn an_evening_sorts_itself() {
        let given = roles_of(&[
            look(0.004, 0.0, 0.1, 0.0, "2030-01-01T20:00:00"),
            look(0.60, 0.0, 0.0, 0.0, "2030-01-01T20:00:10"),
            look(0.40, 0.9, 0.8, 0.2, "2030-01-01T20:00:20"),
            look(0.50, 0.1, 0.9, 0.9, "2030-01-01T20:00:30"),
            look(0.60, 0.0, 0.0, 0.0, "2030-01-01T20:00:40"),
            look(0.15, 0.1, 0.9, 0.9, "2030-01-01T20:00:50"),
            look(0.55, 0.0, 0.9, 0.1, "2030-01-01T20:01:00"),
            look(0.60, 0.0, 0.0, 0.0, "2030-01-01T20:01:10"),
        ]);
        let roles: Vec<Role> = given.iter().map(|g| g.role).collect();
        use Role::*;
        assert_eq!(roles, [Ambient, Blank, Chart, Front, Blank, Front, Back, Blank]);
        assert_eq!(
            given.iter().map(|g| g.empty_is_meant).collect::<Vec<_>>(),
            [true, true, true, true, false, true, true, true]
        );
        assert!(given[0].reason.contains("stops darker"), "{}", given[0].reason);
    }

    #[test]
    fn one_frame_alone_is_never_flash_off_and_a_word_given_decides() {
        let dark = look(0.001, 0.0, 0.9, 0.9, "2030-01-01T20:00:00");
        assert_eq!(roles_of(std::slice::from_ref(&dark))[0].role, Role::Front);
        let told = roles(&[RoleInput { look: &dark, told: Some(Role::Back) }]);
        assert_eq!((told[0].role, told[0].reason.as_str()), (Role::Back, "you said so"));
    }

    #[test]
    fn the_nearer_blank_in_time_comes_first() {
        let times: Vec<Option<i64>> = [0, 100, 110, 120].map(Some).to_vec();
        assert_eq!(around(1, &[0, 3], &times), [3, 0]);
        assert_eq!(around(1, &[0, 2, 3], &times), [2, 0]);
        assert_eq!(around(1, &[0], &times), [0]);
        assert_eq!(around(1, &[0, 3], &[None; 4]), [0, 3]);
    }

    #[test]
    fn times_of_day_count_across_leap_years() {
        // From POSIX: 2000-03-01T00:00:00Z is 951868800, 1970-01-01 is 0.
        assert_eq!(seconds_of("1970:01:01 00:00:00"), Some(0));
        assert_eq!(seconds_of("2000-03-01T00:00:00"), Some(951_868_800));
        assert_eq!(seconds_of("2025:11:07"), None);
    }
}
