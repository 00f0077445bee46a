"""Rows of the comparison: medians with their quartiles, ratios pair by pair, and the table in Markdown and JSON."""

import json
import os
import platform

import numpy as np


def spread(values):
    """Median and quartiles."""
    low, middle, high = np.percentile(values, [25, 50, 75])
    return {"median": float(middle), "quartiles": [float(low), float(high)], "count": len(values)}


def shown(stats, digits, unit=""):
    low, high = stats["quartiles"]
    return f"{stats['median']:.{digits}f}{unit} ({low:.{digits}f} to {high:.{digits}f})"


class Table:
    """What was measured, in order."""

    def __init__(self):
        self.rows = []

    def pairs(self, name, ours, theirs, goal=None, slower=False):
        """Answers of both sides to the same questions, in the same order. `goal` is the least ratio theirs to ours of
        the wall's seconds, or with `slower` the greatest ratio ours to theirs."""
        row = {"name": name, "unit": "ms"}
        for clock in ("wall", "cpu"):
            a, b = np.array([x[clock] for x in ours]), np.array([x[clock] for x in theirs])
            row[clock] = {
                "ours": spread(1e3 * a),
                "theirs": spread(1e3 * b),
                "ratio": spread(a / b if slower else b / a),
            }
        if goal is not None:
            reached = row["wall"]["ratio"]["median"]
            row["goal"] = f"at most {goal:g} times" if slower else f"at least {goal:g} times as fast"
            row["met"] = bool(reached <= goal if slower else reached >= goal)
        self.rows.append(row)

    def alone(self, name, runs, seconds, mb):
        """Whole processes, with what is promised of them."""
        row = {
            "name": name,
            "unit": "s",
            "wall": {"ours": spread([run["wall"] for run in runs])},
            "cpu": {"ours": spread([run["cpu"] for run in runs])},
            "peak_mb": max(run["mb"] for run in runs),
            "goal": f"at most {seconds:g} s and {mb:g} MB",
        }
        row["met"] = bool(row["wall"]["ours"]["median"] <= seconds and row["peak_mb"] <= mb)
        self.rows.append(row)

    def fact(self, name, ours, theirs, goal=None, met=None):
        """Something counted or compared, in words."""
        row = {"name": name, "ours": ours, "theirs": theirs}
        if goal:
            row |= {"goal": goal, "met": bool(met)}
        self.rows.append(row)

    def markdown(self):
        lines = [
            f"Measured on {machine()}; medians, in brackets the quartiles; ratios pair by pair.",
            "",
            "| on the same pictures | ours | theirs | ratio, wall | ratio, processor | goal | met |",
            "| --- | --- | --- | --- | --- | --- | --- |",
        ]
        for row in self.rows:
            met = {True: "yes", False: "NO", None: ""}[row.get("met")]
            lines.append("| " + " | ".join([row["name"], *cells(row), row.get("goal", ""), met]) + " |")
        return "\n".join(lines) + "\n"

    def write(self, folder):
        (folder / "bench.md").write_text(self.markdown())
        told = {"machine": machine(), "rows": self.rows}
        (folder / "bench.json").write_text(json.dumps(told, indent=1) + "\n")


def cells(row):
    """Ours, theirs and the two ratios."""
    if "wall" not in row:
        return [row["ours"], row["theirs"], "", ""]
    wall, cpu = row["wall"], row["cpu"]
    if "theirs" not in wall:
        processor = f"processor {cpu['ours']['median']:.2f} s, {row['peak_mb']:.0f} MB"
        return [f"{shown(wall['ours'], 2, ' s')}, {processor}", "", "", ""]
    digits = 1 if wall["ours"]["median"] < 100 else 0
    if wall["ours"]["median"] < 1:
        digits = 3
    return [
        shown(wall["ours"], digits, " ms"),
        shown(wall["theirs"], digits, " ms"),
        shown(wall["ratio"], 2),
        shown(cpu["ratio"], 2),
    ]


def machine():
    model = platform.machine()
    try:
        with open("/proc/cpuinfo", encoding="utf-8") as file:
            model = next(line.split(":")[1].strip() for line in file if line.startswith("model name"))
    except (OSError, StopIteration):
        pass
    busy = os.getloadavg()[0]
    return f"{os.cpu_count()} cores ({model}), load at the end {busy:.1f}"
