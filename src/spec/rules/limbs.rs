//! Rules of fins, tails and legs.

use std::ops::RangeInclusive;

use kurbo::{Affine, BezPath};

use super::{END_GAP, Rules, SAME_PLACE, STATION_GAP};
use crate::quantity::Length;
use crate::spec::*;

/// Degrees round the body.
const ANGLE: RangeInclusive<f64> = 0.0..=180.0;
/// Fin lengths and heights: what a hand can cut, to a large swimbait's (reasoned).
const FIN_SIZE: RangeInclusive<f64> = 0.5..=300.0;
/// Length of a fin's root: 2 mm fuses, more room than that tears (reasoned).
const FIN_ROOT: RangeInclusive<f64> = 2.0..=500.0;
/// What still prints as a master (common practice is 0.8 mm), to a slab.
const PLATE: RangeInclusive<f64> = 0.4..=20.0;
/// A rim rounded by less looks sharp (reasoned); 0 is sharp.
const LEAST_ROUNDING: f64 = 0.1;
/// Leaning further, a fin lies on the body (reasoned).
const SWEEP: RangeInclusive<f64> = -45.0..=70.0;
/// Turned further, a plate lies on the body (reasoned).
const CANT: RangeInclusive<f64> = -60.0..=60.0;
/// Segments of a path: a drawing, not a traced photograph.
const PATH_SEGMENTS: usize = 400;
/// Characters of a path, likewise.
const PATH_CHARACTERS: usize = 20_000;
/// Length of tails and legs (reasoned).
const LIMB: RangeInclusive<f64> = 2.0..=400.0;
/// Diameters of strands and necks: what prints at all, to a body's own (reasoned).
const STRAND: RangeInclusive<f64> = 0.4..=100.0;
/// Flatter strands are blades, which the mesh would not be true to (reasoned).
const FLATNESS: RangeInclusive<f64> = 0.2..=5.0;
/// A disc that leans further lies along the body and does not kick (reasoned).
const DISC_ANGLE: RangeInclusive<f64> = 30.0..=150.0;
/// From hardly bent to one and a half turns, beyond which turns meet (reasoned).
const TURN: RangeInclusive<f64> = 20.0..=540.0;
/// A strand bent round further comes back to the body (reasoned).
const DROOP: RangeInclusive<f64> = -150.0..=150.0;
/// A fan or cone wider than this points forward (reasoned).
const SPREAD: RangeInclusive<f64> = 0.0..=150.0;
/// Leaning further, a leg lies on the body (reasoned).
const LEAN: RangeInclusive<f64> = -60.0..=60.0;
/// More strands than this are a skirt, which is tied, not cast (reasoned).
const STRANDS: RangeInclusive<f64> = 1.0..=24.0;

impl Rules<'_> {
    pub(super) fn fin(
        &mut self,
        path: &str,
        fin: &FinSpec,
        body: Option<&BodyDesign>,
    ) -> Option<FinDesign> {
        let at = self.along(&format!("{path}.at"), fin.at, 0.0, body);
        let angle = self.number(&format!("{path}.angle"), fin.angle, &ANGLE);
        let outline = self.fin_outline(path, fin);
        let thickness = self.length_or(&format!("{path}.thickness"), fin.thickness, 2.0, &PLATE);
        let sweep = self.number(&format!("{path}.sweep"), fin.sweep, &SWEEP);
        let mut cant = self.number(&format!("{path}.cant"), fin.cant, &CANT);
        let rounding = thickness.and_then(|t| {
            let at = format!("{path}.rounding");
            let sharp = |r: &Length| r.to_mm(self.units) == 0.0;
            match fin.rounding {
                None => Some(0.5 * t),
                Some(r) if sharp(&r) && !self.is_broken(&at) => Some(0.0),
                Some(r) => self.length(&at, r, &(LEAST_ROUNDING.min(0.5 * t)..=0.5 * t)),
            }
        });
        if let (Some(a), Some(c)) = (angle, cant)
            && a % 180.0 == 0.0
            && c != 0.0
        {
            let problem = Problem::new(
                format!("{path}.cant"),
                "a single fin in the mid-plane stands upright",
            )
            .value(c)
            .limit("0 on back and belly");
            self.report(problem.hint("give it an angle: then it is one of a pair"));
            cant = None;
        }
        Some(FinDesign {
            at: at?,
            angle: angle?,
            outline: outline?,
            thickness: thickness?,
            rounding: rounding?,
            sweep: sweep?,
            cant: cant?,
        })
    }

    fn fin_outline(&mut self, path: &str, fin: &FinSpec) -> Option<FinOutline> {
        let outline_path = format!("{path}.outline");
        match (&fin.path, fin.outline.is_empty()) {
            (Some(d), true) => {
                if fin.root.is_some() {
                    let problem = Problem::new(
                        format!("{path}.root"),
                        "a path brings its own root: its edge on y = 0",
                    );
                    self.report(problem.hint("leave out root"));
                    return None;
                }
                self.fin_path(&format!("{path}.path"), d)
            }
            (None, false) => self.fin_stations(path, fin),
            (given, _) => {
                if !self.is_broken(&outline_path) && !self.is_broken(&format!("{path}.path")) {
                    let what = if given.is_some() {
                        "this fin has both an outline and a path"
                    } else {
                        "this fin has no outline"
                    };
                    self.report(
                        Problem::new(path, what)
                            .limit("either root and outline, or path")
                            .hint("outline = [ { at = 6, height = 8 } ]"),
                    );
                }
                None
            }
        }
    }

    fn fin_stations(&mut self, path: &str, fin: &FinSpec) -> Option<FinOutline> {
        let root_path = format!("{path}.root");
        let Some(root) = fin.root else {
            if !self.is_broken(&root_path) {
                let problem = Problem::new(root_path, "the length of the root is missing");
                self.report(problem.hint("root = 20, for one"));
            }
            return None;
        };
        let root = self.length(&root_path, root, &FIN_ROOT)?;
        let mut knots: Vec<Knot> = Vec::new();
        let mut whole = true;
        for (i, station) in fin.outline.iter().enumerate() {
            let here = format!("{path}.outline[{i}]");
            let at = self.length(&format!("{here}.at"), station.at, &(0.0..=root));
            let height = self.length(&format!("{here}.height"), station.height, &FIN_SIZE);
            let (Some(mut at), Some(height)) = (at, height) else {
                whole = false;
                continue;
            };
            for end in [0.0, root] {
                if (at - end).abs() <= SAME_PLACE {
                    at = end;
                }
            }
            let from_end = at.min(root - at);
            let gap = knots.last().map_or(STATION_GAP, |k| at - k.at);
            if gap < STATION_GAP || (from_end > 0.0 && from_end < END_GAP) {
                let problem = Problem::new(
                    format!("{here}.at"),
                    "stations must run from front to rear, with room between them",
                )
                .value(self.drawn(at))
                .limit(format!(
                    "{} past the one before, and on an end of the root or {} from it",
                    self.drawn(STATION_GAP),
                    self.drawn(END_GAP)
                ));
                self.report(problem);
                whole = false;
                continue;
            }
            knots.push(Knot {
                at,
                before: height,
                after: height,
                corner: station.corner,
            });
        }
        whole.then_some(FinOutline::Stations { root, knots })
    }

    fn fin_path(&mut self, path: &str, d: &str) -> Option<FinOutline> {
        if self.is_broken(path) || self.is_broken("units") {
            return None;
        }
        let refuse = |rules: &mut Self, what: &str, limit: String| {
            rules.report(Problem::new(path, what).limit(limit));
            None
        };
        if d.len() > PATH_CHARACTERS {
            let limit = format!("at most {PATH_CHARACTERS} characters");
            return refuse(self, "this path is too long", limit);
        }
        let drawn = match BezPath::from_svg(d) {
            Ok(drawn) => drawn,
            Err(e) => {
                let what = format!("this is not SVG path data: {e}");
                return refuse(self, &what, "such as M0,0 L4,9 Q12,12 18,0 Z".into());
            }
        };
        let count = drawn.elements().len();
        if !(3..=PATH_SEGMENTS).contains(&count) {
            let limit = format!("3 to {PATH_SEGMENTS} segments");
            return refuse(self, "this path has too few segments or too many", limit);
        }
        let closes = drawn.elements()[1..]
            .iter()
            .filter(|e| matches!(e, kurbo::PathEl::MoveTo(_)))
            .count();
        if closes > 0 {
            let limit = "one closed outline".to_owned();
            return refuse(self, "this path is in several pieces", limit);
        }
        let scaled = Affine::scale(Length::bare(1.0).to_mm(self.units) * self.scale) * drawn;
        let largest = FIN_ROOT.end();
        let sound = |p: kurbo::Point| p.x.abs() <= *largest && p.y.abs() <= *largest;
        // Control points too: they bound the curve.
        let points = scaled.elements().iter().flat_map(|e| match *e {
            kurbo::PathEl::MoveTo(a) | kurbo::PathEl::LineTo(a) => vec![a],
            kurbo::PathEl::QuadTo(a, b) => vec![a, b],
            kurbo::PathEl::CurveTo(a, b, c) => vec![a, b, c],
            kurbo::PathEl::ClosePath => vec![],
        });
        if !points.into_iter().all(sound) {
            let limit = format!("within {} of its origin", self.drawn(*largest));
            return refuse(self, "this path goes too far", limit);
        }
        Some(FinOutline::Path(scaled))
    }

    pub(super) fn tail(&mut self, tail: &TailSpec, collar: bool) -> Option<TailDesign> {
        if self.is_broken("tail") {
            return None;
        }
        let given = [
            ("paddle", tail.paddle.is_some()),
            ("curl", tail.curl.is_some()),
            ("fork", tail.fork.is_some()),
            ("taper", tail.taper.is_some()),
        ];
        let named: Vec<&str> = given.iter().filter(|g| g.1).map(|g| g.0).collect();
        if named.len() != 1 {
            // A kind that could not be read has been reported already.
            if !named.is_empty()
                || !given
                    .iter()
                    .any(|g| self.is_broken(&format!("tail.{}", g.0)))
            {
                let problem = Problem::new("tail", "a tail is of exactly one kind")
                    .value(if named.is_empty() {
                        "none".to_owned()
                    } else {
                        named.join(", ")
                    })
                    .limit("one of paddle, curl, fork, taper");
                self.report(problem.hint("[tail.paddle], for one"));
            }
            return None;
        }
        if collar {
            let problem = Problem::new("tail", "a tail stands where the collar is");
            self.report(problem.hint("keep one of them"));
            return None;
        }
        if let Some(t) = &tail.paddle {
            self.paddle(t).map(TailDesign::Paddle)
        } else if let Some(t) = &tail.curl {
            self.curl(t).map(TailDesign::Curl)
        } else if let Some(t) = &tail.fork {
            self.fork(t).map(TailDesign::Fork)
        } else {
            tail.taper
                .as_ref()
                .and_then(|t| self.taper(t))
                .map(TailDesign::Taper)
        }
    }

    /// Half of a diameter that may be left to the body.
    fn half(
        &mut self,
        path: &str,
        length: Option<Length>,
        limits: &RangeInclusive<f64>,
    ) -> Option<Option<f64>> {
        match length {
            None => Some(None),
            Some(l) => self.length(path, l, limits).map(|d| Some(0.5 * d)),
        }
    }

    fn paddle(&mut self, t: &PaddleSpec) -> Option<PaddleDesign> {
        let neck = self.length("tail.paddle.neck", t.neck, &LIMB);
        let joint = self.length("tail.paddle.joint", t.joint, &STRAND);
        let least = joint.unwrap_or(*STRAND.start());
        let root = self.half("tail.paddle.root", t.root, &(least..=*STRAND.end()));
        // The joint ends within the disc.
        let least = joint.map_or(3.0, |j| (1.5 * j).max(3.0));
        let diameter = self.length("tail.paddle.diameter", t.diameter, &(least..=150.0));
        let most = diameter.map_or(20.0, |d| (0.5 * d).min(20.0));
        let thickness = self.length_or(
            "tail.paddle.thickness",
            t.thickness,
            2.5_f64.min(most),
            &(*PLATE.start()..=most),
        );
        let angle = self.number("tail.paddle.angle", t.angle, &DISC_ANGLE);
        Some(PaddleDesign {
            neck: neck?,
            root: root?,
            joint: 0.5 * joint?,
            radius: 0.5 * diameter?,
            thickness: thickness?,
            angle: angle?,
        })
    }

    fn curl(&mut self, t: &CurlSpec) -> Option<CurlDesign> {
        let length = self.length("tail.curl.length", t.length, &LIMB);
        let turn = self.number("tail.curl.turn", t.turn, &TURN);
        let height = self.length("tail.curl.height", t.height, &(1.0..=100.0));
        let root = self.half("tail.curl.root", t.root, &STRAND);
        let most = height.unwrap_or(20.0).min(20.0);
        let thickness = self.length_or(
            "tail.curl.thickness",
            t.thickness,
            2.5_f64.min(most),
            &(*PLATE.start()..=most),
        );
        let most = thickness.unwrap_or(20.0);
        let tip = self.length_or(
            "tail.curl.tip",
            t.tip,
            1.0_f64.min(most),
            &(*PLATE.start()..=most),
        );
        Some(CurlDesign {
            length: length?,
            turn: turn?,
            towards: t.towards,
            root: root?,
            half_height: 0.5 * height?,
            thickness: thickness?,
            tip: tip?,
        })
    }

    fn fork(&mut self, t: &ForkSpec) -> Option<ForkDesign> {
        let length = self.length("tail.fork.length", t.length, &LIMB);
        let span = self.length("tail.fork.span", t.span, &LIMB);
        let most = 0.8 * length.unwrap_or(*LIMB.end());
        let notch = match t.notch {
            None => length.map(|l| 0.4 * l),
            Some(n) => self.length("tail.fork.notch", n, &(0.0..=most)),
        };
        let most = span.unwrap_or(*STRAND.end()).min(*STRAND.end());
        let root = self.half("tail.fork.root", t.root, &(1.0..=most));
        let thickness = self.length_or("tail.fork.thickness", t.thickness, 2.0, &PLATE);
        Some(ForkDesign {
            length: length?,
            span: span?,
            notch: notch?,
            root: root?,
            thickness: thickness?,
            plane: t.plane,
        })
    }

    fn taper(&mut self, t: &TaperSpec) -> Option<TaperDesign> {
        let length = self.length("tail.taper.length", t.length, &LIMB);
        let tip = self.length_or("tail.taper.tip", t.tip, 1.5, &STRAND);
        let least = tip.unwrap_or(*STRAND.start());
        let root = self.half("tail.taper.root", t.root, &(least..=*STRAND.end()));
        let width = self.number("tail.taper.width", t.width, &FLATNESS);
        let (length, tip) = (length?, tip?);
        self.tip_fits("tail.taper.tip", tip, length)?;
        Some(TaperDesign {
            length,
            root: root?,
            tip: 0.5 * tip,
            width: width?,
        })
    }

    /// The rounded tip of a strand takes at most a third of it.
    fn tip_fits(&mut self, path: &str, tip: f64, length: f64) -> Option<()> {
        // As it is shown, whatever a scale makes of its last bit.
        if tip <= length / 1.5 * (1.0 + SAME_PLACE) {
            return Some(());
        }
        let problem = Problem::new(path, "the tip is too thick for so short a strand")
            .value(self.drawn(tip))
            .limit(format!("at most {}", self.most(length / 1.5)));
        self.report(problem);
        None
    }

    pub(super) fn legs(
        &mut self,
        path: &str,
        legs: &LegsSpec,
        body: Option<&BodyDesign>,
        collar: bool,
    ) -> Option<LegsDesign> {
        let key = |name: &str| format!("{path}.{name}");
        let count = self.number(&key("count"), f64::from(legs.count), &STRANDS);
        let length = self.length(&key("length"), legs.length, &LIMB);
        let root = self.length(&key("root"), legs.root, &STRAND);
        let most = root.unwrap_or(*STRAND.end());
        let tip = self.length(&key("tip"), legs.tip, &(*STRAND.start()..=most));
        let flat = self.number(&key("flat"), legs.flat, &(*FLATNESS.start()..=1.0));
        let spread = self.number(&key("spread"), legs.spread, &SPREAD);
        let droop = self.number(&key("droop"), legs.droop, &DROOP);
        let lean = self.number(&key("lean"), legs.lean, &LEAN);
        if let (Some(tip), Some(length)) = (tip, length) {
            self.tip_fits(&key("tip"), tip, length)?;
        }
        let out_of_place = |rules: &mut Self, name: &str, what: &str| {
            rules.report(Problem::new(key(name), what).hint(format!("leave out {name}")));
            None
        };
        let stand = match legs.at {
            Some(at) => {
                if legs.bunch.is_some() {
                    return out_of_place(
                        self,
                        "bunch",
                        "only legs behind the tail stand in a bunch",
                    );
                }
                let at = self.along(&key("at"), at, 0.0, body);
                let angle = self.number(&key("angle"), legs.angle.unwrap_or(90.0), &ANGLE);
                let least = root.unwrap_or(*STRAND.start());
                let pitch = self.length_or(
                    &key("pitch"),
                    legs.pitch,
                    1.5 * least,
                    &(least..=1.5 * STRAND.end()),
                );
                LegStand::Row {
                    at: at?,
                    angle: angle?,
                    pitch: pitch?,
                    lean: lean?,
                }
            }
            None if self.is_broken(&key("at")) => return None,
            None => {
                for (name, given) in [
                    ("angle", legs.angle.is_some()),
                    ("pitch", legs.pitch.is_some()),
                    ("lean", legs.lean != 0.0),
                ] {
                    if given {
                        let what = "legs behind the tail have no such measure";
                        return out_of_place(self, name, what);
                    }
                }
                if collar {
                    let problem = Problem::new(path, "these legs stand where the collar is");
                    self.report(problem.hint("give them a place `at` along the body"));
                    return None;
                }
                LegStand::Tail(legs.bunch.unwrap_or_default())
            }
        };
        Some(LegsDesign {
            stand,
            count: count? as usize,
            length: length?,
            root: 0.5 * root?,
            tip: 0.5 * tip?,
            flat: flat?,
            spread: spread?,
            droop: droop?,
        })
    }

    /// The sprue comes along the axis: it would melt into whatever stands behind the tail.
    pub(super) fn clear_of_sprue(&mut self, spec: &Spec) {
        const PATH: &str = "mould.sprue.end";
        let bunch = spec.legs.iter().any(|l| l.at.is_none());
        let behind = spec.tail.is_some() || bunch;
        if behind && spec.mould.sprue.end == BodyEnd::Tail && !self.is_broken(PATH) {
            let problem = Problem::new(
                PATH,
                "the sprue would run through what stands behind the tail",
            );
            self.report(problem.value("tail").limit("nose"));
        }
    }
}
