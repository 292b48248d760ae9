//! What of a spec can still be judged when some of it breaks a rule.

use std::mem::take;

use super::{
    BodyDesign, CastSpec, Design, LatheSpec, MaterialSpec, MeshSpec, MouldSpec, Problems, Spec,
    WaterSpec,
};

impl Spec {
    /// The design of what is left when every list and table with a problem in it is taken out;
    /// whole lists, so that the entries of those that stay keep their numbers. `None` where the
    /// trunk itself is unsound: nothing can be said then of what stands on it. `envelope` is that of
    /// a body from a file.
    pub(crate) fn sound_part(
        &self,
        problems: &Problems,
        envelope: Option<&BodyDesign>,
    ) -> Option<Design> {
        /// What is taken out may bring out a rule that hung on it.
        const ROUNDS: usize = 3;
        let mut part = self.clone();
        let mut problems = problems.clone();
        for _ in 0..ROUNDS {
            for problem in &problems.0 {
                part.take_out(problem.path.split(['.', '[']).next()?)?;
            }
            let found = match envelope {
                Some(body) => Design::around(&part, body),
                None => Design::from_spec(&part),
            };
            match found {
                Ok(design) => return Some(design),
                Err(more) => problems = more,
            }
        }
        None
    }

    /// Leaves out a list or table. `None` if it belongs to the trunk.
    fn take_out(&mut self, field: &str) -> Option<()> {
        match field {
            "name" => self.name = None,
            "sizes" => drop(take(&mut self.sizes)),
            "eyes" => drop(take(&mut self.eyes)),
            "slot" => drop(take(&mut self.slot)),
            "bore" => drop(take(&mut self.bore)),
            "pocket" => drop(take(&mut self.pocket)),
            "fin" => drop(take(&mut self.fin)),
            "tail" => self.tail = None,
            "legs" => drop(take(&mut self.legs)),
            "wire" => self.wire = None,
            "hook" => self.hook = None,
            "weight" => drop(take(&mut self.weight)),
            "skirt" => self.skirt = None,
            "water" => self.water = WaterSpec::default(),
            "mould" => self.mould = MouldSpec::default(),
            "lathe" => self.lathe = LatheSpec::default(),
            "material" => self.material = MaterialSpec::default(),
            "cast" => self.cast = CastSpec::default(),
            "mesh" => self.mesh = MeshSpec::default(),
            _ => return None,
        }
        Some(())
    }
}
