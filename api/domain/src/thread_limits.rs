//! Limits of size of the five metric threads that plugs are made with, in whole micrometres.
//!
//! Label: **published standard** for the system (ISO 965-1; class 6e is that of plugs, 6g and 6H the ordinary
//! ones), **recalled from memory, to be checked against a printed table** for the single values.
//!
//! The table is kept, not the formulas behind it: the standard rounds each deviation and tolerance to a
//! preferred number, and a plainer rounding moves limits by a micrometre or more. Where it comes from: basic
//! diameters from the ISO 68-1 profile, fundamental deviations e and g and grade 6 tolerances as rounded in
//! ISO 965-1. The rows of class 6g and 6H agree with a published table of 6g/6H limits, but for the largest
//! pitch diameter of the internal M14x1.25: 13.368 here (as M12x1.25 has it, by the same step and pitch),
//! 13.358 there. No second table of class 6e was found.

/// A diameter's two limits, both still good.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Limits {
    /// Smallest diameter, µm.
    pub min_um: i32,
    /// Largest diameter, µm.
    pub max_um: i32,
}

/// Limits of a plug's own thread.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ExternalLimits {
    /// Over the crests: what a caliper reads.
    pub major: Limits,
    /// Pitch diameter, as by thread wires.
    pub pitch: Limits,
    /// Core: largest with the basic flat root, smallest with the deepest rounded root.
    pub minor: Limits,
}

/// Limits of the thread in the head.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct InternalLimits {
    /// Pitch diameter.
    pub pitch: Limits,
    /// Between the crests: what a plain plug gauge tries.
    pub minor: Limits,
}

/// One metric size with its limits in the three classes that matter here.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ThreadLimits {
    /// ISO designation, `M14x1.25`.
    pub designation: &'static str,
    /// Basic major diameter, µm.
    pub major_um: i32,
    /// Pitch, µm.
    pub pitch_um: i32,
    /// External, class 6e: plugs.
    pub external_6e: ExternalLimits,
    /// External, class 6g: ordinary screws, for comparison.
    pub external_6g: ExternalLimits,
    /// Internal, class 6H: the head.
    pub internal_6h: InternalLimits,
}

const fn within(min_um: i32, max_um: i32) -> Limits {
    Limits { min_um, max_um }
}

/// The five sizes, smallest first.
pub const METRIC: [ThreadLimits; 5] = [
    ThreadLimits {
        designation: "M8x1",
        major_um: 8000,
        pitch_um: 1000,
        external_6e: ExternalLimits {
            major: within(7760, 7940),
            pitch: within(7178, 7290),
            minor: within(6562, 6857),
        },
        external_6g: ExternalLimits {
            major: within(7794, 7974),
            pitch: within(7212, 7324),
            minor: within(6596, 6891),
        },
        internal_6h: InternalLimits {
            pitch: within(7350, 7500),
            minor: within(6917, 7153),
        },
    },
    ThreadLimits {
        designation: "M10x1",
        major_um: 10_000,
        pitch_um: 1000,
        external_6e: ExternalLimits {
            major: within(9760, 9940),
            pitch: within(9178, 9290),
            minor: within(8562, 8857),
        },
        external_6g: ExternalLimits {
            major: within(9794, 9974),
            pitch: within(9212, 9324),
            minor: within(8596, 8891),
        },
        internal_6h: InternalLimits {
            pitch: within(9350, 9500),
            minor: within(8917, 9153),
        },
    },
    ThreadLimits {
        designation: "M12x1.25",
        major_um: 12_000,
        pitch_um: 1250,
        external_6e: ExternalLimits {
            major: within(11_725, 11_937),
            pitch: within(10_993, 11_125),
            minor: within(10_223, 10_584),
        },
        external_6g: ExternalLimits {
            major: within(11_760, 11_972),
            pitch: within(11_028, 11_160),
            minor: within(10_258, 10_619),
        },
        internal_6h: InternalLimits {
            pitch: within(11_188, 11_368),
            minor: within(10_647, 10_912),
        },
    },
    ThreadLimits {
        designation: "M14x1.25",
        major_um: 14_000,
        pitch_um: 1250,
        external_6e: ExternalLimits {
            major: within(13_725, 13_937),
            pitch: within(12_993, 13_125),
            minor: within(12_223, 12_584),
        },
        external_6g: ExternalLimits {
            major: within(13_760, 13_972),
            pitch: within(13_028, 13_160),
            minor: within(12_258, 12_619),
        },
        internal_6h: InternalLimits {
            pitch: within(13_188, 13_368),
            minor: within(12_647, 12_912),
        },
    },
    ThreadLimits {
        designation: "M18x1.5",
        major_um: 18_000,
        pitch_um: 1500,
        external_6e: ExternalLimits {
            major: within(17_697, 17_933),
            pitch: within(16_819, 16_959),
            minor: within(15_895, 16_309),
        },
        external_6g: ExternalLimits {
            major: within(17_732, 17_968),
            pitch: within(16_854, 16_994),
            minor: within(15_930, 16_344),
        },
        internal_6h: InternalLimits {
            pitch: within(17_026, 17_216),
            minor: within(16_376, 16_676),
        },
    },
];

/// The limits of a size by its ISO designation; `None` for an inch thread or one that no plug has.
pub fn thread_limits(designation: &str) -> Option<&'static ThreadLimits> {
    METRIC
        .iter()
        .find(|limits| limits.designation == designation)
}

/// One of the vintage inch threads, with what is remembered of its limits.
///
/// Label: **from memory** of the inch standards (unified threads ASME B1.1, class 2A; taper pipe threads
/// ASME B1.20.1), to be checked against a printed table. The deviations come out of the remembered formulas:
/// a tolerance of 0.060 times the pitch to the power of 2/3 in inches, a taper of 1 in 16 over the threads
/// with whole crests.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct InchThread {
    /// Designation, `7/8-18 UNS`.
    pub designation: &'static str,
    /// Basic major diameter, µm; of a taper thread that of the pipe.
    pub major_um: i32,
    /// Pitch, µm.
    pub pitch_um: i32,
    /// Over the crests; of a taper thread from its small end to its large one.
    pub major: Limits,
    /// Basic pitch diameter, µm; of a taper thread at its small end.
    pub pitch_diameter_um: i32,
}

/// The two inch threads.
pub const INCH: [InchThread; 2] = [
    InchThread {
        designation: "7/8-18 UNS",
        major_um: 22_225,
        pitch_um: 1411,
        // 0.8649 to 0.8736 in.
        major: within(21_968, 22_189),
        pitch_diameter_um: 21_308,
    },
    InchThread {
        designation: "1/2-14 NPT",
        major_um: 21_336,
        pitch_um: 1814,
        // 0.8156 in at the small end, 0.840 in, the pipe, at the large one.
        major: within(20_715, 21_336),
        pitch_diameter_um: 19_264,
    },
];
