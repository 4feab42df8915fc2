//! The cases that published measurements are compared with. What a study does not say is left unknown.

use terms::{
    Astringent, Baths, Fabrication, FabricationKind, Fact, GypsumType, HoldingKind, HoldingSegment,
    ImpressionClass, Material, Mix, MixMethod, Plan, ProductId, Purpose, Restoration, Route, Situation,
    Stone, Technique, Tray, TrayKind, TrayMaterial,
};

/// A situation and a route.
pub(crate) struct Case {
    pub(crate) situation: Situation,
    pub(crate) route: Route,
}

/// Addition silicone of the class (no product) in a custom acrylic tray with adhesive, an abutment of 8 by 5 mm, type 4 stone.
pub(crate) fn silicone(relief_mm: f64) -> Case {
    let situation = Situation {
        room_temperature_k: Fact::Known(296.15),
        room_humidity: Fact::Known(0.5),
        water_temperature_k: Fact::NotApplicable,
        die_diameter_m: Fact::Known(8e-3),
        die_height_m: Fact::Known(6e-3),
        span_m: Fact::NotApplicable,
        latex: Fact::Known(false),
        bleeding: Fact::Known(false),
        fresh_resin: Fact::Known(false),
        cement_residue: Fact::Known(false),
        astringent: Fact::Known(Astringent::None),
        ..Situation::unknown(Purpose::Crown)
    };
    let route = Route {
        displacement: Fact::Unknown,
        cords_leave: Fact::Unknown,
        technique: Technique::SingleViscosity,
        material: Material { class: ImpressionClass::AdditionSilicone, product: None },
        wash: None,
        wash_thickness_m: Fact::NotApplicable,
        baths: Baths::UNKNOWN,
        tray: Tray {
            kind: TrayKind::Custom,
            material: TrayMaterial::Acrylic,
            relief_m: Fact::Known(1e-3 * relief_mm),
            ceiling_m: Fact::Known(1e-3 * relief_mm),
            wall_m: Fact::Unknown,
            adhesive: Fact::Known(true),
            perforated: Fact::Known(false),
        },
        mix: Mix {
            method: MixMethod::Automix,
            powder_kg: Fact::NotApplicable,
            water_kg: Fact::NotApplicable,
        },
        holding: vec![held(HoldingKind::OpenAir, 60.0)],
        stone: stone(GypsumType::Type4, 0.23),
        lots: terms::Lots::default(),
        restoration: Some(Restoration {
            fabrication: Fabrication {
                kind: FabricationKind::Milled,
                spacer_m: Fact::Unknown,
                spacer_coats: Fact::Unknown,
                alloy: Fact::NotApplicable,
            },
            film_m: Fact::Unknown,
        }),
        plan: Plan {
            mixing_s: Fact::Unknown,
            seat_after_s: Fact::Unknown,
            paste_after_s: Fact::Unknown,
            per_tooth_s: Fact::Unknown,
            tray_after_s: Fact::Unknown,
            withdrawal: Fact::Unknown,
            remove_after_s: Fact::Unknown,
            separate_after_s: Fact::Unknown,
            second_pour_after_s: Fact::Unknown,
        },
    };
    Case { situation, route }
}

/// Alginate of a demo product, or of the class, in a perforated metal stock tray, water at 20 °C, a study cast.
pub(crate) fn alginate(product: Option<&str>) -> Case {
    let mut case = silicone(5.0);
    case.situation.purpose = Purpose::StudyCast;
    case.situation.water_temperature_k = Fact::Known(293.15);
    case.situation.span_m = Fact::Known(45e-3);
    case.route.material =
        Material { class: ImpressionClass::Alginate, product: product.map(|id| ProductId(id.to_owned())) };
    case.route.tray.kind = TrayKind::Stock;
    case.route.tray.material = TrayMaterial::Metal;
    case.route.tray.adhesive = Fact::Known(false);
    case.route.tray.perforated = Fact::Known(true);
    case.route.mix =
        Mix { method: MixMethod::Hand, powder_kg: Fact::Known(0.02), water_kg: Fact::Known(0.0434) };
    case.route.holding = vec![held(HoldingKind::OpenAir, 10.0)];
    case.route.stone = stone(GypsumType::Type3, 0.30);
    case.route.restoration = None;
    case
}

/// The crown of [`silicone`] on another class (no product), 3 mm of relief, held and poured as a segment says.
pub(crate) fn on(class: ImpressionClass, holding: HoldingSegment) -> Case {
    let mut case = silicone(3.0);
    case.route.material = Material { class, product: None };
    case.route.holding = vec![holding];
    if class.is_alginate() {
        case.situation.water_temperature_k = Fact::Known(293.15);
        case.route.mix =
            Mix { method: MixMethod::Hand, powder_kg: Fact::Known(0.02), water_kg: Fact::Known(0.0434) };
    }
    if class == ImpressionClass::Agar {
        case.route.tray.material = TrayMaterial::Metal;
        case.route.tray.perforated = Fact::Known(true);
    }
    case
}

/// A holding segment of which only kind and duration are known.
pub(crate) fn held(kind: HoldingKind, minutes: f64) -> HoldingSegment {
    HoldingSegment::of(kind, 60.0 * minutes)
}

fn stone(gypsum: GypsumType, ratio: f64) -> Stone {
    Stone { gypsum, product: None, powder_kg: Fact::Known(0.1), water_kg: Fact::Known(0.1 * ratio) }
}
