//! Pages as form XObjects (ISO 32000-1, 8.10), to be set several on a sheet.

use super::{Mark, Pdf, packed};
use crate::book::sheet::{Area, Sheet};
use crate::book::typesetting::POINTS;
use pdf_writer::writers::Resources;
use pdf_writer::{Content, Filter, Name, Rect, Ref};
use std::collections::BTreeMap;
use std::io::{Result, Write};

/// How a form is turned on its sheet.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Turned {
    /// Upright.
    No,
    /// Upside down.
    Half,
    /// A quarter clockwise: its lines run down.
    Quarter,
}

/// A form in its place on a sheet, mm from the trimmed sheet's top left.
#[derive(Clone, Copy, Debug)]
pub struct Set {
    /// The form.
    pub form: Ref,
    /// The page that it is.
    pub page: Sheet,
    /// Where its trimmed page lies.
    pub at: Area,
    /// What of it is shown.
    pub shown: Area,
    /// How it is turned.
    pub turned: Turned,
}

impl<W: Write> Pdf<'_, W> {
    /// Writes a page like `page` as a form: its trimmed top left, mm, and its bleed as on a page of its own.
    ///
    /// # Errors
    /// As writing goes.
    pub fn form(&mut self, marks: &[Mark], page: Sheet) -> Result<Ref> {
        let id = self.id();
        let own = (std::mem::replace(&mut self.sheet, page), std::mem::take(&mut self.round));
        let content = packed(&self.content(marks));
        (self.sheet, self.round) = own;
        let [w, h] = page.trim.map(|v| ((v + 2.0 * page.bleed) * POINTS) as f32);
        let needs = self.needs(marks);
        self.object(id, |c| {
            let mut form = c.form_xobject(id, &content);
            form.filter(Filter::FlateDecode);
            form.bbox(Rect::new(0.0, 0.0, w, h));
            needs.write(&mut form.resources(), &[]);
        })?;
        Ok(id)
    }

    /// The next page: forms in their places, then marks.
    ///
    /// # Errors
    /// As writing goes.
    pub fn sheet_with(&mut self, sets: &[Set], marks: &[Mark]) -> Result<()> {
        let (id, body) = (self.id(), self.id());
        self.pages.push(id);
        let around = self.sheet.bleed + self.round;
        let x = |mm: f64| (mm + around) * POINTS;
        let y = |mm: f64| (self.sheet.trim[1] + around - mm) * POINTS;
        let mut c = Content::new();
        for (i, set) in sets.iter().enumerate() {
            let (at, s) = (set.at, set.shown);
            let across = if set.turned == Turned::Quarter { at.h } else { at.w };
            let k = across / set.page.trim[0];
            let b = set.page.bleed * k;
            c.save_state();
            c.rect(x(s.x) as f32, y(s.foot()) as f32, (s.w * POINTS) as f32, (s.h * POINTS) as f32)
                .clip_nonzero()
                .end_path();
            let matrix = match set.turned {
                Turned::No => [k, 0.0, 0.0, k, x(at.x - b), y(at.foot() + b)],
                Turned::Half => [-k, 0.0, 0.0, -k, x(at.right() + b), y(at.y - b)],
                Turned::Quarter => [0.0, -k, k, 0.0, x(at.x - b), y(at.y - b)],
            };
            c.transform(matrix.map(|v| v as f32));
            c.x_object(Name(format!("X{i}").as_bytes()));
            c.restore_state();
        }
        let mut content = c.finish().to_vec();
        if !sets.is_empty() {
            content.push(b'\n');
        }
        content.extend(self.content(marks));
        let content = packed(&content);
        self.object(body, |c| {
            c.stream(body, &content).filter(Filter::FlateDecode);
        })?;
        let (tree, [media, bleed, trim], resources) = (self.tree, self.boxes(), self.needs(marks));
        self.object(id, |c| {
            let mut p = c.page(id);
            p.parent(tree).media_box(media).bleed_box(bleed).trim_box(trim).contents(body);
            resources.write(&mut p.resources(), sets);
        })
    }

    /// What marks need of the file.
    fn needs(&mut self, marks: &[Mark]) -> Needs {
        Needs { srgb: self.srgb, fonts: self.fonts_of(marks), pictures: pictures_of(marks) }
    }
}

/// The pictures that marks show, in order: by their places the content stream names them.
fn pictures_of(marks: &[Mark]) -> Vec<Ref> {
    marks.iter().filter_map(|m| if let Mark::Picture(id, _) = m { Some(*id) } else { None }).collect()
}

/// Objects that a content stream names.
struct Needs {
    srgb: Ref,
    fonts: BTreeMap<usize, Ref>,
    pictures: Vec<Ref>,
}

impl Needs {
    fn write(&self, resources: &mut Resources, sets: &[Set]) {
        resources.color_spaces().pair(Name(b"S"), self.srgb);
        if !self.fonts.is_empty() {
            let mut dict = resources.fonts();
            for (i, font) in &self.fonts {
                dict.pair(Name(format!("F{i}").as_bytes()), *font);
            }
        }
        if !(self.pictures.is_empty() && sets.is_empty()) {
            let mut dict = resources.x_objects();
            for (i, id) in self.pictures.iter().enumerate() {
                dict.pair(Name(format!("P{i}").as_bytes()), *id);
            }
            for (i, set) in sets.iter().enumerate() {
                dict.pair(Name(format!("X{i}").as_bytes()), set.form);
            }
        }
    }
}
