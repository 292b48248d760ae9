#!/usr/bin/env python3
"""Volumes that an eye recess, a slot and a bore take from a cylinder of radius 10 and
length 80, by the Manifold engine (its own primitives, hulls and booleans, none of our
meshes). The numbers stand in src/body/feature/tests.rs.

Needs the Python package manifold3d.
"""

import math

from manifold3d import CrossSection, Manifold, set_circular_segments

set_circular_segments(720)
BODY = Manifold.cylinder(80, 10).rotate([0, 90, 0])


def taken(tool):
    return BODY.volume() - (BODY - tool).volume()


tan = math.tan(math.radians(3))
# A flat floor of radius 2 at depth 1.5 under the flank, walls open by 3 degrees.
recess = (
    Manifold.cylinder(2.5, 2, 2 + 2.5 * tan)
    .rotate([-90, 0, 0])
    .translate([40, 8.5, 0])
)
print("flat recess, one of the pair", taken(recess))

# 3 wide, 6 deep, 30 long, round ends and floor: hull of two balls and what is above them.
balls = [Manifold.sphere(1.5).translate([x, 0, -5.5]) for x in (21.5, 48.5)]
tops = [
    Manifold.cylinder(10, 1.5).translate([x, 0, -15.5]) for x in (21.5, 48.5)
]
print("slot", taken(Manifold.batch_hull(balls + tops)))

print("bore across", taken(Manifold.cylinder(40, 1, center=True).rotate([90, 0, 0]).translate([40, 0, 0])))
