//! The files of a kit as they are made.

use nalgebra::Vector3;

use super::{Kind, KitError, KitFile, SolidFacts};
use crate::export::three_mf::Object;
use crate::export::{stl, three_mf};
use crate::mesh::Mesh;

/// Room between parts that are shown or laid out side by side, in mm.
pub(super) const APART: f64 = 10.0;

/// Solids side by side, for a printer: cores that cross in the mould are apart on it.
pub(super) fn laid_out(solids: impl Iterator<Item = Mesh>) -> Mesh {
    let (mut all, mut at) = (Mesh::default(), 0.0);
    for solid in solids {
        let solid = solid.settled().translated(&Vector3::new(0.0, at, 0.0));
        at = solid.bounds().map_or(at, |b| b.max.y) + APART;
        all.append(&solid);
    }
    all
}

/// Files as they are made.
#[derive(Default)]
pub(super) struct Files(pub(super) Vec<KitFile>);

impl Files {
    pub(super) fn add(&mut self, path: impl Into<String>, kind: Kind, bytes: Vec<u8>) {
        self.0.push(KitFile {
            path: path.into(),
            kind,
            bytes,
            solid: None,
        });
    }

    pub(super) fn stl(
        &mut self,
        path: impl Into<String>,
        kind: Kind,
        mesh: &Mesh,
        title: &str,
    ) -> Result<(), KitError> {
        self.add(path, kind, stl::to_bytes(mesh, title)?);
        self.measure(std::iter::once(mesh.clone()));
        Ok(())
    }

    pub(super) fn package(
        &mut self,
        path: &'static str,
        kind: Kind,
        title: &str,
        objects: &[(&str, &Mesh, Vector3<f64>)],
    ) -> Result<(), KitError> {
        let packed: Vec<Object<'_>> = objects
            .iter()
            .map(|&(name, mesh, at)| Object { name, mesh, at })
            .collect();
        self.add(path, kind, three_mf::to_bytes(title, &packed)?);
        self.measure(
            objects
                .iter()
                .map(|(_, mesh, at)| (*mesh).clone().translated(at)),
        );
        Ok(())
    }

    /// Measures the solids of the file added last.
    fn measure(&mut self, solids: impl Iterator<Item = Mesh>) {
        let mut all = Mesh::default();
        for mesh in solids {
            all.append(&mesh);
        }
        if let (Some(file), Some(bounds)) = (self.0.last_mut(), all.bounds()) {
            file.solid = Some(SolidFacts {
                triangles: all.triangles.len(),
                volume: all.volume(),
                bounds,
            });
        }
    }
}
