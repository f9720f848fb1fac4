//! `gambrel health`: asks the running service whether it can read its book, so that a container or a monitor needs no other program.

use crate::config::Config;
use std::io::{Read, Write};
use std::net::{IpAddr, Ipv4Addr, Ipv6Addr, SocketAddr, TcpStream};
use std::time::Duration;

/// How long the service may take.
const PATIENCE: Duration = Duration::from_secs(5);

/// Asks the service of these settings; the sentence says that it is well. Where the service has its own certificate only the
/// connection is tried: the certificate is for the public name, which a monitor asks from outside.
///
/// # Errors
/// A sentence: it does not answer, or answers that it is not well.
pub fn ask(config: &Config) -> Result<String, String> {
    let addr = reachable(config.listen);
    let no_answer = |e: std::io::Error| format!("the service does not answer at {addr}: {e}");
    let mut line = TcpStream::connect_timeout(&addr, PATIENCE).map_err(no_answer)?;
    if config.tls.is_some() {
        return Ok(format!(
            "The service takes connections at {addr}; it has its own certificate, so ask {}/health.",
            config.public_url.as_deref().unwrap_or_default()
        ));
    }
    line.set_read_timeout(Some(PATIENCE)).map_err(no_answer)?;
    line.set_write_timeout(Some(PATIENCE)).map_err(no_answer)?;
    let request = format!("GET /health HTTP/1.1\r\nHost: {addr}\r\nConnection: close\r\n\r\n");
    line.write_all(request.as_bytes()).map_err(no_answer)?;
    let mut answer = Vec::new();
    line.take(16_384).read_to_end(&mut answer).map_err(no_answer)?;
    verdict(&String::from_utf8_lossy(&answer), addr)
}

/// Where a service that listens there is reached from this machine.
fn reachable(listen: SocketAddr) -> SocketAddr {
    let ip = match listen.ip() {
        IpAddr::V4(ip) if ip.is_unspecified() => IpAddr::V4(Ipv4Addr::LOCALHOST),
        IpAddr::V6(ip) if ip.is_unspecified() => IpAddr::V6(Ipv6Addr::LOCALHOST),
        ip => ip,
    };
    SocketAddr::new(ip, listen.port())
}

/// What an answer means.
fn verdict(answer: &str, addr: SocketAddr) -> Result<String, String> {
    let (head, body) = answer.split_once("\r\n\r\n").unwrap_or((answer, ""));
    let first = head.lines().next().unwrap_or_default();
    match (first.starts_with("HTTP/1.1 200 "), body.contains("ok")) {
        (true, true) => Ok(format!("The service at {addr} can read its book.")),
        _ => Err(format!("the service at {addr} is not well; it answers “{first}”")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_a_good_answer_of_the_health_page_is_well() {
        let addr: SocketAddr = "127.0.0.1:8080".parse().unwrap();
        assert!(verdict("HTTP/1.1 200 OK\r\ncontent-length: 3\r\n\r\nok\n", addr).is_ok());
        for bad in ["HTTP/1.1 500 Internal Server Error\r\n\r\nok", "HTTP/1.1 200 OK\r\n\r\n<html>", "", "nonsense"] {
            assert!(verdict(bad, addr).is_err(), "{bad}");
        }
    }

    #[test]
    fn a_service_on_every_address_is_asked_on_this_machine() {
        assert_eq!(reachable("0.0.0.0:8080".parse().unwrap()).to_string(), "127.0.0.1:8080");
        assert_eq!(reachable("[::]:8080".parse().unwrap()).to_string(), "[::1]:8080");
        assert_eq!(reachable("192.0.2.7:8080".parse().unwrap()).to_string(), "192.0.2.7:8080");
    }
}
