//! Money in a frozen paper: whole cents, as a JSON number. For `#[serde(with)]`.

use crate::trade::money::Money;
use serde::{Deserialize, Deserializer, Serializer, de::Error};

/// Writes whole cents.
///
/// # Errors
/// Those of the writer.
pub fn serialize<S: Serializer>(money: &Money, to: S) -> Result<S::Ok, S::Error> {
    to.serialize_i64(money.cents())
}

/// Reads whole cents, within [`Money::LIMIT`] either way.
///
/// # Errors
/// When it is not a whole number or is larger than can be recorded.
pub fn deserialize<'de, D: Deserializer<'de>>(from: D) -> Result<Money, D::Error> {
    let cents = i64::deserialize(from)?;
    if cents.unsigned_abs() > Money::LIMIT.unsigned_abs() {
        return Err(D::Error::custom(format!("{cents} cents is more than can be recorded")));
    }
    Ok(Money::from_cents(cents))
}
