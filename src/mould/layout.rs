//! Several baits in one mould: side by side across the parting face, noses in a row, all fed
//! from one runner so that they fill together.

use super::Problems;
use crate::mesh::{Bounds, Mesh};
use crate::spec::{Design, Problem};

/// Least material between two cavities: a wall that two walls' worth of tearing strength of
/// rubber share, and that prints solid (reasoned).
const BETWEEN: f64 = 5.0;

/// Where the cavities lie.
pub(super) struct Layout {
    /// How far each is moved across the parting face from the middle, by rising y.
    pub offsets: Vec<f64>,
    /// Which kind of bait each is.
    pub kinds: Vec<usize>,
}

impl Layout {
    /// The outline of each kind of bait comes as a mesh in the mould's axes, where it lies along
    /// the block, with how many there are and what they are ranged by.
    pub(super) fn plan(design: &Design, kinds: &[(Mesh, usize, f64)]) -> Result<Self, Problems> {
        if let [(outline, count, _)] = kinds {
            return Ok(Layout {
                offsets: of_one_kind(design, outline, *count)?,
                kinds: vec![0; *count],
            });
        }
        let kinds_in_row = ranged(kinds);
        let outlines: Vec<&Mesh> = kinds.iter().map(|(outline, ..)| outline).collect();
        let closest = Closest::of(&outlines);
        let mut pitches = vec![vec![0.0; kinds.len()]; kinds.len()];
        for (i, row) in pitches.iter_mut().enumerate() {
            for (j, pitch) in row.iter_mut().enumerate() {
                *pitch = even(closest.between(i, j).max(0.0) + BETWEEN);
            }
        }
        // Not from the next one alone: a slim bait may lie in the bend of another.
        let mut offsets: Vec<f64> = Vec::new();
        for (n, &kind) in kinds_in_row.iter().enumerate() {
            let clear = |(&y, &before): (&f64, &usize)| y + pitches[before][kind];
            let past = offsets.iter().zip(&kinds_in_row[..n]).map(clear);
            let at = past.fold(f64::NEG_INFINITY, f64::max);
            offsets.push(if n == 0 { 0.0 } else { at });
        }
        let middle = 0.5 * (offsets[0] + offsets[offsets.len() - 1]);
        Ok(Layout {
            offsets: offsets.iter().map(|y| y - middle).collect(),
            kinds: kinds_in_row,
        })
    }

    /// Where those of a kind are.
    pub(super) fn of_kind(&self, kind: usize) -> Vec<f64> {
        let all = self.offsets.iter().zip(&self.kinds);
        all.filter(|(_, of)| **of == kind)
            .map(|(y, _)| *y)
            .collect()
    }

    /// Box around all masters; `kinds` are the boxes around each kind.
    pub(super) fn around(&self, kinds: &[Bounds]) -> Bounds {
        let mut all: Option<Bounds> = None;
        for (&y, &kind) in self.offsets.iter().zip(&self.kinds) {
            let mut one = kinds[kind];
            one.min.y += y;
            one.max.y += y;
            let corners = [one.min, one.max];
            all = match all {
                None => Some(one),
                Some(all) => Bounds::of(corners.iter().chain([&all.min, &all.max])),
            };
        }
        all.unwrap_or(kinds[0])
    }
}

/// Up to the next tenth of a millimetre.
fn even(pitch: f64) -> f64 {
    libm::ceil(10.0 * pitch - 1e-6) / 10.0
}

fn of_one_kind(design: &Design, outline: &Mesh, count: usize) -> Result<Vec<f64>, Problems> {
    if count <= 1 {
        return Ok(vec![0.0]);
    }
    let least = Closest::of(&[outline]).between(0, 0).max(0.0) + BETWEEN;
    let pitch = match design.mould.pitch {
        None => even(least),
        Some(pitch) if pitch >= least - 1e-6 => pitch,
        Some(pitch) => {
            return Err(Problem::new(
                "mould.pitch",
                "the baits lie too close: their cavities would overlap or leave too thin a wall",
            )
            .value(design.units.show(pitch))
            .limit(format!(
                "at least {}, with {} between them",
                design.units.show(least + 0.005),
                design.units.show(BETWEEN)
            ))
            .hint("left out, they lie as close as their outlines allow")
            .into());
        }
    };
    let middle = 0.5 * (count - 1) as f64;
    Ok((0..count).map(|i| (i as f64 - middle) * pitch).collect())
}

/// The kinds in a row: the largest in the middle, where it is fed first, the others by turns on
/// either side of it. Which spec names which does not matter.
fn ranged(kinds: &[(Mesh, usize, f64)]) -> Vec<usize> {
    let mut all: Vec<usize> = Vec::new();
    for (kind, (_, count, _)) in kinds.iter().enumerate() {
        all.extend(std::iter::repeat_n(kind, *count));
    }
    all.sort_by(|&a, &b| kinds[b].2.total_cmp(&kinds[a].2));
    let mut row = std::collections::VecDeque::new();
    for (n, kind) in all.into_iter().enumerate() {
        if n % 2 == 0 {
            row.push_back(kind);
        } else {
            row.push_front(kind);
        }
    }
    row.into()
}

/// How far baits have to be moved across to clear each other: less than their bounding boxes say
/// where they are bent, or of different lengths.
struct Closest {
    /// How far each kind reaches to either side, in strips across the block.
    reach: Vec<Vec<[f64; 2]>>,
    /// How many strips on either side keep clear of each other too.
    spread: usize,
}

impl Closest {
    fn of(outlines: &[&Mesh]) -> Self {
        /// Strips across the body.
        const STRIPS: usize = 400;
        let boxes = outlines.iter().filter_map(|outline| outline.bounds());
        let corners: Vec<_> = boxes.flat_map(|b| [b.min, b.max]).collect();
        let Some(bounds) = Bounds::of(&corners) else {
            let reach = vec![Vec::new(); outlines.len()];
            return Closest { reach, spread: 0 };
        };
        let step = (bounds.size().x / STRIPS as f64).max(f64::MIN_POSITIVE);
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let strip = |x: f64| (((x - bounds.min.x) / step).max(0.0) as usize).min(STRIPS - 1);
        let reach = outlines.iter().map(|outline| {
            let mut reach = vec![[f64::INFINITY, f64::NEG_INFINITY]; STRIPS];
            for t in 0..outline.triangles.len() {
                let corners = outline.corners(t);
                let Some(b) = Bounds::of(&corners) else {
                    continue;
                };
                for of in &mut reach[strip(b.min.x)..=strip(b.max.x)] {
                    *of = [of[0].min(b.min.y), of[1].max(b.max.y)];
                }
            }
            reach
        });
        // The wall between is measured square to the outline, so strips a wall apart count too.
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let spread = (BETWEEN / step).ceil() as usize;
        Closest {
            reach: reach.collect(),
            spread,
        }
    }

    /// How far to the left of kind `right` kind `left` has to lie.
    fn between(&self, right: usize, left: usize) -> f64 {
        let (right, left) = (&self.reach[right], &self.reach[left]);
        (0..right.len())
            .flat_map(|i| {
                let near = i.saturating_sub(self.spread)..(i + self.spread + 1).min(left.len());
                near.map(move |j| right[i][1] - left[j][0])
            })
            .fold(f64::NEG_INFINITY, f64::max)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::mesh::shapes::cuboid;

    #[test]
    fn bent_outlines_nest() {
        // Two boxes 10 wide, the second 30 farther to the side and 50 along.
        let mut bent = cuboid([0.0; 3], [40.0, 10.0, 5.0]);
        bent.append(&cuboid([60.0, 30.0, 0.0], [100.0, 40.0, 5.0]));
        let plain = cuboid([0.0; 3], [40.0, 10.0, 5.0]);
        let closest = Closest::of(&[&bent, &plain]);
        assert!((closest.between(0, 0) - 10.0).abs() < 1e-9);
        assert!((closest.between(1, 1) - 10.0).abs() < 1e-9);
        // The bend of the one is no longer than the other.
        assert!((closest.between(0, 1) - 10.0).abs() < 1e-9);
        assert!((closest.between(1, 0) - 10.0).abs() < 1e-9);
    }
}
