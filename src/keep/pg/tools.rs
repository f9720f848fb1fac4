//! pg_dump and pg_restore, programs of PostgreSQL itself: found, asked for their version, run.

use crate::book::server::Server;
use crate::config::Config;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

/// Where they are.
pub(super) struct Tools {
    folder: Option<PathBuf>,
}

impl Tools {
    /// Finds both; they must not be older than the server, whose tables they would not know.
    ///
    /// # Errors
    /// A sentence.
    pub(super) fn find(config: &Config, server: i64) -> Result<Self, String> {
        let tools = Self { folder: config.pg_tools.clone() };
        for program in ["pg_dump", "pg_restore"] {
            let version = tools.version(program)?;
            if version < server {
                return Err(format!(
                    "{program} is of version {version} and the database server of version {server}; an older one cannot copy the book. \
                     Install the client programs of PostgreSQL {server}, or name their folder in the setting GAMBREL_PG_TOOLS"
                ));
            }
        }
        Ok(tools)
    }

    fn command(&self, program: &str) -> Command {
        let mut command = match &self.folder {
            Some(folder) => Command::new(folder.join(program)),
            None => Command::new(program),
        };
        // Nothing is asked at a terminal, and words come in one language.
        command.stdin(Stdio::null()).env("LC_ALL", "C");
        command
    }

    fn version(&self, program: &str) -> Result<i64, String> {
        let place = match &self.folder {
            Some(folder) => format!("in {}", folder.display()),
            None => "on PATH".into(),
        };
        let said = self.command(program).arg("--version").output().map_err(|e| match e.kind() {
            std::io::ErrorKind::NotFound => format!(
                "a book in PostgreSQL is copied by {program}, which was not found {place}. Install the client programs of PostgreSQL, or name \
                 their folder in the setting GAMBREL_PG_TOOLS; with none there, Gambrel makes no copies"
            ),
            _ => format!("{program} could not be started: {e}"),
        })?;
        major(&String::from_utf8_lossy(&said.stdout)).ok_or_else(|| format!("{program} does not say its version"))
    }

    /// Writes what a snapshot holds into a file, in PostgreSQL's own packed format.
    ///
    /// # Errors
    /// A sentence.
    pub(super) fn dump(&self, server: &Server, snapshot: &str, file: &Path) -> Result<(), String> {
        let mut command = self.command("pg_dump");
        command.args(["--format=custom", "--no-owner", "--no-privileges", "--no-password"]);
        command.arg(format!("--snapshot={snapshot}")).arg("--file").arg(file);
        run(command, server, "pg_dump")
    }

    /// Reads a file into an empty database, all of it or nothing.
    ///
    /// # Errors
    /// A sentence.
    pub(super) fn restore(&self, into: &Server, file: &Path) -> Result<(), String> {
        let mut command = self.command("pg_restore");
        command.args(["--no-owner", "--no-privileges", "--exit-on-error", "--single-transaction", "--no-password"]);
        command.arg(file);
        run(command, into, "pg_restore").map_err(|e| format!("{} could not be opened again: {e}", file.display()))
    }
}

fn run(mut command: Command, server: &Server, program: &str) -> Result<(), String> {
    let (url, password) = server.without_password();
    if let Some(password) = password {
        command.env("PGPASSWORD", password);
    }
    command.arg(format!("--dbname={url}"));
    let done = command.output().map_err(|e| format!("{program} could not be started: {e}"))?;
    if done.status.success() {
        return Ok(());
    }
    let said = String::from_utf8_lossy(&done.stderr);
    let first =
        said.lines().find(|l| l.contains("error:")).or_else(|| said.lines().last()).unwrap_or("it said nothing");
    Err(format!("{program} failed: {first}"))
}

/// The version of "pg_dump (PostgreSQL) 15.18 (Debian 15.18-0+deb12u1)".
fn major(said: &str) -> Option<i64> {
    let number = said.split_whitespace().find(|w| w.starts_with(|c: char| c.is_ascii_digit()))?;
    number.split(|c: char| !c.is_ascii_digit()).next()?.parse().ok()
}

#[cfg(test)]
mod tests {
    use super::major;

    #[test]
    fn versions_are_read() {
        assert_eq!(major("pg_dump (PostgreSQL) 15.18 (Debian 15.18-0+deb12u1)\n"), Some(15));
        assert_eq!(major("pg_restore (PostgreSQL) 18beta1"), Some(18));
        assert_eq!(major("sh: not found"), None);
    }
}
