//! The station table, and the blank with the order of its cuts.

use super::super::sheet::{Align, LEADING, Mark, Pen, TEXT, line, text};
use super::gauges::diameter;
use super::pages::{Block, table, words};
use super::rectangle;
use crate::lathe::{Blank, Gauge, Place, up_to_step};
use crate::quantity::{InchFraction, LengthUnit};
use crate::spec::{BodyEnd, Design};

/// A length in the maker's units, without the unit: 0.01 mm, 0.001 cm or 0.001 in.
pub(super) fn bare(mm: f64, units: LengthUnit) -> String {
    match units {
        LengthUnit::Mm => format!("{mm:.2}"),
        LengthUnit::Cm | LengthUnit::In => format!("{:.3}", mm / units.in_mm()),
    }
}

/// A deviation as [`bare`] shows lengths, with its sign unless it shows as nothing.
fn signed(mm: f64, units: LengthUnit) -> String {
    let size = bare(mm.abs(), units);
    match size.bytes().all(|b| matches!(b, b'0' | b'.')) {
        true => size,
        false if mm < 0.0 => format!("-{size}"),
        false => format!("+{size}"),
    }
}

/// One row per station: where it is, what it measures, how deep the parting tool goes into stock
/// that was turned true to a diameter.
pub(super) fn stations(
    gauge: &Gauge,
    over: f64,
    trued: f64,
    units: LengthUnit,
    height: f64,
) -> Vec<Block> {
    let unit = units.symbol();
    let heads: Vec<[String; 2]> = [
        ["no.", ""],
        ["place", ""],
        ["from nose", unit],
        ["\u{d8} finished", unit],
        ["\u{d8} to turn", unit],
        ["radius", unit],
        ["depth of cut", unit],
        ["\u{d8} to turn", "nearest 1/64"],
        ["error", unit],
    ]
    .map(|h| h.map(str::to_owned))
    .to_vec();
    let mut rows: Vec<Vec<String>> = Vec::new();
    for (i, s) in gauge.stations.iter().enumerate() {
        let what = match s.place {
            Place::Nose => "nose",
            Place::Tail => "tail",
            Place::Collar { .. } => "collar",
            Place::Along if s.before != s.after => "shoulder",
            Place::Along if s.greatest => "greatest",
            Place::Along => "",
        };
        let sides = match s.place {
            Place::Along if s.before != s.after => vec![s.before, s.after],
            _ => vec![diameter(gauge, i)],
        };
        for (k, size) in sides.into_iter().enumerate() {
            let number = if k == 0 {
                (i + 1).to_string()
            } else {
                String::new()
            };
            let what = if k == 0 { what } else { "to tail" };
            if size <= 0.0 {
                rows.push(vec![
                    number,
                    what.into(),
                    bare(s.at, units),
                    bare(0.0, units),
                ]);
                continue;
            }
            let turned = size + 2.0 * over;
            let fraction = InchFraction::nearest(turned);
            rows.push(vec![
                number,
                what.to_owned(),
                bare(s.at, units),
                bare(size, units),
                bare(turned, units),
                bare(0.5 * turned, units),
                bare(0.5 * (trued - turned), units),
                fraction.to_string(),
                signed(fraction.error, units),
            ]);
        }
    }
    table(&heads, &rows, height)
}

/// The blank as a sketch, not to scale.
pub(super) fn sketch(gauge: &Gauge, blank: &Blank, design: &Design, width: f64) -> Block {
    let lathe = &design.lathe;
    let units = design.units;
    let scale = ((width - 10.0) / blank.length).min(60.0 / blank.round);
    let tall = scale * blank.round;
    let left = 0.5 * (width - scale * blank.length);
    let top = 2.0;
    let axis = top + 0.5 * tall;
    // The tenon is at the thick end: mirrored if that is the tail.
    let (a, b) = (lathe.tenon, lathe.tenon + lathe.waste);
    let place = |x: f64| left + scale * x;
    let mut marks = vec![
        rectangle(
            None,
            Pen::Wide,
            [place(a), top],
            [place(blank.length), top + tall],
        ),
        rectangle(
            None,
            Pen::Wide,
            [left, axis - 0.4 * tall],
            [place(a), axis + 0.4 * tall],
        ),
        line(
            Pen::Centre,
            &[(left - 3.0, axis), (place(blank.length) + 3.0, axis)],
        ),
    ];
    let flip = blank.thin == BodyEnd::Nose;
    for sign in [-1.0, 1.0] {
        let along = if flip { -scale } else { scale };
        let from = if flip { b + gauge.total } else { b };
        let by = kurbo::Affine::new([along, 0.0, 0.0, sign * scale, place(from), axis]);
        marks.push(Mark::Line {
            id: None,
            path: by * gauge.profile.clone(),
            pen: Pen::Wide,
        });
    }
    let on_stock = |x: f64| place(if flip { b + gauge.total - x } else { b + x });
    let foot = top + tall;
    let mut drop = |x: f64, to: f64| {
        marks.push(line(Pen::Narrow, &[(x, foot + 0.8), (x, to)]));
    };
    let row = foot + 4.0;
    for x in [
        left,
        place(a),
        place(b),
        place(b + gauge.total),
        place(blank.length),
    ] {
        drop(x, row + 2.0);
    }
    if let Some(x) = blank.steady {
        marks.push(line(
            Pen::Narrow,
            &[
                (on_stock(x), axis - 0.5 * tall),
                (on_stock(x), axis + 0.5 * tall),
            ],
        ));
    }
    // The letters are explained below: no run of the sketch is too short for one.
    let spans = [
        (left, place(a), "a"),
        (place(a), place(b), "b"),
        (place(b), place(b + gauge.total), "c"),
        (place(b + gauge.total), place(blank.length), "b"),
    ];
    for (from, to, letter) in spans {
        if to - from > 3.4 {
            marks.push(text(
                (0.5 * (from + to), row + 0.8 * TEXT),
                Align::Middle,
                letter,
            ));
        }
    }
    let says = format!(
        "not to scale: a tenon {}, b waste {}, c work {}; in all {}",
        units.show(lathe.tenon),
        units.show(lathe.waste),
        units.show(gauge.total),
        units.show(blank.length)
    );
    let mut y = row + LEADING + 2.0;
    for words in super::super::sheet::wrap(&says, TEXT, width) {
        marks.push(text((0.0, y + 0.8 * TEXT), Align::Start, words));
        y += LEADING;
    }
    Block {
        width,
        height: y,
        marks,
    }
}

/// What stock to take, in which order to cut, and what to beware of.
pub(super) fn advice(blank: &Blank, design: &Design, width: f64) -> Vec<Block> {
    let lathe = &design.lathe;
    let units = design.units;
    // Up to a size that is sold and measured, the same in figures as in fractions.
    let show = |mm: f64| match units {
        LengthUnit::In => {
            let mm = up_to_step(mm, units);
            format!("{} ({})", InchFraction::nearest(mm), units.show(mm))
        }
        _ => units.show(mm),
    };
    let (thick, thin) = match blank.thin {
        BodyEnd::Nose => ("tail", "nose"),
        BodyEnd::Tail => ("nose", "tail"),
    };
    let mut stock = vec![format!(
        "Round stock from {} in diameter, or square stock from {} a side: of that, {} is for truing \
         (common practice). True it to {}: the table's depths of cut are from there. Length \
         from {}.",
        show(blank.round),
        show(blank.square),
        show(blank.round - blank.trued),
        show(blank.trued),
        show(blank.length)
    )];
    if let Some(at_hand) = lathe.stock {
        stock.push(if blank.stock_fits {
            format!("Your stock of {} is enough.", units.show(at_hand))
        } else {
            format!(
                "Your stock of {} is too small for this work: it needs {}.",
                units.show(at_hand),
                units.show(blank.round)
            )
        });
    }
    stock.push(
        "Grain along the axis, straight and without knots; a close-grained wood such as lime, \
         maple or beech, dry (common practice)."
            .to_owned(),
    );
    stock.push(match blank.steady {
        Some(at) => format!(
            "Slender work: a steady at {} from the nose, on a ring turned true there first \
             (common practice from ten diameters up).",
            units.show(at)
        ),
        None => {
            "Stiff enough without a steady (under ten of its least diameters but for the end that is cut last, common practice)."
                .to_owned()
        }
    });
    stock.push(format!(
        "At {} turns a minute the surface of the stock runs at {:.1} m/s. The safe speed depends on \
         stock, balance and machine: follow the lathe's manual.",
        lathe.speed, blank.surface_speed
    ));
    let order: Vec<String> = blank.order.iter().map(|&i| format!("{}", i + 1)).collect();
    let mut cuts = vec![
        format!(
            "1. Between centres, turn the stock true to {} and a tenon {} long at the {thick} end; \
             reverse it into the chuck, tailstock up.",
            show(blank.trued),
            units.show(lathe.tenon)
        ),
        "2. Lay the story stick on the rest and strike off the stations.".to_owned(),
        format!(
            "3. With parting tool and callipers to depth, in this order of stations: {}.",
            order.join(", ")
        ),
        "4. Shape between the cuts, always from the thicker to the thinner (downhill). Lathe off, \
         then the gauge."
            .to_owned(),
        format!(
            "5. The {thin} end last, when nothing more is to be cut beyond it: it then carries no load."
        ),
    ];
    let (sanding, coats) = (lathe.sanding, design.allowances.coating());
    let mut finish = Vec::new();
    if sanding > 0.0 {
        finish.push(format!(
            "{} larger in radius for sanding",
            units.show(sanding)
        ));
    }
    if coats > 0.0 {
        finish.push(format!(
            "{} smaller in radius for the coats",
            units.show(coats)
        ));
    }
    cuts.push(if finish.is_empty() {
        "6. Sand, and part off in the waste. Gauges and \u{201c}to turn\u{201d} allow for neither \
         sanding nor coats, since the spec names none."
            .to_owned()
    } else {
        format!(
            "6. Sand, and part off in the waste. Gauges and \u{201c}to turn\u{201d} are {}.",
            finish.join(", ")
        )
    });
    let cautions = vec![
        "Eye and face protection; no loose sleeves, gloves, jewellery or long hair. Tool rest close \
         and locked, turned once by hand before the switch. Start slow. Stand out of line."
            .to_owned(),
        "Stop the lathe before any gauge, calliper or story stick touches the work, and before the \
         rest is moved. Mask and air for dust. The lathe's manual and local rules come first."
            .to_owned(),
    ];
    vec![
        words("Stock", &stock, width),
        words("Order of cuts", &cuts, width),
        words("On the lathe", &cautions, width),
    ]
}
