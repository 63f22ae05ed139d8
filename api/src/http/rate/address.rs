//! The address that a request comes from: the peer's, or the one that a trusted proxy names.

use std::net::{IpAddr, Ipv6Addr, SocketAddr};

use actix_web::http::header::{self, HeaderMap, HeaderName};
use clap::ValueEnum;
use ipnet::IpNet;
use serde::Deserialize;

/// In which header proxies name those that they ask for. One of them only: the other may come from
/// anybody, since a proxy passes on what it does not know.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, ValueEnum, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ProxyHeader {
    /// `X-Forwarded-For`, a list of addresses.
    #[default]
    #[value(name = "x-forwarded-for")]
    XForwardedFor,
    /// `Forwarded` (RFC 7239).
    Forwarded,
}

/// Proxies whose word is taken.
#[derive(Debug, Clone, Default)]
pub struct Proxies {
    /// Their addresses.
    pub trusted: Vec<IpNet>,
    /// Where they write it.
    pub header: ProxyHeader,
}

impl Proxies {
    fn trusts(&self, address: IpAddr) -> bool {
        self.trusted.iter().any(|net| net.contains(&address))
    }

    /// Who asks. From the nearest proxy outwards each trusted one is believed; the first address that is
    /// none of theirs is the caller's, and what stands beyond it is only the caller's own word.
    pub fn caller(&self, peer: IpAddr, headers: &HeaderMap) -> IpAddr {
        let mut caller = peer.to_canonical();
        let named = match self.header {
            ProxyHeader::XForwardedFor => listed(headers),
            ProxyHeader::Forwarded => forwarded(headers),
        };
        for next in named.into_iter().rev() {
            if !self.trusts(caller) {
                break;
            }
            // One that keeps the address to itself stands for it.
            let Some(next) = next else { break };
            caller = next.to_canonical();
        }
        caller
    }
}

/// Whether a proxy of any kind handed a request on.
pub fn is_forwarded(headers: &HeaderMap) -> bool {
    headers.contains_key(header::FORWARDED) || headers.contains_key(header::X_FORWARDED_FOR)
}

/// What is counted as one address: of IPv6 the network that a subscriber gets.
pub fn counted_as(address: IpAddr) -> IpAddr {
    match address.to_canonical() {
        IpAddr::V6(v6) => Ipv6Addr::from_bits(v6.to_bits() >> 64 << 64).into(),
        v4 => v4,
    }
}

/// The lines of a header as one.
fn joined(headers: &HeaderMap, name: HeaderName) -> String {
    let lines = headers
        .get_all(name)
        .map(|line| line.to_str().unwrap_or("?"));
    lines.collect::<Vec<_>>().join(",")
}

fn listed(headers: &HeaderMap) -> Vec<Option<IpAddr>> {
    let line = joined(headers, header::X_FORWARDED_FOR);
    let items = line.split(',').map(str::trim);
    items.filter(|item| !item.is_empty()).map(node).collect()
}

/// The `for` of each element of `Forwarded`.
fn forwarded(headers: &HeaderMap) -> Vec<Option<IpAddr>> {
    let line = joined(headers, header::FORWARDED);
    let of_element = |element: &str| {
        let mut pairs = element.split(';').filter_map(|pair| pair.split_once('='));
        let own = pairs.find(|(name, _)| name.trim().eq_ignore_ascii_case("for"));
        own.and_then(|(_, value)| node(value.trim().trim_matches('"')))
    };
    let elements = line.split(',').filter(|element| !element.trim().is_empty());
    elements.map(of_element).collect()
}

/// An address with or without a port; `None` where it is hidden or no address.
fn node(text: &str) -> Option<IpAddr> {
    if let Ok(address) = text.parse::<IpAddr>() {
        return Some(address);
    }
    if let Ok(with_port) = text.parse::<SocketAddr>() {
        return Some(with_port.ip());
    }
    let bare = text.strip_prefix('[')?.strip_suffix(']')?;
    bare.parse::<Ipv6Addr>().ok().map(IpAddr::V6)
}

#[cfg(test)]
mod tests {
    use actix_web::http::header::HeaderValue;

    use super::*;

    fn caller(trusted: &[&str], header: ProxyHeader, peer: &str, lines: &[(&str, &str)]) -> String {
        let proxies = Proxies {
            trusted: trusted.iter().map(|net| net.parse().unwrap()).collect(),
            header,
        };
        let mut headers = HeaderMap::new();
        for (name, value) in lines {
            let name = HeaderName::from_bytes(name.as_bytes()).unwrap();
            headers.append(name, HeaderValue::from_str(value).unwrap());
        }
        proxies.caller(peer.parse().unwrap(), &headers).to_string()
    }

    #[test]
    fn only_a_trusted_proxy_is_believed_and_only_in_its_header() {
        let listed = ProxyHeader::XForwardedFor;
        let (one, both) = (["10.0.0.0/8"], ["10.0.0.0/8", "127.0.0.1/32"]);
        let far = [("x-forwarded-for", "192.0.2.7")];
        assert_eq!(caller(&[], listed, "10.0.0.1", &far), "10.0.0.1");
        assert_eq!(caller(&one, listed, "203.0.113.9", &far), "203.0.113.9");
        assert_eq!(caller(&one, listed, "10.0.0.1", &far), "192.0.2.7");
        assert_eq!(caller(&one, listed, "::ffff:10.0.0.1", &far), "192.0.2.7");
        let other = [("forwarded", "for=198.51.100.1"), far[0]];
        assert_eq!(
            caller(&one, listed, "10.0.0.1", &other),
            "192.0.2.7",
            "the caller's own header"
        );
        let chain = [
            ("x-forwarded-for", "198.51.100.1, 192.0.2.7"),
            ("x-forwarded-for", "10.1.1.1:443"),
        ];
        assert_eq!(
            caller(&both, listed, "127.0.0.1", &chain),
            "192.0.2.7",
            "what stands beyond the first stranger is the stranger's word"
        );
        assert_eq!(caller(&both, listed, "127.0.0.1", &[]), "127.0.0.1");
        let odd = [("x-forwarded-for", "unknown, 10.1.1.1")];
        assert_eq!(caller(&both, listed, "127.0.0.1", &odd), "10.1.1.1");
    }

    #[test]
    fn forwarded_is_read_as_rfc_7239_writes_it() {
        let read = |value: &str| {
            let lines = [("forwarded", value)];
            caller(&["10.0.0.0/8"], ProxyHeader::Forwarded, "10.0.0.1", &lines)
        };
        // The examples of RFC 7239, sections 4 and 6.
        assert_eq!(read("for=192.0.2.43"), "192.0.2.43");
        assert_eq!(
            read("For=\"[2001:db8:cafe::17]:4711\""),
            "2001:db8:cafe::17"
        );
        assert_eq!(
            read("for=192.0.2.60;proto=http;by=203.0.113.43"),
            "192.0.2.60"
        );
        assert_eq!(read("proto=https; for=\"192.0.2.60:47\""), "192.0.2.60");
        assert_eq!(read("for=192.0.2.43, for=198.51.100.17"), "198.51.100.17");
        assert_eq!(
            read("for=\"_gazonk\""),
            "10.0.0.1",
            "hidden: the proxy stands for it"
        );
        assert_eq!(read("for=unknown"), "10.0.0.1");
        assert_eq!(read("for=\"[2001:db8::1]\""), "2001:db8::1");
    }

    #[test]
    fn a_subscribers_ipv6_network_is_one() {
        let counted = |text: &str| counted_as(text.parse().unwrap()).to_string();
        assert_eq!(counted("2001:db8:1:2:3:4:5:6"), "2001:db8:1:2::");
        assert_eq!(counted("::ffff:192.0.2.1"), "192.0.2.1");
    }
}
