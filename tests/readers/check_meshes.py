#!/usr/bin/env python3
"""Checks every mesh of a kit with readers that are not ours.

    check_meshes.py KIT_FOLDER

The folder holds `kit.json`, whose `files` list gives path, triangle count,
volume, bounds and SHA-256 of each file. Every .stl is read by trimesh and admesh,
every .3mf by lib3mf in strict mode; trimesh and Manifold judge what was read, and
PrusaSlicer reads and slices the file itself.

Needs the Python packages trimesh, manifold3d, lib3mf and numpy, and the commands
admesh and prusa-slicer.
Prints a line a file and one for each failure; exits with 1 if anything failed
or nothing was checked.
"""

import hashlib
import json
import math
import re
import subprocess
import sys
import tempfile
from pathlib import Path

import lib3mf
import manifold3d
import numpy as np
import trimesh

# Single precision carries 24 bits; a volume is a sum over many rounded facets.
VOLUME_RELATIVE = 1e-5
# Two roundings to single precision (coordinate, placement) of up to 1 m.
BOUNDS_MM = 1e-4

# Everything that admesh counts when it had to repair, and degenerate facets.
ADMESH_REPAIRS = [
    "Degenerate facets",
    "Edges fixed",
    "Facets removed",
    "Facets added",
    "Facets reversed",
    "Backwards edges",
    "Normals fixed",
]
MESH_ENDINGS = {".stl", ".3mf"}


class Failure(Exception):
    """One thing that is wrong with a file."""


def expect(condition, message):
    if not condition:
        raise Failure(message)


def expect_volume(reader, found, entry):
    wanted = entry["volume_mm3"]
    near = math.isclose(found, wanted, rel_tol=VOLUME_RELATIVE)
    expect(near, f"{reader}: volume {found} mm3, kit.json says {wanted}")


def expect_count(reader, found, entry):
    wanted = entry["triangles"]
    expect(found == wanted, f"{reader}: {found} triangles, kit.json says {wanted}")


def run(command, seconds=600):
    try:
        return subprocess.run(
            command, capture_output=True, text=True, errors="replace", timeout=seconds
        )
    except FileNotFoundError:
        raise Failure(f"{command[0]} is not installed") from None
    except subprocess.TimeoutExpired:
        raise Failure(f"{command[0]} took more than {seconds} s") from None


def check_hash(path, entry):
    found = hashlib.sha256(path.read_bytes()).hexdigest()
    expect(found == entry["sha256"], f"sha256 is {found}, kit.json says {entry['sha256']}")


def read_3mf(path):
    """The build items of a package as trimesh meshes, placed, as lib3mf reads them.

    Strict mode: what departs from the specification is a failure, warnings too.
    """
    model = lib3mf.get_wrapper().CreateModel()
    reader = model.QueryReader("3mf")
    reader.SetStrictModeActive(True)
    try:
        reader.ReadFromFile(str(path))
    except lib3mf.ELib3MFException as error:
        raise Failure(f"lib3mf: {error}") from None
    warnings = [reader.GetWarning(i) for i in range(reader.GetWarningCount())]
    expect(not warnings, f"lib3mf: warnings {warnings}")
    expect(model.GetUnit() == lib3mf.ModelUnit.MilliMeter, "lib3mf: the unit is not millimetre")

    meshes = []
    items = model.GetBuildItems()
    while items.MoveNext():
        item = items.GetCurrent()
        resource = item.GetObjectResource()
        expect(resource.IsMeshObject(), "lib3mf: a build item is not a mesh")
        mesh = model.GetMeshObjectByID(resource.GetResourceID())
        name = mesh.GetName()
        expect(mesh.IsManifoldAndOriented(), f"lib3mf: object `{name}` is not closed, outward")
        points = np.array([list(p.Coordinates) for p in mesh.GetVertices()], dtype=np.float64)
        faces = np.array([list(t.Indices) for t in mesh.GetTriangleIndices()])
        # Row vectors: three rows of turn and scale, then the place.
        place = np.array([list(row) for row in item.GetObjectTransform().Fields])
        points = points @ place[:3] + place[3]
        meshes.append(trimesh.Trimesh(points, faces, process=False))
    return meshes


def solids(path):
    """The solids of a file as trimesh meshes in place; corners welded in STL only."""
    if path.suffix.lower() == ".3mf":
        return read_3mf(path)
    mesh = trimesh.load(path, file_type="stl", process=False)
    # Bit-equal corners only: no tolerance that could hide a crack.
    corners, index = np.unique(mesh.vertices, axis=0, return_inverse=True)
    return [trimesh.Trimesh(corners, index.reshape(-1)[mesh.faces], process=False)]


def check_trimesh(path, entry):
    meshes = solids(path)
    expect(meshes, "trimesh: no mesh in the file")
    for number, mesh in enumerate(meshes):
        expect(mesh.is_watertight, f"trimesh: solid {number} is not watertight")
        expect(mesh.is_winding_consistent, f"trimesh: solid {number} has facets turned over")
        expect(mesh.volume > 0, f"trimesh: solid {number} is inside out")
        flat = int((mesh.area_faces <= 0).sum())
        expect(flat == 0, f"trimesh: solid {number} has {flat} facets without area")
    expect_count("trimesh", sum(len(m.faces) for m in meshes), entry)
    expect_volume("trimesh", sum(m.volume for m in meshes), entry)
    low = np.min([m.bounds[0] for m in meshes], axis=0)
    high = np.max([m.bounds[1] for m in meshes], axis=0)
    off = np.abs(np.array([low, high]) - np.array(entry["bounds_mm"])).max()
    expect(
        off <= BOUNDS_MM,
        f"trimesh: bounds {low.tolist()} {high.tolist()}, kit.json says {entry['bounds_mm']}",
    )


def check_manifold(path, entry):
    total = 0.0
    for number, mesh in enumerate(solids(path)):
        solid = manifold3d.Manifold(
            manifold3d.Mesh64(
                np.asarray(mesh.vertices, dtype=np.float64),
                np.asarray(mesh.faces, dtype=np.uint64),
            )
        )
        status = solid.status()
        expect(
            status == manifold3d.Error.NoError, f"manifold3d: solid {number} gives {status.name}"
        )
        expect(not solid.is_empty(), f"manifold3d: solid {number} is empty")
        total += solid.volume()
    expect_volume("manifold3d", total, entry)


def check_admesh(path, _entry):
    result = run(["admesh", str(path)])
    expect(result.returncode == 0, f"admesh: exit code {result.returncode}")
    text = result.stdout
    for name in ADMESH_REPAIRS:
        found = re.search(rf"^{name}\s*:\s*(-?\d+)", text, re.MULTILINE)
        expect(found, f"admesh: no line `{name}` in its answer")
        expect(int(found[1]) == 0, f"admesh: {name.lower()}: {found[1]}")
    loose = re.search(r"^Total disconnected facets\s*:\s*(\d+)\s+(\d+)", text, re.MULTILINE)
    expect(loose, "admesh: no count of disconnected facets in its answer")
    expect(
        loose[1] == loose[2] == "0", f"admesh: {loose[1]} disconnected facets, {loose[2]} at the end"
    )


def check_lib3mf(path, entry):
    meshes = read_3mf(path)
    volume = 0.0
    for mesh in meshes:
        a, b, c = (mesh.vertices[mesh.faces[:, k]] for k in range(3))
        volume += float(np.einsum("ij,ij->i", a, np.cross(b, c)).sum() / 6.0)
    expect_count("lib3mf", sum(len(m.faces) for m in meshes), entry)
    expect_volume("lib3mf", volume, entry)


def check_slicer(path, _entry):
    result = run(["prusa-slicer", "--info", str(path)])
    expect(result.returncode == 0, f"prusa-slicer --info: exit code {result.returncode}")
    answers = re.findall(r"^manifold = (.*)$", result.stdout, re.MULTILINE)
    expect(answers, "prusa-slicer --info: nothing about manifold in its answer")
    expect(all(a.strip() == "yes" for a in answers), f"prusa-slicer: manifold = {answers}")
    repaired = re.findall(
        r"^(?:edges_fixed|degenerate_facets|facets_\w+|backwards_edges|open_edges) .*$",
        result.stdout,
        re.MULTILINE,
    )
    expect(not repaired, f"prusa-slicer: repairs {repaired}")
    # A master with a tail or fins touches the bed at a few points: it is printed on supports.
    supports = ["--support-material"] if path.name.startswith("master") else []
    with tempfile.TemporaryDirectory() as folder:
        out = Path(folder) / "out.gcode"
        result = run(
            [
                "prusa-slicer",
                "-g",
                *supports,
                "--bed-shape",
                "0x0,1000x0,1000x1000,0x1000",
                "--max-print-height",
                "1000",
                "--center",
                "500,500",
                "-o",
                str(out),
                str(path),
            ]
        )
        last = (result.stderr.strip() or result.stdout.strip()).splitlines()[-1:]
        expect(result.returncode == 0, f"prusa-slicer -g: exit code {result.returncode}: {last}")
        expect(out.exists() and out.stat().st_size > 0, "prusa-slicer -g: wrote no gcode")


CHECKS = {
    ".stl": [check_hash, check_trimesh, check_manifold, check_admesh, check_slicer],
    ".3mf": [check_hash, check_trimesh, check_manifold, check_lib3mf, check_slicer],
}


def check_file(folder, entry):
    """What is wrong with a file, all of it."""
    path = folder / entry["path"]
    if not path.is_file():
        return ["the file is missing"]
    checks = CHECKS.get(path.suffix.lower(), [check_hash])
    failures = []
    for check in checks:
        try:
            check(path, entry)
        except Failure as failure:
            # A file that cannot be read fails several checks in the same words.
            if str(failure) not in failures:
                failures.append(str(failure))
        except Exception as error:  # A reader that breaks is a failure of the file.
            failures.append(f"{check.__name__}: {type(error).__name__}: {error}")
    return failures


def main(arguments):
    if len(arguments) != 1:
        print(__doc__, file=sys.stderr)
        return 2
    folder = Path(arguments[0])
    try:
        entries = json.loads((folder / "kit.json").read_text(encoding="utf-8"))["files"]
    except (OSError, ValueError, KeyError, TypeError) as error:
        print(f"FAIL kit.json: {type(error).__name__}: {error}")
        print("0 passed, 1 failed")
        return 1

    passed, failed, meshes = 0, 0, 0
    for entry in entries:
        failures = check_file(folder, entry)
        meshes += Path(entry["path"]).suffix.lower() in MESH_ENDINGS
        for failure in failures:
            print(f"FAIL {entry['path']}: {failure}", flush=True)
        if failures:
            failed += 1
        else:
            passed += 1
            print(f"ok   {entry['path']}", flush=True)
    listed = {(folder / e["path"]).resolve() for e in entries}
    for path in sorted(folder.rglob("*")):
        if path.suffix.lower() in MESH_ENDINGS and path.resolve() not in listed:
            failed += 1
            print(f"FAIL {path.relative_to(folder)}: not listed in kit.json")
    if meshes == 0:
        failed += 1
        print("FAIL no .stl or .3mf was checked")
    print(f"{passed} passed, {failed} failed")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
