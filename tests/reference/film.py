"""Film and paint account of random jobs, from the definitions alone: the gun's pattern (elliptic double beta; the
circular one: Balkan & Arikan 1999, International Journal of Robotics Research 18(12), 1271-1288) projected along straight
rays and summed over short steps of time. Does not look at colour.
"""

import numpy as np

STEP_MM = 0.5
RAY_STEP_MM, RAYS = 2.0, (32, 8)
SLOWING_MM = 150.0
TRANSFER_MOST = 0.95

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
