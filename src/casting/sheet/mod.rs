//! The build sheet: everything that is to be known and done, in the order of work.
//!
//! [`Page::of`] says what stands on it, [`Page::to_html`] sets it as one file to read in the
//! workshop on a phone, without a network.

mod amounts;
mod html;
mod steps;

use super::day::Day;
use super::schedule::show;
use crate::body::Master;
use crate::materials::{FLUID_OUNCE, OUNCE};
use crate::mould::{Mould, Printed};
use crate::quantity::LengthUnit;
use crate::rig::Rig;
use crate::spec::Design;

/// Least plastic that a thermometer reads in, in ml (common practice).
const LEAST_CUP: f64 = 60.0;

/// A picture of the sheet.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Picture<'a> {
    /// What stands under it.
    pub title: &'a str,
    /// What it shows, for those who cannot see it.
    pub alt: &'a str,
    /// The file.
    pub file: &'a [u8],
    /// What kind of file that is.
    pub kind: Image,
}

/// Kinds of picture.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Image {
    /// Pixels, PNG.
    Png,
    /// A drawing, SVG.
    Svg,
}

/// What a sheet is about.
#[derive(Clone, Copy, Debug)]
pub struct Subject<'a> {
    /// The design.
    pub design: &'a Design,
    /// Its casting day.
    pub day: &'a Day,
    /// Its mould.
    pub mould: &'a Mould,
    /// Its master.
    pub made: &'a Master,
    /// What is laid in.
    pub rig: &'a Rig,
    /// What is printed for the mould.
    pub parts: &'a [Printed],
    /// What to see.
    pub pictures: &'a [Picture<'a>],
    /// What else is to be known.
    pub notes: &'a [String],
}

/// A sheet, before it is set on a screen or on paper.
#[derive(Clone, Debug, PartialEq)]
pub struct Page<'a> {
    /// What it is called.
    pub title: String,
    /// What stands on it, from the top.
    pub blocks: Vec<Block<'a>>,
}

/// A part of a sheet.
#[derive(Clone, Debug, PartialEq)]
pub enum Block<'a> {
    /// Heading of a section.
    Heading(String),
    /// A paragraph.
    Text(String),
    /// A paragraph that is about harm.
    Caution(String),
    /// Amounts.
    Table(Table),
    /// What there is to see.
    Pictures(Vec<Picture<'a>>),
    /// Steps to tick off, the first of which has this number.
    Steps(usize, Vec<String>),
    /// A list.
    List(Vec<String>),
    /// What to measure: name, and what was reckoned.
    Measured(Vec<[String; 2]>),
    /// Room to write in, and what for.
    Room(String),
}

/// Rows of name, amount in large type, and what else there is to say.
#[derive(Clone, Debug, PartialEq)]
pub struct Table {
    /// What it is of.
    pub caption: String,
    /// Its rows.
    pub rows: Vec<[String; 3]>,
}

impl Table {
    fn new(caption: impl Into<String>) -> Self {
        Table {
            caption: caption.into(),
            rows: Vec::new(),
        }
    }

    fn row(&mut self, head: impl Into<String>, amount: impl Into<String>, more: impl Into<String>) {
        self.rows.push([head.into(), amount.into(), more.into()]);
    }
}

impl<'a> Page<'a> {
    /// The sheet of a subject.
    #[must_use]
    pub fn of(subject: &Subject<'a>) -> Self {
        let Subject {
            design, day, mould, ..
        } = *subject;
        let mut blocks = Vec::new();
        let length = |mm: f64| design.units.show(mm);
        let [l, w, h] = subject.made.overall;
        blocks.push(Block::Text(format!(
            "Bait {} long, {} high, {} wide. {}, {} in one shot{}.",
            length(l),
            length(h),
            length(w),
            counted(day.baits, "good bait"),
            mould.own(),
            mould
                .beside
                .iter()
                .map(|other| format!(", and {} of {}", other.count, other.name))
                .collect::<String>()
        )));
        blocks.push(Block::Caution(
            "The data sheets of your plastic, silicone and resin, local rules on waste, fire and \
             tackle, and the advice of licensed practice come before anything on this sheet."
                .to_owned(),
        ));
        if !day.warnings.is_empty() {
            blocks.push(Block::Heading("First of all".to_owned()));
            let warnings = day.warnings.iter();
            blocks.extend(warnings.map(|w| Block::Caution(in_words(w))));
        }
        blocks.push(Block::Heading("What you need".to_owned()));
        blocks.push(Block::List(amounts::needed(subject)));
        blocks.push(Block::Heading("Amounts".to_owned()));
        blocks.extend(amounts::of(subject).into_iter().map(Block::Table));
        blocks.push(Block::Heading("Temperatures and times".to_owned()));
        blocks.extend(amounts::times(design, day).into_iter().map(Block::Table));
        blocks.push(Block::Heading("Pictures".to_owned()));
        blocks.push(Block::Pictures(subject.pictures.to_vec()));
        let mut number = 1;
        for stage in steps::of(subject) {
            blocks.push(Block::Heading(stage.title));
            blocks.extend(stage.cautions.into_iter().map(Block::Caution));
            let count = stage.steps.len();
            blocks.push(Block::Steps(number, stage.steps));
            number += count;
        }
        blocks.push(Block::Heading("Measured".to_owned()));
        blocks.push(Block::Measured(measured(subject)));
        if !subject.notes.is_empty() {
            blocks.push(Block::Heading("What else to know".to_owned()));
            let notes = subject.notes.iter();
            blocks.push(Block::List(notes.map(|n| in_words(n)).collect()));
        }
        blocks.push(Block::Heading("Notes".to_owned()));
        blocks.push(Block::Room("What went well, what to change".to_owned()));
        Page {
            title: format!("{}: build sheet", design.name),
            blocks,
        }
    }
}

fn measured(subject: &Subject<'_>) -> Vec<[String; 2]> {
    let Subject {
        design, day, made, ..
    } = *subject;
    let length = |mm: f64| design.units.show(mm);
    let mass = |g: f64| grams(design.units, g);
    let mut rows = vec![
        ("Length of the bait", length(made.overall[0])),
        ("Height of the bait", length(made.overall[2])),
        ("Width of the bait", length(made.overall[1])),
        (
            "Weight of a bait",
            mass(day.plastic.rigged_g.unwrap_or(day.plastic.bait_g)),
        ),
        ("Weight of the plastic of a shot", mass(day.plastic.shot_g)),
    ];
    if let Some(c) = &day.cooling {
        rows.push(("Cooling, first shot", show(c.first_s)));
    }
    rows.into_iter()
        .map(|(what, reckoned)| [what.to_owned(), reckoned])
        .collect()
}

/// Field paths of the spec as a maker says them, counted from one: `fin[2]` is fin 3.
fn in_words(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let mut rest = text;
    while let Some(open) = rest.find('[') {
        let (before, after) = rest.split_at(open);
        let number = after[1..].split_once(']');
        match number.and_then(|(n, left)| Some((n.parse::<usize>().ok()?, left))) {
            Some((n, left)) if before.ends_with(|c: char| c.is_ascii_lowercase()) => {
                out += &format!("{before} {}", n + 1);
                rest = left;
            }
            _ => {
                out += &rest[..=open];
                rest = &rest[open + 1..];
            }
        }
    }
    out += rest;
    for tail in ["curl", "fork", "paddle", "taper"] {
        out = out.replace(&format!("tail.{tail}"), &format!("tail {tail}"));
    }
    out
}

fn counted(count: usize, what: &str) -> String {
    let s = if count == 1 { "" } else { "s" };
    format!("{count} {what}{s}")
}

/// A mass to weigh, to a tenth of a gram as kitchen scales show; in ounces too for those who
/// work in inches.
fn grams(units: LengthUnit, g: f64) -> String {
    match units {
        LengthUnit::In => format!("{g:.1} g ({:.2} oz)", g / OUNCE),
        LengthUnit::Mm | LengthUnit::Cm => format!("{g:.1} g"),
    }
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

/// A volume for a cup; in ounces too for those who work in inches.
fn volume(units: LengthUnit, ml: f64) -> String {
    match units {
        LengthUnit::In => both_volumes(ml),
        LengthUnit::Mm | LengthUnit::Cm if ml < 30.0 => format!("{ml:.1} ml"),
        LengthUnit::Mm | LengthUnit::Cm => format!("{ml:.0} ml"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn paths_are_said_in_words() {
        for (path, words) in [
            ("legs[0] is thin", "legs 1 is thin"),
            ("fin[2] and fin[0]", "fin 3 and fin 1"),
            ("tail.curl may not fill", "tail curl may not fill"),
            ("2 mm from the tail.", "2 mm from the tail."),
            ("a [list] of [2] things", "a [list] of [2] things"),
            ("open [", "open ["),
        ] {
            assert_eq!(in_words(path), words);
        }
    }

    #[test]
    fn amounts_are_said_in_both_systems_where_inches_are() {
        // 29.5735 ml and 28.3495 g (NIST HB 44, appendix C).
        assert_eq!(volume(LengthUnit::In, 118.294), "118 ml (4.0 US fl oz)");
        assert_eq!(volume(LengthUnit::Mm, 118.294), "118 ml");
        assert_eq!(grams(LengthUnit::In, 28.35), "28.4 g (1.00 oz)");
    }
}
