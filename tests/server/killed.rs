//! A server on SQLite, killed at random moments while many clients issue quotes. How often:
//! `EVENFARE_KILLS`.

use std::sync::{Arc, RwLock};
use std::time::Duration;

use rand::Rng;
use tokio::task::JoinHandle;

use crate::harness::{Addresses, Answers, Issuing, Server, World, hold, times};

const CLIENTS: usize = 32;

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn nothing_answered_is_lost_when_the_server_is_killed() {
    let kills = times("EVENFARE_KILLS", 6);
    let world = World::new();
    let (addresses, answers): (Addresses, Answers) = (Arc::new(RwLock::new(Vec::new())), Arc::default());
    // More than are ever answered: the clients are never done before the last kill.
    let issuing = Issuing::new(&addresses, &world.office, &answers, "K", usize::MAX);
    let clients = all_of(&issuing);
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
    for client in clients {
        client.abort();
        // None goes on behind our back: what was begun is known from here on.
        let _ = client.await;
    }
    let begun = issuing.begun();
    let server = Server::start(&world.database, &[]);
    let answers = answers.lock().unwrap().clone();
    let kept = hold(&world.database, &server.url, &world.office, &answers).await;
    eprintln!("killed {kills} times: {begun} begun, {kept} kept, {} answered, none lost", answers.len());
    assert!(answers.len() > kills * CLIENTS / 2);
    assert!((answers.len()..=begun).contains(&kept), "more is kept than was begun");

    // All that was begun is asked for again: what was kept is answered the same, and the rest is kept now. A request
    // that stood twice, or that was kept and forgotten, would make more quotes of them, or fewer.
    let again: Answers = Arc::default();
    *addresses.write().unwrap() = vec![server.url.clone()];
    let issuing = Issuing::new(&addresses, &world.office, &again, "K", begun);
    for client in all_of(&issuing) {
        client.await.unwrap();
    }
    let again = again.lock().unwrap().clone();
    assert!(answers.iter().all(|(id, number)| again.get(id) == Some(number)), "answered in two ways");
    assert_eq!(again.len(), begun);
    assert_eq!(hold(&world.database, &server.url, &world.office, &again).await, begun);
}

fn all_of(issuing: &Issuing) -> Vec<JoinHandle<()>> {
    (0..CLIENTS).map(|number| tokio::spawn(issuing.clone().client(number))).collect()
}
