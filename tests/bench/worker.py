"""A program that answers one JSON question a line, as both sides of the comparison do."""

import json
import os
import subprocess
import sys
import time


class Worker:
    """A side of the comparison: it is asked, and tells the seconds that its work took and what came out."""

    def __init__(self, *command):
        self.command = command
        self.process = subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)

    def ask(self, do, **question):
        self.process.stdin.write(json.dumps({"do": do, **question}) + "\n")
        self.process.stdin.flush()
        line = self.process.stdout.readline()
        if not line:
            sys.exit(f"{self.command[0]} ended at the question {do!r} {question.get('path', '')}")
        return json.loads(line)

    def close(self):
        self.process.stdin.close()
        self.process.wait()


def alone(*command):
    """Runs a command in a process of its own: wall seconds, processor seconds, peak memory in MB, what it printed."""
    started = time.monotonic()
    child = subprocess.Popen(command, stdout=subprocess.PIPE, text=True)
    printed = child.stdout.read()
    _, status, usage = os.wait4(child.pid, 0)
    wall = time.monotonic() - started
    if os.waitstatus_to_exitcode(status) != 0:
        sys.exit(f"{' '.join(command)} failed")
    # Linux gives ru_maxrss in KiB.
    return {
        "wall": wall,
        "cpu": usage.ru_utime + usage.ru_stime,
        "mb": usage.ru_maxrss * 1024 / 1e6,
        "result": json.loads(printed),
    }
