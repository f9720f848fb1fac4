//! Making the first account, signing in and out.

use super::{Doing, Failure, Problems};
use crate::book::at::At;
use crate::book::ids::AccountId;
use crate::book::rows::accounts::{NewAccount, Session};
use crate::book::store::Tx;
use crate::book::{accounts, farm};
use crate::secret;
use crate::trade::vocabulary::Role;
use argon2::password_hash::{PasswordHash, PasswordHasher, PasswordVerifier, SaltString};
use argon2::{Algorithm, Argon2, Params, Version};
use chrono::TimeDelta;
use zxcvbn::{Score, zxcvbn};

/// How long a signed-in browser stays signed in when it is used.
pub const SESSION_DAYS: i64 = 14;
/// How long it may lie idle. Longer than an office's rule: a barn has one phone and its owner's pocket.
pub const IDLE_HOURS: i64 = 12;
/// How long the first-account link is good.
pub const SETUP_LINK_MINUTES: i64 = 30;
/// How long a person has to type the code of the second factor.
pub const CODE_MINUTES: i64 = 5;
/// The shortest password (OWASP ASVS 5.0, 6.2.1 asks for 8 and advises 15 without a second factor).
pub const PASSWORD_MIN: usize = 10;
/// The longest password.
pub const PASSWORD_MAX: usize = 200;
fn hasher() -> Result<Argon2<'static>, Failure> {
    // OWASP's second choice: 19 MiB, two passes, one lane.
    let params = Params::new(19_456, 2, 1, None).map_err(|e| Failure::Unexpected(e.to_string()))?;
    Ok(Argon2::new(Algorithm::Argon2id, Version::V0x13, params))
}

/// Hashes a password with argon2id. Slow on purpose (about 60 ms): call it from a blocking thread.
///
/// # Errors
/// When the operating system gives no randomness.
pub fn hash_password(password: &str) -> Result<String, Failure> {
    let mut salt = [0_u8; 16];
    getrandom::fill(&mut salt).map_err(|e| Failure::Unexpected(e.to_string()))?;
    let salt = SaltString::encode_b64(&salt).map_err(|e| Failure::Unexpected(e.to_string()))?;
    Ok(hasher()?.hash_password(password.as_bytes(), &salt).map_err(|e| Failure::Unexpected(e.to_string()))?.to_string())
}

/// Whether a password fits a stored hash. With no hash it takes as long and says no, so that nobody learns which accounts exist.
pub fn password_fits(password: &str, stored: Option<&str>) -> bool {
    const NOBODY: &str =
        "$argon2id$v=19$m=19456,t=2,p=1$c29tZXNhbHRzb21lc2FsdA$JxUdeLQTCdPKRpXq5kXkXd+nZtAsu0TrMpQnZlNIFyg";
    let parsed = PasswordHash::new(stored.unwrap_or(NOBODY));
    let Ok(hash) = parsed else { return false };
    let Ok(hasher) = hasher() else { return false };
    hasher.verify_password(password.as_bytes(), &hash).is_ok() && stored.is_some()
}

/// What is wrong with a new password, as a sentence.
pub fn password_problem(password: &str, mail: &str, name: &str) -> Option<String> {
    let n = password.chars().count();
    if n == 0 {
        Some("Choose a password".into())
    } else if n < PASSWORD_MIN {
        Some(format!(
            "The password has {n} characters. Use at least {PASSWORD_MIN}; a few words in a row are easy to remember"
        ))
    } else if n > PASSWORD_MAX {
        Some(format!("The password has {n} characters. Use at most {PASSWORD_MAX}"))
    } else if zxcvbn(password, &[mail, name]).score() < Score::Two {
        // Below two it falls to a million guesses: the common ones (ASVS 6.2.4), names, dates, rows of keys, and this person's own.
        Some("That password is one of the first anybody would try. Use a few words in a row".into())
    } else {
        None
    }
}

/// A new account's facts; the password is hashed already.
#[derive(Debug, Clone)]
pub struct FirstAccount {
    /// The token of the link.
    pub token: String,
    /// Name.
    pub name: String,
    /// Mail address.
    pub mail: String,
    /// Hash of the password.
    pub password_hash: String,
}

/// Makes a link that makes the first account; returns its token. Good once, for 30 minutes.
///
/// # Errors
/// [`Failure::Refused`] when there is an account already.
pub fn make_setup_link(tx: &mut Tx, now: At, token: &str) -> Result<(), Failure> {
    if accounts::count(tx.conn())? > 0 {
        return Err(Failure::refuse("", "This book has an account already. Sign in with it."));
    }
    farm::ensure(tx)?;
    accounts::put_setup_link(tx, &secret::hash(token), now, now.plus(TimeDelta::minutes(SETUP_LINK_MINUTES)))?;
    Ok(())
}

/// Makes the first account with the link from the terminal.
///
/// # Errors
/// [`Failure::Refused`] when the link is used or too old.
pub fn make_first_account(tx: &mut Tx, now: At, input: &FirstAccount) -> Result<(), Failure> {
    if !accounts::use_setup_link(tx, &secret::hash(&input.token), now)? || accounts::count(tx.conn())? > 0 {
        return Err(Failure::refuse(
            "",
            "This link was used already or is older than 30 minutes. Start Gambrel again and use the new link it prints.",
        ));
    }
    let mut p = Problems::default();
    if input.name.trim().is_empty() {
        p.add("name", "Write your name");
    }
    p.check()?;
    accounts::insert(
        tx,
        &NewAccount {
            mail: input.mail.trim().to_lowercase(),
            name: input.name.trim().to_string(),
            password_hash: input.password_hash.clone(),
            role: Role::Farmer,
            created_at: now,
            disabled_at: None,
        },
    )?;
    Ok(())
}

/// A browser that signs in.
#[derive(Debug, Clone, Default)]
pub struct Browser {
    /// The random id that goes into its cookie.
    pub token: String,
    /// Keys its forms.
    pub form_secret: String,
    /// What it calls itself, in short, for the list of sign-ins.
    pub name: String,
}

impl Browser {
    /// A browser with fresh secrets.
    ///
    /// # Errors
    /// [`Failure::Unexpected`] without randomness.
    pub fn new(name: &str) -> Result<Self, Failure> {
        let fresh = || secret::token().map_err(Failure::Unexpected);
        Ok(Self { token: fresh()?, form_secret: fresh()?, name: name.chars().take(120).collect() })
    }
}

/// Starts a session for a browser whose person proved who they are.
///
/// # Errors
/// The database's own.
pub fn sign_in(tx: &mut Tx, account: AccountId, now: At, browser: &Browser) -> Result<(), Failure> {
    begin(tx, account, now, browser, TimeDelta::days(SESSION_DAYS), false)
}

/// Notes that the password fitted; the code of the second factor is still to come, within [`CODE_MINUTES`].
///
/// # Errors
/// The database's own.
pub fn await_code(tx: &mut Tx, account: AccountId, now: At, browser: &Browser) -> Result<(), Failure> {
    begin(tx, account, now, browser, TimeDelta::minutes(CODE_MINUTES), true)
}

fn begin(
    tx: &mut Tx,
    account_id: AccountId,
    now: At,
    browser: &Browser,
    lasts: TimeDelta,
    awaits_code: bool,
) -> Result<(), Failure> {
    accounts::begin_session(
        tx,
        &Session {
            id_hash: secret::hash(&browser.token),
            account_id,
            form_secret: browser.form_secret.clone(),
            created_at: now,
            last_seen_at: now,
            ends_at: now.plus(lasts),
            browser: browser.name.clone(),
            awaits_code,
        },
    )?;
    Ok(())
}

/// Ends this browser's session on the server.
///
/// # Errors
/// The database's own.
pub fn sign_out(tx: &mut Tx, _doing: &Doing, id_hash: &str) -> Result<(), Failure> {
    accounts::end_session(tx, id_hash)?;
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_password_fits_only_its_own_hash() {
        let hash = hash_password("three wet hens").unwrap();
        assert!(hash.starts_with("$argon2id$v=19$m=19456,t=2,p=1$"));
        assert!(password_fits("three wet hens", Some(&hash)));
        assert!(!password_fits("three wet hen", Some(&hash)));
        assert!(!password_fits("three wet hens", None));
    }

    #[test]
    fn passwords_anybody_would_try_are_refused_and_nothing_else_is_asked_of_them() {
        let said = |p: &str| password_problem(p, "ada@nettlebend.example", "Ada Moen").unwrap_or_default();
        for first in [
            "1234567890",
            "password123",
            "qwertyuiop",
            "1q2w3e4r5t",
            "iloveyou12",
            "aaaaaaaaaaaa",
            "abcdefghijkl",
            "football2024",
            "Ada@NettleBend.example",
            "ada@nettlebend.example1",
        ] {
            assert!(said(first).contains("first anybody would try"), "{first}");
        }
        assert!(said("").starts_with("Choose") && said("short").contains("5 characters"));
        assert!(said(&"x y ".repeat(60)).contains("at most 200"));
        for good in [
            "three wet hens sat",
            "ünusual wörds höre",
            "a few words in a row",
            "correct hens battery barn",
            "7316 4429 8803 12",
        ] {
            assert_eq!(said(good), "", "{good}");
        }
    }

    #[test]
    fn the_stand_in_hash_costs_as_much_as_a_real_one() {
        // If it did not parse, unknown addresses would be answered at once.
        let t = std::time::Instant::now();
        password_fits("x", None);
        assert!(t.elapsed().as_millis() >= 5);
    }
}
