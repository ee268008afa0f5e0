//! Which fields of a print are published: the allowed ones, minus those restricted by privacy.
//!
//! A private print is never published. For a print marked *ask*, people, place and every other text that names them are left out,
//! unless the user has permission.

use crate::{Plate, Privacy, Words};

/// Something said of a print that may go out.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Word {
    /// A short name.
    Title,
    /// What is seen.
    Alt,
    /// When it was exposed.
    Date,
    /// Where.
    Place,
    /// Who is in it.
    People,
    /// What it shows.
    Subject,
    /// What is written on it.
    Inscription,
    /// The film.
    Film,
    /// Who may use it.
    Rights,
    /// Anything else.
    Note,
}

impl Word {
    /// All of them, in the order of a caption.
    pub const ALL: [Self; 10] = [
        Self::Title,
        Self::Alt,
        Self::Date,
        Self::Place,
        Self::People,
        Self::Subject,
        Self::Inscription,
        Self::Film,
        Self::Rights,
        Self::Note,
    ];
    /// Fields published by default. Inscriptions and notes are not: they were written for private use.
    pub const USUAL: [Self; 8] =
        [Self::Title, Self::Alt, Self::Date, Self::Place, Self::People, Self::Subject, Self::Film, Self::Rights];

    /// As it is typed.
    pub fn word(self) -> &'static str {
        match self {
            Self::Title => "title",
            Self::Alt => "alt",
            Self::Date => "date",
            Self::Place => "place",
            Self::People => "people",
            Self::Subject => "subject",
            Self::Inscription => "inscription",
            Self::Film => "film",
            Self::Rights => "rights",
            Self::Note => "note",
        }
    }

    /// The word of what was typed.
    ///
    /// ```
    /// use publish::privacy::Word;
    /// assert!(Word::parse("Title").is_ok() && Word::parse("phone").is_err());
    /// ```
    ///
    /// # Errors
    /// It is none; a sentence names those there are.
    pub fn parse(text: &str) -> Result<Self, String> {
        let found = Self::ALL.into_iter().find(|w| w.word().eq_ignore_ascii_case(text.trim()));
        found.ok_or_else(|| {
            let all: Vec<&str> = Self::ALL.into_iter().map(Self::word).collect();
            format!("use one or more of {}, separated by commas", all.join(", "))
        })
    }

    /// True where something is said.
    pub fn is_said(self, words: &Words) -> bool {
        !self.of(words).is_empty()
    }

    fn of(self, words: &Words) -> String {
        match self {
            Self::Title => words.title.clone(),
            Self::Alt => words.alt.clone(),
            Self::Date => words.date.clone(),
            Self::Place => words.place.clone(),
            Self::People => words.people.join("; "),
            Self::Subject => words.subject.join("; "),
            Self::Inscription => words.inscription.clone(),
            Self::Film => words.film.clone(),
            Self::Rights => words.rights.clone(),
            Self::Note => words.note.clone(),
        }
    }

    fn keep(self, from: &Words, to: &mut Words) {
        match self {
            Self::Title => to.title.clone_from(&from.title),
            Self::Alt => to.alt.clone_from(&from.alt),
            Self::Date => to.date.clone_from(&from.date),
            Self::Place => to.place.clone_from(&from.place),
            Self::People => to.people.clone_from(&from.people),
            Self::Subject => to.subject.clone_from(&from.subject),
            Self::Inscription => to.inscription.clone_from(&from.inscription),
            Self::Film => to.film.clone_from(&from.film),
            Self::Rights => to.rights.clone_from(&from.rights),
            Self::Note => to.note.clone_from(&from.note),
        }
    }
}

/// Why a word stayed behind.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Why {
    /// It was not among the words allowed.
    NotAllowed,
    /// The print is marked *ask*.
    Ask,
    /// The print is marked *ask*, and this word names a person or the place.
    Names,
}

/// What is allowed to go out.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Allow {
    /// The words.
    pub keep: Vec<Word>,
    /// True where whoever is to be asked was asked.
    pub asked: bool,
}

impl Default for Allow {
    fn default() -> Self {
        Self { keep: Word::USUAL.to_vec(), asked: false }
    }
}

/// The words that go out with a print.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Said {
    /// What is kept.
    pub words: Words,
    /// What is seen, for who cannot see it: never empty.
    pub alt: String,
    /// True where nobody has written that text: it was put together from other words.
    pub alt_is_made: bool,
    /// What was said and stays.
    pub left_out: Vec<(Word, Why)>,
}

impl Allow {
    /// What goes out with a plate; `None` where the print itself may not.
    pub fn of(&self, plate: &Plate) -> Option<Said> {
        let all = &plate.words;
        let ask = match all.privacy {
            Privacy::Private => return None,
            Privacy::Ask => !self.asked,
            Privacy::Open => false,
        };
        let mut said = Said::default();
        for word in Word::ALL.into_iter().filter(|w| w.is_said(all)) {
            let why = match word {
                _ if !self.keep.contains(&word) => Some(Why::NotAllowed),
                Word::People | Word::Place if ask => Some(Why::Ask),
                _ if ask && names(&word.of(all), all) => Some(Why::Names),
                _ => None,
            };
            match why {
                Some(why) => said.left_out.push((word, why)),
                None => word.keep(all, &mut said.words),
            }
        }
        said.words.privacy = all.privacy;
        said.alt_is_made = said.words.alt.is_empty();
        said.alt = if said.alt_is_made { made(&said.words, plate) } else { said.words.alt.clone() };
        Some(said)
    }
}

/// True where a text holds a person's name, a part of one, or the place's name.
fn names(text: &str, all: &Words) -> bool {
    let words = |t: &str| -> Vec<String> {
        t.to_lowercase().split(|c: char| !c.is_alphanumeric()).filter(|w| !w.is_empty()).map(str::to_owned).collect()
    };
    let text = words(text);
    let people = all.people.iter().flat_map(|p| words(p)).any(|part| text.contains(&part));
    let place = words(&all.place);
    people || (!place.is_empty() && text.windows(place.len()).any(|w| w == place))
}

/// A text put together from what else is said: "Low water: harbour, boats. With Ada and Bo. The harbour, July 2009."
fn made(words: &Words, plate: &Plate) -> String {
    let subject = words.subject.join(", ");
    let mut sentences: Vec<String> = vec![];
    match (words.title.is_empty(), subject.is_empty()) {
        (false, false) => sentences.push(format!("{}: {subject}", words.title)),
        (false, true) => sentences.push(words.title.clone()),
        (true, false) => sentences.push(capital(&subject)),
        (true, true) => {
            sentences.push(format!("Instant print {}, {}", plate.name, plate.format.replace('-', " ")));
        }
    }
    if !words.people.is_empty() {
        sentences.push(format!("With {}", and(&words.people)));
    }
    let date = dates::says(&words.date);
    let where_when: Vec<&str> = [words.place.as_str(), &date].into_iter().filter(|t| !t.is_empty()).collect();
    if !where_when.is_empty() {
        sentences.push(capital(&where_when.join(", ")));
    }
    sentences.iter().map(|s| format!("{}.", s.trim_end_matches('.'))).collect::<Vec<_>>().join(" ")
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map(|c| c.to_uppercase().chain(letters).collect()).unwrap_or_default()
}

/// "Ada", "Ada and Bo", "Ada, Bo and Cy".
fn and(names: &[String]) -> String {
    match names {
        [] => String::new(),
        [one] => one.clone(),
        [most @ .., last] => format!("{} and {last}", most.join(", ")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plate::tests::plate;

    fn told(privacy: Privacy) -> Plate {
        let words = Words {
            title: "Ada at low water".into(),
            date: "2009-07?".into(),
            place: "The Old Harbour".into(),
            people: vec!["Ada Brook".into(), "Bo".into()],
            subject: vec!["boats".into(), "mud".into()],
            film: "old stock".into(),
            note: "sold the boat in 2011".into(),
            privacy,
            ..Words::default()
        };
        Plate { words, ..plate() }
    }

    #[test]
    fn an_open_print_says_what_is_usual_and_keeps_its_notes() {
        let said = Allow::default().of(&told(Privacy::Open)).unwrap();
        assert_eq!(said.left_out, [(Word::Note, Why::NotAllowed)]);
        assert_eq!(
            said.alt,
            "Ada at low water: boats, mud. With Ada Brook and Bo. The Old Harbour, July 2009, perhaps."
        );
        assert!(said.alt_is_made && said.words.note.is_empty());
    }

    #[test]
    fn ask_keeps_names_back_wherever_they_stand() {
        let said = Allow::default().of(&told(Privacy::Ask)).unwrap();
        let stays = [
            (Word::Title, Why::Names),
            (Word::Place, Why::Ask),
            (Word::People, Why::Ask),
            (Word::Note, Why::NotAllowed),
        ];
        assert_eq!(said.left_out, stays);
        assert_eq!(said.alt, "Boats, mud. July 2009, perhaps.");
        let asked = Allow { asked: true, ..Allow::default() }.of(&told(Privacy::Ask)).unwrap();
        assert_eq!(asked.left_out.len(), 1);
        assert_eq!(Allow { asked: true, ..Allow::default() }.of(&told(Privacy::Private)), None);
    }

    #[test]
    fn a_print_of_which_nothing_is_said_is_named() {
        let said = Allow::default().of(&plate()).unwrap();
        assert_eq!(said.alt, "Instant print P0001, square integral.");
        assert!(said.alt_is_made && said.left_out.is_empty());
    }
}
