"""The pictures of the comparison, what is truly in them, and jobs made of them."""

import json
import random
from pathlib import Path

import numpy as np

HERE = Path(__file__).resolve().parents[2]
SHARED = HERE.parent / "shared/data"
TARGETS = json.loads((HERE / "calibration/targets.json").read_text())["targets"]
# Tags of the family 36h11 in the public photographs, by their notices and by eye; in all others there is none.
REAL = {
    "apriltag_c/33369213973_9d9bb4cc96_c.jpg": [0] * 12,
    "apriltag_c/34085369442_304b6bafd9_c.jpg": [0] * 25,
    "apriltag_c/34139872896_defdb2f8d9_c.jpg": [0] * 14,
    "apriltags_jl/AprilTagGrid1to40.png": list(range(1, 41)),
    "apriltags_jl/colortag.jpg": [495],
    "apriltags_jl/taggridphoto.jpg": list(range(1, 41)),
    "apriltags_jl/tagtest.jpg": [5, 6, 9],
}
WITHOUT_TAGS = ("abakisita_aruco", "opencv_samples", "opencv_aruco", "exif_samples/mobile", "nom_exif")


class Rendered:
    """The rendered set with exact truth."""

    def __init__(self):
        self.folder = SHARED / "rendered/dev"
        self.truth = json.loads((self.folder / "truth.json").read_text())
        self.photos = {photo["id"]: photo for photo in self.truth["photos"]}
        self.camera = self.truth["camera"]

    def ids(self, start):
        return sorted(i for i in self.photos if i.startswith(start))

    def path(self, photo):
        return str(self.folder / self.photos[photo]["file"])

    def pose(self, photo, target):
        """camera_from_target: rotation and translation, or nothing when the target is not there."""
        scene = self.photos[photo]["scene"]
        placed = scene.get(target)
        if placed is None or not placed.get("present", True):
            return None
        world = self.photos[photo]["pose_W_to_camera"]
        turn, shift = np.array(world["R"]), np.array(world["t"])
        own = placed[f"T_W_{target}"]
        return turn @ np.array(own["R"]), turn @ np.array(own["t"]) + shift

    def project(self, pose, places):
        """Pixels of places (mm) of a target's plane, or of space."""
        places = np.asarray(places, dtype=float)
        if places.shape[1] == 2:
            places = np.column_stack([places, np.zeros(len(places))])
        at = places @ pose[0].T + pose[1]
        x, y = at[:, 0] / at[:, 2], at[:, 1] / at[:, 2]
        k1, k2, p1, p2, k3 = self.camera["dist_k1_k2_p1_p2_k3"]
        r2 = x * x + y * y
        radial = 1 + r2 * (k1 + r2 * (k2 + r2 * k3))
        u = x * radial + 2 * p1 * x * y + p2 * (r2 + 2 * x * x)
        v = y * radial + p1 * (r2 + 2 * y * y) + 2 * p2 * x * y
        return np.column_stack([self.camera["fx"] * u + self.camera["cx"], self.camera["fy"] * v + self.camera["cy"]])

    def world(self, photo):
        pose = self.photos[photo]["pose_W_to_camera"]
        return np.array(pose["R"]), np.array(pose["t"])

    def tags(self, photo):
        """Middles of the tags in view, by id, with the length of their sides: px."""
        seen = {}
        for target, name in (("card", "mount-card"), ("ring", "hub-ring"), ("sheet", "bench-sheet")):
            pose = self.pose(photo, target)
            if pose is None:
                continue
            for number, corners in TARGETS[name]["tags"].items():
                at = self.project(pose, corners)
                inside = (at > 2).all() and (at[:, 0] < self.camera["width"] - 3).all() and (at[:, 1] < self.camera["height"] - 3).all()
                if inside:
                    seen[int(number)] = (at.mean(axis=0), float(np.linalg.norm(at[1] - at[0])))
        return seen

    def profile(self, folder):
        """Writes the camera's profile and gives its name."""
        keys = ("width", "height", "fx", "fy", "cx", "cy", "dist_k1_k2_p1_p2_k3")
        (folder / "camera.json").write_text(json.dumps({key: self.camera[key] for key in keys}))
        return "camera.json"

    def job(self, folder, check, photos, marks=None, drive=None, camera=True):
        """Writes a job over photos, the first of them marked, and gives its path."""
        listed = [{"file": self.path(photo)} for photo in photos]
        if marks:
            listed[0]["marks"] = {name: points.tolist() for name, points in marks.items()}
        job = {"check": check, "photos": listed, "print_scale": {"x": 1.0, "y": 1.0, "u95": 0.001}}
        if camera:
            job["camera"] = self.profile(folder)
        if drive:
            job["drive"] = drive
        path = folder / f"{check}-{photos[0]}.json"
        path.write_text(json.dumps(job))
        return str(path)

    def gap_job(self, folder, case):
        photos = self.ids(f"{case}_")
        edge = self.photos[photos[0]]["scene"]["plate"]["top_edges_W"]["plate_virtual_sharp_edge"]
        (x, _, z), _ = edge
        marks = {
            "mount_edge": self.rough(photos[0], [[x, 4, z], [x, 33, z]]),
            "rim_edge": self.rough(photos[0], self.rim(photos[0], [58, 90, 122])),
        }
        return self.job(folder, "gap", photos, marks, {"rim_diameter": 99.0, "mount_chamfer": 0.15, "rim_chamfer": 0.1})

    def turn_job(self, folder, case):
        photos = self.ids(f"{case}_")
        marks = {"rim_edge": self.rough(photos[0], self.rim(photos[0], [36, 151, 277]))}
        return self.job(folder, "turn", photos, marks, {"rim_chamfer": 0.1})

    def rim(self, photo, degrees):
        flange = self.photos[photo]["scene"]["flange"]
        normal = np.array(flange["normal_W"])
        v = np.cross(normal, [0.0, 1.0, 0.0])
        v /= np.linalg.norm(v)
        u = np.cross(v, normal)
        turns = np.radians(degrees)[:, None]
        return np.array(flange["face_circle_centre_W"]) + flange["face_edge_radius"] * (np.cos(turns) * u + np.sin(turns) * v)

    def rough(self, photo, points):
        """Marks as a person taps them: three pixels off at most."""
        dice = random.Random(photo)
        at = self.project(self.world(photo), points)
        return at + np.array([[dice.uniform(-3, 3), dice.uniform(-3, 3)] for _ in at])


def real_photos():
    """Public photographs with the ids of their tags."""
    folder = SHARED / "real"
    known = [(folder / name, ids) for name, ids in REAL.items()]
    kinds = (".jpg", ".jpeg", ".png")
    empty = [p for sub in WITHOUT_TAGS for p in sorted((folder / sub).glob("*")) if p.suffix.lower() in kinds]
    return [(str(path), ids) for path, ids in known + [(path, []) for path in empty] if path.is_file()]
