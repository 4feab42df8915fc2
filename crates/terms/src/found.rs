//! Words for what is counted, and for what is found after pouring.

use crate::words::vocabulary;

vocabulary! {
    /// What is wrong with a die, seen under magnification.
    DieFault {
        /// A hole at the finish line.
        Bubble = "bubble at the margin",
        /// A piece of the finish line has broken off.
        Chip = "chipped margin",
        /// A soft, rough or powdery surface.
        Soft = "soft surface",
        /// A tooth of stone has broken.
        Broken = "broken tooth",
        /// The finish line cannot be followed all round: the impression did not have it.
        MarginNotReadable = "margin not readable",
        /// A bead of stone on the preparation: the impression had a void.
        Bead = "bead of stone",
    }
}

impl DieFault {
    /// Whether the stone alone is at fault, so that another die from the same impression may serve.
    pub fn is_of_stone(self) -> bool {
        !matches!(self, DieFault::MarginNotReadable | DieFault::Bead)
    }
}

vocabulary! {
    /// How a rigid index made in the mouth across the abutments goes onto the cast.
    IndexFit {
        /// Down all round, without rocking.
        Seats = "seats",
        /// Down, and rocks.
        Rocks = "rocks",
        /// Not down.
        DoesNotSeat = "does not seat",
    }
}

vocabulary! {
    /// What is felt or seen at try-in.
    TryInSign {
        /// The restoration does not go down, with contacts adjusted.
        NotSeated = "does not seat",
        /// The explorer falls into the margin.
        OpenMargin = "open margin",
        /// The explorer catches on a step.
        Overhang = "overhang",
        /// It turns or tips without cement.
        Loose = "loose",
        /// Joined retainers rock.
        Rocks = "rocks",
    }
}

vocabulary! {
    /// What is counted into the sulcus and out of it again.
    Counted {
        /// A cord that is taken out before the impression.
        Cord = "cord",
        /// The deep cord of a double-cord technique, which may stay in during the impression.
        DeepCord = "deep cord",
        /// A piece of cord or of impression material that has broken off.
        Fragment = "fragment",
    }
}
