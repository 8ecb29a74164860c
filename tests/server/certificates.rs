//! TLS, and callers who come by their certificate.

use evenfare::wire::pb;
use evenfare::wire::pb::accountant_service_client::AccountantServiceClient;
use evenfare::wire::pb::office_service_client::OfficeServiceClient;
use rcgen::{BasicConstraints, CertificateParams, CertifiedIssuer, ExtendedKeyUsagePurpose, IsCa, KeyPair};
use tonic::transport::{Certificate, Channel, ClientTlsConfig, Endpoint, Identity};
use tonic::{Code, Request, Status};

use crate::harness::{Server, World, evenfare};

type Authority = CertifiedIssuer<'static, KeyPair>;

fn authority() -> Authority {
    let mut params = CertificateParams::new(Vec::new()).unwrap();
    params.is_ca = IsCa::Ca(BasicConstraints::Unconstrained);
    CertifiedIssuer::self_signed(params, KeyPair::generate().unwrap()).unwrap()
}

/// Certificate and key in PEM.
fn signed(authority: &Authority, purpose: ExtendedKeyUsagePurpose) -> (String, String) {
    let mut params = CertificateParams::new(vec![String::from("localhost")]).unwrap();
    params.extended_key_usages = vec![purpose];
    let key = KeyPair::generate().unwrap();
    let certificate = params.signed_by(&key, authority).unwrap();
    (certificate.pem(), key.serialize_pem())
}

async fn channel(
    url: &str,
    authority: &Authority,
    own: Option<&(String, String)>,
) -> Result<Channel, String> {
    let tls = ClientTlsConfig::new()
        .ca_certificate(Certificate::from_pem(authority.pem()))
        .domain_name("localhost");
    let tls = match own {
        Some((certificate, key)) => tls.identity(Identity::from_pem(certificate, key)),
        None => tls,
    };
    let endpoint = Endpoint::from_shared(url.to_owned()).unwrap().tls_config(tls).unwrap();
    endpoint.connect().await.map_err(|error| error.to_string())
}

fn with_token<T>(message: T, token: &str) -> Request<T> {
    let mut request = Request::new(message);
    request.metadata_mut().insert("authorization", format!("Bearer {token}").parse().unwrap());
    request
}

async fn lists(channel: &Channel, token: Option<&str>) -> Result<(), Status> {
    let list = pb::ListQuotesRequest::default();
    let request = match token {
        Some(token) => with_token(list, token),
        None => Request::new(list),
    };
    OfficeServiceClient::new(channel.clone()).list_quotes(request).await.map(|_| ())
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_certificate_has_the_role_it_was_given() {
    let world = World::new();
    let (servers, clients) = (authority(), authority());
    let folder = world.dir.path().to_owned();
    let write = |name: &str, text: &str| {
        let path = folder.join(name);
        std::fs::write(&path, text).unwrap();
        path.to_str().unwrap().to_owned()
    };
    let (certificate, key) = signed(&servers, ExtendedKeyUsagePurpose::ServerAuth);
    let (certificate, key) = (write("server.pem", &certificate), write("server.key", &key));
    let client_ca = write("clients.pem", &clients.pem());
    let client = || signed(&clients, ExtendedKeyUsagePurpose::ClientAuth);
    let (desk, books, unknown) = (client(), client(), client());
    for (name, role, own) in
        [("desk-by-certificate", "office", &desk), ("books-by-certificate", "accountant", &books)]
    {
        let file = write(&format!("{name}.pem"), &own.0);
        evenfare(&[
            "caller",
            "add",
            name,
            "--role",
            role,
            "--certificate",
            &file,
            "--database",
            &world.database,
        ]);
    }
    let tls =
        ["--certificate", certificate.as_str(), "--key", key.as_str(), "--client-ca", client_ca.as_str()];
    let server = Server::start(&world.database, &tls);
    assert!(server.url.starts_with("https://"));
    let url = server.url.replace("127.0.0.1", "localhost");

    let by = async |own: Option<&(String, String)>| channel(&url, &servers, own).await.unwrap();
    // By certificate alone, by token alone, and as nobody.
    assert!(lists(&by(Some(&desk)).await, None).await.is_ok());
    assert!(lists(&by(None).await, Some(&world.office)).await.is_ok());
    assert_eq!(lists(&by(None).await, None).await.unwrap_err().code(), Code::Unauthenticated);
    assert_eq!(lists(&by(Some(&unknown)).await, None).await.unwrap_err().code(), Code::Unauthenticated);
    // The role is that of the certificate; a token of another role beside it is one too many.
    let books = by(Some(&books)).await;
    assert_eq!(lists(&books, None).await.unwrap_err().code(), Code::PermissionDenied);
    let read = pb::ReadQuotesRequest::default();
    assert!(AccountantServiceClient::new(books.clone()).read_quotes(read).await.is_ok());
    assert_eq!(lists(&books, Some(&world.office)).await.unwrap_err().code(), Code::Unauthenticated);
    assert!(lists(&by(Some(&desk)).await, Some(&world.office)).await.is_ok());

    // Whom another authority has signed is not let in at all, and plain text is no TLS.
    let stranger = signed(&servers, ExtendedKeyUsagePurpose::ClientAuth);
    let refused = match channel(&url, &servers, Some(&stranger)).await {
        Ok(channel) => lists(&channel, Some(&world.office)).await.is_err(),
        Err(_) => true,
    };
    assert!(refused);
    let plain = Endpoint::from_shared(server.url.replace("https", "http")).unwrap();
    assert!(match plain.connect().await {
        Ok(channel) => lists(&channel, Some(&world.office)).await.is_err(),
        Err(_) => true,
    });

    // Withdrawn, it is nobody's.
    evenfare(&["caller", "withdraw", "desk-by-certificate", "--database", &world.database]);
    let desk = by(Some(&desk)).await;
    let begin = std::time::Instant::now();
    while lists(&desk, None).await.is_ok() {
        assert!(begin.elapsed() < std::time::Duration::from_secs(10), "still a caller");
        tokio::time::sleep(std::time::Duration::from_millis(50)).await;
    }
}
