//! Checked numbers of what shapes the trunk itself. All lengths in millimetres.

use super::RibProfile;

/// A set of ribs, side by side.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RibsDesign {
    /// Where the set begins.
    pub from: f64,
    /// Where it ends.
    pub to: f64,
    /// From one rib to the next.
    pub pitch: f64,
    /// Height over the body; negative for grooves.
    pub rise: f64,
    /// Shape of one rib.
    pub profile: RibProfile,
    /// Length at both ends over which ribs grow to their full height.
    pub fade: f64,
}

impl RibsDesign {
    /// How many whole ribs fit.
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    pub fn count(&self) -> usize {
        // A run written as so many pitches may come out a rounding short.
        ((self.to - self.from) / self.pitch + 1e-6).floor() as usize
    }

    /// Where rib `i` begins, and how high it rises.
    pub fn rib(&self, i: usize) -> (f64, f64) {
        let slack = (self.to - self.from - self.count() as f64 * self.pitch).max(0.0);
        let at = self.from + 0.5 * slack + i as f64 * self.pitch;
        let middle = at + 0.5 * self.pitch;
        let inside = (middle - self.from).min(self.to - middle);
        let share = if self.fade > 0.0 {
            (inside / self.fade).min(1.0)
        } else {
            1.0
        };
        (at, self.rise * share)
    }
}

/// Exponents of the section at one place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SectionKnot {
    /// Distance from the nose.
    pub at: f64,
    /// Exponent of the half above the spine.
    pub back: f64,
    /// Exponent of the half below it.
    pub belly: f64,
}

/// How the spine bows.
#[derive(Clone, Debug, PartialEq)]
pub enum CamberDesign {
    /// A parabola with this rise in the middle and none at the ends.
    Bow(f64),
    /// Places and rises, from the nose to the tail.
    Stations(Vec<[f64; 2]>),
}

/// Readings that a body was measured by, and how far each lies from the curve: in the size
/// that was measured, whatever size is made.
#[derive(Clone, Debug, PartialEq)]
pub struct MeasuredDesign {
    /// How far a reading may be off, either way.
    pub uncertainty: f64,
    /// The readings in the order they were written.
    pub readings: Vec<ReadingDesign>,
    /// Readings that stand so far off what the others make of their places that they may be
    /// slips: the worst of heights and of widths.
    pub doubts: Vec<DoubtDesign>,
}

/// A reading that may be a slip.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DoubtDesign {
    /// Its place in the list.
    pub reading: usize,
    /// What was read: `"height"` or `"width"`.
    pub field: &'static str,
    /// The reading less what a curve through all others has there, in full size.
    pub off: f64,
}

/// One reading.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ReadingDesign {
    /// Distance from the nose.
    pub at: f64,
    /// Its full height.
    pub height: Option<SizeDesign>,
    /// Its full width.
    pub width: Option<SizeDesign>,
}

/// One size that was read.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SizeDesign {
    /// As it was read.
    pub read: f64,
    /// The curve's less that.
    pub off: f64,
    /// What a curve right through the readings at all other places has there; `None` near the ends and
    /// among few, which cannot tell.
    pub by_others: Option<f64>,
}

/// What the master and the mould are made larger or smaller by, so that the bait comes out
/// as drawn.
///
/// Shrinkage s of a mould's content is (mould − part)/mould, so that the mould is the part
/// times 1/(1 − s), not times 1 + s. In a chain the factors multiply.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Allowances {
    /// Shrinkage of the plastic, as a share of length.
    pub plastic: f64,
    /// Shrinkage of the silicone, as a share of length.
    pub silicone: f64,
    /// Shrinkage of prints, as a share of length.
    pub print: f64,
    /// Coats on the master: what, thickness of one in mm, and how many.
    pub coats: Vec<(String, f64, u32)>,
}

impl Allowances {
    /// Whether nothing is allowed for.
    pub fn is_none(&self) -> bool {
        self.plastic == 0.0 && self.silicone == 0.0 && self.print == 0.0 && self.coats.is_empty()
    }

    /// The printed mould's cavity over the bait: plastic and print.
    pub fn cavity_scale(&self) -> f64 {
        1.0 / ((1.0 - self.plastic) * (1.0 - self.print))
    }

    /// The finished master, coats and all, over the bait: plastic and silicone.
    pub fn pattern_scale(&self) -> f64 {
        1.0 / ((1.0 - self.plastic) * (1.0 - self.silicone))
    }

    /// The file a master is printed from over the master as it comes off the printer.
    pub fn print_scale(&self) -> f64 {
        1.0 / (1.0 - self.print)
    }

    /// Thickness of all coats together, in mm.
    pub fn coating(&self) -> f64 {
        let each = self.coats.iter().map(|c| c.1 * f64::from(c.2));
        each.sum()
    }
}
