"""Times measuring jobs and prints a table: bench.py PROGRAM JOB.json...

Wall time is the median of five runs after one that warms the disk cache; memory is the largest resident size of any run.
Processor time over all cores stands beside it: where it is far less than the cores times the wall time, the machine was busy with other work.
"""

import json
import os
import statistics
import subprocess
import sys
import time

RUNS = 5
# What the project promises for three photos of 6 megapixels on a machine of two cores.
MOST_SECONDS = 3.0
MOST_MIB = 600


def run_once(program, job):
    """Seconds, processor seconds, peak memory in MiB and the result of one run."""
    started = time.monotonic()
    child = subprocess.Popen([program, "measure", job, "--json"], stdout=subprocess.PIPE, stderr=subprocess.PIPE)
    printed, complaint = child.stdout.read(), child.stderr.read()
    _, status, usage = os.wait4(child.pid, 0)
    seconds = time.monotonic() - started
    if os.waitstatus_to_exitcode(status) != 0:
        sys.exit(f"{job}: {complaint.decode().strip()}")
    # Linux gives ru_maxrss in KiB.
    return seconds, usage.ru_utime + usage.ru_stime, usage.ru_maxrss / 1024, json.loads(printed)


def main():
    program, *jobs = sys.argv[1:]
    if not jobs:
        sys.exit("no job to time")
    print(f"{'job':<40} {'photos':>6} {'median s':>9} {'slowest s':>10} {'CPU s':>6} {'MiB':>5}   result")
    over = False
    for job in sorted(jobs):
        run_once(program, job)
        runs = [run_once(program, job) for _ in range(RUNS)]
        seconds = [run[0] for run in runs]
        busy = statistics.median(run[1] for run in runs)
        mib = max(run[2] for run in runs)
        result = runs[0][3]
        value = result["values"][result["check"]]
        shown = f"{value['value']:.3f} ± {value['u95']:.3f} {value['unit']}"
        median = statistics.median(seconds)
        over |= median > MOST_SECONDS or mib > MOST_MIB
        name = os.path.relpath(job)
        print(f"{name:<40} {len(result['photos']):>6} {median:>9.2f} {max(seconds):>10.2f} {busy:>6.2f} {mib:>5.0f}   {shown}")
    print(f"{os.cpu_count()} cores; promised for three photos of 6 megapixels: {MOST_SECONDS:g} s, {MOST_MIB} MiB")
    if over:
        sys.exit("slower or larger than promised")


main()
