//! The tick-list in the order of work: whatever a pour would spoil comes before it.

mod making;
mod pouring;

use super::{Subject, counted};
use crate::mould::Mould;
use crate::spec::{BodyEnd, Making, Route};

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
        Route::Block => vec![making::block(subject)],
        Route::Boxes => vec![making::boxes(subject), making::pour_boxes(subject)],
        Route::Board => vec![
            making::board(subject),
            making::first(design, day),
            making::second(subject),
        ],
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
    stages.push(pouring::casting(subject));
    stages.push(pouring::run(subject));
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
