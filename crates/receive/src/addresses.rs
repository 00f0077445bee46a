//! The addresses of a local network, and those that this computer has.

use std::net::IpAddr;

/// This computer's addresses on its local networks, the likeliest for a phone first; its own loopback when there is no other.
///
/// Link-local ones are left out: a browser does not open them without the name of the phone's own interface.
pub fn local_addresses() -> Vec<IpAddr> {
    // Where the system does not tell, there is still an address to be tried.
    let interfaces = if_addrs::get_if_addrs().unwrap_or_default();
    chosen(interfaces.into_iter().map(|interface| interface.ip()))
}

fn chosen(all: impl Iterator<Item = IpAddr>) -> Vec<IpAddr> {
    let mut usable: Vec<IpAddr> = all
        .filter(|address| is_local(*address) && !address.is_loopback() && !is_link_local(*address))
        .collect();
    // IPv4 before IPv6: it is the one that can be typed.
    usable.sort();
    usable.dedup();
    if usable.is_empty() {
        usable.push(IpAddr::from([127, 0, 0, 1]));
    }
    usable
}

fn is_link_local(address: IpAddr) -> bool {
    match address {
        IpAddr::V4(v4) => v4.is_link_local(),
        IpAddr::V6(v6) => v6.is_unicast_link_local(),
    }
}

/// Loopback, private (RFC 1918), link-local (RFC 3927) and unique local (RFC 4193) addresses.
pub(crate) fn is_local(address: IpAddr) -> bool {
    match address {
        IpAddr::V4(v4) => v4.is_loopback() || v4.is_private() || v4.is_link_local(),
        IpAddr::V6(v6) => v6.is_loopback() || v6.is_unique_local(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_local_addresses_are_listened_on() {
        let local = |text: &str| is_local(text.parse().expect("an address"));
        for text in [
            "127.0.0.1",
            "10.0.0.7",
            "172.31.0.1",
            "192.168.1.20",
            "169.254.3.4",
            "::1",
            "fd00::1",
        ] {
            assert!(local(text), "{text} is refused");
        }
        for text in [
            "0.0.0.0",
            "::",
            "8.8.8.8",
            "172.32.0.1",
            "224.0.0.1",
            "255.255.255.255",
            "2001:db8::1",
        ] {
            assert!(!local(text), "{text} is taken");
        }
    }

    #[test]
    fn addresses_that_a_phone_can_open_are_offered() {
        let offered = |all: &[&str]| {
            let all = all.iter().map(|text| text.parse().expect("an address"));
            chosen(all).iter().map(ToString::to_string).collect::<Vec<_>>()
        };
        let many = [
            "127.0.0.1",
            "::1",
            "fd00::2",
            "fe80::1",
            "192.168.1.20",
            "192.168.1.20",
            "8.8.8.8",
            "169.254.3.4",
        ];
        assert_eq!(offered(&many), ["192.168.1.20", "fd00::2"]);
        assert_eq!(offered(&["127.0.0.1", "::1", "203.0.113.4"]), ["127.0.0.1"]);
        assert!(!local_addresses().is_empty());
    }
}
