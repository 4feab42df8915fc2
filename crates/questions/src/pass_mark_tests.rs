use proptest::prelude::*;

use super::*;

const JUDGE: HofsteeJudge = HofsteeJudge { cut_least: 0.5, cut_most: 0.8, fail_least: 0.05, fail_most: 0.4 };

fn meets(scores: &[f64], judge: HofsteeJudge) -> (f64, f64, Option<f64>) {
    match hofstee(scores, &[judge], Centre::Mean).unwrap() {
        Hofstee::Meets { cut, failing, failing_above, .. } => (cut, failing, failing_above),
        Hofstee::AskAgain { why, .. } => panic!("{why}"),
    }
}

#[test]
fn judges_are_summed_and_their_spread_is_told() {
    // Constructed: sums of 6.0, 6.3 and 5.8.
    let judges = [vec![0.6; 10], vec![0.63; 10], vec![0.58; 10]];
    let set = angoff(&judges).unwrap();
    assert!((set.cut - 6.033_333_333).abs() < 1e-8 && (set.share - 0.603_333_333).abs() < 1e-8);
    assert!((set.standard_error.known().unwrap() - 0.145_296_631).abs() < 1e-8);
    // t of 2 degrees of freedom is 4.302 653.
    let [low, high] = set.interval.known().unwrap();
    assert!((0.5 * (high - low) - 4.302_653 * 0.145_296_631).abs() < 1e-6);

    let set = angoff(&[vec![0.5, 0.2, 0.9], vec![0.5, 0.8, 0.7]]).unwrap();
    assert_eq!(set.talk_about, [1, 2, 0]);
    assert_eq!(set.spread[0], Figure::Known(0.0));
}

#[test]
fn one_judge_has_no_spread() {
    let set = angoff(&[vec![0.5, 0.7]]).unwrap();
    assert_eq!(set.cut, 1.2);
    let few = Absent::TooFew { of: Of::Judges, given: 1, needed: 2 };
    assert_eq!(set.standard_error, Figure::Absent(few));
    assert_eq!(set.interval, Figure::Absent(few));
}

#[test]
fn what_is_no_judgement_is_named() {
    assert_eq!(angoff(&[]).unwrap_err().to_string(), "given no judges; allowed at least one");
    assert_eq!(angoff(&[vec![]]).unwrap_err().to_string(), "given no items; allowed at least one");
    assert_eq!(
        angoff(&[vec![0.5, 0.5], vec![0.5]]).unwrap_err().to_string(),
        "judge 2: given 1 judgements; allowed 2, one to each item"
    );
    assert_eq!(
        angoff(&[vec![0.5, 60.0]]).unwrap_err().to_string(),
        "judge 1, item 2: given chance 6000 %; allowed 0 % to 100 %"
    );
    assert!(angoff(&[vec![f64::NAN]]).is_err());
    let scores = [0.5; 10];
    let turned = HofsteeJudge { cut_least: 0.9, ..JUDGE };
    assert_eq!(
        hofstee(&scores, &[turned], Centre::Mean).unwrap_err().to_string(),
        "judge 1: given highest pass mark 80 %; allowed 90 % to 100 %"
    );
    let point = HofsteeJudge { cut_least: 0.8, ..JUDGE };
    assert!(
        hofstee(&scores, &[point], Centre::Mean).unwrap_err().to_string().contains("above the lowest, 80 %")
    );
    assert_eq!(
        hofstee(&scores[..3], &[JUDGE], Centre::Mean).unwrap_err().to_string(),
        "too few learners: given 3; at least 10 are needed"
    );
    assert!(hofstee(&[50.0; 10], &[JUDGE], Centre::Mean).is_err());
    assert!(hofstee(&scores, &[], Centre::Mean).is_err());
}

#[test]
fn the_line_meets_a_flat_part() {
    // Constructed: 20 % are below every pass mark above 0.2 and up to 0.7.
    let scores = [0.8, 0.7, 0.7, 0.2, 0.2, 0.9, 0.8, 0.9, 0.7, 0.7];
    let (cut, failing, above) = meets(&scores, JUDGE);
    assert!((cut - (0.5 + 0.2 * 0.3 / 0.35)).abs() < 1e-12, "{cut}");
    assert_eq!((failing, above), (0.2, None));
}

#[test]
fn a_step_through_the_line_passes_those_who_stand_on_it() {
    // Five of ten have just 0.6: none fail below it, half above, and the line is at 0.283 there.
    let scores = [0.6, 0.6, 0.6, 0.6, 0.6, 0.9, 0.9, 0.9, 0.9, 0.9];
    assert_eq!(meets(&scores, JUDGE), (0.6, 0.0, Some(0.5)));
    // The step is at the lowest pass mark itself.
    let scores = [0.5, 0.5, 0.5, 0.5, 0.5, 0.9, 0.9, 0.9, 0.9, 0.9];
    assert_eq!(meets(&scores, JUDGE), (0.5, 0.0, Some(0.5)));
}

#[test]
fn a_level_line_takes_the_lowest_of_what_it_meets() {
    let level = HofsteeJudge { fail_least: 0.2, fail_most: 0.2, ..JUDGE };
    let scores = [0.3, 0.55, 0.9, 0.9, 0.9, 0.9, 0.9, 0.9, 0.9, 0.9];
    assert_eq!(meets(&scores, level), (0.55, 0.2, None));
}

#[test]
fn without_a_crossing_the_judges_are_asked_again() {
    let again = |scores: [f64; 10]| match hofstee(&scores, &[JUDGE], Centre::Median).unwrap() {
        Hofstee::AskAgain { why, .. } => why.to_string(),
        Hofstee::Meets { cut, .. } => panic!("{cut}"),
    };
    assert_eq!(again([0.1; 10]), "ask again: even the lowest pass mark fails 100 %; at most 40 % would do");
    assert_eq!(again([0.95; 10]), "ask again: even the highest pass mark fails 0 %; at least 5 % would do");
    // All stand on the highest pass mark: nobody is below it.
    assert!(again([0.8; 10]).contains("even the highest"));
}

#[test]
fn an_odd_judge_moves_the_mean_and_not_the_median() {
    let strict = HofsteeJudge { cut_least: 0.7, cut_most: 1.0, ..JUDGE };
    let together = |centre| match hofstee(&[0.6; 10], &[JUDGE, JUDGE, strict], centre).unwrap() {
        Hofstee::Meets { judges, .. } | Hofstee::AskAgain { judges, .. } => judges.cut_least,
    };
    assert!((together(Centre::Mean) - 1.7 / 3.0).abs() < 1e-12);
    assert_eq!(together(Centre::Median), 0.5);
}

proptest! {
    #[test]
    fn prop_the_cut_stands_where_the_curve_passes_the_line(
        scores in prop::collection::vec((0u32..=20).prop_map(|n| f64::from(n) / 20.0), 10..40),
        a in 0.0f64..0.5, b in 0.55f64..1.0, c in 0.0f64..0.3, d in 0.35f64..0.9,
    ) {
        let judge = HofsteeJudge { cut_least: a, cut_most: b, fail_least: c, fail_most: d };
        let below = |cut: f64| scores.iter().filter(|s| **s < cut).count() as f64 / scores.len() as f64;
        match hofstee(&scores, &[judge], Centre::Mean).unwrap() {
            Hofstee::Meets { cut, failing, failing_above, .. } => {
                let line = d - (d - c) * (cut - a) / (b - a);
                prop_assert!((a..=b).contains(&cut));
                match failing_above {
                    None => prop_assert!((failing - line).abs() < 1e-9),
                    Some(above) => prop_assert!(failing <= line + 1e-9 && above >= line - 1e-9),
                }
                // What is said to fail is what fails; rounding at a step apart.
                prop_assert!(below(cut - 1e-9) <= failing + 1e-12 && failing <= below(cut + 1e-9) + 1e-12);
            }
            Hofstee::AskAgain { .. } => {
                prop_assert!(below(a) > d || below(b) < c);
            }
        }
    }

    #[test]
    fn prop_the_order_of_judges_changes_nothing(rows in prop::collection::vec(prop::collection::vec(0.0f64..=1.0, 4), 2..6), turn in 0usize..6) {
        let mut turned = rows.clone();
        let judges = turned.len();
        turned.rotate_left(turn % judges);
        let (there, back) = (angoff(&rows).unwrap(), angoff(&turned).unwrap());
        prop_assert!((there.cut - back.cut).abs() < 1e-12);
        prop_assert!((there.standard_error.known().unwrap() - back.standard_error.known().unwrap()).abs() < 1e-12);
    }
}
