//! Fins, tails and legs that have passed every rule, in millimetres.

use kurbo::BezPath;

use super::{Bunch, Knot, Plane, Side};

/// A fin, or a pair of them.
#[derive(Clone, Debug, PartialEq)]
pub struct FinDesign {
    /// Front of the root, from the nose.
    pub at: f64,
    /// Degrees from the back round the left side; a single fin at 0 and 180, else a pair.
    pub angle: f64,
    /// Its outline.
    pub outline: FinOutline,
    /// Thickness.
    pub thickness: f64,
    /// Radius of the rim's edges, at most half the thickness.
    pub rounding: f64,
    /// Degrees of backward lean.
    pub sweep: f64,
    /// Degrees of turn about the root line, tips towards the back.
    pub cant: f64,
}

/// A fin's outline over its root line.
#[derive(Clone, Debug, PartialEq)]
pub enum FinOutline {
    /// Heights through stations.
    Stations {
        /// Length of the root.
        root: f64,
        /// Heights; a knot on an end makes an upright edge there.
        knots: Vec<Knot>,
    },
    /// A closed path, x backward and y outward, scaled to millimetres.
    Path(BezPath),
}

/// A tail.
#[derive(Clone, Debug, PartialEq)]
pub enum TailDesign {
    /// A disc on a neck.
    Paddle(PaddleDesign),
    /// A curled blade.
    Curl(CurlDesign),
    /// A forked plate.
    Fork(ForkDesign),
    /// A straight strand.
    Taper(TaperDesign),
}

/// A disc on a neck. `root` is `None`: as the body allows.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PaddleDesign {
    /// From the body's end to the middle of the disc.
    pub neck: f64,
    /// Radius of the neck at the body.
    pub root: Option<f64>,
    /// Radius of the neck at the disc.
    pub joint: f64,
    /// Radius of the disc.
    pub radius: f64,
    /// Thickness of the disc.
    pub thickness: f64,
    /// Degrees between disc and axis.
    pub angle: f64,
}

/// A curled blade. `root` is `None`: as the body allows.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CurlDesign {
    /// Length along the spine.
    pub length: f64,
    /// Degrees turned through.
    pub turn: f64,
    /// Which way.
    pub towards: Side,
    /// Radius of the stem.
    pub root: Option<f64>,
    /// Half the blade's greatest height.
    pub half_height: f64,
    /// Thickness.
    pub thickness: f64,
    /// Thickness at the tip.
    pub tip: f64,
}

/// A forked plate. `root` is `None`: as the body allows.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ForkDesign {
    /// From the body's end to the tips.
    pub length: f64,
    /// Between the tips.
    pub span: f64,
    /// Depth of the notch.
    pub notch: f64,
    /// Half the height at the body.
    pub root: Option<f64>,
    /// Thickness.
    pub thickness: f64,
    /// Plane it lies in.
    pub plane: Plane,
}

/// A straight strand. `root` is `None`: as the body allows.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TaperDesign {
    /// From the body's end to the tip.
    pub length: f64,
    /// Half the height at the body.
    pub root: Option<f64>,
    /// Half the height at the tip.
    pub tip: f64,
    /// Width over height.
    pub width: f64,
}

/// Strands.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LegsDesign {
    /// Where they stand.
    pub stand: LegStand,
    /// How many in a row, or in all behind the tail.
    pub count: usize,
    /// Length of each.
    pub length: f64,
    /// Half the width at the root.
    pub root: f64,
    /// Half the width at the tip.
    pub tip: f64,
    /// Thickness over width.
    pub flat: f64,
    /// Degrees from first to last, or across the bunch.
    pub spread: f64,
    /// Degrees each bends on its way.
    pub droop: f64,
}

/// Where strands stand.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum LegStand {
    /// In a row along the body.
    Row {
        /// Middle of the row, from the nose.
        at: f64,
        /// Degrees from the back round the left side; a single row at 0 and 180, else a pair.
        angle: f64,
        /// Between neighbouring roots.
        pitch: f64,
        /// Degrees of backward lean.
        lean: f64,
    },
    /// Behind the tail.
    Tail(Bunch),
}
