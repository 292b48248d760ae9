//! How long it takes: what hands do, what only waits, and what can run side by side.

/// One step of the work.
#[derive(Clone, Debug, PartialEq)]
pub struct Step {
    /// What is done.
    pub what: String,
    /// Time that hands are on it, s.
    pub hands: f64,
    /// Time that it then waits by itself, s.
    pub waits: f64,
}

/// From this wait on, in s, something is left overnight.
const OVERNIGHT: f64 = 6.0 * 3600.0;

impl Step {
    /// A step of the work; times in s.
    pub fn new(what: impl Into<String>, hands: f64, waits: f64) -> Self {
        Step {
            what: what.into(),
            hands,
            waits,
        }
    }

    /// Whether it is left overnight.
    #[must_use]
    pub fn overnight(&self) -> bool {
        self.waits >= OVERNIGHT
    }
}

/// Shots of a run with several moulds in turn: while one cools, the next is filled.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Shots {
    /// Shots in all.
    pub count: usize,
    /// Moulds that take turns.
    pub moulds: usize,
    /// Hands on one shot: filling, later opening and pulling, s.
    pub hands: f64,
    /// Time it cools in between, s.
    pub cools: f64,
}

impl Shots {
    /// Time from the first pour to the last bait pulled, s, with one pair of hands.
    ///
    /// A round of all moulds takes as long as the hands need for all, or one mould for
    /// itself, whichever is longer.
    #[must_use]
    pub fn time(&self) -> f64 {
        let moulds = self.moulds.clamp(1, self.count.max(1));
        let full = self.count.saturating_sub(1) / moulds;
        let left = self.count - full * moulds;
        let own = self.hands + self.cools;
        let round = (self.hands * moulds as f64).max(own);
        full as f64 * round + (self.hands * left as f64).max(own + self.hands * (left as f64 - 1.0))
    }
}

/// Time of steps one after the other, s.
#[must_use]
pub fn total(steps: &[Step]) -> f64 {
    steps.iter().map(|s| s.hands + s.waits).sum()
}

/// A time to read: `45 s`, `12 min`, `3 h 20 min`, `2 d 4 h`. Rounded up, for waits are least
/// times.
#[must_use]
pub fn show(seconds: f64) -> String {
    // Anything longer is not a time to wait for.
    let seconds = libm::ceil(seconds - 1e-6).clamp(0.0, 1e9) as u64;
    let minutes = seconds.div_ceil(60);
    let (hours, left) = (minutes / 60, minutes % 60);
    match () {
        () if seconds < 90 => format!("{seconds} s"),
        () if minutes < 90 => format!("{minutes} min"),
        () if hours < 48 && left > 0 => format!("{hours} h {left} min"),
        () if hours < 48 => format!("{hours} h"),
        () => format!(
            "{} d {} h",
            minutes.div_ceil(60) / 24,
            minutes.div_ceil(60) % 24
        ),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shots_by_hand_sums() {
        let shots = |count, moulds| Shots {
            count,
            moulds,
            hands: 60.0,
            cools: 600.0,
        };
        // One mould: every shot waits for the one before.
        assert_eq!(shots(5, 1).time(), 5.0 * 660.0);
        assert_eq!(shots(1, 4).time(), 660.0);
        // Two moulds: rounds of 660 s, the last shot a minute after its neighbour.
        assert_eq!(shots(4, 2).time(), 660.0 + 720.0);
        // So many moulds that hands never rest: 22 x 60 s, and the last one cools.
        let many = shots(22, 22).time();
        assert_eq!(many, 22.0 * 60.0 + 600.0);
        // More moulds never take longer.
        for count in 1..40 {
            for moulds in 1..20 {
                let (few, more) = (shots(count, moulds).time(), shots(count, moulds + 1).time());
                assert!(more <= few + 1e-9, "{count} {moulds}");
            }
        }
    }

    #[test]
    fn times_are_shown_as_said() {
        for (seconds, text) in [
            (44.2, "45 s"),
            (700.0, "12 min"),
            (12_000.0, "3 h 20 min"),
            (57_600.0, "16 h"),
            (187_000.0, "2 d 4 h"),
        ] {
            assert_eq!(show(seconds), text);
        }
        assert!(Step::new("cures", 0.0, 57_600.0).overnight());
        assert_eq!(
            total(&[Step::new("a", 5.0, 60.0), Step::new("b", 1.0, 0.0)]),
            66.0
        );
    }
}
