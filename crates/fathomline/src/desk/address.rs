//! Where phones find the desk: its address in the hut's Wi-Fi, and the QR code that brings them there.

use qrcode::{Color, EcLevel, QrCode};
use std::fmt::Write;
use std::net::{IpAddr, SocketAddr};

/// Addresses of this machine that a phone can reach when the desk listens at `listen`, the likeliest first.
pub fn reachable(listen: SocketAddr) -> Vec<IpAddr> {
    if !listen.ip().is_unspecified() {
        return vec![listen.ip()];
    }
    let mut all: Vec<IpAddr> =
        if_addrs::get_if_addrs().map(|all| all.into_iter().map(|one| one.ip()).collect()).unwrap_or_default();
    all.retain(|ip| match ip {
        IpAddr::V4(v4) => !v4.is_loopback() && !v4.is_unspecified(),
        IpAddr::V6(_) => false,
    });
    all.sort_by_key(|ip| (likeliness(ip), *ip));
    all.dedup();
    if all.is_empty() {
        all.push(IpAddr::from([127, 0, 0, 1]));
    }
    all
}

/// The smaller the likelier: home networks, other private ones, self-assigned, the rest.
fn likeliness(ip: &IpAddr) -> u8 {
    match ip {
        IpAddr::V4(v4) if v4.octets()[0] == 192 => 0,
        IpAddr::V4(v4) if v4.octets()[0] == 10 => 1,
        IpAddr::V4(v4) if v4.is_private() => 2,
        IpAddr::V4(v4) if v4.is_link_local() => 4,
        _ => 3,
    }
}

/// `http://192.168.1.20:7316`.
pub fn url(ip: IpAddr, port: u16, tls: bool) -> String {
    let scheme = if tls { "https" } else { "http" };
    format!("{scheme}://{}", SocketAddr::new(ip, port))
}

/// A QR code for the terminal: two dots a letter, on a light ground of its own.
pub fn qr_text(text: &str) -> String {
    let Some((dots, width)) = dots(text) else { return String::new() };
    let dark = |row: i32, col: i32| {
        let inside = row >= 0 && col >= 0 && (row as usize) < width && (col as usize) < width;
        inside && dots[row as usize * width + col as usize]
    };
    let (edge, most) = (-2, width as i32 + 2);
    let mut out = String::new();
    for row in (edge..most).step_by(2) {
        // Light is drawn, so that it scans on a dark terminal.
        for col in edge..most {
            out.push(match (dark(row, col), dark(row + 1, col)) {
                (false, false) => '█',
                (false, true) => '▀',
                (true, false) => '▄',
                (true, true) => ' ',
            });
        }
        out.push('\n');
    }
    out
}

/// A QR code as SVG, with the quiet ground round it.
pub fn qr_svg(text: &str) -> String {
    let Some((dots, width)) = dots(text) else { return String::new() };
    let size = width + 8;
    let mut path = String::new();
    for (k, _) in dots.iter().enumerate().filter(|(_, dark)| **dark) {
        let _ = write!(path, "M{} {}h1v1h-1z", k % width + 4, k / width + 4);
    }
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {size} {size}\" shape-rendering=\"crispEdges\" role=\"img\" \
         aria-label=\"QR code to join\"><path fill=\"#fff\" d=\"M0 0h{size}v{size}H0z\"/><path d=\"{path}\"/></svg>"
    )
}

fn dots(text: &str) -> Option<(Vec<bool>, usize)> {
    let code = QrCode::with_error_correction_level(text, EcLevel::M).ok()?;
    let width = code.width();
    Some((code.to_colors().into_iter().map(|c| c == Color::Dark).collect(), width))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn addresses_are_those_of_the_network() {
        let fixed: SocketAddr = "10.1.2.3:80".parse().unwrap();
        assert_eq!(reachable(fixed), [fixed.ip()]);
        assert!(!reachable("0.0.0.0:80".parse().unwrap()).is_empty());
        assert_eq!(url(fixed.ip(), 7316, true), "https://10.1.2.3:7316");
        assert_eq!(url("::1".parse().unwrap(), 1, false), "http://[::1]:1");
        assert!(likeliness(&"192.168.0.1".parse().unwrap()) < likeliness(&"169.254.0.1".parse().unwrap()));
    }

    #[test]
    fn both_drawings_hold_the_same_dots() {
        let text = "http://192.168.1.20:7316/join?t=0123456789";
        let (dots, width) = dots(text).unwrap();
        let svg = qr_svg(text);
        assert_eq!(svg.matches("h1v1h-1z").count(), dots.iter().filter(|d| **d).count());
        let drawn = qr_text(text);
        assert_eq!(drawn.lines().next().unwrap().chars().count(), width + 4);
        let light: usize = drawn
            .chars()
            .map(|c| match c {
                '█' => 2,
                '▀' | '▄' => 1,
                _ => 0,
            })
            .sum();
        let all = (width + 4) * drawn.lines().count() * 2;
        assert_eq!(all - light, dots.iter().filter(|d| **d).count());
        assert!(qr_svg(&"x".repeat(9000)).is_empty(), "too long for any code");
    }
}
