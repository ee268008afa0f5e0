//! A written date cut into numbers, words and signs.

/// A piece of a written date.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Tok {
    /// Figures.
    Num(Num),
    /// Letters, in lower case and without apostrophes.
    Word(String),
    /// Any of `. , / - – ? ~ ( )`.
    Sign(char),
}

/// Figures as they stand.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Num {
    /// The figures.
    pub text: String,
    /// True after an apostrophe: '98.
    pub cut: bool,
    /// What follows without a space.
    pub tail: Tail,
}

/// What figures end with.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Tail {
    /// Nothing.
    None,
    /// `st`, `nd`, `rd`, `th`.
    Ordinal,
    /// `s`: 1990s.
    Plural,
}

impl Num {
    /// Its value. Eight figures are the most that are cut.
    pub(super) fn value(&self) -> i64 {
        self.text.parse().unwrap_or(-1)
    }
}

impl Tok {
    /// A number of four figures, written by us.
    pub(super) fn year(y: i64) -> Self {
        Self::Num(Num { text: format!("{y:04}"), cut: false, tail: Tail::None })
    }
    /// True for this word.
    pub(super) fn is(&self, word: &str) -> bool {
        matches!(self, Self::Word(w) if w == word)
    }
}

const APOSTROPHES: [char; 5] = ['\'', '’', '‘', 'ʼ', '`'];
/// Longer texts are no dates: the longest phrase that is read has about sixty letters.
const MOST: usize = 100;

/// The pieces of a text; `None` where it has signs that no date has, or is too long.
pub(super) fn tokens(text: &str) -> Option<Vec<Tok>> {
    let chars: Vec<char> = text.chars().take(MOST + 1).flat_map(char::to_lowercase).collect();
    if chars.len() > MOST {
        return None;
    }
    let mut all = vec![];
    let (mut i, mut cut) = (0, false);
    let run = |from: usize, of: fn(char) -> bool| chars[from..].iter().take_while(|c| of(**c)).count();
    while i < chars.len() {
        let c = chars[i];
        if c.is_ascii_digit() {
            let n = run(i, |c| c.is_ascii_digit());
            let figures: String = chars[i..i + n].iter().collect();
            i += n;
            let apostrophe = usize::from(chars.get(i).is_some_and(|c| APOSTROPHES.contains(c)));
            let word: String = chars[i + apostrophe..][..run(i + apostrophe, char::is_alphabetic)].iter().collect();
            let tail = match word.as_str() {
                "s" => Tail::Plural,
                "st" | "nd" | "rd" | "th" if apostrophe == 0 => Tail::Ordinal,
                _ => Tail::None,
            };
            if tail != Tail::None {
                i += apostrophe + word.chars().count();
            }
            if figures.len() > 8 {
                return None;
            }
            all.push(Tok::Num(Num { text: figures, cut, tail }));
        } else if c.is_alphabetic() {
            let word: String = chars[i..]
                .iter()
                .take_while(|c| c.is_alphabetic() || APOSTROPHES.contains(c))
                .filter(|c| c.is_alphabetic())
                .collect();
            i += chars[i..].iter().take_while(|c| c.is_alphabetic() || APOSTROPHES.contains(c)).count();
            all.push(Tok::Word(word));
        } else {
            match c {
                c if c.is_whitespace() => {}
                c if APOSTROPHES.contains(&c) => {
                    cut = chars.get(i + 1).is_some_and(char::is_ascii_digit);
                    i += 1;
                    if cut {
                        continue;
                    }
                }
                '[' => all.push(Tok::Sign('(')),
                ']' => all.push(Tok::Sign(')')),
                '.' | ',' | '/' | '-' | '?' | '~' | '(' | ')' => all.push(Tok::Sign(c)),
                // Non-breaking hyphen; figure, en and em dash; minus.
                '\u{2010}' | '\u{2011}' => all.push(Tok::Sign('-')),
                '\u{2012}'..='\u{2015}' | '\u{2212}' => all.push(Tok::Sign('–')),
                _ => return None,
            }
            i += usize::from(!APOSTROPHES.contains(&c));
            cut = false;
            continue;
        }
        cut = false;
    }
    Some(all)
}
