//! The words of the trade that a case, a route and a ledger row are written in.

use crate::words::vocabulary;

vocabulary! {
    /// What the copy is for. Only the first three are inside what the error forecast was checked for.
    Purpose {
        /// One full crown.
        Crown = "crown",
        /// Several abutments joined by one restoration.
        Bridge = "bridge",
        /// A cast to look at, plan on or oppose.
        StudyCast = "study cast",
        /// Recorded and timed only.
        Inlay = "inlay",
        /// Recorded and timed only.
        Post = "post",
        /// Recorded and timed only.
        Veneer = "veneer",
        /// Recorded and timed only.
        Implant = "implant",
        /// Recorded and timed only.
        Denture = "denture",
    }
}

vocabulary! {
    /// Class of impression material.
    ImpressionClass {
        /// Irreversible hydrocolloid, conventional.
        Alginate = "alginate",
        /// Irreversible hydrocolloid made to be stored for days.
        ExtendedAlginate = "extended-storage alginate",
        /// Reversible hydrocolloid.
        Agar = "agar",
        /// Mercaptan-terminated polysulfide.
        Polysulfide = "polysulfide",
        /// Silicone that cures by condensation.
        CondensationSilicone = "condensation silicone",
        /// Silicone that cures by addition (vinyl polysiloxane).
        AdditionSilicone = "addition silicone",
        /// Polyether.
        Polyether = "polyether",
        /// Vinyl polyether silicone.
        VinylPolyetherHybrid = "vinyl polyether hybrid",
    }
}

vocabulary! {
    /// Gypsum product by the types of ISO 6873.
    GypsumType {
        /// Impression plaster.
        Type1 = "type 1",
        /// Model plaster.
        Type2 = "type 2",
        /// Dental stone.
        Type3 = "type 3",
        /// Die stone, low expansion.
        Type4 = "type 4",
        /// Die stone, high expansion.
        Type5 = "type 5",
    }
}

vocabulary! {
    /// How the gum is held away from the margin.
    Displacement {
        /// Nothing is displaced.
        None = "none",
        /// One cord, removed before syringing.
        SingleCord = "single cord",
        /// A deep cord left in place under one that is removed.
        DoubleCord = "double cord",
        /// A displacing paste, rinsed out.
        Paste = "paste",
        /// Electrosurgery.
        Electrosurgery = "electrosurgery",
        /// Rotary curettage.
        RotaryCurettage = "rotary curettage",
        /// Laser.
        Laser = "laser",
    }
}

vocabulary! {
    /// What stands in the sulcus when the material reaches it.
    SulcusState {
        /// Dried and dry.
        Dry = "dry",
        /// Moist walls, no standing fluid.
        Damp = "damp",
        /// Saliva or crevicular fluid stands in it.
        Fluid = "fluid",
        /// It bleeds.
        Blood = "blood",
    }
}

vocabulary! {
    /// When the cords leave, where several teeth are syringed.
    CordOrder {
        /// All before the first tooth is syringed.
        AllFirst = "all first",
        /// Each just before its own tooth.
        OneByOne = "one by one",
    }
}

vocabulary! {
    /// How the tray is taken out.
    Withdrawal {
        /// Sharply, along the path of the teeth.
        Snap = "snap",
        /// In one stroke of some seconds.
        Steady = "steady pull",
        /// Worked loose slowly.
        Slow = "slow pull",
        /// Rocked from side to side.
        Rocked = "rocked",
    }
}

vocabulary! {
    /// Where the deepest undercut lies.
    UndercutPlace {
        /// On a prepared tooth.
        Abutment = "abutment",
        /// On another tooth.
        OtherTooth = "other tooth",
    }
}

vocabulary! {
    /// Mobility of the loosest tooth in the impression.
    Mobility {
        /// As a sound tooth.
        Sound = "sound",
        /// Grade 1.
        Grade1 = "grade 1",
        /// Grade 2.
        Grade2 = "grade 2",
        /// Grade 3: it can be pressed into its socket.
        Grade3 = "grade 3",
    }
}

vocabulary! {
    /// How the materials are brought to the teeth.
    Technique {
        /// One viscosity in tray and syringe.
        SingleViscosity = "single viscosity",
        /// Light body from the syringe, heavier body in the tray, set together.
        DualViscosity = "dual viscosity",
        /// Putty and wash set together.
        PuttyWashOneStep = "putty and wash, one step",
        /// Wash against a putty that has already set.
        PuttyWashTwoStep = "putty and wash, two steps",
        /// Syringe agar gelled by the alginate of the tray.
        AgarOverAlginate = "agar over alginate",
    }
}

vocabulary! {
    /// Kind of tray.
    TrayKind {
        /// Bought ready-made.
        Stock = "stock",
        /// Made for this patient.
        Custom = "custom",
        /// Records both arches at once.
        DualArch = "dual-arch",
    }
}

vocabulary! {
    /// What the tray is made of; it sets contraction and stiffness.
    TrayMaterial {
        /// Stainless or plated metal.
        Metal = "metal",
        /// Chemically cured acrylic resin.
        Acrylic = "acrylic",
        /// Light-cured resin sheet.
        LightCured = "light-cured resin",
        /// Injection-moulded polymer.
        Plastic = "plastic",
    }
}

vocabulary! {
    /// How the impression material is mixed.
    MixMethod {
        /// Spatula and bowl or pad.
        Hand = "hand",
        /// A mixing machine with its own bowl.
        Machine = "machine",
        /// Two pastes through a mixing tip.
        Automix = "automix",
    }
}

vocabulary! {
    /// How an impression is kept between removal and pouring.
    HoldingKind {
        /// Lying in the room.
        OpenAir = "open air",
        /// Sealed with a damp cloth that does not touch it.
        SealedHumid = "sealed humid",
        /// Sealed without added water.
        SealedDry = "sealed dry",
        /// Sprayed with a disinfectant, then sealed.
        SprayedSealed = "sprayed and sealed",
        /// Wrapped in a wet cloth that touches it, sealed.
        WrappedWet = "wrapped wet",
        /// Lying in a liquid.
        Immersed = "immersed",
    }
}

vocabulary! {
    /// What an impression is disinfected with.
    Agent {
        /// Sodium hypochlorite.
        Hypochlorite = "sodium hypochlorite",
        /// Glutaraldehyde.
        Glutaraldehyde = "glutaraldehyde",
        /// An iodophor.
        Iodophor = "iodophor",
        /// A phenolic.
        Phenolic = "phenolic",
        /// Hydrogen peroxide.
        HydrogenPeroxide = "hydrogen peroxide",
        /// Quaternary ammonium with alcohol.
        QuaternaryAlcohol = "quaternary ammonium with alcohol",
    }
}

vocabulary! {
    /// How a disinfectant is brought onto an impression.
    DisinfectionMethod {
        /// Sprayed, then sealed.
        Spray = "spray",
        /// Lying in it.
        Immersion = "immersion",
    }
}

vocabulary! {
    /// What may touch an impression material and keep it from setting.
    Contaminant {
        /// Gloves, dam or bulbs of latex.
        Latex = "latex",
        /// The film of unset resin on a fresh core or provisional.
        ResinFilm = "resin film",
        /// What is left of a temporary cement.
        TemporaryCement = "temporary cement",
        /// Aluminium chloride.
        AluminiumChloride = "aluminium chloride",
        /// Ferric sulfate or subsulfate.
        FerricSulfate = "ferric sulfate",
        /// Aluminium sulfate or alum.
        AluminiumSulfate = "aluminium sulfate",
        /// Adrenaline.
        Adrenaline = "adrenaline",
        /// An imidazoline decongestant such as oxymetazoline or tetrahydrozoline.
        Imidazoline = "imidazoline decongestant",
        /// Zinc chloride.
        ZincChloride = "zinc chloride",
    }
}

vocabulary! {
    /// Medicament on cord or in paste.
    Astringent {
        /// No medicament.
        None = "none",
        /// Aluminium chloride.
        AluminiumChloride = "aluminium chloride",
        /// Ferric sulfate or subsulfate.
        FerricSulfate = "ferric sulfate",
        /// Aluminium sulfate or alum.
        AluminiumSulfate = "aluminium sulfate",
        /// Adrenaline.
        Adrenaline = "adrenaline",
        /// An imidazoline decongestant.
        Imidazoline = "imidazoline decongestant",
        /// Zinc chloride, which burns gum and bone.
        ZincChloride = "zinc chloride",
    }
}

vocabulary! {
    /// Which way the open face of the impression looks while it lies in air.
    Exposure {
        /// Teeth upward.
        FaceUp = "face up",
        /// Teeth downward.
        FaceDown = "face down",
    }
}

vocabulary! {
    /// How the restoration is made from the die.
    FabricationKind {
        /// Lost-wax casting.
        Cast = "cast",
        /// Pressed ceramic.
        Pressed = "pressed",
        /// Milled.
        Milled = "milled",
        /// Printed.
        Printed = "printed",
    }
}

vocabulary! {
    /// Alloy of a casting: investment and expansion are matched to it.
    Alloy {
        /// Gold and other precious alloys.
        Precious = "precious",
        /// Nickel or cobalt with chromium.
        Base = "base metal",
    }
}

vocabulary! {
    /// Device of the heart that a patient carries.
    CardiacDevice {
        /// None.
        None = "none",
        /// A pacemaker.
        Pacemaker = "pacemaker",
        /// A defibrillator.
        Defibrillator = "defibrillator",
        /// A pacemaker of both ventricles.
        Resynchroniser = "resynchroniser",
        /// A recorder under the skin.
        LoopRecorder = "loop recorder",
    }
}

vocabulary! {
    /// Insulin pump that a patient carries.
    InsulinPump {
        /// None.
        None = "none",
        /// Worn outside the body.
        Worn = "worn",
        /// Implanted.
        Implanted = "implanted",
    }
}

vocabulary! {
    /// Whether a disease is there, and under control.
    Control {
        /// No such disease.
        None = "none",
        /// Under control.
        Controlled = "controlled",
        /// Not under control.
        Uncontrolled = "uncontrolled",
    }
}

vocabulary! {
    /// What thins the blood.
    Anticoagulant {
        /// Nothing.
        None = "none",
        /// Warfarin or another antagonist of vitamin K.
        Warfarin = "warfarin",
        /// A direct oral anticoagulant.
        DirectOral = "direct oral",
        /// An inhibitor of platelets.
        Antiplatelet = "antiplatelet",
    }
}

vocabulary! {
    /// How readily a patient gags: five grades (Dickinson & Fiske).
    Gagging {
        /// Not at all.
        None = "none",
        /// Now and then, under control.
        Grade1 = "grade 1",
        /// In routine care, control comes back with reassurance.
        Grade2 = "grade 2",
        /// Routinely; options are limited.
        Grade3 = "grade 3",
        /// At every treatment, looking included.
        Grade4 = "grade 4",
        /// Without contact.
        Grade5 = "grade 5",
    }
}

vocabulary! {
    /// Thickness of the gum at the margin.
    GumType {
        /// Thin and scalloped.
        Thin = "thin",
        /// Thick and flat.
        Thick = "thick",
    }
}

vocabulary! {
    /// Health of the gum at the margin.
    GumHealth {
        /// It does not bleed on probing.
        Healthy = "healthy",
        /// It bleeds on probing.
        BleedsOnProbing = "bleeds on probing",
        /// It bleeds by itself.
        BleedsByItself = "bleeds by itself",
    }
}

vocabulary! {
    /// Electrode of electrosurgery.
    Electrode {
        /// The current returns through the body.
        Monopolar = "monopolar",
        /// The current stays between two tips.
        Bipolar = "bipolar",
    }
}

vocabulary! {
    /// Adrenaline in an anaesthetic.
    Dilution {
        /// None.
        None = "none",
        /// 20 µg/mL.
        OneIn50000 = "1:50000",
        /// 12.5 µg/mL.
        OneIn80000 = "1:80000",
        /// 10 µg/mL.
        OneIn100000 = "1:100000",
        /// 5 µg/mL.
        OneIn200000 = "1:200000",
        /// 2.5 µg/mL.
        OneIn400000 = "1:400000",
    }
}

vocabulary! {
    /// A step whose real moment can be stamped, in the order in which steps happen.
    Step {
        /// Powder meets water, or the pastes meet.
        MixStarted = "mix started",
        /// The tray is in its final position.
        Seated = "seated",
        /// The impression leaves the mouth.
        Removed = "removed",
        /// Stone is in the impression.
        Poured = "poured",
        /// The cast leaves the impression.
        Separated = "separated",
    }
}

vocabulary! {
    /// Something that must be done inside a window.
    Action {
        /// Spatulation or extrusion ends.
        Mix = "mix",
        /// The tray goes in place.
        Seat = "seat",
        /// The impression leaves the mouth.
        Remove = "remove",
        /// Stone goes into the impression.
        Pour = "pour",
        /// The cast leaves the impression.
        Separate = "separate",
    }
}

vocabulary! {
    /// Which end of a window a limit is.
    Bound {
        /// Not before.
        Minimum = "minimum",
        /// Not after.
        Maximum = "maximum",
    }
}

vocabulary! {
    /// The moment from which an instruction counts.
    ClockOrigin {
        /// From the start of mixing the impression material.
        StartOfMix = "start of mix",
        /// From the tray being in place.
        InTheMouth = "in the mouth",
        /// From removal.
        Removal = "removal",
        /// From the stone being poured.
        Pour = "pour",
    }
}

vocabulary! {
    /// What an inspection can find. Any of these at a margin outweighs every micrometre of the forecast.
    Fault {
        /// A void at the finish line.
        MarginVoid = "void at the margin",
        /// A drag or fold.
        Drag = "drag",
        /// A tear.
        Tear = "tear",
        /// Part of the margin was not reached.
        MarginMissing = "margin not recorded",
        /// Blood or fluid has displaced the material.
        BloodOrFluid = "blood or fluid at the margin",
        /// A tooth shows through to the tray.
        ShowThrough = "tooth touches the tray",
        /// The material has come away from the tray.
        LiftedFromTray = "lifted from the tray",
        /// The tray moved while the material set.
        Movement = "moved while setting",
    }
}

vocabulary! {
    /// A link of the chain with its own model.
    Link {
        /// Mixing and its temperature.
        Mix = "mix",
        /// Setting in the mouth: cure, heat and what is locked in.
        Set = "set",
        /// Opening and wetting the margin.
        Access = "access",
        /// Pulling the tray.
        Removal = "removal",
        /// What happens between removal and pouring.
        Holding = "holding",
        /// How the tray turns strain into size.
        Tray = "tray",
        /// The setting stone.
        Stone = "stone",
        /// Seating the restoration.
        Fit = "fit",
    }
}

vocabulary! {
    /// How good the origin of a value is, best first.
    Grade {
        /// Measured with the user's own stock.
        MeasuredHere = "measured here",
        /// The full table was read.
        Published = "published",
        /// Only the abstract or an excerpt was read.
        PublishedAbstract = "published, abstract only",
        /// The text of the standard was read.
        Standard = "standard",
        /// Recalled from a standard or a handbook, not read again.
        FromMemory = "standard or handbook, from memory",
        /// A judgement.
        Assumed = "assumed",
    }
}

impl Grade {
    /// The two grades on which no verdict may mainly rest without saying so.
    pub fn is_weak(self) -> bool {
        matches!(self, Grade::FromMemory | Grade::Assumed)
    }
}

impl Purpose {
    /// Whether the error forecast was checked for this purpose.
    pub fn in_checked_scope(self) -> bool {
        matches!(self, Purpose::Crown | Purpose::Bridge | Purpose::StudyCast)
    }

    /// Whether a restoration is made on a die of the cast.
    pub fn has_die(self) -> bool {
        matches!(self, Purpose::Crown | Purpose::Bridge)
    }
}

impl Displacement {
    /// Whether a cord is taken out before syringing.
    pub fn has_cord_out(self) -> bool {
        matches!(self, Displacement::SingleCord | Displacement::DoubleCord)
    }
}

impl HoldingKind {
    /// Whether a disinfectant may be at work.
    pub fn may_disinfect(self) -> bool {
        matches!(self, HoldingKind::SprayedSealed | HoldingKind::Immersed)
    }
}

impl Dilution {
    /// Mass of adrenaline per volume of anaesthetic, kg/m³: one gram in so many millilitres.
    pub fn kg_m3(self) -> f64 {
        match self {
            Dilution::None => 0.0,
            Dilution::OneIn50000 => 1e3 / 50_000.0,
            Dilution::OneIn80000 => 1e3 / 80_000.0,
            Dilution::OneIn100000 => 1e3 / 100_000.0,
            Dilution::OneIn200000 => 1e3 / 200_000.0,
            Dilution::OneIn400000 => 1e3 / 400_000.0,
        }
    }
}

impl ImpressionClass {
    /// Whether the material is mixed from powder and water.
    pub fn is_alginate(self) -> bool {
        matches!(self, ImpressionClass::Alginate | ImpressionClass::ExtendedAlginate)
    }

    /// Whether the material is a water gel, which dries, swells and exudes.
    pub fn is_hydrocolloid(self) -> bool {
        matches!(self, ImpressionClass::Alginate | ImpressionClass::ExtendedAlginate | ImpressionClass::Agar)
    }
}

impl Astringent {
    /// The contaminant that it leaves behind; none when there is no medicament.
    pub fn contaminant(self) -> Option<Contaminant> {
        match self {
            Astringent::None => None,
            Astringent::AluminiumChloride => Some(Contaminant::AluminiumChloride),
            Astringent::FerricSulfate => Some(Contaminant::FerricSulfate),
            Astringent::AluminiumSulfate => Some(Contaminant::AluminiumSulfate),
            Astringent::Adrenaline => Some(Contaminant::Adrenaline),
            Astringent::Imidazoline => Some(Contaminant::Imidazoline),
            Astringent::ZincChloride => Some(Contaminant::ZincChloride),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_word_reads_back() {
        for &class in ImpressionClass::ALL {
            assert_eq!(ImpressionClass::from_word(class.word()), Some(class));
        }
        for &grade in Grade::ALL {
            assert_eq!(Grade::from_word(grade.word()), Some(grade));
        }
        assert_eq!(Step::from_word("seat"), None);
    }

    #[test]
    fn grades_are_ordered_best_first() {
        assert!(Grade::MeasuredHere < Grade::Published);
        assert!(Grade::FromMemory < Grade::Assumed);
        assert!(Grade::Assumed.is_weak() && !Grade::Standard.is_weak());
    }
}
