"""A second opinion on the program from outside: writes random job files, runs the command line on them, and compares
its files with film, paint account and colour computed here from the definitions alone, with nothing of the program's.

    python check.py PROGRAM [SEED]

Film: the gun's pattern (elliptic double beta; the circular one: Balkan & Arikan 1999, International Journal of Robotics
Research 18(12), 1271-1288) projected along straight rays and summed over short steps of time.
Colour: Snell and Beer-Lambert here; tristimulus values by ASTM E308, CIELAB (ISO/CIE 11664-4) and CIEDE2000
(ISO/CIE 11664-6) by colour-science 0.4.7.

The first disagreement ends it with status 1. Does not look at pictures, findings or anything in a browser.
"""

import csv
import json
import shutil
import subprocess
import sys
import tempfile
import time
import warnings
from pathlib import Path

import numpy as np

warnings.simplefilter("ignore")  # of packages for drawing, which are not needed, and of spectra cut to 380 to 730 nm
import colour

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
}

STEP_MM = 0.5
RAY_STEP_MM, RAYS = 2.0, (32, 8)
SLOWING_MM = 150.0
TRANSFER_MOST = 0.95


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


# The panel: the middle stands above the ends by the crown, a parabola each way, straight on beyond the rim.


def crown(rise, span, at):
    """Height over the ends and slope."""
    inside = np.clip(at, 0.0, span)
    height, slope = 4.0 * rise * inside * (span - inside) / span**2, 4.0 * rise * (span - 2.0 * inside) / span**2
    return height + slope * (at - inside), slope


def surface(panel, x, y):
    """Points of the surface over the plan, and normals of which z is 1."""
    along, slope_x = crown(panel["crown_along_mm"], panel["length_mm"], x)
    across, slope_y = crown(panel["crown_across_mm"], panel["width_mm"], y)
    points = np.stack([x, y, along + across], axis=-1)
    return points, np.stack([-slope_x, -slope_y, np.ones_like(x)], axis=-1)


def unit(vectors):
    return vectors / np.linalg.norm(vectors, axis=-1, keepdims=True)


# The gun


class Gun:
    """Pattern and transfer. |u| = 1 at the ends of the fan, v likewise along its short axis."""

    def __init__(self, settings):
        self.settings = settings
        self.m, self.k = settings["pass_exponent"], settings["depth_exponent"]
        self.tan_width = settings["fan_width_mm"] / 2.0 / settings["at_distance_mm"]
        self.tan_depth = settings["fan_depth_mm"] / 2.0 / settings["at_distance_mm"]
        self.flow = settings["fluid_ml_per_min"] * 1000.0 / 60.0  # mm^3/s
        # the pattern carries all the paint: integrals with u = sin(a) and v = cos(a) sin(b)
        a = (np.arange(20000) + 0.5) / 20000 * np.pi - np.pi / 2.0
        across, along = np.cos(a) ** (2.0 * self.m + 1.0), np.cos(a) ** (2.0 * self.k + 1.0)
        self.whole = np.mean(across) * np.mean(along) * np.pi**2
        self.mean_square = np.mean(across * np.sin(a) ** 2) / np.mean(across)

    def fault(self, u):
        """Heavy at one end; split, which moves paint from the middle outwards in proportion to u^2."""
        heavy, split = self.settings["heavy_end"], self.settings["split"]
        return (1.0 + heavy * u) * (1.0 - split + split * u**2 / self.mean_square)

    def pattern(self, u, v):
        q = 1.0 - u**2
        inside = q > v**2
        q, v, result = q[inside], v[inside], np.zeros_like(u)
        result[inside] = self.fault(u[inside]) * q ** (self.m - 0.5) * (1.0 - v**2 / q) ** self.k / self.whole
        return result

    def transfer(self, z):
        over = self.settings["transfer_falls_over_mm"]
        share = self.settings["transfer_efficiency"]
        fallen = share * np.exp(-(z - self.settings["at_distance_mm"]) / over) if over else share + 0.0 * z
        return np.minimum(fallen, TRANSFER_MOST)

    def growth(self, poses, points, normals):
        """Wet film growth, um/s: a row for each pose, a column for each place."""
        nozzle, aim, fan = poses
        ray = points[None, :, :] - nozzle[:, None, :]
        z = np.einsum("spi,si->sp", ray, aim)
        z = np.where(z > 1.0, z, np.inf)
        u = np.einsum("spi,si->sp", ray, fan) / (z * self.tan_width)
        v = np.einsum("spi,si->sp", ray, np.cross(aim, fan)) / (z * self.tan_depth)
        facing = np.maximum(-np.einsum("spi,pi->sp", ray, unit(normals)), 0.0)
        density = self.pattern(u, v) * facing / (z**3 * self.tan_width * self.tan_depth)
        return 1000.0 * self.flow * self.transfer(np.where(np.isinf(z), 1.0, z)) * density


# The plan: lines, each from where the trigger opens to where it closes, with the direction away from the painter


def lines_of(job, coat):
    """(from, to, away, of the rim) in the order in which they are sprayed."""
    panel, gun = job["panel"], job["gun"]
    length, width = panel["length_mm"], panel["width_mm"]
    lengthwise = coat["along"] == "length"
    travel, across = (length, width) if lengthwise else (width, length)
    place = (lambda s, at: np.array([s, at])) if lengthwise else (lambda s, at: np.array([at, s]))
    lines = []
    if coat["edge_pass"]:
        corners = [np.array(c) for c in [(0.0, 0.0), (length, 0.0), (length, width), (0.0, width), (0.0, 0.0)]]
        for start, end in zip(corners, corners[1:], strict=False):
            away = (0.0, 1.0) if start[1] == end[1] else (1.0, 0.0)
            lines.append((start, end, np.array(away), True))
    spacing = gun["fan_width_mm"] * coat["distance_mm"] / gun["at_distance_mm"] * (1.0 - coat["overlap"])
    gaps = int(np.ceil((across + 2.0 * coat["margin_mm"]) / spacing - 1e-9))
    places = across / 2.0 + spacing * (np.arange(gaps + 1) - gaps / 2.0 + coat["shift"])
    if coat["reach"] == "one_side":
        order = [(at, 1.0) for at in places[::-1]]  # towards the painter
    else:  # each half from its own edge inwards
        half, tie = coat["reach_overlap_mm"] / 2.0, 1e-9
        near = [at for at in places if at <= across / 2.0 + half + tie]
        far = [at for at in places[::-1] if at >= across / 2.0 - half - tie]
        if half == 0.0:  # a line on the middle is sprayed once
            far = [at for at in far if at not in near]
        order = [(at, 1.0) for at in near] + [(at, -1.0) for at in far]
    for i, (at, side) in enumerate(order):
        ends = (-coat["lead_mm"], travel + coat["lead_mm"])
        start, end = ends if i % 2 == 0 else ends[::-1]
        lines.append((place(start, at), place(end, at), side * place(0.0, 1.0), False))
    return lines


# The hand


class Stroke:
    """A line as the hand sprays it, taken at the middles of short steps: poses and how long each lasts."""

    def __init__(self, job, coat, line, step):
        start, end, away, rim = line
        hand = job["hand"]
        length = np.linalg.norm(end - start)
        count = int(np.ceil(length / step))
        s = (np.arange(count) + 0.5) * length / count + (0.0 if rim else hand["trigger_late_mm"])
        # the aim point goes straight on while the wrist turns at an even rate: its speed grows as 1/cos^2
        tangent = (2.0 * s / length - 1.0) * np.tan(np.radians(hand["arc_deg"]))
        into = np.clip(np.minimum(s, length - s), 0.0, SLOWING_MM)
        speed = coat["speed_mm_per_s"] / coat["amount"] * (1.0 + hand["speed_error"]) * (1.0 + tangent**2)
        speed *= 1.0 - hand["slow_at_ends"] * (1.0 - into / SLOWING_MM)
        self.seconds = length / count / speed
        self.poses = poses(job, coat, start, (end - start) / length, away, s, tangent)


def poses(job, coat, start, heading, away, s, tangent):
    """Nozzles, aims and long axes of the fan over the surface below the line."""
    hand = job["hand"]
    plan = start + s[:, None] * heading
    place, normal = surface(job["panel"], plan[:, 0], plan[:, 1])
    slope = -(normal[:, :2] @ heading)
    travel = unit(np.column_stack([np.tile(heading, (len(s), 1)), slope]))
    normal, tangent = unit(normal), tangent[:, None]
    far = np.tile(np.append(away, 0.0), (len(s), 1))
    for axis in (normal, travel):
        far = far - axis * np.sum(far * axis, axis=1, keepdims=True)
    fan = unit(far)
    # the pivot behind the nozzle keeps its height; the axis of the gun goes through it and the aim point
    behind, distance = hand["arc_pivot_mm"], coat["distance_mm"] + hand["distance_error_mm"]
    nozzle = place + (normal - travel * tangent) * (distance + behind) + unit(travel * tangent - normal) * behind
    heel, drag = np.radians(hand["heel_deg"]), np.radians(hand["drag_deg"])
    fan, normal = fan * np.cos(heel) + normal * np.sin(heel), normal * np.cos(heel) - fan * np.sin(heel)
    aim = unit(travel * tangent - normal)
    onwards = travel - aim * np.sum(travel * aim, axis=1, keepdims=True)
    return nozzle, aim * np.cos(drag) - unit(onwards) * np.sin(drag), fan


# Film at places, and the account of the paint


def film_at(job, name, x, y):
    """Dry film of one paint, um, and the seconds it takes to spray."""
    gun, (points, normals) = Gun(job["gun"]), surface(job["panel"], x, y)
    solids = next(paint["solids_by_volume"] for paint in job["paints"] if paint["name"] == name)
    film, seconds = np.zeros(len(x)), 0.0
    for coat in job["coats"]:
        for line in lines_of(job, coat) if coat["paint"] == name else []:
            stroke = Stroke(job, coat, line, STEP_MM)
            film += solids * (stroke.seconds @ gun.growth(stroke.poses, points, normals))
            seconds += stroke.seconds.sum()
    return film, seconds


def account_of(job, name):
    """mL sprayed, on the panel, off the panel and lost in the air: rays followed from the nozzle to the surface. None
    where the gun is turned so far that part of the paint flies over the rim and never lands."""
    gun, panel = Gun(job["gun"]), job["panel"]
    sprayed, landed_on, landed_off = 0.0, 0.0, 0.0
    for coat in job["coats"]:
        for line in lines_of(job, coat) if coat["paint"] == name else []:
            stroke = Stroke(job, coat, line, RAY_STEP_MM)
            landing = follow(gun, panel, stroke.poses)
            if landing is None:
                return None
            share, z, on = landing
            dose = gun.flow / 1000.0 * stroke.seconds[:, None] * share
            landed = dose * gun.transfer(z)
            sprayed += dose.sum()
            landed_on += landed[on].sum()
            landed_off += landed[~on].sum()
    return sprayed, landed_on, landed_off, sprayed - landed_on - landed_off


def follow(gun, panel, stroke_poses):
    """Share of the paint of each ray, its axial distance when it lands, and whether it lands on the panel; None if
    one does not land."""
    nozzle, aim, fan = stroke_poses
    # u = sin(a) and v = cos(a) sin(b); one ray somewhere in each of RAYS equal steps of a and b
    chance = np.random.default_rng(len(nozzle))
    i, j = (index.ravel() for index in np.meshgrid(np.arange(RAYS[0]), np.arange(RAYS[1]), indexing="ij"))
    shape = (len(nozzle), i.size)
    a, b = (np.pi * ((index + chance.random(shape)) / count - 0.5) for index, count in ((i, RAYS[0]), (j, RAYS[1])))
    u, v = np.sin(a), np.cos(a) * np.sin(b)
    share = gun.fault(u) * np.cos(a) ** (2.0 * gun.m + 1.0) * np.cos(b) ** (2.0 * gun.k + 1.0)
    share /= share.sum(axis=1, keepdims=True)
    across = np.cross(aim, fan)[:, None, :] * gun.tan_depth * v[:, :, None]
    ray = aim[:, None, :] + fan[:, None, :] * gun.tan_width * u[:, :, None] + across
    z = np.full(u.shape, 1.0)
    for _ in range(20):  # Newton
        at = nozzle[:, None, :] + ray * z[:, :, None]
        point, normal = surface(panel, at[:, :, 0], at[:, :, 1])
        height = at[:, :, 2] - point[:, :, 2]
        if np.abs(height).max() < 1e-6:
            break
        z = z - height / np.sum(ray * normal, axis=2)
    else:
        return None
    x, y = at[:, :, 0], at[:, :, 1]
    return share, z, (x >= 0.0) & (x <= panel["length_mm"]) & (y >= 0.0) & (y <= panel["width_mm"])


# Jobs drawn by chance


def spectrum(rng, least, most):
    """A smooth curve in 36 bands between two values."""
    nm = np.arange(36) / 35.0
    waves = sum(rng.normal() / n * np.cos(np.pi * n * nm + rng.uniform(0.0, 2.0 * np.pi)) for n in range(1, 7))
    hump = rng.uniform(0.5, 2.0) * np.exp(-(((nm - rng.uniform()) / rng.uniform(0.08, 0.3)) ** 2))
    curve = waves + hump
    return least + (most - least) * (curve - curve.min()) / np.ptp(curve)


def film_job(rng):
    """A job without faults of gun or hand."""
    cell = int(rng.choice([4, 5]))
    length, width = cell * int(rng.integers(70, 130)), cell * int(rng.integers(55, 100))
    panel = {
        "length_mm": length,
        "width_mm": width,
        "crown_along_mm": rise(rng, length) if rng.random() < 0.4 else 0,
        "crown_across_mm": rise(rng, width) if rng.random() < 0.4 else 0,
        "cell_mm": cell,
        "edge_band_mm": rng.uniform(15.0, 40.0),
    }
    gun = {
        "fan_width_mm": rng.uniform(120.0, 280.0),
        "fan_depth_mm": rng.uniform(30.0, 80.0),
        "at_distance_mm": rng.uniform(150.0, 220.0),
        "pass_exponent": rng.uniform(1.5, 4.0),
        "depth_exponent": rng.uniform(1.0, 3.0),
        "heavy_end": 0,
        "split": 0,
        "fluid_ml_per_min": rng.uniform(100.0, 300.0),
        "transfer_efficiency": rng.uniform(0.5, 0.9),
        "transfer_falls_over_mm": None if rng.random() < 0.2 else rng.uniform(300.0, 1500.0),
    }
    hand = dict.fromkeys(
        ["distance_error_mm", "speed_error", "arc_deg", "heel_deg", "drag_deg", "trigger_late_mm", "slow_at_ends"], 0
    )
    coats = [coat_for(rng) for _ in range(rng.integers(1, 3))]
    paints = [{"name": "tinted", "solids_by_volume": rng.uniform(0.2, 0.6)}]
    job = {"fanlap_job": 1, "panel": panel, "gun": gun, "paints": paints, "coats": coats}
    return job | {"hand": hand | {"arc_pivot_mm": rng.uniform(0.0, 550.0)}}


def coat_for(rng):
    return {
        "paint": "tinted",
        "amount": rng.uniform(0.3, 1.5),
        "distance_mm": rng.uniform(130.0, 250.0),
        "overlap": rng.choice([0.0, 0.25, 0.5, 0.6667, 0.75, rng.uniform(0.0, 0.8)]),
        "speed_mm_per_s": rng.uniform(200.0, 700.0),
        "along": str(rng.choice(["length", "width"])),
        "reach": "one_side",
        "reach_overlap_mm": 0,
        "margin_mm": rng.uniform(0.0, 125.0),
        "lead_mm": rng.uniform(0.0, 150.0),
        "shift": rng.uniform(-0.5, 0.5),
        "edge_pass": False,
    }


def rise(rng, span):
    """A crown with a radius from half a metre (a wing) to five metres (a roof); one in four is hollow."""
    radius = 500.0 * 10.0 ** rng.uniform(0.0, 1.0)
    return rng.choice([1.0, 1.0, 1.0, -1.0]) * span**2 / (8.0 * radius)


def either(rng, least, most):
    """A number of either sign."""
    return rng.choice([-1.0, 1.0]) * rng.uniform(least, most)


def put(section, **draws):
    """A change of a job: in one section, or in every coat, the values drawn."""

    def change(job, rng):
        for part in job[section] if isinstance(job[section], list) else [job[section]]:
            part.update({key: draw(rng) for key, draw in draws.items()})

    return change


def crowns(job, rng):
    for crown_of, span in [("crown_along_mm", "length_mm"), ("crown_across_mm", "width_mm")]:
        job["panel"][crown_of] = rise(rng, job["panel"][span])


def second_paint(job, rng):
    job["paints"].append({"name": "top", "role": "clear", "solids_by_volume": rng.uniform(0.3, 0.6)})
    job["coats"].append(coat_for(rng) | {"paint": "top"})


def both_directions(job, rng):
    other = "width" if job["coats"][0]["along"] == "length" else "length"
    job["coats"].append(coat_for(rng) | {"along": other})


def many_faults(job, rng):
    for change in rng.choice(np.array(list(FEATURES.values()), dtype=object)[1:-1], 5, replace=False):
        change(job, rng)


FEATURES = {
    "faultless": lambda job, rng: None,
    "crowned both ways": crowns,
    "passes both ways": both_directions,
    "heavy end": put("gun", heavy_end=lambda r: either(r, 0.2, 1.0)),
    "split fan": put("gun", split=lambda r: r.uniform(0.2, 1.0)),
    "transfer at its most": put(
        "gun", transfer_efficiency=lambda r: r.uniform(0.85, 0.95), transfer_falls_over_mm=lambda r: r.uniform(100, 300)
    ),
    "distance error": put("hand", distance_error_mm=lambda r: r.uniform(-60, 100)),
    "speed error": put("hand", speed_error=lambda r: r.uniform(-0.3, 0.5)),
    "wrist arc": put("hand", arc_deg=lambda r: r.uniform(5, 35)),
    "heel": put("hand", heel_deg=lambda r: either(r, 3, 15)),
    "drag": put("hand", drag_deg=lambda r: either(r, 3, 20)),
    "trigger late": put("hand", trigger_late_mm=lambda r: either(r, 10, 120)),
    "slowing at the ends": put("hand", slow_at_ends=lambda r: r.uniform(0.1, 0.9)),
    "both sides": put(
        "coats", reach=lambda r: "both_sides", reach_overlap_mm=lambda r: r.choice([0.0, r.uniform(-80.0, 150.0)])
    ),
    "edge pass": put("coats", edge_pass=lambda r: True),
    "second paint": second_paint,
    "five at once": many_faults,
}


# Runs of the program


class Runner:
    def __init__(self, program, folder):
        self.program, self.folder = program, folder

    def rehearse(self, job):
        """The report, and the films by paint: x of the columns, y of the rows, film."""
        path, out = self.folder / "job.json", self.folder / "out"
        path.write_text(json.dumps(job, indent=1), encoding="utf-8")
        shutil.rmtree(out, ignore_errors=True)
        command = [self.program, "rehearse", path, "--out", out]
        run = subprocess.run(command, capture_output=True, text=True, timeout=60, check=False)
        if run.returncode != 0:
            raise Disagreement(f"status {run.returncode} for a sound job: {run.stderr.strip()}")
        report = json.loads((out / "report.json").read_text(encoding="utf-8"))
        return report, {paint["name"]: grid(out / f"film-{paint['name']}.csv") for paint in job["paints"]}


def grid(path):
    with path.open(encoding="utf-8", newline="") as file:
        rows = list(csv.reader(file))
    values = np.array(rows[1:], dtype=float)
    return np.array(rows[0][1:], dtype=float), values[:, 0], values[:, 1:]


# The comparisons


def check_film(runner, ledger, rng):
    for feature, change in FEATURES.items():
        job = film_job(rng)
        change(job, rng)
        report, films = runner.rehearse(job)
        seconds = 0.0
        for name, (x, y, film) in films.items():
            seconds += check_film_of(job, name, (x, y, film), feature, ledger, rng)
            check_account(job, name, report["paint"][name], feature, ledger)
            check_spread(job, report["film"][name], (x, y, film), ledger)
        ledger.compare("time", "spraying time", report["time"]["spraying_s"], seconds, seconds, feature)


def check_film_of(job, name, given, feature, ledger, rng):
    """Fifty cells from everywhere, ten along the rim; the seconds they took."""
    x, y, film = given
    panel = job["panel"]
    for places, span in [(x, panel["length_mm"]), (y, panel["width_mm"])]:
        cell = panel["cell_mm"]
        ledger.compare("spread", "places of the grid", places, (np.arange(round(span / cell)) + 0.5) * cell)
    column, row = rng.integers(0, len(x), 60), rng.integers(0, len(y), 60)
    column[50:55], row[55:60] = rng.choice([0, len(x) - 1], 5), rng.choice([0, len(y) - 1], 5)
    expected, seconds = film_at(job, name, x[column], y[row])
    ledger.compare("film", f"film, {feature}", film[row, column], expected, film.mean(), f"({name})")
    return seconds


def check_account(job, name, account, feature, ledger):
    expected = account_of(job, name)
    if expected is None:
        return
    given = [account[key] for key in ("sprayed_ml", "on_panel_ml", "off_panel_ml", "lost_in_air_ml")]
    ledger.compare("account", "paint sprayed, on, off the panel, lost", given, expected, expected[0], feature)
    ledger.compare("sum", "paint: the parts against the whole", sum(given[1:]), given[0], expected[0], feature)


def zones(job, x, y):
    """The cells, as masks, of the three parts that are reported."""
    panel = job["panel"]
    to_edge = np.minimum.outer(np.minimum(y, panel["width_mm"] - y), np.minimum(x, panel["length_mm"] - x))
    deep = to_edge >= job["gun"]["fan_width_mm"]
    band = to_edge <= panel["edge_band_mm"]
    return {"panel": np.ones_like(band), "interior": deep if deep.any() else ~band, "edge_band": band}


def check_spread(job, given, grid_of_film, ledger):
    x, y, film = grid_of_film
    for zone, mask in zones(job, x, y).items():
        cells = film[mask]
        expected = [cells.mean(), cells.std(), cells.min(), cells.max()]
        found = [given[zone][key] for key in ("mean_um", "sd_um", "min_um", "max_um")]
        ledger.compare("spread", "mean, sd, least, most of a film", found, expected, film.mean(), zone)


ILLUMINANTS = ["D65", "A", "LED-B3"]
OBSERVERS = {2: "CIE 1931 2 Degree Standard Observer", 10: "CIE 1964 10 Degree Standard Observer"}
ANGLES = [15, 25, 45, 75, 110]
REFRACTIVE_INDEX = 1.5


def path_factor(aspecular):
    """Way in and out of a film against its thickness; light at 45 degrees, the angle from its mirror direction."""
    inside = [np.arcsin(np.sin(np.radians(angle)) / REFRACTIVE_INDEX) for angle in (45.0, 45.0 - aspecular)]
    return sum(1.0 / np.cos(angle) for angle in inside)


def lab_of(reflectances, illuminant, observer):
    """CIELAB of reflectances in 36 bands, one a row."""
    bands = np.arange(380, 731, 10)
    cmfs, light = colour.MSDS_CMFS[OBSERVERS[observer]], colour.SDS_ILLUMINANTS[illuminant]

    def tristimulus(values):
        sample = colour.SpectralDistribution(values, bands)
        return colour.sd_to_XYZ(sample, cmfs, light, method="ASTM E308") / 100.0

    white = colour.XYZ_to_xy(tristimulus(np.ones(36)))
    return colour.XYZ_to_Lab(np.array([tristimulus(values) for values in reflectances]), white)


def colour_job(rng, illuminant, observer, aspecular):
    """A small panel, coarse cells, lines far apart: few films, far from each other."""
    target = rng.uniform(5.0, 80.0)
    spacing, speed = 0.8 * 62.0, 400.0
    # the mean film is near the target
    fluid = target * rng.uniform(0.7, 1.3) * speed * spacing * 60.0 / (0.65 * 0.42) / 1e6
    strength = min(0.06, rng.uniform(0.3, 2.0) / target)  # 1/um, where it is strongest
    absorption = spectrum(rng, strength * rng.uniform(0.0, 0.1), strength)
    ground = {str(angle): list(spectrum(rng, rng.uniform(0.02, 0.2), rng.uniform(0.5, 1.6))) for angle in ANGLES}
    return {
        "fanlap_job": 1,
        "panel": {"length_mm": 200, "width_mm": int(rng.choice([100, 180])), "cell_mm": 10, "edge_band_mm": 23.5},
        "gun": {"fan_width_mm": 62.0, "at_distance_mm": 180, "fluid_ml_per_min": max(10.0, fluid)},
        "paints": [
            {"name": "tinted", "absorption_per_um": {"from_nm": 380, "step_nm": 10, "values": list(absorption)}}
        ],
        "ground": {"kind": "effect", "reflectance": {"from_nm": 380, "step_nm": 10} | ground},
        "target": {"film_um": target},
        "viewing": {"illuminant": illuminant, "observer_deg": observer, "aspecular_deg": aspecular},
        "coats": [{"overlap": 0.2, "speed_mm_per_s": speed}],
    }


def check_colour(runner, ledger, rng):
    for illuminant in ILLUMINANTS:
        for observer in OBSERVERS:
            for aspecular in ANGLES:
                job = colour_job(rng, illuminant, observer, aspecular)
                report, films = runner.rehearse(job)
                where = f"under {illuminant}, {observer} degrees, seen at {aspecular}"
                check_colour_of(job, report["colour"], films["tinted"], where, ledger)


def check_colour_of(job, given, grid_of_film, where, ledger):
    x, y, film = grid_of_film
    view, ground = job["viewing"], job["ground"]["reflectance"]
    films = np.append(job["target"]["film_um"], film[zones(job, x, y)["interior"]])
    weakening = np.outer(films, job["paints"][0]["absorption_per_um"]["values"]) * path_factor(view["aspecular_deg"])
    reflectances = np.array(ground[str(view["aspecular_deg"])]) * np.exp(-weakening)
    labs = lab_of(reflectances, view["illuminant"], view["observer_deg"])
    target, labs = labs[0], labs[1:]
    differences = colour.delta_E(labs, target, method="CIE 2000")
    ledger.compare("lab", f"target L*a*b*, {view['illuminant']}", given["target"]["lab"], target, where=where)
    ledger.compare("lab", f"mean L*a*b*, {view['illuminant']}", given["mean"]["lab"], labs.mean(axis=0), where=where)
    found = [given["delta_e00"][key] for key in ("mean", "p95", "max")]
    expected = [differences.mean(), np.quantile(differences, 0.95), differences.max()]
    ledger.compare("difference", "CIEDE2000 mean, p95, max", found, expected, where=where)


def main():
    if len(sys.argv) not in (2, 3):
        sys.exit(__doc__)
    seed = int(sys.argv[2]) if len(sys.argv) == 3 else int(np.random.SeedSequence().entropy % 2**32)
    print(f"seed {seed}", flush=True)
    start, ledger, folder = time.monotonic(), Ledger(), Path(tempfile.mkdtemp(prefix="fanlap-reference-"))
    rng = np.random.default_rng(seed)
    runner = Runner(Path(sys.argv[1]).resolve(), folder)
    try:
        check_film(runner, ledger, rng)
        print(f"film: {time.monotonic() - start:.0f} s", flush=True)
        check_colour(runner, ledger, rng)
    except Disagreement as disagreement:
        print(ledger.table())
        sys.exit(f"seed {seed}: {disagreement}\nthe job file is kept: {folder / 'job.json'}")
    shutil.rmtree(folder)
    print(ledger.table())
    print(f"all agree; {time.monotonic() - start:.0f} s")


if __name__ == "__main__":
    main()
