//! One complete way to make the copy, from displacement to the restoration on the die.

use crate::ranges::{self, Invalid};
use crate::{
    Agent, Alloy, CordOrder, Displacement, Exposure, FabricationKind, Fact, GypsumType, HoldingKind,
    ImpressionClass, Lots, MixMethod, Technique, TrayKind, TrayMaterial, Withdrawal,
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
    /// What it is sprayed with or lies in; not applicable when that is plain water or nothing.
    pub agent: Fact<Agent>,
    /// Mass of the active substance per mass of the disinfectant.
    pub concentration: Fact<f64>,
    /// Least contact that the label of the disinfectant asks for, s.
    pub labelled_contact_s: Fact<f64>,
}

/// The baths that turn agar into a sol and bring it down to what a mouth bears. Nothing of this applies to other classes.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize)]
pub struct Baths {
    /// Diameter of the tube.
    pub tube_diameter_m: Fact<f64>,
    /// Boiling bath, K; lower on a mountain.
    pub boil_temperature_k: Fact<f64>,
    /// Time in it, s.
    pub boil_s: Fact<f64>,
    /// Whether this tube has been boiled before.
    pub boiled_before: Fact<bool>,
    /// Storage bath, K.
    pub store_temperature_k: Fact<f64>,
    /// Time in it, s.
    pub store_s: Fact<f64>,
    /// Tempering bath, K.
    pub temper_temperature_k: Fact<f64>,
    /// Time in it, s.
    pub temper_s: Fact<f64>,
    /// Water through the tray, K.
    pub coolant_temperature_k: Fact<f64>,
    /// Agar in the syringe when it reaches the tooth, K.
    pub syringe_temperature_k: Fact<f64>,
}

impl Baths {
    /// Nothing is known of the baths.
    pub const UNKNOWN: Baths = Baths {
        tube_diameter_m: Fact::Unknown,
        boil_temperature_k: Fact::Unknown,
        boil_s: Fact::Unknown,
        boiled_before: Fact::Unknown,
        store_temperature_k: Fact::Unknown,
        store_s: Fact::Unknown,
        temper_temperature_k: Fact::Unknown,
        temper_s: Fact::Unknown,
        coolant_temperature_k: Fact::Unknown,
        syringe_temperature_k: Fact::Unknown,
    };
}

impl HoldingSegment {
    /// Lying or sealed in some way for some time, with everything else unknown.
    pub fn of(kind: HoldingKind, duration_s: f64) -> HoldingSegment {
        HoldingSegment {
            kind,
            duration_s,
            temperature_k: Fact::Unknown,
            humidity: Fact::Unknown,
            draught_m_s: Fact::Unknown,
            exposure: Fact::Unknown,
            agent: if kind.may_disinfect() { Fact::Unknown } else { Fact::NotApplicable },
            concentration: if kind.may_disinfect() { Fact::Unknown } else { Fact::NotApplicable },
            labelled_contact_s: if kind.may_disinfect() { Fact::Unknown } else { Fact::NotApplicable },
        }
    }
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
    /// Coats of painted spacer, where its thickness is not known.
    pub spacer_coats: Fact<f64>,
    /// Alloy of a casting; not applicable to other ways.
    pub alloy: Fact<Alloy>,
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
    /// From the cord, or the rinsed paste, leaving to the material reaching the first tooth, s.
    pub paste_after_s: Fact<f64>,
    /// From one prepared tooth to the next, s.
    pub per_tooth_s: Fact<f64>,
    /// From the last prepared tooth to the tray in place, s.
    pub tray_after_s: Fact<f64>,
    /// How the tray is taken out.
    pub withdrawal: Fact<Withdrawal>,
    /// Removal, s from the tray being in place; unknown means as early as the forecast and the instruction allow.
    pub remove_after_s: Fact<f64>,
    /// Separation, s from pouring; unknown means as early as the forecast and the instruction allow.
    pub separate_after_s: Fact<f64>,
    /// A second pour, s from separation; unknown means after the usual rest.
    pub second_pour_after_s: Fact<f64>,
}

/// One complete way to make the copy.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Route {
    /// How the gum is displaced.
    pub displacement: Fact<Displacement>,
    /// When the cords leave; not applicable where no cord is taken out before syringing.
    pub cords_leave: Fact<CordOrder>,
    /// Technique.
    pub technique: Technique,
    /// The material in the tray.
    pub material: Material,
    /// The material from the syringe, where the technique has one.
    pub wash: Option<Material>,
    /// What the second material is thick over the prepared tooth, m.
    pub wash_thickness_m: Fact<f64>,
    /// The tray.
    pub tray: Tray,
    /// Mixing.
    pub mix: Mix,
    /// Baths of agar.
    pub baths: Baths,
    /// From removal to pouring, in order. The last segment goes on when pouring is later than planned.
    pub holding: Vec<HoldingSegment>,
    /// The stone.
    pub stone: Stone,
    /// Lots, where they are written down.
    pub lots: Lots,
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

    /// Whether the second material meets a putty that has already set.
    pub fn wash_on_set_putty(self) -> bool {
        self == Technique::PuttyWashTwoStep
    }
}

impl Baths {
    fn check_quantities(&self) -> Result<(), Invalid> {
        ranges::TUBE.check_fact("route.baths.tube_diameter", self.tube_diameter_m)?;
        ranges::BOIL_TEMPERATURE.check_fact("route.baths.boil_temperature", self.boil_temperature_k)?;
        ranges::BATH_TIME.check_fact("route.baths.boil", self.boil_s)?;
        ranges::BATH_TEMPERATURE.check_fact("route.baths.store_temperature", self.store_temperature_k)?;
        ranges::STORE_TIME.check_fact("route.baths.store", self.store_s)?;
        ranges::BATH_TEMPERATURE.check_fact("route.baths.temper_temperature", self.temper_temperature_k)?;
        ranges::BATH_TIME.check_fact("route.baths.temper", self.temper_s)?;
        ranges::COOLANT_TEMPERATURE
            .check_fact("route.baths.coolant_temperature", self.coolant_temperature_k)?;
        ranges::BATH_TEMPERATURE.check_fact("route.baths.syringe_temperature", self.syringe_temperature_k)
    }
}

impl Restoration {
    /// One statement of the spacer, and an alloy for a casting alone.
    fn check_making(&self) -> Result<(), Invalid> {
        let made = &self.fabrication;
        let invalid = |field: &str, given: &str, allowed: &str| {
            Err(Invalid { field: field.to_owned(), given: given.to_owned(), allowed: allowed.to_owned() })
        };
        if made.spacer_m.known().is_some() && made.spacer_coats.known().is_some() {
            let given = "coats beside a thickness";
            return invalid(
                "route.restoration.spacer_coats",
                given,
                "the thickness, or coats where it is not known",
            );
        }
        if made.alloy.known().is_some() && made.kind != FabricationKind::Cast {
            let given = format!("an alloy for \"{}\"", made.kind);
            return invalid("route.restoration.alloy", &given, "an alloy for \"cast\" alone");
        }
        Ok(())
    }
}

impl Route {
    /// Whether agar is in the tray or comes from the syringe.
    pub fn has_agar(&self) -> bool {
        self.material.class == ImpressionClass::Agar
            || self.wash.as_ref().is_some_and(|wash| wash.class == ImpressionClass::Agar)
    }

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
        ranges::WASH.check_fact("route.wash_thickness", self.wash_thickness_m)?;
        self.baths.check_quantities()?;
        for (index, segment) in self.holding.iter().enumerate() {
            let field = |name: &str| format!("route.holding[{index}].{name}");
            ranges::HOLD_DURATION.check(&field("duration"), segment.duration_s)?;
            ranges::HOLDING_TEMPERATURE.check_fact(&field("temperature"), segment.temperature_k)?;
            ranges::HUMIDITY.check_fact(&field("humidity"), segment.humidity)?;
            ranges::AIR_SPEED.check_fact(&field("draught"), segment.draught_m_s)?;
            ranges::CONCENTRATION.check_fact(&field("concentration"), segment.concentration)?;
            ranges::CONTACT.check_fact(&field("labelled_contact"), segment.labelled_contact_s)?;
        }
        ranges::HOLD_DURATION.check("route.holding (all together)", self.planned_holding_s())?;
        ranges::STONE_POWDER.check_fact("route.stone.powder", self.stone.powder_kg)?;
        ranges::STONE_WATER.check_fact("route.stone.water", self.stone.water_kg)?;
        if let Some(restoration) = &self.restoration {
            restoration.check_making()?;
            ranges::SPACER.check_fact("route.restoration.spacer", restoration.fabrication.spacer_m)?;
            ranges::COATS
                .check_fact("route.restoration.spacer_coats", restoration.fabrication.spacer_coats)?;
            ranges::FILM.check_fact("route.restoration.film", restoration.film_m)?;
        }
        let plan = &self.plan;
        ranges::MIXING.check_fact("route.plan.mixing", plan.mixing_s)?;
        ranges::SEAT_AFTER.check_fact("route.plan.seat_after", plan.seat_after_s)?;
        ranges::ROUND.check_fact("route.plan.paste_after", plan.paste_after_s)?;
        ranges::ROUND.check_fact("route.plan.per_tooth", plan.per_tooth_s)?;
        ranges::ROUND.check_fact("route.plan.tray_after", plan.tray_after_s)?;
        ranges::REMOVE_AFTER.check_fact("route.plan.remove_after", plan.remove_after_s)?;
        ranges::SEPARATE_AFTER.check_fact("route.plan.separate_after", plan.separate_after_s)?;
        ranges::SECOND_POUR_AFTER.check_fact("route.plan.second_pour_after", plan.second_pour_after_s)
    }

    /// What must not be larger or later than something else.
    fn check_order(&self) -> Result<(), Invalid> {
        let thin =
            (self.wash_thickness_m, self.tray.relief_m, "route.wash_thickness", "the space in the tray");
        let seated = (self.plan.mixing_s, self.plan.seat_after_s, "route.plan.mixing", "the time of seating");
        let baths = &self.baths;
        let store = (baths.store_temperature_k, baths.boil_temperature_k, "route.baths.store_temperature");
        let temper =
            (baths.temper_temperature_k, baths.store_temperature_k, "route.baths.temper_temperature");
        for (least, most, field, than) in [
            thin,
            seated,
            (store.0, store.1, store.2, "the bath before it"),
            (temper.0, temper.1, temper.2, "the bath before it"),
        ] {
            if let (Some(least), Some(most)) = (least.known(), most.known())
                && least > most
            {
                return Err(Invalid {
                    field: field.to_owned(),
                    given: format!("more than {than}"),
                    allowed: format!("no more than {than}"),
                });
            }
        }
        Ok(())
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
        let alginate = self.material.class.is_alginate();
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
        self.check_order()?;
        if let (Some(order), Some(displacement)) = (self.cords_leave.known(), self.displacement.known())
            && !displacement.has_cord_out()
        {
            return invalid(
                "route.cords_leave",
                format!("\"{order}\" with the displacement \"{displacement}\""),
                "an order only where a cord is taken out",
            );
        }
        if !self.has_agar() && self.baths != Baths::UNKNOWN {
            return invalid(
                "route.baths",
                format!("baths with {} in the tray", self.material.class),
                "baths for agar, in the tray or from the syringe",
            );
        }
        for (index, segment) in self.holding.iter().enumerate() {
            let disinfected = segment.agent.known().is_some();
            if disinfected && !segment.kind.may_disinfect() {
                return invalid(
                    &format!("route.holding[{index}].agent"),
                    format!("a disinfectant while kept \"{}\"", segment.kind),
                    "a disinfectant where the impression is \"sprayed and sealed\" or \"immersed\"",
                );
            }
            let described = segment.concentration.known().or(segment.labelled_contact_s.known()).is_some();
            if described && matches!(segment.agent, Fact::NotApplicable) {
                return invalid(
                    &format!("route.holding[{index}].agent"),
                    "no disinfectant with a concentration or a labelled contact".to_owned(),
                    "the disinfectant, or \"unknown\"",
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
