//! What the maker should know that no file says.

use super::MANIFEST;
use crate::body::{Body, Master, MasterError};
use crate::import;
use crate::mesh::Mesh;
use crate::mould::seats::Seats;
use crate::mould::{Mould, MouldError, Printed, Unfollowed, Why};
use crate::spec::{BodyEnd, Design, MeasuredDesign, Problem, Problems, Route, SizeDesign};

/// Plastic chills in a gap of up to this, in mm (common practice: a few tenths; reasoned).
const CHILLS: f64 = 0.8;
/// A share of the gate above this that opens into the body where that begins is usual at a round end.
const OPENS: f64 = 0.8;
/// Longer ends than this within the sprue are worth a note, in mm.
const SCAR: f64 = 1.0;

/// What is to be said of the mould and of casting in it.
pub(super) fn of_mould(design: &Design, mould: &Mould) -> Vec<String> {
    let mut notes = made_by(design, mould);
    notes.extend(at_the_bench(design, mould));
    notes.extend(on_holding(design, mould));
    notes.extend(mould.holding.notes.iter().cloned());
    let vents = mould.channels.vents.len();
    match (vents, design.mould.vent_count) {
        (0, Some(0)) => notes.push("There is no vent: none was asked for.".to_owned()),
        (0, _) => notes.push("There is no vent: the body has no room for one.".to_owned()),
        (_, asked) => {
            if asked.is_none() && vents < 2 {
                notes.push("There is room for one vent only on this body.".to_owned());
            }
            notes.push(if design.mould.vent_depth > CHILLS {
                format!(
                    "The mould stands with the sprue up, so its vents are low, and they are {} deep: \
                     plastic runs out of them until they are taped. Up to {} it chills in them (common \
                     practice).",
                    design.units.show(design.mould.vent_depth),
                    design.units.show(CHILLS)
                )
            } else {
                "The mould stands with the sprue up, so its vents are low: they are so shallow that \
                 plastic should chill in them (common practice); have tape at hand in case it runs."
                    .to_owned()
            });
        }
    }
    if mould.keys.is_empty() {
        notes.push(
            "There are no keys: line the halves up by their edges, and see that they cannot slide."
                .to_owned(),
        );
    }
    notes
}

/// Of this mould alone, and not among the steps of the build sheet.
pub(super) fn at_the_bench(design: &Design, mould: &Mould) -> Vec<String> {
    let show = |mm: f64| design.units.show(mm);
    let mut notes = Vec::new();
    for gate in gates(design, mould) {
        let end = match mould.channels.sprue.end {
            BodyEnd::Nose => "nose",
            BodyEnd::Tail => "tail",
        };
        let of = gate.of.map_or(String::new(), |name| format!("{name}: "));
        if gate.covers > SCAR {
            notes.push(format!(
                "{of}The outermost {} of the {end} lie within the sprue: that much is trimmed off with it.",
                show(gate.covers)
            ));
        }
        if gate.opens < OPENS {
            notes.push(format!(
                "{of}{:.0} % of the gate open into the body, the rest runs beside its end: pare that off with \
                 care. A narrower mould.sprue.gate, or the other end, leaves less.",
                100.0 * gate.opens
            ));
        }
    }
    notes.extend(on_pouring(design, mould));
    notes.extend(on_seats(design, mould));
    if !design.collar.is_empty() {
        let seat: f64 = design
            .collar
            .iter()
            .map(|c| std::f64::consts::PI * c.radius * c.radius * c.length / 1000.0)
            .sum();
        notes.push(format!(
            "The collar on the master is a core print: it makes the seat for the skirt in the \
             mould, and is not counted as plastic. Poured with the seat empty, the mould takes \
             {seat:.2} ml more."
        ));
    }
    notes
}

/// Features of the main bait that reach into what is trimmed off with the sprue.
pub(super) fn in_sprue(made: &Master, mould: &Mould, length: f64) -> Option<String> {
    let sprue = &mould.channels.sprue;
    let into = |mesh: &Mesh| {
        let bounds = mesh.bounds()?;
        let past = match sprue.end {
            BodyEnd::Nose => bounds.min.x.max(0.0) < sprue.covers - SCAR,
            BodyEnd::Tail => bounds.max.x.min(length) > length - sprue.covers + SCAR,
        };
        past.then_some(())
    };
    let mut paths: Vec<&str> = Vec::new();
    for (path, mesh) in &made.features {
        // A bore along the axis is led through the gate.
        if !path.starts_with("bore") && into(mesh).is_some() && !paths.contains(&path.as_str()) {
            paths.push(path);
        }
    }
    let reach = if paths.len() == 1 { "reaches" } else { "reach" };
    (!paths.is_empty()).then(|| {
        format!(
            "{} {reach} into what is trimmed off with the sprue: move it away from that end, or lead the \
             sprue to the other.",
            paths.join(" and ")
        )
    })
}

/// The gates of a kind of bait, the worst of each.
struct Gates<'a> {
    /// The bait's name, where there are others.
    of: Option<&'a str>,
    covers: f64,
    opens: f64,
}

fn gates<'a>(design: &'a Design, mould: &'a Mould) -> Vec<Gates<'a>> {
    let sprue = &mould.channels.sprue;
    let Some(runner) = &mould.channels.runner else {
        return vec![Gates {
            of: None,
            covers: sprue.covers,
            opens: sprue.opens,
        }];
    };
    let mixed = !mould.beside.is_empty();
    let own = std::iter::once(design.name.as_str());
    let names = own.chain(mould.beside.iter().map(|other| other.name.as_str()));
    let each = names.enumerate().map(|(kind, name)| {
        let necks = runner.necks.iter().zip(&mould.kinds);
        let necks = necks.filter(|(_, of)| **of == kind).map(|(neck, _)| neck);
        Gates {
            of: mixed.then_some(name),
            covers: necks.clone().map(|n| n.covers).fold(0.0, f64::max),
            opens: necks.map(|n| n.opens).fold(1.0, f64::min),
        }
    });
    each.collect()
}

/// What the sprue does and does not do.
fn on_pouring(design: &Design, mould: &Mould) -> Vec<String> {
    // A funnel's frustum.
    let funnel: f64 = mould
        .channels
        .sprue
        .corners
        .windows(2)
        .map(|w| {
            let ((x, r), (y, s)) = (w[0], w[1]);
            std::f64::consts::PI / 3.0 * (y - x) * (r * r + r * s + s * s)
        })
        .sum();
    let mut notes = Vec::new();
    let shrunk = SHRINKAGE * mould.cavity.volume();
    if let Some(tip) = design.mould.nozzle_radius {
        notes.push(format!(
            "The sprue is a seat for an injector's tip of {}: hold it there until the plastic has \
             set at the gate, for there is no funnel to feed from.",
            design.units.show(2.0 * tip)
        ));
    } else if funnel < shrunk {
        notes.push(format!(
            "The funnel holds {:.1} ml, less than the {:.1} ml by which the shot may shrink as it \
             cools (a tenth of it, common practice): top up while it is hot, or make the funnel \
             wider or deeper.",
            funnel / 1000.0,
            shrunk / 1000.0
        ));
    }
    if let Some(runner) = &mould.channels.runner {
        let gates = runner.necks.iter().map(|neck| 2.0 * neck.gate_radius);
        let least = gates.clone().fold(f64::INFINITY, f64::min);
        let most = gates.fold(0.0, f64::max);
        let show = |mm: f64| design.units.show(mm);
        let gates = if most - least < 0.05 {
            format!("all {}", show(most))
        } else if !mould.beside.is_empty() {
            format!("from {} to {} by size and place", show(least), show(most))
        } else {
            format!(
                "from {} near the funnel to {} far from it",
                show(least),
                show(most)
            )
        };
        notes.push(format!(
            "One runner of {} feeds {} baits. Their gates, {gates}, are balanced for slow flow, so \
             that all fill together.",
            show(2.0 * runner.radius),
            runner.necks.len(),
        ));
    }
    notes
}

/// Share of its volume that hot soft plastic loses as it cools (common practice: cubic expansion
/// of plasticised PVC, about 6e-4 per K from memory, over some 150 K).
const SHRINKAGE: f64 = 0.1;

/// How the mould comes to be by its route, cautions first.
fn made_by(design: &Design, mould: &Mould) -> Vec<String> {
    let show = |mm: f64| design.units.show(mm);
    let caution = match mould.route {
        Route::Block => {
            "Cast only in a mould that stands the heat: common printed plastics soften far below \
             the temperature soft plastic is poured at. Follow the data sheets of plastic and mould \
             material; hot plastic burns, its fumes harm, and water in the mould turns to steam."
        }
        Route::Boxes | Route::Board => {
            "Use a silicone whose data sheet allows the temperature soft plastic is poured at, and \
             let it cure as the sheet says before casting. Gloves and air for silicone and release \
             agent; hot plastic burns, its fumes harm, and water in the mould turns to steam."
        }
    };
    let mut notes = vec![caution.to_owned()];
    let [upper, lower] = [&mould.upper, &mould.lower].map(|half| half.volume() / 1000.0);
    let [first, second] = mould.names();
    let [lowest, highest] = mould.face.range();
    match mould.route {
        Route::Block => {}
        Route::Boxes => notes.push(format!(
            "Fill both boxes to the brim and strike them off level: {upper:.0} ml of silicone make \
             the {first} half, {lower:.0} ml the {second} half, {} and {} deep over the floor. \
             Release agent where the data sheet of silicone or print asks for it. The boxes hold the \
             master's shape themselves: the master need not be printed.",
            show(mould.block.max.z - lowest),
            show(highest - mould.block.min.z),
        )),
        Route::Board => notes.push(format!(
            "The master and its formers lie in the board, the frame stands round its deck. First \
             pour: {upper:.0} ml of silicone to the brim, {} over the board ({first} half). Then \
             turn it over, take the board away but not the master and the formers, brush on release \
             agent, and fill to the brim again: {lower:.0} ml ({second} half). The trough has {} of \
             room round the master; seal the gap if the silicone is thin. The frame can be cut from \
             sheet instead: pattern.svg, pattern.dxf.",
            show(mould.block.max.z - lowest),
            show(design.mould.board_clearance),
        )),
    }
    if mould.route == Route::Boxes && design.mould.sheet_walls {
        notes.push(format!(
            "Only the floors of the boxes are printed. Their walls are cut by pattern.svg or \
             pattern.dxf from sheet of {}, join by fingers and stand on the parting face inside the \
             floor's rim; tape holds them.",
            show(design.mould.sheet)
        ));
    }
    notes.extend(on_face(design, mould));
    notes.extend(mould.face.unfollowed().iter().map(left_out));
    notes
}

/// A pair of fins, or of rows of legs, that stands out of the parting face, and why.
fn left_out(fin: &Unfollowed) -> String {
    // Of another bait the name comes first.
    let field = fin.path.rsplit(", ").next().unwrap_or(&fin.path);
    let legs = field.starts_with("legs");
    let why = match &fin.why {
        Why::TooSteep(degrees) => format!(
            "its plane stands {degrees:.0} degrees out of the waist, and 60 are the most. {}",
            if legs {
                "An angle nearer to 90, or less droop, may bring it nearer"
            } else {
                "Less cant, or an angle nearer to 90, brings it nearer"
            }
        ),
        Why::HoldsMore(Some(other)) => format!(
            "it follows {other}, which is in the way, and would hold more than a step to this one frees. Farther \
             apart along the body both may be followed"
        ),
        Why::HoldsMore(None) => {
            "it would leave another fin or come out of the body there, and hold more than it frees".to_owned()
        }
        Why::NoRoom => {
            "the body is too slim at its root for the step to rise within it, or the step would reach too far".to_owned()
        }
        Why::Unsound => format!(
            "with a step to it the halves do not come out sound: rounding closes a cleft in them. Another {} \
             by a degree may do",
            if legs { "angle or droop" } else { "angle or cant" }
        ),
    };
    format!("The parting face does not follow {}: {why}.", fin.path)
}

/// Where the parting face is no plane.
fn on_face(design: &Design, mould: &Mould) -> Option<String> {
    let face = &mould.face;
    let followed = face.followed();
    let mut said = Vec::new();
    if face.is_bowed() {
        said.push("follows the bowed spine and is level beyond both ends".to_owned());
    }
    if !followed.is_empty() {
        said.push(format!(
            "steps aside for {}: it runs through the middle of the plate, or of the row, and comes back at 45 degrees or more",
            followed.join(", ")
        ));
    }
    if said.is_empty() {
        return None;
    }
    let reach = face.range().map(|z| {
        let side = if z < 0.0 { "below" } else { "above" };
        (z != 0.0).then(|| format!("{} {side} the axis", design.units.show(z.abs())))
    });
    let reach: Vec<String> = reach.into_iter().flatten().collect();
    Some(format!(
        "The parting face is no plane: it {}. It reaches {}. The halves open straight up and down.",
        said.join(", and "),
        reach.join(" and ")
    ))
}

/// What is laid into the mould, and what has no seat.
fn on_seats(design: &Design, mould: &Mould) -> Vec<String> {
    let lower = mould.names()[1];
    let mut notes = of_seats(design, &mould.seats, lower);
    for other in &mould.beside {
        let said = of_seats(design, &other.seats, lower);
        notes.extend(
            said.into_iter()
                .map(|note| format!("{}: {note}", other.name)),
        );
    }
    notes
}

fn of_seats(design: &Design, seats: &Seats, lower: &str) -> Vec<String> {
    let show = |mm: f64| design.units.show(mm);
    let mut notes = Vec::new();
    if let Some(laid) = seats.laid_in(lower) {
        notes.push(format!(
            "Into the open mould before each pour: {laid}. The gap round them is {}.",
            show(seats.clearance)
        ));
    }
    let widest = seats
        .pins
        .iter()
        .map(|pin| 2.0 * pin.foot_radius())
        .fold(0.0, f64::max);
    if widest > 0.0 {
        notes.push(format!(
            "Each pin under and over a weight leaves a hole of up to {} in the skin: fill it with a drop of the \
             same plastic.",
            show(widest)
        ));
    }
    notes.extend(seats.notes.iter().cloned());
    notes
}

/// What holds the halves together.
fn on_holding(design: &Design, mould: &Mould) -> Option<String> {
    let show = |mm: f64| design.units.show(mm);
    let holding = &mould.holding;
    if let (Some(thread), Some(bolt)) = (design.mould.bolts, holding.bolts.first()) {
        return Some(format!(
            "{} holes of {} take {thread:?} bolts, long enough for {} of block, two washers of {} \
             across (ISO 7089), which lie wholly on the block, and a nut.",
            holding.bolts.len(),
            show(2.0 * bolt.radius),
            show(mould.block.size().z),
            show(2.0 * bolt.washer)
        ));
    }
    (design.mould.bands && mould.route != Route::Block).then(|| {
        "Bands go round the backing plates of pattern.svg and pattern.dxf, not round bare \
         silicone, which they would squeeze out of shape."
            .to_owned()
    })
}

/// Letters that stand on the sheets as empty boxes.
pub(super) fn without_shape(missing: &[char]) -> Option<String> {
    let listed: Vec<String> = missing.iter().map(char::to_string).collect();
    (!listed.is_empty()).then(|| {
        format!(
            "The sheets' face has Latin, Greek and Cyrillic letters. An empty box stands on paper for: {}",
            listed.join(" ")
        )
    })
}

/// What is to be said of parts that come in pieces.
pub(super) fn of_parts(design: &Design, parts: &[Printed]) -> Vec<String> {
    let in_pieces = parts.iter().filter(|part| part.pieces.len() > 1);
    let own = parts.iter().filter_map(|part| part.note.clone());
    let joints = in_pieces.map(|part| {
        format!(
            "The {} is larger than the bed and comes in {} pieces, with bores for dowels of {}: \
                 glue them, and seal the joint.",
            part.title,
            part.pieces.len(),
            design.units.show(part.dowel)
        )
    });
    own.chain(joints).collect()
}

/// Asks for the unit of a master from a file where a gate does not go with its size.
pub(super) fn with_doubt_of_unit(
    design: &Design,
    body: &Body,
    mut error: MouldError,
) -> MouldError {
    if let MouldError::Spec(Problems(problems)) = &mut error
        && body.scan.is_some()
        && let Some(doubt) =
            import::unit_doubted(body.length() / design.scale, design.units.in_mm())
    {
        for problem in problems.iter_mut().filter(|p| p.path == "mould.sprue.gate") {
            problem.hint = Some(format!("the master is {doubt}"));
        }
    }
    error
}

/// Cores that leave plastic little room in the gate that the mould has chosen: of those that leave
/// none there is no bait.
pub(super) fn in_gate(judged: Result<Master, MasterError>) -> Result<Vec<String>, MasterError> {
    match judged {
        Err(MasterError::Spec(Problems(problems))) => {
            let blocked = |p: &Problem| p.what.ends_with(crate::body::NO_WAY);
            if problems.iter().any(blocked) {
                return Err(MasterError::Spec(Problems(problems)));
            }
            Ok(problems.iter().map(|p| format!("{p}.")).collect())
        }
        Err(other) => Err(other),
        Ok(_) => Ok(Vec::new()),
    }
}

/// What is to be said of how the body came by its size.
pub(super) fn of_body(design: &Design) -> Vec<String> {
    let show = |mm: f64| design.units.show(mm);
    let mut notes = Vec::new();
    if let Some(measured) = &design.body.measured {
        let offs = measured.readings.iter();
        let offs = offs.flat_map(|r| [r.height, r.width].into_iter().flatten());
        let most = offs.map(|size| size.off.abs()).fold(0.0, f64::max);
        notes.push(format!(
            "The fair curve passes {} readings at up to {} from them, within the {} that they may be \
             off; {MANIFEST} lists each.{}",
            measured.readings.len(),
            show(most),
            show(measured.uncertainty),
            farthest_from_others(design, measured)
        ));
        for doubt in &measured.doubts {
            let side = if doubt.off > 0.0 { "more" } else { "less" };
            notes.push(format!(
                "body.measured.readings[{}]: this {} is {} {side} than its neighbours make of its \
                 place, in a {} of its own: measure it again if none is meant there.",
                doubt.reading,
                doubt.field,
                show(doubt.off.abs()),
                if doubt.off > 0.0 { "hump" } else { "dent" }
            ));
        }
        if design.scale != 1.0 {
            notes.push(format!(
                "Readings are told with the places and sizes of the bait that was measured, {} long.",
                show(design.body.length / design.scale)
            ));
        }
    }
    notes
}

/// The reading that stands farthest from what all others make of its place, if that is several times
/// its uncertainty: readings alone cannot tell a slip from a shape, the maker can.
fn farthest_from_others(design: &Design, measured: &MeasuredDesign) -> String {
    /// So many times the uncertainty at least (reasoned: what is no slip for the rules either).
    const FAR: f64 = 4.0;
    let sizes = measured.readings.iter().enumerate().flat_map(|(i, r)| {
        let of = |size: Option<SizeDesign>| {
            let size = size?;
            Some((i, size.read - size.by_others?))
        };
        [of(r.height), of(r.width)].into_iter().flatten()
    });
    let farthest = sizes.max_by(|a, b| a.1.abs().total_cmp(&b.1.abs()));
    match farthest {
        Some((i, off))
            if off.abs() > FAR * measured.uncertainty
                && measured.doubts.iter().all(|doubt| doubt.reading != i) =>
        {
            format!(
                " The one that stands farthest from what all others make of its place is \
                 body.measured.readings[{i}], {} {} than that: if the bait has no such shape there, measure \
                 it and those beside it again.",
                design.units.show(off.abs()),
                if off > 0.0 { "more" } else { "less" }
            )
        }
        _ => String::new(),
    }
}

/// What a turner makes of coats.
pub(super) fn coated(design: &Design) -> Option<String> {
    let coating = design.allowances.coating();
    (coating > 0.0).then(|| {
        format!(
            "Coats of {} in all are taken off the printed master's surface. The lathe gauge shows \
             the master with them on: turn it smaller by that much all round.",
            design.units.show(coating)
        )
    })
}

/// The name on the gauge, with what is allowed for in it.
pub(super) fn master_title(design: &Design) -> String {
    let allow = &design.allowances;
    let mut title = design.name.clone();
    let larger = 100.0 * (allow.pattern_scale() - 1.0);
    if larger > 0.0 {
        title += &format!(", {larger:.2} % larger for shrinkage");
    }
    if allow.coating() > 0.0 {
        let coats = design.units.show(allow.coating());
        title += &format!(", with its coats on: turn it {coats} smaller all round");
    }
    title
}

/// A file of cores holds those of one bait, of which the mould casts several.
pub(super) fn copies_of_cores(made: &Master, mould: &Mould) -> Vec<String> {
    let own = (None, made.cores.len(), mould.own());
    let others = (mould.beside.iter()).map(|o| (Some(&o.name), o.cores, o.count));
    let several = std::iter::once(own).chain(others);
    several
        .filter(|&(_, cores, baits)| cores > 0 && baits > 1)
        .map(|(name, _, baits)| {
            let of = name.map_or(String::new(), |name| format!("{name}: "));
            format!("{of}The file of loose cores holds those of one bait: print it {baits} times.")
        })
        .collect()
}

/// What the gauge of a turned trunk does not show.
pub(super) fn trunk_only(design: &Design) -> Option<String> {
    let all = [
        ("eyes", !design.eyes.is_empty()),
        ("fins", !design.fin.is_empty()),
        ("tail", design.tail.is_some()),
        ("legs", !design.legs.is_empty()),
        ("slots", !design.slot.is_empty()),
        ("pockets", !design.pocket.is_empty()),
        ("bores", !design.bore.is_empty()),
    ];
    let missing: Vec<&str> = all.iter().filter(|a| a.1).map(|a| a.0).collect();
    (!missing.is_empty()).then(|| {
        format!(
            "The lathe gauge shows what can be turned. Not on it, and to be made after turning: {}.",
            missing.join(", ")
        )
    })
}
