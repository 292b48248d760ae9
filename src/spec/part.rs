//! What of a spec can still be judged when some of it breaks a rule.

use std::mem::take;

use super::{
    BodyDesign, CastSpec, Design, LatheSpec, MaterialSpec, MeshSpec, MouldSpec, Problems, Spec,
    WaterSpec,
};

/// Lists of features whose entries say nothing of each other.
const LISTS: [&str; 6] = ["eyes", "slot", "bore", "pocket", "fin", "legs"];

/// What is left of a spec that breaks rules.
pub(crate) struct SoundPart {
    pub(crate) design: Design,
    /// Field paths of entries that are in the design for their places in the list only, and say
    /// nothing: another stands in for each.
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
        /// What is taken out may bring out a rule that hung on it.
        const ROUNDS: usize = 3;
        let mut part = self.clone();
        let mut problems = problems.clone();
        let mut left_out: Vec<String> = Vec::new();
        for round in 1..=ROUNDS {
            for problem in &problems.0 {
                let entry = entry_of(&problem.path);
                // In the end whole lists, whose rules may be about all of their entries.
                match numbered(entry) {
                    Some((list, _)) if round < ROUNDS && LISTS.contains(&list) => {
                        if !left_out.iter().any(|path| path == entry) {
                            left_out.push(entry.to_owned());
                        }
                    }
                    Some((list, _)) => part.take_out(list)?,
                    None => part.take_out(entry)?,
                }
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
        None
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
