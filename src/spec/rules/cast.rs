//! Rules of the casting day.

use super::*;
use crate::materials::{Class, FactError, Kind, Known, Material, bundled, quantity};
use crate::spec::{CastDesign, CastSpec};

/// Baits of one run (reasoned: more is a factory).
const BAITS: RangeInclusive<f64> = 1.0..=10_000.0;
const MOULDS: RangeInclusive<f64> = 1.0..=100.0;
/// Percent; with more than half of them bad the mould is to be mended, not the sum (reasoned).
const SCRAP: RangeInclusive<f64> = 0.0..=50.0;
const PERCENT: RangeInclusive<f64> = 0.0..=100.0;
/// Parts to 100 of plastic (reasoned).
const PARTS: RangeInclusive<f64> = 0.0..=200.0;
/// Plastisol by itself, in g/cm³: from far softened to hard and filled (reasoned).
const PLASTIC_DENSITY: RangeInclusive<f64> = 0.9..=1.6;
/// A workshop, in °C (reasoned).
const ROOM: RangeInclusive<f64> = 5.0..=40.0;
/// What is melted on a bench, in °C (reasoned).
const POUR: RangeInclusive<f64> = 60.0..=400.0;
/// Materials of the maker's own (reasoned).
const MOST_ENTRIES_OF_A_FILE: usize = 200;
/// Where a temperature is from that the spec gives.
const SPEC: &str = "your spec";

/// Density of what is known by this name to be stirred in; the maker's own comes first.
fn of_additive(name: &str, own: &[Material]) -> Option<f64> {
    let all = own.iter().rev().cloned().chain(bundled());
    let mut all = all.filter(|m| m.class == Class::Additive && m.name == name);
    Some(all.next()?.density?.value)
}

impl Rules<'_> {
    pub(super) fn cast(&mut self, cast: &CastSpec) -> Option<CastDesign> {
        if self.is_broken("cast") {
            return None;
        }
        let before = self.problems.len();
        let baits = self.number("cast.baits", f64::from(cast.baits.unwrap_or(10)), &BAITS);
        let moulds = self.number("cast.moulds", f64::from(cast.moulds.unwrap_or(1)), &MOULDS);
        let own = self.own_materials(cast)?;
        let plastic = self.named(
            "cast.plastic",
            cast.plastic.as_deref().unwrap_or("soft-plastisol"),
            &[Class::Plastic],
            &own,
        );
        let plastic = match &cast.density {
            Some(text) => self
                .physical("cast.density", text, Kind::Density, Some(&PLASTIC_DENSITY))
                .zip(plastic)
                .map(|(value, plastic)| Material {
                    density: Some(Known {
                        value,
                        source: SPEC.to_owned(),
                    }),
                    ..plastic
                }),
            None => plastic,
        };
        let mut named = |key: &str, name: &Option<String>, default: &str, classes: &[Class]| {
            let path = format!("cast.{key}");
            let name = name.as_deref().unwrap_or(default);
            self.named(&path, name, classes, &own)
        };
        let rubber = [Class::Silicone];
        let silicone = named("silicone", &cast.silicone, "platinum-silicone", &rubber);
        let hard = [Class::Resin, Class::Metal, Class::Silicone];
        let block = named("block", &cast.block, "printed-resin", &hard);
        let percent = |rules: &mut Self, key: &str, value: Option<f64>, or: f64, limits| {
            let path = format!("cast.{key}");
            let share = rules.number(&path, value.unwrap_or(or), limits)?;
            Some(share / 100.0)
        };
        let scrap = percent(self, "scrap", cast.scrap, 10.0, &SCRAP);
        let remelt = percent(self, "remelt", cast.remelt, 0.0, &PERCENT);
        let waste = percent(self, "waste", cast.waste, 10.0, &PERCENT);
        let room = match &cast.room {
            Some(text) => self.physical("cast.room", text, Kind::Temperature, Some(&ROOM)),
            None => Some(20.0),
        };
        let of_plastic = |get: fn(&Material) -> &Option<Known<f64>>| {
            plastic.as_ref().and_then(|p| get(p).clone())
        };
        let pour = self.temperature("pour", &cast.pour, of_plastic(|p| &p.pour));
        let pull = self.temperature("pull", &cast.pull, of_plastic(|p| &p.pull));
        let volume = |rules: &mut Self, key: &str, text: &Option<String>| match text {
            Some(text) => rules
                .physical(&format!("cast.{key}"), text, Kind::Volume, None)
                .map(Some),
            None => Some(None),
        };
        let injector = volume(self, "injector", &cast.injector);
        let container = volume(self, "container", &cast.container);
        let additives = self.each("cast.additives", &cast.additives, |rules, path, a| {
            let parts = rules.number(&format!("{path}.parts"), a.parts, &PARTS);
            let density = match &a.density {
                Some(text) => rules
                    .physical(&format!("{path}.density"), text, Kind::Density, None)
                    .map(Some),
                None => Some(of_additive(&a.name, &own)),
            };
            Some((a.name.clone(), parts?, density?))
        });
        if self.problems.len() > before {
            return None;
        }
        let design = CastDesign {
            baits: baits? as usize,
            moulds: moulds? as usize,
            plastic: plastic?,
            silicone: silicone?,
            block: block?,
            scrap: scrap?,
            remelt: remelt?,
            waste: waste?,
            pour: pour?,
            pull: pull?,
            room: room?,
            injector: injector?,
            container: container?,
            additives: additives?,
        };
        self.temperatures_agree(&design).then_some(design)
    }

    /// The maker's own materials, every fact of them read.
    fn own_materials(&mut self, cast: &CastSpec) -> Option<Vec<Material>> {
        if let Some(file) = &cast.materials
            && !self.is_broken("cast.materials")
        {
            self.report(
                Problem::new(
                    "cast.materials",
                    "only the command reads a file of materials",
                )
                .value(format_args!("\"{file}\""))
                .hint("write its entries under [[cast.material]]"),
            );
            return None;
        }
        let count = cast.material.len();
        if count > MOST_ENTRIES_OF_A_FILE {
            self.report(
                Problem::new("cast.material", "there are too many of these")
                    .value(count)
                    .limit(format_args!("at most {MOST_ENTRIES_OF_A_FILE}")),
            );
            return None;
        }
        let mut materials = Vec::new();
        for (i, entry) in cast.material.iter().enumerate() {
            let path = format!("cast.material[{i}]");
            match entry.read() {
                Ok(_) if self.is_broken(&path) => {}
                Ok(material) => materials.push(material),
                Err(wrong) => {
                    for w in wrong {
                        let path = format!("{path}.{}", w.key);
                        self.fact(&path, &w.written, &w.error, w.example);
                    }
                }
            }
            if entry.density.is_none() {
                self.report(
                    Problem::new(&path, "a material needs its density")
                        .value(format_args!("\"{}\"", entry.name))
                        .hint("density = \"1.05 g/cm3\""),
                );
            }
        }
        Some(materials)
    }

    fn named(
        &mut self,
        path: &str,
        name: &str,
        classes: &[Class],
        own: &[Material],
    ) -> Option<Material> {
        if self.is_broken(path) {
            return None;
        }
        // The maker's own comes before a bundled one of the same name, the last one first.
        let all: Vec<Material> = own.iter().rev().cloned().chain(bundled()).collect();
        let fits = |m: &&Material| classes.contains(&m.class);
        if let Some(found) = all.iter().filter(fits).find(|m| m.name == name) {
            return Some(found.clone());
        }
        let mut known: Vec<&str> = Vec::new();
        for m in all.iter().filter(fits) {
            if !known.contains(&m.name.as_str()) {
                known.push(&m.name);
            }
        }
        let what = if all.iter().any(|m| m.name == name) {
            "this material is not of the kind that belongs here"
        } else {
            "there is no material of this name"
        };
        self.report(
            Problem::new(path, what)
                .value(format_args!("\"{name}\""))
                .limit(known.join(", "))
                .hint("describe your own under [[cast.material]]"),
        );
        None
    }

    fn temperature(
        &mut self,
        key: &str,
        written: &Option<String>,
        of_plastic: Option<Known<f64>>,
    ) -> Option<Known<f64>> {
        let path = format!("cast.{key}");
        match (written, of_plastic) {
            (Some(text), _) => {
                let limits = if key == "pour" { Some(&POUR) } else { None };
                let value = self.physical(&path, text, Kind::Temperature, limits)?;
                let source = SPEC.to_owned();
                Some(Known { value, source })
            }
            (None, Some(known)) => Some(known),
            (None, None) => {
                // A plastic that was refused has been spoken of.
                if self.problems.is_empty() && !self.is_broken(&path) {
                    let what = format!("this plastic does not say its temperature to {key}");
                    self.report(
                        Problem::new(&path, what).hint("take it from its data sheet: \"170 C\""),
                    );
                }
                None
            }
        }
    }

    /// A number with its unit, within limits.
    fn physical(
        &mut self,
        path: &str,
        text: &str,
        kind: Kind,
        limits: Option<&RangeInclusive<f64>>,
    ) -> Option<f64> {
        if self.is_broken(path) {
            return None;
        }
        let inside = |v: &f64| limits.is_none_or(|l| l.contains(v));
        let error = match quantity(kind, text) {
            Ok(value) if inside(&value) => return Some(value),
            Ok(_) => {
                let of = limits.map(|l| kind.between(*l.start(), *l.end()));
                FactError::Bounds(of.unwrap_or_default())
            }
            Err(error) => error,
        };
        self.fact(path, text, &error, kind.example());
        None
    }

    fn fact(&mut self, path: &str, written: &str, error: &FactError, example: &str) {
        if self.is_broken(path) {
            return;
        }
        let problem = Problem::new(path, error.to_string()).value(format_args!("\"{written}\""));
        let problem = match error.accepted() {
            Some(limits) => problem.limit(limits),
            None => problem,
        };
        self.report(problem.hint(format_args!("such as \"{example}\"")));
    }

    /// Poured hotter than pulled, pulled hotter than the room, and never past the plastic's most.
    fn temperatures_agree(&mut self, cast: &CastDesign) -> bool {
        let before = self.problems.len();
        let (pour, pull) = (cast.pour.value, cast.pull.value);
        // A temperature that the spec does not give is the plastic's.
        let of = |known: &Known<f64>, key: &str| {
            if known.source == SPEC {
                (format!("cast.{key}"), String::new())
            } else {
                (
                    "cast.plastic".to_owned(),
                    format!(" ({key} of {})", cast.plastic.name),
                )
            }
        };
        // Those who think in Fahrenheit wrote it so.
        let show = |c: f64| format!("{c:.0} C, {:.0} F", 1.8 * c + 32.0);
        if let Some(most) = &cast.plastic.most
            && pour > most.value
        {
            let (path, whose) = of(&cast.pour, "pour");
            self.report(
                Problem::new(
                    path,
                    format!("this{whose} is hotter than the plastic may get"),
                )
                .value(show(pour))
                .limit(format_args!("up to {} ({})", show(most.value), most.source))
                .hint("if its data sheet allows more, say so as its most under [[cast.material]]"),
            );
        }
        if let Some(sets) = &cast.plastic.sets
            && pour <= sets.value
        {
            let (path, whose) = of(&cast.pour, "pour");
            let what = format!("this{whose} is no hotter than where the plastic sets");
            self.report(
                Problem::new(path, what)
                    .value(show(pour))
                    .limit(format_args!("above {}", show(sets.value))),
            );
        } else if pour <= pull {
            let (path, whose) = of(&cast.pull, "pull");
            let what = format!("a bait cannot be pulled{whose} as hot as it is poured");
            self.report(
                Problem::new(path, what)
                    .value(show(pull))
                    .limit(format_args!("below {}", show(pour))),
            );
        }
        if pull < cast.room + 5.0 {
            let (path, whose) = of(&cast.pull, "pull");
            let what = format!("a bait never gets so cold{whose} in this room");
            self.report(
                Problem::new(path, what)
                    .value(show(pull))
                    .limit(format_args!("at least {}", show(cast.room + 5.0))),
            );
        }
        self.problems.len() == before
    }
}
