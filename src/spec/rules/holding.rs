//! Rules of how the mould is made, laid out, held together and printed.

use super::*;

/// More baits than a bench mould has (reasoned).
const CAVITIES: RangeInclusive<f64> = 1.0..=24.0;
/// From one bait to the next.
const PITCH: RangeInclusive<f64> = 3.0..=400.0;
/// From the smallest printer to the largest (reasoned).
const BED: RangeInclusive<f64> = 60.0..=1000.0;
/// Thinner pins bend, thicker ones do not fit (reasoned).
const DOWEL: RangeInclusive<f64> = 1.5..=12.0;
/// From a press fit to what no longer holds a master to its line (reasoned).
const BOARD_CLEARANCE: RangeInclusive<f64> = 0.05..=2.0;
/// Sheet that stands up by itself, to what a bench saw cuts (reasoned).
const SHEET: RangeInclusive<f64> = 1.0..=25.0;
/// From a knife's cut to a wide saw's.
const KERF: RangeInclusive<f64> = 0.0..=4.0;
/// Tips of hand injectors (reasoned).
const NOZZLE: RangeInclusive<f64> = 3.0..=40.0;
/// Seconds.
const FILL: RangeInclusive<f64> = 0.2..=120.0;

impl Rules<'_> {
    /// What a spec says of these; everything else is as in the default.
    pub(super) fn holding(&mut self, mould: &MouldSpec) -> Option<MouldDesign> {
        let count = f64::from(mould.cavities.unwrap_or(1));
        let cavities = self.number("mould.cavities", count, &CAVITIES);
        let pitch = match mould.pitch {
            Some(pitch) => self.length("mould.pitch", pitch, &PITCH).map(Some),
            None => Some(None),
        };
        if mould.pitch.is_some() && cavities == Some(1.0) && !self.is_broken("mould.pitch") {
            self.report(
                Problem::new("mould.pitch", "one bait has no neighbour to be apart from")
                    .hint("say how many with cavities, or leave the pitch out"),
            );
        }
        if cavities > Some(1.0) && mould.route == Route::Board {
            self.report(
                Problem::new("mould.cavities", "a bedding board holds one master")
                    .value(count)
                    .limit("1")
                    .hint("cast more moulds in the same frame, or take route = \"boxes\""),
            );
        }
        if let Some(other) = mould.beside.first()
            && !self.is_broken("mould.beside")
        {
            self.report(
                Problem::new("mould.beside", "only the command reads other specs")
                    .value(format_args!("\"{}\"", other.spec))
                    .hint("in a library, hand the others over with this one: Kit::build_beside"),
            );
        }
        if mould.route != Route::Block {
            self.only_rigid("mould.bolts", mould.bolts.is_some());
            self.only_rigid("mould.notches", mould.notches == Some(true));
        }
        let bed = mould.bed.unwrap_or([220.0, 220.0, 250.0].map(Length::mm));
        let bed = [0, 1, 2].map(|k| self.length(&format!("mould.bed[{k}]"), bed[k], &BED));
        let dowel = match mould.dowel {
            Some(dowel) => self.length("mould.dowel", dowel, &DOWEL).map(Some),
            None => Some(None),
        };
        let clearance = mould.board.clearance;
        let clearance = self.length_or("mould.board.clearance", clearance, 0.2, &BOARD_CLEARANCE);
        let sheet = self.length_or("mould.sheet.thickness", mould.sheet.thickness, 4.0, &SHEET);
        let kerf = self.length_or("mould.sheet.kerf", mould.sheet.kerf, 0.2, &KERF);
        if mould.sheet.walls && mould.route != Route::Boxes {
            let problem = Problem::new("mould.sheet.walls", "only pour boxes have such walls")
                .limit("with route = \"boxes\" only");
            self.report(match mould.route {
                Route::Board => problem.hint(
                    "leave this out: the board's frame comes as a pattern for sheet as it is",
                ),
                _ => problem.hint("leave this out, or write route = \"boxes\""),
            });
        }
        let nozzle = match mould.sprue.nozzle {
            Some(tip) => self.length("mould.sprue.nozzle", tip, &NOZZLE).map(Some),
            None => Some(None),
        };
        for (path, written) in [
            ("mould.sprue.mouth", mould.sprue.mouth),
            ("mould.sprue.depth", mould.sprue.depth),
        ] {
            if mould.sprue.nozzle.is_some() && written.is_some() && !self.is_broken(path) {
                self.report(
                    Problem::new(path, "the seat of an injector takes the funnel's place")
                        .hint("leave this out, or the nozzle"),
                );
            }
        }
        let fill = match mould.sprue.fill {
            Some(seconds) => self.number("mould.sprue.fill", seconds, &FILL).map(Some),
            None => Some(None),
        };
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        Some(MouldDesign {
            route: mould.route,
            cavities: cavities? as usize,
            pitch: pitch?,
            bolts: mould.bolts,
            bands: mould.bands,
            notches: mould.notches,
            bed: [bed[0]?, bed[1]?, bed[2]?],
            dowel_radius: dowel?.map(|d| d / 2.0),
            board_clearance: clearance?,
            sheet: sheet?,
            sheet_walls: mould.sheet.walls,
            kerf: kerf?,
            key_shape: mould.keys.shape,
            nozzle_radius: nozzle?.map(|tip| tip / 2.0),
            fill: fill?,
            ..MouldDesign::default()
        })
    }

    fn only_rigid(&mut self, path: &str, asked: bool) {
        if asked && !self.is_broken(path) {
            self.report(
                Problem::new(path, "rubber is not held or opened this way")
                    .limit("with route = \"block\" only")
                    .hint("bands and backing plates hold silicone: bands = true"),
            );
        }
    }
}
