#!/usr/bin/env python3
"""Reads paper kits back with readers that are not ours.

    check_paper.py KIT

KIT is made from taper.toml beside this file: straight tapers, whose profile is known without
Baitwright.

- Reads `gauges.dxf` with ezdxf and compares every point of the gauge with the straight lines.
- Asks pdfinfo for the size of every page of `paper.pdf`: A4, ISO 216.
- Has pdftoppm draw the pages at 600 dpi, measures both check bars of every page, and compares the
  red line of the gauge, column by column, with the same straight lines.

All within 0.02 mm, about half a pixel; bars within a pixel. Needs ezdxf, Pillow, numpy, poppler.
"""

import pathlib
import re
import subprocess
import sys
import tempfile

import ezdxf
import numpy as np
from PIL import Image

DPI = 600
PER_MM = DPI / 25.4
LENGTH = 80.0
PLACES, DIAMETERS = [0.0, 30.0, 60.0, LENGTH], [10.0, 22.0, 14.0, 18.0]
OFF = 0.02


def radius(x):
    return 0.5 * np.interp(x, PLACES, DIAMETERS)


def check_dxf(path):
    drawing = ezdxf.readfile(path)
    if drawing.dxfversion != "AC1009":
        yield f"DXF release {drawing.dxfversion}, not 12"
    faults = drawing.audit().errors
    if faults:
        yield f"ezdxf finds {len(faults)} errors"
    lines = [e for e in drawing.modelspace() if e.dxftype() == "POLYLINE" and e.dxf.layer == "CUT"]
    shapes = [np.array([v.dxf.location.vec2 for v in e.vertices]) for e in lines]
    # The gauge is the longest of all that is cut.
    gauge = max(shapes, key=lambda p: np.ptp(p[:, 0]))
    axis = gauge[:, 1].min()
    left, right = gauge[:, 0].min(), gauge[:, 0].max()
    nose = 0.5 * (left + right) - 0.5 * LENGTH
    inner = gauge[(gauge[:, 0] > left + 1) & (gauge[:, 0] < right - 1)]
    on_profile = inner[inner[:, 1] > axis + 0.1]
    if len(on_profile) < 2:
        yield "no profile in the gauge"
        return
    worst = max(abs(y - axis - radius(x - nose)) for x, y in on_profile)
    print(f"{path}: {len(on_profile)} points of the gauge, off by {worst:.4f} mm at most")
    if worst > OFF:
        yield f"gauge in DXF is off by {worst:.4f} mm"


def check_bars(image, page):
    """Bars are the only lines 1 mm thick: found by where every page has them."""
    dark = np.asarray(image.convert("L")) < 128
    height, _ = dark.shape
    row = int(height - (10 + 5) * PER_MM)
    column = int((10 + 2) * PER_MM)
    for way, line in (("across", dark[row]), ("down", dark[:, column])):
        # The longest run of dark pixels.
        edges = np.flatnonzero(np.diff(np.concatenate(([0], line.astype(int), [0]))))
        runs = edges[1::2] - edges[::2]
        run = runs.max() if len(runs) else 0
        if abs(run - 100 * PER_MM) > 1.5:
            yield f"page {page}: bar {way} is {run / PER_MM:.3f} mm long"


def check_gauge(image):
    """The red line of the gauge against the straight lines, from the middle of its thickness."""
    pixels = np.asarray(image.convert("RGB")).astype(float)
    red = (pixels[:, :, 0] - pixels[:, :, 1]).clip(min=0)
    # The card is the first thing that is cut on the page.
    top = np.flatnonzero(red.sum(axis=1) > 0).min()
    window = red[top : top + int(40 * PER_MM)]
    card = np.flatnonzero(window[: int(0.2 * PER_MM)].sum(axis=0) > 0)
    left = card.min()
    # Its left edge, down to where it ends on the axis.
    edge = window[:, left : left + 5].sum(axis=1) > 0
    end = np.flatnonzero(~edge).min()
    middle = 0.5 * (card.min() + card.max())
    axis = end - 0.5 - 0.125 * PER_MM
    offs = []
    for x in np.arange(3.0, LENGTH - 3.0, 0.5):
        column = int(round(middle + (x - 0.5 * LENGTH) * PER_MM))
        true_x = (column - middle) / PER_MM + 0.5 * LENGTH
        y = axis - radius(true_x) * PER_MM
        strip = window[int(y - 0.6 * PER_MM) : int(y + 0.6 * PER_MM), column]
        # At a corner the line's middle is not on it.
        if strip.sum() == 0 or min(abs(true_x - p) for p in PLACES) < 1:
            continue
        at = (strip * np.arange(len(strip))).sum() / strip.sum() + int(y - 0.6 * PER_MM)
        offs.append((at - y) / PER_MM)
    if len(offs) < 100:
        yield f"only {len(offs)} columns of the gauge found"
        return
    offs = np.array(offs)
    # The axis is known to a pixel only; the shape must hold much better.
    print(f"gauge at {DPI} dpi: {len(offs)} columns, mean {offs.mean():+.4f} mm, "
          f"spread {np.abs(offs - np.median(offs)).max():.4f} mm")
    if abs(offs.mean()) > 1.0 / PER_MM or np.abs(offs - np.median(offs)).max() > 2 * OFF:
        yield f"gauge on the page is off: {offs.mean():+.4f} mm, {np.ptp(offs):.4f} mm"
    if np.sqrt(((offs - np.median(offs)) ** 2).mean()) > OFF:
        yield "gauge on the page is rougher than 0.02 mm"


def check(kit, folder):
    yield from check_dxf(kit / "gauges.dxf")
    pdf = kit / "paper.pdf"
    said = subprocess.run(["pdfinfo", "-l", "999", pdf], check=True, capture_output=True, text=True).stdout
    sizes = [tuple(map(float, s)) for s in re.findall(r"size:\s+([\d.]+) x ([\d.]+) pts", said)]
    wanted = (297 / 25.4 * 72, 210 / 25.4 * 72)
    if not sizes:
        yield "pdfinfo finds no page"
    for size in sizes:
        if any(abs(a - b) > 0.01 for a, b in zip(size, wanted)):
            yield f"a page of {size} points, not {wanted}"
    subprocess.run(["pdftoppm", "-r", str(DPI), "-png", pdf, folder / "page"], check=True)
    pages = sorted(folder.glob("page-*.png"))
    if len(pages) != len(sizes):
        yield f"{len(pages)} pictures of {len(sizes)} pages"
    text = subprocess.run(["pdftotext", pdf, "-"], check=True, capture_output=True, text=True).stdout
    gauge = [i for i, words in enumerate(text.split("\f")) if "half-profile gauge" in words]
    for i, path in enumerate(pages):
        image = Image.open(path)
        yield from check_bars(image, i + 1)
        if i in gauge[:1]:
            yield from check_gauge(image)
    if not gauge:
        yield "no page with the gauge"


def main():
    if len(sys.argv) != 2:
        sys.exit(__doc__)
    Image.MAX_IMAGE_PIXELS = None
    with tempfile.TemporaryDirectory() as folder:
        faults = list(check(pathlib.Path(sys.argv[1]), pathlib.Path(folder)))
    for fault in faults:
        print(fault, file=sys.stderr)
    sys.exit(bool(faults))


if __name__ == "__main__":
    main()
