//! The grammar of written dates. Each function gives all meanings of some pieces; none: they are no date.

use super::calendar::{Core, decade, feast, month, season, weekday, weekday_name, weekday_of};
use super::meaning::{Doubt, End, Meaning, Point, pairs, point};
use super::tokens::{Num, Tail, Tok, tokens};
use crate::edtf::month_length;

/// The first year that two figures can mean: instant prints were first sold in 1948.
const FIRST: i64 = 1948;

/// The meanings of a text as EDTF, and what is wrong with it where there is a reason to tell.
pub(super) fn meanings(text: &str, this_year: i64) -> (Vec<String>, Option<String>) {
    let mut parse = Parse { this_year, why: None };
    let Some(all) = tokens(text) else { return (vec![], None) };
    let found = parse.phrase(&all);
    (found.into_iter().map(Meaning::text).collect(), parse.why)
}

struct Parse {
    this_year: i64,
    why: Option<String>,
}

const ABOUT: [&str; 9] = ["about", "around", "approximately", "approx", "circa", "ca", "c", "abt", "roughly"];
const UNSURE: [&str; 8] =
    ["maybe", "perhaps", "possibly", "probably", "presumably", "likely", "supposedly", "apparently"];
/// Words that add nothing to a date.
const SMALL: [&str; 14] = [
    "in",
    "the",
    "of",
    "on",
    "at",
    "during",
    "year",
    "taken",
    "dated",
    "date",
    "sometime",
    "some",
    "photographed",
    "a",
];
/// Words of a date that counts from a day that nobody wrote down.
const RELATIVE: [&str; 7] = ["ago", "yesterday", "today", "tomorrow", "last", "this", "next"];
const NOTHING: [&str; 5] = ["unknown", "undated", "no date", "n d", "not known"];

/// The rest of some pieces after these words, where they begin so.
fn after<'a>(t: &'a [Tok], words: &str) -> Option<&'a [Tok]> {
    let words: Vec<&str> = words.split(' ').collect();
    let begins = t.len() >= words.len() && t.iter().zip(&words).all(|(t, w)| t.is(w));
    begins.then(|| &t[words.len()..])
}

fn after_any<'a>(t: &'a [Tok], all: &[&str]) -> Option<&'a [Tok]> {
    all.iter().find_map(|w| after(t, w))
}

/// Pieces without what surrounds a date: marks of doubt, brackets, a full stop.
fn peeled(mut t: &[Tok]) -> (&[Tok], Doubt) {
    let mut doubt = Doubt::default();
    loop {
        if let Some(rest) = after_any(t, &ABOUT) {
            (t, doubt.about) = (rest.strip_prefix(&[Tok::Sign('.')]).unwrap_or(rest), true);
        } else if let Some(rest) = after_any(t, &UNSURE).or_else(|| after_any(t, &["i think", "i guess", "could be"])) {
            (t, doubt.unsure) = (rest, true);
        } else if let Some(rest) = after_any(t, &SMALL) {
            t = rest;
        } else {
            t = match t {
                [Tok::Sign('~'), rest @ ..] => {
                    doubt.about = true;
                    rest
                }
                [Tok::Sign('('), rest @ .., Tok::Sign(')')]
                    if !rest.contains(&Tok::Sign('(')) && !rest.contains(&Tok::Sign(')')) =>
                {
                    rest
                }
                [rest @ .., Tok::Sign('('), Tok::Sign('?'), Tok::Sign(')')] | [rest @ .., Tok::Sign('?')] => {
                    doubt.unsure = true;
                    rest
                }
                [rest @ .., Tok::Sign('~')] => {
                    doubt.about = true;
                    rest
                }
                [rest @ .., a, b] if (a.is("or") && b.is("so")) || (*a == Tok::Sign('-') && b.is("ish")) => {
                    doubt.about = true;
                    rest
                }
                [rest @ .., a, b] if a.is("i") && (b.is("think") || b.is("guess")) => {
                    doubt.unsure = true;
                    rest
                }
                [rest @ .., Tok::Word(w)] if w == "ish" || ABOUT.contains(&w.as_str()) => {
                    doubt.about = true;
                    rest
                }
                [rest @ .., Tok::Word(w)] if UNSURE.contains(&w.as_str()) => {
                    doubt.unsure = true;
                    rest
                }
                [Tok::Sign(','), rest @ ..] | [rest @ .., Tok::Sign(',' | '.')] => rest,
                _ => return (t, doubt),
            };
        }
    }
}

impl Parse {
    /// Keeps the first reason: later ones come of readings that are less likely.
    fn tell(&mut self, why: impl Into<String>) {
        self.why.get_or_insert_with(|| why.into());
    }

    fn phrase(&mut self, t: &[Tok]) -> Vec<Meaning> {
        // Each end of an interval has a mark of its own.
        if t.iter().filter(|t| matches!(t, Tok::Sign('?' | '~'))).count() > 1 {
            let found = self.split(t, false);
            if !found.is_empty() {
                return found;
            }
        }
        let (t, doubt) = peeled(t);
        let joined: Vec<&str> =
            t.iter().filter_map(|t| if let Tok::Word(w) = t { Some(w.as_str()) } else { None }).collect();
        if t.is_empty() || NOTHING.contains(&joined.join(" ").as_str()) {
            self.tell("Leave the date empty where nothing is known of it.");
            return vec![];
        }
        let mut found = self.bounded(t);
        if found.is_empty() {
            found = self.one(t);
            // 2001–02 is a month and two years; any other date is no interval as well.
            let whole = !found.is_empty();
            found.extend(self.split(t, whole));
        }
        if found.is_empty() && joined.iter().any(|w| RELATIVE.contains(w)) {
            self.tell("It counts from a day that is not known later. Write the year.");
        }
        found.into_iter().map(|m| m.doubted(doubt)).collect()
    }

    /// "before …", "between … and …": dates told by words before them.
    fn bounded(&mut self, t: &[Tok]) -> Vec<Meaning> {
        let cut = |t: &[Tok], words: &[&str]| t.iter().position(|t| words.iter().any(|w| t.is(w)));
        const TO: [&str; 5] = ["to", "until", "till", "through", "thru"];
        if let Some(rest) = after(t, "between") {
            return cut(rest, &["and"]).map(|at| self.interval(&rest[..at], &rest[at + 1..])).unwrap_or_default();
        }
        if let Some(rest) = after_any(t, &["from", "since"]) {
            if let Some(at) = cut(rest, &TO) {
                return self.interval(&rest[..at], &rest[at + 1..]);
            }
            let found = self.split(rest, false);
            if !found.is_empty() {
                return found;
            }
            let rest = match rest {
                [rest @ .., last] if ["on", "onward", "onwards"].iter().any(|w| last.is(w)) => rest,
                all => all,
            };
            return self.plain(rest).into_iter().map(|m| Meaning::Range(m.start(), End::Open)).collect();
        }
        if let Some(rest) = after_any(t, &["before", "prior to", "earlier than", "pre"]) {
            let before = |p: Point| Point { core: p.core.before(), ..p };
            let rest = rest.strip_prefix(&[Tok::Sign('-')]).unwrap_or(rest);
            return self.plain(rest).into_iter().map(|m| Meaning::Range(End::Unknown, m.start().map(before))).collect();
        }
        if let Some(rest) =
            after_any(t, &["until", "till", "by", "up to", "not after", "not later than", "no later than"])
        {
            return self.plain(rest).into_iter().map(|m| Meaning::Range(End::Unknown, m.end())).collect();
        }
        if let Some(rest) = after_any(t, &["not before", "not earlier than", "no earlier than"]) {
            return self.plain(rest).into_iter().map(|m| Meaning::Range(m.start(), End::Unknown)).collect();
        }
        if let Some(rest) = after_any(t, &["after", "later than", "post"]) {
            let after = |p: Point| Point { core: p.core.after(), ..p };
            let rest = rest.strip_prefix(&[Tok::Sign('-')]).unwrap_or(rest);
            return self.plain(rest).into_iter().map(|m| Meaning::Range(m.end().map(after), End::Unknown)).collect();
        }
        // "2001 or earlier", "2001 or later".
        if let [rest @ .., or, last] = t
            && or.is("or")
        {
            if last.is("earlier") || last.is("before") {
                return self.plain(rest).into_iter().map(|m| Meaning::Range(End::Unknown, m.end())).collect();
            }
            if last.is("later") || last.is("after") {
                return self.plain(rest).into_iter().map(|m| Meaning::Range(m.start(), End::Unknown)).collect();
            }
        }
        if let Some(at) = cut(t, &["or"]) {
            let unsure = Doubt { unsure: true, about: false };
            return self.interval(&t[..at], &t[at + 1..]).into_iter().map(|m| m.doubted(unsure)).collect();
        }
        cut(t, &TO).map(|at| self.interval(&t[..at], &t[at + 1..])).unwrap_or_default()
    }

    /// Two dates with a dash or a stroke between them; `short`: only two years.
    fn split(&mut self, t: &[Tok], short: bool) -> Vec<Meaning> {
        let word = |t: &[Tok]| t.iter().any(|t| matches!(t, Tok::Word(_)));
        for (at, tok) in t.iter().enumerate().skip(1) {
            let Tok::Sign(sign @ ('-' | '–' | '/')) = *tok else { continue };
            let (left, right) = (&t[..at], &t[at + 1..]);
            let years = self.short_years(left, right);
            if !years.is_empty() {
                return years;
            }
            // A stroke between figures alone belongs to a day.
            if short || right.is_empty() || (sign == '/' && !word(left) && !word(right)) {
                continue;
            }
            let found = self.interval(left, right);
            if !found.is_empty() {
                return found;
            }
        }
        vec![]
    }

    /// "1998–99".
    fn short_years(&mut self, left: &[Tok], right: &[Tok]) -> Vec<Meaning> {
        let ((left, a), (right, b)) = (peeled(left), peeled(right));
        let ([Tok::Num(l)], [Tok::Num(r)]) = (left, right) else { return vec![] };
        let years = self.years(l);
        let ([year], true) = (years.as_slice(), r.text.len() == 2 && r.tail == Tail::None) else {
            return vec![];
        };
        let last = year - year.rem_euclid(100) + r.value();
        if last <= *year {
            return vec![];
        }
        let one = |y: i64, d: Doubt| [Meaning::One(Point::new(Core::Year(y))).doubted(d)];
        pairs(&one(*year, a), &one(last, b))
    }

    /// An interval of two dates. Where one leaves out what the other says ("14–16 July 2009"), it is taken from there.
    fn interval(&mut self, left: &[Tok], right: &[Tok]) -> Vec<Meaning> {
        let named = |t: &[Tok]| t.iter().find(|t| matches!(t, Tok::Word(w) if month(w).is_some())).cloned();
        let mut rights = self.plain(right);
        if rights.is_empty()
            && let Some(month) = named(left)
        {
            rights = self.plain(&[&[month], right].concat());
        }
        let short = self.short_years(left, right);
        if !short.is_empty() {
            return short;
        }
        let mut lefts = self.plain(left);
        if lefts.is_empty()
            && let Some(year) = rights.first().and_then(|r| r.core().or_else(|| point(r.end()))).and_then(Core::year)
        {
            let words = left.iter().any(|t| matches!(t, Tok::Word(_)));
            let dotted = left.last() == Some(&Tok::Sign('.'));
            if words || dotted {
                lefts = self.plain(&[left, &[Tok::year(year)]].concat());
            }
            if lefts.is_empty()
                && let Some(month) = named(right)
            {
                lefts = self.plain(&[left, &[month, Tok::year(year)]].concat());
            }
        }
        pairs(&lefts, &rights)
    }

    /// A date that is no interval of two.
    fn plain(&mut self, t: &[Tok]) -> Vec<Meaning> {
        let (t, doubt) = peeled(t);
        self.one(t).into_iter().map(|m| m.doubted(doubt)).collect()
    }

    fn one(&mut self, t: &[Tok]) -> Vec<Meaning> {
        const PARTS: [(&str, i64, i64); 14] = [
            ("early", 0, 3),
            ("beginning of", 0, 3),
            ("start of", 0, 3),
            ("mid", 1, 3),
            ("middle of", 1, 3),
            ("late", 2, 3),
            ("end of", 2, 3),
            ("first half of", 0, 2),
            ("second half of", 1, 2),
            ("1 half of", 0, 2),
            ("the early", 0, 3),
            ("the mid", 1, 3),
            ("the late", 2, 3),
            ("the end of", 2, 3),
        ];
        for (words, which, of) in PARTS {
            let Some(rest) = after(t, words) else { continue };
            let rest = rest.strip_prefix(&[Tok::Sign('-')]).unwrap_or(rest);
            let part = |p: Point| match p.core.part(which, of) {
                Some((a, b)) => {
                    let end = |core| End::At(Point { core, about: of == 3 || p.about, ..p });
                    Meaning::Range(end(a), end(b))
                }
                None => Meaning::One(Point { about: true, ..p }),
            };
            return self.points(rest).into_iter().map(part).collect();
        }
        self.points(t).into_iter().map(Meaning::One).collect()
    }

    /// The years that figures can mean: four, or two after an apostrophe.
    fn years(&self, n: &Num) -> Vec<i64> {
        match (n.text.len(), n.tail) {
            (4, Tail::None) if !n.cut && n.value() >= 1000 => vec![n.value()],
            (2, Tail::None) if n.cut => self.short(n.value()),
            _ => vec![],
        }
    }

    /// The years that two figures can mean: one of instant prints, or both centuries where neither is.
    fn short(&self, two: i64) -> Vec<i64> {
        let both = [1900 + two, 2000 + two];
        let likely: Vec<i64> = both.into_iter().filter(|y| (FIRST..=self.this_year).contains(y)).collect();
        if likely.is_empty() { both.to_vec() } else { likely }
    }

    fn points(&mut self, t: &[Tok]) -> Vec<Point> {
        let small = |t: &&Tok| !matches!(t, Tok::Sign(',')) && !SMALL.iter().any(|w| t.is(w));
        let all: Vec<&Tok> = t.iter().filter(small).collect();
        // Easter Sunday is a feast, and its Sunday no weekday to check.
        let spoken: Vec<&str> =
            all.iter().filter_map(|t| if let Tok::Word(w) = t { Some(w.as_str()) } else { None }).collect();
        let named = feast(&spoken.join(" "), 2000).is_some();
        let (mut words, mut days, mut rest) = (vec![], vec![], vec![]);
        for tok in all {
            match tok {
                // "may" is a month, and "sat", "sun" and "mon" no other word of a date.
                Tok::Word(w) if !named && month(w).is_none() && weekday(w).is_some() => days.extend(weekday(w)),
                Tok::Word(w) => {
                    words.push((w.as_str(), rest.len()));
                }
                Tok::Sign('.') if rest.is_empty() || words.last().is_some_and(|(_, at)| *at == rest.len()) => {}
                other => rest.push(other),
            }
        }
        let cores = match words.as_slice() {
            [] => self.figures(&rest).into_iter().map(Point::new).collect(),
            words => self.worded(words, &rest),
        };
        self.of_weekday(cores, &days)
    }

    /// Leaves out days that were not that weekday.
    fn of_weekday(&mut self, found: Vec<Point>, weekdays: &[i64]) -> Vec<Point> {
        let Some(wanted) = weekdays.first() else { return found };
        let mut kept = vec![];
        for point in found {
            let Core::Day(y, m, d) = point.core else { continue };
            let was = weekday_of(y, m, d);
            if was == *wanted {
                kept.push(point);
            } else {
                let (was, not) = (weekday_name(was), weekday_name(*wanted));
                self.tell(format!("{} was a {was}, not a {not}. Check the day.", super::says(&point.core.text())));
            }
        }
        if !kept.is_empty() {
            self.why = None;
        }
        kept
    }

    fn worded(&mut self, words: &[(&str, usize)], rest: &[&Tok]) -> Vec<Point> {
        let nums: Vec<&Num> = rest.iter().filter_map(|t| if let Tok::Num(n) = t { Some(n) } else { None }).collect();
        let signs = |allowed: &[char]| rest.iter().all(|t| !matches!(t, Tok::Sign(s) if !allowed.contains(s)));
        let plain = |cores: Vec<Core>| cores.into_iter().map(Point::new).collect::<Vec<_>>();
        let text: Vec<&str> = words.iter().map(|w| w.0).collect();
        match (text.as_slice(), nums.as_slice()) {
            ([name], []) if decade(name).is_some() => {
                return plain(self.decades(decade(name).unwrap_or(0)));
            }
            ([name], [n]) if *name == "century" && n.tail == Tail::Ordinal && (11..=30).contains(&n.value()) => {
                return plain(vec![Core::Century(n.value() - 1)]);
            }
            ([name], nums) if month(name).is_some() && signs(&['-', '.', '/']) => {
                let before = words[0].1;
                // Where the name stands among the figures, not counting signs.
                let first = rest[..before.min(rest.len())].iter().filter(|t| matches!(t, Tok::Num(_))).count();
                return plain(self.with_month(month(name).unwrap_or(1), nums, first));
            }
            ([name], nums) if season(name).is_some() && signs(&['-', '–', '/']) => {
                return plain(self.with_season(season(name).unwrap_or(21), nums));
            }
            _ => {}
        }
        let joined = text.join(" ");
        if feast(&joined, 2000).is_none() || !signs(&[]) {
            return vec![];
        }
        let [n] = nums.as_slice() else {
            self.tell("Add the year.");
            return vec![];
        };
        let mut found = vec![];
        for y in self.years(n) {
            let (cores, about) = feast(&joined, y).unwrap_or_default();
            found.extend(cores.into_iter().map(|core| Point { core, about, unsure: false }));
        }
        found
    }

    fn decades(&self, figure: i64) -> Vec<Core> {
        let both = [190 + figure, 200 + figure];
        // One that began since instant prints are sold, or in which they were first sold.
        let likely: Vec<i64> = both.into_iter().filter(|d| 10 * d + 9 >= FIRST && 10 * d <= self.this_year).collect();
        let all = if likely.is_empty() { both.to_vec() } else { likely };
        all.into_iter().map(Core::Decade).collect()
    }

    fn with_season(&mut self, season: i64, nums: &[&Num]) -> Vec<Core> {
        match nums {
            [n] => self.years(n).into_iter().map(|y| Core::Season(y, season)).collect(),
            // The winter of two years bears the first one's.
            [a, b] if season == 24 => {
                let next = |y: &i64| b.value() == y + 1 || (b.text.len() == 2 && b.value() == (y + 1) % 100);
                self.years(a).into_iter().filter(next).map(|y| Core::Season(y, season)).collect()
            }
            [] => {
                self.tell("Add the year.");
                vec![]
            }
            _ => vec![],
        }
    }

    /// A month with figures; `before` of them stand before its name.
    fn with_month(&mut self, m: i64, nums: &[&Num], before: usize) -> Vec<Core> {
        let two = |n: &Num| n.text.len() == 2 && n.tail == Tail::None;
        match nums {
            [] => {
                self.tell("Add the year.");
                vec![]
            }
            [n] => {
                let mut years = self.years(n);
                // No day has this number, so it is a year.
                if years.is_empty() && two(n) && n.value() > 31 {
                    years = self.short(n.value());
                }
                if years.is_empty() && n.text.len() <= 2 {
                    self.tell("Add the year, in four figures or as ’98.");
                }
                years.into_iter().map(|y| Core::Month(y, m)).collect()
            }
            [a, b] => {
                let written = |n: &Num| self.years(n);
                let (years, d) = if !written(b).is_empty() {
                    (written(b), a)
                } else if !written(a).is_empty() {
                    (written(a), b)
                } else if two(a) && a.value() > 31 {
                    (self.short(a.value()), b)
                } else if two(b) && before < 2 {
                    // 14 July 98, July 14 98.
                    (self.short(b.value()), a)
                } else {
                    return vec![];
                };
                let days: Vec<_> = years.into_iter().filter_map(|y| self.day(y, m, d)).collect();
                days
            }
            _ => vec![],
        }
    }

    fn day(&mut self, y: i64, m: i64, d: &Num) -> Option<Core> {
        if d.text.len() > 2 || d.cut || d.tail == Tail::Plural {
            return None;
        }
        self.exact(y, m, d.value())
    }

    fn exact(&mut self, y: i64, m: i64, d: i64) -> Option<Core> {
        if !(1..=12).contains(&m) {
            return None;
        }
        let most = month_length(y, m);
        if (1..=most).contains(&d) {
            return Some(Core::Day(y, m, d));
        }
        if d > 0 {
            self.tell(format!("{} has {most} days.", super::says(&Core::Month(y, m).text())));
        }
        None
    }

    /// Figures alone, with signs between them.
    fn figures(&mut self, t: &[&Tok]) -> Vec<Core> {
        let mut t = t;
        while let [rest @ .., Tok::Sign('.')] = t {
            t = rest;
        }
        let mut nums: Vec<&Num> = vec![];
        let mut signs: Vec<char> = vec![];
        for tok in t {
            match tok {
                Tok::Num(n) => {
                    if nums.len() > signs.len() {
                        signs.push(' ');
                    }
                    nums.push(n);
                }
                Tok::Sign(s) if nums.len() == signs.len() + 1 => signs.push(if *s == '–' { '-' } else { *s }),
                _ => return vec![],
            }
        }
        match (nums.as_slice(), signs.as_slice()) {
            ([n], []) => self.single(n),
            ([a, b], [s]) if *s != ' ' => self.year_and_month(a, b),
            ([a, b, c], [s, t]) if s == t || (*s == '.' && *t == ' ') => self.three(a, b, c, *s == '.'),
            _ => vec![],
        }
    }

    fn single(&mut self, n: &Num) -> Vec<Core> {
        let v = n.value();
        match (n.text.len(), n.tail) {
            (4, Tail::Plural) if v % 100 == 0 && v >= 1000 => vec![Core::Decade(v / 10), Core::Century(v / 100)],
            (4, Tail::Plural) if v % 10 == 0 && v >= 1000 => vec![Core::Decade(v / 10)],
            (2, Tail::Plural) if v % 10 == 0 => self.decades(v / 10),
            (8, Tail::None) => {
                self.exact(v / 10_000, v / 100 % 100, v % 100).filter(|_| v >= 10_000_000).into_iter().collect()
            }
            (2, Tail::None) if !n.cut => {
                let says = self.short(v).iter().map(i64::to_string).collect::<Vec<_>>().join(" or ");
                self.tell(format!("{} can be a day or a year. Write ’{0} or {says} for the year.", n.text));
                vec![]
            }
            _ => self.years(n).into_iter().map(Core::Year).collect(),
        }
    }

    fn year_and_month(&mut self, a: &Num, b: &Num) -> Vec<Core> {
        let month = |n: &Num| (n.text.len() <= 2 && !n.cut && (1..=12).contains(&n.value())).then(|| n.value());
        let of = |years: Vec<i64>, m: Option<i64>| -> Vec<Core> {
            m.map(|m| years.into_iter().map(|y| Core::Month(y, m)).collect()).unwrap_or_default()
        };
        let found = of(self.years(a), month(b));
        if found.is_empty() { of(self.years(b), month(a)) } else { found }
    }

    /// Three figures: day, month and year in the orders that people use. Where dots stand between them, the day comes first or the
    /// year (in every locale of the Unicode CLDR whose short date has dots); with other signs the month may come first as well.
    fn three(&mut self, a: &Num, b: &Num, c: &Num, dots: bool) -> Vec<Core> {
        let two = |n: &Num| n.text.len() == 2 && n.tail == Tail::None;
        let known = |it: &Self, n: &Num| it.years(n);
        let guess = |it: &Self, n: &Num| if two(n) { it.short(n.value()) } else { vec![] };
        let (first, last) = (known(self, a), known(self, c));
        let (first, last) = match (first.is_empty(), last.is_empty()) {
            // The year is written out at one end.
            (false, _) => (first, vec![]),
            (true, false) => (vec![], last),
            (true, true) if two(a) && a.value() > 31 => (guess(self, a), vec![]),
            (true, true) if dots || (two(c) && c.value() > 31) => (vec![], guess(self, c)),
            (true, true) => (guess(self, a), guess(self, c)),
        };
        let mut found: Vec<Core> = vec![];
        for y in last {
            found.extend(self.day(y, b.value(), a));
            if !dots || found.is_empty() {
                found.extend(self.day(y, a.value(), b));
            }
        }
        for y in first {
            found.extend(self.day(y, b.value(), c));
        }
        if !found.is_empty() {
            self.why = None;
        }
        found
    }
}
