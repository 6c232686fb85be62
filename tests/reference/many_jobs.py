"""Runs the two programs of the page on many jobs, `assets/docs/many-jobs.md`, as they stand there, and compares the
reports that Dask brings back with those of the plain run, byte for byte. That each report is the one of its line is asked
of the law that film is inverse to line spacing and speed. Knows nothing else of paint.

    python many_jobs.py PROGRAM
"""

import json
import re
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
# Share of the film, of the mean over an interior that cuts the outermost stripes.
LAW = 0.03


def main():
    program = Path(sys.argv[1]).resolve()
    page = (ROOT / "assets/docs/many-jobs.md").read_text(encoding="utf-8")
    programs = dict(re.findall(r"<!-- (\w+\.py) -->\n```python\n(.*?)```", page, re.DOTALL))
    with tempfile.TemporaryDirectory(prefix="fanlap-many-jobs-") as name:
        folder = Path(name)
        (folder / "target/release").mkdir(parents=True)
        (folder / "target/release/fanlap").symlink_to(program)
        (folder / "assets").symlink_to(ROOT / "assets")
        for file in ("sweep.py", "spread.py"):
            (folder / file).write_text(programs[file], encoding="utf-8")
        table = run(folder, "sweep.py")
        run(folder, "spread.py")
        jobs, plain, spread = ((folder / f"{name}.jsonl").read_bytes() for name in ("jobs", "reports", "spread"))
    counts = [len(text.splitlines()) for text in (jobs, plain, table)]
    if not counts[0] == counts[1] == counts[2] > 20:
        sys.exit(f"{counts[0]} jobs, {counts[1]} reports, {counts[2]} lines printed")
    if spread != plain:
        sys.exit("the reports of Dask differ from those of the plain run")
    laws = [law(json.loads(job), json.loads(report)) for job, report in zip(jobs.splitlines(), plain.splitlines())]
    if max(laws) / min(laws) > 1 + LAW:
        sys.exit(f"film times spacing times speed is not the same everywhere: {laws}")
    print(f"{counts[1]} reports, {len(plain)} bytes, the same from Dask; the law holds within {max(laws) / min(laws) - 1:.4f}")


def run(folder, file):
    done = subprocess.run([sys.executable, file], cwd=folder, capture_output=True, text=True, timeout=300, check=False)
    if done.returncode != 0:
        sys.exit(f"{file} ended with {done.returncode}: {done.stderr}")
    return done.stdout


def law(job, report):
    """Film over what the settings make of it, which is the same for every job of the sweep."""
    coat = job["coats"][0]
    return report["film"]["tinted"]["interior"]["mean_um"] * (1 - coat["overlap"]) * coat["speed_mm_per_s"]


if __name__ == "__main__":
    main()
