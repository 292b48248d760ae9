//! The lathe gauge read back from its SVG text.

#![allow(clippy::unwrap_used)]

use baitwright::body::Body;
use baitwright::curve::Outline;
use baitwright::drawing::gauge_sheet;
use baitwright::export::svg::to_svg;
use baitwright::lathe::Gauge;
use baitwright::quantity::LengthUnit;
use baitwright::spec::{CollarDesign, End, Knot};
use kurbo::{BezPath, ParamCurve, Point, Shape};

fn knot(at: f64, before: f64, after: f64) -> Knot {
    Knot {
        at,
        before,
        after,
        corner: before != after,
    }
}

fn leaf_darter() -> Body {
    let knots = [
        knot(6.0, 4.5, 4.5),
        knot(20.0, 8.0, 8.0),
        knot(40.0, 8.7, 6.5),
        knot(42.0, 6.0, 6.0),
        knot(44.0, 5.7, 4.5),
        knot(76.0, 4.0, 4.0),
    ];
    let outline = Outline::through(&knots, 76.0, End::Round, End::Flat);
    let mut body = Body::revolved(outline, End::Round, End::Flat);
    body.collar = vec![
        CollarDesign {
            length: 3.0,
            radius: 2.5,
        },
        CollarDesign {
            length: 4.0,
            radius: 3.5,
        },
    ];
    body
}

fn sheet(body: &Body) -> String {
    let gauge = Gauge::of(body).unwrap();
    to_svg(&gauge_sheet(
        &gauge,
        "Leaf <darter> & \u{1}kin",
        LengthUnit::In,
    ))
}

fn attribute<'a>(element: &'a str, name: &str) -> &'a str {
    let from = element.find(&format!(" {name}=\"")).unwrap() + name.len() + 3;
    element[from..].split('"').next().unwrap()
}

fn path(svg: &str, id: &str) -> BezPath {
    let place = svg.find(&format!("id=\"{id}\"")).unwrap();
    let element = &svg[svg[..place].rfind('<').unwrap()..];
    BezPath::from_svg(attribute(element, "d")).unwrap()
}

/// Points along a path, with which of its segments they lie on.
fn points(path: &BezPath) -> Vec<Point> {
    path.segments()
        .flat_map(|s| (0..=40).map(move |i| s.eval(f64::from(i) / 40.0)))
        .collect()
}

/// Radius of the master at x on either side of a shoulder, straight from the body.
fn radii(body: &Body, x: f64) -> [f64; 2] {
    if x < body.length() {
        return [body.back.height_before(x), body.back.height(x)];
    }
    if x < body.length() + 3.0 {
        [2.5; 2]
    } else {
        [3.5; 2]
    }
}

#[test]
fn the_page_is_one_to_one() {
    // W3C, CSS Values and Units Level 3, absolute lengths: mm are physical in print.
    let svg = sheet(&leaf_darter());
    let [_, _, w, h] = attribute(&svg, "viewBox")
        .split(' ')
        .map(|n| n.parse::<f64>().unwrap())
        .collect::<Vec<_>>()[..]
    else {
        panic!("view box");
    };
    assert_eq!(attribute(&svg, "width"), format!("{w}mm"));
    assert_eq!(attribute(&svg, "height"), format!("{h}mm"));
    // A transform on anything but lettering would undo the scale.
    let moved = svg.matches("transform=").count();
    assert_eq!(moved, svg.matches("aria-label=").count());
    let turned = svg.matches("rotate(-90)").count();
    assert_eq!(turned, 2);
}

#[test]
fn a_short_body_gets_exactly_one_page_and_a_long_one_a_longer_page() {
    let view = |length: f64, units| {
        let knots = [knot(0.4 * length, 9.0, 9.0)];
        let outline = Outline::through(&knots, length, End::Round, End::Round);
        let body = Body::revolved(outline, End::Round, End::Round);
        let svg = to_svg(&gauge_sheet(&Gauge::of(&body).unwrap(), "test", units));
        attribute(&svg, "viewBox").to_owned()
    };
    // ISO 216, and ASME Y14.1 for those who write inches.
    assert_eq!(view(90.0, LengthUnit::Mm), "0 0 297 210");
    assert_eq!(view(217.0, LengthUnit::Mm), "0 0 297 210");
    assert_eq!(view(400.0, LengthUnit::Mm), "0 0 480 210");
    assert_eq!(view(90.0, LengthUnit::In), "0 0 279.4 215.9");
}

#[test]
fn check_bars_are_exactly_as_long_as_they_say() {
    let svg = sheet(&leaf_darter());
    for (id, along_x, length) in [
        ("check-50mm-x", true, 50.0),
        ("check-50mm-y", false, 50.0),
        ("check-2in-x", true, 50.8),
        ("check-2in-y", false, 50.8),
    ] {
        let area = path(&svg, id).bounding_box();
        let (along, across) = if along_x {
            (area.width(), area.height())
        } else {
            (area.height(), area.width())
        };
        assert!((along - length).abs() < 1e-9 && across == 0.0, "{id}");
    }
}

#[test]
fn the_profile_in_the_text_is_the_outline() {
    let body = leaf_darter();
    let svg = sheet(&body);
    let whole = path(&svg, "profile");
    let area = whole.bounding_box();
    assert!((area.width() - 83.0).abs() < 2e-3);
    let nose = Point::new(area.x0, 0.5 * (area.y0 + area.y1));
    let mut seen = 0;
    for p in points(&whole) {
        let (x, r) = (p.x - nose.x, (p.y - nose.y).abs());
        let upright = [0.0, 40.0, 44.0, 76.0, 79.0, 83.0]
            .iter()
            .any(|s| (x - s).abs() < 2e-3);
        // A round nose is upright at its tip, where r against x says nothing; the tip is
        // compared across: the x that has this radius.
        if !upright && x > 0.05 {
            let off = radii(&body, x).map(|t| (r - t).abs());
            assert!(off[0].min(off[1]) < 0.01, "at {x}: off by {off:?}");
            seen += 1;
        }
    }
    assert!(seen > 500);

    // The same half profile bounds the card, on its own axis.
    let card = path(&svg, "gauge-cut");
    let axis = card.bounding_box().y1;
    let half: Vec<Point> = points(&whole)
        .into_iter()
        .filter(|p| p.y < nose.y - 0.01 && p.x > area.x0)
        .collect();
    let on_card = points(&card);
    for p in half {
        let (x, y) = (p.x, p.y - nose.y + axis);
        let near = |q: &Point| (q.x - x).abs() < 0.002 && (q.y - y).abs() < 0.002;
        assert!(on_card.iter().any(near), "({x}, {y}) is not on the card");
    }
}

#[test]
fn the_two_halves_mirror_each_other() {
    let whole = path(&sheet(&leaf_darter()), "profile");
    let area = whole.bounding_box();
    let axis = 0.5 * (area.y0 + area.y1);
    let all = points(&whole);
    for p in &all {
        let mirrored = Point::new(p.x, 2.0 * axis - p.y);
        assert!(
            all.iter().any(|q| q.distance(mirrored) < 0.0015),
            "{p:?} has no mirror image"
        );
    }
}

#[test]
fn the_text_is_well_formed_and_the_same_every_time() {
    let svg = sheet(&leaf_darter());
    assert_eq!(svg, sheet(&leaf_darter()));
    assert!(svg.contains("Leaf &lt;darter&gt; &amp;  kin") && !svg.contains('\u{1}'));
    assert!(svg.contains("collar, core print") && svg.contains("shoulder"));
    assert!(svg.contains("11/16 in (17.4)"));
}

#[test]
fn a_flat_sided_body_is_refused() {
    let mut body = leaf_darter();
    body.half_width = Outline::through(
        &[knot(20.0, 5.0, 5.0), knot(76.0, 4.0, 4.0)],
        76.0,
        End::Round,
        End::Flat,
    );
    let refused = Gauge::of(&body).unwrap_err();
    assert!(refused.run_out > 3.0 && (refused.at - 40.0).abs() < 5.0);
    assert!(refused.to_string().contains("width"), "{refused}");
}
