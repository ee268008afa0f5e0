//! The two open typefaces of every page: subset to Latin, under the SIL Open Font License 1.1.

use crate::text::base64;

/// Style rules that carry the typefaces inside a page.
pub fn css() -> String {
    let face = |family: &str, weight: u32, bytes: &[u8]| {
        format!(
            "@font-face{{font-family:\"{family}\";font-weight:{weight};src:url(data:font/woff2;base64,{}) format(\"woff2\");font-display:swap}}\n",
            base64(bytes)
        )
    };
    face("Bench Sans", 400, include_bytes!("typefaces/sans.woff2"))
        + &face("Bench Sans", 700, include_bytes!("typefaces/sans-bold.woff2"))
        + &face("Bench Serif", 400, include_bytes!("typefaces/serif.woff2"))
}

/// The licence texts, which go wherever the typefaces go.
pub fn licences() -> String {
    [include_str!("typefaces/OFL-sans.txt"), include_str!("typefaces/OFL-serif.txt")].join("\n\n")
}
