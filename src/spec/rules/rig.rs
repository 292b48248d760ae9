//! Rules of wire, hook, weights, skirt, water and plastic that need no more than their own
//! numbers. Whether they fit the body is judged where they are placed.

use std::ops::RangeInclusive;

use super::Rules;
use crate::quantity::{Length, WireGauge};
use crate::spec::{
    HookDesign, HookSpec, Metal, Problem, RigDesign, SkirtDesign, SkirtSpec, Spec, WantedDesign,
    WaterKind, WaterSpec, WeightDesign, WeightShape, WeightSpec, WireDesign, WireSpec,
};

/// From fine leader wire to rods (reasoned); the same for hooks.
const WIRE: RangeInclusive<f64> = 0.1..=5.0;
/// Inside of an eye (reasoned).
const EYE: RangeInclusive<f64> = 0.5..=20.0;
const TWISTS: RangeInclusive<f64> = 0.0..=12.0;
/// Places along and off the axis (reasoned: no more than the largest bait).
const ALONG: RangeInclusive<f64> = -200.0..=1200.0;
const HEIGHT: RangeInclusive<f64> = -150.0..=150.0;
const SHANK: RangeInclusive<f64> = 2.0..=300.0;
const GAP: RangeInclusive<f64> = 1.0..=100.0;
/// From split shot to the heaviest sea tackle (reasoned), in g.
const MASS: RangeInclusive<f64> = 0.01..=1000.0;
const WEIGHT_SIZE: RangeInclusive<f64> = 1.0..=100.0;
/// Lighter than plastic makes no weight, heavier than osmium there is none.
const METAL_DENSITY: RangeInclusive<f64> = 1.5..=22.6;
const STRANDS: RangeInclusive<f64> = 1.0..=500.0;
const STRAND: RangeInclusive<f64> = 5.0..=500.0;
const STRAND_THICKNESS: RangeInclusive<f64> = 0.1..=5.0;
const SKIRT_DENSITY: RangeInclusive<f64> = 0.5..=3.0;
const SALINITY: RangeInclusive<f64> = 0.0..=42.0;
const TEMPERATURE: RangeInclusive<f64> = 0.0..=40.0;
const WANTED_DEPTH: RangeInclusive<f64> = 10.0..=50_000.0;
const WANTED_TIME: RangeInclusive<f64> = 0.1..=600.0;
const WANTED_HANG: RangeInclusive<f64> = -80.0..=80.0;

impl Rules<'_> {
    /// `density` is that of the cast plastic.
    pub(super) fn rig(&mut self, spec: &Spec, density: Option<f64>) -> Option<RigDesign> {
        let wire = self.optional(spec.wire.as_ref(), Self::wire);
        let hook = self.optional(spec.hook.as_ref(), Self::hook);
        let weights = self.each("weight", &spec.weight, Self::weight);
        let skirt = self.optional(spec.skirt.as_ref(), Self::skirt);
        let water = self.water(&spec.water);
        let (salinity, temperature, wanted) = water?;
        Some(RigDesign {
            wire: wire?,
            hook: hook?,
            weights: weights?,
            skirt: skirt?,
            plastic_density: density?,
            salinity,
            temperature,
            wanted,
        })
    }

    /// `Some(None)` if it is not there.
    fn optional<S, D>(
        &mut self,
        written: Option<&S>,
        rule: impl FnOnce(&mut Self, &S) -> Option<D>,
    ) -> Option<Option<D>> {
        match written {
            Some(written) => rule(self, written).map(Some),
            None => Some(None),
        }
    }

    /// A length that may be left out; `Some(None)` if it is.
    fn length_if(
        &mut self,
        path: &str,
        length: Option<Length>,
        limits: &RangeInclusive<f64>,
    ) -> Option<Option<f64>> {
        match length {
            Some(length) => self.length(path, length, limits).map(Some),
            None if self.is_broken(path) => None,
            None => Some(None),
        }
    }

    /// A length that may be zero or below.
    fn place(
        &mut self,
        path: &str,
        length: Option<Length>,
        limits: &RangeInclusive<f64>,
    ) -> Option<f64> {
        self.length_or(path, length, 0.0, limits)
    }

    fn wire(&mut self, wire: &WireSpec) -> Option<WireDesign> {
        let numbers = [
            ("awg", wire.awg.map(WireGauge::Awg), "0 to 40"),
            ("swg", wire.swg.map(WireGauge::Swg), "10 to 30"),
            ("music", wire.music.map(WireGauge::Music), "1 to 30"),
        ];
        let given = numbers
            .iter()
            .filter(|(_, gauge, _)| gauge.is_some())
            .count();
        let diameter = if given + usize::from(wire.diameter.is_some()) != 1 {
            let told = [
                "wire",
                "wire.diameter",
                "wire.awg",
                "wire.swg",
                "wire.music",
            ];
            if !told.iter().any(|path| self.is_broken(path)) {
                self.report(
                    Problem::new("wire", "the wire's size must be given once")
                        .limit("one of `diameter`, `awg`, `swg` and `music`"),
                );
            }
            None
        } else if let Some(diameter) = wire.diameter {
            self.length("wire.diameter", diameter, &WIRE)
        } else {
            let mut found = None;
            for (name, gauge, limit) in numbers {
                let Some(gauge) = gauge else { continue };
                match gauge.diameter() {
                    Some(diameter) if WIRE.contains(&diameter) => found = Some(diameter),
                    _ => {
                        let path = format!("wire.{name}");
                        if !self.is_broken(&path) {
                            let (WireGauge::Awg(n) | WireGauge::Swg(n) | WireGauge::Music(n)) =
                                gauge;
                            self.report(
                                Problem::new(
                                    path,
                                    "this is no number of that gauge, or no wire for a bait",
                                )
                                .value(n)
                                .limit(format_args!("{limit}, and {}", self.show_limits(&WIRE))),
                            );
                        }
                    }
                }
            }
            found
        };
        let height = self.place("wire.height", wire.height, &HEIGHT);
        let from = self.length_if("wire.from", wire.from, &ALONG);
        let to = self.length_if("wire.to", wire.to, &ALONG);
        if let (Some(Some(from)), Some(Some(to))) = (from, to)
            && to < from + 1.0
        {
            self.report(
                Problem::new("wire.to", "this wire ends where it begins, or before")
                    .value(self.show(to))
                    .limit(format_args!("at least {}", self.show(from + 1.0))),
            );
        }
        let eye = self.length_or("wire.eye", wire.eye, 3.0, &EYE);
        let tail_eye = self.length_if("wire.tail_eye", wire.tail_eye, &EYE);
        let twists = self.number("wire.twists", f64::from(wire.twists.unwrap_or(3)), &TWISTS);
        let density = self.density_or(
            "wire.density",
            wire.density,
            Metal::Steel.density(),
            &METAL_DENSITY,
        );
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        Some(WireDesign {
            diameter: diameter?,
            height: height?,
            ends: [from?, to?],
            eyes: [Some(eye?), tail_eye?],
            twists: twists? as u32,
            density: density?,
        })
    }

    fn density_or(
        &mut self,
        path: &str,
        written: Option<f64>,
        default: f64,
        limits: &RangeInclusive<f64>,
    ) -> Option<f64> {
        let found = self.number(path, written.unwrap_or(default), limits);
        if found.is_none()
            && written.is_some_and(|d| limits.contains(&(d / 1000.0)))
            && let Some(problem) = self.problems.last_mut()
        {
            problem.hint = Some("densities are in g/ml: divide kg/m³ by 1000".to_owned());
        }
        found
    }

    fn hook(&mut self, hook: &HookSpec) -> Option<HookDesign> {
        let at = self.length("hook.at", hook.at, &ALONG);
        let height = self.place("hook.height", hook.height, &HEIGHT);
        let wire = self.length("hook.wire", hook.wire, &WIRE);
        let shank = self.length("hook.shank", hook.shank, &SHANK);
        let gap = self.length("hook.gap", hook.gap, &GAP);
        let least = 0.5 * gap.unwrap_or(*GAP.start()) + 0.5 * wire.unwrap_or(*WIRE.start());
        let bend = self.length_or(
            "hook.bend",
            hook.bend,
            gap.unwrap_or(1.0).max(least),
            &(least..=*SHANK.end()),
        );
        if let (None, Some(problem)) = (bend, self.problems.last_mut())
            && problem.path == "hook.bend"
            && problem.hint.is_none()
        {
            problem.hint = Some(
                "it is measured from the shank's end to the outside of the round, which takes half of hook.gap \
                 and half of hook.wire: more bend, or less gap"
                    .to_owned(),
            );
        }
        let eye = self.length_or(
            "hook.eye",
            hook.eye,
            (2.0 * wire.unwrap_or(1.0)).max(*EYE.start()),
            &EYE,
        );
        let mass = match hook.mass {
            Some(mass) => self.mass("hook.mass", mass).map(Some),
            None if self.is_broken("hook.mass") => None,
            None => Some(None),
        };
        Some(HookDesign {
            at: at?,
            height: height?,
            wire: wire?,
            shank: shank?,
            gap: gap?,
            bend: bend?,
            eye: eye?,
            point: hook.point,
            mass: mass?,
        })
    }

    fn mass(&mut self, path: &str, mass: crate::quantity::Mass) -> Option<f64> {
        if self.is_broken(path) {
            return None;
        }
        let shown = format!("{} to {} g", MASS.start(), MASS.end());
        self.within(path, mass.to_grams(), &MASS, mass.to_string(), shown)
    }

    fn weight(&mut self, path: &str, weight: &WeightSpec) -> Option<WeightDesign> {
        let field = |name: &str| format!("{path}.{name}");
        let at = self.length(&field("at"), weight.at, &ALONG);
        let height = self.place(&field("height"), weight.height, &HEIGHT);
        let density = self.density_or(
            &field("density"),
            weight.density,
            weight.metal.density(),
            &METAL_DENSITY,
        );
        let hole = self.length_if(&field("hole"), weight.hole, &WIRE);
        let length = self.length_if(&field("length"), weight.length, &WEIGHT_SIZE);
        let ball = weight.shape == WeightShape::Ball;
        if ball && weight.length.is_some() {
            self.report(
                Problem::new(field("length"), "a ball has no length of its own")
                    .hint("leave it out, or give another shape"),
            );
        }
        let slimness = match weight.shape {
            WeightShape::Ball => 1.0,
            WeightShape::Cylinder => 2.0,
            WeightShape::Cone | WeightShape::Egg => 1.5,
        };
        let broken = self.is_broken(&field("mass")) || self.is_broken(&field("diameter"));
        let (density, hole, length, at, height) =
            (density?, hole?.unwrap_or(0.0), length?, at?, height?);
        let sized = |diameter: f64| WeightDesign {
            shape: weight.shape,
            density,
            diameter,
            length: length.unwrap_or(slimness * diameter),
            hole,
            at,
            height,
        };
        let found = match (weight.mass, weight.diameter) {
            _ if broken => return None,
            (Some(mass), None) => {
                let grams = self.mass(&field("mass"), mass)?;
                // A given length stays; else the proportions do.
                let (mut low, mut high) = (hole.max(1e-3), 2.0 * WEIGHT_SIZE.end());
                for _ in 0..100 {
                    let middle = 0.5 * (low + high);
                    if sized(middle).mass() >= grams {
                        high = middle;
                    } else {
                        low = middle;
                    }
                }
                let found = sized(high);
                if !WEIGHT_SIZE.contains(&found.diameter) {
                    let shown = self.show_limits(&WEIGHT_SIZE);
                    let diameter = self.show(found.diameter);
                    self.report(
                        Problem::new(
                            field("mass"),
                            "a weight of this mass has no size to work with",
                        )
                        .value(format_args!("{mass}, {diameter} across"))
                        .limit(format_args!("{shown} across")),
                    );
                    return None;
                }
                found
            }
            (None, Some(diameter)) => {
                sized(self.length(&field("diameter"), diameter, &WEIGHT_SIZE)?)
            }
            (mass, _) => {
                let what = match mass {
                    Some(_) => "this weight gives its size twice over",
                    None => "this weight has no size",
                };
                self.report(
                    Problem::new(path, what)
                        .limit("either `mass` or `diameter`")
                        .hint("such as mass = \"1/8 oz\""),
                );
                return None;
            }
        };
        // A wall to the hole that stands being handled (reasoned).
        if found.hole > 0.8 * found.diameter {
            let value = self.show(found.hole);
            let limit = self.show(0.8 * found.diameter);
            self.report(
                Problem::new(field("hole"), "this hole leaves too little of the weight")
                    .value(value)
                    .limit(format_args!("at most {limit}")),
            );
            return None;
        }
        Some(found)
    }

    fn skirt(&mut self, skirt: &SkirtSpec) -> Option<SkirtDesign> {
        let at = self.length_if("skirt.at", skirt.at, &ALONG);
        let strands = self.number("skirt.strands", f64::from(skirt.strands), &STRANDS);
        let length = self.length("skirt.strand_length", skirt.strand_length, &STRAND);
        let thickness = self.length(
            "skirt.strand_thickness",
            skirt.strand_thickness,
            &STRAND_THICKNESS,
        );
        let density = self.density_or("skirt.density", skirt.density, 1.1, &SKIRT_DENSITY);
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        Some(SkirtDesign {
            at: at?,
            strands: strands? as u32,
            length: length?,
            thickness: thickness?,
            density: density?,
        })
    }

    fn water(&mut self, water: &WaterSpec) -> Option<(f64, f64, Option<WantedDesign>)> {
        if water.kind.is_some() && water.salinity.is_some() {
            self.report(
                Problem::new("water.salinity", "this water says twice how salt it is")
                    .limit("either `kind` or `salinity`"),
            );
        }
        let of_kind = match water.kind {
            Some(WaterKind::Brackish) => 10.0,
            Some(WaterKind::Sea) => 35.0,
            Some(WaterKind::Fresh) | None => 0.0,
        };
        let salinity = self.number(
            "water.salinity",
            water.salinity.unwrap_or(of_kind),
            &SALINITY,
        );
        let temperature = self.number(
            "water.temperature",
            water.temperature.unwrap_or(15.0),
            &TEMPERATURE,
        );
        let depth = self.length_if("water.depth", water.depth, &WANTED_DEPTH);
        let time = match water.time {
            Some(time) => self.number("water.time", time, &WANTED_TIME).map(Some),
            None if self.is_broken("water.time") => None,
            None => Some(None),
        };
        let hang = self.number("water.hang", water.hang.unwrap_or(0.0), &WANTED_HANG);
        let wanted = match (depth?, time?) {
            (Some(depth), Some(time)) => Some(WantedDesign {
                depth,
                time,
                hang: hang?,
            }),
            (None, None) if water.hang.is_none() => None,
            _ => {
                self.report(
                    Problem::new("water", "what is wanted of the sink is not whole")
                        .limit("`depth` and `time` together, and `hang` beside them")
                        .hint("such as depth = \"30 cm\", time = 4"),
                );
                return None;
            }
        };
        Some((salinity?, temperature?, wanted))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::spec::{Design, Format, design};

    const BODY: &str =
        "units = \"mm\"\nbody = { length = 80, outline = [{ at = 30, height = 19 }] }\n";

    fn read(more: &str) -> Design {
        match design(&format!("{BODY}{more}"), Format::Toml) {
            Ok(design) => design,
            Err(problems) => panic!("{more}: {problems}"),
        }
    }

    /// Paths of what is wrong.
    fn wrong(more: &str) -> Vec<String> {
        match design(&format!("{BODY}{more}"), Format::Toml) {
            Ok(_) => Vec::new(),
            Err(problems) => problems.0.into_iter().map(|p| p.path).collect(),
        }
    }

    #[test]
    fn defaults_and_gauges() {
        assert_eq!(read("").rig, RigDesign::default());
        let wire = |text: &str| read(text).rig.wire.map(|w| w.diameter).unwrap();
        assert!((wire("wire.awg = 20") - 0.81182).abs() < 1e-5);
        assert!((wire("wire.swg = 22") - 0.7112).abs() < 1e-9);
        assert!((wire("wire.music = 14") - 0.8382).abs() < 1e-9);
        let weight = read("weight = [{ mass = \"1/8 oz\", at = 30 }]")
            .rig
            .weights[0];
        assert!((weight.diameter - 8.4194).abs() < 5e-5);
        assert_eq!(read("water.kind = \"sea\"").rig.salinity, 35.0);
    }

    #[test]
    fn both_sides_of_the_limits() {
        for (text, path) in [
            ("wire.diameter = 0.09", "wire.diameter"),
            ("wire.awg = 41", "wire.awg"),
            ("wire.swg = 9", "wire.swg"),
            ("wire = { awg = 20, swg = 20 }", "wire"),
            ("wire = { }", "wire"),
            ("wire = { awg = 20, from = 30, to = 30.5 }", "wire.to"),
            ("wire = { awg = 20, twists = 13 }", "wire.twists"),
            ("weight = [{ at = 30 }]", "weight[0]"),
            (
                "weight = [{ at = 30, mass = 1, diameter = 5 }]",
                "weight[0]",
            ),
            ("weight = [{ at = 30, mass = 0 }]", "weight[0].mass"),
            (
                "weight = [{ at = 30, mass = 1, length = 5 }]",
                "weight[0].length",
            ),
            (
                "weight = [{ at = 30, diameter = 5, hole = 4.1 }]",
                "weight[0].hole",
            ),
            ("weight = [{ at = 30, mass = 0.005 }]", "weight[0].mass"),
            (
                "weight = [{ at = 30, mass = 1, density = 11340 }]",
                "weight[0].density",
            ),
            (
                "hook = { at = 9, wire = 1, shank = 20, gap = 12, bend = 6 }",
                "hook.bend",
            ),
            (
                "skirt = { strands = 0, strand_length = 50, strand_thickness = 0.5 }",
                "skirt.strands",
            ),
            ("water.temperature = 41", "water.temperature"),
            (
                "water = { kind = \"sea\", salinity = 30 }",
                "water.salinity",
            ),
            ("water.depth = 300", "water"),
            ("water = { depth = 300, time = 4, hang = 81 }", "water.hang"),
        ] {
            assert_eq!(wrong(text), [path], "{text}");
        }
        for text in [
            "wire.diameter = 0.1",
            "wire = { awg = 20, from = 30, to = 31 }",
            "wire = { awg = 20, twists = 12 }",
            "weight = [{ at = 30, diameter = 5, hole = 4 }]",
            "weight = [{ at = 30, mass = 0.01, metal = \"tin\" }]",
            "hook = { at = 9, wire = 1, shank = 20, gap = 12, bend = 6.5 }",
            "skirt = { strands = 1, strand_length = 5, strand_thickness = 0.1 }",
            "water.temperature = 40",
            "water = { depth = 300, time = 4, hang = 80 }",
        ] {
            assert_eq!(wrong(text), Vec::<String>::new(), "{text}");
        }
    }

    #[test]
    fn a_larger_bait_keeps_its_wire_and_weight() {
        let text = "wire.diameter = 0.8\nweight = [{ at = 30, height = -4, diameter = 5 }]\n";
        let larger = design(&format!("scale = 1.5\n{BODY}{text}"), Format::Toml)
            .unwrap()
            .rig;
        let weight = larger.weights[0];
        assert_eq!(
            (weight.at, weight.height, weight.diameter),
            (45.0, -6.0, 5.0)
        );
        assert_eq!(larger.wire.unwrap().diameter, 0.8);
    }
}
