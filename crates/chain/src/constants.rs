//! Values that are taken at their middle: definitions, and properties whose spread does not matter beside the roots.

use ledger::{LedgerError, Parameters};
use terms::{ImpressionClass, Route};

use crate::scopes::Scopes;

/// Constants of one case, SI.
#[derive(Clone, Copy, Debug)]
#[allow(missing_docs, reason = "each field is the ledger value of the name given in `of`")]
pub struct Constants {
    pub reference_temperature_k: f64,
    pub reference_conversion: f64,
    pub ratio_reference: f64,
    pub order_m: f64,
    pub order_n: f64,
    pub powder_capacity_j_kgk: f64,
    pub tray_conductivity_w_mk: f64,
    pub tray_capacity_j_kgk: f64,
    pub tray_density_kg_m3: f64,
    pub tooth_density_kg_m3: f64,
    pub tooth_capacity_j_kgk: f64,
    pub plate_length_m: f64,
    pub final_conversion: f64,
    pub stone_start_s: f64,
    pub stone_reference_ratio: f64,
    pub plateau_time_s: f64,
    pub powder_density_kg_m3: f64,
    pub die_age_s: f64,
    pub pour_delay_s: f64,
    pub loading_s: f64,
    pub separate_after_s: f64,
    pub diffusion_energy_j_mol: f64,
    pub sorption_exponent: f64,
    pub volatile_strain_ratio: f64,
    pub repour_casts: f64,
    pub repour_rest_s: f64,
    pub stiffness_pa: f64,
    pub pulp_transfer_w_m2k: f64,
    pub growth_energy_j_mol: Option<f64>,
    pub agar: Option<AgarConstants>,
}

/// The agar of a route, taken at its middle.
#[derive(Clone, Copy, Debug)]
#[allow(missing_docs, reason = "each field is the ledger value of the name given in `of`")]
pub struct AgarConstants {
    pub reference_temperature_k: f64,
    pub activation_energy_j_mol: f64,
    pub growth_energy_j_mol: f64,
    pub induction_share: f64,
    pub melt_energy_j_mol: f64,
    pub melt_onset_k: f64,
    pub melt_stretch: f64,
    pub gel_conversion: f64,
    pub ready_conversion: f64,
    pub heat_j_kg: f64,
    pub conductivity_w_mk: f64,
    pub capacity_j_kgk: f64,
    pub density_kg_m3: f64,
}

impl Constants {
    /// Looks the constants of a case up.
    ///
    /// # Errors
    /// When one is missing.
    pub fn of(route: &Route, scopes: &Scopes, parameters: &Parameters) -> Result<Constants, LedgerError> {
        let from =
            |scopes: &[&str], name: &str| parameters.find(scopes, name).map(|(_, found)| found.median());
        let material = |name: &str| from(&scopes.material(), name);
        let agar = |name: &str| from(&["agar"], name);
        let rubber = |name: &str| {
            if route.material.class.is_hydrocolloid() { Ok(1.0) } else { material(name) }
        };
        let gypsum = |name: &str| from(&scopes.gypsum(), name);
        let tray = |name: &str| from(&[scopes.tray()], name);
        Ok(Constants {
            reference_temperature_k: material("set.reference_temperature")?,
            reference_conversion: material("set.reference_conversion")?,
            ratio_reference: material("set.ratio_reference")?,
            order_m: material("set.order_m")?,
            order_n: material("set.order_n")?,
            powder_capacity_j_kgk: from(&["mix"], "powder_capacity")?,
            tray_conductivity_w_mk: tray("thermal.conductivity")?,
            tray_capacity_j_kgk: tray("thermal.capacity")?,
            tray_density_kg_m3: tray("thermal.density")?,
            tooth_density_kg_m3: from(&["tooth"], "density")?,
            tooth_capacity_j_kgk: from(&["tooth"], "capacity")?,
            plate_length_m: from(&["hold"], "plate_length")?,
            final_conversion: gypsum("set.final_conversion")?,
            stone_start_s: gypsum("set.start")?,
            stone_reference_ratio: gypsum("mix.ratio")?,
            plateau_time_s: gypsum("expansion.plateau_time")?,
            powder_density_kg_m3: from(&["stone"], "powder_density")?,
            die_age_s: from(&["usual"], "die_age")?,
            pour_delay_s: from(&["usual"], "pour_delay")?,
            loading_s: from(&["usual"], "loading")?,
            separate_after_s: from(&["usual"], "separate_after")?,
            diffusion_energy_j_mol: from(&["hold"], "diffusion_energy")?,
            sorption_exponent: rubber("water.sorption_exponent")?,
            volatile_strain_ratio: rubber("volatile.strain_ratio")?,
            repour_casts: material("repour.casts")?,
            repour_rest_s: material("repour.rest")?,
            stiffness_pa: material("repour.stiffness")?,
            pulp_transfer_w_m2k: from(&["tooth"], "pulp_transfer")?,
            growth_energy_j_mol: match route.material.class {
                ImpressionClass::Agar => Some(agar("set.growth_energy")?),
                _ => None,
            },
            agar: if route.has_agar() {
                Some(AgarConstants {
                    reference_temperature_k: agar("set.reference_temperature")?,
                    activation_energy_j_mol: agar("set.activation_energy")?,
                    growth_energy_j_mol: agar("set.growth_energy")?,
                    induction_share: agar("set.induction_share")?,
                    melt_energy_j_mol: agar("melt.energy")?,
                    melt_onset_k: agar("melt.onset")?,
                    melt_stretch: agar("melt.stretch")?,
                    gel_conversion: agar("set.gel_conversion")?,
                    ready_conversion: agar("set.ready_conversion")?,
                    heat_j_kg: agar("set.heat")?,
                    conductivity_w_mk: agar("thermal.conductivity")?,
                    capacity_j_kgk: agar("thermal.capacity")?,
                    density_kg_m3: agar("thermal.density")?,
                })
            } else {
                None
            },
        })
    }
}
