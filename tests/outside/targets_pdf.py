"""Measures printed sheets with OpenCV and compares them with the definitions of the targets.

usage: targets_pdf.py SHEETS.json DEFINITIONS.json [--render-scale F]

SHEETS.json says which PDFs there are and where each copy's frame and each scale bar should lie on the page (mm
from its top-left corner, y down). DEFINITIONS.json is a file of target definitions that lists tags and saddles.
Every page is rasterised at 600 dpi; OpenCV finds every tag and every saddle of every copy. Nothing is fitted: no
shift, no turn, no scale. All places must agree to 0.05 mm and the rim of the paper must be white. Of these 0.05 mm
the raster itself takes up to 0.03: pdftoppm moves the sides of squares to whole pixels of 0.042 mm.
--render-scale draws the page at another size, as "fit to page" does: then the check has to fail.

Prints one line a sheet; exit code 0 when all agree, 1 when something does not, 2 when it cannot run.
"""

import argparse
import json
import pathlib
import subprocess
import sys
import tempfile

import cv2
import numpy as np

DPI = 600.0
PX_PER_MM = DPI / 25.4
TOLERANCE_MM = 0.05
RIM_MM = 5.0
DICTIONARY = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_APRILTAG_36h11)
CELLS = 8


def to_mm(px):
    """Pixel coordinates (the middle of a pixel is at whole numbers) to mm on the page."""
    return (np.asarray(px, float) + 0.5) / PX_PER_MM


def to_px(mm):
    return np.asarray(mm, float) * PX_PER_MM - 0.5


def rasterise(pdf, scale):
    with tempfile.TemporaryDirectory() as folder:
        root = pathlib.Path(folder) / "page"
        command = ["pdftoppm", "-gray", "-singlefile", "-r", str(DPI * scale), str(pdf), str(root)]
        subprocess.run(command, check=True)
        return cv2.imread(str(root.with_suffix(".pgm")), cv2.IMREAD_GRAYSCALE)


def sample(picture, points):
    """Values between pixels, bilinear."""
    x, y = points[..., 0].astype(np.float32), points[..., 1].astype(np.float32)
    return cv2.remap(picture, x, y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE).astype(float)


def side_line(picture, start, end):
    """The border between black and white along a tag's side, as a point and a direction, from points where the
    grey passes half way; None when there are too few."""
    side = end - start
    length = np.linalg.norm(side)
    along = side / length
    outward = np.array([along[1], -along[0]])
    reach = 0.4 * length / CELLS
    steps = np.arange(-reach, reach, 0.25)
    places = start + np.linspace(0.1, 0.9, 60)[:, None] * side
    values = sample(picture, places[:, None, :] + steps[None, :, None] * outward)
    found = []
    for place, profile in zip(places, values):
        crossings = np.nonzero((profile[:-1] < 127.5) & (profile[1:] >= 127.5))[0]
        if len(crossings) == 1:
            k = crossings[0]
            step = steps[k] + 0.25 * (127.5 - profile[k]) / (profile[k + 1] - profile[k])
            found.append(place + step * outward)
    if len(found) < 40:
        return None
    vx, vy, x, y = cv2.fitLine(np.array(found, np.float32), cv2.DIST_L2, 0, 1e-4, 1e-4).ravel()
    return np.array([x, y], float), np.array([vx, vy], float)


def refined_tag(picture, corners):
    """Corners as crossings of lines fitted to the four sides; OpenCV's own corner refinement sits inward."""
    lines = [side_line(picture, corners[k], corners[(k + 1) % 4]) for k in range(4)]
    if any(line is None for line in lines):
        return None
    refined = []
    for k in range(4):
        (p, u), (q, v) = lines[k - 1], lines[k]
        t = np.linalg.solve(np.column_stack([u, -v]), q - p)
        refined.append(p + t[0] * u)
    return np.array(refined)


def find_tags(crop):
    """All tags of the dictionary in a crop: id -> corners, px."""
    detector = cv2.aruco.ArucoDetector(DICTIONARY, cv2.aruco.DetectorParameters())
    # Half size is plenty to find a tag; its corners are then fitted in the full raster.
    corners, ids, _ = detector.detectMarkers(cv2.resize(crop, None, fx=0.5, fy=0.5, interpolation=cv2.INTER_AREA))
    found = {}
    for quad, tag in zip(corners, [] if ids is None else ids.ravel().tolist()):
        if tag in found:
            raise ValueError(f"tag {tag} found twice")
        found[tag] = quad.reshape(4, 2).astype(float) * 2 + 0.5
    return found


def board_of(target):
    """OpenCV's own board of the same measures and ids, chequered as OpenCV does (not its legacy pattern)."""
    ids = np.array(sorted(int(tag) for tag in target["tags"]))
    size = tuple(target["squares"])
    return cv2.aruco.CharucoBoard(size, target["square_mm"], target["marker_mm"], DICTIONARY, ids)


def share_unlike_drawing(picture, target, origin):
    """Share of the pattern that differs from OpenCV's drawing of the board, leaving out the borders between black
    and white."""
    columns, rows = target["squares"]
    square = 160
    drawing = board_of(target).generateImage((columns * square, rows * square), marginSize=0, borderBits=1)
    kernel = np.ones((5, 5), np.uint8)
    even = cv2.erode(drawing, kernel, borderValue=0) == cv2.dilate(drawing, kernel, borderValue=255)
    y, x = np.mgrid[0 : rows * square, 0 : columns * square]
    mm = origin + (np.dstack([x, y]) + 0.5) * (target["square_mm"] / square)
    printed = np.vstack([sample(picture, to_px(band)) for band in np.array_split(mm, rows)])
    return float(((printed > 127) != (drawing > 127))[even].mean())


def find_saddles(crop, target):
    """All saddles of a board in a crop: index -> place, px."""
    corners, indices, _, _ = cv2.aruco.CharucoDetector(board_of(target)).detectBoard(crop)
    if corners is None:
        return {}
    window = max(3, int(target["square_mm"] * PX_PER_MM * 0.06))
    criteria = (cv2.TERM_CRITERIA_EPS + cv2.TERM_CRITERIA_MAX_ITER, 100, 1e-4)
    corners = cv2.cornerSubPix(crop, corners.reshape(-1, 1, 2).copy(), (window, window), (-1, -1), criteria)
    return {int(i): c for i, c in zip(np.ravel(indices), corners.reshape(-1, 2).astype(float))}


class Report:
    """What was found wrong, and how far off the places were."""

    def __init__(self):
        self.problems = []
        self.off_mm = {}

    def place(self, kind, name, found_mm, wanted_mm):
        off = float(np.linalg.norm(np.asarray(found_mm) - np.asarray(wanted_mm)))
        self.off_mm.setdefault(kind, []).append(off)
        if off > TOLERANCE_MM:
            self.problems.append(f"{kind} {name}: {off:.3f} mm off")

    def check(self, good, problem):
        if not good:
            self.problems.append(problem)

    def line(self, name):
        parts = [f"{len(v)} {kind}s within {max(v):.4f} mm" for kind, v in self.off_mm.items()]
        return f"{name}: " + ", ".join(parts)


def check_copy(picture, target, origin, name, report):
    wanted = {int(tag): np.array(corners) for tag, corners in target["tags"].items()}
    places = np.concatenate(list(wanted.values()))
    low = np.floor(to_px(origin + places.min(0) - margin(target))).astype(int).clip(0)
    high = np.ceil(to_px(origin + places.max(0) + margin(target))).astype(int)
    crop = np.ascontiguousarray(picture[low[1] : high[1], low[0] : high[0]])

    tags = find_tags(crop)
    report.check(set(tags) == set(wanted), f"{name}: tags {sorted(set(tags) ^ set(wanted))} missing or foreign")
    for tag in sorted(set(tags) & set(wanted)):
        corners = refined_tag(crop, tags[tag])
        if corners is None:
            report.problems.append(f"{name}: the sides of tag {tag} are not clear")
            continue
        for k in range(4):
            report.place("tag corner", f"{tag}.{k} of {name}", to_mm(corners[k] + low), origin + wanted[tag][k])

    if target["kind"] != "charuco":
        return
    wanted = {int(index): np.array(at) for index, at in target["saddles"].items()}
    unlike = share_unlike_drawing(picture, target, origin)
    report.check(unlike == 0.0, f"{name}: {100 * unlike:.2f} % differs from OpenCV's drawing of the board")
    saddles = find_saddles(crop, target)
    report.check(set(saddles) == set(wanted), f"{name}: saddles {sorted(set(saddles) ^ set(wanted))} missing")
    for index in sorted(set(saddles) & set(wanted)):
        report.place("saddle", f"{index} of {name}", to_mm(saddles[index] + low), origin + wanted[index])


def margin(target):
    """White around the tags to crop with, mm: a board's outer tags stand inside a square, a card has a border."""
    if target["kind"] == "charuco":
        return (target["square_mm"] - target["marker_mm"]) / 2 + 0.9
    return 2.0


def end_line_middle(picture, bar, end):
    """The middle of an end line along the bar's axis, px: the centroid of its darkness off the bar's own line."""
    axis = 0 if bar["axis"] == "x" else 1
    centre = to_px(bar[end])
    reach = int(1.0 * PX_PER_MM)
    middles = []
    for side in (-0.35, 0.35):
        across = int(round(centre[1 - axis] + side * bar["end_line_mm"] * PX_PER_MM))
        first = int(round(centre[axis])) - reach
        cut = np.s_[first : first + 2 * reach + 1]
        profile = picture[across, cut] if axis == 0 else picture[cut, across]
        dark = 255.0 - profile.astype(float)
        if dark.sum() < 255.0:
            return None
        middles.append(first + (dark * np.arange(len(dark))).sum() / dark.sum())
    return float(np.mean(middles))


def check_bar(picture, bar, report):
    axis = 0 if bar["axis"] == "x" else 1
    middles = [end_line_middle(picture, bar, end) for end in ("start", "end")]
    if None in middles:
        report.problems.append(f"bar {bar['axis']}: an end line is missing")
        return
    found = [(middle + 0.5) / PX_PER_MM for middle in middles]
    for end, at in zip(("start", "end"), found):
        report.place("bar end", f"{bar['axis']} {end}", at, bar[end][axis])
    report.place("bar length", bar["axis"], found[1] - found[0], bar["length_mm"])


def check_page(picture, sheet, report):
    height, width = picture.shape
    wanted = np.array(sheet["page_mm"]) * PX_PER_MM
    off = np.abs(np.array([width, height]) - wanted).max()
    report.check(off <= 1.0, f"the page is {width} x {height} px, {off:.1f} px off")
    # One pixel less, for the grey where a shape's side falls between pixels.
    rim = int(RIM_MM * PX_PER_MM) - 1
    inner = np.s_[rim : height - rim, rim : width - rim]
    outside = picture.copy()
    outside[inner] = 255
    dark = np.argwhere(outside < 255)
    where = ", ".join(f"{v / PX_PER_MM:.1f}" for v in dark[0][::-1]) if len(dark) else ""
    report.check(not len(dark), f"something is printed within {RIM_MM} mm of the paper's edge, at {where} mm")


def check_sheet(folder, sheet, targets, scale):
    picture = rasterise(folder / sheet["file"], scale)
    report = Report()
    check_page(picture, sheet, report)
    for bar in sheet["bars"]:
        check_bar(picture, bar, report)
    for number, origin in enumerate(sheet["origins_mm"]):
        check_copy(picture, targets[sheet["target"]], np.array(origin), f"copy {number}", report)
    return report


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("sheets", type=pathlib.Path)
    parser.add_argument("definitions", type=pathlib.Path)
    parser.add_argument("--render-scale", type=float, default=1.0)
    arguments = parser.parse_args()
    targets = json.loads(arguments.definitions.read_text())["targets"]
    sheets = json.loads(arguments.sheets.read_text())
    good = bool(sheets)
    for sheet in sheets:
        report = check_sheet(arguments.sheets.parent, sheet, targets, arguments.render_scale)
        print(report.line(sheet["file"]))
        for problem in report.problems[:10]:
            print(f"  {problem}")
        good = good and not report.problems
    return 0 if good else 1


if __name__ == "__main__":
    sys.exit(main())
