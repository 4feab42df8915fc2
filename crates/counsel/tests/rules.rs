//! Taught rules: what is shipped reads and can be asked for, what is wrong in a rule is named, and what physics settles comes out so.
#![allow(clippy::unwrap_used, clippy::panic, reason = "a test stops where its premise fails")]

use std::collections::BTreeSet;
use std::sync::LazyLock;

use chain::Effort;
use counsel::rules::{
    Ask, Audit, Direction, Fineness, Rule, Rules, RulesError, Shares, Standing, asked_at, audit, levels,
    reason, sentence, shares,
};
use ledger::{Limits, Parameters};
use terms::Instant;

struct Shipped {
    parameters: Parameters,
    limits: Limits,
    rules: Rules,
}

/// Read once: every rule is tried at the corners of its map.
static SHIPPED: LazyLock<Shipped> = LazyLock::new(|| {
    let parameters = ledger::shipped().unwrap();
    let limits = Limits::of(&parameters).unwrap();
    let rules = Rules::shipped(&parameters).unwrap();
    Shipped { parameters, limits, rules }
});

fn shipped() -> &'static Shipped {
    &SHIPPED
}

impl Shipped {
    /// The fewest samples: what is tested hangs on no figure.
    fn ask(&self) -> Ask<'_> {
        Ask { parameters: &self.parameters, limits: &self.limits, effort: Effort { points: 2 } }
    }

    fn audited(&self, rule: &Rule, fineness: Fineness) -> Audit {
        audit(rule, &self.ask(), fineness).unwrap_or_else(|error| panic!("{}: {error}", rule.id))
    }
}

#[test]
fn shipped_rules_have_names_of_their_own_and_say_one_sentence() {
    let Shipped { rules, .. } = shipped();
    assert!(rules.list.len() >= 45, "{}", rules.list.len());
    let names: BTreeSet<&str> = rules.list.iter().map(|rule| rule.id.as_str()).collect();
    assert_eq!(names.len(), rules.list.len());
    for rule in &rules.list {
        for said in [&rule.says, &rule.means] {
            assert!(said.ends_with('.') && !said.contains(". "), "{}: {said}", rule.id);
        }
        assert!(!rule.source.is_empty(), "{}", rule.id);
        // Nobody has published what is only common practice.
        if rule.source == "common practice" {
            assert_eq!(rule.grade, terms::Grade::Assumed, "{}", rule.id);
        }
        if rule.source.contains("from memory") && rule.grade != terms::Grade::PublishedAbstract {
            assert_eq!(rule.grade, terms::Grade::FromMemory, "{}", rule.id);
        }
    }
}

/// Corners, the middles of the sides and the middle: a third of the points of a first answer.
const NINE: Fineness = Fineness { coarse: 2, ..Fineness::FIRST };

/// One in three: three tests share two processors better than one.
fn every_third_is_audited(first: usize) {
    let shipped = shipped();
    for rule in shipped.rules.list.iter().skip(first).step_by(3) {
        let audit = shipped.audited(rule, NINE);
        let map = &audit.map;
        // Each end is solved to a tenth of a side, which is half of the map.
        let told = map.holds + map.slight + map.fails;
        assert!(
            map.holds >= 0.0 && map.slight >= 0.0 && map.fails >= 0.0 && told <= 1.1,
            "{}: {told}",
            rule.id
        );
        assert!(rule.compares() || map.slight == 0.0, "{}", rule.id);
        for Shares { holds, slight, fails } in
            audit.own.iter().map(|own| own.shares).chain([audit.why.shares])
        {
            assert!([holds, slight, fails].iter().all(|share| (0.0..=1.0).contains(share)), "{}", rule.id);
            assert!((holds + slight + fails - 1.0).abs() < 1e-12, "{}", rule.id);
        }
        assert!(rule.compares() || !audit.own.is_empty(), "{}", rule.id);
        let said = format!("{} {} {}", sentence(rule, &audit), asked_at(rule, &audit), reason(&audit));
        assert!(
            said.ends_with('.') && !said.contains("NaN") && !said.contains(" inf "),
            "{}: {said}",
            rule.id
        );
    }
}

#[test]
fn the_first_third_is_audited() {
    every_third_is_audited(0);
}

#[test]
fn the_second_third_is_audited() {
    every_third_is_audited(1);
}

#[test]
fn the_last_third_is_audited() {
    every_third_is_audited(2);
}

#[test]
fn every_number_that_can_be_asked_for_is_delivered_by_a_shipped_case() {
    let shipped = shipped();
    let Ask { parameters, limits, effort } = shipped.ask();
    let delivered = |id: &str, rule: &Rule| {
        let case = rule.at(rule.x.at(0.5), rule.y.at(0.5), &[]).unwrap();
        let start = Instant::from_millis(0);
        chain::sampled(&case.situation, &case.route, parameters, limits, effort, start, &[id])
            .is_ok_and(|sampled| sampled.of(id).iter().any(|value| value.is_finite()))
    };
    for id in chain::IDS {
        assert!(shipped.rules.list.iter().any(|rule| delivered(id, rule)), "{id}");
    }
}

const CASE: (&str, &str) = ("cast", include_str!("../../../data/rules/cases/alginate-cast.toml"));

const RULE: &str = r#"
[[rule]]
id = "dry"
topic = "holding"
says = "Dry air dries."
source = "common practice"
grade = "assumed"
means = "More is lost."
case = "cast"
x = { words = "time", unit = "min", from = 2, to = 60 }
y = { words = "humidity", unit = "%", from = 10, to = 80 }
sets = { "route.holding[0].duration" = "{x} min", "situation.room_humidity" = "{y} %" }
claim = { quantity = "mass.change", is = "less", than = { "situation.room_humidity" = "{y+10} %" } }
"#;

fn read(text: &str) -> Result<Rules, RulesError> {
    Rules::read(&[("file.toml", text)], &[CASE], &ledger::shipped().unwrap())
}

fn refused(from: &str, to: &str) -> String {
    assert!(RULE.contains(from), "{from}");
    read(&RULE.replace(from, to)).unwrap_err().to_string()
}

#[test]
fn what_cannot_be_used_is_refused_by_name() {
    assert_eq!(read(RULE).unwrap().list.len(), 1);
    assert_eq!(
        refused("route.holding[0].duration\"", "route.holding[0].endurance\""),
        "file.toml: dry: sets: given DEMO-71:1: route.holding[0].endurance: given a field that does not exist or cannot be \
         changed; allowed a fact of the case; allowed what a case may say"
    );
    assert_eq!(
        refused("from = 2, to = 60", "from = 60, to = 2"),
        "file.toml: dry: x: given 60 to 2; allowed from below to; above zero where divided by factors"
    );
    assert_eq!(
        refused("to = 60 }", "to = 60, own = [90] }"),
        "file.toml: dry: x.own: given 90; allowed 2 to 60"
    );
    assert_eq!(
        refused("is = \"less\"", "is = \"less\", by = \"-1 %\""),
        "file.toml: dry: claim.by: given -1 %; allowed zero or more"
    );
    assert_eq!(
        refused("\"{x} min\"", "\"5 min\""),
        "file.toml: dry: x: given time; allowed a condition that is turned, as {x} in sets or than"
    );
    assert_eq!(
        refused("mass.change", "mass.chance"),
        format!(
            "file.toml: dry: claim.quantity: given mass.chance; allowed one of {}",
            chain::IDS.join(", ")
        )
    );
    let than = "than = { \"situation.room_humidity\" = \"{y+10} %\" }";
    assert_eq!(
        refused(than, "taught = \"taught/alginate-poor\", end = \"latest\""),
        "file.toml: dry: claim.taught: given taught/alginate-poor; allowed a key of what is taught"
    );
    assert_eq!(
        refused(than, "taught = \"taught/alginate-pour\""),
        "file.toml: dry: claim.end: given ; allowed earliest, latest"
    );
    assert_eq!(
        refused(than, "value = \"0.5\""),
        "file.toml: dry: claim.value: given 0.5; allowed a number, a space and a unit of the ledger"
    );
    assert_eq!(
        refused(than, "value = \"0.5 %\", other = \"strain.cure\""),
        "file.toml: dry: claim.than: given not one of them; allowed one of than, value, taught, other"
    );
    assert_eq!(
        refused("case = \"cast\"", "case = \"crown\""),
        "file.toml: dry: case: given crown; allowed one of cast"
    );
    let twice = format!("{RULE}{RULE}");
    assert_eq!(
        read(&twice).unwrap_err().to_string(),
        "file.toml: dry: id: given dry; allowed an identifier that no other rule has"
    );
    // A field of a rule that there is none of, by the reader of the file.
    let unknown = refused("topic =", "theme =");
    assert!(unknown.starts_with("file.toml: ") && unknown.contains("unknown field `theme`"), "{unknown}");
}

#[test]
fn a_bound_in_degrees_is_a_temperature_and_a_difference_is_not() {
    let of = |claim: &str| {
        let text = RULE.replace(
            "claim = { quantity = \"mass.change\", is = \"less\", than = { \"situation.room_humidity\" = \"{y+10} %\" } }",
            claim,
        );
        read(&text).unwrap().list.remove(0).claim
    };
    let bound = of("claim = { quantity = \"removed.temperature\", is = \"at most\", value = \"30 °C\" }");
    assert_eq!(bound.against, counsel::rules::Bound::Value(303.15));
    let by = of(
        "claim = { quantity = \"mix.temperature\", is = \"less\", by = \"2 °C\", than = { \"situation.room_humidity\" = \"50 %\" } }",
    );
    assert!((by.by - 2.0).abs() < 1e-12, "{}", by.by);
}

/// The same claim the other way round.
fn reversed(rule: &Rule) -> Rule {
    let mut other = rule.clone();
    other.claim.direction = match rule.claim.direction {
        Direction::Less => Direction::More,
        Direction::More => Direction::Less,
    };
    other
}

#[test]
fn prop_what_physics_settles_holds_everywhere_and_reversed_fails_everywhere() {
    let shipped = shipped();
    // Evaporation rises as the air is drier, every rate as the mix is warmer, strain with the depth of the undercut.
    for id in ["alginate-drier-air", "alginate-minute-a-decade", "removal-deep-undercut"] {
        // The direction alone: how much matters is judged.
        let mut rule = shipped.rules.find(id).unwrap().clone();
        rule.claim.by = 0.0;
        let rule = &rule;
        let audit = shipped.audited(rule, Fineness::FIRST);
        assert!(audit.map.holds > 0.999, "{id}: {}", audit.map.holds);
        assert_eq!(audit.why.standing, Standing::Holds, "{id}");
        assert!(
            sentence(rule, &audit).starts_with("The rule holds as taught everywhere on the map, with the "),
            "{id}"
        );
        let other = reversed(rule);
        let audit = shipped.audited(&other, Fineness::FIRST);
        assert!(audit.map.fails > 0.999, "{id}: {}", audit.map.fails);
        assert_eq!(audit.why.standing, Standing::Fails, "{id}");
        assert!(
            sentence(&other, &audit).starts_with("The rule fails everywhere on the map, with the ")
                && sentence(&other, &audit).ends_with(": it is the opposite."),
            "{id}"
        );
    }
}

#[test]
fn prop_a_rule_and_its_mirror_swap_as_taught_and_the_opposite() {
    let shipped = shipped();
    let ask = shipped.ask();
    let mut told = BTreeSet::new();
    for rule in shipped.rules.list.iter().filter(|rule| rule.compares()) {
        let mirror = reversed(rule);
        for [x, y] in [[0.1, 0.2], [0.9, 0.6]].map(|[x, y]| [rule.x.at(x), rule.y.at(y)]) {
            let [of, other] = [rule, &mirror].map(|rule| shares(rule, &ask, x, y).unwrap());
            let Shares { holds, slight, fails } = of;
            assert!((holds + slight + fails - 1.0).abs() < 1e-12, "{}: {of:?}", rule.id);
            assert!([holds, slight, fails].iter().all(|share| (0.0..=1.0).contains(share)), "{}", rule.id);
            assert_eq!((holds, slight, fails), (other.fails, other.slight, other.holds), "{}", rule.id);
            // What a map is drawn from swaps with them.
            let [of, other] = [rule, &mirror].map(|rule| levels(rule, &ask, x, y).unwrap());
            assert_eq!(
                (of.holds, of.slight, of.fails),
                (other.fails, other.slight, other.holds),
                "{}",
                rule.id
            );
            told.insert(of.standing());
        }
    }
    for standing in [Standing::Holds, Standing::Slight, Standing::CannotTell] {
        assert!(told.contains(&standing), "{standing:?} is nowhere");
    }
}

#[test]
fn what_is_too_small_to_matter_is_no_failure() {
    let shipped = shipped();
    let rule = shipped.rules.find("removal-snap-tears-less").unwrap();
    let audit = shipped.audited(rule, Fineness::FIRST);
    assert!(audit.map.slight > 0.5 && audit.map.fails == 0.0, "{:?}", audit.map.slight);
    let said = sentence(rule, &audit);
    assert!(said.contains("the difference is too small to matter (under 2 in 100)"), "{said}");
    assert!(said.contains("nowhere the opposite") && !said.contains("fails"), "{said}");
    // A bound has neither a small difference nor an opposite.
    let rule = shipped.rules.find("alginate-pour-by").unwrap();
    let audit = shipped.audited(rule, Fineness::FIRST);
    let said = sentence(rule, &audit);
    assert!(said.starts_with("At 10 min, with the relative humidity at 45 %, it holds in "), "{said}");
    assert!(said.contains("; at 15 min in ") && !said.contains("opposite"), "{said}");
    assert!(audit.own[0].shares.holds >= audit.own[1].shares.holds, "sooner is not worse");
}

#[test]
fn the_same_case_twice_makes_no_difference_whatever_matters() {
    let same = RULE.replace("\"{y+10} %\"", "\"{y} %\"");
    for text in [same.clone(), same.replace("is = \"less\"", "is = \"less\", by = \"0.1 %\"")] {
        let rules = read(&text).unwrap();
        let audit = shipped().audited(&rules.list[0], NINE);
        assert_eq!((audit.why.standing, audit.why.direction), (Standing::Slight, Some([0.0, 0.0])));
        assert!(audit.map.slight > 0.999, "{}", audit.map.slight);
    }
}

#[test]
fn prop_the_order_of_rules_changes_nothing() {
    let shipped = shipped();
    let other = RULE
        .replace("\"dry\"", "\"longer\"")
        .replace("than = { \"situation.room_humidity\" = \"{y+10} %\" }", "value = \"-1 %\"");
    let of = |first: &str, second: &str| {
        let rules = read(&format!("{first}{second}")).unwrap();
        let ids = ["dry", "longer"];
        ids.map(|id| {
            let audit = shipped.audited(rules.find(id).unwrap(), Fineness::FIRST);
            (audit.map, audit.why)
        })
    };
    assert_eq!(of(RULE, &other), of(&other, RULE));
}

#[test]
fn every_taught_time_is_asked_of_the_chain_or_left_out_for_a_reason() {
    let Shipped { rules, parameters, .. } = shipped();
    let quoted: BTreeSet<&str> = rules.list.iter().filter_map(Rule::quoted).collect();
    let left_out = [
        // The case without a product does not tell fast from normal setting.
        "taught/alginate-fast-remove",
        // Asked for as a strain against time, which tells when and not only whether.
        "taught/alginate-pour",
        "taught/extended-alginate-pour",
        "taught/agar-pour",
        "taught/condensation-silicone-pour",
        // Sooner than another row of the same class, which is asked.
        "taught/condensation-silicone-pour-soon",
        "taught/polyether-pour-soon",
        "taught/polysulfide-pour-soon",
    ];
    for row in parameters.taught() {
        let key = row.key.as_str();
        assert!(quoted.contains(key) != left_out.contains(&key), "{key}");
    }
}
