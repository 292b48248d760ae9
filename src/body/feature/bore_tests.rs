//! Bores that are too thick for what they run through.

use crate::body::{Body, Master, MasterError};
use crate::spec::{self, Format, Problem};

const ROUND: &str =
    "body = { length = 60, outline = [{ at = 15, height = 12 }, { at = 50, height = 7 }] }\n";
const FLAT: &str = "body = { length = 60, tail = 'flat', outline = [{ at = 0, height = 10 }, \
                    { at = 15, height = 12 }, { at = 60, height = 9 }] }\n";

fn wrong(text: &str) -> Option<Problem> {
    let design = spec::design(text, Format::Toml).unwrap_or_else(|e| panic!("{e}\n{text}"));
    match Master::build(&design, &Body::from_design(&design)) {
        Ok(_) => None,
        Err(MasterError::Spec(problems)) => problems.0.into_iter().next(),
        Err(other) => panic!("{other}\n{text}"),
    }
}

/// The length of a limit such as `up to 3.2 mm, which …`.
fn limit(problem: &Problem) -> f64 {
    let limit = problem
        .limit
        .as_deref()
        .unwrap_or_else(|| panic!("{problem}"));
    let number = limit.split(' ').nth(2).unwrap();
    number.parse().unwrap_or_else(|_| panic!("{problem}"))
}

#[test]
fn a_thicker_bore_is_never_accepted_where_a_thinner_one_is_not() {
    // Along a round-ended body, level across a wide one, and at a slant.
    let wide = ROUND.replace("length", "width = 2, length");
    for (body, ends) in [
        (ROUND, ""),
        (wide.as_str(), "from = [30, 0, -20]\nto = [30, 0, 20]\n"),
        (wide.as_str(), "from = [20, 0, -15]\nto = [40, 0, 15]\n"),
    ] {
        for how in ["marked", "cast"] {
            // The way of plastic in the gate is another matter.
            let text = |d: f64| {
                format!(
                    "{body}mould.sprue = {{ gate = 19, mouth = 40 }}\n[[bore]]\ndiameter = {d}\nhow = '{how}'\n{ends}"
                )
            };
            let mut refused = None;
            for tenths in 3..=80 {
                let d = 0.15 * f64::from(tenths);
                match wrong(&text(d)) {
                    Some(problem) => refused = refused.or(Some((d, problem))),
                    None => assert!(refused.is_none(), "{d}: {refused:?}"),
                }
            }
            let Some((first, problem)) = refused else {
                // At a slant through a wide body all of them have room.
                assert!(!ends.is_empty());
                continue;
            };
            // Straight through a flat body it may be as thick as that is.
            if problem.limit.is_none() {
                assert!(first > 10.0 && !ends.is_empty(), "{problem}");
                continue;
            }
            // What the refusal names does, and is not far below what did.
            let most = limit(&problem);
            assert!(most < first && most > first - 0.16, "{most}: {problem}");
            assert_eq!(wrong(&text(most)), None, "{ends}");
        }
    }
}

#[test]
fn a_bore_takes_no_more_than_the_tip_of_an_end() {
    let Some(problem) = wrong(&format!("{ROUND}[[bore]]\ndiameter = 8\nhow = 'marked'\n")) else {
        panic!("accepted")
    };
    let most = limit(&problem);
    // 1.2 mm before the tail, a fiftieth of the length, the body is as thick as the bore or more.
    let design = spec::design(ROUND, Format::Toml).unwrap();
    let body = Body::from_design(&design);
    assert!(
        0.5 * most <= body.back.height(60.0 - 1.2) + 0.02,
        "{problem}"
    );
    assert!(most > 2.0, "{problem}");
}

#[test]
fn a_core_leaves_plastic_a_way_through_the_gate() {
    for parting in ["flank", "waist"] {
        let text = |d: f64, gate: f64, end: &str| {
            format!(
                "{FLAT}mould = {{ parting = '{parting}', sprue = {{ gate = {gate}, end = '{end}' }} }}\n\
                 [[bore]]\ndiameter = {d}\n"
            )
        };
        let blocked = wrong(&text(4.0, 4.0, "nose")).unwrap();
        assert_eq!(blocked.path, "bore[0].diameter");
        assert!((limit(&blocked) - 2.0).abs() < 1e-9, "{blocked}");
        assert_eq!(wrong(&text(2.0, 4.0, "nose")), None);
        let hint = blocked.hint.unwrap();
        assert!(hint.contains("gate = 6 mm,"), "{hint}");
        assert_eq!(wrong(&text(4.0, 6.0, "nose")), None);
        // A blind one that comes out at the other end is not in it.
        let blind = |end| format!("{}from = [20, 0]\n", text(4.0, 4.0, end));
        assert_eq!(wrong(&blind("nose")), None);
        assert!(wrong(&blind("tail")).is_some());
    }
}

#[test]
fn what_comes_from_the_mould_is_hollow_where_the_core_stood() {
    let text = format!("{ROUND}[[bore]]\ndiameter = 2\nhow = 'cast'\n");
    let design = spec::design(&text, Format::Toml).unwrap_or_else(|e| panic!("{e}"));
    let body = Body::from_design(&design);
    let master = Master::build(&design, &body).unwrap_or_else(|e| panic!("{e}"));
    master.bait.check().unwrap_or_else(|e| panic!("{e:?}"));
    // Vertices - edges + faces: 2 for a sphere, 0 for what has one hole through it (Euler).
    let euler = |mesh: &crate::mesh::Mesh| {
        mesh.points.len() as i64 - mesh.triangles.len() as i64 * 3 / 2 + mesh.triangles.len() as i64
    };
    assert_eq!((euler(&master.bait), euler(&master.mesh)), (0, 2));
    // The prints stand out at both ends of the master, not of the bait.
    let along = |mesh: &crate::mesh::Mesh| mesh.bounds().map(|b| (b.min.x, b.max.x));
    let Some(((from, to), (print, end))) = along(&master.bait).zip(along(&master.mesh)) else {
        panic!("neither is empty");
    };
    assert!(print < from && from < 1.0 && 59.0 < to && to < end);
    // The pin's cylinder is gone from it, but for what the round ends leave of its length.
    let gone = body.figures().volume - master.bait_volume;
    let pin = std::f64::consts::PI * 60.0;
    assert!(0.9 * pin < gone && gone < pin, "{gone}, {pin}");
}
