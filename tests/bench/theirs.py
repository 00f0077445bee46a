"""The other side of `./dev bench`: OpenCV, the AprilTag C library and libjpeg-turbo, by the same questions as ours.

`theirs.py calibrate FILE...` does one calibration and ends, so that its memory can be told.
"""

import json
import os
import sys
import time
from pathlib import Path

import cv2
import numpy as np
import simplejpeg
from pupil_apriltags import Detector

TARGETS = json.loads((Path(__file__).parents[2] / "calibration/targets.json").read_text())["targets"]
DICTIONARY = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_APRILTAG_36h11)
GREY = cv2.IMREAD_GRAYSCALE | cv2.IMREAD_IGNORE_ORIENTATION


def timed(work, times=1):
    wall, cpu = time.monotonic(), time.process_time()
    for _ in range(times):
        result = work()
    return (time.monotonic() - wall) / times, (time.process_time() - cpu) / times, result


def board_of(name):
    asked = TARGETS[name]
    ids = np.array(sorted(map(int, asked["tags"])), dtype=np.int32)
    return cv2.aruco.CharucoBoard(tuple(asked["squares"]), float(asked["square_mm"]), float(asked["marker_mm"]), DICTIONARY, ids)


def picture_of(path):
    picture = cv2.imread(path, GREY)
    if picture is None:
        sys.exit(f"{path}: OpenCV cannot read it")
    return picture


class Theirs:
    """Detectors are made once, as one who measures many photos would."""

    def __init__(self):
        self.boards = {name: cv2.aruco.CharucoDetector(board_of(name)) for name in ("bench-sheet", "mount-card")}
        self.places = {name: np.array(board_of(name).getChessboardCorners(), dtype=np.float64) for name in self.boards}
        self.aruco = cv2.aruco.ArucoDetector(DICTIONARY)
        self.apriltag = {
            decimate: Detector(families="tag36h11", nthreads=cv2.getNumberOfCPUs(), quad_decimate=decimate)
            for decimate in (1.0, 2.0)
        }

    def decode_opencv(self, path):
        data = np.fromfile(path, np.uint8)
        return timed(lambda: cv2.imdecode(data, GREY) is not None)

    def decode_turbo(self, path):
        data = Path(path).read_bytes()
        return timed(lambda: simplejpeg.decode_jpeg(data, "GRAY") is not None)

    def board(self, path, target):
        picture = picture_of(path)
        wall, cpu, (points, ids, _, _) = timed(lambda: self.boards[target].detectBoard(picture))
        return wall, cpu, self.told(target, points, ids)

    def told(self, target, points, ids):
        if ids is None:
            return []
        places = self.places[target]
        return [
            [int(i), float(u), float(v), *map(float, places[i][:2])]
            for i, (u, v) in zip(np.ravel(ids), np.reshape(points, (-1, 2)))
        ]

    def tags_opencv(self, path):
        picture = picture_of(path)
        wall, cpu, (corners, ids, _) = timed(lambda: self.aruco.detectMarkers(picture))
        found = [] if ids is None else zip(np.ravel(ids), corners)
        return wall, cpu, [{"id": int(i), "corners": np.reshape(c, (4, 2)).tolist()} for i, c in found]

    def tags_apriltag(self, path, decimate):
        picture = picture_of(path)
        wall, cpu, found = timed(lambda: self.apriltag[decimate].detect(picture))
        # Its pixel centres lie at half-integers. Up to two wrong bits count, as they do for us.
        found = [tag for tag in found if tag.hamming <= 2]
        return wall, cpu, [{"id": tag.tag_id, "corners": (np.array(tag.corners) - 0.5).tolist()} for tag in found]

    def pose(self, camera, corners, times):
        matrix = np.array([[camera["fx"], 0, camera["cx"]], [0, camera["fy"], camera["cy"]], [0, 0, 1.0]])
        lens = np.array(camera["dist_k1_k2_p1_p2_k3"])
        seen = np.array(corners)
        places = np.column_stack([seen[:, :2], np.zeros(len(seen))])
        at = np.ascontiguousarray(seen[:, 2:4])

        def solve():
            return cv2.solvePnP(places, at, matrix, lens, flags=cv2.SOLVEPNP_ITERATIVE)

        wall, cpu, (_, rotation, translation) = timed(solve, times)
        return wall, cpu, [np.ravel(rotation).tolist(), np.ravel(translation).tolist()]

    def calibrate(self, width, height, views):
        return timed(lambda: self.solved([np.array(v) for v in views], (width, height)))

    def solved(self, views, size):
        places = [np.column_stack([v[:, :2], np.zeros(len(v))]).astype(np.float32) for v in views]
        seen = [v[:, 2:4].astype(np.float32).reshape(-1, 1, 2) for v in views]
        _, matrix, lens, _, _, sigma, _, _ = cv2.calibrateCameraExtended(
            places, seen, size, None, None, flags=cv2.CALIB_FIX_K3
        )
        intrinsics = [matrix[0, 0], matrix[1, 1], matrix[0, 2], matrix[1, 2], *np.ravel(lens)[:4]]
        return {"intrinsics": list(map(float, intrinsics)), "sigma": list(map(float, np.ravel(sigma)[:8]))}

    def calibrate_whole(self, paths):
        """From files to the camera."""
        return timed(lambda: self.calibrated(paths))

    def calibrated(self, paths):
        views = []
        for path in paths:
            picture = picture_of(path)
            points, ids, _, _ = self.boards["bench-sheet"].detectBoard(picture)
            views.append(np.array([[*c[3:5], *c[1:3]] for c in self.told("bench-sheet", points, ids)]))
        return self.solved(views, picture.shape[::-1])

    def seen(self, paths, target):
        """What a job has before its edges: each photo decoded, its board found and its pose solved."""
        return timed(lambda: [self.seen_one(path, target) for path in paths])

    def seen_one(self, path, target):
        picture = picture_of(path)
        points, ids, _, _ = self.boards[target].detectBoard(picture)
        self.aruco.detectMarkers(picture)
        if ids is None or len(ids) < 6:
            return False
        matrix = np.array([[2300.0, 0, picture.shape[1] / 2], [0, 2300.0, picture.shape[0] / 2], [0, 0, 1]])
        return bool(cv2.solvePnP(self.places[target][np.ravel(ids)], points.astype(np.float64), matrix, None)[0])


def main():
    theirs = Theirs()
    if sys.argv[1:2] == ["calibrate"]:
        print(json.dumps(theirs.calibrate_whole(sys.argv[2:])[2]), flush=True)
        leave()
    for line in sys.stdin:
        question = json.loads(line)
        wall, cpu, result = getattr(theirs, question.pop("do"))(**question)
        print(json.dumps({"wall": wall, "cpu": cpu, "result": result}), flush=True)
    leave()


def leave():
    """Ends without taking the AprilTag wrapper down, which crashes at times."""
    os._exit(0)


main()
