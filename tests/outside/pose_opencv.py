"""Poses of a flat target from given corners with OpenCV's solvePnP, printed as JSON.

Standard input: {"intrinsics": [fx, fy, cx, cy, k1, k2, p1, p2, k3], "photos": [[[x_mm, y_mm, u_px, v_px], ...], ...]}.
Output: for each photo {"rotation": 3 x 3 rows, "translation": mm}, target to camera. Both solutions of the planar
ambiguity are refined and the one with the smaller residual is taken.
"""

import json
import sys

import cv2
import numpy as np


def pose(corners, matrix, distortion):
    corners = np.array(corners, dtype=np.float64)
    places = np.column_stack([corners[:, :2], np.zeros(len(corners))])
    seen = np.ascontiguousarray(corners[:, 2:]).reshape(-1, 1, 2)
    _, turns, shifts, _ = cv2.solvePnPGeneric(
        places, seen, matrix, distortion, flags=cv2.SOLVEPNP_IPPE
    )
    refined = []
    for turn, shift in zip(turns, shifts):
        turn, shift = cv2.solvePnPRefineLM(
            places, seen, matrix, distortion, turn, shift, (3, 200, 1e-14)
        )
        projected, _ = cv2.projectPoints(places, turn, shift, matrix, distortion)
        refined.append((float(np.sum((projected - seen) ** 2)), turn, shift))
    _, turn, shift = min(refined, key=lambda solution: solution[0])
    return {
        "rotation": cv2.Rodrigues(turn)[0].tolist(),
        "translation": np.ravel(shift).tolist(),
    }


def main():
    asked = json.load(sys.stdin)
    fx, fy, cx, cy, *distortion = asked["intrinsics"]
    matrix = np.array([[fx, 0, cx], [0, fy, cy], [0, 0, 1.0]])
    distortion = np.array(distortion)
    print(json.dumps([pose(photo, matrix, distortion) for photo in asked["photos"]]))


main()
