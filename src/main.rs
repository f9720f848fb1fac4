//! The command line of Gambrel.

use clap::{Parser, Subcommand};
use gambrel::actions::{change_password, check_book, mail_test};
use gambrel::book::conn::Place;
use gambrel::book::store::Store;
use gambrel::clock::Clock;
use gambrel::config::Config;
use gambrel::demo;
use gambrel::keep;
use gambrel::reckon;
use std::process::ExitCode;

/// Order book, invoice desk and cut-sheet desk of a small livestock farm.
#[derive(Parser)]
#[command(version)]
struct Cli {
    #[command(subcommand)]
    command: Option<Command>,
}

#[derive(Subcommand)]
enum Command {
    /// Serve the book (what happens without a command).
    Serve,
    /// Serve an invented farm in a book of its own, to look around in.
    Demo {
        /// The folder of the demo's book.
        #[arg(long, default_value = "gambrel-demo")]
        folder: std::path::PathBuf,
        /// Throw the old demo away and make it again, with its days counted from today.
        #[arg(long)]
        anew: bool,
    },
    /// Make a verified copy of the book now; may run while it is served.
    Backup {
        /// Look at the demo's book in this folder instead.
        #[arg(long)]
        folder: Option<std::path::PathBuf>,
    },
    /// Put a copy in place of the book. Refuses while the book is served, and keeps what it replaces.
    Restore {
        /// The copy: a file of the folder `backups`.
        file: std::path::PathBuf,
        /// Restore the demo's book in this folder instead.
        #[arg(long)]
        folder: Option<std::path::PathBuf>,
    },
    /// Write the whole book into one JSON file, described in docs/book-json.md; may run while it is served.
    Export {
        /// The file; it must not be there yet.
        file: std::path::PathBuf,
        /// Leave out hashes of passwords, second factors, sign-ins and private links.
        #[arg(long)]
        without_secrets: bool,
        /// Look at the demo's book in this folder instead.
        #[arg(long)]
        folder: Option<std::path::PathBuf>,
    },
    /// Read a file written by `export` into an empty book, and verify it.
    Import {
        /// The file.
        file: std::path::PathBuf,
    },
    /// Move the book to another place, SQLite or PostgreSQL, and compare both. The one it comes from stays as it is.
    Move {
        /// Where to: postgres://…, or a folder for an embedded book; - to read it from standard input, because a URL may hold a password.
        #[arg(long)]
        to: String,
        /// Move the demo's book in this folder instead.
        #[arg(long)]
        folder: Option<std::path::PathBuf>,
    },
    /// Print a link with which the person of this mail address chooses another password; good once, for 30 minutes.
    ResetPassword {
        /// The mail address the person signs in with.
        mail: String,
        /// Also switch the person's second factor off, for a lost phone without recovery codes.
        #[arg(long)]
        without_second_factor: bool,
    },
    /// Ask the running service whether it can read its book, for a monitor; fails when it does not answer well within 5 seconds.
    Health,
    /// Print every setting in force and where it came from.
    Config,
    /// Verify on the book of the settings what must always hold; changes nothing, and may run while it is served.
    Check {
        /// Look at the demo's book in this folder instead.
        #[arg(long)]
        folder: Option<std::path::PathBuf>,
    },
    /// Send one test message, to see whether mail works.
    MailTest {
        /// Where to.
        address: String,
    },
    /// Reckon without the service: one JSON object on standard input, one on standard output.
    Reckon {
        /// What to reckon: weights, invoice, take-home, plan; or catalogue, for what may be done with each part of a species.
        what: Asked,
        /// The species whose catalogue is printed.
        species: Option<String>,
        /// Read one object from each line and answer each with one line.
        #[arg(long)]
        lines: bool,
    },
}

/// What is to be reckoned.
#[derive(Clone, Copy)]
enum Asked {
    /// Something read from standard input.
    Of(reckon::What),
    /// A catalogue.
    Catalogue,
}

impl std::str::FromStr for Asked {
    type Err = String;
    fn from_str(text: &str) -> Result<Self, String> {
        if text == "catalogue" { Ok(Self::Catalogue) } else { text.parse().map(Self::Of) }
    }
}

fn main() -> ExitCode {
    match run(&Cli::parse().command.unwrap_or(Command::Serve)) {
        Ok(code) => code,
        Err(sentence) => {
            eprintln!("gambrel: {sentence}");
            ExitCode::FAILURE
        }
    }
}

fn run(command: &Command) -> Result<ExitCode, String> {
    match command {
        Command::Serve => {
            let config = Config::read()?;
            log_to_stderr(&config)?;
            let _serving = serving(&config)?;
            let store = open(&config)?;
            actix_web::rt::System::new().block_on(gambrel::serve::serve(config, store))?;
        }
        Command::Demo { folder, anew } => {
            let config = demo::settings(Config::read()?, folder);
            log_to_stderr(&config)?;
            let _serving = serving(&config)?;
            let store = demo::open(&config, &Clock::Real, *anew)?;
            actix_web::rt::System::new().block_on(gambrel::serve::serve(config, store))?;
        }
        Command::Backup { folder } => {
            let config = settings_of(folder.as_deref())?;
            log_to_stderr(&config)?;
            there_is_a_book(&config.place)?;
            let record = keep::copy::back_up(&config, Clock::Real.at(), keep::record::Why::Asked)?;
            let path = keep::folder::of(&config.data).join(&record.file);
            say(&format!(
                "{} ({}, {} rows) was made, opened again and compared with the book; {} rules were looked at in it.",
                path.display(),
                record.size(),
                record.rows(),
                record.rules
            ));
            if let Some(fault) = &record.fault {
                return Err(format!(
                    "a rule of the book does not hold: {fault}. Run `gambrel check`, and keep the older copies"
                ));
            }
            match (&record.also_in, &config.backup_to) {
                (Some(second), _) => say(&format!("It was also put into {second} and read back.")),
                (None, Some(second)) => {
                    return Err(format!(
                        "it could not be put into the second folder {}; is it there?",
                        second.display()
                    ));
                }
                (None, None) => {}
            }
        }
        Command::Restore { file, folder } => {
            let config = settings_of(folder.as_deref())?;
            log_to_stderr(&config)?;
            for line in keep::restore::restore(&config, file, Clock::Real.at())? {
                say(&line);
            }
        }
        Command::Export { file, without_secrets, folder } => {
            let config = settings_of(folder.as_deref())?;
            log_to_stderr(&config)?;
            there_is_a_book(&config.place)?;
            let store = open(&config)?;
            let done = keep::whole::export(&store, file, Clock::Real.at(), !without_secrets)?;
            say(&format!("{} was written: {} rows in {} tables.", file.display(), done.rows(), done.sums.len()));
            say(match without_secrets {
                true => "Passwords, second factors, sign-ins and private links are not in it.",
                false => {
                    "It holds the hashes of passwords and private links: keep it as you keep the book. --without-secrets leaves them out."
                }
            });
        }
        Command::Import { file } => {
            let config = Config::read()?;
            log_to_stderr(&config)?;
            let _alone = keep::hold::nobody_else(&config)?;
            let done = keep::whole::import(&open(&config)?, file)?;
            say(&taken(&done));
            if !done.has_secrets {
                say("No passwords were in it: `gambrel reset-password MAIL` gives each person a link to choose one.");
            }
        }
        Command::Move { to, folder } => {
            let config = settings_of(folder.as_deref())?;
            log_to_stderr(&config)?;
            there_is_a_book(&config.place)?;
            let target = config.at(&address(to)?)?;
            if target.place == config.place {
                return Err("that is where the book is".into());
            }
            let _alone = keep::hold::nobody_else(&config)?;
            let _there = (target.data != config.data).then(|| keep::hold::nobody_else(&target)).transpose()?;
            let done = keep::move_book::move_into(&open(&config)?, &open(&target)?, Clock::Real.at())?;
            say(&taken(&done));
            say(&format!(
                "{} holds the same as {}: every table was compared. The old one was not changed; serve the new one with {} from now on.",
                target.place.shown(),
                config.place.shown(),
                if target.place.is_embedded() { "GAMBREL_DATA and without DATABASE_URL" } else { "DATABASE_URL" }
            ));
        }
        Command::ResetPassword { mail, without_second_factor } => {
            let config = Config::read()?;
            there_is_a_book(&config.place)?;
            let store = open(&config)?;
            let link = change_password::link_by_hand(&config, &store, mail, *without_second_factor, Clock::Real.at())?;
            say(&format!("Choose another password here, once and within 30 minutes, while Gambrel is served:\n{link}"));
        }
        Command::Health => say(&gambrel::health::ask(&Config::read()?)?),
        Command::Config => {
            for (name, value, origin, about) in Config::read()?.listed() {
                say(&format!("{name} = {value}   ({origin})\n    {about}"));
            }
        }
        Command::Check { folder } => {
            let config = settings_of(folder.as_deref())?;
            there_is_a_book(&config.place)?;
            let store = open(&config)?;
            let all = store.read(check_book::check_book).map_err(|e| e.to_string())?;
            let (said, holds) = check_book::in_words(&all);
            say(&said);
            return Ok(if holds { ExitCode::SUCCESS } else { ExitCode::FAILURE });
        }
        Command::MailTest { address } => {
            let config = Config::read()?;
            let store = open(&config)?;
            let said = actix_web::rt::System::new().block_on(mail_test::from_settings(&config, &store, address))?;
            say(&said);
        }
        Command::Reckon { what: Asked::Catalogue, species, .. } => {
            let (said, status) = match reckon::catalogue_of(species.as_deref().unwrap_or_default()) {
                Ok(said) => (said, 0),
                Err(refusal) => (serde_json::to_string(&refusal).map_err(|e| e.to_string())?, 2),
            };
            say(&said);
            return Ok(ExitCode::from(status));
        }
        Command::Reckon { what: Asked::Of(what), lines, .. } => {
            let status = reckon::run(*what, *lines, &mut std::io::stdin().lock(), &mut std::io::stdout().lock());
            return Ok(ExitCode::from(u8::try_from(status).unwrap_or(1)));
        }
    }
    Ok(ExitCode::SUCCESS)
}

/// What was read into a book, in words.
fn taken(done: &keep::whole::Done) -> String {
    let steps = match done.steps.len() {
        0 => String::new(),
        n => format!(" Its tables were brought up to date in {n} steps."),
    };
    format!("{} rows in {} tables were taken.{steps} All {} rules hold.", done.rows(), done.sums.len(), done.rules)
}

/// An address as it was written, or read from standard input.
fn address(written: &str) -> Result<String, String> {
    if written != "-" {
        return Ok(written.to_string());
    }
    let mut line = String::new();
    std::io::stdin().read_line(&mut line).map_err(|e| format!("standard input cannot be read: {e}"))?;
    Ok(line.trim().to_string())
}

/// Opens the book. When this program brings its tables up to date, a verified copy is made first and the change rehearsed on it.
fn open(config: &Config) -> Result<Store, String> {
    if let Some(copy) = keep::daily::before_upgrade(config, Clock::Real.at())? {
        tracing::info!("before the book was brought up to date, it was copied and the change rehearsed: {}", copy.file);
    }
    Store::open(config.place.clone())
}

/// Notes that the embedded book is served, until dropped. A book on a server has no folder of ours to note it in.
fn serving(config: &Config) -> Result<Option<std::fs::File>, String> {
    config.place.is_embedded().then(|| keep::hold::serving(&config.data)).transpose()
}

/// The settings, or those of the demo in a folder.
fn settings_of(demo: Option<&std::path::Path>) -> Result<Config, String> {
    let config = Config::read()?;
    Ok(match demo {
        Some(folder) => demo::settings(config, folder),
        None => config,
    })
}

/// Refuses where opening would make an empty book.
fn there_is_a_book(place: &Place) -> Result<(), String> {
    match place {
        Place::File(path) if !path.exists() => Err(format!("there is no book at {}", place.shown())),
        _ => Ok(()),
    }
}

/// Writes a line to standard output. A reader that went away, such as `head`, is no failure.
fn say(text: &str) {
    use std::io::Write;
    let _ = writeln!(std::io::stdout(), "{text}");
}

fn log_to_stderr(config: &Config) -> Result<(), String> {
    let filter =
        tracing_subscriber::EnvFilter::try_new(&config.log).map_err(|e| format!("GAMBREL_LOG cannot be read: {e}"))?;
    let logs = tracing_subscriber::fmt().with_env_filter(filter).with_writer(std::io::stderr);
    if config.log_json {
        logs.json().init()
    } else {
        logs.init()
    }
    Ok(())
}
