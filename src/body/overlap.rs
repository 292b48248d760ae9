//! Features that share space, which each by itself cannot know.

use nalgebra::{Point3, Vector3};

use super::ground::SKIN;
use super::master::{Effect, Tool};
use crate::mesh::slice::Sliced;
use crate::mesh::{Bounds, Mesh, Solid, SolidError};
use crate::quantity::LengthUnit;
use crate::spec::{Problem, Problems};

/// Less in common than this, in mm³, is a touch (reasoned: a cube of 0.6 mm).
const TOUCH: f64 = 0.2;
/// Walls thinner than this are told of, in mm: soft plastic poured by hand fills thinner
/// ones less reliably (common practice).
const CASTS: f64 = 1.0;
/// Share of a cut's walls that is thinner than the thickness told: where it comes out at a slant,
/// a little of every wall ends in nothing.
const THIN: f64 = 0.25;

/// What two features have in common.
struct Shared<'t> {
    tools: [&'t Tool; 2],
    mesh: Mesh,
}

impl Shared<'_> {
    fn paths(&self) -> [&str; 2] {
        self.tools.map(|t| t.path.as_str())
    }
}

/// What is known of two features that share space.
struct Known {
    /// Field paths: of a limb and a cut, the limb first.
    paths: [String; 2],
    how: How,
    volume: f64,
    /// Where the first of what they share is.
    bounds: Bounds,
}

/// How two features share space.
#[derive(Clone, Copy, PartialEq)]
enum How {
    /// Two limbs.
    Meet,
    /// A cut goes through a limb, and leaves so much beside it; `None`: all of what is left is before
    /// and behind it.
    Cuts(Option<f64>),
    /// A cut takes all of a limb that stands out of the body.
    Takes,
    /// Two hollows.
    Join,
}

/// Notes on features of different paths that share space: what they share is counted outside the
/// trunk where one adds to it (roots are meant to be in it), inside it where both cut it.
pub(super) fn notes(
    trunk: &Solid,
    tools: &[&Tool],
    units: LengthUnit,
) -> Result<Vec<String>, SolidError> {
    let mut found: Vec<Known> = Vec::new();
    for shared in pairs(trunk, tools)? {
        let [a, b] = shared.paths();
        let [one, other] = shared.tools;
        let (how, paths) = match (one.effect, other.effect) {
            (Effect::Adds, Effect::Adds) => (How::Meet, [a, b]),
            (Effect::Adds, _) => (cuts(trunk, one, &shared.mesh)?, [a, b]),
            (_, Effect::Adds) => (cuts(trunk, other, &shared.mesh)?, [b, a]),
            _ => (How::Join, [a, b]),
        };
        let Some(bounds) = shared.mesh.bounds() else {
            continue;
        };
        // Both of a pair share alike: told once, the volume of both.
        match found.iter_mut().find(|known| known.paths == paths) {
            Some(known) => known.volume += shared.mesh.volume(),
            None => found.push(Known {
                paths: paths.map(str::to_owned),
                how,
                volume: shared.mesh.volume(),
                bounds,
            }),
        }
    }
    let mut notes: Vec<String> = found.iter().map(|known| known.told(units)).collect();
    let joined = |a: &str, b: &str| {
        found
            .iter()
            .any(|known| known.paths == [a, b] || known.paths == [b, a])
    };
    notes.extend(between(trunk, tools, units, joined));
    Ok(notes)
}

impl Known {
    fn told(&self, units: LengthUnit) -> String {
        let [a, b] = &self.paths;
        let (volume, Bounds { min, max }) = (self.volume, self.bounds);
        let show = |mm: f64| units.show(mm);
        let middle = show(0.5 * (min.x + max.x));
        match self.how {
            How::Meet => format!(
                "{a} and {b} share space, {volume:.1} mm³ about {middle} from the nose: look whether \
                 that is meant."
            ),
            How::Cuts(wall) => {
                let left = match wall {
                    None => format!(" All of the thickness that {a} has there goes with it."),
                    Some(wall) if wall < CASTS => format!(
                        " The walls left beside it are as thin as {}, whatever is said of thinnest \
                         places.",
                        show(wall)
                    ),
                    Some(_) => String::new(),
                };
                format!(
                    "{b} runs through {a}, from {} to {} from the nose, and takes {volume:.1} mm³ of \
                     it: look whether that is meant.{left}",
                    show(min.x),
                    show(max.x)
                )
            }
            How::Takes => format!(
                "{b} takes all of {a} that stands out of the body, {volume:.1} mm³: look whether that is \
                 meant. Nothing of it is left, whatever is said of thinnest places."
            ),
            How::Join => {
                let [long, wide, high] = [0, 1, 2].map(|k| show(max[k] - min[k]));
                format!(
                    "{a} and {b} join about {middle} from the nose: they have {volume:.1} mm³ in common, \
                     {long} along the body, {wide} across and {high} up: look whether that is meant."
                )
            }
        }
    }
}

/// How a cut and a limb share this space, all of it out of the body.
fn cuts(trunk: &Solid, limb: &Tool, shared: &Mesh) -> Result<How, SolidError> {
    /// Share of what stands out from which on it is all: roundings stay.
    const ALL: f64 = 0.97;
    let out = match Solid::try_from(&limb.mesh)?.difference(trunk) {
        Ok(out) => out.volume(),
        Err(SolidError::NothingLeft { .. }) => 0.0,
        Err(other) => return Err(other),
    };
    Ok(if shared.volume() >= ALL * out {
        How::Takes
    } else {
        How::Cuts(wall(&limb.mesh, shared))
    })
}

/// Notes on hollows that come so near to one another that hardly anything is left between them.
fn between(
    trunk: &Solid,
    tools: &[&Tool],
    units: LengthUnit,
    joined: impl Fn(&str, &str) -> bool,
) -> Vec<String> {
    let body = Sliced::new(trunk.to_mesh());
    let hollows: Vec<&Tool> = tools
        .iter()
        .copied()
        .filter(|t| t.effect != Effect::Adds)
        .collect();
    let mut found: Vec<(&str, &str, f64, f64)> = Vec::new();
    for (i, b) in hollows.iter().enumerate() {
        for a in &hollows[..i] {
            if a.path == b.path || joined(&a.path, &b.path) {
                continue;
            }
            let Some((wall, x)) = least_wall(&body, &a.mesh, &b.mesh) else {
                continue;
            };
            match found.iter_mut().find(|f| f.0 == a.path && f.1 == b.path) {
                Some(known) if known.2 <= wall => {}
                Some(known) => (known.2, known.3) = (wall, x),
                None => found.push((&a.path, &b.path, wall, x)),
            }
        }
    }
    let note = |&(a, b, wall, x): &(&str, &str, f64, f64)| {
        format!(
            "{a} and {b} leave {} between them, about {} from the nose: {} is the least that a bore \
             or the body's own surface must be left. Make one of them shallower, or move it.",
            units.show(wall),
            units.show(x),
            units.show(SKIN)
        )
    };
    found.iter().map(note).collect()
}

/// The least distance between two solids within the body, and its x, if it is less than a skin.
fn least_wall(body: &Sliced, a: &Mesh, b: &Mesh) -> Option<(f64, f64)> {
    let grown = |mesh: &Mesh| {
        let Bounds { min, max } = mesh.bounds()?;
        let by = Vector3::from([SKIN; 3]);
        Some(Bounds {
            min: min - by,
            max: max + by,
        })
    };
    if !grown(a)?.meets(&b.bounds()?) {
        return None;
    }
    let mut least: Option<(f64, f64)> = None;
    for (from, to) in [(a, b), (b, a)] {
        let bounds = grown(to)?;
        let mut places = from.points.clone();
        for t in 0..from.triangles.len() {
            let [p, q, r] = from.corners(t).map(|p| p.coords);
            places.extend([
                Point3::from(0.5 * (p + q)),
                Point3::from(0.5 * (q + r)),
                Point3::from(0.5 * (r + p)),
                Point3::from((p + q + r) / 3.0),
            ]);
        }
        for p in places {
            let inside = (0..3).all(|k| p[k] >= bounds.min[k] && p[k] <= bounds.max[k]);
            if !inside || !body.holds(&p) {
                continue;
            }
            let far = to.distance(&p);
            if far < SKIN && least.is_none_or(|l| far < l.0) {
                least = Some((far, p.x));
            }
        }
    }
    least
}

/// Cores that would stand in one place: no two of them go into the mould together.
/// `scale` is how much larger they are made than drawn.
pub(super) fn cores(
    tools: &[Tool],
    units: LengthUnit,
    scale: f64,
) -> Result<Result<(), Problems>, SolidError> {
    let mut problems: Vec<Problem> = Vec::new();
    for (i, b) in tools.iter().enumerate() {
        for a in &tools[..i] {
            let Some(shared) = common(a, b)? else {
                continue;
            };
            if shared.volume() < f64::MIN_POSITIVE {
                continue;
            }
            let at = shared.bounds().centre() / scale;
            let problem = Problem::new(
                b.path.clone(),
                format!("this is cast around a core that crosses that of {}", a.path),
            )
            .value(format!("both {} from the nose", units.show(at.x)))
            .hint(format!(
                "they meet {} to the {}, {}: move one of them, end it before the other, or write \
                 how = \"marked\"",
                units.show(at.y.abs()),
                if at.y < 0.0 { "right" } else { "left" },
                units.show_height(at.z)
            ));
            problems.push(problem);
        }
    }
    Ok(if problems.is_empty() {
        Ok(())
    } else {
        Err(Problems(problems))
    })
}

fn pairs<'t>(trunk: &Solid, tools: &[&'t Tool]) -> Result<Vec<Shared<'t>>, SolidError> {
    let mut found = Vec::new();
    for (i, &b) in tools.iter().enumerate() {
        for &a in &tools[..i] {
            if a.path == b.path {
                continue;
            }
            let Some(both) = common(a, b)? else {
                continue;
            };
            let cut = if a.effect == Effect::Adds || b.effect == Effect::Adds {
                both.difference(trunk)
            } else {
                both.intersection(trunk)
            };
            let shared = match cut {
                Ok(shared) if shared.volume() > TOUCH => shared,
                Ok(_) | Err(SolidError::NothingLeft { .. }) => continue,
                Err(e) => return Err(e),
            };
            found.push(Shared {
                tools: [a, b],
                mesh: shared.to_mesh(),
            });
        }
    }
    Ok(found)
}

/// What two solids have in common; boxes first, which tells most of them apart.
fn common(a: &Tool, b: &Tool) -> Result<Option<Solid>, SolidError> {
    let apart = match (a.mesh.bounds(), b.mesh.bounds()) {
        (Some(a), Some(b)) => !a.meets(&b),
        _ => true,
    };
    if apart {
        return Ok(None);
    }
    match Solid::try_from(&a.mesh)?.intersection(&Solid::try_from(&b.mesh)?) {
        Ok(both) => Ok(Some(both)),
        Err(SolidError::NothingLeft { .. }) => Ok(None),
        Err(e) => Err(e),
    }
}

/// How thick what a cut leaves of a limb is beside it, across the limb, but for the thinnest
/// [`THIN`] of its walls; `None` if it takes all of the limb's thickness. `shared` is what both have
/// in common.
fn wall(limb: &Mesh, shared: &Mesh) -> Option<f64> {
    /// A facet of the limb's own surface is no wall of the cut, in mm.
    const SURFACE: f64 = 1e-6;
    /// Less than this, in mm, is no wall.
    const NOTHING: f64 = 0.02;
    /// Ways through the limb that are no longer than so many of those that so large a share of the
    /// walls is no longer than, go across it.
    const ACROSS: f64 = 1.5;
    const SHORT: f64 = 0.2;
    let limb = Sliced::new(limb.clone());
    // How far it is through the limb by each facet, and beyond it, and the facet's area.
    let mut walls: Vec<[f64; 3]> = Vec::new();
    for t in 0..shared.triangles.len() {
        let [a, b, c] = shared.corners(t);
        let normal: Vector3<f64> = (b - a).cross(&(c - a));
        let Some(out) = normal.try_normalize(0.0) else {
            continue;
        };
        let middle = Point3::from((a.coords + b.coords + c.coords) / 3.0);
        let way = |direction: Vector3<f64>| {
            let hits = limb.along(&middle, &direction);
            let exit = hits.iter().find(|hit| hit.along > SURFACE)?.along;
            let holds = limb.holds(&(middle + direction * (0.5 * exit)));
            holds.then_some(exit)
        };
        let beyond = way(out).unwrap_or(0.0);
        let through = beyond + way(-out).unwrap_or(0.0);
        if through > NOTHING {
            walls.push([through, beyond, 0.5 * normal.norm()]);
        }
    }
    // Near its rim a limb is thinner than what is cut across.
    let short = quantile(&mut walls, 0, SHORT)?;
    walls.retain(|w| w[0] <= ACROSS * short);
    quantile(&mut walls, 1, THIN).filter(|&wall| wall > NOTHING)
}

/// Of lengths weighed by the third of each entry, the one that so large a share is no longer than.
fn quantile(entries: &mut [[f64; 3]], of: usize, share: f64) -> Option<f64> {
    entries.sort_by(|a, b| a[of].total_cmp(&b[of]));
    let all: f64 = entries.iter().map(|w| w[2]).sum();
    let mut sum = 0.0;
    let found = entries.iter().find(|w| {
        sum += w[2];
        sum >= share * all
    });
    found.map(|w| w[of])
}
