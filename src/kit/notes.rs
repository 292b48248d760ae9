//! What the maker should know that no file says.

use super::MANIFEST;
use crate::body::Thinnest;
use crate::mould::Mould;
use crate::quantity::LengthUnit;
use crate::spec::{BodyEnd, Bunch, Design, LegStand, Parting, Plane, TailDesign};

/// Longer ends than this within the sprue are worth a note, in mm.
const SCAR: f64 = 1.0;

/// What is to be said of the mould and of casting in it.
pub(super) fn of_mould(design: &Design, mould: &Mould) -> Vec<String> {
    let mut notes = vec![
        "Cast only in a mould that stands the heat: common printed plastics soften far below \
         the temperature soft plastic is poured at. Follow the data sheets of plastic and mould \
         material; hot plastic burns, its fumes harm, and water in the mould turns to steam."
            .to_owned(),
    ];
    let show = |mm: f64| design.units.show(mm);
    let sprue = &mould.channels.sprue;
    if sprue.covers > SCAR {
        let end = match sprue.end {
            BodyEnd::Nose => "nose",
            BodyEnd::Tail => "tail",
        };
        notes.push(format!(
            "The outermost {} of the {end} lie within the sprue: that much is trimmed off with it.",
            show(sprue.covers)
        ));
    }
    let vents = mould.channels.vents.len();
    match (vents, design.mould.vent_count) {
        (0, _) => notes.push(
            "There is no vent: the body has no room for one, or none was asked for.".to_owned(),
        ),
        (_, asked) => {
            if asked.is_none() && vents < 2 {
                notes.push("There is room for one vent only on this body.".to_owned());
            }
            notes.push(
                "The mould stands with the sprue up, so its vents are low: they are so shallow that \
                 plastic should chill in them (common practice); have tape at hand in case it runs. \
                 Whether any other place traps air is not looked into yet."
                    .to_owned(),
            );
        }
    }
    for (name, hold) in mould.names().into_iter().zip(mould.holds()) {
        if let Some((area, at)) = hold {
            notes.push(format!(
                "The {name} half does not come away freely: {area:.1} mm² of it face against its \
                 pull around {} from the nose. Soft plastic stretches over little; a rigid master \
                 would be caught.",
                show(at)
            ));
        }
    }
    if leaves_parting(design) {
        notes.push(
            "Fins, legs or the tail leave the parting plane. Whether rigid halves open over them is not \
             looked into yet; soft plastic gives way a little."
                .to_owned(),
        );
    }
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
    notes.push("Grams of plastic are ml times the density on your data sheet.".to_owned());
    notes
}

/// What is to be said of how the body came by its size.
pub(super) fn of_body(design: &Design) -> Vec<String> {
    let show = |mm: f64| design.units.show(mm);
    let mut notes = Vec::new();
    if design.allowances.coating() > 0.0 {
        notes.push(format!(
            "Coats of {} in all are taken off the printed master's surface. The lathe gauge shows \
             the master with them on: turn it smaller by that much all round.",
            show(design.allowances.coating())
        ));
    }
    if let Some(measured) = &design.body.measured {
        let offs = measured.readings.iter();
        let offs = offs.flat_map(|r| [r.height, r.width].into_iter().flatten());
        let most = offs.map(|[_, off]| off.abs()).fold(0.0, f64::max);
        notes.push(format!(
            "The fair curve passes {} readings at up to {} from them, within the {} that they may be \
             off; {MANIFEST} lists each.",
            measured.readings.len(),
            show(most),
            show(measured.uncertainty)
        ));
    }
    notes
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
    ];
    let missing: Vec<&str> = all.iter().filter(|a| a.1).map(|a| a.0).collect();
    (!missing.is_empty()).then(|| {
        format!(
            "The lathe gauge shows what can be turned. Not on it, and to be made after turning: {}.",
            missing.join(", ")
        )
    })
}

/// Thinnest that casts reliably in soft plastic poured by hand (common practice).
const CASTS: f64 = 1.0;
/// Thinnest that a printed master holds (common practice).
const PRINTS: f64 = 0.8;

/// What the maker should know of the thinnest places of fins, tails and legs.
pub(super) fn thinnest(places: &[Thinnest], units: LengthUnit) -> Option<String> {
    let show = |mm: f64| units.show(mm);
    let listed: Vec<String> = places
        .iter()
        .map(|t| {
            // A limit written in another unit may come out a rounding below it.
            let thin = if t.thickness < CASTS - 1e-9 {
                " (too thin to fill reliably)"
            } else {
                ""
            };
            format!(
                "{} is {} {} from the nose{thin}",
                t.path,
                show(t.thickness),
                show(t.at.x)
            )
        })
        .collect();
    (!listed.is_empty()).then(|| {
        format!(
            "Thinnest places: {}. Soft plastic poured by hand fills {} and more reliably, and printed \
             masters hold {} (common practice; an injector and a resin printer do finer).",
            listed.join("; "),
            show(CASTS),
            show(PRINTS)
        )
    })
}

/// Whether a fin, a tail or a leg does not lie in the parting plane.
fn leaves_parting(design: &Design) -> bool {
    let flank = design.mould.parting == Parting::Flank;
    let lies = |angle: f64| {
        if flank {
            angle % 180.0 == 0.0
        } else {
            angle == 90.0
        }
    };
    let tail = design.tail.as_ref().is_some_and(|t| match t {
        TailDesign::Paddle(_) | TailDesign::Curl(_) => !flank,
        TailDesign::Fork(f) => (f.plane == Plane::Upright) != flank,
        TailDesign::Taper(_) => false,
    });
    tail || design.fin.iter().any(|f| !lies(f.angle) || f.cant != 0.0)
        || design.legs.iter().any(|l| match l.stand {
            LegStand::Row { angle, .. } => !lies(angle) || (!flank && l.droop != 0.0),
            LegStand::Tail(Bunch::Fan) => flank && l.count > 1 || !flank && l.droop != 0.0,
            LegStand::Tail(Bunch::Cone) => true,
        })
}
