//! Connections, encrypted or not.

use std::error::Error as _;
use std::future::Future;
use std::io;
use std::path::Path;
use std::pin::Pin;
use std::sync::Arc;

use deadpool_postgres::Connect;
use rustls::client::danger::{HandshakeSignatureValid, ServerCertVerified, ServerCertVerifier};
use rustls::crypto::{CryptoProvider, ring, verify_tls12_signature, verify_tls13_signature};
use rustls::pki_types::pem::PemObject as _;
use rustls::pki_types::{CertificateDer, ServerName, UnixTime};
use rustls::{ClientConfig, DigitallySignedStruct, RootCertStore, SignatureScheme};
use tokio::task::JoinHandle;
use tokio_postgres::config::SslMode;
use tokio_postgres::error::SqlState;
use tokio_postgres::{Client, Config, Error};
use tokio_postgres_rustls::MakeRustlsConnect;

use super::address::Encryption;
use crate::refused::StoreError;

type Opened = Result<(Client, JoinHandle<()>), Error>;

/// Opens connections.
pub(super) struct Connecting(MakeRustlsConnect);

impl Connecting {
    /// Reads the certificates that it needs.
    pub(super) fn new(encryption: &Encryption) -> Result<Self, StoreError> {
        let provider = Arc::new(ring::default_provider());
        let builder = ClientConfig::builder_with_provider(Arc::clone(&provider))
            .with_safe_default_protocol_versions()
            .map_err(|error| StoreError::Unavailable(error.to_string()))?;
        let builder = match encryption {
            Encryption::VerifyFull(file) => {
                builder.with_root_certificates(file.as_deref().map_or_else(of_the_system, of_a_file)?)
            }
            Encryption::Disable | Encryption::Prefer | Encryption::Require => {
                builder.dangerous().with_custom_certificate_verifier(Arc::new(Anyone(provider)))
            }
        };
        let mut config = builder.with_no_client_auth();
        // Servers that take TLS from the first byte on ask for it.
        config.alpn_protocols = vec![b"postgresql".to_vec()];
        Ok(Self(MakeRustlsConnect::new(config)))
    }

    async fn open(tls: MakeRustlsConnect, config: &Config) -> Opened {
        let (client, connection) = config.connect(tls).await?;
        // Whatever ends the connection is told to those who wait for its answers.
        Ok((client, tokio::spawn(async move { drop(connection.await) })))
    }

    /// With TLS where that works, else without, as libpq does it.
    async fn open_either_way(tls: MakeRustlsConnect, mut config: Config) -> Opened {
        let error = match Self::open(tls.clone(), &config).await {
            Err(error) if is_about_tls(&error) => error,
            done => return done,
        };
        config.ssl_mode(SslMode::Disable);
        match Self::open(tls, &config).await {
            // This way the server does not want it at all, so what it said first counts.
            Err(second) if is_of_the_rules(&second) => Err(error),
            done => done,
        }
    }
}

impl Connect for Connecting {
    fn connect(&self, config: &Config) -> Pin<Box<dyn Future<Output = Opened> + Send + '_>> {
        let (tls, config) = (self.0.clone(), config.clone());
        match config.get_ssl_mode() {
            SslMode::Prefer => Box::pin(Self::open_either_way(tls, config)),
            _ => Box::pin(async move { Self::open(tls, &config).await }),
        }
    }
}

fn of_a_file(file: &Path) -> Result<RootCertStore, StoreError> {
    let failed = |why: &dyn std::fmt::Display| {
        StoreError::Unavailable(format!("sslrootcert={} cannot be used: {why}", file.display()))
    };
    let mut roots = RootCertStore::empty();
    for certificate in CertificateDer::pem_file_iter(file).map_err(|error| failed(&error))? {
        let certificate = certificate.map_err(|error| failed(&error))?;
        roots.add(certificate).map_err(|error| failed(&error))?;
    }
    if roots.is_empty() { Err(failed(&"it holds no certificate in PEM")) } else { Ok(roots) }
}

fn of_the_system() -> Result<RootCertStore, StoreError> {
    let found = rustls_native_certs::load_native_certs();
    let mut roots = RootCertStore::empty();
    let (taken, _) = roots.add_parsable_certificates(found.certs);
    if taken > 0 {
        return Ok(roots);
    }
    let why = found.errors.first().map(|error| format!(": {error}")).unwrap_or_default();
    Err(StoreError::Unavailable(format!("the system trusts no certificate; name a file by sslrootcert{why}")))
}

/// The handshake failed, or the server takes such a user over another kind of connection only.
fn is_about_tls(error: &Error) -> bool {
    let source = error.source().and_then(|source| source.downcast_ref::<io::Error>());
    let broken = source.and_then(io::Error::get_ref).is_some_and(|cause| cause.is::<rustls::Error>());
    broken || is_of_the_rules(error)
}

fn is_of_the_rules(error: &Error) -> bool {
    error.code() == Some(&SqlState::INVALID_AUTHORIZATION_SPECIFICATION)
}

/// Takes any certificate. That its sender has the key is checked all the same: a password may be bound to it
/// (SCRAM with `tls-server-end-point`).
#[derive(Debug)]
struct Anyone(Arc<CryptoProvider>);

impl ServerCertVerifier for Anyone {
    fn verify_server_cert(
        &self,
        _end_entity: &CertificateDer<'_>,
        _intermediates: &[CertificateDer<'_>],
        _server_name: &ServerName<'_>,
        _ocsp_response: &[u8],
        _now: UnixTime,
    ) -> Result<ServerCertVerified, rustls::Error> {
        Ok(ServerCertVerified::assertion())
    }

    fn verify_tls12_signature(
        &self,
        message: &[u8],
        certificate: &CertificateDer<'_>,
        signed: &DigitallySignedStruct,
    ) -> Result<HandshakeSignatureValid, rustls::Error> {
        verify_tls12_signature(message, certificate, signed, &self.0.signature_verification_algorithms)
    }

    fn verify_tls13_signature(
        &self,
        message: &[u8],
        certificate: &CertificateDer<'_>,
        signed: &DigitallySignedStruct,
    ) -> Result<HandshakeSignatureValid, rustls::Error> {
        verify_tls13_signature(message, certificate, signed, &self.0.signature_verification_algorithms)
    }

    fn supported_verify_schemes(&self) -> Vec<SignatureScheme> {
        self.0.signature_verification_algorithms.supported_schemes()
    }
}
