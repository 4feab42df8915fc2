//! The program as it serves, asked without a browser.
#![allow(dead_code, reason = "each test asks in its own way")]

use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::path::Path;
use std::process::{Child, Command, Stdio};

/// A server that ends with its test.
pub struct Served {
    pub child: Child,
    pub address: String,
    /// What it said before.
    pub said: String,
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
    /// In small letters.
    pub head: String,
    pub body: String,
}

const FORM: (&str, &str) = ("Content-Type", "application/x-www-form-urlencoded");

impl Served {
    /// Starts the program.
    pub fn start(arguments: &[&str]) -> Served {
        let child = Command::new(env!("CARGO_BIN_EXE_trayward"))
            .args(arguments)
            .env("TZ", "UTC")
            .stdout(Stdio::piped())
            .spawn()
            .unwrap();
        let mut served = Served { child, address: String::new(), said: String::new() };
        for line in BufReader::new(served.child.stdout.take().unwrap()).lines().map_while(Result::ok) {
            if let Some((_, address)) = line.split_once("Pages: http://") {
                served.address = address.trim_end_matches('/').to_owned();
                break;
            }
            served.said.push_str(&line);
            served.said.push('\n');
        }
        assert!(!served.address.is_empty(), "the program ended: {}", served.said);
        served
    }

    /// The demo clinic.
    pub fn demo() -> Served {
        Served::start(&["serve", "--demo", "--no-browser", "--listen", "127.0.0.1:0"])
    }

    /// A store.
    pub fn over(store: &Path) -> Served {
        let store = store.to_str().unwrap();
        Served::start(&["serve", "--no-browser", "--listen", "127.0.0.1:0", "--store", store])
    }

    /// Any request.
    pub fn ask(&self, method: &str, path: &str, headers: &[(&str, &str)], body: &str) -> Answer {
        let mut stream = TcpStream::connect(&self.address).unwrap();
        let mut request =
            format!("{method} {path} HTTP/1.1\r\nConnection: close\r\nContent-Length: {}\r\n", body.len());
        if !headers.iter().any(|(name, _)| *name == "Host") {
            request.push_str(&format!("Host: {}\r\n", self.address));
        }
        for (name, value) in headers {
            request.push_str(&format!("{name}: {value}\r\n"));
        }
        stream.write_all(format!("{request}\r\n{body}").as_bytes()).unwrap();
        let mut text = Vec::new();
        stream.read_to_end(&mut text).unwrap();
        let text = String::from_utf8_lossy(&text).into_owned();
        let (head, body) = text.split_once("\r\n\r\n").unwrap();
        let status = head.split_whitespace().nth(1).unwrap().parse().unwrap();
        Answer { status, head: head.to_lowercase(), body: body.to_owned() }
    }

    /// A page.
    pub fn get(&self, path: &str) -> Answer {
        self.ask("GET", path, &[], "")
    }

    /// A form as it is.
    pub fn post_bare(&self, path: &str, fields: &[(&str, &str)]) -> Answer {
        self.ask("POST", path, &[FORM], &coded_fields(fields))
    }

    /// The same as a script sends it.
    pub fn post_by_script(&self, path: &str, fields: &[(&str, &str)]) -> Answer {
        self.ask("POST", path, &[FORM, ("Accept", "application/json")], &coded_fields(fields))
    }

    /// A form of this start of the program.
    pub fn post(&self, path: &str, fields: &[(&str, &str)]) -> Answer {
        let token = self.token();
        let mut all = vec![("token", token.as_str())];
        all.extend(fields);
        self.post_bare(path, &all)
    }

    /// The word that forms of this start carry.
    pub fn token(&self) -> String {
        let page = self.get("/nowhere").body;
        let (_, rest) = page.split_once("name=\"token\" content=\"").unwrap();
        rest.split('"').next().unwrap().to_owned()
    }
}

fn coded_fields(fields: &[(&str, &str)]) -> String {
    let pairs: Vec<String> =
        fields.iter().map(|(name, value)| format!("{}={}", coded(name), coded(value))).collect();
    pairs.join("&")
}

/// Every byte in the form of an address.
pub fn coded(text: &str) -> String {
    text.bytes().map(|byte| format!("%{byte:02X}")).collect()
}
