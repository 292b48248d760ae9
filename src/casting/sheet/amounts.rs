//! The sheet's tables: amounts, temperatures, times.

use super::super::day::{Day, SiliconeAmount};
use super::{LEAST_CUP, Subject, Table, both_masses, both_volumes, counted, grams, show};
use crate::materials::Class;
use crate::quantity::LengthUnit;
use crate::spec::{Design, Route};

/// What has to be at hand.
pub(super) fn needed(subject: &Subject<'_>) -> Vec<String> {
    let Subject {
        design, day, mould, ..
    } = *subject;
    let units = design.units;
    let cast = &design.cast;
    let mut list = Vec::new();
    let prints = match mould.route {
        Route::Block if cast.block.class == Class::Resin => Some("halves"),
        Route::Block => None,
        Route::Boxes if design.mould.sheet_walls => Some("floors of the boxes"),
        Route::Boxes => Some("boxes"),
        Route::Board => Some("board, formers and frame, and the master"),
    };
    if let Some(prints) = prints {
        list.push(format!("The printed {prints}."));
    }
    list.extend(joining(subject));
    let of_silicone: f64 = day.silicone.iter().map(|s| s.mixed_g).sum();
    if of_silicone > 0.0 {
        let moulds = day.moulds as f64;
        let each = if day.moulds > 1 {
            format!(
                ", {} for each of {} moulds",
                grams(units, of_silicone),
                day.moulds
            )
        } else {
            String::new()
        };
        list.push(format!(
            "Silicone, {}: {} in all{each}; cups, a scale, release agent, a spirit level.",
            cast.silicone.name,
            grams(units, moulds * of_silicone)
        ));
    }
    let p = &day.plastic;
    let plain = cast.plastic.density.as_ref();
    let plain = plain.map_or(p.density_g_per_ml, |d| d.value);
    let fresh = if p.fresh_g < 0.999 * p.poured_g {
        " fresh"
    } else {
        ""
    };
    list.push(format!(
        "Plastic, {}: {}{fresh} ({}){}.",
        p.material,
        grams(units, p.base_g),
        both_volumes(p.base_g / plain),
        p.additives
            .iter()
            .map(|a| format!("; {}: {}", a.name, grams(units, a.mass_g)))
            .collect::<String>()
    ));
    let metal: Vec<String> = subject.rig.inserts.iter().map(|i| i.path.clone()).collect();
    if !metal.is_empty() {
        list.push(format!(
            "For each of {}, and some to spare: {}.",
            counted(p.shots * mould.own(), "bait"),
            super::in_words(&metal.join(", "))
        ));
    }
    for other in mould
        .beside
        .iter()
        .filter(|other| !other.inserts.is_empty())
    {
        list.push(format!(
            "For each of {} of {}, and some to spare: {}.",
            counted(p.shots * other.count, "bait"),
            other.name,
            super::in_words(&other.inserts.join(", "))
        ));
    }
    let cores = |each: usize, baits: usize| {
        let times = match baits {
            1 => String::new(),
            _ => format!("; its file holds those of one bait: print it {baits} times"),
        };
        format!("{}{times}", counted(each * baits, "piece"))
    };
    if !subject.made.cores.is_empty() {
        list.push(format!(
            "Loose cores, {}.",
            cores(subject.made.cores.len(), mould.own())
        ));
    }
    for other in mould.beside.iter().filter(|other| other.cores > 0) {
        list.push(format!(
            "Loose cores of {}, {}.",
            other.name,
            cores(other.cores, other.count)
        ));
    }
    list.push(
        "A heat-proof cup of glass or steel, a stirrer, a thermometer that reads in the plastic, \
         gloves, goggles, moving air, a lid or sand against fire."
            .to_owned(),
    );
    let holding = match (mould.route, design.mould.bolts, design.mould.bands) {
        (Route::Block, Some(thread), _) => {
            format!(
                "{} {thread:?} bolts with nuts and washers.",
                mould.holding.bolts.len()
            )
        }
        (Route::Block, None, true) => "Rubber bands for the block's grooves.".to_owned(),
        (Route::Block, None, false) => "Clamps.".to_owned(),
        (_, _, true) => "Two backing plates, cut by pattern.svg, and rubber bands.".to_owned(),
        (_, _, false) => "Two stiff boards and clamps or screws.".to_owned(),
    };
    list.push(holding);
    if mould.route == Route::Boxes && design.mould.sheet_walls {
        list.push(format!(
            "Sheet of {} for the walls of the boxes, tape, sulphur-free wax.",
            design.units.show(design.mould.sheet)
        ));
    }
    if day.plastic.strokes_per_shot.is_some() || design.mould.nozzle_radius.is_some() {
        list.push("The injector.".to_owned());
    }
    if let Some(cost) = &day.cost {
        list.push(format!(
            "What has a price comes to {cost}: {}.",
            match (
                p.cost_per_bait.is_some(),
                day.silicone.iter().any(|s| s.cost.is_some())
            ) {
                (true, true) => "plastic and silicone",
                (true, false) => "plastic",
                _ => "silicone",
            }
        ));
    }
    list
}

/// Dowels and glue for parts that come in pieces.
fn joining(subject: &Subject<'_>) -> Option<String> {
    let show = |mm: f64| subject.design.units.show(mm);
    let mut kinds: Vec<(f64, f64, usize)> = Vec::new();
    for part in subject.parts.iter().filter(|part| part.dowels() > 0) {
        match kinds.iter_mut().find(|kind| kind.0 == part.dowel) {
            Some(kind) => kind.2 += part.dowels(),
            None => kinds.push((part.dowel, part.dowel_length(), part.dowels())),
        }
    }
    let dowels: Vec<String> = kinds
        .iter()
        .map(|&(thick, long, count)| {
            format!(
                "{count} dowels of {}, {} long at most",
                show(thick),
                show(long)
            )
        })
        .collect();
    (!dowels.is_empty()).then(|| {
        format!(
            "To join printed pieces: {}; glue that stands the heat of its use.",
            dowels.join(", ")
        )
    })
}

/// Silicone, plastic, wire.
pub(super) fn of(subject: &Subject<'_>) -> Vec<Table> {
    let Subject { design, day, .. } = *subject;
    let mut tables: Vec<Table> = day
        .silicone
        .iter()
        .map(|s| silicone(s, day.moulds))
        .collect();
    tables.push(plastic(design, day));
    tables.extend(wire(subject));
    tables
}

fn plastic(design: &Design, day: &Day) -> Table {
    let p = &day.plastic;
    let units = design.units;
    let mut table = Table::new(format!(
        "Plastic: {} for {}",
        p.material,
        counted(p.shots, "shot")
    ));
    table.row(
        "One bait",
        grams(units, p.bait_g),
        format!(
            "{:.2} ml, {:.3} oz of plastic of {:.3} g/ml",
            p.bait_ml, p.bait_oz, p.density_g_per_ml
        ),
    );
    for other in &p.beside {
        table.row(
            format!("One {}", other.name),
            grams(units, other.bait_g),
            format!("{:.2} ml, {} in a shot", other.bait_ml, other.cavities),
        );
    }
    if let Some(g) = p.rigged_g {
        table.row(
            "The same rigged",
            grams(units, g),
            "with everything in and on it",
        );
    }
    table.row("One shot", both_volumes(p.shot_ml), both_masses(p.shot_g));
    let cast = &design.cast;
    table.row(
        "Heat in all",
        both_volumes(p.poured_ml),
        format!(
            "{}; {:.0} % of the baits may come out badly, {:.0} % stays in cups{}",
            both_masses(p.poured_g),
            100.0 * cast.scrap,
            100.0 * cast.waste,
            if p.poured_ml < LEAST_CUP {
                format!("; less than {LEAST_CUP} ml scorches before a thermometer reads in it")
            } else {
                String::new()
            }
        ),
    );
    if p.fresh_g < 0.999 * p.poured_g {
        table.row(
            "Of it fresh",
            grams(units, p.fresh_g),
            "the rest is melted again on the way",
        );
    }
    for a in &p.additives {
        let per_cup = 100.0 * a.mass_g / p.fresh_ml;
        table.row(
            &a.name,
            grams(units, a.mass_g),
            format!(
                "into {} of plain plastic; {per_cup:.2} g to 100 ml of the mixture",
                grams(units, p.base_g)
            ),
        );
    }
    if let Some(strokes) = p.strokes_per_shot {
        table.row("Injector fillings", strokes.to_string(), "for one shot");
    }
    if let Some(cost) = &p.cost_per_bait {
        table.row(
            "Plastic of a bait",
            cost,
            "sprues and scrap included, additives not",
        );
    }
    table
}

fn silicone(s: &SiliconeAmount, moulds: usize) -> Table {
    let mut table = Table::new(format!(
        "Silicone, {} half{}: {}",
        s.half,
        match moulds {
            1 => String::new(),
            n => format!(" of one mould; {n} are wanted"),
        },
        s.material
    ));
    let n = s.batches as f64;
    let each = if s.batches == 1 { "" } else { " of each batch" };
    table.row(
        "Mix",
        format!("{:.1} g", s.mixed_g / n),
        format!(
            "{}{}; the mould takes {:.0} ml",
            both_volumes(s.mixed_ml / n),
            match s.batches {
                1 => String::new(),
                n => format!(", {n} times, one after the other"),
            },
            s.exact_ml
        ),
    );
    if let (Some(g), Some(ml)) = (s.parts_g, s.parts_ml) {
        for (part, i) in [("Part A", 0), ("Part B", 1)] {
            let (g, ml) = (format!("{:.1} g", g[i] / n), format!("{:.1} ml", ml[i] / n));
            let (large, small) = if s.by_volume { (ml, g) } else { (g, ml) };
            table.row(format!("{part}{each}"), large, format!("or {small}"));
        }
    }
    let vacuum = match s.container_ml {
        Some(own) => format!("your {own:.0} ml are {:.1} times it", own * n / s.mixed_ml),
        None => format!("{:.0} to {:.0} ml", s.vacuum_ml[0], s.vacuum_ml[1]),
    };
    table.row(
        "Cup",
        format!("{:.0} ml", s.cup_ml),
        format!("to stir it in; under vacuum it rises three to five times: {vacuum}"),
    );
    if let Some(life) = s.pot_life_s {
        table.row(
            "Pot life",
            show(life),
            format!("stirring and pouring take about {}", show(s.hands_s)),
        );
    }
    if let Some(cost) = &s.cost {
        table.row("Cost", cost, "of this half");
    }
    table
}

fn wire(subject: &Subject<'_>) -> Option<Table> {
    let plan = subject.rig.wire.as_ref()?;
    let show = |mm: f64| subject.design.units.show(mm);
    let mut table = Table::new(format!("Wire of {}", show(plan.diameter)));
    table.row("Cut", show(plan.cut), "along the middle of the wire");
    for &(at, what) in &plan.marks {
        table.row("Mark at", show(at), what);
    }
    Some(table)
}

/// Temperatures, times, days.
pub(super) fn times(design: &Design, day: &Day) -> Vec<Table> {
    let length = |mm: f64| match design.units {
        LengthUnit::In => design.units.show(mm),
        LengthUnit::Mm | LengthUnit::Cm => format!("{mm:.1} mm"),
    };
    let mut heat = Table::new("Temperatures, and where each is from");
    for t in &day.temperatures {
        let more = format!("{:.0} °F; {}", t.celsius * 1.8 + 32.0, t.source);
        heat.row(&t.what, format!("{:.0} °C", t.celsius), more);
    }
    let mut times = Table::new("Times");
    let f = &day.filling;
    if let (Some([thin, thick]), Some([low, high])) = (f.poured_s, f.viscosity_pa_s) {
        let more = format!(
            "at the quickest, for plastic as thin as oil ({low} Pa s), the funnel kept full; up to {} as \
             thick as honey ({high} Pa s)",
            show(thick)
        );
        times.row("Fills in", show(thin), more);
    }
    if let (Some([low, high]), Some(seconds)) = (f.pressure_kpa, f.injected_s) {
        let more = format!(
            "to {high:.1} kPa drives a shot in within {}, thin as oil to thick as honey",
            show(seconds)
        );
        times.row("Injector", format!("{low:.1} kPa"), more);
    }
    if let Some(c) = &day.cooling {
        let wall = format!(
            "the thickest section, {} of {} round it, still air; until the middle may be touched",
            length(c.wall_mm),
            c.wall
        );
        times.row("Cool, first shot", show(c.first_s), wall);
        let rounds = day.plastic.shots.div_ceil(day.moulds.max(1));
        if rounds > 1 {
            times.row("Second shot", show(c.second_s), "the mould is warm");
        }
        if rounds > 2 {
            let last = rounds.min(c.shots_s.len());
            let nth = match last {
                10 => "Tenth shot".to_owned(),
                3 => "Third shot".to_owned(),
                n => format!("{n}th shot"),
            };
            let more = if last == 10 {
                format!(
                    "the mould's face is at {:.0} °C before it",
                    c.face_before_tenth_c
                )
            } else {
                "the mould is warmer still".to_owned()
            };
            times.row(nth, show(c.shots_s[last - 1]), more);
        }
    }
    let mut days = Table::new("The days");
    for s in &day.schedule {
        let more = format!(
            "hands {}, waits {}{}",
            show(s.hands_s),
            show(s.waits_s),
            if s.overnight { "; overnight" } else { "" }
        );
        days.row(&s.what, show(s.hands_s + s.waits_s), more);
    }
    days.row("All of it", show(day.total_s), "without printing");
    vec![heat, times, days]
}
