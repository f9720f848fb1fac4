//! Lists on their way into the book, and those that were taken.
#![expect(missing_docs, reason = "the columns' meaning is written in the migrations, beside their checks")]

use crate::book::at::At;
use crate::book::ids::ImportFileId;
use crate::book::schema::{import_columns, import_file, import_taken};
use diesel::prelude::*;

/// A list on its way into the book.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Identifiable)]
#[diesel(table_name = import_file, primary_key(id))]
#[diesel(check_for_backend(diesel::sqlite::Sqlite))]
pub struct ImportFile {
    pub id: ImportFileId,
    pub kind: String,
    pub name: String,
    pub content: String,
    pub made_at: At,
}

/// A new row of `import_file`.
#[derive(Debug, Clone, Insertable)]
#[diesel(table_name = import_file)]
pub struct NewImportFile {
    pub kind: String,
    pub name: String,
    pub content: String,
    pub made_at: At,
}

/// Which heading of lists of a kind means what.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Identifiable, Insertable)]
#[diesel(table_name = import_columns, primary_key(kind))]
#[diesel(check_for_backend(diesel::sqlite::Sqlite))]
pub struct ImportColumns {
    pub kind: String,
    pub document: String,
    pub changed_at: At,
}

/// A list that was taken into the book.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Identifiable, Insertable)]
#[diesel(table_name = import_taken, primary_key(kind, digest))]
#[diesel(check_for_backend(diesel::sqlite::Sqlite))]
pub struct ImportTaken {
    pub kind: String,
    pub digest: String,
    pub name: String,
    pub made: i64,
    pub taken_by: String,
    pub taken_at: At,
}
