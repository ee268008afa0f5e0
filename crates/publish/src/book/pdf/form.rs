//! Pages as form XObjects (ISO 32000-1, 8.10), to be set several on a sheet.

use super::{Mark, Pdf, packed};
use crate::book::sheet::{Area, Sheet};
use crate::book::typesetting::POINTS;
use pdf_writer::{Content, Filter, Name, Rect, Ref};
use std::io::{Result, Write};

/// A form in its place on a sheet, mm from the sheet's top left.
#[derive(Clone, Copy, Debug)]
pub struct Set {
    /// The form.
    pub form: Ref,
    /// The trimmed page.
    pub at: Area,
    /// What of it is shown.
    pub shown: Area,
    /// Upside down.
    pub upside_down: bool,
}

impl<W: Write> Pdf<'_, W> {
    /// Writes a page like `page` as a form: its trimmed top left, mm, and its bleed as on a page of its own.
    ///
    /// # Errors
    /// As writing goes.
    pub fn form(&mut self, marks: &[Mark], page: Sheet) -> Result<Ref> {
        let id = self.id();
        let pictures: Vec<Ref> =
            marks.iter().filter_map(|m| if let Mark::Picture(id, _) = m { Some(*id) } else { None }).collect();
        let own = std::mem::replace(&mut self.sheet, page);
        let content = packed(&self.content(marks, &pictures));
        self.sheet = own;
        let [w, h] = page.trim.map(|v| ((v + 2.0 * page.bleed) * POINTS) as f32);
        let (fonts, srgb) = (self.fonts.clone(), self.srgb);
        let used: Vec<usize> = marks
            .iter()
            .filter_map(|m| if let Mark::Words(runs, ..) = m { Some(runs) } else { None })
            .flatten()
            .map(|r| r.face)
            .collect();
        self.object(id, |c| {
            let mut form = c.form_xobject(id, &content);
            form.filter(Filter::FlateDecode);
            form.bbox(Rect::new(0.0, 0.0, w, h));
            let mut resources = form.resources();
            resources.color_spaces().pair(Name(b"S"), srgb);
            if !used.is_empty() {
                let mut dict = resources.fonts();
                for (i, font) in fonts.iter().enumerate().filter(|(i, _)| used.contains(i)) {
                    dict.pair(Name(format!("F{i}").as_bytes()), *font);
                }
            }
            if !pictures.is_empty() {
                let mut dict = resources.x_objects();
                for (i, id) in pictures.iter().enumerate() {
                    dict.pair(Name(format!("P{i}").as_bytes()), *id);
                }
            }
        })?;
        Ok(id)
    }

    /// The next page: forms of pages like `page`, each within its own area, and lines.
    ///
    /// # Errors
    /// As writing goes.
    pub fn sheet_of(&mut self, sets: &[Set], page: Sheet, lines: &[Mark]) -> Result<()> {
        let (id, body) = (self.id(), self.id());
        self.pages.push(id);
        let [width, height] = self.sheet.trim.map(|v| v * POINTS);
        let mut c = Content::new();
        for (i, set) in sets.iter().enumerate() {
            let k = set.at.w / page.trim[0];
            let (b, at) = (page.bleed * k * POINTS, set.at);
            c.save_state();
            let s = set.shown;
            let [x, y] = [s.x * POINTS, height - s.foot() * POINTS];
            c.rect(x as f32, y as f32, (s.w * POINTS) as f32, (s.h * POINTS) as f32).clip_nonzero().end_path();
            let (left, right) = (at.x * POINTS - b, at.right() * POINTS + b);
            let (foot, top) = (height - at.foot() * POINTS - b, height - at.y * POINTS + b);
            c.transform(match set.upside_down {
                false => [k as f32, 0.0, 0.0, k as f32, left as f32, foot as f32],
                true => [-k as f32, 0.0, 0.0, -k as f32, right as f32, top as f32],
            });
            c.x_object(Name(format!("X{i}").as_bytes()));
            c.restore_state();
        }
        let content = packed(&[c.finish().to_vec(), b"\n".to_vec(), self.content(lines, &[])].concat());
        self.object(body, |c| {
            c.stream(body, &content).filter(Filter::FlateDecode);
        })?;
        let (tree, srgb) = (self.tree, self.srgb);
        self.object(id, |c| {
            let mut p = c.page(id);
            let whole = Rect::new(0.0, 0.0, width as f32, height as f32);
            p.parent(tree).media_box(whole).bleed_box(whole).trim_box(whole).contents(body);
            let mut resources = p.resources();
            resources.color_spaces().pair(Name(b"S"), srgb);
            let mut dict = resources.x_objects();
            for (i, set) in sets.iter().enumerate() {
                dict.pair(Name(format!("X{i}").as_bytes()), set.form);
            }
        })
    }
}
