//! Every check agrees, each has its test, and what it says of itself is complete.
#![allow(clippy::unwrap_used, reason = "a test stops where its premise fails")]

use std::path::Path;

use checks::{all, run};

/// One test a check, named after it.
macro_rules! val {
    ($($name:ident = $id:literal;)+) => {
        $(#[test]
        fn $name() {
            agrees($id);
        })+

        /// Identifiers that have a test.
        const TESTED: &[&str] = &[$($id,)+];
    };
}

val! {
    val_slab_series = "slab-series";
    val_slab_convection = "slab-convection";
    val_three_layers = "three-layers";
    val_contact_temperature = "contact-temperature";
    val_isothermal_cure = "isothermal-cure";
    val_autocatalytic_closed_form = "autocatalytic-closed-form";
    val_adiabatic_cure = "adiabatic-cure";
    val_induction_integral = "induction-integral";
    val_set_coupled = "set-coupled";
    val_mix_temperature = "mix-temperature";
    val_saturation_pressure = "saturation-pressure";
    val_saturation_density = "saturation-density";
    val_latent_heat = "latent-heat";
    val_sheet_surface_evaporation = "sheet-surface-evaporation";
    val_still_air_coefficient = "still-air-coefficient";
    val_still_air_evaporation = "still-air-evaporation";
    val_drying_of_alginate = "drying-of-alginate";
    val_salt_humidor = "salt-humidor";
    val_wet_bulb = "wet-bulb";
    val_annulus = "annulus";
    val_sphere = "sphere";
    val_relief_sweep = "relief-sweep";
    val_cooling_with_the_tray = "cooling-with-the-tray";
    val_loose = "loose";
    val_open_die = "open-die";
    val_stoichiometric_water = "stoichiometric-water";
    val_chemical_contraction = "chemical-contraction";
    val_porosity = "porosity";
    val_dry_density = "dry-density";
    val_wet_strength = "wet-strength";
    val_avrami = "avrami";
    val_needle_and_diffraction = "needle-and-diffraction";
    val_stone_expansion_range = "stone-expansion-range";
    val_stone_expansion_standard = "stone-expansion-standard";
    val_hydration_heat = "hydration-heat";
    val_adiabatic_rise = "adiabatic-rise";
    val_mould_heat = "mould-heat";
    val_lift_multiplier = "lift-multiplier";
    val_scale_error = "scale-error";
    val_effective_film = "effective-film";
    val_normal_quantile = "normal-quantile";
    val_sobol_points = "sobol-points";
    val_sum_of_normals = "sum-of-normals";
    val_sum_of_rectangles = "sum-of-rectangles";
    val_one_wide_rectangle = "one-wide-rectangle";
    val_mass_calibration = "mass-calibration";
    val_end_gauge = "end-gauge";
    val_comparison_loss = "comparison-loss";
    val_logarithm = "logarithm";
    val_ishigami = "ishigami";
    val_alginate_time_ratio = "alginate-time-ratio";
    val_water_only_activation = "water-only-activation";
    val_alginate_in_air = "alginate-in-air";
    val_temperature_at_removal = "temperature-at-removal";
    val_silicone_die_width = "silicone-die-width";
    val_silicone_casts_over_days = "silicone-casts-over-days";
    val_crown_trueness = "crown-trueness";
    val_cross_arch_span = "cross-arch-span";
    val_alginate_humidor = "alginate-humidor";
    val_alginate_setting_taught = "alginate-setting-taught";
    val_alginate_directions = "alginate-directions";
    val_silicone_waits_alginate_does_not = "silicone-waits-alginate-does-not";
}

fn agrees(id: &str) {
    let list = all().unwrap();
    let (topic, check) =
        list.iter().find(|(_, check)| check.id == id).expect("a test names a check that exists");
    let outcome = run(topic, check);
    let differing: Vec<String> = outcome
        .rows
        .iter()
        .filter(|row| !row.agrees)
        .map(|row| {
            format!(
                "{}: expected {:?} {:?} {:?}, computed {:?}",
                row.row.case, row.row.expected, row.row.at_least, row.row.at_most, row.computed
            )
        })
        .collect();
    assert!(outcome.agrees(), "{id}:\n{}", differing.join("\n"));
}

#[test]
fn every_check_has_its_test_and_says_all_of_itself() {
    let list = all().unwrap();
    let mut ids: Vec<&str> = list.iter().map(|(_, check)| check.id.as_str()).collect();
    for (_, check) in &list {
        for (name, text) in [
            ("title", &check.title),
            ("source", &check.source),
            ("how_read", &check.how_read),
            ("tolerance_why", &check.tolerance_why),
        ] {
            assert!(text.trim().len() > 4, "{}: {name}", check.id);
        }
        assert!(!check.row.is_empty(), "{}", check.id);
    }
    ids.sort_unstable();
    let mut tested = TESTED.to_vec();
    tested.sort_unstable();
    assert_eq!(ids, tested);
}

#[test]
fn every_mutation_can_be_applied() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("..");
    for (_, check) in all().unwrap() {
        let text = std::fs::read_to_string(root.join(&check.mutation.file)).unwrap();
        assert_eq!(text.matches(&check.mutation.old).count(), 1, "{}", check.id);
        assert_ne!(check.mutation.old, check.mutation.new, "{}", check.id);
    }
}
