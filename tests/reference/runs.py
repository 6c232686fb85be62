"""Runs of the program and the account of the comparisons: what may differ by how much, and what did. Knows no paint."""

import csv
import json
import shutil
import subprocess

import numpy as np

# Greatest deviations allowed, and why.
TOLERANCE = {
    # Share of the panel's mean film. The program goes in steps of a part of the fan's depth, exact for a gun that
    # travels square to its fan; turning guns and changing speeds leave an error that falls with the square of the step:
    # 1e-4 as a rule, 1.2e-3 in the worst of sixty draws, five errors at once on a panel curved to half a metre.
    "film": 2e-3,
    # Share of the paint sprayed: here by rays drawn by chance, which leaves up to 1.5e-3; there cell by cell.
    "account": 2.5e-3,
    # What is sprayed against the sum of its parts, as promised.
    "sum": 1e-3,
    # Share of the duration: midpoints of half a millimetre here leave 1e-5 where the hand slows down most.
    "time": 1e-4,
    # Share of the mean film: a grid is promised with six significant digits.
    "spread": 1e-5,
    # L*, a* or b*. The program reads its colours between lines a quarter micrometre apart; for the strongest tints
    # drawn here the curve bends by up to four thousandths between them.
    "lab": 5e-3,
    # CIEDE2000, from the same lines.
    "difference": 5e-3,
    # L*, a*, b* or CIEDE2000 over a base coat that does not hide, which the program reads between two of twenty-five
    # base films: up to 0.15 in four hundred draws.
    "sheets": 0.3,
    # L*, a*, b*, chroma or an arc of hue of a card, which the program computes without lines. Over solid grounds it reads
    # what the surface mirrors from a table, within 1e-6 of 1; the cube root of dark colours makes ten times that of it.
    "card lab": 5e-5,
    # CIEDE2000 and flop index of two such colours.
    "card difference": 5e-5,
    # CIEDE2000. The program halves its way to the nearest film to 1e-4 um, and colour changes by up to 2 a micrometre.
    "halving": 3e-4,
    # CIEDE2000 within the half micrometre of the coarse search.
    "jump": 1.0,
    # um. The same where the difference goes down to a point, as it does for the paint itself,
    "nearest": 2e-4,
    # and where the valley has a round bottom, which is found as well as it is round.
    "valley": 5e-2,
    # Rounding of double precision, of numbers up to 100.
    "rounding": 1e-9,
    # Counts, yes and no.
    "exact": 0.0,
}


class Disagreement(Exception):
    """What was compared, and how far apart it is."""


class Ledger:
    """The greatest deviation of every comparison by name."""

    def __init__(self):
        self.rows = {}

    def compare(self, kind, name, given, expected, scale=1.0, where=""):
        given, expected = np.atleast_1d(given).astype(float), np.atleast_1d(expected).astype(float)
        if given.shape != expected.shape or not np.all(np.isfinite(given)):
            raise Disagreement(f"{name} {where}: the program gives {given}, expected {expected}")
        off = np.abs(given - expected) / scale
        worst = int(np.argmax(off))
        if not off[worst] <= TOLERANCE[kind]:  # also where nothing can be compared
            raise Disagreement(
                f"{name} {where}: the program gives {given[worst]:.9g}, expected {expected[worst]:.9g}; "
                f"deviation {off[worst]:.2e}, allowed {TOLERANCE[kind]:.1e} (value {worst + 1} of {off.size})"
            )
        count, most = self.rows.get((kind, name), (0, 0.0))
        self.rows[kind, name] = (count + off.size, max(most, float(off[worst])))

    def table(self):
        lines = [f"{'compared':<46}{'values':>8}{'greatest deviation':>20}{'allowed':>10}"]
        for (kind, name), (count, most) in self.rows.items():
            lines.append(f"{name:<46}{count:>8}{most:>20.2e}{TOLERANCE[kind]:>10.1e}")
        return "\n".join(lines)


class Runner:
    def __init__(self, program, folder):
        self.program, self.folder = program, folder

    def cards(self, job):
        """What is reported of the spray-outs."""
        return json.loads(self.run(job, "cards"))

    def run(self, job, command, *options):
        path = self.folder / "job.json"
        path.write_text(json.dumps(job, indent=1), encoding="utf-8")
        words = [self.program, command, path, *options]
        run = subprocess.run(words, capture_output=True, text=True, timeout=60, check=False)
        if run.returncode != 0:
            raise Disagreement(f"status {run.returncode} for a sound job: {run.stderr.strip()}")
        return run.stdout

    def rehearse(self, job):
        """The report, and the films by paint: x of the columns, y of the rows, film."""
        out = self.folder / "out"
        shutil.rmtree(out, ignore_errors=True)
        self.run(job, "rehearse", "--out", out)
        report = json.loads((out / "report.json").read_text(encoding="utf-8"))
        return report, {paint["name"]: grid(out / f"film-{paint['name']}.csv") for paint in job["paints"]}


def grid(path):
    with path.open(encoding="utf-8", newline="") as file:
        rows = list(csv.reader(file))
    values = np.array(rows[1:], dtype=float)
    return np.array(rows[0][1:], dtype=float), values[:, 0], values[:, 1:]
