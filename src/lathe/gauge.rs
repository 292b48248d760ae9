//! The half profile of a round master, and the stations a turner measures.

use kurbo::{BezPath, Point};

use crate::body::{Body, NotRound};
use crate::spec::RibsDesign;

/// Places closer than this are one station to callipers, mm.
const SAME_PLACE: f64 = 0.25;
/// Diameters closer than this are one diameter to callipers, mm.
const SAME_DIAMETER: f64 = 0.02;

/// What a turner works by: the half profile of a round master, collar included,
/// and the stations along it. Millimetres; x from the nose, distances from the axis.
#[derive(Clone, Debug, PartialEq)]
pub struct Gauge {
    /// The half profile, exactly: from (0, 0) by way of the nose, the tail and the
    /// collar to (`total`, 0), y the distance from the axis; steps and flat ends as
    /// upright lines.
    pub profile: BezPath,
    /// Length of the body.
    pub length: f64,
    /// Length of body and collar.
    pub total: f64,
    /// Greatest radius, collar included.
    pub radius: f64,
    /// Stations, from nose to tail, then the collar's cylinders; none within a set of ribs.
    pub stations: Vec<GaugeStation>,
    /// Edges that run round the master inside its profile (corners, shoulders,
    /// joints with the collar): place, and radius on the smaller side.
    pub edges: Vec<(f64, f64)>,
    /// Sets of ribs.
    pub ribs: Vec<RibsDesign>,
}

/// One place where a turner measures.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct GaugeStation {
    /// What the place is.
    pub place: Place,
    /// Distance from the nose; of a collar cylinder its middle.
    pub at: f64,
    /// Diameter coming from the nose; zero at a round or pointed nose.
    pub before: f64,
    /// Diameter going on to the tail; differs from `before` at a shoulder.
    pub after: f64,
    /// Whether the body is as thick as anywhere here.
    pub greatest: bool,
}

/// What a station is.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub enum Place {
    /// The nose.
    Nose,
    /// A place along the body.
    Along,
    /// The tail; the collar, if any, begins here.
    Tail,
    /// A cylinder of the collar, with where it begins and ends.
    Collar {
        /// Distance of its near end from the nose.
        from: f64,
        /// Distance of its far end from the nose.
        to: f64,
    },
}

impl Gauge {
    /// The gauge of a round body: stations at its outline's knots, at its greatest
    /// diameter, at both ends and at every cylinder of the collar.
    ///
    /// # Errors
    /// [`NotRound`] if any section is not a circle about the axis.
    pub fn of(body: &Body) -> Result<Gauge, NotRound> {
        body.roundness()?;
        let outline = &body.back;
        let length = outline.length();
        let (widest, greatest) = outline.greatest();

        let mut stations: Vec<GaugeStation> = Vec::new();
        for at in outline.knots() {
            let place = if at == 0.0 {
                Place::Nose
            } else if at == length {
                Place::Tail
            } else {
                Place::Along
            };
            // Every edge of a rib is a knot; the gauge shows them, one note says the rest.
            if body.ribs.iter().any(|r| at > r.from && at < r.to) {
                continue;
            }
            let after = 2.0 * outline.height(at);
            let before = 2.0 * outline.height_before(at);
            stations.push(GaugeStation {
                place,
                at,
                before,
                after,
                greatest: 2.0 * greatest - before.max(after) < SAME_DIAMETER,
            });
        }
        let known = |s: &GaugeStation| s.greatest && (s.at - widest).abs() < SAME_PLACE;
        if !stations.iter().any(known) {
            let i = stations.partition_point(|s| s.at < widest);
            stations.insert(
                i,
                GaugeStation {
                    place: Place::Along,
                    at: widest,
                    before: 2.0 * greatest,
                    after: 2.0 * greatest,
                    greatest: true,
                },
            );
        }

        let half = outline.to_path();
        let mut profile = BezPath::new();
        profile.move_to((0.0, 0.0));
        if outline.height(0.0) > 0.0 {
            profile.line_to((0.0, outline.height(0.0)));
        }
        profile.extend(half.elements().iter().skip(1).copied());
        let mut edges: Vec<(f64, f64)> = outline
            .breaks()
            .map(|b| (b.at, b.before.min(b.after)))
            .collect();
        let mut at = length;
        let mut radius = outline.height_before(length);
        for cylinder in &body.collar {
            let to = at + cylinder.length;
            edges.push((at, radius.min(cylinder.radius)));
            radius = cylinder.radius;
            profile.line_to((at, radius));
            profile.line_to((to, radius));
            stations.push(GaugeStation {
                place: Place::Collar { from: at, to },
                at: 0.5 * (at + to),
                before: 2.0 * radius,
                after: 2.0 * radius,
                greatest: false,
            });
            at = to;
        }
        if radius > 0.0 {
            profile.line_to(Point::new(at, 0.0));
        }
        Ok(Gauge {
            profile,
            length,
            total: at,
            radius: body
                .collar
                .iter()
                .map(|c| c.radius)
                .fold(greatest, f64::max),
            stations,
            edges,
            ribs: body.ribs.clone(),
        })
    }
}
