//! Certificates from files, and their successors without a restart.

use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::Duration;
use std::{fs, io};

use sha2::{Digest, Sha256};
use tokio::sync::watch;
use tokio_rustls::TlsAcceptor;
use tokio_rustls::rustls::crypto::{CryptoProvider, ring};
use tokio_rustls::rustls::pki_types::pem::{self, PemObject};
use tokio_rustls::rustls::pki_types::{CertificateDer, PrivateKeyDer};
use tokio_rustls::rustls::server::{VerifierBuilderError, WebPkiClientVerifier};
use tokio_rustls::rustls::{self, RootCertStore, ServerConfig};
use tracing::{info, warn};

/// Where the server's certificate is, and what it asks of its clients.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TlsFiles {
    /// The certificate chain in PEM, the server's own first.
    pub certificate: PathBuf,
    /// Its private key in PEM.
    pub key: PathBuf,
    /// Client certificates, where they are asked for.
    pub clients: Option<Clients>,
}

/// Which client certificates are taken.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Clients {
    /// The authorities that sign them, in PEM.
    pub authorities: PathBuf,
    /// Whether a client without a certificate is refused; else it is asked for one and may have none.
    pub required: bool,
}

/// Why certificate files cannot be used.
#[derive(Debug, thiserror::Error)]
#[allow(missing_docs)]
pub enum CertificateError {
    #[error("`{}` cannot be read", path.display())]
    Unreadable { path: PathBuf, source: io::Error },
    #[error("`{}` is not PEM with what is looked for in it", path.display())]
    Malformed { path: PathBuf, source: pem::Error },
    #[error("`{}` has no certificate in it", path.display())]
    Empty { path: PathBuf },
    #[error("the certificate of `{}` and the key of `{}` do not serve", certificate.display(), key.display())]
    Pair { certificate: PathBuf, key: PathBuf, source: rustls::Error },
    #[error("an authority of `{}` does not serve", path.display())]
    Authority { path: PathBuf, source: rustls::Error },
    #[error("no client can be checked by `{}`", path.display())]
    Verifier { path: PathBuf, source: VerifierBuilderError },
    #[error("no protocol version fits")]
    Versions { source: rustls::Error },
}

/// The files' contents, as they were at one time.
struct Contents {
    certificate: Vec<u8>,
    key: Vec<u8>,
    authorities: Option<Vec<u8>>,
}

impl Contents {
    fn read(files: &TlsFiles) -> Result<Self, CertificateError> {
        let read = |path: &Path| {
            fs::read(path).map_err(|source| CertificateError::Unreadable { path: path.to_owned(), source })
        };
        Ok(Self {
            certificate: read(&files.certificate)?,
            key: read(&files.key)?,
            authorities: files.clients.as_ref().map(|clients| read(&clients.authorities)).transpose()?,
        })
    }

    /// What tells these contents from others, without keeping a key in memory.
    fn digest(&self) -> [u8; 32] {
        let mut digest = Sha256::new();
        for content in [Some(&self.certificate), Some(&self.key), self.authorities.as_ref()] {
            digest.update(Sha256::digest(content.map_or(&[][..], Vec::as_slice)));
        }
        digest.finalize().into()
    }

    fn configure(&self, files: &TlsFiles) -> Result<Arc<ServerConfig>, CertificateError> {
        let provider = Arc::new(ring::default_provider());
        let builder = ServerConfig::builder_with_provider(Arc::clone(&provider))
            .with_safe_default_protocol_versions()
            .map_err(|source| CertificateError::Versions { source })?;
        let builder = match (&files.clients, &self.authorities) {
            (Some(clients), Some(authorities)) => {
                builder.with_client_cert_verifier(verifier(clients, authorities, provider)?)
            }
            _ => builder.with_no_client_auth(),
        };
        let key = PrivateKeyDer::from_pem_slice(&self.key)
            .map_err(|source| CertificateError::Malformed { path: files.key.clone(), source })?;
        let mut config = builder
            .with_single_cert(certificates(&files.certificate, &self.certificate)?, key)
            .map_err(|source| CertificateError::Pair {
                certificate: files.certificate.clone(),
                key: files.key.clone(),
                source,
            })?;
        config.alpn_protocols = vec![b"h2".to_vec(), b"http/1.1".to_vec()];
        Ok(Arc::new(config))
    }
}

fn certificates(path: &Path, content: &[u8]) -> Result<Vec<CertificateDer<'static>>, CertificateError> {
    let all = CertificateDer::pem_slice_iter(content).collect::<Result<Vec<_>, _>>();
    let all = all.map_err(|source| CertificateError::Malformed { path: path.to_owned(), source })?;
    if all.is_empty() { Err(CertificateError::Empty { path: path.to_owned() }) } else { Ok(all) }
}

fn verifier(
    clients: &Clients,
    authorities: &[u8],
    provider: Arc<CryptoProvider>,
) -> Result<Arc<dyn rustls::server::danger::ClientCertVerifier>, CertificateError> {
    let path = || clients.authorities.clone();
    let mut roots = RootCertStore::empty();
    for authority in certificates(&clients.authorities, authorities)? {
        roots.add(authority).map_err(|source| CertificateError::Authority { path: path(), source })?;
    }
    let builder = WebPkiClientVerifier::builder_with_provider(Arc::new(roots), provider);
    let builder = if clients.required { builder } else { builder.allow_unauthenticated() };
    builder.build().map_err(|source| CertificateError::Verifier { path: path(), source })
}

/// The certificates in use. New connections get what the files held when they were last good.
///
/// A connection keeps what it was opened with until its age ends it; one that is opened anew cannot resume a
/// session from before a change, so that an authority that was taken out counts no more.
#[derive(Debug)]
pub(super) struct Certificates {
    files: TlsFiles,
    in_use: watch::Sender<InUse>,
}

#[derive(Debug)]
struct InUse {
    digest: [u8; 32],
    config: Arc<ServerConfig>,
}

impl Certificates {
    pub(super) fn load(files: TlsFiles) -> Result<Self, CertificateError> {
        let contents = Contents::read(&files)?;
        let first = InUse { digest: contents.digest(), config: contents.configure(&files)? };
        Ok(Self { files, in_use: watch::Sender::new(first) })
    }

    pub(super) fn acceptor(&self) -> TlsAcceptor {
        Arc::clone(&self.in_use.borrow().config).into()
    }

    /// Looks at the files again and again. Files that are not good change nothing: one warning for each way in
    /// which they are bad.
    pub(super) async fn keep_fresh(&self, every: Duration) {
        let mut warned = None;
        loop {
            tokio::time::sleep(every).await;
            match self.successor().await {
                Ok(None) => warned = None,
                Ok(Some(successor)) => {
                    self.in_use.send_replace(successor);
                    info!(certificate = %self.files.certificate.display(), "new certificates are in use");
                    warned = None;
                }
                Err(error) => {
                    let text = in_full(&error);
                    if warned.as_ref() != Some(&text) {
                        warn!(reason = text, "certificate files are not good, those read before stay in use");
                        warned = Some(text);
                    }
                }
            }
        }
    }

    /// What the files hold, where it differs from what is in use.
    async fn successor(&self) -> Result<Option<InUse>, CertificateError> {
        let files = self.files.clone();
        let known = self.in_use.borrow().digest;
        let look = move || {
            let contents = Contents::read(&files)?;
            let digest = contents.digest();
            if digest == known {
                return Ok(None);
            }
            Ok(Some(InUse { digest, config: contents.configure(&files)? }))
        };
        // Reading may wait for a disk. A look that was cut short by the end of the runtime found nothing.
        tokio::task::spawn_blocking(look).await.unwrap_or(Ok(None))
    }
}

/// An error with all its sources.
fn in_full(error: &dyn std::error::Error) -> String {
    let mut text = error.to_string();
    let mut source = error.source();
    while let Some(error) = source {
        text = format!("{text}: {error}");
        source = error.source();
    }
    text
}
