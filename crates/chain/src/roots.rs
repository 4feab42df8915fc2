//! The independent root causes of uncertainty: one ledger name, one link and one Sobol dimension each.
//!
//! The position in [`ROOTS`] is the dimension. The list grows at its end only, so that a forecast made today can be
//! replayed, and two routes share their random numbers root by root.

use terms::Link;

/// A root cause.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
#[repr(usize)]
#[allow(missing_docs, reason = "the table below says what each is")]
pub enum Root {
    RoomTemperature,
    RoomHumidity,
    Draught,
    WaterTemperature,
    ToothTemperature,
    DieDiameter,
    DieHeight,
    Convergence,
    Span,
    Relief,
    Ceiling,
    TrayWall,
    Hold,
    Neighbour,
    MixingTime,
    SeatTime,
    MixRatio,
    VesselCapacity,
    MixRelaxation,
    ReferenceTime,
    ActivationEnergy,
    InductionShare,
    SeedShare,
    RatioExponent,
    SettingHeat,
    WorkingConversion,
    GelConversion,
    ReadyConversion,
    Conductivity,
    Capacity,
    Density,
    MouthTemperature,
    MouthAir,
    MouthTransfer,
    ToothThickness,
    ToothConductivity,
    SetTimeDiscrepancy,
    CureShrinkage,
    LateShare,
    LateTime,
    Relaxation,
    Expansion,
    SetStrainDiscrepancy,
    TransferFactor,
    SealedHumidity,
    TraySideTransfer,
    WaterActivity,
    Diffusivity,
    Syneresis,
    SyneresisTime,
    HoldingDiscrepancy,
    TrayExpansion,
    Poisson,
    TrayDiscrepancy,
    StoneRatio,
    NeedleTime,
    NeedleConversion,
    RigidConversion,
    StoneHeat,
    StoneConductivity,
    StoneTransfer,
    StoneExpansion,
    PlateauRatio,
    RatioSlope,
    Restraint,
    StoneDiscrepancy,
    SeparateConversion,
    DiameterDiscrepancy,
    HeightDiscrepancy,
    SpanDiscrepancy,
    Spacer,
    Film,
    FabricationError,
    DetailLine,
    FitDiscrepancy,
    AvramiExponent,
    SealedDryHumidity,
    Rewarming,
    StoneRatioExponent,
    HumidityExponent,
    VolatileMass,
    VolatileDiffusivity,
    Sorption,
    LiquidUptake,
    GasTime,
    SwellingDiffusivity,
    SaltDiffusivity,
    OsmoticStrain,
    NetworkStrain,
    SaltMass,
    SprayFilm,
    ClothFilm,
    LiquidStrength,
    WashReferenceTime,
    WashThickness,
    Recoil,
    RecoilExponent,
    Movement,
    DualArchDiameter,
    DualArchHeight,
    TubeDiameter,
    BoilTemperature,
    BoilTime,
    BoilCycles,
    StoreTemperature,
    StoreTime,
    TemperTemperature,
    TemperTime,
    BathTransfer,
    MeltTemperature,
    MeltHalfTime,
    CoolantTemperature,
    CoolantTransfer,
    SyringeTemperature,
    SyringeDelay,
    RepourStrain,
    StoneModulus,
    StiffnessExponent,
    HygroscopicGain,
}

/// Where the ledger keeps the value of a root.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Home {
    /// A fact of the situation or the route; the ledger name says what is usual when it is unknown.
    Fact,
    /// The product, then the class of the impression material in the tray.
    Material,
    /// The product, then the gypsum type of the stone.
    Gypsum,
    /// The same, for water gels alone.
    Gel,
    /// The same, for elastomers alone.
    Rubber,
    /// The product, then the class of the material that meets the tooth.
    Surface,
    /// The product, then the class of the second material, where there is one.
    Wash,
    /// The class of agar, where agar is in the tray.
    Agar,
    /// The material of the tray.
    Tray,
    /// How the restoration is made.
    Fabrication,
    /// This scope.
    Scope(&'static str),
}

/// One row of the table of roots.
#[derive(Clone, Copy, Debug)]
pub struct RootRow {
    /// The root.
    pub root: Root,
    /// Name in the ledger, after the scope.
    pub name: &'static str,
    /// Where the ledger keeps it.
    pub home: Home,
    /// The link it acts through first.
    pub link: Link,
    /// In words, for cards.
    pub words: &'static str,
}

use Home::{Agar, Fabrication, Fact, Gel, Gypsum, Material, Rubber, Scope, Surface, Tray, Wash};
use Root as R;

const fn row(root: Root, name: &'static str, home: Home, link: Link, words: &'static str) -> RootRow {
    RootRow { root, name, home, link, words }
}

/// Every root, in the order of its Sobol dimension.
pub const ROOTS: &[RootRow] = &[
    row(R::RoomTemperature, "room_temperature", Fact, Link::Mix, "room temperature"),
    row(R::RoomHumidity, "room_humidity", Fact, Link::Holding, "room humidity"),
    row(R::Draught, "draught", Fact, Link::Holding, "draught over the impression"),
    row(R::WaterTemperature, "water_temperature", Fact, Link::Mix, "water temperature"),
    row(R::ToothTemperature, "tooth_temperature", Fact, Link::Set, "tooth temperature"),
    row(R::DieDiameter, "die_diameter", Fact, Link::Tray, "diameter of the preparation"),
    row(R::DieHeight, "die_height", Fact, Link::Tray, "height of the preparation"),
    row(R::Convergence, "convergence", Fact, Link::Fit, "convergence of the preparation"),
    row(R::Span, "span", Fact, Link::Tray, "span"),
    row(R::Relief, "relief", Fact, Link::Tray, "relief of the tray"),
    row(R::Ceiling, "ceiling", Fact, Link::Tray, "space over the top"),
    row(R::TrayWall, "tray_wall", Fact, Link::Tray, "thickness of the tray"),
    row(R::Hold, "hold", Fact, Link::Tray, "hold of the material on the tray"),
    row(R::Neighbour, "neighbour", Scope("tray"), Link::Tray, "share of the layer backed by the tray"),
    row(R::MixingTime, "plan.mixing", Fact, Link::Mix, "mixing time"),
    row(R::SeatTime, "plan.seat_after", Fact, Link::Mix, "time of seating"),
    row(R::MixRatio, "mix.ratio", Fact, Link::Mix, "water/powder ratio of the mix"),
    row(R::VesselCapacity, "vessel_capacity", Scope("mix"), Link::Mix, "heat capacity of bowl and spatula"),
    row(R::MixRelaxation, "relaxation", Scope("mix"), Link::Mix, "warming of the mix by the room"),
    row(R::ReferenceTime, "set.reference_time", Material, Link::Set, "setting time of the product"),
    row(R::ActivationEnergy, "set.activation_energy", Material, Link::Set, "activation energy of setting"),
    row(R::InductionShare, "set.induction_share", Material, Link::Set, "share of the induction"),
    row(R::SeedShare, "set.seed_share", Material, Link::Set, "share of the uncatalysed cure"),
    row(R::RatioExponent, "set.ratio_exponent", Material, Link::Set, "effect of the water on setting"),
    row(R::SettingHeat, "set.heat", Material, Link::Set, "heat of setting"),
    row(R::WorkingConversion, "set.working_conversion", Material, Link::Set, "end of working"),
    row(R::GelConversion, "set.gel_conversion", Material, Link::Set, "gel point"),
    row(R::ReadyConversion, "set.ready_conversion", Material, Link::Set, "conversion needed for removal"),
    row(R::Conductivity, "thermal.conductivity", Material, Link::Set, "conductivity of the material"),
    row(R::Capacity, "thermal.capacity", Material, Link::Set, "specific heat of the material"),
    row(R::Density, "thermal.density", Material, Link::Set, "density of the material"),
    row(R::MouthTemperature, "core_temperature", Scope("mouth"), Link::Set, "temperature inside the tooth"),
    row(R::MouthAir, "air_temperature", Scope("mouth"), Link::Set, "air in the mouth"),
    row(R::MouthTransfer, "transfer", Scope("mouth"), Link::Set, "heat transfer in the mouth"),
    row(R::ToothThickness, "thickness", Scope("tooth"), Link::Set, "thickness of tooth substance"),
    row(R::ToothConductivity, "conductivity", Scope("tooth"), Link::Set, "conductivity of the tooth"),
    row(R::SetTimeDiscrepancy, "set_time", Scope("discrepancy"), Link::Set, "model of setting"),
    row(R::CureShrinkage, "cure.shrinkage", Material, Link::Set, "shrinkage of the cure after the gel point"),
    row(R::LateShare, "cure.late_share", Material, Link::Set, "share of the late cure"),
    row(R::LateTime, "cure.late_time", Material, Link::Set, "time of the late cure"),
    row(R::Relaxation, "cure.relaxation", Material, Link::Set, "relaxation on the tooth"),
    row(R::Expansion, "thermal.expansion", Material, Link::Set, "thermal expansion of the material"),
    row(
        R::SetStrainDiscrepancy,
        "set_strain",
        Scope("discrepancy"),
        Link::Set,
        "model of the locked-in strain",
    ),
    row(R::TransferFactor, "transfer_factor", Scope("hold"), Link::Holding, "evaporation coefficient"),
    row(R::SealedHumidity, "sealed_humidity", Scope("hold"), Link::Holding, "humidity of the sealed bag"),
    row(R::TraySideTransfer, "tray_transfer", Scope("hold"), Link::Holding, "heat loss on the tray side"),
    row(R::WaterActivity, "water.activity", Material, Link::Holding, "water activity of the material"),
    row(R::Diffusivity, "water.diffusivity", Material, Link::Holding, "diffusion of water in the material"),
    row(R::Syneresis, "syneresis.strain", Material, Link::Holding, "syneresis of the product"),
    row(R::SyneresisTime, "syneresis.time", Material, Link::Holding, "time of syneresis"),
    row(R::HoldingDiscrepancy, "holding", Scope("discrepancy"), Link::Holding, "model of holding"),
    row(R::TrayExpansion, "thermal.expansion", Tray, Link::Tray, "thermal expansion of the tray"),
    row(R::Poisson, "poisson", Material, Link::Tray, "compressibility of the layer"),
    row(R::TrayDiscrepancy, "tray", Scope("discrepancy"), Link::Tray, "closed forms of the layer"),
    row(R::StoneRatio, "mix.ratio", Fact, Link::Stone, "water/powder ratio of the stone"),
    row(R::NeedleTime, "set.needle_time", Gypsum, Link::Stone, "setting time of the stone"),
    row(R::NeedleConversion, "set.needle_conversion", Gypsum, Link::Stone, "hydration at the needle set"),
    row(
        R::RigidConversion,
        "set.rigid_conversion",
        Gypsum,
        Link::Stone,
        "hydration at which stone turns rigid",
    ),
    row(R::StoneHeat, "heat", Gypsum, Link::Stone, "heat of hydration"),
    row(R::StoneConductivity, "conductivity", Scope("stone"), Link::Stone, "conductivity of the stone"),
    row(
        R::StoneTransfer,
        "outer_transfer",
        Scope("stone"),
        Link::Stone,
        "heat loss of the poured impression",
    ),
    row(R::StoneExpansion, "expansion.two_hours", Gypsum, Link::Stone, "setting expansion of the stone"),
    row(R::PlateauRatio, "expansion.plateau_ratio", Gypsum, Link::Stone, "delayed expansion of the stone"),
    row(R::RatioSlope, "expansion.ratio_slope", Gypsum, Link::Stone, "effect of the water on expansion"),
    row(R::Restraint, "stone.restraint", Material, Link::Stone, "restraint of the stone by the impression"),
    row(R::StoneDiscrepancy, "stone", Scope("discrepancy"), Link::Stone, "model of the stone"),
    row(
        R::SeparateConversion,
        "separate_conversion",
        Scope("stone"),
        Link::Stone,
        "hydration needed for separation",
    ),
    row(R::DiameterDiscrepancy, "discrepancy.diameter", Material, Link::Removal, "repeatability of a die"),
    row(R::HeightDiscrepancy, "height", Scope("discrepancy"), Link::Removal, "model of the die height"),
    row(R::SpanDiscrepancy, "span", Fact, Link::Tray, "model of spans"),
    row(R::Spacer, "spacer", Fact, Link::Fit, "designed space under the crown"),
    row(R::Film, "film", Fact, Link::Fit, "luting film"),
    row(R::FabricationError, "fit.diameter_error", Fabrication, Link::Fit, "fabrication of the restoration"),
    row(R::DetailLine, "detail.line", Surface, Link::Fit, "detail that the class copies"),
    row(R::FitDiscrepancy, "fit", Scope("discrepancy"), Link::Fit, "model of seating"),
    row(R::AvramiExponent, "set.avrami_exponent", Gypsum, Link::Stone, "course of hydration"),
    row(
        R::SealedDryHumidity,
        "sealed_dry_humidity",
        Scope("hold"),
        Link::Holding,
        "humidity of a dry sealed bag",
    ),
    row(R::Rewarming, "rewarming", Scope("discrepancy"), Link::Stone, "model of the heat of the stone"),
    row(
        R::StoneRatioExponent,
        "set.ratio_exponent",
        Gypsum,
        Link::Stone,
        "effect of the water on the setting of stone",
    ),
    row(
        R::HumidityExponent,
        "set.humidity_exponent",
        Material,
        Link::Set,
        "effect of the humidity on setting",
    ),
    row(R::VolatileMass, "volatile.mass", Rubber, Link::Holding, "volatile by-product of the cure"),
    row(R::VolatileDiffusivity, "volatile.diffusivity", Rubber, Link::Holding, "diffusion of the by-product"),
    row(R::Sorption, "water.sorption", Rubber, Link::Holding, "water taken up from the air"),
    row(R::LiquidUptake, "water.liquid_uptake", Rubber, Link::Holding, "water taken up in a liquid"),
    row(R::GasTime, "gas.time", Rubber, Link::Holding, "gas from the material"),
    row(
        R::SwellingDiffusivity,
        "liquid.swelling_diffusivity",
        Gel,
        Link::Holding,
        "speed of swelling of the gel",
    ),
    row(R::SaltDiffusivity, "liquid.salt_diffusivity", Gel, Link::Holding, "diffusion of the salts"),
    row(R::OsmoticStrain, "liquid.osmotic_strain", Gel, Link::Holding, "osmotic swelling by the salts"),
    row(
        R::NetworkStrain,
        "liquid.network_strain",
        Gel,
        Link::Holding,
        "swelling of the gel without its salts",
    ),
    row(R::SaltMass, "liquid.salt_mass", Gel, Link::Holding, "salts that can leave"),
    row(R::SprayFilm, "spray_film", Fact, Link::Holding, "film of the spray"),
    row(R::ClothFilm, "cloth_film", Fact, Link::Holding, "water of the wet cloth"),
    row(R::LiquidStrength, "liquid_strength", Fact, Link::Holding, "osmotic strength of the liquid"),
    row(R::WashReferenceTime, "set.reference_time", Wash, Link::Set, "setting time of the second material"),
    row(R::WashThickness, "wash_thickness", Fact, Link::Removal, "thickness of the second material"),
    row(R::Recoil, "recoil", Fact, Link::Removal, "rebound of the putty"),
    row(R::RecoilExponent, "recoil_exponent", Fact, Link::Removal, "effect of the wash on the rebound"),
    row(R::Movement, "movement", Scope("technique"), Link::Removal, "movement of the tray while setting"),
    row(R::DualArchDiameter, "dual_arch_diameter", Fact, Link::Tray, "flexing of a dual-arch tray, width"),
    row(R::DualArchHeight, "dual_arch_height", Fact, Link::Tray, "flexing of a dual-arch tray, height"),
    row(R::TubeDiameter, "tube_diameter", Fact, Link::Mix, "diameter of the tube"),
    row(R::BoilTemperature, "boil_temperature", Fact, Link::Mix, "boiling bath"),
    row(R::BoilTime, "boil_time", Fact, Link::Mix, "time in the boiling bath"),
    row(R::BoilCycles, "boil_cycles", Fact, Link::Mix, "boiled how often"),
    row(R::StoreTemperature, "store_temperature", Fact, Link::Mix, "storage bath"),
    row(R::StoreTime, "store_time", Fact, Link::Mix, "time in the storage bath"),
    row(R::TemperTemperature, "temper_temperature", Fact, Link::Mix, "tempering bath"),
    row(R::TemperTime, "temper_time", Fact, Link::Mix, "time in the tempering bath"),
    row(R::BathTransfer, "bath.transfer", Agar, Link::Mix, "heat transfer in the baths"),
    row(R::MeltTemperature, "melt.temperature", Agar, Link::Mix, "melting of the gel"),
    row(R::MeltHalfTime, "melt.half_time", Agar, Link::Mix, "time of melting"),
    row(R::CoolantTemperature, "coolant_temperature", Fact, Link::Set, "water through the tray"),
    row(R::CoolantTransfer, "coolant_transfer", Fact, Link::Set, "heat transfer to the water in the tray"),
    row(R::SyringeTemperature, "syringe_temperature", Fact, Link::Set, "agar from the syringe"),
    row(R::SyringeDelay, "syringe_delay", Fact, Link::Set, "from syringe to tray"),
    row(R::RepourStrain, "repour.strain", Material, Link::Removal, "distortion by the first separation"),
    row(R::StoneModulus, "modulus", Scope("stone"), Link::Stone, "stiffness of the set stone"),
    row(
        R::StiffnessExponent,
        "stiffness_exponent",
        Scope("stone"),
        Link::Stone,
        "stiffness of the stone against its hydration",
    ),
    row(
        R::HygroscopicGain,
        "stone.hygroscopic_gain",
        Gel,
        Link::Stone,
        "growth by the water that stone takes from the gel",
    ),
];

/// Number of roots.
pub const COUNT: usize = ROOTS.len();

impl Root {
    /// Its row.
    pub fn row(self) -> &'static RootRow {
        &ROOTS[self as usize]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_table_is_in_the_order_of_the_dimensions() {
        for (index, row) in ROOTS.iter().enumerate() {
            assert_eq!(row.root as usize, index, "{}", row.words);
        }
    }
}
