//! Rules of the section along the body and of the camber.

use std::ops::RangeInclusive;

use super::{EXPONENT, Rules, SAME_PLACE};
use crate::quantity::Length;
use crate::spec::{CamberDesign, CamberSpec, Problem, SectionKnot, SectionSpec};

/// Stations of section and camber stand at least this far apart: closer, the change
/// between them would be a step (reasoned).
const APART: f64 = 2.0;
/// Steepest the spine may run between two stations: beyond, upright sections cut
/// the body too slantwise to be measured with callipers (reasoned).
const STEEPEST: f64 = 0.5;

impl Rules<'_> {
    pub(super) fn section(
        &mut self,
        section: &SectionSpec,
        length: Option<f64>,
    ) -> Option<Vec<SectionKnot>> {
        const LIST: &str = "body.section";
        let stations = match section {
            SectionSpec::Same(n) => {
                let n = self.number(LIST, *n, &EXPONENT)?;
                let (back, belly) = (n, n);
                return Some(vec![SectionKnot {
                    at: 0.0,
                    back,
                    belly,
                }]);
            }
            SectionSpec::Stations(stations) => stations,
        };
        let places: Vec<Length> = stations.iter().map(|s| s.at).collect();
        let at = self.places(LIST, &places, length);
        let mut numbers = Vec::new();
        for (i, station) in stations.iter().enumerate() {
            let back = self.number(&format!("{LIST}[{i}].back"), station.back, &EXPONENT);
            let belly = self.number(&format!("{LIST}[{i}].belly"), station.belly, &EXPONENT);
            numbers.push(back.zip(belly));
        }
        let knots = at?.into_iter().zip(numbers).map(|(at, numbers)| {
            let (back, belly) = numbers?;
            Some(SectionKnot { at, back, belly })
        });
        knots.collect()
    }

    pub(super) fn camber(
        &mut self,
        camber: &CamberSpec,
        length: Option<f64>,
    ) -> Option<CamberDesign> {
        const LIST: &str = "body.camber";
        let stations = match camber {
            CamberSpec::Bow(rise) => {
                // The parabola's slope at its ends is four times rise over length.
                let most = STEEPEST / 4.0 * length?;
                return Some(CamberDesign::Bow(self.length(
                    LIST,
                    *rise,
                    &(-most..=most),
                )?));
            }
            CamberSpec::Stations(stations) => stations,
        };
        let places: Vec<Length> = stations.iter().map(|s| s.at).collect();
        let at = self.places(LIST, &places, length);
        let length = length?;
        let mut points = Vec::new();
        for (i, station) in stations.iter().enumerate() {
            let path = format!("{LIST}[{i}].rise");
            points.push(self.length(&path, station.rise, &(-length..=length)));
        }
        let at = at?;
        let rises: Option<Vec<f64>> = points.into_iter().collect();
        let mut points: Vec<[f64; 2]> = at.iter().zip(rises?).map(|(&x, c)| [x, c]).collect();
        // Ends without a station of their own lie on the axis.
        let own_nose = at.first() == Some(&0.0);
        if !own_nose {
            points.insert(0, [0.0, 0.0]);
        }
        if at.last() != Some(&length) {
            points.push([length, 0.0]);
        }
        for (i, w) in points.windows(2).enumerate() {
            let ([x, a], [to, b]) = (w[0], w[1]);
            let most = STEEPEST * (to - x);
            if (b - a).abs() > most + SAME_PLACE {
                // The station at the far side, or the last one before the tail.
                let station = if own_nose { i + 1 } else { i }.min(at.len() - 1);
                self.report(
                    Problem::new(
                        format!("{LIST}[{station}].rise"),
                        "the spine bends too steeply here",
                    )
                    .value(format_args!(
                        "{} over {}",
                        self.drawn((b - a).abs()),
                        self.drawn(to - x)
                    ))
                    .limit(format_args!("up to {}, half the distance", self.most(most)))
                    .hint("a station at the end gives the spine a rise there"),
                );
                return None;
            }
        }
        Some(CamberDesign::Stations(points))
    }

    /// Places of stations in order, apart, within the body; those on an end exactly on it.
    fn places(&mut self, list: &str, at: &[Length], length: Option<f64>) -> Option<Vec<f64>> {
        if self.is_broken(list) {
            return None;
        }
        const COUNT: RangeInclusive<f64> = 1.0..=100.0;
        self.number(list, at.len() as f64, &COUNT)?;
        let length = length?;
        let mut places: Vec<f64> = Vec::new();
        let before = self.problems.len();
        for (i, &at) in at.iter().enumerate() {
            let path = format!("{list}[{i}].at");
            let Some(mut mm) = self.length(&path, at, &(0.0..=length)) else {
                continue;
            };
            if mm <= SAME_PLACE {
                mm = 0.0;
            }
            if length - mm <= SAME_PLACE {
                mm = length;
            }
            let near_end = mm.min(length - mm);
            if let Some(&last) = places.last()
                && mm < last + APART - SAME_PLACE
            {
                self.report(
                    Problem::new(path, "stations must run from nose to tail, well apart")
                        .value(at)
                        .limit(format_args!("at least {}", self.least(last + APART))),
                );
            } else if near_end > 0.0 && near_end < APART - SAME_PLACE {
                self.report(
                    Problem::new(path, "this station is too close to the end of the body")
                        .value(at)
                        .limit(format_args!(
                            "on the end, or at least {} from it",
                            self.drawn(APART)
                        )),
                );
            }
            places.push(mm);
        }
        (self.problems.len() == before).then_some(places)
    }
}
