//! Different baits in one block: the mould is one bait's, the others lie beside it.
//!
//! Their ends at the sprue are in a row, so that one header feeds all; each has a gate that its
//! own form has room for, and vents at its own far end.

use nalgebra::{Point3, Vector3};

use super::channels::{
    Channels, Form, Gate, LEAST_GATE, NECK_TAPER, beyond_trunk, in_parting_plane, vents_of,
};
use super::keys::Key;
use super::seats::{Seats, Stranger};
use super::{Mould, PartingFace, Problems};
use crate::body::{Body, WAY};
use crate::mesh::slice::{PlaneSection, Sliced};
use crate::mesh::{Bounds, Mesh};
use crate::rig::Rig;
use crate::spec::{BodyEnd, Design, Making, MouldDesign, Parting, Problem, Route};

/// More baits than a bench mould has (reasoned).
pub(crate) const MOST: usize = 24;

/// A master in the body's axes, as large as in the mould, with the loose cores that stand in it.
#[derive(Clone, Copy, Debug)]
pub struct Pattern<'a> {
    /// The master, core prints and all.
    pub mesh: &'a Mesh,
    /// The loose cores, each with its prints.
    pub cores: &'a [Mesh],
    /// What the cores keep plastic out of, in mm³.
    pub core_volume: f64,
}

impl<'a> From<&'a Mesh> for Pattern<'a> {
    /// A master without loose cores.
    fn from(mesh: &'a Mesh) -> Self {
        Pattern {
            mesh,
            cores: &[],
            core_volume: 0.0,
        }
    }
}

/// Another bait to be cast in the same block.
#[derive(Clone, Copy, Debug)]
pub struct Neighbour<'a> {
    /// What it is called.
    pub name: &'a str,
    /// Its body, as large as in the mould.
    pub body: &'a Body,
    /// Its master, made for the mould's parting plane.
    pub master: Pattern<'a>,
    /// How many of it.
    pub count: usize,
    /// The face it would part along by itself ([`PartingFace::of`]), whose steps to its fins the
    /// mould's face takes on.
    pub face: Option<&'a PartingFace>,
    /// What is cast in it gets seats by this design (its rig and `mould.seats`; the rest of the
    /// mould is the mould's own), with the rig that was built by it; none for a plain bait.
    pub rig: Option<(&'a Design, &'a Rig)>,
}

/// Another bait in a mould.
#[derive(Clone, Debug)]
#[non_exhaustive]
pub struct Beside {
    /// What it is called.
    pub name: String,
    /// Its body, as large as in the mould.
    pub body: Body,
    /// One master alone, in the mould's axes, where it lies along the block.
    pub master: Mesh,
    /// How far along the block that is from the body's own place.
    pub along: f64,
    /// How many of it.
    pub count: usize,
    /// Seats for what is cast in one of it, where it lies along the block.
    pub seats: Seats,
    /// What is laid into one of it keeps out of the plastic, in mm³.
    pub kept_out: f64,
    /// Field paths of what its own spec has cast in one of it.
    pub inserts: Vec<String>,
    /// How many loose cores stand in one of it.
    pub cores: usize,
    /// What they keep plastic out of, in mm³.
    pub core_volume: f64,
    /// Radii of those that are pins of bores.
    pub pins: Vec<f64>,
}

/// Whether such baits can lie in one mould at all.
pub(super) fn judge(
    design: &Design,
    body: &Body,
    others: &[Neighbour<'_>],
) -> Result<(), Problems> {
    if others.is_empty() {
        return Ok(());
    }
    let mut problems = Vec::new();
    if design.mould.route == Route::Board {
        problems.push(
            Problem::new("mould.beside", "a bedding board holds one master")
                .hint("take route = \"boxes\", or leave the others out"),
        );
    }
    if let Some(pitch) = design.mould.pitch {
        problems.push(
            Problem::new("mould.pitch", "different baits are not evenly apart")
                .value(design.units.show(pitch))
                .hint("leave it out: they lie as close as their outlines allow"),
        );
    }
    if body.camber.is_some() {
        let what = "a bowed bait shares its mould with no other kind";
        problems
            .push(Problem::new("body.camber", what).hint("leave the camber out, or the others"));
    }
    for (i, other) in others.iter().enumerate() {
        let path = |key: &str| format!("mould.beside[{i}].{key}");
        if other.body.camber.is_some() {
            let what = format!(
                "{} is bowed, which shares its mould with no other kind",
                other.name
            );
            problems.push(Problem::new(path("spec"), what).hint("cast it in a mould of its own"));
        }
        if other.count == 0 || other.count > MOST {
            let what = format!("{} cannot be cast as often at once", other.name);
            problems.push(
                Problem::new(path("count"), what)
                    .value(other.count)
                    .limit(format!("1 to {MOST}")),
            );
        }
    }
    let counts = others.iter().map(|other| other.count);
    let all = counts.fold(design.mould.cavities, usize::saturating_add);
    if all > MOST && problems.is_empty() {
        problems.push(
            Problem::new("mould.beside", "there are too many baits for one mould")
                .value(all)
                .limit(format!("at most {MOST} in all"))
                .hint("fewer of each"),
        );
    }
    if problems.is_empty() {
        Ok(())
    } else {
        Err(Problems(problems))
    }
}

/// Another bait as it lies in the mould.
pub(super) struct Lying<'a> {
    pub of: Neighbour<'a>,
    pub form: Form<'a>,
    whole: Option<Form<'static>>,
    /// Its master in the mould's axes, where it lies along the block, with the parting face drawn
    /// level.
    pub master: Mesh,
    /// The same as it is.
    as_cast: Mesh,
    /// Its own face, in its own place.
    face: PartingFace,
    pub along: f64,
    pub volume: f64,
    /// Its own design in this mould, if anything is cast in it.
    seated: Option<Design>,
    /// Its seats, where it lies along the block.
    pub seats: Seats,
    /// Round places that its seats take, in its own place.
    taken: Vec<([f64; 2], f64)>,
    /// Its loose cores, in the mould's axes and its own place.
    cores: Vec<Sliced>,
    /// Its master's outline in the parting plane, (x, y) in its own place.
    section: PlaneSection,
}

impl<'a> Lying<'a> {
    pub(super) fn new(design: &Design, own: &Form<'_>, of: Neighbour<'a>) -> Self {
        let parting = design.mould.parting;
        let form = Form::new(of.body, parting);
        let end = design.mould.sprue_end;
        let along = own.end(end) - form.end(end);
        let master = of.master.mesh.clone().mapped(&Mould::turn(parting));
        let face = of.face.cloned().unwrap_or_default();
        let moved = Vector3::new(along, 0.0, 0.0);
        let level = face.level(master.clone());
        let own = of.rig.map_or(design, |(own, _)| own);
        Lying {
            whole: beyond_trunk((design, own), &form, &level),
            volume: plastic(of.body, &level, of.master.core_volume),
            cores: sliced(of.master.cores, parting),
            section: in_parting_plane(&level),
            master: level.translated(&moved),
            as_cast: master.translated(&moved),
            face,
            seated: of.rig.map(|(own, _)| Design {
                mould: MouldDesign {
                    seats: own.mould.seats,
                    ..design.mould.clone()
                },
                allowances: design.allowances.clone(),
                ..own.clone()
            }),
            seats: Seats::default(),
            taken: Vec::new(),
            of,
            form,
            along,
        }
    }

    /// Adds the steps of its face to the mould's, for those of its kind.
    pub(super) fn step(&self, face: &mut PartingFace, cavities: &[f64]) {
        face.follow_too(self.of.name, &self.face, self.along, cavities);
    }

    /// What it takes of the plan: its outline, with the steps round its fins.
    pub(super) fn outline(&self, tolerance: f64) -> Mesh {
        let mut outline = self.seats.outline(&self.master, tolerance);
        outline.append(&self.stepped());
        outline
    }

    /// The box round it, seats and steps included.
    pub(super) fn bounds(&self) -> Option<Bounds> {
        let own = self.seats.around(&self.as_cast.bounds()?);
        let stepped = self.stepped().bounds().unwrap_or(own);
        Bounds::of(&[own.min, own.max, stepped.min, stepped.max])
    }

    fn stepped(&self) -> Mesh {
        let along = Vector3::new(self.along, 0.0, 0.0);
        self.face.stepped().translated(&along)
    }

    /// Finds its seats, `i` of the spec's list.
    pub(super) fn seat(&mut self, i: usize) -> Result<(), Problems> {
        let Some(design) = &self.seated else {
            return Ok(());
        };
        let back = Vector3::new(-self.along, 0.0, 0.0);
        let master = self.master.clone().translated(&back);
        let seats = Seats::plan(design, self.of.body, &self.face, &master);
        let seats = seats.map_err(|problems| self.named(i, problems))?;
        self.taken = seats.footprint();
        self.seats = seats.moved(self.along);
        Ok(())
    }

    /// See [`Seats::judge`].
    pub(super) fn judge_seats(
        &mut self,
        i: usize,
        around: (&Channels, &[Key], &Bounds),
        rows: (&[f64], &[Stranger]),
    ) -> Result<(), Problems> {
        let Some(design) = &self.seated else {
            return Ok(());
        };
        let judged = self.seats.judge(design, &self.master, around, rows);
        judged.map_err(|problems| self.named(i, problems))
    }

    /// Problems of its own spec, at the entry that lists it.
    fn named(&self, i: usize, mut problems: Problems) -> Problems {
        for problem in &mut problems.0 {
            problem.what = format!("{}, {}: {}", self.of.name, problem.path, problem.what);
            problem.path = format!("mould.beside[{i}].spec");
        }
        problems
    }

    /// As the channels see it: which of the spec's it is, and its gate.
    pub(super) fn kind(&self, i: usize, gate: Gate) -> Kind<'_> {
        Kind {
            called: Some((self.of.name, i)),
            form: &self.form,
            vented: self.whole.as_ref().unwrap_or(&self.form),
            gate,
            volume: self.volume,
            along: self.along,
            taken: &self.taken,
            cores: &self.cores,
            outline: &self.section,
        }
    }

    pub(super) fn beside(self) -> Beside {
        let bores = self.of.rig.map_or(&[][..], |(own, _)| &own.bore[..]);
        let cast = bores.iter().filter(|bore| bore.how == Making::Cast);
        let laid_in = self.of.rig.map(|(own, rig)| self.seats.kept_out(own, rig));
        let inserts = self.of.rig.iter().flat_map(|(_, rig)| &rig.inserts);
        Beside {
            inserts: inserts.map(|insert| insert.path.clone()).collect(),
            kept_out: laid_in.unwrap_or_default(),
            cores: self.cores.len(),
            core_volume: self.of.master.core_volume,
            pins: cast.map(|bore| bore.radius).collect(),
            seats: self.seats,
            name: self.of.name.to_owned(),
            body: self.of.body.clone(),
            master: self.as_cast,
            along: self.along,
            count: self.of.count,
        }
    }
}

/// The widest way that cores leave past them in a gate: the diameter of the largest circle beside
/// them. `None` where none of them stands in it. Round a pin in the middle it is as wide as the
/// ring, beside one off it as wide as on its far side, as for a bait alone.
fn way_past(cores: &[PlaneSection], (axis, gate): (f64, f64)) -> Option<f64> {
    const AROUND: i32 = 36;
    const RINGS: i32 = 20;
    const FINEST: f64 = 1e-4;
    let holds = |y: f64, z: f64| cores.iter().any(|core| core.holds(y, z));
    let to_core = |y: f64, z: f64| {
        let off = cores.iter().map(|core| core.distance(y, z));
        off.fold(f64::INFINITY, f64::min)
    };
    if to_core(axis, 0.0) >= gate && !holds(axis, 0.0) {
        return None;
    }
    // Of a circle about a place, from the gate's middle.
    let radius = |[y, z]: [f64; 2]| {
        let to_rim = gate - libm::hypot(y, z);
        if to_rim <= 0.0 || holds(axis + y, z) {
            return 0.0;
        }
        to_rim.min(to_core(axis + y, z))
    };
    let spots = (0..RINGS).flat_map(|ring| {
        let r = gate * f64::from(ring) / f64::from(RINGS);
        (0..AROUND).map(move |turn| {
            let turn = std::f64::consts::TAU * f64::from(turn) / f64::from(AROUND);
            let (sin, cos) = libm::sincos(turn);
            [r * cos, r * sin]
        })
    });
    let mut best = ([0.0; 2], 0.0);
    for spot in spots {
        let own = radius(spot);
        if own > best.1 {
            best = (spot, own);
        }
    }
    // On from the best of them, by ever smaller steps.
    let mut step = gate / f64::from(RINGS);
    while step > FINEST {
        // Between core and rim the way on is a narrow one.
        let around = (0..64).map(|k| {
            let (sin, cos) = libm::sincos(f64::from(k) * std::f64::consts::TAU / 64.0);
            [best.0[0] + step * cos, best.0[1] + step * sin]
        });
        let around = around.map(|spot| (spot, radius(spot)));
        match around.max_by(|a, b| a.1.total_cmp(&b.1)) {
            Some(next) if next.1 > best.1 + 1e-9 => best = next,
            _ => step *= 0.5,
        }
    }
    Some(2.0 * best.1)
}

/// Volume of plastic in a master: a collar is a core print, and loose cores with theirs are none.
pub(super) fn plastic(body: &Body, master: &Mesh, cores: f64) -> f64 {
    master.volume() - body.figures().collar_volume - cores
}

/// Loose cores in the mould's axes.
pub(super) fn sliced(cores: &[Mesh], parting: Parting) -> Vec<Sliced> {
    let turn = Mould::turn(parting);
    let placed = cores.iter().map(|core| core.clone().mapped(&turn));
    placed.map(Sliced::new).collect()
}

impl Beside {
    /// Volume of plastic in one of it, as large as in the mould, in mm³.
    #[must_use]
    pub fn plastic(&self) -> f64 {
        plastic(&self.body, &self.master, self.core_volume)
    }
}

/// What is fed: by the sprue itself, or by a header.
#[derive(Clone, Copy)]
pub(super) struct Fed<'a> {
    /// The kinds of bait, the mould's own first.
    pub kinds: &'a [Kind<'a>],
    /// Where the cavities are, from the body's own place.
    pub across: &'a [f64],
    /// Which kind each is.
    pub kind: &'a [usize],
    /// Radius of the header.
    pub header: Option<f64>,
}

/// A kind of bait as the channels see it.
#[derive(Clone, Copy)]
pub(super) struct Kind<'a> {
    /// What it is called and which of the spec's it is; none for the mould's own.
    pub called: Option<(&'a str, usize)>,
    /// The trunk, which the sprue leads to.
    pub form: &'a Form<'a>,
    /// What the vents begin at the end of, which may reach farther.
    pub vented: &'a Form<'a>,
    /// Its widest gate.
    pub gate: Gate,
    /// Volume of plastic.
    pub volume: f64,
    /// How far along the block it lies from its own place.
    pub along: f64,
    /// Round places of the parting face that its seats take, in its own place.
    pub taken: &'a [([f64; 2], f64)],
    /// Its loose cores, in its own place.
    pub cores: &'a [Sliced],
    /// Its master's outline in the parting plane, (x, y) in its own place.
    pub outline: &'a PlaneSection,
}

impl Kind<'_> {
    /// Problems of this kind, by its name.
    pub(super) fn named(&self, mut problems: Problems) -> Problems {
        if let Some((name, _)) = self.called {
            for problem in &mut problems.0 {
                problem.what = format!("{name}: {}", problem.what);
            }
        }
        problems
    }

    /// The gate that would let it fill with the others is too narrow.
    pub(super) fn too_slight(&self, design: &Design, radius: f64) -> Problems {
        let (path, name) = match self.called {
            Some((name, i)) => (format!("mould.beside[{i}].spec"), name),
            None => ("mould.beside".to_owned(), design.name.as_str()),
        };
        let what =
            format!("{name} is too small to fill together with the others: its gate would clog");
        Problem::new(path, what)
            .value(design.units.show(2.0 * radius))
            .limit(format!("at least {}", design.units.show(2.0 * LEAST_GATE)))
            .hint("cast it with baits nearer to its own size")
            .into()
    }

    /// A gate that is narrowed so that all fill together, where a core stands in it and leaves
    /// plastic no way through: the widest way past it, and what to say of it. `mixed` tells
    /// whether other kinds of bait narrow it.
    pub(super) fn blocked(
        &self,
        design: &Design,
        x: f64,
        (axis, gate): (f64, f64),
        mixed: bool,
    ) -> Option<(f64, Problem)> {
        let sections: Vec<_> = self.cores.iter().map(|core| core.section(x)).collect();
        let widest = way_past(&sections, (axis, gate))?;
        // Facets stand off by rounding and by the tolerance; less than this shows in no number.
        const SLACK: f64 = 0.005;
        if widest >= WAY - SLACK {
            return None;
        }
        let show = |mm: f64| design.units.show(mm);
        let (path, of) = match self.called {
            Some((name, i)) => (format!("mould.beside[{i}].spec"), format!("{name}: ")),
            None if mixed => ("mould.sprue.gate".to_owned(), format!("{}: ", design.name)),
            None => ("mould.sprue.gate".to_owned(), String::new()),
        };
        let what = format!("{of}a core stands in the gate, and leaves plastic no way past it");
        let fewer = match mixed {
            true => "cast it with baits nearer to its own size",
            false => "cast fewer at once",
        };
        let problem = Problem::new(path, what)
            .value(format!(
                "{} beside it, in a gate of {}, so wide that all fill together",
                show(widest),
                show(2.0 * gate)
            ))
            .limit(format!("at least {}", show(WAY)))
            .hint(format!(
                "pour at an end where no core comes out (mould.sprue.end), write a wider mould.sprue.gate if all \
                 have room for it, mark a bore (how = \"marked\") or end a slot before the gate, or {fewer}"
            ));
        Some((widest, problem))
    }

    /// Where its neck and its vents run beside longer neighbours, as boxes out to the ends of
    /// `all`.
    pub(super) fn ways(&self, design: &Design, all: &Bounds) -> Mesh {
        let end = design.mould.sprue_end;
        let at = self.form.end(end) + self.along;
        let (from, to) = match end {
            BodyEnd::Nose => (all.min.x.min(at), at),
            BodyEnd::Tail => (at, all.max.x.max(at)),
        };
        let wide = NECK_TAPER * self.gate.radius;
        let neck = Bounds {
            min: Point3::new(from, -wide, -wide),
            max: Point3::new(to, wide, wide),
        };
        let mut ways = neck.to_mesh();
        // What keeps vents from having room is said of the real ones.
        for vent in vents_of(design, self, all, &[], false).unwrap_or_default() {
            ways.append(&vent.bounds.to_mesh());
        }
        ways
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A square to the x axis, as finely as a printed one.
    fn disc(y: f64, z: f64, radius: f64) -> PlaneSection {
        let around = (0..360).map(|k| {
            let (sin, cos) = libm::sincos(f64::from(k).to_radians());
            [y + radius * cos, z + radius * sin]
        });
        PlaneSection {
            loops: vec![around.collect()],
        }
    }

    fn block([y0, y1]: [f64; 2], [z0, z1]: [f64; 2]) -> PlaneSection {
        PlaneSection {
            loops: vec![vec![[y0, z0], [y1, z0], [y1, z1], [y0, z1]]],
        }
    }

    #[test]
    fn the_way_past_a_pin_is_on_its_far_side() {
        // A disc of radius r that is off the middle of one of radius R leaves R - r + off on its
        // far side, as for a bait alone (Gate::passes of the bores); elementary geometry.
        for (gate, radius, off) in [
            (2.0, 0.6, 0.0),
            (2.0, 1.2, 0.0),
            (0.7, 0.4, 0.0),
            (0.7, 0.4, 0.6),
            (0.9, 0.5, 0.6),
            (1.5, 0.5, 1.3),
        ] {
            for turn in [0.0_f64, 90.0, 180.0, 270.0] {
                let (sin, cos) = libm::sincos(turn.to_radians());
                let pin = disc(3.0 + off * cos, off * sin, radius);
                let way = way_past(&[pin], (3.0, gate)).unwrap();
                let expected = gate - radius + off;
                assert!(
                    (way - expected).abs() < 0.005,
                    "{gate} {radius} {off}: {way}"
                );
            }
        }
    }

    #[test]
    fn what_stands_beside_the_gate_is_in_nobody_s_way() {
        // The blade of a slot under a gate of 1.4 mm, and a pin over it.
        let blade = block([-0.9, 0.9], [-6.0, -0.8]);
        let pin = disc(0.0, 1.6, 0.6);
        assert_eq!(way_past(&[blade, pin], (0.0, 0.7)), None);
        assert_eq!(way_past(&[], (0.0, 0.7)), None);
        // Reaching into it from below it leaves what is over it.
        for top in [-0.5, -0.2, 0.1, 0.5] {
            let blade = block([-0.9, 0.9], [-6.0, top]);
            let way = way_past(&[blade], (0.0, 0.7)).unwrap();
            assert!((way - (0.7 - top)).abs() < 1e-3, "{top}: {way}");
        }
        // Filled altogether there is none.
        assert_eq!(
            way_past(&[block([-3.0, 3.0], [-3.0, 3.0])], (0.0, 0.7)),
            Some(0.0)
        );
    }
}
