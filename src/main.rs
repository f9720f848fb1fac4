//! The command line of Gambrel.

use clap::{Parser, Subcommand};
use gambrel::actions::mail_test;
use gambrel::book::store::Store;
use gambrel::config::Config;
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
    /// Print every setting in force and where it came from.
    Config,
    /// Send one test message, to see whether mail works.
    MailTest {
        /// Where to.
        address: String,
    },
    /// Reckon without the service: one JSON object on standard input, one on standard output.
    Reckon {
        /// What to reckon: weights or invoice.
        what: reckon::What,
        /// Read one object from each line and answer each with one line.
        #[arg(long)]
        lines: bool,
    },
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
            let store = Store::open(config.place.clone())?;
            actix_web::rt::System::new().block_on(gambrel::serve::serve(config, store))?;
        }
        Command::Config => {
            for (name, value, origin, about) in Config::read()?.listed() {
                println!("{name} = {value}   ({origin})\n    {about}");
            }
        }
        Command::MailTest { address } => {
            let config = Config::read()?;
            let store = Store::open(config.place.clone())?;
            let said = actix_web::rt::System::new().block_on(mail_test::from_settings(&config, &store, address))?;
            println!("{said}");
        }
        Command::Reckon { what, lines } => {
            let status = reckon::run(*what, *lines, &mut std::io::stdin().lock(), &mut std::io::stdout().lock());
            return Ok(ExitCode::from(u8::try_from(status).unwrap_or(1)));
        }
    }
    Ok(ExitCode::SUCCESS)
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
