//! The demo farm: an invented farm with invented people, in a book of its own.

/// The demo's sign-in; works for the demo's book only.
pub const MAIL: &str = "ada@nettlebend.example";
/// The demo's password.
pub const PASSWORD: &str = "ink on butcher paper";
