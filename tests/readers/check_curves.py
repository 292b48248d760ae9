#!/usr/bin/env python3
"""Reads the curves of a paper kit back with readers that are not ours.

    check_curves.py KIT CURVES.json

CURVES.json is what the example `exact_curves` says of the same spec. Everything below is compared
with it, as curves, by the greatest distance of either from the other:

- `lathe-gauge.svg`: the whole profile, read with fontTools;
- `gauges.dxf`, `shapes.dxf`: the gauge and every fin, read with ezdxf;
- `paper.pdf`, as poppler draws it: the whole profile, the gauge, every section template and the
  length of every girth strip, as lines (pdftocairo) and, for what is red, in the picture of 600 dots
  to the inch (pdftoppm).

Sections are superellipses of the body's half-axes and exponents, girths their perimeters by quadrature,
fins that are drawn as a path the path itself, all worked out here. All within 0.02 mm, the middle of a
red line in the picture as well, half a pixel, but where other lines meet it.
"""

import json
import math
import pathlib
import re
import subprocess
import sys
import tempfile
import xml.etree.ElementTree as ET

import ezdxf
import numpy as np
from fontTools.pens.recordingPen import RecordingPen
from fontTools.svgLib.path import parse_path
from PIL import Image

OFF = 0.02
DPI = 600
PER_MM = DPI / 25.4
POINT = 25.4 / 72


def flat(commands, steps=64):
    """A recorded path as polylines."""
    t = np.linspace(0, 1, steps + 1)[1:, None]
    runs = []
    for name, points in commands:
        points = [np.array(p, float) for p in points]
        if name == "moveTo":
            runs.append([points[0]])
        elif name == "lineTo":
            runs[-1].append(points[0])
        elif name == "curveTo":
            a, (b, c, d) = runs[-1][-1], points
            runs[-1].extend((1 - t) ** 3 * a + 3 * (1 - t) ** 2 * t * b + 3 * (1 - t) * t**2 * c + t**3 * d)
        elif name == "qCurveTo":
            a, (b, c) = runs[-1][-1], points
            runs[-1].extend((1 - t) ** 2 * a + 2 * (1 - t) * t * b + t**2 * c)
        elif name == "closePath" and np.abs(runs[-1][-1] - runs[-1][0]).max() > 0:
            runs[-1].append(runs[-1][0])
    return [np.array(run) for run in runs if len(run) > 1]


def read_path(d):
    pen = RecordingPen()
    parse_path(d, pen)
    return flat(pen.value)


def far(points, line):
    """Greatest distance of points from a polyline."""
    a, b = line[:-1], line[1:]
    along = b - a
    length = (along**2).sum(1)
    a, along, length = a[length > 0], along[length > 0], length[length > 0]
    worst = 0.0
    for part in np.array_split(points, max(1, len(points) * len(a) // 2_000_000)):
        off = part[:, None] - a[None]
        t = ((off * along).sum(2) / length).clip(0, 1)
        gap = off - t[..., None] * along
        worst = max(worst, np.sqrt((gap**2).sum(2).min(1)).max())
    return worst


def dense(line, step=0.05):
    """The polyline with points no farther apart than `step`."""
    out = [line[:1]]
    for a, b in zip(line[:-1], line[1:]):
        n = max(1, int(math.ceil(np.hypot(*(b - a)) / step)))
        out.append(a + (b - a) * (np.arange(1, n + 1) / n)[:, None])
    return np.concatenate(out)


def apart(one, other):
    return max(far(dense(one), other), far(dense(other), one))


class Curves:
    def __init__(self, text):
        data = json.loads(text)
        self.length, self.scale, self.round = data["length"], data["scale"], data["round"]
        self.over, self.kerf = data["over"], data["kerf"]
        self.profile = np.array(data["profile"])
        self.x = np.array(data["x"])
        self.half = {k: np.array(data[k]) for k in ("back", "belly", "half_width")}
        self.exponents = [np.array(e) for e in data["exponents"]]
        self.fins = [self.fin(f) for f in data["fins"]]

    def fin(self, fin):
        if "path" in fin:
            (line,) = read_path(fin["path"])
        else:
            edge = np.array(fin["edge"])
            line = np.concatenate(([[0, 0]], edge, [[edge[-1][0], 0], [0, 0]]))
        lean = math.tan(math.radians(fin["sweep_degrees"]))
        return self.scale * np.column_stack((line[:, 0] + lean * line[:, 1], line[:, 1]))

    def at(self, x):
        sizes = [np.interp(x, self.x, self.half[k]) for k in ("half_width", "back", "belly")]
        return sizes, [np.interp(x, self.x, e) for e in self.exponents]

    def section(self, x, count=2000):
        """The section at x, y to the right and z up, closed."""
        (w, back, belly), exponents = self.at(x)
        quarter = np.linspace(0, math.pi / 2, count)
        both = []
        for high, n in zip((back, -belly), exponents):
            y = w * np.cos(quarter) ** (2 / n)
            z = high * np.sin(quarter) ** (2 / n)
            both.append((y, z))
        (y0, z0), (y1, z1) = both
        ring = [(y0, z0), (-y0[::-1], z0[::-1]), (-y1, z1), (y1[::-1], z1[::-1])]
        return np.concatenate([np.column_stack(part) for part in ring])

    def girth(self, x):
        return np.hypot(*np.diff(self.section(x, 40000), axis=0).T).sum()


def on_its_box(line, wanted):
    """`line` moved so that it fills the same box as `wanted`, from the low corner."""
    return line - line.min(0) + wanted.min(0)


def whole_profile(curves):
    return np.concatenate((curves.profile, curves.profile[::-1] * [1, -1]))


def check_profile(line, curves, what):
    """The whole profile, with a collar or without, against the body's."""
    middle = 0.5 * (line[:, 1].min() + line[:, 1].max())
    line = line - [line[:, 0].min(), middle]
    # Within the body, and off the upright line of a flat end and of the collar.
    inner = dense(line)
    inner = inner[(inner[:, 0] > 1e-3) & (inner[:, 0] < curves.length - 2e-3)]
    lower = np.abs(inner)
    half = np.concatenate(([[0, 0]], curves.profile, [[curves.length, 0]]))
    worst = max(far(lower, half), far(dense(curves.profile), np.concatenate((line, line * [1, -1]))))
    print(f"{what}: {len(line)} points, off by {worst:.4f} mm at most")
    if worst > OFF:
        yield f"{what} is off by {worst:.4f} mm"


def check_gauge(line, curves, what):
    """The card's curved edge, y up from the axis, x from the nose."""
    if curves.over or curves.kerf:
        return
    axis = line[:, 1].min()
    left, right = line[:, 0].min(), line[:, 0].max()
    line = line - [left, axis]
    top = line[:, 1].max()
    points = dense(line)
    width = right - left
    inner = points[(points[:, 0] > 1) & (points[:, 0] < width - 1) & (points[:, 1] < top - 0.5)]
    on_curve = inner[inner[:, 1] > 0.1]
    # The notch begins where the edge first leaves the axis.
    nose = on_curve[:, 0].min()
    first = curves.profile[curves.profile[:, 1] > 0.1][0]
    moved = on_curve - [nose - first[0], 0]
    moved = moved[moved[:, 0] < curves.length - 2e-3]
    half = np.concatenate(([[0, 0]], curves.profile, [[curves.length, 0]]))
    worst = far(moved, half)
    print(f"{what}: {len(moved)} points, off by {worst:.4f} mm at most")
    if worst > OFF or len(moved) < 100:
        yield f"{what} is off by {worst:.4f} mm"


def dxf_lines(path):
    drawing = ezdxf.readfile(path)
    faults = drawing.audit().errors
    if faults:
        raise ValueError(f"ezdxf finds {len(faults)} errors in {path}")
    for e in drawing.modelspace():
        if e.dxftype() == "POLYLINE":
            points = [v.dxf.location.vec2 for v in e.vertices]
            yield e.dxf.layer, np.array(points + points[:1] * e.is_closed)


def check_dxf(kit, curves):
    if curves.round:
        lines = [p for layer, p in dxf_lines(kit / "gauges.dxf") if layer == "CUT"]
        yield from check_gauge(max(lines, key=lambda p: np.ptp(p[:, 0])), curves, "gauge in DXF")
    if curves.fins:
        lines = [p for layer, p in dxf_lines(kit / "shapes.dxf") if layer == "CUT"]
        if len(lines) < len(curves.fins):
            yield "a fin is missing in DXF"
        # They come in the order of the spec, down the sheet.
        for i, (fin, line) in enumerate(zip(curves.fins, lines)):
            if curves.kerf:
                # Half the cut outside of the fin all round, but for mitred corners.
                line = line - line.min(0) + fin.min(0) - 0.5 * curves.kerf
                gap = np.array([far(p[None], fin) for p in line])
                worst = np.abs(np.median(gap) - 0.5 * curves.kerf)
            else:
                worst = apart(on_its_box(line, fin), fin)
            print(f"fin {i + 1} in DXF: {len(line)} points, off by {worst:.4f} mm at most")
            if worst > OFF:
                yield f"fin {i + 1} in DXF is off by {worst:.4f} mm"


def check_svg(kit, curves):
    if not curves.round:
        return
    root = ET.parse(kit / "lathe-gauge.svg").getroot()
    found = [e for e in root.iter() if e.get("id") == "profile"]
    if len(found) != 1:
        yield "no profile in the SVG"
        return
    (line,) = read_path(found[0].get("d"))
    yield from check_profile(line, curves, "profile in SVG")


def pdf_lines(pdf, page, folder):
    """Strokes of a page in mm from its top left corner: red or not, and the polyline."""
    out = folder / f"page-{page}.svg"
    # As it is, not fitted to a paper of its own.
    whole = ["pdftocairo", "-svg", "-noshrink", "-nocenter"]
    subprocess.run([*whole, "-f", str(page), "-l", str(page), pdf, out], check=True)
    for e in ET.parse(out).getroot().iter("{http://www.w3.org/2000/svg}path"):
        style = dict(re.findall(r"([\w-]+):([^;]+)", e.get("style", ""))) | e.attrib
        if style.get("stroke", "none") == "none":
            continue
        red, green, _ = map(float, re.findall(r"[\d.]+", style["stroke"])[:3])
        matrix = [float(v) for v in re.findall(r"-?[\d.]+(?:e-?\d+)?", e.get("transform", "matrix(1,0,0,1,0,0)"))]
        a, b, c, d, x, y = matrix
        for line in read_path(e.get("d")):
            yield red > 2 * green, POINT * (line @ [[a, b], [c, d]] + [x, y])


def pdf_words(pdf, page):
    """Words of a page with the middle of their foot, in mm."""
    said = subprocess.run(
        ["pdftotext", "-bbox", "-f", str(page), "-l", str(page), pdf, "-"], check=True, capture_output=True, text=True
    ).stdout
    for box in re.finditer(r'xMin="([\d.]+)" yMin="([\d.]+)" xMax="([\d.]+)" yMax="([\d.]+)">([^<]*)<', said):
        x0, y0, x1, y1 = (POINT * float(v) for v in box.groups()[:4])
        yield 0.5 * (x0 + x1), y1, box.group(5)


def in_picture(pixels, line, what):
    """The middle of a red line in the picture against the curve that it should be."""
    red = (pixels[:, :, 0] - pixels[:, :, 1]).clip(min=0)
    points = dense(line, 0.2)
    along = np.gradient(points, axis=0)
    normal = np.column_stack((-along[:, 1], along[:, 0])) / np.hypot(*along.T).clip(1e-12)[:, None]
    reach = np.linspace(-0.3, 0.3, 61)
    places = (points[:, None] + reach[None, :, None] * normal[:, None]) * PER_MM - 0.5
    x, y = places[..., 0], places[..., 1]
    i, j = np.floor(x).astype(int), np.floor(y).astype(int)
    inside = (i.min(1) >= 0) & (j.min(1) >= 0) & (i.max(1) < red.shape[1] - 1) & (j.max(1) < red.shape[0] - 1)
    i, j, u, v = (k[inside] for k in (i, j, x - i, y - j))
    seen = red[j, i] * (1 - u) * (1 - v) + red[j, i + 1] * u * (1 - v) + red[j + 1, i] * (1 - u) * v + red[j + 1, i + 1] * u * v
    weight = seen.sum(1)
    middles = (seen * reach).sum(1) / weight.clip(1e-9)
    # Corners and where another line joins are no place to look for a middle.
    bend = np.abs(np.gradient(np.unwrap(np.arctan2(along[:, 1], along[:, 0]))))[inside]
    width = (seen > 0.5 * seen.max()).sum(1) * 0.01
    good = (weight > 0) & (bend < 0.2) & (np.abs(width - 0.25) < 0.05)
    off = middles[good]
    if len(off) < 20 or weight.min() <= 0:
        yield f"{what}: the line is not in the picture"
        return
    # Where other lines meet it the middle is theirs as well: one place in a hundred.
    most = np.quantile(np.abs(off), 0.99)
    print(f"{what} at {DPI} dpi: {len(off)} places, 99 of 100 within {most:.4f} mm")
    if most > OFF:
        yield f"{what} is off in the picture by {most:.4f} mm"


def check_pdf(kit, curves, folder):
    pdf = kit / "paper.pdf"
    text = subprocess.run(["pdftotext", pdf, "-"], check=True, capture_output=True, text=True).stdout
    pages = text.split("\f")[:-1]
    sections = strips = profiles = 0
    for number, words in enumerate(pages, 1):
        title = words[:400]
        if not re.search(r"(gauges|index strips|section templates) 1:1", title):
            continue
        lines = list(pdf_lines(pdf, number, folder))
        picture = folder / f"page-{number}"
        subprocess.run(["pdftoppm", "-r", str(DPI), "-png", "-singlefile", "-f", str(number), "-l", str(number), pdf, picture], check=True)
        pixels = np.asarray(Image.open(f"{picture}.png").convert("RGB")).astype(float)
        placed = list(pdf_words(pdf, number))
        if "section templates" in title:
            # Curves have many points, frames few.
            for line in [p for red, p in lines if red and len(p) > 12]:
                low, high = line.min(0), line.max(0)
                middle = 0.5 * (low[0] + high[0])
                under = [(y, x, w) for x, y, w in placed if high[1] < y < high[1] + 24 and abs(x - middle) < 25]
                first = [w for y, x, w in sorted(under)]
                at = float(first[first.index("at") + 1]) if "at" in first else None
                unit = first[first.index("at") + 2] if at is not None else ""
                if at is None:
                    yield "a template without its place"
                    continue
                at *= {"mm": 1, "cm": 10, "in": 25.4}[unit]
                wanted = curves.section(at) * [1, -1]
                if curves.kerf:
                    continue
                wanted = wanted + (0.5 * (low + high) - 0.5 * (wanted.min(0) + wanted.max(0)))
                worst = apart(line, wanted)
                sections += 1
                print(f"section at {at:g} mm in PDF: off by {worst:.4f} mm at most")
                if worst > OFF:
                    yield f"section at {at:g} in PDF is off by {worst:.4f} mm"
                yield from in_picture(pixels, wanted, f"section at {at:g}")
        elif "index strips" in title:
            boxes = [p for red, p in lines if not red and len(p) == 5 and abs(np.ptp(p[:, 1]) - 10) < 0.01]
            names = re.findall(r"strip at ([\d.]+) (mm|cm|in) from the nose, girth", words)
            if len(boxes) != len(names):
                yield f"{len(boxes)} strips for {len(names)} names"
            for box, (at, unit) in zip(boxes, names):
                at = float(at) * {"mm": 1, "cm": 10, "in": 25.4}[unit]
                off = abs(np.ptp(box[:, 0]) - curves.girth(at))
                # The place is written to 0.01 mm, or 0.001 in.
                slack = 0.01 * abs(curves.girth(at + 0.5) - curves.girth(at - 0.5))
                strips += 1
                print(f"strip at {at:g} mm in PDF: off by {off:.4f} mm")
                if off > OFF + slack:
                    yield f"strip at {at:g} is off by {off:.4f} mm"
        elif curves.round and "half-profile gauge" in words:
            red = [p for is_red, p in lines if is_red and len(p) > 40]
            gauge = max(red, key=lambda p: np.ptp(p[:, 0]))
            height = gauge[:, 1].max()
            yield from check_gauge(gauge * [1, -1] + [0, height], curves, "gauge in PDF")
            yield from in_picture(pixels, gauge, "gauge")
            black = [p for is_red, p in lines if not is_red and len(p) > 40]
            if black:
                whole = max(black, key=lambda p: np.ptp(p[:, 0]))
                profiles += 1
                yield from check_profile(whole, curves, "profile in PDF")
    if curves.round and not profiles:
        yield "no profile in the PDF"
    if not curves.round and not sections and not curves.kerf:
        yield "no section template in the PDF"
    if curves.fins and not strips:
        yield "no girth strip in the PDF"


def main():
    if len(sys.argv) != 3:
        sys.exit(__doc__)
    Image.MAX_IMAGE_PIXELS = None
    kit = pathlib.Path(sys.argv[1])
    curves = Curves(pathlib.Path(sys.argv[2]).read_text(encoding="utf-8"))
    with tempfile.TemporaryDirectory() as folder:
        faults = list(check_svg(kit, curves))
        faults += check_dxf(kit, curves)
        faults += check_pdf(kit, curves, pathlib.Path(folder))
    for fault in faults:
        print(f"{kit}: {fault}", file=sys.stderr)
    sys.exit(bool(faults))


if __name__ == "__main__":
    main()
