//! Every method times every role, by a table of its own.

use std::collections::BTreeSet;
use std::time::Duration;

use evenfare::wire::pb::FILE_DESCRIPTOR_SET;
use prost_reflect::DescriptorPool;
use tonic::Code;

use crate::harness::{Server, World, call, evenfare};

/// Method; may the office, an accountant, a partner call it?
const TABLE: [(&str, bool, bool, bool); 35] = [
    ("OfficeService/PriceJob", true, false, false),
    ("OfficeService/PriceJobs", true, false, false),
    ("OfficeService/ReadRequest", true, false, false),
    ("OfficeService/IssueQuote", true, false, false),
    ("OfficeService/ReviseQuote", true, false, false),
    ("OfficeService/ReverseQuote", true, false, false),
    ("OfficeService/AcceptQuote", true, false, false),
    ("OfficeService/DeclineQuote", true, false, false),
    ("OfficeService/IssueInvoice", true, false, false),
    ("OfficeService/IssueCreditNote", true, false, false),
    ("OfficeService/GetInvoice", true, false, false),
    ("OfficeService/ListInvoices", true, false, false),
    ("OfficeService/GetQuote", true, false, false),
    ("OfficeService/ListQuotes", true, false, false),
    ("OfficeService/WatchQuotes", true, false, false),
    ("OfficeService/GetDocument", true, false, false),
    ("PartnerService/PriceOwnJob", false, false, true),
    ("PartnerService/GetOwnQuote", false, false, true),
    ("PartnerService/ListOwnQuotes", false, false, true),
    ("PartnerService/GetOwnInvoice", false, false, true),
    ("PartnerService/ListOwnInvoices", false, false, true),
    ("PartnerService/GetOwnDocument", false, false, true),
    ("AccountantService/ReadQuote", true, true, false),
    ("AccountantService/ReadQuotes", true, true, false),
    ("AccountantService/ReadInvoice", true, true, false),
    ("AccountantService/ReadInvoices", true, true, false),
    ("AccountantService/ExportPeriod", true, true, false),
    ("AccountantService/ReadDocument", true, true, false),
    ("AccountantService/Reconcile", true, true, false),
    ("AccountantService/CloseMonth", true, true, false),
    ("TariffService/CheckTariff", true, false, false),
    ("TariffService/TryTariff", true, true, false),
    ("TariffService/PublishEdition", true, false, false),
    ("TariffService/ListEditions", true, true, false),
    ("TariffService/ListRules", true, true, true),
];

#[test]
fn every_method_has_a_row() {
    let pool = DescriptorPool::decode(FILE_DESCRIPTOR_SET).unwrap();
    let ours = pool.services().filter(|service| service.package_name() == "evenfare.v1");
    let methods: BTreeSet<String> = ours
        .flat_map(|service| {
            let name = service.name().to_owned();
            service.methods().map(move |method| format!("{name}/{}", method.name())).collect::<Vec<_>>()
        })
        .collect();
    let rows: BTreeSet<String> = TABLE.iter().map(|(method, ..)| (*method).to_owned()).collect();
    assert_eq!(methods, rows, "a new method needs a row, and an old one has none");
    assert_eq!(rows.len(), TABLE.len());
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn each_role_may_call_what_the_table_says() {
    let world = World::new();
    let gone = world.token("gone", "office");
    evenfare(&["caller", "withdraw", "gone", "--database", &world.database]);
    let server = Server::start(&world.database, &[]);
    let within = Duration::from_millis(400);
    let bearer = |token: &str| format!("Bearer {token}");
    for (method, office, accountant, partner) in TABLE {
        let path = format!("/evenfare.v1.{method}");
        let nobody = [
            None,
            Some(String::new()),
            Some(bearer("")),
            Some(bearer(&gone)),
            Some(world.office.clone()),
            Some(format!("Basic {}", world.office)),
            Some(format!("Bearer{}", world.office)),
            Some(format!("{} ", bearer(&world.office))),
            Some(bearer(&world.office[..world.office.len() - 1])),
        ];
        for token in nobody {
            let code = call(&server.url, &path, token.as_deref(), Vec::new(), within).await;
            // Spaces around a header's value are not part of it.
            let trimmed = token.as_deref().is_some_and(|token| token.ends_with(' '));
            if !trimmed {
                assert_eq!(code, Code::Unauthenticated, "{method} as nobody: {token:?}");
            }
        }
        for (may, token) in [(office, &world.office), (accountant, &world.accountant), (partner, &world.olom)]
        {
            let code = call(&server.url, &path, Some(&bearer(token)), Vec::new(), within).await;
            if may {
                let barred = [Code::Unauthenticated, Code::PermissionDenied, Code::Unimplemented];
                assert!(!barred.contains(&code), "{method}: {code:?}");
            } else {
                assert_eq!(code, Code::PermissionDenied, "{method}");
            }
        }
    }
    for path in ["/evenfare.v1.OfficeService/DropQuotes", "/evenfare.v1.Nothing/Nothing", "/"] {
        let code = call(&server.url, path, Some(&bearer(&world.office)), Vec::new(), within).await;
        assert_eq!(code, Code::Unimplemented, "{path}");
        let code = call(&server.url, path, None, Vec::new(), within).await;
        assert_eq!(code, Code::Unauthenticated, "{path}");
    }
    // Whether it is up, anybody may ask.
    let code = call(&server.url, "/grpc.health.v1.Health/Check", None, Vec::new(), within).await;
    assert_eq!(code, Code::Ok);
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_withdrawn_caller_is_nobody_soon() {
    let world = World::new();
    let server = Server::start(&world.database, &[]);
    let path = "/evenfare.v1.OfficeService/ListQuotes";
    let bearer = format!("Bearer {}", world.office);
    let code = async || call(&server.url, path, Some(&bearer), Vec::new(), Duration::from_secs(5)).await;
    assert_eq!(code().await, Code::Ok);
    evenfare(&["caller", "withdraw", "front-desk", "--database", &world.database]);
    let begin = std::time::Instant::now();
    while code().await == Code::Ok {
        assert!(begin.elapsed() < Duration::from_secs(10), "still a caller");
        tokio::time::sleep(Duration::from_millis(50)).await;
    }
    assert_eq!(code().await, Code::Unauthenticated);
}
