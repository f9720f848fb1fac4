//! The command line of Gambrel.

use clap::{Parser, Subcommand};
use gambrel::reckon;
use std::process::ExitCode;

/// Order book, invoice desk and cut-sheet desk of a small livestock farm.
#[derive(Parser)]
#[command(version)]
struct Cli {
    #[command(subcommand)]
    command: Command,
}

#[derive(Subcommand)]
enum Command {
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
    match Cli::parse().command {
        Command::Reckon { what, lines } => {
            let status = reckon::run(what, lines, &mut std::io::stdin().lock(), &mut std::io::stdout().lock());
            ExitCode::from(u8::try_from(status).unwrap_or(1))
        }
    }
}
