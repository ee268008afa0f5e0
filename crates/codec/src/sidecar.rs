//! XMP sidecars (ISO 16684-1:2019): a small file beside a picture with its description, for any program that reads XMP.
//!
//! Properties of IPTC Photo Metadata 2025.1 and Dublin Core are used if one exists for a field, so that other programs find them;
//! the block "artwork or object" describes the physical print. Fields without a standard property are stored in our own namespace.

use crate::xmp::escaped;
use roxmltree::{Document, Node};
use std::collections::BTreeMap;
use std::fmt::Write;

const RDF: &str = "http://www.w3.org/1999/02/22-rdf-syntax-ns#";
const DC: &str = "http://purl.org/dc/elements/1.1/";
const XMP: &str = "http://ns.adobe.com/xap/1.0/";
const XMP_MM: &str = "http://ns.adobe.com/xap/1.0/mm/";
const REF: &str = "http://ns.adobe.com/xap/1.0/sType/ResourceRef#";
const DATED: &str = "http://ns.adobe.com/photoshop/1.0/";
const IPTC_CORE: &str = "http://iptc.org/std/Iptc4xmpCore/1.0/xmlns/";
const IPTC_EXT: &str = "http://iptc.org/std/Iptc4xmpExt/2008-02-29/";
/// Our own: a name, not an address. XMP asks that it end so that a property's name can follow.
const OWN: &str = "urn:fallside:catalogue:1#";
/// How a picture of a print came to be (IPTC controlled vocabulary, from memory).
const FROM_PRINT: &str = "http://cv.iptc.org/newscodes/digitalsourcetype/print";

/// What a sidecar says; what is empty is left out.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Sidecar {
    /// dc:title.
    pub title: String,
    /// Iptc4xmpCore:AltTextAccessibility: what is seen, for who cannot see it (IPTC Photo Metadata 2025.1).
    pub alt: String,
    /// dc:subject.
    pub keywords: Vec<String>,
    /// dc:rights.
    pub rights: String,
    /// Iptc4xmpExt:PersonInImage.
    pub people: Vec<String>,
    /// Iptc4xmpExt:LocationShown, its name.
    pub place: String,
    /// photoshop:DateCreated: when the print was exposed, ISO 8601, partial dates allowed.
    pub exposed: String,
    /// xmp:CreateDate: when it was digitised.
    pub digitised: String,
    /// xmp:CreatorTool.
    pub tool: String,
    /// Iptc4xmpExt:DigImageGUID: what names this one file.
    pub guid: String,
    /// xmpMM:DerivedFrom: the original's name and a hash of its bytes.
    pub derived_from: Option<(String, String)>,
    /// Iptc4xmpExt:ArtworkOrObject: the physical print.
    pub object: Object,
    /// Our own words, each by its name (letters only).
    pub own: BTreeMap<String, String>,
    /// Our own lists, each by its name, in order.
    pub own_lists: BTreeMap<String, Vec<String>>,
}

/// The physical print, as IPTC's "artwork or object".
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Object {
    /// AOTitle.
    pub title: String,
    /// AODateCreated: a plain date.
    pub date: String,
    /// AOCircaDateCreated: a date that is not plain.
    pub circa: String,
    /// AOPhysicalDescription: format, size, film, condition.
    pub physical: String,
    /// AOContentDescription: what is written on it.
    pub content: String,
    /// AOSource: where it is kept.
    pub source: String,
    /// AOSourceInvNo: its number there.
    pub number: String,
}

/// True for the dates that ISO 8601 knows without EDTF: a year, a month, a day.
///
/// ```
/// use codec::sidecar::is_plain;
/// assert!(is_plain("2009-07-14") && !is_plain("200X"));
/// ```
pub fn is_plain(date: &str) -> bool {
    let figures = |t: &str, n: usize| t.len() == n && t.bytes().all(|b| b.is_ascii_digit());
    match date.split('-').collect::<Vec<_>>()[..] {
        [y] => figures(y, 4),
        [y, m] => figures(y, 4) && figures(m, 2) && m <= "12",
        [y, m, d] => figures(y, 4) && figures(m, 2) && m <= "12" && figures(d, 2),
        _ => false,
    }
}

/// The sidecar's text.
pub fn write(c: &Sidecar) -> String {
    let mut s = String::from("<?xpacket begin=\"\u{FEFF}\" id=\"W5M0MpCehiHzreSzNTczkc9d\"?>\n");
    s.push_str("<x:xmpmeta xmlns:x=\"adobe:ns:meta/\">\n");
    let _ = writeln!(s, "<rdf:RDF xmlns:rdf=\"{RDF}\">\n<rdf:Description rdf:about=\"\"");
    for (prefix, name) in [
        ("dc:", DC),
        ("xmp:", XMP),
        ("xmpMM:", XMP_MM),
        ("stRef:", REF),
        ("photoshop:", DATED),
        ("Iptc4xmpCore:", IPTC_CORE),
        ("Iptc4xmpExt:", IPTC_EXT),
        ("fallside:", OWN),
    ] {
        let _ = writeln!(s, " xmlns:{}=\"{name}\"", prefix.trim_end_matches(':'));
    }
    s.push_str(">\n");
    alternative(&mut s, "dc:title", &c.title);
    alternative(&mut s, "Iptc4xmpCore:AltTextAccessibility", &c.alt);
    alternative(&mut s, "dc:rights", &c.rights);
    list(&mut s, "dc:subject", "Bag", &c.keywords);
    simple(&mut s, "xmp:CreatorTool", &c.tool);
    simple(&mut s, "xmp:CreateDate", &c.digitised);
    simple(&mut s, "photoshop:DateCreated", &c.exposed);
    list(&mut s, "Iptc4xmpExt:PersonInImage", "Bag", &c.people);
    if !c.place.is_empty() {
        structure(&mut s, "Iptc4xmpExt:LocationShown", |s| alternative(s, "Iptc4xmpExt:LocationName", &c.place));
    }
    simple(&mut s, "Iptc4xmpExt:DigitalSourceType", FROM_PRINT);
    simple(&mut s, "Iptc4xmpExt:DigImageGUID", &c.guid);
    if c.object != Object::default() {
        structure(&mut s, "Iptc4xmpExt:ArtworkOrObject", |s| object(s, &c.object));
    }
    if let Some((name, hash)) = &c.derived_from {
        s.push_str("<xmpMM:DerivedFrom rdf:parseType=\"Resource\">\n");
        simple(&mut s, "stRef:filePath", name);
        simple(&mut s, "stRef:documentID", hash);
        s.push_str("</xmpMM:DerivedFrom>\n");
    }
    c.own.iter().for_each(|(name, value)| simple(&mut s, &format!("fallside:{name}"), value));
    c.own_lists.iter().for_each(|(name, values)| list(&mut s, &format!("fallside:{name}"), "Seq", values));
    s.push_str("</rdf:Description>\n</rdf:RDF>\n</x:xmpmeta>\n<?xpacket end=\"w\"?>\n");
    s
}

fn object(s: &mut String, o: &Object) {
    alternative(s, "Iptc4xmpExt:AOTitle", &o.title);
    simple(s, "Iptc4xmpExt:AODateCreated", &o.date);
    simple(s, "Iptc4xmpExt:AOCircaDateCreated", &o.circa);
    alternative(s, "Iptc4xmpExt:AOPhysicalDescription", &o.physical);
    alternative(s, "Iptc4xmpExt:AOContentDescription", &o.content);
    simple(s, "Iptc4xmpExt:AOSource", &o.source);
    simple(s, "Iptc4xmpExt:AOSourceInvNo", &o.number);
}

fn simple(s: &mut String, name: &str, value: &str) {
    if !value.is_empty() {
        let _ = writeln!(s, "<{name}>{}</{name}>", escaped(value));
    }
}

fn alternative(s: &mut String, name: &str, value: &str) {
    if !value.is_empty() {
        let v = escaped(value);
        let _ = writeln!(s, "<{name}><rdf:Alt><rdf:li xml:lang=\"x-default\">{v}</rdf:li></rdf:Alt></{name}>");
    }
}

fn list(s: &mut String, name: &str, kind: &str, values: &[String]) {
    if !values.is_empty() {
        let items: String = values.iter().map(|v| format!("<rdf:li>{}</rdf:li>", escaped(v))).collect();
        let _ = writeln!(s, "<{name}><rdf:{kind}>{items}</rdf:{kind}></{name}>");
    }
}

fn structure(s: &mut String, name: &str, fill: impl FnOnce(&mut String)) {
    let _ = writeln!(s, "<{name}><rdf:Bag><rdf:li rdf:parseType=\"Resource\">");
    fill(s);
    let _ = writeln!(s, "</rdf:li></rdf:Bag></{name}>");
}

/// Reads a sidecar, ours or one that another program has written again: properties as elements or attributes, structures
/// with or without a description of their own.
///
/// ```
/// use codec::sidecar::{Sidecar, read, write};
/// let text = write(&Sidecar { title: "Low tide".into(), ..Sidecar::default() });
/// assert_eq!(read(&text).unwrap().title, "Low tide");
/// ```
///
/// # Errors
/// The text is not XML or has no description; a sentence says so.
pub fn read(text: &str) -> Result<Sidecar, String> {
    // Entities that a document defines for itself could be made to grow without end: they are not allowed.
    let options = roxmltree::ParsingOptions { allow_dtd: false, ..Default::default() };
    let text = text.trim_start_matches('\u{feff}');
    let doc = Document::parse_with_options(text, options).map_err(|e| format!("It is not XMP: {e}."))?;
    let descriptions: Vec<Node> = doc.descendants().filter(|n| n.has_tag_name((RDF, "Description"))).collect();
    if descriptions.is_empty() {
        return Err("It has no description.".into());
    }
    let top = Top(&descriptions);
    let object = top.structure("ArtworkOrObject");
    let of = |name: &str| object.map(|o| member(o, (IPTC_EXT, name))).unwrap_or_default();
    let derived = top.element(XMP_MM, "DerivedFrom");
    let origin = |name: &str| derived.map(|d| member(d, (REF, name))).unwrap_or_default();
    let mut out = Sidecar {
        title: top.text(DC, "title"),
        alt: top.text(IPTC_CORE, "AltTextAccessibility"),
        keywords: top.items(DC, "subject"),
        rights: top.text(DC, "rights"),
        people: top.items(IPTC_EXT, "PersonInImage"),
        place: top.structure("LocationShown").map(|l| member(l, (IPTC_EXT, "LocationName"))).unwrap_or_default(),
        exposed: top.text(DATED, "DateCreated"),
        digitised: top.text(XMP, "CreateDate"),
        tool: top.text(XMP, "CreatorTool"),
        guid: top.text(IPTC_EXT, "DigImageGUID"),
        derived_from: Some((origin("filePath"), origin("documentID"))).filter(|(a, b)| !a.is_empty() || !b.is_empty()),
        object: Object {
            title: of("AOTitle"),
            date: of("AODateCreated"),
            circa: of("AOCircaDateCreated"),
            physical: of("AOPhysicalDescription"),
            content: of("AOContentDescription"),
            source: of("AOSource"),
            number: of("AOSourceInvNo"),
        },
        ..Sidecar::default()
    };
    for d in &descriptions {
        for a in d.attributes().filter(|a| a.namespace() == Some(OWN)) {
            out.own.insert(a.name().to_owned(), a.value().to_owned());
        }
        for e in d.children().filter(|e| e.tag_name().namespace() == Some(OWN)) {
            let name = e.tag_name().name().to_owned();
            match e.children().find(|c| c.is_element() && c.tag_name().namespace() == Some(RDF)) {
                Some(seq) => drop(out.own_lists.insert(name, items(seq))),
                None => drop(out.own.insert(name, all_text(e))),
            }
        }
    }
    Ok(out)
}

/// The properties of a picture, in one description or several.
struct Top<'a, 'i>(&'a [Node<'i, 'i>]);

impl<'i> Top<'_, 'i> {
    fn element(&self, space: &str, name: &str) -> Option<Node<'i, 'i>> {
        self.0.iter().flat_map(|d| d.children()).find(|n| n.has_tag_name((space, name)))
    }
    fn text(&self, space: &str, name: &str) -> String {
        let attribute = || self.0.iter().find_map(|d| d.attribute((space, name))).unwrap_or_default().to_owned();
        self.element(space, name).map_or_else(attribute, words)
    }
    fn items(&self, space: &str, name: &str) -> Vec<String> {
        let list = self.element(space, name).and_then(|e| e.children().find(Node::is_element));
        list.map(items).unwrap_or_default()
    }
    /// The first structure of a list of them.
    fn structure(&self, name: &str) -> Option<Node<'i, 'i>> {
        self.element(IPTC_EXT, name)?.descendants().find(|n| n.has_tag_name((RDF, "li")))
    }
}

/// A member of a structure: an element or attribute of it, or of the description in it.
fn member(of: Node, name: (&str, &str)) -> String {
    let holders = of.descendants().filter(|n| *n == of || n.has_tag_name((RDF, "Description")));
    let found = holders.flat_map(|h| {
        let attribute = h.attribute(name).map(str::to_owned);
        attribute.into_iter().chain(h.children().filter(|c| c.has_tag_name(name)).map(words)).collect::<Vec<_>>()
    });
    found.into_iter().next().unwrap_or_default()
}

fn items(list: Node) -> Vec<String> {
    list.children().filter(|c| c.has_tag_name((RDF, "li"))).map(all_text).collect()
}

/// The words of a property: of its first alternative, preferring the default language, or its own.
fn words(property: Node) -> String {
    let alternatives: Vec<Node> = property.descendants().filter(|n| n.has_tag_name((RDF, "li"))).collect();
    let default = |n: &&Node| n.attributes().any(|a| a.name() == "lang" && a.value() == "x-default");
    alternatives.iter().find(default).or(alternatives.first()).map_or_else(|| all_text(property), |n| all_text(*n))
}

fn all_text(node: Node) -> String {
    node.descendants().filter(Node::is_text).filter_map(|n| n.text()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn full() -> Sidecar {
        Sidecar {
            title: "The “harbour” & <night>".into(),
            alt: "Boats at a quay, <lit>".into(),
            keywords: vec!["dog".into(), "black and white".into()],
            rights: "© Ada, all".into(),
            people: vec!["Zoë".into(), "Łukasz".into()],
            place: "Çeşme harbour".into(),
            exposed: "2009-07".into(),
            digitised: "2026-01-02T03:04:05".into(),
            tool: "Fallside 0.1".into(),
            guid: "blake3:00aa".into(),
            derived_from: Some(("F0001.jpg".into(), "blake3:00aa".into())),
            object: Object {
                title: "t".into(),
                date: "2009-07".into(),
                circa: "c. 2009".into(),
                physical: "square-integral, 88 × 107 mm".into(),
                content: "two\nlines".into(),
                source: "Shoebox 3".into(),
                number: "P0042".into(),
            },
            own: [("Film".to_owned(), "bw, expired".to_owned())].into(),
            own_lists: [("Edits".to_owned(), vec!["wide 0 one".to_owned(), "tight 3 a book".to_owned()])].into(),
        }
    }

    #[test]
    fn what_is_written_is_read() {
        assert_eq!(read(&write(&full())).unwrap(), full());
        assert_eq!(read(&write(&Sidecar::default())).unwrap(), Sidecar::default());
    }

    /// RDF may be written in several ways that mean one thing (ISO 16684-1 clause 7, from memory): attributes for simple
    /// properties, several descriptions, structures as nested descriptions.
    #[test]
    fn other_ways_of_writing_the_same_are_read() {
        let text = r##"<x:xmpmeta xmlns:x="adobe:ns:meta/"><rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#">
          <rdf:Description rdf:about="" xmlns:p="http://ns.adobe.com/photoshop/1.0/" p:DateCreated="2004"
             xmlns:f="urn:fallside:catalogue:1#" f:Film="bw"/>
          <rdf:Description rdf:about="" xmlns:d="http://purl.org/dc/elements/1.1/"
             xmlns:e="http://iptc.org/std/Iptc4xmpExt/2008-02-29/">
            <d:title><rdf:Alt><rdf:li xml:lang="de">Hafen</rdf:li><rdf:li xml:lang="x-default">Harbour</rdf:li></rdf:Alt></d:title>
            <e:ArtworkOrObject><rdf:Bag><rdf:li><rdf:Description e:AOSource="Box" e:AOSourceInvNo="P0007">
              <e:AOTitle><rdf:Alt><rdf:li xml:lang="x-default">T</rdf:li></rdf:Alt></e:AOTitle>
            </rdf:Description></rdf:li></rdf:Bag></e:ArtworkOrObject>
          </rdf:Description></rdf:RDF></x:xmpmeta>"##;
        let c = read(text).unwrap();
        assert_eq!((c.title.as_str(), c.exposed.as_str(), c.own["Film"].as_str()), ("Harbour", "2004", "bw"));
        assert_eq!(
            (c.object.source.as_str(), c.object.number.as_str(), c.object.title.as_str()),
            ("Box", "P0007", "T")
        );
    }

    #[test]
    fn what_is_no_sidecar_is_told() {
        assert!(read("<a/>").unwrap_err().contains("no description"));
        assert!(read("not xml").is_err());
        assert!(read("<!DOCTYPE a [<!ENTITY b \"c\">]><a>&b;</a>").is_err());
    }
}
