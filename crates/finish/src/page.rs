//! The page: one `index.html` that shows every frame before and after, its verdict and what to do, worst first.
//!
//! It opens from disk and needs no script to be read; pictures lie beside it in `previews/`. A neutral ground, white paper
//! under mounts alone, and no shadow but the prints' own.

mod article;
mod marks;

use crate::finding::{Aim, Verdict};
use crate::report::Report;
use crate::{Entry, Outcome};
use base::Failure;
use base::wording::count;
use publish::text::escape;
use std::path::{Path, PathBuf};

/// Writes the page for `entries` into `out`.
///
/// # Errors
/// The page cannot be written.
pub fn write(out: &Path, entries: &[Entry], aim: Aim) -> Result<PathBuf, Failure> {
    let place = out.join("index.html");
    base::files::write::write_beside(&place, html(&title_of(out), entries, aim).as_bytes())?;
    Ok(place)
}

/// Draws the page of a result folder again from the reports in it.
///
/// # Errors
/// There is no report, or the page cannot be written.
pub fn write_again(out: &Path) -> Result<PathBuf, Failure> {
    let reports = crate::reports_in(out);
    let aim = match reports.first() {
        Some(report) => report.recipe.settings.aim,
        None => return Err(Failure::new(format!("{} holds no reports.", out.display()))),
    };
    let entry = |report: Report| {
        let (name, part) = (report.frame.path.rsplit('/').next().unwrap_or_default(), report.recipe.part);
        let numbered = |n: u32| format!("{}-{n}", name.rsplit_once('.').map_or(name, |(stem, _)| stem));
        Entry {
            path: out.join("reports").join(&report.frame.path),
            stem: part.map_or_else(|| name.to_owned(), |p| numbered(p.number)),
            part,
            outcome: Outcome::Already(Box::new(report)),
        }
    };
    write(out, &reports.into_iter().map(entry).collect::<Vec<_>>(), aim)
}

fn title_of(out: &Path) -> String {
    let real = out.canonicalize().unwrap_or_else(|_| out.to_owned());
    real.file_name().map(|n| n.to_string_lossy().into_owned()).unwrap_or_else(|| "Finished prints".into())
}

/// The groups of the page, worst first.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Group {
    Failed,
    Verdict(Verdict),
    Rig,
}

const GROUPS: [Group; 6] = [
    Group::Failed,
    Group::Verdict(Verdict::Reshoot),
    Group::Verdict(Verdict::Look),
    Group::Verdict(Verdict::Unusable),
    Group::Verdict(Verdict::Keep),
    Group::Rig,
];

impl Group {
    fn of(entry: &Entry) -> Self {
        match &entry.outcome {
            Outcome::Failed(_) => Self::Failed,
            Outcome::Finished(r) | Outcome::Already(r) => match r.verdict {
                Verdict::Used => Self::Rig,
                // Reports of earlier versions say keep of every frame that needs nothing.
                Verdict::Keep if !r.shows_print() => Self::Rig,
                verdict => Self::Verdict(verdict),
            },
        }
    }
    fn id(self) -> &'static str {
        match self {
            Self::Failed => "unread",
            Self::Verdict(v) => v.word(),
            Self::Rig => "rig",
        }
    }
    fn heading(self) -> &'static str {
        match self {
            Self::Failed => "Not finished",
            Self::Verdict(Verdict::Reshoot) => "Reshoot",
            Self::Verdict(Verdict::Look) => "Look",
            Self::Verdict(Verdict::Keep) => "Keep",
            Self::Verdict(Verdict::Unusable) => "Unusable",
            Self::Verdict(Verdict::Used) | Self::Rig => "Frames of the rig",
        }
    }
    fn meaning(self) -> &'static str {
        match self {
            Self::Failed => "These files could not be finished; their originals are untouched.",
            Self::Verdict(Verdict::Reshoot) => "Take these again while the stand is up.",
            Self::Verdict(Verdict::Look) => "A person should look at these.",
            Self::Verdict(Verdict::Keep) => "These meet the limits of their aim.",
            Self::Verdict(Verdict::Unusable) => "These frames of the rig cannot serve the prints.",
            Self::Verdict(Verdict::Used) | Self::Rig => {
                "Bare bed, chart, ruler and flash-off frames, used for the prints."
            }
        }
    }
}

/// The whole page.
fn html(title: &str, entries: &[Entry], aim: Aim) -> String {
    let groups: Vec<(Group, Vec<&Entry>)> = GROUPS
        .iter()
        .map(|&g| (g, entries.iter().filter(|e| Group::of(e) == g).collect::<Vec<_>>()))
        .filter(|(_, list)| !list.is_empty())
        .collect();
    let sections: String = groups.iter().map(|(g, list)| section(*g, list)).collect();
    let index: String = groups
        .iter()
        .map(|(g, list)| {
            format!(r##"<li><a href="#{}">{} {}</a></li>"##, g.id(), list.len(), escape(&g.heading().to_lowercase()))
        })
        .collect();
    let frames = count(entries.len(), "frame", "frames");
    format!(
        r##"<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="color-scheme" content="light dark">
<title>{title}: finished prints</title>
<style>{fonts}{style}</style>
</head>
<body>
{symbols}
<a class="skip" href="#prints">To the prints</a>
<header>
<h1>{title}</h1>
<p class="sum">{frames}, finished {aim}. Worst first.</p>
<nav aria-label="Verdicts"><ul>{index}</ul></nav>
<form class="find" role="search" hidden><label for="find">Show only</label> <input id="find" type="search" autocomplete="off" spellcheck="false" aria-describedby="found"><output id="found" for="find"></output></form>
</header>
<main id="prints">
{sections}</main>
<footer><p>Each frame has a report in <code>reports</code>, a faithful master in <code>masters</code>, the print on white in <code>mounts</code> and a picture to send in <code>shares</code>. Originals were only read.</p><p class="keys" hidden>Press <kbd>?</kbd> for every key.</p></footer>
<dialog id="keys" aria-labelledby="keys-title"><h2 id="keys-title">Keys</h2><dl>
<dt><kbd>↑</kbd> <kbd>↓</kbd> <kbd>←</kbd> <kbd>→</kbd></dt><dd>walk from frame to frame</dd>
<dt><kbd>Enter</kbd></dt><dd>see the print large</dd>
<dt><kbd>/</kbd></dt><dd>show only some: a verdict, a name, a finding</dd>
<dt><kbd>Escape</kbd></dt><dd>back; show all again</dd>
<dt><kbd>?</kbd></dt><dd>this list</dd></dl><button type="button">Close</button></dialog>
<dialog id="sheet" aria-label="One print, large"><img alt=""><p></p></dialog>
<script>{script}</script>
</body>
</html>
"##,
        title = escape(title),
        fonts = publish::typefaces::css(),
        style = include_str!("page/style.css"),
        symbols = marks::SYMBOLS,
        aim = aim.phrase(),
        script = include_str!("page/keys.js"),
    )
}

fn section(group: Group, list: &[&Entry]) -> String {
    let articles: String = list.iter().map(|e| article::article(e)).collect();
    format!(
        "<section id=\"{id}\" aria-labelledby=\"h-{id}\">\n<h2 id=\"h-{id}\">{heading} <span>{meaning}</span></h2>\n<div class=\"rows\">\n{articles}</div>\n</section>\n",
        id = group.id(),
        heading = group.heading(),
        meaning = group.meaning(),
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_hostile_file_name_stays_text() {
        let entry = Entry {
            path: "/x/<script>alert(1)</script>\".jpg".into(),
            stem: "<q>".into(),
            part: None,
            outcome: Outcome::Failed("It ends in the middle & \"more\".".into()),
        };
        let page = html("A & B <i>", &[entry], Aim::Book);
        assert!(!page.contains("<script>alert") && !page.contains("<i>") && !page.contains("<q>"));
        assert!(page.contains("A &amp; B &lt;i&gt;"));
        assert!(page.contains("middle &amp; &quot;more&quot;"));
    }
}
