//! The code that binds one phone to one check.

use crate::Error;
use crate::digest::hex;
use std::time::Instant;
use subtle::ConstantTimeEq;

/// Digits of a code.
const DIGITS: usize = 8;

/// What came of a code.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Tried {
    /// It was right; this is the token that the phone asks with from now on.
    Paired(String),
    /// It was wrong, and so many tries are left.
    Wrong { left: u32 },
    /// A phone is paired already.
    Spent,
    /// Its time is over, or its tries are.
    Over,
}

/// One code, good once.
pub(crate) struct Pairing {
    code: String,
    /// The token that the code is exchanged for, made beforehand so that pairing cannot fail half-way.
    token: String,
    paired: bool,
    tries_left: u32,
    until: Instant,
}

impl Pairing {
    /// A new code that is good until then.
    pub(crate) fn new(tries: u32, until: Instant) -> Result<Self, Error> {
        let mut seed = [0; 8];
        getrandom::fill(&mut seed).map_err(Error::Random)?;
        let mut token = [0; 32];
        getrandom::fill(&mut token).map_err(Error::Random)?;
        // 2^64 is no multiple of 10^8: the first codes are likelier by one in 10^11, which helps nobody.
        let number = u64::from_le_bytes(seed) % 10_u64.pow(DIGITS as u32);
        Ok(Self {
            code: format!("{number:0DIGITS$}"),
            token: hex(&token),
            paired: false,
            tries_left: tries,
            until,
        })
    }

    pub(crate) fn code(&self) -> &str {
        &self.code
    }

    pub(crate) fn is_paired(&self) -> bool {
        self.paired
    }

    /// Whether nobody paired in time.
    pub(crate) fn is_overdue(&self, now: Instant) -> bool {
        !self.paired && now >= self.until
    }

    /// Tries a code as a person typed it. The try is counted before the code is looked at.
    pub(crate) fn try_code(&mut self, typed: &str, now: Instant) -> Tried {
        if self.paired {
            return Tried::Spent;
        }
        if self.tries_left == 0 || now >= self.until {
            return Tried::Over;
        }
        self.tries_left -= 1;
        let digits: String = typed.chars().filter(|sign| !matches!(sign, ' ' | '-')).collect();
        if bool::from(digits.as_bytes().ct_eq(self.code.as_bytes())) {
            self.paired = true;
            return Tried::Paired(self.token.clone());
        }
        Tried::Wrong {
            left: self.tries_left,
        }
    }

    /// Whether a request comes from the phone that was paired.
    pub(crate) fn is_token(&self, given: &str) -> bool {
        let same = given.as_bytes().ct_eq(self.token.as_bytes());
        self.paired && bool::from(same)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::time::Duration;

    fn fresh() -> (Pairing, Instant) {
        let now = Instant::now();
        (
            Pairing::new(3, now + Duration::from_secs(60)).expect("a code"),
            now,
        )
    }

    fn wrong(pairing: &Pairing) -> String {
        let first = if pairing.code().starts_with('0') { "1" } else { "0" };
        format!("{first}{}", &pairing.code()[1..])
    }

    #[test]
    fn a_code_is_good_once() {
        let (mut pairing, now) = fresh();
        let code = pairing.code().to_owned();
        assert_eq!(code.len(), DIGITS);
        let Tried::Paired(token) = pairing.try_code(&format!("{} {}", &code[..4], &code[4..]), now) else {
            panic!("the right code is refused");
        };
        assert_eq!(token.len(), 64);
        assert!(pairing.is_token(&token));
        assert_eq!(pairing.try_code(&code, now), Tried::Spent);
    }

    #[test]
    fn tries_are_counted_and_then_the_right_code_is_refused_too() {
        let (mut pairing, now) = fresh();
        let (right, wrong) = (pairing.code().to_owned(), wrong(&pairing));
        for left in [2, 1, 0] {
            assert_eq!(pairing.try_code(&wrong, now), Tried::Wrong { left });
        }
        assert_eq!(pairing.try_code(&right, now), Tried::Over);
    }

    #[test]
    fn a_code_grows_old() {
        let (mut pairing, now) = fresh();
        let code = pairing.code().to_owned();
        let later = now + Duration::from_secs(60);
        assert!(pairing.is_overdue(later) && !pairing.is_overdue(now));
        assert_eq!(pairing.try_code(&code, later), Tried::Over);
    }

    #[test]
    fn no_token_is_good_before_a_phone_is_paired() {
        let (mut pairing, now) = fresh();
        let token = pairing.token.clone();
        assert!(!pairing.is_token(&token) && !pairing.is_token(""));
        let code = pairing.code().to_owned();
        pairing.try_code(&code, now);
        assert!(!pairing.is_token(&token[1..]) && !pairing.is_token(""));
    }

    #[test]
    fn codes_differ() {
        let codes: std::collections::HashSet<String> = (0..50).map(|_| fresh().0.code).collect();
        assert!(codes.len() > 45, "{} of 50 codes differ", codes.len());
    }
}
