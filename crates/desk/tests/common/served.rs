//! The program as it serves, asked without a browser.

use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::path::Path;
use std::process::{Child, Command, Stdio};

/// A server that ends with its test.
pub struct Served {
    child: Child,
    address: String,
    token: String,
}

impl Drop for Served {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// What it answered.
pub struct Answer {
    pub status: u16,
    pub body: String,
}

impl Served {
    /// Serves from a store.
    pub fn from(store: &Path) -> Served {
        let child = Command::new(env!("CARGO_BIN_EXE_trayward"))
            .args(["serve", "--no-browser", "--listen", "127.0.0.1:0", "--store"])
            .arg(store)
            .env("TZ", "UTC")
            .stdout(Stdio::piped())
            .spawn()
            .unwrap();
        let mut served = Served { child, address: String::new(), token: String::new() };
        let lines = BufReader::new(served.child.stdout.take().unwrap()).lines();
        let mut addresses = lines.map_while(Result::ok).filter_map(|line| {
            line.split_once("Pages: http://").map(|(_, address)| address.trim_end_matches('/').to_owned())
        });
        served.address = addresses.next().unwrap();
        let page = served.get("/practical").body;
        let (_, rest) = page.split_once("name=\"token\" content=\"").unwrap();
        served.token = rest.split('"').next().unwrap().to_owned();
        served
    }

    fn ask(&self, method: &str, path: &str, body: &str) -> Answer {
        let mut stream = TcpStream::connect(&self.address).unwrap();
        let head = format!(
            "{method} {path} HTTP/1.1\r\nConnection: close\r\nHost: {}\r\nContent-Type: application/x-www-form-urlencoded\r\nContent-Length: {}\r\n\r\n",
            self.address,
            body.len()
        );
        stream.write_all(format!("{head}{body}").as_bytes()).unwrap();
        let mut text = Vec::new();
        stream.read_to_end(&mut text).unwrap();
        let text = String::from_utf8_lossy(&text).into_owned();
        let (head, body) = text.split_once("\r\n\r\n").unwrap();
        let status = head.split_whitespace().nth(1).unwrap().parse().unwrap();
        Answer { status, body: body.to_owned() }
    }

    /// A page.
    pub fn get(&self, path: &str) -> Answer {
        self.ask("GET", path, "")
    }

    /// A form of this start of the program.
    pub fn post(&self, path: &str, fields: &[(&str, &str)]) -> Answer {
        let mut all = vec![("token", self.token.as_str())];
        all.extend(fields);
        self.post_bare(path, &all)
    }

    /// A form as it is.
    pub fn post_bare(&self, path: &str, fields: &[(&str, &str)]) -> Answer {
        let coded = |text: &str| text.bytes().map(|byte| format!("%{byte:02X}")).collect::<String>();
        let pairs: Vec<String> =
            fields.iter().map(|(name, value)| format!("{}={}", coded(name), coded(value))).collect();
        self.ask("POST", path, &pairs.join("&"))
    }
}
