//! Pieces that fit the printer, joined with dowels.

use nalgebra::{Point3, Vector3};

use super::tools::{together, turned};
use crate::mesh::slice::{PlaneSection, Sliced};
use crate::mesh::{AxisMap, Bounds, Mesh, Solid, SolidError};

/// A bore is wider than its dowel by this all round: pins that push in by hand (common
/// practice).
pub(super) const BORE_CLEARANCE: f64 = 0.1;
/// How deep a dowel goes into each piece, in its diameters (reasoned).
pub(super) const DEPTH: f64 = 2.0;
/// Least material round a bore: a few print lines.
const AROUND: f64 = 0.8;
/// Radii of dowels if none is stated, the first that fits (common sizes of pins and rods).
const RADII: [f64; 3] = [2.0, 1.5, 1.0];

/// Thinner dowels that are tried where those asked for have no room: the step, and the thinnest,
/// which is the least that a spec may ask for; radii.
const THINNER: (f64, f64) = (0.25, 0.75);
/// Step in which places for a cut are tried.
const STEP: f64 = 1.0;
/// A millimetre of seam in the cavity weighs as much as a hundred away from the even cut, so that
/// pieces are much the same where it makes no odds (reasoned).
const EVEN: f64 = 0.01;
/// How many cuts are tried for dowels, the least seam first.
const TRIES: usize = 16;

/// Why a part cannot be brought onto the bed.
#[derive(Debug)]
pub(super) enum Unfit {
    /// It is this high, in mm.
    TooHigh(f64),
    /// At a cut there is no room for two dowels; thinner ones of this radius, the thickest of
    /// those tried, have room.
    NoDowel(Option<f64>),
    /// A cut failed.
    Solid(SolidError),
}

impl From<SolidError> for Unfit {
    fn from(error: SolidError) -> Self {
        Unfit::Solid(error)
    }
}

/// The part, or the pieces of it, each of which fits a bed of this size lying as it does or
/// turned by a quarter, and the radius of the dowels that join them. At the heights `faces` it is
/// flat where a seam does no harm: its parting face, a brim.
pub(super) fn fitted(
    part: &Mesh,
    faces: &[f64],
    bed: [f64; 3],
    dowel: Option<f64>,
) -> Result<(Vec<Mesh>, f64), Unfit> {
    let radii = dowel.map_or(RADII.to_vec(), |radius| vec![radius]);
    let thickest = radii[radii.len() - 1];
    for radius in radii {
        match pieces(part.clone(), faces, bed, radius) {
            Ok(pieces) => return Ok((pieces, radius)),
            Err(Unfit::NoDowel(_)) => {}
            Err(other) => return Err(other),
        }
    }
    let mut radius = thickest - THINNER.0;
    while radius > THINNER.1 - 1e-9 {
        match pieces(part.clone(), faces, bed, radius) {
            Ok(_) => return Err(Unfit::NoDowel(Some(radius))),
            Err(Unfit::NoDowel(_)) => radius -= THINNER.0,
            Err(other) => return Err(other),
        }
    }
    Err(Unfit::NoDowel(None))
}

fn pieces(part: Mesh, faces: &[f64], bed: [f64; 3], dowel: f64) -> Result<Vec<Mesh>, Unfit> {
    const ROUNDING: f64 = 1e-6;
    let Some(bounds) = part.bounds() else {
        return Ok(vec![part]);
    };
    let size = bounds.size();
    if size.z > bed[2] + ROUNDING {
        return Err(Unfit::TooHigh(size.z));
    }
    // The longer side lies along the longer side of the bed.
    let (long, short) = (bed[0].max(bed[1]), bed[0].min(bed[1]));
    let room = if size.x >= size.y {
        [long, short]
    } else {
        [short, long]
    };
    let mut pieces = along_x(part, faces, room[0], dowel)?;
    if size.y > room[1] + ROUNDING {
        let mut smaller = Vec::new();
        for piece in pieces {
            for slice in along_x(piece.mapped(&AxisMap::Y_ALONG), faces, room[1], dowel)? {
                smaller.push(slice.mapped(&AxisMap::Y_BACK));
            }
        }
        pieces = smaller;
    }
    Ok(pieces)
}

/// Cuts a part square to x into pieces no longer than `room`, as few as can be.
#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
fn along_x(part: Mesh, faces: &[f64], room: f64, dowel: f64) -> Result<Vec<Mesh>, Unfit> {
    let Some(bounds) = part.bounds() else {
        return Ok(vec![part]);
    };
    let length = bounds.size().x;
    let count = (length / room - 1e-9).ceil().max(1.0) as usize;
    if count == 1 {
        return Ok(vec![part]);
    }
    let radius = dowel + BORE_CLEARANCE;
    let depth = DEPTH * 2.0 * dowel;
    let flats = Flats::of(&bounds, faces);
    let mut seams = Seams::new(part, &flats, (count, room), 2.0 * (depth + AROUND));
    let cuts = seams.cut(radius, depth).ok_or(Unfit::NoDowel(None))?;
    let sliced = seams.part;
    let mut bores = Vec::new();
    for &(x, spots) in &cuts {
        for [y, z] in spots {
            let ends = [(x - depth, radius), (x + depth, radius)];
            bores.push(turned(&ends, 0.02).translated(&Vector3::new(0.0, y, z)));
        }
    }
    let bored = Solid::try_from(sliced.mesh())?.difference(&together(&bores)?)?;
    let mut pieces = Vec::new();
    let mut from = bounds.min.x - 1.0;
    let places = cuts.into_iter().map(|(x, _)| x);
    for to in places.chain([bounds.max.x + 1.0]) {
        let slab = Bounds {
            min: Point3::new(from, bounds.min.y - 1.0, bounds.min.z - 1.0),
            max: Point3::new(to, bounds.max.y + 1.0, bounds.max.z + 1.0),
        };
        let slab = Solid::try_from(&slab.to_mesh())?;
        pieces.push(bored.intersection(&slab)?.to_mesh());
        from = to;
    }
    Ok(pieces)
}

/// Where two dowels go on a cut.
type Spots = [[f64; 2]; 2];

/// A place to cut, and what it costs: the length of seam it leaves on what is not a flat face.
struct Place {
    x: f64,
    cost: f64,
    /// Where two dowels go, once that has been looked for.
    spots: Option<Option<Spots>>,
}

/// Where a part can be cut.
struct Seams {
    part: Sliced,
    /// The part's ends.
    ends: [f64; 2],
    /// Of each cut, by rising x.
    places: Vec<Vec<Place>>,
    /// Least and greatest length of a piece.
    lengths: [f64; 2],
}

impl Seams {
    /// Each cut may lie wherever the pieces before and behind still fit, but clear of the part's own
    /// points, which would leave needles.
    fn new(part: Mesh, flats: &Flats, (count, room): (usize, f64), least: f64) -> Self {
        const CLEAR: f64 = 0.01;
        let mut corners: Vec<f64> = part.points.iter().map(|p| p.x).collect();
        corners.sort_by(f64::total_cmp);
        let off = |x: f64| {
            let i = corners.partition_point(|&c| c < x);
            let near = |i: usize| corners.get(i).map_or(f64::INFINITY, |c| (c - x).abs());
            near(i).min(i.checked_sub(1).map_or(f64::INFINITY, near))
        };
        let sliced = Sliced::new(part);
        let [from, to] = flats.ends;
        let even = (to - from) / count as f64;
        let places = (1..count).map(|i| {
            let wanted = from + even * i as f64;
            let low = to - room * (count - i) as f64;
            let high = from + room * i as f64;
            #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
            let steps = ((wanted - low).max(high - wanted).max(0.0) / STEP) as usize;
            let around = (0..=steps).flat_map(|k| {
                let signs: &[f64] = if k == 0 { &[1.0] } else { &[1.0, -1.0] };
                signs.iter().map(move |s| wanted + s * STEP * k as f64)
            });
            let mut places: Vec<Place> = around
                .filter(|x| (low - 1e-9..=high + 1e-9).contains(x))
                .map(|x| {
                    let stray = |x: f64, s: f64| (x + s).clamp(low.min(x), high.max(x));
                    let tries = (0..=20).flat_map(|k| [1.0, -1.0].map(|s| s * f64::from(k) / 50.0));
                    let mut tries = tries.map(|s| stray(x, s));
                    let x = tries.find(|&x| off(x) > CLEAR).unwrap_or(x);
                    let seam = flats.seam(&sliced.section(x));
                    Place {
                        x,
                        cost: seam + EVEN * (x - wanted).abs(),
                        spots: None,
                    }
                })
                .collect();
            places.sort_by(|a, b| a.x.total_cmp(&b.x));
            places
        });
        Seams {
            places: places.collect(),
            part: sliced,
            ends: [from, to],
            lengths: [least.min(0.5 * even), room],
        }
    }

    /// The cuts of least seam at which two dowels have room, and where those go.
    fn cut(&mut self, radius: f64, depth: f64) -> Option<Vec<(f64, Spots)>> {
        for _ in 0..TRIES {
            let chosen = self.least()?;
            let mut all = Vec::new();
            for (i, &k) in chosen.iter().enumerate() {
                let place = &mut self.places[i][k];
                let x = place.x;
                let part = &self.part;
                match place
                    .spots
                    .get_or_insert_with(|| spots(part, x, radius, depth))
                {
                    Some(spots) => all.push((x, *spots)),
                    None => {
                        // Nor is there room close by.
                        let close = |place: &&mut Place| (place.x - x).abs() < 0.5 * depth;
                        let near = self.places[i].iter_mut().filter(close);
                        near.for_each(|place| place.cost = f64::INFINITY);
                        break;
                    }
                }
            }
            if all.len() == chosen.len() {
                return Some(all);
            }
        }
        None
    }

    /// The places of least cost altogether between which every piece has a length that is
    /// allowed.
    fn least(&self) -> Option<Vec<usize>> {
        const ROUNDING: f64 = 1e-6;
        let fits = |from: f64, to: f64| {
            let length = to - from;
            length >= self.lengths[0] - ROUNDING && length <= self.lengths[1] + ROUNDING
        };
        // Of each place: the least cost up to it, and the place before.
        let mut best: Vec<Vec<(f64, usize)>> = Vec::new();
        for (i, places) in self.places.iter().enumerate() {
            let up_to = |place: &Place| {
                let before: Vec<(f64, f64)> = match i.checked_sub(1) {
                    None => vec![(self.ends[0], 0.0)],
                    Some(h) => {
                        let earlier = self.places[h].iter().zip(&best[h]);
                        earlier.map(|(p, (cost, _))| (p.x, *cost)).collect()
                    }
                };
                let mut least = (f64::INFINITY, 0);
                for (k, (x, cost)) in before.into_iter().enumerate() {
                    if cost < least.0 && fits(x, place.x) {
                        least = (cost, k);
                    }
                }
                (least.0 + place.cost, least.1)
            };
            best.push(places.iter().map(up_to).collect());
        }
        let last = best.len() - 1;
        let ends = self.places[last].iter().zip(&best[last]).enumerate();
        let open = ends.filter(|(_, (p, (cost, _)))| cost.is_finite() && fits(p.x, self.ends[1]));
        let mut k = open.min_by(|a, b| a.1.1.0.total_cmp(&b.1.1.0))?.0;
        let mut chosen = vec![0; best.len()];
        for i in (0..best.len()).rev() {
            chosen[i] = k;
            k = best[i][k].1;
        }
        Some(chosen)
    }
}

/// The flat faces of a part, on which a seam does no harm: its outside, and those it is told of, such
/// as the parting face. Not the largest that is level: that may be the floor of a wide hollow.
struct Flats {
    ends: [f64; 2],
    sides: [f64; 2],
    levels: Vec<f64>,
}

impl Flats {
    fn of(bounds: &Bounds, faces: &[f64]) -> Self {
        Flats {
            ends: [bounds.min.x, bounds.max.x],
            sides: [bounds.min.y, bounds.max.y],
            levels: std::iter::once(&bounds.min.z)
                .chain(faces)
                .copied()
                .collect(),
        }
    }

    /// Length of a section's outline off these faces.
    fn seam(&self, section: &PlaneSection) -> f64 {
        let on = |a: f64, b: f64, faces: &[f64]| {
            let near = |at: &f64| (a - at).abs() < 1e-3 && (b - at).abs() < 1e-3;
            faces.iter().any(near)
        };
        let mut length = 0.0;
        for points in &section.loops {
            for (i, a) in points.iter().enumerate() {
                let b = points[(i + 1) % points.len()];
                if !on(a[0], b[0], &self.sides) && !on(a[1], b[1], &self.levels) {
                    length += libm::hypot(b[0] - a[0], b[1] - a[1]);
                }
            }
        }
        length
    }
}

/// Two places on the cut, as far apart as they go, where a bore keeps within the part.
fn spots(part: &Sliced, x: f64, radius: f64, depth: f64) -> Option<[[f64; 2]; 2]> {
    const STEPS: usize = 48;
    const SLICES: i32 = 8;
    let sections: Vec<_> = (-SLICES..=SLICES)
        .map(|k| part.section(x + (depth + AROUND) * f64::from(k) / f64::from(SLICES)))
        .collect();
    let middle = &sections[SLICES as usize];
    let up = middle.span(1)?;
    let around = radius + AROUND + 1e-6;
    let mut fit = Vec::new();
    for j in 0..=STEPS {
        let z = up[0] + around + (up[1] - up[0] - 2.0 * around) * j as f64 / STEPS as f64;
        // In each stretch of material at this height: at its ends and in its middle.
        let stretches = middle.stretches(z);
        let places = stretches
            .iter()
            .flat_map(|[from, to]| [from + around, 0.5 * (from + to), to - around]);
        for y in places {
            let clear = sections
                .iter()
                .all(|s| s.holds(y, z) && s.distance(y, z) >= radius + AROUND);
            if clear {
                fit.push([y, z]);
            }
        }
    }
    let apart = |a: &[f64; 2], b: &[f64; 2]| libm::hypot(a[0] - b[0], a[1] - b[1]);
    // The farthest from the first, and the farthest from that one.
    let far = |from: &[f64; 2]| {
        fit.iter()
            .max_by(|a, b| apart(from, a).total_cmp(&apart(from, b)))
            .copied()
    };
    let one = far(fit.first()?)?;
    let other = far(&one)?;
    (apart(&one, &other) > 2.0 * (radius + AROUND)).then_some([one, other])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::mesh::shapes::cuboid;

    #[test]
    fn pieces_fit_and_lose_only_their_bores() {
        let part = cuboid([0.0; 3], [300.0, 150.0, 20.0]);
        let top = [20.0];
        let pieces = fitted(&part, &top, [120.0, 100.0, 50.0], Some(2.0))
            .unwrap()
            .0;
        // Along the bed's longer side 300 takes three, across it 150 takes two.
        assert_eq!(pieces.len(), 6);
        let mut left = 0.0;
        for piece in &pieces {
            piece.check().unwrap();
            let size = piece.bounds().unwrap().size();
            assert!(size.x <= 120.0 && size.y <= 100.0, "{size}");
            left += piece.volume();
        }
        // Two joints across with two dowels, and one along each of the three.
        let bore = std::f64::consts::PI * 2.1 * 2.1 * 16.0;
        let taken = (part.volume() - left) / bore;
        assert!((taken - 10.0).abs() < 0.1, "{taken}");
        let whole = fitted(&part, &top, [150.0, 300.0, 50.0], None).unwrap().0;
        assert_eq!(whole, [part]);
    }

    #[test]
    fn what_cannot_fit_is_told() {
        let part = cuboid([0.0; 3], [300.0, 150.0, 20.0]);
        assert!(matches!(
            fitted(&part, &[20.0], [400.0, 400.0, 15.0], None),
            Err(Unfit::TooHigh(_))
        ));
        let thin = cuboid([0.0; 3], [300.0, 3.0, 3.0]);
        assert!(matches!(
            fitted(&thin, &[3.0], [200.0, 200.0, 50.0], None),
            Err(Unfit::NoDowel(None))
        ));
    }

    /// A block with a trough across it at each of these places, from one to the other.
    fn with_troughs(length: f64, troughs: &[[f64; 2]]) -> Mesh {
        let mut solid = Solid::try_from(&cuboid([0.0; 3], [length, 60.0, 25.0])).unwrap();
        for [from, to] in troughs {
            let cut = cuboid([*from, 14.0, 12.0], [*to, 46.0, 32.0]);
            solid = solid.difference(&Solid::try_from(&cut).unwrap()).unwrap();
        }
        solid.to_mesh()
    }

    #[test]
    fn a_cut_goes_between_hollows_where_the_bed_lets_it() {
        // Eight troughs of 40 with 10 between them; two even cuts would run through the third and
        // the sixth.
        let troughs: Vec<[f64; 2]> = (0..8)
            .map(|i| [12.0 + 50.0 * f64::from(i), 52.0 + 50.0 * f64::from(i)])
            .collect();
        let part = with_troughs(414.0, &troughs);
        let in_trough = |x: f64| troughs.iter().any(|t| x > t[0] && x < t[1]);
        assert!(in_trough(138.0) && in_trough(276.0));
        let cuts = |bed: f64| -> Vec<f64> {
            let (pieces, radius) = fitted(&part, &[25.0], [bed, 100.0, 50.0], None).unwrap();
            assert_eq!((pieces.len(), radius), (3, 2.0));
            for piece in &pieces {
                piece.check().unwrap();
                assert!(piece.bounds().unwrap().size().x <= bed + 1e-6);
            }
            let ends = pieces.iter().map(|p| p.bounds().unwrap().max.x);
            ends.take(2).collect()
        };
        // The nearest gap between troughs is 19 away from the even cut.
        let free = cuts(170.0);
        assert!(free.iter().all(|&x| !in_trough(x)), "{free:?}");
        // With no room to move they stay where they were.
        let tight = cuts(138.0);
        assert!(tight.iter().all(|&x| in_trough(x)), "{tight:?}");
    }

    #[test]
    fn the_floor_of_a_hollow_is_no_parting_face_however_large() {
        // A hollow over most of the top, its floor flat, leaves a land of 40 in the middle and rims
        // of 3 round it: less than a quarter of the floor.
        let mut solid = Solid::try_from(&cuboid([0.0; 3], [400.0, 60.0, 25.0])).unwrap();
        for ends in [[3.0, 110.0], [150.0, 397.0]] {
            let cut = cuboid([ends[0], 3.0, 12.0], [ends[1], 57.0, 32.0]);
            solid = solid.difference(&Solid::try_from(&cut).unwrap()).unwrap();
        }
        let part = solid.to_mesh();
        let pieces = fitted(&part, &[25.0], [320.0, 100.0, 50.0], None)
            .unwrap()
            .0;
        assert_eq!(pieces.len(), 2);
        // The even cut at 200 would run across the floor.
        let cut = pieces[0].bounds().unwrap().max.x;
        assert!(cut > 110.0 && cut < 150.0, "{cut}");
    }

    #[test]
    fn thinner_dowels_that_fit_are_told() {
        // Least bar of 2·(r + 0.1 + 0.8): 5 thick has room for a radius of 1.5 and no more.
        let bar = cuboid([0.0; 3], [300.0, 40.0, 5.0]);
        let bed = [200.0, 200.0, 50.0];
        let Err(Unfit::NoDowel(Some(fits))) = fitted(&bar, &[5.0], bed, Some(3.0)) else {
            panic!("no room")
        };
        assert_eq!(fits, 1.5);
        let fitting = fitted(&bar, &[5.0], bed, Some(fits)).unwrap().0;
        assert_eq!(fitting.len(), 2);
        assert!(matches!(
            fitted(&bar, &[5.0], bed, Some(fits + 0.25)),
            Err(Unfit::NoDowel(Some(_)))
        ));
    }
}
