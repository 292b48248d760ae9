#!/usr/bin/env python3
"""Volumes of ribbed, cambered and flat-bellied bodies from other kernels than ours.

Prints the numbers that src/body/tests.rs compares with. The ribbed cylinder is
revolved and measured by Manifold (its chords are exact along the axis where the
profile is straight, and the facets around are allowed for); the cambered body with
changing sections is integrated by SciPy over sections whose area comes from its own
beta function.

Needs the Python packages manifold3d, numpy and scipy.
"""

import math

import manifold3d
import numpy as np
from scipy.integrate import quad
from scipy.special import beta


def ribbed_cylinder():
    # 60 long, 20 across; nine vee ribs of pitch 4 and height 1.5 from 10 to 46.
    profile = [(0, 0), (10, 0), (10, 10)]
    for i in range(9):
        x = 10 + 4 * i
        profile += [(11.5, x + 2), (10, x + 4)]
    profile += [(10, 60), (0, 60)]
    facets = 3600
    solid = manifold3d.Manifold.revolve(
        manifold3d.CrossSection([np.array(profile, dtype=float)]), facets
    )
    angle = 2 * math.pi / facets
    # A polygon's area against its circle's.
    return solid.volume() * angle / math.sin(angle)


def flat_belly():
    # Constant outlines (back 8, belly 6, half-width 7) over 60 mm with flat ends; exponents
    # from 2 to 1.6 on the back and from 2 to 5 on the belly, level at both ends (the cubic
    # 3s² − 2s³); a bow of 6.
    def quarter(n):
        # The area of the unit quarter, B(1/n, 1 + 1/n)/n.
        return beta(1 / n, 1 + 1 / n) / n

    def area(x):
        s = (x / 60) ** 2 * (3 - 2 * x / 60)
        return 2 * 7 * (8 * quarter(2 - 0.4 * s) + 6 * quarter(2 + 3 * s))

    volume = quad(area, 0, 60, epsabs=0, epsrel=1e-13)[0]
    along = quad(lambda x: x * area(x), 0, 60, epsabs=0, epsrel=1e-13)[0]
    return volume, along / volume


print(f"ribbed cylinder: {ribbed_cylinder():.6f} mm3")
print("flat belly: {:.9f} mm3, centroid at x = {:.9f}".format(*flat_belly()))
