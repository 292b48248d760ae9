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
}

impl Layout {
    /// `master` is in the mould's axes.
    pub(super) fn plan(design: &Design, master: &Mesh) -> Result<Self, Problems> {
        let count = design.mould.cavities;
        if count <= 1 {
            return Ok(Layout { offsets: vec![0.0] });
        }
        let least = closest(master) + BETWEEN;
        let pitch = match design.mould.pitch {
            None => libm::ceil(10.0 * least - 1e-6) / 10.0,
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
        Ok(Layout {
            offsets: (0..count).map(|i| (i as f64 - middle) * pitch).collect(),
        })
    }

    /// Box around all masters.
    pub(super) fn around(&self, master: &Bounds) -> Bounds {
        let mut all = *master;
        all.min.y += self.offsets.first().copied().unwrap_or(0.0);
        all.max.y += self.offsets.last().copied().unwrap_or(0.0);
        all
    }
}

/// How far a master has to be moved across to clear itself: the widest place of its outline
/// seen along the pull, which is less than its bounding box where it is bent.
fn closest(master: &Mesh) -> f64 {
    /// Strips across the body, and how many on either side keep clear of each other.
    const STRIPS: usize = 400;
    let Some(bounds) = master.bounds() else {
        return 0.0;
    };
    let step = (bounds.size().x / STRIPS as f64).max(f64::MIN_POSITIVE);
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let strip = |x: f64| (((x - bounds.min.x) / step).max(0.0) as usize).min(STRIPS - 1);
    let mut reach = vec![[f64::INFINITY, f64::NEG_INFINITY]; STRIPS];
    for t in 0..master.triangles.len() {
        let corners = master.corners(t);
        let Some(b) = Bounds::of(&corners) else {
            continue;
        };
        for of in &mut reach[strip(b.min.x)..=strip(b.max.x)] {
            *of = [of[0].min(b.min.y), of[1].max(b.max.y)];
        }
    }
    // The wall between is measured square to the outline, so strips a wall apart count too.
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let spread = (BETWEEN / step).ceil() as usize;
    (0..STRIPS)
        .flat_map(|i| {
            let near = i.saturating_sub(spread)..(i + spread + 1).min(STRIPS);
            let reach = &reach;
            near.map(move |j| reach[i][1] - reach[j][0])
        })
        .fold(0.0, f64::max)
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
        assert!((closest(&bent) - 10.0).abs() < 1e-9);
        assert!((closest(&cuboid([0.0; 3], [40.0, 10.0, 5.0])) - 10.0).abs() < 1e-9);
    }
}
