//! The shipped rows: they read, they are complete, and each says honestly where it comes from.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use ledger::{Distribution, Parameters, ProductKind, Spread};
use terms::{Bound, Grade};

const FILES: [&str; 18] = [
    "access-and-removal.toml",
    "addition-silicone.toml",
    "agar.toml",
    "alginate.toml",
    "condensation-silicone.toml",
    "discrepancy.toml",
    "disinfection.toml",
    "extended-alginate.toml",
    "fit.toml",
    "gypsum.toml",
    "inhibition.toml",
    "mouth.toml",
    "polyether.toml",
    "polysulfide.toml",
    "taught.toml",
    "technique.toml",
    "usual.toml",
    "vinyl-polyether-hybrid.toml",
];

/// Scopes of the classes of impression material.
const CLASSES: [&str; 8] = [
    "alginate",
    "extended-storage-alginate",
    "agar",
    "addition-silicone",
    "condensation-silicone",
    "polysulfide",
    "polyether",
    "vinyl-polyether-hybrid",
];

/// What the chain looks up, as scopes and the names that each of them must have.
const KEYS: &[(&[&str], &[&str])] = &[
    (
        &["usual"],
        &[
            "room_temperature",
            "room_humidity",
            "draught",
            "water_temperature",
            "tooth_temperature",
            "die_diameter",
            "die_height",
            "convergence",
            "span",
            "span_arch",
            "relief_stock",
            "relief_custom",
            "relief_dual",
            "ceiling",
            "tray_wall",
            "spacer",
            "spacer_coat",
            "off_centre",
            "film",
            "separate_after",
            "pour_delay",
            "loading",
            "die_age",
            "loading",
        ],
    ),
    (
        &["reading"],
        &[
            "temperature",
            "humidity",
            "length",
            "relief",
            "air_speed",
            "angle",
            "span",
            "ratio",
            "thin",
            "set_sign",
            "mass",
        ],
    ),
    (&["mouth"], &["core_temperature", "air_temperature", "transfer"]),
    (&["tooth"], &["thickness", "conductivity", "density", "capacity", "pulp_transfer"]),
    (&["mix"], &["vessel_capacity", "relaxation", "powder_capacity"]),
    (&["tray"], &["hold_adhesive", "hold_perforated", "hold_both", "hold_none", "hold_unknown", "neighbour"]),
    (
        &["tray-metal", "tray-acrylic", "tray-light-cured", "tray-plastic"],
        &["thermal.expansion", "thermal.conductivity", "thermal.capacity", "thermal.density"],
    ),
    (
        &["hold"],
        &["transfer_factor", "sealed_humidity", "sealed_dry_humidity", "tray_transfer", "plate_length"],
    ),
    (
        &CLASSES,
        &[
            "thermal.conductivity",
            "thermal.capacity",
            "thermal.density",
            "thermal.expansion",
            "set.activation_energy",
            "set.reference_temperature",
            "set.reference_conversion",
            "set.reference_time",
            "set.induction_share",
            "set.seed_share",
            "set.order_m",
            "set.order_n",
            "set.heat",
            "set.ratio_exponent",
            "set.ratio_reference",
            "set.working_conversion",
            "set.gel_conversion",
            "set.ready_conversion",
            "cure.shrinkage",
            "cure.late_share",
            "cure.late_time",
            "cure.relaxation",
            "poisson",
            "plan.mixing",
            "plan.seat_after",
            "water.activity",
            "water.diffusivity",
            "syneresis.strain",
            "syneresis.time",
            "detail.line",
            "stone.restraint",
            "set.humidity_exponent",
            "repour.casts",
            "repour.rest",
            "repour.strain",
            "repour.stiffness",
            "removal.recovery",
            "discrepancy.diameter",
        ],
    ),
    (
        &["alginate", "extended-storage-alginate", "agar"],
        &[
            "mix.ratio",
            "liquid.swelling_diffusivity",
            "liquid.salt_diffusivity",
            "liquid.osmotic_strain",
            "liquid.network_strain",
            "liquid.salt_mass",
            "stone.hygroscopic_gain",
        ],
    ),
    (
        &["addition-silicone", "condensation-silicone", "polysulfide", "polyether", "vinyl-polyether-hybrid"],
        &[
            "volatile.mass",
            "volatile.diffusivity",
            "volatile.strain_ratio",
            "water.sorption",
            "water.sorption_exponent",
            "water.liquid_uptake",
            "gas.time",
        ],
    ),
    (
        &["agar"],
        &[
            "set.growth_energy",
            "melt.temperature",
            "melt.onset",
            "melt.half_time",
            "melt.energy",
            "melt.stretch",
            "bath.transfer",
        ],
    ),
    (
        &["usual"],
        &[
            "tube_diameter",
            "boil_temperature",
            "boil_time",
            "boil_cycles",
            "boil_cycles_again",
            "store_temperature",
            "store_time",
            "temper_temperature",
            "temper_time",
            "coolant_temperature",
            "syringe_temperature",
            "syringe_delay",
        ],
    ),
    (&["mouth"], &["coolant_transfer"]),
    (&["hold"], &["spray_film", "cloth_film", "liquid_strength", "diffusion_energy"]),
    (
        &["technique"],
        &[
            "movement",
            "wash_one_step",
            "wash_two_step",
            "wash_dual",
            "wash_agar",
            "recoil_one_step",
            "recoil_two_step",
            "recoil_exponent",
            "dual_arch_diameter_metal",
            "dual_arch_diameter_plastic",
            "dual_arch_height",
        ],
    ),
    (&["limit"], &["pulp_rise", "tissue_temperature", "scald_temperature"]),
    (
        &[
            "demo-alginate-normal",
            "demo-alginate-fast",
            "demo-silicone-regular",
            "demo-silicone-heavy",
            "demo-silicone-light",
        ],
        &["set.reference_time"],
    ),
    (
        &["gypsum-1", "gypsum-2", "gypsum-3", "gypsum-4", "gypsum-5"],
        &[
            "mix.ratio",
            "set.needle_time",
            "set.needle_conversion",
            "set.rigid_conversion",
            "set.avrami_exponent",
            "set.final_conversion",
            "set.start",
            "heat",
            "expansion.two_hours",
            "expansion.plateau_ratio",
            "expansion.plateau_time",
            "expansion.ratio_slope",
        ],
    ),
    (
        &["stone"],
        &[
            "conductivity",
            "outer_transfer",
            "powder_density",
            "separate_conversion",
            "modulus",
            "stiffness_exponent",
            "strength_dry_ratio",
            "strength_last_water",
        ],
    ),
    (&["cast", "pressed", "milled", "printed"], &["fit.diameter_error"]),
    (
        &["cast"],
        &[
            "chain.wax",
            "chain.alloy_gold",
            "chain.alloy_base",
            "chain.setting_gold",
            "chain.setting_base",
            "chain.thermal_gold",
            "chain.thermal_base",
        ],
    ),
    (
        &["limit"],
        &[
            "opening",
            "opening_strict",
            "opening_wide",
            "wall_space",
            "wall_space_strict",
            "wall_space_wide",
            "overhang",
            "overhang_strict",
            "overhang_wide",
            "loose",
            "loose_strict",
            "loose_wide",
            "cast_share",
            "cast_share_strict",
            "cast_share_middle",
        ],
    ),
    (
        &["discrepancy"],
        &[
            "set_time",
            "set_strain",
            "holding",
            "tray",
            "stone",
            "height",
            "span",
            "span_arch",
            "fit",
            "rewarming",
        ],
    ),
];

const PRODUCTS: [&str; 17] = [
    "demo-agar-syringe",
    "demo-agar-tray",
    "demo-alginate-extended",
    "demo-alginate-fast",
    "demo-alginate-normal",
    "demo-condensation-light",
    "demo-condensation-putty",
    "demo-hybrid-medium",
    "demo-polyether-medium",
    "demo-polysulfide-regular",
    "demo-silicone-heavy",
    "demo-silicone-light",
    "demo-silicone-putty",
    "demo-silicone-regular",
    "demo-stone-3",
    "demo-stone-4",
    "demo-stone-5",
];

/// Every `data/*.toml` of the repository, by name.
fn texts() -> BTreeMap<String, String> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../data");
    let mut texts = BTreeMap::new();
    for entry in fs::read_dir(folder).expect("the data folder is part of the repository") {
        let path = entry.expect("the data folder can be listed").path();
        if path.extension().is_some_and(|extension| extension == "toml") {
            let name = path.file_name().expect("a listed file has a name").to_string_lossy().into_owned();
            texts.insert(name, fs::read_to_string(&path).expect("a listed file can be read"));
        }
    }
    texts
}

fn shipped() -> Parameters {
    let texts = texts();
    let files: Vec<(&str, &str)> = texts.iter().map(|(name, text)| (name.as_str(), text.as_str())).collect();
    Parameters::read(&files).expect("the shipped rows can be used")
}

fn quantile(parameters: &Parameters, key: &str, p: f64) -> f64 {
    let (scope, name) = key.split_once('/').expect("a key is scope/name");
    parameters.find(&[scope], name).expect("the row is there").1.quantile(p)
}

#[test]
fn every_file_is_there_and_reads() {
    let texts = texts();
    for file in FILES {
        assert!(texts.contains_key(file), "data/{file} is missing");
    }
    assert_eq!(shipped().hash().len(), 64);
}

#[test]
fn every_key_of_the_chain_is_present() {
    let parameters = shipped();
    let mut missing = Vec::new();
    for (scopes, names) in KEYS {
        for scope in *scopes {
            for name in *names {
                let key = format!("{scope}/{name}");
                if parameters.value(&key).is_none() {
                    missing.push(key);
                }
            }
        }
    }
    assert!(missing.is_empty(), "missing: {missing:?}");
}

#[test]
fn distributions_have_finite_quantiles_in_order() {
    let parameters = shipped();
    for value in parameters.values() {
        let distribution = value.distribution().unwrap();
        let (low, high) = (distribution.quantile(0.001), distribution.quantile(0.999));
        assert!(low.is_finite() && high.is_finite(), "{}: {low} to {high}", value.key);
        match value.spread {
            Spread::Exact => assert_eq!(low, high, "{}", value.key),
            _ => assert!(low < high, "{}: {low} to {high}", value.key),
        }
    }
}

/// Rows that feed one formula stay in the order that the formula needs, whatever is drawn.
#[test]
fn drawn_values_keep_the_order_the_models_need() {
    let parameters = shipped();
    let below = |low: &str, high: &str| {
        let (a, b) = (quantile(&parameters, low, 0.999_999), quantile(&parameters, high, 1e-6));
        assert!(a < b, "{low} reaches {a}, {high} begins at {b}");
    };
    for class in CLASSES {
        below(&format!("{class}/set.gel_conversion"), &format!("{class}/set.ready_conversion"));
        below(&format!("{class}/set.working_conversion"), &format!("{class}/set.gel_conversion"));
        assert!(quantile(&parameters, &format!("{class}/poisson"), 0.999_999) < 0.5);
    }
    for gypsum in ["gypsum-1", "gypsum-2", "gypsum-3", "gypsum-4", "gypsum-5"] {
        below(&format!("{gypsum}/set.start"), &format!("{gypsum}/set.needle_time"));
        below(&format!("{gypsum}/set.needle_conversion"), &format!("{gypsum}/set.final_conversion"));
        below(&format!("{gypsum}/set.rigid_conversion"), &format!("{gypsum}/set.final_conversion"));
        let least_water = quantile(&parameters, &format!("{gypsum}/mix.ratio"), 1e-6);
        assert!(least_water > 0.186, "{gypsum} may be drawn below the water of full hydration");
    }
    for limit in ["opening", "wall_space", "overhang", "loose"] {
        below(&format!("limit/{limit}_strict"), &format!("limit/{limit}"));
        below(&format!("limit/{limit}"), &format!("limit/{limit}_wide"));
    }
}

/// A casting is as often too wide as too tight, for either alloy, and scatters by what was judged for the route as a whole: 22 µm at 8 mm.
#[test]
fn the_chain_of_a_casting_is_matched_to_its_alloy() {
    let parameters = shipped();
    // Half the width of the middle 68 % is one standard deviation of a normal row.
    let of = |name: &str| {
        let at = |p: f64| quantile(&parameters, &format!("cast/{name}"), p);
        (at(0.5), 0.5 * (at(0.841_345) - at(0.158_655)))
    };
    for alloy in ["gold", "base"] {
        let [setting, thermal, wax, metal] = [
            of(&format!("chain.setting_{alloy}")),
            of(&format!("chain.thermal_{alloy}")),
            of("chain.wax"),
            of(&format!("chain.alloy_{alloy}")),
        ];
        let net_um = 8e3 * (setting.0 + thermal.0 - wax.0 - metal.0);
        assert!(net_um.abs() < 2.0, "{alloy}: {net_um} um");
        let scatter_um = 1e6 * of("fit.diameter_error").1;
        let chain_um2: f64 = [setting, thermal, wax, metal].iter().map(|row| (8e3 * row.1).powi(2)).sum();
        let whole_um = (chain_um2 + scatter_um * scatter_um).sqrt();
        assert!((whole_um - 22.0).abs() < 0.5, "{alloy}: {whole_um} um");
    }
}

#[test]
fn every_product_is_invented_and_says_so() {
    let parameters = shipped();
    let ids: Vec<&str> = parameters.products().map(|product| product.id.0.as_str()).collect();
    assert_eq!(ids, PRODUCTS);
    for product in parameters.products() {
        let id = &product.id.0;
        assert!(product.demo && product.name.starts_with("Demo ") && id.starts_with("demo-"), "{id}");
        assert!(!product.instructions.is_empty(), "{id} has no instruction");
        for instruction in &product.instructions {
            assert_eq!(instruction.source, "demo leaflet, invented", "{id}: {:?}", instruction.action);
            assert!(instruction.stated_for_room_celsius.is_some(), "{id}: {:?}", instruction.action);
            assert!(!instruction.conditions.trim().is_empty(), "{id}: {:?}", instruction.action);
        }
        if product.kind == ProductKind::Impression(terms::ImpressionClass::Alginate) {
            let limited = product
                .instructions
                .iter()
                .all(|instruction| instruction.conditions.contains("study casts only"));
            assert!(limited, "{id} does not say that it is for study casts only");
        }
    }
    for value in parameters.values().filter(|value| value.key.starts_with("demo-")) {
        let scope = value.key.split('/').next().unwrap();
        assert!(ids.contains(&scope), "{} belongs to no product", value.key);
        assert_eq!(value.source, "demo leaflet, invented", "{}", value.key);
    }
}

#[test]
fn minimum_instructions_do_not_exceed_maximum_ones() {
    for product in shipped().products() {
        for least in product.instructions.iter().filter(|row| row.bound == Bound::Minimum) {
            for most in product.instructions.iter().filter(|row| row.bound == Bound::Maximum) {
                if least.action == most.action && least.origin == most.origin {
                    assert!(least.seconds <= most.seconds, "{}: {:?}", product.id.0, least.action);
                }
            }
        }
    }
}

/// A judgement may lean on a citation only when it says that it is a judgement; memory and reading say so too.
#[test]
fn the_way_of_reading_fits_the_grade() {
    for value in shipped().values() {
        let says = |words: &[&str]| words.iter().any(|word| value.how_read.contains(word));
        let fits = match value.grade {
            Grade::Assumed => !cites(&value.source) || says(&["judged", "assumed"]),
            Grade::FromMemory => says(&["recalled", "derived"]),
            Grade::PublishedAbstract => says(&["read", "derived"]),
            // Nothing shipped was read as a whole table or in a standard, and nothing was measured by the user.
            Grade::Published | Grade::Standard | Grade::MeasuredHere => false,
        };
        assert!(fits, "{} of grade \"{}\": {}", value.key, value.grade, value.how_read);
    }
}

#[test]
fn everything_taught_names_its_source() {
    let parameters = shipped();
    assert!(parameters.taught().len() >= 8);
    for rule in parameters.taught() {
        assert!(rule.key.starts_with("taught/"), "{}", rule.key);
        assert!(!rule.source.trim().is_empty() && rule.rule.ends_with('.'), "{}", rule.key);
        assert!(rule.grade != Grade::Published && rule.grade != Grade::Standard, "{}", rule.key);
    }
}

/// Exact rows are definitions, shapes, placeholders, conventions or limits; a measured quantity has a spread.
#[test]
fn only_definitions_are_exact() {
    for value in shipped().values() {
        let exact = matches!(value.distribution().unwrap(), Distribution::Exact(_));
        let excused = value.key.starts_with("limit/") || EXACT.contains(&value.key.as_str());
        assert!(!exact || excused || value.grade == Grade::Assumed, "{}", value.key);
    }
}

/// Exact rows that rest on a source, besides the limits.
const EXACT: [&str; 2] = ["alginate/set.ratio_reference", "addition-silicone/set.induction_share"];

/// Whether a source looks like a citation: a year, a digital identifier, an abstract or "et al.".
fn cites(source: &str) -> bool {
    let year = source
        .split(|c: char| !c.is_ascii_digit())
        .any(|digits| digits.len() == 4 && (digits.starts_with("19") || digits.starts_with("20")));
    year || ["doi", "et al.", "abstract"].iter().any(|sign| source.contains(sign))
}
