//! The short account of a kit that is printed after it was made.

use std::fmt::Write;
use std::path::Path;

use baitwright::casting::Day;
use baitwright::casting::schedule::show as show_time;
use baitwright::kit::{Kit, KitFile, MANIFEST, SeatEntry, WaterEntry};
use baitwright::quantity::LengthUnit;
use baitwright::spec::{BodyEnd, Parting, Route};

/// What the kit holds, in the maker's units; `folder` is where it was written, if it was.
pub(super) fn of(kit: &Kit, folder: Option<&Path>) -> String {
    let mut out = String::new();
    // Writing into a string cannot fail.
    let _ = write(&mut out, kit, folder);
    out
}

fn write(out: &mut String, kit: &Kit, folder: Option<&Path>) -> std::fmt::Result {
    let (bait, mould) = (&kit.manifest.bait, &kit.manifest.mould);
    let unit = kit.design.units;
    let sizes = |of: &[f64]| {
        let shown: Vec<String> = of.iter().map(|&mm| show(unit, mm)).collect();
        shown.join(" x ")
    };
    writeln!(out, "{}", kit.manifest.name)?;
    let [length, width, height] = bait.overall_mm;
    let alone = (length - bait.length_mm).abs() < 0.01;
    let shape = if bait.round && alone { ", round" } else { "" };
    let size = sizes(&[length, height, width]);
    writeln!(out, "  bait     {size} (length, height, width){shape}")?;
    if !alone {
        let trunk = sizes(&[bait.length_mm, bait.height_mm, bait.width_mm]);
        let shape = if bait.round { ", round" } else { "" };
        writeln!(out, "           of which the body {trunk}{shape}")?;
    }
    writeln!(out, "           {:.2} ml of plastic", bait.volume_ml)?;
    if bait.collar_length_mm > 0.0 {
        let length = show(unit, bait.collar_length_mm);
        writeln!(out, "           {length} of collar behind it, a core print")?;
    }
    if let Some(allow) = &kit.manifest.allowances {
        for (what, steps, scale) in [
            ("cavity", &allow.cavity, allow.cavity_scale),
            ("master", &allow.master, allow.master_scale),
        ] {
            writeln!(out, "  {what}   x {scale:.6} of the bait:")?;
            for step in steps {
                let what = &step.what;
                if step.inset_mm > 0.0 {
                    let off = step.inset_mm;
                    writeln!(out, "           {what}: {off:.3} mm off all round")?;
                } else {
                    writeln!(out, "           {what}: x {:.6}", step.scale)?;
                }
            }
        }
    }
    let print = kit.design.allowances.print_scale();
    if mould.route != Route::Block
        && print > 1.0
        && let Some(allow) = &kit.manifest.allowances
    {
        let scale = allow.cavity_scale;
        writeln!(
            out,
            "  printed  x {:.6} of the bait, for the mould:",
            scale * print
        )?;
        writeln!(out, "           the cavity, as above: x {scale:.6}")?;
        writeln!(out, "           shrinkage of the print: x {print:.6}")?;
    }
    for r in &kit.manifest.readings {
        let part = |what: &str, (size, off, others): (Option<f64>, Option<f64>, Option<f64>)| {
            let (Some(size), Some(off)) = (size, off) else {
                return String::new();
            };
            let others = others.map_or(String::new(), |others| {
                format!("; by the others {}", show(unit, others))
            });
            format!(", {what} {} ({off:+.3} mm{others})", show(unit, size))
        };
        let tall = (r.height_mm, r.height_off_mm, r.height_by_others_mm);
        let wide = (r.width_mm, r.width_off_mm, r.width_by_others_mm);
        let sizes = if tall == wide {
            part("diameter", tall)
        } else {
            part("height", tall) + &part("width", wide)
        };
        writeln!(out, "  reading  at {}{sizes}", show(unit, r.at_mm))?;
    }
    let (plane, halves) = match mould.parting {
        Parting::Flank => ("flank", "left and right"),
        Parting::Waist => ("waist", "back and belly"),
    };
    let end = match mould.sprue_end {
        BodyEnd::Nose => "nose",
        BodyEnd::Tail => "tail",
    };
    let block = &mould.block;
    let size = sizes(&[block.length_mm, block.width_mm, block.thickness_mm]);
    writeln!(
        out,
        "  mould    {size} closed; opens along the {plane}, {halves} half"
    )?;
    if let Some([low, high]) = mould.face_mm {
        let way = match &mould.face_follows[..] {
            [] => "follows the bowed spine".to_owned(),
            fins => format!("is no plane, with steps for {}", fins.join(", ")),
        };
        writeln!(
            out,
            "           its parting face {way}, {} to {} over the axis",
            show(unit, low),
            show(unit, high)
        )?;
    }
    if mould.cavities > 1 {
        writeln!(out, "           {} baits at once", mould.cavities)?;
    }
    for other in &mould.beside {
        let (count, name) = (other.cavities, &other.name);
        writeln!(out, "           of which {count} {name}")?;
        if !other.seats.is_empty() {
            let seats = seats(&other.seats, unit);
            writeln!(out, "           its seats: {seats}")?;
        }
    }
    let gate = show(unit, mould.gate_mm);
    writeln!(
        out,
        "           {} keys, {}, sprue at the {end} with a gate of {gate}",
        mould.keys,
        counted(mould.vents, "vent")
    )?;
    if !mould.seats.is_empty() {
        let seats = seats(&mould.seats, unit);
        writeln!(out, "           seats: {seats}")?;
    }
    writeln!(
        out,
        "           {:.2} ml fill it (bait, sprue and vents); {:.0} ml of material in the halves",
        mould.filling_ml, mould.halves_ml
    )?;
    if let Some([first, second]) = mould.silicone_ml {
        writeln!(
            out,
            "           {first:.0} ml of silicone for the first half, {second:.0} ml for the other"
        )?;
    }
    let (opening, air) = (&kit.manifest.opening, &kit.manifest.air);
    let opens = match opening.undercuts.len() {
        0 => "both halves come away freely".to_owned(),
        1 => format!("one undercut of {}", show(unit, opening.deepest_mm)),
        count => format!(
            "{count} undercuts, the deepest {}",
            show(unit, opening.deepest_mm)
        ),
    };
    let held: f64 = air.held.iter().map(|t| t.volume_mm3).sum();
    let breathes = match air.held.len() {
        0 => "no air stays as it is poured".to_owned(),
        1 => format!("air stays at one place, {held:.1} mm³"),
        count => format!("air stays at {count} places, {held:.1} mm³ in all"),
    };
    writeln!(out, "           {opens}; {breathes}")?;
    water(out, &kit.manifest.water, unit)?;
    if let Some(day) = &kit.manifest.casting {
        casting(out, day)?;
    }
    writeln!(out, "  files")?;
    for file in &kit.files {
        writeln!(out, "    {}", line(file))?;
    }
    writeln!(out, "    {MANIFEST}")?;
    if let Some(folder) = folder {
        writeln!(out, "  in {}", folder.join("").display())?;
    } else {
        writeln!(out, "  nothing was written: `make` writes these")?;
    }
    for note in &kit.manifest.notes {
        writeln!(out, "  note: {note}")?;
    }
    Ok(())
}

/// Mass, hang and sink.
fn water(out: &mut String, water: &WaterEntry, unit: LengthUnit) -> std::fmt::Result {
    let kind = if water.salinity == 0.0 {
        "fresh water".to_owned()
    } else {
        format!("water of salinity {}", water.salinity)
    };
    writeln!(
        out,
        "  water    {:.2} g, {:.2} g of it plastic of {:.3} g/ml; weighs {:.2} g in {kind} at {} °C",
        water.mass_g,
        water.plastic_g,
        water.plastic_density_g_ml,
        water.weight_in_water_g,
        water.temperature_celsius
    )?;
    for (how, hang) in [
        ("free", water.hang_free),
        ("on the line", water.hang_on_line),
    ] {
        let Some(hang) = hang else { continue };
        let over = if hang.belly_up { ", belly up" } else { "" };
        let moved = match (hang.moved_by_half_mm_degrees, hang.moved_by_tenth_g_degrees) {
            (Some(mm), Some(g)) => format!(" (0.5 mm of error: {mm:.1}°, 0.1 g: {g:.1}°)"),
            _ => String::new(),
        };
        let angle = hang.nose_down_degrees;
        writeln!(
            out,
            "           at rest {how}: {}{over}{moved}",
            nose(angle)
        )?;
    }
    match &water.sink {
        None => writeln!(out, "           it floats")?,
        Some(sink) => {
            // The band is no finer than this.
            let speed = sink.speed_mm_s.map(|mm| show(unit, mm.round()));
            let time = sink.time_to_one_metre_s;
            writeln!(
                out,
                "           sinks {} a second ({} to {}), {}; {:.1} s to {} ({:.1} to {:.1})",
                speed[1],
                speed[0],
                speed[2],
                nose_band(sink.nose_down_degrees),
                time[1],
                show(unit, 1000.0),
                time[0],
                time[2]
            )?;
        }
    }
    if let Some(weight) = &water.wanted_weight {
        let size = [
            weight.diameter_mm,
            weight.at_mm,
            weight.height_mm,
            weight.skin_mm,
        ]
        .map(|mm| show(unit, mm));
        writeln!(
            out,
            "           wanted sink: {:.2} g, {} across, at {} from the nose and {} above the axis, {} under \
             the skin",
            weight.mass_g, size[0], size[1], size[2], size[3]
        )?;
        for stock in &weight.stock {
            let does = match (stock.time_s, stock.nose_down_degrees) {
                (Some(time), Some(angle)) => format!("{time:.1} s, {}", nose(angle)),
                _ => "floats".to_owned(),
            };
            writeln!(out, "             {} there: {does}", stock.name)?;
        }
    }
    if let Some(wire) = &water.wire {
        let (thick, cut) = (show(unit, wire.diameter_mm), show(unit, wire.cut_mm));
        writeln!(out, "           wire of {thick}: cut {cut}")?;
    }
    Ok(())
}

/// An attitude in words.
fn nose(down: f64) -> String {
    match down {
        d if d.abs() < 0.5 => "level".to_owned(),
        d if d > 0.0 => format!("{d:.0}° nose down"),
        d => format!("{:.0}° tail down", -d),
    }
}

/// An attitude of which the model gives a band, in words.
fn nose_band([least, middle, most]: [f64; 3]) -> String {
    // Closer than this, one angle says it.
    const WIDE: f64 = 3.0;
    if most - least < WIDE {
        return nose(middle);
    }
    match (least, most) {
        (least, most) if least > -0.5 => format!("{:.0}° to {most:.0}° nose down", least.max(0.0)),
        (least, most) if most < 0.5 => {
            format!("{:.0}° to {:.0}° tail down", (-most).max(0.0), -least)
        }
        (least, most) => format!("{} to {}", nose(least), nose(most)),
    }
}

/// The casting day in a few lines; the build sheet has the rest.
fn casting(out: &mut String, day: &Day) -> std::fmt::Result {
    for s in &day.silicone {
        let parts = match s.parts_g {
            Some([a, b]) => format!(": {a:.1} g of A, {b:.1} g of B"),
            None => String::new(),
        };
        writeln!(
            out,
            "  mix      {:.0} ml ({:.1} g) of silicone for the {} half{parts}",
            s.mixed_ml, s.mixed_g, s.half
        )?;
    }
    let p = &day.plastic;
    writeln!(
        out,
        "  cast     {} baits in {} shots of {:.1} ml ({:.1} g): heat {:.0} ml ({:.0} g) in all",
        day.baits, p.shots, p.shot_ml, p.shot_g, p.poured_ml, p.poured_g
    )?;
    if let Some(c) = &day.cooling {
        writeln!(
            out,
            "           cool {}{}; {} in all",
            show_time(c.first_s),
            if day.moulds * 10 <= p.shots {
                format!(", from the tenth shot {}", show_time(c.tenth_s))
            } else {
                String::new()
            },
            show_time(day.total_s)
        )?;
    }
    for warning in &day.warnings {
        writeln!(out, "  caution: {warning}")?;
    }
    Ok(())
}

fn line(file: &KitFile) -> String {
    let size = file.bytes.len().div_ceil(1024);
    match file.solid {
        Some(solid) => format!(
            "{:<18}{size:>6} kB{:>8} triangles{:>10.2} ml",
            file.path,
            solid.triangles,
            solid.volume / 1000.0
        ),
        None => format!("{:<18}{size:>6} kB", file.path),
    }
}

fn counted(count: usize, what: &str) -> String {
    let s = if count == 1 { "" } else { "s" };
    format!("{count} {what}{s}")
}

fn show(unit: LengthUnit, mm: f64) -> String {
    unit.show(mm)
}

/// What the seats of one bait hold, and where.
fn seats(entries: &[SeatEntry], unit: LengthUnit) -> String {
    let seats: Vec<String> = entries
        .iter()
        .map(|seat| match (seat.pins, seat.land_mm) {
            (Some(pins), _) => format!("{} on {pins} pins", seat.holds),
            (None, Some(land)) => format!(
                "{} {} from the nose, {} long",
                seat.holds,
                show(unit, seat.at_mm[0]),
                show(unit, land)
            ),
            (None, None) if seat.in_sprue => format!("{} in the sprue", seat.holds),
            (None, None) => {
                format!("{} {} from the nose", seat.holds, show(unit, seat.at_mm[0]))
            }
        })
        .collect();
    seats.join("; ")
}
