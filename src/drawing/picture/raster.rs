//! From meshes to samples: projection, smooth normals, depth buffer.

use nalgebra::{Matrix3, Point3, RowVector3, Vector3};

use super::{Camera, Part, PictureError, Size};
use crate::mesh::Mesh;

/// Facets that meet at less than this are shaded as one surface: cos 30°.
const SMOOTH: f64 = 0.866_025_403_784_438_6;

/// How the scene lies in the picture.
pub(super) struct Frame {
    /// Rows: right, up and towards the eye, as unit vectors of the scene.
    turn: Matrix3<f64>,
    /// Samples a millimetre.
    scale: f64,
    /// Middle of the scene in turned coordinates.
    middle: Vector3<f64>,
    pub(super) width: u32,
    pub(super) height: u32,
    pub(super) samples: u32,
}

impl Frame {
    pub(super) fn new(parts: &[Part], camera: &Camera, size: Size) -> Result<Self, PictureError> {
        let sides = 1..=16384;
        let sizes_fit = sides.contains(&size.width) && sides.contains(&size.height);
        if !sizes_fit || !(1..=8).contains(&size.samples) || !(0.0..=0.4).contains(&size.margin) {
            return Err(PictureError::Size);
        }
        let turn = turn(camera).ok_or(PictureError::Camera)?;
        let mut low = Vector3::repeat(f64::INFINITY);
        let mut high = -low;
        for (part, Part { mesh, .. }) in parts.iter().enumerate() {
            for &corner in mesh.triangles.iter().flatten() {
                let point = mesh.points.get(corner as usize);
                // Beyond this, squares of lengths leave the range of f64.
                let Some(p) = point.filter(|p| p.iter().all(|c| c.abs() < 1e100)) else {
                    return Err(PictureError::Part { part });
                };
                let p = turn * p.coords;
                low = low.inf(&p);
                high = high.sup(&p);
            }
        }
        if low.x > high.x {
            return Err(PictureError::Empty);
        }
        let (width, height) = (f64::from(size.width), f64::from(size.height));
        let free = 2.0 * size.margin * width.min(height);
        let extent = high - low;
        let fit = ((width - free) / extent.x).min((height - free) / extent.y);
        // A scene without width or height is drawn at any scale that is a number.
        let fit = if fit.is_finite() { fit } else { 1.0 };
        Ok(Frame {
            turn,
            scale: fit * f64::from(size.samples),
            middle: (low + high) / 2.0,
            width: size.width,
            height: size.height,
            samples: size.samples,
        })
    }

    /// Samples across, and down, from the top left corner of the picture, and
    /// depth into it from the middle of the scene, all in samples.
    fn place(&self, p: &Point3<f64>) -> Vector3<f64> {
        let v = (self.turn * p.coords - self.middle) * self.scale;
        let half = |pixels: u32| f64::from(pixels * self.samples) / 2.0;
        Vector3::new(half(self.width) + v.x, half(self.height) - v.y, -v.z)
    }
}

fn turn(camera: &Camera) -> Option<Matrix3<f64>> {
    let back = -camera.towards.try_normalize(1e-100)?;
    let up = camera.up.try_normalize(1e-100)?;
    let right = up.cross(&back).try_normalize(1e-9)?;
    let up = back.cross(&right);
    let rows = [right, up, back].map(|v| RowVector3::from(v.transpose()));
    let turn = Matrix3::from_rows(&rows);
    turn.iter().all(|c| c.is_finite()).then_some(turn)
}

/// A facet that faces the eye, ready to fill.
pub(super) struct Facet {
    /// Across, down and depth in samples.
    corners: [Vector3<f64>; 3],
    /// Normals at the corners: right, up, towards the eye.
    normals: [Vector3<f64>; 3],
    part: u32,
}

/// Every facet that faces the eye.
pub(super) fn facets(parts: &[Part], frame: &Frame) -> Vec<Facet> {
    let mut facets = Vec::new();
    for (part, Part { mesh, .. }) in parts.iter().enumerate() {
        let places: Vec<_> = mesh.points.iter().map(|p| frame.place(p)).collect();
        let normals = Normals::new(mesh, &frame.turn);
        for (index, triangle) in mesh.triangles.iter().enumerate() {
            let [a, b, c] = triangle.map(|i| places[i as usize]);
            // Down is positive, so what is counter-clockwise has a negative area.
            let area = (b.x - a.x) * (c.y - a.y) - (b.y - a.y) * (c.x - a.x);
            if area < 0.0 {
                facets.push(Facet {
                    corners: [a, b, c],
                    normals: triangle.map(|i| normals.at(i, index)),
                    part: part as u32,
                });
            }
        }
    }
    facets
}

/// Facet normals and the facets round each point.
struct Normals {
    /// Unit normals in picture directions; zero for a facet without area.
    units: Vec<Vector3<f64>>,
    /// Twice the area of each facet, the weight of its normal.
    areas: Vec<f64>,
    /// Where the facets of each point start in `round`.
    starts: Vec<u32>,
    round: Vec<u32>,
}

impl Normals {
    fn new(mesh: &Mesh, turn: &Matrix3<f64>) -> Self {
        let mut units = Vec::with_capacity(mesh.triangles.len());
        let mut areas = Vec::with_capacity(mesh.triangles.len());
        let mut starts = vec![0_u32; mesh.points.len() + 1];
        for triangle in &mesh.triangles {
            let [a, b, c] = triangle.map(|i| mesh.points[i as usize]);
            let cross = turn * (b - a).cross(&(c - a));
            let area = cross.norm();
            areas.push(area);
            units.push(if area > 0.0 { cross / area } else { cross });
            for &i in triangle {
                starts[i as usize + 1] += 1;
            }
        }
        for i in 1..starts.len() {
            starts[i] += starts[i - 1];
        }
        let mut next = starts.clone();
        let mut round = vec![0; 3 * mesh.triangles.len()];
        for (facet, &i) in mesh
            .triangles
            .iter()
            .enumerate()
            .flat_map(|(f, t)| t.iter().map(move |i| (f, i)))
        {
            round[next[i as usize] as usize] = facet as u32;
            next[i as usize] += 1;
        }
        Normals {
            units,
            areas,
            starts,
            round,
        }
    }

    /// The normal at a corner of a facet: the mean over the facets round the
    /// point that are nearly in line with this one.
    fn at(&self, point: u32, facet: usize) -> Vector3<f64> {
        let own = self.units[facet];
        let range = self.starts[point as usize] as usize..self.starts[point as usize + 1] as usize;
        let sum: Vector3<f64> = self.round[range]
            .iter()
            .map(|&other| other as usize)
            .filter(|&other| self.units[other].dot(&own) > SMOOTH)
            .map(|other| self.units[other] * self.areas[other])
            .sum();
        sum.try_normalize(0.0).unwrap_or(own)
    }
}

/// What is seen at one place.
#[derive(Clone, Copy)]
pub(super) struct Sample {
    /// Depth in samples; `FAR` where there is nothing.
    pub(super) depth: f32,
    /// Right, up, towards the eye.
    pub(super) normal: [f32; 3],
    pub(super) part: u32,
}

/// The depth of the background.
pub(super) const FAR: f32 = 1e30;

const NOTHING: Sample = Sample {
    depth: FAR,
    normal: [0.0, 0.0, 1.0],
    part: u32::MAX,
};

/// Which facets touch which band, in the order of the facets.
pub(super) fn bins(facets: &[Facet], frame: &Frame, rows: u32) -> Vec<Vec<u32>> {
    let mut bins = vec![Vec::new(); frame.height.div_ceil(rows) as usize];
    let last = bins.len() - 1;
    let tall = f64::from(rows * frame.samples);
    for (index, facet) in facets.iter().enumerate() {
        let (top, bottom) = rows_of(facet);
        // One row more at either side, for the neighbours that a band looks at.
        let from = ((top - 1.0) / tall).max(0.0) as usize;
        let to = ((bottom + 1.0) / tall).max(0.0) as usize;
        for bin in &mut bins[from.min(last)..=to.min(last)] {
            bin.push(index as u32);
        }
    }
    bins
}

/// The facet's extent down the picture, in samples.
fn rows_of(facet: &Facet) -> (f64, f64) {
    let [a, b, c] = facet.corners.map(|p| p.y);
    (a.min(b).min(c), a.max(b).max(c))
}

/// The samples of some rows of pixels, with one sample more on every side.
pub(super) struct Band {
    samples: Vec<Sample>,
    /// Samples a row, borders included.
    pub(super) stride: usize,
    rows: usize,
    /// Row of the whole picture at which `samples` starts; -1 for the first band.
    top: i64,
}

impl Band {
    pub(super) fn new(frame: &Frame, rows: u32) -> Self {
        let stride = (frame.width * frame.samples) as usize + 2;
        let rows = (rows * frame.samples) as usize + 2;
        Band {
            samples: vec![NOTHING; stride * rows],
            stride,
            rows,
            top: -1,
        }
    }

    /// Empties the band and moves it to a row of pixels.
    pub(super) fn start(&mut self, row: u32, samples: u32) {
        self.samples.fill(NOTHING);
        self.top = i64::from(row * samples) - 1;
    }

    pub(super) fn samples(&self) -> &[Sample] {
        &self.samples
    }

    /// Draws a facet over what lies behind it.
    ///
    /// A sample belongs to the facet that holds its middle. Each edge is worked
    /// from its upper end, whichever facet asks, so that neighbours neither
    /// overlap nor leave gaps.
    pub(super) fn fill(&mut self, facet: &Facet) {
        let [a, b, c] = facet.corners;
        let (top, bottom) = rows_of(facet);
        let first = (top - 0.5).ceil().max(self.top as f64) as i64;
        let end = (bottom - 0.5)
            .ceil()
            .min(self.top as f64 + self.rows as f64) as i64;
        if first >= end {
            return;
        }
        let edges = [Edge::new(a, b), Edge::new(b, c), Edge::new(c, a)];
        let slopes = Slopes::new(facet);
        let near = a.z.min(b.z).min(c.z) as f32;
        let far = a.z.max(b.z).max(c.z) as f32;
        let widest = self.stride as f64 - 1.0;
        for row in first..end {
            let y = row as f64 + 0.5;
            let mut left = f64::INFINITY;
            let mut right = f64::NEG_INFINITY;
            for edge in &edges {
                if edge.top <= y && y < edge.bottom {
                    let x = edge.x + (y - edge.top) * edge.slope;
                    left = left.min(x);
                    right = right.max(x);
                }
            }
            let from = (left - 0.5).ceil().clamp(-1.0, widest) as i64;
            let to = (right - 0.5).ceil().clamp(-1.0, widest) as i64;
            if from >= to {
                continue;
            }
            let mut value = slopes.at(from as f64 + 0.5, y);
            let start = (row - self.top) as usize * self.stride;
            let span = start + (from + 1) as usize..start + (to + 1) as usize;
            for sample in &mut self.samples[span] {
                let depth = value[0].clamp(near, far);
                if depth < sample.depth {
                    *sample = Sample {
                        depth,
                        normal: [value[1], value[2], value[3]],
                        part: facet.part,
                    };
                }
                for (v, step) in value.iter_mut().zip(&slopes.across) {
                    *v += step;
                }
            }
        }
    }
}

/// One edge, from its upper end down.
struct Edge {
    top: f64,
    bottom: f64,
    x: f64,
    slope: f64,
}

impl Edge {
    fn new(a: Vector3<f64>, b: Vector3<f64>) -> Self {
        let (a, b) = if (a.y, a.x) <= (b.y, b.x) {
            (a, b)
        } else {
            (b, a)
        };
        Edge {
            top: a.y,
            bottom: b.y,
            x: a.x,
            slope: (b.x - a.x) / (b.y - a.y),
        }
    }
}

/// Depth and normal as linear functions over the picture.
struct Slopes {
    origin: Vector3<f64>,
    value: [f64; 4],
    down: [f64; 4],
    right: [f64; 4],
    across: [f32; 4],
}

impl Slopes {
    fn new(facet: &Facet) -> Self {
        let [a, b, c] = facet.corners;
        let (u, v) = (b - a, c - a);
        let area = u.x * v.y - u.y * v.x;
        let values = [0, 1, 2].map(|i| {
            let n = facet.normals[i];
            [facet.corners[i].z, n.x, n.y, n.z]
        });
        let [first, second, third] = values;
        let rises = [0, 1, 2, 3].map(|k| (second[k] - first[k], third[k] - first[k]));
        let right = rises.map(|(p, q)| (p * v.y - q * u.y) / area);
        Slopes {
            origin: a,
            value: first,
            down: rises.map(|(p, q)| (q * u.x - p * v.x) / area),
            right,
            across: right.map(|step| step as f32),
        }
    }

    fn at(&self, x: f64, y: f64) -> [f32; 4] {
        let (dx, dy) = (x - self.origin.x, y - self.origin.y);
        [0, 1, 2, 3].map(|k| (self.value[k] + dx * self.right[k] + dy * self.down[k]) as f32)
    }
}
