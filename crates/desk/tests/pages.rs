//! The pages as a browser or an attacker asks for them, without a browser.
#![allow(clippy::unwrap_used, reason = "a test stops where its premise fails")]

#[path = "common/served.rs"]
mod served;

use std::process::Command;

use served::Served;

fn refused(arguments: &[&str]) -> String {
    let output = Command::new(env!("CARGO_BIN_EXE_trayward")).args(arguments).output().unwrap();
    assert!(!output.status.success(), "{arguments:?}");
    String::from_utf8(output.stderr).unwrap()
}

#[test]
fn no_address_but_that_of_this_machine_is_listened_on() {
    for address in ["0.0.0.0:0", "192.168.1.5:8413", "[::]:0", "example.org:80", "8413", ""] {
        let said = refused(&["serve", "--demo", "--no-browser", "--listen", address]);
        assert!(said.contains("allowed an address of this machine alone"), "{address}: {said}");
    }
    let folder = tempfile::tempdir().unwrap();
    let store = folder.path().join("records.sqlite");
    refused(&["serve", "--store", store.to_str().unwrap(), "--no-browser", "--listen", "0.0.0.0:0"]);
    assert!(!store.exists(), "a refused address makes nothing");
}

#[test]
fn alone_it_prints_the_demo_card_and_serves_the_demo() {
    let server = Served::start(&[]);
    let said = &server.said;
    assert!(said.starts_with("DEMO-01  demo"), "{said}");
    assert!(said.contains("Where it comes from"), "{said}");
    assert!(server.get("/").body.contains("an invented clinic"));
}

#[test]
fn other_hosts_and_other_pages_are_refused() {
    let server = Served::demo();
    let here = server.address.clone();
    assert_eq!(server.get("/").status, 200);
    assert_eq!(server.ask("GET", "/", &[("Host", "example.org")], "").status, 403);
    let from = |origin: &str| {
        let headers = [
            ("Host", here.as_str()),
            ("Origin", origin),
            ("Content-Type", "application/x-www-form-urlencoded"),
        ];
        server.ask("POST", "/room", &headers, &format!("token={}&room=21", server.token())).status
    };
    assert_eq!(from("http://example.org"), 403);
    assert_eq!(from("null"), 403);
    assert_eq!(from(&format!("http://{here}")), 303);
    let answer = server.post_by_script("/case/DEMO-01/do", &[("line", "stamp"), ("token", "guessed")]);
    assert_eq!(answer.status, 409, "{}", answer.body);
    assert!(server.get("/case/DEMO-01/clock").body.contains("Nothing yet."), "nothing was stamped");
    let head = server.get("/case/DEMO-01").head;
    for words in [
        "content-security-policy: default-src 'none'; script-src 'self'",
        "frame-ancestors 'none'",
        "nosniff",
        "cache-control: no-store",
    ] {
        assert!(head.contains(words), "{words}: {head}");
    }
}

#[test]
fn pages_hold_nothing_that_is_loaded_from_elsewhere_and_no_script_of_their_own() {
    let server = Served::demo();
    for path in [
        "/",
        "/new",
        "/stock",
        "/sources",
        "/case/DEMO-01",
        "/case/DEMO-01/clock",
        "/case/DEMO-01/facts",
        "/case/DEMO-01/print/sheet",
    ] {
        let page = server.get(path).body;
        for forbidden in ["http://", "https://", " style=\"", " onclick=", "<style", "javascript:"] {
            let found = page.match_indices(forbidden).next();
            assert!(
                found.is_none(),
                "{path}: {forbidden} in …{}…",
                &page[found.unwrap().0..].chars().take(80).collect::<String>()
            );
        }
        assert_eq!(page.matches("<script").count(), 1, "{path}");
    }
}

#[test]
fn a_repeated_stamp_is_one_stamp_and_what_is_refused_says_why() {
    let server = Served::demo();
    let token = server.token();
    let id = "11111111-2222-4333-8444-555555555555";
    let stamp = |line: &str| {
        server.post_by_script("/case/DEMO-01/do", &[("token", &token), ("id", id), ("line", line)])
    };
    assert_eq!(stamp("stamp mix started").status, 200);
    assert_eq!(stamp("stamp mix started").status, 200, "the same again changes nothing");
    let page = server.get("/case/DEMO-01/clock").body;
    assert_eq!(page.matches("<dt>mix started</dt>").count(), 1);
    let said = |line: &str| server.post_by_script("/case/DEMO-01/do", &[("token", &token), ("line", line)]);
    for (line, words) in [
        ("stamp mix started", "stamped already"),
        ("stamp sat", "a step: mix started"),
        ("room 90", "10 to 40"),
        ("index rocks", "allowed"),
        ("close nonsense", "recall WHEN"),
        ("room 21,55x", "10 to 40"),
        ("<script>alert(1)</script>", "begins with stamp"),
    ] {
        let answer = said(line);
        assert_eq!(answer.status, 422, "{line}: {}", answer.body);
        assert!(answer.body.contains(words), "{line}: {}", answer.body);
    }
    let half =
        server.post_by_script("/case/DEMO-01/do", &[("token", &token), ("line", "close"), ("signed", "AB")]);
    assert!(half.body.contains("the reason and when the patient is called back is missing"), "{}", half.body);
    assert_eq!(said("room 21,5").status, 200, "a comma before decimals");
    let earlier = server.post_by_script(
        "/case/DEMO-01/do",
        &[("token", &token), ("line", "stamp seated"), ("earlier_ms", "999999999999")],
    );
    assert_eq!(earlier.status, 422, "{}", earlier.body);
}

#[test]
fn what_if_records_nothing_and_what_is_stated_is_kept() {
    let server = Served::demo();
    let token = server.token();
    let before = server.get("/case/DEMO-02").body;
    let warmer = [("fact:situation.water_temperature", "30 °C")];
    let moved = server.post_by_script("/case/DEMO-02/what-if", &warmer);
    assert_eq!(moved.status, 200);
    assert!(moved.body.contains("Nothing is recorded"), "{}", &moved.body[..200]);
    assert!(server.get("/case/DEMO-02/facts").body.contains("value=\"20 °C\"") || before.contains("20 °C"));
    let refused =
        server.post_by_script("/case/DEMO-02/what-if", &[("fact:situation.water_temperature", "95 °C")]);
    assert_eq!(refused.status, 422);
    assert!(refused.body.contains("allowed 1 to 45 °C"), "{}", refused.body);
    let stated = server.post_by_script("/case/DEMO-02/facts", &[("token", token.as_str()), warmer[0]]);
    assert_eq!(stated.status, 200, "{}", stated.body);
    let sent = [("Content-Type", "application/x-www-form-urlencoded")];
    let plain = server.ask("POST", "/case/DEMO-02/facts", &sent, &format!("token={token}"));
    assert_eq!(plain.status, 303, "without a script it leads to the card");
    assert!(server.get("/case/DEMO-02").body.contains("value=\"30 °C\""));
    // A field that no case has, and one that must not be changed, are refused by name.
    for field in ["fact:situation.nonsense", "fact:code", "fact:stamps[0].at"] {
        let answer = server.post_by_script("/case/DEMO-02/facts", &[("token", token.as_str()), (field, "x")]);
        assert_eq!(answer.status, 422, "{field}");
    }
}

#[test]
fn texts_are_shown_and_never_run() {
    let folder = tempfile::tempdir().unwrap();
    let store = folder.path().join("records.sqlite");
    let case = folder.path().join("case.toml");
    let text = desk::load::case_text("demo").unwrap();
    let sly = text.replace("Single crown, custom tray, heavy and light body", "<img src=x onerror=alert(1)>");
    std::fs::write(&case, sly.replace("DEMO-01", "TW-0001").replace("demo = true", "demo = false")).unwrap();
    let run = Command::new(env!("CARGO_BIN_EXE_trayward"))
        .args(["run", case.to_str().unwrap(), "--json", "--store", store.to_str().unwrap()])
        .output()
        .unwrap();
    assert!(run.status.success(), "{}", String::from_utf8_lossy(&run.stderr));
    let server = Served::start(&[
        "serve",
        "--no-browser",
        "--listen",
        "127.0.0.1:0",
        "--store",
        store.to_str().unwrap(),
    ]);
    for path in ["/", "/case/TW-0001", "/case/TW-0001/clock", "/case/TW-0001/print/card"] {
        let page = server.get(path).body;
        assert!(page.contains("&lt;img src=x"), "{path}");
        assert!(!page.contains("<img"), "{path}");
    }
    assert_eq!(server.get("/case/TW-0002").status, 404);
    assert_eq!(server.get("/case/%3Cscript%3E").status, 404);
    assert_eq!(server.get("/source/../../etc/passwd").status, 404);
}

#[test]
fn every_demo_case_has_its_pages() {
    let server = Served::demo();
    for code in ["DEMO-01", "DEMO-02", "DEMO-04", "DEMO-06", "DEMO-18", "DEMO-27", "DEMO-31", "DEMO-36"] {
        for end in [
            "",
            "/clock",
            "/clock.json",
            "/facts",
            "/inspect",
            "/check",
            "/result.part",
            "/thickness.part",
            "/routes.part",
            "/prints",
        ] {
            let answer = server.get(&format!("/case/{code}{end}"));
            assert_eq!(
                answer.status,
                200,
                "{code}{end}: {}",
                answer.body.chars().take(400).collect::<String>()
            );
        }
    }
    // A number that carries micrometres or a chance has its way to a pedigree, and the way leads somewhere.
    let card = server.get("/case/DEMO-01").body;
    let mut keys: Vec<&str> = card
        .split("href=\"/case/DEMO-01/source/")
        .skip(1)
        .filter_map(|rest| rest.split('"').next())
        .collect();
    keys.sort_unstable();
    keys.dedup();
    assert!(keys.len() > 20, "{}", keys.len());
    for key in keys {
        assert_eq!(server.get(&format!("/case/DEMO-01/source/{key}")).status, 200, "{key}");
    }
}

#[test]
fn what_was_acknowledged_is_there_after_the_program_was_killed() {
    let folder = tempfile::tempdir().unwrap();
    let store = folder.path().join("records.sqlite");
    let arguments =
        ["serve", "--demo", "--no-browser", "--listen", "127.0.0.1:0", "--store", store.to_str().unwrap()];
    let first = Served::start(&arguments);
    let token = first.token();
    let stamp = first.post_by_script("/case/DEMO-01/do", &[("token", &token), ("line", "stamp")]);
    assert_eq!(stamp.status, 200);
    drop(first);
    let again = Served::start(&arguments);
    assert!(again.get("/case/DEMO-01/clock").body.contains("<dt>mix started</dt>"));
    assert_eq!(
        again.post_by_script("/case/DEMO-01/do", &[("token", &token), ("line", "stamp")]).status,
        409,
        "a form of the start before"
    );
}
