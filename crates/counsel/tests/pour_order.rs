//! The pour order by hand, against every order, and against the rule of Moore and Hodgson.
#![allow(clippy::unwrap_used, clippy::indexing_slicing, reason = "a test stops where its premise fails")]

use counsel::pour_order::{Hands, Help, Outcome, Waiting, cannot_all, order, rescues};
use terms::GypsumType;

/// Seconds from 9:00 of a time by the wall.
fn at(hour: f64, minute: f64) -> f64 {
    3600.0 * (hour - 9.0) + 60.0 * minute
}

fn one(code: &str, ready_s: f64, by_s: Option<f64>, stake: f64, stone: GypsumType) -> Waiting {
    Waiting { code: code.to_owned(), ready_s, begin_by_s: by_s, worth: vec![(ready_s, stake)], stone }
}

/// One operator from 9:40, mixing 3 min, pouring 2 min, two casts of a mix, pourable for 4 min.
fn bench() -> Hands {
    Hands { pairs: 1, from_s: at(9.0, 40.0), mix_s: 180.0, pour_s: 120.0, casts: 2, pot_s: 240.0 }
}

/// Four alginates, a polysulfide with a stone of its own, an addition silicone with hours to spare.
fn morning(crown: f64) -> Vec<Waiting> {
    let (three, four, five) = (GypsumType::Type3, GypsumType::Type4, GypsumType::Type5);
    vec![
        one("ALG-01", at(9.0, 40.0), Some(at(9.0, 48.0)), 1.0, three),
        one("ALG-02", at(9.0, 41.0), Some(at(9.0, 51.0)), 1.0, three),
        one("ALG-03", at(9.0, 43.0), Some(at(9.0, 53.0)), 1.0, three),
        one("ALG-04", at(9.0, 46.0), Some(at(9.0, 56.0)), 1.0, three),
        one("PS-05", at(9.0, 40.0), Some(at(9.0, 55.0)), crown, four),
        one("AS-06", at(10.0, 0.0), Some(at(14.0, 0.0)), 1.0, five),
    ]
}

/// Worked out by hand: both mixes of the alginates come first, and the polysulfide alone is late, begun at 9:57.
#[test]
fn val_the_morning_worked_out_by_hand() {
    let waiting = morning(1.0);
    let best = order(&waiting, &bench()).unwrap();
    assert!(best.exact);
    assert_eq!(best.outcome.late, 1);
    let late: Vec<_> = best.pours.iter().filter(|pour| pour.late_s > 0.0).collect();
    assert_eq!(late.len(), 1);
    assert_eq!(waiting[late[0].waiting].code, "PS-05");
    assert!((late[0].begins_s - at(9.0, 57.0)).abs() < 1e-6, "{best:?}");
    assert!((best.outcome.lateness_s - 120.0).abs() < 1e-6);
    // No order is without loss: these cannot all be begun in time.
    let tight = cannot_all(&waiting, &bench()).unwrap();
    assert!(tight.contains(&4) && tight.len() <= 5, "{tight:?}");
}

/// With the polysulfide a final crown it is poured in time, and an alginate is late.
#[test]
fn val_a_final_crown_goes_before_a_study_cast() {
    let waiting = morning(10.0);
    let best = order(&waiting, &bench()).unwrap();
    let crown = best.pours.iter().find(|pour| pour.waiting == 4).unwrap();
    assert_eq!(crown.late_s, 0.0);
    assert!(best.pours.iter().any(|pour| pour.late_s > 0.0 && pour.waiting < 4));
    let helps = rescues(&waiting, &bench(), |place| place < 4, |_| vec![]).unwrap();
    assert!(
        helps.iter().any(|rescue| matches!(rescue.what, Help::Seal(_)) && rescue.order.outcome.late == 0
            || rescue.what == Help::SecondHands)
    );
    let second = helps.iter().find(|rescue| rescue.what == Help::SecondHands).unwrap();
    assert_eq!(second.order.outcome.late, 0, "{second:?}");
}

/// Numbers without a library: a linear congruential generator (Knuth, MMIX).
struct Numbers(u64);

impl Numbers {
    fn below(&mut self, n: u64) -> u64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) % n
    }
}

#[derive(Clone, Copy)]
struct Mix {
    stone: GypsumType,
    left: usize,
    until_s: f64,
}

/// Every sequence, pair of hands and choice of mix, one after another, with nothing left out.
fn brute(waiting: &[Waiting], hands: &Hands) -> Outcome {
    fn go(
        waiting: &[Waiting],
        hands: &Hands,
        done: &mut Vec<bool>,
        pairs: [(f64, Option<Mix>); 2],
        so_far: Outcome,
        best: &mut Option<Outcome>,
    ) {
        if done.iter().all(|done| *done) {
            if best.is_none_or(|best| so_far.beats(&best)) {
                *best = Some(so_far);
            }
            return;
        }
        for place in 0..waiting.len() {
            if done[place] {
                continue;
            }
            let one = &waiting[place];
            for pair in 0..hands.pairs {
                for fresh in [true, false] {
                    let (free_s, mix) = pairs[pair];
                    let (begins_s, mix) = if fresh {
                        let mixed_s = free_s.max(one.ready_s - hands.mix_s) + hands.mix_s;
                        let until_s = mixed_s + hands.pot_s;
                        (mixed_s, Mix { stone: one.stone, left: hands.casts, until_s })
                    } else {
                        match mix {
                            Some(mix) if mix.stone == one.stone && mix.left > 0 => {
                                (free_s.max(one.ready_s), mix)
                            }
                            _ => continue,
                        }
                    };
                    if begins_s + hands.pour_s > mix.until_s + 1e-6 {
                        continue;
                    }
                    let late_s = one.late_s(begins_s);
                    let mut next = pairs;
                    next[pair] = (begins_s + hands.pour_s, Some(Mix { left: mix.left - 1, ..mix }));
                    done[place] = true;
                    let outcome = Outcome {
                        worth: so_far.worth + one.worth_at(begins_s),
                        late: so_far.late + usize::from(late_s > 0.0),
                        lateness_s: so_far.lateness_s + late_s,
                    };
                    go(waiting, hands, done, next, outcome, best);
                    done[place] = false;
                }
            }
        }
    }
    let mut best = None;
    let nothing = Outcome { worth: 0.0, late: 0, lateness_s: 0.0 };
    go(waiting, hands, &mut vec![false; waiting.len()], [(hands.from_s, None); 2], nothing, &mut best);
    best.unwrap()
}

#[test]
fn val_equal_to_every_order_on_a_thousand_small_problems() {
    let mut numbers = Numbers(7);
    for problem in 0..1000 {
        let pairs = 1 + numbers.below(2) as usize;
        let count = 1 + numbers.below(if pairs == 1 { 5 } else { 4 }) as usize;
        let hands = Hands {
            pairs,
            from_s: 0.0,
            mix_s: 30.0 * numbers.below(7) as f64,
            pour_s: 60.0 + 30.0 * numbers.below(4) as f64,
            casts: 1 + numbers.below(3) as usize,
            pot_s: 180.0 + 60.0 * numbers.below(4) as f64,
        };
        let stones = [GypsumType::Type3, GypsumType::Type4];
        let waiting: Vec<Waiting> = (0..count)
            .map(|place| {
                let ready_s = 60.0 * numbers.below(12) as f64;
                let stake = 1.0 + numbers.below(4) as f64;
                let end_s = ready_s + 60.0 * (1 + numbers.below(12)) as f64;
                let worth = match numbers.below(3) {
                    0 => vec![(ready_s, stake)],
                    _ => vec![(ready_s, stake), (ready_s + 600.0, 0.3 * stake)],
                };
                Waiting {
                    code: format!("AA-{place:02}"),
                    ready_s,
                    begin_by_s: (numbers.below(5) > 0).then_some(end_s),
                    worth,
                    stone: stones[numbers.below(2) as usize],
                }
            })
            .collect();
        let (found, expected) = (order(&waiting, &hands).unwrap().outcome, brute(&waiting, &hands));
        assert!(
            !expected.beats(&found) && !found.beats(&expected),
            "problem {problem}: {found:?} against {expected:?}"
        );
    }
}

/// Where nothing is mixed, all is ready at once and every stake is the same, the number that is late is that of the rule of Moore and Hodgson
/// (Moore 1968, Manage Sci 15:102-109): take by ends, and put out the longest whenever one would be late.
#[test]
fn val_the_rule_of_moore_and_hodgson() {
    let mut numbers = Numbers(11);
    for _ in 0..200 {
        let count = 2 + numbers.below(9) as usize;
        let pour_s = 60.0 * (1 + numbers.below(5)) as f64;
        let hands = Hands { pairs: 1, from_s: 0.0, mix_s: 0.0, pour_s, casts: 1, pot_s: 3600.0 };
        let ends: Vec<f64> = (0..count).map(|_| 60.0 * numbers.below(30) as f64).collect();
        let waiting: Vec<Waiting> =
            ends.iter().map(|end| one("AA-01", 0.0, Some(*end), 1.0, GypsumType::Type3)).collect();
        let mut sorted = ends.clone();
        sorted.sort_by(f64::total_cmp);
        let (mut busy_s, mut late) = (0.0, 0);
        for end in sorted {
            // Begun by its end is finished by its end and one pour more; all take as long, so the last taken is put out.
            if busy_s <= end {
                busy_s += pour_s;
            } else {
                late += 1;
            }
        }
        assert_eq!(order(&waiting, &hands).unwrap().outcome.late, late, "{ends:?} {pour_s}");
    }
}

#[test]
fn fourteen_are_exact_and_more_are_bounded() {
    let mut numbers = Numbers(3);
    let many = |count: usize, numbers: &mut Numbers| -> Vec<Waiting> {
        (0..count)
            .map(|place| {
                let ready_s = 60.0 * numbers.below(40) as f64;
                let end_s = ready_s + 60.0 * (5 + numbers.below(30)) as f64;
                let stone = [GypsumType::Type3, GypsumType::Type4][place % 2];
                one("AA-01", ready_s, Some(end_s), 1.0 + numbers.below(3) as f64, stone)
            })
            .collect()
    };
    for pairs in [1, 2] {
        let hands = Hands { pairs, ..bench() };
        let hands = Hands { from_s: 0.0, ..hands };
        let best = order(&many(14, &mut numbers), &hands).unwrap();
        assert!(best.exact && best.pours.len() == 14);
        let beam = order(&many(22, &mut numbers), &hands).unwrap();
        assert!(!beam.exact && beam.pours.len() == 22);
        assert!(beam.outcome.worth <= beam.bound + 1e-9);
    }
}

#[test]
fn a_queue_that_cannot_be_is_refused() {
    let waiting = morning(1.0);
    let refused = |hands: Hands| order(&waiting, &hands).unwrap_err().to_string();
    assert_eq!(refused(Hands { pairs: 3, ..bench() }), "hands: given 3; allowed 1 or 2");
    assert_eq!(
        refused(Hands { pour_s: 300.0, ..bench() }),
        "pouring: given 300 s; allowed no longer than the pot life of a mix"
    );
    let mut rising = waiting.clone();
    rising[0].worth = vec![(0.0, 0.2), (60.0, 0.9)];
    assert!(order(&rising, &bench()).unwrap_err().to_string().contains("one that never rises"));
}
