//! Whether the hook hangs in the wire's rear eye.

use crate::spec::HookDesign;

/// How the hook's eye and the wire's rear eye lie to each other. Both are drawn in the upright
/// mid-plane; where they hang in each other, one is turned by a quarter.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Link {
    /// From the end of the wire's eye to the beginning of the hook's, outside, in mm; negative where they
    /// overlap.
    pub apart: f64,
    /// Whether the wire of each passes through the eye of the other.
    pub linked: bool,
    /// Places of the hook, on the wire's height, at which they are linked, least and greatest; `None` if
    /// neither wire goes through the other's eye.
    pub places: Option<[f64; 2]>,
}

impl Link {
    /// Of a wire's rear eye (its middle, inside diameter and wire, in mm) and a hook so much higher.
    pub(super) fn of([middle, inside, wire]: [f64; 3], hook: &HookDesign, higher: f64) -> Self {
        let gap = 0.5 * (wire + hook.wire);
        let (outer, inner) = (0.5 * (inside + wire), 0.5 * (hook.eye + hook.wire));
        let end = middle + outer;
        // The front of the hook's eye goes through the wire's eye, whose rear goes through the hook's.
        let least = (middle - outer + gap + inner).max(end - inner + gap);
        let most = end - gap + inner;
        let level = higher.abs() <= (outer.min(inner) - gap).max(0.0);
        let places = (least <= most && outer > gap && inner > gap).then_some([least, most]);
        // Taut wires touch.
        const TOUCH: f64 = 1e-6;
        let within = |[a, b]: [f64; 2]| (a - TOUCH..=b + TOUCH).contains(&hook.at);
        Link {
            apart: hook.at - inner - 0.5 * hook.wire - (end + 0.5 * wire),
            linked: level && places.is_some_and(within),
            places,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::spec::PointSide;

    fn hook(at: f64) -> HookDesign {
        HookDesign {
            at,
            height: 0.0,
            wire: 0.9,
            eye: 2.1,
            shank: 22.0,
            gap: 9.0,
            bend: 11.0,
            point: PointSide::Up,
            mass: None,
        }
    }

    #[test]
    fn linked_where_each_wire_runs_through_the_other_eye() {
        // An eye of 3 of wire 0.8 round 28.3: hole from 26.8 to 29.8, wire to 30.6.
        let of = |at: f64, higher: f64| Link::of([28.3, 3.0, 0.8], &hook(at), higher);
        // The hook's eye is 2.1 inside: its front wire's middle lies 1.5 before its own.
        for (at, linked) in [
            (29.0, false),
            (30.2, true),
            (30.8, true),
            (30.9, false),
            (33.0, false),
        ] {
            assert_eq!(of(at, 0.0).linked, linked, "{at}");
        }
        assert!((of(33.0, 0.0).apart - 0.45).abs() < 1e-9);
        let [least, most] = of(33.0, 0.0).places.unwrap();
        assert!((least - 29.55).abs() < 1e-9 && (most - 30.85).abs() < 1e-9);
        assert!(!of(30.5, 2.0).linked);
        // Wire too thick for the other's eye.
        assert_eq!(Link::of([28.3, 0.8, 0.8], &hook(30.0), 0.0).places, None);
    }
}
