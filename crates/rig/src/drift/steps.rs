//! Where a series of measurements steps or slides, among jitter and outliers.
//!
//! Each place between two frames is tried as the place of one step: robust middles before and after, and the sum of squares
//! about them, each square bounded so that a single odd frame cannot make or hide a step. The best place counts where its
//! step is worth naming, holds on for several frames at both sides, and exceeds its own standard error many times: the error
//! is that of the scatter from frame to frame, so jitter alone is never a step. Both sides are then searched alike.

use geometry::fit::median;

/// One frame's measurement of one quantity, which may have two axes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Point<const D: usize> {
    /// The frame's place in the sitting.
    pub at: usize,
    /// The value on each axis.
    pub value: [f64; D],
    /// Standard error on each axis.
    pub error: f64,
}

/// What is asked of a step in one quantity.
#[derive(Clone, Copy, Debug)]
pub(super) struct Rule {
    /// The smallest step worth naming.
    pub least: f64,
    /// Scatter that frames have at least, however alike the few of them seem.
    pub scatter: f64,
    /// Frames at each side that must bear it out.
    pub side: usize,
}

/// A step, or a steady slide.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Step<const D: usize> {
    /// Place of the last frame before it (of a slide: its first frame).
    pub after: usize,
    /// Place of the first frame after it (of a slide: its last frame).
    pub before: usize,
    /// Change on each axis.
    pub size: [f64; D],
    /// Standard error on each axis.
    pub error: f64,
    /// True where it came little by little.
    pub slide: bool,
}

/// Every step and slide of a series, in order.
pub(super) fn steps<const D: usize>(series: &[Point<D>], rule: &Rule) -> Vec<Step<D>> {
    let (mut cuts, mut slides) = (vec![], vec![]);
    search(series, 0, rule, &mut cuts, &mut slides);
    let mut found = held(series, cuts, rule);
    found.extend(slides);
    found.sort_by_key(|s| s.after);
    found
}

/// The cuts that hold between their neighbours, the weakest others dropped one by one, each moved to its best place there.
fn held<const D: usize>(series: &[Point<D>], mut cuts: Vec<usize>, rule: &Rule) -> Vec<Step<D>> {
    loop {
        let ends: Vec<usize> = std::iter::once(0).chain(cuts.iter().copied()).chain([series.len()]).collect();
        let best = |w: &[usize]| best_split(&series[w[0]..w[2]], rule).map(|(k, split)| (w[0] + k, w[2] - w[0], split));
        let splits: Vec<_> = ends.windows(3).filter_map(best).collect();
        let strength = |s: &(usize, usize, Split<D>)| norm(&s.2.size()) / s.2.wide_error();
        let fails = splits.iter().enumerate().filter(|(_, s)| !s.2.holds(rule, s.1));
        match fails.min_by(|a, b| strength(a.1).total_cmp(&strength(b.1))) {
            Some((weakest, _)) => drop(cuts.remove(weakest)),
            None => {
                let step = |(k, _, split): (usize, usize, Split<D>)| Step {
                    after: series[k - 1].at,
                    before: series[k].at,
                    size: split.size(),
                    error: split.wide_error(),
                    slide: false,
                };
                return splits.into_iter().map(step).collect();
            }
        }
    }
}

/// Scatter from frame to frame on an axis: from differences of neighbours, which a step does not disturb. Frames that say
/// themselves that they know little, by three times the usual error, are passed over.
pub(super) fn jitter<const D: usize>(series: &[Point<D>]) -> f64 {
    let usual = median(&mut series.iter().map(|p| p.error).collect::<Vec<_>>());
    let known: Vec<&Point<D>> = series.iter().filter(|p| p.error <= 3.0 * usual).collect();
    let mut sizes: Vec<f64> =
        known.windows(2).flat_map(|w| (0..D).map(move |a| (w[1].value[a] - w[0].value[a]).abs())).collect();
    1.4826 * median(&mut sizes) / std::f64::consts::SQRT_2
}

/// A residual beyond this many standard deviations counts no more than one at it.
const BOUND: f64 = 3.0;

/// Collects cuts that may hold, and slides, of the frames from place `from` of the whole series on.
fn search<const D: usize>(
    part: &[Point<D>],
    from: usize,
    rule: &Rule,
    cuts: &mut Vec<usize>,
    slides: &mut Vec<Step<D>>,
) {
    let n = part.len();
    let Some((k, split)) = best_split(part, rule) else { return };
    if let Some(slide) =
        Slide::new(part, own_scatter(part, rule)).filter(|s| s.cost + MARGIN < split.cost && s.counts(rule, n))
    {
        let (after, before) = (part[0].at, part[n - 1].at);
        return slides.push(Step { after, before, size: slide.size, error: slide.error, slide: true });
    }
    if split.may_hold(rule, n) {
        search(&part[..k], from, rule, cuts, slides);
        cuts.push(from + k);
        search(&part[k..], from + k, rule, cuts, slides);
    }
}

/// The best place for one step, and the step; `None` where there are too few frames for any.
fn best_split<const D: usize>(part: &[Point<D>], rule: &Rule) -> Option<(usize, Split<D>)> {
    if part.len() < 2 * rule.side {
        return None;
    }
    let scatter = own_scatter(part, rule);
    let tried = (rule.side..=part.len() - rule.side).map(|k| (k, Split::new(part, k, scatter)));
    tried.min_by(|a, b| a.1.cost.total_cmp(&b.1.cost))
}

/// How much better (in bounded squares of standard deviations) a slide must fit than a step: as much as one outlier, since a
/// step is what a bump makes.
const MARGIN: f64 = BOUND * BOUND;

/// The scatter that frames have beyond their own errors.
fn own_scatter<const D: usize>(part: &[Point<D>], rule: &Rule) -> f64 {
    let usual = median(&mut part.iter().map(|p| p.error).collect::<Vec<_>>());
    (jitter(part).powi(2) - usual.powi(2)).max(0.0).sqrt().max(rule.scatter)
}

/// How many standard errors a step must exceed, of `n` frames with `axes` axes: so that of a thousand series that only jitter
/// fewer than five have a step named (`chance_alone_is_seldom_named` counts them). Few frames know their own scatter badly, so
/// they must show more; two axes have more ways to stray.
fn critical(n: usize, axes: usize) -> f64 {
    4.0 + 16.0 / n as f64 + 0.5 * (axes as f64 - 1.0)
}

/// A series split in two.
struct Split<const D: usize> {
    before: [f64; D],
    after: [f64; D],
    /// Standard error of the difference, by the scatter that neighbours' differences tell.
    error: f64,
    /// How many times wider the frames scatter about both middles, where they do.
    wide: f64,
    /// Frames of the smaller side that bear the step out: nearer to their own middle than to the other.
    bear: usize,
    cost: f64,
}

impl<const D: usize> Split<D> {
    fn new(part: &[Point<D>], k: usize, scatter: f64) -> Self {
        let (a, b) = part.split_at(k);
        let (before, after) = (Middle::of(a, scatter), Middle::of(b, scatter));
        let off = |p: &Point<D>, m: &Middle<D>| -> [f64; D] {
            std::array::from_fn(|i| (p.value[i] - m.value[i]) / scatter.hypot(p.error))
        };
        let all: Vec<f64> =
            a.iter().flat_map(|p| off(p, &before)).chain(b.iter().flat_map(|p| off(p, &after))).collect();
        let bear = |side: &[Point<D>], own: &Middle<D>, other: &Middle<D>| {
            side.iter().filter(|p| norm(&off(p, own)) < norm(&off(p, other))).count()
        };
        let n = part.len() as f64;
        // Two middles are taken from the residuals.
        let spread = 1.4826 * median(&mut all.iter().map(|r| r.abs()).collect::<Vec<_>>()) * (n / (n - 1.9)).sqrt();
        Self {
            bear: bear(a, &before, &after).min(bear(b, &after, &before)),
            before: before.value,
            after: after.value,
            error: before.error.hypot(after.error),
            wide: spread.max(1.0),
            cost: cost(&all),
        }
    }

    fn size(&self) -> [f64; D] {
        std::array::from_fn(|i| self.after[i] - self.before[i])
    }

    fn wide_error(&self) -> f64 {
        self.wide * self.error
    }

    /// True where it could be a step, should other steps be what widens the scatter.
    fn may_hold(&self, rule: &Rule, n: usize) -> bool {
        let size = norm(&self.size());
        size > rule.least && size > critical(n, D) * self.error
    }

    fn holds(&self, rule: &Rule, n: usize) -> bool {
        let size = norm(&self.size());
        self.bear >= rule.side && size > rule.least && size > critical(n, D) * self.wide_error()
    }
}

/// A series as a straight line over its places.
struct Slide<const D: usize> {
    size: [f64; D],
    error: f64,
    cost: f64,
}

impl<const D: usize> Slide<D> {
    /// Slopes by the median of the slopes of all pairs (Theil and Sen, from memory), so that odd frames do not turn it.
    fn new(part: &[Point<D>], scatter: f64) -> Option<Self> {
        let n = part.len();
        let place = |i: usize| part[i].at as f64;
        let span = place(n - 1) - place(0);
        // Pairs at least a third of the series apart: near ones only add noise, and a long sitting has enough without them.
        let stride = (n / 60).max(1);
        let pairs: Vec<(usize, usize)> =
            (0..n).step_by(stride).flat_map(|i| (i + n.div_ceil(3)..n).step_by(stride).map(move |j| (i, j))).collect();
        if pairs.is_empty() || span <= 0.0 {
            return None;
        }
        let size: [f64; D] = std::array::from_fn(|a| {
            let slope = |&(i, j): &(usize, usize)| (part[j].value[a] - part[i].value[a]) / (place(j) - place(i));
            span * median(&mut pairs.iter().map(slope).collect::<Vec<_>>())
        });
        let along = |p: &Point<D>| (p.at as f64 - place(0)) / span;
        let level: [f64; D] = std::array::from_fn(|a| {
            median(&mut part.iter().map(|p| p.value[a] - size[a] * along(p)).collect::<Vec<_>>())
        });
        let off: Vec<f64> = part
            .iter()
            .flat_map(|p| (0..D).map(move |a| (p.value[a] - level[a] - size[a] * along(p)) / scatter.hypot(p.error)))
            .collect();
        // The error of a least squares line's rise over its span is s sqrt(12 / n); the median of slopes has 0.95 of its power.
        let usual = scatter.hypot(median(&mut part.iter().map(|p| p.error).collect::<Vec<_>>()));
        Some(Self { size, error: 1.1 * usual * (12.0 / n as f64).sqrt(), cost: cost(&off) })
    }

    fn counts(&self, rule: &Rule, n: usize) -> bool {
        let size = norm(&self.size);
        // A handful of frames in a row is no trend.
        n >= 8 && size > rule.least && size > critical(n, D) * self.error
    }
}

/// The middle of some frames: weighted by their errors, far ones pulled in (Huber's weights at 2 standard deviations).
struct Middle<const D: usize> {
    value: [f64; D],
    error: f64,
}

impl<const D: usize> Middle<D> {
    fn of(part: &[Point<D>], scatter: f64) -> Self {
        let mut error = 0.0f64;
        let value = std::array::from_fn(|a| {
            let mut middle = median(&mut part.iter().map(|p| p.value[a]).collect::<Vec<_>>());
            for _ in 0..6 {
                let (mut sum, mut all) = (0.0, 0.0);
                for p in part {
                    let s = scatter.hypot(p.error);
                    let off = (p.value[a] - middle).abs() / s;
                    let w = (2.0 / off.max(2.0)) / (s * s);
                    (sum, all) = (sum + w * p.value[a], all + w);
                }
                middle = sum / all;
                error = error.max(all.sqrt().recip());
            }
            middle
        });
        Self { value, error }
    }
}

fn cost(off: &[f64]) -> f64 {
    off.iter().map(|r| (r * r).min(BOUND * BOUND)).sum()
}

fn norm(v: &[f64]) -> f64 {
    v.iter().map(|x| x * x).sum::<f64>().sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Repeatable normal numbers: the sum of twelve even ones less six (central limit; standard deviation 1).
    struct Dice(u64);

    impl Dice {
        fn even(&mut self) -> f64 {
            self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            (self.0 >> 40) as f64 / (1u64 << 24) as f64
        }
        fn normal(&mut self) -> f64 {
            (0..12).map(|_| self.even()).sum::<f64>() - 6.0
        }
    }

    fn series<const D: usize>(n: usize, dice: &mut Dice, plan: impl Fn(usize) -> [f64; D]) -> Vec<Point<D>> {
        (0..n).map(|at| Point { at, value: plan(at).map(|v| v + 0.03 * dice.normal()), error: 0.003 }).collect()
    }

    const RULE: Rule = Rule { least: 0.02, scatter: 0.004, side: 3 };

    #[test]
    fn a_planted_step_is_placed_and_measured() {
        let mut dice = Dice(7);
        let mut placed = 0;
        for seed in 0..60 {
            let (n, k) = (12 + seed % 9, 5 + seed % 3);
            let found = steps(&series(n, &mut dice, |i| [if i < k { 0.0 } else { -0.3 }]), &RULE);
            assert_eq!(found.len(), 1, "{seed}: {found:?}");
            assert!(!found[0].slide && (found[0].size[0] + 0.3).abs() < 4.0 * found[0].error, "{found:?}");
            placed += usize::from(found[0].after == k - 1 && found[0].before == k);
        }
        assert!(placed >= 58, "{placed} of 60 at their frame");
    }

    /// Jitter alone, with one frame in ten far off (a flash that had not recovered): next to none is named, at any length.
    #[test]
    fn chance_alone_is_seldom_named() {
        let mut dice = Dice(11);
        let mut named = [0; 2];
        for round in 0..1500 {
            let n = [6, 8, 12, 20, 40][round % 5];
            let odd = dice.even();
            let plan = |i: usize| if (i as f64 * 0.37 + odd).fract() < 0.1 { -0.6 } else { 0.0 };
            named[0] += usize::from(!steps(&series(n, &mut dice, |i| [plan(i)]), &RULE).is_empty());
            named[1] += usize::from(!steps(&series(n, &mut dice, |i| [plan(i), 0.0]), &RULE).is_empty());
        }
        assert!(named[0] + named[1] < 15, "of 3000 series that only jitter, steps were named in {named:?}");
    }

    #[test]
    fn two_steps_and_a_slide_are_told_apart() {
        let mut dice = Dice(3);
        let two = steps(&series(30, &mut dice, |i| [[0.0, 0.4, 0.1][i / 10]]), &RULE);
        assert_eq!(two.iter().map(|s| s.after).collect::<Vec<_>>(), [9, 19], "{two:?}");
        let slide = steps(&series(40, &mut dice, |i| [-0.01 * i as f64]), &RULE);
        assert_eq!(slide.len(), 1, "{slide:?}");
        assert!(slide[0].slide && (slide[0].size[0] + 0.39).abs() < 0.06, "{slide:?}");
    }

    /// One axis over the rule's smallest step and far over the noise, the other still.
    #[test]
    fn a_step_on_two_axes_keeps_its_direction() {
        let mut dice = Dice(5);
        let found = steps(&series(16, &mut dice, |i| if i < 9 { [0.0, 0.0] } else { [0.25, -0.15] }), &RULE);
        assert_eq!(found.len(), 1, "{found:?}");
        let s = found[0];
        assert!(s.after == 8 && (s.size[0] - 0.25).abs() < 0.06 && (s.size[1] + 0.15).abs() < 0.06, "{s:?}");
    }

    #[test]
    fn small_and_short_steps_are_left() {
        let exact = |n: usize, plan: &dyn Fn(usize) -> f64| -> Vec<Point<1>> {
            (0..n).map(|at| Point { at, value: [plan(at)], error: 0.001 }).collect()
        };
        assert_eq!(steps(&exact(20, &|i| if i < 10 { 0.0 } else { 0.015 }), &RULE), []);
        assert_eq!(steps(&exact(20, &|i| if i < 18 { 0.0 } else { 0.5 }), &RULE), [], "two frames of three asked");
        assert_eq!(steps::<1>(&[], &RULE), []);
    }
}
