//! Rules of what is added to and cut from the body.

use std::ops::RangeInclusive;

use super::Rules;
use crate::spec::{BodyDesign, EyesDesign, EyesSpec};

/// Degrees round the body.
const ANGLE: RangeInclusive<f64> = 0.0..=180.0;
/// From a pinhead to the largest glued-in eyes (reasoned).
const EYE_DIAMETER: RangeInclusive<f64> = 1.0..=40.0;
/// Shallower does not show in plastic (reasoned).
const EYE_DEPTH: RangeInclusive<f64> = 0.2..=20.0;
/// Features stay this far from round and pointed ends, where the surface has no side.
const FROM_END: f64 = 0.5;

impl Rules<'_> {
    pub(super) fn eyes(
        &mut self,
        path: &str,
        eyes: &EyesSpec,
        body: Option<&BodyDesign>,
    ) -> Option<EyesDesign> {
        let diameter = self.length(&format!("{path}.diameter"), eyes.diameter, &EYE_DIAMETER);
        // Past the middle of the ball the socket would narrow again and hold its mould.
        let most = diameter.map_or(*EYE_DEPTH.end(), |d| (0.5 * d).min(*EYE_DEPTH.end()));
        let depth = self.length(
            &format!("{path}.depth"),
            eyes.depth,
            &(*EYE_DEPTH.start()..=most),
        );
        // Next to nothing off the back or belly is on it, or the two would be one crooked one.
        let angle = self
            .number(&format!("{path}.angle"), eyes.angle, &ANGLE)
            .map(|a| {
                if (a - a.round()).abs() < 1e-6 {
                    a.round()
                } else {
                    a
                }
            });
        let at = self.along(&format!("{path}.at"), eyes.at, body);
        Some(EyesDesign {
            at: at?,
            angle: angle?,
            radius: 0.5 * diameter?,
            depth: depth?,
        })
    }

    /// A place along the body, clear of its ends.
    pub(super) fn along(
        &mut self,
        path: &str,
        at: crate::quantity::Length,
        body: Option<&BodyDesign>,
    ) -> Option<f64> {
        let length = body?.length;
        self.length(path, at, &(FROM_END..=length - FROM_END))
    }
}
