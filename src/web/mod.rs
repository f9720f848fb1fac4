//! Pages: what people see and type, over HTTP.

pub mod look;
