//! Connections that are cut at any moment: each photo arrives whole once or not at all.

mod visitor;

use serde_json::Value;
use std::net::SocketAddr;
use std::sync::{Arc, Mutex};
use tokio::io::{AsyncReadExt, AsyncWriteExt};
use tokio::net::{TcpListener, TcpStream};
use visitor::{BYTES, Dice, Visit, photo, sum_of, unhurried};

const PIECE: usize = 16 * 1024;
/// Connections that are cut.
const CUTS: usize = 100;
/// Bytes, either way, after which one is cut at the latest: a handshake and a piece take about 19,000.
const MOST_CARRIED: usize = 25_000;

/// Decides when connections are cut, and counts those that were.
struct Knife {
    dice: Dice,
    cuts: usize,
}

impl Knife {
    fn budget(&mut self) -> usize {
        if self.cuts < CUTS {
            1 + self.dice.below(MOST_CARRIED)
        } else {
            usize::MAX
        }
    }
}

/// Passes on connections and cuts each after a number of bytes.
async fn cutter(to: SocketAddr, knife: Arc<Mutex<Knife>>) -> SocketAddr {
    let listener = TcpListener::bind("127.0.0.1:0").await.expect("a port");
    let here = listener.local_addr().expect("an address");
    tokio::spawn(async move {
        while let Ok((near, _)) = listener.accept().await {
            let budget = knife.lock().expect("knife").budget();
            let far = TcpStream::connect(to).await.expect("the server");
            let knife = knife.clone();
            tokio::spawn(async move {
                if carry(near, far, budget).await {
                    knife.lock().expect("knife").cuts += 1;
                }
            });
        }
    });
    here
}

/// Carries so many bytes; whether it was cut after them and did not end before.
async fn carry(mut near: TcpStream, mut far: TcpStream, mut budget: usize) -> bool {
    let (mut there, mut back) = ([0; 1000], [0; 1000]);
    while budget > 0 {
        let carried = tokio::select! {
            read = near.read(&mut there) => match read {
                Ok(count) if count > 0 => far.write_all(&there[..count.min(budget)]).await.map(|()| count),
                _ => return false,
            },
            read = far.read(&mut back) => match read {
                Ok(count) if count > 0 => near.write_all(&back[..count.min(budget)]).await.map(|()| count),
                _ => return false,
            },
        };
        let Ok(count) = carried else { return false };
        budget = budget.saturating_sub(count);
    }
    true
}

/// One try to bring a photo to its end; what the server says of it last.
async fn bring(visit: &Visit, way: SocketAddr, bytes: &[u8]) -> std::io::Result<Value> {
    let sum = sum_of(bytes);
    let told = serde_json::json!({"sha256": sum, "bytes": bytes.len(), "name": "a.jpg", "by_itself": true});
    let request = visit.request("POST", "/api/photos", &[], told.to_string().as_bytes());
    let mut place = visit.send_by(way, &request).await?.json();
    while place["is"] == "coming" {
        let have = place["have"].as_u64().expect("a number") as usize;
        let piece = &bytes[have..bytes.len().min(have + PIECE)];
        let request = visit.request("PUT", &format!("/api/photos/{sum}?at={have}"), BYTES, piece);
        place = visit.send_by(way, &request).await?.json();
    }
    Ok(place)
}

#[tokio::test(flavor = "multi_thread")]
async fn each_photo_arrives_whole_once() {
    let visit = Visit::paired(unhurried()).await;
    let mut dice = Dice(20_260_308);
    let knife = Arc::new(Mutex::new(Knife {
        dice: Dice(8_030_626),
        cuts: 0,
    }));
    let way = cutter(visit.address, knife.clone()).await;
    let mut sent = Vec::new();
    let mut lost = 0;
    while knife.lock().expect("knife").cuts < CUTS {
        let bytes = photo(&mut dice, 150_000);
        loop {
            match bring(&visit, way, &bytes).await {
                Ok(place) if place["is"] == "kept" => break,
                // It is being looked at, since the connection was cut after its last piece.
                Ok(place) => assert_eq!(place["is"], "checking"),
                Err(_) => lost += 1,
            }
        }
        sent.push(bytes);
    }
    println!("{} photos, {lost} connections lost of {CUTS} cut", sent.len());
    assert!(
        sent.len() > 2 && lost > CUTS / 2,
        "{} photos, {lost} losses",
        sent.len()
    );
    let kept = visit.bench.photos.lock().expect("photos");
    let kept: Vec<&[u8]> = kept.iter().map(|photo| photo.bytes.as_slice()).collect();
    assert!(
        kept == sent,
        "{} photos were sent and {} kept, or others",
        sent.len(),
        kept.len()
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn what_is_given_up_half_way_is_not_there() {
    let visit = Visit::paired(unhurried()).await;
    let bytes = photo(&mut Dice(7), 100_000);
    let sum = sum_of(&bytes);
    visit.announce(&sum, bytes.len(), "a.jpg").await;
    visit.piece(&sum, 0, &bytes[..50_000]).await;
    // A piece whose connection ends before it does.
    let mut cut = visit.request(
        "PUT",
        &format!("/api/photos/{sum}?at=50000"),
        BYTES,
        &bytes[50_000..],
    );
    cut.truncate(cut.len() - 1000);
    let mut stream = visit
        .secure(TcpStream::connect(visit.address).await.expect("connected"))
        .await
        .expect("secure");
    stream.write_all(&cut).await.expect("sent");
    drop(stream);
    tokio::time::sleep(std::time::Duration::from_millis(100)).await;
    let place = visit.announce(&sum, bytes.len(), "a.jpg").await.json();
    assert_eq!(place, serde_json::json!({"is": "coming", "have": 50_000}));
    assert!(visit.bench.photos.lock().expect("photos").is_empty());
}
