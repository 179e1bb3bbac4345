//! TLS for the desk: a certificate of its own making, kept in the data folder, or one that was given.

use rcgen::{CertificateParams, KeyPair};
use rustls::ServerConfig;
use rustls::pki_types::pem::PemObject;
use rustls::pki_types::{CertificateDer, PrivateKeyDer};
use std::net::IpAddr;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use tokio_rustls::TlsAcceptor;

/// Where the certificate comes from.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Certificate {
    /// Made by the desk and kept in its folder.
    OfItsOwn,
    /// Files: certificate chain and key, as PEM.
    Given(PathBuf, PathBuf),
}

/// Reads the option: `self`, or two file names with a comma between.
pub fn read(text: &str) -> Result<Certificate, String> {
    match text.split_once(',') {
        None if text == "self" => Ok(Certificate::OfItsOwn),
        Some((certificate, key)) if !certificate.is_empty() && !key.is_empty() => {
            Ok(Certificate::Given(certificate.into(), key.into()))
        }
        _ => Err(format!("{text:?} must be the word self, or CERTIFICATE,KEY: two PEM files")),
    }
}

/// What takes TLS connections.
///
/// # Inputs
/// - `certificate` · `dir`: data folder, where one of its own is kept · `addresses`: those the desk is reached at
pub fn acceptor(certificate: &Certificate, dir: &Path, addresses: &[IpAddr]) -> Result<TlsAcceptor, String> {
    let (certificate, key) = match certificate {
        Certificate::Given(certificate, key) => (certificate.clone(), key.clone()),
        Certificate::OfItsOwn => of_its_own(dir, addresses)?,
    };
    let said = |path: &Path, error: &dyn std::fmt::Display| {
        format!("{}: {error}; give PEM files of a certificate and its key", path.display())
    };
    let chain = CertificateDer::pem_file_iter(&certificate)
        .and_then(|all| all.collect::<Result<Vec<_>, _>>())
        .map_err(|error| said(&certificate, &error))?;
    let secret = PrivateKeyDer::from_pem_file(&key).map_err(|error| said(&key, &error))?;
    let mut config = ServerConfig::builder_with_provider(Arc::new(rustls::crypto::ring::default_provider()))
        .with_safe_default_protocol_versions()
        .map_err(|error| error.to_string())?
        .with_no_client_auth()
        .with_single_cert(chain, secret)
        .map_err(|error| said(&certificate, &error))?;
    config.alpn_protocols = vec![b"http/1.1".to_vec()];
    Ok(TlsAcceptor::from(Arc::new(config)))
}

/// The desk's own certificate: made once, so that phones that trust it are not asked again.
fn of_its_own(dir: &Path, addresses: &[IpAddr]) -> Result<(PathBuf, PathBuf), String> {
    let (certificate, key) = (dir.join("certificate.pem"), dir.join("key.pem"));
    if certificate.is_file() && key.is_file() {
        return Ok((certificate, key));
    }
    let mut names = vec!["localhost".to_string()];
    names.extend(addresses.iter().map(IpAddr::to_string));
    let secret = KeyPair::generate().map_err(|error| error.to_string())?;
    let made = CertificateParams::new(names)
        .and_then(|params| params.self_signed(&secret))
        .map_err(|error| error.to_string())?;
    write_private(&key, &secret.serialize_pem())?;
    write_private(&certificate, &made.pem())?;
    Ok((certificate, key))
}

/// Writes a file that only its owner reads.
fn write_private(path: &Path, text: &str) -> Result<(), String> {
    use std::io::Write;
    let mut options = std::fs::OpenOptions::new();
    options.write(true).create(true).truncate(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    options
        .open(path)
        .and_then(|mut file| file.write_all(text.as_bytes()))
        .map_err(|error| format!("{}: {error}", path.display()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn options_are_read_and_the_own_certificate_is_kept() {
        assert_eq!(read("self"), Ok(Certificate::OfItsOwn));
        assert_eq!(read("a.pem,b.pem"), Ok(Certificate::Given("a.pem".into(), "b.pem".into())));
        for odd in ["", "yes", ",", "a.pem,", ",b"] {
            assert!(read(odd).is_err(), "{odd}");
        }
        let dir = std::env::temp_dir().join(format!("fathomline-tls-{}", std::process::id()));
        std::fs::create_dir_all(&dir).unwrap();
        assert!(acceptor(&Certificate::OfItsOwn, &dir, &[IpAddr::from([10, 0, 0, 1])]).is_ok());
        let first = std::fs::read(dir.join("certificate.pem")).unwrap();
        assert!(acceptor(&Certificate::OfItsOwn, &dir, &[]).is_ok());
        assert_eq!(std::fs::read(dir.join("certificate.pem")).unwrap(), first);
        let swapped = Certificate::Given(dir.join("key.pem"), dir.join("certificate.pem"));
        assert!(acceptor(&swapped, &dir, &[]).is_err());
        std::fs::remove_dir_all(&dir).unwrap();
    }
}
