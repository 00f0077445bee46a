"""Finds a board's saddle corners in pictures with OpenCV's CharucoDetector and prints them as JSON.

Usage: corners_opencv.py DEFINITIONS.json TARGET PICTURE...

Output: one object, picture path to a list of [saddle index, x, y], pixel centres at integers.
"""

import json
import sys

import cv2
import numpy as np


def detector_of(definition):
    columns, rows = definition["squares"]
    dictionary = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_APRILTAG_36h11)
    board = cv2.aruco.CharucoBoard(
        (columns, rows),
        float(definition["square_mm"]),
        float(definition["marker_mm"]),
        dictionary,
        # Ids run row by row, as OpenCV lays them out.
        np.array(sorted(map(int, definition["tags"])), dtype=np.int32),
    )
    return cv2.aruco.CharucoDetector(board)


def corners(detector, path):
    # Orientation is left as stored, as the other side does.
    picture = cv2.imread(path, cv2.IMREAD_GRAYSCALE | cv2.IMREAD_IGNORE_ORIENTATION)
    if picture is None:
        sys.exit(f"{path}: OpenCV cannot read it")
    points, ids, _, _ = detector.detectBoard(picture)
    if ids is None:
        return []
    return [
        [int(i), float(x), float(y)]
        for i, (x, y) in zip(np.ravel(ids), np.reshape(points, (-1, 2)))
    ]


def main():
    definitions, name, *paths = sys.argv[1:]
    with open(definitions, encoding="utf-8") as file:
        definition = json.load(file)["targets"][name]
    detector = detector_of(definition)
    print(json.dumps({path: corners(detector, path) for path in paths}))


main()
