//! Who is connected, and how often each address asks.

use crate::Limits;
use std::collections::HashMap;
use std::net::IpAddr;
use std::sync::{Arc, Mutex};
use std::time::Instant;

use crate::locked;

/// Addresses remembered before those without a connection are forgotten.
const MOST_REMEMBERED: usize = 1024;

/// Counts connections and requests by address.
pub(crate) struct Guests {
    limits: Limits,
    inner: Mutex<Inner>,
}

#[derive(Default)]
struct Inner {
    all: usize,
    phone: Option<IpAddr>,
    by_address: HashMap<IpAddr, Guest>,
}

struct Guest {
    connections: usize,
    /// Requests that it may make at once, refilled with time.
    credit: f64,
    at: Instant,
}

/// A connection that was let in; it counts until it is dropped.
pub(crate) struct Seat {
    guests: Arc<Guests>,
    address: IpAddr,
}

impl Guests {
    pub(crate) fn new(limits: Limits) -> Arc<Self> {
        Arc::new(Self {
            limits,
            inner: Mutex::default(),
        })
    }

    /// Keeps seats for the paired phone: strangers cannot fill the room.
    pub(crate) fn keep_seats_for(&self, phone: IpAddr) {
        locked(&self.inner).phone = Some(phone);
    }

    /// Lets a connection in, unless there are too many of all or from its address.
    pub(crate) fn enter(self: &Arc<Self>, address: IpAddr, now: Instant) -> Option<Seat> {
        let inner = &mut *locked(&self.inner);
        let most = if inner.phone == Some(address) {
            self.limits.connections
        } else {
            self.limits
                .connections
                .saturating_sub(self.limits.connections_each)
        };
        if inner.by_address.len() >= MOST_REMEMBERED {
            inner.by_address.retain(|_, guest| guest.connections > 0);
        }
        let guest = inner.by_address.entry(address).or_insert(Guest {
            connections: 0,
            credit: self.limits.requests_at_once,
            at: now,
        });
        if inner.all >= most || guest.connections >= self.limits.connections_each {
            return None;
        }
        guest.connections += 1;
        inner.all += 1;
        Some(Seat {
            guests: self.clone(),
            address,
        })
    }

    /// Whether an address may ask once more now.
    pub(crate) fn may_ask(&self, address: IpAddr, now: Instant) -> bool {
        let mut inner = locked(&self.inner);
        let Some(guest) = inner.by_address.get_mut(&address) else {
            return false;
        };
        let gained = now.saturating_duration_since(guest.at).as_secs_f64() * self.limits.requests_a_second;
        guest.credit = (guest.credit + gained).min(self.limits.requests_at_once);
        guest.at = now;
        let may = guest.credit >= 1.0;
        if may {
            guest.credit -= 1.0;
        }
        may
    }
}

impl Drop for Seat {
    fn drop(&mut self) {
        let mut inner = locked(&self.guests.inner);
        inner.all -= 1;
        if let Some(guest) = inner.by_address.get_mut(&self.address) {
            guest.connections -= 1;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::time::Duration;

    fn room() -> Arc<Guests> {
        Guests::new(Limits {
            connections: 6,
            connections_each: 2,
            requests_a_second: 10.0,
            requests_at_once: 3.0,
            ..Limits::default()
        })
    }

    fn address(last: u8) -> IpAddr {
        IpAddr::from([192, 168, 1, last])
    }

    #[test]
    fn strangers_cannot_fill_the_room() {
        let (guests, now) = (room(), Instant::now());
        guests.keep_seats_for(address(9));
        let strangers: Vec<Seat> = (0..20)
            .filter_map(|n| guests.enter(address(n % 5), now))
            .collect();
        assert_eq!(strangers.len(), 4);
        let phone: Vec<Seat> = (0..5).filter_map(|_| guests.enter(address(9), now)).collect();
        assert_eq!(phone.len(), 2);
        drop(strangers);
        assert!(guests.enter(address(1), now).is_some());
    }

    #[test]
    fn requests_are_rationed_and_come_back_with_time() {
        let (guests, now) = (room(), Instant::now());
        let _seat = guests.enter(address(1), now).expect("an empty room");
        let asked = |at| (0..10).filter(|_| guests.may_ask(address(1), at)).count();
        assert_eq!(asked(now), 3);
        assert_eq!(asked(now + Duration::from_millis(110)), 1);
        assert_eq!(asked(now + Duration::from_secs(60)), 3);
    }
}
