//! Indexed triangle meshes: their invariants and mass properties.
//!
//! - [`Mesh`]: points and triangles, moved, mirrored, put together, measured;
//! - [`mass`]: volume, centroid and inertia;
//! - [`check`]: the one checker of all invariants;
//! - [`solid`]: union, difference and intersection;
//! - [`mod@slice`]: plane sections, and straight lines through a mesh.

pub mod check;
mod crossing;
mod cuboid;
mod loft;
pub mod mass;
pub mod plate;
#[cfg(test)]
pub(crate) mod shapes;
pub mod slice;
pub mod solid;
mod split;
pub mod sweep;
mod tidy;
pub(crate) mod turned;

use nalgebra::{Isometry3, Point3, Vector3};

pub(crate) use cuboid::cuboid;
pub(crate) use loft::triangle_count;
pub use loft::{Ring, loft};
pub use solid::{Solid, SolidError};

/// Largest magnitude of a coordinate, in millimetres, that the checker and the
/// solid operations accept: a kilometre, where neighbouring `f64` values are
/// still 1.2e-10 mm apart.
pub const LARGEST_COORDINATE: f64 = 1.0e6;

/// A triangle mesh. Triangles are counter-clockwise seen from outside.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Mesh {
    /// Corner points, in millimetres.
    pub points: Vec<Point3<f64>>,
    /// Three indices into `points` a triangle.
    pub triangles: Vec<[u32; 3]>,
}

/// An axis-aligned box, in millimetres, that contains its own faces.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bounds {
    /// Lowest coordinate on each axis.
    pub min: Point3<f64>,
    /// Highest coordinate on each axis.
    pub max: Point3<f64>,
}

impl Bounds {
    /// Box around some points; `None` for no points. NaN coordinates are passed over.
    pub fn of<'a>(points: impl IntoIterator<Item = &'a Point3<f64>>) -> Option<Self> {
        let mut points = points.into_iter();
        let first = points.next()?;
        let mut bounds = Self {
            min: *first,
            max: *first,
        };
        for p in points {
            for k in 0..3 {
                bounds.min[k] = bounds.min[k].min(p[k]);
                bounds.max[k] = bounds.max[k].max(p[k]);
            }
        }
        Some(bounds)
    }

    /// Edge lengths.
    pub fn size(&self) -> Vector3<f64> {
        self.max - self.min
    }

    /// The point in the middle.
    pub fn centre(&self) -> Point3<f64> {
        nalgebra::center(&self.min, &self.max)
    }

    /// Whether the two boxes have a point in common: touching counts.
    pub fn meets(&self, other: &Self) -> bool {
        (0..3).all(|k| self.min[k] <= other.max[k] && other.min[k] <= self.max[k])
    }
}

/// One of the six directions along the axes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Direction {
    /// Towards the tail.
    PlusX,
    /// Towards the nose.
    MinusX,
    /// To the left.
    PlusY,
    /// To the right.
    MinusY,
    /// Up, towards the back.
    PlusZ,
    /// Down, towards the belly.
    MinusZ,
}

impl Direction {
    fn axis_and_sign(self) -> (usize, f64) {
        match self {
            Self::PlusX => (0, 1.0),
            Self::MinusX => (0, -1.0),
            Self::PlusY => (1, 1.0),
            Self::MinusY => (1, -1.0),
            Self::PlusZ => (2, 1.0),
            Self::MinusZ => (2, -1.0),
        }
    }
}

/// A quarter-turn rotation or a mirroring along the axes. It only swaps and
/// negates coordinates, so no bit of a coordinate is lost.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct AxisMap {
    images: [Direction; 3],
}

impl AxisMap {
    /// Half a turn about the x axis: left and right, back and belly change places.
    pub const HALF_TURN_X: Self = Self {
        images: [Direction::PlusX, Direction::MinusY, Direction::MinusZ],
    };
    /// A quarter turn about the x axis that brings the left side up.
    pub const LEFT_UP: Self = Self {
        images: [Direction::PlusX, Direction::PlusZ, Direction::MinusY],
    };
    /// No turn at all.
    pub const AS_IS: Self = Self {
        images: [Direction::PlusX, Direction::PlusY, Direction::PlusZ],
    };
    /// The cyclic turn that brings the x axis upright: x up, y along x, z along y.
    pub const X_UP: Self = Self {
        images: [Direction::PlusZ, Direction::PlusX, Direction::PlusY],
    };
    /// The turn that brings the x axis upright, its beginning up.
    pub const X_DOWN: Self = Self {
        images: [Direction::MinusZ, Direction::PlusX, Direction::MinusY],
    };
    /// A quarter turn about the z axis that brings y to x.
    pub const Y_ALONG: Self = Self {
        images: [Direction::MinusY, Direction::PlusX, Direction::PlusZ],
    };
    /// The quarter turn that undoes [`AxisMap::Y_ALONG`].
    pub const Y_BACK: Self = Self {
        images: [Direction::PlusY, Direction::MinusX, Direction::PlusZ],
    };
    /// Mirror image in the plane x = 0.
    pub const MIRROR_X: Self = Self {
        images: [Direction::MinusX, Direction::PlusY, Direction::PlusZ],
    };
    /// Mirror image in the plane y = 0: left and right change places.
    pub const MIRROR_Y: Self = Self {
        images: [Direction::PlusX, Direction::MinusY, Direction::PlusZ],
    };
    /// Mirror image in the plane z = 0: back and belly change places.
    pub const MIRROR_Z: Self = Self {
        images: [Direction::PlusX, Direction::PlusY, Direction::MinusZ],
    };

    /// The map that turns +x, +y and +z into the three directions given;
    /// `None` unless these lie on three different axes.
    pub fn new(x: Direction, y: Direction, z: Direction) -> Option<Self> {
        let mut seen = [false; 3];
        for direction in [x, y, z] {
            seen[direction.axis_and_sign().0] = true;
        }
        (seen == [true; 3]).then_some(Self { images: [x, y, z] })
    }

    /// Image of a point.
    pub fn apply(&self, point: &Point3<f64>) -> Point3<f64> {
        let mut out = Point3::origin();
        for (k, image) in self.images.iter().enumerate() {
            let (axis, sign) = image.axis_and_sign();
            out[axis] = sign * point[k];
        }
        out
    }

    /// Whether the map turns a left hand into a right hand.
    pub fn mirrors(&self) -> bool {
        let [x, y, z] = self.images.map(Direction::axis_and_sign);
        // Even permutations of three axes are the cyclic ones.
        let cyclic = (x.0 + 1) % 3 == y.0 && (y.0 + 1) % 3 == z.0;
        (x.1 * y.1 * z.1 > 0.0) != cyclic
    }
}

impl Mesh {
    /// Box around all points, used or not; `None` for a mesh without points.
    pub fn bounds(&self) -> Option<Bounds> {
        Bounds::of(&self.points)
    }

    /// The three corner points of a triangle.
    ///
    /// # Panics
    /// When the triangle or one of its indices is out of range.
    pub fn corners(&self, triangle: usize) -> [Point3<f64>; 3] {
        self.triangles[triangle].map(|i| self.points[i as usize])
    }

    /// The mesh moved by a vector, in millimetres.
    #[must_use]
    pub fn translated(mut self, by: &Vector3<f64>) -> Self {
        for p in &mut self.points {
            *p += by;
        }
        self
    }

    /// The mesh moved so that its bounding box begins at the origin, as STL and 3MF
    /// want it.
    #[must_use]
    pub fn settled(self) -> Self {
        match self.bounds() {
            Some(bounds) => self.translated(&-bounds.min.coords),
            None => self,
        }
    }

    /// The mesh turned and moved.
    #[must_use]
    pub fn transformed(mut self, by: &Isometry3<f64>) -> Self {
        for p in &mut self.points {
            *p = by.transform_point(p);
        }
        self
    }

    /// The mesh turned by quarter turns or mirrored. Mirroring swaps two
    /// corners of every triangle, so the outside stays outside.
    #[must_use]
    pub fn mapped(mut self, map: &AxisMap) -> Self {
        for p in &mut self.points {
            *p = map.apply(p);
        }
        if map.mirrors() { self.flipped() } else { self }
    }

    /// Enlarged about the origin, which keeps both parting planes where they are.
    #[must_use]
    pub fn scaled(mut self, factor: f64) -> Self {
        if factor != 1.0 {
            for p in &mut self.points {
                p.coords *= factor;
            }
        }
        self
    }

    /// The mesh turned inside out.
    #[must_use]
    pub fn flipped(mut self) -> Self {
        for t in &mut self.triangles {
            t.swap(1, 2);
        }
        self
    }

    /// Adds the points and triangles of another mesh. Nothing is welded: the
    /// result is a sound solid only when the two do not touch.
    pub fn append(&mut self, other: &Mesh) {
        debug_assert!(self.points.len() + other.points.len() <= u32::MAX as usize);
        let shift = self.points.len() as u32;
        self.points.extend_from_slice(&other.points);
        self.triangles
            .extend(other.triangles.iter().map(|t| t.map(|i| i + shift)));
    }

    /// Distance from a point to the surface, in mm; infinite for an empty mesh.
    ///
    /// # References
    /// C. Ericson, "Real-Time Collision Detection", 2005, section 5.1.5: inside the triangle's
    /// prism the plane is nearest, elsewhere an edge.
    pub fn distance(&self, point: &Point3<f64>) -> f64 {
        let to_edge = |a: &Point3<f64>, b: &Point3<f64>| {
            let (along, to) = (b - a, point - a);
            let square = along.norm_squared();
            let t = if square > 0.0 {
                (to.dot(&along) / square).clamp(0.0, 1.0)
            } else {
                0.0
            };
            (to - t * along).norm()
        };
        (0..self.triangles.len())
            .map(|t| {
                let [a, b, c] = self.corners(t);
                let normal = (b - a).cross(&(c - a));
                let over = [(a, b), (b, c), (c, a)]
                    .iter()
                    .all(|(p, q)| normal.cross(&(q - p)).dot(&(point - p)) >= 0.0);
                if over && normal.norm() > 0.0 {
                    (point - a).dot(&normal).abs() / normal.norm()
                } else {
                    to_edge(&a, &b).min(to_edge(&b, &c)).min(to_edge(&c, &a))
                }
            })
            .fold(f64::INFINITY, f64::min)
    }

    /// Surface area, in mm².
    ///
    /// # Panics
    /// When an index is out of range.
    pub fn area(&self) -> f64 {
        let mut sum = 0.0;
        for t in 0..self.triangles.len() {
            let [a, b, c] = self.corners(t);
            sum += (b - a).cross(&(c - a)).norm();
        }
        0.5 * sum
    }

    /// Enclosed volume, in mm³: negative when the mesh is inside out, without
    /// meaning when it is not closed. Voids bounded by shells that face inwards
    /// count as removed.
    ///
    /// # Panics
    /// When an index is out of range.
    ///
    /// # References
    /// Gauss's theorem: Σ a·(b × c) / 6 over the triangles (a, b, c).
    pub fn volume(&self) -> f64 {
        // From the middle of the box rather than the origin: far from the
        // origin the large terms would cancel and leave noise.
        let Some(bounds) = self.bounds() else {
            return 0.0;
        };
        let centre = bounds.centre();
        let mut sum = mass::Sum::default();
        for t in 0..self.triangles.len() {
            let [a, b, c] = self.corners(t).map(|p| p - centre);
            sum.add(a.dot(&b.cross(&c)));
        }
        sum.total() / 6.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use shapes::{cuboid, sphere};

    #[test]
    fn bounds_area_and_volume_of_a_box() {
        // 20 x 30 x 40: 24 000 mm³ and 5 200 mm², by hand.
        let mesh = cuboid([1.0, 2.0, 3.0], [21.0, 32.0, 43.0]);
        let bounds = mesh.bounds().unwrap();
        assert_eq!(bounds.size(), Vector3::new(20.0, 30.0, 40.0));
        assert_eq!(bounds.centre(), Point3::new(11.0, 17.0, 23.0));
        assert_eq!(mesh.area(), 5200.0);
        assert!((mesh.volume() - 24000.0).abs() < 1e-9);
        assert!((mesh.flipped().volume() + 24000.0).abs() < 1e-9);
        assert_eq!(Mesh::default().volume(), 0.0);
        assert_eq!(Mesh::default().bounds(), None);
    }

    #[test]
    fn every_axis_map_keeps_outside_outside() {
        use Direction::*;
        let all = [PlusX, MinusX, PlusY, MinusY, PlusZ, MinusZ];
        // A box with three different edges, off the origin.
        let mesh = cuboid([1.0, 2.0, 3.0], [2.0, 4.0, 7.0]);
        let (mut maps, mut mirrors) = (0, 0);
        for x in all {
            for y in all {
                for z in all {
                    let Some(map) = AxisMap::new(x, y, z) else {
                        continue;
                    };
                    maps += 1;
                    mirrors += usize::from(map.mirrors());
                    let image = mesh.clone().mapped(&map);
                    assert!((image.volume() - 8.0).abs() < 1e-12, "{map:?}");
                    // The determinant of the images says the same.
                    let e = |x, y, z| map.apply(&Point3::new(x, y, z)).coords;
                    let det = e(1.0, 0.0, 0.0)
                        .cross(&e(0.0, 1.0, 0.0))
                        .dot(&e(0.0, 0.0, 1.0));
                    assert_eq!(det < 0.0, map.mirrors());
                }
            }
        }
        // The full symmetry group of the cube has 48 elements, half of them rotations.
        assert_eq!((maps, mirrors), (48, 24));
        assert_eq!(
            mesh.clone()
                .mapped(&AxisMap::MIRROR_Y)
                .mapped(&AxisMap::MIRROR_Y),
            mesh
        );
    }

    #[test]
    fn distance_to_a_box_is_to_its_face_edge_or_corner() {
        let mesh = cuboid([0.0; 3], [4.0, 6.0, 8.0]);
        // By hand: inside, off a face, off an edge (3-4-5), off a corner (2-3-6 gives 7).
        for (place, distance) in [
            ([1.0, 3.0, 4.0], 1.0),
            ([2.0, 3.0, 9.5], 1.5),
            ([7.0, 10.0, 4.0], 5.0),
            ([-2.0, -3.0, -6.0], 7.0),
        ] {
            assert!((mesh.distance(&Point3::from(place)) - distance).abs() < 1e-12);
        }
        assert_eq!(Mesh::default().distance(&Point3::origin()), f64::INFINITY);
    }

    #[test]
    fn appended_meshes_keep_their_own_corners() {
        let mut both = cuboid([0.0; 3], [1.0; 3]);
        both.append(&sphere(1.0, 6, 8).translated(&Vector3::new(5.0, 0.0, 0.0)));
        let alone = sphere(1.0, 6, 8);
        assert!((both.volume() - 1.0 - alone.volume()).abs() < 1e-12);
        assert!((both.area() - 6.0 - alone.area()).abs() < 1e-12);
    }
}
