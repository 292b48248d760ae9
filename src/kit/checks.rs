//! What the checks of the mould found: its entries in the manifest, and what is said of it.

use nalgebra::Point3;
use schemars::JsonSchema;
use serde::Serialize;

use super::beside::Made;
use crate::body::{Body, Master};
use crate::mesh::{Bounds, Mesh};
use crate::mould::Mould;
use crate::mould::air::{LEAST_HEIGHT, Trap, least_height, traps};
use crate::mould::opening::{
    Half, Material, Proposal, SAME_DEPTH, SILICONE_STRETCH, Undercut, Undercuts,
};
use crate::spec::{BodyEnd, Design, Making, MouldDesign, Parting, Problem, Route};

/// A place this near to the other parting plane, in mm, could be vented in it.
const NEAR_PLANE: f64 = 0.3;

/// Whether the halves open.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[non_exhaustive]
pub struct OpeningEntry {
    /// Depth of the deepest undercut; 0 if the halves come away freely.
    pub deepest_mm: f64,
    /// What it would be along the flank, for the master alone.
    pub flank_mm: f64,
    /// What it would be along the waist, for the master alone.
    pub waist_mm: f64,
    /// Share that a silicone lip may stretch by, for `silicone_bears_it`.
    pub silicone_stretch_share: f64,
    /// The undercuts, deepest first.
    pub undercuts: Vec<UndercutEntry>,
}

/// One undercut.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[non_exhaustive]
pub struct UndercutEntry {
    /// The half it holds.
    pub half: String,
    /// Field path of the feature there; `body` for the trunk; after the bait's name in a mould of
    /// different baits.
    pub feature: String,
    /// Where it is deepest, in the body's axes.
    pub at_mm: [f64; 3],
    /// How far mould or bait must yield sideways.
    pub depth_mm: f64,
    /// Surface that faces against the pull.
    pub area_mm2: f64,
    /// Share of its width there that the bait must give way by if the mould is rigid.
    pub bait_yields_share: f64,
    /// Whether a silicone half would bear it.
    pub silicone_bears_it: bool,
}

/// Where the mould holds air as it is poured.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[non_exhaustive]
pub struct AirEntry {
    /// Places of less height over their outlet are passed over.
    pub least_height_mm: f64,
    /// High points that a groove in the parting face lets the air out of.
    pub vented: Vec<TrapEntry>,
    /// High points where air stays, by falling volume.
    pub held: Vec<TrapEntry>,
}

/// One high point.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[non_exhaustive]
pub struct TrapEntry {
    /// Field path of the feature there; `body` for the trunk; after the bait's name in a mould of
    /// different baits.
    pub feature: String,
    /// The high point, in the body's axes.
    pub at_mm: [f64; 3],
    /// How far it stands above its outlet.
    pub height_mm: f64,
    /// Air that stays without a vent.
    pub volume_mm3: f64,
    /// What helps, if it is not vented.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub cure: Option<String>,
}

/// All findings, as the kit tells them.
pub(super) struct Checks {
    pub(super) opening: OpeningEntry,
    pub(super) air: AirEntry,
    pub(super) undercuts: Undercuts,
    pub(super) notes: Vec<String>,
}

/// The design with the gate that its mould has chosen, where that is narrower than the cores of its
/// bores were judged by.
pub(super) fn narrower_gate(design: &Design, mould: &Mould) -> Option<Design> {
    let cast = design.bore.iter().any(|bore| bore.how == Making::Cast);
    if design.mould.gate_radius.is_some() || !cast {
        return None;
    }
    let channels = &mould.channels;
    let necks = channels.runner.iter().flat_map(|runner| &runner.necks);
    let chosen = necks
        .map(|neck| neck.gate_radius)
        .fold(channels.sprue.gate_radius, f64::min);
    (chosen < crate::body::USUAL_GATE).then(|| Design {
        mould: MouldDesign {
            gate_radius: Some(chosen),
            ..design.mould.clone()
        },
        ..design.clone()
    })
}

/// The design with the other plane.
pub(super) fn turned(design: &Design) -> Design {
    let mut turned = design.clone();
    turned.mould.parting = match design.mould.parting {
        Parting::Flank => Parting::Waist,
        Parting::Waist => Parting::Flank,
    };
    turned
}

/// Lets the master choose its parting plane where the spec leaves it open; the design with the
/// plane it had best have, if it is another.
pub(super) fn other_plane(design: &Design, proposal: &Proposal) -> Option<Design> {
    let mut turned = design.clone();
    turned.mould.parting = proposal.parting;
    (design.mould.parting_free && turned != *design).then_some(turned)
}

/// A place of the mould in the axes and the size of the bait that it is of, and which of the other
/// baits that is; `None` for the main one.
fn whose(
    design: &Design,
    (mould, others): (&Mould, &[Made]),
    place: &Point3<f64>,
) -> (Point3<f64>, Option<usize>) {
    let at = Point3::from(mould.in_body(place).coords / design.mould_scale());
    let kind = mould.kinds.get(mould.bait_at(place)).copied();
    let other = kind.and_then(|kind| kind.checked_sub(1));
    (at, other.filter(|&i| i < others.len()))
}

/// What makes a half of the mould come in pieces that nothing joins, or with a hollow that nothing
/// reaches: a recess that goes on behind the parting face of the half it opens into.
pub(super) fn loose(
    design: &Design,
    made: &Master,
    mould: &Mould,
    others: &[Made],
) -> Vec<Problem> {
    let within = 1.0 + design.tolerance;
    let mut problems: Vec<Problem> = Vec::new();
    for (half, name) in [&mould.upper, &mould.lower].into_iter().zip(mould.names()) {
        let shells = half.shells();
        if shells.len() < 2 {
            continue;
        }
        let shells = shells.into_iter().map(|shell| Mesh {
            points: half.points.clone(),
            triangles: shell.iter().map(|&t| half.triangles[t as usize]).collect(),
        });
        let mut shells: Vec<Mesh> = shells.collect();
        shells.sort_by(|a, b| b.volume().total_cmp(&a.volume()));
        for shell in &shells[1..] {
            let corner = half.points[shell.triangles[0][0] as usize];
            let (at, other) = whose(design, (mould, others), &corner);
            let made = other.map_or(made, |i| &others[i].made);
            let feature = made.feature_at(&at, within).unwrap_or_default();
            let (path, of) = match other {
                Some(i) => (format!("mould.beside[{i}]"), format!("{feature} of this")),
                None => (feature.to_owned(), "this".to_owned()),
            };
            let volume = shell.volume();
            let what = if volume > 0.0 {
                format!("a piece of the {name} half, within {of}, would be joined to nothing")
            } else {
                format!("the {name} half would have a hollow, behind {of}, that nothing reaches")
            };
            if problems.iter().all(|known| known.path != path) {
                problems.push(
                    Problem::new(path, what)
                        .value(format!(
                            "{:.1} mm³, {} from the nose",
                            volume.abs(),
                            design.units.show(at.x)
                        ))
                        .limit("no deeper than to the parting face")
                        .hint("make it shallower, or part the mould along the other plane"),
                );
            }
        }
    }
    problems
}

impl Checks {
    /// Looks into a finished mould around the master it was made for.
    pub(super) fn of(
        design: &Design,
        proposal: &Proposal,
        made: &Master,
        (mould, body, others): (&Mould, &Body, &[Made]),
    ) -> Self {
        let show = |mm: f64| design.units.show(mm);
        let within = 0.05 + 4.0 * design.tolerance;
        // In the body's axes, of the bait that it is of, and what of that it is.
        let place = |p: &Point3<f64>| {
            let (at, other) = whose(design, (mould, others), p);
            let (name, made) = match other {
                Some(i) => (&others[i].name, &others[i].made),
                None => (&design.name, made),
            };
            let feature = made.feature_at(&at, within).unwrap_or("body");
            let feature = match others {
                [] => feature.to_owned(),
                _ => format!("{name}, {feature}"),
            };
            (at, feature)
        };

        let undercuts = mould.undercuts(design.tolerance);
        let mut notes = Vec::new();
        notes.extend(of_plane(design, proposal, mould));
        let [upper, lower] = mould.names();
        let name = |half| if half == Half::Upper { upper } else { lower };
        let entries: Vec<UndercutEntry> = undercuts
            .found
            .iter()
            .map(|u| {
                let (at, feature) = place(&u.at);
                UndercutEntry {
                    half: name(u.half).to_owned(),
                    feature,
                    at_mm: at.coords.into(),
                    depth_mm: u.depth,
                    area_mm2: u.area,
                    bait_yields_share: u.squeeze(),
                    silicone_bears_it: u.borne_by(Material::Silicone),
                }
            })
            .collect();
        // Of each feature the worst is said, and once if it is the same on both halves: not the
        // deepest, but that which takes the most of the width it holds.
        let mut said: Vec<Said<'_>> = Vec::new();
        for (u, entry) in undercuts.found.iter().zip(&entries) {
            let [holds, lip] = of_undercut(u, entry, mould.route, &show);
            let one = Said {
                feature: &entry.feature,
                text: format!("{} holds the {{}} {holds}. {lip}", entry.feature),
                halves: vec![&entry.half],
                share: u.squeeze(),
                less: 0,
            };
            match said.iter_mut().find(|s| s.feature == one.feature) {
                Some(said) if said.text == one.text => {
                    if !said.halves.contains(&entry.half.as_str()) {
                        said.halves.push(&entry.half);
                    }
                }
                Some(said) if said.share + ALIKE < one.share => {
                    let less = said.less + said.halves.len();
                    *said = Said { less, ..one };
                }
                Some(said) => said.less += 1,
                None => said.push(one),
            }
        }
        for said in said.iter().take(MOST_TOLD) {
            let halves = match said.halves[..] {
                [half] => format!("{half} half"),
                _ => "halves".to_owned(),
            };
            let mut note = said.text.replacen("{}", &halves, 1);
            match said.less {
                0 => {}
                1 => note += " One more place of it, which gives way more easily, is in kit.json.",
                less => {
                    note += &format!(
                        " {less} more places of it, which give way more easily, are in kit.json."
                    );
                }
            }
            notes.push(note);
        }
        let more = said.len().saturating_sub(MOST_TOLD);
        if more > 0 {
            let features = if more == 1 { "feature" } else { "features" };
            notes.push(format!(
                "{more} more {features} that hold less are in kit.json."
            ));
        }

        let told = |trap: &Trap, cure: Option<String>| {
            let (at, feature) = place(&trap.peak);
            TrapEntry {
                feature,
                at_mm: at.coords.into(),
                height_mm: trap.height,
                volume_mm3: trap.volume,
                cure,
            }
        };
        let vented: Vec<TrapEntry> = mould.air.relieved.iter().map(|t| told(t, None)).collect();
        let other_end = match others {
            [] => better_end(design, body, mould),
            // What is better for one may be worse for the next.
            _ => None,
        };
        let held: Vec<TrapEntry> = mould
            .air
            .held
            .iter()
            .map(|t| told(t, Some(cure(t, mould, design, other_end))))
            .collect();
        if !vented.is_empty() {
            let mut names: Vec<(String, usize)> = Vec::new();
            for name in vented.iter().map(|t| where_is(t, &show)) {
                match names.iter_mut().find(|(n, _)| *n == name) {
                    Some((_, count)) => *count += 1,
                    None => names.push((name, 1)),
                }
            }
            let names: Vec<String> = names
                .into_iter()
                .map(|(name, count)| match count {
                    1 => name,
                    _ => format!("{name} ({count} places)"),
                })
                .collect();
            notes.push(format!(
                "Air would stay at high places: {}. A groove in the parting face leads it up from \
                 each; cut what fills it off the bait.",
                names.join("; ")
            ));
        }
        // The same in each of several cavities is said once.
        let mut told: Vec<(String, String, usize)> = Vec::new();
        for trap in &held {
            let place = where_is(trap, &show);
            let said = format!(
                "{:.1} mm³, {} above its way out. {}",
                trap.volume_mm3,
                show(trap.height_mm),
                trap.cure.as_deref().unwrap_or_default()
            );
            match told.iter_mut().find(|t| (&t.0, &t.1) == (&place, &said)) {
                Some(told) => told.2 += 1,
                None => told.push((place, said, 1)),
            }
        }
        for (place, said, count) in told.iter().take(MOST_TOLD) {
            let places = match count {
                1 => String::new(),
                _ => format!(" ({count} places, each as follows)"),
            };
            notes.push(format!("Air stays at {place}{places}: {said}"));
        }
        let more: usize = told.iter().skip(MOST_TOLD).map(|told| told.2).sum();
        if more > 0 {
            notes.push(format!("{more} smaller pockets of air are in kit.json."));
        }
        Checks {
            opening: OpeningEntry {
                deepest_mm: undercuts.depth(),
                flank_mm: proposal.flank.depth(),
                waist_mm: proposal.waist.depth(),
                silicone_stretch_share: SILICONE_STRETCH,
                undercuts: entries,
            },
            air: AirEntry {
                least_height_mm: least_height(design.tolerance),
                vented,
                held,
            },
            undercuts,
            notes,
        }
    }
}

/// What is said of the undercuts of one feature.
struct Said<'a> {
    feature: &'a str,
    /// Of the worst, without the half it holds.
    text: String,
    halves: Vec<&'a str>,
    /// The share of its width that must give way.
    share: f64,
    /// How many others there are.
    less: usize,
}

/// Shares closer than this are the same: the columns they are measured by are no finer.
const ALIKE: f64 = 0.01;
/// More findings of a kind than this are left to the manifest.
const MOST_TOLD: usize = 4;

/// Why the mould opens along its plane, if there is a choice worth a word.
fn of_plane(design: &Design, proposal: &Proposal, mould: &Mould) -> Option<String> {
    let show = |mm: f64| design.units.show(mm);
    let depth = |parting| match parting {
        Parting::Flank => proposal.flank.depth(),
        Parting::Waist => proposal.waist.depth(),
    };
    let word = |parting| match parting {
        Parting::Flank => "flank",
        Parting::Waist => "waist",
    };
    let other = match mould.parting {
        Parting::Flank => Parting::Waist,
        Parting::Waist => Parting::Flank,
    };
    let (here, there) = (depth(mould.parting), depth(other));
    let held = if mould.beside.is_empty() {
        "the master is held"
    } else {
        "its baits are held"
    };
    if proposal.parting != mould.parting && there < here - SAME_DEPTH {
        let but = if design.rig.hook.is_some() && other == Parting::Waist {
            ", but has no seat for the hook"
        } else {
            ""
        };
        return Some(format!(
            "Along the {} {held} by {}, along the {} by {}: mould.parting = \"{}\" \
             would open better{but}.",
            word(mould.parting),
            show(here),
            word(other),
            show(there),
            word(other)
        ));
    }
    let chosen = design.mould.parting_free && here + there > 0.0;
    chosen.then(|| {
        if (there - here).abs() <= SAME_DEPTH {
            return format!(
                "The mould opens along the {}. Along either plane {held} alike, to within {}: \
                 by {} at most there, along the {} by {}.",
                word(mould.parting),
                show(SAME_DEPTH),
                show(here),
                word(other),
                show(there)
            );
        }
        if there < here {
            let all = match mould.beside.len() {
                0 => "its features can",
                _ => "its baits can",
            };
            return format!(
                "The mould opens along the {}, since not all of {all} be made for the {}: {held} here by {} at \
                 most, and would be by {} there.",
                word(mould.parting),
                word(other),
                show(here),
                show(there)
            );
        }
        format!(
            "The mould opens along the {}, chosen since {held} there by {} at most; \
             along the {} it would be {}.",
            word(mould.parting),
            show(here),
            word(other),
            show(there)
        )
    })
}

fn where_is(trap: &TrapEntry, show: &impl Fn(f64) -> String) -> String {
    format!("{}, {} from the nose", trap.feature, show(trap.at_mm[0]))
}

/// How an undercut holds, and what silicone makes of it.
fn of_undercut(
    u: &Undercut,
    entry: &UndercutEntry,
    route: Route,
    show: &impl Fn(f64) -> String,
) -> [String; 2] {
    let lip = match (entry.silicone_bears_it, u.stretch()) {
        (true, _) => "A silicone half bears it.".to_owned(),
        (false, stretch) if stretch > 1.0 => "Silicone would not bear it either.".to_owned(),
        (false, stretch) => {
            let (by, bears) = (100.0 * stretch, 100.0 * SILICONE_STRETCH);
            let by = if libm::round(by) > bears {
                format!("{by:.0} %, more")
            } else {
                "a little more".to_owned()
            };
            format!("A silicone lip would stretch by {by} than the {bears:.0} % it bears for long.")
        }
    };
    let mut holds = format!(
        "by {} around {} from the nose",
        show(u.depth),
        show(entry.at_mm[0])
    );
    if route == Route::Block {
        holds += &format!(
            ". A rigid half bears none of it: the bait must give way by {:.0} % of its width \
             there, and a hard casting would be caught",
            100.0 * u.squeeze()
        );
    }
    [holds, lip]
}

/// The end at which a sprue would leave much less air, going by the cavity without channels: the
/// other one, if it is.
fn better_end(design: &Design, body: &Body, mould: &Mould) -> Option<BodyEnd> {
    if mould.air.held.is_empty() {
        return None;
    }
    let here = mould.channels.sprue.end;
    let there = match here {
        BodyEnd::Nose => BodyEnd::Tail,
        BodyEnd::Tail => BodyEnd::Nose,
    };
    let master = mould.face.level(mould.master.clone());
    let held = |end| held_without_channels(&master, end, least_height(design.tolerance));
    let could = || {
        let mut turned = design.clone();
        turned.mould.sprue_end = there;
        // A core that comes out there may leave the gate no way.
        mould.could_pour_at(&turned, &body.scaled(design.mould_scale()))
            && Master::build(&turned, body).is_ok()
    };
    (held(there) < 0.5 * held(here) && could()).then_some(there)
}

/// Air that a bare master would hold off the parting plane, open only at its end, in mm³.
fn held_without_channels(master: &Mesh, end: BodyEnd, least: f64) -> f64 {
    let Some(bounds) = master.bounds() else {
        return 0.0;
    };
    // Open at this end alone.
    let mut outside = Bounds {
        min: bounds.min - nalgebra::Vector3::repeat(1.0),
        max: bounds.max + nalgebra::Vector3::repeat(1.0),
    };
    match end {
        BodyEnd::Nose => outside.min.x = bounds.min.x,
        BodyEnd::Tail => outside.max.x = bounds.max.x,
    }
    let found = traps(master, &outside, end, least);
    let off_plane = |t: &&Trap| {
        t.in_plane
            .is_none_or(|[x, _]| (x - t.peak.x).abs() > LEAST_HEIGHT)
    };
    found.iter().filter(off_plane).map(|t| t.volume).sum()
}

/// What helps against air that stays.
fn cure(trap: &Trap, mould: &Mould, design: &Design, other_end: Option<BodyEnd>) -> String {
    if design.mould.vent_count == Some(0) && trap.in_plane.is_some() {
        return "Let mould.vents.count be more than 0, and a groove is cut from it.".to_owned();
    }
    if let Some(end) = other_end {
        let end = match end {
            BodyEnd::Nose => "nose",
            BodyEnd::Tail => "tail",
        };
        return format!("Pour from the other end: mould.sprue.end = \"{end}\".");
    }
    let there = mould.in_body(&trap.peak);
    let (across, plane) = match mould.parting {
        Parting::Flank => (there.z, "waist"),
        Parting::Waist => (there.y, "flank"),
    };
    let bowed = design.body.camber.is_some() && mould.parting == Parting::Flank;
    if across.abs() < NEAR_PLANE && !bowed {
        return format!(
            "Parted along the {plane} it could be vented: mould.parting = \"{plane}\"."
        );
    }
    let [upper, lower] = mould.names();
    let (show, peak, block) = (|mm: f64| design.units.show(mm), &trap.peak, &mould.block);
    let (half, deep) = if peak.z > mould.face.height(peak.x, peak.y) {
        (upper, block.max.z - peak.z)
    } else {
        (lower, peak.z - block.min.z)
    };
    let along = match mould.channels.sprue.end {
        BodyEnd::Nose => peak.x - block.min.x,
        BodyEnd::Tail => block.max.x - peak.x,
    };
    // +y of the mould: the left side at the waist, the belly along the flank.
    let sides = match mould.parting {
        Parting::Waist => ["the bait's right", "the bait's left"],
        Parting::Flank => ["its back", "its belly"],
    };
    let (edge, side) = if peak.y > block.centre().y {
        (block.max.y - peak.y, sides[1])
    } else {
        (peak.y - block.min.y, sides[0])
    };
    format!(
        "Tilt the mould while it fills; or drill a vent of 1 mm from the back of the {half} half, \
         {} from the sprue's face and {} from the long side towards {}, {} deep, and tape it once plastic \
         shows.",
        show(along),
        show(edge),
        side,
        show(deep)
    )
}
