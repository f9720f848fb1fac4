//! Tells cargo that a new migration folder means a new binary.

fn main() {
    println!("cargo:rerun-if-changed=migrations");
}
