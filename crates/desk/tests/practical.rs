//! Practicals as two markers fill them in: blind, changed, compared.
#![allow(clippy::unwrap_used, reason = "a test stops where its premise fails")]

#[path = "common/served.rs"]
mod served;

use std::path::Path;

use questions::agreement::{Weights, many_markers, two_markers};
use questions::figure::Figure;
use questions::rubric::{Rubric, shipped};
use records::sqlite::SqliteStore;
use records::{Store, What};
use served::{Answer, Served};
use terms::{CaseCode, Fact};

const PAGE: &str = "/practical/PRAC-0001";

fn opened(store: &Path) -> Served {
    let server = Served::over(store);
    let answer = server.post(
        "/practical",
        &[("rubric", "impression"), ("about", "Upper <i>first</i> premolar"), ("number", "1")],
    );
    assert_eq!(answer.status, 303);
    server
}

fn rubric() -> Rubric {
    shipped("impression").unwrap()
}

/// Rates everything; `levels` in the order of the rubric, none for what could not be seen.
fn rate(server: &Served, learner: &str, marker: &str, levels: &[Option<usize>]) -> Answer {
    let fields: Vec<(String, String)> = rubric()
        .criteria
        .iter()
        .zip(levels)
        .map(|(criterion, level)| {
            (format!("level-{}", criterion.id), level.map_or("unseen".to_owned(), |level| level.to_string()))
        })
        .collect();
    let mut all = vec![("learner", learner), ("marker", marker)];
    all.extend(fields.iter().map(|(name, value)| (name.as_str(), value.as_str())));
    server.post(&format!("{PAGE}/rate"), &all)
}

fn best() -> Vec<Option<usize>> {
    rubric().criteria.iter().map(|criterion| Some(criterion.levels.len() - 1)).collect()
}

fn place(id: &str) -> usize {
    rubric().criteria.iter().position(|criterion| criterion.id == id).unwrap()
}

/// The levels of a learner, invented by a rule that needs no chance.
fn invented(learner: usize, marker: usize) -> Vec<Option<usize>> {
    let of = |(place, criterion): (usize, &questions::rubric::Criterion)| {
        let levels = criterion.levels.len();
        let truth =
            if (learner * 5 + place * 3).is_multiple_of(4) { (learner + place) % levels } else { levels - 1 };
        match (learner * 7 + place * 11 + marker * 13) % 9 {
            0 => None,
            1 => Some((truth + 1) % levels),
            _ => Some(truth),
        }
    };
    rubric().criteria.iter().enumerate().map(of).collect()
}

/// What stands on a page between its tags.
fn text(page: &str) -> String {
    let mut out = String::new();
    let mut inside = false;
    for c in page.chars() {
        match c {
            '<' => inside = true,
            '>' => {
                inside = false;
                out.push(' ');
            }
            c if !inside => out.push(c),
            _ => {}
        }
    }
    let out = out.replace("&quot;", "\"");
    out.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn a_practical_is_opened_once_under_its_number() {
    let folder = tempfile::tempdir().unwrap();
    let server = opened(&folder.path().join("records.sqlite"));
    let list = server.get("/practical").body;
    assert!(list.contains("PRAC-0001") && list.contains("name=\"number\"") && list.contains("value=\"2\""));
    assert!(list.contains("Upper &lt;i&gt;first&lt;/i&gt; premolar") && !list.contains("<i>first"));
    assert!(server.get(PAGE).body.contains("Nobody has rated anything yet."));
    let again = server.post("/practical", &[("rubric", "die"), ("about", "x"), ("number", "1")]);
    assert_eq!(again.status, 422);
    assert!(text(&again.body).contains("PRAC-0001 is open already"));
    for (fields, said) in [
        (
            [("rubric", "crown"), ("about", "x"), ("number", "2")],
            "given rubric \"crown\"; allowed impression, die",
        ),
        ([("rubric", "die"), ("about", ""), ("number", "2")], "about: given 0 characters; allowed 1 to"),
        (
            [("rubric", "die"), ("about", "x"), ("number", "two")],
            "number: given \"two\"; allowed 0 to 999999",
        ),
        ([("rubric", "die"), ("about", "x"), ("number", "1000000")], "allowed 0 to 999999"),
    ] {
        let answer = server.post("/practical", &fields);
        assert_eq!(answer.status, 422, "{said}");
        assert!(text(&answer.body).contains(said), "{}", text(&answer.body));
    }
    let stale = [("token", "of another start"), ("rubric", "die"), ("about", "x"), ("number", "2")];
    assert_eq!(server.post_bare("/practical", &stale).status, 409);
    assert_eq!(server.get("/practical/PRAC-0002").status, 404);
    // The book of the clinic, sets and cases are no practicals.
    for code in ["BOOK-00", "SET-0001", "TW-0001", "x"] {
        assert_eq!(server.get(&format!("/practical/{code}")).status, 404, "{code}");
        assert_eq!(server.get(&format!("/practical/{code}/result")).status, 404, "{code}");
    }
}

#[test]
fn a_marker_sees_another_one_only_after_saving_all() {
    let folder = tempfile::tempdir().unwrap();
    let server = opened(&folder.path().join("records.sqlite"));
    let mut first = best();
    first[place("void")] = Some(1);
    assert_eq!(rate(&server, "S-01", "AB", &first).status, 303);
    let form = |marker: &str| server.get(&format!("{PAGE}/rate?learner=S-01&marker={marker}")).body;
    let alone = form("AB");
    assert!(alone.contains("All 11 are saved.") && alone.contains("No other marker has rated all"));

    // Nothing of the first marker is on the page of the second: it is that of a work that nobody has rated.
    let before = form("CD");
    let untouched = server.get(&format!("{PAGE}/rate?learner=S-77&marker=CD")).body;
    assert_eq!(before.replace("S-01", "S-77"), untouched);
    assert!(!before.contains("AB") && !before.contains("checked"));
    // Plain faults first, under their own heading.
    let heading = |words: &str| before.find(words).unwrap();
    assert!(heading("Plain faults first") < heading("weigh before any micrometre"));
    assert!(
        heading("level-moved") < heading("Then the rest")
            && heading("Then the rest") < heading("level-seating")
    );
    assert!(!text(&server.get(&format!("{PAGE}/result")).body).contains("none at the finish line"));

    // All but one are not all: neither the form nor the results show anything.
    let second = best();
    assert_eq!(rate(&server, "S-01", "CD", &second[..10]).status, 303);
    let nearly = form("CD");
    assert!(text(&nearly).contains("10 of 11 are saved; still open: rinsed, disinfected and labelled."));
    assert!(!nearly.contains("AB") && !nearly.contains("class=\"other\""));
    let held = text(&server.get(&format!("{PAGE}/result")).body);
    assert!(held.contains("S-01 is left out, and nothing that was given is shown: CD has 1 of 11 open."));
    assert!(!held.contains("none at the finish line"), "{held}");

    assert_eq!(rate(&server, "S-01", "CD", &second).status, 303);
    assert!(text(&form("CD")).contains("AB : none at the finish line, some on the preparation"));
    assert!(text(&form("AB")).contains("CD : none"));
    // A third one who begins is blind too, and until then the results hold the work back.
    assert_eq!(rate(&server, "S-01", "EF", &best()[..3]).status, 303);
    assert!(!form("EF").contains("class=\"other\""));
    for query in ["first=AB&second=CD", "first=AB&second=CD&reference=EF", "reference=AB"] {
        let held = text(&server.get(&format!("{PAGE}/result?{query}")).body);
        assert!(held.contains("EF has 8 of 11 open") && !held.contains("some on the preparation"), "{held}");
    }
}

#[test]
fn what_is_no_code_no_initials_no_criterion_and_no_level_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("records.sqlite");
    let server = opened(&path);
    let to = format!("{PAGE}/rate");
    for learner in ["Anna", "Anna-01", "S01", "s-01", "", "S-01 "] {
        let query = learner.replace(' ', "%20");
        let asked = server.get(&format!("{to}?learner={query}&marker=AB"));
        assert_eq!(asked.status, 422, "{learner}");
        assert!(asked.body.contains("a hyphen and two to four digits"), "{learner}");
    }
    for marker in ["Anna", "A", "ABCDE", "ab", "A1", ""] {
        let asked = server.get(&format!("{to}?learner=S-01&marker={marker}"));
        assert_eq!(asked.status, 422, "{marker}");
        assert!(asked.body.contains("two to four capital letters"), "{marker}");
        let sent = server.post(&to, &[("learner", "S-01"), ("marker", marker), ("level-void", "1")]);
        assert_eq!(sent.status, 422, "{marker}");
    }
    assert_eq!(server.post(&to, &[("learner", "Anna"), ("marker", "AB"), ("level-void", "1")]).status, 422);
    for (field, value, said) in [
        ("level-colour", "1", "criterion: given"),
        ("level-void", "4", "allowed 0 to 3, or unseen"),
        ("level-void", "-1", "allowed 0 to 3, or unseen"),
        ("level-moved", "2", "allowed 0 to 1, or unseen"),
        ("level-void", "NaN", "allowed 0 to 3, or unseen"),
        ("level-void", "", "allowed 0 to 3, or unseen"),
    ] {
        // What is right beside it is not kept either.
        let fields = [("learner", "S-01"), ("marker", "AB"), ("level-margin", "1"), (field, value)];
        let answer = server.post(&to, &fields);
        assert_eq!(answer.status, 422, "{field} {value}");
        assert!(text(&answer.body).contains(said), "{field} {value}: {}", text(&answer.body));
    }
    assert!(server.get(PAGE).body.contains("Nobody has rated anything yet."));
    rate(&server, "S-01", "AB", &best());
    rate(&server, "S-01", "CD", &best());
    for query in ["first=XY", "reference=XY", "first=AB&second=AB"] {
        assert_eq!(server.get(&format!("{PAGE}/result?{query}")).status, 422, "{query}");
    }
}

#[test]
fn the_figures_of_the_page_are_those_of_the_same_ratings() {
    let folder = tempfile::tempdir().unwrap();
    let server = opened(&folder.path().join("records.sqlite"));
    let rubric = rubric();
    let learners: Vec<String> = (1..=6).map(|number| format!("S-{number:02}")).collect();
    for (number, learner) in learners.iter().enumerate() {
        for (place, marker) in ["AB", "CD", "EF"].into_iter().enumerate() {
            assert_eq!(rate(&server, learner, marker, &invented(number, place)).status, 303);
        }
    }
    let page = text(&server.get(&format!("{PAGE}/result?first=AB&second=CD")).body);
    let given = |marker: usize, levels: usize| -> Vec<Fact<usize>> {
        let mut list = Vec::new();
        for learner in 0..learners.len() {
            for (criterion, level) in rubric.criteria.iter().zip(invented(learner, marker)) {
                if criterion.levels.len() == levels {
                    list.push(level.map_or(Fact::Unknown, Fact::Known));
                }
            }
        }
        list
    };
    let two = |value: f64| format!("{value:.2}").replace('-', "−");
    for levels in [2, 3, 4] {
        let found = two_markers(&given(0, levels), &given(1, levels), levels).unwrap();
        let (_, part) = page.split_once(&format!("Criteria with {levels} levels")).unwrap();
        let part = part.split("Criteria with").next().unwrap();
        let same: usize = (0..levels).map(|level| found.table[level][level]).sum();
        let share = found.agreement.known().unwrap();
        assert!(
            part.contains(&format!("same level {same} of {} cases, {:.0} %", found.both, 100.0 * share)),
            "{part}"
        );
        for kappa in &found.kappas {
            let name = match kappa.weights {
                Weights::None => "Cohen's kappa",
                Weights::Linear => "kappa, linear weights",
                Weights::Quadratic => "kappa, quadratic weights",
            };
            if levels == 2 && kappa.weights != Weights::None {
                assert!(!part.contains(name));
                continue;
            }
            let value = match (kappa.kappa, kappa.interval) {
                (Figure::Absent(absent), _) => absent.to_string(),
                (Figure::Known(value), Figure::Absent(absent)) => format!("{} {absent}", two(value)),
                (Figure::Known(value), Figure::Known([low, high])) => {
                    format!("{} {} to {}", two(value), two(low), two(high))
                }
            };
            assert!(part.contains(&format!("{name} {value}")), "{name} {value}: {part}");
        }
        if found.left_out > 0 {
            assert!(part.contains(&format!("{} case", found.left_out)), "{part}");
        }
        let of: Vec<Vec<Fact<usize>>> = (0..3).map(|marker| given(marker, levels)).collect();
        let many = many_markers(&[&of[0], &of[1], &of[2]], levels).unwrap();
        let kappa = match many.kappa {
            Figure::Known(value) => two(value),
            Figure::Absent(absent) => absent.to_string(),
        };
        let (_, fleiss) = page.split_once("Fleiss' kappa").unwrap();
        let share = 100.0 * many.agreement.known().unwrap();
        let row = format!("{levels} levels {} {} {share:.0} % {kappa}", many.all, many.left_out);
        assert!(fleiss.contains(&row), "{row}: {fleiss}");
    }
    // The scale of three levels carries its figures, and the others say that they are too few.
    assert!(page.contains("too few cases rated by all: given"));
    assert!(!page.contains("NaN") && !page.split(' ').any(|word| word == "inf" || word == "-inf"));
    for verdict in ["pass", "fail", "passed", "failed", "grade", "score"] {
        let words = page.split(|c: char| !c.is_alphabetic());
        let found = words.filter(|word| *word == verdict).count();
        // "plain faults passed over" is what a marker did, and only with a reference.
        assert_eq!(found, 0, "{verdict}");
    }
}

#[test]
fn profiles_name_plain_faults_first_and_what_to_settle() {
    let folder = tempfile::tempdir().unwrap();
    let server = opened(&folder.path().join("records.sqlite"));
    let result = |query: &str| text(&server.get(&format!("{PAGE}/result{query}")).body);
    assert!(result("").contains("Two markers are needed, and there is none."));
    let mut seen = best();
    seen[place("void")] = Some(0);
    seen[place("seating")] = Some(0);
    seen[place("drag")] = Some(1);
    let mut passed_over = best();
    passed_over[place("blood")] = None;
    for number in 1..=5 {
        let learner = format!("S-{number:02}");
        rate(&server, &learner, "AB", &seen);
        if number == 1 {
            assert!(result("").contains("Two markers are needed, and there is one."));
        }
        rate(&server, &learner, "CD", if number < 4 { &passed_over } else { &seen });
    }
    let page = result("");
    assert!(page.contains("S-01 disputed voids at its worst seating of the tray less than the best: drags and folds; could not be seen by all: blood and fluid · 3 differences"), "{page}");
    assert!(page.contains("S-04 plain fault voids at its worst seating of the tray"), "{page}");
    let (_, order) = page.split_once("Look at it together, in this order").unwrap();
    let at = |words: &str| order.find(words).unwrap();
    // The void by all of its scale, the drag by half, and only then the seating, though it lies a whole scale apart.
    assert!(
        at("voids : AB a void at the finish line ; CD none , 3 of 3 steps apart") < at("drags and folds :")
    );
    assert!(at("drags and folds :") < at("seating of the tray : AB to one side or not down ; CD even"));
    assert!(page.contains("Choose a reference marking above"));

    let page = result("?reference=AB");
    let (_, against) = page.split_once("CD against AB").unwrap();
    assert!(against.contains("voids : passed over or taken lightly in 3 of 5 cases"), "{against}");
    let at = |words: &str| against.find(words).unwrap();
    assert!(at("voids : passed over") < at("seating of the tray : kinder in 3 of 5 cases"));
    // Five differences 3, 3, 3, 0, 0: mean 1.8, s = 1.643, t = 2.776 with 4 degrees of freedom.
    assert!(against.contains("voids 5 +1.80 −0.24 to 3.84 3 0"), "{against}");
    assert!(against.contains("margin all round 5 0.00 undefined: the differences are all the same 0 0"));
    assert!(
        against.contains("blood and fluid 2 0.00 too few cases rated by all: given 2; at least 5 are needed")
    );
    assert!(!page.contains("AB against AB"));
}

#[test]
fn high_agreement_with_low_kappa_is_said() {
    let folder = tempfile::tempdir().unwrap();
    let server = opened(&folder.path().join("records.sqlite"));
    for number in 1..=12 {
        let learner = format!("S-{number:02}");
        let (mut first, mut second) = (best(), best());
        if number == 1 {
            first[place("moved")] = Some(0);
        }
        if number == 2 {
            second[place("moved")] = Some(0);
        }
        rate(&server, &learner, "AB", &first);
        rate(&server, &learner, "CD", &second);
    }
    let page = text(&server.get(&format!("{PAGE}/result")).body);
    assert!(page.contains("High agreement, low kappa: the markers agree in 83 % of the cases"), "{page}");
    assert!(page.contains("Cohen's kappa −0.09"), "{page}");
    // All alike in three levels: nothing but chance, and no figure.
    assert!(page.contains("undefined: chance alone would agree always"), "{page}");
}

#[test]
fn a_changed_rating_stays_in_the_history_and_agreement_is_that_of_the_blind_ones() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("records.sqlite");
    let server = opened(&path);
    let of_void = |level| {
        let mut levels = best();
        levels[place("void")] = level;
        levels
    };
    rate(&server, "S-01", "AB", &of_void(Some(0)));
    // Nobody else has rated it: a slip is put right, and the rating is still a blind one.
    rate(&server, "S-01", "AB", &of_void(Some(1)));
    rate(&server, "S-01", "CD", &of_void(Some(3)));
    let page = text(&server.get(&format!("{PAGE}/result")).body);
    assert!(
        page.contains("Criteria with 4 levels voids figure value interval of 95 % same level 0 of 1 case")
    );
    // After a look at the other's the profile changes, and the agreement does not.
    rate(&server, "S-01", "AB", &of_void(Some(3)));
    rate(&server, "S-01", "AB", &of_void(Some(3)));
    let page = text(&server.get(&format!("{PAGE}/result")).body);
    assert!(page.contains("same level 0 of 1 case"), "{page}");
    assert!(
        page.contains("Changed after the other could be seen, and not counted: S-01 void by AB."),
        "{page}"
    );
    assert!(page.contains("S-01 no plain fault was seen · no difference"), "{page}");
    drop(server);

    let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build().unwrap();
    let history = runtime.block_on(async {
        let store = SqliteStore::open(&path).await.unwrap();
        store.history(&CaseCode::new("PRAC-0001").unwrap()).await.unwrap()
    });
    let voids: Vec<(String, Option<u32>)> = history
        .into_iter()
        .filter_map(|kept| match kept.entry.what {
            What::Rated { marker, criterion, level, .. } if criterion == "void" => Some((marker, level)),
            _ => None,
        })
        .collect();
    let said: Vec<(&str, Option<u32>)> =
        voids.iter().map(|(marker, level)| (marker.as_str(), *level)).collect();
    // Each change once, in its order; what is sent again unchanged adds nothing.
    assert_eq!(said, [("AB", Some(0)), ("AB", Some(1)), ("CD", Some(3)), ("AB", Some(3))]);
}

#[test]
fn what_could_not_be_seen_is_kept_as_that() {
    let folder = tempfile::tempdir().unwrap();
    let server = opened(&folder.path().join("records.sqlite"));
    let mut levels = best();
    levels[place("blood")] = None;
    rate(&server, "S-01", "AB", &levels);
    let form = server.get(&format!("{PAGE}/rate?learner=S-01&marker=AB")).body;
    assert!(form.contains("All 11 are saved."));
    assert!(form.contains("value=\"unseen\" id=\"level-blood-unseen\" checked"));
    let sheet = text(&server.get(&format!("{PAGE}/sheet")).body);
    for words in
        ["Rating sheet", "PRAC-0001", "learner, code", "marker, initials", "could not see it", "voids"]
    {
        assert!(sheet.contains(words), "{words}");
    }
}
