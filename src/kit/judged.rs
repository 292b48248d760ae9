//! What is wrong with a spec, told at once as far as it can be told apart.

use super::Kit;
use crate::body::{Body, Master, MasterError};
use crate::import::Imported;
use crate::rig::{Bed, Rig};
use crate::spec::{Design, Parting, Problem, Problems, Spec, entry_of};

impl Kit {
    /// The design of a spec; of one that breaks rules, also what is wrong with those features that
    /// keep them, as long as the trunk does. `master` is what was read of a body from a file.
    ///
    /// # Errors
    /// Everything that is wrong with it, as far as it can be told before mould and rig are made.
    pub fn design(spec: &Spec, master: Option<&Imported>) -> Result<Design, Problems> {
        let envelope = master.map(Imported::envelope);
        let found = match &envelope {
            Some(envelope) => Design::around(spec, envelope),
            None => Design::from_spec(spec),
        };
        let mut problems = match found {
            Ok(design) => return Ok(design),
            Err(problems) => problems,
        };
        if let Some(part) = spec.sound_part(&problems, envelope.as_ref()) {
            let design = &part.design;
            let body = match master {
                Some(master) => Body::imported(design, master.mesh.clone()),
                None => Body::from_design(design),
            };
            problems.0.extend(faults(design, &body, part.left_out));
        }
        Err(problems)
    }

    /// For a spec that cannot be made at its `scale`, but as it is drawn: that, with the scale
    /// nearest to it at which the whole kit has been made. One number is to be mended then, not
    /// every size that has become too small or too large. `None` if the scale is not to blame.
    #[must_use]
    pub fn scale_to_blame(spec: &Spec) -> Option<Problem> {
        /// Halvings, in proportion: to a few percent of the scale.
        const HALVINGS: usize = 6;
        if !(0.1..=10.0).contains(&spec.scale) || spec.scale == 1.0 || spec.body.from.is_some() {
            return None;
        }
        let at = |scale: f64| Spec {
            scale,
            ..spec.clone()
        };
        let kept = |scale: f64| Design::from_spec(&at(scale)).is_ok();
        if kept(spec.scale) || !kept(1.0) {
            return None;
        }
        let broken = Design::from_spec(&at(spec.scale)).err()?;
        let smaller = spec.scale < 1.0;
        // To two digits, towards the drawn size.
        let rounded = |scale: f64| {
            let digit = libm::pow(10.0, libm::floor(libm::log10(scale)) - 1.0);
            let steps = scale / digit;
            let steps = if smaller {
                libm::ceil(steps - 1e-9)
            } else {
                libm::floor(steps + 1e-9)
            };
            // To the last bit what is shown.
            libm::round(1e4 * steps * digit) / 1e4
        };
        let makes = |scale: f64| kept(scale) && Kit::build(&at(scale)).is_ok();
        let (mut bad, mut good) = (spec.scale, 1.0);
        if !makes(good) {
            return None;
        }
        for _ in 0..HALVINGS {
            let middle = rounded((good * bad).sqrt());
            if middle == good || middle == bad {
                break;
            }
            if makes(middle) {
                good = middle;
            } else {
                bad = middle;
            }
        }
        let least = if smaller { "at least" } else { "up to" };
        let size = if smaller { "small" } else { "large" };
        let first = &broken.0[0];
        let others = match broken.0.len() {
            1 => String::new(),
            n => format!(" and {} more", n - 1),
        };
        Some(
            Problem::new(
                "scale",
                format!("this bait cannot be made so {size}: {}{others}", first.path),
            )
            .value(spec.scale)
            .limit(format!("{least} {good}, at which all of it has been made"))
            .hint("with this scale each of them needs another size in the spec"),
        )
    }
}

/// What is wrong with the features of a design and with what is cast into it: those that do not fit
/// are left out, and the others judged once more without them.
///
/// Cores and weights may lie in what was left out, a tail or a fin: they wait for it.
pub(super) fn faults(design: &Design, body: &Body, mut left_out: Vec<String>) -> Vec<Problem> {
    let mut found = Vec::new();
    loop {
        let table = |entry: &String| entry.split('[').next().unwrap_or_default().to_owned();
        let mut missing = left_out.iter().map(table);
        let waits = missing.any(|table| ["tail", "fin", "legs"].contains(&table.as_str()));
        let mut without = left_out.clone();
        if waits {
            // A slot is a core along the flank only.
            let flank = design.mould.parting == Parting::Flank;
            let slots = if flank { design.slot.len() } else { 0 };
            without.extend((0..design.bore.len()).map(|i| format!("bore[{i}]")));
            without.extend((0..slots).map(|i| format!("slot[{i}]")));
        }
        match Master::without(design, body, &without) {
            // Shapes, joints, cores, crossings: each is judged once those before are sound.
            Err(MasterError::Spec(Problems(problems))) => {
                let known = found.len();
                for problem in problems {
                    if !found.contains(&problem) {
                        left_out.push(entry_of(&problem.path).to_owned());
                        found.push(problem);
                    }
                }
                if found.len() == known {
                    return found;
                }
            }
            Err(MasterError::TooFine(_) | MasterError::Solid(_)) => return found,
            Ok(master) => {
                if !waits
                    && let Ok(bed) = Bed::of(body, &master)
                    && let Err(Problems(problems)) = Rig::build(design, &bed)
                {
                    found.extend(problems);
                }
                return found;
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::kit::KitError;
    use crate::spec::{self, Format};

    const MINNOW: &str = "body = { length = 90, width = 0.62, outline = [{ at = 8, height = 11 }, \
                          { at = 30, height = 19 }, { at = 62, height = 12 }] }\n";

    fn paths(more: &str) -> Vec<String> {
        let text = format!("{MINNOW}{more}");
        let spec = spec::read(&text, Format::Toml).unwrap().spec;
        match Kit::design(&spec, None) {
            Ok(_) => Vec::new(),
            Err(problems) => problems.0.into_iter().map(|p| p.path).collect(),
        }
    }

    #[test]
    fn features_that_do_not_fit_are_told_with_rules_that_are_broken() {
        let deep = "eyes = [{ kind = 'flat', at = 20, diameter = 4, depth = 9 }]\n";
        let legs = "legs = [{ at = 4.5, count = 3, length = 9, root = 2, tip = 1 }]\n";
        let long = "fin = [{ at = 80, root = 30, outline = [{ at = 6, height = 8 }] }]\n";
        let mould = "mould.wall = 1\nmaterial.shrinkage = { plastic = 40 }\n";
        assert_eq!(
            paths(&format!("{mould}{deep}{legs}{long}")),
            [
                "mould.wall",
                "material.shrinkage.plastic",
                "eyes[0].depth",
                "fin[0].at",
                "legs[0].at"
            ]
        );
        // An entry with a broken rule in it is judged by its rules alone, the others keep their numbers.
        let fin = |at: f64, root: f64| {
            format!("{{ at = {at}, root = {root}, outline = [{{ at = 6, height = 8 }}] }}")
        };
        let fins = |list: &[String]| format!("fin = [{}]\n", list.join(", "));
        assert_eq!(
            paths(&(fins(&[fin(30.0, 1.0)]) + deep)),
            ["fin[0].root", "eyes[0].depth"]
        );
        let three = fins(&[fin(30.0, 1.0), fin(30.0, 14.0), fin(80.0, 30.0)]);
        assert_eq!(
            paths(&(three + deep)),
            ["fin[0].root", "eyes[0].depth", "fin[2].at"]
        );
        // So are two of a list with others between them, cores, and what is cast in.
        let bores =
            "bore = [{ diameter = 40 }, { diameter = 6, from = [85, 0, 0], to = [85, 30, 0] }]\n";
        let weight = "weight = [{ shape = 'ball', diameter = 9, at = 86 }]\n";
        let eyes = "eyes = [{ kind = 'flat', at = 20, diameter = 0.1, depth = 1 }, \
                    { kind = 'flat', at = 20, diameter = 4, depth = 9 }, \
                    { kind = 'flat', at = 20, diameter = 4, depth = 0.01 }]\n";
        assert_eq!(
            paths(&(eyes.to_owned() + bores + weight)),
            [
                "eyes[0].diameter",
                "eyes[2].depth",
                "bore[0].diameter",
                "eyes[1].depth",
                "bore[1]",
                "weight[0]"
            ]
        );
        // What may lie in a tail or fin that is not there yet waits for it.
        let taper = |tip: f64| {
            format!(
                "tail.taper = {{ length = 40, tip = {tip} }}\n\
                 weight = [{{ shape = 'ball', diameter = 4, at = 96 }}]\n\
                 bore = [{{ diameter = 1, from = [100, 0, 20], to = [100, 0, -20] }}]\n"
            )
        };
        assert_eq!(paths(&taper(200.0)), ["tail.taper.tip"]);
        assert_eq!(paths(&taper(7.0)), [""; 0]);
        // The mould's plane and the end of its sprue hold, whatever else is wrong with it.
        let rear = "fin = [{ at = 1, root = 12, outline = [{ at = 4, height = 8 }] }]\n";
        let tail_end = |more: &str| format!("{rear}mould = {{ sprue.end = 'tail'{more} }}\n");
        assert_eq!(paths(&tail_end(", wall = 1")), ["mould.wall"]);
        // Of an unsound trunk nothing can be said of what stands on it.
        let collar = paths(&format!("{deep}collar = {{ steps = [] }}\n"));
        assert!(!collar.is_empty() && !collar.contains(&"eyes[0].depth".to_owned()));
        // Where no rule is broken the features wait for the kit, and are told there as well.
        assert_eq!(paths(deep), [""; 0]);
        let text =
            format!("{MINNOW}{deep}{weight}pocket = [{{ at = 40, diameter = 60, depth = 2 }}]\n");
        let spec = spec::read(&text, Format::Toml).unwrap().spec;
        let Err(KitError::Spec(Problems(all))) = Kit::build(&spec) else {
            panic!("{text}");
        };
        let all: Vec<String> = all.into_iter().map(|p| p.path).collect();
        assert_eq!(all, ["eyes[0].depth", "pocket[0].diameter", "weight[0]"]);
    }

    #[test]
    fn a_scale_at_which_much_is_too_small_is_told_once_with_one_that_does() {
        let text = format!(
            "{MINNOW}mesh.tolerance = 0.2\neyes = [{{ at = 12, angle = 70, diameter = 4, depth = 1 }}]\n\
             fin = [{{ at = 30, root = 16, outline = [{{ at = 6, height = 6 }}] }}]\n"
        );
        let at = |scale: f64| Spec {
            scale,
            ..spec::read(&text, Format::Toml).unwrap().spec
        };
        let problem = Kit::scale_to_blame(&at(0.1)).unwrap();
        assert_eq!(problem.path, "scale");
        assert!(problem.what.contains("eyes[0].diameter"), "{problem}");
        let limit = problem.limit.unwrap();
        let least: f64 = limit
            .split(' ')
            .nth(2)
            .unwrap()
            .trim_end_matches(',')
            .parse()
            .unwrap();
        assert!(least > 0.1 && least < 1.0, "{limit}");
        assert!(Kit::build(&at(least)).is_ok(), "{limit}");
        assert!(matches!(Kit::build(&at(0.1)), Err(KitError::Spec(_))));
        // What is wrong at any scale is not the scale's fault.
        assert_eq!(Kit::scale_to_blame(&at(1.0)), None);
        let mut wrong = at(0.1);
        wrong.eyes[0].angle = 400.0;
        assert_eq!(Kit::scale_to_blame(&wrong), None);
    }
}
