//! Casting in it: laying in, heating, pouring, cooling, and the shots after the first.

use super::super::{LEAST_CUP, Subject, counted, in_words, show, volume};
use super::{FUMES, HOT, STEAM, Stage, has_cores, pins};
use crate::materials::Class;
use crate::rig::is_strung;
use crate::spec::{Making, Route, WeightShape};

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
            in_words(&laid)
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
            in_words(&laid)
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

pub(super) fn casting(subject: &Subject<'_>) -> Stage {
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

pub(super) fn run(subject: &Subject<'_>) -> Stage {
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
