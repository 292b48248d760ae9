//! Plain capitals of straight strokes, to be sunk into a wall.

use nalgebra::Point3;

use super::tools::joined;
use crate::mesh::{Solid, SolidError};

/// A line of lettering.
pub(super) struct Line<'a> {
    /// Capitals that [`strokes`] knows.
    pub text: &'a str,
    /// Height of a capital.
    pub height: f64,
    /// The wall's y, and the middle of the line in x and z.
    pub face: [f64; 3],
    /// How deep it is sunk.
    pub depth: f64,
}

/// Width of a letter and from one letter to the next, as shares of the height: narrow
/// lettering (reasoned).
const WIDTH: f64 = 0.55;
const ADVANCE: f64 = 0.85;
/// Width of a stroke: 0.14 of the height (ISO 3098-1 type A has 1/14 and type B 1/10, from
/// memory; a nozzle needs more).
const STROKE: f64 = 0.14;

impl Line<'_> {
    /// From the first stroke's edge to the last's.
    pub(super) fn length(&self) -> f64 {
        let count = self.text.chars().count() as f64;
        self.height * (ADVANCE * (count - 1.0) + WIDTH + STROKE)
    }

    /// The letters as solids that reach out of a wall which faces −y.
    pub(super) fn on_front(&self) -> Result<Vec<Solid>, SolidError> {
        let length = self.length() - STROKE * self.height;
        let [y, x, z] = self.face;
        let (left, foot) = (x - 0.5 * length, z - 0.5 * self.height);
        let mut letters = Vec::new();
        for (i, c) in self.text.chars().enumerate() {
            let origin = left + self.height * ADVANCE * i as f64;
            let place = |p: [f64; 2]| {
                let (u, v) = (p[0] * WIDTH, p[1]);
                [origin + self.height * u, foot + self.height * v]
            };
            let mut letter: Option<Solid> = None;
            for &[a, b] in strokes(c) {
                let stroke = self.stroke(place(a), place(b), y)?;
                letter = Some(match letter {
                    Some(so_far) => so_far.union(&stroke)?,
                    None => stroke,
                });
            }
            letters.extend(letter);
        }
        Ok(letters)
    }

    /// A bar from a to b, longer by half its width at both ends.
    fn stroke(&self, a: [f64; 2], b: [f64; 2], y: f64) -> Result<Solid, SolidError> {
        let half = 0.5 * STROKE * self.height;
        let (dx, dz) = (b[0] - a[0], b[1] - a[1]);
        let length = libm::hypot(dx, dz);
        let (ux, uz) = (half * dx / length, half * dz / length);
        let corners = [
            [a[0] - ux + uz, a[1] - uz - ux],
            [b[0] + ux + uz, b[1] + uz - ux],
            [b[0] + ux - uz, b[1] + uz + ux],
            [a[0] - ux - uz, a[1] - uz + ux],
        ];
        // Counter-clockwise seen from −y, so from inside the wall outwards.
        let ring = |y: f64| corners.map(|[x, z]| Point3::new(x, y, z)).to_vec();
        Solid::try_from(&joined(&[ring(y + self.depth), ring(y - 1.0)]))
    }
}

/// Strokes of a capital, in a box of width 1 and height 1.
fn strokes(c: char) -> &'static [[[f64; 2]; 2]] {
    const LEFT: [[f64; 2]; 2] = [[0.0, 0.0], [0.0, 1.0]];
    const RIGHT: [[f64; 2]; 2] = [[1.0, 0.0], [1.0, 1.0]];
    const FOOT: [[f64; 2]; 2] = [[0.0, 0.0], [1.0, 0.0]];
    const TOP: [[f64; 2]; 2] = [[0.0, 1.0], [1.0, 1.0]];
    const BAR: [[f64; 2]; 2] = [[0.0, 0.5], [1.0, 0.5]];
    match c {
        'A' => &[LEFT, RIGHT, TOP, BAR],
        'B' => &[
            LEFT,
            [[0.0, 0.0], [0.8, 0.0]],
            [[0.0, 0.5], [0.8, 0.5]],
            [[0.0, 1.0], [0.8, 1.0]],
            [[0.8, 0.0], [1.0, 0.25]],
            [[1.0, 0.25], [0.8, 0.5]],
            [[0.8, 0.5], [1.0, 0.75]],
            [[1.0, 0.75], [0.8, 1.0]],
        ],
        'C' => &[LEFT, FOOT, TOP],
        'E' => &[LEFT, FOOT, TOP, [[0.0, 0.5], [0.8, 0.5]]],
        'F' => &[LEFT, TOP, [[0.0, 0.5], [0.8, 0.5]]],
        'G' => &[
            LEFT,
            FOOT,
            TOP,
            [[1.0, 0.0], [1.0, 0.5]],
            [[0.5, 0.5], [1.0, 0.5]],
        ],
        'H' => &[LEFT, RIGHT, BAR],
        'I' => &[[[0.5, 0.0], [0.5, 1.0]]],
        'K' => &[LEFT, [[0.0, 0.4], [1.0, 1.0]], [[0.3, 0.55], [1.0, 0.0]]],
        'L' => &[LEFT, FOOT],
        'R' => &[
            LEFT,
            TOP,
            BAR,
            [[1.0, 0.5], [1.0, 1.0]],
            [[0.4, 0.5], [1.0, 0.0]],
        ],
        'T' => &[TOP, [[0.5, 0.0], [0.5, 1.0]]],
        'Y' => &[
            [[0.5, 0.0], [0.5, 0.5]],
            [[0.0, 1.0], [0.5, 0.45]],
            [[1.0, 1.0], [0.5, 0.45]],
        ],
        _ => &[],
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_name_of_a_half_can_be_written() {
        for text in ["LEFT", "RIGHT", "BACK", "BELLY"] {
            let line = Line {
                text,
                height: 8.0,
                face: [0.0, 50.0, 10.0],
                depth: 0.8,
            };
            let letters = line.on_front().unwrap();
            assert_eq!(letters.len(), text.len());
            for (i, letter) in letters.iter().enumerate() {
                letter.to_mesh().check().unwrap();
                let (a, y) = (letter.bounds(), 0.8);
                assert_eq!(a.max.y, y);
                for other in &letters[..i] {
                    assert!(!a.meets(&other.bounds()), "{text}");
                }
            }
        }
    }
}
