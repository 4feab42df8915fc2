//! What a clinic has at hand: materials, trays, ways to displace the gum, ways to keep an impression.

use terms::{
    Astringent, Baths, CordOrder, Displacement, Electrode, Fact, HoldingSegment, ImpressionClass, Material,
    MixMethod, Technique, Tray, TrayKind,
};

/// Everything at hand. Without a clinic of its own a case is compared over the classes of the trade.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Clinic {
    /// A line that says whose stock it is, or that it is none.
    pub title: String,
    /// Whether it is invented.
    pub demo: bool,
    /// Materials with their technique.
    pub kits: Vec<Kit>,
    /// Trays.
    pub trays: Vec<TrayAtHand>,
    /// Ways to displace the gum.
    pub means: Vec<Means>,
    /// Ways to keep an impression until it is poured.
    pub keeping: Vec<Keeping>,
    /// Whether an optical scanner is at hand.
    pub scanner: Fact<bool>,
    /// What a remake takes and costs.
    pub remake: Remake,
    /// Lines that the clinic adds to the check list of the visit.
    pub added_checks: Vec<String>,
    /// Lines of the check list that the clinic has dropped, by identifier.
    pub dropped_checks: Vec<String>,
}

/// One material or pair of materials with its technique.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Kit {
    /// How it is called on a card.
    pub name: String,
    /// Technique.
    pub technique: Technique,
    /// In the tray.
    pub material: Material,
    /// From the syringe, or over a set putty.
    pub wash: Option<Material>,
    /// Mixing.
    pub method: MixMethod,
    /// Baths of agar.
    pub baths: Baths,
    /// Kinds of tray that it goes into.
    pub trays: Vec<TrayKind>,
    /// What one impression costs, in the user's own unit.
    pub cost: Option<f64>,
}

/// A tray.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct TrayAtHand {
    /// How it is called on a card.
    pub name: String,
    /// The tray.
    pub tray: Tray,
    /// What it costs.
    pub cost: Option<f64>,
}

/// A way to displace the gum, with what is on it.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize)]
pub struct Means {
    /// Displacement.
    pub displacement: Displacement,
    /// When the cords leave.
    pub cords_leave: Fact<CordOrder>,
    /// Medicament.
    pub medicament: Fact<Astringent>,
    /// Electrode of electrosurgery.
    pub electrode: Fact<Electrode>,
}

/// How impressions of some classes are kept: what is done first, then what lasts until the stone is mixed.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Keeping {
    /// Classes.
    pub classes: Vec<ImpressionClass>,
    /// Segments; the last goes on until pouring.
    pub segments: Vec<HoldingSegment>,
}

/// What a remake takes and costs against what a second impression takes now.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize)]
pub struct Remake {
    /// Chair time of a remake at another visit, s.
    pub chair_s: Fact<f64>,
    /// Its other cost, in the user's own unit.
    pub cost: Option<f64>,
    /// What a minute of the chair is worth, in the same unit.
    pub per_minute: Option<f64>,
}

impl Kit {
    /// Whether this is what a route uses.
    pub fn is_of(&self, route: &terms::Route) -> bool {
        self.technique == route.technique
            && self.material == route.material
            && self.wash == route.wash
            && self.method == route.mix.method
    }
}

impl Means {
    /// In words, such as "double cord with aluminium chloride".
    pub fn words(&self) -> String {
        let what = match (self.displacement, self.electrode.known()) {
            (Displacement::None, _) => "without displacement".to_owned(),
            (Displacement::Electrosurgery, Some(electrode)) => format!("electrosurgery ({electrode})"),
            (displacement, _) => displacement.to_string(),
        };
        match self.medicament.known() {
            Some(Astringent::None) | None => what,
            Some(medicament) => format!("{what} with {medicament}"),
        }
    }
}
