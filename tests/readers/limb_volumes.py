"""Volume that a swept and canted pair of fins adds to a rod, by the C++ engine Manifold.

Prints the number that src/body/feature/limb_tests.rs holds. Built from the description of the
shapes alone: a rod of 12 mm across and 40 mm long; a sharp plate 12 mm long, 5 mm high and 2 mm
thick whose root lies on the surface at 60 degrees from the back, its front 14 mm from the nose.
Needs: pip install manifold3d numpy
"""
import numpy as np
from manifold3d import CrossSection, Manifold

FACETS = 720
rod = Manifold.cylinder(40, 6, 6, FACETS).rotate((0, 90, 0))
lean = np.tan(np.radians(30))
depth = 4.0
points = [(0, -depth), (12, -depth), (12, 0), (12 + 5 * lean, 5), (5 * lean, 5), (0, 0)]
plate = Manifold.extrude(CrossSection([points]), 2).translate((0, 0, -1))
# Plate: x along the root, y outward, z across. To the body's axes: outward = ray.
a, c = np.radians(60), np.radians(20)
x = np.array([1.0, 0, 0])
ray = np.array([0, np.sin(a), np.cos(a)])
across = np.array([0, np.cos(a), -np.sin(a)])
out = ray * np.cos(c) - across * np.sin(c)
side = np.cross(x, out)
origin = np.array([14, 0, 0]) + 6 * ray
left = plate.transform(np.column_stack([x, out, side, origin]))
right = left.mirror((0, 1, 0))
bait = rod + left + right
# The rod's own facets take a little from it: the difference of unions is what counts.
print(f"{bait.volume() - rod.volume():.3f}")
