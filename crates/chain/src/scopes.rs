//! Which ledger rows speak for the parts of a route, and whether the parts are modelled together.

use ledger::{Parameters, ProductKind};
use terms::{ImpressionClass, Invalid, Material, ProductId, Route, Technique};

use crate::error::ChainError;

/// Ledger scopes of the parts of a route, best first.
pub struct Scopes {
    material: Vec<String>,
    wash: Option<Vec<String>>,
    gypsum: Vec<String>,
    tray: String,
    fabrication: Option<String>,
}

impl Scopes {
    /// Scopes of a route.
    ///
    /// # Errors
    /// When a product is unknown or of another kind, or when the two materials do not go together.
    pub fn of(route: &Route, parameters: &Parameters) -> Result<Scopes, ChainError> {
        check_pair(route)?;
        check_product(parameters, "route.material.product", &route.material)?;
        if let Some(wash) = &route.wash {
            check_product(parameters, "route.wash.product", wash)?;
        }
        let mut gypsum = Vec::new();
        if let Some(id) = &route.stone.product {
            check_kind(parameters, "route.stone.product", id, ProductKind::Gypsum(route.stone.gypsum))?;
            gypsum.push(id.0.clone());
        }
        gypsum.push(format!("gypsum-{}", route.stone.gypsum.word().trim_start_matches("type ")));
        // What sets against a putty that has set is the wash; the putty is then part of the tray.
        let (material, wash) = match (&route.wash, route.technique.wash_on_set_putty()) {
            (Some(wash), true) => (wash, None),
            (wash, _) => (&route.material, wash.as_ref()),
        };
        Ok(Scopes {
            material: of_material(material),
            wash: wash.map(of_material),
            gypsum,
            tray: format!("tray-{}", slug(route.tray.material.word()).trim_end_matches("-resin")),
            fabrication: route.restoration.map(|restoration| slug(restoration.fabrication.kind.word())),
        })
    }

    /// Scopes of the impression material that sets in the tray, best first.
    pub fn material(&self) -> Vec<&str> {
        self.material.iter().map(String::as_str).collect()
    }

    /// Scopes of a second material that sets at the same time, best first.
    pub fn wash(&self) -> Option<Vec<&str>> {
        self.wash.as_ref().map(|scopes| scopes.iter().map(String::as_str).collect())
    }

    /// Scopes of the material that meets the tooth, best first.
    pub fn surface(&self) -> Vec<&str> {
        self.wash().unwrap_or_else(|| self.material())
    }

    /// Scopes of the stone, best first.
    pub fn gypsum(&self) -> Vec<&str> {
        self.gypsum.iter().map(String::as_str).collect()
    }

    /// Scope of the tray material.
    pub fn tray(&self) -> &str {
        &self.tray
    }

    /// Scope of the way the restoration is made.
    pub fn fabrication(&self) -> Option<&str> {
        self.fabrication.as_deref()
    }
}

fn of_material(material: &Material) -> Vec<String> {
    let mut scopes: Vec<String> = material.product.iter().map(|id| id.0.clone()).collect();
    scopes.push(slug(material.class.word()));
    scopes
}

fn slug(word: &str) -> String {
    word.replace(' ', "-")
}

/// Two classes do not bond, agar on alginate apart; water gels have one viscosity.
fn check_pair(route: &Route) -> Result<(), ChainError> {
    let Some(wash) = &route.wash else { return Ok(()) };
    let tray = route.material.class;
    let together = match route.technique {
        Technique::AgarOverAlginate => return Ok(()),
        Technique::PuttyWashOneStep | Technique::PuttyWashTwoStep => {
            matches!(tray, ImpressionClass::AdditionSilicone | ImpressionClass::CondensationSilicone)
        }
        _ => !tray.is_alginate(),
    };
    let invalid = |field: &str, given: String, allowed: &str| {
        Err(ChainError::Invalid(Invalid { field: field.to_owned(), given, allowed: allowed.to_owned() }))
    };
    if !together {
        return invalid(
            "route.technique",
            format!("\"{}\" with {tray}", route.technique),
            "putty and wash for the silicones; two viscosities for every class but the alginates",
        );
    }
    if wash.class != tray {
        return invalid(
            "route.wash.class",
            format!("{} over {tray}", wash.class),
            "the class of the tray: two classes do not bond, agar over alginate apart",
        );
    }
    Ok(())
}

fn check_product(
    parameters: &Parameters,
    field: &'static str,
    material: &Material,
) -> Result<(), ChainError> {
    match &material.product {
        Some(id) => check_kind(parameters, field, id, ProductKind::Impression(material.class)),
        None => Ok(()),
    }
}

fn check_kind(
    parameters: &Parameters,
    field: &'static str,
    id: &ProductId,
    kind: ProductKind,
) -> Result<(), ChainError> {
    let problem = match parameters.product(id) {
        None => {
            let fitting: Vec<&str> = parameters
                .products()
                .filter(|product| product.kind == kind)
                .map(|product| product.id.0.as_str())
                .collect();
            format!("not in the ledger; for {} there are {}", of_kind(kind), fitting.join(", "))
        }
        Some(product) if product.kind != kind => format!("{}, not {}", of_kind(product.kind), of_kind(kind)),
        Some(_) => return Ok(()),
    };
    Err(ChainError::Product { field, given: id.0.clone(), problem })
}

fn of_kind(kind: ProductKind) -> String {
    match kind {
        ProductKind::Impression(class) => class.to_string(),
        ProductKind::Gypsum(gypsum) => format!("gypsum {gypsum}"),
    }
}
