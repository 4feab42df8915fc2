//! The pages of questions as a browser or an attacker asks for them, without a browser.
#![allow(clippy::unwrap_used, reason = "a test stops where its premise fails")]

#[path = "common/served.rs"]
mod served;

use std::path::Path;

use desk::running::here;
use desk::school::{self, Sitting};
use questions::{Blueprint, Body, Choice, Evidence, Frozen, Item, Made, QuestionSet, Shown, Step};
use records::sqlite::SqliteStore;
use served::Served;
use terms::CaseCode;

fn item(id: &str, lead_in: &str, body: Body) -> Item {
    Item {
        id: id.to_owned(),
        title: "Invented".to_owned(),
        topic: None,
        level: None,
        asks: None,
        stem: "A case that is <b>invented</b>.".to_owned(),
        lead_in: lead_in.to_owned(),
        body,
        reason: "Because the test says so.".to_owned(),
        disagreement: Some("It is taught otherwise.".to_owned()),
        rests_on: vec!["alginate/set.reference_time".to_owned(), "a book, page 3".to_owned()],
    }
}

fn frozen(item: Item, of: &[&str], quantity: bool) -> Frozen {
    let shown = |(place, of): (usize, &&str)| {
        let mid = 120.0 + 60.0 * place as f64;
        Shown { of: (*of).to_owned(), low: mid - 30.0, mid, high: mid + 30.0 }
    };
    let evidence = Evidence {
        hash: "0".repeat(64),
        holds_in: 0.97,
        quantity: quantity.then(|| ("window.remove.opens".to_owned(), "ready".to_owned(), "s".to_owned())),
        shown: of.iter().enumerate().map(shown).collect(),
    };
    Frozen { item, made: Some(Made { template: "invented".to_owned(), number: 1, evidence }) }
}

/// An item of each kind; the key of the choice is its second option.
fn one_of_each() -> QuestionSet {
    let option = |id: &str, wrong: Option<&str>| Choice {
        id: id.to_owned(),
        text: format!("It is {id}"),
        why: format!("Why it is {id}."),
        misconception: wrong.map(str::to_owned),
    };
    let options =
        vec![option("cold", Some("reversed")), option("warm", None), option("same", Some("no-effect"))];
    let step = |id: &str| Step { id: id.to_owned(), text: format!("Do {id}") };
    let choice = Body::Choice { options, key: 1, in_order: false };
    let order = Body::Order {
        steps: ["rinse", "mix", "seat"].map(step).to_vec(),
        key: ["mix", "seat", "rinse"].map(str::to_owned).to_vec(),
    };
    let number = Body::Numeric { key: 2.5, least: 2.0, most: 3.5, unit: "min".to_owned(), digits: 1 };
    QuestionSet {
        form: 1,
        number: 7,
        blueprint: Some(Blueprint::of_items(3)),
        model_version: "0".to_owned(),
        parameters_hash: "abcdef0123456789".to_owned(),
        items: vec![
            frozen(item("t.choice", "Which?", choice), &["cold", "warm", "same"], true),
            frozen(item("t.order", "In what order?", order), &["rinse", "mix", "seat"], false),
            frozen(item("t.number", "How long?", number), &["case"], true),
        ],
        wanting: vec!["fit: 2 asked for, 0 to be had".to_owned()],
    }
}

fn code() -> CaseCode {
    CaseCode::new("SET-0007").unwrap()
}

/// A store with a set of one item of each kind.
fn store() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    let runtime = tokio::runtime::Runtime::new().unwrap();
    runtime.block_on(async {
        let store = SqliteStore::open(&folder.path().join("records.sqlite")).await.unwrap();
        school::keep_composed(&store, &code(), &one_of_each(), &here()).await.unwrap();
        store.close().await;
    });
    folder
}

fn kept(folder: &Path) -> Sitting {
    let runtime = tokio::runtime::Runtime::new().unwrap();
    runtime.block_on(async {
        let store = SqliteStore::open_to_read(&folder.join("records.sqlite")).await.unwrap();
        Sitting::open(&store, &code()).await.unwrap()
    })
}

fn answer_of(folder: &Path, learner: &str, item: &str) -> Option<String> {
    kept(folder).book.answers.get(&(learner.to_owned(), item.to_owned())).map(|(_, text)| text.clone())
}

const STEPS: [(&str, &str); 3] =
    [("step:t.order:mix", "1"), ("step:t.order:seat", "2"), ("step:t.order:rinse", "3")];

#[test]
fn a_set_is_composed_once_and_a_second_sending_makes_no_other() {
    let folder = tempfile::tempdir().unwrap();
    let server = Served::over(&folder.path().join("records.sqlite"));
    assert!(server.get("/questions").body.contains("No set is composed yet."));
    let fields = [("number", "17"), ("items", "1")];
    for _ in 0..2 {
        let answer = server.post("/questions", &fields);
        assert_eq!(answer.status, 303, "{}", answer.body);
        assert!(answer.head.contains("location: /questions/set-0017"), "{}", answer.head);
    }
    let page = server.get("/questions/SET-0017").body;
    assert!(page.contains("What it froze") && page.contains("Parameters"), "{page}");
    let list = server.get("/questions").body;
    assert_eq!(list.matches("href=\"/questions/SET-").count(), 1);
    assert!(
        list.contains("name=\"number\" min=\"0\" max=\"999999\" step=\"1\" required value=\"18\""),
        "{list}"
    );
    let other = server.post("/questions", &[("number", "17"), ("items", "2")]);
    assert_eq!(other.status, 422);
    assert!(other.body.contains("SET-0017 is there already"), "{}", other.body);
    // Asked for again, every key of a fresh set is what it was.
    assert!(
        server.get("/questions/SET-0017/recheck.part").body.contains("every item would come out the same")
    );
}

#[test]
fn what_cannot_be_composed_names_its_field() {
    let folder = tempfile::tempdir().unwrap();
    let server = Served::over(&folder.path().join("records.sqlite"));
    for (fields, said) in [
        ([("number", "x"), ("items", "1")], "number: given &quot;x&quot;"),
        ([("number", "1"), ("items", "61")], "items: given 61; allowed 1 to 60"),
        ([("number", "1000000"), ("items", "1")], "number: given 1000000"),
        (
            [("number", "1"), ("blueprint", "items = 1\n[topics]\nwings = 1")],
            "topic: given &quot;wings&quot;",
        ),
        ([("number", "1"), ("blueprint", "items = one")], "blueprint: "),
    ] {
        let answer = server.post("/questions", &fields);
        assert_eq!(answer.status, 422, "{fields:?}");
        assert!(answer.body.contains(said), "{said}: {}", answer.body);
    }
    let stale = server.post_bare("/questions", &[("token", "guessed"), ("number", "1"), ("items", "1")]);
    assert_eq!(stale.status, 409);
    assert!(server.get("/questions").body.contains("No set is composed yet."));
}

#[test]
fn sheet_and_key_hold_what_belongs_on_them() {
    let folder = store();
    let server = Served::over(&folder.path().join("records.sqlite"));
    let sheet = server.get("/questions/SET-0007/sheet").body;
    for words in
        ["never a name", "set number 7", "abcdef012345", "In what order?", "min</p>", "&lt;b&gt;invented"]
    {
        assert!(sheet.contains(words), "{words}: {sheet}");
    }
    for secret in ["Why it is", "Because the test", "taught otherwise", "believes", "Invented"] {
        assert!(!sheet.contains(secret), "the sheet tells {secret}");
    }
    let key = server.get("/questions/SET-0007/key").body;
    for words in [
        "Key B: It is warm",
        "Why it is cold.",
        "Who chooses it believes: The cause works the other way round.",
        "Key B &gt; C &gt; A",
        "2.5 min; right from 2.0 to 3.5",
        "taught otherwise",
        "href=\"/source/alginate/set.reference_time\"",
        "id=\"evidence-1\"",
        "in 97 of 100 runs of the model",
    ] {
        assert!(key.contains(words), "{words}: {key}");
    }
    assert!(key.contains("a book, page 3") && !key.contains("href=\"/source/a%20book"), "{key}");
    assert!(server.get("/questions/SET-0007").body.contains("fit: 2 asked for, 0 to be had"));
    assert_eq!(server.get("/questions/SET-0008").status, 404);
    assert_eq!(server.get("/questions/DEMO-01").status, 404);
}

#[test]
fn answers_are_kept_changed_and_stay_once_marks_were_shown() {
    let folder = store();
    let server = Served::over(&folder.path().join("records.sqlite"));
    let path = "/questions/SET-0007/answer";
    let mut fields = vec![("learner", "S-01"), ("answer:t.choice", "cold"), ("answer:t.number", "2,5")];
    let first = server.post(path, &fields);
    assert_eq!(first.status, 303, "{}", first.body);
    assert_eq!(answer_of(folder.path(), "S-01", "t.choice").as_deref(), Some("cold"));
    assert_eq!(answer_of(folder.path(), "S-01", "t.number").as_deref(), Some("2.5"));
    assert_eq!(answer_of(folder.path(), "S-01", "t.order").as_deref(), Some("-"));
    fields.extend(STEPS);
    assert_eq!(server.post(path, &fields).status, 303);
    assert_eq!(answer_of(folder.path(), "S-01", "t.order").as_deref(), Some("mix>seat>rinse"));
    let page = server.get("/questions/SET-0007/answer?learner=S-01").body;
    assert!(page.contains("value=\"cold\" id=\"a-0-0\" checked") && page.contains("value=\"2.5\""), "{page}");
    let early = server.get("/questions/SET-0007/marks?learner=S-01").body;
    assert!(
        early.contains("Once the marks are shown, these answers stay") && !early.contains("Why it is cold."),
        "{early}"
    );
    assert_eq!(server.post("/questions/SET-0007/marks", &[("learner", "S-01")]).status, 303);
    let marks = server.get("/questions/SET-0007/marks?learner=S-01").body;
    for words in [
        "2 of 3 earned; 2 wholly right, 0 without an answer",
        "not right",
        "Why it is cold.",
        "The cause works the other way round.",
        "Because the test says so.",
        "It is taught otherwise.",
        "A  It is cold · chosen",
        "B  It is warm · key",
        "As a table",
    ] {
        assert!(marks.contains(words), "{words}: {marks}");
    }
    let late = server.post(path, &[("learner", "S-01"), ("answer:t.choice", "warm")]);
    assert_eq!(late.status, 422);
    assert!(late.body.contains("the answers stay as they are"), "{}", late.body);
    assert_eq!(answer_of(folder.path(), "S-01", "t.choice").as_deref(), Some("cold"));
    assert_eq!(server.get("/questions/SET-0007/marks?learner=S-02").status, 422);
    // It holds over a restart.
    drop(server);
    let server = Served::over(&folder.path().join("records.sqlite"));
    assert_eq!(server.post(path, &[("learner", "S-01"), ("answer:t.choice", "warm")]).status, 422);
}

#[test]
fn a_bad_answer_is_refused_beside_its_question_and_the_rest_is_kept() {
    let folder = store();
    let server = Served::over(&folder.path().join("records.sqlite"));
    let path = "/questions/SET-0007/answer";
    let script = "<script>alert(1)</script>";
    for (name, value, said) in [
        ("answer:t.number", "two", "given &quot;two&quot;; allowed a number in min"),
        ("answer:t.choice", script, "&lt;script&gt;alert(1)&lt;/script&gt;"),
        ("answer:t.number", script, "&lt;script&gt;alert(1)&lt;/script&gt;"),
        ("step:t.order:mix", "1", "given a step without a number; allowed each of 1 to 3 once"),
        ("step:t.order:mix", "9", "given a step without a number"),
    ] {
        let answer = server.post(path, &[("learner", "S-01"), (name, value)]);
        assert_eq!(answer.status, 422, "{name} {value}");
        assert!(
            answer.body.contains(said) && answer.body.contains("1 answer cannot be read:"),
            "{said}: {}",
            answer.body
        );
        assert!(!answer.body.contains(script), "{}", answer.body);
    }
    let twice = [("step:t.order:mix", "1"), ("step:t.order:seat", "1"), ("step:t.order:rinse", "3")];
    let twice: Vec<(&str, &str)> = [("learner", "S-01")].into_iter().chain(twice).collect();
    assert!(server.post(path, &twice).body.contains("given 1 more than once"));
    assert!(kept(folder.path()).book.answers.is_empty());
    let typed = server
        .post(path, &[("learner", "S-01"), ("answer:t.choice", "warm"), ("answer:t.number", "two")])
        .body;
    assert!(
        typed.contains("value=\"warm\" id=\"a-0-1\" checked") && typed.contains("value=\"two\""),
        "{typed}"
    );
    assert_eq!(answer_of(folder.path(), "S-01", "t.choice").as_deref(), Some("warm"));
    assert_eq!(answer_of(folder.path(), "S-01", "t.number"), None);
    let there = server.post(
        path,
        &[
            ("learner", "S-01"),
            ("answer:t.choice", "warm"),
            ("answer:t.number", "2,5 min"),
            ("then", "marks"),
        ],
    );
    assert_eq!(there.status, 303);
    let asked = server.get("/questions/SET-0007/marks?learner=S-01").body;
    assert!(asked.contains("2 of 3 questions answered") && asked.contains("#question-"), "{asked}");
}

#[test]
fn a_name_is_no_learner() {
    let folder = store();
    let server = Served::over(&folder.path().join("records.sqlite"));
    for name in ["Anna", "Anna%20Smith", "S-1", "%3Cscript%3E"] {
        for page in ["answer", "marks"] {
            let answer = server.get(&format!("/questions/SET-0007/{page}?learner={name}"));
            assert_eq!(answer.status, 422, "{page} {name}");
            assert!(answer.body.contains("a code of one to three capital letters"), "{}", answer.body);
            assert!(!answer.body.contains("<script>"));
        }
    }
    let sent =
        server.post("/questions/SET-0007/answer", &[("learner", "Anna Smith"), ("answer:t.choice", "warm")]);
    assert_eq!(sent.status, 422);
    assert!(kept(folder.path()).book.answers.is_empty());
}

#[test]
fn every_problem_of_a_table_is_told_and_nothing_is_kept() {
    let folder = store();
    let server = Served::over(&folder.path().join("records.sqlite"));
    let path = "/questions/SET-0007/table";
    let bad = "learner,t.choice,t.number\nS-01,A,2\nAnna,D,2\nS-02,B,soon\n";
    let answer = server.post(path, &[("table", bad)]);
    assert_eq!(answer.status, 422);
    for row in [
        "<td>3</td><td>1</td><td>learner</td><td>&quot;Anna&quot;</td>",
        "<td>3</td><td>2</td><td>t.choice</td><td>&quot;D&quot;</td>",
        "<td>4</td><td>3</td><td>t.number</td><td>&quot;soon&quot;</td>",
    ] {
        assert!(answer.body.contains(row), "{row}: {}", answer.body);
    }
    assert!(answer.body.contains("S-02,B,soon"), "what was typed stays");
    assert!(kept(folder.path()).book.answers.is_empty());
    let good = "learner;t.choice;t.order;t.number\nS-01;B;B>C>A;2,5\nS-02;A;;3\n";
    assert_eq!(server.post(path, &[("table", good)]).status, 303);
    let csv = server.get("/questions/SET-0007/table.csv");
    assert!(csv.head.contains("attachment; filename=\"set-0007-answers.csv\""), "{}", csv.head);
    assert_eq!(
        csv.body,
        "learner,\"t.choice\",\"t.order\",\"t.number\"\nS-01,\"warm\",\"mix>seat>rinse\",\"2.5\"\nS-02,\"cold\",\"\",\"3\"\n"
    );
    // An empty cell leaves what was answered before.
    assert_eq!(server.post(path, &[("table", "learner,t.choice,t.number\nS-01,,4\n")]).status, 303);
    let csv = server.get("/questions/SET-0007/table.csv").body;
    assert!(csv.contains("S-01,\"warm\",\"mix>seat>rinse\",\"4\""), "{csv}");
    // A table longer than other forms may be is read.
    let long: String =
        (10..=9999).take(1900).map(|n| format!("S-{n:04},B,B>C>A,{}\n", "2".repeat(1 + n % 20))).collect();
    let long = format!("learner,t.choice,t.order,t.number\n{long}");
    let long = server.post(path, &[("table", &long)]);
    assert_eq!(long.status, 303, "{}", long.body);
}

/// A class of which the first `right` have everything right.
fn class(learners: usize, right: usize) -> String {
    let line = |n: usize| match n < right {
        true => format!("S-{n:02},B,B>C>A,2.5\n"),
        false => format!("S-{n:02},{},A>B>C,9\n", if n.is_multiple_of(2) { "A" } else { "C" }),
    };
    format!("learner,t.choice,t.order,t.number\n{}", (0..learners).map(line).collect::<String>())
}

#[test]
fn an_analysis_says_where_there_are_too_few_and_shows_no_number_there() {
    let folder = store();
    let server = Served::over(&folder.path().join("records.sqlite"));
    let page = "/questions/SET-0007/analysis";
    assert!(server.get(page).body.contains("Nobody has answered yet."));
    server.post("/questions/SET-0007/table", &[("table", &class(4, 2))]);
    let few = server.get(page).body;
    assert!(few.contains("too few learners: given 4; at least 10 are needed"), "{few}");
    assert!(few.contains("<th scope=\"row\">KR-20</th><td>too few</td>"), "{few}");
    assert!(few.contains("3 of 3") && few.contains("S-00"), "{few}");
    server.post("/questions/SET-0007/table", &[("table", &class(40, 24))]);
    let whole = server.get(&format!("{page}?rule=whole")).body;
    for words in ["0.60", "KR-21", "40 learners", "distractors work", "To look at"] {
        assert!(whole.contains(words), "{words}: {whole}");
    }
    assert!(!whole.contains("<td>too few</td>"), "{whole}");
    for page in [&few, &whole, &server.get(page).body] {
        for bad in ["NaN", "inf<", "Infinity"] {
            assert!(!page.contains(bad), "{bad}");
        }
    }
}

#[test]
fn an_item_is_taken_out_of_the_marking_with_a_reason_and_put_back() {
    let folder = store();
    let server = Served::over(&folder.path().join("records.sqlite"));
    let (answer, page) = ("/questions/SET-0007/answer", "/questions/SET-0007/analysis");
    server.post(answer, &[("learner", "S-01"), ("answer:t.choice", "cold"), ("answer:t.number", "2.5")]);
    server.post("/questions/SET-0007/marks", &[("learner", "S-01")]);
    let marks = || server.get("/questions/SET-0007/marks?learner=S-01").body;
    assert!(marks().contains("1 of 3 earned"), "{}", marks());
    for (item, reason, said) in [
        ("t.none", "two keys", "item: given &quot;t.none&quot;; allowed an item of the set"),
        ("t.choice", " ", "reason: given nothing"),
    ] {
        let refused = server.post(page, &[("item", item), ("reason", reason)]);
        assert_eq!(refused.status, 422);
        assert!(refused.body.contains(said), "{}", refused.body);
    }
    assert_eq!(server.post(page, &[("item", "t.choice"), ("reason", "<b>two keys")]).status, 303);
    let out = marks();
    assert!(
        out.contains("1 of 2 earned")
            && out.contains("out of the marking")
            && out.contains("&lt;b&gt;two keys")
    );
    let analysis = server.get(page).body;
    assert!(
        analysis.contains("1 learner, 2 items") && analysis.contains("Put question 1 back"),
        "{analysis}"
    );
    server.post(page, &[("item", "t.number"), ("reason", "not taught")]);
    let last = server.post(page, &[("item", "t.order"), ("reason", "none is left")]);
    assert!(last.status == 422 && last.body.contains("the last that counts"), "{}", last.body);
    server.post(page, &[("item", "t.number"), ("back", "1")]);
    server.post(page, &[("item", "t.choice"), ("back", "1")]);
    assert!(marks().contains("1 of 3 earned"));
}

#[test]
fn pass_marks_advise_and_say_where_there_is_no_crossing() {
    let folder = store();
    let server = Served::over(&folder.path().join("records.sqlite"));
    let page = "/questions/SET-0007/pass";
    let judge = |judge: &str, shares: [&str; 3]| {
        let [a, b, c] = shares;
        server.post(
            page,
            &[("judge", judge), ("share:t.choice", a), ("share:t.order", b), ("share:t.number", c)],
        )
    };
    for (initials, shares, said) in [
        ("Anna", ["60", "60", "60"], "judge: given &quot;Anna&quot;; allowed two to four capital letters"),
        ("AB", ["60", "101", "60"], "item 2: given &quot;101&quot;; allowed 0 to 100 %"),
        ("AB", ["", "", ""], "item 1: given nothing"),
    ] {
        let answer = judge(initials, shares);
        assert_eq!(answer.status, 422);
        assert!(answer.body.contains(said), "{said}: {}", answer.body);
    }
    assert!(kept(folder.path()).book.expected.is_empty());
    assert_eq!(judge("AB", ["60", "50", ""]).status, 303);
    assert!(server.get(page).body.contains("AB has judged 2 of 3 items"));
    assert_eq!(judge("AB", ["60", "50", "40"]).status, 303);
    let one = server.get(page).body;
    assert!(
        !one.contains("Advised: ") && one.contains("1 judge of every item so far; the method asks for 2"),
        "{one}"
    );
    // A judge sees what learners see.
    assert!(one.contains("The whole question") && one.contains("It is warm"), "{one}");
    assert_eq!(judge("CD", ["80", "70", "60,0"]).status, 303);
    let two = server.get(page).body;
    // Sums 1.5 and 2.1: mean 1.8, standard error 0.4243 / sqrt 2 = 0.30.
    assert!(two.contains("Advised: 1.80 of 3 points, 60 %.") && two.contains("<dd>0.30</dd>"), "{two}");
    assert!(two.contains("Both methods advise; people decide."));
    let hofstee = |query: &str| server.get(&format!("{page}?{query}")).body;
    let asked = "cut_least=40&cut_most=70&fail_least=0&fail_most=30";
    assert!(hofstee(asked).contains("too few learners: given 0; at least 10"));
    server.post("/questions/SET-0007/table", &[("table", &class(20, 10))]);
    let none = hofstee(asked);
    assert!(none.contains("There is no crossing: even at the lowest pass mark, 40 %, 50 %"), "{none}");
    let meets = hofstee("cut_least=0&cut_most=100&fail_least=0&fail_most=80");
    assert!(meets.contains("Advised: ") && meets.contains("id=\"failing\""), "{meets}");
    let bad = hofstee("cut_least=x&cut_most=70&fail_least=0&fail_most=30");
    assert!(bad.contains("judge 1, lowest pass mark, %: given &quot;x&quot;"), "{bad}");
}
