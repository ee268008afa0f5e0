//! A newsletter: one page with embedded pictures, up to a given size.

use super::language::attributes;
use super::{Picture, Shown, Site};
use crate::area::{self, Along};
use crate::mount::{Mount, Rows};
use crate::share::under;
use crate::text::{base64, escape};
use crate::{Error, Result};
use codec::jpeg::{self, Subsampling};
use geometry::{Quad, point};
use std::path::Path;

/// Widths of a picture tried, the best first: a column of 600 points on a common screen, and on to what still shows a print.
const WIDTHS: [usize; 5] = [800, 600, 450, 340, 260];
/// Below this quality a smaller picture looks better than a coarser one (judged by eye).
const GOOD: u8 = 73;

/// The newsletter of a gallery whose pictures lie in `folder`, at most `kilobytes` thousand bytes long.
///
/// # Errors
/// So many prints cannot be held under that size; a picture cannot be read.
pub fn newsletter(site: &Site, shown: &[Shown], folder: &Path, kilobytes: u32) -> Result<String> {
    let frame: usize = whole(site, &shown.iter().map(|s| item(s, [0; 2], "")).collect::<String>()).len();
    let room = (kilobytes as usize * 1000).saturating_sub(frame + 16 * shown.len());
    // Base 64 writes three bytes as four.
    let each = room / shown.len().max(1) / 4 * 3;
    let mut items = String::new();
    for s in shown {
        let (size, bytes) = small(&s.front, &folder.join(&s.front.name), each)?.ok_or_else(|| {
            let n = shown.len();
            Error::Refused(format!(
                "{n} prints do not fit into a newsletter of {kilobytes} kB. Choose fewer prints, or allow more with \
                 --newsletter."
            ))
        })?;
        items.push_str(&item(s, size, &base64(&bytes)));
    }
    Ok(whole(site, &items))
}

/// The best small picture of at most `most` bytes.
fn small(picture: &Picture, folder: &Path, most: usize) -> Result<Option<([usize; 2], Vec<u8>)>> {
    let levels = picture.levels();
    let level = levels.iter().rposition(|s| s[0] >= WIDTHS[0]).unwrap_or(0);
    let [w, h] = levels[level];
    let read = codec::read(&folder.join(picture.whole(level)), &codec::Limits::default());
    let frame = read.map_err(codec::Error::of_result)?.frame;
    let corners = [point(0.0, 0.0), point(w as f64, 0.0), point(w as f64, h as f64), point(0.0, h as f64)];
    let still = Mount::of(frame, Quad(corners));
    let mut best = None;
    for width in WIDTHS {
        let scale = (width as f64 / w as f64).min(1.0);
        let size = [w, h].map(|n| ((n as f64 * scale).round() as usize).max(1));
        let (cols, rows) = still.size();
        let along = Along { at: 0.0, scale };
        let rgb = area::on_white(&still, [0, 0, cols, rows], [along; 2], (size[0], size[1]));
        let made = under(most, |q| Ok(jpeg::encode(size[0], size[1], &rgb, q, Subsampling::Quarter, None)?))?;
        if let Some((bytes, quality)) = made {
            best = Some((size, bytes));
            if quality >= GOOD {
                break;
            }
        }
    }
    Ok(best)
}

fn item(shown: &Shown, [w, h]: [usize; 2], picture: &str) -> String {
    let words = &shown.said.words;
    let under: Vec<String> =
        [words.place.clone(), dates::says(&words.date)].into_iter().filter(|t| !t.is_empty()).collect();
    format!(
        "<figure><img src=\"data:image/jpeg;base64,{picture}\" width=\"{w}\" height=\"{h}\" alt=\"{}\"><figcaption dir=\"auto\"><b{}>{}</b> {}</figcaption></figure>\n",
        escape(&shown.said.alt),
        shown.title_attributes(),
        escape(shown.title()),
        escape(&under.join(", ")),
    )
}

fn whole(site: &Site, items: &str) -> String {
    let (title, about) = (escape(&site.title), attributes(&site.title));
    format!(
        "<!doctype html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n\
         <meta name=\"color-scheme\" content=\"light dark\">\n<title>{title}</title>\n<style>{}</style>\n</head>\n<body>\n<main>\n<h1{about}>{title}</h1>\n{items}</main>\n</body>\n</html>\n",
        include_str!("newsletter.css")
    )
}
