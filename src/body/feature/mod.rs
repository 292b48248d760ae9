//! What is added to and cut from the trunk, one kind of feature a file.

// A problem is large, but made once where a feature fails, and collected by the maker.
#![allow(clippy::result_large_err)]

mod bore;
mod curls;
mod fins;
mod forks;
mod legs;
mod recess;
mod root;
mod slot;
mod strand;
mod tails;

pub(crate) use bore::{NO_WAY, USUAL_GATE, WAY};
pub(crate) use forks::fork_outline;

use nalgebra::{Point3, Vector3};

use super::Body;
use super::ground::{Ground, most};
use super::master::{Effect, Thinnest, Tool};
use crate::curve::Outline;
use crate::mesh::{AxisMap, Mesh};
use crate::quantity::LengthUnit;
use crate::spec::{
    BoreDesign, Design, End, LegStand, Making, Parting, Problem, Problems, entry_of,
};

/// The plane in the middle of a fin's plate, or through the middles of a row of legs; of a pair, that of
/// the left one.
///
/// A point (u, v) of it stands at `front + along·u + out·v`.
#[derive(Clone, Debug)]
pub(crate) struct FinPlane {
    /// Field path of the feature.
    pub(crate) path: String,
    /// Where the root line begins, on the surface.
    pub(crate) front: Point3<f64>,
    /// The way of the root line.
    pub(crate) along: Vector3<f64>,
    /// Square to it, away from the body.
    pub(crate) out: Vector3<f64>,
    /// Length of the root.
    pub(crate) root: f64,
    /// The outline over the root line, from its front to its rear.
    pub(crate) outline: Vec<[f64; 2]>,
    /// Thickness of the plate.
    pub(crate) thickness: f64,
}

impl FinPlane {
    /// Its area outside the body.
    pub(crate) fn area(&self) -> f64 {
        let pairs = self.outline.windows(2);
        0.5 * pairs
            .map(|pair| pair[1][0] * pair[0][1] - pair[0][0] * pair[1][1])
            .sum::<f64>()
            .abs()
    }
}

/// The planes of all fins, and of all rows of legs, that stand in pairs.
pub(crate) fn paired_planes(design: &Design, body: &Body) -> Vec<FinPlane> {
    let paired = |i: &usize| design.fin[*i].angle % 180.0 != 0.0;
    let fins = (0..design.fin.len()).filter(paired);
    let fins = fins.filter_map(|i| fins::plane(design, body, i));
    let paired = |i: &usize| match design.legs[*i].stand {
        LegStand::Row { angle, .. } => angle % 180.0 != 0.0,
        LegStand::Tail(_) => false,
    };
    let rows = (0..design.legs.len()).filter(paired);
    let rows = rows.filter_map(|i| legs::plane(design, body, i));
    fins.chain(rows).collect()
}

/// The solids of features, and what the maker should know of them.
#[derive(Default)]
pub(super) struct Made {
    pub(super) tools: Vec<Tool>,
    pub(super) thinnest: Vec<Thinnest>,
    pub(super) notes: Vec<String>,
}

/// One feature in the making.
struct Feature<'a> {
    path: String,
    ground: &'a Ground<'a>,
    units: LengthUnit,
    /// How the sizes of the spec are told.
    drawn: Drawn,
    tolerance: f64,
    /// Bores that are cast in, of which recesses keep clear.
    bores: &'a [BoreDesign],
    tools: &'a mut Vec<Tool>,
    thinnest: &'a mut Vec<Thinnest>,
    notes: &'a mut Vec<String>,
}

/// Shows lengths of the bait as it is made in the size that the spec draws it in.
#[derive(Clone, Copy)]
struct Drawn {
    units: LengthUnit,
    scale: f64,
}

impl Drawn {
    /// The same for the length at this path of the spec: some are made as they are written.
    fn of(self, path: &str) -> Self {
        Drawn {
            scale: crate::spec::scale_of(path, self.scale),
            ..self
        }
    }

    fn show(self, mm: f64) -> String {
        self.units.show(mm / self.scale)
    }

    /// A greatest length as text: rounded down, so that it is accepted as it is shown.
    fn at_most(self, mm: f64) -> String {
        at_most(self.units, mm / self.scale)
    }

    /// A least length as text: rounded up, likewise.
    fn at_least(self, mm: f64) -> String {
        let digit = self.units.digit();
        self.units
            .show(libm::ceil(mm / self.scale / digit - SLACK) * digit)
    }

    /// The greatest length below one that does not do of which `holds` is true, and stays so
    /// when it is typed as it is shown: what is found has been tried. Shorter ones need not do:
    /// a shallow hollow has no walls where the surface is round.
    fn most(self, least: f64, length: f64, holds: impl Fn(f64) -> bool) -> Option<f64> {
        /// Lengths tried from the longest down, and digits below what halving finds.
        const TRIED: i32 = 48;
        let step = (length - least) / f64::from(TRIED);
        let shorter = (1..=TRIED).map(|i| length - step * f64::from(i));
        let held = shorter.into_iter().find(|&shorter| holds(shorter))?;
        let found = most(held, held + step, &holds)?;
        let digit = self.units.digit() * self.scale;
        let last = libm::floor(found / digit);
        (0..TRIED)
            .map(|less| (last - f64::from(less)) * digit)
            .find(|&shown| shown >= least - 1e-9 && holds(shown))
    }

    /// The same upwards: the least length above one that does not do.
    fn least(self, length: f64, greatest: f64, holds: impl Fn(f64) -> bool) -> Option<f64> {
        // Mirrored about nought, where digits are the same.
        let found = self.most(-greatest, -length, |less| holds(-less));
        found.map(|less| -less)
    }

    /// A length times a factor: as it is for 1, else as a limit.
    fn sized(self, mm: f64, by: f64) -> String {
        if by == 1.0 {
            self.show(mm)
        } else {
            self.at_most(mm * by)
        }
    }
}

/// Degrees as they are: they have no size to be drawn in.
fn degrees() -> Drawn {
    Drawn {
        units: LengthUnit::Mm,
        scale: 1.0,
    }
}

impl Feature<'_> {
    /// A length as it is made.
    fn show(&self, mm: f64) -> String {
        self.units.show(mm)
    }

    /// See [`Drawn::most`].
    fn most(&self, least: f64, length: f64, holds: impl Fn(f64) -> bool) -> Option<f64> {
        self.drawn.most(least, length, holds)
    }

    fn push(&mut self, effect: Effect, mesh: Mesh, pair: bool) {
        push(self.tools, &self.path, effect, mesh, pair);
    }

    /// States where this is thinnest.
    fn thinnest(&mut self, thickness: f64, at: Point3<f64>) {
        self.thinnest.push(Thinnest {
            path: self.path.clone(),
            thickness,
            at,
        });
    }

    fn body(&self) -> &Body {
        self.ground.body()
    }
}

/// Part of a digit that is rounding.
const SLACK: f64 = 1e-6;

/// A greatest length as text: rounded down, so that it is accepted as it is shown.
pub(crate) fn at_most(units: LengthUnit, mm: f64) -> String {
    units.show(libm::floor(mm / units.digit() + SLACK) * units.digit())
}

/// Makes every entry of a list; what is wrong is collected.
struct Maker<'a> {
    design: &'a Design,
    ground: &'a Ground<'a>,
    /// Entries that are not made.
    left_out: &'a [String],
    made: Made,
    problems: Vec<Problem>,
}

impl<'a> Maker<'a> {
    fn new(design: &'a Design, ground: &'a Ground<'a>, left_out: &'a [String]) -> Self {
        Maker {
            design,
            ground,
            left_out,
            made: Made::default(),
            problems: Vec::new(),
        }
    }

    fn each<D>(
        &mut self,
        list: &str,
        entries: &[D],
        mut make: impl FnMut(&mut Feature<'_>, &D) -> Result<(), Problem>,
    ) {
        for (i, entry) in entries.iter().enumerate() {
            self.one(format!("{list}[{i}]"), entry, &mut make);
        }
    }

    fn one<D>(
        &mut self,
        path: String,
        entry: &D,
        make: impl FnOnce(&mut Feature<'_>, &D) -> Result<(), Problem>,
    ) {
        let feature = entry_of(&path);
        if self.left_out.iter().any(|path| path == feature) {
            return;
        }
        let mut feature = Feature {
            path,
            ground: self.ground,
            units: self.design.units,
            drawn: Drawn {
                units: self.design.units,
                scale: self.design.scale,
            },
            bores: &self.design.bore,
            tolerance: self.design.tolerance,
            tools: &mut self.made.tools,
            thinnest: &mut self.made.thinnest,
            notes: &mut self.made.notes,
        };
        if let Err(problem) = make(&mut feature, entry) {
            self.problems.push(problem);
        }
    }

    fn done(self) -> Result<Made, Problems> {
        if self.problems.is_empty() {
            Ok(self.made)
        } else {
            Err(Problems(self.problems))
        }
    }
}

/// The solids of all features of a design that add to the trunk or cut it, in the order
/// of its spec.
pub(super) fn tools(
    design: &Design,
    ground: &Ground<'_>,
    left_out: &[String],
) -> Result<Made, Problems> {
    let mut maker = Maker::new(design, ground, left_out);
    maker.each("eyes", &design.eyes, recess::eyes);
    maker.each("slot", &design.slot, |feature, slot| {
        if slot.how == Making::Cast && design.mould.parting == Parting::Flank {
            return Ok(());
        }
        slot::cut(feature, slot)
    });
    maker.each("bore", &design.bore, |feature, bore| match bore.how {
        Making::Cast => Ok(()),
        Making::Marked => bore::mark(feature, bore),
    });
    maker.each("pocket", &design.pocket, recess::pocket);
    maker.each("fin", &design.fin, fins::add);
    if let Some(tail) = &design.tail {
        maker.one(tails::path(tail).to_owned(), tail, tails::add);
    }
    maker.each("legs", &design.legs, legs::add);
    maker.done()
}

/// The loose cores of a design, around which the finished bait is cast, with their prints.
///
/// A bore cannot be moulded by the halves, nor can a slot that they open across: what would
/// stand in it is held by the plastic on both its sides.
pub(super) fn cores(
    design: &Design,
    ground: &Ground<'_>,
    left_out: &[String],
) -> Result<Made, Problems> {
    let mut maker = Maker::new(design, ground, left_out);
    maker.each("slot", &design.slot, |feature, slot| {
        if slot.how == Making::Cast && design.mould.parting == Parting::Flank {
            return slot::core(feature, slot);
        }
        Ok(())
    });
    maker.each("bore", &design.bore, |feature, bore| match bore.how {
        Making::Cast => bore::core(feature, bore, &design.mould),
        Making::Marked => Ok(()),
    });
    maker.done()
}

/// Whether a design has loose cores.
pub(super) fn has_cores(design: &Design) -> bool {
    let cast = |how: Making| how == Making::Cast;
    design.bore.iter().any(|b| cast(b.how))
        || design.mould.parting == Parting::Flank && design.slot.iter().any(|s| cast(s.how))
}

/// Adds a solid, and its mirror image in y = 0 if it is one of a pair.
fn push(tools: &mut Vec<Tool>, path: &str, effect: Effect, mesh: Mesh, pair: bool) {
    let tool = |mesh| Tool {
        path: path.to_owned(),
        effect,
        mesh,
    };
    if pair {
        tools.push(tool(mesh.clone().mapped(&AxisMap::MIRROR_Y)));
    }
    tools.push(tool(mesh));
}

/// A ball about the origin, facets straddling its surface.
fn ball(radius: f64, tolerance: f64) -> Mesh {
    let circle = |x: f64| (x * (2.0 * radius - x)).max(0.0).sqrt();
    let mesh = Outline::fit(
        2.0 * radius,
        End::Round,
        End::Round,
        0.01 * tolerance,
        circle,
    )
    .ok()
    .and_then(|o| {
        Body::revolved(o, End::Round, End::Round)
            .mesh(tolerance)
            .ok()
    })
    .unwrap_or_default();
    mesh.translated(&nalgebra::Vector3::new(-radius, 0.0, 0.0))
}

#[cfg(test)]
mod bore_tests;
#[cfg(test)]
mod bunch_tests;
#[cfg(test)]
mod exact_tests;
#[cfg(test)]
mod limb_tests;
#[cfg(test)]
mod limit_tests;
#[cfg(test)]
mod overlap_tests;
#[cfg(test)]
mod random_tests;
#[cfg(test)]
mod root_tests;
#[cfg(test)]
mod tail_tests;
#[cfg(test)]
mod tests;
