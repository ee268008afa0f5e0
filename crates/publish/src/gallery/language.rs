//! What a page may honestly say of the language of a person's words: their script, where it is one, and no more.

use std::collections::BTreeSet;
use unicode_script::{Script, UnicodeScript};

/// Attributes of an element that holds a person's words: their direction, and `und` (BCP 47: a language that nobody said) with the script
/// that all their letters have.
pub fn attributes(words: &str) -> String {
    let tag = tag(words);
    if tag.is_empty() { " dir=\"auto\"".into() } else { format!(" lang=\"{tag}\" dir=\"auto\"") }
}

/// The language tag of words in an unknown language (RFC 5646, sections 2.2.3 and 4.1); empty where there are no letters.
fn tag(words: &str) -> String {
    let scripts: BTreeSet<&str> =
        words.chars().map(|c| c.script()).filter(|s| !common(*s)).map(Script::short_name).collect();
    let within = |all: &[&str]| scripts.iter().all(|s| all.contains(s));
    let script = match scripts.len() {
        0 => return String::new(),
        1 if !within(&["Hira", "Kana"]) => scripts.first().copied(),
        // Scripts that are written together have a code of their own (ISO 15924).
        _ if within(&["Hani", "Hira", "Kana"]) => Some("Jpan"),
        _ if within(&["Hani", "Hang"]) => Some("Kore"),
        _ => None,
    };
    script.map_or_else(|| "und".into(), |s| format!("und-{s}"))
}

fn common(script: Script) -> bool {
    matches!(script, Script::Common | Script::Inherited | Script::Unknown)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Codes of ISO 15924, by hand.
    #[test]
    fn a_script_is_named_and_no_language_is_guessed() {
        for (words, want) in [
            ("הנמל הישן", "und-Hebr"),
            ("ميناء يافا", "und-Arab"),
            ("港の朝、古い写真。", "und-Jpan"),
            ("港", "und-Hani"),
            ("항구 港", "und-Kore"),
            ("Θεσσαλονίκη", "und-Grek"),
            ("Київ", "und-Cyrl"),
            ("The ferry, 1968", "und-Latn"),
            ("The ferry (יפו)", "und"),
            ("1968 …", ""),
        ] {
            assert_eq!(tag(words), want, "{words}");
        }
        assert_eq!(attributes("1968"), " dir=\"auto\"");
        assert_eq!(attributes("יפו"), " lang=\"und-Hebr\" dir=\"auto\"");
    }
}
