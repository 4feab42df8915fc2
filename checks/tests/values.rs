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
    val_audit_set_time = "audit-set-time";
    val_audit_plane_sheet = "audit-plane-sheet";
    val_audit_annulus = "audit-annulus";
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
    val_stepped_die = "stepped-die";
    val_swept_volume = "swept-volume";
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
    val_two_springs_lame = "two-springs-lame";
    val_stone_against_mould = "stone-against-mould";
    val_plaster_that_dries = "plaster-that-dries";
    val_strength_with_age = "strength-with-age";
    val_lift_multiplier = "lift-multiplier";
    val_scale_error = "scale-error";
    val_effective_film = "effective-film";
    val_joined_retainers = "joined-retainers";
    val_rocking_bridge = "rocking-bridge";
    val_play_at_the_margin = "play-at-the-margin";
    val_spacer_coats = "spacer-coats";
    val_gold_casting = "gold-casting";
    val_condensation_root_of_time = "condensation-root-of-time";
    val_one_day_change = "one-day-change";
    val_condensation_shrinks_first = "condensation-shrinks-first";
    val_polyether_follows_humidity = "polyether-follows-humidity";
    val_polyether_in_air = "polyether-in-air";
    val_watery_liquids = "watery-liquids";
    val_disinfected_an_hour = "disinfected-an-hour";
    val_polysulfide_dies_grow = "polysulfide-dies-grow";
    val_polyether_die_width = "polyether-die-width";
    val_hybrid_contraction = "hybrid-contraction";
    val_hybrid_casts = "hybrid-casts";
    val_textbook_times = "textbook-times";
    val_warmer_is_quicker = "warmer-is-quicker";
    val_polyether_waits = "polyether-waits";
    val_humid_is_quicker = "humid-is-quicker";
    val_stiffness_order = "stiffness-order";
    val_repeat_pours = "repeat-pours";
    val_pours_one_and_six_hours = "pours-one-and-six-hours";
    val_silicone_to_two_weeks = "silicone-to-two-weeks";
    val_two_step_relief = "two-step-relief";
    val_dual_arch_dies = "dual-arch-dies";
    val_two_step_span = "two-step-span";
    val_gas_taught = "gas-taught";
    val_gas_at_an_hour = "gas-at-an-hour";
    val_taught_pours = "taught-pours";
    val_classes_that_cannot_wait = "classes-that-cannot-wait";
    val_dry_polyether = "dry-polyether";
    val_polyether_after_disinfection = "polyether-after-disinfection";
    val_condensation_dies_grow = "condensation-dies-grow";
    val_condensation_contracts_on = "condensation-contracts-on";
    val_condensation_times = "condensation-times";
    val_degrees_away = "degrees-away";
    val_blocks_contract = "blocks-contract";
    val_shrinkage_goes_on = "shrinkage-goes-on";
    val_silicone_thermal_length = "silicone-thermal-length";
    val_silicone_sheet_conductivity = "silicone-sheet-conductivity";
    val_haemostatics_and_silicone = "haemostatics-and-silicone";
    val_latex_and_silicone = "latex-and-silicone";
    val_width_against_height = "width-against-height";
    val_number_of_casts = "number-of-casts";
    val_polysulfide_mass = "polysulfide-mass";
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
    val_wet_tissue_week = "wet-tissue-week";
    val_wet_tissue_three_days = "wet-tissue-three-days";
    val_salt_release = "salt-release";
    val_swelling_and_leaching = "swelling-and-leaching";
    val_root_of_time = "root-of-time";
    val_half_the_thickness = "half-the-thickness";
    val_strain_for_mass = "strain-for-mass";
    val_gas_side_controls = "gas-side-controls";
    val_water_in_the_gel_expands = "water-in-the-gel-expands";
    val_ten_kelvin_double = "ten-kelvin-double";
    val_setting_at_23 = "setting-at-23";
    val_minute_for_ten_kelvin = "minute-for-ten-kelvin";
    val_water_from_15_to_40 = "water-from-15-to-40";
    val_fifteen_percent_more_water = "fifteen-percent-more-water";
    val_mass_in_water = "mass-in-water";
    val_length_in_water = "length-in-water";
    val_stronger_liquid = "stronger-liquid";
    val_leaky_humidor = "leaky-humidor";
    val_extended_scans = "extended-scans";
    val_sealed_for_days = "sealed-for-days";
    val_extended_plateau = "extended-plateau";
    val_bag_of_either_product = "bag-of-either-product";
    val_spray_and_bag = "spray-and-bag";
    val_ten_minutes_immersed = "ten-minutes-immersed";
    val_five_minutes_immersed = "five-minutes-immersed";
    val_immersion_distorts = "immersion-distorts";
    val_immersed_arch = "immersed-arch";
    val_half_an_hour_reviewed = "half-an-hour-reviewed";
    val_gels_by_guidance = "gels-by-guidance";
    val_extended_casts_five_days = "extended-casts-five-days";
    val_five_day_products_week = "five-day-products-week";
    val_three_hours_at_full_humidity = "three-hours-at-full-humidity";
    val_agar_alginate_posts = "agar-alginate-posts";
    val_wet_gauze_four_hours = "wet-gauze-four-hours";
    val_later_is_larger = "later-is-larger";
    val_six_abutments = "six-abutments";
    val_cast_left = "cast-left";
    val_surface_of_a_full_arch = "surface-of-a-full-arch";
    val_tenth_in_an_hour = "tenth-in-an-hour";
    val_plaster_standard = "plaster-standard";
    val_plaster_and_water = "plaster-and-water";
    val_tube_series = "tube-series";
    val_tube_dwell = "tube-dwell";
    val_tube_diameter = "tube-diameter";
    val_hot_film_wall = "hot-film-wall";
    val_agar_gel_point = "agar-gel-point";
    val_agar_hysteresis = "agar-hysteresis";
    val_setting_front = "setting-front";
    val_agar_boil = "agar-boil";
    val_agar_boil_again = "agar-boil-again";
    val_agar_stored = "agar-stored";
    val_agar_tempered = "agar-tempered";
    val_agar_tray_water = "agar-tray-water";
    val_agar_in_air = "agar-in-air";
    val_agar_die = "agar-die";
    val_agar_quarter_of_an_hour = "agar-quarter-of-an-hour";
    val_pulp_under_agar = "pulp-under-agar";
    val_agar_film_gels = "agar-film-gels";
    val_sulcus_at_forty_seconds = "sulcus-at-forty-seconds";
    val_capillary_rise = "capillary-rise";
    val_narrow_slots = "narrow-slots";
    val_laboratory_impressions = "laboratory-impressions";
    val_blood_odds = "blood-odds";
    val_dual_arch_odds = "dual-arch-odds";
    val_hand_mix_bubbles = "hand-mix-bubbles";
    val_standard_linear_solid = "standard-linear-solid";
    val_set_by_load_time = "set-by-load-time";
    val_set_of_alginate = "set-of-alginate";
    val_strain_over_undercut = "strain-over-undercut";
    val_confined_modulus = "confined-modulus";
    val_trousers = "trousers";
    val_flange = "flange";
    val_slender_stone = "slender-stone";
    val_force_of_an_arch = "force-of-an-arch";
    val_order_of_forces = "order-of-forces";
    val_snap_and_slow_pull = "snap-and-slow-pull";
    val_order_of_sets = "order-of-sets";
    val_class_of_ten = "class-of-ten";
    val_kuder_richardson_20 = "kuder-richardson-20";
    val_kuder_richardson_21 = "kuder-richardson-21";
    val_interval_of_reliability = "interval-of-reliability";
    val_alpha_without_an_item = "alpha-without-an-item";
    val_item_and_total = "item-and-total";
    val_item_and_rest = "item-and-rest";
    val_upper_and_lower_group = "upper-and-lower-group";
    val_interval_of_a_share = "interval-of-a-share";
    val_quantiles_of_f_and_t = "quantiles-of-f-and-t";
    val_kappa_of_two_markers = "kappa-of-two-markers";
    val_kappa_as_printed = "kappa-as-printed";
    val_kappa_weighted_by_hand = "kappa-weighted-by-hand";
    val_kappa_of_many_markers = "kappa-of-many-markers";
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
    let more = std::fs::read_to_string(root.join("xtask/mutations.toml")).unwrap();
    let more: toml::Table = more.parse().unwrap();
    for mutation in more["mutation"].as_array().unwrap() {
        let said = |name: &str| mutation[name].as_str().unwrap();
        let text = std::fs::read_to_string(root.join(said("file"))).unwrap();
        assert_eq!(text.matches(said("old")).count(), 1, "{}", said("test"));
    }
}
