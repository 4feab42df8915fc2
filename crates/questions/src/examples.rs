//! One item of each kind, for the tests.

use crate::item::{Body, Choice, Item, Step};

fn item(id: &str, body: Body) -> Item {
    Item {
        id: id.to_owned(),
        title: "example".to_owned(),
        topic: None,
        level: None,
        asks: None,
        stem: "A case.".to_owned(),
        lead_in: "What then?".to_owned(),
        body,
        reason: "Because of this.".to_owned(),
        disagreement: Some("It is also taught otherwise.".to_owned()),
        rests_on: Vec::new(),
    }
}

fn option(id: &str, misconception: Option<&str>) -> Choice {
    Choice {
        id: id.to_owned(),
        text: format!("It is {id}."),
        why: format!("Why {id}."),
        misconception: misconception.map(str::to_owned),
    }
}

/// Options cold, warm, no; warm is the key.
pub(crate) fn choice(id: &str) -> Item {
    let options = vec![option("cold", Some("cold is slow")), option("warm", None), option("no", None)];
    item(id, Body::Choice { options, key: 1, in_order: false })
}

/// Steps a, b, c, d in this order, shown as c, a, d, b.
pub(crate) fn order(id: &str) -> Item {
    let step = |id: &str| Step { id: id.to_owned(), text: format!("Do {id}.") };
    let key = ["a", "b", "c", "d"].map(str::to_owned).to_vec();
    item(id, Body::Order { steps: ["c", "a", "d", "b"].map(step).to_vec(), key })
}

/// 2.5 min; 2.0 to 3.5 is right.
pub(crate) fn number(id: &str) -> Item {
    item(id, Body::Numeric { key: 2.5, least: 2.0, most: 3.5, unit: "min".to_owned(), digits: 1 })
}
