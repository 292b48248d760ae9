//! Vents leave what they begin at.

use super::*;
use crate::mesh::slice::Sliced;

/// Material that stays between a vent and what stands beside it, less what its end may run beside.
const KEPT: f64 = 0.75;

/// How far along its way each vent has less material beside it than is kept, found by sections
/// square to the body's axis (the code looks at the outline in the parting plane).
fn run_beside(mould: &Mould) -> Vec<f64> {
    const STEP: f64 = 0.1;
    let master = Sliced::new(mould.master.clone());
    let far = mould.master.bounds().unwrap().max.x;
    let each = mould.channels.vents.iter().map(|vent| {
        let (low, high) = (vent.bounds.min, vent.bounds.max);
        let beside = |x: f64| {
            let section = master.section(x);
            let across = [low.y - KEPT, high.y + KEPT];
            let steps = ((across[1] - across[0]) / STEP).ceil();
            (0..=steps as usize).any(|k| {
                let y = across[0] + (across[1] - across[0]) * k as f64 / steps;
                section.holds(y, 1e-3)
            })
        };
        let places = (0..).map(|k| low.x + STEP * f64::from(k));
        let places = places.take_while(|&x| x < far);
        places
            .filter(|&x| beside(x))
            .map(|x| x - low.x)
            .fold(0.0, f64::max)
    });
    each.collect()
}

fn read(text: &str) -> Design {
    let text = format!("body.length = 70\n{text}\n");
    crate::spec::design(&text, Format::Toml).unwrap_or_else(|e| panic!("{e}\n{text}"))
}

fn built(text: &str) -> Mould {
    let design = read(text);
    Mould::build(&design, &Body::from_design(&design)).unwrap_or_else(|e| panic!("{e}\n{text}"))
}

fn with_master(text: &str) -> Mould {
    let design = read(text);
    let body = Body::from_design(&design);
    let made = crate::body::Master::build(&design, &body).unwrap_or_else(|e| panic!("{e}\n{text}"));
    Mould::around(&design, &body, &made.mesh).unwrap_or_else(|e| panic!("{e}\n{text}"))
}

const STOUT: &str = "body.outline = [{ at = 20, height = 16 }, { at = 60, height = 8 }]\n\
                     body.width = 0.8\nmould.parting = 'flank'\n";

#[test]
fn vents_do_not_run_along_slim_tails() {
    let slim = "body.outline = [{ at = 20, height = 16 }, { at = 45, height = 4 }, { at = 70, height = 3 }]";
    let pointed = "body.outline = [{ at = 20, height = 16 }]\nbody.tail = 'pointed'";
    for text in [slim, pointed] {
        let mould = built(text);
        assert_eq!(mould.channels.vents.len(), 1, "{text}");
        assert!(run_beside(&mould).iter().all(|&run| run < 3.2), "{text}");
    }
    // A blunt end has room for two.
    let blunt =
        "body.outline = [{ at = 20, height = 16 }, { at = 70, height = 12 }]\nbody.tail = 'flat'";
    let mould = built(blunt);
    assert_eq!(mould.channels.vents.len(), 2);
    assert!(run_beside(&mould).iter().all(|&run| run < 3.2));
}

#[test]
fn vents_begin_at_tips_of_feelers_and_tapers() {
    for behind in [
        "legs = [{ count = 1, length = 20, root = 2, tip = 1.2 }]",
        "legs = [{ count = 3, length = 20, root = 2, tip = 1.2, spread = 40 }]",
        "tail.taper = { length = 20, tip = 1.5 }",
    ] {
        let mould = with_master(&format!("{STOUT}{behind}"));
        let vents = &mould.channels.vents;
        assert!(!vents.is_empty(), "{behind}");
        let tip = mould.master.bounds().unwrap().max.x;
        let first = vents
            .iter()
            .map(|vent| vent.bounds.min.x)
            .fold(f64::NEG_INFINITY, f64::max);
        assert!(tip - first < 3.0, "{behind}: {first} of {tip}");
        let runs = run_beside(&mould);
        assert!(runs.iter().all(|&run| run < 8.2), "{behind}: {runs:?}");
    }
}

#[test]
fn vents_keep_a_wall_to_the_print_of_a_pin() {
    for end in [8.0, 11.0] {
        let text = format!(
            "body.outline = [{{ at = 20, height = 18 }}, {{ at = 70, height = {end} }}]\nbody.tail = 'flat'\n\
             bore = [{{ diameter = 1.5, how = 'cast' }}]\nmould.sprue.gate = 6\nmould.parting = 'flank'"
        );
        let mould = with_master(&text);
        assert!(!mould.channels.vents.is_empty(), "{text}");
        let body = read(&text).body.length;
        let master = Sliced::new(mould.master.clone());
        for vent in &mould.channels.vents {
            for x in [0.2, 0.5, 1.0, 2.0].map(|beyond| body + beyond) {
                let print = master.section(x);
                let [from, to] = print.span(0).unwrap_or_default();
                assert!(to - from > 1.0, "there is a print: {from} to {to}");
                let apart = (vent.bounds.min.y - to).max(from - vent.bounds.max.y);
                assert!(apart > KEPT, "{apart} at {x}");
            }
        }
    }
}

#[test]
fn as_many_vents_are_made_as_are_asked_for() {
    let slim = "body.outline = [{ at = 20, height = 16 }, { at = 45, height = 4 }, { at = 70, height = 3 }]";
    for count in 0..3 {
        let mould = built(&format!("{slim}\nmould.vents.count = {count}"));
        assert_eq!(mould.channels.vents.len(), count);
    }
}
