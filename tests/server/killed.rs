//! A server on SQLite, killed at random moments while many clients issue quotes. How often:
//! `EVENFARE_KILLS`.

use std::sync::{Arc, RwLock};
use std::time::Duration;

use rand::Rng;

use crate::harness::{Addresses, Answers, Issuing, Server, World, hold, times};

const CLIENTS: usize = 16;

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn nothing_answered_is_lost_when_the_server_is_killed() {
    let kills = times("EVENFARE_KILLS", 6);
    let world = World::new();
    let (addresses, answers): (Addresses, Answers) = (Arc::new(RwLock::new(Vec::new())), Arc::default());
    // More than are ever answered: the clients are never done before the last kill.
    let issuing = Issuing::new(&addresses, &world.office, &answers, "K", usize::MAX);
    let clients: Vec<_> = (0..CLIENTS).map(|number| tokio::spawn(issuing.clone().client(number))).collect();
    for kill in 0..kills {
        let server = Server::start(&world.database, &[]);
        *addresses.write().unwrap() = vec![server.url.clone()];
        let before = answers.lock().unwrap().len();
        // Now and then before anything was answered, else in the middle of it.
        if kill % 8 != 0 {
            let begin = std::time::Instant::now();
            while answers.lock().unwrap().len() < before + CLIENTS {
                assert!(begin.elapsed() < Duration::from_secs(30), "nothing is answered");
                tokio::time::sleep(Duration::from_millis(1)).await;
            }
        }
        let moment = rand::rng().random_range(0..30_000);
        tokio::time::sleep(Duration::from_micros(moment)).await;
        addresses.write().unwrap().clear();
        server.kill();
    }
    clients.iter().for_each(tokio::task::JoinHandle::abort);
    let server = Server::start(&world.database, &[]);
    let answers = answers.lock().unwrap().clone();
    let quotes = hold(&world.database, &server.url, &world.office, &answers).await;
    eprintln!("killed {kills} times: {} answered, {quotes} kept, none lost", answers.len());
    assert!(answers.len() > kills * CLIENTS / 2);

    // What was answered is answered the same again.
    let again: Answers = Arc::default();
    *addresses.write().unwrap() = vec![server.url.clone()];
    let most = issuing.begun().min(200);
    let issuing = Issuing::new(&addresses, &world.office, &again, "K", most);
    issuing.client(0).await;
    for (id, number) in again.lock().unwrap().iter() {
        assert!(answers.get(id).is_none_or(|before| before == number), "{id}");
    }
}
