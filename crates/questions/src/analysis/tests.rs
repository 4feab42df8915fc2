use proptest::prelude::*;

use super::*;
use crate::answers::Chosen;

fn column(item: &str, earned: &[f64]) -> Column {
    Column {
        item: item.to_owned(),
        earned: earned.to_vec(),
        omitted: vec![false; earned.len()],
        chosen: None,
    }
}

/// Column `index` of a matrix of rows.
fn columns(rows: &[Vec<f64>]) -> Vec<Column> {
    let items = rows.first().map_or(0, Vec::len);
    (0..items)
        .map(|item| {
            let earned: Vec<f64> = rows.iter().map(|row| row[item]).collect();
            column(&format!("q{item}"), &earned)
        })
        .collect()
}

fn with_options(earned: &[f64], by: &[Option<usize>]) -> Column {
    let mut column = column("q", earned);
    column.omitted = by.iter().map(Option::is_none).collect();
    let options = ["a", "b", "c", "d"].map(str::to_owned).to_vec();
    column.chosen = Some(Chosen { options, key: 0, by: by.to_vec() });
    column
}

#[test]
fn too_few_answers_are_said_with_how_many_are_needed() {
    let four = columns(&[vec![1.0, 0.0], vec![0.0, 0.0], vec![1.0, 1.0], vec![1.0, 0.0]]);
    let report = analyse(&four).unwrap();
    let few = |needed: usize| Absent::TooFew { of: Of::Learners, given: 4, needed };
    assert_eq!(report.alpha, Figure::Absent(few(LEARNERS_FOR_FIGURES)));
    assert_eq!(report.mean, Figure::Absent(few(LEARNERS_FOR_DIFFICULTY)));
    assert_eq!(report.by_item[0].difficulty, Figure::Absent(few(LEARNERS_FOR_DIFFICULTY)));
    assert_eq!(report.by_item[0].with_rest, Figure::Absent(few(LEARNERS_FOR_FIGURES)));
    assert_eq!(report.by_item[0].flags, Err(few(LEARNERS_FOR_WORDS)));
    assert_eq!(few(10).to_string(), "too few learners: given 4; at least 10 are needed");
}

#[test]
fn what_is_undefined_says_why() {
    let same: Vec<Vec<f64>> = (0..12).map(|_| vec![1.0, 0.0, 1.0]).collect();
    let report = analyse(&columns(&same)).unwrap();
    assert_eq!(report.alpha, Figure::Absent(Absent::NoSpread { of: Of::Totals }));
    assert_eq!(report.by_item[0].discrimination, Figure::Absent(Absent::NoSpread { of: Of::Totals }));
    assert_eq!(report.by_item[0].with_total, Figure::Absent(Absent::NoSpread { of: Of::ItemCredits }));

    let one: Vec<Vec<f64>> = (0..12).map(|n| vec![f64::from(n % 2)]).collect();
    let report = analyse(&columns(&one)).unwrap();
    let few = Absent::TooFew { of: Of::Items, given: 1, needed: 2 };
    assert_eq!(report.alpha, Figure::Absent(few));
    assert_eq!(report.by_item[0].with_rest, Figure::Absent(Absent::NoSpread { of: Of::Rest }));
    assert_eq!(report.by_item[0].with_total, Figure::Known(1.0));
    assert_eq!(
        report.by_item[0].alpha_without,
        Figure::Absent(Absent::TooFew { of: Of::Items, given: 0, needed: 2 })
    );

    // Two learners of the same total: what one item gives the other takes.
    let against: Vec<Vec<f64>> = (0..12).map(|n| vec![f64::from(n % 2), f64::from(1 - n % 2)]).collect();
    let report = analyse(&columns(&against)).unwrap();
    assert_eq!(report.alpha, Figure::Absent(Absent::NoSpread { of: Of::Totals }));
    assert_eq!(report.by_item[0].with_rest.known(), Some(-1.0));
}

#[test]
fn partial_credit_has_alpha_and_no_kr20() {
    let rows: Vec<Vec<f64>> =
        (0..12).map(|n| vec![f64::from(n % 3) / 2.0, f64::from(n % 2), f64::from(n / 6)]).collect();
    let report = analyse(&columns(&rows)).unwrap();
    assert!(report.alpha.known().is_some());
    assert_eq!(report.kr20, Figure::Absent(Absent::PartialCredit));
    assert_eq!(report.kr21, Figure::Absent(Absent::PartialCredit));
    assert_eq!(report.by_item[0].difficulty_interval, Figure::Absent(Absent::PartialCredit));
    assert!(report.by_item[1].difficulty_interval.known().is_some());
}

#[test]
fn columns_that_are_no_matrix_are_refused_by_name() {
    assert_eq!(analyse(&[]), Err(MatrixError::Empty { items: 0, learners: 0 }));
    assert!(matches!(analyse(&[column("q", &[])]), Err(MatrixError::Empty { items: 1, .. })));
    let short = [column("q1", &[1.0, 0.0]), column("q2", &[1.0])];
    assert_eq!(
        analyse(&short).unwrap_err().to_string(),
        "q2: given 1 credits; allowed 2, one to each learner"
    );
    for bad in [1.5, -0.1, f64::NAN] {
        assert!(matches!(analyse(&[column("q", &[bad])]), Err(MatrixError::Credit { .. })));
    }
    let twice = [column("q", &[1.0]), column("q", &[1.0])];
    assert!(matches!(analyse(&twice), Err(MatrixError::Twice { .. })));
    assert!(matches!(
        analyse(&[with_options(&[0.0], &[Some(4)])]),
        Err(MatrixError::Option { given: 4, allowed: 4, .. })
    ));
}

#[test]
fn options_are_counted_by_group_and_flagged() {
    // Forty learners; the key 0 is chosen by the lower half, option 1 by the upper: the key is wrong.
    let mut key = Vec::new();
    let mut others = Vec::new();
    let mut by = Vec::new();
    for learner in 0..40 {
        let able = learner >= 20;
        by.push(if learner == 0 { None } else { Some(usize::from(able)) });
        key.push(f64::from(u8::from(!able && learner > 0)));
        others.push(f64::from(u8::from(able)));
    }
    let mut second = column("r", &others);
    second.item = "r".to_owned();
    let third = column("s", &others);
    let report = analyse(&[with_options(&key, &by), second, third]).unwrap();
    let item = &report.by_item[0];
    assert_eq!(item.omitted, 1);
    let who = item.distractors.clone().unwrap();
    assert_eq!(who.blank, 1);
    assert_eq!(who.working, [1, 3]);
    assert_eq!((who.options[0].count, who.options[1].count, who.options[2].count), (19, 20, 0));
    let line = &who.options[1];
    assert!((line.upper - 10.8).abs() < 1e-9 && line.lower.abs() < 1e-9 && (line.middle - 9.2).abs() < 1e-9);
    assert_eq!((line.works, line.more_in_upper), (Some(true), Some(true)));
    assert!(item.discrimination.known().unwrap() < 0.0);
    let said: Vec<&str> = item.flags.as_ref().unwrap().iter().map(|flag| flag.words.as_str()).collect();
    assert!(said.iter().any(|words| words.contains("check the key")), "{said:?}");
    assert!(said.iter().any(|words| words.contains("option B (b) is chosen more by those who know more")));
    assert!(said.iter().any(|words| words.contains("option C (c) is chosen by fewer")));
}

#[test]
fn a_difficulty_is_firm_where_its_whole_interval_is_in_the_band() {
    let firm = |right: usize, of: usize| {
        let p = right as f64 / of as f64;
        of_item(Some(p), Some(wilson(p, of)), None, None, None, None)[0].firm
    };
    assert_eq!(firm(29, 40), Some(false));
    assert_eq!(firm(39, 40), Some(true));
}

#[test]
fn bands_cover_everything_once() {
    for figure in ["difficulty", "discrimination", "item and rest", "reliability"] {
        let of: Vec<&Band> = bands(figure).collect();
        assert_eq!((of[0].least, of[of.len() - 1].below), (f64::NEG_INFINITY, f64::INFINITY));
        assert!(of.windows(2).all(|pair| pair[0].below == pair[1].least), "{figure}");
    }
}

#[test]
fn lengths_refuse_what_no_length_reaches() {
    assert!((spearman_brown(0.5, 2.0).unwrap() - 2.0 / 3.0).abs() < 1e-15);
    assert!((length_for(0.5, 0.8).unwrap() - 4.0).abs() < 1e-12);
    assert_eq!(
        length_for(-0.2, 0.8).unwrap_err().to_string(),
        "reliability: given -0.2; allowed above 0 and below 1"
    );
    assert!(length_for(0.5, 1.0).is_err());
    assert!(spearman_brown(0.5, 0.0).is_err());
    assert!(spearman_brown(1.5, 2.0).is_err());
    assert!(spearman_brown(f64::NAN, 2.0).is_err());
    assert!(spearman_brown(-1.0, 2.0).is_err());
}

/// Rows of a class: at least ten learners, at least two items, credits in quarters.
fn class() -> impl Strategy<Value = Vec<Vec<f64>>> {
    (2usize..6, 10usize..35).prop_flat_map(|(items, learners)| {
        let credit = prop::sample::select(vec![0.0, 0.25, 1.0 / 3.0, 2.0 / 3.0, 1.0]);
        prop::collection::vec(prop::collection::vec(credit, items), learners)
    })
}

/// All figures of a report, item by item.
fn figures(report: &TestReport) -> Vec<Vec<Option<f64>>> {
    let mut all = vec![vec![
        report.mean.known(),
        report.sd.known(),
        report.alpha.known(),
        report.alpha_interval.known().map(|ends| ends[0]),
        report.kr20.known(),
        report.standard_error.known(),
    ]];
    all.extend(report.by_item.iter().map(|item| {
        vec![
            item.difficulty.known(),
            item.discrimination.known(),
            item.with_total.known(),
            item.with_rest.known(),
            item.alpha_without.known(),
        ]
    }));
    all
}

fn same(a: &[Vec<Option<f64>>], b: &[Vec<Option<f64>>]) -> bool {
    let near = |(a, b): (&Option<f64>, &Option<f64>)| match (a, b) {
        (Some(a), Some(b)) => (a - b).abs() <= 1e-7 * (1.0 + a.abs()),
        (a, b) => a == b,
    };
    a.iter().flatten().zip(b.iter().flatten()).all(near)
}

proptest! {
    #[test]
    fn prop_the_order_of_learners_and_items_changes_nothing(rows in class(), turn in 0usize..40, back in any::<bool>()) {
        let before = figures(&analyse(&columns(&rows)).unwrap());
        let mut moved = rows.clone();
        let learners = moved.len();
        moved.rotate_left(turn % learners);
        if back {
            moved.reverse();
        }
        let after = figures(&analyse(&columns(&moved)).unwrap());
        prop_assert!(same(&before, &after), "{before:?} {after:?}");

        let mut turned = columns(&rows);
        let items = turned.len();
        turned.rotate_left(turn % items);
        let mut after = figures(&analyse(&turned).unwrap());
        after[1..].rotate_right(turn % items);
        prop_assert!(same(&before, &after), "{before:?} {after:?}");
    }

    #[test]
    fn prop_alpha_of_right_or_wrong_is_kr20(rows in class()) {
        let whole: Vec<Vec<f64>> = rows.iter().map(|row| row.iter().map(|credit| credit.round()).collect()).collect();
        let report = analyse(&columns(&whole)).unwrap();
        prop_assert_eq!(report.alpha.known().is_some(), report.kr20.known().is_some());
        if let (Some(alpha), Some(kr20), Some(kr21)) = (report.alpha.known(), report.kr20.known(), report.kr21.known()) {
            prop_assert!((alpha - kr20).abs() < 1e-9 * (1.0 + alpha.abs()));
            prop_assert!(kr21 <= kr20 + 1e-9 * (1.0 + kr20.abs()));
        }
    }

    #[test]
    fn prop_figures_are_finite_and_in_range(rows in class()) {
        let report = analyse(&columns(&rows)).unwrap();
        for value in figures(&report).into_iter().flatten().flatten() {
            prop_assert!(value.is_finite());
        }
        if let (Some(alpha), Some([low, high])) = (report.alpha.known(), report.alpha_interval.known()) {
            prop_assert!(low <= alpha && alpha <= high && high <= 1.0);
        }
        for item in &report.by_item {
            for value in [item.discrimination, item.with_total, item.with_rest].into_iter().filter_map(Figure::known) {
                prop_assert!((-1.0 - 1e-12..=1.0 + 1e-12).contains(&value));
            }
        }
    }

    #[test]
    fn prop_each_learner_belongs_once_to_a_group_of_the_stated_size(rows in class()) {
        let totals = totals(&columns(&rows));
        let groups = groups(&totals, SHARE);
        for membership in [&groups.upper, &groups.lower] {
            prop_assert!((membership.iter().sum::<f64>() - groups.size).abs() < 1e-9);
            prop_assert!(membership.iter().all(|part| (0.0..=1.0).contains(part)));
        }
        for (upper, lower) in groups.upper.iter().zip(&groups.lower) {
            prop_assert!(upper + lower <= 1.0 + 1e-9);
        }
    }

    #[test]
    fn prop_as_much_longer_as_wanted_gives_what_was_wanted(r in 0.05f64..0.95, wanted in 0.05f64..0.95) {
        let length = length_for(r, wanted).unwrap();
        prop_assert!((spearman_brown(r, length).unwrap() - wanted).abs() < 1e-9);
    }
}
