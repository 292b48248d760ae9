//! Rules of the collar and the mould.

use super::*;

impl Rules<'_> {
    pub(super) fn collar(
        &mut self,
        collar: &CollarSpec,
        body: Option<&BodyDesign>,
        tolerance: Option<f64>,
    ) -> Option<Vec<CollarDesign>> {
        if self.is_broken("collar") || self.is_broken("collar.steps") {
            return None;
        }
        let before = self.problems.len();
        if body.is_some_and(|body| body.tail != End::Flat) {
            self.report(
                Problem::new("collar", "a collar needs a flat tail to stand on")
                    .hint("add a station at the length to the outline"),
            );
        }
        let count = collar.steps.len() as f64;
        self.number("collar.steps", count, &COLLAR_STEPS);
        let mut cylinders = Vec::new();
        let mut last: Option<f64> = None;
        for (i, step) in collar.steps.iter().enumerate() {
            let path = format!("collar.steps[{i}]");
            let length = self.length(&format!("{path}.length"), step.length, &COLLAR_LENGTH);
            let path = format!("{path}.diameter");
            let diameter = self.length(&path, step.diameter, &THICKNESS);
            if let (Some(last), Some(diameter)) = (last, diameter)
                && (diameter - last).abs() < COLLAR_SHOULDER - SAME_PLACE
            {
                self.report(
                    Problem::new(path, "this step of the collar is too slight")
                        .value(step.diameter)
                        .limit(format_args!(
                            "at least {} more or less than {}",
                            self.show(COLLAR_SHOULDER),
                            self.show(last)
                        ))
                        .hint("join the two cylinders into one"),
                );
            }
            last = diameter;
            if let (Some(length), Some(diameter)) = (length, diameter) {
                let radius = diameter / 2.0;
                cylinders.push(CollarDesign { length, radius });
            }
        }
        if self.problems.len() > before {
            return None;
        }
        self.collar_on_face(&cylinders, collar, body?, tolerance?)?;
        Some(cylinders)
    }

    /// The ring between the tail's face and the first cylinder must not cross itself.
    fn collar_on_face(
        &mut self,
        cylinders: &[CollarDesign],
        collar: &CollarSpec,
        body: &BodyDesign,
        tolerance: f64,
    ) -> Option<()> {
        let radius = cylinders.first()?.radius;
        let (back, belly, half_width) = (
            body.back.last()?.after,
            body.belly.last()?.after,
            body.half_width.last()?.after,
        );
        let (above, below) = (
            face_radii(half_width, back, body.section.last()?.back),
            face_radii(half_width, belly, body.section.last()?.belly),
        );
        let (least, most) = (above.0.min(below.0), above.1.max(below.1));
        // Facets of either may stray by the tolerance, inwards or outwards.
        let margin = (COLLAR_SHOULDER / 2.0).max(4.0 * tolerance);
        let fits = radius <= least - margin + SAME_PLACE || radius >= most + margin - SAME_PLACE;
        if fits {
            return Some(());
        }
        let (inner, outer) = (2.0 * (least - margin), 2.0 * (most + margin));
        let within = if inner >= *THICKNESS.start() {
            format!("up to {}, within the tail's face, or ", self.show(inner))
        } else {
            String::new()
        };
        self.report(
            Problem::new(
                "collar.steps[0].diameter",
                "this cylinder crosses the edge of the tail's face",
            )
            .value(collar.steps[0].diameter)
            .limit(format_args!(
                "{within}from {}, all around it",
                self.show(outer)
            ))
            .hint("or change the station at the tail"),
        );
        None
    }

    pub(super) fn mould(&mut self, mould: &MouldSpec, has_collar: bool) -> Option<MouldDesign> {
        let keys = &mould.keys;
        // None at all has to be said.
        let key_count = match keys.count {
            Some(0) if !self.is_broken("mould.keys.count") => Some(0.0),
            count => {
                let (path, count) = ("mould.keys.count", f64::from(count.unwrap_or(4)));
                let shown = format!("0, or {} to {}", KEY_COUNT.start(), KEY_COUNT.end());
                (!self.is_broken(path))
                    .then(|| self.within(path, count, &KEY_COUNT, count.to_string(), shown))
                    .flatten()
            }
        };
        let holding = self.holding(mould);
        let diameter = self.length_or("mould.keys.diameter", keys.diameter, 6.0, &KEY_DIAMETER);
        let most = diameter.unwrap_or(*KEY_DIAMETER.end());
        // More than half a ball would hold its socket fast.
        let (most, usual) = match keys.shape {
            KeyShape::Dome => (0.5 * most, (0.5 * most).min(4.0)),
            KeyShape::Cone | KeyShape::Bar => (most, 4.0),
        };
        let height = self.length_or(
            "mould.keys.height",
            keys.height,
            usual,
            &(KEY_LEAST_HEIGHT..=most),
        );
        let key_clearance = match keys.clearance {
            Some(none) if none.value == 0.0 && !self.is_broken("mould.keys.clearance") => Some(0.0),
            // Rubber cast against rubber leaves no room.
            None if mould.route != Route::Block => Some(0.0),
            written => self.length_or("mould.keys.clearance", written, 0.2, &KEY_CLEARANCE),
        };
        let least = match (diameter, height, key_clearance) {
            (Some(d), Some(h), Some(c)) if key_count != Some(0.0) => {
                wall_for_keys(keys.shape, 0.5 * d, h, c)
            }
            _ => 0.0,
        };
        // The default gives way to large keys; a wall that is written does not.
        let wall = self.length_or("mould.wall", mould.wall, WALL_DEFAULT.max(least), &WALL);
        if let (Some(wall), Some(diameter)) = (wall, diameter)
            && wall < least - SAME_PLACE
        {
            self.report(
                Problem::new("mould.wall", "the wall is thinner than the keys need")
                    .value(self.show(wall))
                    .limit(format_args!(
                        "at least {}, for keys of {}{}",
                        self.show(self.rounded_up(least)),
                        self.show(diameter),
                        self.fraction_above(least)
                    ))
                    .hint("make the wall thicker or the keys smaller; left out, it fits the keys"),
            );
        }

        let sprue = &mould.sprue;
        let gate = match sprue.gate {
            Some(gate) => self
                .length("mould.sprue.gate", gate, &GATE)
                .map(|gate| Some(gate / 2.0)),
            None if self.is_broken("mould.sprue.gate") => None,
            None => Some(None),
        };
        let (mut mouth, mut funnel_depth) = (
            self.length_or("mould.sprue.mouth", sprue.mouth, 16.0, &MOUTH),
            self.length_or("mould.sprue.depth", sprue.depth, 12.0, &FUNNEL),
        );
        if let Some(tip) = holding.as_ref().and_then(|h| h.nozzle_radius) {
            // A cone of 60° at most that a round or conical tip seals on, a fifth wider than it.
            mouth = Some(2.4 * tip);
            funnel_depth = Some(1.2 * tip * 3.0_f64.sqrt());
        }
        if let (Some(Some(gate)), Some(mouth)) = (gate, mouth)
            && mouth <= 2.0 * gate
        {
            let path = match sprue.mouth.or(sprue.nozzle) {
                Some(_) if sprue.nozzle.is_some() => "mould.sprue.nozzle",
                Some(_) => "mould.sprue.mouth",
                None => "mould.sprue.gate",
            };
            self.report(
                Problem::new(path, "the funnel must be wider than the gate")
                    .value(format_args!(
                        "mouth {}, gate {}",
                        self.show(mouth),
                        self.show(2.0 * gate)
                    ))
                    .hint("make the mouth wider or the gate narrower"),
            );
        }
        if has_collar
            && sprue.end == BodyEnd::Tail
            && !self.is_broken("mould.sprue.end")
            && !self.is_broken("collar")
        {
            self.report(
                Problem::new("mould.sprue.end", "the collar is in the way of this sprue")
                    .value("\"tail\"")
                    .hint("pour at the nose: end = \"nose\""),
            );
        }

        let vents = &mould.vents;
        let vent_count = match vents.count {
            Some(count) => self
                .number("mould.vents.count", f64::from(count), &VENT_COUNT)
                .map(|count| Some(count as usize)),
            None if self.is_broken("mould.vents.count") => None,
            None => Some(None),
        };
        let vent_width = self.length_or("mould.vents.width", vents.width, 1.5, &VENT_WIDTH);
        let vent_depth = self.length_or("mould.vents.depth", vents.depth, 0.5, &VENT_DEPTH);

        let key_count = key_count?;
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        Some(MouldDesign {
            parting: mould.parting.unwrap_or_default(),
            parting_free: mould.parting.is_none(),
            wall: wall?,
            key_count: keys.count.map(|_| key_count as usize),
            steps: true,
            key_radius: diameter? / 2.0,
            key_height: height?,
            key_clearance: key_clearance?,
            sprue_end: sprue.end,
            gate_radius: gate?,
            mouth_radius: mouth? / 2.0,
            funnel_depth: funnel_depth?,
            vent_count: vent_count?,
            vent_width: vent_width?,
            vent_depth: vent_depth?,
            ..holding?
        })
    }
}

/// The least and the greatest distance from the axis to the quarter of a superellipse
/// |y/w|^n + |z/h|^n = 1.
///
/// With u = |y/w|^n the squared distance is w² u^p + h² (1 − u)^p, p = 2/n: one extreme is
/// at the axes, the other by Lagrange's rule at (w^q + h^q)^(2/q), q = 2/(1 − p), which is
/// Hölder's inequality with equality. For the ellipse, n = 2, both are at the axes.
pub(in crate::spec) fn face_radii(w: f64, h: f64, n: f64) -> (f64, f64) {
    let (small, large) = (w.min(h), w.max(h));
    let p = 2.0 / n;
    if (p - 1.0).abs() < 1e-9 {
        return (small, large);
    }
    let between = libm::pow(small / large, 2.0 / (1.0 - p).abs());
    let bulge = libm::pow(1.0 + between, (1.0 - p) / 2.0);
    if p < 1.0 {
        (small, large * bulge)
    } else {
        (small * bulge, large)
    }
}
