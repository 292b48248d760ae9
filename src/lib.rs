//! Baitwright turns a short spec of a soft fishing bait into what it takes to cast it: a
//! meshed master, a two-part mould around it, a lathe gauge on paper at 1:1, and figures.
//!
//! The crate is a library without I/O of its own; the command `baitwright` is a thin
//! layer over it (feature `command`, on by default; an embedder turns it off).
//!
//! # Axes, units, tolerance
//! Millimetres inside, `f64`. x runs along the body from the nose (0) to the tail, y to the
//! left, z up to the back; right-handed. Triangles are counter-clockwise seen from
//! outside. The one tolerance is the greatest distance between a mesh and the true surface.
//! Trigonometry goes through `libm`, so that the same spec gives the same bytes on
//! every platform.
//!
//! # Words
//! The *bait* is what is cast. *Core prints* are parts of the master that only make seats
//! in the mould: the collar that a skirt is gathered behind, the ends of loose cores. The
//! *master* is both. The *trunk* is the body without what stands on it or is sunk in it.
//! The mould parts along the *flank* (the upright mid-plane y = 0) or the *waist* (z = 0; on a
//! cambered body a ruled face that follows the spine, with steps to fins that stand out of it).
//!
//! # The stages, one example each
//!
//! **Text to spec to design.** A [`spec::Spec`] is what the maker wrote, as plain structs; a
//! [`spec::Design`] has passed every rule and is in millimetres. Everything that is wrong
//! comes at once, with its place.
//! ```
//! use baitwright::spec::{self, Format};
//! let text = r#"
//! body.length = 90
//! body.width = 0.62
//! body.outline = [{ at = 30, height = 19 }, { at = 62, height = "1/2 in" }]
//! "#;
//! let design = spec::design(text, Format::Toml)?;
//! assert_eq!(design.body.back[1].before, 6.35);
//!
//! let problems = spec::design(&text.replace("= 19", "= -19"), Format::Toml).unwrap_err();
//! let first = &problems.0[0];
//! assert_eq!(first.path, "body.outline[0].height");
//! assert_eq!(first.place.as_ref().map(|p| (p.line, p.column)), Some((4, 37)));
//! # Ok::<(), spec::Problems>(())
//! ```
//!
//! **Design to body.** A [`body::Body`] is the trunk: three outlines, ribs included, with a
//! section and a spine that may change along it. Its figures are exact, by quadrature over
//! the curves, not from a mesh.
//! ```
//! # use baitwright::spec::{self, Format};
//! use baitwright::body::Body;
//! # let text = "body.length = 90\nbody.width = 0.62\nbody.outline = [{ at = 30, height = 19 }]";
//! # let design = spec::design(text, Format::Toml)?;
//! let body = Body::from_design(&design);
//! let figures = body.figures();
//! assert_eq!(figures.height, (30.0, 19.0));
//! assert!(!body.is_round());
//! # Ok::<(), spec::Problems>(())
//! ```
//! Without a spec, from an analytic profile:
//! ```
//! use baitwright::{body::Body, curve::Outline, spec::End};
//! let radius = |x: f64| (x * (20.0 - x)).max(0.0).sqrt();
//! let outline = Outline::fit(20.0, End::Round, End::Round, 1e-9, radius)?;
//! let sphere = Body::revolved(outline, End::Round, End::Round);
//! let exact = 4.0 / 3.0 * std::f64::consts::PI * 1000.0;
//! assert!((sphere.figures().volume / exact - 1.0).abs() < 1e-9);
//! # Ok::<(), baitwright::curve::FitError>(())
//! ```
//!
//! **Body to mesh.** Facets straddle the true surface within the tolerance; one checker
//! holds all invariants of a [`mesh::Mesh`].
//! ```
//! # use baitwright::{body::Body, spec::{self, Format}};
//! # let text = "body.length = 90\nbody.width = 0.62\nbody.outline = [{ at = 30, height = 19 }]";
//! # let design = spec::design(text, Format::Toml)?;
//! # let body = Body::from_design(&design);
//! let trunk = body.mesh(0.05)?;
//! trunk.check()?;
//! assert!((trunk.volume() - body.figures().volume).abs() < 0.05 * trunk.area());
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
//!
//! **Body to master.** A [`body::Master`] is the trunk with its fins, tail, legs, eyes and
//! other hollows, and the core prints, as one solid. It says where each limb is thinnest.
//! ```
//! use baitwright::body::{Body, Master};
//! # use baitwright::spec::{self, Format};
//! # let text = "body.length = 90\nbody.width = 0.62\nbody.outline = [{ at = 30, height = 19 }]";
//! let text = format!("{text}\ntail.paddle = {{ neck = 16, joint = 3.2, diameter = 14 }}");
//! let design = spec::design(&text, Format::Toml)?;
//! let body = Body::from_design(&design);
//! let master = Master::build(&design, &body)?;
//! master.mesh.check()?;
//! assert!(master.bait_volume > body.figures().volume);
//! assert_eq!(master.thinnest[0].path, "tail.paddle");
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
//! A master from a scan takes the trunk's place: see [`import::Imported`].
//!
//! **Master to rig**: what is cast in, how the whole hangs and sinks.
//! ```
//! # use baitwright::{body::{Body, Master}, spec::{self, Format}};
//! use baitwright::rig::{Bed, Rig};
//! let text = r#"
//! body = { length = 90, width = 0.62, outline = [{ at = 30, height = 19 }] }
//! wire = { awg = 20 }
//! weight = [{ mass = "1/32 oz", metal = "bismuth", at = 36, height = -4 }]
//! "#;
//! let design = spec::design(text, Format::Toml)?;
//! let body = Body::from_design(&design);
//! let bed = Bed::of(&body, &Master::build(&design, &body)?)?;
//! let rig = Rig::build(&design, &bed)?;
//! let sinking = rig.sinker.terminal().expect("it is heavier than water");
//! assert!(sinking.slow.sink < sinking.fast.sink);
//! assert!(rig.thinnest().expect("it has inserts").1.thickness > 0.8);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
//!
//! **Master to mould.** Two half-blocks, with keys, sprue and vents;
//! [`Mould::build`](mould::Mould::build) makes the master itself. What shrinks is
//! allowed for by [`spec::Allowances`], which the kit below applies.
//! ```
//! # use baitwright::{body::Body, spec::{self, Format}};
//! use baitwright::mould::Mould;
//! # let text = "body.length = 90\nbody.width = 0.62\nbody.outline = [{ at = 30, height = 19 }]";
//! # let design = spec::design(text, Format::Toml)?;
//! # let body = Body::from_design(&design);
//! let mould = Mould::build(&design, &body)?;
//! let block: f64 = mould.block.size().iter().product();
//! let parts = mould.upper.volume() + mould.lower.volume() + mould.cavity.volume() + mould.gap;
//! assert!((parts / block - 1.0).abs() < 1e-9);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
//!
//! **Paper for the lathe**, for a round body, and **files** of anything:
//! ```
//! use baitwright::{drawing, export, lathe::Gauge};
//! # use baitwright::{body::Body, spec::{self, Format}};
//! # let text = "body.length = 90\nbody.outline = [{ at = 30, height = 19 }]";
//! # let design = spec::design(text, Format::Toml)?;
//! # let body = Body::from_design(&design);
//! let sheet = drawing::gauge_sheet(&Gauge::of(&body)?, &design.name, design.units);
//! let svg: String = export::svg::to_svg(&sheet);
//! let stl: Vec<u8> = export::stl::to_bytes(&body.mesh(0.05)?, "master")?;
//! assert_eq!(stl.len(), 84 + 50 * body.mesh(0.05)?.triangles.len());
//! # assert!(svg.contains("mm"));
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
//!
//! **Pages for the maker's printer**, whatever the body:
//! ```
//! use baitwright::{body::{Body, Master}, drawing, export};
//! # use baitwright::spec::{self, Format};
//! # let text = "body.length = 90\nbody.outline = [{ at = 30, height = 19 }]";
//! # let design = spec::design(text, Format::Toml)?;
//! # let body = Body::from_design(&design);
//! let master = Master::build(&design, &body)?;
//! let paper = drawing::paper(&design, &body, 1.0, &master.mesh, &[]);
//! assert!(paper.pages.iter().all(|page| (page.width, page.height) == (297.0, 210.0)));
//! let pdf: Vec<u8> = export::pdf::to_pdf(&paper.pages, &design.name);
//! # assert!(pdf.starts_with(b"%PDF-"));
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
//!
//! **The whole kit** in memory; [`Spec::sized`](spec::Spec::sized) makes a spec of another
//! size first:
//! ```
//! use baitwright::{kit::Kit, spec::{self, Format}};
//! let text = "body.length = 90\nbody.outline = [{ at = 30, height = 19 }]";
//! let kit = Kit::build(&spec::read(text, Format::Toml)?.spec)?;
//! assert!(kit.files.iter().any(|file| file.path == "master.stl"));
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

pub mod body;
pub mod casting;
pub mod curve;
pub mod drawing;
pub mod export;
pub mod import;
pub mod kit;
pub mod lathe;
pub mod materials;
pub mod mesh;
pub mod mould;
pub mod quantity;
pub mod rig;
pub mod spec;
pub mod water;
