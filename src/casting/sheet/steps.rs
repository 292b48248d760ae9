//! The tick-list in the order of work: whatever a pour would spoil comes before it.

use super::super::day::Day;
use super::show;
use crate::mould::Mould;
use crate::spec::{BodyEnd, Design, Route};

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
                     keep a thermometer in the plastic, stop when it browns or smells sharp, and keep it apart \
                     from acetal.";
const STEAM: &str = "Water in the cup or the mould flashes to steam and throws hot plastic: everything must be dry.";

/// All stages of the chosen route.
pub(super) fn of(design: &Design, day: &Day, mould: &Mould, has_cores: bool) -> Vec<Stage> {
    let mut stages = match mould.route {
        Route::Block => vec![block(mould)],
        Route::Boxes => vec![boxes(mould), pour_boxes(design, day)],
        Route::Board => vec![board(mould), first(design, day), second(design, day)],
    };
    stages.push(casting(design, day, mould, has_cores));
    stages.push(run(day));
    stages
}

fn keys_and_channels(stage: &mut Stage, mould: &Mould, on: &str) {
    if !mould.keys.is_empty() {
        stage.step(format!(
            "Count {} keys {on}: whole, clean, none missing.",
            mould.keys.len()
        ));
    }
    let end = match mould.channels.sprue.end {
        BodyEnd::Nose => "nose",
        BodyEnd::Tail => "tail",
    };
    let vents = mould.channels.vents.len();
    stage.step(match vents {
        0 => format!("Check that the sprue at the {end} is there. There are no vents."),
        _ => format!(
            "Check that the sprue at the {end} and {vents} vents at the other end are there, \
                      whole and clean."
        ),
    });
}

fn block(mould: &Mould) -> Stage {
    let mut stage = Stage::new("The mould", &[RESIN]);
    stage.step("Print both halves, parting face up; take off supports; wash and cure as the resin's sheet says.");
    keys_and_channels(
        &mut stage,
        mould,
        "on one half, and their sockets in the other",
    );
    stage.step(
        "Close the halves dry: they go together one way only, without force; hold them \
                against a lamp: no light through the parting line.",
    );
    stage.step("Blow through sprue and vents.");
    stage.step("Dry both halves through, and let them come to the room's temperature.");
    stage
}

fn boxes(mould: &Mould) -> Stage {
    let mut stage = Stage::new("The pour boxes", &[RESIN]);
    stage.step("Print both boxes; take off supports; wash and cure as the resin's sheet says.");
    keys_and_channels(
        &mut stage,
        mould,
        "or their sockets on the floors of the boxes",
    );
    stage.step("Smooth or seal what shows print lines: silicone copies all of them.");
    stage.step("Try the silicone: a thimbleful on a hidden place of the print must cure hard. If it stays sticky, \
                cure the print longer, or seal it.");
    stage
}

fn pour_boxes(design: &Design, day: &Day) -> Stage {
    let mut stage = Stage::new("Both halves in silicone", &[SILICONE]);
    stage.step("Stand both boxes on a level table: check with a spirit level along and across.");
    release(&mut stage, "both boxes, into every corner");
    for i in 0..day.silicone.len() {
        mix(&mut stage, day, i);
        pour(
            &mut stage,
            &format!("the {} box to the brim", day.silicone[i].half),
        );
    }
    cure(&mut stage, design);
    stage.step("Take both halves out and trim them. Close them: they go together one way only.");
    stage.step("Blow through sprue and vents; cut away skins of silicone.");
    stage
}

fn board(mould: &Mould) -> Stage {
    let mut stage = Stage::new("Bedding", &[RESIN]);
    stage.step(
        "Print board, frame and formers, wash and cure them as the resin's sheet says; have the \
                master finished, smooth and dry.",
    );
    keys_and_channels(
        &mut stage,
        mould,
        "on the board, and see that formers for all channels",
    );
    stage.step(
        "Lay the master in the trough: it must lie up to its parting line all round. Close gaps \
                with a little plain, sulphur-free wax.",
    );
    stage.step("Lay the formers of sprue and vents in their grooves, touching the master.");
    stage.step("Stand the frame round the board; close its joints from outside.");
    stage
}

fn first(design: &Design, day: &Day) -> Stage {
    let mut stage = Stage::new("First half", &[SILICONE]);
    stage.step("Level the board: check with a spirit level along and across.");
    release(&mut stage, "board, frame, formers and master");
    mix(&mut stage, day, 0);
    pour(&mut stage, "over the master, to the brim");
    cure(&mut stage, design);
    stage
}

fn second(design: &Design, day: &Day) -> Stage {
    let mut stage = Stage::new("Second half", &[SILICONE]);
    stage.step("Turn it over; take the board away; master and formers stay in the silicone.");
    stage.step("Clean the parting face; see that every key and channel came out, and that the formers lie still.");
    stage.step("Level it again.");
    release(
        &mut stage,
        "the whole face of the first half and the master: silicone bonds to bare silicone",
    );
    mix(&mut stage, day, 1);
    pour(&mut stage, "to the brim");
    cure(&mut stage, design);
    stage.step("Part the halves, take out master and formers; close them again: one way only.");
    stage.step("Blow through sprue and vents; cut away skins of silicone.");
    stage
}

fn release(stage: &mut Stage, on: &str) {
    stage.step(format!(
        "Release agent, thin and without puddles, on {on}; let it dry as its sheet says."
    ));
}

fn mix(stage: &mut Stage, day: &Day, i: usize) {
    let Some(s) = day.silicone.get(i) else {
        return;
    };
    let batches = match s.batches {
        1 => String::new(),
        n => format!(" {n} batches one after the other, of together"),
    };
    let parts = match (s.parts_g, s.parts_ml) {
        (_, Some([a, b])) if s.by_volume => Some(format!("{a:.1} ml of A and {b:.1} ml of B")),
        (Some([a, b]), _) => Some(format!("{a:.1} g of A and {b:.1} g of B")),
        _ => None,
    };
    stage.step(match parts {
        Some(parts) => format!(
            "For the {} half mix{batches} {parts}; scrape sides and floor of the cup.",
            s.half
        ),
        None => format!(
            "For the {} half mix{batches} {:.1} g as its sheet says.",
            s.half, s.mixed_g
        ),
    });
    stage.step(format!(
        "If you have a vacuum: in a container of {:.0} to {:.0} ml, until it has risen and fallen, \
         within the pot life.",
        s.vacuum_ml[0], s.vacuum_ml[1]
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

fn casting(design: &Design, day: &Day, mould: &Mould, has_cores: bool) -> Stage {
    let cast = &design.cast;
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
    if has_cores {
        stage.step("Lay the loose cores into their seats.");
    }
    if let Some(laid) = mould.seats.laid_in(mould.names()[1]) {
        stage.step(format!("Dry and clean, not oiled: {laid}."));
    }
    stage.step(match (day.clamping.turns_of_m6, day.clamping.squeeze_mm) {
        (Some(turns), Some(mm)) => format!(
            "Close the mould between stiff boards; tighten until they touch all round, then at most {turns:.2} \
             turn of an M6 screw ({mm:.2} mm in all): more squeezes the cavity shut."
        ),
        _ => "Close the mould and clamp it all round, evenly.".to_owned(),
    });
    stage.step("Stand it level, sprue up, on a tray that catches a spill.");
    stage.step(format!(
        "Stir the cold plastic well; heat {:.0} ml or more in small steps, stirring, to {:.0} °C ({}).",
        day.plastic.shot_ml * (1.0 + cast.waste),
        cast.pour.value,
        cast.pour.source
    ));
    stage.step(match day.plastic.strokes_per_shot {
        Some(1) => "Fill the injector, seat its tip, press evenly until plastic shows at the vents, hold a moment."
            .to_owned(),
        Some(n) => format!("Inject {n} fillings without a pause until plastic shows at the vents, hold a moment."),
        None => "Pour without a pause in a thin stream down the sprue until the funnel is full.".to_owned(),
    });
    stage.step(if mould.channels.vents.is_empty() {
        "Top up as it sinks."
    } else {
        "Have tape at hand for a vent that runs. Top up as the plastic sinks in the funnel."
    });
    stage.step(match &day.cooling {
        Some(c) => format!(
            "Leave it for {} at least, until the middle is at {:.0} °C ({}); the outside tells nothing of it.",
            show(c.first_s),
            cast.pull.value,
            cast.pull.source
        ),
        None => "Leave it until it is firm through.".to_owned(),
    });
    stage.step("Open the mould, pull the bait gently, cut off the sprue; lay it straight on a flat, cool face.");
    stage.step("Weigh and measure it, and write it below.");
    stage
}

fn run(day: &Day) -> Stage {
    let mut stage = Stage::new("The run", &[]);
    stage.step(format!(
        "Cast {} shots{}.",
        day.plastic.shots,
        match day.moulds {
            1 => String::new(),
            n => format!(" in {n} moulds in turn"),
        }
    ));
    if let Some(c) = &day.cooling {
        stage.step(format!(
            "Each shot warms the mould: wait {} from the second on, {} from the tenth, or let it lie open longer.",
            show(c.second_s),
            show(c.tenth_s)
        ));
    }
    stage.step("Heat off, cups empty, air on until the smell is gone; hands washed.");
    stage.step("Waste and failed plastic as local rules say; never burn PVC.");
    stage.step("Store baits straight, apart from hard plastics, which softener eats into.");
    stage
}
