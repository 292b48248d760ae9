//! The profile moved outward or inward, and limits for callipers.

use kurbo::{BezPath, ParamCurve, ParamCurveArclen, Point};

use super::Gauge;

/// Farthest apart that points of a moved profile are, mm.
const STEP: f64 = 0.02;

impl Gauge {
    /// The half profile moved outward by `over`, inward if that is negative: exactly the
    /// [`Gauge::profile`] for zero, else the edge of all circles of that radius about its points,
    /// within 0.005 mm. It begins and ends on the axis.
    pub fn moved(&self, over: f64) -> BezPath {
        if over == 0.0 {
            return self.profile.clone();
        }
        let step = STEP.min(0.25 * over.abs());
        let mut edge: Vec<Point> = Vec::new();
        for segment in self.profile.segments() {
            let count = (segment.arclen(1e-3) / step).ceil().max(1.0);
            edge.extend((0..=count as usize).map(|k| segment.eval(k as f64 / count)));
        }
        let (from, to) = (-over, self.total + over);
        let steps = ((to - from) / (2.0 * STEP)).ceil().max(8.0);
        let mut path = BezPath::new();
        path.move_to((from, 0.0));
        let mut first = 0;
        for k in 0..=steps as usize {
            // Closer together towards the ends, where a round profile stands upright.
            let u = k as f64 / steps;
            let x = from + (to - from) * u * u * (3.0 - 2.0 * u);
            while first < edge.len() && edge[first].x < x - over.abs() {
                first += 1;
            }
            let near = edge[first..].iter().take_while(|p| p.x <= x + over.abs());
            let reach = |p: &Point| (over * over - (p.x - x) * (p.x - x)).max(0.0).sqrt();
            let r = if over > 0.0 {
                near.map(|p| p.y + reach(p)).fold(0.0, f64::max)
            } else {
                near.map(|p| p.y - reach(p)).fold(f64::INFINITY, f64::min)
            };
            if r.is_finite() {
                path.line_to((x, r.max(0.0)));
            }
        }
        path.line_to((to, 0.0));
        thinned(&path)
    }

    /// Greatest radius of the profile within `from..=to`, from its points at least 0.02 mm apart
    /// and its ends.
    pub fn greatest_within(&self, from: f64, to: f64) -> f64 {
        let mut most = 0.0_f64;
        for segment in self.profile.segments() {
            let (a, b) = (segment.start(), segment.end());
            if a.x.max(b.x) < from || a.x.min(b.x) > to {
                continue;
            }
            let count = (segment.arclen(1e-3) / STEP).ceil().max(1.0);
            for k in 0..=count as usize {
                let p = segment.eval(k as f64 / count);
                if (from..=to).contains(&p.x) {
                    most = most.max(p.y);
                }
            }
        }
        most
    }
}

/// A polyline without the points that lie on it anyway.
fn thinned(path: &BezPath) -> BezPath {
    const ON: f64 = 0.001;
    const MOST: usize = 400;
    let points: Vec<Point> = path
        .elements()
        .iter()
        .filter_map(|e| e.end_point())
        .collect();
    let mut thin = BezPath::new();
    let Some(&start) = points.first() else {
        return thin;
    };
    thin.move_to(start);
    let mut kept = 0;
    for i in 2..points.len() {
        let chord = points[i] - points[kept];
        let length = chord.hypot();
        let between = &points[kept + 1..i];
        let off = |p: &Point| (chord.cross(*p - points[kept]) / length).abs();
        if between.len() > MOST || length == 0.0 || between.iter().any(|p| off(p) > ON) {
            thin.line_to(points[i - 1]);
            kept = i - 1;
        }
    }
    thin.line_to(points[points.len() - 1]);
    thin
}

/// What a diameter in mm may be off either way: general tolerance, class medium.
///
/// # References
/// ISO 2768-1:1989, table 1, class m.
pub fn general_tolerance(size: f64) -> f64 {
    match size {
        s if s <= 6.0 => 0.1,
        s if s <= 30.0 => 0.2,
        s if s <= 120.0 => 0.3,
        _ => 0.5,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::body::Body;
    use crate::spec::{self, Format};
    use kurbo::Shape;

    fn gauge(outline: &str) -> Gauge {
        let text = format!("body.length = 40\nbody.outline = [{outline}]");
        let design = spec::design(&text, Format::Toml).unwrap();
        Gauge::of(&Body::from_design(&design)).unwrap()
    }

    #[test]
    fn a_moved_profile_stands_off_everywhere_alike() {
        let gauge = gauge(
            "{ at = 8, height = 11 }, { at = 20, height = 15, step_to = 12 }, { at = 33, height = 8 }",
        );
        let edge: Vec<Point> = gauge
            .profile
            .segments()
            .flat_map(|s| (0..=800).map(move |i| s.eval(f64::from(i) / 800.0)))
            .collect();
        for over in [0.3, -0.3, 0.05] {
            let path = gauge.moved(over);
            let bounds = path.bounding_box();
            assert!((bounds.x0 + over).abs() < 1e-9 && (bounds.x1 - 40.0 - over).abs() < 1e-9);
            for el in path.elements().iter().filter_map(|e| e.end_point()) {
                if el.y > 0.1 {
                    let off = edge
                        .iter()
                        .map(|p| p.distance(el))
                        .fold(f64::INFINITY, f64::min);
                    assert!((off - over.abs()).abs() < 0.01, "{over}: {off} at {el:?}");
                }
            }
        }
        assert_eq!(gauge.moved(0.0), gauge.profile);
    }

    #[test]
    fn a_thick_card_meets_the_larger_side_of_a_slope() {
        let gauge = gauge("{ at = 0, height = 10 }, { at = 40, height = 20 }");
        let rise = gauge.greatest_within(19.0, 21.0) - gauge.greatest_within(20.0, 20.02);
        assert!(rise > 0.1 && rise < 0.4, "{rise}");
    }
}
