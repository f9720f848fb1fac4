//! Random tokens and their hashes. A token is shown once; only its SHA-256 is stored.

use base64::Engine;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use hmac::{Hmac, Mac};
use sha2::{Digest, Sha256};

/// A new random token of 192 bits from the operating system, as 32 URL-safe characters.
///
/// # Errors
/// When the operating system has no randomness to give.
pub fn token() -> Result<String, String> {
    let mut bytes = [0_u8; 24];
    getrandom::fill(&mut bytes).map_err(|e| format!("the operating system gave no random bytes: {e}"))?;
    Ok(URL_SAFE_NO_PAD.encode(bytes))
}

/// The SHA-256 of a token, as stored.
pub fn hash(token: &str) -> String {
    URL_SAFE_NO_PAD.encode(Sha256::digest(token.as_bytes()))
}

/// A one-use form key: a random part and a proof that this browser's session got it from us.
///
/// # Errors
/// As [`token`].
pub fn form_key(session_secret: &str) -> Result<String, String> {
    let part = token()?;
    let proof = proof(session_secret, &part);
    Ok(format!("{part}.{proof}"))
}

/// Whether a form key was made for this session.
pub fn form_key_is_ours(session_secret: &str, key: &str) -> bool {
    let Some((part, proof)) = key.split_once('.') else { return false };
    let Ok(sent) = URL_SAFE_NO_PAD.decode(proof) else { return false };
    let Ok(mut mac) = Hmac::<Sha256>::new_from_slice(session_secret.as_bytes()) else { return false };
    mac.update(part.as_bytes());
    mac.verify_truncated_left(&sent).is_ok() && sent.len() == 16 && part.len() == 32
}

fn proof(session_secret: &str, part: &str) -> String {
    let Ok(mut mac) = Hmac::<Sha256>::new_from_slice(session_secret.as_bytes()) else { return String::new() };
    mac.update(part.as_bytes());
    URL_SAFE_NO_PAD.encode(mac.finalize().into_bytes().get(..16).unwrap_or_default())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_form_key_belongs_to_one_session() {
        let key = form_key("mine").unwrap();
        assert!(form_key_is_ours("mine", &key));
        assert!(!form_key_is_ours("theirs", &key));
        for forged in ["", ".", "a.b", key.split_at(40).0, &format!("x{key}")] {
            assert!(!form_key_is_ours("mine", forged), "{forged}");
        }
        assert_ne!(token().unwrap(), token().unwrap());
    }
}
