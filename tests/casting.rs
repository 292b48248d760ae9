//! The casting day from end to end: amounts against meshes and hand sums, the build sheet's
//! order of work, what a spec is refused for.
#![allow(clippy::unwrap_used)]

use baitwright::body::Body;
use baitwright::casting::Day;
use baitwright::kit::Kit;
use baitwright::mould::{Mould, Neck};
use baitwright::spec::{self, Format};

const BODY: &str = "[body]\nlength = 70\nwidth = 0.7\noutline = [{ at = 25, height = 16 }]\n";

fn kit(more: &str) -> Kit {
    let text = format!("name = \"Reed test\"\n{BODY}{more}");
    let source = spec::read(&text, Format::Toml).unwrap_or_else(|e| panic!("{e}"));
    Kit::build(&source.spec).unwrap_or_else(|e| panic!("{e}"))
}

fn day(kit: &Kit) -> &Day {
    kit.manifest.casting.as_ref().unwrap()
}

fn sheet(kit: &Kit) -> String {
    let file = kit
        .files
        .iter()
        .find(|f| f.path == "build-sheet.html")
        .unwrap();
    String::from_utf8(file.bytes.clone()).unwrap()
}

fn near(found: f64, expected: f64) {
    assert!(
        (found - expected).abs() < 1e-9 * expected.abs().max(1.0),
        "{found} {expected}"
    );
}

#[test]
fn silicone_is_what_the_boxes_hold() {
    let kit = kit("[mould]\nroute = \"boxes\"\n[cast]\nwaste = 25\nsilicone = \"tin-silicone\"\n");
    // The halves fill what the block leaves: block − cavity − the keys' gap, by their meshes.
    let mould = &kit.manifest.mould;
    let halves: f64 = day(&kit).silicone.iter().map(|s| s.exact_ml).sum();
    near(halves, mould.halves_ml);
    for s in &day(&kit).silicone {
        near(s.mixed_ml, 1.25 * s.exact_ml);
        near(s.mixed_g, 1.2 * s.mixed_ml);
        let [a, b] = s.parts_g.unwrap();
        // 100:3 by weight.
        near(a / b, 100.0 / 3.0);
        near(a + b, s.mixed_g);
        near(s.vacuum_ml[0], 3.0 * s.mixed_ml);
    }
}

#[test]
fn plastic_by_hand() {
    let kit = kit("[mould]\ncavities = 2\n[cast]\nbaits = 9\nscrap = 0\nwaste = 0\nremelt = 100\n");
    let (plastic, mould) = (&day(&kit).plastic, &kit.manifest.mould);
    // Five shots of two; 1.05 g/cm³; what comes back is all but baits, the last sprue too late.
    assert_eq!(plastic.shots, 5);
    near(plastic.bait_g, 1.05 * kit.manifest.bait.volume_ml);
    near(plastic.bait_oz, plastic.bait_g / 28.349_523_125);
    near(plastic.shot_ml, mould.filling_ml);
    near(plastic.poured_ml, 5.0 * mould.filling_ml);
    let sprue = mould.filling_ml - 2.0 * plastic.bait_ml;
    near(
        plastic.fresh_ml,
        5.0 * mould.filling_ml - 4.0 * sprue - plastic.bait_ml,
    );
}

#[test]
fn the_mould_s_material_decides_how_long_it_cools() {
    let seconds = |block: &str| {
        let kit = kit(&format!("[cast]\nblock = \"{block}\"\n"));
        let c = day(&kit).cooling.clone().unwrap();
        assert!(c.first_s <= c.second_s && c.second_s <= c.tenth_s);
        c.first_s
    };
    // Times themselves are held to the series and to other cells in `casting/conduct/tests.rs`.
    let (metal, resin) = (seconds("aluminium"), seconds("printed-resin"));
    assert!(metal < resin, "{metal} {resin}");
}

#[test]
fn prints_that_soften_are_spoken_of_first() {
    let kit = kit("[cast]\nblock = \"printed-pla\"\n");
    assert!(
        day(&kit)
            .warnings
            .iter()
            .any(|w| w.contains("softens at 60 °C"))
    );
    let page = sheet(&kit);
    assert!(page.find("softens at 60 °C").unwrap() < page.find("<h2>Amounts").unwrap());
}

#[test]
fn what_a_pour_would_spoil_comes_before_it() {
    for route in ["boxes", "board"] {
        let page = sheet(&kit(&format!("[mould]\nroute = \"{route}\"\n")));
        let mut from = 0;
        let mut pours = 0;
        // Within each stage that pours silicone: keys or clean face, level, release, mix, pour.
        while let Some(at) = page[from..].find("Pour in a thin stream into one corner") {
            let before = &page[..from + at];
            let last = |word: &str| {
                before
                    .rfind(word)
                    .unwrap_or_else(|| panic!("{route}: {word}"))
            };
            let level = last("spirit level").max(before.rfind("Level it again").unwrap_or(0));
            let (release, mix) = (last("Release agent"), last("half mix"));
            assert!(level < release && release < mix, "{route}");
            assert!(last("key") < release && last("vents") < release);
            from += at + 1;
            pours += 1;
        }
        assert_eq!(pours, 2);
        let hot = page.find("Hot plastic burns").unwrap();
        assert!(hot < page.find("Stir the cold plastic").unwrap());
        assert!(
            page.find("everything must be dry").unwrap()
                < page.find("Stir the cold plastic").unwrap()
        );
    }
}

#[test]
fn the_sheet_stands_alone_and_escapes_the_maker() {
    let text = format!(
        "name = \"<script>alert('x')</script> & \\\"fish\\\"\"\n{BODY}[cast]\n\
         additives = [{{ name = \"<b>flakes</b>\", parts = 2 }}]\n"
    );
    let spec = spec::read(&text, Format::Toml).unwrap().spec;
    let page = sheet(&Kit::build(&spec).unwrap());
    assert!(!page.contains("<script") && !page.contains("<b>"));
    assert!(
        page.contains("&lt;script&gt;alert(&#39;x&#39;)&lt;/script&gt; &amp; &quot;fish&quot;")
    );
    for reach in ["http:", "https:", "src=\"/", "<link", "@import", "url("] {
        assert!(!page.contains(reach), "{reach}");
    }
    // Every element that is opened is closed, in order (void ones apart).
    let mut open: Vec<&str> = Vec::new();
    for tag in page
        .split('<')
        .skip(1)
        .filter_map(|t| t.split(['>', ' ', '\n']).next())
    {
        if let Some(closed) = tag.strip_prefix('/') {
            assert_eq!(open.pop(), Some(closed));
        } else if !tag.starts_with('!') && !["meta", "img", "input"].contains(&tag) {
            open.push(tag);
        }
    }
    assert!(open.is_empty(), "{open:?}");
    // One first heading, a language, words for every picture and every box to fill in.
    assert_eq!(page.matches("<h1>").count(), 1);
    assert!(page.starts_with("<!DOCTYPE html>\n<html lang=\"en\">"));
    assert_eq!(
        page.matches("<img ").count(),
        page.matches("<img alt=\"The ").count() + page.matches("<img alt=\"Three ").count()
    );
    assert_eq!(
        page.matches("<input class=\"measured\"").count(),
        page.matches("aria-label=").count()
    );
    assert_eq!(
        page.matches("<label>").count(),
        page.matches("type=\"checkbox\"").count()
    );
    assert_eq!(page, sheet(&Kit::build(&spec).unwrap()));
}

#[test]
fn every_temperature_has_its_source() {
    let kit = kit("[cast]\npour = \"340 F\"\n");
    let day = day(&kit);
    assert!((day.temperatures[0].celsius - 171.111_111).abs() < 1e-6);
    assert!(day.temperatures.iter().all(|t| !t.source.trim().is_empty()));
    assert_eq!(day.temperatures[0].source, "your spec");
}

#[test]
fn what_is_wrong_is_said_all_at_once() {
    let text = format!(
        "{BODY}[cast]\nbaits = 0\nplastic = \"candy\"\nblock = \"lead-free\"\nscrap = 80\n\
         room = \"20\"\ninjector = \"4 spoons\"\npour = \"170 mm\"\n\
         [[cast.material]]\nname = \"mine\"\nkind = \"silicone\"\nmix = \"ten\"\n"
    );
    let problems = spec::design(&text, Format::Toml).unwrap_err();
    let paths: Vec<&str> = problems.0.iter().map(|p| p.path.as_str()).collect();
    for path in [
        "cast.baits",
        "cast.plastic",
        "cast.block",
        "cast.scrap",
        "cast.room",
        "cast.injector",
        "cast.pour",
        "cast.material[0].mix",
        "cast.material[0]",
    ] {
        assert!(paths.contains(&path), "{path} is not among {paths:?}");
    }
    assert!(problems.0.iter().all(|p| p.place.is_some()));
    // Both sides of the plastic's most.
    let at = |pour: &str| spec::design(&format!("{BODY}[cast]\npour = \"{pour}\"\n"), Format::Toml);
    assert!(at("190 C").is_ok());
    let too_hot = at("191 C").unwrap_err();
    assert_eq!(too_hot.0[0].path, "cast.pour");
    assert!(
        too_hot.0[0]
            .limit
            .as_ref()
            .unwrap()
            .contains("hydrogen chloride")
    );
    assert!(at("70 C").is_err());
}

#[test]
fn a_material_of_the_maker_s_own_takes_the_place_of_a_bundled_one() {
    let kit = kit(
        "[cast]\n[[cast.material]]\nname = \"soft-plastisol\"\nkind = \"plastic\"\n\
         density = { is = \"1.02 g/cm3\", source = \"can\" }\npour = \"165 C\"\npull = \"50 C\"\n\
         price = \"10 EUR/kg\"\n",
    );
    let day = day(&kit);
    near(day.plastic.density_g_per_ml, 1.02);
    let cost = day.plastic.fresh_g / 1000.0 * 10.0 / 10.0;
    assert_eq!(
        day.plastic.cost_per_bait.as_deref(),
        Some(&*format!("{cost:.2} EUR"))
    );
    // It says nothing of heat: so is said, and nothing is made up.
    assert!(day.cooling.is_none());
    assert!(
        day.warnings
            .iter()
            .any(|w| w.starts_with("No cooling time"))
    );
    // The kit's own spec holds it, and makes the same kit.
    let text = kit.files.iter().find(|f| f.path == "spec.toml").unwrap();
    let text = String::from_utf8(text.bytes.clone()).unwrap();
    let again = Kit::build(&spec::read(&text, Format::Toml).unwrap().spec).unwrap();
    assert_eq!(again.manifest, kit.manifest);
}

#[test]
fn one_recipe_for_water_and_casting() {
    let kit = kit(
        "[cast]\ndensity = \"1.06 g/cm3\"\nadditives = [{ name = \"salt\", parts = 29.6315 }, \
         { name = \"glitter\", parts = 2 }]\n",
    );
    // Volumes add; salt is 2.165 g/ml (CRC Handbook), and what says no density is as the plastic.
    let density = day(&kit).plastic.density_g_per_ml;
    near(
        density,
        (100.0 + 2.0 + 29.6315) / (102.0 / 1.06 + 29.6315 / 2.165),
    );
    near(kit.manifest.water.plastic_density_g_ml, density);
    near(kit.manifest.water.plastic_g, day(&kit).plastic.bait_g);
}

#[test]
fn what_is_laid_in_takes_no_plastic() {
    let rig = "[wire]\ndiameter = 1\neye = 3\n[[weight]]\ndiameter = 6\nat = 30\nhole = 1.2\n";
    let (bare, rigged) = (kit(""), kit(rig));
    let kept = day(&rigged).plastic.inserts_ml.unwrap();
    // The ball less its hole, about which the wire runs: no less than the ball, no more than both.
    let ball = std::f64::consts::PI / 6.0 * 0.216;
    let wire = std::f64::consts::PI / 4.0 * 0.01 * 7.0;
    assert!(kept > 0.9 * ball && kept < ball + wire, "{kept}");
    let less = |get: fn(&Kit) -> f64| get(&bare) - get(&rigged);
    near(less(|k| day(k).plastic.bait_ml), kept);
    // Pins stand in the shot as well, and vents keep clear of seats: some thousandths of a ml.
    let shot = less(|k| day(k).plastic.shot_ml);
    assert!((shot - kept).abs() < 0.01, "{shot} {kept}");
    near(less(|k| k.manifest.mould.filling_ml), shot);
    near(
        day(&rigged).plastic.rigged_g.unwrap(),
        rigged.manifest.water.mass_g,
    );
}

#[test]
fn steps_are_those_of_this_mould() {
    let cores = "[[bore]]\ndiameter = 1.5\n[[slot]]\nside = \"belly\"\nfrom = 26\nto = 44\nwidth = 1.5\ndepth = 3\n\
                 [mould]\nparting = \"waist\"\n";
    let rig = "[wire]\ndiameter = 0.8\n[[weight]]\ndiameter = 4\nat = 30\nheight = -4\n";
    for (spec, there, absent) in [
        (
            "",
            &["until the funnel is full", "Top up", "clamp it all round"][..],
            &["injector", "Lay in", "pin"][..],
        ),
        (
            "[mould]\nsprue = { nozzle = 8 }\nbolts = \"M4\"\n",
            &["seat its tip", "names no injector", "tighten the M4 bolts"],
            &["the funnel is full", "in the funnel", "clamp it"],
        ),
        (
            "[mould]\nroute = \"boxes\"\nbands = true\n",
            &[
                "Try the silicone",
                "backing plates",
                "Together they may pull",
            ],
            &["M6", "Print both halves"],
        ),
        (
            "[mould]\nroute = \"board\"\n[cast]\nmoulds = 3\n",
            &[
                "Try the silicone",
                "until there are 3 moulds",
                "3 times",
                "M6",
            ],
            &["Print both halves"],
        ),
        (
            cores,
            &[
                "Lay the cores in their seats",
                "Draw the pin",
                "never by fingers",
                "Before every shot: cores in place",
            ],
            &[],
        ),
        (
            rig,
            &[
                "Have ready the ball of 4 mm",
                "30 mm from the nose, 4 mm below the axis",
                "Cut ",
            ],
            &["Draw the pin"],
        ),
        (
            "[mould]\nsprue = { nozzle = 8 }\nvents = { count = 0 }\n",
            &["nothing lets the air out", "it resists, no longer"],
            &["plastic shows at the vents", "have tape"],
        ),
        (
            "[hook]\nat = 20\nwire = 0.9\nshank = 18\ngap = 9\n[mould]\nparting = \"waist\"\n",
            &["no seat for the hook", "into the finished bait"],
            &["Have ready the hook"],
        ),
        (
            "[mould]\nkeys = { count = 0 }\n",
            &["edges flush all round"],
            &["one way only"],
        ),
        (
            "[cast]\nblock = \"printed-petg\"\n",
            &["Stop here", "Do not cast in it"],
            &["Pour without a pause", "The run"],
        ),
        (
            "[cast]\nblock = \"aluminium\"\n",
            &["made of aluminium", "still hot"],
            &["Print both halves", "resin&#39;s sheet"],
        ),
    ] {
        // Pictures may hold any letters.
        let page = sheet(&kit(spec));
        let page: String = page
            .split("base64,")
            .map(|part| match part.split_once("\"><fig") {
                Some((_, after)) => after,
                None => part,
            })
            .collect();
        for words in there {
            assert!(
                page.contains(words),
                "{words} is not in the sheet of {spec}"
            );
        }
        for words in absent {
            assert!(!page.contains(words), "{words} is in the sheet of {spec}");
        }
    }
}

#[test]
fn vents_and_moulds_are_counted_in_full() {
    let many = kit(
        "[mould]\nroute = \"boxes\"\n[cast]\nmoulds = 2\nsilicone = \"s\"\n[[cast.material]]\n\
                    name = \"s\"\nkind = \"silicone\"\ndensity = \"1.1 g/cm3\"\ncure = \"10 h\"\n\
                    price = \"20 EUR/kg\"\n",
    );
    let day = day(&many);
    // Two moulds in one set of boxes: twice the waiting; all silicone is paid for.
    let cures: f64 = day
        .schedule
        .iter()
        .filter(|s| s.overnight)
        .map(|s| s.waits_s)
        .sum();
    near(cures, 3.0 * 36_000.0);
    let of_one: f64 = day.silicone.iter().map(|s| s.mixed_g).sum();
    let cost = 2.0 * of_one * 20.0 / 1000.0;
    assert_eq!(day.cost.as_deref(), Some(&*format!("{cost:.2} EUR")));
    let page = sheet(&many);
    assert!(page.contains(&format!("{:.1} g in all", 2.0 * of_one)));
    // A drooping tail holds air: its vent is counted with the others.
    let air = kit("[tail.curl]\nlength = 45\nturn = 200\nheight = 9\n");
    let grooves = air.manifest.mould.vents - 2;
    assert!(grooves > 0);
    assert!(sheet(&air).contains(&format!("{grooves} groove")));
    // It is filled along the blade, however far round its tip has come.
    let tip = self::day(&air)
        .thin
        .iter()
        .find(|t| t.feature == "tail.curl")
        .unwrap();
    assert!(tip.away_mm >= 45.0);
}

#[test]
fn thin_plastic_runs_through_all_necks_at_once() {
    let water = "[mould]\ncavities = 4\nsprue = { gate = 1.5 }\n[cast]\nplastic = \"w\"\n[[cast.material]]\n\
                 name = \"w\"\nkind = \"plastic\"\ndensity = \"1.05 g/cm3\"\nviscosity = \"0.0001 Pa.s\"\n\
                 pour = \"170 C\"\npull = \"60 C\"\n";
    let kit = kit(water);
    let design = spec::design(&format!("{BODY}{water}"), Format::Toml).unwrap();
    let mould = Mould::build(&design, &Body::from_design(&design)).unwrap();
    let runner = mould.channels.runner.as_ref().unwrap();
    let all = mould.channels.sprue.corners.iter();
    let all = all.chain(runner.necks.iter().flat_map(|n| &n.corners));
    let xs: Vec<f64> = all.map(|c| c.0).collect();
    let low = xs.iter().copied().fold(f64::INFINITY, f64::min);
    let high = xs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    // Torricelli, √(2gh) with g 9.80665 m/s², through all necks together where each is narrowest; 0.8 of
    // it through a short tube (common practice).
    let narrowest = |n: &Neck| n.corners.iter().map(|c| c.1).fold(n.gate_radius, f64::min);
    let squares = runner.necks.iter().map(|n| narrowest(n).powi(2));
    // Or through the sprue, or both ways of the header, if they are narrower.
    let sprue = mould.channels.sprue.corners.iter().map(|c| c.1);
    let sprue = sprue.filter(|r| *r > 1e-6).fold(f64::INFINITY, f64::min);
    let square = squares.sum::<f64>().min(sprue.powi(2));
    let area = std::f64::consts::PI * square.min(2.0 * runner.radius.powi(2));
    let speed = (2.0 * 9806.65 * (high - low)).sqrt();
    let day = day(&kit);
    let time = day.plastic.shot_ml * 1000.0 / (0.8 * area * speed);
    let [poured, _] = day.filling.poured_s.unwrap();
    assert!((poured / time - 1.0).abs() < 1e-6, "{poured} {time}");
}

#[test]
fn how_far_an_injector_presses_is_not_made_up() {
    let tail = "[tail.curl]\nlength = 45\nturn = 200\nheight = 9\nthickness = 1.2\n";
    let told = |day: &Day| -> Vec<String> {
        let of = |w: &&String| w.starts_with("tail.curl");
        day.warnings.iter().filter(of).cloned().collect()
    };
    let poured = kit(tail);
    let place = &day(&poured).thin[0];
    let [least, most] = place.reach_mm.unwrap();
    assert!(least < most && least < place.away_mm);
    assert!(told(day(&poured))[0].contains("poured by hand"));
    for injector in [
        "[cast]\ninjector = \"60 ml\"\n",
        "[mould]\nsprue = { nozzle = 8 }\n",
    ] {
        let injected = kit(&format!("{tail}{injector}"));
        assert_eq!(day(&injected).thin[0].reach_mm, None);
        let told = told(day(&injected));
        assert_eq!(told.len(), 1, "{told:?}");
        assert!(told[0].contains("not reckoned"), "{told:?}");
        assert!(!told[0].contains("poured by hand"), "{told:?}");
    }
    // Where its weight alone takes the plastic there, an injector does so too.
    let short = kit("[tail.fork]\nlength = 8\nspan = 12\n[cast]\ninjector = \"60 ml\"\n");
    assert_eq!(told(day(&short)), [] as [&str; 0]);
}

#[test]
fn what_joins_pieces_is_among_what_is_needed() {
    // 70 of bait with its funnel is over 80 long: each half in two pieces, with two dowels.
    let more = "[mould]\nroute = \"block\"\nbed = [80, 80, 100]\ndowel = 3\n";
    let page = sheet(&kit(more));
    // Two diameters deep in each of the two pieces: 4 · 3 mm.
    assert!(
        page.contains("4 dowels of 3 mm, 12 mm long at most"),
        "{page}"
    );
    assert!(page.contains("glue that stands the heat"));
    let whole = sheet(&kit("[mould]\nroute = \"block\"\n"));
    assert!(!whole.contains("dowels"));
}
