//! The PDF 1.6 file as required by PDF/X-4 (ISO 15930-7), written object by object as the pictures become ready.
//!
//! Colour is always defined: with a printing condition everything is in its inks or tagged with a profile, and the condition is the
//! output intent; without one everything is tagged sRGB, and the file does not claim to be PDF/X.

mod form;

pub use form::{Set, Turned};

use super::flate::packed;
use super::press::{self, Press};
use super::sheet::{Area, Sheet};
use super::typesetting::{Face, Faces, Glyph, Outlines, POINTS, Run, Source};
use crate::text::escape;
use pdf_writer::types::{CidFontType, FontFlags, OutputIntentSubtype, SystemInfo, TrappingStatus, UnicodeCmap};
use pdf_writer::{Chunk, Content, Date, Filter, Name, Rect, Ref, Str, TextStr};
use std::collections::BTreeMap;
use std::io::{Result, Write};

/// The comment by which a file of ours is known.
pub const MARK: &str = "%Made by Fallside, safe to make again\n";

/// Something on a page; places in mm from its trimmed top left.
#[derive(Clone, Debug)]
pub enum Mark {
    /// A picture over an area.
    Picture(Ref, Area),
    /// Words: runs of glyphs, size in points, start of their baseline.
    Words(Vec<Run>, f64, [f64; 2]),
    /// An area in so much black.
    Fill(Area, f64),
    /// A hairline between two places.
    Line([f64; 2], [f64; 2]),
    /// An area in a colour of sRGB.
    Colour(Area, [f64; 3]),
}

/// What the file says of itself.
#[derive(Clone, Debug, Default)]
pub struct About {
    /// Title.
    pub title: String,
    /// Author.
    pub author: String,
    /// Year, month, day: the day the file is dated.
    pub day: (u16, u8, u8),
    /// Sixteen bytes that stand for this content.
    pub id: [u8; 16],
}

/// Which numbers colour is in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Space {
    /// The condition's inks.
    Inks,
    /// sRGB.
    Srgb,
    /// eciRGBv2.
    Eci,
}

/// A file in the making.
pub struct Pdf<'a, W: Write> {
    out: W,
    at: u64,
    places: Vec<u64>,
    sheet: Sheet,
    /// Size of this file's pages over the book's.
    scale: f64,
    press: Option<&'a Press>,
    about: About,
    pages: Vec<Ref>,
    tree: Ref,
    /// Fonts of the faces that pages show.
    fonts: BTreeMap<usize, Ref>,
    srgb: Ref,
    eci: Option<Ref>,
    marks: Vec<(String, usize)>,
    /// Space round the bleed for marks, mm.
    round: f64,
    /// Where the bytes of the last picture lie in the file.
    last_picture: std::ops::Range<u64>,
}

impl<'a, W: Write> Pdf<'a, W> {
    /// Begins a file of pages like `sheet`, drawn at `scale`.
    ///
    /// # Errors
    /// As writing goes.
    pub fn new(out: W, sheet: Sheet, scale: f64, press: Option<&'a Press>, about: About) -> Result<Self> {
        let none = Ref::new(1);
        let mut pdf = Self {
            out,
            at: 0,
            places: vec![],
            sheet,
            scale,
            press,
            about,
            pages: vec![],
            tree: none,
            fonts: BTreeMap::new(),
            srgb: none,
            eci: None,
            marks: vec![],
            round: 0.0,
            last_picture: 0..0,
        };
        // Four bytes over 127 tell that the file is binary (ISO 32000-1, 7.5.2).
        pdf.write(b"%PDF-1.6\n%\xE2\xE3\xCF\xD3\n")?;
        pdf.write(MARK.as_bytes())?;
        pdf.tree = pdf.id();
        pdf.srgb = pdf.profile(&codec::icc::srgb(), 3)?;
        Ok(pdf)
    }

    fn write(&mut self, bytes: &[u8]) -> Result<()> {
        self.out.write_all(bytes)?;
        self.at += bytes.len() as u64;
        Ok(())
    }

    fn id(&mut self) -> Ref {
        self.places.push(0);
        Ref::new(self.places.len() as i32)
    }

    /// Writes an object that `fill` draws.
    fn object(&mut self, id: Ref, fill: impl FnOnce(&mut Chunk)) -> Result<()> {
        let mut chunk = Chunk::new();
        fill(&mut chunk);
        self.places[id.get() as usize - 1] = self.at;
        self.write(chunk.as_bytes())
    }

    fn profile(&mut self, icc: &[u8], channels: i32) -> Result<Ref> {
        let (stream, space) = (self.id(), self.id());
        let packed = packed(icc);
        self.object(stream, |c| {
            c.icc_profile(stream, &packed).n(channels).filter(Filter::FlateDecode);
        })?;
        self.object(space, |c| {
            let mut array = c.indirect(space).array();
            array.item(Name(b"ICCBased")).item(stream);
        })?;
        Ok(space)
    }

    /// A picture of 8-bit channels after PNG's predictor, deflated.
    ///
    /// # Errors
    /// As writing goes.
    pub fn picture(&mut self, [width, height]: [usize; 2], deflated: &[u8], space: Space) -> Result<Ref> {
        if space == Space::Eci && self.eci.is_none() {
            self.eci = Some(self.profile(&codec::icc::eci_rgb_v2(), 3)?);
        }
        let (srgb, eci) = (self.srgb, self.eci);
        let id = self.id();
        let (w, h) = (width as i32, height as i32);
        let mut chunk = Chunk::new();
        {
            let mut image = chunk.image_xobject(id, deflated);
            image.width(w).height(h).bits_per_component(8).interpolate(false).filter(Filter::FlateDecode);
            match space {
                Space::Inks => drop(image.pair(Name(b"ColorSpace"), Name(b"DeviceCMYK"))),
                Space::Srgb => drop(image.pair(Name(b"ColorSpace"), srgb)),
                Space::Eci => drop(image.pair(Name(b"ColorSpace"), eci.unwrap_or(srgb))),
            }
            let colors = if space == Space::Inks { 4 } else { 3 };
            let mut parms = image.insert(Name(b"DecodeParms")).dict();
            parms.pair(Name(b"Predictor"), 15).pair(Name(b"Colors"), colors).pair(Name(b"BitsPerComponent"), 8);
            parms.pair(Name(b"Columns"), w);
        }
        // No key of the dictionary before it holds this word.
        let begins = b"\nstream\n";
        let head = chunk.as_bytes().windows(begins.len()).position(|w| w == begins).unwrap_or(0) + begins.len();
        self.last_picture = self.at + head as u64..self.at + (head + deflated.len()) as u64;
        self.places[id.get() as usize - 1] = self.at;
        self.write(chunk.as_bytes())?;
        Ok(id)
    }

    /// Where the bytes of the last picture lie in the file.
    pub fn last_picture(&self) -> std::ops::Range<u64> {
        self.last_picture.clone()
    }

    /// The next page; `name` becomes a bookmark.
    ///
    /// # Errors
    /// As writing goes.
    pub fn page(&mut self, marks: &[Mark], name: Option<&str>) -> Result<()> {
        if let Some(name) = name {
            self.marks.push((name.to_owned(), self.pages.len()));
        }
        self.sheet_with(&[], marks)
    }

    /// Fonts of the faces that marks show, by the faces' numbers.
    fn fonts_of(&mut self, marks: &[Mark]) -> BTreeMap<usize, Ref> {
        let runs = marks.iter().filter_map(|m| if let Mark::Words(runs, ..) = m { Some(runs) } else { None }).flatten();
        let font = |run: &Run| {
            let font = self.fonts.get(&run.face).copied().unwrap_or_else(|| self.id());
            self.fonts.insert(run.face, font);
            (run.face, font)
        };
        runs.map(font).collect()
    }

    /// Leaves space round the bleed of every page, mm, for marks.
    pub fn leave_round(&mut self, mm: f64) {
        self.round = mm;
    }

    /// Media, bleed and trim box of a page.
    fn boxes(&self) -> [Rect; 3] {
        let k = self.scale * POINTS;
        let around = self.sheet.bleed + self.round;
        let [w, h] = self.sheet.trim;
        let inset = |mm: f64| {
            let [right, top] = [w + 2.0 * around - mm, h + 2.0 * around - mm].map(|v| (v * k) as f32);
            Rect::new((mm * k) as f32, (mm * k) as f32, right, top)
        };
        [inset(0.0), inset(self.round), inset(around)]
    }

    fn content(&self, marks: &[Mark]) -> Vec<u8> {
        let k = self.scale * POINTS;
        let around = self.sheet.bleed + self.round;
        let x = |mm: f64| ((mm + around) * k) as f32;
        let y = |mm: f64| ((self.sheet.trim[1] + around - mm) * k) as f32;
        let mut c = Content::new();
        let mut next = 0;
        for mark in marks {
            match mark {
                Mark::Picture(_, at) => {
                    c.save_state();
                    c.transform([(at.w * k) as f32, 0.0, 0.0, (at.h * k) as f32, x(at.x), y(at.foot())]);
                    c.x_object(Name(format!("P{next}").as_bytes()));
                    c.restore_state();
                    next += 1;
                }
                Mark::Fill(at, black) => {
                    self.fill(&mut c, *black);
                    c.rect(x(at.x), y(at.foot()), (at.w * k) as f32, (at.h * k) as f32).fill_nonzero();
                }
                Mark::Colour(at, rgb) => {
                    c.set_fill_color_space(Name(b"S")).set_fill_color(rgb.map(|v| v as f32));
                    c.rect(x(at.x), y(at.foot()), (at.w * k) as f32, (at.h * k) as f32).fill_nonzero();
                }
                Mark::Line(from, to) => {
                    // A quarter point: the thinnest line that every press holds (common practice).
                    c.set_line_width(0.25);
                    if self.press.is_some() {
                        c.set_stroke_cmyk(0.0, 0.0, 0.0, 1.0);
                    } else {
                        c.set_stroke_color_space(Name(b"S")).set_stroke_color([0.0, 0.0, 0.0]);
                    }
                    c.move_to(x(from[0]), y(from[1])).line_to(x(to[0]), y(to[1])).stroke();
                }
                Mark::Words(runs, size, at) => self.words(&mut c, runs, *size, [x(at[0]), y(at[1])]),
            }
        }
        c.finish().to_vec()
    }

    fn fill(&self, c: &mut Content, black: f64) {
        if self.press.is_some() {
            c.set_fill_cmyk(0.0, 0.0, 0.0, black as f32);
        } else {
            let code = 1.0 - black as f32;
            c.set_fill_color_space(Name(b"S")).set_fill_color([code; 3]);
        }
    }

    /// Words in black alone: no press registers four inks to the stroke of a letter.
    fn words(&self, c: &mut Content, runs: &[Run], size: f64, at: [f32; 2]) {
        self.fill(c, 1.0);
        c.begin_text().next_line(at[0], at[1]);
        let size = (size * self.scale) as f32;
        let mut pen = 0.0;
        for run in runs {
            // What the glyphs do not say by themselves (ISO 32000-1, 14.9.4).
            if let Some(text) = &run.text {
                c.begin_marked_content_with_properties(Name(b"Span")).properties().actual_text(TextStr(text));
            }
            c.set_font(Name(format!("F{}", run.face).as_bytes()), size);
            let mut jump = pen - run.at;
            pen = run.end();
            for level in run.glyphs.chunk_by(|a, b| a.moved[1] == b.moved[1]) {
                let rise = level[0].moved[1] as f32 / 1000.0 * size;
                if rise != 0.0 {
                    c.set_rise(rise);
                }
                shown(c, level, std::mem::take(&mut jump));
                if rise != 0.0 {
                    c.set_rise(0.0);
                }
            }
            if run.text.is_some() {
                c.end_marked_content();
            }
        }
        c.end_text();
    }

    /// Writes what closes the file: fonts, bookmarks, metadata, the output intent.
    ///
    /// # Errors
    /// As writing goes; a font that cannot be cut.
    pub fn finish(mut self, faces: &Faces) -> Result<W> {
        for (face, font) in self.fonts.clone() {
            self.font(font, face, &faces.all[face])?;
        }
        let (catalog, info, metadata) = (self.id(), self.id(), self.id());
        let intent = self.intent()?;
        let outline = self.outline()?;
        let (tree, pages) = (self.tree, self.pages.clone());
        self.object(tree, |c| {
            c.pages(tree).count(pages.len() as i32).kids(pages);
        })?;
        let xmp = self.xmp();
        self.object(metadata, |c| {
            c.metadata(metadata, xmp.as_bytes());
        })?;
        let condition = self.press.map(|p| p.name.clone());
        let registered = self.press.and_then(|p| p.registered);
        self.object(catalog, |c| {
            let mut root = c.indirect(catalog).start::<pdf_writer::writers::Catalog>();
            root.pages(tree).metadata(metadata).lang(TextStr("en"));
            if let Some(outline) = outline {
                root.outlines(outline);
            }
            root.viewer_preferences().display_doc_title(true);
            if let (Some(profile), Some(name)) = (intent, condition) {
                let mut intents = root.output_intents();
                let mut one = intents.push();
                one.subtype(OutputIntentSubtype::PDFX).dest_output_profile(profile);
                // A registered condition is known by its name and the registry; any other is described here (ISO 15930-7, 6.3).
                match registered {
                    Some(known) => {
                        one.output_condition_identifier(TextStr(known)).registry_name(TextStr(press::REGISTRY))
                    }
                    None => one.output_condition_identifier(TextStr("Custom")),
                };
                one.output_condition(TextStr(&name)).info(TextStr(&name));
            }
        })?;
        let (about, x4) = (self.about.clone(), self.press.is_some());
        self.object(info, |c| {
            let mut dict = c.indirect(info).start::<pdf_writer::writers::DocumentInfo>();
            let (y, m, d) = about.day;
            let date = Date::new(y).month(m).day(d).hour(0).minute(0).second(0).utc_offset_hour(0).utc_offset_minute(0);
            dict.title(TextStr(&about.title)).creator(TextStr(CREATOR)).producer(TextStr(CREATOR));
            if !about.author.is_empty() {
                dict.author(TextStr(&about.author));
            }
            dict.creation_date(date).modified_date(date).trapped(TrappingStatus::NotTrapped);
            if x4 {
                dict.pair(Name(b"GTS_PDFXVersion"), TextStr("PDF/X-4"));
            }
        })?;
        let start = self.at;
        let mut table = format!("xref\n0 {}\n0000000000 65535 f \n", self.places.len() + 1);
        for place in &self.places {
            // An unused number is free.
            table += &if *place == 0 { "0000000000 65535 f \n".into() } else { format!("{place:010} 00000 n \n") };
        }
        let id: String = self.about.id.iter().map(|b| format!("{b:02x}")).collect();
        table += &format!(
            "trailer\n<< /Size {} /Root {} 0 R /Info {} 0 R /ID [<{id}> <{id}>] >>\nstartxref\n{start}\n%%EOF\n",
            self.places.len() + 1,
            catalog.get(),
            info.get()
        );
        self.write(table.as_bytes())?;
        self.out.flush()?;
        Ok(self.out)
    }

    fn intent(&mut self) -> Result<Option<Ref>> {
        let Some(press) = self.press else { return Ok(None) };
        let id = self.id();
        let packed = packed(&press.icc);
        self.object(id, |c| {
            c.icc_profile(id, &packed).n(4).filter(Filter::FlateDecode);
        })?;
        Ok(Some(id))
    }

    fn outline(&mut self) -> Result<Option<Ref>> {
        if self.marks.is_empty() {
            return Ok(None);
        }
        let marks = std::mem::take(&mut self.marks);
        let root = self.id();
        let items: Vec<Ref> = marks.iter().map(|_| self.id()).collect();
        for (i, (name, page)) in marks.iter().enumerate() {
            let page = self.pages[*page];
            let near = [i.checked_sub(1).map(|i| items[i]), items.get(i + 1).copied()];
            let id = items[i];
            self.object(id, |c| {
                let mut item = c.outline_item(id);
                item.title(TextStr(name)).parent(root);
                if let Some(prev) = near[0] {
                    item.prev(prev);
                }
                if let Some(next) = near[1] {
                    item.next(next);
                }
                item.dest().page(page).fit();
            })?;
        }
        self.object(root, |c| {
            let mut o = c.outline(root);
            o.first(items[0]).last(items[items.len() - 1]).count(items.len() as i32);
        })?;
        Ok(Some(root))
    }

    fn font(&mut self, id: Ref, number: usize, face: &Face) -> Result<()> {
        let data = face.cut().map_err(std::io::Error::other)?;
        let (file, descriptor, cid, cmap) = (self.id(), self.id(), self.id(), self.id());
        // Six letters that stand for the subset (ISO 32000-1, 9.6.4), from the file's own id and the face's place.
        let letter = |i: usize| {
            char::from(b'A' + ((usize::from(self.about.id[i]) + if i == 5 { number } else { 0 }) % 26) as u8)
        };
        let tag: String = (0..6).map(letter).collect();
        let cubic = face.outlines() == Outlines::Cff;
        let name = format!("{tag}+{}", face.name);
        let packed_font = packed(&data);
        self.object(file, |c| {
            let mut stream = c.stream(file, &packed_font);
            stream.filter(Filter::FlateDecode);
            if cubic {
                stream.pair(Name(b"Subtype"), Name(b"CIDFontType0C"));
            } else {
                stream.pair(Name(b"Length1"), data.len() as i32);
            }
        })?;
        let (bbox, ascent, descent, caps, slant) = face.measures();
        self.object(descriptor, |c| {
            let mut d = c.font_descriptor(descriptor);
            let mut flags = FontFlags::SYMBOLIC;
            flags.set(FontFlags::SERIF, face.source == Source::Own);
            flags.set(FontFlags::ITALIC, slant != 0.0);
            d.name(Name(name.as_bytes())).flags(flags).italic_angle(slant as f32);
            d.bbox(Rect::new(bbox[0] as f32, bbox[1] as f32, bbox[2] as f32, bbox[3] as f32));
            d.ascent(ascent as f32).descent(descent as f32).cap_height(caps as f32).stem_v(80.0);
            if cubic {
                d.font_file3(file)
            } else {
                d.font_file2(file)
            };
        })?;
        self.object(cid, |c| {
            let mut f = c.cid_font(cid);
            f.subtype(if cubic { CidFontType::Type0 } else { CidFontType::Type2 })
                .base_font(Name(name.as_bytes()))
                .font_descriptor(descriptor)
                .default_width(0.0);
            f.system_info(SystemInfo { registry: Str(b"Adobe"), ordering: Str(b"Identity"), supplement: 0 });
            if !cubic {
                f.cid_to_gid_map_predefined(Name(b"Identity"));
            }
            let mut widths = f.widths();
            face.used().for_each(|(g, _, w)| {
                widths.consecutive(g, [w as f32]);
            });
        })?;
        let mut map = UnicodeCmap::new(
            Name(b"Fallside"),
            SystemInfo { registry: Str(b"Adobe"), ordering: Str(b"UCS"), supplement: 0 },
        );
        for (g, text, _) in face.used().filter(|(_, t, _)| !t.is_empty()) {
            map.pair_with_multiple(g, text.chars());
        }
        let map = map.finish();
        self.object(cmap, |c| {
            c.cmap(cmap, &map);
        })?;
        self.object(id, |c| {
            let mut f = c.type0_font(id);
            f.base_font(Name(name.as_bytes()))
                .encoding_predefined(Name(b"Identity-H"))
                .descendant_font(cid)
                .to_unicode(cmap);
        })
    }

    /// The metadata stream (ISO 16684-1; the keys that PDF/X-4 asks for).
    fn xmp(&self) -> String {
        let a = &self.about;
        let (y, m, d) = a.day;
        let date = format!("{y:04}-{m:02}-{d:02}T00:00:00Z");
        let hex: String = a.id.iter().map(|b| format!("{b:02x}")).collect();
        let uuid = format!("uuid:{}-{}-{}-{}-{}", &hex[..8], &hex[8..12], &hex[12..16], &hex[16..20], &hex[20..]);
        let author = if a.author.is_empty() {
            String::new()
        } else {
            format!("<dc:creator><rdf:Seq><rdf:li>{}</rdf:li></rdf:Seq></dc:creator>\n", escape(&a.author))
        };
        let x4 = if self.press.is_some() { "<pdfxid:GTS_PDFXVersion>PDF/X-4</pdfxid:GTS_PDFXVersion>\n" } else { "" };
        format!(
            "<?xpacket begin=\"\u{FEFF}\" id=\"W5M0MpCehiHzreSzNTczkc9d\"?>\n<x:xmpmeta xmlns:x=\"adobe:ns:meta/\">\n\
             <rdf:RDF xmlns:rdf=\"http://www.w3.org/1999/02/22-rdf-syntax-ns#\">\n<rdf:Description rdf:about=\"\" \
             xmlns:dc=\"http://purl.org/dc/elements/1.1/\" xmlns:xmp=\"http://ns.adobe.com/xap/1.0/\" \
             xmlns:xmpMM=\"http://ns.adobe.com/xap/1.0/mm/\" xmlns:pdf=\"http://ns.adobe.com/pdf/1.3/\" \
             xmlns:pdfxid=\"http://www.npes.org/pdfx/ns/id/\">\n\
             <dc:title><rdf:Alt><rdf:li xml:lang=\"x-default\">{title}</rdf:li></rdf:Alt></dc:title>\n{author}\
             <dc:format>application/pdf</dc:format>\n<xmp:CreatorTool>{CREATOR}</xmp:CreatorTool>\n\
             <xmp:CreateDate>{date}</xmp:CreateDate>\n<xmp:ModifyDate>{date}</xmp:ModifyDate>\n<xmp:MetadataDate>{date}</xmp:MetadataDate>\n\
             <xmpMM:DocumentID>{uuid}</xmpMM:DocumentID>\n<xmpMM:VersionID>1</xmpMM:VersionID>\n\
             <xmpMM:RenditionClass>default</xmpMM:RenditionClass>\n<pdf:Producer>{CREATOR}</pdf:Producer>\n<pdf:Trapped>False</pdf:Trapped>\n\
             {x4}</rdf:Description>\n</rdf:RDF>\n</x:xmpmeta>\n<?xpacket end=\"r\"?>",
            title = escape(&a.title),
        )
    }
}

/// Shows glyphs of one height, each moved from its place and back, after a jump of so many thousandths to the left.
fn shown(c: &mut Content, glyphs: &[Glyph], jump: f64) {
    let mut show = c.show_positioned();
    let mut items = show.items();
    let mut back = jump;
    for g in glyphs {
        let before = back - g.moved[0];
        if before.abs() > 0.01 {
            items.adjust(before as f32);
        }
        items.show(Str(&g.id.to_be_bytes()));
        back = g.width - g.advance + g.moved[0];
    }
    if back.abs() > 0.01 {
        items.adjust(back as f32);
    }
}

/// Name and version of the program.
pub const CREATOR: &str = concat!("Fallside ", env!("CARGO_PKG_VERSION"));
