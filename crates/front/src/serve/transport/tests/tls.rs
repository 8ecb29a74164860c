//! TLS, both ways, and certificates that change under a running server.

use std::fs;
use std::net::SocketAddr;
use std::path::PathBuf;
use std::sync::Arc;
use std::time::{Duration, Instant};

use rcgen::{BasicConstraints, CertificateParams, CertifiedIssuer, IsCa, KeyPair};
use sha2::{Digest, Sha256};
use tempfile::TempDir;
use tokio::net::{TcpSocket, TcpStream};
use tokio::sync::watch;
use tokio_rustls::TlsConnector;
use tokio_rustls::client::TlsStream;
use tokio_rustls::rustls::crypto::ring;
use tokio_rustls::rustls::pki_types::pem::PemObject;
use tokio_rustls::rustls::pki_types::{CertificateDer, PrivateKeyDer, ServerName};
use tokio_rustls::rustls::{ClientConfig, HandshakeKind, RootCertStore};

use tonic::service::Routes;
use tower::layer::util::Identity;

use super::super::certificates::Certificates;
use super::super::connection::{Connection, Terms};
use super::super::{
    Bounds, CertificateError, Clients, Config, Layering, Listener, Peer, Security, StartError, TlsFiles,
    layered,
};
use super::client::{Answer, Client};
use super::connections::closed_after;
use super::oven::{Oven, methods};
use super::server::Server;

const EVERY: Duration = Duration::from_millis(20);
const SOON: Duration = Duration::from_secs(3);

type Authority = CertifiedIssuer<'static, KeyPair>;

fn authority() -> Authority {
    let mut params = CertificateParams::default();
    params.is_ca = IsCa::Ca(BasicConstraints::Unconstrained);
    CertifiedIssuer::self_signed(params, KeyPair::generate().unwrap()).unwrap()
}

/// A certificate and its key, in PEM.
fn pair(by: &Authority) -> (String, String) {
    let key = KeyPair::generate().unwrap();
    let params = CertificateParams::new(vec!["localhost".to_owned()]).unwrap();
    (params.signed_by(&key, by).unwrap().pem(), key.serialize_pem())
}

fn der(certificate: &str) -> CertificateDer<'static> {
    CertificateDer::from_pem_slice(certificate.as_bytes()).unwrap()
}

/// A server's files, signed by an authority that also signs its clients.
struct Files {
    folder: TempDir,
    authority: Authority,
}

impl Files {
    fn new() -> Self {
        let files = Self { folder: tempfile::tempdir().unwrap(), authority: authority() };
        let (certificate, key) = pair(&files.authority);
        files.write(&certificate, &key);
        fs::write(files.path("clients.pem"), files.authority.pem()).unwrap();
        files
    }

    fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    fn write(&self, certificate: &str, key: &str) {
        fs::write(self.path("server.pem"), certificate).unwrap();
        fs::write(self.path("server.key"), key).unwrap();
    }

    /// With client certificates required, or not, or not asked for.
    fn tls(&self, required: Option<bool>) -> TlsFiles {
        TlsFiles {
            certificate: self.path("server.pem"),
            key: self.path("server.key"),
            clients: required.map(|required| Clients { authorities: self.path("clients.pem"), required }),
        }
    }

    fn security(&self, required: Option<bool>) -> Security {
        Security::Tls(self.tls(required))
    }

    async fn server(&self, required: Option<bool>) -> Server {
        let bounds = Bounds { certificates_every: EVERY, ..Bounds::default() };
        Server::start(self.security(required), bounds, &[]).await
    }

    /// A client that remembers its sessions.
    fn client(&self, identity: Option<&(String, String)>) -> Arc<ClientConfig> {
        let mut roots = RootCertStore::empty();
        roots.add(der(&self.authority.pem())).unwrap();
        let config = ClientConfig::builder_with_provider(Arc::new(ring::default_provider()))
            .with_safe_default_protocol_versions()
            .unwrap()
            .with_root_certificates(roots);
        let mut config = match identity {
            None => config.with_no_client_auth(),
            Some((certificate, key)) => {
                let key = PrivateKeyDer::from_pem_slice(key.as_bytes()).unwrap();
                config.with_client_auth_cert(vec![der(certificate)], key).unwrap()
            }
        };
        config.alpn_protocols = vec![b"h2".to_vec()];
        Arc::new(config)
    }

    async fn stream(
        &self,
        server: SocketAddr,
        identity: Option<&(String, String)>,
    ) -> std::io::Result<TlsStream<TcpStream>> {
        stream_of(self.client(identity), server).await
    }

    /// Who the server says is calling, or nothing where it refuses the connection.
    async fn call(&self, server: &Server, identity: Option<&(String, String)>) -> Option<String> {
        let stream = self.stream(server.address, identity).await.ok()?;
        assert_eq!(stream.get_ref().1.alpn_protocol(), Some(&b"h2"[..]));
        let answer: Answer = Client::over(stream).await.ok()?.ask("Peer").await.ok()?;
        Some(String::from_utf8(answer.message().to_vec()).unwrap())
    }

    /// What the server shows of itself to a new connection.
    async fn shown(&self, server: &Server) -> CertificateDer<'static> {
        let stream = self.stream(server.address, None).await.unwrap();
        stream.get_ref().1.peer_certificates().unwrap()[0].clone().into_owned()
    }

    async fn until_shown(&self, server: &Server, certificate: &str) {
        let began = Instant::now();
        while self.shown(server).await != der(certificate) {
            assert!(began.elapsed() < SOON, "the new certificate is shown");
            tokio::time::sleep(EVERY).await;
        }
    }
}

async fn stream_of(client: Arc<ClientConfig>, server: SocketAddr) -> std::io::Result<TlsStream<TcpStream>> {
    let stream = TcpStream::connect(server).await?;
    TlsConnector::from(client).connect(ServerName::try_from("localhost").unwrap(), stream).await
}

/// What follows the address in a peer's description.
fn described(certificate: Option<&str>) -> String {
    let certificate = certificate.map(|one| Sha256::digest(der(one)).into());
    let (ends, address) = (tokio::time::Instant::now(), ([127, 0, 0, 1], 0).into());
    let peer = format!("{:?}", Peer { ends, address, certificate, encrypted: true });
    peer.split_once("certificate").unwrap().1.to_owned()
}

#[tokio::test]
async fn a_server_shows_its_certificate_and_asks_for_none() {
    let files = Files::new();
    let server = files.server(None).await;
    let peer = files.call(&server, Some(&pair(&files.authority))).await.unwrap();
    assert!(peer.ends_with(&described(None)), "{peer}");
}

#[tokio::test]
async fn a_client_is_known_by_its_certificate() {
    let files = Files::new();
    let (known, stranger) = (pair(&files.authority), pair(&authority()));
    for required in [true, false] {
        let server = files.server(Some(required)).await;
        let peer = files.call(&server, Some(&known)).await.unwrap();
        assert!(peer.ends_with(&described(Some(&known.0))), "{peer}");
        assert_eq!(files.call(&server, Some(&stranger)).await, None);
        let without = files.call(&server, None).await;
        assert_eq!(without.map(|peer| peer.ends_with(&described(None))), (!required).then_some(true));
    }
}

/// The system takes so little at once that TLS keeps the end of an answer to itself until there is room.
#[tokio::test]
async fn an_answer_arrives_whole_where_the_system_takes_little_of_it() {
    let files = Files::new();
    let socket = TcpSocket::new_v4().unwrap();
    socket.set_send_buffer_size(4 << 10).unwrap();
    socket.bind(([127, 0, 0, 1], 0).into()).unwrap();
    let listener = socket.listen(1).unwrap();
    let address = listener.local_addr().unwrap();
    let certificates = Certificates::load(files.tls(None)).unwrap();
    let bounds = Bounds::default();
    let layering = Layering { bounds, methods: Arc::new(methods()), origins: Vec::new() };
    let service = layered(Routes::new(Oven::default()), Identity::new(), &layering);
    let (_stop, stopping) = watch::channel(false);
    tokio::spawn(async move {
        let (stream, from) = listener.accept().await.unwrap();
        let tls = Some(certificates.acceptor());
        let connection = Connection { stream, from, tls, service, age: bounds.age, stopping };
        connection.attend(Arc::new(Terms::new(&bounds))).await;
    });

    let client = Client::over(files.stream(address, None).await.unwrap()).await.unwrap();
    for length in [10, 1_000, 10_000, 30_000, 60_000, 300_000] {
        let told: Vec<u8> = (0..length).map(|at| (at % 251) as u8).collect();
        let answer = client.call("Echo", &[], &told).await.unwrap();
        assert!(answer.message() == told, "{length} bytes");
    }
}

#[tokio::test]
async fn a_handshake_that_does_not_come_holds_nobody_up() {
    let files = Files::new();
    let limit = Duration::from_millis(600);
    let server =
        Server::start(files.security(None), Bounds { opening: limit, ..Bounds::default() }, &[]).await;
    let silent = tokio::spawn(closed_after(server.address, b""));
    let half = tokio::spawn(closed_after(server.address, b"\x16\x03\x01\x02\x00\x01"));
    let began = Instant::now();
    files.call(&server, None).await.unwrap();
    assert!(began.elapsed() < limit);
    for one in [silent, half] {
        let took = one.await.unwrap();
        assert!((limit..SOON).contains(&took), "{took:?}");
    }
    assert!(closed_after(server.address, b"POST / HTTP/1.1\r\n\r\n").await < limit, "plain text is no TLS");
}

#[tokio::test]
async fn new_certificates_are_taken_up_and_bad_ones_are_not() {
    let files = Files::new();
    let server = files.server(Some(false)).await;
    let before = files.shown(&server).await;
    let open = Client::over(files.stream(server.address, None).await.unwrap()).await.unwrap();

    let (certificate, key) = pair(&files.authority);
    let half = |text: &str| text[..text.len() / 2].to_owned();
    let bad = [
        (certificate.clone(), pair(&files.authority).1),
        (certificate.clone(), half(&key)),
        (half(&certificate), key.clone()),
        (String::new(), key.clone()),
        ("no certificate".to_owned(), "no key".to_owned()),
    ];
    for (certificate, key) in bad {
        files.write(&certificate, &key);
        tokio::time::sleep(3 * EVERY).await;
        assert_eq!(files.shown(&server).await, before, "{certificate}{key}");
    }
    fs::remove_file(files.path("server.key")).unwrap();
    tokio::time::sleep(3 * EVERY).await;
    assert_eq!(files.shown(&server).await, before);

    files.write(&certificate, &key);
    files.until_shown(&server, &certificate).await;
    open.ask("Echo").await.expect("a connection that is open stays so");
}

#[tokio::test]
async fn an_authority_that_is_taken_out_counts_no_more() {
    let files = Files::new();
    let server = files.server(Some(true)).await;
    let (other, client) = (authority(), pair(&files.authority));
    assert!(files.call(&server, Some(&client)).await.is_some());
    fs::write(files.path("clients.pem"), other.pem()).unwrap();
    let began = Instant::now();
    while files.call(&server, Some(&client)).await.is_some() {
        assert!(began.elapsed() < SOON);
        tokio::time::sleep(EVERY).await;
    }
    assert!(files.call(&server, Some(&pair(&other))).await.is_some());
}

/// Who was let in by it does not come back by the session of then.
#[tokio::test]
async fn no_session_outlives_the_authority_that_let_its_client_in() {
    let files = Files::new();
    let server = files.server(Some(true)).await;
    let client = files.client(Some(&pair(&files.authority)));
    let comes_back = async || {
        let stream = stream_of(Arc::clone(&client), server.address).await.ok()?;
        let how = stream.get_ref().1.handshake_kind();
        // What a session is resumed by comes before the first answer.
        Client::over(stream).await.ok()?.ask("Echo").await.ok()?;
        how
    };
    assert_eq!(comes_back().await, Some(HandshakeKind::Full));
    assert_eq!(comes_back().await, Some(HandshakeKind::Resumed));
    fs::write(files.path("clients.pem"), authority().pem()).unwrap();
    let began = Instant::now();
    while comes_back().await.is_some() {
        assert!(began.elapsed() < SOON);
        tokio::time::sleep(EVERY).await;
    }
}

#[tokio::test]
async fn a_server_does_not_start_on_bad_files() {
    let files = Files::new();
    let (certificate, key) = pair(&files.authority);
    let start = |security| {
        Listener::bind(Config { address: ([127, 0, 0, 1], 0).into(), security, bounds: Bounds::default() })
    };
    let refused = async |security| match start(security).await.unwrap_err() {
        StartError::Certificates { source } => source,
        other => panic!("{other}"),
    };
    files.write(&certificate, &pair(&files.authority).1);
    assert!(matches!(refused(files.security(None)).await, CertificateError::Pair { .. }));
    files.write("", &key);
    assert!(matches!(refused(files.security(None)).await, CertificateError::Empty { .. }));
    files.write(&certificate, "");
    assert!(matches!(refused(files.security(None)).await, CertificateError::Malformed { .. }));
    files.write(&certificate, &key);
    fs::write(files.path("clients.pem"), "").unwrap();
    assert!(matches!(refused(files.security(Some(true))).await, CertificateError::Empty { .. }));
    fs::remove_file(files.path("server.pem")).unwrap();
    let error = refused(files.security(None)).await;
    assert!(
        matches!(&error, CertificateError::Unreadable { .. }) && error.to_string().contains("server.pem")
    );
}
