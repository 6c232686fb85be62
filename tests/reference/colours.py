"""Colour of random panels: the optics of `optics.py` over the films that the program wrote. Does not ask how a film was
laid.
"""

import numpy as np

from cards import bands, ground_of
from film import spectrum, zones
from optics import ILLUMINANTS, OBSERVERS, BaseCoat, Tint, difference, lab_by_weights, lab_of

ANGLES = [15, 25, 45, 75, 110]


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
    aspecular = view["aspecular_deg"]
    tint = Tint(job["paints"][0]["absorption_per_um"]["values"], 0.0)
    reflectances = tint.over(("effect", {aspecular: np.array(ground[str(aspecular)])}), films, aspecular)
    labs = lab_of(reflectances, view["illuminant"], view["observer_deg"])
    target, labs = labs[0], labs[1:]
    differences = difference(labs, target)
    light = view["illuminant"]
    ledger.compare("lab", f"target L*a*b*, {light}", given["target"]["lab"], target, where=where)
    ledger.compare("lab", f"mean L*a*b*, {light}", given["mean"]["lab"], labs.mean(axis=0), where=where)
    compare_differences("difference", "CIEDE2000 mean, p95, max", given, differences, where, ledger)


def compare_differences(kind, name, given, differences, where, ledger):
    found = [given["delta_e00"][key] for key in ("mean", "p95", "max")]
    expected = [differences.mean(), np.quantile(differences, 0.95), differences.max()]
    ledger.compare(kind, name, found, expected, where=where)


# A base coat that does not hide everywhere, sprayed on a ground under a tinted clear


def hiding_job(rng, kind, ground_kind, illuminant, observer):
    """The panel, the base's reflectances and the ground's, and the film at which the base hides."""
    job = colour_job(rng, illuminant, observer, int(rng.choice(ANGLES)))
    hides_at, film = rng.uniform(8.0, 40.0), rng.uniform(0.2, 1.1)
    seen, ground = ground_of(rng, kind, ANGLES), ground_of(rng, ground_kind, ANGLES)
    if rng.random() < 0.3:
        seen, ground = ground, seen  # what hides is not always the brighter one
        kind, ground_kind = ground_kind, kind
    per_coat = job["gun"]["fluid_ml_per_min"] * 1e6 * 0.65 * 0.42 / (400.0 * 0.8 * 62.0 * 60.0)
    job["paints"][0]["scatter_per_um"] = float(rng.choice([0.0, 10.0 ** rng.uniform(-4.0, -2.0)]))
    job["paints"].append(
        {"name": "base", "role": "base", "kind": kind, "reflectance": bands(seen), "hides_at_um": hides_at}
    )
    job["ground"] = {"kind": ground_kind, "reflectance": bands(ground)}
    amount = float(np.clip(film * hides_at / per_coat, 0.1, 3.0))
    job["coats"].insert(0, job["coats"][0] | {"paint": "base", "amount": amount})
    return job, (kind, seen), (ground_kind, ground), hides_at


def check_hiding(runner, ledger, rng):
    for kind in ("solid", "effect"):
        for ground_kind in ("solid", "effect"):
            illuminant, observer = str(rng.choice(ILLUMINANTS)), int(rng.choice([*OBSERVERS]))
            job, base, ground, hides_at = hiding_job(rng, kind, ground_kind, illuminant, observer)
            report, films = runner.rehearse(job)
            where = f"{base[0]} base over {ground[0]} ground, {illuminant}, {observer} degrees"
            check_hiding_of(job, (base, ground, hides_at), report["colour"], films, where, ledger)


def check_hiding_of(job, optics, given, films, where, ledger):
    """The base's films and the tint's, cell by cell; the target lies over a base that hides."""
    (kind, seen), ground, hides_at = optics
    x, y, _ = films["tinted"]
    inside, view = zones(job, x, y)["interior"], job["viewing"]
    aspecular, light = view["aspecular_deg"], (view["illuminant"], view["observer_deg"])
    tint = Tint(job["paints"][0]["absorption_per_um"]["values"], job["paints"][0]["scatter_per_um"])
    coat = BaseCoat(seen[45], hides_at)
    cells = zip(films["base"][2][inside], films["tinted"][2][inside], strict=True)
    rows = [tint.over(coat.over(kind, seen, ground, base, aspecular), [film], aspecular)[0] for base, film in cells]
    labs = lab_by_weights(np.array(rows), *light)
    target = lab_by_weights(tint.over((kind, seen), [job["target"]["film_um"]], aspecular), *light)[0]
    ledger.compare("lab", "over a base that hides: target", given["target"]["lab"], target, where=where)
    ledger.compare("sheets", "over a base coat: mean L*a*b*", given["mean"]["lab"], labs.mean(axis=0), where=where)
    differences = difference(labs, target)
    compare_differences("sheets", "over a base coat: mean, p95, max", given, differences, where, ledger)
