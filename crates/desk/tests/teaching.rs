//! Rules on pages and the command line, and sets from one command to the next.
#![allow(clippy::unwrap_used, reason = "a test stops where its premise fails")]

#[path = "common/served.rs"]
mod served;

use std::process::{Command, Output};

use served::Served;

fn trayward(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_trayward")).args(arguments).output().unwrap()
}

fn said(arguments: &[&str]) -> String {
    let output = trayward(arguments);
    assert!(output.status.success(), "{arguments:?}: {}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).unwrap()
}

fn refused(arguments: &[&str]) -> String {
    let output = trayward(arguments);
    assert!(!output.status.success(), "{arguments:?} was not refused");
    String::from_utf8(output.stderr).unwrap()
}

#[test]
fn a_rule_is_drawn_and_its_numbers_lead_to_their_pedigree() {
    let folder = tempfile::tempdir().unwrap();
    let server = Served::over(&folder.path().join("r.sqlite"));
    let list = server.get("/rules").body;
    assert!(
        list.contains("Warmer water makes alginate set faster.") && list.contains("/rules/alginate-pour-by")
    );
    let page = server.get("/rules/alginate-pour-by");
    assert_eq!(page.status, 200);
    for part in [
        "Taught",
        "common practice",
        "Asked",
        "What decides",
        "<svg",
        "As a table",
        "#map-part",
        "At 10 min, with",
        "line class=\"own\"",
    ] {
        assert!(page.body.contains(part.trim_start_matches('#')), "{part}");
    }
    // A first map says that it is one, and the whole one that it is whole.
    assert!(page.body.contains("it is being sharpened"));
    let whole = server.get("/rules/alginate-pour-by/map.part").body;
    assert!(whole.contains("points of 64 samples each"));
    assert!(!server.get("/rules/alginate-pour-by").body.contains("it is being sharpened"));
    let mut keys = 0;
    for rest in whole.split("href=\"/source/").skip(1) {
        let key = rest.split('"').next().unwrap();
        assert_eq!(server.get(&format!("/source/{key}")).status, 200, "{key}");
        keys += 1;
    }
    assert!(keys > 2, "what cannot be told names what it hangs on");
    assert_eq!(server.get("/rules/nothing").status, 404);

    // What is too small to matter has a mark and a word of its own, and is not called a failure.
    let snap = server.get("/rules/removal-snap-tears-less/map.part?pace=first").body;
    for part in
        ["no difference that matters (under 2 in 100)", "nowhere the opposite", "url(#bars)", "key-slight"]
    {
        assert!(snap.contains(part), "{part}: {snap}");
    }
    assert!(!snap.contains("fails</"), "{snap}");
    let shares = server.get("/rules/removal-snap-tears-less/shares.part").body;
    assert!(shares.contains("too small to matter") && shares.contains("the opposite 0 %"), "{shares}");

    // One topic alone, by a link.
    assert!(list.contains("href=\"/rules?topic=removal\"") && list.contains("href=\"#topic-0\""));
    let alone = server.get("/rules?topic=removal").body;
    assert!(alone.contains("removal-snap-tears-less") && !alone.contains("/rules/alginate-pour-by"));
    assert_eq!(server.get("/rules?topic=hats").status, 404);
}

#[test]
fn a_rule_is_said_at_the_terminal_within_80_columns() {
    let text = said(&["rules", "alginate-pour-by"]);
    assert!(text.contains("# holds\n  x fails\n") && text.contains("What decides"), "{text}");
    assert!(text.lines().all(|line| line.chars().count() <= 80), "{text}");
    assert!(text.contains("^ 10 min, 15 min"), "{text}");
    let text = said(&["rules", "removal-snap-tears-less", "--coarse"]);
    let words = text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(text.contains("│===") && words.contains("nowhere the opposite"), "{text}");
    assert!(text.lines().all(|line| line.chars().count() <= 80), "{text}");
    assert!(refused(&["rules", "alginate-pour-buy"]).contains("did you mean \"alginate-pour-by\""));
    assert!(refused(&["rules", "--topic", "hats"]).contains("allowed "));
}

#[test]
fn a_set_goes_from_its_number_to_a_file_a_class_and_a_package() {
    let folder = tempfile::tempdir().unwrap();
    let path = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    let compose =
        ["questions", "compose", "--number", "7", "--items", "4", "--topic", "stone and fit", "--json"];
    let set = said(&compose);
    assert_eq!(set, said(&compose), "the same number is the same set");
    std::fs::write(path("set.json"), &set).unwrap();
    assert!(
        said(&["questions", "recheck", &path("set.json")])
            .contains("none of 4 items would come out otherwise")
    );

    let frozen: questions::QuestionSet = serde_json::from_str(&set).unwrap();
    let mut table = String::from("learner");
    for item in &frozen.items {
        table.push_str(&format!(",{}", item.item.id));
    }
    table.push_str("\nS-01,,,,\nS-02,,,,\n");
    std::fs::write(path("answers.csv"), &table).unwrap();
    let marks = said(&["questions", "mark", &path("set.json"), &path("answers.csv")]);
    assert!(marks.contains("4 left blank") && marks.contains("too few learners: given 2"), "{marks}");
    std::fs::write(path("named.csv"), table.replace("S-01", "Anna")).unwrap();
    let wrong = refused(&["questions", "mark", &path("set.json"), &path("named.csv")]);
    assert!(wrong.contains("line 2, column 1") && wrong.contains("never a name"), "{wrong}");

    said(&["questions", "export", &path("set.json"), &path("set.zip")]);
    assert!(
        refused(&["questions", "export", &path("set.json"), &path("set.zip")]).contains("cannot be made")
    );
    let read = said(&["questions", "import", &path("set.zip"), "--json"]);
    let read: serde_json::Value = serde_json::from_str(&read).unwrap();
    let items: Vec<questions::Item> = serde_json::from_value(read["items"].clone()).unwrap();
    let sent: Vec<questions::Item> = frozen.items.into_iter().map(|frozen| frozen.item).collect();
    assert_eq!(items, sent);
    assert!(refused(&["questions", "import", &path("answers.csv")]).contains("not well-formed"));

    // What was read can be set like any other, and says whose keys it has.
    let keep = ["--store", &path("records.sqlite"), "questions", "import", &path("set.zip"), "--keep", "12"];
    assert!(said(&keep).contains("kept as SET-0012"));
    assert!(refused(&keep).contains("SET-0012 is there already"));
    let marks =
        said(&["--store", &path("records.sqlite"), "questions", "mark", "SET-0012", &path("answers.csv")]);
    assert!(marks.contains("4 left blank"), "{marks}");
    let changed = said(&["--store", &path("records.sqlite"), "questions", "recheck", "SET-0012"]);
    assert!(changed.contains("4 items were read from elsewhere"), "{changed}");
}
