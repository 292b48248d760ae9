//! Coats taken off a master whose detail may be finer than they are.
//!
//! # The steps
//! Every point goes where the moved planes of its facets meet ([`moves`]). Facets smaller than
//! the coats, as cuts leave them along their edges, would turn over by that. Where that
//! happens, rounds of these, each only once the one before has not been enough:
//! 1. the middle corner of a needle moves with the edge it lies on; points on flat parts slide
//!    along their planes with their neighbours, which moves no surface;
//! 2. points move as their neighbours do on average: a rim rounded by less than the coats
//!    moves as a whole;
//! 3. their motion is halved, and in the end given up. Without any motion the mesh is the one it was,
//!    so this ends.
//!
//! How far the surface is from where the coats want it is measured, and told by the caller.

use std::collections::BTreeSet;

use nalgebra::{Point3, Vector3};

use super::allowance::{Move, moves};
use crate::mesh::Mesh;
use crate::mesh::check::NEEDLE;

/// Rounds that a point has been part of before the next kind.
const SLIDES: u32 = 30;
const SMOOTHS: u32 = 80;
const HALVES: u32 = 86;
/// No mesh has needed more than a third of these.
const ROUNDS: usize = 400;
/// A sliver less high than this, in mm, that has turned over for all that may stay so, if it
/// crosses nothing: its fold does not show.
const FOLD: f64 = 0.02;
/// A facet that turns by more than this cosine says is as good as over.
const OVER: f64 = 0.1;

/// A surface without its coats.
pub(crate) struct Bare {
    /// The surface.
    pub(crate) mesh: Mesh,
    /// Points of the surface with the coats on, and by how much what is under them is too thick
    /// there (negative: too thin), in mm; those only that are off by more than asked for.
    pub(crate) off: Vec<(Point3<f64>, f64)>,
}

/// The surface moved inward by a thickness. `None` if no sound one was found, which no mesh that
/// is sound itself should bring about.
pub(crate) fn bare(mesh: &Mesh, thickness: f64, within: f64) -> Option<Bare> {
    if thickness == 0.0 {
        let mesh = mesh.clone();
        return Some(Bare {
            mesh,
            off: Vec::new(),
        });
    }
    let own = moves(mesh, thickness);
    let around = neighbours(mesh);
    let mut steps: Vec<Vector3<f64>> = own.iter().map(|m| m.step).collect();
    let mut trouble = vec![0_u32; steps.len()];
    for _ in 0..ROUNDS {
        let moved = Mesh {
            points: mesh.points.iter().zip(&steps).map(|(p, s)| p + s).collect(),
            triangles: mesh.triangles.clone(),
        };
        let mut bad = turned_over(mesh, &moved, &trouble);
        if bad.is_empty() {
            bad = moved.crossing_triangles();
        }
        if bad.is_empty() {
            moved.check().ok()?;
            let off = off(mesh, &moved, (&own, &steps), thickness, within);
            return Some(Bare { mesh: moved, off });
        }
        let before = steps.clone();
        bad.retain(|&t| {
            let Some([m, a, b]) = needle(mesh, t) else {
                return true;
            };
            trouble[m as usize] += 1;
            if trouble[m as usize] > SLIDES {
                return true;
            }
            let [p, from, to] = [m, a, b].map(|i| mesh.points[i as usize]);
            let share = (p - from).dot(&(to - from)) / (to - from).norm_squared();
            let [from, to] = [a, b].map(|i| before[i as usize]);
            steps[m as usize] = from + (to - from) * share;
            false
        });
        let corners: BTreeSet<u32> = bad
            .iter()
            .flat_map(|&t| mesh.triangles[t as usize])
            .collect();
        let mut region = corners.clone();
        region.extend(corners.iter().flat_map(|&i| &around[i as usize]));
        for &i in &region {
            trouble[i as usize] += 1;
        }
        for &i in &region {
            let k = i as usize;
            let mean = mean(mesh, &around[k], i, &before);
            steps[k] = if trouble[k] <= SLIDES {
                own[k].step + own[k].free * mean
            } else if trouble[k] <= SMOOTHS {
                0.5 * (before[k] + mean)
            } else if trouble[k] <= HALVES {
                0.5 * before[k]
            } else {
                Vector3::zeros()
            };
            if mesh.points[k].y == 0.0 {
                steps[k].y = 0.0;
            }
        }
    }
    None
}

/// Of a facet with next to no height, the corner at its longest edge and the two ends of that.
fn needle(mesh: &Mesh, t: u32) -> Option<[u32; 3]> {
    let corners = mesh.corners(t as usize);
    let long = |k: usize| (corners[(k + 2) % 3] - corners[(k + 1) % 3]).norm();
    let k = (0..3).max_by(|&a, &b| long(a).total_cmp(&long(b)))?;
    let [a, b, c] = corners;
    let height = (b - a).cross(&(c - a)).norm() / long(k).max(f64::MIN_POSITIVE);
    let t = mesh.triangles[t as usize];
    (height < FOLD).then(|| [t[k], t[(k + 1) % 3], t[(k + 2) % 3]])
}

/// The points joined to each by an edge.
fn neighbours(mesh: &Mesh) -> Vec<Vec<u32>> {
    let mut around = vec![Vec::new(); mesh.points.len()];
    for t in &mesh.triangles {
        for k in 0..3 {
            around[t[k] as usize].push(t[(k + 1) % 3]);
        }
    }
    around
}

/// How the points around one move, the nearest counting most.
fn mean(mesh: &Mesh, around: &[u32], of: u32, steps: &[Vector3<f64>]) -> Vector3<f64> {
    let here = mesh.points[of as usize];
    let (mut sum, mut weights) = (Vector3::zeros(), 0.0);
    for &i in around {
        let far = (mesh.points[i as usize] - here).norm();
        if far > 0.0 {
            sum += steps[i as usize] / far;
            weights += 1.0 / far;
        }
    }
    if weights > 0.0 { sum / weights } else { sum }
}

/// Facets that have turned over, or have next to no height left.
fn turned_over(mesh: &Mesh, moved: &Mesh, trouble: &[u32]) -> Vec<u32> {
    let square = |[a, b, c]: [Point3<f64>; 3]| (b - a).cross(&(c - a));
    let longest =
        |[a, b, c]: [Point3<f64>; 3]| (b - a).norm().max((c - b).norm()).max((a - c).norm());
    (0..mesh.triangles.len())
        .filter(|&t| {
            let (was, is) = (mesh.corners(t), moved.corners(t));
            let (normal, now) = (square(was), square(is));
            let height = now.norm() / longest(is).max(f64::MIN_POSITIVE);
            let before = normal.norm() / longest(was).max(f64::MIN_POSITIVE);
            // As low as a tenth of what it was, or too low for a file in single precision.
            let low = height < (0.1 * before).clamp(2.0 * NEEDLE, 100.0 * NEEDLE);
            let over = normal.dot(&now) <= OVER * normal.norm() * now.norm();
            let tried = || {
                mesh.triangles[t]
                    .iter()
                    .all(|&i| trouble[i as usize] > SMOOTHS)
            };
            low && height < 0.9 * before || over && !(before < FOLD && tried())
        })
        .map(|t| t as u32)
        .collect()
}

/// Where the moved surface is farther from the coats' thickness under the old one than `within`.
fn off(
    mesh: &Mesh,
    moved: &Mesh,
    (own, steps): (&[Move], &[Vector3<f64>]),
    thickness: f64,
    within: f64,
) -> Vec<(Point3<f64>, f64)> {
    // What each point is off at most, by the planes of its facets: most are done with that.
    let mut least = vec![f64::INFINITY; steps.len()];
    let mut most = vec![f64::NEG_INFINITY; steps.len()];
    for t in 0..mesh.triangles.len() {
        let [a, b, c] = mesh.corners(t);
        let Some(normal) = (b - a).cross(&(c - a)).try_normalize(0.0) else {
            continue;
        };
        for i in mesh.triangles[t].map(|i| i as usize) {
            let inward = -normal.dot(&steps[i]);
            least[i] = least[i].min(inward);
            most[i] = most[i].max(inward);
        }
    }
    (0..steps.len())
        .filter(|&i| steps[i] != own[i].step)
        .filter_map(|i| {
            let thick = thickness - least[i];
            let thin = most[i] - thickness;
            let off = if thick > within {
                // A plane may be that of a facet much smaller than the coat.
                thickness - mesh.distance(&moved.points[i])
            } else {
                -thin
            };
            (off.abs() > within).then(|| (mesh.points[i], off))
        })
        .collect()
}

#[cfg(test)]
mod tests;
