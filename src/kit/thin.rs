//! Thin places of the bait and of its master under coats.

use crate::body::{Master, Thinnest};
use crate::spec::{Design, EyeShape, Making, Parting, Problem, Problems};

/// What must be left of a fin, tail or leg under its coats, in mm: the least that printers
/// hold at all (reasoned).
const LEFT: f64 = 0.1;

/// Fins, tails, legs and the raised rings of eyes that coats would cover the whole thickness of.
pub(super) fn thinner_than_coats(design: &Design, places: &[Thinnest]) -> Result<(), Problems> {
    let allow = &design.allowances;
    let (coating, scale) = (allow.coating(), allow.pattern_scale());
    let rings = design.eyes.iter().enumerate().filter_map(|(i, eyes)| {
        let EyeShape::Ring { width, .. } = eyes.shape else {
            return None;
        };
        Some((format!("the ring of eyes[{i}]"), width, eyes.at))
    });
    let limbs = places.iter().map(|t| (t.path.clone(), t.thickness, t.at.x));
    let thinnest = limbs.chain(rings).min_by(|a, b| a.1.total_cmp(&b.1));
    let too_thin = |t: &(String, f64, f64)| scale * t.1 < 2.0 * coating + LEFT - 1e-9;
    let Some((part, thickness, at)) = thinnest.filter(too_thin).filter(|_| coating > 0.0) else {
        return Ok(());
    };
    let most = 0.5 * (scale * thickness - LEFT);
    let problem = Problem::new(
        "material.coats",
        format!(
            "{part} is too thin for these coats: it is {} thick {} from the nose",
            design.units.show(thickness),
            design.units.show(at)
        ),
    )
    .value(format!("{} in all", design.units.show(coating)));
    let hint = format!("fewer or thinner coats, or make {part} thicker");
    Err(if most >= 0.005 {
        problem.limit(format!(
            "up to {} in all",
            crate::body::at_most(design.units, most)
        ))
    } else {
        problem
    }
    .hint(hint)
    .into())
}

/// No surface under the coats was found.
pub(super) fn no_room_for_coats(design: &Design) -> Problems {
    Problem::new(
        "material.coats",
        "these coats are thicker than the finest detail of the master can take",
    )
    .value(design.units.show(design.allowances.coating()))
    .hint("fewer or thinner coats, or rounder detail")
    .into()
}

/// Where the master is off because its detail is finer than the coats: the worst place of each
/// feature.
pub(super) fn coats_off(
    design: &Design,
    master: &Master,
    off: &[(nalgebra::Point3<f64>, f64)],
) -> Option<String> {
    let mut worst: Vec<(&str, f64, f64)> = Vec::new();
    for (place, by) in off {
        let part = master
            .feature_at(place, design.tolerance)
            .unwrap_or("the trunk");
        match worst.iter_mut().find(|w| w.0 == part) {
            Some(w) if w.1.abs() < by.abs() => (w.1, w.2) = (*by, place.x),
            Some(_) => {}
            None => worst.push((part, *by, place.x)),
        }
    }
    worst.sort_by(|a, b| b.1.abs().total_cmp(&a.1.abs()));
    let show = |mm: f64| design.units.show(mm);
    let listed: Vec<String> = worst
        .iter()
        .map(|(part, by, x)| {
            let how = if *by > 0.0 { "thick" } else { "thin" };
            format!(
                "{part} up to {} too {how}, {} from the nose",
                show(by.abs()),
                show(*x)
            )
        })
        .collect();
    (!listed.is_empty()).then(|| {
        format!(
            "Detail finer than the coats: not all of their {} could be taken off the printed master \
             there, so that it is off under them: {}.",
            show(design.allowances.coating()),
            listed.join("; ")
        )
    })
}

/// Thinnest that casts reliably in soft plastic poured by hand (common practice).
const CASTS: f64 = 1.0;
/// Thinnest that a printed master holds (common practice).
const PRINTS: f64 = 0.8;

/// What the maker should know of the thinnest places of fins, tails and legs: as they are cast, and
/// as they are printed where the master is printed in another size.
pub(super) fn thinnest(places: &[Thinnest], design: &Design) -> Option<String> {
    let show = |mm: f64| design.units.show(mm);
    let allow = &design.allowances;
    let other = allow.pattern_scale() != 1.0 || allow.coating() > 0.0;
    let listed: Vec<String> = places
        .iter()
        .map(|t| {
            // A limit written in another unit may come out a rounding below it.
            let below = |mm: f64, least: f64| mm < least - 1e-9;
            let printed = printed(t.thickness, design);
            let doubt = match (below(t.thickness, CASTS), other && below(printed, PRINTS)) {
                (true, true) => " (too thin to fill and to print reliably)",
                (true, false) => " (too thin to fill reliably)",
                (false, true) => " (too thin to print reliably)",
                (false, false) => "",
            };
            let master = if other {
                format!(", {} on the printed master", show(printed))
            } else {
                String::new()
            };
            format!(
                "{} is {} {} from the nose{master}{doubt}",
                t.path,
                show(t.thickness),
                show(t.at.x)
            )
        })
        .collect();
    let why = if other {
        " What is printed is larger by what shrinks after it, and thinner by the coats on both sides."
    } else {
        ""
    };
    (!listed.is_empty()).then(|| {
        format!(
            "Thinnest places: {}.{why} Soft plastic poured by hand fills {} and more reliably, and printed \
             masters hold {} (common practice; an injector and a resin printer do finer).",
            listed.join("; "),
            show(CASTS),
            show(PRINTS)
        )
    })
}

/// How thick the finished print of a master is, before any coat, where the bait is so thick.
pub(super) fn printed(thickness: f64, design: &Design) -> f64 {
    let allow = &design.allowances;
    (allow.pattern_scale() * thickness - 2.0 * allow.coating()).max(0.0)
}

/// Recesses in which the coats of both sides meet: they fill up rather than keep their shape.
pub(super) fn filled_by_coats(design: &Design) -> Option<String> {
    let allow = &design.allowances;
    let both = 2.0 * allow.coating();
    if both == 0.0 {
        return None;
    }
    // A slot that the halves open across is cast by a loose core, a marked one by hand.
    let waist = design.mould.parting == Parting::Waist;
    let slots = design.slot.iter().enumerate();
    let slots = slots.filter(|(_, slot)| waist && slot.how == Making::Cast);
    let slots = slots.map(|(i, slot)| (format!("slot[{i}]"), slot.width));
    let eyes = design.eyes.iter().enumerate().filter_map(|(i, eyes)| {
        let sunk = eyes.depth > 0.0 && eyes.shape != EyeShape::Mark;
        sunk.then(|| (format!("eyes[{i}]"), 2.0 * eyes.radius))
    });
    let pockets = design.pocket.iter().enumerate();
    let pockets = pockets
        .filter(|(_, pocket)| pocket.how == Making::Cast)
        .map(|(i, pocket)| (format!("pocket[{i}]"), pocket.size[0].min(pocket.size[1])));
    let listed: Vec<String> = slots
        .chain(eyes)
        .chain(pockets)
        .filter(|(_, width)| allow.pattern_scale() * width < both - 1e-9)
        .map(|(path, width)| format!("{path} is {} wide", design.units.show(width)))
        .collect();
    (!listed.is_empty()).then(|| {
        format!(
            "Recesses narrower than twice the coats of {}, which fill up with them unless they are wiped or \
             blown out: {}.",
            design.units.show(allow.coating()),
            listed.join("; ")
        )
    })
}

#[cfg(test)]
mod tests {
    use crate::kit::{Kit, KitError};
    use crate::spec::{self, Format};

    fn kit(more: &str) -> Result<Kit, KitError> {
        let text = format!(
            "body = {{ length = 60, outline = [{{ at = 20, height = 14 }}, {{ at = 45, height = 8 }}] }}\n\
             mesh.tolerance = 0.1\n{more}"
        );
        Kit::build(&spec::read(&text, Format::Toml).unwrap().spec)
    }

    fn notes(more: &str, about: &str) -> Vec<String> {
        let kit = kit(more).unwrap_or_else(|e| panic!("{e}\n{more}"));
        let all = kit.manifest.notes.into_iter();
        all.filter(|note| note.contains(about)).collect()
    }

    const FIN: &str =
        "fin = [{ at = 20, root = 16, thickness = 1.2, outline = [{ at = 7, height = 6 }] }]\n";

    #[test]
    fn thin_places_are_judged_as_they_are_printed() {
        // 1.2 mm, 1.5 % larger for what the plastic shrinks, less 0.15 mm on both sides.
        let coats = "material.coats = [{ thickness = 0.15 }]\n";
        let shrinks = "material.shrinkage = { plastic = 1.5 }\n";
        let told = &notes(&format!("{FIN}{coats}{shrinks}"), "Thinnest places")[0];
        assert!(told.contains("fin[0] is 1.2 mm "), "{told}");
        assert!(
            told.contains(", 0.92 mm on the printed master;")
                || told.contains(", 0.92 mm on the printed master."),
            "{told}"
        );
        // Too thin by the coats alone.
        let thick = "material.coats = [{ thickness = 0.21 }]\n";
        let told = &notes(&format!("{FIN}{thick}"), "Thinnest places")[0];
        assert!(
            told.contains("0.78 mm on the printed master (too thin to print reliably)"),
            "{told}"
        );
        // Where bait and print are of one size there is one to be told.
        let told = &notes(FIN, "Thinnest places")[0];
        assert!(
            !told.contains("printed master,") && !told.contains("(too thin"),
            "{told}"
        );
        let entry = kit(&format!("{FIN}{coats}{shrinks}"))
            .unwrap()
            .manifest
            .thinnest
            .remove(0);
        assert!((entry.printed_mm - (1.2 / 0.985 - 0.3)).abs() < 1e-9);
    }

    #[test]
    fn coats_that_take_a_ring_away_are_refused_with_those_that_leave_it() {
        let ring = "eyes = [{ kind = 'ring', at = 14, diameter = 4, ring_width = 0.6 }]\n";
        let coats = |mm: f64| format!("{ring}material.coats = [{{ thickness = {mm} }}]\n");
        let Err(KitError::Spec(problems)) = kit(&coats(0.26)) else {
            panic!("a ring of 0.6 mm under two coats of 0.26 mm");
        };
        let problem = &problems.0[0];
        assert!(problem.what.contains("the ring of eyes[0]"), "{problem}");
        assert_eq!(problem.limit.as_deref(), Some("up to 0.25 mm in all"));
        assert!(kit(&coats(0.25)).is_ok());
    }

    #[test]
    fn recesses_that_coats_fill_are_told() {
        let text = |coat: f64| {
            format!(
                "mould.parting = 'waist'\nslot = [{{ side = 'belly', from = 18, to = 36, width = 0.9, depth = 3 }}]\n\
                 material.coats = [{{ thickness = {coat} }}]\n"
            )
        };
        let told = notes(&text(0.46), "Recesses narrower than twice the coats");
        assert_eq!(told.len(), 1);
        assert!(told[0].contains("slot[0] is 0.9 mm wide"), "{told:?}");
        assert_eq!(notes(&text(0.45), "Recesses narrower"), [""; 0]);
    }
}
