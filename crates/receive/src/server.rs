//! Listening, and when to stop.

use crate::addresses::is_local;
use crate::guests::{Guests, Seat};
use crate::pairing::Pairing;
use crate::room::{Room, close};
use crate::routes::respond;
use crate::uploads::Uploads;
use crate::{Bench, Error, Event, Identity, Invitation, Limits, Page, StopReason};
use hyper::server::conn::http1;
use hyper::service::service_fn;
use hyper_util::rt::{TokioIo, TokioTimer};
use std::convert::Infallible;
use std::net::{IpAddr, SocketAddr};
use std::pin::pin;
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::{Semaphore, watch};
use tokio::task::{JoinHandle, JoinSet};
use tokio::time::timeout;
use tokio_rustls::TlsAcceptor;

/// How often the time is looked at.
const TICK: Duration = Duration::from_millis(250);
/// A stopped server waits so long for answers under way.
const LAST_ANSWERS: Duration = Duration::from_secs(2);
/// A head of a request may be so long, bytes, and have so many lines.
const HEAD_BYTES: usize = 16 * 1024;
const HEAD_LINES: usize = 64;
/// The port that browsers do not name.
const HTTPS: u16 = 443;

/// What a server is started with.
#[derive(Clone, Debug)]
pub struct Setup {
    /// Address of this computer on the local network.
    pub address: IpAddr,
    /// Port; 0 lets the system choose one.
    pub port: u16,
    /// Certificate and key.
    pub identity: Identity,
    /// The page that the phone opens.
    pub page: Page,
    /// What is allowed.
    pub limits: Limits,
}

/// A running server. It stops when it is dropped.
#[derive(Debug)]
pub struct Receiving {
    invitation: Invitation,
    stop: watch::Sender<Option<StopReason>>,
    task: JoinHandle<StopReason>,
}

impl Receiving {
    /// What the bench shows, so that a phone gets in.
    pub fn invitation(&self) -> &Invitation {
        &self.invitation
    }

    /// Stops it; photos that arrived whole are still taken in.
    pub fn stop(&self) {
        close(&self.stop, StopReason::Asked);
    }

    /// Waits until it has stopped.
    pub async fn ended(&mut self) -> StopReason {
        (&mut self.task).await.unwrap_or(StopReason::Asked)
    }
}

impl Drop for Receiving {
    fn drop(&mut self) {
        self.stop();
    }
}

/// Starts a server for one check. It needs the runtime of tokio around it.
///
/// # Errors
/// An address that is not of a local network or cannot be listened on, a certificate that does not serve.
pub async fn receive<B: Bench>(setup: Setup, bench: Arc<B>) -> Result<Receiving, Error> {
    if !is_local(setup.address) {
        return Err(Error::NotLocal(setup.address));
    }
    let acceptor = TlsAcceptor::from(Arc::new(setup.identity.tls()?));
    let wanted = SocketAddr::new(setup.address, setup.port);
    let in_the_way = |reason| Error::Bind {
        address: wanted,
        reason,
    };
    let listener = TcpListener::bind(wanted).await.map_err(in_the_way)?;
    let address = listener.local_addr().map_err(in_the_way)?;
    let (limits, now) = (setup.limits, Instant::now());
    let pairing = Pairing::new(limits.wrong_codes, now + limits.code_life)?;
    let invitation = Invitation::new(address, pairing.code(), setup.identity.fingerprint())?;
    let (stop, _) = watch::channel(None);
    let room = Arc::new(Room {
        limits,
        authority: authority(address),
        fingerprint: setup.identity.fingerprint(),
        page: setup.page,
        bench,
        pairing: Mutex::new(pairing),
        uploads: Mutex::new(Uploads::new(limits)),
        guests: Guests::new(limits),
        looking: Semaphore::new(1),
        last_used: Mutex::new(now),
        stop: stop.clone(),
    });
    room.bench.hear(&Event::Started { address });
    Ok(Receiving {
        invitation,
        stop,
        task: tokio::spawn(listen(listener, acceptor, room)),
    })
}

/// An address as browsers name it: they leave out the port that is usual for HTTPS.
fn authority(address: SocketAddr) -> String {
    match address {
        SocketAddr::V4(v4) if v4.port() == HTTPS => v4.ip().to_string(),
        SocketAddr::V6(v6) if v6.port() == HTTPS => format!("[{}]", v6.ip()),
        other => other.to_string(),
    }
}

async fn listen<B: Bench>(listener: TcpListener, acceptor: TlsAcceptor, room: Arc<Room<B>>) -> StopReason {
    let mut stopped = room.stop.subscribe();
    let mut connections = JoinSet::new();
    let mut tick = tokio::time::interval(TICK);
    let reason = loop {
        let asked = *stopped.borrow_and_update();
        if let Some(reason) = asked {
            break reason;
        }
        tokio::select! {
            _ = stopped.changed() => {}
            _ = tick.tick() => room.close_if_overdue(Instant::now()),
            Some(_) = connections.join_next() => {}
            accepted = listener.accept() => match accepted {
                Ok((stream, from)) => {
                    // One that is not let in is closed by being dropped.
                    if let Some(seat) = room.guests.enter(from.ip(), Instant::now()) {
                        connections.spawn(serve(stream, from.ip(), acceptor.clone(), room.clone(), seat));
                    }
                }
                // Out of file handles, or a peer that is gone again: others may be let in a moment later.
                Err(_) => tokio::time::sleep(TICK).await,
            },
        }
    };
    drop(listener);
    let last = async { while connections.join_next().await.is_some() {} };
    // What is left is cut off when the set is dropped.
    let _ = timeout(LAST_ANSWERS, last).await;
    room.bench.hear(&Event::Stopped(reason));
    reason
}

async fn serve<B: Bench>(
    stream: TcpStream,
    from: IpAddr,
    acceptor: TlsAcceptor,
    room: Arc<Room<B>>,
    seat: Seat,
) {
    let _until_the_end = seat;
    let limits = room.limits;
    let Ok(Ok(stream)) = timeout(limits.head_wait, acceptor.accept(stream)).await else {
        return;
    };
    let mut stopped = room.stop.subscribe();
    let service = service_fn(move |request| {
        let room = room.clone();
        async move { Ok::<_, Infallible>(respond(room, from, request).await) }
    });
    let mut connection = pin!(
        http1::Builder::new()
            .timer(TokioTimer::new())
            .header_read_timeout(limits.head_wait)
            .max_buf_size(HEAD_BYTES)
            .max_headers(HEAD_LINES)
            .serve_connection(TokioIo::new(stream), service)
    );
    let told_to_stop = async { stopped.wait_for(Option::is_some).await.is_ok() };
    tokio::select! {
        _ = connection.as_mut() => return,
        _ = told_to_stop => {}
        () = tokio::time::sleep(limits.connection_life) => {}
    }
    connection.as_mut().graceful_shutdown();
    // One that does not come to its end is cut off.
    let _ = timeout(limits.body_wait, connection).await;
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_address_is_known_as_a_browser_names_it() {
        for (address, named) in [
            ("192.168.1.20:4433", "192.168.1.20:4433"),
            ("192.168.1.20:443", "192.168.1.20"),
            ("[fd00::1]:4433", "[fd00::1]:4433"),
            ("[fd00::1]:443", "[fd00::1]"),
        ] {
            assert_eq!(authority(address.parse().expect("an address")), named);
        }
    }
}
