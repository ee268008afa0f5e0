//! A small writer of PDF 1.7 (ISO 32000-1:2008): numbered objects, plain streams, a cross-reference table.

/// A file being written.
pub struct Pdf {
    bytes: Vec<u8>,
    /// Where each object starts; object 1 first.
    starts: Vec<usize>,
}

impl Pdf {
    /// A file with its header (7.5.2); the second line's high bytes say that it is binary.
    pub fn new() -> Self {
        Self { bytes: b"%PDF-1.7\n%\xe2\xe3\xcf\xd3\n".to_vec(), starts: Vec::new() }
    }

    /// Adds the next object, a dictionary or other value, and returns its number (7.3.10).
    pub fn object(&mut self, value: &str) -> usize {
        self.begin();
        self.bytes.extend(format!("{value}\nendobj\n").bytes());
        self.starts.len()
    }

    /// Adds a stream with further entries of its dictionary (7.3.8). Not compressed: the whole sheet is some 60 kB, and
    /// whoever opens it in an editor can read it.
    pub fn stream(&mut self, entries: &str, data: &[u8]) -> usize {
        self.begin();
        self.bytes.extend(format!("<< {entries} /Length {} >>\nstream\n", data.len()).bytes());
        self.bytes.extend(data);
        self.bytes.extend(b"\nendstream\nendobj\n");
        self.starts.len()
    }

    fn begin(&mut self) {
        self.starts.push(self.bytes.len());
        self.bytes.extend(format!("{} 0 obj\n", self.starts.len()).bytes());
    }

    /// Ends the file with its cross-reference table and trailer (7.5.4, 7.5.5); the identity is a hash of what it holds.
    pub fn finish(mut self, root: usize) -> Vec<u8> {
        let id = blake3::hash(&self.bytes).to_hex();
        let (at, n) = (self.bytes.len(), self.starts.len() + 1);
        self.bytes.extend(format!("xref\n0 {n}\n0000000000 65535 f \n").bytes());
        for start in &self.starts {
            self.bytes.extend(format!("{start:010} 00000 n \n").bytes());
        }
        let id = &id[..32];
        let trailer =
            format!("trailer\n<< /Size {n} /Root {root} 0 R /ID [<{id}> <{id}>] >>\nstartxref\n{at}\n%%EOF\n");
        self.bytes.extend(trailer.bytes());
        self.bytes
    }
}

/// A number as PDF wants it: no exponent, four digits at most, which is under a thousandth of a millimetre in any unit here.
pub fn number(v: f64) -> String {
    let text = format!("{v:.4}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" || text.is_empty() { "0".into() } else { text.into() }
}

/// A literal string (7.3.4.2) of plain text; what is not ASCII becomes a question mark.
pub fn string(text: &str) -> String {
    let mut out = String::from("(");
    for c in text.chars() {
        match c {
            '(' | ')' | '\\' => out.extend(['\\', c]),
            ' '..='~' => out.push(c),
            _ => out.push('?'),
        }
    }
    out + ")"
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn objects_stand_where_the_table_says() {
        let mut pdf = Pdf::new();
        let first = pdf.object("<< /Type /Catalog >>");
        pdf.stream("/Type /Metadata", b"abc");
        let bytes = pdf.finish(first);
        let text = String::from_utf8_lossy(&bytes);
        let find = |what: &[u8]| bytes.windows(what.len()).position(|w| w == what).unwrap();
        let entry =
            |n: usize| text.split("f \n").nth(1).unwrap().lines().nth(n).unwrap()[..10].parse::<usize>().unwrap();
        assert_eq!((entry(0), entry(1)), (find(b"1 0 obj"), find(b"2 0 obj")));
        let start = text.split("startxref\n").nth(1).unwrap().lines().next().unwrap().parse::<usize>().unwrap();
        assert_eq!(start, find(b"xref\n0"));
        assert!(text.contains("/Length 3 >>\nstream\nabc\nendstream"));
    }

    #[test]
    fn numbers_and_strings_are_plain() {
        assert_eq!([number(-0.00001), number(1.5), number(100.0), number(0.12345)], ["0", "1.5", "100", "0.1235"]);
        assert_eq!(string("a (b) \\ \u{b0}"), "(a \\(b\\) \\\\ ?)");
    }
}
