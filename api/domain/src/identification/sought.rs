//! How a record stands to what was read of a plug, and how likely that makes it.
//!
//! A reading that is off by its half width, tolerance of the part and uncertainty of the instrument
//! together, is taken for two standard deviations of a normal distribution (own). What it costs a
//! record is the loss of log-likelihood against a reading right on the nominal value, in whole
//! thousandths of a natural logarithm, so that sums are exact and orders are certain.

use serde_json::Value;

use super::means::{Means, looks_like, seen_at};
use super::readings::{Measurement, Readings};
use super::resistor;
use super::thread::{Crests, Standing};
use crate::attribute::Attr;
use crate::decimal::Decimal;
use crate::plug::Shows;
use crate::policy::Policy;
use crate::words::{Terminal, closed_list};

closed_list! {
    /// How a record stands to a reading.
    Agreement, "agreement with a reading" {
        /// Within tolerance and uncertainty.
        Agrees = "agrees",
        /// Within twice that, or worn, or it says nothing: nobody has established the record's value, or
        /// the plug is broken.
        Doubtful = "doubtful",
        /// Beyond.
        Contradicts = "contradicts",
    }
}

/// The cost of a reading at the edge of agreement: half the square of two deviations. So much also
/// costs a value that nobody has established, which thus stands behind all that agree and before
/// all that are doubtful.
const EDGE: u32 = 2000;
/// The cost at twice the half width.
const TWICE: u32 = 4 * EDGE;
/// The cost of what can be taken for what was read, but is not that; and of worn crests.
const TAKEN_FOR: u32 = 9 * EDGE / 4;

/// How a record stands to one reading.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Judged {
    /// In a word.
    pub verdict: Agreement,
    /// Thousandths of a natural logarithm.
    pub cost: u32,
    /// Whether it says anything of the record: not where the record's value is unknown, nor where an
    /// open resistor or a damaged insulator was measured.
    pub known: bool,
}

/// One reading, ready to be put to records.
#[derive(Debug, Clone, PartialEq)]
pub struct Reading {
    /// How it was taken.
    pub measurement: Measurement,
    /// What was read, as the attribute is kept.
    pub read: i64,
    /// What else of a record tells where the attribute is unknown.
    pub otherwise: Option<Attr>,
}

/// All that was read of a plug.
#[derive(Debug, Clone, PartialEq)]
pub struct Sought {
    /// In the order of [`Measurement`].
    pub readings: Vec<Reading>,
    means: Means,
}

/// How a record stands to all readings so far.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Tally {
    /// Sum over the readings; less is likelier.
    pub cost: u32,
    speak_for: u8,
    contradict: u8,
    ruled_out: bool,
}

impl Tally {
    /// Takes one more verdict in.
    #[inline]
    pub fn add(&mut self, measurement: Measurement, judged: Judged) {
        self.cost += judged.cost;
        match judged.verdict {
            Agreement::Contradicts => {
                self.contradict += 1;
                self.ruled_out |= measurement.rules_out();
            }
            Agreement::Agrees | Agreement::Doubtful => self.speak_for += u8::from(judged.known),
        }
    }

    /// Whether the record can be the plug: thread, seat and reach do not contradict it, at most one
    /// other reading does, and more speak for it.
    #[inline]
    pub fn can_be(&self) -> bool {
        !self.ruled_out && self.contradict <= 1 && self.speak_for > self.contradict
    }
}

impl Sought {
    /// Readings, judged by the policy.
    pub fn of(readings: &Readings, policy: &Policy) -> Self {
        let taken = Measurement::ALL.iter().filter_map(|measurement| {
            Some(Reading {
                measurement: *measurement,
                read: readings.raw(*measurement)?,
                otherwise: (*measurement == Measurement::Resistance).then_some(Attr::Resistor),
            })
        });
        Self {
            readings: taken.collect(),
            means: Means::of(readings, policy),
        }
    }

    /// How good the instruments are.
    pub fn means(&self) -> &Means {
        &self.means
    }

    /// How a record stands to all of it; `None` where it cannot be the plug.
    pub fn tally(&self, plug: &impl Shows) -> Option<Tally> {
        let mut tally = Tally::default();
        for reading in &self.readings {
            tally.add(reading.measurement, self.judge(reading, plug));
        }
        tally.can_be().then_some(tally)
    }

    /// How a record stands to one reading.
    pub fn judge(&self, reading: &Reading, plug: &impl Shows) -> Judged {
        let otherwise = reading.otherwise.and_then(|attr| plug.shown(attr));
        self.judge_shown(reading, plug.shown(reading.measurement.attr()), otherwise)
    }

    /// The same from what the record shows of the attribute, and of the other one that tells.
    #[inline]
    pub fn judge_shown(
        &self,
        reading: &Reading,
        shown: Option<i64>,
        otherwise: Option<i64>,
    ) -> Judged {
        let read = reading.read;
        let Some(shown) = shown else {
            return match otherwise {
                Some(flag) => self.by_flag(read, flag != 0),
                None => UNKNOWN,
            };
        };
        match reading.measurement {
            Measurement::MajorDiameter => match Crests::of(shown).standing(read, &self.means) {
                Standing::Clear => AGREES,
                Standing::Worn => doubtful(TAKEN_FOR),
                Standing::Destroyed => doubtful(TWICE),
                Standing::Never => self.contradicts(),
            },
            Measurement::Pitch => self.exact(Crests::of(shown).has_pitch(read, &self.means)),
            Measurement::Seat | Measurement::HexKind | Measurement::Ground => {
                self.exact(shown == read)
            }
            Measurement::Terminal => self.by_eye(shown, read),
            Measurement::Resistance => self.ohms(read, shown),
            length => self.off_by((shown - read).abs(), self.means.half_width(length)),
        }
    }

    /// Whether every record with a value between two contradicts a reading of a length.
    pub fn rules_out_between(&self, reading: &Reading, least: i64, most: i64) -> bool {
        let nearest = reading.read.clamp(least, most);
        reading.measurement.rules_out()
            && self.judge_shown(reading, Some(nearest), None).verdict == Agreement::Contradicts
    }

    fn contradicts(&self) -> Judged {
        Judged {
            verdict: Agreement::Contradicts,
            cost: self.means.misread,
            known: true,
        }
    }

    fn exact(&self, same: bool) -> Judged {
        if same { AGREES } else { self.contradicts() }
    }

    fn off_by(&self, distance: i64, half_width: i64) -> Judged {
        let width = half_width.max(1);
        if distance > 2 * width {
            return self.contradicts();
        }
        Judged {
            verdict: if distance <= width {
                Agreement::Agrees
            } else {
                Agreement::Doubtful
            },
            cost: (i64::from(EDGE) * distance * distance / (width * width)) as u32,
            known: true,
        }
    }

    fn by_eye(&self, shown: i64, read: i64) -> Judged {
        let (Some(own), Some(seen)) = (Terminal::at(shown), Terminal::at(read)) else {
            return UNKNOWN;
        };
        let (least, most) = looks_like(own);
        if own == seen {
            AGREES
        } else if (least..=most).contains(&seen_at(seen)) {
            doubtful(TAKEN_FOR)
        } else {
            self.contradicts()
        }
    }

    fn ohms(&self, read: i64, nominal: i64) -> Judged {
        let width = self.means.spread(nominal) + self.means.ohmmeter(read);
        let judged = self.off_by((nominal - read).abs(), width);
        if judged.verdict != Agreement::Contradicts {
            return judged;
        }
        match resistor::fitted(read, &self.means) {
            None => UNKNOWN,
            Some(_) => judged,
        }
    }

    fn by_flag(&self, read: i64, flag: bool) -> Judged {
        match resistor::fitted(read, &self.means) {
            None => UNKNOWN,
            Some(fitted) => self.exact(fitted == flag),
        }
    }

    /// Name, what was read and what the record has, as they stand in an answer.
    pub fn in_words(&self, reading: &Reading, plug: &impl Shows) -> (&'static str, Value, Value) {
        let attr = reading.measurement.attr();
        let shown = plug.shown(attr);
        let mm = |raw: i64| Value::from(Decimal::<4>(raw).get());
        match reading.measurement {
            Measurement::MajorDiameter => (
                reading.measurement.word(),
                mm(reading.read),
                shown.map_or(Value::Null, |place| mm(Crests::of(place).nominal)),
            ),
            Measurement::Pitch => (
                reading.measurement.word(),
                mm(reading.read),
                shown.map_or(Value::Null, |place| mm(Crests::of(place).pitch)),
            ),
            _ => {
                let flag = reading.otherwise.and_then(|other| plug.shown(other));
                let told = flag.zip(resistor::fitted(reading.read, &self.means));
                match (shown, told) {
                    (None, Some((flag, fitted))) => {
                        (Attr::Resistor.word(), fitted.into(), (flag != 0).into())
                    }
                    _ => (
                        attr.word(),
                        attr.to_json(reading.read),
                        shown.map_or(Value::Null, |raw| attr.to_json(raw)),
                    ),
                }
            }
        }
    }
}

const AGREES: Judged = Judged {
    verdict: Agreement::Agrees,
    cost: 0,
    known: true,
};
const UNKNOWN: Judged = Judged {
    verdict: Agreement::Doubtful,
    cost: EDGE,
    known: false,
};

const fn doubtful(cost: u32) -> Judged {
    Judged {
        verdict: Agreement::Doubtful,
        cost,
        known: true,
    }
}

/// How many records can be the plug, by their cost.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Crowd {
    by_cost: Vec<u32>,
}

impl Crowd {
    /// Takes one more record in.
    #[inline]
    pub fn add(&mut self, cost: u32) {
        let place = cost as usize;
        if place >= self.by_cost.len() {
            self.by_cost.resize(place + 1, 0);
        }
        self.by_cost[place] += 1;
    }

    /// How many records can be the plug.
    pub fn count(&self) -> u64 {
        self.by_cost.iter().map(|n| u64::from(*n)).sum()
    }

    /// How many of them cost as little as the likeliest.
    pub fn equally_likely(&self) -> u64 {
        let likeliest = self.by_cost.iter().find(|n| **n > 0);
        likeliest.map_or(0, |n| u64::from(*n))
    }

    /// How likely records of some costs are among all that can be the plug, each by itself.
    pub fn likelihoods(&self, costs: &[u32]) -> Vec<f64> {
        let known = || self.by_cost.iter().enumerate().filter(|(_, n)| **n > 0);
        let best = known().next().map_or(0, |(cost, _)| cost);
        let weight = |cost: usize| (-((cost - best.min(cost)) as f64) / 1000.0).exp();
        let all: f64 = known().map(|(cost, n)| f64::from(*n) * weight(cost)).sum();
        costs
            .iter()
            .map(|cost| weight(*cost as usize) / all)
            .collect()
    }
}
