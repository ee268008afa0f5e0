//! Which print a frame shows: a reshoot joins its print, a back follows its front, everything else is a new print.

use super::appearance::face;
use super::{Project, Result};
use catalogue::{Brief, Fact, Frame, FrameId, Print, PrintId};
use finish::finding::Verdict;
use print::fingerprint::{self, Face, Likeness, Same, Sought};
use rayon::prelude::*;

/// The role of a frame lit from the other side, as the catalogue has it.
pub(super) const COUNTER: &str = "counter";

/// The result for a frame: its print, the reason, and the journal entry.
pub(super) struct Linked {
    pub print: Option<PrintId>,
    pub why: String,
}

/// Fronts looked at closely for each new one, the likeliest first. A box rarely holds more shots of one scene.
const CLOSE: usize = 8;
/// Two sizes are one format's where they differ by less than this, mm: cutting spreads by half, a back's edges are less sure.
const SIZE: f64 = 3.0;

/// Gives a frame its print, as one entry of the journal. Frames that show no print, and those that have one, are left.
pub(super) fn link(project: &mut Project, id: FrameId, words: &Placing) -> Result<Linked> {
    let Some(frame) = project.catalogue().frame(id)? else {
        return Ok(Linked { print: None, why: String::new() });
    };
    let second = if frame.print.is_none() && frame.role == COUNTER { joined(project, &frame)? } else { None };
    if let Some((print, why)) = second {
        project.change(&format!("{} is the second frame of {print}", frame.name), |w| w.join(id, Some(print), &why))?;
        return Ok(Linked { print: Some(print), why });
    }
    match frame.role.as_str() {
        _ if frame.print.is_some() => Ok(Linked { print: frame.print, why: frame.print_why }),
        // Something is there, but no print was found: a person decides.
        "front" | "counter" | "back" if frame.result.as_ref().is_none_or(|r| r.format.is_empty()) => {
            let why = "no print was found in it";
            project.change(&format!("{} shows no print", frame.name), |w| w.join(frame.id, None, why))?;
            Ok(Linked { print: None, why: why.into() })
        }
        "front" | "counter" => front(project, &frame, words),
        "back" => back(project, &frame),
        _ => Ok(Linked { print: None, why: String::new() }),
    }
}

/// The print whose front a frame lit from the other side is joined with, and why.
fn joined(project: &Project, frame: &Frame) -> Result<Option<(PrintId, String)>> {
    let report = frame.result.as_ref().and_then(|r| project.report(r));
    let Some(first) = report.and_then(|r| r.recipe.second_of) else { return Ok(None) };
    let fronts = project.catalogue().frames_by_hash(&first)?;
    let print =
        fronts.iter().find_map(|f| Some((f.print?, format!("it is joined with {}, lit from the other side", f.name))));
    Ok(print)
}

/// Where prints of this run lie.
#[derive(Clone, Debug, Default)]
pub(super) struct Placing {
    pub box_name: String,
    pub sleeve: String,
}

fn front(project: &mut Project, frame: &Frame, words: &Placing) -> Result<Linked> {
    let (name, id) = (frame.name.clone(), frame.id);
    let report = frame.result.as_ref().and_then(|r| project.inside(&r.report));
    let face = report.as_deref().and_then(face);
    let twin = face.as_ref().map(|f| like(project, frame, f)).transpose()?.unwrap_or_default();
    let lattice = face.map(|f| f.lattice());
    let main = report.as_deref().map(super::appearance::colours).unwrap_or_default();
    if let Some((print, likeness)) = twin.same {
        let why = format!(
            "it is the same print: its picture lies within {:.1} mm of where it lay, in {:.0} % of {} places",
            likeness.shift_mm.max(0.1),
            100.0 * likeness.found,
            likeness.tiles
        );
        let chosen = project.catalogue().print(print)?.and_then(|p| better_front(&p, frame));
        project.change(&format!("{name} shows {print} again"), |w| {
            w.join(id, Some(print), &why)?;
            lattice.iter().try_for_each(|l| w.keep_likeness(id, l))?;
            w.keep_colours(id, &main)?;
            match &chosen {
                Some(choice) => w.choose_front(print, choice.frame, &choice.why, "rule"),
                None => Ok(()),
            }
        })?;
        return Ok(Linked { print: Some(print), why });
    }
    let sibling = twin.sibling;
    let why = twin.remark.unwrap_or_else(|| "no print like it was here before".into());
    let format = frame.result.as_ref().map(|r| r.format.clone()).unwrap_or_default();
    let print = project.change(&format!("{name} shows a new print"), |w| {
        let print = w.mint()?;
        w.join(id, Some(print), &why)?;
        w.choose_front(print, id, "its only front", "rule")?;
        w.say(print, Fact::Format, &format)?;
        w.say(print, Fact::Box, &words.box_name)?;
        // A sleeve lies in a box; without one there is nothing to say.
        if !words.box_name.is_empty() {
            w.say(print, Fact::Sleeve, &words.sleeve)?;
        }
        lattice.iter().try_for_each(|l| w.keep_likeness(id, l))?;
        w.keep_colours(id, &main)?;
        // Proposed: nearly the same picture lies on its like.
        sibling.iter().try_for_each(|s| w.stack(&[*s, print], "rule").map(drop))?;
        Ok(print)
    })?;
    Ok(Linked { print: Some(print), why })
}

/// How a frame's reason begins where its print is a second exposure of another's scene.
pub(super) const SAME_SCENE: &str = "it shows the same scene as ";

/// What was found among the prints that are here.
#[derive(Default)]
struct Twin {
    /// The print it is.
    same: Option<(PrintId, Likeness)>,
    /// What to say of the nearest that it is not.
    remark: Option<String>,
    /// The nearest print of the same picture, which is another exposure.
    sibling: Option<PrintId>,
}

fn like(project: &Project, frame: &Frame, face: &Face) -> Result<Twin> {
    let format = frame.result.as_ref().map(|r| r.format.clone()).unwrap_or_default();
    // A print without a foot does not say which way is up: it may have been finished the other way round.
    let turned = print::format::known().iter().any(|f| f.name == format && !f.has_foot()).then(|| face.turned());
    let sought = [Some(face), turned.as_ref()].map(|f| f.map(|f| Sought::new(&f.lattice())));
    let others = project.catalogue().likenesses_of(&format)?;
    let mut near: Vec<(f64, FrameId, PrintId)> = others
        .par_iter()
        .filter(|(other, ..)| *other != frame.id)
        .map(|(other, print, lattice)| {
            let best = sought.iter().flatten().map(|s| s.alike(lattice)).fold(-1.0, f64::max);
            (best, *other, *print)
        })
        .filter(|(best, ..)| *best >= fingerprint::SIEVE)
        .collect();
    near.sort_by(|a, b| b.0.total_cmp(&a.0));
    let mut twin = Twin::default();
    for (_, other, print) in near.into_iter().take(CLOSE) {
        let Some(result) = project.catalogue().frame(other)?.and_then(|f| f.result) else { continue };
        let Some(theirs) = Some(&result)
            .filter(|r| r.format == format)
            .and_then(|r| super::appearance::face(&project.inside(&r.report)?))
        else {
            continue;
        };
        for mine in [Some(face), turned.as_ref()].into_iter().flatten() {
            let likeness = fingerprint::compare(&theirs, mine);
            match likeness.same {
                Same::Print => return Ok(Twin { same: Some((print, likeness)), ..Twin::default() }),
                Same::Picture => {
                    twin.sibling.get_or_insert(print);
                    twin.remark.get_or_insert(format!(
                        "{SAME_SCENE}{print}, and is another exposure of it: its picture lies {:.1} mm aside",
                        likeness.shift_mm
                    ));
                }
                Same::Unsure if likeness.found >= 0.5 => {
                    twin.remark.get_or_insert(format!("it may be {print} once more, or its sibling: please look"));
                }
                Same::Unsure | Same::Neither => {}
            }
        }
    }
    Ok(twin)
}

/// A front to choose.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Choice {
    /// Which.
    pub frame: FrameId,
    /// Why.
    pub why: String,
}

/// Whether a further frame should stand for a print in its present front's stead: where its verdict is better, or as good and
/// it came later, since somebody took it again for a reason. What a person chose stays.
pub fn better_front(print: &Print, frame: &Frame) -> Option<Choice> {
    let held = print.front.and_then(|id| print.frames.iter().find(|f| f.id == id));
    let (mine, theirs) = (rank(frame), held.map_or(usize::MAX, rank));
    if print.front_by == "person" || mine > theirs {
        return None;
    }
    let word = |f: &Frame| f.result.as_ref().map_or("no verdict", |r| r.verdict.as_str()).to_owned();
    let why = match held {
        Some(held) if mine < theirs => {
            format!("its verdict is {}, that of {} is {}", word(frame), held.name, word(held))
        }
        Some(held) => format!("taken again after {}, with the same verdict", held.name),
        None => "its only front".into(),
    };
    Some(Choice { frame: frame.id, why })
}

fn rank(frame: &Frame) -> usize {
    let words = [Verdict::Keep, Verdict::Look, Verdict::Reshoot].map(Verdict::word);
    let verdict = frame.result.as_ref().map(|r| r.verdict.as_str()).unwrap_or_default();
    words.iter().position(|w| *w == verdict).unwrap_or(words.len())
}

/// A back belongs to the print before it, if that has none yet and is of its size. A back after a back that is to be shot
/// again is that again. Of several backs in one frame each belongs to the print that lay in its place: prints are turned over where
/// they lie.
fn back(project: &mut Project, frame: &Frame) -> Result<Linked> {
    let before = before(project, frame)?;
    let joined = match &before {
        None => Err("no front comes before it".to_owned()),
        Some(other) if other.part.of != frame.part.of => {
            let prints = base::wording::count(other.part.of as usize, "print", "prints");
            Err(format!("the frame before it shows {prints}: say which one it is the back of"))
        }
        Some(other) => partner(project, frame, other)?,
    };
    let (name, id) = (frame.name.clone(), frame.id);
    match joined {
        Ok((print, why)) => {
            project.change(&format!("{name} is the back of {print}"), |w| w.join(id, Some(print), &why))?;
            Ok(Linked { print: Some(print), why })
        }
        Err(why) => {
            project.change(&format!("{name} is a back without a front"), |w| w.join(id, None, &why))?;
            Ok(Linked { print: None, why })
        }
    }
}

fn partner(project: &Project, frame: &Frame, other: &Frame) -> Result<std::result::Result<(PrintId, String), String>> {
    let Some(print) = other.print.and_then(|id| project.catalogue().print(id).transpose()).transpose()? else {
        return Ok(Err(format!("{} before it has no print", other.name)));
    };
    let again = other.role == "back" && other.result.as_ref().is_some_and(|r| r.verdict == Verdict::Reshoot.word());
    if other.role == "back" && !again || other.role != "back" && print.frames.iter().any(|f| f.role == "back") {
        return Ok(Err(format!("{} before it has its back already", print.id)));
    }
    if !of_one_size(frame, other) {
        return Ok(Err(format!("its size is not that of {} before it", other.name)));
    }
    let why = if again {
        format!("it follows {}, which is to be shot again", other.name)
    } else {
        format!("it follows {} and has its size", other.name)
    };
    Ok(Ok((print.id, why)))
}

fn of_one_size(a: &Frame, b: &Frame) -> bool {
    let (Some(a), Some(b)) = (&a.result, &b.result) else { return false };
    let near = |x: [f64; 2], y: [f64; 2]| (x[0] - y[0]).abs() < SIZE && (x[1] - y[1]).abs() < SIZE;
    match (a.size_mm, b.size_mm) {
        (Some(x), Some(y)) => a.format == b.format || near(x, y) || near(x, [y[1], y[0]]),
        _ => false,
    }
}

/// The frame that shows a print and was taken last before this one, in its sitting; of several prints in it the one of the same
/// number, if there is one.
fn before(project: &Project, frame: &Frame) -> Result<Option<Frame>> {
    let key = |taken: &Option<String>, id| (taken.as_deref().and_then(finish::seconds_of), id);
    let own = key(&frame.taken, frame.id);
    let mut last: Option<Brief> = None;
    project.catalogue().look_back(frame.sitting, |f| {
        let of = key(&f.taken, f.id);
        let later = last.as_ref().is_none_or(|l| key(&l.taken, l.id) < of);
        if f.holds_print() && f.blake3 != frame.blake3 && of < own && later {
            last = Some(f);
        }
        true
    })?;
    let Some(last) = last else { return Ok(None) };
    let parts = project.catalogue().frames_by_hash(&last.blake3)?;
    let same = parts.iter().find(|f| f.part == frame.part && f.sitting == frame.sitting);
    Ok(same.or_else(|| parts.iter().find(|f| f.id == last.id)).cloned())
}
