//! Reads the catalogue for the page.

use super::stack_rows::{Lies, fold};
use super::wire::request::{OffersQuery, PrintsQuery};
use super::wire::{
    self, Count, EditKind, Fact, FactKind, LightSeen, NamedLight, Print, Prints, Row, State, Summary, Verdicts, by_word,
};
use super::{Desk, Sight};
use finish::Role;
use finish::finding::Severity;
use finish::report::Report;
use print::fingerprint;
use project::catalogue;
use project::catalogue::{FACTS, Kind, PRIVACY, PrintId, Query, TakenIn, fields};
use project::{Project, Result};
use rayon::prelude::*;
use std::collections::BTreeMap;

/// Most prints in one answer.
const MOST: usize = 1000;
/// Most lines of a print's history: more than a sheet shows.
const HISTORY: usize = 50;

/// The order of prints in an answer.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Order {
    /// By something of their own.
    By(catalogue::Order),
    /// An edit's prints alone, in its order.
    Edit(String),
}

impl Order {
    /// An order by its word: `number`, `taken`, `exposed`, `place`, `verdict`, `box`, `format`, `edit:NAME`; number for others.
    pub fn of(word: &str) -> Self {
        if let Some(name) = word.strip_prefix("edit:") {
            return Self::Edit(name.to_owned());
        }
        Self::By(match word {
            "taken" => catalogue::Order::Taken,
            "exposed" | "date" => catalogue::Order::Date,
            "place" => catalogue::Order::Place,
            "verdict" => catalogue::Order::Verdict,
            "box" => catalogue::Order::Box,
            "format" => catalogue::Order::Format,
            _ => catalogue::Order::Number,
        })
    }
}

/// Imports that are offered to be undone: those of an evening.
const TAKES: usize = 8;

fn taken_in(t: TakenIn) -> wire::TakenIn {
    wire::TakenIn { take: t.room, from: t.from, at: t.at, frames: t.frames }
}

impl Desk {
    /// The project as a whole.
    ///
    /// # Errors
    /// The catalogue cannot be read.
    pub fn state(&self) -> Result<State> {
        let project = self.project();
        let it = project.catalogue();
        let tally = it.tally()?;
        let (undo, redo) = it.can_undo_redo_in(&self.rooms())?;
        let takes = it.taken_in(TAKES)?;
        let name = self.folder.canonicalize().unwrap_or_else(|_| self.folder.clone());
        let mut edits: Vec<wire::Edit> = it.edits()?.into_iter().map(edit).collect();
        edits.sort_by_key(|e| e.kind);
        let many = |verdict: &str| tally.verdicts.iter().find(|v| v.0 == verdict).map_or(0, |v| v.1);
        let verdicts = Verdicts { keep: many("keep"), look: many("look"), reshoot: many("reshoot") };
        Ok(State {
            project: base::files::name_of(&name),
            reads_only: self.reads_only.is_some(),
            why: self.reads_only.clone(),
            prints: tally.prints,
            verdicts,
            edits,
            boxes: boxes(it.holders()?),
            formats: formats(tally.formats),
            searches: it.saved_searches()?.into_iter().map(|(name, line)| wire::SavedSearch { name, line }).collect(),
            unsaid: project.unsaid_privacy()?.as_deref().and_then(by_word),
            unsaid_prints: it.without_privacy()?,
            undo,
            redo,
            takes: takes.into_iter().map(taken_in).collect(),
            facts: FACTS.iter().map(describable).collect(),
            fields: fields().map(|f| f.0).collect(),
            lights: lights(&project)?,
        })
    }

    /// Prints that a search finds, in places: each in its own, or a closed stack in one.
    ///
    /// # Errors
    /// The catalogue cannot be read. A search that is not understood is an answer that says so.
    pub fn prints(&self, asked: &PrintsQuery) -> Result<Prints> {
        let numbers = |text: &String| text.split(',').filter_map(|n| n.parse().ok()).collect::<Vec<i64>>();
        let open = asked.stacks.as_ref().map(numbers);
        self.laid(&asked.q, &Order::of(&asked.order), open.as_deref(), asked.from, asked.count)
    }

    /// As [`Desk::prints`]: each stack takes one place but those whose numbers are `open`. An edit has no stacks: each print of it
    /// was chosen.
    ///
    /// # Errors
    /// As [`Desk::prints`].
    pub fn laid(&self, line: &str, order: &Order, open: Option<&[i64]>, from: usize, most: usize) -> Result<Prints> {
        let project = self.project();
        let it = project.catalogue();
        let query = match Query::parse(line) {
            Ok(query) => query,
            Err(e) => return Ok(Prints { total: 0, prints: 0, says: Some(e.to_string()), rows: vec![] }),
        };
        let ids = match order {
            Order::By(order) => it.find(&query, *order)?,
            Order::Edit(name) => {
                let found = it.find(&query, catalogue::Order::Number)?;
                let edit = it.edit(name)?.map(|e| e.prints).unwrap_or_default();
                // Numbers come in order, so that each is found by halving.
                edit.into_iter().filter(|p| found.binary_search(p).is_ok()).collect()
            }
        };
        let stacks = it.stacks()?;
        let places: Vec<Lies> = match (order, open) {
            (Order::By(_), Some(open)) => fold(&ids, &stacks, open, &it.edits()?),
            _ => ids.iter().map(|id| (*id, 0)).collect(),
        };
        let part = places.get(from..).unwrap_or_default();
        let part = &part[..part.len().min(most).min(MOST)];
        let shown: Vec<PrintId> = part.iter().map(|p| p.0).collect();
        // A print that went meanwhile has no row: each row looks for its own place.
        let under: BTreeMap<PrintId, usize> = part.iter().copied().collect();
        let of = of(&stacks);
        let laid = |r| {
            let row = row(r);
            let id = PrintId(row.print.id);
            let under = under.get(&id).copied().unwrap_or(0);
            let stack = of.get(&id).map(|(place, stack)| pile(*place, stack, under));
            Row { stack, ..row }
        };
        let rows = it.rows(&shown)?.into_iter().map(laid).collect();
        Ok(Prints { total: places.len(), prints: ids.len(), says: None, rows })
    }

    /// A print on its sheet; `None` where there is none of this number.
    ///
    /// # Errors
    /// The catalogue cannot be read.
    pub fn print(&self, id: i64) -> Result<Option<Print>> {
        let project = self.project();
        let it = project.catalogue();
        let id = PrintId(id);
        let (Some(print), Some(listed)) = (it.print(id)?, it.rows(&[id])?.pop()) else { return Ok(None) };
        let facts = print.facts.pairs().into_iter().filter(|(_, v)| !v.is_empty()).map(|(f, v)| (f.word(), v));
        let done = |e: catalogue::Entry| wire::Done { when: e.at, says: e.says };
        let made =
            |h: &catalogue::HandOff| wire::Made { what: h.kind.clone(), when: h.at.clone(), place: h.place.clone() };
        Ok(Some(Print {
            print: row(listed).print,
            facts: facts.collect(),
            frames: print.frames.iter().map(|f| frame(&project, f, &print)).collect(),
            history: it.history_of(id, HISTORY)?.into_iter().map(done).collect(),
            made: print.hand_offs.iter().map(made).collect(),
            likenesses: likenesses(&project, &print)?,
        }))
    }

    /// A frame as the sheet shows it.
    ///
    /// # Errors
    /// The catalogue cannot be read.
    pub fn frame(&self, id: i64) -> Result<Option<wire::Frame>> {
        let project = self.project();
        let Some(held) = project.catalogue().frame(catalogue::FrameId(id))? else { return Ok(None) };
        let print = held.print.map(|p| project.catalogue().print(p)).transpose()?.flatten();
        Ok(Some(match print {
            Some(print) => frame(&project, &held, &print),
            None => loose(&project, &held),
        }))
    }

    /// What was said of other prints for a fact, beginning with `start`.
    ///
    /// # Errors
    /// There is no such fact, or the catalogue cannot be read.
    pub fn offers(&self, asked: &OffersQuery) -> Result<Vec<String>> {
        Ok(self.project().catalogue().offered(catalogue::Fact::of(&asked.fact)?, &asked.start, 12)?)
    }

    /// The picture of a frame: what to make it from.
    ///
    /// # Errors
    /// The catalogue cannot be read.
    pub fn sight(&self, frame: i64, mount: bool) -> Result<Option<Sight>> {
        let project = self.project();
        let Some(held) = project.catalogue().frame(catalogue::FrameId(frame))? else { return Ok(None) };
        Ok(Sight::of(&project, &held, mount))
    }
}

/// Each stacked print with its stack and its place there.
fn of(stacks: &[catalogue::Stack]) -> BTreeMap<PrintId, (usize, &catalogue::Stack)> {
    stacks.iter().flat_map(|s| s.prints.iter().enumerate().map(move |(i, p)| (*p, (i, s)))).collect()
}

fn pile(place: usize, stack: &catalogue::Stack, under: usize) -> wire::Pile {
    wire::Pile { id: stack.number, of: stack.prints.len(), place: place + 1, under, proposed: stack.proposed }
}

fn edit(e: catalogue::Edit) -> wire::Edit {
    let kind = by_word(&e.kind).filter(|_| e.name.eq_ignore_ascii_case(&e.kind)).unwrap_or(EditKind::Own);
    wire::Edit { name: e.name, kind, count: e.prints.len() }
}

fn boxes(holders: Vec<catalogue::Holder>) -> Vec<wire::BoxOf> {
    let mut boxes: Vec<wire::BoxOf> = vec![];
    for h in holders {
        if boxes.last().is_none_or(|b| b.name != h.box_name) {
            boxes.push(wire::BoxOf { name: h.box_name, sleeves: vec![], count: 0 });
        }
        if let Some(last) = boxes.last_mut() {
            last.count += h.prints;
            last.sleeves.extend(Some(h.sleeve).filter(|s| !s.is_empty()));
        }
    }
    boxes
}

/// Every format that is known, in the order of its table, and those of the catalogue beside them, with how many prints have each.
fn formats(counted: Vec<(String, i64)>) -> Vec<Count> {
    let mut all: Vec<Count> =
        print::format::known().into_iter().map(|f| Count { name: f.name.to_owned(), count: 0 }).collect();
    for (name, count) in counted {
        match all.iter_mut().find(|c| c.name == name) {
            Some(held) => held.count = count,
            None => all.push(Count { name, count }),
        }
    }
    all
}

fn describable(line: &catalogue::FactLine) -> Fact {
    let mut label = line.word.to_owned();
    label.get_mut(..1).into_iter().for_each(str::make_ascii_uppercase);
    if line.fact == catalogue::Fact::Dated {
        label = "Date as written".into();
    }
    let (kind, choices) = match line.kind {
        Kind::Words => (FactKind::Text, vec![]),
        Kind::List => (FactKind::List, vec![]),
        Kind::Date => (FactKind::Date, vec![]),
        Kind::Choice => (FactKind::Choice, PRIVACY.to_vec()),
    };
    Fact { word: line.word, label, kind, choices }
}

/// The lights that have a name: the project's own, then those that every project has.
fn lights(project: &Project) -> Result<Vec<NamedLight>> {
    let own = project.lights()?.into_iter().map(|l| (l, true));
    let all = own.chain(finish::light::usual().map(|l| (l, false)));
    Ok(all.map(|(l, own)| NamedLight::of(l, own)).collect())
}

fn said(text: String) -> Option<String> {
    Some(text).filter(|t| !t.is_empty())
}

fn row(r: catalogue::Row) -> Row {
    let mm = |px: [i64; 2]| r.px_per_mm.map(|s| px.map(|n| (n as f64 / s * 100.0).round() / 100.0));
    let words = [r.title.as_str(), &r.place, &r.date].iter().filter(|w| !w.is_empty()).copied().collect::<Vec<_>>();
    let alt = match words.as_slice() {
        [] => format!("Print {}", r.id),
        some => format!("Print {}: {}", r.id, some.join(", ")),
    };
    let print = Summary {
        id: r.id.0,
        label: r.id.to_string(),
        canvas_mm: r.canvas_px.and_then(mm),
        size_mm: r.size_mm,
        format: said(r.format),
        verdict: r.verdict.as_deref().and_then(by_word),
        frame: r.front.map(|f| f.0),
        picture: r.picture.and(r.stamp).map(|s| short(&s)),
        box_name: said(r.box_name),
        sleeve: said(r.sleeve),
        exposed: said(r.date),
        place: said(r.place),
        title: said(r.title),
        edits: r.edits,
        back: r.back != "none",
        back_frame: r.back_frame.map(|f| f.0),
        back_picture: r.back_stamp.map(|s| short(&s)),
        alt,
    };
    Row { print, frames: r.frames, stack: None }
}

/// Enough of a recipe's hash to tell one picture of a frame from the next.
pub(super) fn short(stamp: &str) -> String {
    stamp.chars().take(16).collect()
}

fn frame(project: &Project, f: &catalogue::Frame, print: &catalogue::Print) -> wire::Frame {
    let chosen = print.front == Some(f.id);
    let why = if chosen { print.front_why.clone() } else { f.print_why.clone() };
    wire::Frame { chosen, why: said(why), ..loose(project, f) }
}

fn loose(project: &Project, f: &catalogue::Frame) -> wire::Frame {
    let r = f.result.clone().unwrap_or_default();
    let report = project.report(&r);
    let by_hand = report.as_ref().and_then(|r| r.recipe.by_hand.clone()).unwrap_or_default();
    let chosen = report.as_ref().map(|r| r.recipe.chosen());
    let print = report.as_ref().and_then(|r| r.print.as_ref());
    let canvas = report.as_ref().and_then(|r| r.canvas.as_ref());
    let finding = |f: catalogue::Finding| wire::Finding {
        code: f.code,
        severity: by_word(&f.severity).unwrap_or(Severity::Note),
        says: f.says,
        remedy: f.remedy,
        value: f.value,
        limit: f.limit,
        unit: f.unit,
    };
    wire::Frame {
        id: f.id.0,
        name: f.name.clone(),
        part: [f.part.number, f.part.of],
        file: f.path.rsplit(['/', '\\']).next().unwrap_or_default().to_owned(),
        role: role(f),
        verdict: by_word(&r.verdict),
        chosen: false,
        why: said(f.print_why.clone()),
        taken: f.taken.clone(),
        findings: r.findings.into_iter().map(finding).collect(),
        outline: report.as_ref().and_then(upright_outline),
        size_px: r.frame_px,
        canvas_px: r.canvas_px,
        print_px: canvas.map(|c| c.print_px),
        px_per_mm: r.px_per_mm,
        picture: r.after.map(|_| short(&r.recipe)),
        format: said(r.format),
        confidence: r.confidence,
        turn_known: print.is_some_and(|p| p.upright_known),
        turn: by_hand.turn.unwrap_or(0),
        shadow: chosen.as_ref().map_or(1.0, |c| c.shadow),
        light: chosen.and_then(|c| c.light).map_or_else(LightSeen::default, |l| LightSeen::of(&l)),
        cast: report.as_ref().and_then(|r| r.shadow.as_ref()).map(|s| s.says()),
        cast_why: report.as_ref().and_then(|r| r.shadow.as_ref()?.why.clone()),
        lift: report.as_ref().and_then(|r| r.lift.as_ref()).and_then(wire::Lift::of),
    }
}

/// What a frame shows. The catalogue keeps no other words than a role's.
pub(super) fn role(f: &catalogue::Frame) -> Role {
    by_word(&f.role).unwrap_or(Role::Front)
}

/// The outline from the upright print's top left.
pub(super) fn upright_outline(report: &Report) -> Option<finish::Corners> {
    let print = report.print.as_ref()?;
    Some(std::array::from_fn(|i| print.outline_px[(print.upright_corner + i) % 4]))
}

/// Prints whose pictures are like this one's: another exposure of the same scene, as a rule.
fn likenesses(project: &Project, print: &catalogue::Print) -> Result<Vec<wire::Like>> {
    let all = project.catalogue().likenesses()?;
    let Some((_, _, mine)) = all.iter().find(|(f, _, _)| Some(*f) == print.front) else { return Ok(vec![]) };
    let sought = fingerprint::Sought::new(mine);
    let others = all.par_iter().filter(|(_, p, _)| *p != print.id);
    let alike: Vec<(PrintId, f64)> = others.map(|(_, p, lattice)| (*p, sought.alike(lattice))).collect();
    let mut near: BTreeMap<PrintId, f64> = BTreeMap::new();
    for (other, alike) in alike.into_iter().filter(|(_, alike)| *alike >= fingerprint::SIEVE) {
        let best = near.entry(other).or_insert(alike);
        *best = best.max(alike);
    }
    let mut near: Vec<_> = near.into_iter().collect();
    near.sort_by(|a, b| b.1.total_cmp(&a.1));
    let why =
        |(id, alike): (PrintId, f64)| wire::Like { id: id.0, why: format!("similar picture: {:.0} %", 100.0 * alike) };
    Ok(near.into_iter().take(6).map(why).collect())
}
