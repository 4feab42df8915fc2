//! The immutable snapshot of everything the chain may use, with the hash by which a forecast can be replayed.

use std::collections::BTreeMap;

use sha2::{Digest, Sha256};
use terms::{Agent, Contaminant, DisinfectionMethod, GypsumType, ImpressionClass, ProductId};

use crate::product::{Instruction, Product, ProductKind, Taught};
use crate::{Disinfectant, Distribution, Inhibition, Value};

/// A ledger that cannot be used.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum LedgerError {
    /// The text is not a ledger file.
    #[error("{file}: {message}")]
    Unreadable {
        /// File name.
        file: String,
        /// What the reader said, with its line.
        message: String,
    },
    /// A row contradicts itself or another row.
    #[error("{file}: {key}: {message}")]
    Row {
        /// File name.
        file: String,
        /// Key or identifier of the row.
        key: String,
        /// What is wrong.
        message: String,
    },
    /// A value that a model needs is not there.
    #[error("no value \"{name}\" for any of: {scopes}")]
    Missing {
        /// Name of the quantity.
        name: String,
        /// Scopes that were tried, best first.
        scopes: String,
    },
}

/// Everything the chain may use: values, products, what is taught, what disinfects and what inhibits. Immutable.
#[derive(Clone, Debug)]
pub struct Parameters {
    values: BTreeMap<String, (Value, Distribution)>,
    products: BTreeMap<ProductId, Product>,
    taught: Vec<Taught>,
    disinfectants: Vec<Disinfectant>,
    inhibitions: Vec<Inhibition>,
    hash: String,
}

#[derive(serde::Deserialize, serde::Serialize)]
#[serde(deny_unknown_fields)]
struct File {
    #[serde(default)]
    value: Vec<Value>,
    #[serde(default)]
    product: Vec<ProductRow>,
    #[serde(default)]
    taught: Vec<Taught>,
    #[serde(default)]
    disinfectant: Vec<Disinfectant>,
    #[serde(default)]
    inhibition: Vec<Inhibition>,
}

#[derive(serde::Deserialize, serde::Serialize)]
#[serde(deny_unknown_fields)]
struct ProductRow {
    id: String,
    name: String,
    #[serde(default)]
    demo: bool,
    class: Option<ImpressionClass>,
    gypsum: Option<GypsumType>,
    #[serde(default)]
    instruction: Vec<Instruction>,
}

impl Parameters {
    /// Reads ledger files given as (name, text).
    ///
    /// The hash covers the content of every row, not the layout or the order of the files.
    ///
    /// # Errors
    /// The first file or row that cannot be used.
    pub fn read(files: &[(&str, &str)]) -> Result<Parameters, LedgerError> {
        let mut values = BTreeMap::new();
        let mut products = BTreeMap::new();
        let mut taught: BTreeMap<String, Taught> = BTreeMap::new();
        let mut disinfectants: BTreeMap<String, Disinfectant> = BTreeMap::new();
        let mut inhibitions: BTreeMap<String, Inhibition> = BTreeMap::new();
        for &(name, text) in files {
            let row_error = |key: &str, message: String| LedgerError::Row {
                file: name.to_owned(),
                key: key.to_owned(),
                message,
            };
            let file: File = toml::from_str(text).map_err(|error| LedgerError::Unreadable {
                file: name.to_owned(),
                message: error.to_string(),
            })?;
            for value in file.value {
                check_text(&value).map_err(|message| row_error(&value.key, message))?;
                let distribution = value.distribution().map_err(|message| row_error(&value.key, message))?;
                let key = value.key.clone();
                if values.insert(key.clone(), (value, distribution)).is_some() {
                    return Err(row_error(&key, "given twice".to_owned()));
                }
            }
            for row in file.product {
                let id = row.id.clone();
                let product = product(row).map_err(|message| row_error(&id, message))?;
                if products.insert(product.id.clone(), product).is_some() {
                    return Err(row_error(&id, "given twice".to_owned()));
                }
            }
            for rule in file.taught {
                let key = rule.key.clone();
                if !(rule.seconds[0] >= 0.0 && rule.seconds[0] <= rule.seconds[1]) {
                    return Err(row_error(&key, format!("{:?} is not a range of seconds", rule.seconds)));
                }
                if taught.insert(key.clone(), rule).is_some() {
                    return Err(row_error(&key, "given twice".to_owned()));
                }
            }
            for row in file.disinfectant {
                let key = row.key.clone();
                row.check().map_err(|message| row_error(&key, message))?;
                if disinfectants.insert(key.clone(), row).is_some() {
                    return Err(row_error(&key, "given twice".to_owned()));
                }
            }
            for row in file.inhibition {
                let key = row.key.clone();
                row.check().map_err(|message| row_error(&key, message))?;
                if inhibitions.insert(key.clone(), row).is_some() {
                    return Err(row_error(&key, "given twice".to_owned()));
                }
            }
        }
        let mut parameters = Parameters {
            values,
            products,
            taught: taught.into_values().collect(),
            disinfectants: disinfectants.into_values().collect(),
            inhibitions: inhibitions.into_values().collect(),
            hash: String::new(),
        };
        parameters.hash = hash(&parameters);
        Ok(parameters)
    }

    /// SHA-256 over every row, in hexadecimal.
    pub fn hash(&self) -> &str {
        &self.hash
    }

    /// The row with this key.
    pub fn value(&self, key: &str) -> Option<&Value> {
        self.values.get(key).map(|(value, _)| value)
    }

    /// Every row, by key.
    pub fn values(&self) -> impl Iterator<Item = &Value> {
        self.values.values().map(|(value, _)| value)
    }

    /// The same with one row moved by a hundredth of itself or of its spread: what is computed otherwise then depends on that row. It is for
    /// asking that alone, and no forecast is made from it.
    pub fn nudged(&self, key: &str) -> Option<Parameters> {
        let mut nudged = self.clone();
        let (_, distribution) = nudged.values.get_mut(key)?;
        *distribution = distribution.nudged();
        nudged.hash.push('~');
        Some(nudged)
    }

    /// The first of `scopes` that has a value of this name.
    ///
    /// # Errors
    /// When none has.
    pub fn find(&self, scopes: &[&str], name: &str) -> Result<(&Value, Distribution), LedgerError> {
        scopes
            .iter()
            .find_map(|scope| self.values.get(&format!("{scope}/{name}")))
            .map(|(value, distribution)| (value, *distribution))
            .ok_or_else(|| LedgerError::Missing { name: name.to_owned(), scopes: scopes.join(", ") })
    }

    /// The median of one row, SI, with the row.
    ///
    /// # Errors
    /// When the key is not there.
    pub fn exact(&self, key: &str) -> Result<(&Value, f64), LedgerError> {
        let (scope, name) = key.split_once('/').unwrap_or(("", key));
        self.find(&[scope], name).map(|(value, distribution)| (value, distribution.median()))
    }

    /// The product with this identifier.
    pub fn product(&self, id: &ProductId) -> Option<&Product> {
        self.products.get(id)
    }

    /// Every product.
    pub fn products(&self) -> impl Iterator<Item = &Product> {
        self.products.values()
    }

    /// Everything that is taught.
    pub fn taught(&self) -> &[Taught] {
        &self.taught
    }

    /// Every disinfectant with what its material bears, by key.
    pub fn disinfectants(&self) -> &[Disinfectant] {
        &self.disinfectants
    }

    /// What is known of this agent, brought onto this class in this way.
    pub fn disinfectant(
        &self,
        class: ImpressionClass,
        agent: Agent,
        method: DisinfectionMethod,
    ) -> Option<&Disinfectant> {
        self.disinfectants.iter().find(|row| row.class == class && row.agent == agent && row.method == method)
    }

    /// Everything that may keep a class from setting, by key.
    pub fn inhibitions(&self) -> &[Inhibition] {
        &self.inhibitions
    }

    /// What is known of this contaminant under this class; none when nothing is.
    pub fn inhibition(&self, class: ImpressionClass, contaminant: Contaminant) -> Option<&Inhibition> {
        self.inhibitions.iter().find(|row| row.class == class && row.contaminant == contaminant)
    }
}

/// A word as it is written inside a key.
pub(crate) fn slug(word: &str) -> String {
    word.replace(' ', "-")
}

/// Refuses a row of which a text is empty.
pub(crate) fn check_filled(texts: &[(&str, &str)]) -> Result<(), String> {
    match texts.iter().find(|(_, text)| text.trim().is_empty()) {
        Some((name, _)) => Err(format!("{name} is empty")),
        None => Ok(()),
    }
}

fn check_text(value: &Value) -> Result<(), String> {
    if value.key.split('/').count() != 2 || value.key.split('/').any(str::is_empty) {
        return Err("a key is \"scope/name\"".to_owned());
    }
    check_filled(&[
        ("quantity", &value.quantity),
        ("conditions", &value.conditions),
        ("source", &value.source),
        ("how_read", &value.how_read),
    ])
}

fn product(row: ProductRow) -> Result<Product, String> {
    let kind = match (row.class, row.gypsum) {
        (Some(class), None) => ProductKind::Impression(class),
        (None, Some(gypsum)) => ProductKind::Gypsum(gypsum),
        _ => return Err("a product has either a class or a gypsum type".to_owned()),
    };
    for instruction in &row.instruction {
        if !(instruction.seconds.is_finite() && instruction.seconds >= 0.0) {
            return Err(format!("an instruction of {} s", instruction.seconds));
        }
        if instruction.source.trim().is_empty() {
            return Err("an instruction without its source".to_owned());
        }
    }
    Ok(Product { id: ProductId(row.id), name: row.name, demo: row.demo, kind, instructions: row.instruction })
}

fn hash(parameters: &Parameters) -> String {
    let mut hasher = Sha256::new();
    for value in parameters.values() {
        hasher.update(format!("{value:?}\n"));
    }
    for product in parameters.products() {
        hasher.update(format!("{product:?}\n"));
    }
    for rule in parameters.taught() {
        hasher.update(format!("{rule:?}\n"));
    }
    for row in parameters.disinfectants() {
        hasher.update(format!("{row:?}\n"));
    }
    for row in parameters.inhibitions() {
        hasher.update(format!("{row:?}\n"));
    }
    hasher.finalize().iter().map(|byte| format!("{byte:02x}")).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use terms::{Action, Bound};

    const ROW: &str = r#"
[[value]]
key = "alginate/set.activation_energy"
quantity = "activation energy of setting"
unit = "kJ/mol"
central = 47
spread = { kind = "normal", sd = 4.0 }
conditions = "any"
source = "a source"
how_read = "read"
grade = "assumed"
"#;
    const PRODUCT: &str = r#"
[[product]]
id = "demo-x"
name = "Demo X"
demo = true
class = "alginate"
[[product.instruction]]
action = "seat"
bound = "maximum"
seconds = 75
origin = "start of mix"
stated_for_room_celsius = [22, 24]
conditions = "23 °C"
source = "demo leaflet"
"#;

    #[test]
    fn rows_products_and_scopes_are_found() {
        let parameters = Parameters::read(&[("a.toml", ROW), ("b.toml", PRODUCT)]).unwrap();
        let (value, distribution) =
            parameters.find(&["demo-x", "alginate"], "set.activation_energy").unwrap();
        assert_eq!(value.grade, terms::Grade::Assumed);
        assert_eq!(distribution.median(), 47_000.0);
        let product = parameters.product(&ProductId("demo-x".into())).unwrap();
        let instruction = &product.instructions[0];
        assert_eq!((instruction.action, instruction.bound), (Action::Seat, Bound::Maximum));
        assert!(instruction.states_room(296.15) && !instruction.states_room(304.15));
        let error = parameters.find(&["demo-x", "alginate"], "nothing").unwrap_err();
        assert_eq!(error.to_string(), "no value \"nothing\" for any of: demo-x, alginate");
    }

    #[test]
    fn the_hash_follows_content_and_not_layout() {
        let one = Parameters::read(&[("a.toml", ROW), ("b.toml", PRODUCT)]).unwrap();
        let moved =
            Parameters::read(&[("b.toml", PRODUCT), ("a.toml", &format!("# comment\n{ROW}"))]).unwrap();
        let changed =
            Parameters::read(&[("a.toml", &ROW.replace("4.0", "5.0")), ("b.toml", PRODUCT)]).unwrap();
        assert_eq!(one.hash(), moved.hash());
        assert_ne!(one.hash(), changed.hash());
        assert_eq!(one.hash().len(), 64);
    }

    #[test]
    fn rows_that_contradict_themselves_are_refused() {
        for (from, to, expected) in [
            ("kJ/mol", "furlong", "unknown unit \"furlong\""),
            ("sd = 4.0", "sd = -1.0", "does not fit the central value"),
            ("source = \"a source\"", "source = \" \"", "source is empty"),
            ("alginate/set.activation_energy", "energy", "a key is \"scope/name\""),
        ] {
            let error = Parameters::read(&[("a.toml", &ROW.replace(from, to))]).unwrap_err().to_string();
            assert!(error.contains(expected), "{error}");
        }
        let twice = Parameters::read(&[("a.toml", ROW), ("b.toml", ROW)]).unwrap_err();
        assert!(twice.to_string().contains("given twice"));
    }
}
