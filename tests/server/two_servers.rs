//! Two servers on one PostgreSQL, many clients, and one server killed and started again while they
//! issue. How many quotes: `EVENFARE_QUOTES`.

use std::sync::{Arc, RwLock};
use std::time::{Duration, Instant};

use tempfile::TempDir;

use crate::harness::{Addresses, Answers, Cluster, Issuing, Server, World, hold, times};

const CLIENTS: usize = 32;

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn two_servers_on_one_database_keep_every_promise() {
    let Some(postgres) = Cluster::start() else { return };
    let quotes = times("EVENFARE_QUOTES", 400);
    let world = World::on(TempDir::new().unwrap(), postgres.database());
    let first = Server::start(&world.database, &[]);
    let mut second = Server::start(&world.database, &[]);
    let addresses: Addresses = Arc::new(RwLock::new(vec![first.url.clone(), second.url.clone()]));
    let answers: Answers = Arc::default();
    let issuing = Issuing::new(&addresses, &world.office, &answers, "T", quotes);
    let begin = Instant::now();
    let clients: Vec<_> = (0..CLIENTS).map(|number| tokio::spawn(issuing.clone().client(number))).collect();
    // Killed when a part of the work is done, several times over.
    for part in 1..=4 {
        while answers.lock().unwrap().len() < quotes * part / 5 {
            assert!(begin.elapsed() < Duration::from_secs(1_200), "the clients do not get on");
            tokio::time::sleep(Duration::from_millis(2)).await;
        }
        second.kill();
        tokio::time::sleep(Duration::from_millis(50)).await;
        second = Server::start(&world.database, &[]);
        addresses.write().unwrap()[1] = second.url.clone();
    }
    for client in clients {
        client.await.unwrap();
    }
    let took = begin.elapsed();
    let answers = answers.lock().unwrap().clone();
    assert_eq!(answers.len(), quotes);
    let kept = hold(&world.database, &first.url, &world.office, &answers).await;
    assert_eq!(kept, quotes, "a request was kept twice");
    eprintln!("{quotes} quotes by {CLIENTS} clients of two servers, one killed 4 times, in {took:.1?}");
}
