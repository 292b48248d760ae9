use nalgebra::Point3;
use proptest::prelude::*;

use super::*;
use crate::mould::channels::{Sprue, Vent};
use crate::spec::MouldDesign;

fn design(shape: KeyShape, count: usize) -> Design {
    let text = "body.length = 60\nbody.outline = [{ at = 20, height = 12 }]";
    let design = crate::spec::design(text, crate::spec::Format::Toml).unwrap();
    let mould = MouldDesign {
        key_shape: shape,
        key_count: Some(count),
        steps: true,
        key_height: 3.0,
        ..design.mould
    };
    Design { mould, ..design }
}

fn block(size: [f64; 2]) -> Bounds {
    Bounds {
        min: Point3::new(-20.0, -0.5 * size[1], -20.0),
        max: Point3::new(size[0] - 20.0, 0.5 * size[1], 20.0),
    }
}

/// A funnel of 16 mm in the middle of the nose's end, and vents at the other.
fn channels(block: &Bounds, vents: &[f64]) -> Channels {
    let from = block.min.x;
    let vent = |&y: &f64| Vent {
        bounds: Bounds {
            min: Point3::new(block.max.x - 15.0, y - 0.75, -0.25),
            max: Point3::new(block.max.x, y + 0.75, 0.25),
        },
    };
    Channels {
        sprue: Sprue {
            end: BodyEnd::Nose,
            axis: 0.0,
            gate_radius: 2.0,
            covers: 0.0,
            opens: 1.0,
            corners: vec![(from, 8.0), (from + 12.0, 2.5), (from + 18.0, 2.0)],
        },
        runner: None,
        vents: vents.iter().map(vent).collect(),
        grooves: Vec::new(),
    }
}

/// The widest gap between neighbours with so many on each side.
fn widest(rim: &Rim, dealt: [usize; 4]) -> f64 {
    let gaps = dealt.iter().enumerate().map(|(side, &n)| rim.gap(side, n));
    gaps.fold(0.0, f64::max)
}

proptest! {
    #[test]
    fn keys_of_random_blocks_are_spread_clear_and_fit_one_way_only(
        x in 60.0..400.0_f64, y in 40.0..600.0_f64, square: bool, count in 4usize..25,
        shape in 0usize..3, vents in prop::collection::vec(-0.4..0.4_f64, 0..12),
    ) {
        let shape = [KeyShape::Cone, KeyShape::Dome, KeyShape::Bar][shape];
        let y = if square { x } else { y };
        let (design, block) = (design(shape, count), block([x, y]));
        let vents: Vec<f64> = vents.iter().map(|v| v * y).collect();
        let ways = channels(&block, &vents);
        let (keys, _) = place(&design, &block, &PartingFace::default(), &[], |_| Ok(ways.clone()));
        let rim = Rim::new(&design, &block);
        let keys = match keys {
            Ok(keys) => keys,
            Err(problems) => {
                // As many as it names do go in, and one more does not.
                let limit = problems.0[0].limit.clone().unwrap();
                let words: Vec<&str> = limit.split([' ', ',']).collect();
                if words[0] == "at" {
                    let fits: usize = words[2].parse().unwrap();
                    let attempt = |n| rim.place(n, &[], |_| Ok(ways.clone())).is_some();
                    prop_assert!(attempt(fits) && !attempt(fits + 1) && fits < count);
                }
                return Ok(());
            }
        };
        prop_assert_eq!(keys.len(), count);
        for (i, key) in keys.iter().enumerate() {
            for k in 0..2 {
                prop_assert!(key.at[k] - key.reach()[k] >= block.min[k] + LAND - 1e-9);
                prop_assert!(key.at[k] + key.reach()[k] <= block.max[k] - LAND + 1e-9);
            }
            for other in &keys[..i] {
                let apart = |k: usize| (key.at[k] - other.at[k]).abs() - key.reach()[k] - other.reach()[k];
                prop_assert!(apart(0).max(apart(1)) >= LAND - 1e-9, "{:?} {:?}", key, other);
            }
            // Off the vents, box from box, and off the funnel's mouth.
            // Those in the corners stand beside all baits.
            for v in vents.iter().filter(|_| key.turned) {
                let dy = (key.at[1] - v).abs() - 0.75 - key.reach()[1];
                let dx = block.max.x - 15.0 - key.at[0] - key.reach()[0];
                prop_assert!(dx.max(dy) > 0.5 * LAND);
            }
            if key.turned && key.at[0] - key.reach()[0] < block.min.x + 12.0 {
                prop_assert!(key.at[1].abs() - key.reach()[1] > 8.0 - 3.0);
            }
        }
        // Three half turns and two mirrors come to three ways in the parting face; a square block
        // goes a quarter round as well.
        let mid = block.centre();
        let mut ways_round: Vec<[[f64; 2]; 2]> = vec![
            [[-1.0, 0.0], [0.0, -1.0]],
            [[-1.0, 0.0], [0.0, 1.0]],
            [[1.0, 0.0], [0.0, -1.0]],
        ];
        if square {
            ways_round.extend([[[0.0, -1.0], [1.0, 0.0]], [[0.0, 1.0], [-1.0, 0.0]]]);
        }
        for [row, column] in ways_round {
            let stopped = keys.iter().any(|key| {
                let [dx, dy] = [key.at[0] - mid.x, key.at[1] - mid.y];
                let to = [
                    mid.x + row[0] * dx + row[1] * dy,
                    mid.y + column[0] * dx + column[1] * dy,
                ];
                // It meets the face beside every socket.
                keys.iter().all(|k| libm::hypot(to[0] - k.at[0], to[1] - k.at[1]) > k.radius)
            });
            prop_assert!(stopped, "{:?}", keys);
        }
        // No other way to deal them to the sides has a narrower widest gap; only what is in the
        // way at an end makes them stand elsewhere.
        let free = rim.dealt(count, [MOST; 2]).unwrap();
        let room = |n: usize| n == 0 || rim.gap(2, n) >= rim.pitch;
        let mut best = f64::INFINITY;
        for right in 2..=count - 2 {
            for left in 2..=count - right {
                for far in 0..=count - right - left {
                    let near = count - right - left - far;
                    let fits = right as f64 * rim.pitch <= rim.room()
                        && (left - 1) as f64 * rim.pitch <= rim.room();
                    if fits && room(far) && room(near) {
                        best = best.min(widest(&rim, [right, left, far, near]));
                    }
                }
            }
        }
        prop_assert!(widest(&rim, free) <= best + 1e-9, "{:?} {}", free, best);
        // The hull of all is the rectangle of the corners less the one that is empty.
        let [low, high] = rim.across;
        for corner in [[rim.row[0], low], [rim.row[0], high], [rim.row[1], high], [rim.row[1] - rim.pitch, low]] {
            prop_assert!(keys.iter().any(|k| libm::hypot(k.at[0] - corner[0], k.at[1] - corner[1]) < 1e-9));
        }
    }
}

#[test]
fn a_large_block_has_more_keys_if_no_count_is_asked_for() {
    let count = |size: [f64; 2]| {
        let mut design = design(KeyShape::Cone, 4);
        design.mould.key_count = None;
        let block = block(size);
        let ways = channels(&block, &[0.0]);
        let (keys, _) = place(&design, &block, &PartingFace::default(), &[], |_| {
            Ok(ways.clone())
        });
        let keys = keys.unwrap();
        let at_ends = keys.iter().filter(|key| key.turned).count();
        (keys.len(), at_ends)
    };
    assert_eq!(count([120.0, 60.0]), (4, 0));
    assert_eq!(count([200.0, 60.0]), (6, 0));
    assert_eq!(count([120.0, 300.0]), (8, 4));
    assert_eq!(count([300.0, 300.0]), (12, 4));
    // It never asks for what does not go in.
    assert_eq!(count([40.0, 25.0]), (4, 0));
}
