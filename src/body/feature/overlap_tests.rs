//! What two features share is told, or refused.

use crate::body::{Body, Master, MasterError};
use crate::spec::{self, Format};

const MINNOW: &str = "body = { length = 90, width = 0.62, outline = [{ at = 8, height = 11 }, \
                      { at = 30, height = 19 }, { at = 62, height = 12 }] }\n";

fn built(more: &str) -> Result<Master, MasterError> {
    let design =
        spec::design(&format!("{MINNOW}{more}"), Format::Toml).unwrap_or_else(|e| panic!("{e}"));
    Master::build(&design, &Body::from_design(&design))
}

/// The notes of a bait that say what is shared.
fn shared(more: &str) -> Vec<String> {
    let notes = built(more).unwrap_or_else(|e| panic!("{e}\n{more}")).notes;
    notes.into_iter().filter(|n| told(n)).collect()
}

fn told(note: &str) -> bool {
    note.contains(": look whether that is meant")
}

const SLOT: &str = "[[slot]]\nside = 'belly'\nfrom = 26\nto = 52\nwidth = 1.8\ndepth = 4\n";
const KEEL: &str = "[[fin]]\nat = 40\nangle = 180\nroot = 20\noutline = [{ at = 5, height = 5 }]\n";

#[test]
fn a_slot_through_a_fin_leaves_thin_walls() {
    let found = shared(&format!("{SLOT}{KEEL}"));
    assert_eq!(found.len(), 1, "{found:?}");
    let note = &found[0];
    assert!(
        note.starts_with("slot[0] runs through fin[0], from "),
        "{note}"
    );
    // 2 mm less 1.8 mm of slot, half on each side.
    assert!(note.contains("as thin as 0.1 mm"), "{note}");
    // As wide as the fin is thick, it leaves nothing beside it.
    let same = shared(&format!("{}{KEEL}", SLOT.replace("1.8", "2")));
    assert!(
        same[0].contains("All of the thickness that fin[0] has"),
        "{same:?}"
    );
    // In a thick one there is nothing to be said of walls.
    let thick = shared(&format!(
        "{SLOT}{}",
        KEEL.replace("root", "thickness = 4.2\nroot")
    ));
    assert!(
        thick[0].ends_with("look whether that is meant."),
        "{thick:?}"
    );
}

#[test]
fn cores_do_not_cross() {
    let bores = "[[bore]]\ndiameter = 1.5\n[[bore]]\ndiameter = 1.5\nfrom = [30, -20, 0]\nto = [30, 20, 0]\n";
    let slot = SLOT.replace("depth = 4", "depth = 11");
    for (more, at, other) in [
        (bores.to_owned(), "bore[1]", "bore[0]"),
        (
            format!("{slot}[[bore]]\ndiameter = 1.5\n"),
            "bore[0]",
            "slot[0]",
        ),
    ] {
        let Err(MasterError::Spec(problems)) = built(&more) else {
            panic!("{more}");
        };
        assert_eq!(problems.0.len(), 1, "{problems}");
        assert_eq!(problems.0[0].path, at);
        assert!(problems.0[0].what.ends_with(other), "{problems}");
        assert!(
            problems.0[0]
                .value
                .as_ref()
                .unwrap()
                .contains("from the nose")
        );
    }
    // Side by side they may lie.
    let apart = bores.replace("20, 0]", "20, 5]");
    assert!(built(&apart).is_ok());
}

#[test]
fn fins_eyes_and_legs_that_meet_are_told_of() {
    let fin = "[[fin]]\nat = 26\nroot = 22\noutline = [{ at = 10, height = 8 }]\n";
    let two = format!("{fin}{}", fin.replace("26", "30"));
    let eyes = "[[eyes]]\nat = 20\ndiameter = 5\ndepth = 1\n[[eyes]]\nat = 22\nkind = 'ring'\ndiameter = 5\n";
    let legs = "[[legs]]\ncount = 2\nlength = 15\nroot = 2.5\ntip = 1.5\nspread = 20\n\
                [tail.paddle]\nneck = 16\njoint = 3\ndiameter = 14\n";
    for (more, names) in [
        (two.as_str(), ["fin[0]", "fin[1]"]),
        (eyes, ["eyes[0]", "eyes[1]"]),
        (legs, ["tail.paddle", "legs[0]"]),
    ] {
        let found = shared(more);
        assert_eq!(found.len(), 1, "{found:?}");
        assert!(names.iter().all(|n| found[0].contains(n)), "{found:?}");
    }
}

#[test]
fn roots_in_the_trunk_share_nothing() {
    let apart = format!(
        "{KEEL}[[fin]]\nat = 40\nroot = 20\noutline = [{{ at = 5, height = 6 }}]\n\
         [[fin]]\nat = 20\nangle = 110\nroot = 12\noutline = [{{ at = 5, height = 6 }}]\n\
         [tail.fork]\nlength = 20\nspan = 22\n[[eyes]]\nat = 10\ndiameter = 4\ndepth = 1\n"
    );
    assert_eq!(shared(&apart), Vec::<String>::new());
    for entry in std::fs::read_dir(concat!(env!("CARGO_MANIFEST_DIR"), "/examples")).unwrap() {
        let path = entry.unwrap().path();
        if path.extension().is_none_or(|e| e != "toml") {
            continue;
        }
        let text = std::fs::read_to_string(&path).unwrap();
        let Ok(design) = spec::design(&text, Format::Toml) else {
            continue;
        };
        let made = Master::build(&design, &Body::from_design(&design)).unwrap();
        let told: Vec<_> = made.notes.iter().filter(|n| told(n)).collect();
        assert!(told.is_empty(), "{} {told:?}", path.display());
    }
}

#[test]
fn the_wall_between_two_hollows_is_told() {
    let pockets = |depth: f64| {
        format!(
            "[[pocket]]\nat = 30\nangle = 0\ndiameter = 4\ndepth = {depth}\n\
             [[pocket]]\nat = 30\nangle = 180\ndiameter = 4\ndepth = {depth}\n"
        )
    };
    let told = |depth: f64| -> Vec<String> {
        let notes = built(&pockets(depth)).unwrap().notes;
        let both = |n: &String| n.contains("pocket[0] and pocket[1]");
        notes.into_iter().filter(both).collect()
    };
    // 19 mm less twice the depth.
    let thin = told(9.35);
    assert_eq!(thin.len(), 1, "{thin:?}");
    assert!(thin[0].contains("leave 0.3 mm between"), "{thin:?}");
    assert_eq!(told(9.0), [""; 0]);
    // Joined, that is told instead, with how much they have in common.
    let joined = told(9.8);
    assert!(
        joined.len() == 1 && joined[0].contains("join about 30 mm from the nose"),
        "{joined:?}"
    );
}

#[test]
fn hollows_that_join_leave_a_sound_bait_and_are_told_with_their_size() {
    // A pocket across a slot, and one from the back down to it.
    for (at, depth, angle) in [(40, 3.0, 180), (40, 14.8, 0)] {
        let pocket =
            format!("[[pocket]]\nat = {at}\nangle = {angle}\ndiameter = 2.4\ndepth = {depth}\n");
        let names = ["slot[0]", "pocket[0]"];
        // Along the flank the slot is a core, which a hollow before it must not come near.
        let text = format!("mould.parting = 'waist'\n{pocket}{SLOT}");
        let master = built(&text).unwrap_or_else(|e| panic!("{e}\n{text}"));
        master.mesh.check().unwrap();
        assert_eq!(master.mesh.shells().len(), 1);
        let notes: Vec<_> = master.notes.iter().filter(|n| told(n)).collect();
        assert_eq!(notes.len(), 1, "{notes:?}");
        let note = notes[0];
        assert!(names.iter().all(|n| note.contains(n)), "{note}");
        // As wide as the narrower of the two.
        let wide = note.split(" along the body, ").nth(1).unwrap();
        let wide: f64 = wide.split(' ').next().unwrap().parse().unwrap();
        assert!(wide > 0.9 && wide <= 1.85, "{note}");
    }
}

#[test]
fn a_bore_through_a_tail_is_told_with_the_way_it_takes() {
    let text = "[tail.curl]\nlength = 45\nturn = 200\nheight = 9\n\
                [[bore]]\ndiameter = 1.2\nhow = 'cast'\nfrom = [100, -9, 0]\nto = [100, 9, 0]\n";
    let found = shared(&format!("mould.parting = 'flank'\n{text}"));
    assert_eq!(found.len(), 1, "{found:?}");
    assert!(
        found[0].starts_with("bore[0] runs through tail.curl, from 99."),
        "{found:?}"
    );
}

#[test]
fn a_fin_that_closes_over_a_slot_is_refused() {
    let keel = |at: f64, height: f64| {
        format!(
            "[[fin]]\nat = {at}\nangle = 180\nroot = 20\noutline = [{{ at = 9, height = {height} }}]\n"
        )
    };
    let told = |text: &str| match built(text) {
        Err(MasterError::Spec(problems)) => problems.to_string(),
        Err(other) => panic!("{other}"),
        Ok(_) => String::new(),
    };
    let closed = told(&(SLOT.to_owned() + &keel(30.0, 9.0)));
    assert!(closed.contains("fin[0] closes over this slot"), "{closed}");
    assert!(!told(&(SLOT.to_owned() + &keel(58.0, 9.0))).contains("closes"));
}

#[test]
fn a_fin_that_a_slot_takes_whole_is_said_to_be_gone() {
    let fin = |thickness: f64| {
        format!(
            "[[slot]]\nside = 'back'\nfrom = 24\nto = 54\nwidth = 2.2\ndepth = 4\n\
             [[fin]]\nat = 30\nroot = 12\nthickness = {thickness}\noutline = [{{ at = 4, height = 3.5 }}]\n"
        )
    };
    let gone = shared(&fin(2.0));
    assert!(gone[0].contains("Nothing of it is left"), "{gone:?}");
    // Its sides stay.
    let thick = shared(&fin(4.5));
    assert!(thick[0].contains("runs through fin[0]"), "{thick:?}");
}
