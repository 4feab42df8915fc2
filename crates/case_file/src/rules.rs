//! When an absent fact is not applicable rather than unknown.

use terms::{Displacement, HoldingKind, ImpressionClass, Purpose};

/// When an absent fact is not applicable rather than unknown. There are no other defaults of this kind.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Rule {
    /// The span of a single crown.
    OneTooth,
    /// Powder, water and the temperature of the water for a class that is not mixed from powder.
    NotFromPowder,
    /// When the cords leave, where the displacement is known to take none out.
    NoCordOut,
    /// Draught and exposure of a segment that is not in open air.
    NotInAir,
    /// Humidity around an impression lying in a liquid.
    InLiquid,
    /// Disinfectant of a segment in which nothing is sprayed and nothing lies in a liquid.
    NotDisinfected,
}

/// What the rules look at; what is not known yet decides nothing.
#[derive(Clone, Copy, Debug, Default)]
pub struct Context {
    /// What the copy is for.
    pub purpose: Option<Purpose>,
    /// Class of the material in the tray.
    pub class: Option<ImpressionClass>,
    /// How the gum is displaced.
    pub displacement: Option<Displacement>,
    /// How the impression is kept, for a field of a holding segment.
    pub holding: Option<HoldingKind>,
}

impl Rule {
    /// Whether an absent fact is not applicable.
    pub fn applies(self, context: &Context) -> bool {
        match self {
            Rule::OneTooth => matches!(context.purpose, Some(Purpose::Crown)),
            Rule::NotFromPowder => context.class.is_some_and(|class| !class.is_alginate()),
            Rule::NoCordOut => context.displacement.is_some_and(|displacement| !displacement.has_cord_out()),
            Rule::NotInAir => context.holding.is_some_and(|kind| kind != HoldingKind::OpenAir),
            Rule::InLiquid => context.holding == Some(HoldingKind::Immersed),
            Rule::NotDisinfected => context.holding.is_some_and(|kind| !kind.may_disinfect()),
        }
    }

    /// The rule in words.
    pub fn about(self) -> &'static str {
        match self {
            Rule::OneTooth => "for a crown",
            Rule::NotFromPowder => "for a class other than the alginates",
            Rule::NoCordOut => "for a displacement without a cord",
            Rule::NotInAir => "for a segment that is not in open air",
            Rule::InLiquid => "for an immersed segment",
            Rule::NotDisinfected => "for a segment that is neither sprayed nor immersed",
        }
    }
}
