//! The build sheet: one HTML page that holds everything, to read in the workshop on a phone or
//! on paper, without a network.

mod steps;

use std::fmt::Write;

use base64::Engine;
use base64::prelude::BASE64_STANDARD;

use super::day::{Day, SiliconeAmount};
use super::schedule::show;
use crate::materials::{FLUID_OUNCE, OUNCE};
use crate::mould::Mould;
use crate::spec::Design;

const STYLE: &str = include_str!("sheet.css");

/// A picture of the sheet.
#[derive(Clone, Copy, Debug)]
pub struct Picture<'a> {
    /// What stands under it.
    pub title: &'a str,
    /// What it shows, for those who cannot see it.
    pub alt: &'a str,
    /// The file.
    pub png: &'a [u8],
}

/// The build sheet as HTML. `overall` is the bait's length, width and height in mm; `has_cores`
/// says that loose cores stand in the mould; `notes` are what the kit says besides.
#[must_use]
pub fn html(
    design: &Design,
    day: &Day,
    mould: &Mould,
    overall: [f64; 3],
    has_cores: bool,
    pictures: &[Picture<'_>],
    notes: &[String],
) -> String {
    let mut out = String::new();
    // Writing into a string cannot fail.
    let _ = page(
        &mut out, design, day, mould, overall, has_cores, pictures, notes,
    );
    out
}

#[allow(clippy::too_many_arguments)] // Those of `html`.
fn page(
    out: &mut String,
    design: &Design,
    day: &Day,
    mould: &Mould,
    overall: [f64; 3],
    has_cores: bool,
    pictures: &[Picture<'_>],
    notes: &[String],
) -> std::fmt::Result {
    let name = escape(&design.name);
    write!(
        out,
        "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n\
         <title>{name}: build sheet</title>\n<style>\n{STYLE}</style>\n</head>\n<body>\n<main>\n\
         <h1>{name}: build sheet</h1>\n"
    )?;
    let length = |mm: f64| design.units.show(mm);
    let [l, w, h] = overall;
    writeln!(
        out,
        "<p>Bait {} long, {} high, {} wide. {} good baits, {} in one shot.</p>",
        length(l),
        length(h),
        length(w),
        day.baits,
        mould.cavities.len()
    )?;
    caution(
        out,
        "The data sheets of your plastic, silicone and resin, local rules on waste, fire and tackle, \
         and the advice of licensed practice come before anything on this sheet.",
    )?;
    if !day.warnings.is_empty() {
        writeln!(out, "<h2>First of all</h2>")?;
        for warning in &day.warnings {
            caution(out, warning)?;
        }
    }
    amounts(out, day)?;
    times(out, day)?;
    writeln!(out, "<h2>Pictures</h2>\n<div class=\"pictures\">")?;
    for picture in pictures {
        writeln!(
            out,
            "<figure><img alt=\"{}\" src=\"data:image/png;base64,{}\"><figcaption>{}</figcaption></figure>",
            escape(picture.alt),
            BASE64_STANDARD.encode(picture.png),
            escape(picture.title)
        )?;
    }
    writeln!(out, "</div>")?;
    let mut number = 0;
    for stage in steps::of(design, day, mould, has_cores) {
        writeln!(out, "<h2>{}</h2>", escape(&stage.title))?;
        for text in &stage.cautions {
            caution(out, text)?;
        }
        writeln!(out, "<ol class=\"steps\">")?;
        for step in &stage.steps {
            number += 1;
            writeln!(
                out,
                "<li><label><input type=\"checkbox\"> <span>{number}. {}</span></label></li>",
                escape(step)
            )?;
        }
        writeln!(out, "</ol>")?;
    }
    measured(out, design, day, overall)?;
    if !notes.is_empty() {
        writeln!(out, "<h2>What else to know</h2>\n<ul>")?;
        for note in notes {
            writeln!(out, "<li>{}</li>", escape(note))?;
        }
        writeln!(out, "</ul>")?;
    }
    writeln!(
        out,
        "<h2>Notes</h2>\n<p><label for=\"notes\">What went well, what to change</label></p>\n\
         <textarea id=\"notes\"></textarea>\n</main>\n</body>\n</html>"
    )
}

/// Text as it stands in HTML, within quotes too.
fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            c if c.is_control() && c != '\n' => out.push(' '),
            c => out.push(c),
        }
    }
    out
}

fn caution(out: &mut String, text: &str) -> std::fmt::Result {
    writeln!(
        out,
        "<p class=\"caution\"><strong>Caution:</strong> {}</p>",
        escape(text)
    )
}

/// A mass to weigh, to a tenth of a gram as kitchen scales show.
fn grams(g: f64) -> String {
    format!("{g:.1} g")
}

fn both_masses(g: f64) -> String {
    format!("{g:.1} g ({:.2} oz)", g / OUNCE)
}

fn both_volumes(ml: f64) -> String {
    // Two or three figures, whatever the size.
    let (of_ml, of_ounces) = if ml < 30.0 { (1, 2) } else { (0, 1) };
    let ounces = ml / FLUID_OUNCE;
    format!("{ml:.of_ml$} ml ({ounces:.of_ounces$} US fl oz)")
}

fn row(out: &mut String, head: &str, amount: &str, more: &str) -> std::fmt::Result {
    writeln!(
        out,
        "<tr><th scope=\"row\">{}</th><td class=\"amount\">{}</td><td>{}</td></tr>",
        escape(head),
        escape(amount),
        escape(more)
    )
}

fn amounts(out: &mut String, day: &Day) -> std::fmt::Result {
    writeln!(out, "<h2>Amounts</h2>")?;
    for s in &day.silicone {
        silicone(out, s, day.moulds)?;
    }
    let p = &day.plastic;
    writeln!(
        out,
        "<table><caption>Plastic: {} for {} shots</caption>",
        escape(&p.material),
        p.shots
    )?;
    row(
        out,
        "One bait",
        &grams(p.bait_g),
        &format!("{:.2} ml, {:.3} oz", p.bait_ml, p.bait_oz),
    )?;
    if let Some(g) = p.rigged_g {
        row(out, "Rigged", &grams(g), "with everything in and on it")?;
    }
    row(
        out,
        "One shot",
        &both_volumes(p.shot_ml),
        &both_masses(p.shot_g),
    )?;
    row(
        out,
        "Heat in all",
        &both_volumes(p.poured_ml),
        &format!(
            "{}, what stays in the cup included",
            both_masses(p.poured_g)
        ),
    )?;
    if p.fresh_g < 0.999 * p.poured_g {
        row(
            out,
            "Of it fresh",
            &grams(p.fresh_g),
            "the rest is melted again on the way",
        )?;
    }
    for a in &p.additives {
        let what = format!("into {} of plain plastic", grams(p.base_g));
        row(out, &a.name, &grams(a.mass_g), &what)?;
    }
    if let Some(strokes) = p.strokes_per_shot {
        row(
            out,
            "Injector fillings",
            &strokes.to_string(),
            "for one shot",
        )?;
    }
    if let Some(cost) = &p.cost_per_bait {
        row(
            out,
            "Plastic of a bait",
            cost,
            "sprues and scrap included, additives not",
        )?;
    }
    writeln!(out, "</table>")
}

fn silicone(out: &mut String, s: &SiliconeAmount, moulds: usize) -> std::fmt::Result {
    writeln!(
        out,
        "<table><caption>Silicone, {} half{}: {}</caption>",
        escape(&s.half),
        match moulds {
            1 => String::new(),
            n => format!(" of each of {n} moulds"),
        },
        escape(&s.material)
    )?;
    let of = if s.batches == 1 {
        String::new()
    } else {
        format!(" in {} equal batches", s.batches)
    };
    row(
        out,
        "Mix in all",
        &grams(s.mixed_g),
        &format!(
            "{}{of}; the mould takes {:.0} ml",
            both_volumes(s.mixed_ml),
            s.exact_ml
        ),
    )?;
    if let (Some(g), Some(ml)) = (s.parts_g, s.parts_ml) {
        for (part, i) in [("Part A", 0), ("Part B", 1)] {
            let (g, ml) = (grams(g[i]), format!("{:.1} ml", ml[i]));
            let (large, small) = if s.by_volume { (ml, g) } else { (g, ml) };
            row(out, part, &large, &format!("or {small}"))?;
        }
    }
    row(
        out,
        "Cup",
        &format!("{:.0} ml", s.cup_ml),
        &format!(
            "to stir {} in; under vacuum it rises: {:.0} to {:.0} ml",
            if s.batches == 1 { "it" } else { "one batch" },
            s.vacuum_ml[0],
            s.vacuum_ml[1]
        ),
    )?;
    if let Some(cost) = &s.cost {
        row(out, "Cost", cost, "")?;
    }
    writeln!(out, "</table>")
}

fn times(out: &mut String, day: &Day) -> std::fmt::Result {
    writeln!(out, "<h2>Temperatures and times</h2>")?;
    writeln!(
        out,
        "<table><caption>Temperatures, and where each is from</caption>"
    )?;
    for t in &day.temperatures {
        let both = format!("{:.0} °C", t.celsius);
        let more = format!("{:.0} °F; {}", t.celsius * 1.8 + 32.0, t.source);
        row(out, &t.what, &both, &more)?;
    }
    writeln!(out, "</table>\n<table><caption>Times</caption>")?;
    let f = &day.filling;
    if let (Some([thin, thick]), Some([low, high])) = (f.poured_s, f.viscosity_pa_s) {
        let more = format!(
            "to {} if it is thick: one shot, poured, funnel kept full; {low} to {high} Pa s",
            show(thick)
        );
        row(out, "Fills in", &show(thin), &more)?;
    }
    if let (Some([low, high]), Some(seconds)) = (f.pressure_kpa, f.injected_s) {
        let more = format!("to {high:.1} kPa drives a shot in within {}", show(seconds));
        row(out, "Injector", &format!("{low:.1} kPa"), &more)?;
    }
    if let Some(c) = &day.cooling {
        let wall = format!(
            "thickest section, {:.1} mm of {} round it, still air; until the middle may be touched",
            c.wall_mm, c.wall
        );
        row(out, "Cool, first shot", &show(c.first_s), &wall)?;
        row(out, "Second shot", &show(c.second_s), "the mould is warm")?;
        let face = format!(
            "the mould's face is at {:.0} °C before it",
            c.face_before_tenth_c
        );
        row(out, "Tenth shot", &show(c.tenth_s), &face)?;
    }
    writeln!(out, "</table>\n<table><caption>The days</caption>")?;
    for s in &day.schedule {
        let more = format!(
            "hands {}, waits {}{}",
            show(s.hands_s),
            show(s.waits_s),
            if s.overnight { "; overnight" } else { "" }
        );
        row(out, &s.what, &show(s.hands_s + s.waits_s), &more)?;
    }
    row(out, "All of it", &show(day.total_s), "without printing")?;
    writeln!(out, "</table>")
}

fn measured(out: &mut String, design: &Design, day: &Day, overall: [f64; 3]) -> std::fmt::Result {
    writeln!(
        out,
        "<h2>Measured</h2>\n<table><caption>What came out</caption>\n<tr><th scope=\"col\">What</th>\
         <th scope=\"col\">Reckoned</th><th scope=\"col\">Measured</th></tr>"
    )?;
    let length = |mm: f64| design.units.show(mm);
    let mut rows = vec![
        ("Length of the bait", length(overall[0])),
        ("Height of the bait", length(overall[2])),
        ("Width of the bait", length(overall[1])),
        ("Weight of a bait", grams(day.plastic.bait_g)),
        ("Weight of a shot", grams(day.plastic.shot_g)),
    ];
    if let Some(c) = &day.cooling {
        rows.push(("Cooling, first shot", show(c.first_s)));
    }
    for (what, reckoned) in rows {
        writeln!(
            out,
            "<tr><th scope=\"row\">{what}</th><td>{}</td><td><input class=\"measured\" \
             aria-label=\"{what}, measured\"></td></tr>",
            escape(&reckoned)
        )?;
    }
    writeln!(out, "</table>")
}
