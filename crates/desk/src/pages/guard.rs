//! What is refused before a page is asked: other hosts, other origins, forms that this program did not make.

use std::net::{IpAddr, SocketAddr};
use std::sync::Arc;

use axum::extract::{Request, State};
use axum::http::{HeaderMap, HeaderName, HeaderValue, Method, StatusCode, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};

use super::House;
use super::frame;

/// Only this machine.
pub fn is_loopback(address: &SocketAddr) -> bool {
    match address.ip() {
        IpAddr::V4(ip) => ip.is_loopback(),
        IpAddr::V6(ip) => ip.is_loopback(),
    }
}

/// Scripts, styles and requests of these pages alone.
const POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; manifest-src 'self'; \
                      form-action 'self'; base-uri 'none'; frame-ancestors 'none'";

/// Refuses what does not come from these pages, and says to the browser what they may do.
pub async fn guard(State(house): State<Arc<House>>, request: Request, next: Next) -> Response {
    let mut response = match refusal(request.method(), request.headers()) {
        Some(why) => frame::refused(StatusCode::FORBIDDEN, &house, why).into_response(),
        None => next.run(request).await,
    };
    let headers = response.headers_mut();
    let fixed: [(HeaderName, &'static str); 6] = [
        (header::CONTENT_SECURITY_POLICY, POLICY),
        (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
        (header::X_FRAME_OPTIONS, "DENY"),
        // Without a referrer of their own, browsers send forms as from nowhere.
        (header::REFERRER_POLICY, "same-origin"),
        (HeaderName::from_static("cross-origin-opener-policy"), "same-origin"),
        (HeaderName::from_static("cross-origin-resource-policy"), "same-origin"),
    ];
    for (name, value) in fixed {
        headers.insert(name, HeaderValue::from_static(value));
    }
    headers.entry(header::CACHE_CONTROL).or_insert(HeaderValue::from_static("no-store"));
    response
}

/// Why a request is refused; none when it may go on.
fn refusal(method: &Method, headers: &HeaderMap) -> Option<&'static str> {
    let text = |name: HeaderName| headers.get(name).and_then(|value| value.to_str().ok());
    // A name that somebody else lets point at this machine is not this machine.
    let host = text(header::HOST).unwrap_or("");
    if !is_here(host) {
        return Some("These pages answer to this machine alone (127.0.0.1, [::1] or localhost).");
    }
    if let Some(origin) = text(header::ORIGIN) {
        let from_here = origin.strip_prefix("http://").is_some_and(|origin| origin == host);
        if !from_here {
            return Some("This was asked for by a page of somebody else.");
        }
    }
    let site = text(HeaderName::from_static("sec-fetch-site"));
    let writes = !matches!(*method, Method::GET | Method::HEAD);
    if writes && site.is_some_and(|site| !matches!(site, "same-origin" | "none")) {
        return Some("This was sent by a page of somebody else.");
    }
    None
}

fn is_here(host: &str) -> bool {
    let name = match host.rsplit_once(':') {
        Some((name, port)) if !port.is_empty() && port.bytes().all(|b| b.is_ascii_digit()) => name,
        _ => host,
    };
    matches!(name, "127.0.0.1" | "localhost" | "[::1]")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn asked(method: Method, pairs: &[(&str, &str)]) -> Option<&'static str> {
        let mut headers = HeaderMap::new();
        for (name, value) in pairs {
            if let (Ok(name), Ok(value)) = (name.parse::<HeaderName>(), value.parse()) {
                headers.insert(name, value);
            }
        }
        refusal(&method, &headers)
    }

    #[test]
    fn only_this_machine_and_these_pages_are_heard() {
        assert_eq!(asked(Method::GET, &[("host", "127.0.0.1:8413")]), None);
        assert_eq!(asked(Method::GET, &[("host", "localhost")]), None);
        assert_eq!(asked(Method::GET, &[("host", "[::1]:8413")]), None);
        for host in ["", "example.org", "127.0.0.1.example.org", "localhost.example.org:80", "127.0.0.1:80:x"]
        {
            assert!(asked(Method::GET, &[("host", host)]).is_some(), "{host}");
        }
        let here = ("host", "127.0.0.1:8413");
        assert_eq!(asked(Method::POST, &[here, ("origin", "http://127.0.0.1:8413")]), None);
        for origin in ["null", "http://127.0.0.1:1", "https://127.0.0.1:8413", "http://example.org"] {
            assert!(asked(Method::POST, &[here, ("origin", origin)]).is_some(), "{origin}");
        }
        assert!(asked(Method::POST, &[here, ("sec-fetch-site", "cross-site")]).is_some());
        assert!(asked(Method::POST, &[here, ("sec-fetch-site", "same-site")]).is_some());
        assert_eq!(asked(Method::POST, &[here, ("sec-fetch-site", "same-origin")]), None);
    }

    #[test]
    fn loopback_is_loopback() {
        let is = |text: &str| text.parse::<SocketAddr>().is_ok_and(|address| is_loopback(&address));
        assert!(is("127.0.0.1:1") && is("127.9.0.1:1") && is("[::1]:1"));
        assert!(!is("0.0.0.0:1") && !is("192.168.1.2:1") && !is("[::]:1") && !is("[::ffff:127.0.0.1]:1"));
    }
}
