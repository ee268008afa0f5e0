//! What a written date can mean: a stretch of the calendar or an interval of two, with marks of doubt; and the same as EDTF.

use super::calendar::Core;

/// A stretch with its marks of doubt.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Point {
    pub(super) core: Core,
    pub(super) about: bool,
    pub(super) unsure: bool,
}

/// One end of an interval.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum End {
    Unknown,
    Open,
    At(Point),
}

/// What a date can mean.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Meaning {
    One(Point),
    Range(End, End),
}

impl Point {
    pub(super) fn new(core: Core) -> Self {
        Self { core, about: false, unsure: false }
    }
    pub(super) fn text(self) -> String {
        let mark = match (self.unsure, self.about) {
            (true, true) => "%",
            (true, false) => "?",
            (false, true) => "~",
            (false, false) => "",
        };
        self.core.text() + mark
    }
}

impl End {
    pub(super) fn map(self, with: impl Fn(Point) -> Point) -> Self {
        match self {
            Self::At(point) => Self::At(with(point)),
            other => other,
        }
    }
}

impl Meaning {
    pub(super) fn map(self, with: impl Fn(Point) -> Point) -> Self {
        match self {
            Self::One(p) => Self::One(with(p)),
            Self::Range(a, b) => Self::Range(a.map(&with), b.map(&with)),
        }
    }
    pub(super) fn doubted(self, doubt: Doubt) -> Self {
        self.map(|p| Point { about: p.about | doubt.about, unsure: p.unsure | doubt.unsure, ..p })
    }
    pub(super) fn start(self) -> End {
        match self {
            Self::One(p) => End::At(p),
            Self::Range(a, _) => a,
        }
    }
    pub(super) fn end(self) -> End {
        match self {
            Self::One(p) => End::At(p),
            Self::Range(_, b) => b,
        }
    }
    pub(super) fn core(self) -> Option<Core> {
        match self {
            Self::One(p) => Some(p.core),
            Self::Range(..) => None,
        }
    }
    /// As EDTF. Decades and centuries take no marks and are no end of an interval: their years stand for them.
    pub(super) fn text(self) -> String {
        let end = |end: End, years: fn(Core) -> Core| match end {
            End::Unknown => String::new(),
            End::Open => "..".into(),
            End::At(p) => Point { core: years(p.core), ..p }.text(),
        };
        match self {
            Self::One(p) if p.core.first() != p.core && (p.about || p.unsure) => {
                Self::Range(End::At(p), End::At(p)).text()
            }
            Self::One(p) => p.text(),
            Self::Range(a, b) => format!("{}/{}", end(a, Core::first), end(b, Core::last)),
        }
    }
}

/// Marks of doubt of a phrase.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Doubt {
    pub(super) about: bool,
    pub(super) unsure: bool,
}

/// Every pair of an element of both.
pub(super) fn pairs(left: &[Meaning], right: &[Meaning]) -> Vec<Meaning> {
    left.iter().flat_map(|l| right.iter().map(|r| Meaning::Range(l.start(), r.end()))).collect()
}

pub(super) fn point(end: End) -> Option<Core> {
    match end {
        End::At(p) => Some(p.core),
        End::Unknown | End::Open => None,
    }
}
