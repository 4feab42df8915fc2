//! The space that is sampled: for each root cause of this case, its distribution and where that comes from.

mod margin;

use ledger::{Distribution, Parameters, Spread};
use terms::{
    Fact, Grade, HoldingKind, ImpressionClass, Invalid, Link, Purpose, Range, Route, Situation, Technique,
    TrayKind, TrayMaterial, ranges,
};

use crate::error::ChainError;
use crate::roots::{COUNT, Home, ROOTS, Root, RootRow};
use crate::scopes::Scopes;
use crate::sobol::Sobol;

/// What is known of a root in this case.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Standing {
    /// The case states it; what is sampled is the error of reading it.
    Stated,
    /// The case could state it and does not.
    Unknown,
    /// A value of the ledger that no case states.
    Ledger,
    /// Plays no part in this case.
    Idle,
}

/// One root cause of this case.
#[derive(Clone, Debug)]
pub struct Entry {
    /// Its row.
    pub row: &'static RootRow,
    /// What is sampled, SI.
    pub distribution: Distribution,
    /// Ledger key of the distribution, or of the reading error of a stated fact.
    pub key: String,
    /// Grade; a stated fact is measured here.
    pub grade: Grade,
    /// What is known of it.
    pub standing: Standing,
}

impl Entry {
    /// Cut at its lower end; where that leaves nothing, at the end itself.
    fn at_least(self, least: Option<f64>) -> Entry {
        let Some(least) = least else { return self };
        let distribution = match self.distribution {
            Distribution::Normal { mean, sd, low, high } if least < high => {
                Distribution::Normal { mean, sd, low: low.max(least), high }
            }
            Distribution::Normal { .. } => Distribution::Exact(least),
            other => other,
        };
        Entry { distribution, ..self }
    }

    /// Between two normal rows, `share` of the way to the second. It goes by the key of the nearer and the weaker of both grades.
    fn mixed(self, far: Entry, share: f64) -> Entry {
        let distribution = match (&self.distribution, &far.distribution) {
            (
                &Distribution::Normal { mean, sd, low, high },
                &Distribution::Normal { mean: far_mean, sd: far_sd, low: far_low, high: far_high },
            ) => Distribution::Normal {
                mean: mean + share * (far_mean - mean),
                sd: sd + share * (far_sd - sd),
                low: low.min(far_low),
                high: high.max(far_high),
            },
            (near, far) => {
                if share < 0.5 {
                    *near
                } else {
                    *far
                }
            }
        };
        let grade = match share {
            share if share <= 0.0 => self.grade,
            share if share >= 1.0 => far.grade,
            _ => self.grade.max(far.grade),
        };
        let nearer = if share < 0.5 { self } else { far };
        Entry { distribution, grade, ..nearer }
    }
}

/// Every root cause of this case, in the order of its dimension.
#[derive(Clone, Debug)]
pub struct Space {
    entries: Vec<Entry>,
}

/// The place of a sample in the unit cube, one coordinate a root.
#[derive(Clone, Debug)]
pub struct Coordinates([f64; COUNT]);

impl Coordinates {
    /// The coordinate of one dimension.
    pub fn get(&self, dimension: usize) -> f64 {
        self.0[dimension]
    }
}

/// One sample of every root, SI.
#[derive(Clone, Debug)]
pub struct Draw([f64; COUNT]);

impl std::ops::Index<Root> for Draw {
    type Output = f64;

    fn index(&self, root: Root) -> &f64 {
        &self.0[root as usize]
    }
}

impl Space {
    /// Finds the distribution of every root.
    ///
    /// # Errors
    /// When a value is missing from the ledger, or a product is not what the route says.
    pub fn of(
        situation: &Situation,
        route: &Route,
        scopes: &Scopes,
        parameters: &Parameters,
    ) -> Result<Space, ChainError> {
        let case = Case { situation, route, parameters, scopes };
        let entries = ROOTS.iter().map(|row| case.entry(row)).collect::<Result<Vec<Entry>, ChainError>>()?;
        Ok(Space { entries })
    }

    /// The entry of a root.
    pub fn entry(&self, root: Root) -> &Entry {
        &self.entries[root as usize]
    }

    /// Every entry.
    pub fn entries(&self) -> &[Entry] {
        &self.entries
    }

    /// The place of one sample in the unit cube. Coordinates for which `swapped` holds come from the randomisation `other`.
    pub fn coordinates(
        &self,
        sobol: &Sobol,
        randomisation: u32,
        index: u32,
        other: u32,
        swapped: impl Fn(&Entry) -> bool,
    ) -> Coordinates {
        Coordinates(std::array::from_fn(|dimension| {
            let entry = &self.entries[dimension];
            if entry.distribution.is_exact() {
                return 0.5;
            }
            sobol.point(if swapped(entry) { other } else { randomisation }, index, dimension)
        }))
    }

    /// Dimensions whose distribution is another than in `other`.
    pub fn unlike(&self, other: &Space) -> Vec<usize> {
        let pairs = self.entries.iter().zip(&other.entries).enumerate();
        pairs.filter(|(_, (a, b))| a.distribution != b.distribution).map(|(dimension, _)| dimension).collect()
    }

    /// A sample of another space with these dimensions as they are here, all others as they were.
    pub fn redrawn(
        &self,
        sobol: &Sobol,
        (randomisation, index): (u32, u32),
        dimensions: &[usize],
        (at, draw): (&Coordinates, &Draw),
    ) -> (Coordinates, Draw) {
        let (mut at, mut draw) = (at.clone(), draw.clone());
        for &dimension in dimensions {
            let distribution = &self.entries[dimension].distribution;
            at.0[dimension] =
                if distribution.is_exact() { 0.5 } else { sobol.point(randomisation, index, dimension) };
            draw.0[dimension] = distribution.quantile(at.0[dimension]);
        }
        (at, draw)
    }

    /// The values at one place.
    pub fn draw(&self, at: &Coordinates) -> Draw {
        Draw(std::array::from_fn(|dimension| self.entries[dimension].distribution.quantile(at.0[dimension])))
    }
}

struct Case<'a> {
    situation: &'a Situation,
    route: &'a Route,
    parameters: &'a Parameters,
    scopes: &'a Scopes,
}

impl Case<'_> {
    fn entry(&self, row: &'static RootRow) -> Result<Entry, ChainError> {
        // Without a die there is no margin to capture.
        if row.link == Link::Access && !self.situation.purpose.has_die() {
            return Ok(idle(row));
        }
        match row.home {
            Home::Material => self.ledger(row, &self.scopes.material(), row.name),
            Home::Gel if self.is_paste() => Ok(idle(row)),
            Home::Rubber if !self.is_paste() => Ok(idle(row)),
            Home::Gel | Home::Rubber => self.ledger(row, &self.scopes.material(), row.name),
            Home::Surface => self.ledger(row, &self.scopes.surface(), row.name),
            Home::Wash => match self.scopes.wash() {
                Some(scopes) => self.ledger(row, &scopes, row.name),
                None => Ok(idle(row)),
            },
            Home::Agar if self.route.material.class != ImpressionClass::Agar => Ok(idle(row)),
            Home::Agar => self.ledger(row, &["agar"], row.name),
            Home::Gypsum => self.ledger(row, &self.scopes.gypsum(), row.name),
            Home::Tray => self.ledger(row, &[self.scopes.tray()], row.name),
            Home::Scope(scope) => self.ledger(row, &[scope], row.name),
            Home::Fabrication => match self.scopes.fabrication() {
                Some(scope) => self.ledger(row, &[scope], row.name),
                None => Ok(idle(row)),
            },
            Home::Fact => self.fact(row),
        }
    }

    fn fact(&self, row: &'static RootRow) -> Result<Entry, ChainError> {
        let (s, r) = (self.situation, self.route);
        let usual = |name: &str| self.unknown(row, &["usual"], name);
        let class = |name: &str| self.unknown(row, &self.scopes.material(), name);
        match row.root {
            Root::RoomTemperature => {
                self.stated_or(row, s.room_temperature_k, "temperature", &ranges::ROOM_TEMPERATURE, usual)
            }
            Root::RoomHumidity => self.stated_or(row, s.room_humidity, "humidity", &ranges::HUMIDITY, usual),
            Root::Draught => self.stated_or(row, s.draught_m_s, "air_speed", &ranges::AIR_SPEED, usual),
            Root::WaterTemperature if !self.route.material.class.is_alginate() => Ok(idle(row)),
            Root::WaterTemperature => {
                self.stated_or(row, s.water_temperature_k, "temperature", &ranges::WATER_TEMPERATURE, usual)
            }
            Root::ToothTemperature => {
                self.stated_or(row, s.tooth_temperature_k, "temperature", &ranges::TOOTH_TEMPERATURE, usual)
            }
            // Nothing warm lies behind the teeth of a model on a bench, and the room is outside its tray.
            Root::MouthTemperature | Root::MouthAir if is_on_a_bench(s) => Ok(idle(row)),
            // The body warms a tooth from within: it is not colder there than it is stated to be.
            Root::MouthTemperature => {
                let entry = self.ledger(row, &["mouth"], row.name)?;
                Ok(entry.at_least(s.tooth_temperature_k.known()))
            }
            Root::MouthAir => self.ledger(row, &["mouth"], row.name),
            Root::DieDiameter => {
                self.stated_or(row, s.die_diameter_m, "length", &ranges::DIE_DIAMETER, usual)
            }
            Root::DieHeight => self.stated_or(row, s.die_height_m, "length", &ranges::DIE_HEIGHT, usual),
            Root::Convergence => self.stated_or(row, s.convergence_rad, "angle", &ranges::CONVERGENCE, usual),
            Root::Span => {
                let name = if s.purpose == Purpose::StudyCast { "span_arch" } else { "span" };
                self.stated_or(row, s.span_m, "span", &ranges::SPAN, |_| usual(name))
            }
            Root::Relief => {
                let name = match r.tray.kind {
                    TrayKind::Stock => "relief_stock",
                    TrayKind::Custom => "relief_custom",
                    TrayKind::DualArch => "relief_dual",
                };
                self.stated_or(row, r.tray.relief_m, "relief", &ranges::RELIEF, |_| usual(name))
            }
            Root::Ceiling => self.stated_or(row, r.tray.ceiling_m, "relief", &ranges::RELIEF, usual),
            Root::TrayWall => self.stated_or(row, r.tray.wall_m, "relief", &ranges::TRAY_WALL, usual),
            Root::SpanDiscrepancy => {
                let [near, far] = SPANS_M;
                let usual_m = if s.purpose == Purpose::StudyCast { far } else { near };
                let span_m = s.span_m.known().unwrap_or(usual_m);
                let near_row = self.ledger(row, &["discrepancy"], "span")?;
                let far_row = self.ledger(row, &["discrepancy"], "span_arch")?;
                Ok(near_row.mixed(far_row, ((span_m - near) / (far - near)).clamp(0.0, 1.0)))
            }
            Root::Hold => self.hold(row),
            Root::MixingTime => self.planned_or(row, r.plan.mixing_s, class),
            Root::SeatTime => self.planned_or(row, r.plan.seat_after_s, class),
            Root::MixRatio if self.is_paste() => {
                self.ledger(row, &self.scopes.material(), "set.ratio_reference")
            }
            Root::MixRatio if r.material.class == ImpressionClass::Agar => {
                self.ledger(row, &self.scopes.material(), row.name)
            }
            Root::MixRatio => self.ratio_or(row, r.mix.powder_kg, r.mix.water_kg, class),
            Root::StoneRatio => self.ratio_or(row, r.stone.powder_kg, r.stone.water_kg, |name| {
                self.unknown(row, &self.scopes.gypsum(), name)
            }),
            Root::OffCentre if r.restoration.is_none() => Ok(idle(row)),
            Root::OffCentre => self.ledger(row, &["usual"], row.name),
            Root::ChainWax | Root::ChainAlloy | Root::ChainSetting | Root::ChainThermal => self.casting(row),
            Root::Spacer | Root::Film => {
                let Some(restoration) = &r.restoration else { return Ok(idle(row)) };
                let made = &restoration.fabrication;
                if let (Root::Spacer, None, Some(coats)) =
                    (row.root, made.spacer_m.known(), made.spacer_coats.known())
                {
                    return self.coats(row, coats);
                }
                let (fact, range) = if row.root == Root::Spacer {
                    (restoration.fabrication.spacer_m, &ranges::SPACER)
                } else {
                    (restoration.film_m, &ranges::FILM)
                };
                self.stated_or(row, fact, "thin", range, usual)
            }
            Root::SprayFilm => self.where_held(row, HoldingKind::SprayedSealed),
            Root::ClothFilm => self.where_held(row, HoldingKind::WrappedWet),
            Root::LiquidStrength => self.where_held(row, HoldingKind::Immersed),
            Root::WashThickness
            | Root::Recoil
            | Root::RecoilExponent
            | Root::SyringeTemperature
            | Root::SyringeDelay => self.second_material(row),
            Root::DualArchDiameter | Root::DualArchHeight => self.dual_arch(row),
            _ if row.link == Link::Access => self.access(row),
            Root::TrayModulus => {
                let name = format!(
                    "tray_modulus_{}",
                    margin::slug(r.tray.material.word()).trim_end_matches("_resin")
                );
                self.ledger(row, &["removal"], &name)
            }
            _ if matches!(row.link, Link::Removal | Link::Stone) => self.removal(row),
            Root::WashShrinkage | Root::TrayShrinkage => self.shrinkage(row),
            _ if r.material.class != ImpressionClass::Agar => Ok(idle(row)),
            Root::TubeDiameter => {
                self.stated_or(row, r.baths.tube_diameter_m, "length", &ranges::TUBE, usual)
            }
            Root::BoilTemperature => self.bath(row, r.baths.boil_temperature_k, &ranges::BOIL_TEMPERATURE),
            Root::StoreTemperature => self.bath(row, r.baths.store_temperature_k, &ranges::BATH_TEMPERATURE),
            Root::TemperTemperature => {
                self.bath(row, r.baths.temper_temperature_k, &ranges::BATH_TEMPERATURE)
            }
            Root::CoolantTemperature => {
                self.bath(row, r.baths.coolant_temperature_k, &ranges::COOLANT_TEMPERATURE)
            }
            Root::BoilTime => self.planned_or(row, r.baths.boil_s, usual),
            Root::StoreTime => self.planned_or(row, r.baths.store_s, usual),
            Root::TemperTime => self.planned_or(row, r.baths.temper_s, usual),
            Root::BoilCycles => match r.baths.boiled_before {
                Fact::Known(false) => self.planned_or(row, Fact::Known(1.0), usual),
                Fact::Known(true) => self.ledger(row, &["usual"], "boil_cycles_again"),
                _ => usual(row.name),
            },
            Root::CoolantTransfer => self.ledger(row, &["mouth"], row.name),
            // Every root whose home is `Fact` is named above; another one would be an idle root, which a test refuses.
            _ => Ok(idle(row)),
        }
    }

    fn bath(&self, row: &'static RootRow, stated: Fact<f64>, range: &Range) -> Result<Entry, ChainError> {
        self.stated_or(row, stated, "temperature", range, |name| self.unknown(row, &["usual"], name))
    }

    /// A value of holding that counts only where the impression is kept in some way.
    fn where_held(&self, row: &'static RootRow, kind: HoldingKind) -> Result<Entry, ChainError> {
        if self.is_paste() || !self.route.holding.iter().any(|segment| segment.kind == kind) {
            return Ok(idle(row));
        }
        self.ledger(row, &["hold"], row.name)
    }

    fn second_material(&self, row: &'static RootRow) -> Result<Entry, ChainError> {
        let (r, technique) = (self.route, self.route.technique);
        let of_technique = |name: &str| self.ledger(row, &["technique"], name);
        let usual = |name: &str| self.unknown(row, &["usual"], name);
        match (row.root, technique) {
            (_, Technique::SingleViscosity) => Ok(idle(row)),
            (Root::WashThickness, _) => {
                let name = match technique {
                    Technique::PuttyWashTwoStep => "wash_two_step",
                    Technique::PuttyWashOneStep => "wash_one_step",
                    Technique::AgarOverAlginate => "wash_agar",
                    _ => "wash_dual",
                };
                self.stated_or(row, r.wash_thickness_m, "length", &ranges::WASH, |_| {
                    self.unknown(row, &["technique"], name)
                })
            }
            (Root::Recoil, Technique::PuttyWashOneStep) => of_technique("recoil_one_step"),
            (Root::Recoil, Technique::PuttyWashTwoStep) => of_technique("recoil_two_step"),
            (Root::RecoilExponent, Technique::PuttyWashTwoStep) => of_technique("recoil_exponent"),
            (Root::SyringeTemperature, Technique::AgarOverAlginate) => {
                self.bath(row, r.baths.syringe_temperature_k, &ranges::BATH_TEMPERATURE)
            }
            (Root::SyringeDelay, Technique::AgarOverAlginate) => usual(row.name),
            _ => Ok(idle(row)),
        }
    }

    fn dual_arch(&self, row: &'static RootRow) -> Result<Entry, ChainError> {
        let tray = &self.route.tray;
        if tray.kind != TrayKind::DualArch {
            return Ok(idle(row));
        }
        let name = match (row.root, tray.material) {
            (Root::DualArchHeight, _) => "dual_arch_height",
            (_, TrayMaterial::Metal) => "dual_arch_diameter_metal",
            _ => "dual_arch_diameter_plastic",
        };
        self.ledger(row, &["technique"], name)
    }

    fn is_paste(&self) -> bool {
        !self.route.material.class.is_hydrocolloid()
    }

    fn ledger(&self, row: &'static RootRow, scopes: &[&str], name: &str) -> Result<Entry, ChainError> {
        let (value, distribution) = self.parameters.find(scopes, name)?;
        Ok(Entry {
            row,
            distribution,
            key: value.key.clone(),
            grade: value.grade,
            standing: Standing::Ledger,
        })
    }

    fn unknown(&self, row: &'static RootRow, scopes: &[&str], name: &str) -> Result<Entry, ChainError> {
        self.ledger(row, scopes, name).map(|entry| Entry { standing: Standing::Unknown, ..entry })
    }

    /// A stated value with the error of reading it, or what `otherwise` says.
    fn stated_or(
        &self,
        row: &'static RootRow,
        fact: Fact<f64>,
        reading: &str,
        range: &Range,
        otherwise: impl Fn(&str) -> Result<Entry, ChainError>,
    ) -> Result<Entry, ChainError> {
        let stated = match fact {
            Fact::Known(stated) => stated,
            // Only a span may be absent; every model needs the rest, so what is usual stands in for it.
            Fact::NotApplicable if row.root == Root::Span => return Ok(idle(row)),
            Fact::Unknown | Fact::NotApplicable => return otherwise(row.name),
        };
        let (value, distribution) = self.parameters.find(&["reading"], reading)?;
        let distribution = match (value.spread, distribution) {
            (Spread::LogNormal { factor, .. }, _) if stated > 0.0 => {
                Distribution::LogNormal { median: stated, factor, low: range.min, high: range.max }
            }
            (_, Distribution::Normal { sd, .. }) => {
                Distribution::Normal { mean: stated, sd, low: range.min, high: range.max }
            }
            _ => Distribution::Exact(stated),
        };
        let key = value.key.clone();
        Ok(Entry { row, distribution, key, grade: Grade::MeasuredHere, standing: Standing::Stated })
    }

    /// A planned time is a plan, not a reading: no spread.
    fn planned_or(
        &self,
        row: &'static RootRow,
        fact: Fact<f64>,
        otherwise: impl Fn(&str) -> Result<Entry, ChainError>,
    ) -> Result<Entry, ChainError> {
        match fact {
            Fact::Known(planned) => Ok(Entry {
                row,
                distribution: Distribution::Exact(planned),
                key: "case".to_owned(),
                grade: Grade::MeasuredHere,
                standing: Standing::Stated,
            }),
            Fact::Unknown | Fact::NotApplicable => otherwise(row.name),
        }
    }

    fn ratio_or(
        &self,
        row: &'static RootRow,
        powder_kg: Fact<f64>,
        water_kg: Fact<f64>,
        otherwise: impl Fn(&str) -> Result<Entry, ChainError>,
    ) -> Result<Entry, ChainError> {
        let (Some(powder), Some(water)) = (powder_kg.known(), water_kg.known()) else {
            return otherwise(row.name);
        };
        let ratio = water / powder;
        let field = if row.root == Root::StoneRatio { "route.stone" } else { "route.mix" };
        let (low, high) = if row.root == Root::StoneRatio { (0.05, 1.5) } else { (0.5, 8.0) };
        if !(low..=high).contains(&ratio) {
            return Err(ChainError::Invalid(Invalid {
                field: format!("{field}.water"),
                given: format!("{ratio:.2} g of water per g of powder"),
                allowed: format!("{low} to {high} g per g"),
            }));
        }
        let (value, reading) = self.parameters.find(&["reading"], "ratio")?;
        let distribution = match reading {
            Distribution::Normal { sd, .. } => {
                Distribution::Normal { mean: ratio, sd: sd * ratio, low: 0.5 * ratio, high: 2.0 * ratio }
            }
            _ => Distribution::Exact(ratio),
        };
        let key = value.key.clone();
        Ok(Entry { row, distribution, key, grade: Grade::MeasuredHere, standing: Standing::Stated })
    }

    /// How well the layer is held follows from adhesive and perforations; their effect is a ledger value.
    fn hold(&self, row: &'static RootRow) -> Result<Entry, ChainError> {
        let tray = &self.route.tray;
        let name = match (tray.adhesive.known(), tray.perforated.known()) {
            (Some(true), Some(true)) => "hold_both",
            (Some(true), _) => "hold_adhesive",
            (Some(false), Some(true)) => "hold_perforated",
            (Some(false), Some(false)) => "hold_none",
            (None, _) | (Some(false), None) => return self.unknown(row, &["tray"], "hold_unknown"),
        };
        self.ledger(row, &["tray"], name)
    }
}

/// No living tooth is stated colder than this for as long as an impression sets, K: what is lies on a bench.
const COLDEST_TOOTH_K: f64 = 301.15;

/// Whether the teeth are those of a model on a bench, at the temperature that is stated throughout.
pub fn is_on_a_bench(situation: &Situation) -> bool {
    situation.tooth_temperature_k.known().is_some_and(|tooth_k| tooth_k <= COLDEST_TOOTH_K)
}

/// Spans up to the first lie between neighbours and from the second on across the arch; between them the two models are mixed, m.
const SPANS_M: [f64; 2] = [20e-3, 50e-3];

fn idle(row: &'static RootRow) -> Entry {
    Entry {
        row,
        distribution: Distribution::Exact(0.0),
        key: String::new(),
        grade: Grade::MeasuredHere,
        standing: Standing::Idle,
    }
}
