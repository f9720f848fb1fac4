//! The mail server on loopback that tests send to (tests/smtp_peer.py, aiosmtpd), read back by Python's own mail parser.
//!
//! The interpreter is `GAMBREL_PYTHON`, or `python3`; it needs aiosmtpd 1.4.6 and trustme 1.2.1. Without them the tests say so on
//! standard error and check nothing; with `GAMBREL_FULL=1` that is a failure.

use gambrel::post::smtp::{PlainAllowed, Sender, SmtpSettings};
use serde_json::Value;
use std::io::{BufRead, BufReader, Write};
use std::process::{Child, ChildStdin, ChildStdout, Command, Stdio};

/// User and password of the peer, as they are written in a URL.
pub(crate) const LOGIN: &str = "office%40nettlebend.example:p%40ss%3Aw%C3%B6rd%2F%25";

pub(crate) struct Peer {
    child: Child,
    ask: Option<ChildStdin>,
    answers: BufReader<ChildStdout>,
    ports: Value,
    pub(crate) folder: tempfile::TempDir,
}

impl Peer {
    pub(crate) fn start() -> Option<Self> {
        let python = std::env::var("GAMBREL_PYTHON").unwrap_or_else(|_| "python3".to_owned());
        let has_it = Command::new(&python).args(["-c", "import aiosmtpd, trustme"]).stderr(Stdio::null()).status();
        if !has_it.is_ok_and(|s| s.success()) {
            let said =
                format!("{python} with aiosmtpd and trustme is missing: mail was NOT tested against a real server");
            assert!(std::env::var("GAMBREL_FULL").is_err(), "{said}");
            eprintln!("{said}");
            return None;
        }
        let folder = tempfile::tempdir().unwrap();
        let mut child = Command::new(python)
            .arg(concat!(env!("CARGO_MANIFEST_DIR"), "/tests/smtp_peer.py"))
            .arg(folder.path())
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .spawn()
            .unwrap();
        let ask = child.stdin.take();
        let mut answers = BufReader::new(child.stdout.take().unwrap());
        let mut line = String::new();
        answers.read_line(&mut line).unwrap();
        let ports = serde_json::from_str(&line).expect("the peer names its ports");
        Some(Self { child, ask, answers, ports, folder })
    }
    pub(crate) fn port(&self, door: &str) -> &Value {
        &self.ports[door]
    }
    pub(crate) fn ask(&mut self, question: &str) -> Value {
        writeln!(self.ask.as_mut().unwrap(), "{question}").unwrap();
        let mut line = String::new();
        self.answers.read_line(&mut line).unwrap();
        serde_json::from_str(&line).unwrap()
    }
    pub(crate) fn received(&mut self) -> Vec<Value> {
        self.ask("received").as_array().unwrap().clone()
    }
    pub(crate) fn sender(&self, scheme: &str, login: &str, door: &str) -> Sender {
        let at = if login.is_empty() { "" } else { "@" };
        let url = format!("{scheme}://{login}{at}127.0.0.1:{}", self.ports[door]);
        let settings = SmtpSettings::parse(&url, PlainAllowed::Loopback).unwrap();
        let root = std::fs::read(self.folder.path().join("ca.pem")).unwrap();
        Sender::new(&settings, Some(&root)).unwrap()
    }
}

impl Drop for Peer {
    fn drop(&mut self) {
        drop(self.ask.take());
        if self.child.wait().is_err() {
            eprintln!("the mail peer did not end");
        }
    }
}
