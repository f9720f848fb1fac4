//! The whole book as one file to take away, asked for with the password.

use crate::actions::note_export::note_export;
use crate::keep::{folder, whole};
use crate::web::account::own::{account_of, prove_password};
use crate::web::app::App;
use crate::web::errors::Answer;
use crate::web::farmer::Farmer;
use crate::web::look::draft::Draft;
use crate::web::look::respond::{page, refused, see_other};
use crate::web::look::{Frame, Tab};
use crate::web::notice;
use crate::web::sent::Sent;
use actix_web::http::header::{ContentDisposition, DispositionParam, DispositionType};
use actix_web::web::Bytes;
use actix_web::{HttpResponse, web};
use askama::Template;
use std::io::{BufWriter, Error, Write};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use tokio::sync::mpsc;

const HERE: &str = "/settings/whole-book";
/// Bytes of a piece that is sent.
const PIECE: usize = 1 << 16;
/// Pieces that wait for a slow connection, at most: memory stays the same however large the book is.
const WAITING: usize = 4;

/// The routes.
pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/settings/whole-book", web::get().to(show));
    cfg.route("/settings/whole-book", web::post().to(take));
}

#[derive(Template)]
#[template(path = "farm/whole_book.html")]
struct WholeBookPage {
    frame: Frame,
    draft: Draft,
}

async fn show(farmer: Farmer) -> Answer {
    Ok(page(&WholeBookPage { frame: farmer.frame(Tab::Settings), draft: Draft::empty() }))
}

async fn take(farmer: Farmer, app: web::Data<App>, sent: Sent) -> Answer {
    let (mut form, key) = sent.with_key();
    let with_secrets = form.tick("secrets");
    prove_password(&app, &account_of(&app, &farmer).await?, &mut form).await?;
    if let Err(draft) = form.clone().finish((Some(()),)) {
        let draft = draft.without("password");
        return Ok(refused(&WholeBookPage { frame: farmer.frame(Tab::Settings), draft }));
    }
    let is_first = Arc::new(AtomicBool::new(false));
    let first = is_first.clone();
    let noted = app.act(&farmer, &key, move |tx, doing| {
        note_export(tx, doing, with_secrets)?;
        first.store(true, Ordering::SeqCst);
        Ok(HERE.into())
    });
    noted.await?;
    if !is_first.load(Ordering::SeqCst) {
        return Ok(notice::with(see_other(HERE), "That file was handed out already. Ask again for another one."));
    }
    let at = app.clock.at();
    let (pieces, coming) = mpsc::channel::<Result<Bytes, Error>>(WAITING);
    let store = app.store.clone();
    actix_web::rt::task::spawn_blocking(move || {
        let mut out = BufWriter::with_capacity(PIECE, Pieces(pieces.clone()));
        if let Err(why) = whole::write(&store, at, with_secrets, &mut out) {
            tracing::error!("the whole book could not be handed out: {why}");
            // The connection is broken off, so that half a file does not look like a whole one.
            let _ = pieces.blocking_send(Err(Error::other(why)));
        }
    });
    let body = futures_util::stream::unfold(coming, |mut coming| async move {
        let piece = coming.recv().await?;
        Some((piece, coming))
    });
    Ok(HttpResponse::Ok()
        .content_type("application/json")
        .insert_header(ContentDisposition {
            disposition: DispositionType::Attachment,
            parameters: vec![DispositionParam::Filename(format!("{}.json", folder::stem(at)))],
        })
        .streaming(body))
}

/// Sends what is written, piece by piece.
struct Pieces(mpsc::Sender<Result<Bytes, Error>>);

impl Write for Pieces {
    fn write(&mut self, bytes: &[u8]) -> Result<usize, Error> {
        let sent = self.0.blocking_send(Ok(Bytes::copy_from_slice(bytes)));
        sent.map(|()| bytes.len()).map_err(|_| Error::other("whoever asked went away"))
    }
    fn flush(&mut self) -> Result<(), Error> {
        Ok(())
    }
}
