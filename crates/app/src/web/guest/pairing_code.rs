//! The code that lets one device in, and the token that it becomes.

use super::super::gate::{same, token};
use std::sync::{Mutex, MutexGuard, PoisonError};
use std::time::{Duration, Instant};

/// Wrong codes before the way in closes: a hand that mistypes has a few, and a guess succeeds once in two hundred thousand.
pub const TRIES: u32 = 5;
/// Six digits: short enough to type on a phone, long enough for five tries.
const CODES: u32 = 1_000_000;

/// What became of a code.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Tried {
    /// It was right: the token of whoever wrote it.
    In(String),
    /// It was wrong; so many tries are left.
    Wrong(u32),
    /// Somebody came in before.
    Spent,
    /// The code held too long ago.
    Over,
    /// The way in is closed.
    Shut,
}

/// The lock of a way in.
pub struct Key(Mutex<Lock>);

enum Lock {
    Waiting { code: String, wrong: u32, until: Instant },
    Taken { token: String },
    Shut,
}

impl Key {
    /// A key with a new code from the system's random source, which holds so long.
    ///
    /// # Errors
    /// The system gives no random numbers.
    pub fn new(holds: Duration) -> Result<Self, String> {
        let until = Instant::now() + holds;
        Ok(Self(Mutex::new(Lock::Waiting { code: code()?, wrong: 0, until })))
    }

    fn lock(&self) -> MutexGuard<'_, Lock> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// The code, until it is spent.
    pub fn code(&self) -> Option<String> {
        match &*self.lock() {
            Lock::Waiting { code, .. } => Some(code.clone()),
            Lock::Taken { .. } | Lock::Shut => None,
        }
    }

    /// True once the code holds no more and nobody has written it.
    pub fn is_over(&self) -> bool {
        matches!(*self.lock(), Lock::Waiting { until, .. } if until <= Instant::now())
    }

    /// True once too many wrong codes were written.
    pub fn is_shut(&self) -> bool {
        matches!(*self.lock(), Lock::Shut)
    }

    /// True for the token of whoever came in.
    pub fn fits(&self, holds: impl Fn(&str) -> bool) -> bool {
        matches!(&*self.lock(), Lock::Taken { token } if holds(token))
    }

    /// Tries a code. The first right one is the last.
    pub fn try_code(&self, given: &str) -> Tried {
        let given: String = given.chars().filter(char::is_ascii_digit).collect();
        let mut lock = self.lock();
        match &mut *lock {
            Lock::Shut => Tried::Shut,
            Lock::Taken { .. } => Tried::Spent,
            Lock::Waiting { until, .. } if *until <= Instant::now() => Tried::Over,
            Lock::Waiting { code, .. } if same(&given, code) => match token() {
                Ok(token) => {
                    *lock = Lock::Taken { token: token.clone() };
                    Tried::In(token)
                }
                Err(_) => Tried::Shut,
            },
            Lock::Waiting { wrong, .. } => {
                *wrong += 1;
                let left = TRIES.saturating_sub(*wrong);
                if left == 0 {
                    *lock = Lock::Shut;
                }
                Tried::Wrong(left)
            }
        }
    }
}

/// Six random digits, each code as likely as any other.
fn code() -> Result<String, String> {
    let whole = u32::MAX - u32::MAX % CODES;
    loop {
        let mut bytes = [0u8; 4];
        getrandom::fill(&mut bytes).map_err(|e| format!("The system provides no random numbers for the code: {e}."))?;
        let n = u32::from_le_bytes(bytes);
        // The last, incomplete run of codes would make some of them likelier.
        if n < whole {
            return Ok(format!("{:06}", n % CODES));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn wrong_for(code: &str) -> &'static str {
        if code == "123456" { "654321" } else { "123456" }
    }

    #[test]
    fn a_code_opens_once() {
        let key = Key::new(Duration::from_secs(600)).unwrap();
        let code = key.code().unwrap();
        assert!(code.len() == 6 && code.bytes().all(|b| b.is_ascii_digit()), "{code}");
        assert_eq!(key.try_code(wrong_for(&code)), Tried::Wrong(4));
        assert_eq!(key.try_code(""), Tried::Wrong(3));
        // As a hand writes it.
        let Tried::In(token) = key.try_code(&format!("{} {}", &code[..3], &code[3..])) else { panic!("{code}") };
        assert_eq!((token.len(), key.code(), key.try_code(&code)), (32, None, Tried::Spent));
        assert!(key.fits(|t| t == token) && !key.fits(|t| t == "other"));
    }

    #[test]
    fn a_code_that_held_too_long_opens_nothing() {
        let key = Key::new(Duration::ZERO).unwrap();
        let code = key.code().unwrap();
        assert!(key.is_over() && key.try_code(&code) == Tried::Over && !key.fits(|_| true));
    }

    #[test]
    fn five_wrong_codes_shut_it_for_good() {
        let key = Key::new(Duration::from_secs(600)).unwrap();
        let code = key.code().unwrap();
        let left: Vec<Tried> = (0..5).map(|_| key.try_code(wrong_for(&code))).collect();
        assert_eq!(left, [4, 3, 2, 1, 0].map(Tried::Wrong));
        assert!(key.is_shut() && !key.fits(|_| true));
        assert_eq!(key.try_code(&code), Tried::Shut);
    }
}
