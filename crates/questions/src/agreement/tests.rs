use std::collections::BTreeMap;

use proptest::prelude::*;

use super::*;
use crate::rubric;

fn known(levels: &[usize]) -> Vec<Fact<usize>> {
    levels.iter().map(|level| Fact::Known(*level)).collect()
}

fn plain(table: &[[usize; 2]]) -> Kappa {
    let table: Vec<Vec<usize>> = table.iter().map(|row| row.to_vec()).collect();
    kappa(&table, &weights(Weights::None, 2)).unwrap().unwrap()
}

#[test]
fn what_nobody_rated_is_left_out_and_counted() {
    let mut first = known(&[0, 1, 2, 0, 1, 2, 0, 1, 2, 0, 1]);
    let mut second = first.clone();
    first.extend([Fact::Unknown, Fact::Known(0), Fact::NotApplicable]);
    second.extend([Fact::Known(0), Fact::Unknown, Fact::Known(2)]);
    let found = two_markers(&first, &second, 3).unwrap();
    assert_eq!((found.both, found.left_out), (11, 3));
    assert_eq!(found.agreement, Figure::Known(1.0));
    assert_eq!(found.kappas[0].kappa, Figure::Known(1.0));
    let few = Absent::TooFew { of: Of::Cases, given: 11, needed: CASES_FOR_INTERVAL };
    assert_eq!(found.kappas[0].standard_error, Figure::Absent(few));
    assert_eq!(found.kappas[0].interval, Figure::Absent(few));

    let third = second.clone();
    let many = many_markers(&[&first, &second, &third], 3).unwrap();
    assert_eq!((many.all, many.left_out, many.kappa), (11, 3, Figure::Known(1.0)));

    let none = two_markers(&[Fact::Unknown], &[Fact::Unknown], 2).unwrap();
    assert_eq!(none.agreement, Figure::Absent(Absent::TooFew { of: Of::Cases, given: 0, needed: 1 }));
    let many = many_markers(&[&[Fact::Unknown], &[Fact::Unknown]], 2).unwrap();
    assert!(many.agreement.known().is_none() && many.kappa.known().is_none());
}

#[test]
fn one_level_alone_has_no_kappa() {
    let same = known(&[1; 40]);
    let found = two_markers(&same, &same, 3).unwrap();
    assert_eq!(found.agreement, Figure::Known(1.0));
    for weighted in &found.kappas {
        assert_eq!(weighted.kappa, Figure::Absent(Absent::ChanceIsCertain));
        assert_eq!(weighted.interval, Figure::Absent(Absent::ChanceIsCertain));
    }
    assert_eq!(many_markers(&[&same, &same], 3).unwrap().kappa, Figure::Absent(Absent::ChanceIsCertain));
    assert!(found.paradox.is_none());
}

#[test]
fn high_agreement_with_a_low_kappa_is_explained() {
    // 36 of 40 alike, nearly all of level 1.
    let mut first = vec![1; 40];
    let mut second = vec![1; 40];
    for case in 0..2 {
        first[case] = 0;
        second[case + 2] = 0;
    }
    let found = two_markers(&known(&first), &known(&second), 2).unwrap();
    let paradox = found.paradox.unwrap();
    assert_eq!((paradox.agreement, paradox.level), (0.9, 1));
    assert!((paradox.prevalence - 0.95).abs() < 1e-12);
    assert!(paradox.kappa < 0.0);
    assert!(paradox.to_string().contains("95 % of all ratings are level 1"), "{paradox}");
}

#[test]
fn equal_margins_by_hand() {
    // p_o = 0.7, p_e = 0.5: kappa is 0.4.
    let found = plain(&[[35, 15], [15, 35]]);
    assert!((found.value - 0.4).abs() < 1e-12 && (found.chance - 0.5).abs() < 1e-12);
    // With equal margins of one half the variance is (1 - kappa^2)/n.
    assert!((found.standard_error - (0.84f64 / 100.0).sqrt()).abs() < 1e-12);
}

#[test]
fn what_cannot_be_compared_is_named() {
    let said = |first: &[usize], second: &[usize], levels: usize| {
        two_markers(&known(first), &known(second), levels).unwrap_err().to_string()
    };
    assert_eq!(said(&[0], &[0], 7), "given 7 levels; allowed 2 to 6");
    assert_eq!(said(&[0], &[0, 1], 2), "marker 2: given 2 cases; allowed 1, as of the first marker");
    assert_eq!(said(&[0], &[2], 2), "marker 2, case 1: given level 2; allowed 0 to 1");
    assert_eq!(many_markers(&[&known(&[0])], 2), Err(RatingsError::Markers { given: 1 }));
    let square = vec![vec![1, 0], vec![0, 1]];
    for bad in [vec![vec![1.0]], vec![vec![1.0, 2.0], vec![0.0, 1.0]], vec![vec![0.5, 0.0], vec![0.0, 1.0]]] {
        assert!(matches!(kappa(&square, &bad), Err(RatingsError::Table { .. })));
    }
    assert!(matches!(kappa(&[vec![1, 0]], &[]), Err(RatingsError::Table { .. })));
    let few = |given: usize, needed: usize| Err(Absent::TooFew { of: Of::Markers, given, needed });
    assert_eq!(fleiss(&[vec![3, 0], vec![1, 1]]), few(2, 3));
    assert_eq!(fleiss(&[vec![1, 1], vec![3, 0]]), few(2, 3));
    assert_eq!(fleiss(&[vec![1, 0]]), few(1, 2));
}

fn marking(of: &[(&str, &[(&str, usize)])]) -> Marking {
    of.iter()
        .map(|(case, levels)| {
            let levels: BTreeMap<String, Fact<usize>> =
                levels.iter().map(|(id, level)| ((*id).to_owned(), Fact::Known(*level))).collect();
            ((*case).to_owned(), levels)
        })
        .collect()
}

#[test]
fn a_missed_void_is_talked_about_before_an_uneven_tray() {
    let rubric = rubric::shipped("impression").unwrap();
    let mut reference = Marking::new();
    let mut marker = Marking::new();
    for case in 0..10 {
        let name = format!("E-{case:02}");
        let levels = |seating: usize, void: usize, drag: usize| {
            [("seating", seating), ("void", void), ("drag", drag)]
                .map(|(id, level)| (id.to_owned(), Fact::Known(level)))
                .into_iter()
                .collect::<BTreeMap<_, _>>()
        };
        // Seating differs in every case, a drag is marked harder in four, a void is passed over in one.
        reference.insert(name.clone(), levels(1, usize::from(case != 0), 2));
        marker.insert(name, levels(if case % 2 == 0 { 2 } else { 0 }, 1, if case < 4 { 1 } else { 2 }));
    }
    let found = calibrate(&rubric, &marker, &reference).unwrap();
    assert_eq!(found.talk_about, ["void", "drag", "seating"]);
    let of = |id: &str| found.by_criterion.iter().find(|bias| bias.criterion == id).unwrap().clone();
    assert_eq!((of("void").over, of("void").under, of("void").mean), (1, 0, Figure::Known(0.1)));
    assert_eq!((of("drag").over, of("drag").under, of("drag").mean), (0, 4, Figure::Known(-0.4)));
    // sd of the differences is sqrt(0.24 * 10/9); t of 9 degrees of freedom is 2.262 157.
    let [low, high] = of("drag").interval.known().unwrap();
    assert!((0.5 * (high - low) - 2.262_157 * (0.24f64 / 9.0).sqrt()).abs() < 1e-6);
    // What nobody has rated is not read as a level.
    assert_eq!((of("tear").both, of("tear").left_out), (0, 10));
    assert!(of("tear").mean.known().is_none());
}

#[test]
fn too_few_cases_and_equal_differences_have_no_interval() {
    let rubric = rubric::shipped("die").unwrap();
    let cases = ["E-01", "E-02", "E-03", "E-04", "E-05"];
    let all = |level: usize| -> Marking {
        cases.iter().flat_map(|case| marking(&[(case, &[("chip", level)])])).collect()
    };
    let found = calibrate(&rubric, &all(2), &all(1)).unwrap();
    let chip = found.by_criterion.iter().find(|bias| bias.criterion == "chip").unwrap();
    assert_eq!(chip.mean, Figure::Known(1.0));
    assert_eq!(chip.interval, Figure::Absent(Absent::NoSpread { of: Of::Differences }));
    let two = marking(&[("E-01", &[("chip", 0)]), ("E-02", &[("chip", 2)])]);
    let found = calibrate(&rubric, &two, &all(1)).unwrap();
    let chip = found.by_criterion.iter().find(|bias| bias.criterion == "chip").unwrap();
    assert_eq!((chip.both, chip.left_out), (2, 3));
    assert_eq!(chip.interval, Figure::Absent(Absent::TooFew { of: Of::Cases, given: 2, needed: 5 }));
}

#[test]
fn a_marking_that_is_none_of_the_rubric_is_named() {
    let rubric = rubric::shipped("die").unwrap();
    let good = marking(&[("E-01", &[("chip", 2)])]);
    let said = |marker: &Marking| calibrate(&rubric, marker, &good).unwrap_err().to_string();
    assert!(
        said(&marking(&[("E-01", &[("chop", 0)])]))
            .starts_with("marker, case E-01: given criterion \"chop\"; allowed bubble")
    );
    assert_eq!(
        said(&marking(&[("E-01", &[("chip", 3)])])),
        "marker, case E-01, chip: given level 3; allowed 0 to 2"
    );
    assert_eq!(said(&marking(&[("E-09", &[])])), "given case \"E-09\"; allowed cases of the reference: E-01");
}

/// Ratings of two markers on a scale.
fn ratings() -> impl Strategy<Value = (usize, Vec<(usize, usize)>)> {
    (2usize..=6).prop_flat_map(|levels| (Just(levels), prop::collection::vec((0..levels, 0..levels), 12..60)))
}

fn split(pairs: &[(usize, usize)]) -> (Vec<Fact<usize>>, Vec<Fact<usize>>) {
    pairs.iter().map(|(a, b)| (Fact::Known(*a), Fact::Known(*b))).unzip()
}

proptest! {
    #[test]
    fn prop_perfect_agreement_is_one((levels, pairs) in ratings()) {
        let (first, _) = split(&pairs);
        let found = two_markers(&first, &first, levels).unwrap();
        for weighted in &found.kappas {
            if let Some(kappa) = weighted.kappa.known() {
                prop_assert!((kappa - 1.0).abs() < 1e-9);
                prop_assert!(weighted.standard_error.known().is_none_or(|error| error < 1e-6));
            }
        }
        let many = many_markers(&[&first, &first, &first], levels).unwrap();
        prop_assert!(many.kappa.known().is_none_or(|kappa| (kappa - 1.0).abs() < 1e-9));
    }

    #[test]
    fn prop_swapping_markers_turning_the_scale_and_the_order_of_cases_change_nothing((levels, pairs) in ratings()) {
        let (first, second) = split(&pairs);
        let found = two_markers(&first, &second, levels).unwrap();
        let turned: Vec<(usize, usize)> =
            pairs.iter().rev().map(|(a, b)| (levels - 1 - b, levels - 1 - a)).collect();
        let (a, b) = split(&turned);
        let again = two_markers(&a, &b, levels).unwrap();
        for (one, other) in found.kappas.iter().zip(&again.kappas) {
            prop_assert_eq!(one.kappa.known().is_some(), other.kappa.known().is_some());
            if let (Some(one), Some(other)) = (one.kappa.known(), other.kappa.known()) {
                prop_assert!((one - other).abs() < 1e-9 && (-1.0 - 1e-9..=1.0 + 1e-9).contains(&one));
            }
            if let (Some(one), Some(other)) = (one.standard_error.known(), other.standard_error.known()) {
                prop_assert!((one - other).abs() < 1e-7 && one.is_finite());
            }
        }
    }

    #[test]
    fn prop_two_levels_are_weighted_alike(pairs in prop::collection::vec((0usize..2, 0usize..2), 12..60)) {
        let (first, second) = split(&pairs);
        let found = two_markers(&first, &second, 2).unwrap();
        for weighted in &found.kappas[1..] {
            prop_assert_eq!(weighted.kappa, found.kappas[0].kappa);
        }
    }
}
