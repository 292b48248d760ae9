//! How much of everything: silicone for the pours, plastic for the run.
//!
//! # Units
//! Volumes in ml, masses in g, shares as fractions of one, times in s.

use crate::materials::{By, Material, Mix, mixture};

/// Room that silicone needs to rise under vacuum, over its own volume (common practice: three
/// to five times).
pub const VACUUM_ROOM: [f64; 2] = [3.0, 5.0];
/// Room to stir in, over the volume (common practice).
const STIRRING_ROOM: f64 = 2.0;
/// Hands on one batch: stirring and scraping the cup, and the vacuum, s (common practice; makers'
/// tip sheets say up to 5 min under vacuum).
const HANDS: f64 = 600.0;
/// Pouring in a thin stream, s/ml (common practice: 100 ml a minute).
const POURING: f64 = 0.6;

/// A part of a mix, both ways.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Part {
    /// Mass, g.
    pub mass: f64,
    /// Volume, ml.
    pub volume: f64,
}

/// What one pour of silicone takes.
#[derive(Clone, Debug, PartialEq)]
pub struct Silicone {
    /// What the mould takes, ml.
    pub exact: f64,
    /// What is mixed, cup and waste included.
    pub mixed: Part,
    /// Parts A and B, if the mix is known.
    pub parts: Option<[Part; 2]>,
    /// Size of the cup to stir in, ml; of the largest batch.
    pub cup: f64,
    /// Size of the container under vacuum, from and to, ml; of the largest batch.
    pub vacuum: [f64; 2],
    /// Batches it is mixed in.
    pub batches: usize,
    /// Time that hands are on one batch, from the first stir to the last drop, s.
    pub hands: f64,
    /// Whether that is within the pot life; `None` if that is not known.
    pub in_pot_life: Option<bool>,
    /// Cost, if the price is known, in the price's money.
    pub cost: Option<f64>,
}

impl Silicone {
    /// What a pour of `exact` ml takes with a `waste` share over it, mixed in a vacuum
    /// container of `container` ml if that is what limits a batch. `None` for a material
    /// without density.
    #[must_use]
    pub fn of(exact: f64, waste: f64, container: Option<f64>, material: &Material) -> Option<Self> {
        let density = material.density.as_ref()?.value;
        let volume = exact * (1.0 + waste);
        let mixed = Part {
            mass: volume * density,
            volume,
        };
        let most = container.map_or(f64::INFINITY, |c| c / VACUUM_ROOM[0]);
        let mut batches = libm::ceil(volume / most - 1e-9).max(1.0);
        let pot_life = material.pot_life.as_ref().map(|p| p.value);
        let hands = |batches: f64| HANDS + POURING * volume / batches;
        // More batches take less time each, down to the time for stirring.
        if let Some(pot_life) = pot_life
            && pot_life > HANDS
        {
            batches = batches.max(libm::ceil(POURING * volume / (pot_life - HANDS) - 1e-9));
        }
        let each = volume / batches;
        Some(Silicone {
            exact,
            mixed,
            parts: material.mix.as_ref().map(|mix| {
                parts(
                    mixed,
                    mix.value,
                    [&material.density_a, &material.density_b]
                        .map(|d| d.as_ref().map_or(density, |d| d.value)),
                )
            }),
            cup: STIRRING_ROOM * each,
            vacuum: VACUUM_ROOM.map(|room| room * each),
            batches: batches as usize,
            hands: hands(batches),
            in_pot_life: pot_life.map(|p| hands(batches) <= p + 1e-9),
            cost: material
                .price
                .as_ref()
                .map(|p| p.value.of(mixed.mass, mixed.volume)),
        })
    }
}

/// Parts A and B of a mixture: of its mass if they are weighed, of its volume if they are
/// measured, each turned into the other by its own density.
#[must_use]
pub fn parts(mixed: Part, mix: Mix, density: [f64; 2]) -> [Part; 2] {
    let sum = mix.parts[0] + mix.parts[1];
    [0, 1].map(|i| {
        let share = mix.parts[i] / sum;
        match mix.by {
            By::Weight => Part {
                mass: mixed.mass * share,
                volume: mixed.mass * share / density[i],
            },
            By::Volume => Part {
                mass: mixed.volume * share * density[i],
                volume: mixed.volume * share,
            },
        }
    })
}

/// What goes into the plastic.
#[derive(Clone, Debug, PartialEq)]
pub struct Additive {
    /// What it is.
    pub name: String,
    /// Parts by weight to 100 of plastic.
    pub parts: f64,
    /// Density, g/cm³, if known; else it is taken as that of the plastic.
    pub density: Option<f64>,
}

/// A run of baits, as it is asked for.
#[derive(Clone, Debug, PartialEq)]
pub struct Run {
    /// Baits that are wanted.
    pub baits: usize,
    /// Baits that one mould gives at a time.
    pub cavities: usize,
    /// Plastic in the baits of one shot, ml.
    pub bait: f64,
    /// Plastic that one shot takes with sprue, runners and vents, ml.
    pub shot: f64,
    /// Share of baits that come out badly.
    pub scrap: f64,
    /// Share of sprues and bad baits that is melted again.
    pub remelt: f64,
    /// What stays in the cup or the injector, as a share of what is poured.
    pub residue: f64,
    /// What goes into the plastic.
    pub additives: Vec<Additive>,
    /// What the injector holds, ml, if there is one.
    pub injector: Option<f64>,
}

/// What a run takes.
#[derive(Clone, Debug, PartialEq)]
pub struct Plastic {
    /// Density with everything in it, g/cm³.
    pub density: f64,
    /// One bait.
    pub bait: Part,
    /// One shot, with sprue, runners and vents.
    pub shot: Part,
    /// Shots of the run, bad ones included.
    pub shots: usize,
    /// All that is poured, with what stays in the cup.
    pub poured: Part,
    /// What comes back as sprues and bad baits.
    pub back: Part,
    /// What has to be fresh, if what comes back is melted again as far as asked for. The
    /// last shot's sprue comes back too late.
    pub fresh: Part,
    /// Each additive in the fresh plastic, g.
    pub additives: Vec<(String, f64)>,
    /// Plastic without additives in the fresh, g.
    pub base: f64,
    /// Fillings of the injector for one shot.
    pub strokes: Option<usize>,
    /// Cost of the fresh plastic (not of additives), if the price is known.
    pub cost: Option<f64>,
}

impl Plastic {
    /// What a run takes of a plastic. `None` for one without density.
    #[must_use]
    pub fn of(run: &Run, material: &Material) -> Option<Self> {
        let plain = material.density.as_ref()?.value;
        let added: f64 = run.additives.iter().map(|a| a.parts).sum();
        let stirred = run.additives.iter();
        let stirred = stirred.map(|a| (a.parts, a.density.unwrap_or(plain)));
        let density = mixture([(100.0, plain)].into_iter().chain(stirred));
        let part = |volume: f64| Part {
            mass: volume * density,
            volume,
        };
        let cavities = run.cavities.max(1);
        let good = 1.0 - run.scrap;
        let shots = libm::ceil(run.baits as f64 / good / cavities as f64 - 1e-9).max(1.0);
        let poured = shots * run.shot * (1.0 + run.residue);
        let channels = run.shot - run.bait;
        let spare = (shots * run.bait - run.baits as f64 * run.bait / cavities as f64).max(0.0);
        let back = shots * channels + spare;
        let last = channels;
        let fresh = poured - run.remelt * (back - last).max(0.0);
        let base = fresh * density * 100.0 / (100.0 + added);
        Some(Plastic {
            density,
            bait: part(run.bait / cavities as f64),
            shot: part(run.shot),
            shots: shots as usize,
            poured: part(poured),
            back: part(back),
            fresh: part(fresh),
            additives: run
                .additives
                .iter()
                .map(|a| (a.name.clone(), base * a.parts / 100.0))
                .collect(),
            base,
            strokes: run
                .injector
                .map(|size| libm::ceil(run.shot / size - 1e-9).max(1.0) as usize),
            cost: material
                .price
                .as_ref()
                .map(|p| p.value.of(base, base / plain)),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::materials::{FLUID_OUNCE, MaterialFile, OUNCE};

    fn material(facts: &str) -> Material {
        let text = format!("[[material]]\nname = \"m\"\nkind = \"silicone\"\n{facts}");
        MaterialFile::read(&text).unwrap().material[0]
            .read()
            .unwrap()
    }

    fn near(found: f64, expected: f64) {
        assert!(
            (found - expected).abs() < 1e-4 * expected.abs().max(1e-3),
            "{found} {expected}"
        );
    }

    #[test]
    fn silicone_by_hand_sums() {
        // 120 ml at 1.18 g/cm³, 10:1 by weight: 141.6 g, of it 10/11 and 1/11.
        let m = material("density = \"1.18 g/cm3\"\nmix = \"10:1 by weight\"");
        let s = Silicone::of(120.0, 0.0, None, &m).unwrap();
        near(s.mixed.mass, 141.6);
        let [a, b] = s.parts.unwrap();
        near(a.mass, 128.7273);
        near(b.mass, 12.8727);
        near(a.volume + b.volume, 120.0);
        // "10 % of A" is not 10 % of the mixture: 9.09 %.
        near(b.mass / s.mixed.mass, 0.090909);
        // 100:3 of the same.
        let m = material("density = \"1.18 g/cm3\"\nmix = \"100:3 by weight\"");
        let [a, b] = Silicone::of(120.0, 0.0, None, &m).unwrap().parts.unwrap();
        near(a.mass, 137.4757);
        near(b.mass, 4.1243);
        // 1:1 by volume: 60 ml each, weighed by their own densities.
        let m = material(
            "density = \"1.1 g/cm3\"\ndensity_a = \"1.15 g/cm3\"\ndensity_b = \"1.05 g/cm3\"\n\
             mix = \"1:1 by volume\"\nprice = \"30 EUR/kg\"",
        );
        let s = Silicone::of(120.0, 0.0, None, &m).unwrap();
        let [a, b] = s.parts.unwrap();
        near(a.volume, 60.0);
        near(b.volume, 60.0);
        near(a.mass, 69.0);
        near(b.mass, 63.0);
        near(s.cost.unwrap(), 3.96);
        // A tenth for the cup; three to five times the volume under vacuum.
        let s = Silicone::of(100.0, 0.1, None, &m).unwrap();
        near(s.mixed.volume, 110.0);
        near(s.vacuum[0], 330.0);
        near(s.vacuum[1], 550.0);
        assert_eq!(s.batches, 1);
        // A container of 200 ml holds batches of a third of that.
        let s = Silicone::of(100.0, 0.1, Some(200.0), &m).unwrap();
        assert_eq!(s.batches, 2);
        near(s.vacuum[0], 165.0);
    }

    #[test]
    fn a_large_pour_is_parted_to_stay_within_its_pot_life() {
        // 2000 ml take 20 min to pour and 10 to stir: more than 20 min, so two batches.
        let m = material("density = \"1.1 g/cm3\"\npot_life = \"20 min\"");
        let s = Silicone::of(2000.0, 0.0, None, &m).unwrap();
        assert_eq!((s.batches, s.in_pot_life), (2, Some(true)));
        let m = material("density = \"1.1 g/cm3\"\npot_life = \"6 min\"");
        let s = Silicone::of(50.0, 0.0, None, &m).unwrap();
        assert_eq!((s.batches, s.in_pot_life), (1, Some(false)));
    }

    #[test]
    fn plastic_by_hand_sums() {
        let m = material("density = \"1.05 g/cm3\"\nprice = \"12 EUR/kg\"");
        let mut run = Run {
            baits: 18,
            cavities: 1,
            bait: 10.0,
            shot: 14.0,
            scrap: 0.1,
            remelt: 1.0,
            residue: 0.0,
            additives: Vec::new(),
            injector: Some(4.0 * FLUID_OUNCE),
        };
        let p = Plastic::of(&run, &m).unwrap();
        // 18 good of 20; 20 x 14 ml; back come 20 sprues of 4 ml and two baits of 10.
        assert_eq!((p.shots, p.strokes), (20, Some(1)));
        near(p.poured.volume, 280.0);
        near(p.back.volume, 100.0);
        // The last sprue comes too late: 280 − (100 − 4) ml at 1.05 g/cm³.
        near(p.fresh.mass, 184.0 * 1.05);
        near(p.cost.unwrap(), 0.1932 * 12.0);
        near(p.bait.mass / OUNCE, 10.5 / 28.349523);
        // Nothing melted again: all of it fresh.
        run.remelt = 0.0;
        near(Plastic::of(&run, &m).unwrap().fresh.volume, 280.0);
        // 3 parts of flakes of 1.4 and 5 of softener of 0.97 to 100 of 1.05.
        run.additives = [("flakes", 3.0, 1.4), ("softener", 5.0, 0.97)]
            .map(|(name, parts, density)| Additive {
                name: name.into(),
                parts,
                density: Some(density),
            })
            .to_vec();
        let p = Plastic::of(&run, &m).unwrap();
        // 108 g in 95.23810 + 2.14286 + 5.15464 ml.
        near(p.density, 108.0 / 102.535_60);
        near(
            p.base + p.additives.iter().map(|a| a.1).sum::<f64>(),
            p.fresh.mass,
        );
        near(p.additives[0].1 / p.base, 0.03);
        // Two baits a shot, an injector that is too small for one.
        run = Run {
            cavities: 2,
            bait: 20.0,
            shot: 28.0,
            injector: Some(20.0),
            ..run
        };
        let p = Plastic::of(&run, &m).unwrap();
        assert_eq!((p.shots, p.strokes), (10, Some(2)));
        near(p.bait.volume, 10.0);
    }
}
