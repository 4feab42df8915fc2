//! Roots of access and removal, and of what the parts of a route shrink.

use ledger::Distribution;
use terms::{
    Alloy, Displacement, FabricationKind, Fact, MixMethod, Mobility, Technique, TrayKind, UndercutPlace,
    Withdrawal, ranges,
};

use super::{Case, Entry, Standing, idle};
use crate::access;
use crate::error::ChainError;
use crate::roots::{Root, RootRow};

impl Case<'_> {
    /// A root of access that hangs on the case.
    pub(super) fn access(&self, row: &'static RootRow) -> Result<Entry, ChainError> {
        let (situation, route) = (self.situation, self.route);
        let teeth = access::teeth(situation);
        let of_access = |name: &str| self.ledger(row, &["access"], name);
        let unknown = |name: &str| self.unknown(row, &["access"], name);
        match row.root {
            Root::OpenWidth | Root::RestWidth => match route.displacement {
                Fact::Known(method) => of_access(&format!("{}_{}", row.name, slug(method.word()))),
                Fact::NotApplicable => {
                    of_access(&format!("{}_{}", row.name, slug(Displacement::None.word())))
                }
                Fact::Unknown => unknown(&format!("{}_unknown", row.name)),
            },
            Root::MarginDepth if teeth.iter().all(|tooth| tooth.margin_depth_m.known().is_some()) => {
                Ok(idle(row))
            }
            Root::MarginDepth => unknown(row.name),
            Root::DepthReading if teeth.iter().any(|tooth| tooth.margin_depth_m.known().is_some()) => {
                self.ledger(row, &["reading"], row.name)
            }
            Root::SulcusPlace => {
                let bleeds = situation.bleeding == Fact::Known(true);
                let open = teeth.iter().any(|tooth| tooth.sulcus.known().is_none());
                if open && !bleeds { unknown(row.name) } else { Ok(idle(row)) }
            }
            Root::BubbleFactor if route.mix.method == MixMethod::Hand => of_access(row.name),
            Root::SyringePressure | Root::SyringeTime if access::is_syringed(route) => of_access(row.name),
            Root::DualArchHazard if route.tray.kind == TrayKind::DualArch => of_access(row.name),
            Root::PasteAfter => self.planned_or(row, route.plan.paste_after_s, unknown),
            Root::PerTooth if teeth.len() > 1 => self.planned_or(row, route.plan.per_tooth_s, unknown),
            Root::TrayAfter => self.planned_or(row, route.plan.tray_after_s, unknown),
            Root::CordOrder => {
                let cords = route.displacement.known().is_none_or(Displacement::has_cord_out);
                if cords && teeth.len() > 1 && route.cords_leave.is_unknown() {
                    unknown(row.name)
                } else {
                    Ok(idle(row))
                }
            }
            Root::Viscosity => {
                let body = if route.technique.has_wash() { "light" } else { "medium" };
                self.ledger(row, &self.scopes.surface(), &format!("{}_{body}", row.name))
            }
            _ => Ok(idle(row)),
        }
    }

    /// A root of removal or separation that hangs on the case.
    pub(super) fn removal(&self, row: &'static RootRow) -> Result<Entry, ChainError> {
        let (situation, plan) = (self.situation, &self.route.plan);
        let of_removal = |name: &str| self.ledger(row, &["removal"], name);
        let unknown = |name: &str| self.unknown(row, &["removal"], name);
        match row.root {
            Root::Undercut => self.stated_or(row, situation.undercut_m, "length", &ranges::UNDERCUT, unknown),
            Root::UndercutShare => match situation.undercut_at.known() {
                Some(UndercutPlace::Abutment) => of_removal("at_die_abutment"),
                Some(UndercutPlace::OtherTooth) => of_removal("at_die_other"),
                None => unknown("at_die_unknown"),
            },
            Root::Ramp => match plan.withdrawal.known() {
                Some(Withdrawal::Snap) => of_removal("ramp_snap"),
                Some(Withdrawal::Steady | Withdrawal::Rocked) => of_removal("ramp_usual"),
                Some(Withdrawal::Slow) => of_removal("ramp_slow"),
                None => unknown("ramp_unknown"),
            },
            Root::Rocking | Root::RockingPasses => match plan.withdrawal.known() {
                Some(Withdrawal::Rocked) => of_removal(row.name),
                Some(_) => Ok(idle(row)),
                None => unknown(&format!("{}_unknown", row.name)),
            },
            Root::ToothStiffness => match situation.mobility.known() {
                Some(Mobility::Sound) => of_removal("tooth_stiffness"),
                Some(Mobility::Grade1) => of_removal("tooth_stiffness_mobile_1"),
                // No stiffness of a tooth of grade 3 is known: that of grade 2 is the stiffer, and the cautions speak first.
                Some(Mobility::Grade2 | Mobility::Grade3) => of_removal("tooth_stiffness_mobile_2"),
                None => unknown("tooth_stiffness_unknown"),
            },
            _ => Ok(idle(row)),
        }
    }

    /// So many coats of painted spacer, each as thick as such coats are.
    pub(super) fn coats(&self, row: &'static RootRow, coats: f64) -> Result<Entry, ChainError> {
        let entry = self.ledger(row, &["usual"], "spacer_coat")?;
        let (thin, thick) = (entry.distribution.quantile(0.0), entry.distribution.quantile(1.0));
        let distribution = match coats > 0.0 && thick > thin {
            true => Distribution::Uniform { low: coats * thin, high: coats * thick },
            false => Distribution::Exact(coats * thin),
        };
        Ok(Entry { distribution, standing: Standing::Stated, ..entry })
    }

    /// The chain of a casting; without a stated alloy that of a precious one, for investments are matched either way.
    pub(super) fn casting(&self, row: &'static RootRow) -> Result<Entry, ChainError> {
        let Some(fabrication) = self.route.restoration.map(|restoration| restoration.fabrication) else {
            return Ok(idle(row));
        };
        if fabrication.kind != FabricationKind::Cast {
            return Ok(idle(row));
        }
        let metal = if fabrication.alloy == Fact::Known(Alloy::Base) { "base" } else { "gold" };
        let name = match row.root {
            Root::ChainWax => row.name.to_owned(),
            _ => format!("{}_{metal}", row.name),
        };
        self.ledger(row, &["cast"], &name)
    }

    /// Filler makes the parts of one class shrink by different amounts.
    pub(super) fn shrinkage(&self, row: &'static RootRow) -> Result<Entry, ChainError> {
        let of_technique = |name: &str| self.ledger(row, &["technique"], name);
        let putty = matches!(self.route.technique, Technique::PuttyWashOneStep | Technique::PuttyWashTwoStep);
        match row.root {
            _ if !self.route.technique.has_wash() || !self.is_paste() => Ok(idle(row)),
            Root::WashShrinkage => of_technique("shrinkage_light"),
            _ if putty => of_technique("shrinkage_putty"),
            _ => of_technique("shrinkage_heavy"),
        }
    }
}

pub(super) fn slug(word: &str) -> String {
    word.replace([' ', '-'], "_")
}
