//! Cases for the tests: the shipped ledger, and routes of the two classes that are modelled.
#![allow(dead_code, reason = "each test file uses a part")]

use chain::{Effort, Forecast};
use ledger::{Limits, Parameters};
use terms::{
    Astringent, Baths, Displacement, Fabrication, FabricationKind, Fact, GypsumType, HoldingKind,
    HoldingSegment, ImpressionClass, Instant, Material, Mix, MixMethod, Observation, Plan, ProductId,
    Purpose, Restoration, Route, Situation, Stamp, Stone, Technique, Tray, TrayKind, TrayMaterial,
};

pub const START: Instant = Instant::from_millis(1_790_000_000_000);

pub fn parameters() -> Parameters {
    ledger::shipped().unwrap()
}

pub struct Case {
    pub situation: Situation,
    pub route: Route,
    pub stamps: Vec<Stamp>,
    pub observations: Vec<Observation>,
}

impl Case {
    pub fn forecast(&self, points: u32) -> Forecast {
        self.forecast_at(points, START)
    }

    pub fn forecast_at(&self, points: u32, now: Instant) -> Forecast {
        let parameters = parameters();
        let limits = Limits::of(&parameters).unwrap();
        chain::forecast(
            &self.situation,
            &self.route,
            &self.stamps,
            &self.observations,
            &parameters,
            &limits,
            Effort::of_points(points),
            now,
        )
        .unwrap()
    }
}

pub fn held(kind: HoldingKind, minutes: f64) -> HoldingSegment {
    HoldingSegment::of(kind, 60.0 * minutes)
}

/// A crown on addition silicone in a custom acrylic tray with adhesive, 3 mm relief, poured after an hour.
pub fn silicone_crown() -> Case {
    let situation = Situation {
        room_temperature_k: Fact::Known(296.15),
        room_humidity: Fact::Known(0.5),
        draught_m_s: Fact::Known(0.0),
        water_temperature_k: Fact::NotApplicable,
        die_diameter_m: Fact::Known(8e-3),
        die_height_m: Fact::Known(5e-3),
        convergence_rad: Fact::Known(16f64.to_radians()),
        span_m: Fact::NotApplicable,
        undercut_m: Fact::Known(0.5e-3),
        undercut_at: Fact::Unknown,
        mobility: Fact::Unknown,
        abutments: Vec::new(),
        latex: Fact::Known(false),
        bleeding: Fact::Known(false),
        fresh_resin: Fact::Known(false),
        cement_residue: Fact::Known(false),
        astringent: Fact::Known(Astringent::None),
        ..Situation::unknown(Purpose::Crown)
    };
    let route = Route {
        displacement: Fact::Known(Displacement::SingleCord),
        cords_leave: Fact::Unknown,
        technique: Technique::SingleViscosity,
        material: Material {
            class: ImpressionClass::AdditionSilicone,
            product: Some(ProductId("demo-silicone-regular".into())),
        },
        wash: None,
        wash_thickness_m: Fact::NotApplicable,
        baths: Baths::UNKNOWN,
        tray: Tray {
            kind: TrayKind::Custom,
            material: TrayMaterial::Acrylic,
            relief_m: Fact::Known(3e-3),
            ceiling_m: Fact::Known(3e-3),
            wall_m: Fact::Known(2e-3),
            adhesive: Fact::Known(true),
            perforated: Fact::Known(false),
        },
        mix: Mix {
            method: MixMethod::Automix,
            powder_kg: Fact::NotApplicable,
            water_kg: Fact::NotApplicable,
        },
        holding: vec![held(HoldingKind::OpenAir, 60.0)],
        stone: Stone {
            gypsum: GypsumType::Type4,
            product: Some(ProductId("demo-stone-4".into())),
            powder_kg: Fact::Known(0.1),
            water_kg: Fact::Known(0.023),
        },
        lots: terms::Lots::default(),
        restoration: Some(Restoration {
            fabrication: Fabrication {
                kind: FabricationKind::Milled,
                spacer_m: Fact::Known(40e-6),
                spacer_coats: Fact::Unknown,
                alloy: Fact::NotApplicable,
            },
            film_m: Fact::Known(25e-6),
        }),
        plan: Plan {
            mixing_s: Fact::Known(20.0),
            seat_after_s: Fact::Known(75.0),
            paste_after_s: Fact::Unknown,
            per_tooth_s: Fact::Unknown,
            tray_after_s: Fact::Unknown,
            withdrawal: Fact::Unknown,
            remove_after_s: Fact::Unknown,
            separate_after_s: Fact::Unknown,
            second_pour_after_s: Fact::Unknown,
        },
    };
    Case { situation, route, stamps: vec![], observations: vec![] }
}

/// A study cast on alginate in a perforated metal tray, poured after ten minutes in air.
pub fn alginate_cast() -> Case {
    let mut case = silicone_crown();
    case.situation.purpose = Purpose::StudyCast;
    case.situation.water_temperature_k = Fact::Known(293.15);
    case.situation.span_m = Fact::Known(45e-3);
    case.route.material = Material {
        class: ImpressionClass::Alginate,
        product: Some(ProductId("demo-alginate-normal".into())),
    };
    case.route.tray = Tray {
        kind: TrayKind::Stock,
        material: TrayMaterial::Metal,
        relief_m: Fact::Known(5e-3),
        ceiling_m: Fact::Known(5e-3),
        wall_m: Fact::Known(1e-3),
        adhesive: Fact::Known(false),
        perforated: Fact::Known(true),
    };
    case.route.mix =
        Mix { method: MixMethod::Hand, powder_kg: Fact::Known(0.018), water_kg: Fact::Known(0.0396) };
    case.route.holding = vec![held(HoldingKind::OpenAir, 10.0)];
    case.route.stone = Stone {
        gypsum: GypsumType::Type3,
        product: Some(ProductId("demo-stone-3".into())),
        powder_kg: Fact::Known(0.1),
        water_kg: Fact::Known(0.03),
    };
    case.route.restoration = None;
    case.route.plan.mixing_s = Fact::Known(45.0);
    case
}
