//! Axes: where a value stands on the paper, and which values are marked.

/// Values along a line of the paper.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Axis {
    /// The values at both ends; the second is greater.
    pub values: [f64; 2],
    /// Where on the paper they are.
    pub places: [f64; 2],
}

impl Axis {
    /// Where a value stands.
    pub fn at(&self, value: f64) -> f64 {
        let [from, to] = self.values;
        let [start, end] = self.places;
        start + (end - start) * (value - from) / (to - from)
    }

    /// Round values from end to end, in steps of 1, 2 or 5 times a power of ten, so that marks stand at
    /// least `apart` from each other; each with the words that it is written with.
    pub fn ticks(&self, apart: f64) -> Vec<(f64, String)> {
        let [from, to] = self.values;
        let least = apart * (to - from) / (self.places[1] - self.places[0]).abs();
        let power = 10f64.powf(least.log10().floor());
        let steps = [1.0, 2.0, 5.0, 10.0].map(|times| times * power);
        let step = steps
            .into_iter()
            .find(|step| *step >= least * (1.0 - 1e-9))
            .unwrap_or(10.0 * power);
        let places = (-step.log10().floor()).max(0.0) as usize;
        let (first, last) = ((from / step - 1e-9).ceil(), (to / step + 1e-9).floor());
        let count = (last - first + 1.0).max(0.0) as usize;
        let values = (0..count).map(|n| (first + n as f64) * step);
        // Never a negative nought.
        values
            .map(|value| (value, format!("{:.places$}", value + 0.0)))
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn written(values: [f64; 2], length: f64, apart: f64) -> Vec<String> {
        let axis = Axis {
            values,
            places: [0.0, length],
        };
        axis.ticks(apart)
            .into_iter()
            .map(|(_, words)| words)
            .collect()
    }

    #[test]
    fn marks_are_round_and_far_enough_from_each_other() {
        assert_eq!(
            written([0.0, 1.2], 264.0, 40.0),
            ["0.0", "0.2", "0.4", "0.6", "0.8", "1.0", "1.2"]
        );
        assert_eq!(
            written([0.0, 40.0], 200.0, 30.0),
            ["0", "10", "20", "30", "40"]
        );
        assert_eq!(
            written([43.0, 96.0], 300.0, 24.0),
            [
                "45", "50", "55", "60", "65", "70", "75", "80", "85", "90", "95"
            ]
        );
        assert_eq!(written([-12.0, 12.0], 100.0, 30.0), ["-10", "0", "10"]);
    }

    #[test]
    fn a_value_stands_in_proportion_also_upwards() {
        let up = Axis {
            values: [0.0, 50.0],
            places: [200.0, 0.0],
        };
        assert_eq!([up.at(0.0), up.at(25.0), up.at(50.0)], [200.0, 100.0, 0.0]);
    }
}
