//! The second factor: six figures from a person's phone, new every half minute (TOTP, RFC 6238), and recovery codes for the day
//! the phone is lost.
//!
//! The secret is 160 bits (RFC 4226 section 4 recommends it), codes are taken one half minute early or late (RFC 6238 section
//! 5.2), and each once.

use super::Failure;
use crate::book::at::At;
use crate::book::ids::AccountId;
use crate::book::rows::accounts::Account;
use crate::book::second_factors;
use crate::book::store::Tx;
use crate::secret;
use totp_rs::{Builder, Secret, Totp};

/// How many recovery codes a person gets.
pub const CODES: usize = 8;
/// Random bytes of a secret.
const SECRET_BYTES: usize = 20;
/// The letters of RFC 4648's base 32, in lower case: without 0, 1, 8 and 9, which are mistaken for letters.
const LETTERS: &[u8; 32] = b"abcdefghijklmnopqrstuvwxyz234567";
/// Letters of a recovery code: 24 of five bits are 120 random bits.
const CODE_LETTERS: usize = 24;

/// A new secret, in base 32.
///
/// # Errors
/// [`Failure::Unexpected`] without randomness.
pub fn new_secret() -> Result<String, Failure> {
    let mut bytes = [0_u8; SECRET_BYTES];
    getrandom::fill(&mut bytes).map_err(|e| Failure::Unexpected(e.to_string()))?;
    Ok(Secret::from(bytes.to_vec()).to_base32())
}

/// What the person's phone reads off the page: the secret with the farm's name and the person's mail address.
///
/// # Errors
/// [`Failure::Refused`] when the secret is none of ours.
pub fn phone_address(secret: &str, farm: &str, mail: &str) -> Result<String, Failure> {
    // A colon would end the issuer's name in the address.
    let clean = |text: &str| text.replace(':', " ");
    let totp = clock_of(secret, |b| b.with_issuer(Some(clean(farm))).with_account_name(clean(mail)))?;
    totp.to_url().map_err(|e| Failure::Unexpected(e.to_string()))
}

fn clock_of(secret: &str, with: impl FnOnce(Builder) -> Builder) -> Result<Totp, Failure> {
    let bad = || Failure::refuse("", "This page's secret cannot be read any more. Open the page again.");
    let secret = Secret::try_from_base32(secret).map_err(|_| bad())?;
    if secret.as_ref().len() != SECRET_BYTES {
        return Err(bad());
    }
    with(Builder::new().with_account_name("gambrel").with_secret(secret)).build().map_err(|_| bad())
}

/// The counted half minute whose code this is, at `now` or one off; none when the code does not fit.
fn step_of(secret: &str, code: &str, now: At) -> Option<i64> {
    let seconds = u64::try_from(now.0 / 1000).ok()?;
    let figures: String = code.chars().filter(|c| !c.is_whitespace()).collect();
    if figures.len() != 6 || !figures.bytes().all(|b| b.is_ascii_digit()) {
        return None;
    }
    let step = clock_of(secret, |b| b).ok()?.check(&figures, seconds)?;
    i64::try_from(step).ok()
}

/// What is said of a code that does not fit.
pub const WRONG_CODE: &str = "That code does not fit, or was used already. Wait for the next one and type its six figures; if it never fits, see whether the phone's clock is right.";

/// Switches the second factor on: the code proves that the phone holds the secret. Returns the recovery codes, to be shown once.
///
/// # Errors
/// [`Failure::Refused`] when the code does not fit.
pub fn switch_on(tx: &mut Tx, id: AccountId, secret: &str, code: &str, now: At) -> Result<Vec<String>, Failure> {
    let Some(step) = step_of(secret, code, now) else { return Err(Failure::refuse("code", WRONG_CODE)) };
    second_factors::set(tx, id, Some(secret), step, now)?;
    new_codes(tx, id, now)
}

/// Switches it off.
///
/// # Errors
/// The database's own.
pub fn switch_off(tx: &mut Tx, id: AccountId, now: At) -> Result<(), Failure> {
    Ok(second_factors::set(tx, id, None, 0, now)?)
}

/// Puts new recovery codes in place of the old ones; shown once.
///
/// # Errors
/// [`Failure::Unexpected`] without randomness.
pub fn new_codes(tx: &mut Tx, id: AccountId, now: At) -> Result<Vec<String>, Failure> {
    let codes = (0..CODES).map(|_| one_code()).collect::<Result<Vec<_>, _>>()?;
    let hashes: Vec<String> = codes.iter().map(|c| hash_of(c)).collect();
    second_factors::put_codes(tx, id, &hashes, now)?;
    Ok(codes)
}

fn one_code() -> Result<String, Failure> {
    let mut bytes = [0_u8; CODE_LETTERS];
    getrandom::fill(&mut bytes).map_err(|e| Failure::Unexpected(e.to_string()))?;
    // 256 is a whole multiple of 32, so every letter is equally likely.
    let letters = bytes.iter().map(|b| LETTERS.get(usize::from(b % 32)).map_or('a', |l| char::from(*l)));
    let mut code = String::new();
    for (n, letter) in letters.enumerate() {
        if n > 0 && n % 4 == 0 {
            code.push('-');
        }
        code.push(letter);
    }
    Ok(code)
}

/// The hash of a recovery code, however it was spaced.
fn hash_of(code: &str) -> String {
    let letters: String = code.chars().filter(char::is_ascii_alphanumeric).collect();
    secret::hash(&letters.to_ascii_lowercase())
}

/// How a person proved it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Proof {
    /// With the phone.
    Phone,
    /// With a recovery code, which is used up now.
    Recovery,
}

/// Takes a code of the phone or a recovery code and uses it up; none when neither fits.
///
/// # Errors
/// The database's own.
pub fn prove(tx: &mut Tx, account: &Account, code: &str, now: At) -> Result<Option<Proof>, Failure> {
    let Some(secret) = &account.totp_secret else { return Ok(None) };
    if let Some(step) = step_of(secret, code, now) {
        return Ok(second_factors::use_step(tx, account.id, step)?.then_some(Proof::Phone));
    }
    if code.chars().filter(char::is_ascii_alphanumeric).count() != CODE_LETTERS {
        return Ok(None);
    }
    Ok(second_factors::use_code(tx, account.id, &hash_of(code), now)?.then_some(Proof::Recovery))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// RFC 6238 appendix B: the secret "12345678901234567890" with SHA-1; its eight figures' last six.
    #[test]
    fn the_published_codes_fit_at_their_times() {
        let secret = Secret::from(b"12345678901234567890".to_vec()).to_base32();
        for (seconds, code) in [
            (59, "287082"),
            (1_111_111_109, "081804"),
            (1_111_111_111, "050471"),
            (1_234_567_890, "005924"),
            (2_000_000_000, "279037"),
            (20_000_000_000, "353130"),
        ] {
            let at = At(seconds * 1000);
            assert_eq!(step_of(&secret, code, at), Some(seconds / 30), "{seconds}");
            let (first, last) = code.split_at(3);
            assert_eq!(step_of(&secret, &format!(" {first} {last} "), at), Some(seconds / 30));
            assert_eq!(step_of(&secret, code, At((seconds + 30) * 1000)), Some(seconds / 30), "one step late");
            assert_eq!(step_of(&secret, code, At((seconds + 90) * 1000)), None, "three steps late");
        }
        for odd in ["", "28708", "2870822", "28708a", "二八七〇八二", "-87082"] {
            assert_eq!(step_of(&secret, odd, At(59_000)), None, "{odd}");
        }
    }

    #[test]
    fn a_phone_reads_farm_and_person_from_the_address() {
        let secret = new_secret().unwrap();
        let url = phone_address(&secret, "Nettle Bend: Farm", "ada@nettlebend.example").unwrap();
        assert!(url.starts_with("otpauth://totp/"), "{url}");
        assert!(url.contains(&format!("secret={secret}")) && url.contains("ada%40nettlebend.example"), "{url}");
        assert!(phone_address("AAAA", "x", "y").is_err() && phone_address("not base 32!", "x", "y").is_err());
    }

    #[test]
    fn recovery_codes_are_long_and_their_spacing_does_not_matter() {
        let code = one_code().unwrap();
        assert_eq!(code.len(), CODE_LETTERS + 5);
        assert_ne!(code, one_code().unwrap());
        assert_eq!(hash_of(&code), hash_of(&code.replace('-', " ").to_uppercase()));
    }
}
