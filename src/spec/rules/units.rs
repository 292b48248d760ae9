//! Which unit, or which number, was meant by one that does not fit.

use super::*;
use crate::quantity::InchFraction;

/// Limits that begin below this are of fits and tolerances: a number too small for them
/// says nothing about the unit it was meant in.
const LEAST_TELLING: f64 = 0.25;

impl Rules<'_> {
    /// The unit in which a bare number that does not fit would fit.
    fn unit_fitting(&self, length: Length, limits: &RangeInclusive<f64>) -> Option<LengthUnit> {
        if length.unit.is_some() {
            return None;
        }
        let small = length.to_mm(self.units) < *limits.start();
        let other = match (self.units, small) {
            (LengthUnit::Mm | LengthUnit::Cm, true) => LengthUnit::In,
            (LengthUnit::In | LengthUnit::Cm, false) => LengthUnit::Mm,
            _ => return None,
        };
        // A whole number of millimetres that is a little small is no inches; of the length of a
        // bait it is more likely than not.
        let whole = length.value.fract() == 0.0 && limits != &BODY_LENGTH;
        // Nor is what no rule in inches shows.
        let ruled =
            other != LengthUnit::In || limits == &BODY_LENGTH || as_ruled(length.value).is_some();
        let telling = !small || (*limits.start() >= LEAST_TELLING && !whole && ruled);
        (telling && limits.contains(&length.to_mm(other))).then_some(other)
    }

    /// What to try where a length does not fit.
    pub(super) fn unit_hint(
        &self,
        path: &str,
        length: Length,
        limits: &RangeInclusive<f64>,
    ) -> Option<String> {
        let unit = self.unit_fitting(length, limits)?;
        let (name, here) = match unit {
            LengthUnit::In => ("inches", in_inches(length.value)),
            _ => ("millimetres", format!("{} {unit}", length.value)),
        };
        Some(if path == "body.length" {
            format!("did you mean {name}? write units = \"{unit}\" at the top, or \"{here}\" here")
        } else {
            format!("did you mean {name}? write \"{here}\"")
        })
    }

    /// The unit of the whole spec that was meant, if the body's length does not fit: it and
    /// every bare height must fit in that unit.
    pub(super) fn unit_meant(&self, body: &BodySpec) -> Option<LengthUnit> {
        let length = body.length?;
        if self.is_unknown("body.length", length) {
            return None;
        }
        let unit = self.unit_fitting(length, &BODY_LENGTH)?;
        let fits = |length: Option<Length>, limits: &RangeInclusive<f64>| {
            length
                .is_none_or(|length| length.unit.is_some() || limits.contains(&length.to_mm(unit)))
        };
        let all = body.outline.iter().all(|station| {
            fits(station.height, &THICKNESS)
                && fits(station.back, &HALF_THICKNESS)
                && fits(station.belly, &HALF_THICKNESS)
        });
        all.then_some(unit)
    }

    /// What to try where a size is many times what it can be.
    pub(super) fn slipped_point(&self, written: Length) -> String {
        let unit = written.unit.unwrap_or(self.units);
        let tenth = unit.show(written.to_mm(self.units) / 10.0);
        match (unit, as_fraction(written.value)) {
            (LengthUnit::In, Some(fraction)) => {
                format!("did you mean \"{fraction} in\", or {tenth}?")
            }
            _ => format!("is the decimal point in its place? a tenth of it is {tenth}"),
        }
    }

    /// For inch specs: a fraction that keeps a lower limit.
    pub(super) fn fraction_above(&self, mm: f64) -> String {
        if self.units != LengthUnit::In {
            return String::new();
        }
        let step = LengthUnit::In.in_mm() / 64.0;
        let fraction = InchFraction::nearest(libm::ceil(mm / step - 1e-9) * step);
        format!("; {fraction} will do")
    }
}

/// A number of inches as one of a rule's marks, to a 64th, if it is one.
fn as_ruled(inches: f64) -> Option<InchFraction> {
    let fraction = InchFraction::nearest(inches * LengthUnit::In.in_mm());
    (fraction.error.abs() < SAME_PLACE).then_some(fraction)
}

/// A number of inches, as a fraction if it is one.
fn in_inches(value: f64) -> String {
    as_ruled(value).map_or_else(|| format!("{value} in"), |fraction| fraction.to_string())
}

/// The fraction that a decimal such as 7.16 may have been meant as.
fn as_fraction(value: f64) -> Option<String> {
    let text = value.to_string();
    let (above, below) = text.split_once('.')?;
    let (a, b): (u32, u32) = (above.parse().ok()?, below.parse().ok()?);
    (a < b && a % 2 == 1 && [2, 4, 8, 16, 32, 64].contains(&b)).then(|| format!("{a}/{b}"))
}
