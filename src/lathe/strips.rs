//! Strips of paper that go once round the body and carry marks at their angles.

use crate::body::Body;
use crate::spec::{BoreDesign, Design, Edge, FinOutline, LegStand, Making, Parting};

/// Places closer than this are one station, mm.
const SAME_PLACE: f64 = 0.25;
/// Marks closer together than this round the body are one mark, mm.
const SAME_MARK: f64 = 0.3;
/// A strip closer to an end than this would not hold, mm.
const FROM_END: f64 = 0.5;

/// A strip for one station.
#[derive(Clone, Debug, PartialEq)]
pub struct IndexStrip {
    /// Distance of the station from the nose.
    pub at: f64,
    /// Once round the body there.
    pub girth: f64,
    /// Marks by their distance along the strip, which begins at the back and goes by way of the
    /// left flank.
    pub marks: Vec<StripMark>,
}

/// A mark on a strip.
#[derive(Clone, Debug, PartialEq)]
pub struct StripMark {
    /// Distance from the strip's beginning.
    pub along: f64,
    /// Degrees from the back round the left side.
    pub angle: f64,
    /// What it is for.
    pub what: String,
}

/// A strip for every station at which the design puts something on the body's surface: eyes,
/// pockets, both ends of fins and slots, rows of legs; the parting line on each. `scale` is how
/// much larger `body` is than the design's.
pub fn index_strips(design: &Design, body: &Body, scale: f64) -> Vec<IndexStrip> {
    let mut wanted: Vec<(f64, f64, String)> = Vec::new();
    let mut put = |at: f64, angle: f64, what: String| {
        let angle = angle - 360.0 * libm::floor(angle / 360.0);
        wanted.push((scale * at, angle, what.clone()));
        if angle % 180.0 != 0.0 {
            wanted.push((scale * at, 360.0 - angle, what));
        }
    };
    let several = |what: &str, i: usize, of: usize| {
        if of == 1 {
            what.to_owned()
        } else {
            format!("{what} {}", i + 1)
        }
    };
    for (i, eyes) in design.eyes.iter().enumerate() {
        put(eyes.at, eyes.angle, several("eye", i, design.eyes.len()));
    }
    for (i, fin) in design.fin.iter().enumerate() {
        let what = several("fin", i, design.fin.len());
        put(fin.at, fin.angle, format!("{what}, front"));
        put(
            fin.at + root_of(&fin.outline),
            fin.angle,
            format!("{what}, rear"),
        );
    }
    for (i, slot) in design.slot.iter().enumerate() {
        let what = several("slot", i, design.slot.len());
        let angle = match slot.side {
            Edge::Back => 0.0,
            Edge::Belly => 180.0,
        };
        put(slot.from, angle, format!("{what}, front"));
        put(slot.to, angle, format!("{what}, rear"));
    }
    for (i, pocket) in design.pocket.iter().enumerate() {
        put(
            pocket.at,
            pocket.angle,
            several("pocket", i, design.pocket.len()),
        );
    }
    for (i, legs) in design.legs.iter().enumerate() {
        if let LegStand::Row { at, angle, .. } = legs.stand {
            put(at, angle, several("legs", i, design.legs.len()));
        }
    }
    // Aslant, each mouth by itself.
    for (i, bore) in design.bore.iter().enumerate() {
        if bore.how == Making::Marked {
            let what = several("bore", i, design.bore.len());
            for [at, angle] in mouths(bore, body, scale) {
                wanted.push((at, angle, what.clone()));
            }
        }
    }
    wanted.retain(|(at, _, _)| (FROM_END..=body.length() - FROM_END).contains(at));
    wanted.sort_by(|a, b| a.0.total_cmp(&b.0));

    let parting = match design.mould.parting {
        Parting::Flank => [0.0, 180.0],
        Parting::Waist => [90.0, 270.0],
    };
    let mut strips: Vec<IndexStrip> = Vec::new();
    for (at, angle, what) in wanted {
        if strips.last().is_none_or(|s| at - s.at > SAME_PLACE) {
            strips.push(IndexStrip {
                at,
                girth: body.girth(at),
                marks: Vec::new(),
            });
            for angle in parting {
                mark(&mut strips, body, angle, "parting line");
            }
        }
        mark(&mut strips, body, angle, &what);
    }
    for strip in &mut strips {
        strip.marks.sort_by(|a, b| a.along.total_cmp(&b.along));
    }
    strips
}

/// Where a bore comes out of a round body, as distance from the nose and angle from the back round the
/// left side; none of a body that is not round, where no angle of the line is one of the strip.
fn mouths(bore: &BoreDesign, body: &Body, scale: f64) -> Vec<[f64; 2]> {
    const PLACES: usize = 512;
    let (Some(from), Some(to), Ok(())) = (bore.from, bore.to, body.roundness()) else {
        return Vec::new();
    };
    let along = |t: f64| [0, 1, 2].map(|k| scale * (from[k] + t * (to[k] - from[k])));
    let inside = |t: f64| {
        let [x, y, z] = along(t);
        (0.0..=body.length()).contains(&x) && libm::hypot(y, z) < body.back.height(x)
    };
    let mut found = Vec::new();
    for k in 0..PLACES {
        let (mut a, mut b) = (k as f64 / PLACES as f64, (k + 1) as f64 / PLACES as f64);
        let first = inside(a);
        if first == inside(b) {
            continue;
        }
        for _ in 0..48 {
            let middle = 0.5 * (a + b);
            if inside(middle) == first {
                a = middle;
            } else {
                b = middle;
            }
        }
        let [x, y, z] = along(0.5 * (a + b));
        let angle = libm::atan2(y, z).to_degrees();
        found.push([x, angle - 360.0 * libm::floor(angle / 360.0)]);
    }
    found
}

/// Length of a fin's root.
pub(crate) fn root_of(outline: &FinOutline) -> f64 {
    match outline {
        FinOutline::Stations { root, .. } => *root,
        FinOutline::Path(path) => {
            let low = path
                .elements()
                .iter()
                .filter_map(|e| e.end_point())
                .filter(|p| p.y <= 1e-6);
            let ends = low.fold([f64::INFINITY, f64::NEG_INFINITY], |[a, b], p| {
                [a.min(p.x), b.max(p.x)]
            });
            (ends[1] - ends[0]).max(0.0)
        }
    }
}

fn mark(strips: &mut [IndexStrip], body: &Body, angle: f64, what: &str) {
    let Some(strip) = strips.last_mut() else {
        return;
    };
    let along = body.girth_to(strip.at, angle);
    match strip
        .marks
        .iter_mut()
        .find(|m| (m.along - along).abs() < SAME_MARK)
    {
        Some(known) => {
            known.what.push_str(", ");
            known.what.push_str(what);
        }
        None => strip.marks.push(StripMark {
            along,
            angle,
            what: what.to_owned(),
        }),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::spec::{self, Format};

    #[test]
    fn the_mouths_of_a_marked_bore_have_their_marks() {
        // Across a cylinder of 20: from the left, up, to the right, down; by hand: y = ±6, z = ±8.
        let text = r#"
            body.length = 60
            body.nose = "flat"
            body.tail = "flat"
            body.outline = [{ at = 0, diameter = 20 }, { at = 60, diameter = 20 }]
            bore = [{ diameter = 1.5, from = [20, 9, 12], to = [40, -9, -12], how = "marked" }]
        "#;
        let design = spec::design(text, Format::Toml).unwrap();
        let strips = index_strips(&design, &Body::from_design(&design), 1.0);
        let turn = libm::atan2(6.0, 8.0).to_degrees();
        let found: Vec<[f64; 2]> = strips
            .iter()
            .flat_map(|s| s.marks.iter().map(|m| (s.at, m)))
            .filter(|(_, m)| m.what == "bore")
            .map(|(at, m)| [at, m.angle])
            .collect();
        let wanted = [[30.0 - 20.0 / 3.0, turn], [30.0 + 20.0 / 3.0, 180.0 + turn]];
        assert_eq!(found.len(), 2, "{strips:?}");
        for (found, wanted) in found.iter().zip(wanted) {
            for k in 0..2 {
                assert!((found[k] - wanted[k]).abs() < 1e-6, "{found:?}");
            }
        }
    }

    #[test]
    fn eyes_and_fins_are_marked_where_the_body_has_them() {
        let text = r#"
            body.length = 90
            body.outline = [{ at = 30, height = 20 }]
            eyes = [{ at = 14, angle = 60, diameter = 4, depth = 1 }]
            fin = [{ at = 30, angle = 0, root = 20, thickness = 2, outline = [{ at = 8, height = 9 }] }]
        "#;
        let design = spec::design(text, Format::Toml).unwrap();
        let body = Body::from_design(&design);
        let strips = index_strips(&design, &body, 1.0);
        let at: Vec<f64> = strips.iter().map(|s| s.at).collect();
        assert_eq!(at, [14.0, 30.0, 50.0]);
        for strip in &strips {
            // A round body: arc over girth is angle over the whole turn.
            for m in &strip.marks {
                assert!((m.along / strip.girth - m.angle / 360.0).abs() < 1e-12);
            }
        }
        let named: Vec<(f64, &str)> = strips[0]
            .marks
            .iter()
            .map(|m| (m.angle, m.what.as_str()))
            .collect();
        assert_eq!(
            named,
            [
                (0.0, "parting line"),
                (60.0, "eye"),
                (180.0, "parting line"),
                (300.0, "eye")
            ]
        );
        assert_eq!(strips[1].marks[0].what, "parting line, fin, front");
        // The circle's circumference.
        assert!((strips[1].girth - 20.0 * std::f64::consts::PI).abs() < 1e-9);
    }
}
