//! The tick-list in the order of work: whatever a pour would spoil comes before it.

use super::super::day::Day;
use super::{LEAST_CUP, Subject, counted, show, volume};
use crate::materials::Class;
use crate::mould::Mould;
use crate::rig::is_strung;
use crate::spec::{BodyEnd, Design, Making, Route, WeightShape};

/// Part of the work.
pub(super) struct Stage {
    pub title: String,
    pub cautions: Vec<String>,
    pub steps: Vec<String>,
}

impl Stage {
    fn new(title: &str, cautions: &[&str]) -> Self {
        Stage {
            title: title.to_owned(),
            cautions: cautions.iter().map(|&c| c.to_owned()).collect(),
            steps: Vec::new(),
        }
    }

    fn step(&mut self, text: impl Into<String>) {
        self.steps.push(text.into());
    }
}

const RESIN: &str = "Uncured resin, solvents and sanding dust harm skin and lungs: gloves, mask and moving air, \
                     as their data sheets say.";
const SILICONE: &str = "Gloves and goggles for silicone, catalyst and release agent; spray only in moving air, \
                        away from flames.";
const HOT: &str = "Hot plastic burns and sticks to skin: goggles or face shield, heat-proof gloves, long \
                   sleeves, cold water within reach for the skin but nowhere near the cup.";
const FUMES: &str = "Overheated PVC gives off hydrogen chloride, which burns eyes and lungs: work in moving air, \
                     keep a thermometer in the plastic, stop when it browns or smells sharp. Never let it meet \
                     acetal (POM): hot, the two break each other down.";
const STEAM: &str = "Water in the cup or the mould flashes to steam and throws hot plastic: everything must be dry.";

/// All stages of the chosen route.
pub(super) fn of(subject: &Subject<'_>) -> Vec<Stage> {
    let Subject {
        design, day, mould, ..
    } = *subject;
    let mut stages = match mould.route {
        Route::Block => vec![block(subject)],
        Route::Boxes => vec![boxes(subject), pour_boxes(subject)],
        Route::Board => vec![board(subject), first(design, day), second(subject)],
    };
    if day.melts_the_mould {
        let mut stop = Stage::new(
            "Stop here",
            &["This mould softens far below the heat of the pour: hot plastic runs out of it."],
        );
        stop.step(
            "Do not cast in it. Let Baitwright make pour boxes or a bedding board instead \
             (route = \"boxes\" or \"board\" under [mould]), and cast in silicone.",
        );
        stages.push(stop);
        return stages;
    }
    stages.push(casting(subject));
    stages.push(run(subject));
    stages
}

fn end(mould: &Mould) -> &'static str {
    match mould.channels.sprue.end {
        BodyEnd::Nose => "nose",
        BodyEnd::Tail => "tail",
    }
}

/// Every channel that has to be open, in words.
fn channels(mould: &Mould) -> String {
    let (far, high) = (mould.channels.vents.len(), mould.channels.grooves.len());
    let sprue = format!("the sprue at the {}", end(mould));
    let vents = format!("{} at the other end", counted(far, "vent"));
    let grooves = format!(
        "{} from high places up to the sprue's face",
        counted(high, "groove")
    );
    match (far, high) {
        (0, 0) => format!("{sprue} (and no vents)"),
        (_, 0) => format!("{sprue} and {vents}"),
        (0, _) => format!("{sprue} and {grooves}"),
        _ => format!("{sprue}, {vents} and {grooves}"),
    }
}

fn keys(stage: &mut Stage, mould: &Mould, on: &str) {
    if !mould.keys.is_empty() {
        stage.step(format!(
            "Count {} {on}: whole, clean, none missing.",
            counted(mould.keys.len(), "key")
        ));
    }
}

/// Parts that came in pieces.
fn join(stage: &mut Stage, subject: &Subject<'_>) {
    let in_pieces = subject.parts.iter().filter(|p| p.pieces.len() > 1);
    for part in in_pieces {
        stage.step(format!(
            "Join the {} pieces of the {} with dowels of {}: glue that stands the heat of its use (ask \
             its sheet), and no gap at the cavity.",
            part.pieces.len(),
            part.title,
            subject.design.units.show(part.dowel)
        ));
    }
}

/// How closed halves find each other.
fn one_way(mould: &Mould) -> &'static str {
    if mould.keys.is_empty() {
        ", edges flush all round: there are no keys"
    } else {
        ": they go together one way only, without force"
    }
}

fn has_cores(subject: &Subject<'_>) -> bool {
    !subject.made.cores.is_empty() || subject.mould.beside.iter().any(|other| other.cores > 0)
}

/// Radii of the pins that bores are cast around, those of other baits too.
fn pins(subject: &Subject<'_>) -> Vec<f64> {
    let cast = subject.design.bore.iter().filter(|b| b.how == Making::Cast);
    let others = subject.mould.beside.iter().flat_map(|other| &other.pins);
    let mut all: Vec<f64> = cast.map(|b| b.radius).chain(others.copied()).collect();
    all.sort_by(f64::total_cmp);
    all.dedup();
    all
}

/// Cores are printed or cut, fitted, and in their places when the halves are tried.
fn fit_cores(stage: &mut Stage, subject: &Subject<'_>) {
    if !has_cores(subject) {
        return;
    }
    let show = |radius: &f64| subject.design.units.show(2.0 * radius);
    let pins: Vec<String> = pins(subject).iter().map(show).collect();
    if !pins.is_empty() {
        stage.step(format!(
            "For a pin take straight steel wire of {} rather than a print: it stands the heat and \
             draws out.",
            pins.join(" and ")
        ));
    }
    stage.step(
        "Lay the cores in their seats; file them until they lie without force and the halves close \
         on them.",
    );
}

fn block(subject: &Subject<'_>) -> Stage {
    let Subject {
        design, day, mould, ..
    } = *subject;
    let of = &design.cast.block;
    let mut stage = match of.class {
        Class::Resin => {
            let mut stage = Stage::new("The mould", &[RESIN]);
            stage.step(
                "Print both halves, parting face up; take off supports; wash and cure as the resin's \
                 sheet says.",
            );
            stage
        }
        Class::Silicone => {
            let mut stage = Stage::new("The mould", &[SILICONE]);
            stage.step("Have both halves cured through, trimmed and clean.");
            stage
        }
        Class::Plastic | Class::Metal | Class::Additive => {
            let mut stage = Stage::new("The mould", &[]);
            stage.step(format!(
                "Have both halves made of {}, clean, their edges broken but not at the cavity.",
                of.name
            ));
            stage
        }
    };
    if of.class == Class::Resin && of.service.is_none() && of.softens.is_none() {
        stage.step(format!(
            "Find in the resin's data sheet that it stands {:.0} °C. If that is not there, do not cast \
             in it: cast halves of silicone in boxes (route = \"boxes\" under [mould]).",
            design.cast.pour.value
        ));
    }
    join(&mut stage, subject);
    keys(
        &mut stage,
        mould,
        "on one half, and their sockets in the other",
    );
    stage.step(format!(
        "Check that {} are there, whole and clean.",
        channels(mould)
    ));
    fit_cores(&mut stage, subject);
    stage.step(format!(
        "Close the halves dry{}; hold them against a lamp: no light through the parting line.",
        one_way(mould)
    ));
    stage.step("Blow through sprue and vents.");
    stage.step(if day.thin.is_empty() {
        "Dry both halves through, and let them come to the room's temperature."
    } else {
        "Dry both halves through. Thin parts fill better in a mould that is warm to the hand."
    });
    stage
}

/// Silicone may not cure against a print: a trial comes before the pour.
fn trial(stage: &mut Stage, design: &Design) {
    let wait = match &design.cast.silicone.cure {
        Some(cure) => format!(" after {}", show(cure.value)),
        None => String::new(),
    };
    stage.step(format!(
        "Try the silicone, a day ahead: a thimbleful on a hidden place of the print must be cured \
         hard{wait}. If it stays sticky, cure the print longer, or seal it."
    ));
}

fn boxes(subject: &Subject<'_>) -> Stage {
    let Subject { design, mould, .. } = *subject;
    let mut stage = Stage::new("The pour boxes", &[RESIN]);
    let walls = design.mould.sheet_walls;
    let printed = if walls { "floors" } else { "boxes" };
    stage.step(format!(
        "Print both {printed}; take off supports; wash and cure as the resin's sheet says. The \
         master need not be printed: the {printed} hold its shape.",
    ));
    join(&mut stage, subject);
    keys(
        &mut stage,
        mould,
        "or their sockets on the floors of the boxes",
    );
    stage.step(format!(
        "Check that the ridges of {} are there, whole and clean.",
        channels(mould)
    ));
    stage.step("Smooth or seal what shows print lines: silicone copies all of them.");
    trial(&mut stage, design);
    if walls {
        stage.step(format!(
            "Cut the walls by pattern.svg or pattern.dxf from smooth sheet of {}, each marked with what \
             it is; try the silicone on a scrap as on the print.",
            design.units.show(design.mould.sheet)
        ));
        stage.step(
            "Push the four walls of a box together by their fingers and stand them inside the rim of \
             the floor with its name, lower edges on the parting face all along; see that the \
             corners are square.",
        );
        stage.step(
            "Tape round the walls below the brim and over the rim, so that the weight of the silicone \
             cannot spread them; close joints and foot from outside with sulphur-free wax.",
        );
    }
    stage
}

fn pour_boxes(subject: &Subject<'_>) -> Stage {
    let Subject {
        design, day, mould, ..
    } = *subject;
    let mut stage = Stage::new("Both halves in silicone", &[SILICONE]);
    stage.step("Stand both boxes on a level table: check with a spirit level along and across.");
    release(&mut stage, "both boxes, into every corner");
    for i in 0..day.silicone.len() {
        mix(&mut stage, day, i);
        pour(
            &mut stage,
            &format!(
                "the {} box to the brim, and strike it off level",
                day.silicone[i].half
            ),
        );
    }
    cure(&mut stage, design);
    let out = if design.mould.sheet_walls {
        "Take off the walls, lift both halves from their floors and trim them"
    } else {
        "Take both halves out and trim them"
    };
    stage.step(format!("{out}. Close them{}.", one_way(mould)));
    poured(&mut stage, subject);
    stage
}

/// What is left to do when both halves are out and closed.
fn poured(stage: &mut Stage, subject: &Subject<'_>) {
    let Subject {
        design, day, mould, ..
    } = *subject;
    stage.step(format!(
        "See that {} are open; cut away skins of silicone.",
        channels(mould)
    ));
    fit_cores(stage, subject);
    if day.moulds > 1 {
        stage.step(format!(
            "Do all of it again until there are {} moulds.",
            day.moulds
        ));
    }
    if design.mould.bands {
        stage.step("Cut two backing plates by pattern.svg or pattern.dxf.");
    }
}

fn board(subject: &Subject<'_>) -> Stage {
    let Subject { design, mould, .. } = *subject;
    let mut stage = Stage::new("Bedding", &[RESIN]);
    stage.step(
        "Print board, frame and formers, wash and cure them as the resin's sheet says; have the \
         master finished, smooth and dry.",
    );
    join(&mut stage, subject);
    keys(&mut stage, mould, "on the board");
    stage.step(format!(
        "Check that there are formers for {}.",
        channels(mould)
    ));
    trial(&mut stage, design);
    stage.step(
        "Lay the master in the trough: it must lie up to its parting line all round. Close gaps \
         with a little plain, sulphur-free wax.",
    );
    stage.step("Lay the formers in their grooves, touching the master.");
    stage.step("Stand the frame round the board; close the gap between them from outside.");
    stage
}

fn first(design: &Design, day: &Day) -> Stage {
    let mut stage = Stage::new("First half", &[SILICONE]);
    stage.step("Level the board: check with a spirit level along and across.");
    release(&mut stage, "board, frame, formers and master");
    mix(&mut stage, day, 0);
    pour(
        &mut stage,
        "over the master, to the brim, and strike it off level",
    );
    cure(&mut stage, design);
    stage
}

fn second(subject: &Subject<'_>) -> Stage {
    let Subject {
        design, day, mould, ..
    } = *subject;
    let mut stage = Stage::new("Second half", &[SILICONE]);
    stage.step(
        "Turn it over onto a flat board; take the bedding board away; master and formers stay in \
         the silicone.",
    );
    stage.step("Clean the parting face; see that every key and channel came out, and that the formers lie still.");
    stage.step("Level it again.");
    stage.step(
        "Release agent over the whole face of the first half, frame, formers and master, without \
         gaps: silicone bonds to bare silicone. Let it dry as its sheet says.",
    );
    mix(&mut stage, day, 1);
    pour(&mut stage, "to the brim, and strike it off level");
    cure(&mut stage, design);
    stage.step(format!(
        "Part the halves, take out master and formers; close them again{}.",
        one_way(mould)
    ));
    poured(&mut stage, subject);
    stage
}

fn release(stage: &mut Stage, on: &str) {
    stage.step(format!(
        "Release agent, if the sheet of silicone or print asks for it, thin and without puddles, on \
         {on}; let it dry as its sheet says."
    ));
}

fn mix(stage: &mut Stage, day: &Day, i: usize) {
    let Some(s) = day.silicone.get(i) else {
        return;
    };
    let n = s.batches as f64;
    let times = match s.batches {
        1 => String::new(),
        n => format!(", and again until you have mixed {n} times"),
    };
    let of = match (s.parts_g, s.parts_ml) {
        (_, Some([a, b])) if s.by_volume => {
            format!("{:.1} ml of A and {:.1} ml of B", a / n, b / n)
        }
        (Some([a, b]), _) => format!("{:.1} g of A and {:.1} g of B", a / n, b / n),
        _ => format!("{:.1} g as its sheet says", s.mixed_g / n),
    };
    stage.step(format!(
        "For the {} half mix {of}{times}; scrape sides and floor of the cup.",
        s.half
    ));
    let life = match s.pot_life_s {
        Some(life) => format!("its pot life of {}", show(life)),
        None => "its pot life".to_owned(),
    };
    let container = match s.container_ml {
        Some(own) => format!("your container of {own:.0} ml"),
        None => format!(
            "a container of {:.0} to {:.0} ml",
            s.vacuum_ml[0], s.vacuum_ml[1]
        ),
    };
    stage.step(format!(
        "If you have a vacuum: in {container}, until it has risen and fallen, within {life}."
    ));
}

fn pour(stage: &mut Stage, to: &str) {
    stage.step(format!(
        "Pour in a thin stream into one corner, {to}; let it creep over the detail by itself."
    ));
}

fn cure(stage: &mut Stage, design: &Design) {
    stage.step(match &design.cast.silicone.cure {
        Some(cure) => format!(
            "Leave it for {} ({}); longer in a cold room.",
            show(cure.value),
            cure.source
        ),
        None => "Leave it as long as its data sheet says.".to_owned(),
    });
}

/// What is laid in, what is strung on the wire, and what the mould does not hold.
fn lay_in(stage: &mut Stage, subject: &Subject<'_>) {
    let Subject {
        design, rig, mould, ..
    } = *subject;
    let show = |mm: f64| design.units.show(mm);
    let each = match (mould.own(), &mould.beside[..]) {
        (1, []) => String::new(),
        (n, []) => format!(", for each of {n} baits"),
        (_, _) => format!(", for each {}", design.name),
    };
    let place = |at: f64, height: f64| {
        format!(
            "{} from the nose, {}",
            show(at),
            design.units.show_height(height)
        )
    };
    let wired = mould.seats.holds("wire");
    let mut later: Vec<String> = Vec::new();
    let mut strung = Vec::new();
    for (i, weight) in design.rig.weights.iter().enumerate() {
        let what = format!(
            "the {} of {} ({:.2} g), its middle {}",
            shape(weight.shape),
            show(weight.diameter),
            weight.mass(),
            place(weight.at, weight.height)
        );
        let length = design.body.length;
        let on_wire = design.rig.wire.as_ref();
        let on_wire = on_wire.is_some_and(|wire| is_strung(wire, weight, length));
        if mould.seats.holds_weight(i) {
            stage.step(format!("Have ready {what}{each}."));
        } else if on_wire {
            strung.push(what);
        } else {
            later.push(what);
        }
    }
    if let Some(plan) = &rig.wire {
        let on_it = if strung.is_empty() {
            String::new()
        } else {
            format!(
                "; before the second eye is closed, string {} on it",
                strung.join(" and ")
            )
        };
        let text = format!(
            "Cut {} of wire of {}{each} and bend it by the table of its marks{on_it}.",
            show(plan.cut),
            show(plan.diameter)
        );
        if wired {
            stage.step(text);
        } else {
            later.push("the wire".to_owned());
            later.extend(strung);
        }
    }
    if let Some(hook) = &design.rig.hook {
        let what = format!(
            "the hook, the middle of its eye {}",
            place(hook.at, hook.height)
        );
        if mould.seats.holds("hook") {
            stage.step(format!("Have ready {what}{each}; cover the point."));
        } else {
            later.push(what);
        }
    }
    if let Some(laid) = mould.seats.laid_in(mould.names()[1]) {
        stage.step(format!(
            "All of it dry and warm, clean, not oiled: damp metal throws hot plastic. In this order: {}.",
            super::in_words(&laid)
        ));
    }
    for other in &mould.beside {
        let Some(laid) = other.seats.laid_in(mould.names()[1]) else {
            continue;
        };
        let count = match other.count {
            1 => String::new(),
            n => format!(" each of {n}"),
        };
        stage.step(format!(
            "For{count} {}: have ready what its own kit lists, wire cut and bent by its own wire.svg, dry and warm. In this \
             order: {}.",
            other.name,
            super::in_words(&laid)
        ));
    }
    if !later.is_empty() {
        stage.cautions.push(format!(
            "This mould has no seat for {}. Halves that are closed on metal leak hot plastic: leave it out of \
             the mould and put it into the finished bait.",
            later.join("; for ")
        ));
    }
}

fn shape(shape: WeightShape) -> &'static str {
    match shape {
        WeightShape::Ball => "ball",
        WeightShape::Cylinder => "cylinder",
        WeightShape::Cone => "cone",
        WeightShape::Egg => "egg",
    }
}

fn casting(subject: &Subject<'_>) -> Stage {
    let Subject {
        design, day, mould, ..
    } = *subject;
    let cast = &design.cast;
    let units = design.units;
    let injected = day.plastic.strokes_per_shot.is_some() || design.mould.nozzle_radius.is_some();
    let vented = !(mould.channels.vents.is_empty() && mould.channels.grooves.is_empty());
    let mut stage = Stage::new("The first bait", &[HOT, FUMES, STEAM]);
    stage.step(
        "Eye and hand protection on, air moving, a lid or sand at hand for fire, nobody else near.",
    );
    stage.step("Mould and cups dry: wipe, then warm air.");
    if !design.collar.is_empty() {
        stage.step(
            "Gather the skirt into its seat, or plug the seat: left empty, plastic runs into it.",
        );
    }
    if has_cores(subject) {
        let of_others: Vec<String> = (mould.beside.iter())
            .filter(|other| other.cores > 0)
            .map(|other| format!("{} of {}", other.cores * other.count, other.name))
            .collect();
        let own = subject.made.cores.len() * mould.own();
        let which = match (own, of_others.is_empty()) {
            (_, true) => String::new(),
            (0, false) => format!(" ({})", of_others.join(", ")),
            (own, false) => format!(" ({own} of {}, {})", design.name, of_others.join(", ")),
        };
        let pin = if pins(subject).is_empty() {
            ""
        } else {
            ", and a pin so that its free end stands in the middle of the sprue: held by the mould or by \
             pliers, never by fingers"
        };
        stage.step(format!("Lay the loose cores into their seats{which}{pin}."));
    }
    lay_in(&mut stage, subject);
    close(&mut stage, subject);
    stage.step(format!(
        "Stand it level, sprue up, on a tray that catches a spill{}.",
        if vented {
            "; tape at hand for a vent that runs"
        } else {
            ""
        }
    ));
    if !day.plastic.additives.is_empty() {
        stage.step("Stir what is added into the cold plastic, by the amounts above, until no lumps are left.");
    }
    // Less scorches before a thermometer reads in it.
    let first = (day.plastic.shot_ml * (1.0 + cast.waste)).max(LEAST_CUP);
    stage.step(format!(
        "Stir the cold plastic well; heat {} in a cup of twice that, in small steps, stirring, to \
         {:.0} °C ({}). Less scorches before a thermometer reads in it.",
        volume(units, first),
        cast.pour.value,
        cast.pour.source
    ));
    let until = if vented {
        "plastic shows at the vents"
    } else {
        "it resists, no longer: there are no vents for plastic to show at"
    };
    stage.step(match day.plastic.strokes_per_shot {
        Some(1) => format!("Fill the injector, seat its tip, press evenly until {until}; hold it there until it \
                    has set at the gate."),
        Some(n) => format!(
            "A shot takes {n} fillings of the injector: have a second one filled, inject without a \
             pause until {until}, and hold it there until it has set at the gate."
        ),
        None if injected => format!(
            "Fill the injector, seat its tip in the sprue, press evenly until {until}; hold it there until \
             it has set at the gate."
        ),
        None => {
            "Pour without a pause in a thin stream down the sprue until the funnel is full.".to_owned()
        }
    });
    if !injected {
        stage.step("Top up as the plastic sinks in the funnel.");
    }
    stage.step(match &day.cooling {
        Some(c) => format!(
            "Leave it for {} at least, until the middle is at {:.0} °C ({}); the outside tells nothing of it.",
            show(c.first_s),
            cast.pull.value,
            cast.pull.source
        ),
        None => "Leave it until it is firm through.".to_owned(),
    });
    stage.step(format!(
        "Open the mould{}, pull the bait gently{}, cut off the sprue; lay it straight on a flat, cool face.",
        if mould.route == Route::Block && cast.block.class == Class::Metal {
            " (its faces are still hot)"
        } else {
            ""
        },
        if design.rig.hook.is_some() {
            ", by the body, not by the hook"
        } else {
            ""
        }
    ));
    if has_cores(subject) {
        stage.step(
            "Draw the pin, and take out other cores, while the bait is warm, straight and slowly.",
        );
    }
    for pocket in design.pocket.iter().filter(|p| p.how == Making::Marked) {
        stage.step(format!(
            "Cut the pocket at its dimple: {}, {} deep.",
            if pocket.round {
                format!("{} across", units.show(pocket.size[0]))
            } else {
                format!(
                    "{} by {}",
                    units.show(pocket.size[0]),
                    units.show(pocket.size[1])
                )
            },
            units.show(pocket.depth)
        ));
    }
    if !design.eyes.is_empty() {
        stage.step("Set the eyes when it is cold.");
    }
    stage.step("Weigh and measure it, and write it below.");
    stage
}

fn close(stage: &mut Stage, subject: &Subject<'_>) {
    let Subject {
        design, day, mould, ..
    } = *subject;
    stage.step(match (mould.route, design.mould.bolts, design.mould.bands) {
        (Route::Block, Some(thread), _) => format!(
            "Close the mould; tighten the {thread:?} bolts in turn, crosswise, a little at a time."
        ),
        (Route::Block, None, true) => "Close the mould; bands into their grooves.".to_owned(),
        (Route::Block, None, false) => "Close the mould and clamp it all round, evenly.".to_owned(),
        (_, _, bands) => {
            let limit = match (day.clamping.turns_of_m6, day.clamping.squeeze_mm) {
                (Some(turns), Some(mm)) if !bands => format!(
                    ", then each M6 screw at most {:.0}° on ({turns:.2} turn, {mm:.2} mm)",
                    360.0 * turns
                ),
                _ => String::new(),
            };
            let force = match day.clamping.squeeze_n {
                Some(n) if bands => format!(" Together they may pull {n:.0} N, {:.1} kg.", n / 9.81),
                _ => String::new(),
            };
            let how = if bands {
                "Close the mould between its backing plates, bands into the plates' notches, no more \
                 than hold them together"
            } else {
                "Close the mould between stiff boards; tighten until they touch all round"
            };
            format!("{how}{limit}: more makes the baits thin.{force}")
        }
    });
}

fn run(subject: &Subject<'_>) -> Stage {
    let Subject {
        design, day, mould, ..
    } = *subject;
    let mut stage = Stage::new("The run", &[]);
    stage.step(format!(
        "Cast {}{}; {} are heated in all. Heat only what you cast while it is hot: each heating browns \
         it.",
        counted(day.plastic.shots, "shot"),
        match day.moulds {
            1 => String::new(),
            n => format!(" in {n} moulds in turn"),
        },
        volume(design.units, day.plastic.poured_ml)
    ));
    let again = match (
        has_cores(subject),
        mould.seats.laid_in(mould.names()[1]).is_some(),
    ) {
        (true, true) => Some("cores and all that is laid in"),
        (true, false) => Some("cores"),
        (false, true) => Some("all that is laid in"),
        (false, false) => None,
    };
    if let Some(what) = again {
        stage.step(format!("Before every shot: {what} in place, dry."));
    }
    if let Some(c) = &day.cooling {
        let rounds = day.plastic.shots.div_ceil(day.moulds.max(1));
        let last = rounds.min(c.shots_s.len());
        if rounds > 1 {
            stage.step(format!(
                "Each shot warms the mould: wait {} from the second on{}, or let it lie open longer.",
                show(c.second_s),
                match last {
                    2 => String::new(),
                    n => format!(", {} by the {}", show(c.shots_s[n - 1]), match n {
                        3 => "third".to_owned(),
                        n => format!("{n}th"),
                    }),
                }
            ));
        }
    }
    stage.step("Heat off, cups empty, air on until the smell is gone; hands washed.");
    stage.step("Waste and failed plastic as local rules say; never burn PVC.");
    stage.step("Store baits straight, apart from hard plastics, which softener eats into.");
    stage
}
