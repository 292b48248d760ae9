//! Specs and texts at random: whatever comes in, an answer comes out.

use super::*;

fn any_length() -> impl Strategy<Value = Length> {
    let unit = prop::option::of(prop::sample::select(vec![
        LengthUnit::Mm,
        LengthUnit::Cm,
        LengthUnit::In,
    ]));
    (-1e4..1e4_f64, unit).prop_map(|(value, unit)| Length { value, unit })
}

fn some_length() -> impl Strategy<Value = Option<Length>> {
    prop::option::of(any_length())
}

prop_compose! {
    fn any_station()(
        at in any_length(), height in some_length(), back in some_length(),
        belly in some_length(), corner: bool, step_to in some_length(),
    ) -> Station {
        Station { at, height, back, belly, corner, step_to }
    }
}

fn any_width() -> impl Strategy<Value = Width> {
    let station = (any_length(), any_length(), any::<bool>(), some_length()).prop_map(
        |(at, width, corner, step_to)| WidthStation {
            at,
            width,
            corner,
            step_to,
        },
    );
    prop_oneof![
        (-10.0..10.0_f64).prop_map(Width::OfHeight),
        prop::collection::vec(station, 0..4).prop_map(Width::Stations),
    ]
}

prop_compose! {
    fn any_mould()(
        waist: bool, wall in some_length(), key_count in prop::option::of(0..99_u32),
        keys in (some_length(), some_length(), some_length()), tail: bool,
        sprue in (some_length(), some_length(), some_length()),
        vent_count in prop::option::of(0..99_u32), vents in (some_length(), some_length()),
        route in prop::sample::select(vec![Route::Block, Route::Boxes, Route::Board]),
        cavities in prop::option::of(0..40_u32), pitch in some_length(),
        nozzle in some_length(), fill in prop::option::of(-1.0..200.0_f64),
        (dowel, board) in (some_length(), some_length()),
    ) -> MouldSpec {
        MouldSpec {
            parting: if waist { Parting::Waist } else { Parting::Flank },
            wall,
            keys: KeySpec { count: key_count, diameter: keys.0, height: keys.1, clearance: keys.2, ..KeySpec::default() },
            sprue: SprueSpec {
                end: if tail { BodyEnd::Tail } else { BodyEnd::Nose },
                gate: sprue.0, mouth: sprue.1, depth: sprue.2,
                nozzle, fill,
            },
            vents: VentSpec { count: vent_count, width: vents.0, depth: vents.1 },
            route, cavities, pitch, dowel,
            board: BoardSpec { clearance: board },
            ..MouldSpec::default()
        }
    }
}

prop_compose! {
    fn any_spec()(
        name in prop::option::of("\\PC{0,12}"),
        units in prop::sample::select(vec![LengthUnit::Mm, LengthUnit::Cm, LengthUnit::In]),
        length in any_length(), outline in prop::collection::vec(any_station(), 0..5),
        ends in prop::array::uniform2(prop::option::of(prop::sample::select(
            vec![End::Round, End::Pointed, End::Flat]))),
        width in any_width(), section in 0.0..9.0_f64,
        collar in prop::option::of(prop::collection::vec((any_length(), any_length()), 0..4)),
        mould in any_mould(), tolerance in some_length(),
    ) -> Spec {
        let [nose, tail] = ends;
        Spec {
            name,
            units,
            collar: collar.map(|steps| CollarSpec {
                steps: steps.into_iter()
                    .map(|(length, diameter)| CollarStep { length, diameter })
                    .collect(),
            }),
            mould,
            mesh: MeshSpec { tolerance },
            ..Spec::new(BodySpec { length: Some(length), nose, tail, outline, width,
                section: SectionSpec::Same(section), ..BodySpec::default() })
        }
    }
}

/// Whatever it is, an answer comes: a design or problems at places inside the text.
fn answers(text: &str) -> Result<(), TestCaseError> {
    for format in [Format::Toml, Format::Json] {
        if let Err(problems) = design(text, format) {
            prop_assert!(!problems.0.is_empty());
            for problem in &problems.0 {
                let place = problem.place.as_ref();
                prop_assert!(place.is_some_and(|place| text.get(place.span.clone()).is_some()));
            }
        }
        prop_assert_eq!(
            design(text, format).is_ok(),
            read(text, format).is_ok_and(|source| source.design().is_ok())
        );
    }
    Ok(())
}

proptest! {
    #[test]
    fn specs_round_trip(spec in any_spec()) {
        let text = ::toml::to_string(&spec).unwrap();
        let source = read(&text, Format::Toml);
        prop_assert!(source.is_ok(), "{}\n{:?}", text, source.err());
        prop_assert_eq!(&source.unwrap().spec, &spec);
        let text = serde_json::to_string(&spec).unwrap();
        prop_assert_eq!(&read(&text, Format::Json).unwrap().spec, &spec);
        // The structs are as readable by anyone's reader.
        prop_assert_eq!(&serde_json::from_str::<Spec>(&text).unwrap(), &spec);
        answers(&text)?;
    }

    #[test]
    fn any_text_gets_an_answer(text in "\\PC{0,200}|[\\[\\]{}=.,\"' a-z0-9\n\\\\]{0,200}|[\\[\\]{}=,:;/“”‘’\"' a1\n]{0,80}") {
        answers(&text)?;
    }

    #[test]
    fn mutated_specs_get_an_answer(
        json: bool, at in 0.0..1.0_f64, remove in 0..30_usize, insert in "\\PC{0,6}|[\\[\\]{}=.,\"'\n#]{0,4}",
    ) {
        let mut text = full();
        if json {
            text = serde_json::to_string(&read(&text, Format::Toml).unwrap().spec).unwrap();
        }
        // The text is plain ASCII.
        let start = (at * text.len() as f64) as usize;
        let end = (start + remove).min(text.len());
        text.replace_range(start..end, &insert);
        answers(&text)?;
    }
}
