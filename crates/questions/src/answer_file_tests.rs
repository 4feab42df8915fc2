use proptest::prelude::*;

use super::{MAX_BYTES, MAX_CELL, MAX_PROBLEMS, Problems, read_csv};
use crate::examples::{choice, number, order};
use crate::item::{Body, Item, Response};

fn items() -> Vec<Item> {
    vec![choice("q1"), order("q2"), number("q3")]
}

fn problems(text: &str) -> Problems {
    read_csv(text, &items()).unwrap_err()
}

fn pick(id: &str) -> Response {
    Response::Choice(id.to_owned())
}

#[test]
fn letters_identifiers_and_both_decimals_are_read() {
    let text =
        "\u{feff}learner,q3,q1,q2\r\nS-01,2.5,B,C>A>D>B\r\nS-02,\"2,5\",cold,c>d>a>b\r\n,,,\nS-03,, b ,\n";
    // Steps are shown as c, a, d, b: the capital C is the third place, and a small c could be either.
    let error = read_csv(text, &items()).unwrap_err();
    assert_eq!(error.told.len(), 1, "{error}");
    assert_eq!((error.told[0].line, error.told[0].given.as_str()), (3, "\"c\""), "{error}");

    let mut items = items();
    if let Body::Order { steps, key } = &mut items[1].body {
        for id in steps.iter_mut().map(|step| &mut step.id).chain(key) {
            id.push_str("_step");
        }
    }
    let text = text.replace("c>d>a>b", "c_step>d_step>a_step>b_step");
    let answers = read_csv(&text, &items).unwrap();
    assert_eq!(answers.items, ["q3", "q1", "q2"]);
    let learners: Vec<&str> = answers.learners.iter().map(|(code, _)| code.as_str()).collect();
    assert_eq!(learners, ["S-01", "S-02", "S-03"]);
    assert_eq!(answers.learners[0].1[0], Response::Number(2.5));
    assert_eq!(answers.learners[1].1[0], Response::Number(2.5));
    assert_eq!(answers.learners[0].1[1], pick("warm"));
    assert_eq!(answers.learners[1].1[1], pick("cold"));
    let order = |ids: [&str; 4]| Response::Order(ids.map(|id| format!("{id}_step")).to_vec());
    // By place: third, first, fourth, second of c, a, d, b.
    assert_eq!(answers.learners[0].1[2], order(["d", "c", "b", "a"]));
    assert_eq!(answers.learners[1].1[2], order(["c", "d", "a", "b"]));
    assert_eq!(answers.learners[2].1, [Response::Blank, pick("warm"), Response::Blank]);
}

#[test]
fn semicolons_separate_where_the_header_says_so() {
    let answers = read_csv("learner;q1;q3\nS-01;A;-1,25\nS-02;C;.5\n", &items()).unwrap();
    assert_eq!(answers.learners[0].1, [pick("cold"), Response::Number(-1.25)]);
    assert_eq!(answers.learners[1].1, [pick("no"), Response::Number(0.5)]);
}

#[test]
fn every_problem_is_found_in_one_pass_with_its_place() {
    let text = "learner,q1,q9,q3,q1\nAnna Smith,E,x,2.5,A\nS-01,A,,1.5.2,B\nS-01,A,,1e3,B\nS-02,A\n";
    let found = problems(text);
    let places: Vec<(u64, usize)> = found.told.iter().map(|problem| (problem.line, problem.column)).collect();
    assert_eq!(places, [(1, 3), (1, 5), (2, 1), (2, 2), (3, 4), (4, 1), (4, 4), (5, 3)], "{found}");
    assert_eq!(
        found.told[3].to_string(),
        "line 2, column 2 (q1): given \"E\"; allowed A (cold), B (warm), C (no), or empty"
    );
    assert!(found.told[5].given.contains("as in line 3"));
    assert!(found.told[7].given.contains("2 cells") && found.told[7].allowed.contains('5'));
}

#[test]
fn lines_are_counted_whatever_ends_them() {
    for (end, blank) in [("\n", 0), ("\r\n", 0), ("\r", 0), ("\r\n", 2), ("\n", 3)] {
        let text = ["learner,q1", "S-01,A", "S-02,\"B\nB\"", "S-03,Z", ""]
            .join(&format!("{end}{}", end.repeat(blank)));
        let lines: Vec<u64> = problems(&text).told.iter().map(|problem| problem.line).collect();
        let step = 1 + blank as u64;
        assert_eq!(lines, [1 + 2 * step, 2 + 3 * step], "{end:?} {blank}");
    }
}

#[test]
fn orders_that_are_not_whole_say_so() {
    for (cell, given) in [("a>b>c", "3 of 4 steps"), ("d>d>d>d", "more than once"), ("a>>b", "\"\"")] {
        let mut items = items();
        if let Body::Order { steps, key } = &mut items[1].body {
            // Shown in the order of their letters, so that letter and identifier agree.
            steps.sort_by(|a, b| a.id.cmp(&b.id));
            key.sort();
        }
        let error = read_csv(&format!("learner,q2\nS-01,{cell}\n"), &items).unwrap_err();
        assert!(error.told[0].given.contains(given), "{error}");
    }
}

#[test]
fn numbers_are_plain_numbers() {
    for bad in [
        "1e3",
        "inf",
        "NaN",
        "0x10",
        "1 000",
        "1.000.000",
        "1.234,5",
        "=1+1",
        "-",
        ".",
        "--1",
        "½",
        "2.5 h",
        "2.5 minutes",
    ] {
        let text = format!("learner;q3\nS-01;{bad}\n");
        assert_eq!(problems(&text).told.len(), 1, "{bad}");
    }
    // The unit of the item is no mistake.
    let read = read_csv("learner;q3\nS-01;2,5 min\n", &items()).unwrap();
    assert_eq!(read.learners[0].1, [Response::Number(2.5)]);
}

/// A sheet of paper numbers its questions.
#[test]
fn a_header_may_have_the_numbers_of_the_sheet() {
    let ids: Vec<String> = items().into_iter().map(|item| item.id).collect();
    let read = read_csv("learner,1,3\nS-01,A,2.5\n", &items()).unwrap();
    assert_eq!(read.items, [ids[0].clone(), ids[2].clone()]);
    for header in ["learner,0", "learner,99", "learner,1,1", &format!("learner,1,{}", ids[0])] {
        let cells = ",".repeat(header.matches(',').count());
        assert!(read_csv(&format!("{header}\nS-01{cells}\n"), &items()).is_err(), "{header}");
    }
}

#[test]
fn limits_are_said() {
    assert!(problems("").told[0].given.contains("no header"));
    assert!(problems("learner,q1\n").told[0].given.contains("no learners"));
    assert!(problems("learner\nS-01\n").told[0].given.contains("0 items"));
    assert!(problems("name,q1\nS-01,A\n").told[0].allowed.contains("learner"));
    assert!(problems(&"x".repeat(MAX_BYTES + 1)).told[0].given.contains("bytes"));
    let long = format!("learner,q1\nS-01,{}\n", "A".repeat(MAX_CELL + 1));
    assert!(problems(&long).told[0].given.contains("501 characters"));
    let many: String = std::iter::once("learner,q1\n".to_owned())
        .chain((0..2001).map(|n| format!("S-{n:04},A\n")))
        .collect();
    assert!(problems(&many).told[0].given.contains("more than 2000"));
    let wrong: String =
        std::iter::once("learner,q1\n".to_owned()).chain((0..300).map(|n| format!("S-{n:04},Z\n"))).collect();
    let found = problems(&wrong);
    assert_eq!((found.told.len(), found.more), (MAX_PROBLEMS, 100));
    assert!(found.to_string().ends_with("and 100 more"));
}

proptest! {
    #[test]
    fn prop_no_text_breaks_the_reader(text in "\\PC{0,200}", rows in proptest::collection::vec("[A-Z\"';,>\\-0-9. \\n]{0,20}", 0..8)) {
        let _ = read_csv(&text, &items());
        let _ = read_csv(&format!("learner,q1,q2,q3\n{}", rows.join("\n")), &items());
    }

    #[test]
    fn prop_what_is_written_is_read(value in -1e6f64..1e6) {
        let point = format!("learner;q3\nS-01;{value}\n");
        let comma = point.replace('.', ",");
        prop_assert_eq!(&read_csv(&point, &items()).unwrap().learners[0].1[0], &Response::Number(value));
        prop_assert_eq!(&read_csv(&comma, &items()).unwrap().learners[0].1[0], &Response::Number(value));
    }
}
