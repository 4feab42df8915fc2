//! The state of the page, which is its link and nothing else.
//!
//! ```text
//! /class?material=alginate&water=28&frozen=yes&was.water=20&say.setting=less&hands.setting.less=12&reveal=yes
//! ```
//!
//! Knobs that stand as usual are not in it. Whatever is written otherwise means the same state only if it reads as the same state.

use std::collections::BTreeMap;

use super::bases::Base;
use super::foresee::{ASKED, Direction};
use super::knobs;
use crate::pages::ask::Form;

/// Knobs that do not stand as usual.
pub type Turned = BTreeMap<&'static str, String>;

/// The most characters of a knob.
const MOST: usize = 40;
/// The most hands of a class.
const MOST_HANDS: u32 = 999;

/// Which pictures are shown.
pub const VIEWS: &[(&str, &str)] = &[
    ("all", "everything"),
    ("set", "setting"),
    ("keep", "keeping"),
    ("parts", "parts of it"),
    ("wet", "wetting"),
    ("tray", "tray"),
];

/// What learners say of one quantity.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Said {
    /// What the class has agreed on.
    pub choice: Option<Direction>,
    /// Hands for each direction.
    pub hands: BTreeMap<Direction, u32>,
}

/// The state.
pub struct State {
    /// Material and usual technique.
    pub base: &'static Base,
    /// Knobs as they stand.
    pub turned: Turned,
    /// Knobs as they stood when the curve was frozen; none compares with what is usual.
    pub frozen: Option<Turned>,
    /// What was said before, by quantity.
    pub said: BTreeMap<&'static str, Said>,
    /// Whether the result is shown.
    pub revealed: bool,
    /// Results follow the knobs at once, without asking first.
    pub at_once: bool,
    /// Pictures.
    pub view: &'static str,
    /// A form says that its knobs, as they stand, were shown; no part of the link.
    shown: bool,
}

impl State {
    /// Reads a query.
    ///
    /// # Errors
    /// When the base cannot be read.
    pub fn read(query: &str) -> anyhow::Result<State> {
        let form = Form::read_openly(query);
        let base = Base::of(form.get("material").unwrap_or(""));
        let case = base.case()?;
        let knobs_of = |start: &str| -> Turned {
            let mut turned = Turned::new();
            for knob in knobs::of(case.route.material.class) {
                let Some(text) = form.get(&format!("{start}{}", knob.name)) else { continue };
                let text: String = text.chars().take(MOST).collect();
                if !same(&text, &knob.said(&case)) {
                    turned.insert(knob.name, text);
                }
            }
            turned
        };
        let yes = |name: &str| form.get(name) == Some("yes");
        let mut said = BTreeMap::new();
        for asked in ASKED {
            let choice = form.get(&format!("say.{}", asked.name)).and_then(Direction::of);
            let hands: BTreeMap<Direction, u32> = Direction::ALL
                .into_iter()
                .filter_map(|direction| {
                    let count: u32 =
                        form.get(&format!("hands.{}.{}", asked.name, direction.name()))?.parse().ok()?;
                    (count > 0).then_some((direction, count.min(MOST_HANDS)))
                })
                .collect();
            if choice.is_some() || !hands.is_empty() {
                said.insert(asked.name, Said { choice, hands });
            }
        }
        let view = form.get("view").and_then(|name| VIEWS.iter().find(|(known, _)| *known == name));
        let turned = knobs_of("");
        let shown = form.get("shown") == Some(mark(&turned).as_str());
        Ok(State {
            base,
            shown,
            turned,
            frozen: yes("frozen").then(|| knobs_of("was.")),
            said,
            revealed: yes("reveal"),
            at_once: form.get("ask") == Some("no"),
            view: view.map_or("all", |(name, _)| name),
        })
    }

    /// The state that a pressed button makes of it; none for one that only reads.
    pub fn done(mut self, deed: &str) -> State {
        match deed {
            "reveal" => self.revealed = !self.said.is_empty(),
            // What is kept back is not frozen either, for a frozen curve is shown.
            "freeze" if self.shown || !self.conceals() => {
                self.frozen = Some(self.turned.clone());
                self.again();
            }
            "release" => {
                self.frozen = None;
                self.again();
            }
            "back" => {
                self.turned = self.held().clone();
                self.again();
            }
            _ => {}
        }
        self
    }

    fn again(&mut self) {
        self.revealed = false;
        self.said.clear();
    }

    /// The knobs that are compared with.
    pub fn held(&self) -> &Turned {
        static USUAL: Turned = Turned::new();
        self.frozen.as_ref().unwrap_or(&USUAL)
    }

    /// Whether anything differs from what is compared with.
    pub fn differs(&self) -> bool {
        self.turned != *self.held()
    }

    /// Names of the knobs that differ.
    pub fn differing(&self) -> Vec<&'static str> {
        let (now, held) = (&self.turned, self.held());
        knobs::KNOBS.iter().map(|knob| knob.name).filter(|name| now.get(name) != held.get(name)).collect()
    }

    /// Whether the result of the new state is kept back until learners have said what they expect.
    pub fn conceals(&self) -> bool {
        self.differs() && !self.at_once && !self.shows_what_was_said()
    }

    /// Whether what was said stands beside the result.
    pub fn shows_what_was_said(&self) -> bool {
        self.revealed && !self.said.is_empty() && self.differs()
    }

    /// The query of its link.
    pub fn query(&self) -> String {
        let mut written = form_urlencoded::Serializer::new(String::new());
        written.append_pair("material", self.base.name);
        for (name, text) in &self.turned {
            written.append_pair(name, text);
        }
        if let Some(frozen) = &self.frozen {
            written.append_pair("frozen", "yes");
            for (name, text) in frozen {
                written.append_pair(&format!("was.{name}"), text);
            }
        }
        for (name, said) in &self.said {
            if let Some(choice) = said.choice {
                written.append_pair(&format!("say.{name}"), choice.name());
            }
            for (direction, hands) in &said.hands {
                written.append_pair(&format!("hands.{name}.{}", direction.name()), &hands.to_string());
            }
        }
        if self.shows_what_was_said() {
            written.append_pair("reveal", "yes");
        }
        if self.at_once {
            written.append_pair("ask", "no");
        }
        if self.view != "all" {
            written.append_pair("view", self.view);
        }
        written.finish()
    }
}

/// Knobs as a form says that they were shown; never empty.
pub fn mark(turned: &Turned) -> String {
    format!("as {}", form_urlencoded::Serializer::new(String::new()).extend_pairs(turned).finish())
}

/// Whether two texts mean the same: as words, or as numbers.
fn same(a: &str, b: &str) -> bool {
    let number = |text: &str| case_file::with_point(text).parse::<f64>().ok();
    a == b || number(a).is_some_and(|a| number(b) == Some(a))
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test stops where its premise fails")]

    use super::*;

    #[test]
    fn a_link_is_its_state_and_knobs_as_usual_are_not_in_it() {
        let link = "material=alginate&water=28&frozen=yes&was.water=24&say.setting=less&hands.setting.less=12&reveal=yes";
        let state = State::read(link).unwrap();
        assert_eq!(state.query(), link);
        let long = format!("{link}&room=23&humidity=50&wrap=open+air&ratio=2.17&nothing=1");
        assert_eq!(State::read(&long).unwrap().query(), link);
    }

    #[test]
    fn results_are_kept_back_until_something_was_said() {
        let of = |query: &str| State::read(query).unwrap();
        assert!(!of("material=agar").conceals(), "nothing is turned");
        assert!(of("material=agar&room=30").conceals());
        assert!(of("material=agar&room=30&reveal=yes").conceals(), "nobody has said anything");
        assert!(of("material=agar&room=30&say.working=same").conceals());
        assert!(!of("material=agar&room=30&say.working=same&reveal=yes").conceals());
        assert!(!of("material=agar&room=30&ask=no").conceals());
        assert!(!of("material=agar&room=30&say.working=same").done("reveal").conceals());
        let frozen = of("material=agar&room=30&say.working=same&reveal=yes").done("freeze");
        assert_eq!(frozen.query(), "material=agar&room=30&frozen=yes&was.room=30");
        // A frozen curve is shown: what is kept back cannot be frozen, what a form was shown with can.
        assert_eq!(of("material=agar&room=30").done("freeze").query(), "material=agar&room=30");
        let shown = of("material=agar&room=30&shown=as+room%3D30").done("freeze");
        assert_eq!(shown.query(), frozen.query());
        assert!(of("material=agar&room=31&shown=as+room%3D30").done("freeze").conceals());
    }
}
