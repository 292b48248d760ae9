//! Where the parting face leaves its course to follow a fin.
//!
//! A fin that stands neither in the face nor across it lies wholly in one half, which holds it. The
//! face therefore steps aside: over the fin it is the plane in the middle of the fin's plate. Round
//! the plate's rim it runs level, through the rim's outermost line, and then comes back to its
//! course at 45 degrees, steep enough to be short and flat enough to print and to seal
//! (common practice); where two sides meet it is steeper, since both bend it.
//!
//! Let P be the plate's plane over (x, y), h the face without the step, and dᵢ the distance in plan from
//! one of the lines round the plate, positive inside. T = P + Σ sᵢ min(0, dᵢ) is P over the plate
//! and falls away round it; the face is raised to max(h, T). What lies below its course is the same
//! upside down. Both are affine between few straight lines, so that a mesh divided there is drawn
//! level and raised again exactly.

use nalgebra::Point3;

use crate::body::FinPlane;
use crate::mesh::{Bounds, Mesh};

/// A plate steeper than this is left to open along its own plane: cosine of 60 degrees
/// (reasoned: from there on its rim is all of it that the other half sees).
const STEEPEST: f64 = 0.5;
/// How steeply the face comes back to its course.
const BACK: f64 = 1.0;
/// The sides on which lines touch a fin's outline: degrees from the way of its root to the way out.
const AROUND: [f64; 5] = [0.0, 45.0, 90.0, 135.0, 180.0];
/// Share of the way from the body's middle to its skin at the root at which a step begins to rise,
/// and at which it has risen. Beside the root both lie within the body, where there is no face.
const BEGINS: [f64; 2] = [0.2, 0.5];
/// A step that would rise more steeply between them is not made: it would come out of the body.
const STEEPEST_RISE: f64 = 4.0;
/// How far a step may reach beyond its fin, in mm (reasoned: no block is worth more).
const FARTHEST: u32 = 60;

/// A line round a plate, in plan.
#[derive(Clone, Debug, PartialEq)]
struct Edge {
    /// The distance from it is n·(x, y) − o, positive towards the plate.
    n: [f64; 2],
    o: f64,
    /// How much the step bends down beyond it where it is raised, and up where it is sunk.
    bends: [f64; 2],
}

impl Edge {
    fn beyond(&self, [x, y]: [f64; 2]) -> f64 {
        self.off([x, y]).min(0.0)
    }

    fn off(&self, [x, y]: [f64; 2]) -> f64 {
        self.n[0] * x + self.n[1] * y - self.o
    }
}

/// Why the face does not follow a fin.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Left {
    /// It lies in the face as it is.
    Lies,
    /// It stands so many degrees out of the waist.
    Steep(f64),
    /// The body is too slim there, or the step would not come back to its course.
    NoRoom,
}

/// A step of the face.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Step {
    /// Field path of the fin.
    pub(super) path: String,
    /// z = a + b·x + c·y over the plate.
    plane: [f64; 3],
    edges: Vec<Edge>,
    /// From where to where in x and in y the face may be off its course.
    within: [[f64; 2]; 2],
    /// Where the lines touch the plate, in plan.
    corners: Vec<[f64; 2]>,
}

impl Step {
    /// The steps to the left fin of a pair and to the right one, if the face is to follow them: `course`
    /// is its height without them. A plate nearer to it than `least` lies in the face as it is.
    pub(super) fn pair(
        fin: &FinPlane,
        course: &impl Fn(f64) -> f64,
        least: f64,
    ) -> Result<[Self; 2], Left> {
        let left = Self::follow(fin, course, least)?;
        Ok([left.mirrored(), left])
    }

    fn follow(fin: &FinPlane, course: &impl Fn(f64) -> f64, least: f64) -> Result<Self, Left> {
        let (front, along, out) = (fin.front, fin.along, fin.out);
        let normal = along.cross(&out);
        if normal.z.abs() < STEEPEST {
            return Err(Left::Steep(libm::acos(normal.z.abs()).to_degrees()));
        }
        let [b, c] = [-normal.x / normal.z, -normal.y / normal.z];
        let plane = [front.z - b * front.x - c * front.y, b, c];
        let at = |[u, v]: [f64; 2]| {
            let p = front + along * u + out * v;
            [p.x, p.y]
        };
        let over = |[x, y]: [f64; 2]| plane[0] + b * x + c * y;
        let off = |p: [f64; 2]| over(p) - course(p[0]);
        let most = |of: &dyn Fn([f64; 2]) -> f64| {
            let outline = fin.outline.iter().map(|&p| of(at(p)));
            outline.fold(f64::NEG_INFINITY, f64::max)
        };
        if most(&|p| off(p).abs()) <= least {
            return Err(Left::Lies);
        }
        let mut edges = Vec::new();
        let mut corners = Vec::new();
        let rim = 0.5 * fin.thickness;
        let middle = at([0.5 * fin.root, 0.0]);
        for turn in AROUND {
            // The line that touches the outline on this side: one along the middle of the rim's rounding,
            // one round the rim.
            let (sin, cos) = libm::sincos(turn.to_radians());
            let farthest = |[u, v]: [f64; 2]| u * cos + v * sin;
            let touched = fin.outline.iter().copied();
            let touched = touched.reduce(|a, b| if farthest(b) > farthest(a) { b } else { a });
            let touched = touched.ok_or(Left::Lies)?;
            let (p, q) = (at(touched), at([touched[0] - sin, touched[1] + cos]));
            let length = libm::hypot(q[0] - p[0], q[1] - p[1]);
            let mut n = [(p[1] - q[1]) / length, (q[0] - p[0]) / length];
            let inside = |n: [f64; 2], of: [f64; 2]| n[0] * (of[0] - p[0]) + n[1] * (of[1] - p[1]);
            if inside(n, middle) < 0.0 {
                n = n.map(|c| 0.0 - c);
            }
            let inward = at([touched[0] - rim * cos, touched[1] - rim * sin]);
            let o = n[0] * inward[0] + n[1] * inward[1];
            // How the plate rises outward.
            let rise = -(b * n[0] + c * n[1]);
            edges.push(Edge {
                n,
                o,
                bends: [rise.max(0.0), (-rise).max(0.0)],
            });
            // Seen along the pull the rim reaches as far out from its middle as it is thick.
            edges.push(Edge {
                n,
                o: o - rim,
                bends: [
                    (BACK + rise.min(0.0)).max(0.0),
                    (BACK - rise.max(0.0)).max(0.0),
                ],
            });
            corners.push(p);
        }
        // Towards the other one it begins within the body.
        let skin = front.y.min(at([fin.root, 0.0])[1]);
        if skin < least {
            return Err(Left::NoRoom);
        }
        let [begins, risen] = BEGINS.map(|share| share * skin);
        let holds = [1.0, -1.0].map(|side| {
            let there = |p: [f64; 2]| side * off([p[0], begins]);
            most(&there).max(0.0) / (risen - begins)
        });
        if holds.iter().any(|rise| *rise > STEEPEST_RISE) {
            return Err(Left::NoRoom);
        }
        edges.push(Edge {
            n: [0.0, 1.0],
            o: risen,
            bends: [holds[0].max(-c), holds[1].max(c)],
        });
        edges.retain(|edge| edge.bends != [0.0; 2]);
        let mut step = Step {
            path: fin.path.clone(),
            plane,
            edges,
            within: [[f64::NEG_INFINITY, f64::INFINITY]; 2],
            corners,
        };
        step.within = step.reach(course).ok_or(Left::NoRoom)?;
        Ok(step)
    }

    /// Where it may be off the course: a little more than where it is.
    fn reach(&self, course: &impl Fn(f64) -> f64) -> Option<[[f64; 2]; 2]> {
        /// Places along a side of it, in mm, and how far off the step must be there: it bends too
        /// little to come back between two of them.
        const STEP: f64 = 0.1;
        const CLEAR: f64 = 0.5;
        let least = [0, 1].map(|k| self.corners.iter().fold(f64::INFINITY, |m, c| m.min(c[k])));
        let most = [0, 1].map(|k| {
            let corners = self.corners.iter();
            corners.fold(f64::NEG_INFINITY, |m, c| m.max(c[k]))
        });
        // It begins beyond the middle, where the other one of the pair ends.
        let mut within = [[least[0], most[0]], [0.0, most[1]]];
        let clear = |within: &[[f64; 2]; 2], k: usize, end: usize, by: f64| {
            let [from, to] = within[1 - k];
            let count = libm::ceil((to - from) / STEP).max(1.0);
            #[allow(clippy::cast_possible_truncation)]
            (0..=count as i32).all(|i| {
                let mut at = [within[k][end]; 2];
                at[1 - k] = from + (to - from) * f64::from(i) / count;
                let [raised, sunk] = self.off(at, course(at[0]));
                raised <= -by && sunk >= by
            })
        };
        for _ in 0..FARTHEST {
            let sides = [(0, 0, -1.0), (0, 1, 1.0), (1, 1, 1.0)];
            let short = sides.map(|(k, end, by)| (!clear(&within, k, end, CLEAR), k, end, by));
            if short.iter().all(|(short, ..)| !short) {
                return clear(&within, 1, 0, 0.0).then_some(within);
            }
            for (_, k, end, by) in short.into_iter().filter(|(short, ..)| *short) {
                within[k][end] += by;
            }
        }
        None
    }

    fn mirrored(&self) -> Self {
        let [a, b, c] = self.plane;
        let [x, [right, left]] = self.within;
        Step {
            path: self.path.clone(),
            plane: [a, b, 0.0 - c],
            edges: self
                .edges
                .iter()
                .map(|edge| Edge {
                    n: [edge.n[0], 0.0 - edge.n[1]],
                    ..edge.clone()
                })
                .collect(),
            within: [x, [0.0 - left, 0.0 - right]],
            corners: self.corners.iter().map(|&[x, y]| [x, 0.0 - y]).collect(),
        }
    }

    /// The same step of a mould turned upside down about x.
    pub(super) fn turned(&self) -> Self {
        let mut turned = self.mirrored();
        turned.plane = turned.plane.map(|c| 0.0 - c);
        for edge in &mut turned.edges {
            edge.bends.reverse();
        }
        turned
    }

    /// The same step so far along x and y.
    pub(super) fn moved(&self, by: [f64; 2]) -> Self {
        let mut moved = self.clone();
        for (k, by) in by.into_iter().enumerate() {
            moved.plane[0] -= moved.plane[k + 1] * by;
            for edge in &mut moved.edges {
                edge.o += edge.n[k] * by;
            }
            moved.within[k] = moved.within[k].map(|c| c + by);
            for corner in &mut moved.corners {
                corner[k] += by;
            }
        }
        moved
    }

    /// Whether both may be off the course at the same place.
    pub(super) fn meets(&self, other: &Self) -> bool {
        (0..2).all(|k| {
            self.within[k][1] > other.within[k][0] && self.within[k][0] < other.within[k][1]
        })
    }

    /// The same step under another path.
    pub(super) fn called(self, path: String) -> Self {
        Step { path, ..self }
    }

    /// How far above a face at `course` it would raise it, and how far below (negative) sink it.
    fn off(&self, at: [f64; 2], course: f64) -> [f64; 2] {
        let over = self.over(at) - course;
        let bent = |k: usize| {
            let bends = self
                .edges
                .iter()
                .map(|edge| edge.bends[k] * edge.beyond(at));
            bends.sum::<f64>()
        };
        [over + bent(0), over - bent(1)]
    }

    fn over(&self, [x, y]: [f64; 2]) -> f64 {
        self.plane[0] + self.plane[1] * x + self.plane[2] * y
    }

    fn reaches(&self, at: [f64; 2]) -> bool {
        [0, 1]
            .iter()
            .all(|&k| at[k] > self.within[k][0] && at[k] < self.within[k][1])
    }

    /// What it adds to a face at `course`: raised, and sunk.
    fn adds(&self, at: [f64; 2], course: f64) -> [f64; 2] {
        if !self.reaches(at) {
            return [0.0; 2];
        }
        let [raised, sunk] = self.off(at, course);
        [raised.max(0.0), sunk.min(0.0)]
    }

    fn near(&self, triangle: &[Point3<f64>; 3]) -> bool {
        [0, 1].iter().all(|&k| {
            let [from, to] = self.within[k];
            triangle.iter().any(|p| p[k] > from) && triangle.iter().any(|p| p[k] < to)
        })
    }

    /// Where it may leave the course in plan, and from where to where its plate reaches in height.
    pub(super) fn bounds(&self) -> Bounds {
        let [x, y] = self.within;
        let heights = || self.corners.iter().map(|&at| self.over(at));
        let least = heights().fold(f64::INFINITY, f64::min);
        let most = heights().fold(f64::NEG_INFINITY, f64::max);
        Bounds {
            min: Point3::new(x[0], y[0], least),
            max: Point3::new(x[1], y[1], most),
        }
    }

    /// All of the plan in which it may leave the course.
    pub(super) fn plan(&self) -> Mesh {
        let [[x0, x1], [y0, y1]] = self.within;
        let corners = [[x0, y0], [x1, y0], [x1, y1], [x0, y1]];
        Mesh {
            points: corners.map(|[x, y]| Point3::new(x, y, 0.0)).to_vec(),
            triangles: vec![[0, 1, 2], [0, 2, 3]],
        }
    }
}

/// What steps add to a face at `course`.
pub(super) fn adds(steps: &[Step], at: [f64; 2], course: f64) -> f64 {
    let each = steps.iter().map(|step| step.adds(at, course));
    let [raised, sunk] = each.fold([0.0_f64; 2], |[up, down], [raised, sunk]| {
        [up.max(raised), down.min(sunk)]
    });
    raised + sunk
}

/// A mesh divided so that what the steps add to the course is affine on each triangle. The course is
/// so already.
pub(super) fn divided(steps: &[Step], mut mesh: Mesh, course: impl Fn(f64) -> f64) -> Mesh {
    let plan = |p: &Point3<f64>| [p.x, p.y];
    for step in steps {
        for edge in &step.edges {
            mesh = mesh.split_where(|p| edge.off(plan(p)), |t| step.near(t));
        }
        for k in 0..2 {
            let leaves = |p: &Point3<f64>| step.off(plan(p), course(p.x))[k];
            mesh = mesh.split_where(leaves, |t| step.near(t));
        }
    }
    for (i, first) in steps.iter().enumerate() {
        for second in &steps[i + 1..] {
            if !first.meets(second) {
                continue;
            }
            for k in 0..2 {
                let between = |p: &Point3<f64>| {
                    let of = |step: &Step| step.adds(plan(p), course(p.x))[k];
                    of(first) - of(second)
                };
                mesh = mesh.split_where(between, |t| first.near(t) && second.near(t));
            }
        }
    }
    mesh
}
