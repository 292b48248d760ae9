//! Pieces that fit the printer, joined with dowels.

use nalgebra::{Point3, Vector3};

use super::tools::{together, turned};
use crate::mesh::slice::Sliced;
use crate::mesh::{AxisMap, Bounds, Mesh, Solid, SolidError};

/// A bore is wider than its dowel by this all round: pins that push in by hand (common
/// practice).
pub(super) const BORE_CLEARANCE: f64 = 0.1;
/// How deep a dowel goes into each piece, in its diameters (reasoned).
const DEPTH: f64 = 2.0;
/// Least material round a bore: a few print lines.
const AROUND: f64 = 0.8;
/// Radii of dowels if none is stated, the first that fits (common sizes of pins and rods).
const RADII: [f64; 3] = [2.0, 1.5, 1.0];

/// Why a part cannot be brought onto the bed.
#[derive(Debug)]
pub(super) enum Unfit {
    /// It is this high, in mm.
    TooHigh(f64),
    /// At a cut there is no room for two dowels.
    NoDowel,
    /// A cut failed.
    Solid(SolidError),
}

impl From<SolidError> for Unfit {
    fn from(error: SolidError) -> Self {
        Unfit::Solid(error)
    }
}

/// The part, or the pieces of it, each of which fits a bed of this size lying as it does or
/// turned by a quarter, and the radius of the dowels that join them.
pub(super) fn fitted(
    part: &Mesh,
    bed: [f64; 3],
    dowel: Option<f64>,
) -> Result<(Vec<Mesh>, f64), Unfit> {
    let radii = dowel.map_or(RADII.to_vec(), |radius| vec![radius]);
    let mut last = Unfit::NoDowel;
    for radius in radii {
        match pieces(part.clone(), bed, radius) {
            Ok(pieces) => return Ok((pieces, radius)),
            Err(unfit @ Unfit::NoDowel) => last = unfit,
            Err(other) => return Err(other),
        }
    }
    Err(last)
}

fn pieces(part: Mesh, bed: [f64; 3], dowel: f64) -> Result<Vec<Mesh>, Unfit> {
    const ROUNDING: f64 = 1e-6;
    let Some(bounds) = part.bounds() else {
        return Ok(vec![part]);
    };
    let size = bounds.size();
    if size.z > bed[2] + ROUNDING {
        return Err(Unfit::TooHigh(size.z));
    }
    // The longer side lies along the longer side of the bed.
    let (long, short) = (bed[0].max(bed[1]), bed[0].min(bed[1]));
    let room = if size.x >= size.y {
        [long, short]
    } else {
        [short, long]
    };
    let mut pieces = along_x(part, room[0], dowel)?;
    if size.y > room[1] + ROUNDING {
        let mut smaller = Vec::new();
        for piece in pieces {
            for slice in along_x(piece.mapped(&AxisMap::Y_ALONG), room[1], dowel)? {
                smaller.push(slice.mapped(&AxisMap::Y_BACK));
            }
        }
        pieces = smaller;
    }
    Ok(pieces)
}

/// Cuts a part square to x into pieces of equal length no longer than `room`.
#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
fn along_x(part: Mesh, room: f64, dowel: f64) -> Result<Vec<Mesh>, Unfit> {
    let Some(bounds) = part.bounds() else {
        return Ok(vec![part]);
    };
    let length = bounds.size().x;
    let count = (length / room - 1e-9).ceil().max(1.0) as usize;
    if count == 1 {
        return Ok(vec![part]);
    }
    let places = cuts(&part, &bounds, count, room);
    let sliced = Sliced::new(part);
    let mut bores = Vec::new();
    for &x in &places {
        let radius = dowel + BORE_CLEARANCE;
        let depth = DEPTH * 2.0 * dowel;
        let spots = spots(&sliced, x, radius, depth).ok_or(Unfit::NoDowel)?;
        for [y, z] in spots {
            let ends = [(x - depth, radius), (x + depth, radius)];
            bores.push(turned(&ends, 0.02).translated(&Vector3::new(0.0, y, z)));
        }
    }
    let bored = Solid::try_from(sliced.mesh())?.difference(&together(&bores)?)?;
    let mut pieces = Vec::new();
    let mut from = bounds.min.x - 1.0;
    for to in places.into_iter().chain([bounds.max.x + 1.0]) {
        let slab = Bounds {
            min: Point3::new(from, bounds.min.y - 1.0, bounds.min.z - 1.0),
            max: Point3::new(to, bounds.max.y + 1.0, bounds.max.z + 1.0),
        };
        let slab = Solid::try_from(&slab.to_mesh())?;
        pieces.push(bored.intersection(&slab)?.to_mesh());
        from = to;
    }
    Ok(pieces)
}

/// Where to cut: evenly, but clear of the part's own points, which would leave needles.
fn cuts(part: &Mesh, bounds: &Bounds, count: usize, room: f64) -> Vec<f64> {
    const CLEAR: f64 = 0.01;
    let even = bounds.size().x / count as f64;
    // How far a cut may stray before a piece outgrows the bed.
    let stray = (0.5 * (room - even)).clamp(0.0, 2.0);
    (1..count)
        .map(|i| {
            let x = bounds.min.x + even * i as f64;
            let off = |x: f64| {
                let near = |p: &Point3<f64>| (p.x - x).abs();
                part.points.iter().map(near).fold(f64::INFINITY, f64::min)
            };
            let tries =
                (0..=40).flat_map(|k| [1.0, -1.0].map(|s| x + s * stray * f64::from(k) / 40.0));
            tries.clone().find(|&x| off(x) > CLEAR).unwrap_or(x)
        })
        .collect()
}

/// Two places on the cut, as far apart as they go, where a bore keeps within the part.
fn spots(part: &Sliced, x: f64, radius: f64, depth: f64) -> Option<[[f64; 2]; 2]> {
    const STEPS: usize = 48;
    const SLICES: i32 = 8;
    let sections: Vec<_> = (-SLICES..=SLICES)
        .map(|k| part.section(x + (depth + AROUND) * f64::from(k) / f64::from(SLICES)))
        .collect();
    let middle = &sections[SLICES as usize];
    let up = middle.span(1)?;
    let around = radius + AROUND + 1e-6;
    let mut fit = Vec::new();
    for j in 0..=STEPS {
        let z = up[0] + around + (up[1] - up[0] - 2.0 * around) * j as f64 / STEPS as f64;
        // In each stretch of material at this height: at its ends and in its middle.
        let stretches = middle.stretches(z);
        let places = stretches
            .iter()
            .flat_map(|[from, to]| [from + around, 0.5 * (from + to), to - around]);
        for y in places {
            let clear = sections
                .iter()
                .all(|s| s.holds(y, z) && s.distance(y, z) >= radius + AROUND);
            if clear {
                fit.push([y, z]);
            }
        }
    }
    let apart = |a: &[f64; 2], b: &[f64; 2]| libm::hypot(a[0] - b[0], a[1] - b[1]);
    // The farthest from the first, and the farthest from that one.
    let far = |from: &[f64; 2]| {
        fit.iter()
            .max_by(|a, b| apart(from, a).total_cmp(&apart(from, b)))
            .copied()
    };
    let one = far(fit.first()?)?;
    let other = far(&one)?;
    (apart(&one, &other) > 2.0 * (radius + AROUND)).then_some([one, other])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::mesh::shapes::cuboid;

    #[test]
    fn pieces_fit_and_lose_only_their_bores() {
        let part = cuboid([0.0; 3], [300.0, 150.0, 20.0]);
        let pieces = fitted(&part, [120.0, 100.0, 50.0], Some(2.0)).unwrap().0;
        // Along the bed's longer side 300 takes three, across it 150 takes two.
        assert_eq!(pieces.len(), 6);
        let mut left = 0.0;
        for piece in &pieces {
            piece.check().unwrap();
            let size = piece.bounds().unwrap().size();
            assert!(size.x <= 120.0 && size.y <= 100.0, "{size}");
            left += piece.volume();
        }
        // Two joints across with two dowels, and one along each of the three.
        let bore = std::f64::consts::PI * 2.1 * 2.1 * 16.0;
        let taken = (part.volume() - left) / bore;
        assert!((taken - 10.0).abs() < 0.1, "{taken}");
        assert_eq!(fitted(&part, [150.0, 300.0, 50.0], None).unwrap().0, [part]);
    }

    #[test]
    fn what_cannot_fit_is_told() {
        let part = cuboid([0.0; 3], [300.0, 150.0, 20.0]);
        assert!(matches!(
            fitted(&part, [400.0, 400.0, 15.0], None),
            Err(Unfit::TooHigh(_))
        ));
        let thin = cuboid([0.0; 3], [300.0, 3.0, 3.0]);
        assert!(matches!(
            fitted(&thin, [200.0, 200.0, 50.0], None),
            Err(Unfit::NoDowel)
        ));
    }
}
