use super::*;
use crate::body::{Body, Master};
use crate::mesh::AxisMap;
use crate::mesh::shapes::sphere;
use crate::spec::{
    HookDesign, Metal, PointSide, SkirtDesign, WantedDesign, WeightShape, WireDesign,
};
use crate::water::Case;
use std::f64::consts::PI;

/// A spheroid along x from 0, of such a height and width.
fn hull(length: f64, height: f64, width: f64) -> Bed {
    let mesh = sphere(1.0, 16, 24);
    let points = mesh
        .points
        .iter()
        .map(|p| {
            Point3::new(
                0.5 * length * (1.0 + p.z),
                0.5 * width * p.x,
                0.5 * height * p.y,
            )
        })
        .collect();
    Bed::of_mesh(Mesh { points, ..mesh }, None, length)
}

fn ball(diameter: f64, at: f64, height: f64) -> WeightDesign {
    WeightDesign {
        shape: WeightShape::Ball,
        density: Metal::Lead.density(),
        diameter,
        length: diameter,
        hole: 0.0,
        at,
        height,
    }
}

fn straight_wire(diameter: f64) -> WireDesign {
    WireDesign {
        diameter,
        height: 0.0,
        ends: [None, None],
        eyes: [Some(3.0), None],
        twists: 3,
        density: Metal::Steel.density(),
    }
}

#[test]
fn masses_and_volumes_add_up() {
    let bed = hull(80.0, 18.0, 12.0);
    let design = RigDesign {
        wire: Some(straight_wire(0.8)),
        weights: vec![ball(5.0, 30.0, -4.0)],
        skirt: Some(SkirtDesign {
            at: None,
            strands: 40,
            length: 60.0,
            thickness: 0.6,
            density: 1.1,
        }),
        plastic_density: 1.06,
        ..RigDesign::default()
    };
    let rig = Rig::in_bed(&design, &bed);
    let area = 0.25 * PI * 0.64;
    let lead = PI / 6.0 * 125.0;
    // The straight run lies in plastic from end to end.
    let plastic = bed.volume - lead - 80.0 * area;
    assert!((rig.plastic.mass / (1.06e-3 * plastic) - 1.0).abs() < 2e-4);
    let plan = rig.wire.as_ref().unwrap();
    // An eye of 3 mm inside, three turns round the stem, and the run: by hand.
    let eye = PI * 3.8;
    let turns = 3.0 * (libm::hypot(2.0 * PI * 0.8, 0.8) + 0.8);
    assert!((plan.cut - (80.0 + eye + turns)).abs() < 1e-9);
    assert!((rig.inserts[0].part.mass - 7.85e-3 * area * plan.cut).abs() < 1e-9);
    assert!((plan.marks[1].0 - plan.marks[0].0 - eye).abs() < 1e-9);
    assert!((rig.eye.unwrap().x - (-2.4 - 1.9)).abs() < 1e-9);
    // All that is not plastic but in the water displaces more of it.
    let strands = 40.0 * 0.25 * PI * 0.36 * 60.0;
    let outside = strands + area * (eye + turns);
    assert!((rig.balance.volume - bed.volume - outside).abs() < 0.2);
    let mass: f64 = rig.inserts.iter().map(|i| i.part.mass).sum();
    assert!((rig.balance.mass - mass - rig.plastic.mass).abs() < 1e-9);
    assert!(rig.clashes().is_empty());
}

#[test]
fn skin_over_a_ball_is_exact_on_the_spheres_axis() {
    // A ball of 6 mm in the middle of a sphere of 20 mm, moved down by 3: 10 − 3 − 3.
    let rig = RigDesign {
        weights: vec![ball(6.0, 10.0, -3.0)],
        ..RigDesign::default()
    };
    let bed = hull(20.0, 20.0, 20.0);
    let rig = Rig::in_bed(&rig, &bed);
    let (insert, skin) = rig.thinnest().unwrap();
    assert_eq!(insert.path, "weight[0]");
    assert!((skin.thickness - 4.0).abs() < 0.08, "{skin:?}");
    assert!(skin.at.z < -5.8);
}

#[test]
fn what_comes_out_and_what_clashes_is_found() {
    let bed = hull(80.0, 18.0, 12.0);
    let mut design = RigDesign {
        weights: vec![ball(6.0, 40.0, -7.0)],
        ..RigDesign::default()
    };
    let rig = Rig::in_bed(&design, &bed);
    let out = rig.inserts[0].comes_out().unwrap();
    assert!((out.thickness + 1.0).abs() < 0.1, "{out:?}");
    // A ball on the wire shares its space; with a hole it does not.
    design.weights = vec![ball(6.0, 40.0, 0.0)];
    design.wire = Some(straight_wire(0.8));
    let rig = Rig::in_bed(&design, &bed);
    assert_eq!(rig.clashes().len(), 1);
    assert!(
        (rig.clashes()[0].2 - 3.0).abs() < 0.1,
        "{:?}",
        rig.clashes()
    );
    design.weights[0].hole = 1.0;
    assert!(Rig::in_bed(&design, &bed).clashes().is_empty());
    // Two balls in one another.
    design.wire = None;
    design.weights = vec![ball(6.0, 40.0, 0.0), ball(5.0, 44.5, 0.0)];
    let clash = Rig::in_bed(&design, &bed).clashes();
    assert!((clash[0].2 - 1.0).abs() < 0.1, "{clash:?}");
    // A hook may come out, and hang in the wire's rear eye.
    design.weights.clear();
    design.wire = Some(WireDesign {
        ends: [None, Some(30.0)],
        eyes: [Some(3.0), Some(2.0)],
        ..straight_wire(0.8)
    });
    design.hook = Some(HookDesign {
        at: 33.5,
        height: 0.0,
        wire: 0.9,
        shank: 20.0,
        gap: 12.0,
        bend: 12.0,
        eye: 2.0,
        point: PointSide::Up,
        mass: None,
    });
    let rig = Rig::in_bed(&design, &bed);
    assert!(rig.clashes().is_empty(), "{:?}", rig.clashes());
    let hook = &rig.inserts[1];
    assert!(hook.outside.0 > 0.0 && hook.comes_out().is_none());
    // Wire of the hook: eye, shank, bend, and the leg to the point.
    let bend = 0.5 * 12.9;
    let wire = PI * 2.9 + 20.0 + PI * bend + (12.0 - bend);
    let volume = 0.25 * PI * 0.81 * wire;
    assert!((hook.embedded.0 + hook.outside.0) / volume - 1.0 < 1e-2);
    assert!((hook.part.mass / (7.85e-3 * volume) - 1.0).abs() < 1e-2);
}

#[test]
fn a_wire_that_runs_beside_the_bait_is_refused() {
    let told = |height: f64| {
        let text = format!(
            "body.length = 70\nbody.outline = [{{ at = 22, height = 14 }}, {{ at = 58, height = 7 }}]\n\
             wire = {{ diameter = 1, height = {height} }}\n"
        );
        let design = crate::spec::design(&text, crate::spec::Format::Toml).unwrap();
        let body = Body::from_design(&design);
        let bed = Bed::of(&body, &Master::build(&design, &body).unwrap()).unwrap();
        Rig::build(&design, &bed).err()
    };
    // The body reaches 7 mm above the axis.
    for height in [8.0, 9.0, -9.0] {
        let problems = told(height).unwrap().to_string();
        assert!(problems.contains("wire.height"), "{problems}");
        assert!(problems.contains("no part of this wire"), "{problems}");
    }
    assert!(told(6.0).is_none_or(|p| !p.to_string().contains("no part of this wire")));
}

#[test]
fn a_weight_that_comes_out_is_told_the_nearest_place_where_it_does_not() {
    let told = |scale: f64, at: f64, more: &str| {
        let text = format!(
            "scale = {scale}\nbody.length = 90\nbody.outline = [{{ at = 8, height = 11 }}, \
             {{ at = 30, height = 19 }}, {{ at = 62, height = 12 }}]\n\
             weight = [{{ shape = 'ball', diameter = 9, at = {at} }}{more}]\n"
        );
        refused(&text)
    };
    let place = |limit: &str| -> f64 {
        let (_, place) = limit.split_once("at = ").unwrap();
        place.split(' ').next().unwrap().parse().unwrap()
    };
    for (scale, at) in [(1.0, 86.0), (1.0, 2.0), (1.3, 88.0)] {
        let limit = told(scale, at, "").unwrap().0[0].limit.clone().unwrap();
        let place = place(&limit);
        assert!(told(scale, place, "").is_none(), "{limit}");
        // The nearest, but for the step of the search.
        let beyond = place + 1.2 * (at - place).signum();
        assert!(told(scale, beyond, "").is_some(), "{limit}");
    }
    // Clear of another weight, which stands where it would do else.
    let alone = place(told(1.0, 86.0, "").unwrap().0[0].limit.as_deref().unwrap());
    let more = format!(", {{ shape = 'ball', diameter = 6, at = {} }}", alone - 2.0);
    let beside = place(
        told(1.0, 86.0, &more).unwrap().0[0]
            .limit
            .as_deref()
            .unwrap(),
    );
    assert!(beside < alone - 5.0, "{beside} {alone}");
    assert!(told(1.0, beside, &more).is_none());
    // In inches, as it is shown.
    let inches = |at: f64| {
        format!(
            "units = 'in'\nbody.length = 3.5\nbody.outline = [{{ at = 1.2, height = 0.75 }}]\n\
             weight = [{{ shape = 'ball', diameter = 0.35, at = {at} }}]\n"
        )
    };
    let at = place(
        refused(&inches(3.4)).unwrap().0[0]
            .limit
            .as_deref()
            .unwrap(),
    );
    assert!(refused(&inches(at)).is_none(), "{at}");
}

#[test]
fn a_hook_beside_the_bait_is_refused() {
    let told = |at: f64, more: &str| {
        let text = format!(
            "body.length = 90\nbody.outline = [{{ at = 30, height = 19 }}, {{ at = 62, height = 12 }}]\n\
             hook = {{ at = {at}, wire = 0.9, shank = 22, gap = 9 }}\n{more}"
        );
        refused(&text).map_or(String::new(), |problems| problems.to_string())
    };
    for at in [93.0, 304.0] {
        assert!(
            told(at, "").contains("no part of this hook"),
            "{}",
            told(at, "")
        );
    }
    assert!(!told(70.0, "").contains("no part of this hook"));
    // From a wire it may hang in the water.
    assert!(!told(93.0, "wire = { diameter = 0.8 }\n").contains("no part of this hook"));
}

/// What is wrong with the rig of a spec.
fn refused(text: &str) -> Option<crate::spec::Problems> {
    let design = crate::spec::design(text, crate::spec::Format::Toml).unwrap();
    let body = Body::from_design(&design);
    let bed = Bed::of(&body, &Master::build(&design, &body).unwrap()).unwrap();
    Rig::build(&design, &bed).err()
}

#[test]
fn the_mirror_image_is_the_same_rig() {
    let bed = hull(80.0, 18.0, 12.0);
    let design = RigDesign {
        weights: vec![ball(5.0, 30.0, -4.0)],
        ..RigDesign::default()
    };
    let home = Rig::in_bed(&design, &bed);
    let mirrored = bed.plastic.mesh().clone().mapped(&AxisMap::MIRROR_Y);
    let image = Rig::in_bed(&design, &Bed::of_mesh(mirrored, None, 80.0));
    assert!((home.balance.mass / image.balance.mass - 1.0).abs() < 1e-12);
    let angle = |rig: &Rig| rig.balance.free().unwrap().nose_down;
    assert!((angle(&home) - angle(&image)).abs() < 1e-9);
    let speed = |rig: &Rig| rig.sinker.terminal().unwrap().middle.sink;
    assert!((speed(&home) / speed(&image) - 1.0).abs() < 1e-9);
}

#[test]
fn sensitivity_is_what_happens() {
    let bed = hull(80.0, 18.0, 12.0);
    let mut design = RigDesign {
        wire: Some(straight_wire(0.8)),
        weights: vec![ball(5.0, 30.0, -5.0)],
        ..RigDesign::default()
    };
    let rig = Rig::in_bed(&design, &bed);
    let [[free, more], [line, _]] = rig.sensitivity();
    let home = rig.balance.free().unwrap();
    let turns = |by: &dyn Fn(&mut WeightDesign)| {
        let mut other = design.clone();
        by(&mut other.weights[0]);
        home.turn_to(&Rig::in_bed(&other, &bed).balance.free().unwrap())
    };
    let worst = [[0.5, 0.0], [-0.5, 0.0], [0.0, 0.5], [0.0, -0.5]]
        .map(|[x, z]| {
            turns(&|w| {
                w.at += x;
                w.height += z;
            })
        })
        .into_iter()
        .fold(0.0, f64::max);
    assert!((free.unwrap() / worst - 1.0).abs() < 0.02);
    assert!(more.unwrap() > 0.0 && line.unwrap() > 0.0);

    // Two weights that nearly balance: with less of the heavier one it turns further than with more.
    design.wire = None;
    design.weights = vec![ball(4.0, 46.0, -4.0), ball(3.0, 25.0, 2.0)];
    let rig = Rig::in_bed(&design, &bed);
    let [[_, mass], _] = rig.sensitivity();
    let at = Point3::new(46.0, 0.0, -4.0);
    let home = rig.balance.free().unwrap();
    let [more, less] =
        [0.1, -0.1].map(|by| home.turn_to(&rig.balance.with_more(by, &at).free().unwrap()));
    assert!(less > more, "{less} {more}");
    assert!((mass.unwrap() - less).abs() < 1e-9, "{mass:?}");
}

/// The same numbers for every run, evenly in 0..1.
struct Dice(u64);

impl Dice {
    fn roll(&mut self, from: f64, to: f64) -> f64 {
        // Marsaglia's xorshift64.
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        from + (to - from) * (self.0 >> 11) as f64 / (1u64 << 53) as f64
    }
}

#[test]
fn a_thousand_answers_put_back() {
    let mut dice = Dice(0x9e37_79b9_7f4a_7c15);
    let (mut placed, mut heavy, mut no_place, mut unsteady) = (0, 0, 0, 0);
    let beds: Vec<Bed> = (0..25)
        .map(|_| {
            let height = dice.roll(10.0, 30.0);
            hull(
                height * dice.roll(2.5, 6.0),
                height,
                height * dice.roll(0.5, 1.2),
            )
        })
        .collect();
    for i in 0..1000 {
        let bed = &beds[i % beds.len()];
        let shape = match i % 4 {
            0 => WeightShape::Ball,
            1 => WeightShape::Cylinder,
            2 => WeightShape::Cone,
            _ => WeightShape::Egg,
        };
        let density =
            [Metal::Lead, Metal::Tungsten, Metal::Tin, Metal::Bismuth][i / 4 % 4].density();
        let design = RigDesign {
            wire: (dice.roll(0.0, 1.0) < 0.3).then(|| straight_wire(dice.roll(0.4, 1.0))),
            weights: vec![WeightDesign {
                shape,
                density,
                length: if shape == WeightShape::Ball {
                    1.0
                } else {
                    dice.roll(1.2, 2.5)
                },
                ..ball(1.0, 0.0, 0.0)
            }],
            plastic_density: dice.roll(0.95, 1.08),
            salinity: dice.roll(0.0, 38.0),
            temperature: dice.roll(0.0, 30.0),
            ..RigDesign::default()
        };
        let depth = dice.roll(200.0, 2000.0);
        let wanted = WantedDesign {
            depth,
            time: depth / dice.roll(60.0, 400.0),
            hang: if i % 3 == 0 {
                dice.roll(-30.0, 40.0)
            } else {
                0.0
            },
        };
        match place_weight(&design, &wanted, bed) {
            Ok(found) => {
                placed += 1;
                let mut answer = design.clone();
                answer.weights[0] = found.weight;
                let rig = Rig::in_bed(&answer, bed);
                assert!((found.weight.mass() / found.mass - 1.0).abs() < 1e-9);
                let motion = rig.sinker.terminal().unwrap().middle;
                assert!(
                    (motion.nose_down - wanted.hang).abs() < 0.1,
                    "{wanted:?} {motion:?}"
                );
                let fall = rig.sinker.fall(wanted.depth, 1.0, Case::Middle).unwrap();
                assert!(
                    (fall.time / wanted.time - 1.0).abs() < 0.01,
                    "{wanted:?} {fall:?}"
                );
                assert!(
                    rig.thinnest().unwrap().1.thickness >= KEPT_SKIN - 1e-9 || rig.wire.is_some()
                );
                let weight = rig
                    .inserts
                    .iter()
                    .find(|i| i.kind == InsertKind::Weight)
                    .unwrap();
                assert!(weight.skin.unwrap().thickness >= KEPT_SKIN - 1e-9);
                assert!(rig.clashes().is_empty());
                assert!(
                    found
                        .stock
                        .iter()
                        .any(|s| s.mass > found.mass && s.time.is_some())
                );
            }
            Err(NotPlaced::TooHeavy { plastic }) => {
                heavy += 1;
                // Without the weight it is too fast already; with the lighter plastic it is not.
                let rest = RigDesign {
                    weights: Vec::new(),
                    ..design.clone()
                };
                let held = |rest: &RigDesign| {
                    let rig = Rig::in_bed(rest, bed);
                    rig.sinker
                        .fall_at(wanted.hang, wanted.depth, 1.0, Case::Middle)
                        .unwrap()
                        .time
                };
                assert!(held(&rest) <= wanted.time * (1.0 + 1e-9));
                if let Some(plastic) = plastic {
                    let lighter = RigDesign {
                        plastic_density: plastic.density,
                        ..rest
                    };
                    assert!((held(&lighter) / wanted.time - 1.0).abs() < 1e-3);
                    // What is said of it is what it does, left to itself.
                    let alone = Rig::in_bed(&lighter, bed).sinker;
                    let angle = alone.terminal().unwrap().middle.nose_down;
                    assert!((plastic.nose_down - angle).abs() < 0.5);
                    assert!(!plastic.as_wanted || (angle - wanted.hang).abs() < 1.5);
                }
            }
            Err(NotPlaced::Impossible { .. }) => {
                no_place += 1;
                // As heavy as the bait were it tungsten, it is too slow even so.
                let mut sinker = Rig::in_bed(&design, bed).sinker;
                sinker.balance.mass = 19.3e-3 * bed.volume;
                let fall = sinker.fall_at(wanted.hang, wanted.depth, 1.0, Case::Middle);
                assert!(fall.unwrap().time > 0.9 * wanted.time, "{wanted:?}");
            }
            Err(NotPlaced::NoPlace { skin, .. }) => {
                no_place += 1;
                assert!(skin < KEPT_SKIN || design.wire.is_some());
            }
            Err(NotPlaced::Unsteady { nose_down, .. }) => {
                unsteady += 1;
                assert!(nose_down.is_nan() || (nose_down - wanted.hang).abs() >= 0.1);
            }
        }
    }
    // None of the answers is rare.
    assert!(
        placed > 300 && heavy > 20 && no_place > 50,
        "{placed} {heavy} {no_place} {unsteady}"
    );
}

#[test]
fn a_sink_that_no_metal_brings_about_is_said_to_be_impossible() {
    let bed = hull(75.0, 16.0, 12.0);
    let design = RigDesign {
        weights: vec![ball(3.0, 40.0, -3.0)],
        ..RigDesign::default()
    };
    let wanted = |time: f64| WantedDesign {
        depth: 3000.0,
        time,
        hang: 0.0,
    };
    // 6 m/s, and 0.5 m/s.
    let none = place_weight(&design, &wanted(0.5), &bed);
    assert!(
        matches!(none, Err(NotPlaced::Impossible { .. })),
        "{none:?}"
    );
    let some = place_weight(&design, &wanted(6.0), &bed);
    assert!(
        !matches!(some, Err(NotPlaced::Impossible { .. })),
        "{some:?}"
    );
}
