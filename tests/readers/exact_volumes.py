#!/usr/bin/env python3
"""What features add to a rod or take from it, by an exact-solid (B-rep) kernel.

Prints the numbers that src/body/feature/exact_tests.rs compares with. Built from the description
of the shapes alone, with true cylinders, cones, balls and planes, no facets: a rod of 20 mm
across and 80 mm long about the x axis, nose at x = 0, z up.

Needs the Python package cadquery-ocp (Open CASCADE).
"""

import math

from OCP.BRepAlgoAPI import BRepAlgoAPI_Common, BRepAlgoAPI_Cut, BRepAlgoAPI_Fuse
from OCP.BRepBuilderAPI import (
    BRepBuilderAPI_GTransform,
    BRepBuilderAPI_MakeFace,
    BRepBuilderAPI_MakePolygon,
    BRepBuilderAPI_Transform,
)
from OCP.BRepGProp import BRepGProp
from OCP.BRepPrimAPI import (
    BRepPrimAPI_MakeCone,
    BRepPrimAPI_MakeCylinder,
    BRepPrimAPI_MakePrism,
    BRepPrimAPI_MakeSphere,
)
from OCP.GProp import GProp_GProps
from OCP.gp import gp_Ax2, gp_Dir, gp_GTrsf, gp_Mat, gp_Pnt, gp_Trsf, gp_Vec

RADIUS, LENGTH = 10.0, 80.0


def volume(shape):
    props = GProp_GProps()
    BRepGProp.VolumeProperties_s(shape, props, 1e-9)
    return props.Mass()


def area(shape):
    props = GProp_GProps()
    BRepGProp.SurfaceProperties_s(shape, props, 1e-6)
    return props.Mass()


def axes(point, direction):
    return gp_Ax2(gp_Pnt(*point), gp_Dir(*direction))


def mirrored(shape):
    trsf = gp_Trsf()
    trsf.SetMirror(gp_Ax2(gp_Pnt(0, 0, 0), gp_Dir(0, 1, 0)))
    return BRepBuilderAPI_Transform(shape, trsf, True).Shape()


def cylinder(point, direction, radius, length):
    return BRepPrimAPI_MakeCylinder(axes(point, direction), radius, length).Shape()


def ball(point, radius):
    return BRepPrimAPI_MakeSphere(gp_Pnt(*point), radius).Shape()


def fused(*shapes):
    whole = shapes[0]
    for shape in shapes[1:]:
        whole = BRepAlgoAPI_Fuse(whole, shape).Shape()
    return whole


def at(x, degrees, out):
    a = math.radians(degrees)
    return (x, out * math.sin(a), out * math.cos(a))


def ray(degrees):
    return at(0, degrees, 1)


rod = cylinder((0, 0, 0), (1, 0, 0), RADIUS, LENGTH)


def added(tool):
    return BRepAlgoAPI_Cut(tool, rod).Shape()


def taken(tool):
    return BRepAlgoAPI_Common(rod, tool).Shape()


def balls():
    # Eyes of 6 mm, sunk by 1.5 mm, at 40 mm on both flanks.
    eye = taken(ball(at(40, 90, RADIUS + 3 - 1.5), 3))
    return fused(eye, mirrored(eye))


def pocket():
    # Round, 6 mm at its floor, 4 mm deep, its wall open by 3 degrees, at 30 mm and 30 degrees.
    slope = math.tan(math.radians(3))
    foot = at(30, 30, RADIUS - 4)
    cone = BRepPrimAPI_MakeCone(axes(foot, ray(30)), 3, 3 + 5 * slope, 5).Shape()
    return taken(cone)


def slot():
    # In the belly from 20 to 50 mm, 3 mm wide, 6 mm deep, its ends and floor round.
    r, floor = 1.5, -RADIUS + 6
    middle = floor - r
    ends = [ball((x, 0, middle), r) for x in (20 + r, 50 - r)]
    caps = [cylinder((x, 0, middle), (0, 0, -1), r, 10) for x in (20 + r, 50 - r)]
    trough = cylinder((20 + r, 0, middle), (1, 0, 0), r, 30 - 2 * r)
    face = BRepBuilderAPI_MakePolygon()
    for x, y in [(20 + r, -r), (50 - r, -r), (50 - r, r), (20 + r, r)]:
        face.Add(gp_Pnt(x, y, middle))
    face.Close()
    walls = BRepPrimAPI_MakePrism(
        BRepBuilderAPI_MakeFace(face.Wire()).Face(), gp_Vec(0, 0, -10)
    ).Shape()
    return taken(fused(trough, walls, *ends, *caps))


def bore():
    # 2 mm, slanting in the upright mid-plane from (20, -14) to (50, 14).
    length = math.hypot(30, 28)
    return taken(cylinder((20, 0, -14), (30 / length, 0, 28 / length), 1, length))


def fins():
    # A pair at 60 degrees: a sharp plate 2 mm thick on a root of 12 mm from 14 mm, 5 mm high,
    # swept by 30 degrees and canted by 20.
    lean = 5 * math.tan(math.radians(30))
    a, c = math.radians(60), math.radians(20)
    across = (0, math.cos(a), -math.sin(a))
    out = [math.cos(c) * u - math.sin(c) * v for u, v in zip(ray(60), across)]
    side = [math.cos(c) * v + math.sin(c) * u for u, v in zip(ray(60), across)]
    foot = at(14, 60, RADIUS)

    def point(u, v):
        p = [foot[k] + (u if k == 0 else 0) + v * out[k] - side[k] for k in range(3)]
        return gp_Pnt(*p)

    plate = BRepBuilderAPI_MakePolygon()
    for u, v in [(0, -4), (12, -4), (12, 0), (12 + lean, 5), (lean, 5), (0, 0)]:
        plate.Add(point(u, v))
    plate.Close()
    fin = BRepPrimAPI_MakePrism(
        BRepBuilderAPI_MakeFace(plate.Wire()).Face(), gp_Vec(*[2 * s for s in side])
    ).Shape()
    fin = added(fin)
    return fused(fin, mirrored(fin))


def strand(foot, direction, root, tip, length, buried):
    """A tapered strand of these radii, its end a half ball."""
    straight = length - tip
    cone = BRepPrimAPI_MakeCone(axes(foot, direction), root, tip, straight).Shape()
    start = [f - buried * d for f, d in zip(foot, direction)]
    stub = cylinder(start, direction, root, buried)
    end = [f + straight * d for f, d in zip(foot, direction)]
    return fused(stub, cone, ball(end, tip))


def taper():
    # 20 mm long, 8 mm high at the root and 2 at the tip, 0.6 times as wide.
    whole = strand((LENGTH, 0, 0), (1, 0, 0), 4, 1, 20, 3)
    flat = gp_GTrsf(gp_Mat(1, 0, 0, 0, 0.6, 0, 0, 0, 1), gp_Pnt(0, 0, 0).XYZ())
    return added(BRepBuilderAPI_GTransform(whole, flat, True).Shape())


def legs():
    # Three on each flank about 40 mm, 5 mm apart, 12 mm long, from 3 to 1.5 mm, leaning back
    # by 20 degrees.
    lean = math.radians(20)
    direction = [math.sin(lean), math.cos(lean), 0]
    side = [
        added(strand((x, RADIUS, 0), direction, 1.5, 0.75, 12, 4)) for x in (35, 40, 45)
    ]
    return fused(*side, *[mirrored(s) for s in side])


for feature in (balls, pocket, slot, bore, fins, taper, legs):
    shape = feature()
    print(f"{feature.__name__}: {volume(shape):.4f} mm3, {area(shape):.1f} mm2")
