//! What the stops block, and what to ask because of them.

use super::follow::{Entered, Followed};
use super::report::{Asked, Blocked};
use crate::cautions::{self, Rule};

/// Counts of what each stop blocks.
#[derive(Default)]
pub struct Tally<'r> {
    seen: Vec<Seen>,
    rules: Vec<(&'r Rule, Vec<usize>)>,
}

struct Seen {
    kit: String,
    tray: String,
    means: String,
}

impl<'r> Tally<'r> {
    /// Counts a candidate in.
    pub fn count(&mut self, entered: &Entered<'r>) {
        let place = self.seen.len();
        let candidate = &entered.candidate;
        self.seen.push(Seen {
            kit: candidate.kit.clone(),
            tray: candidate.tray.clone(),
            means: candidate.means.words(),
        });
        for rule in &entered.standing.stops {
            match self.rules.iter_mut().find(|(known, _)| known.id == rule.id) {
                Some((_, places)) => places.push(place),
                None => self.rules.push((rule, vec![place])),
            }
        }
    }

    /// Rule by rule, in the fewest words that say what is blocked.
    pub fn report(&self) -> Vec<Blocked> {
        self.rules
            .iter()
            .map(|(rule, places)| Blocked {
                rule: rule.id.clone(),
                says: rule.says.clone(),
                instead: rule.instead.clone(),
                what: self.what(places),
            })
            .collect()
    }

    /// Means, materials or trays every use of which is blocked; single routes where none says it all; nothing where all are.
    fn what(&self, places: &[usize]) -> Vec<String> {
        if places.len() == self.seen.len() {
            return Vec::new();
        }
        let parts: [fn(&Seen) -> &String; 3] = [|seen| &seen.means, |seen| &seen.kit, |seen| &seen.tray];
        for part in parts {
            let blocked = |place: &usize| self.seen.get(*place).map(part);
            let mut names: Vec<&String> = Vec::new();
            for name in places.iter().filter_map(blocked) {
                if !names.contains(&name) {
                    names.push(name);
                }
            }
            let uses = self.seen.iter().filter(|seen| names.contains(&part(seen))).count();
            if uses == places.len() {
                return names.into_iter().cloned().collect();
            }
        }
        let words = |place: &usize| {
            self.seen.get(*place).map(|seen| format!("{}; {}; {}", seen.kit, seen.tray, seen.means))
        };
        places.iter().filter_map(words).collect()
    }
}

/// The questions of the routes that wait: by the best chance that hangs on each, then by the number of routes, then of stops.
pub fn questions(waiting: &[&Followed]) -> Vec<Asked> {
    let mut list: Vec<Asked> = Vec::new();
    for followed in waiting {
        for (fact, rules) in &followed.standing.waits {
            let place = match list.iter().position(|asked| asked.fact == *fact) {
                Some(place) => place,
                None => {
                    let words = cautions::question(fact).unwrap_or(fact);
                    list.push(Asked { fact, words, stops: Vec::new(), routes: 0, best: 0.0 });
                    list.len() - 1
                }
            };
            if let Some(asked) = list.get_mut(place) {
                asked.routes += 1;
                asked.best = asked.best.max(followed.outlook.chance.value);
                for rule in rules {
                    if !asked.stops.contains(&rule.id) {
                        asked.stops.push(rule.id.clone());
                    }
                }
            }
        }
    }
    list.sort_by(|a, b| {
        b.best
            .total_cmp(&a.best)
            .then(b.routes.cmp(&a.routes))
            .then(b.stops.len().cmp(&a.stops.len()))
            .then(a.fact.cmp(b.fact))
    });
    list
}
