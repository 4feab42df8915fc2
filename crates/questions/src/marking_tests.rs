use proptest::prelude::*;

use super::{About, HALF_CREDIT_BAND, MarkError, Rule, mark};
use crate::examples::{choice, number, order};
use crate::item::{Body, Response};

fn earned(item: &crate::Item, response: &Response) -> f64 {
    mark(item, response, Rule::Partial).unwrap().earned
}

fn steps(ids: &str) -> Response {
    Response::Order(ids.split('>').map(str::to_owned).collect())
}

#[test]
fn a_wrong_option_is_told_what_is_wrong_and_what_is_right() {
    let item = choice("q1");
    let wrong = mark(&item, &Response::Choice("cold".to_owned()), Rule::Partial).unwrap();
    assert_eq!((wrong.earned, wrong.right, wrong.omitted), (0.0, false, false));
    let about: Vec<About> = wrong.said.iter().map(|said| said.about).collect();
    assert_eq!(about, [About::Chosen, About::Misconception, About::Key, About::Reason, About::Disagreement]);
    let right = mark(&item, &Response::Choice("warm".to_owned()), Rule::Partial).unwrap();
    assert_eq!((right.earned, right.right), (1.0, true));
    assert_eq!(right.said[0].about, About::Key);
    assert_eq!(right.said.iter().filter(|said| said.about == About::Key).count(), 1);
}

#[test]
fn a_blank_earns_nothing_and_is_counted() {
    for item in [choice("q1"), order("q2"), number("q3")] {
        let blank = mark(&item, &Response::Blank, Rule::Partial).unwrap();
        assert!(blank.omitted && !blank.right && blank.earned == 0.0);
    }
}

#[test]
fn the_ends_of_a_number_are_right_and_the_wider_band_is_half() {
    let item = number("q3"); // 2.5 min, 2.0 to 3.5
    let at = |value: f64| earned(&item, &Response::Number(value));
    assert_eq!([at(2.0), at(2.5), at(3.5)], [1.0; 3]);
    assert_eq!([at(1.99), at(1.5), at(3.51), at(2.5 + HALF_CREDIT_BAND)], [0.5; 4]);
    assert_eq!([at(1.49), at(4.51), at(-2.5)], [0.0; 3]);
    assert_eq!(mark(&item, &Response::Number(1.6), Rule::AllOrNothing).unwrap().earned, 0.0);
}

#[test]
fn an_order_earns_what_is_above_chance() {
    let item = order("q2"); // a > b > c > d
    assert_eq!(earned(&item, &steps("a>b>c>d")), 1.0);
    assert!((earned(&item, &steps("b>a>c>d")) - 2.0 / 3.0).abs() < 1e-15);
    assert_eq!(earned(&item, &steps("b>a>d>c")), 1.0 / 3.0);
    // Three of six pairs: what chance gives.
    assert_eq!(earned(&item, &steps("d>a>b>c")), 0.0);
    assert_eq!(earned(&item, &steps("d>c>b>a")), 0.0);
    let near = mark(&item, &steps("b>a>c>d"), Rule::AllOrNothing).unwrap();
    assert!(!near.right && near.earned == 0.0);
}

#[test]
fn what_is_no_answer_is_named_with_what_is_allowed() {
    let said = |item: &crate::Item, response: Response| {
        mark(item, &response, Rule::Partial).unwrap_err().to_string()
    };
    let text = said(&choice("q1"), Response::Choice("hot".to_owned()));
    assert_eq!(text, "q1: given \"hot\"; allowed cold, warm, no");
    let text = said(&order("q2"), steps("a>b>e>d"));
    assert_eq!(text, "q2: given \"e\"; allowed c, a, d, b");
    let text = said(&order("q2"), steps("a>b>b>d"));
    assert_eq!(text, "q2: given step \"b\" more than once; allowed each of c, a, d, b once");
    let text = said(&order("q2"), steps("a>b>d"));
    assert_eq!(text, "q2: given no step c; allowed each of c, a, d, b once");
    let text = said(&number("q3"), Response::Number(f64::NAN));
    assert_eq!(text, "q3: given NaN; allowed a finite number in min");
    let text = said(&number("q3"), Response::Choice("warm".to_owned()));
    assert_eq!(text, "q3: given an option; allowed a number or a blank");
}

#[test]
fn an_item_without_a_usable_key_is_refused_even_where_the_answer_is_blank() {
    let mut item = choice("q1");
    if let Body::Choice { key, .. } = &mut item.body {
        *key = 9;
    }
    assert!(matches!(mark(&item, &Response::Blank, Rule::Partial), Err(MarkError::Key { .. })));
    let mut item = order("q2");
    if let Body::Order { key, .. } = &mut item.body {
        key[0] = "b".to_owned();
    }
    assert!(matches!(mark(&item, &Response::Blank, Rule::Partial), Err(MarkError::Key { .. })));
    let mut item = number("q3");
    if let Body::Numeric { least, .. } = &mut item.body {
        *least = 9.0;
    }
    assert!(matches!(mark(&item, &Response::Blank, Rule::Partial), Err(MarkError::Key { .. })));
}

proptest! {
    #[test]
    fn prop_a_mark_lies_between_nothing_and_all(value in -1e3f64..1e3, places in Just(vec!["a", "b", "c", "d"]).prop_shuffle()) {
        for (item, response) in [
            (number("q3"), Response::Number(value)),
            (order("q2"), Response::Order(places.iter().map(|id| (*id).to_owned()).collect())),
        ] {
            let partial = mark(&item, &response, Rule::Partial).unwrap();
            let whole = mark(&item, &response, Rule::AllOrNothing).unwrap();
            prop_assert!((0.0..=1.0).contains(&partial.earned));
            prop_assert_eq!(partial.right, partial.earned == 1.0);
            prop_assert_eq!(whole.earned, if partial.right { 1.0 } else { 0.0 });
        }
    }

    #[test]
    fn prop_the_credits_of_an_order_and_of_its_reverse_are_never_both_given(places in Just(vec!["a", "b", "c", "d"]).prop_shuffle()) {
        let there = Response::Order(places.iter().map(|id| (*id).to_owned()).collect());
        let back = Response::Order(places.iter().rev().map(|id| (*id).to_owned()).collect());
        let item = order("q2");
        prop_assert_eq!(earned(&item, &there) * earned(&item, &back), 0.0);
    }
}
