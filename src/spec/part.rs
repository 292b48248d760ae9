//! What of a spec can still be judged when some of it breaks a rule.

use std::mem::take;

use super::{
    BodyDesign, CastSpec, Design, LatheSpec, MaterialSpec, MeshSpec, Problem, Problems, Spec,
    WaterSpec,
};

/// Lists of features whose entries say nothing of each other.
const LISTS: [&str; 6] = ["eyes", "slot", "bore", "pocket", "fin", "legs"];

/// What is left of a spec that breaks rules.
pub(crate) struct SoundPart {
    pub(crate) design: Design,
    /// Field paths of what was taken out. Entries of lists are in the design for their places only:
    /// another stands in for each.
    pub(crate) left_out: Vec<String>,
}

/// The entry of a list, or the table, that a field path leads into.
pub(crate) fn entry_of(path: &str) -> &str {
    let end = path.find('.').unwrap_or(path.len());
    &path[..end]
}

/// List and number of an entry such as `fin[2]`.
fn numbered(entry: &str) -> Option<(&str, usize)> {
    let (list, number) = entry.strip_suffix(']')?.split_once('[')?;
    Some((list, number.parse().ok()?))
}

impl Spec {
    /// The design of what is left when every table and every entry of a list with a problem in it is
    /// taken out. `None` where the trunk itself is unsound: nothing can be said then of what stands on
    /// it. `envelope` is that of a body from a file.
    pub(crate) fn sound_part(
        &self,
        problems: &Problems,
        envelope: Option<&BodyDesign>,
    ) -> Option<SoundPart> {
        let mut part = self.clone();
        let mut problems = problems.clone();
        let mut left_out: Vec<String> = Vec::new();
        // What is taken out may bring out a rule that hung on it. Every round takes more.
        loop {
            let known = left_out.len();
            for problem in &problems.0 {
                let entry = entry_of(&problem.path);
                let new = |path: &str| !left_out.iter().any(|known| known == path);
                let taken = match numbered(entry) {
                    Some((list, _)) if LISTS.contains(&list) && new(entry) => entry,
                    // Such as a rule about all entries of a list.
                    Some((list, _)) if new(list) => {
                        part.take_out(list, problem)?;
                        list
                    }
                    None if new(entry) => {
                        part.take_out(entry, problem)?;
                        entry
                    }
                    _ => continue,
                };
                left_out.push(taken.to_owned());
            }
            if left_out.len() == known {
                return None;
            }
            for list in LISTS {
                let numbers = left_out.iter().filter_map(|path| numbered(path));
                let numbers: Vec<usize> = numbers
                    .filter(|(of, _)| *of == list)
                    .map(|(_, number)| number)
                    .collect();
                part.stand_in(list, &numbers);
            }
            let found = match envelope {
                Some(body) => Design::around(&part, body),
                None => Design::from_spec(&part),
            };
            match found {
                Ok(design) => return Some(SoundPart { design, left_out }),
                Err(more) => problems = more,
            }
        }
    }

    /// Puts a sound entry of a list in the place of those of these numbers, so that all others keep
    /// theirs; takes out the list if it has none.
    fn stand_in(&mut self, list: &str, numbers: &[usize]) {
        match list {
            "eyes" => stand_in(&mut self.eyes, numbers),
            "slot" => stand_in(&mut self.slot, numbers),
            "bore" => stand_in(&mut self.bore, numbers),
            "pocket" => stand_in(&mut self.pocket, numbers),
            "fin" => stand_in(&mut self.fin, numbers),
            "legs" => stand_in(&mut self.legs, numbers),
            _ => {}
        }
    }

    /// Leaves out a list or table; of the mould all but the plane and the end of the sprue, by which
    /// features are judged. `None` if it belongs to the trunk.
    fn take_out(&mut self, field: &str, problem: &Problem) -> Option<()> {
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
            "mould" => {
                let was = take(&mut self.mould);
                if !problem.path.starts_with("mould.parting") {
                    self.mould.parting = was.parting;
                }
                if !problem.path.starts_with("mould.sprue") {
                    self.mould.sprue = was.sprue;
                }
            }
            "lathe" => self.lathe = LatheSpec::default(),
            "material" => self.material = MaterialSpec::default(),
            "cast" => self.cast = CastSpec::default(),
            "mesh" => self.mesh = MeshSpec::default(),
            _ => return None,
        }
        Some(())
    }
}

fn stand_in<T: Clone>(list: &mut Vec<T>, numbers: &[usize]) {
    let Some(sound) = (0..list.len()).find(|i| !numbers.contains(i)) else {
        list.clear();
        return;
    };
    for &number in numbers {
        if number < list.len() {
            list[number] = list[sound].clone();
        }
    }
}
