//! The page for the room: the addresses by which others in this network reach it, their QR codes, and in plain words
//! what that opens. Asks the network nothing: the addresses are those that this computer knows of itself.

use anyhow::{Context, Result, ensure};
use qrcode::{Color, EcLevel, QrCode};
use serde_json::json;
use std::fmt::Write;
use std::io::IsTerminal;
use std::net::{IpAddr, Ipv4Addr};

/// Where the page asks for its addresses.
pub const PATH: &str = "/room.json";

/// The light squares that belong around a code (ISO/IEC 18004).
const QUIET: usize = 4;

/// The addresses of this computer in its networks, the likeliest one first.
pub fn addresses(port: u16) -> Result<Vec<String>> {
    let all = if_addrs::get_if_addrs().context("cannot list this computer's addresses")?;
    let mut found: Vec<Ipv4Addr> = all
        .iter()
        .filter_map(|one| match one.ip() {
            IpAddr::V4(address) if !address.is_loopback() => Some(address),
            _ => None,
        })
        .collect();
    found.sort_by_key(|address| (rank(*address), *address));
    found.dedup();
    ensure!(!found.is_empty(), "this computer is in no network: join one, then start again, or leave --lan out");
    Ok(found.iter().map(|address| format!("http://{address}:{port}/")).collect())
}

/// Home and school networks first, then larger ones, those that programs make on this computer, and addresses that
/// nobody gave out.
fn rank(address: Ipv4Addr) -> u8 {
    match address.octets() {
        [192, 168, ..] => 0,
        [10, ..] => 1,
        [172, 16..=31, ..] => 3,
        [169, 254, ..] => 4,
        _ => 2,
    }
}

/// What is said in the terminal.
pub fn words(addresses: &[String]) -> Result<String> {
    let mut text = "For the others in this network:\n".to_string();
    for address in addresses {
        let _ = writeln!(text, "  {address}");
    }
    let first = addresses.first().context("this computer is in no network")?;
    text += &terminal(&Code::of(first)?, std::io::stdout().is_terminal());
    text += "Everyone in this network can open the page as long as this runs, and nothing else of this computer.\n\
             The page goes out to them; no job, no result and no name comes back. It goes as plain http: whoever\n\
             controls the network could read it or change it on its way, so do this in a network that you trust.\n\
             Where a phone finds nothing, the firewall of this computer or the network itself keeps them apart.\n\
             Ctrl-C ends it.";
    Ok(text)
}

/// The addresses with their codes, for the page: `d` is the path of the dark squares in a box of `side`.
pub fn told(addresses: &[String]) -> Result<String> {
    let one = |address: &String| {
        let code = Code::of(address)?;
        Ok(json!({ "address": address, "side": code.side, "d": code.path() }))
    };
    Ok(serde_json::to_string(&addresses.iter().map(one).collect::<Result<Vec<_>>>()?)?)
}

/// A QR code with the light squares around it.
struct Code {
    side: usize,
    dark: Vec<bool>,
}

impl Code {
    fn of(text: &str) -> Result<Self> {
        let code = QrCode::with_error_correction_level(text, EcLevel::M).context("the address makes no QR code")?;
        let (width, colours) = (code.width(), code.to_colors());
        let side = width + 2 * QUIET;
        let mut dark = vec![false; side * side];
        for (i, colour) in colours.iter().enumerate() {
            dark[(i / width + QUIET) * side + i % width + QUIET] = *colour == Color::Dark;
        }
        Ok(Self { side, dark })
    }

    fn is_dark(&self, row: usize, column: usize) -> bool {
        row < self.side && self.dark[row * self.side + column]
    }

    /// The dark squares as the path of an SVG, in squares.
    fn path(&self) -> String {
        let mut path = String::new();
        for (row, column) in (0..self.side).flat_map(|row| (0..self.side).map(move |column| (row, column))) {
            if self.is_dark(row, column) {
                let _ = write!(path, "M{column} {row}h1v1h-1z");
            }
        }
        path
    }
}

/// The code in half blocks, two rows a line; black on white where the terminal has colours, as phones like it.
fn terminal(code: &Code, colours: bool) -> String {
    let (begin, end) = if colours { ("\x1b[30;107m", "\x1b[0m") } else { ("", "") };
    let mut text = String::new();
    for row in (0..code.side).step_by(2) {
        let ink = |row, column| code.is_dark(row, column) == colours;
        let halves = |column| match (ink(row, column), ink(row + 1, column)) {
            (true, true) => '\u{2588}',
            (true, false) => '\u{2580}',
            (false, true) => '\u{2584}',
            (false, false) => ' ',
        };
        let line: String = (0..code.side).map(halves).collect();
        let _ = writeln!(text, "{begin}{line}{end}");
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What a phone's camera would read of a picture of squares, a dozen pixels each.
    fn seen(side: usize, dark: impl Fn(usize, usize) -> bool) -> String {
        let light = |x: usize, y: usize| if dark(y / 12, x / 12) { 0 } else { 255 };
        let mut picture = rqrr::PreparedImage::prepare_from_greyscale(12 * side, 12 * side, light);
        let found = picture.detect_grids();
        assert_eq!(found.len(), 1, "one code is seen");
        found[0].decode().expect("it can be read").1
    }

    #[test]
    fn the_codes_are_read_as_the_address() {
        let address = "http://192.168.178.142:8460/";
        let code = Code::of(address).unwrap();
        let told: serde_json::Value = serde_json::from_str(&self::told(&[address.to_string()]).unwrap()).unwrap();
        let path = told[0]["d"].as_str().unwrap();
        let on_page = |row, column| path.contains(&format!("M{column} {row}h1v1h-1z"));
        assert_eq!(seen(told[0]["side"].as_u64().unwrap() as usize, on_page), address);
        for colours in [true, false] {
            let text = terminal(&code, colours);
            let plain = text.replace("\x1b[30;107m", "").replace("\x1b[0m", "");
            let lines: Vec<Vec<char>> = plain.lines().map(|line| line.chars().collect()).collect();
            let ink = |row: usize, column: usize| {
                let inked = if row.is_multiple_of(2) { ['\u{2588}', '\u{2580}'] } else { ['\u{2588}', '\u{2584}'] };
                inked.contains(&lines[row / 2][column])
            };
            assert_eq!(seen(code.side, |row, column| ink(row, column) == colours), address);
        }
    }

    #[test]
    fn home_networks_come_first_and_the_words_name_every_address() {
        let ranked = ["192.168.1.2", "10.0.0.2", "91.1.1.1", "172.17.0.1", "169.254.3.4"];
        let ranks = ranked.map(|address| rank(address.parse().unwrap()));
        assert!(ranks.is_sorted(), "{ranks:?}");
        let addresses = ["http://192.168.1.2:8460/".to_string(), "http://10.0.0.2:8460/".to_string()];
        let words = words(&addresses).unwrap();
        assert!(addresses.iter().all(|address| words.contains(address)), "{words}");
    }
}
