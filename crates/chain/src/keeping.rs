//! One sample from removal to the moment at which the stone turns rigid, for every pour time of interest.
//!
//! Holding: water, exudation and cooling through the segments of the route; the last segment goes on when pouring is
//! later. Stone: hydration, and its heat, which warms the impression back towards the temperature at which it gelled.

use kernel::cure::{self, CureLaw, CureState};
use kernel::gypsum::{self, Expansion, Hydration};
use kernel::holding::{self, Bath, Exposure as KernelExposure, Gel, HoldPoint, Segment};
use kernel::moist_air::LIQUID_WATER_KG_M3;
use kernel::mould_heat::{self, Mould, Pour, Solid};
use kernel::response::{self, PROFILES};
use kernel::stone_growth::{self, Backing, Skeleton, Stay};
use kernel::surface::Face;
use libm::{expm1, pow};
use terms::{Exposure, Fact, HoldingKind, HoldingSegment};

use crate::access::Summary;
use crate::constants::Constants;
use crate::error::ChainError;
use crate::mouth::{Mouth, Second};
use crate::pull::{self, Pulled};
use crate::roots::Root;
use crate::rubber::{self, Exchange};
use crate::size::Form;
use crate::space::Draw;

/// From the start of mixing the stone until it is in the impression, s. Its heat until then leaves with the bowl.
const STONE_POUR_S: f64 = 60.0;

/// What is set once for all samples: where the impression lies, and the pour times to report.
pub struct KeepingPlan<'a> {
    /// Segments of the route, never empty.
    pub segments: &'a [HoldingSegment],
    /// Times since removal, s, ascending.
    pub times_s: &'a [f64],
    /// Removal, s from seating.
    pub removed_after_seat_s: f64,
    /// Separation, s from pouring.
    pub separated_after_pour_s: f64,
    /// Whether the material is a water gel.
    pub is_gel: bool,
    /// The second material.
    pub second: Second,
}

/// The stone of one sample.
#[derive(Clone, Copy, Debug)]
pub struct StoneState {
    /// Whether there is enough water for every grain.
    pub water_suffices: bool,
    /// Linear growth when the die is used: what came out against the impression, and what grew after separation.
    pub growth: f64,
    /// From pouring until it may be separated, s.
    pub separable_s: f64,
}

/// What `holding` is made of: linear strains, positive when the free material shrinks; they sum to it.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Parts {
    /// Water of a gel that went to the air of a room or a bag.
    pub evaporation: f64,
    /// Fluid that a gel squeezed out of itself.
    pub exudation: f64,
    /// Water that a gel gave to a liquid or, negative, drew from it: salts and network together.
    pub liquid: f64,
    /// By-product of the cure of a rubber.
    pub byproduct: f64,
    /// Water of a rubber that came, negative, or went, from air and liquid alike.
    pub water: f64,
}

impl Parts {
    /// Water of a gel by the volume that each way took, and what a rubber exchanged. A volume becomes a length by the same factor for
    /// every part, `linear`, and the discrepancy of the model, `more`, scales them alike: the parts of a sample sum to its strain.
    fn of(point: &HoldPoint, exchange: &Exchange, thickness_m: f64, linear: f64, more: f64) -> Parts {
        let volume = |kg_m2: f64| kg_m2 / (LIQUID_WATER_KG_M3 * thickness_m);
        Parts {
            evaporation: volume(point.evaporated_kg_m2 - point.to_liquid_kg_m2) * linear * more,
            exudation: point.exuded_volume_strain * linear * more,
            liquid: volume(point.to_liquid_kg_m2) * linear * more,
            byproduct: exchange.byproduct * more,
            water: exchange.water * more,
        }
    }

    /// All together.
    pub fn sum(&self) -> f64 {
        self.evaporation + self.exudation + self.liquid + self.byproduct + self.water
    }
}

/// The impression of one sample as it is when stone poured at one of the times turns rigid. Strains are linear and
/// positive when the free material shrinks.
#[derive(Clone, Copy, Debug, Default)]
pub struct MouldState {
    /// Cure after the gel point, less what relaxed on the tooth.
    pub cure: f64,
    /// Mouth to mould, less what relaxed on the tooth, with the heat of the stone.
    pub thermal: f64,
    /// How much of the mouth-to-room shrinkage the heat of the stone undoes; part of `thermal`, negative.
    pub rewarming: f64,
    /// Water lost or taken up, exudation, salts and by-products.
    pub holding: f64,
    /// The parts of `holding`.
    pub parts: Parts,
    /// Change of the tray between gelation and rigid stone; negative when it contracts.
    pub tray: f64,
    /// Mass change of the impression at the pour, a share; negative when lost.
    pub mass_change: f64,
    /// How far the mix was on its way to the end of working when it was seated, 0 to 1.
    pub lateness: f64,
    /// Difference of `thermal` from the tooth side of the layer to its tray side, about its mean.
    pub thermal_slope: f64,
    /// `holding` through the layer, as the coefficients of the profiles of the layer.
    pub holding_profile: [f64; PROFILES],
    /// What the strain over undercuts has left on the diameter of the die, m.
    pub pulled_m: f64,
}

/// One sample after removal.
#[derive(Clone, Debug)]
pub struct Kept {
    /// Whether the tray was in place before the mix stopped flowing.
    pub seated_in_time: bool,
    /// Whether the slowest place had set at removal.
    pub set_at_removal: bool,
    /// Whether every place was a gel at removal; what still flows has no shape.
    pub gelled_at_removal: bool,
    /// Taking it out.
    pub pulled: Pulled,
    /// Chance that a slender stone tooth breaks on separation.
    pub break_chance: f64,
    /// The prepared margins.
    pub margins: Summary,
    /// Geometry of the layer.
    pub form: Form,
    /// Whether agar was a sol throughout when it left its baths, and still flowed when alginate met it; true for the rest.
    pub melted: bool,
    /// Mean temperature of the material at removal, K.
    pub removed_k: f64,
    /// The mould for each pour time.
    pub moulds: Vec<MouldState>,
    /// The stone.
    pub stone: StoneState,
}

/// Follows one sample from removal.
///
/// # Errors
/// When a kernel refuses a number; the validated ranges keep that from happening.
pub fn from_removal(
    draw: &Draw,
    constants: &Constants,
    plan: &KeepingPlan,
    mouth: &Mouth,
    margins: Summary,
) -> Result<Kept, ChainError> {
    let removal = mouth.run.at(plan.removed_after_seat_s);
    let mut points = vec![HoldPoint::default(); plan.times_s.len()];
    let segments = segments(draw, plan);
    let gel = gel(draw, constants, plan.is_gel);
    holding::hold(&gel, removal.mix_t_k, draw[Root::TransferFactor], &segments, plan.times_s, &mut points)?;
    let exchanges = if plan.is_gel {
        vec![Exchange::default(); points.len()]
    } else {
        rubber::exchange(draw, constants, plan, &segments)?
    };
    let (hydration, stone) = stone(draw, constants, plan.separated_after_pour_s)?;
    let heat = stone_heat(draw, constants, &hydration)?;
    let room_k = draw[Root::RoomTemperature];

    let gel_k = mouth.run.gel_t_mean_k(removal.mix_t_k);
    let tray_gel_k = mouth.run.tray_t_at_gel_k.unwrap_or(removal.tray_t_k);
    let kept_share = 1.0 - draw[Root::Relaxation];
    let expansion = draw[Root::Expansion];
    let thermal_slope = expansion
        * (kept_share * (mouth.run.gel_t_slope_k(removal.mix_t_k) - removal.mix_t_slope_k)
            + removal.mix_t_slope_k);
    let in_mouth = kept_share * expansion * (gel_k - removal.mix_t_k);
    let mut after = CureAfter::new(draw, mouth, removal.mean_alpha, kept_share);

    let pulled = pull::out_of_mouth(draw, constants, plan.is_gel, removal.min_alpha)?;
    let lateness = (mouth.seated_conversion / draw[Root::WorkingConversion]).clamp(0.0, 1.0);
    // The gel cannot lose more than its water, whatever the model of holding is off by.
    let dry =
        if plan.is_gel { holding::free_linear_shrinkage(gel.water_volume_share()) } else { f64::INFINITY };
    let mut moulds = Vec::with_capacity(points.len());
    for (point, exchange) in points.iter().zip(&exchanges) {
        let excess_k = point.temperature_k - room_k;
        let reached = |k: f64| point.temperature_k + draw[Root::Rewarming] * (k - point.temperature_k);
        let rubber_k = reached(heat.temperatures.rubber.at(excess_k));
        let tray_k = reached(heat.temperatures.tray.at(excess_k));
        let water = holding::free_linear_shrinkage(point.volume_strain);
        let shrunk = water + response::mean(&exchange.profile);
        let more = match 1.0 + draw[Root::HoldingDiscrepancy] {
            more if shrunk * more > dry => dry / shrunk,
            more => more,
        };
        // Small volumes are three lengths; large ones are brought to the same mean.
        let linear = if point.volume_strain.abs() > 1e-12 { water / point.volume_strain } else { 1.0 / 3.0 };
        let mut holding_profile = point.profile.map(|part| part * linear * more);
        for (sum, part) in holding_profile.iter_mut().zip(&exchange.profile) {
            *sum += part * more;
        }
        moulds.push(MouldState {
            cure: after.strain(
                point.t_s,
                point.temperature_k,
                heat.rigid_s + late_clock_s(&segments, point.t_s, draw[Root::ActivationEnergy]),
            ),
            thermal: in_mouth + expansion * (removal.mix_t_k - rubber_k),
            rewarming: expansion * (point.temperature_k - rubber_k),
            holding: shrunk * more,
            parts: Parts::of(point, exchange, draw[Root::Relief], linear, more),
            holding_profile,
            thermal_slope,
            pulled_m: pulled.at_die_m(point.t_s),
            tray: draw[Root::TrayExpansion] * (tray_k - tray_gel_k),
            mass_change: point.mass_change_fraction + exchange.mass_change,
            lateness,
        });
    }
    Ok(Kept {
        seated_in_time: mouth.seat_s <= mouth.working_end_s,
        set_at_removal: plan.removed_after_seat_s >= mouth.ready_after_seat_s,
        melted: mouth.sol.is_none_or(|sol| sol.least_share >= LEAST_SOL)
            && mouth.film.is_none_or(|film| film.flows_at_contact),
        gelled_at_removal: removal.min_alpha >= draw[Root::GelConversion],
        break_chance: pulled.break_chance(
            draw,
            constants,
            &hydration,
            plan.separated_after_pour_s + STONE_POUR_S,
        )?,
        pulled,
        margins,
        form: Form::of(draw, constants, plan.second),
        removed_k: removal.mix_t_k,
        moulds,
        stone,
    })
}

/// A tube with less sol than this at its axis leaves lumps.
const LEAST_SOL: f64 = 0.95;

/// Cure that goes on after removal, followed along ascending pour times.
struct CureAfter {
    law: CureLaw,
    alpha: f64,
    t_s: f64,
    t_k: f64,
    in_mouth: f64,
    removed_alpha: f64,
    early: f64,
    late: f64,
    late_s: f64,
}

impl CureAfter {
    fn new(draw: &Draw, mouth: &Mouth, removed_alpha: f64, kept_share: f64) -> Self {
        let shrinkage = draw[Root::CureShrinkage];
        let gel = draw[Root::GelConversion];
        let early = shrinkage * (1.0 - draw[Root::LateShare]) / (1.0 - gel);
        CureAfter {
            law: mouth.law,
            alpha: removed_alpha,
            t_s: 0.0,
            t_k: f64::NAN,
            in_mouth: kept_share * early * (removed_alpha - gel).max(0.0),
            removed_alpha: removed_alpha.max(gel),
            early,
            late: shrinkage * draw[Root::LateShare],
            late_s: draw[Root::LateTime],
        }
    }

    /// Strain when stone is poured at `pour_s`, the late cure having gone on for `late_clock_s` at its reference. Early steps are short, later ones a tenth of the
    /// time since removal: the rate falls as time goes on.
    fn strain(&mut self, pour_s: f64, t_k: f64, late_clock_s: f64) -> f64 {
        let from_k = if self.t_k.is_nan() { t_k } else { self.t_k };
        let (start_s, span_s) = (self.t_s, pour_s - self.t_s);
        let at = |s: f64| if span_s > 0.0 { from_k + (t_k - from_k) * (s - start_s) / span_s } else { t_k };
        let mut state = CureState { induction: 1.0, alpha: self.alpha };
        let mut now_s = start_s;
        while now_s < pour_s && state.alpha < 0.9999 {
            let step_s = (0.1 * now_s).max(10.0).min(pour_s - now_s);
            state = cure::advance(&self.law, state, at(now_s), at(now_s + step_s), step_s);
            now_s += step_s;
        }
        (self.alpha, self.t_s, self.t_k) = (state.alpha, pour_s, t_k);
        let late = -self.late * expm1(-late_clock_s / self.late_s);
        self.in_mouth + self.early * (self.alpha - self.removed_alpha).max(0.0) + late
    }
}

/// Temperature at which the time of the late cure is stated, K.
const LATE_REFERENCE_K: f64 = 296.15;

/// Time at 23 °C in which as much of the late cure happens as in `t_s` of holding: each segment at its own temperature, the last going
/// on.
fn late_clock_s(segments: &[Segment], t_s: f64, activation_j_mol: f64) -> f64 {
    let (mut clock_s, mut left_s) = (0.0, t_s);
    for (place, segment) in segments.iter().enumerate() {
        let is_last = place + 1 == segments.len();
        let here_s = if is_last { left_s } else { segment.duration_s.min(left_s) };
        clock_s += here_s * cure::arrhenius(activation_j_mol, LATE_REFERENCE_K, segment.air_t_k);
        left_s -= here_s;
    }
    clock_s + if segments.is_empty() { left_s } else { 0.0 }
}

fn gel(draw: &Draw, constants: &Constants, is_gel: bool) -> Gel {
    let ratio = draw[Root::MixRatio];
    let tray_j_m2k = constants.tray_density_kg_m3 * constants.tray_capacity_j_kgk * draw[Root::TrayWall];
    Gel {
        thickness_m: draw[Root::Relief],
        plate_length_m: constants.plate_length_m,
        rho_kg_m3: draw[Root::Density],
        c_j_kgk: draw[Root::Capacity],
        water_fraction: if is_gel { ratio / (1.0 + ratio) } else { 0.0 },
        // Without water in it a rubber only cools here, and its diffusivity plays no part.
        diffusivity_m2_s: if is_gel { draw[Root::Diffusivity] } else { 1e-10 },
        // Without water its activity plays no part; the kernel wants one below 1.
        water_activity: if is_gel { draw[Root::WaterActivity] } else { 0.99 },
        // Small linear strains add to three times as much volume.
        syneresis_volume_strain: if is_gel { 3.0 * draw[Root::Syneresis] } else { 0.0 },
        syneresis_tau_s: draw[Root::SyneresisTime],
        tray_j_m2k,
        tray_h_w_m2k: draw[Root::TraySideTransfer],
        bath: if is_gel { bath(draw) } else { Bath::DRY },
    }
}

/// In a liquid the fresh gel swells by the osmotic strain, and ends at the network strain once its own salts have left: the
/// network gives way with the salts, not before. A liquid with salts of its own does less of both.
fn bath(draw: &Draw) -> Bath {
    let (osmotic, network) = (draw[Root::OsmoticStrain], draw[Root::NetworkStrain]);
    Bath {
        salt_diffusivity_m2_s: draw[Root::SaltDiffusivity],
        swelling_diffusivity_m2_s: draw[Root::SwellingDiffusivity],
        // Small linear strains add to three times as much volume.
        osmotic_volume_strain: 3.0 * (osmotic - network),
        network_volume_strain: 3.0 * network * (1.0 - draw[Root::LiquidStrength]),
        salt_fraction: draw[Root::SaltMass],
    }
}

fn segments(draw: &Draw, plan: &KeepingPlan) -> Vec<Segment> {
    let segment = |segment: &HoldingSegment| {
        let sealed = match segment.kind {
            HoldingKind::OpenAir => None,
            // A gel fills its bag with vapour; rubber keeps the air of the room it was packed in.
            HoldingKind::SealedDry if plan.is_gel => Some(draw[Root::SealedDryHumidity]),
            HoldingKind::SealedDry => None,
            HoldingKind::SealedHumid
            | HoldingKind::SprayedSealed
            | HoldingKind::WrappedWet
            | HoldingKind::Immersed => Some(draw[Root::SealedHumidity]),
        };
        let wet = |strength: f64, supply_m: f64| KernelExposure::Wet {
            strength,
            supply_kg_m2: supply_m * LIQUID_WATER_KG_M3,
        };
        let plain = matches!(segment.agent, Fact::NotApplicable);
        let strength = if plain { 0.0 } else { draw[Root::LiquidStrength] };
        let face = match segment.exposure.known() {
            Some(Exposure::FaceUp) => Face::Up,
            Some(Exposure::FaceDown) => Face::Down,
            None => Face::Unknown,
        };
        Segment {
            duration_s: segment.duration_s,
            air_t_k: segment.temperature_k.known().unwrap_or(draw[Root::RoomTemperature]),
            relative_humidity: segment.humidity.known().or(sealed).unwrap_or(draw[Root::RoomHumidity]),
            exposure: match segment.kind {
                HoldingKind::SealedHumid | HoldingKind::SealedDry => KernelExposure::Sealed,
                HoldingKind::SprayedSealed if plan.is_gel => wet(0.0, draw[Root::SprayFilm]),
                HoldingKind::WrappedWet if plan.is_gel => wet(0.0, draw[Root::ClothFilm]),
                HoldingKind::SprayedSealed | HoldingKind::WrappedWet => KernelExposure::Sealed,
                HoldingKind::Immersed => wet(strength, f64::INFINITY),
                HoldingKind::OpenAir => KernelExposure::Open {
                    air_speed_m_s: segment.draught_m_s.known().unwrap_or(draw[Root::Draught]),
                    face,
                },
            },
        }
    };
    plan.segments.iter().map(segment).collect()
}

fn stone(
    draw: &Draw,
    constants: &Constants,
    separated_s: f64,
) -> Result<(Hydration, StoneState), ChainError> {
    let ratio = draw[Root::StoneRatio];
    let reachable = (ratio / gypsum::WATER_BOUND).min(1.0);
    // The handbook figures reach this far from the usual ratio; beyond it the forecast says that nothing was checked.
    let wetter = (ratio / constants.stone_reference_ratio).clamp(0.75, 1.4);
    let needle_set_s =
        (draw[Root::NeedleTime] * pow(wetter, draw[Root::StoneRatioExponent])).clamp(60.0, 14_000.0);
    let hydration = Hydration {
        needle_set_s,
        needle_share: draw[Root::NeedleConversion],
        induction_s: constants.stone_start_s.min(0.8 * needle_set_s),
        exponent: draw[Root::AvramiExponent],
        final_conversion: constants.final_conversion.min(reachable),
    };
    hydration.check()?;
    let at_2h = gypsum::expansion_at_ratio(
        draw[Root::StoneExpansion],
        constants.stone_reference_ratio,
        ratio,
        draw[Root::RatioSlope],
    );
    let expansion = Expansion {
        at_2h,
        plateau_ratio: draw[Root::PlateauRatio],
        rigid_share: draw[Root::RigidConversion],
        delayed_tau_s: constants.plateau_time_s,
    };
    let backing = Backing {
        modulus_pa: constants.stiffness_pa,
        poisson: draw[Root::Poisson],
        thickness_m: draw[Root::Relief],
        radius_m: 0.5 * draw[Root::DieDiameter],
        height_m: draw[Root::DieHeight],
        hold: draw[Root::Hold],
    };
    let skeleton = Skeleton { modulus_pa: draw[Root::StoneModulus], exponent: draw[Root::StiffnessExponent] };
    let stay = Stay {
        stiffness_pa: draw[Root::Restraint] * backing.stiffness_pa(),
        gain: 1.0 + draw[Root::HygroscopicGain],
        separated_s: separated_s + STONE_POUR_S,
    };
    let grown = stone_growth::grown(&expansion, &hydration, &skeleton, &stay, constants.die_age_s)?;
    Ok((
        hydration,
        StoneState {
            water_suffices: ratio >= gypsum::WATER_BOUND,
            growth: grown.inside + grown.after + draw[Root::StoneDiscrepancy],
            separable_s: hydration.time_to_share_s(draw[Root::SeparateConversion]).unwrap_or(f64::INFINITY)
                - STONE_POUR_S,
        },
    ))
}

struct StoneHeat {
    /// From pouring until the stone is rigid, s.
    rigid_s: f64,
    temperatures: mould_heat::Temperatures,
}

fn stone_heat(draw: &Draw, constants: &Constants, hydration: &Hydration) -> Result<StoneHeat, ChainError> {
    let mix = gypsum::Mix {
        water_powder: draw[Root::StoneRatio],
        powder_kg_m3: constants.powder_density_kg_m3,
        conversion: 0.5 * hydration.final_conversion,
    };
    let room_k = draw[Root::RoomTemperature];
    let mould = Mould {
        core_radius_m: 0.5 * draw[Root::DieDiameter],
        rubber_m: draw[Root::Relief],
        tray_m: draw[Root::TrayWall],
        stone: Solid {
            conductivity_w_mk: draw[Root::StoneConductivity],
            heat_capacity_j_m3k: mix.heat_capacity_j_m3k(),
        },
        rubber: Solid {
            conductivity_w_mk: draw[Root::Conductivity],
            heat_capacity_j_m3k: draw[Root::Density] * draw[Root::Capacity],
        },
        tray: Solid {
            conductivity_w_mk: constants.tray_conductivity_w_mk,
            heat_capacity_j_m3k: constants.tray_density_kg_m3 * constants.tray_capacity_j_kgk,
        },
        film_w_m2k: draw[Root::StoneTransfer],
    };
    let pour = Pour {
        pour_s: STONE_POUR_S,
        stone_k: room_k,
        room_k,
        heat_j_m3: mix.powder_per_volume_kg_m3() * draw[Root::StoneHeat],
    };
    mould_heat::check(&mould, &pour)?;
    let rigid_s = hydration.time_to_share_s(draw[Root::RigidConversion]).unwrap_or(hydration.needle_set_s);
    Ok(StoneHeat {
        rigid_s: (rigid_s - STONE_POUR_S).max(0.0),
        temperatures: mould_heat::solve(&mould, hydration, &pour, rigid_s),
    })
}
