//! Somebody else's master: a mesh from a file, made into one that a mould can be built around.
//!
//! # What is mended, and what is not
//! Corners at the very same place are welded, facets without area dropped or turned away, and a
//! surface that faces inwards all over is turned round. Whatever else keeps the mesh
//! from bounding one solid is refused with its place, in the file's own coordinates
//! and units: any guess at it would be a guess at the bait.

// A problem is large, but made at most once for a file.
#![allow(clippy::result_large_err)]

mod stl;
mod three_mf;

use std::collections::BTreeMap;

use nalgebra::{Point3, Vector3};

use crate::mesh::check::{FaultKind, MeshFaults, NEEDLE};
use crate::mesh::slice::Sliced;
use crate::mesh::{AxisMap, Bounds, Direction, Mesh};
use crate::spec::{
    BodyDesign, End, FileAxis, FromSpec, Knot, Origin, Problem, Problems, SectionKnot, Spec,
};

/// More triangles than this are refused, as for meshes of our own.
const MOST_TRIANGLES: usize = crate::body::MOST_TRIANGLES;
/// Lengths of masters, in mm, as of bodies that are drawn.
const SHORTEST: f64 = 5.0;
const LONGEST: f64 = 1000.0;
/// Stations at which the envelope of an imported master is taken.
const STATIONS: usize = 24;

/// A master read from a file, in the body's axes: nose at x = 0, millimetres.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Imported {
    /// Its surface: closed, outward, in one piece; enlarged by the spec's `scale`.
    pub mesh: Mesh,
    /// What was mended, and what the maker should look at.
    pub notes: Vec<String>,
}

/// Triangles as a file has them, with the length of its unit in millimetres.
struct Raw {
    mesh: Mesh,
    unit: f64,
}

impl Imported {
    /// Reads a file's bytes: STL, binary or text, in the units of the spec; or 3MF, in its own.
    ///
    /// # Errors
    /// A file that is neither, or whose mesh does not bound one solid.
    pub fn read(spec: &Spec, bytes: &[u8]) -> Result<Self, Problems> {
        let from = source(spec)?;
        let raw = if bytes.starts_with(b"PK") {
            three_mf::read(bytes)
        } else {
            stl::read(bytes).map(|mesh| Raw {
                mesh,
                unit: crate::quantity::Length {
                    value: 1.0,
                    unit: None,
                }
                .to_mm(spec.units),
            })
        }
        .map_err(|why| {
            fault(format!("the master's file cannot be used: {why}")).value(&from.file)
        })?;
        Ok(place(from, spec.scale, raw)?)
    }

    /// Takes a mesh that is in memory already, in the axes that the spec says, millimetres.
    ///
    /// # Errors
    /// A mesh that does not bound one solid.
    pub fn from_mesh(spec: &Spec, mesh: Mesh) -> Result<Self, Problems> {
        Ok(place(source(spec)?, spec.scale, Raw { mesh, unit: 1.0 })?)
    }

    /// Its outlines, from sections at some places along it: what the rules of a spec and the
    /// account need of a body. Features and moulds are made on the mesh itself.
    pub fn envelope(&self) -> BodyDesign {
        const LEAST: f64 = 0.25;
        let length = self.mesh.bounds().map_or(0.0, |b| b.max.x);
        let sliced = Sliced::new(self.mesh.clone());
        let sections: Vec<_> = (1..=STATIONS)
            .map(|i| {
                let at = length * i as f64 / (STATIONS + 1) as f64;
                (at, sliced.section(at))
            })
            .collect();
        let knots = |size: &dyn Fn([f64; 2], [f64; 2]) -> f64| -> Vec<Knot> {
            sections
                .iter()
                .map(|(at, section)| {
                    let y = section.span(0).unwrap_or_default();
                    let z = section.span(1).unwrap_or_default();
                    let size = size(y, z).max(LEAST);
                    Knot {
                        at: *at,
                        before: size,
                        after: size,
                        corner: false,
                    }
                })
                .collect()
        };
        BodyDesign {
            length,
            nose: End::Round,
            tail: End::Round,
            back: knots(&|_, z| z[1]),
            belly: knots(&|_, z| -z[0]),
            half_width: knots(&|y, _| y[1].max(-y[0])),
            section: vec![SectionKnot {
                at: 0.0,
                back: 2.0,
                belly: 2.0,
            }],
            camber: None,
            measured: None,
        }
    }
}

fn source(spec: &Spec) -> Result<&FromSpec, Problem> {
    let missing = || fault("this spec names no file to take its master from".into());
    spec.body.from.as_ref().ok_or_else(missing)
}

fn fault(what: String) -> Problem {
    Problem::new("body.from", what)
}

/// Mends the mesh, judges it, and puts it into the body's axes.
fn place(from: &FromSpec, scale: f64, raw: Raw) -> Result<Imported, Problem> {
    let Raw { mesh, unit } = raw;
    if mesh.triangles.len() > MOST_TRIANGLES {
        return Err(fault("this master has too many triangles".into())
            .value(mesh.triangles.len())
            .limit(format!("up to {MOST_TRIANGLES}"))
            .hint("thin it out in the program that made it"));
    }
    let map = axes(from).ok_or_else(|| {
        fault("`nose` and `up` of the file must lie on two different axes".into())
            .hint("such as nose = \"-x\" and up = \"+z\"")
    })?;
    // Before facets are judged, which in another unit may all be needles.
    let longest = mesh.bounds().map_or(0.0, |b| unit * b.size().amax());
    let long = format!("at most {LONGEST:.0} mm, and a length of at least {SHORTEST:.0} mm");
    if longest > 0.0 && !(SHORTEST..=LONGEST).contains(&longest) {
        return Err(
            fault("this master is too small or too large for a bait".into())
                .value(format!("{longest:.3} mm at its longest"))
                .limit(long)
                .hint(format!("is the unit right? {}", meant(longest, unit))),
        );
    }
    let mut notes = Vec::new();
    let mesh = mended(mesh, &mut notes).map_err(|faults| {
        fault(format!(
            "this master's surface does not bound a solid: {faults}"
        ))
        .value(&from.file)
        .hint("mend it in the program that made it; places are in the file's own coordinates")
    })?;
    let shells = mesh.shells();
    if let Some(second) = shells.get(1) {
        let at = mesh.corners(second[0] as usize)[0];
        return Err(
            fault("this master is not in one piece, or is hollow".into())
                .value(format!(
                    "{} surfaces, one of them at ({:.3}, {:.3}, {:.3}) in the file",
                    shells.len(),
                    at.x,
                    at.y,
                    at.z
                ))
                .hint("join its parts into one solid, and close its hollows"),
        );
    }
    let mut mesh = mesh.mapped(&map);
    for p in &mut mesh.points {
        p.coords *= unit;
    }
    let Some(bounds) = mesh.bounds() else {
        return Err(fault("this master is empty".into()));
    };
    let centre = bounds.centre();
    let move_by = match from.origin {
        Origin::Middle => Vector3::new(-bounds.min.x, -centre.y, -centre.z),
        Origin::Nose => Vector3::new(-bounds.min.x, -centre.y, -nose_height(&mesh, bounds.min.x)),
        Origin::File => Vector3::new(-bounds.min.x, 0.0, 0.0),
    };
    let mesh = mesh.translated(&move_by);
    let size = bounds.size();
    let show = |v: Vector3<f64>| format!("{:.2} x {:.2} x {:.2} mm", v.x, v.y, v.z);
    let turned = "say with `nose` and `up` how the file's axes lie";
    if !(SHORTEST..=LONGEST).contains(&size.x)
        || size.y.max(size.z) > 300.0
        || size.y.min(size.z) < 0.5
    {
        return Err(
            fault("this master is too small or too large for a bait".into())
                .value(format!("{} (length, width, height)", show(size)))
                .limit("a length of 5 to 1000 mm, and 0.5 to 300 mm across")
                .hint(format!(
                    "{turned}; or is the unit not right? {}",
                    meant(size.x, unit)
                )),
        );
    }
    let (min, max) = (bounds.min + move_by, bounds.max + move_by);
    if min.y >= 0.0 || max.y <= 0.0 || min.z >= 0.0 || max.z <= 0.0 {
        return Err(
            fault("the file's own axis does not run through this master".into())
                .value(format!(
                    "it reaches from {:.2} to {:.2} mm across and from {:.2} to {:.2} mm up",
                    min.y, max.y, min.z, max.z
                ))
                .hint(
                    "write origin = \"middle\" or \"nose\", or move it in the program that made it",
                ),
        );
    }
    if size.x < size.y.max(size.z) {
        notes.push(format!(
            "The master read from {} is not longest from nose to tail ({}): if that is not meant, {turned}.",
            from.file,
            show(size)
        ));
    }
    notes.extend(
        unit_doubted(size.x, unit).map(|doubt| format!("The master of {} is {doubt}", from.file)),
    );
    // A scale that cannot be is told of by the rules.
    let scale = if (0.1..=10.0).contains(&scale) {
        scale
    } else {
        1.0
    };
    Ok(Imported {
        mesh: mesh.scaled(scale),
        notes,
    })
}

/// From the shortest baits to the longest, in mm (reasoned): inches and centimetres read as
/// millimetres, or the other way round, mostly lie outside, and metres by far.
const LIKELY: std::ops::RangeInclusive<f64> = 20.0..=500.0;

/// What is to be asked of a master that is read as so long, in mm, that a wrong unit is likelier;
/// `unit` is the one it was read in, in mm.
pub(crate) fn unit_doubted(length: f64, unit: f64) -> Option<String> {
    (!LIKELY.contains(&length)).then(|| {
        format!(
            "read as {length:.2} mm long: is the unit right? {}",
            meant(length, unit)
        )
    })
}

/// Units in which a master that is read as so long in another would be as long as baits are, and
/// how each is said.
fn meant(length: f64, unit: f64) -> String {
    const UNITS: [(&str, f64, &str); 5] = [
        ("millimetres", 1.0, "write units = \"mm\""),
        ("centimetres", 10.0, "write units = \"cm\""),
        ("inches", 25.4, "write units = \"in\""),
        ("metres", 1000.0, "save it in millimetres"),
        ("micrometres", 0.001, "save it in millimetres"),
    ];
    let likely: Vec<String> = UNITS
        .iter()
        .filter_map(|&(name, mm, how)| {
            let long = length / unit * mm;
            let other = (mm / unit - 1.0).abs() > 1e-9;
            (other && LIKELY.contains(&long))
                .then(|| format!("in {name} it is {long:.1} mm long ({how})"))
        })
        .collect();
    let read = "An STL file is read in `units` of the spec, a 3MF file in its own";
    if likely.is_empty() {
        return format!("{read}; `scale` enlarges either.");
    }
    let mut said = likely.join(", ");
    // As the beginning of a sentence.
    said.replace_range(..1, "I");
    format!(
        "{said}. {read}; bare numbers of the spec are in `units` too, others name theirs, as \"3 mm\"."
    )
}

/// Height of the foremost point; of a flat nose, of its middle.
fn nose_height(mesh: &Mesh, foremost: f64) -> f64 {
    /// What single precision leaves of a flat face.
    const FLAT: f64 = 1e-4;
    let face = mesh.points.iter().filter(|p| p.x <= foremost + FLAT);
    Bounds::of(face).map_or(0.0, |b| b.centre().z)
}

/// Turns the file's axes into the body's.
fn axes(from: &FromSpec) -> Option<AxisMap> {
    let vector = |axis: FileAxis| -> Vector3<f64> {
        match axis {
            FileAxis::PlusX => Vector3::x(),
            FileAxis::MinusX => -Vector3::x(),
            FileAxis::PlusY => Vector3::y(),
            FileAxis::MinusY => -Vector3::y(),
            FileAxis::PlusZ => Vector3::z(),
            FileAxis::MinusZ => -Vector3::z(),
        }
    };
    let (tail, up) = (-vector(from.nose), vector(from.up));
    let left = up.cross(&tail);
    // Image of each axis of the file.
    let image = |k: usize| {
        [
            (tail, Direction::PlusX, Direction::MinusX),
            (left, Direction::PlusY, Direction::MinusY),
            (up, Direction::PlusZ, Direction::MinusZ),
        ]
        .into_iter()
        .find_map(|(v, plus, minus)| match v[k] {
            1.0 => Some(plus),
            -1.0 => Some(minus),
            _ => None,
        })
    };
    AxisMap::new(image(0)?, image(1)?, image(2)?)
}

/// The mesh with what is unambiguous put right, or what else is wrong with it.
fn mended(mesh: Mesh, notes: &mut Vec<String>) -> Result<Mesh, MeshFaults> {
    if let Err(faults) = mesh.check() {
        // Nothing to be made of these.
        if [
            FaultKind::PointOutOfRange,
            FaultKind::IndexOutOfRange,
            FaultKind::Empty,
        ]
        .iter()
        .any(|&kind| faults.count(kind) > 0)
        {
            return Err(faults);
        }
    } else {
        return Ok(mesh);
    }
    let before = (mesh.points.len(), mesh.triangles.len());
    let mut mesh = welded(mesh);
    if mesh.triangles.len() < before.1 {
        notes.push(format!(
            "{} facets of the master's file had no area and were left out.",
            before.1 - mesh.triangles.len()
        ));
    }
    let mut faults = match mesh.check() {
        Ok(()) => return Ok(mesh),
        Err(faults) => faults,
    };
    let open = |f: &MeshFaults| {
        [
            FaultKind::OpenEdge,
            FaultKind::CrowdedEdge,
            FaultKind::OneWayEdge,
            FaultKind::PinchedPoint,
        ]
        .iter()
        .any(|&kind| f.count(kind) > 0)
    };
    if faults.count(FaultKind::Needle) > 0 && !open(&faults) {
        mesh = mesh.without_needles(NEEDLE);
        notes.push("Facets of no height in the master's file were turned away.".into());
        match mesh.check() {
            Ok(()) => return Ok(mesh),
            Err(left) => faults = left,
        }
    }
    if faults.count(FaultKind::InsideOut) > 0 && mesh.volume() < 0.0 {
        mesh = mesh.flipped();
        notes.push("The master's surface in the file faced inwards and was turned round.".into());
        return mesh.check().map(|()| mesh);
    }
    Err(faults)
}

/// Corners at the very same place made one; facets that fold up in that left out; points
/// that no facet uses as well.
fn welded(mesh: Mesh) -> Mesh {
    let mut places: BTreeMap<[u64; 3], u32> = BTreeMap::new();
    let mut out = Mesh::default();
    for t in &mesh.triangles {
        let corners = t.map(|i| mesh.points[i as usize]);
        // Adding zero makes −0 and 0 the same bits.
        let key = |p: &Point3<f64>| [p.x, p.y, p.z].map(|c| (c + 0.0).to_bits());
        let keys = corners.map(|p| key(&p));
        if keys[0] == keys[1] || keys[1] == keys[2] || keys[2] == keys[0] {
            continue;
        }
        let mut index = [0; 3];
        for k in 0..3 {
            index[k] = *places.entry(keys[k]).or_insert_with(|| {
                out.points.push(corners[k].map(|c| c + 0.0));
                (out.points.len() - 1) as u32
            });
        }
        out.triangles.push(index);
    }
    out
}

#[cfg(test)]
mod tests;
