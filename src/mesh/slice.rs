//! Plane sections of a closed mesh, and straight lines through it.

use std::collections::BTreeMap;

use nalgebra::{Point3, Vector3};

use super::Mesh;

/// A closed mesh made ready for many sections square to the x axis.
#[derive(Clone, Debug, PartialEq)]
pub struct Sliced {
    mesh: Mesh,
    from: f64,
    step: f64,
    /// Triangles that reach into each interval of x.
    bins: Vec<Vec<u32>>,
    low: f64,
    rise: f64,
    /// Of each interval of x the triangles that reach into each interval of z, by rising z.
    rows: Vec<Vec<Vec<u32>>>,
}

/// The section of a mesh in a plane square to the x axis: closed polygons of (y, z),
/// seen from the tail's side (y to the right, z up) counter-clockwise round
/// material and clockwise round hollows.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct PlaneSection {
    /// The polygons; the last point of each is joined to its first.
    pub loops: Vec<Vec<[f64; 2]>>,
}

/// Where a line meets a mesh.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hit {
    /// Distance along the line, in lengths of its direction.
    pub along: f64,
    /// The triangle.
    pub triangle: u32,
}

const MOST_BINS: usize = 512;
/// Intervals of z in each of x: a scan of 100 000 triangles has some hundreds in each.
const MOST_ROWS: usize = 48;

impl Sliced {
    /// Takes a mesh, which should pass [`Mesh::check`].
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    pub fn new(mesh: Mesh) -> Self {
        let box_of = |k: usize| mesh.bounds().map_or((0.0, 0.0), |b| (b.min[k], b.max[k]));
        let ((from, to), (low, high)) = (box_of(0), box_of(2));
        let count = (mesh.triangles.len() / 16).clamp(1, MOST_BINS);
        let step = ((to - from) / count as f64).max(f64::MIN_POSITIVE);
        let rows = (mesh.triangles.len() / 512).clamp(1, MOST_ROWS);
        let rise = ((high - low) / rows as f64).max(f64::MIN_POSITIVE);
        let mut sliced = Self {
            low,
            rise,
            rows: vec![vec![Vec::new(); rows]; count],
            mesh,
            from,
            step,
            bins: vec![Vec::new(); count],
        };
        for t in 0..sliced.mesh.triangles.len() {
            let span = |k: usize| {
                let c = sliced.mesh.corners(t).map(|p| p[k]);
                let least = c.into_iter().fold(f64::INFINITY, f64::min);
                (least, c.into_iter().fold(f64::NEG_INFINITY, f64::max))
            };
            let ((least, most), (lowest, highest)) = (span(0), span(2));
            let rows = sliced.row(lowest)..=sliced.row(highest);
            for bin in sliced.bin(least)..=sliced.bin(most) {
                sliced.bins[bin].push(t as u32);
                for row in rows.clone() {
                    sliced.rows[bin][row].push(t as u32);
                }
            }
        }
        sliced
    }

    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    fn bin(&self, x: f64) -> usize {
        let bin = ((x - self.from) / self.step).floor().max(0.0) as usize;
        bin.min(self.bins.len() - 1)
    }

    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    fn row(&self, z: f64) -> usize {
        let row = ((z - self.low) / self.rise).floor().max(0.0) as usize;
        row.min(self.rows[0].len() - 1)
    }

    /// The mesh.
    pub fn mesh(&self) -> &Mesh {
        &self.mesh
    }

    /// The section at x. Points on the plane count as lying on the side of larger x,
    /// so the section of a closed mesh is closed wherever the plane lies.
    pub fn section(&self, x: f64) -> PlaneSection {
        // From each crossed edge (its points by rising index) to the next.
        let mut next: BTreeMap<[u32; 2], [u32; 2]> = BTreeMap::new();
        for &t in &self.bins[self.bin(x)] {
            next.extend(self.cut(t, x));
        }
        let mut loops = Vec::new();
        while let Some((&first, _)) = next.first_key_value() {
            let mut points: Vec<[f64; 2]> = Vec::new();
            let mut edge = first;
            while let Some(following) = next.remove(&edge) {
                let p = self.crossing(edge, x);
                if points.last() != Some(&p) {
                    points.push(p);
                }
                edge = following;
            }
            while points.len() > 1 && points.first() == points.last() {
                points.pop();
            }
            if points.len() > 2 {
                loops.push(points);
            }
        }
        PlaneSection { loops }
    }

    /// The edges by which the section at x enters and leaves a triangle, each with its points by
    /// rising index; `None` where it does not meet it.
    fn cut(&self, t: u32, x: f64) -> Option<([u32; 2], [u32; 2])> {
        let triangle = self.mesh.triangles[t as usize];
        let beyond = triangle.map(|i| self.mesh.points[i as usize].x >= x);
        if beyond == [true; 3] || beyond == [false; 3] {
            return None;
        }
        let (mut out, mut into) = ([0; 2], [0; 2]);
        for k in 0..3 {
            let (a, b) = (triangle[k], triangle[(k + 1) % 3]);
            let edge = [a.min(b), a.max(b)];
            match (beyond[k], beyond[(k + 1) % 3]) {
                (true, false) => out = edge,
                (false, true) => into = edge,
                _ => {}
            }
        }
        Some((out, into))
    }

    /// Where an edge meets the plane: the same to the last bit from both its triangles.
    fn crossing(&self, [a, b]: [u32; 2], x: f64) -> [f64; 2] {
        let (a, b) = (&self.mesh.points[a as usize], &self.mesh.points[b as usize]);
        let t = (x - a.x) / (b.x - a.x);
        if t >= 1.0 {
            return [b.y, b.z];
        }
        [a.y + t * (b.y - a.y), a.z + t * (b.z - a.z)]
    }

    /// Whether the point lies within the solid.
    pub fn holds(&self, point: &Point3<f64>) -> bool {
        self.holds_with(point, 0.0)
    }

    /// Whether the point lies within the solid and, in the plane square to x, `room` mm or more
    /// from its surface. As the [section](Sliced::section) there says, but without joining it up.
    pub fn holds_with(&self, point: &Point3<f64>, room: f64) -> bool {
        let (x, y, z) = (point.x, point.y, point.z);
        let rows = &self.rows[self.bin(x)];
        let edges = |row: usize| {
            let cuts = rows[row].iter().filter_map(move |&t| self.cut(t, x));
            cuts.map(move |(out, into)| (self.crossing(out, x), self.crossing(into, x)))
        };
        // What crosses a line of this z reaches into its row.
        let within = edges(self.row(z))
            .filter(|&edge| crosses(edge, y, z))
            .count()
            % 2
            == 1;
        let mut near = self.row(z - room)..=self.row(z + room);
        within && (room <= 0.0 || near.all(|row| edges(row).all(|edge| apart(edge, y, z) >= room)))
    }

    /// Every place where a line meets the mesh, by rising distance along it. A line
    /// through an edge or a corner meets all triangles there.
    pub fn along(&self, from: &Point3<f64>, direction: &Vector3<f64>) -> Vec<Hit> {
        const EDGE: f64 = 1e-9;
        let hit = |t: u32| {
            // T. Möller, B. Trumbore, "Fast, minimum storage ray/triangle
            // intersection", Journal of Graphics Tools 2, 1997; edges included.
            let [a, b, c] = self.mesh.corners(t as usize);
            let (ab, ac, to) = (b - a, c - a, from - a);
            let p = direction.cross(&ac);
            let det = ab.dot(&p);
            if det == 0.0 {
                return None;
            }
            let u = to.dot(&p) / det;
            if !(-EDGE..=1.0 + EDGE).contains(&u) {
                return None;
            }
            let q = to.cross(&ab);
            let v = direction.dot(&q) / det;
            (v >= -EDGE && u + v <= 1.0 + EDGE).then(|| Hit {
                along: ac.dot(&q) / det,
                triangle: t,
            })
        };
        // A line square to the axis stays among the triangles that reach to its x.
        let mut hits: Vec<Hit> = if direction.x == 0.0 {
            let near = &self.bins[self.bin(from.x)];
            near.iter().copied().filter_map(hit).collect()
        } else {
            (0..self.mesh.triangles.len() as u32)
                .filter_map(hit)
                .collect()
        };
        hits.sort_by(|a, b| {
            a.along
                .total_cmp(&b.along)
                .then(a.triangle.cmp(&b.triangle))
        });
        hits
    }
}

/// Whether a line from the point to greater y crosses an edge of a section.
fn crosses((a, b): ([f64; 2], [f64; 2]), y: f64, z: f64) -> bool {
    // Half-open, so that a corner counts once.
    (a[1] > z) != (b[1] > z) && y < a[0] + (z - a[1]) / (b[1] - a[1]) * (b[0] - a[0])
}

/// Distance from the point to an edge of a section.
fn apart((a, b): ([f64; 2], [f64; 2]), y: f64, z: f64) -> f64 {
    let (dy, dz) = (b[0] - a[0], b[1] - a[1]);
    let square = dy * dy + dz * dz;
    let t = if square > 0.0 {
        (((y - a[0]) * dy + (z - a[1]) * dz) / square).clamp(0.0, 1.0)
    } else {
        0.0
    };
    libm::hypot(a[0] + t * dy - y, a[1] + t * dz - z)
}

impl PlaneSection {
    fn edges(&self) -> impl Iterator<Item = ([f64; 2], [f64; 2])> {
        self.loops.iter().flat_map(|points| {
            (0..points.len()).map(move |i| (points[i], points[(i + 1) % points.len()]))
        })
    }

    /// Area of material, in mm².
    pub fn area(&self) -> f64 {
        let twice = |(a, b): ([f64; 2], [f64; 2])| a[0] * b[1] - b[0] * a[1];
        0.5 * self.edges().map(twice).sum::<f64>()
    }

    /// The parts of the line z = 0 that lie in material, as [from, to] by rising y.
    pub fn across(&self) -> Vec<[f64; 2]> {
        let mut crossed: Vec<f64> = self
            .edges()
            // Half-open, so that a corner counts once.
            .filter(|(a, b)| (a[1] > 0.0) != (b[1] > 0.0))
            .map(|(a, b)| a[0] - a[1] / (b[1] - a[1]) * (b[0] - a[0]))
            .collect();
        crossed.sort_by(f64::total_cmp);
        crossed
            .chunks_exact(2)
            .map(|pair| [pair[0], pair[1]])
            .collect()
    }

    /// Whether the point lies in material.
    pub fn holds(&self, y: f64, z: f64) -> bool {
        self.edges().filter(|&edge| crosses(edge, y, z)).count() % 2 == 1
    }

    /// Distance from the point to the nearest edge; infinite for an empty section.
    pub fn distance(&self, y: f64, z: f64) -> f64 {
        self.edges()
            .map(|edge| apart(edge, y, z))
            .fold(f64::INFINITY, f64::min)
    }

    /// Where the line at this z lies in material: from and to, by rising y.
    pub fn stretches(&self, z: f64) -> Vec<[f64; 2]> {
        let mut crossed: Vec<f64> = self
            .edges()
            .filter(|(a, b)| (a[1] > z) != (b[1] > z))
            .map(|(a, b)| a[0] + (z - a[1]) / (b[1] - a[1]) * (b[0] - a[0]))
            .collect();
        crossed.sort_by(f64::total_cmp);
        crossed.chunks_exact(2).map(|c| [c[0], c[1]]).collect()
    }

    /// Least and greatest y of the outline where z lies between two heights; `None` if none of it
    /// does.
    pub fn span_between(&self, [low, high]: [f64; 2]) -> Option<[f64; 2]> {
        let mut span: Option<[f64; 2]> = None;
        for (a, b) in self.edges() {
            let at = |z: f64| a[0] + (z - a[1]) / (b[1] - a[1]) * (b[0] - a[0]);
            let crossed = [low, high]
                .into_iter()
                .filter(|&z| (a[1] > z) != (b[1] > z));
            let corners = [a, b].into_iter().filter(|p| p[1] >= low && p[1] <= high);
            for y in crossed.map(at).chain(corners.map(|p| p[0])) {
                let [from, to] = span.unwrap_or([y, y]);
                span = Some([from.min(y), to.max(y)]);
            }
        }
        span
    }

    /// Least and greatest y (`axis` 0) or z (1); `None` for an empty section.
    pub fn span(&self, axis: usize) -> Option<[f64; 2]> {
        let all = self.loops.iter().flatten().map(|p| p[axis]);
        all.fold(None, |span, c| {
            Some(span.map_or([c, c], |[a, b]: [f64; 2]| [a.min(c), b.max(c)]))
        })
    }

    /// Length of the section's shadow on the y (`axis` 0) or z (1) axis, overlaps counted
    /// once, in mm.
    pub fn shadow(&self, axis: usize) -> f64 {
        let mut spans: Vec<[f64; 2]> = self
            .loops
            .iter()
            .filter_map(|points| {
                PlaneSection {
                    loops: vec![points.clone()],
                }
                .span(axis)
            })
            .collect();
        spans.sort_by(|a, b| a[0].total_cmp(&b[0]));
        let (mut length, mut covered) = (0.0, f64::NEG_INFINITY);
        for [from, to] in spans {
            length += (to - from.max(covered)).max(0.0);
            covered = covered.max(to);
        }
        length
    }
}

#[cfg(test)]
mod tests {
    use super::super::shapes::{cuboid, sphere, torus};
    use super::*;

    #[test]
    fn a_box_is_cut_into_its_rectangle_faces_included() {
        let sliced = Sliced::new(cuboid([1.0, 2.0, 3.0], [11.0, 5.0, 8.0]));
        // On the near face points count as beyond it; on the far face as on it.
        for (x, area) in [
            (1.0, 0.0),
            (1.5, 15.0),
            (6.0, 15.0),
            (11.0, 15.0),
            (11.1, 0.0),
        ] {
            let section = sliced.section(x);
            assert!((section.area() - area).abs() < 1e-12, "{x}");
        }
        let section = sliced.section(4.0);
        assert_eq!(section.loops.len(), 1);
        assert!(section.holds(3.0, 4.0) && !section.holds(1.9, 4.0) && !section.holds(3.0, 8.1));
        assert!((section.distance(3.0, 4.0) - 1.0).abs() < 1e-12);
        assert_eq!(section.span(0), Some([2.0, 5.0]));
        assert_eq!(section.shadow(1), 5.0);
    }

    #[test]
    fn sections_of_a_polyhedron_sum_to_its_volume() {
        // Between two rows of points the section of a polyhedron is quadratic in x, so
        // Simpson's rule over each slab is exact.
        let mesh = sphere(7.0, 12, 16).mapped(
            &super::super::AxisMap::new(
                super::super::Direction::PlusZ,
                super::super::Direction::PlusY,
                super::super::Direction::MinusX,
            )
            .unwrap(),
        );
        let mut rows: Vec<f64> = mesh.points.iter().map(|p| p.x).collect();
        rows.sort_by(f64::total_cmp);
        rows.dedup_by(|a, b| (*a - *b).abs() < 1e-9);
        let volume = mesh.volume();
        let sliced = Sliced::new(mesh);
        let area = |x: f64| sliced.section(x).area();
        let sum: f64 = rows
            .windows(2)
            .map(|w| {
                // Just inside the slab: at its ends the section may jump.
                let (a, b) = (w[0] + 1e-10, w[1] - 1e-10);
                (b - a) / 6.0 * (area(a) + 4.0 * area(0.5 * (a + b)) + area(b))
            })
            .sum();
        assert!((sum / volume - 1.0).abs() < 1e-8, "{sum} {volume}");
    }

    #[test]
    fn a_ring_gives_two_loops_and_a_hole() {
        let ring = torus(10.0, 2.0, 48, 24);
        let sliced = Sliced::new(ring.clone());
        let section = sliced.section(0.1);
        assert_eq!(section.loops.len(), 2);
        assert!(section.loops.iter().all(|l| {
            PlaneSection {
                loops: vec![l.clone()],
            }
            .area()
                > 0.0
        }));
        // Round the axis of the ring, one disc within another.
        let turned = ring.mapped(
            &super::super::AxisMap::new(
                super::super::Direction::PlusY,
                super::super::Direction::PlusZ,
                super::super::Direction::PlusX,
            )
            .unwrap(),
        );
        let section = Sliced::new(turned).section(0.0);
        assert_eq!(section.loops.len(), 2);
        // π (12² − 8²), less what polygons of 48 sides lose: sin(2π/48)/(2π/48).
        let exact = std::f64::consts::PI * 80.0 * 0.997_147;
        assert!((section.area() / exact - 1.0).abs() < 1e-5);
        assert!(!section.holds(0.0, 0.0) && section.holds(10.0, 0.0));
    }

    #[test]
    fn points_are_held_as_sections_say() {
        let sliced = Sliced::new(torus(10.0, 3.0, 96, 64));
        assert!(sliced.rows[0].len() > 8);
        for i in 0..15 {
            let x = 2.0 * f64::from(i) - 14.0 + 1e-3;
            let section = sliced.section(x);
            for j in 0..29 {
                for k in 0..9 {
                    let (y, z) = (f64::from(j) - 14.1, f64::from(k) - 4.07);
                    for room in [0.0, 0.5] {
                        let told = section.holds(y, z) && section.distance(y, z) >= room;
                        assert_eq!(sliced.holds_with(&Point3::new(x, y, z), room), told);
                    }
                    // Square to the axis only the triangles near its x are looked at.
                    let line = Vector3::new(0.0, 0.6, 0.8);
                    let near = sliced.along(&Point3::new(x, y, z), &line);
                    let all = Sliced {
                        bins: vec![(0..sliced.mesh.triangles.len() as u32).collect()],
                        step: f64::MAX,
                        ..sliced.clone()
                    };
                    assert_eq!(near, all.along(&Point3::new(x, y, z), &line));
                }
            }
        }
    }

    #[test]
    fn a_line_through_a_pole_is_not_lost() {
        let sliced = Sliced::new(sphere(5.0, 8, 12));
        let hits = sliced.along(&Point3::origin(), &Vector3::new(0.0, 0.0, 1.0));
        assert!((hits[0].along + 5.0).abs() < 1e-12);
        assert!((hits[hits.len() - 1].along - 5.0).abs() < 1e-12);
        assert!(sliced.holds(&Point3::new(1.0, 1.0, 1.0)));
        assert!(!sliced.holds(&Point3::new(4.0, 4.0, 1.0)));
    }
}
