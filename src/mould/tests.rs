use super::*;
use crate::spec::*;

fn knot(at: f64, y: f64) -> Knot {
    Knot {
        at,
        before: y,
        after: y,
        corner: false,
    }
}

/// A flattened fish of 90 mm.
fn design() -> Design {
    let side = |f: f64| {
        [(8.0, 5.5), (30.0, 9.5), (62.0, 6.0), (78.0, 3.0)]
            .map(|(at, y)| knot(at, y * f))
            .to_vec()
    };
    Design {
        name: "test".into(),
        units: Default::default(),
        body: BodyDesign {
            length: 90.0,
            nose: End::Round,
            tail: End::Round,
            back: side(1.0),
            belly: side(0.9),
            half_width: side(0.62),
            exponent: 2.0,
        },
        collar: Vec::new(),
        mould: MouldDesign {
            parting: Parting::Flank,
            wall: 9.5,
            key_count: 4,
            key_radius: 3.0,
            key_height: 4.0,
            key_clearance: 0.2,
            sprue_end: BodyEnd::Nose,
            gate_radius: None,
            mouth_radius: 8.0,
            funnel_depth: 12.0,
            vent_count: 2,
            vent_width: 1.5,
            vent_depth: 0.5,
        },
        tolerance: 0.05,
    }
}

fn with_collar() -> Design {
    let mut d = design();
    d.body.tail = End::Flat;
    for side in [&mut d.body.back, &mut d.body.belly, &mut d.body.half_width] {
        side.push(knot(90.0, 6.0));
    }
    d.collar = vec![
        CollarDesign {
            length: 4.0,
            radius: 3.0,
        },
        CollarDesign {
            length: 6.0,
            radius: 4.0,
        },
    ];
    d
}

fn build(design: &Design) -> Mould {
    Mould::build(design, &Body::from_design(design)).unwrap()
}

fn sound(mould: &Mould) {
    for (name, mesh) in [
        ("upper", &mould.upper),
        ("lower", &mould.lower),
        ("cavity", &mould.cavity),
    ] {
        mesh.check().unwrap_or_else(|e| panic!("{name}: {e}"));
    }
    let block: f64 = mould.block.size().iter().product();
    let sum = mould.upper.volume() + mould.lower.volume() + mould.cavity.volume() + mould.gap;
    assert!((sum - block).abs() < 1e-9 * block, "{sum} {block}");
}

#[test]
fn block_is_shared_out_without_loss() {
    for parting in [Parting::Flank, Parting::Waist] {
        for end in [BodyEnd::Nose, BodyEnd::Tail] {
            let mut d = design();
            d.mould.parting = parting;
            d.mould.sprue_end = end;
            sound(&build(&d));
        }
    }
    sound(&build(&with_collar()));
}
