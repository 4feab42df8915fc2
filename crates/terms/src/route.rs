//! One complete way to make the copy, from displacement to the restoration on the die.

use crate::ranges::{self, Invalid};
use crate::{
    Displacement, Exposure, FabricationKind, Fact, GypsumType, HoldingKind, ImpressionClass, MixMethod,
    Technique, TrayKind, TrayMaterial,
};

/// Identifier of a product record of the ledger, such as `demo-alginate-normal`.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, serde::Serialize)]
pub struct ProductId(pub String);

/// An impression material: its class, and the product when it is known.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Material {
    /// Class.
    pub class: ImpressionClass,
    /// Product record; without one the class distribution is used and there is no instruction.
    pub product: Option<ProductId>,
}

/// The tray.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize)]
pub struct Tray {
    /// Kind.
    pub kind: TrayKind,
    /// Material.
    pub material: TrayMaterial,
    /// Space for the material at the walls, m.
    pub relief_m: Fact<f64>,
    /// Space for the material over the top, m.
    pub ceiling_m: Fact<f64>,
    /// Thickness of the tray wall, m.
    pub wall_m: Fact<f64>,
    /// Whether adhesive covers the tray.
    pub adhesive: Fact<bool>,
    /// Whether the tray is perforated or has retentive rims.
    pub perforated: Fact<bool>,
}

/// How the impression material is mixed.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize)]
pub struct Mix {
    /// Method.
    pub method: MixMethod,
    /// Powder, kg; not applicable to pastes.
    pub powder_kg: Fact<f64>,
    /// Water, kg; not applicable to pastes.
    pub water_kg: Fact<f64>,
}

/// One stretch of time between removal and pouring.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize)]
pub struct HoldingSegment {
    /// How the impression is kept.
    pub kind: HoldingKind,
    /// For how long, s.
    pub duration_s: f64,
    /// Temperature there, K; unknown means that of the room.
    pub temperature_k: Fact<f64>,
    /// Relative humidity there, 0 to 1; unknown means that of the room, or what is usual in a sealed bag.
    pub humidity: Fact<f64>,
    /// Air speed there, m/s; unknown means that of the room.
    pub draught_m_s: Fact<f64>,
    /// Which way the open face looks.
    pub exposure: Fact<Exposure>,
}

/// The stone mix.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Stone {
    /// ISO 6873 type.
    pub gypsum: GypsumType,
    /// Product record, when it is known.
    pub product: Option<ProductId>,
    /// Powder, kg.
    pub powder_kg: Fact<f64>,
    /// Water, kg.
    pub water_kg: Fact<f64>,
}

/// How the restoration is made on the die.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize)]
pub struct Fabrication {
    /// Kind.
    pub kind: FabricationKind,
    /// Designed space at the walls, normal to them, m.
    pub spacer_m: Fact<f64>,
}

/// The restoration: how it is made, and the film it is seated on.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize)]
pub struct Restoration {
    /// Fabrication.
    pub fabrication: Fabrication,
    /// Thickness of the luting film, m.
    pub film_m: Fact<f64>,
}

/// Planned times; a stamp replaces the plan of its step.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize)]
pub struct Plan {
    /// Duration of mixing, s.
    pub mixing_s: Fact<f64>,
    /// Tray in place, s from the start of mixing.
    pub seat_after_s: Fact<f64>,
    /// Removal, s from the tray being in place; unknown means as early as the forecast and the instruction allow.
    pub remove_after_s: Fact<f64>,
    /// Separation, s from pouring; unknown means as early as the forecast and the instruction allow.
    pub separate_after_s: Fact<f64>,
}

/// One complete way to make the copy.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Route {
    /// How the gum is displaced.
    pub displacement: Fact<Displacement>,
    /// Technique.
    pub technique: Technique,
    /// The material in the tray.
    pub material: Material,
    /// The material from the syringe, where the technique has one.
    pub wash: Option<Material>,
    /// The tray.
    pub tray: Tray,
    /// Mixing.
    pub mix: Mix,
    /// From removal to pouring, in order. The last segment goes on when pouring is later than planned.
    pub holding: Vec<HoldingSegment>,
    /// The stone.
    pub stone: Stone,
    /// The restoration; none for a study cast.
    pub restoration: Option<Restoration>,
    /// Planned times.
    pub plan: Plan,
}

impl Technique {
    /// Whether a second material comes from a syringe or over a set putty.
    pub fn has_wash(self) -> bool {
        !matches!(self, Technique::SingleViscosity)
    }
}

impl Route {
    /// Planned time from removal to pouring, s.
    pub fn planned_holding_s(&self) -> f64 {
        self.holding.iter().map(|segment| segment.duration_s).sum()
    }

    /// Every known quantity lies in its range, and the parts fit each other.
    ///
    /// # Errors
    /// The first field that does not, with what was given and what is allowed.
    pub fn validate(&self) -> Result<(), Invalid> {
        self.check_quantities()?;
        self.check_parts_fit()
    }

    fn check_quantities(&self) -> Result<(), Invalid> {
        let tray = &self.tray;
        ranges::RELIEF.check_fact("route.tray.relief", tray.relief_m)?;
        ranges::RELIEF.check_fact("route.tray.ceiling", tray.ceiling_m)?;
        ranges::TRAY_WALL.check_fact("route.tray.wall", tray.wall_m)?;
        ranges::POWDER.check_fact("route.mix.powder", self.mix.powder_kg)?;
        ranges::WATER.check_fact("route.mix.water", self.mix.water_kg)?;
        for (index, segment) in self.holding.iter().enumerate() {
            let field = |name: &str| format!("route.holding[{index}].{name}");
            ranges::HOLD_DURATION.check(&field("duration"), segment.duration_s)?;
            ranges::HOLDING_TEMPERATURE.check_fact(&field("temperature"), segment.temperature_k)?;
            ranges::HUMIDITY.check_fact(&field("humidity"), segment.humidity)?;
            ranges::AIR_SPEED.check_fact(&field("draught"), segment.draught_m_s)?;
        }
        ranges::HOLD_DURATION.check("route.holding (all together)", self.planned_holding_s())?;
        ranges::STONE_POWDER.check_fact("route.stone.powder", self.stone.powder_kg)?;
        ranges::STONE_WATER.check_fact("route.stone.water", self.stone.water_kg)?;
        if let Some(restoration) = &self.restoration {
            ranges::SPACER.check_fact("route.restoration.spacer", restoration.fabrication.spacer_m)?;
            ranges::FILM.check_fact("route.restoration.film", restoration.film_m)?;
        }
        let plan = &self.plan;
        ranges::MIXING.check_fact("route.plan.mixing", plan.mixing_s)?;
        ranges::SEAT_AFTER.check_fact("route.plan.seat_after", plan.seat_after_s)?;
        ranges::REMOVE_AFTER.check_fact("route.plan.remove_after", plan.remove_after_s)?;
        ranges::SEPARATE_AFTER.check_fact("route.plan.separate_after", plan.separate_after_s)
    }

    fn check_parts_fit(&self) -> Result<(), Invalid> {
        let invalid = |field: &str, given: String, allowed: &str| {
            Err(Invalid { field: field.to_owned(), given, allowed: allowed.to_owned() })
        };
        if self.technique.has_wash() != self.wash.is_some() {
            let given = if self.wash.is_some() { "a second material" } else { "no second material" };
            return invalid(
                "route.wash",
                format!("{given} with the technique \"{}\"", self.technique),
                "a second material for every technique but \"single viscosity\"",
            );
        }
        let alginate =
            matches!(self.material.class, ImpressionClass::Alginate | ImpressionClass::ExtendedAlginate);
        if self.technique == Technique::AgarOverAlginate {
            let agar = self.wash.as_ref().is_some_and(|wash| wash.class == ImpressionClass::Agar);
            if !alginate || !agar {
                return invalid(
                    "route.technique",
                    format!("\"{}\" with {} in the tray", self.technique, self.material.class),
                    "alginate in the tray and agar as the second material",
                );
            }
        }
        let pastes = matches!(self.mix.powder_kg, Fact::NotApplicable)
            || matches!(self.mix.water_kg, Fact::NotApplicable);
        if alginate && (pastes || self.mix.method == MixMethod::Automix) {
            return invalid(
                "route.mix",
                format!("{} without powder and water", self.material.class),
                "powder and water as amounts or \"unknown\", mixed by hand or machine",
            );
        }
        if !alginate && (self.mix.powder_kg.known().is_some() || self.mix.water_kg.known().is_some()) {
            return invalid(
                "route.mix",
                format!("powder and water for {}", self.material.class),
                "\"not applicable\" for materials that are not mixed from powder and water",
            );
        }
        Ok(())
    }
}
