//! What of a book lets somebody in, or comes near it: left out of a file on demand.

use crate::book::content::Column;

/// Tables whose rows are left out: sign-ins and private links. Who has one signs in anew, or is sent a new link.
pub const KEPT_BACK: &[&str] = &[
    "calendar_feed",
    "customer_link",
    "link_session",
    "password_link",
    "plant_link",
    "plant_session",
    "recovery_code",
    "request_link",
    "session",
    "setup_link",
    "used_form_key",
];

/// Columns of other tables that are written empty, or as nothing: (table, column, what is written).
pub const HASHES: &[(&str, &str, Option<&str>)] = &[
    ("account", "password_hash", Some("none chosen yet")),
    ("account", "totp_secret", None),
    ("account", "totp_since", None),
];

/// Takes the secrets out of a row's values.
pub(super) fn take_out(table: &str, columns: &[Column], values: &mut [Option<String>]) {
    for (column, value) in columns.iter().zip(values) {
        if let Some((.., instead)) = HASHES.iter().find(|(t, c, _)| *t == table && *c == column.name) {
            *value = instead.map(str::to_string);
        }
    }
}
