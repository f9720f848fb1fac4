//! Own certificate files, for a farm that serves without a proxy in front.

use rustls::pki_types::pem::PemObject;
use rustls::pki_types::{CertificateDer, PrivateKeyDer};
use rustls::server::ServerConfig;
use std::path::Path;
use std::sync::Arc;

/// The server's side of TLS (1.2 and 1.3) from a certificate chain and its key, both PEM files. They are read once: after they
/// were renewed the program is started again.
///
/// # Errors
/// A sentence for the operator.
pub fn from_files(cert: &Path, key: &Path) -> Result<ServerConfig, String> {
    let unread = |what: &str, path: &Path, why: String| format!("the {what} {} cannot be read: {why}", path.display());
    let chain: Vec<CertificateDer<'static>> = CertificateDer::pem_file_iter(cert)
        .and_then(Iterator::collect)
        .map_err(|e| unread("certificate", cert, e.to_string()))?;
    if chain.is_empty() {
        return Err(unread("certificate", cert, "there is no certificate in it".into()));
    }
    let secret = PrivateKeyDer::from_pem_file(key).map_err(|e| unread("key of the certificate", key, e.to_string()))?;
    ServerConfig::builder_with_provider(Arc::new(rustls::crypto::ring::default_provider()))
        .with_safe_default_protocol_versions()
        .map_err(|e| e.to_string())?
        .with_no_client_auth()
        .with_single_cert(chain, secret)
        .map_err(|e| format!("the certificate {} and its key do not fit: {e}", cert.display()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn files_that_are_none_are_refused_with_a_sentence() {
        let folder = tempfile::tempdir().unwrap();
        let (cert, key) = (folder.path().join("cert.pem"), folder.path().join("key.pem"));
        let said = from_files(&cert, &key).unwrap_err();
        assert!(said.starts_with("the certificate ") && said.contains("cert.pem"), "{said}");
        std::fs::write(&cert, "a shopping list\n").unwrap();
        let said = from_files(&cert, &key).unwrap_err();
        assert!(said.contains("there is no certificate in it"), "{said}");
    }
}
