//! Making the mould: printing, halves of silicone, the bed of a turned master.

use super::super::super::day::Day;
use super::super::{Subject, show};
use super::{RESIN, SILICONE, Stage, channels, fit_cores, join, keys, one_way};
use crate::materials::Class;
use crate::spec::Design;

pub(super) fn block(subject: &Subject<'_>) -> Stage {
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

pub(super) fn boxes(subject: &Subject<'_>) -> Stage {
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

pub(super) fn pour_boxes(subject: &Subject<'_>) -> Stage {
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

pub(super) fn board(subject: &Subject<'_>) -> Stage {
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

pub(super) fn first(design: &Design, day: &Day) -> Stage {
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

pub(super) fn second(subject: &Subject<'_>) -> Stage {
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
