//! Values that are taken at their middle: definitions, and properties whose spread does not matter beside the roots.

use kernel::cure;
use ledger::{Distribution, LedgerError, Parameters};
use terms::{ImpressionClass, Route};

use crate::mouth::{Setting, product_law};
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
    pub tear_energy_j_m2: f64,
    pub slope: f64,
    pub friction: f64,
    pub retentive_rad: f64,
    pub access: AccessConstants,
}

/// What capture takes at its middle.
#[derive(Clone, Copy, Debug)]
#[allow(missing_docs, reason = "each field is the ledger value of the name given in `of`")]
pub struct AccessConstants {
    pub state_blood: f64,
    pub state_fluid: f64,
    pub state_damp: f64,
    pub inspection_miss: f64,
    pub flaw_m: f64,
    pub viscosity_moment_s: f64,
    /// End of working of the class at the temperature of the viscosities, s.
    pub working_reference_s: f64,
    /// Width with a deep cord in place, at once and at rest.
    pub double_open: Distribution,
    pub double_rest: Distribution,
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
            tear_energy_j_m2: material("tear.energy")?,
            slope: from(&["removal"], "slope")?,
            friction: from(&["removal"], "friction")?,
            retentive_rad: from(&["limit"], "convergence")?,
            access: AccessConstants {
                state_blood: from(&["access"], "state_blood")?,
                state_fluid: from(&["access"], "state_fluid")?,
                state_damp: from(&["access"], "state_damp")?,
                inspection_miss: from(&["access"], "inspection_miss")?,
                flaw_m: from(&["access"], "flaw")?,
                viscosity_moment_s: from(&["access"], "viscosity_moment")?,
                working_reference_s: working_s(scopes, parameters)?,
                double_open: parameters.find(&["access"], "open_width_double_cord")?.1,
                double_rest: parameters.find(&["access"], "rest_width_double_cord")?.1,
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

/// End of working of the class that meets the tooth, everything at its middle, at the temperature of the stated viscosities.
fn working_s(scopes: &Scopes, parameters: &Parameters) -> Result<f64, LedgerError> {
    let class = scopes.surface();
    let class: Vec<&str> = class.last().copied().into_iter().collect();
    let of = |name: &str| parameters.find(&class, name).map(|(_, found)| found.median());
    let law = product_law(&Setting {
        reference_s: of("set.reference_time")?,
        reference_t_k: of("set.reference_temperature")?,
        reference_conversion: of("set.reference_conversion")?,
        induction_share: of("set.induction_share")?,
        seed_share: of("set.seed_share")?,
        activation_j_mol: of("set.activation_energy")?,
        growth_j_mol: of("set.activation_energy")?,
        m: of("set.order_m")?,
        n: of("set.order_n")?,
        heat_j_kg: 0.0,
    });
    let t_k = parameters.find(&["access"], "viscosity_temperature")?.1.median();
    Ok(cure::time_to_alpha_isothermal(&law, t_k, of("set.working_conversion")?).clamp(1.0, 3600.0))
}
