//! The closed lists of a second opinion: complaints, urgency, and what can be found.

use crate::words::closed_list;

closed_list! {
    /// What a driver complains of.
    Symptom, "symptom" {
        /// Cuts out with the throttle open.
        MisfireUnderLoad = "misfire_under_load",
        /// Stumbles at idle.
        MisfireAtIdle = "misfire_at_idle",
        /// Plugs soot or oil up.
        Fouling = "fouling",
        /// Pinks, or worse.
        Detonation = "detonation",
        /// Crackles in the radio.
        RadioNoise = "radio_noise",
        /// Logger or wide-band controller loses its signal.
        LoggerDropout = "logger_dropout",
        /// Starts badly.
        HardStart = "hard_start",
        /// Lacks power.
        LowPower = "low_power",
    }
}

closed_list! {
    /// How urgent a finding is; the order of the answer.
    Severity, "severity" {
        /// Do not run the engine like this.
        Stop = "stop",
        /// Put it right before the engine works hard again.
        Fix = "fix",
        /// Harms nothing as it is, or nobody knows yet.
        Watch = "watch",
    }
}

closed_list! {
    /// What can be found. Other programs branch on it; the order is that of findings of one severity.
    FindingCode, "finding" {
        /// Another thread than the head's.
        WrongThread = "wrong_thread",
        /// Another seat than the head's.
        WrongSeat = "wrong_seat",
        /// Too short or too long for the head.
        WrongReach = "wrong_reach",
        /// Hotter than the window.
        TooHot = "too_hot",
        /// The tip stands before the window, where it can be hit.
        TipTooFarOut = "tip_too_far_out",
        /// A resistor is demanded, none is fitted.
        NoResistor = "no_resistor",
        /// A resistor, or the connection to it, is open.
        ResistorBroken = "resistor_broken",
        /// The tip stands behind the window.
        TipTooFarBack = "tip_too_far_back",
        /// Far beyond the target; only to be watched while the window holds it.
        FarTooCold = "far_too_cold",
        /// One or more were dropped.
        Dropped = "dropped",
        /// Leads have seen many changes and were not renewed.
        LeadsDue = "leads_due",
        /// Run beyond its life.
        WornOut = "worn_out",
        /// The gap is above the practice band or what the coil fires.
        GapTooLarge = "gap_too_large",
        /// The gap to set is outside the range that the plug may be bent to.
        GapNotSettable = "gap_not_settable",
        /// The hexagon does not enter the plug well.
        HexTooLarge = "hex_too_large",
        /// The connection does not suit.
        WrongTerminal = "wrong_terminal",
        /// Another metal than the tuner insists on.
        WrongMetal = "wrong_metal",
        /// Another value than a demand asks for that has no rule of its own.
        DemandNotMet = "demand_not_met",
        /// A little colder than the window.
        TooCold = "too_cold",
        /// The gap is far under the one to set.
        GapTooSmall = "gap_too_small",
        /// Past the share of its life that a boosted engine leaves.
        WearsEarly = "wears_early",
        /// Nobody has established one or more values that musts ask for; the attribute is the first.
        NotEstablished = "not_established",
    }
}

impl Symptom {
    /// Where to look when the plugs do not explain it. Common practice, no source.
    pub const fn look_next(self) -> &'static str {
        match self {
            Self::MisfireUnderLoad => {
                "coil voltage, the leads' resistance, and fuel pressure under load"
            }
            Self::MisfireAtIdle => {
                "air leaks behind the throttle, the idle mixture, and the compression of each cylinder"
            }
            Self::Fouling => "a rich mixture, oil past rings or valve guides, and many short trips",
            Self::Detonation => {
                "ignition timing, the fuel's octane, charge temperature and a lean mixture, and keep off full load until then"
            }
            Self::RadioNoise => "the leads' suppression, earth straps, and the radio's own supply",
            Self::LoggerDropout => {
                "the logger's earth and supply, and its cables lying beside ignition leads"
            }
            Self::HardStart => {
                "battery voltage at the coil while cranking, fuel pressure, and wet plugs"
            }
            Self::LowPower => {
                "the boost that is really reached, fuel pressure, timing, and compression"
            }
        }
    }

    /// The word as it is spoken: `misfire under load`.
    pub fn spoken(self) -> String {
        self.word().replace('_', " ")
    }
}
