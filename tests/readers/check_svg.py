#!/usr/bin/env python3
"""Measures the check bars of SVG sheets in pixels, as rsvg-convert draws them.

    check_svg.py SHEET.svg...

Renders at 254 dpi (10 pixels to the millimetre) and counts the dark pixels of each
bar, on both axes. Fails if any is more than a pixel off, or if the picture is not as
large as the page says. Needs rsvg-convert and Pillow.
"""

import io
import re
import subprocess
import sys
import xml.etree.ElementTree as ET

from PIL import Image

DPI = 254
PER_MM = DPI / 25.4
BARS = {
    "check-50mm-x": 50.0,
    "check-50mm-y": 50.0,
    "check-2in-x": 50.8,
    "check-2in-y": 50.8,
}


def dark_run(dark, middle):
    """Length of the run of dark pixels around `middle`."""
    if not dark(middle):
        return 0
    first = last = middle
    while dark(first - 1):
        first -= 1
    while dark(last + 1):
        last += 1
    return last - first + 1


def check(path):
    root = ET.parse(path).getroot()
    page = []
    for side in ("width", "height"):
        value = root.get(side, "")
        if not value.endswith("mm"):
            return [f"{side} is not in mm: {value!r}"]
        page.append(float(value[:-2]))
    png = subprocess.run(
        ["rsvg-convert", "-d", str(DPI), "-p", str(DPI), "-b", "white", path],
        check=True,
        capture_output=True,
    ).stdout
    image = Image.open(io.BytesIO(png)).convert("L")
    faults = []
    for name, mm, pixels in zip(("width", "height"), page, image.size):
        if abs(mm * PER_MM - pixels) > 1:
            faults.append(f"{name} of {mm} mm is {pixels} pixels")

    def dark(x, y):
        inside = 0 <= x < image.width and 0 <= y < image.height
        return inside and image.getpixel((x, y)) < 128

    found = {e.get("id"): e for e in root.iter() if e.get("id") in BARS}
    for bar, mm in BARS.items():
        if bar not in found:
            faults.append(f"no {bar}")
            continue
        # Only the middle is taken from the text; the ends are found in the picture.
        ends = [float(n) for n in re.findall(r"-?[\d.]+", found[bar].get("d"))]
        if len(ends) == 3:  # written as "Mx,y Hx" or "Mx,y Vy"
            ends = ends[:2] + ([ends[2], ends[1]] if bar.endswith("x") else [ends[0], ends[2]])
        x = int((ends[0] + ends[2]) / 2 * PER_MM)
        y = int((ends[1] + ends[3]) / 2 * PER_MM)
        if bar.endswith("x"):
            run = dark_run(lambda i: dark(i, y), x)
        else:
            run = dark_run(lambda i: dark(x, i), y)
        if abs(run - mm * PER_MM) > 1:
            faults.append(f"{bar} is {run / PER_MM} mm long, not {mm}")
        print(f"{path}: {bar}: {run} pixels, {mm * PER_MM:g} wanted")
    return faults


def main():
    if len(sys.argv) < 2:
        sys.exit(__doc__)
    bad = False
    for path in sys.argv[1:]:
        for fault in check(path):
            print(f"{path}: {fault}", file=sys.stderr)
            bad = True
    sys.exit(bad)


if __name__ == "__main__":
    main()
