"""Calibrates a camera from given corners with OpenCV and prints it as JSON.

Standard input: {"width", "height", "views": [[[x_mm, y_mm, u_px, v_px], ...], ...]}.
Output: {"intrinsics": [fx, fy, cx, cy, k1, k2, p1, p2], "sigma": [the same], "rms": px}; k3 is held at zero.
"""

import json
import sys

import cv2
import numpy as np


def main():
    asked = json.load(sys.stdin)
    views = [np.array(view, dtype=np.float64) for view in asked["views"]]
    places = [
        np.column_stack([v[:, :2], np.zeros(len(v))]).astype(np.float32) for v in views
    ]
    seen = [v[:, 2:].astype(np.float32).reshape(-1, 1, 2) for v in views]
    criteria = (cv2.TERM_CRITERIA_COUNT + cv2.TERM_CRITERIA_EPS, 200, 1e-12)
    rms, matrix, distortion, _, _, sigma, _, _ = cv2.calibrateCameraExtended(
        places,
        seen,
        (asked["width"], asked["height"]),
        None,
        None,
        flags=cv2.CALIB_FIX_K3,
        criteria=criteria,
    )
    intrinsics = [matrix[0, 0], matrix[1, 1], matrix[0, 2], matrix[1, 2]]
    intrinsics += list(np.ravel(distortion)[:4])
    print(
        json.dumps(
            {
                "intrinsics": [float(v) for v in intrinsics],
                "sigma": [float(v) for v in np.ravel(sigma)[:8]],
                "rms": float(rms),
            }
        )
    )


main()
