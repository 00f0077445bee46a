"""The comparison of `./dev bench`: run.py PROGRAM FOLDER [ROUNDS]. Writes FOLDER/bench.md and FOLDER/bench.json."""

import sys
import tempfile
import time
from pathlib import Path

import sections
from pictures import SHARED, Rendered, real_photos
from table import Table
from worker import Worker


def main():
    program, out = sys.argv[1], Path(sys.argv[2])
    rounds = int(sys.argv[3]) if len(sys.argv) > 3 else 3
    if not (SHARED / "rendered/dev/truth.json").is_file():
        sys.exit(f"the pictures with known truth are not at {SHARED}: nothing to compare on")
    theirs_command = (sys.executable, str(Path(__file__).with_name("theirs.py")))
    ours, theirs, rendered, table = Worker(program), Worker(*theirs_command), Rendered(), Table()
    started = time.monotonic()

    def part(name, work, *arguments):
        print(f"   {time.monotonic() - started:4.0f} s  {name}", flush=True)
        work(*arguments, table)

    photos = [rendered.path(photo) for start in ("b_0", "g", "r1") for photo in rendered.ids(start)[:4]]
    with tempfile.TemporaryDirectory() as folder:
        folder = Path(folder)
        # Once unmeasured: files into the disk's cache, programs warm.
        sections.decoding(ours, theirs, photos[:2], 1, Table())
        part("decoding", sections.decoding, ours, theirs, photos, rounds)
        part("bench sheet", sections.sheets, ours, theirs, rendered, rounds)
        part("lone tags", sections.lone_tags, ours, theirs, rendered, rounds)
        part("real photographs", sections.real_tags, ours, theirs, real_photos())
        part("poses", sections.poses, ours, theirs, rendered, 1)
        part("calibration", sections.calibration, program, theirs_command, ours, theirs, rendered, folder, rounds)
        part("whole jobs", sections.jobs, program, theirs, rendered, folder, rounds)
    ours.close()
    theirs.close()
    table.write(out)
    print(table.markdown())
    missed = [row["name"] for row in table.rows if row.get("met") is False]
    if missed:
        print(f"   goals missed: {'; '.join(missed)}")


main()
