//! XMP packets (ISO 16684-1:2019): RDF/XML in UTF-8 with the few properties of a finished picture.

use std::fmt::Write;

/// What a packet says; what is absent is left out.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Packet {
    /// dc:title.
    pub title: Option<String>,
    /// dc:description.
    pub description: Option<String>,
    /// dc:creator, in order.
    pub creators: Vec<String>,
    /// dc:rights.
    pub rights: Option<String>,
    /// dc:subject: keywords.
    pub keywords: Vec<String>,
    /// xmp:CreatorTool: the program with its version.
    pub creator_tool: Option<String>,
    /// photoshop:DateCreated: when the print was exposed, ISO 8601, partial dates allowed ("2004-07").
    pub date_created: Option<String>,
    /// xmp:CreateDate: when it was digitised, ISO 8601.
    pub digitised: Option<String>,
    /// xmpMM:DerivedFrom: the original's file name and a hash of its bytes such as "blake3:…".
    pub derived_from: Option<(String, String)>,
    /// xmp:Rating, -1 to 5.
    pub rating: Option<i8>,
}

/// The packet with its wrapper, to embed or to write as a sidecar.
pub fn packet(p: &Packet) -> Vec<u8> {
    let mut s = String::from(concat!(
        "<?xpacket begin=\"\u{FEFF}\" id=\"W5M0MpCehiHzreSzNTczkc9d\"?>\n",
        "<x:xmpmeta xmlns:x=\"adobe:ns:meta/\">\n",
        "<rdf:RDF xmlns:rdf=\"http://www.w3.org/1999/02/22-rdf-syntax-ns#\">\n",
        "<rdf:Description rdf:about=\"\"",
        " xmlns:dc=\"http://purl.org/dc/elements/1.1/\"",
        " xmlns:xmp=\"http://ns.adobe.com/xap/1.0/\"",
        " xmlns:xmpMM=\"http://ns.adobe.com/xap/1.0/mm/\"",
        " xmlns:stRef=\"http://ns.adobe.com/xap/1.0/sType/ResourceRef#\"",
        " xmlns:photoshop=\"http://ns.adobe.com/photoshop/1.0/\">\n",
    ));
    language_alternative(&mut s, "dc:title", &p.title);
    language_alternative(&mut s, "dc:description", &p.description);
    list(&mut s, "dc:creator", "Seq", &p.creators);
    language_alternative(&mut s, "dc:rights", &p.rights);
    list(&mut s, "dc:subject", "Bag", &p.keywords);
    simple(&mut s, "xmp:CreatorTool", p.creator_tool.as_deref());
    simple(&mut s, "photoshop:DateCreated", p.date_created.as_deref());
    simple(&mut s, "xmp:CreateDate", p.digitised.as_deref());
    simple(&mut s, "xmp:Rating", p.rating.map(|r| r.to_string()).as_deref());
    if let Some((name, hash)) = &p.derived_from {
        s.push_str("<xmpMM:DerivedFrom rdf:parseType=\"Resource\">\n");
        simple(&mut s, "stRef:filePath", Some(name));
        simple(&mut s, "stRef:documentID", Some(hash));
        s.push_str("</xmpMM:DerivedFrom>\n");
    }
    s.push_str("</rdf:Description>\n</rdf:RDF>\n</x:xmpmeta>\n<?xpacket end=\"w\"?>");
    s.into_bytes()
}

fn simple(s: &mut String, name: &str, value: Option<&str>) {
    if let Some(v) = value {
        let _ = writeln!(s, "<{name}>{}</{name}>", escaped(v));
    }
}

fn language_alternative(s: &mut String, name: &str, value: &Option<String>) {
    if let Some(v) = value {
        let v = escaped(v);
        let _ = writeln!(s, "<{name}><rdf:Alt><rdf:li xml:lang=\"x-default\">{v}</rdf:li></rdf:Alt></{name}>");
    }
}

fn list(s: &mut String, name: &str, kind: &str, values: &[String]) {
    if !values.is_empty() {
        let items: String = values.iter().map(|v| format!("<rdf:li>{}</rdf:li>", escaped(v))).collect();
        let _ = writeln!(s, "<{name}><rdf:{kind}>{items}</rdf:{kind}></{name}>");
    }
}

/// Text content for XML 1.0: markup escaped, characters that XML cannot hold left out.
pub(crate) fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\t' | '\n' => out.push(c),
            // A bare carriage return would be read back as a line feed.
            '\r' => out.push_str("&#13;"),
            '\u{FFFE}' | '\u{FFFF}' => {}
            c if c.is_control() && (c as u32) < 32 => {}
            c => out.push(c),
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn markup_in_words_stays_words() {
        let p = Packet { title: Some("a < b & \"c\" \u{1}é".into()), ..Packet::default() };
        let s = String::from_utf8(packet(&p)).unwrap();
        assert!(s.contains(">a &lt; b &amp; &quot;c&quot; é</rdf:li>"));
        assert!(!s.contains("dc:subject>"));
    }
}
