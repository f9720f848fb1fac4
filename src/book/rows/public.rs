//! The farm's public page and its pictures.
#![expect(missing_docs, reason = "the columns' meaning is written in the migrations, beside their checks")]

use crate::book::at::At;
use crate::book::ids::PictureId;
use crate::book::schema::{public_page, public_picture, public_picture_size};
use diesel::prelude::*;

/// The farm's public page: at most one row.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Identifiable, Insertable, AsChangeset)]
#[diesel(table_name = public_page, primary_key(id), treat_none_as_null = true)]
#[diesel(check_for_backend(diesel::sqlite::Sqlite))]
pub struct PublicPage {
    pub id: i64,
    pub is_on: bool,
    pub headline: String,
    pub words: String,
    pub changed_at: At,
    pub version: i64,
}

/// A picture of it.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Identifiable)]
#[diesel(table_name = public_picture, primary_key(id))]
#[diesel(check_for_backend(diesel::sqlite::Sqlite))]
pub struct Picture {
    pub id: PictureId,
    pub alt: String,
    pub position: i64,
    pub added_at: At,
}

/// A new row of `public_picture`.
#[derive(Debug, Clone, Insertable)]
#[diesel(table_name = public_picture)]
pub struct NewPicture {
    pub alt: String,
    pub position: i64,
    pub added_at: At,
}

/// A picture in one width, without its body.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable)]
#[diesel(table_name = public_picture_size)]
#[diesel(check_for_backend(diesel::sqlite::Sqlite))]
pub struct PictureSize {
    pub picture_id: PictureId,
    pub width: i64,
    pub height: i64,
    pub digest: String,
}

/// A new row of `public_picture_size`. body: a JPEG as base64.
#[derive(Debug, Clone, Insertable)]
#[diesel(table_name = public_picture_size)]
pub struct NewPictureSize {
    pub picture_id: PictureId,
    pub width: i64,
    pub height: i64,
    pub digest: String,
    pub body: String,
}
