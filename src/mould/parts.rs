//! What is printed for a mould, by its route.

use nalgebra::Vector3;

use super::bed::{self, Unfit};
use super::board::{self, BedError};
use super::{Mould, MouldError, boxes, floors};
use crate::body::Body;
use crate::mesh::{AxisMap, Mesh};
use crate::spec::{Design, Problem, Route};

/// A printed part of a mould.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Printed {
    /// Short name in small letters, such as `box-left`.
    pub name: String,
    /// What it is, for people.
    pub title: String,
    /// Its pieces, each as it is printed: standing on z = 0, in the positive octant. More than
    /// one only where the printer's bed is too small.
    pub pieces: Vec<Mesh>,
    /// What the maker should know of it.
    pub note: Option<String>,
    /// Diameter of the dowels that join them; 0 for one piece.
    pub dowel: f64,
}

impl Printed {
    /// How many dowels join its pieces: two at each joint.
    pub fn dowels(&self) -> usize {
        2 * self.pieces.len().saturating_sub(1)
    }

    /// Length of the bores for one dowel, in mm: half of it in each of two pieces.
    pub fn dowel_length(&self) -> f64 {
        2.0 * bed::DEPTH * self.dowel
    }
}

/// A part before it is cut to fit the printer.
struct Part {
    name: String,
    title: String,
    mesh: Mesh,
    /// Heights at which it is flat where a joint does no harm.
    flats: Vec<f64>,
}

/// Room between formers laid out together.
const APART: f64 = 5.0;

impl Mould {
    /// Everything to print for this mould, as it is printed; what silicone is cast in is larger
    /// by the print's own shrinkage. `body` and `master` (in the body's axes) are those the mould
    /// was made around.
    ///
    /// # Errors
    /// What does not fit the printer, or has no room, is named with the spec's field.
    pub fn parts(
        &self,
        design: &Design,
        body: &Body,
        master: &Mesh,
    ) -> Result<Vec<Printed>, MouldError> {
        let names = self.names();
        let mut parts: Vec<Part> = Vec::new();
        let mut note = None;
        // Its parting face before the bait and behind it.
        let level = [f64::NEG_INFINITY, f64::INFINITY].map(|x| self.face.along(x));
        match self.route {
            Route::Block => {
                let [upper, lower] = self.printed();
                let faces = [
                    level.map(|z| self.block.max.z - z),
                    level.map(|z| z - self.block.min.z),
                ];
                for (name, (mesh, faces)) in
                    names.into_iter().zip([upper, lower].into_iter().zip(faces))
                {
                    parts.push(Part {
                        name: format!("mould-{name}"),
                        title: format!("mould half, {name}"),
                        mesh,
                        flats: faces.to_vec(),
                    });
                }
            }
            Route::Boxes => {
                let turned = self.lower.clone().mapped(&AxisMap::HALF_TURN_X);
                let halves = [
                    (self.upper.clone(), self.face.clone()),
                    (turned, self.face.turned()),
                ];
                let levels = [level, level.map(|z| 0.0 - z)];
                let halves = halves.into_iter().zip(levels);
                for (name, ((half, face), level)) in names.into_iter().zip(halves) {
                    let label = name.to_uppercase();
                    let sheet = design.mould.sheet;
                    parts.push(if design.mould.sheet_walls {
                        let floor = floors::floor(&half, &face, sheet, &label)?;
                        Part {
                            name: format!("floor-{name}"),
                            title: format!("floor of the pour box, {name} half"),
                            mesh: floor,
                            flats: level.to_vec(),
                        }
                    } else {
                        let tray = boxes::tray(&half, &label)?;
                        let brim = tray.bounds().map(|b| b.max.z);
                        Part {
                            name: format!("box-{name}"),
                            title: format!("pour box, {name} half"),
                            mesh: tray,
                            flats: level.into_iter().chain(brim).collect(),
                        }
                    });
                }
            }
            Route::Board => {
                let trunk = body.mesh(design.tolerance)?;
                let bedding = board::bed(design, self, master, &trunk).map_err(|e| match e {
                    BedError::Spec(problems) => MouldError::Spec(problems),
                    BedError::Solid(solid) => MouldError::Solid(solid),
                })?;
                if !bedding.roomy {
                    note = Some(
                        "The trough has its room round the trunk only: features too fine to be moved \
                         out fit without any. Ease the board there with a file."
                            .to_owned(),
                    );
                }
                let mut formers = Mesh::default();
                let mut at = 0.0;
                for former in bedding.formers {
                    let former = former.settled().translated(&Vector3::new(0.0, at, 0.0));
                    at = former.bounds().map_or(at, |b| b.max.y) + APART;
                    formers.append(&former);
                }
                for (name, title, mesh) in [
                    ("board", "bedding board", bedding.board),
                    ("formers", "formers of sprue, vents and seats", formers),
                    ("frame", "frame", bedding.frame),
                ] {
                    let top = mesh.bounds().map(|b| b.max.z);
                    parts.push(Part {
                        name: name.to_owned(),
                        title: title.to_owned(),
                        flats: match name {
                            "board" => level.to_vec(),
                            _ => top.into_iter().collect(),
                        },
                        mesh,
                    });
                }
            }
        }
        // Halves that are printed have it in their cavity already.
        let scale = match self.route {
            Route::Block => 1.0,
            Route::Boxes | Route::Board => design.allowances.print_scale(),
        };
        let mut printed = Vec::new();
        for part in parts {
            let Part {
                name,
                title,
                mesh,
                flats,
            } = part;
            let flats: Vec<f64> = flats.iter().map(|z| z * scale).collect();
            let (pieces, radius) = bed::fitted(
                &mesh.scaled(scale),
                &flats,
                design.mould.bed,
                design.mould.dowel_radius,
            )
            .map_err(|unfit| cannot_print(design, &title, unfit))?;
            printed.push(Printed {
                name,
                title,
                note: note.take(),
                dowel: if pieces.len() > 1 { 2.0 * radius } else { 0.0 },
                pieces: pieces.into_iter().map(Mesh::settled).collect(),
            });
        }
        Ok(printed)
    }
}

fn cannot_print(design: &Design, title: &str, unfit: Unfit) -> MouldError {
    let show = |mm: f64| design.units.show(mm);
    match unfit {
        Unfit::TooHigh(height) => Problem::new(
            "mould.bed[2]",
            format!("the {title} is higher than the printer can print"),
        )
        .value(show(design.mould.bed[2]))
        .limit(format!("at least {}", show(height + 0.005)))
        .into(),
        Unfit::NoDowel(fits) => {
            let asked = design.mould.dowel_radius;
            let problem = Problem::new(
                "mould.dowel",
                format!("where the {title} is cut to fit the bed there is no room for two dowels"),
            )
            .value(asked.map_or("2 mm and more".to_owned(), |r| show(2.0 * r)));
            match fits {
                Some(radius) => problem
                    .limit(format!("at most {}", show(2.0 * radius)))
                    .hint(format!(
                        "take dowels of {}: mould.dowel",
                        show(2.0 * radius)
                    )),
                None => problem.hint("take a thicker mould.wall or a larger mould.bed"),
            }
            .into()
        }
        Unfit::Solid(solid) => solid.into(),
    }
}
