//! The running service: opens the book, prints the first-account link, serves pages, sends mail, keeps time.

use crate::actions::keep_time::clock_worker;
use crate::actions::send_mail::{PostRoom, post_worker, sender_of};
use crate::actions::{Failure, accounts as account_actions};
use crate::book::store::Store;
use crate::book::{accounts, farm};
use crate::clock::Clock;
use crate::config::Config;
use crate::keep;
use crate::post::smtp::TRY_LIMIT;
use crate::secret;
use crate::web::app::App;
use crate::web::server::service;
use crate::web::tls;
use std::io::Write;
use std::net::{SocketAddr, TcpListener};

/// Serves until it is told to stop.
///
/// # Errors
/// A sentence for the operator.
pub async fn serve(config: Config, store: Store) -> Result<(), String> {
    let app = App::new(store, config.clone(), Clock::Real);
    let mail = start_mail(&app)?;
    let listener = listen(&config)?;
    let addr = listener.local_addr().map_err(|e| format!("the address cannot be read: {e}"))?;
    let url = config.public_url.clone().unwrap_or_else(|| format!("http://{addr}"));
    let tls = config.tls.as_ref().map(|(cert, key)| tls::from_files(cert, key)).transpose()?;
    if config.public_url.is_none() && !addr.ip().is_loopback() {
        tracing::warn!(
            "serving beyond this machine without GAMBREL_PUBLIC_URL: put a proxy with https in front and set it"
        );
    }
    if addr.port() != config.listen.port() {
        say(&format!("Port {} is taken by another program, so Gambrel uses {}.", config.listen.port(), addr.port()));
    }
    say(&format!("Gambrel serves {} at {url}", config.place.shown()));
    if let Some(link) = first_account_link(&app, &url)? {
        say(&format!("Nobody has an account yet. Make the first one here, within 30 minutes:\n{link}"));
    }
    let is_demo = app.store.read(|c| Ok::<_, Failure>(farm::get(c)?.is_demo)).map_err(|e| e.to_string())?;
    if is_demo {
        say(&format!(
            "This is the demo farm. Sign in as {} with the password: {}",
            crate::demo::MAIL,
            crate::demo::PASSWORD
        ));
        if let Some(link) = crate::demo::customer_link(&app.store, &app.clock, &url).map_err(|e| e.to_string())? {
            say(&format!("The private link of {}, one of its customers: {link}", crate::demo::CUSTOMER));
        }
        if let Some(link) = crate::demo::plant_link(&app.store, &app.clock, &url).map_err(|e| e.to_string())? {
            say(&format!("The private link of its processor, to the date that is being weighed: {link}"));
        }
    }
    let clock = app.clock.clone();
    let keeper = actix_web::rt::spawn(clock_worker(app.store.clone(), move || clock.at(), app.mail.clone()));
    actix_web::rt::spawn(keep_copies(app.clone()));
    let monitor = serve_figures(&app)?;
    let shared = app.clone();
    let server = actix_web::HttpServer::new(move || service(shared.clone()))
        .workers(std::thread::available_parallelism().map_or(2, |n| n.get().min(4)))
        .client_request_timeout(std::time::Duration::from_secs(15))
        .shutdown_timeout(10);
    let server = match tls {
        Some(tls) => server.listen_rustls_0_23(listener, tls),
        None => server.listen(listener),
    }
    .map_err(|e| format!("the address {addr} cannot be served: {e}"))?
    .run();
    let served = server.await.map_err(|e| format!("the service stopped: {e}"));
    keeper.abort();
    if let Some(monitor) = monitor {
        monitor.stop(false).await;
    }
    if let Some((room, worker)) = mail {
        // The message it is at is finished first: a send cut off between the server's word and our note would go out again.
        room.stop();
        app.mail.notify_one();
        if tokio::time::timeout(TRY_LIMIT, worker).await.is_err() {
            tracing::warn!("the mail worker did not end in time");
        }
    }
    served
}

/// Keeps the copies of the book up to date as long as the service runs; a failure is tried again after ten minutes.
async fn keep_copies(app: App) {
    loop {
        let (config, at) = (app.config.clone(), app.clock.at());
        match actix_web::web::block(move || keep::daily::keep_up(&config, at)).await {
            Ok(Ok(Some(done))) => tracing::info!("{done}"),
            Ok(Ok(None)) => {}
            Ok(Err(why)) => tracing::error!("the book could not be copied: {why}"),
            Err(e) => tracing::error!("the book could not be copied: {e}"),
        }
        tokio::time::sleep(std::time::Duration::from_secs(600)).await;
    }
}

/// Serves the figures for a monitor on their own address, if the settings name one.
fn serve_figures(app: &App) -> Result<Option<actix_web::dev::ServerHandle>, String> {
    let Some(addr) = app.config.metrics else { return Ok(None) };
    let data = actix_web::web::Data::new(app.clone());
    let server = actix_web::HttpServer::new(move || {
        actix_web::App::new().app_data(data.clone()).configure(crate::web::figures::routes)
    })
    .workers(1)
    .disable_signals()
    .bind(addr)
    .map_err(|e| format!("the address {addr} of GAMBREL_METRICS cannot be served: {e}"))?
    .run();
    let handle = server.handle();
    actix_web::rt::spawn(server);
    Ok(Some(handle))
}

/// Starts the mail worker, if the settings name a mail server.
fn start_mail(app: &App) -> Result<Option<(PostRoom, tokio::task::JoinHandle<()>)>, String> {
    let Some(sender) = sender_of(&app.config)? else { return Ok(None) };
    let clock = app.clock.clone();
    let room = PostRoom::new(app.store.clone(), sender, app.config.mail_from.clone(), move || clock.at())
        .at_address(app.config.public_url.clone());
    Ok(Some((room.clone(), actix_web::rt::spawn(post_worker(room, app.mail.clone())))))
}

/// A fresh link for the first account, while there is none.
///
/// # Errors
/// A sentence for the operator.
pub fn first_account_link(app: &App, url: &str) -> Result<Option<String>, String> {
    let token = secret::token()?;
    let at = app.clock.at();
    app.store
        .write(|tx| {
            farm::ensure(tx)?;
            if accounts::count(tx.conn())? > 0 {
                return Ok(None);
            }
            account_actions::make_setup_link(tx, at, &token)?;
            Ok::<_, Failure>(Some(format!("{url}/start/{token}")))
        })
        .map_err(|e| e.to_string())
}

/// Takes the address; when the default's port is taken, one of the next twenty.
fn listen(config: &Config) -> Result<TcpListener, String> {
    let ports = if config.listen_is_default { 0..20 } else { 0..1 };
    let mut last = String::new();
    for n in ports {
        let addr = SocketAddr::new(config.listen.ip(), config.listen.port().saturating_add(n));
        match TcpListener::bind(addr) {
            Ok(listener) => return Ok(listener),
            Err(e) => last = format!("{addr} cannot be served: {e}"),
        }
    }
    Err(last)
}

/// Says something to whoever started the program.
fn say(text: &str) {
    // A closed terminal is no reason to stop serving.
    let _ = writeln!(std::io::stdout(), "{text}");
}
