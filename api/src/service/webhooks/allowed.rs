//! Which addresses deliveries may go to: public ones, and others only where the operator has listed
//! them.

use std::net::{IpAddr, Ipv4Addr, Ipv6Addr};
use std::str::FromStr;

use ipnet::IpNet;

/// An entry of the operator's list.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Entry {
    /// Addresses.
    Net(IpNet),
    /// A host by its name, whatever it resolves to.
    Host(String),
}

/// The operator's list.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Allowed(Vec<Entry>);

impl FromStr for Entry {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        if let Ok(net) = text.parse() {
            return Ok(Self::Net(net));
        }
        if let Ok(address) = text.parse::<IpAddr>() {
            return Ok(Self::Net(address.into()));
        }
        let named = |c: char| c.is_ascii_alphanumeric() || "-._".contains(c);
        if text.is_empty() || !text.chars().all(named) || !text.contains(char::is_alphabetic) {
            return Err(format!(
                "{text:?} is neither an address, nor a range such as 10.0.0.0/8, nor the name of a host"
            ));
        }
        Ok(Self::Host(text.to_ascii_lowercase()))
    }
}

impl FromIterator<Entry> for Allowed {
    fn from_iter<I: IntoIterator<Item = Entry>>(entries: I) -> Self {
        Self(entries.into_iter().collect())
    }
}

impl Allowed {
    /// Whether the operator has listed an address, or the host that has it.
    pub fn lists(&self, host: &str, address: IpAddr) -> bool {
        let address = plain(address);
        self.0.iter().any(|entry| match entry {
            Entry::Net(net) => net.contains(&address),
            Entry::Host(name) => name.eq_ignore_ascii_case(host.trim_end_matches('.')),
        })
    }

    /// Whether a delivery may go to an address that a host has; without encryption only where the operator
    /// has listed it.
    pub fn takes(&self, host: &str, address: IpAddr, encrypted: bool) -> bool {
        self.lists(host, address) || (encrypted && is_public(address))
    }
}

/// An address of version 4 that is written as one of version 6, as what it is.
fn plain(address: IpAddr) -> IpAddr {
    match address {
        IpAddr::V6(v6) => v6.to_ipv4_mapped().map_or(address, IpAddr::V4),
        IpAddr::V4(_) => address,
    }
}

/// Whether an address is reached over the public internet: none of those that the registries of
/// special-purpose addresses (RFC 6890 and its updates) set aside.
pub fn is_public(address: IpAddr) -> bool {
    match plain(address) {
        IpAddr::V4(v4) => is_public_v4(v4),
        IpAddr::V6(v6) => is_public_v6(v6),
    }
}

fn is_public_v4(address: Ipv4Addr) -> bool {
    let [a, b, c, _] = address.octets();
    let aside = match (a, b, c) {
        // This network, private use, loopback, link local, multicast, reserved.
        (0 | 10 | 127 | 224.., ..) | (169, 254, _) | (192, 168, _) => true,
        (172, b, _) => (16..32).contains(&b),
        // Shared among providers.
        (100, b, _) => (64..128).contains(&b),
        // Protocols, documentation, relays, benchmarks.
        (192, 0, 0 | 2) | (192, 88, 99) | (198, 18 | 19, _) => true,
        (198, 51, 100) | (203, 0, 113) => true,
        _ => false,
    };
    !aside
}

fn is_public_v6(address: Ipv6Addr) -> bool {
    let s = address.segments();
    // All that is given out begins with 001; within it protocols (Teredo among them), documentation
    // and what carries an address of version 4 are set aside.
    let given_out = s[0] & 0xe000 == 0x2000;
    let protocols = s[0] == 0x2001 && s[1] < 0x0200;
    let documentation = (s[0] == 0x2001 && s[1] == 0x0db8) || (s[0] == 0x3fff && s[1] < 0x1000);
    let carries_v4 = s[0] == 0x2002;
    given_out && !protocols && !documentation && !carries_v4
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ip(text: &str) -> IpAddr {
        text.parse().unwrap()
    }

    #[test]
    fn what_is_not_public_is_told_from_what_is() {
        let aside = [
            "0.0.0.0",
            "10.1.2.3",
            "100.64.0.1",
            "127.0.0.1",
            "127.8.8.8",
            "169.254.169.254",
            "172.16.0.1",
            "172.31.255.255",
            "192.0.0.8",
            "192.0.2.1",
            "192.88.99.1",
            "192.168.1.1",
            "198.18.0.1",
            "198.19.255.255",
            "198.51.100.7",
            "203.0.113.9",
            "224.0.0.1",
            "240.0.0.1",
            "255.255.255.255",
            "::",
            "::1",
            "::ffff:127.0.0.1",
            "::ffff:10.0.0.1",
            "::127.0.0.1",
            "64:ff9b::7f00:1",
            "100::1",
            "2001::1",
            "2001:db8::1",
            "2002:7f00:1::",
            "3fff::1",
            "fc00::1",
            "fd12::1",
            "fe80::1",
            "fec0::1",
            "ff02::1",
        ];
        for text in aside {
            assert!(!is_public(ip(text)), "{text}");
        }
        let public = [
            "1.1.1.1",
            "100.63.255.255",
            "100.128.0.1",
            "172.15.0.1",
            "172.32.0.1",
            "192.0.1.1",
            "198.20.0.1",
            "223.255.255.255",
            "::ffff:1.1.1.1",
            "2001:200::1",
            "2606:4700::1111",
            "3ffe::1",
        ];
        for text in public {
            assert!(is_public(ip(text)), "{text}");
        }
    }

    #[test]
    fn the_list_opens_what_it_names_and_nothing_else() {
        let entries = ["10.0.0.0/8", "192.168.1.7", "fd00::/8", "Till.shop.example"];
        let allowed: Allowed = entries.iter().map(|e| e.parse().unwrap()).collect();
        for (host, address) in [
            ("a", "10.9.9.9"),
            ("a", "::ffff:10.9.9.9"),
            ("a", "192.168.1.7"),
            ("a", "fd00::1"),
            ("till.SHOP.example.", "127.0.0.1"),
        ] {
            assert!(allowed.takes(host, ip(address), false), "{host} {address}");
        }
        for (host, address) in [
            ("a", "192.168.1.8"),
            ("a", "127.0.0.1"),
            ("b.till.shop.example", "127.0.0.1"),
            ("localhost", "::1"),
        ] {
            assert!(!allowed.takes(host, ip(address), true), "{host} {address}");
        }
        assert!(allowed.takes("a", ip("1.1.1.1"), true));
        let open = allowed.takes("a", ip("1.1.1.1"), false);
        assert!(!open, "nothing goes over the internet in the open");
    }

    #[test]
    fn what_is_no_entry_is_told() {
        for wrong in ["", "10.0.0.0/33", "http://a", "a b", "1.2.3", "a:80"] {
            assert!(wrong.parse::<Entry>().is_err(), "{wrong}");
        }
    }
}
