"""The parts of the comparison. Each asks both sides in turn, photo by photo, so that a machine that grows busy meanwhile
slows both."""

import sys
from pathlib import Path

import numpy as np
from worker import alone

SHEET = "bench-sheet"


def decoding(ours, theirs, photos, rounds, table):
    """The decoders alone, and the whole photo against the quickest."""
    sides = {
        "ours": lambda p: ours.ask("decode", path=p),
        "zune-jpeg": lambda p: ours.ask("decode_bare", path=p),
        "libjpeg-turbo": lambda p: theirs.ask("decode_turbo", path=p),
        "OpenCV": lambda p: theirs.ask("decode_opencv", path=p),
    }
    times = {name: [] for name in [*sides, "whole"]}
    for _ in range(rounds):
        for photo in photos:
            for name, ask in sides.items():
                times[name].append(done(ask(photo), f"{name}: decoding {photo}"))
            times["whole"].append(done(ours.ask("whole", path=photo), f"ours: the whole photo {photo}"))
    others = [name for name in sides if name != "ours"]
    quickest = min(others, key=lambda name: np.median([t["wall"] for t in times[name]]))
    table.pairs(f"decode to grey, {quickest}", times["ours"], times[quickest])
    table.pairs(f"whole photo, decode included, against the decode alone by {quickest}", times["whole"], times[quickest], 2.5, slower=True)


def done(answer, what):
    """The answer, when the work succeeded: giving up is quick, and its time would count for the side that gave up."""
    if not answer["result"]:
        sys.exit(f"{what} failed, so its time says nothing")
    return answer


def sheets(ours, theirs, rendered, rounds, table):
    """The bench sheet's corners against OpenCV's ChArUco detector, in time and against the truth."""
    photos = rendered.ids("b_")
    mine, other, errors = [], [], {"ours": [], "theirs": []}
    for k in range(rounds):
        for photo in photos:
            path = rendered.path(photo)
            mine.append(ours.ask("board", path=path, target=SHEET))
            other.append(theirs.ask("board", path=path, target=SHEET))
            if k == 0:
                pose = rendered.pose(photo, "sheet")
                errors["ours"] += distances(rendered, pose, [[c[0], c[1], c[2], c[3], c[4]] for c in mine[-1]["result"]])
                errors["theirs"] += distances(rendered, pose, other[-1]["result"])
    table.pairs("bench sheet, OpenCV ChArUco", mine, other, 3.0)
    told = {side: f"{len(e)} corners, rms {rms(e):.3f} px per axis" for side, e in errors.items()}
    table.fact("its corners against the truth", told["ours"], told["theirs"], "no larger", rms(errors["ours"]) <= rms(errors["theirs"]))


def distances(rendered, pose, corners):
    """Distance of each corner (index, u, v, x, y) from where it truly shows, px."""
    corners = np.array(corners)
    if len(corners) == 0:
        return []
    truth = rendered.project(pose, corners[:, 3:5])
    return np.linalg.norm(corners[:, 1:3] - truth, axis=1).tolist()


def rms(values):
    """Root mean square along each axis."""
    return float(np.sqrt(np.mean(np.square(values)) / 2)) if values else float("inf")


def lone_tags(ours, theirs, rendered, rounds, table):
    """Tags of ring and card against the AprilTag C library, in time and by how many are found."""
    photos = rendered.ids("r")
    for decimate in (2.0, 1.0):
        mine, other = [], []
        for photo in photos[:: max(1, len(photos) // 8)] * rounds:
            path = rendered.path(photo)
            mine.append(ours.ask("tags", path=path))
            other.append(theirs.ask("tags_apriltag", path=path, decimate=decimate))
        # Its default is to look at every other pixel.
        table.pairs(f"lone tags, AprilTag C, decimate {decimate:g}", mine, other, 2.0 if decimate == 2.0 else None)
    sides = {
        "ours": lambda p: ours.ask("tags", path=p),
        "AprilTag C (2)": lambda p: theirs.ask("tags_apriltag", path=p, decimate=2.0),
        "AprilTag C (1)": lambda p: theirs.ask("tags_apriltag", path=p, decimate=1.0),
        "OpenCV": lambda p: theirs.ask("tags_opencv", path=p),
    }
    counts = {name: [0, 0] for name in sides}
    known = 0
    for photo in rendered.ids(""):
        # The truth of a turned or half covered photo is not that of its tags in view.
        if photo in ("n_rot6", "n_half") or photo.startswith("b_"):
            continue
        truth = rendered.tags(photo)
        known += len(truth)
        for name, ask in sides.items():
            right, wrong = judged(ask(rendered.path(photo))["result"], truth)
            counts[name][0] += right
            counts[name][1] += wrong
    told(table, f"tags of card and ring found, of {known} in view", counts)


def judged(found, truth):
    """How many tags lie where the truth has them, and how many do not."""
    right = 0
    for tag in found:
        place = truth.get(tag["id"])
        if place is not None and np.linalg.norm(np.mean(tag["corners"], axis=0) - place[0]) < 0.5 * place[1]:
            right += 1
    return right, len(found) - right


def told(table, name, counts):
    """A row of counts [right, wrong] by side; ours must find as many as the best and nothing that is not there."""
    words = {side: f"{right} ({wrong} false)" for side, (right, wrong) in counts.items()}
    others = {side: count for side, count in counts.items() if side != "ours"}
    best = max(right for right, _ in others.values())
    met = counts["ours"][0] >= best and counts["ours"][1] == 0
    theirs = ", ".join(f"{side} {words[side]}" for side in others)
    table.fact(name, words["ours"], theirs, "as many as the best, none false", met)


def real_tags(ours, theirs, photos, table):
    """Tags in public photographs; what has another id than any tag there, or is one too many, is false."""
    sides = {
        "ours": lambda p: ours.ask("tags", path=p),
        "AprilTag C (2)": lambda p: theirs.ask("tags_apriltag", path=p, decimate=2.0),
        "AprilTag C (1)": lambda p: theirs.ask("tags_apriltag", path=p, decimate=1.0),
        "OpenCV": lambda p: theirs.ask("tags_opencv", path=p),
    }
    counts = {name: [0, 0] for name in sides}
    readable = [p for p in photos if ours.ask("decode", path=p[0])["result"] and theirs.ask("decode_opencv", path=p[0])["result"]]
    for path, ids in readable:
        for name, ask in sides.items():
            left = list(ids)
            for tag in ask(path)["result"]:
                if tag["id"] in left:
                    left.remove(tag["id"])
                    counts[name][0] += 1
                else:
                    counts[name][1] += 1
    known = sum(len(ids) for _, ids in readable)
    # What one side refuses (a photo below the engine's least size, say) is not compared, and must not vanish.
    refused = ", ".join(f"{Path(p[0]).name} with {len(p[1])}" for p in photos if p not in readable)
    without = f", without what a side refuses to read: {refused}" if refused else ""
    told(table, f"real photographs: tags found, of {known} in {len(readable)}{without}", counts)


def poses(ours, theirs, rendered, rounds, table):
    """The card's pose from the same corners."""
    mine, other, errors = [], [], {"ours": [], "theirs": []}
    camera = {k: rendered.camera[k] for k in ("width", "height", "fx", "fy", "cx", "cy", "dist_k1_k2_p1_p2_k3")}
    for k in range(rounds):
        for photo in rendered.ids("g"):
            found = ours.ask("board", path=rendered.path(photo), target="mount-card")["result"]
            corners = [[c[3], c[4], c[1], c[2], max(c[5], 1e-3)] for c in found]
            if len(corners) < 6:
                continue
            mine.append(ours.ask("pose", camera=camera, corners=corners, times=50))
            other.append(theirs.ask("pose", camera=camera, corners=corners, times=50))
            if k == 0:
                truth = rendered.pose(photo, "card")
                for side, answer in (("ours", mine[-1]), ("theirs", other[-1])):
                    errors[side].append(float(np.linalg.norm(np.array(answer["result"][1]) - truth[1])))
    table.pairs("pose of the card, solvePnP", mine, other)
    words = {side: f"{np.sqrt(np.mean(np.square(e))):.3f} mm rms" for side, e in errors.items()}
    table.fact("its place against the truth", words["ours"], words["theirs"])


def calibration(program, theirs_command, ours, theirs, rendered, folder, rounds, table):
    """Twelve photos of the bench sheet, from files to the camera."""
    photos = rendered.ids("b_")
    paths = [rendered.path(photo) for photo in photos]
    job = rendered.job(folder, "camera", photos, camera=False)
    mine, other = [], []
    for _ in range(rounds):
        mine.append(ours.ask("job", path=job))
        other.append(theirs.ask("calibrate_whole", paths=paths))
    table.pairs("calibration with detection, 12 photos, cv2.calibrateCamera", mine, other, 3.0)
    values, result = mine[-1]["result"]["values"], other[-1]["result"]
    names = ["fx", "fy", "cx", "cy", "k1", "k2", "p1", "p2"]
    off = [
        abs(values[name]["value"] - result["intrinsics"][k]) / np.hypot(values[name]["u95"] / 1.96, result["sigma"][k])
        for k, name in enumerate(names)
    ]
    # Of eight, the largest stays below 2.73 in 95 of 100 cases (Sidak).
    words = f"{max(off):.1f} standard deviations of the difference ({names[int(np.argmax(off))]})"
    table.fact("its intrinsics, furthest apart", words, "", "the same within their standard deviations", max(off) < 2.73)
    truth = [rendered.camera[name] for name in names[:4]] + rendered.camera["dist_k1_k2_p1_p2_k3"][:4]
    mine = [(values[name]["value"] - truth[k]) / (values[name]["u95"] / 1.96) for k, name in enumerate(names)]
    other = [(result["intrinsics"][k] - truth[k]) / result["sigma"][k] for k in range(8)]
    words = [f"{np.abs(off).max():.1f} of its standard deviations" for off in (mine, other)]
    table.fact("the furthest of them from the truth", *words)
    views = [[[c[3], c[4], c[1], c[2], c[5]] for c in ours.ask("board", path=path, target=SHEET)["result"]] for path in paths]
    size = {"width": rendered.camera["width"], "height": rendered.camera["height"]}
    solves = [(ours.ask("calibrate", views=views, **size), theirs.ask("calibrate", views=views, **size)) for _ in range(rounds)]
    table.pairs("the solve of it alone, from the same corners", [a for a, _ in solves], [b for _, b in solves])
    memory = alone(program, "job", job)["mb"], alone(*theirs_command, "calibrate", *paths)["mb"]
    table.fact("its peak memory", f"{memory[0]:.0f} MB", f"{memory[1]:.0f} MB")


def jobs(program, theirs, rendered, folder, rounds, table):
    """Whole jobs, each in a process of its own, and beside them what OpenCV takes for decoding, board, tags and pose."""
    # The kind of job, its cases, and the seconds and MB that one may take.
    for check, cases, seconds, mb in (("gap", ["g1", "g2", "g3", "g4", "g5"], 1.0, 300), ("turn", ["r1", "r2"], 4.0, 400)):
        make = rendered.gap_job if check == "gap" else rendered.turn_job
        runs, seen = [], []
        for case in cases:
            job = make(folder, case)
            paths = [rendered.path(photo) for photo in rendered.ids(f"{case}_")]
            for _ in range(rounds):
                runs.append(alone(program, "job", job))
                seen.append(theirs.ask("seen", paths=paths, target="mount-card"))
        photos = len(paths)
        table.alone(f"{check} job, {photos} photos of 6 megapixels", runs, seconds, mb)
        table.pairs("the same, against OpenCV's decoding, board, tags and pose alone", runs, seen, None, slower=True)
