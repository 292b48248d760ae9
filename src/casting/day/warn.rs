//! What is to be known before the pour, in sentences.

use super::{Day, mould_material};
use crate::spec::Design;

impl Day {
    pub(super) fn warn(&mut self, design: &Design) {
        let cast = &design.cast;
        let (pour, of) = (cast.pour.value, mould_material(design));
        let mut say = |text: String| self.warnings.push(text);
        if let Some(softens) = &of.softens
            && softens.value < pour
        {
            say(format!(
                "{} softens at {:.0} °C ({}), below a pour of {pour:.0} °C: do not cast hot plastic in \
                 it. Cast halves of silicone in printed boxes instead: route = \"boxes\" under [mould].",
                of.name, softens.value, softens.source
            ));
        } else if let Some(service) = &of.service {
            if service.value < pour {
                say(format!(
                    "A mould of {} stands {:.0} °C ({}), less than a pour of {pour:.0} °C.",
                    of.name, service.value, service.source
                ));
            }
        } else if of.class == crate::materials::Class::Resin {
            say(format!(
                "Whether {} stands a pour of {pour:.0} °C is not known here: cast in it only if its data \
                 sheet says so. If not, cast halves of silicone in printed boxes: route = \"boxes\" under \
                 [mould].",
                of.name
            ));
        }
        for s in &self.silicone {
            if s.in_pot_life == Some(false) {
                say(format!(
                    "Mixing and pouring the {} half takes about {}, longer than the pot life of {}.",
                    s.half,
                    crate::casting::schedule::show(s.hands_s),
                    cast.silicone.name
                ));
            }
        }
        for t in &self.thin {
            let [least, most] = t.by_weight;
            if t.away_mm <= least {
                continue;
            }
            let may = if t.away_mm > most {
                "will hardly"
            } else {
                "may not"
            };
            let place = format!(
                "it is {:.1} mm thin, {:.0} mm along it from the body",
                t.thickness_mm, t.away_mm
            );
            say(match self.filling.injected_s {
                None => format!(
                    "{} {may} fill: {place}, and plastic poured by hand runs {least:.0} to {most:.0} mm \
                     before it sets. A warm mould, an injector or a thicker tip help.",
                    t.feature
                ),
                Some(seconds) => format!(
                    "{} {may} fill by the weight of the plastic: {place}. How far an injector drives it \
                     hangs on how hard it is pressed, which is not reckoned here; plastic that stops \
                     there sets in {:.1} s, and the shot is reckoned at {seconds:.1} s. Press quickly and \
                     without a stop; a warm mould or a thicker tip help.",
                    t.feature, t.sets_s
                ),
            });
        }
        // Even plastic as thin as oil: how thick it is hot is hardly known.
        if let (Some(cooling), Some([quick, _])) = (&self.cooling, self.filling.poured_s)
            && quick > 0.25 * cooling.first_s
        {
            say(format!(
                "Even thin plastic takes {} to fill the mould, much of the {} in which the bait cools: \
                 use a wider gate (mould.sprue.gate) or an injector.",
                crate::casting::schedule::show(quick),
                crate::casting::schedule::show(cooling.first_s)
            ));
        }
        if self.sealed {
            say(
                "The injector's tip closes the sprue, and there are no vents: nothing lets the air out, and \
                 pressing harder drives hot plastic out at the tip. Ask for vents (mould.vents), or pour \
                 into a funnel."
                    .to_owned(),
            );
        }
        if design.mould.nozzle_radius.is_some() && cast.injector.is_none() {
            say(
                "The sprue is a seat for an injector's tip, and the spec names no injector: what yours \
                 holds goes under [cast], as injector = \"60 ml\"."
                    .to_owned(),
            );
        }
        if self.plastic.strokes_per_shot.is_some_and(|n| n > 1) {
            say(
                "One filling of the injector is less than a shot: by the second, the first may have set \
                 at the gate. Use a larger injector, two of them, or fewer cavities."
                    .to_owned(),
            );
        }
        if self.cooling.is_none() {
            say(format!(
                "No cooling time: {} or {} has no conductivity or heat.",
                cast.plastic.name, of.name
            ));
        }
    }
}
