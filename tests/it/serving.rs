//! The program as it is run for good: `gambrel health`, figures for a monitor, https with own certificate files, a graceful stop.
//!
//! Certificates are made, and https is asked, by Python (`tests/tls_peer.py`, trustme); without it those tests say so and check
//! nothing, and with `GAMBREL_FULL=1` that is a failure.

use std::path::Path;
use std::process::{Child, Command, Output, Stdio};
use std::time::{Duration, Instant};

/// The program, serving an empty embedded book; ended when dropped.
struct Served {
    child: Child,
    folder: tempfile::TempDir,
    port: u16,
}

fn free_port() -> u16 {
    std::net::TcpListener::bind("127.0.0.1:0").unwrap().local_addr().unwrap().port()
}

fn program(folder: &Path, port: u16, env: &[(&str, &str)]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_gambrel"));
    command.env("GAMBREL_DATA", folder.join("book")).env("GAMBREL_LISTEN", format!("127.0.0.1:{port}"));
    command.env("GAMBREL_LOG", "error").env_remove("DATABASE_URL").env_remove("SMTP_URL").envs(env.iter().copied());
    command
}

impl Served {
    fn start(folder: tempfile::TempDir, env: &[(&str, &str)]) -> Self {
        let port = free_port();
        let child = program(folder.path(), port, env).arg("serve").stdout(Stdio::null()).spawn().unwrap();
        let this = Self { child, folder, port };
        let began = Instant::now();
        while !this.health(env).status.success() {
            assert!(began.elapsed() < Duration::from_secs(60), "the service does not answer");
            std::thread::sleep(Duration::from_millis(50));
        }
        this
    }
    fn health(&self, env: &[(&str, &str)]) -> Output {
        program(self.folder.path(), self.port, env).arg("health").output().unwrap()
    }
}

impl Drop for Served {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

fn said(output: &Output) -> String {
    String::from_utf8_lossy(&output.stdout).into_owned() + &String::from_utf8_lossy(&output.stderr)
}

#[test]
fn health_is_well_while_the_service_runs_and_not_after() {
    let mut served = Served::start(tempfile::tempdir().unwrap(), &[]);
    let well = served.health(&[]);
    assert!(said(&well).contains("can read its book"), "{}", said(&well));
    served.child.kill().unwrap();
    served.child.wait().unwrap();
    let gone = served.health(&[]);
    assert_eq!(gone.status.code(), Some(1));
    assert!(said(&gone).contains("does not answer"), "{}", said(&gone));
}

#[test]
fn a_monitor_reads_figures_on_an_address_of_its_own_and_nowhere_else() {
    let at = format!("127.0.0.1:{}", free_port());
    let served = Served::start(tempfile::tempdir().unwrap(), &[("GAMBREL_METRICS", &at)]);
    let agent: ureq::Agent = ureq::Agent::config_builder().http_status_as_error(false).build().into();
    let ask = |url: String| {
        let mut answer = agent.get(&url).call().unwrap();
        (answer.status().as_u16(), answer.body_mut().read_to_string().unwrap())
    };
    let missing = ask(format!("http://127.0.0.1:{}/metrics", served.port));
    assert_eq!(missing.0, 404, "the figures are not on the farm's own address");
    let (status, text) = ask(format!("http://{at}/metrics"));
    assert_eq!(status, 200);
    let figure = |name: &str| -> u64 {
        let line =
            text.lines().find(|l| l.starts_with(&format!("{name} "))).unwrap_or_else(|| panic!("{name} in {text}"));
        line.rsplit(' ').next().unwrap().parse().unwrap()
    };
    assert!(figure("gambrel_answers_total{kind=\"2xx\"}") >= 1, "asking for health is counted");
    assert_eq!(figure("gambrel_answers_total{kind=\"4xx\"}"), 1, "and the missing page");
    assert_eq!(figure("gambrel_mails_waiting"), 0);
    assert!(figure("gambrel_started_seconds") > 1_700_000_000);
    assert_eq!(ask(format!("http://{at}/")).0, 404, "nothing else is on the monitor's address");
}

#[test]
fn figures_beyond_this_machine_are_refused_with_a_sentence() {
    let folder = tempfile::tempdir().unwrap();
    let ran =
        program(folder.path(), free_port(), &[("GAMBREL_METRICS", "0.0.0.0:9100")]).arg("serve").output().unwrap();
    assert_eq!(ran.status.code(), Some(1));
    assert!(said(&ran).contains("GAMBREL_METRICS is an address and port on this machine"), "{}", said(&ran));
}

/// Python, if it can make certificates.
fn python(arguments: &[&str]) -> Option<Output> {
    let python = std::env::var("GAMBREL_PYTHON").unwrap_or_else(|_| "python3".to_owned());
    if !Command::new(&python).args(["-c", "import trustme"]).stderr(Stdio::null()).status().is_ok_and(|s| s.success()) {
        let said = format!("{python} with trustme is missing: https was NOT tested");
        assert!(std::env::var("GAMBREL_FULL").is_err(), "{said}");
        eprintln!("{said}");
        return None;
    }
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/tls_peer.py");
    Some(Command::new(python).arg(script).args(arguments).output().unwrap())
}

#[test]
fn with_own_certificate_files_it_speaks_https_and_refuses_a_key_that_does_not_fit() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path().display().to_string();
    let Some(made) = python(&["make", &at]) else { return };
    assert!(made.status.success(), "{}", said(&made));
    let file = |name: &str| folder.path().join(name).display().to_string();
    let (cert, key, other) = (file("chain.pem"), file("key.pem"), file("other-key.pem"));
    let env = |key: &'_ str| {
        vec![
            ("GAMBREL_TLS_CERT", cert.clone()),
            ("GAMBREL_TLS_KEY", key.to_string()),
            ("GAMBREL_PUBLIC_URL", "https://farm.example".to_string()),
        ]
    };
    let wrong = env(&other);
    let wrong: Vec<(&str, &str)> = wrong.iter().map(|(k, v)| (*k, v.as_str())).collect();
    let ran = program(folder.path(), free_port(), &wrong).arg("serve").output().unwrap();
    assert_eq!(ran.status.code(), Some(1));
    assert!(said(&ran).contains("do not fit"), "{}", said(&ran));

    let right = env(&key);
    let right: Vec<(&str, &str)> = right.iter().map(|(k, v)| (*k, v.as_str())).collect();
    let served = Served::start(folder, &right);
    let answer = python(&["ask", &at, &format!("https://127.0.0.1:{}/health", served.port)]).unwrap();
    let text = said(&answer);
    assert!(text.starts_with("200 TLSv1.3 max-age="), "{text}");
    assert!(text.trim_end().ends_with("ok"), "{text}");
}

#[cfg(unix)]
#[test]
fn a_stop_is_graceful_and_the_book_is_served_again() {
    let mut served = Served::start(tempfile::tempdir().unwrap(), &[]);
    let asked = Command::new("kill").arg("-TERM").arg(served.child.id().to_string()).status().unwrap();
    assert!(asked.success());
    let began = Instant::now();
    let status = loop {
        if let Some(status) = served.child.try_wait().unwrap() {
            break status;
        }
        assert!(began.elapsed() < Duration::from_secs(30), "it does not stop");
        std::thread::sleep(Duration::from_millis(20));
    };
    assert!(status.success(), "{status}");
    let again = program(served.folder.path(), served.port, &[]).arg("check").output().unwrap();
    assert!(again.status.success(), "{}", said(&again));
}
