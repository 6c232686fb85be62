"""Spray-out cards of random jobs: their film from `film.py`, their colours, the differences between them and to the car
or the target, and the film that comes nearest, from `optics.py`. Does not look at the sentences.
"""

import numpy as np

from film import Gun, either, film_at, film_job, spectrum
from optics import ILLUMINANTS, OBSERVERS, Tint, difference, lab_by_weights, lab_of

CARD_MM, CELL_MM = (148.0, 105.0), 5.0
ANGLES = [-15, 15, 25, 45, 75, 110]
STICKER = {"black": 0.03, "grey": 0.18, "white": 0.85}
PERCEIVED, ACCEPTED = 0.8, 1.8
MOST_COATS = 8.0
COMPARED = ["target film", "target colour", "the same paint", "another colour", "typed colour", "another light"]


# Jobs


def bands(by_angle):
    """Spectra by angle in the form of a job file."""
    return {"from_nm": 380, "step_nm": 10} | {str(angle): list(values) for angle, values in by_angle.items()}


def ground_of(rng, kind, angles):
    """Reflectances of an effect ground by angle, brighter at the highlight, or of a solid one."""
    if kind == "solid":
        return {45: spectrum(rng, rng.uniform(0.01, 0.1), rng.uniform(0.3, 0.85))}
    face = spectrum(rng, rng.uniform(0.02, 0.15), rng.uniform(0.3, 0.9))
    bright = {-15: 1.6, 15: 1.9, 25: 1.4, 45: 1.0, 75: 0.6, 110: 0.4}
    return {angle: bright[angle] * face * rng.uniform(0.8, 1.2) + rng.uniform(0.0, 0.03) for angle in angles}


def budget(job, coat):
    """Dry film of a coat, um: what the gun lays over what it sweeps."""
    gun, distance = Gun(job["gun"]), coat["distance_mm"]
    spacing = 2.0 * gun.tan_width * distance * (1.0 - coat["overlap"])
    speed = coat["speed_mm_per_s"] / coat["amount"]
    return 1000.0 * gun.flow * gun.transfer(distance) * job["paints"][0]["solids_by_volume"] / (speed * spacing)


def cards_job(rng, illuminant, observer, faults):
    """A job, what lies under its tint, and the tint; the car is put in later."""
    job = film_job(rng)
    for coat in job["coats"]:
        coat["amount"] = float(rng.choice([1.0, 1.0, 0.5]))
    job["gun"]["fluid_ml_per_min"] = 100.0
    film = rng.uniform(6.0, 25.0)
    full = job["coats"][0] | {"amount": 1.0}
    job["gun"]["fluid_ml_per_min"] = float(np.clip(100.0 * film / budget(job, full), 10.0, 1000.0))
    film = budget(job, full)
    if faults:
        job["gun"] |= {"heavy_end": either(rng, 0.2, 1.0), "split": rng.uniform(0.0, 0.6)}
        job["hand"] |= {"distance_error_mm": rng.uniform(-40, 60), "heel_deg": either(rng, 2, 10), "speed_error": 0.1}
    kind = str(rng.choice(["effect", "solid"]))
    angles = sorted({45, *(int(angle) for angle in rng.choice(ANGLES, rng.integers(1, 7), replace=False))})
    tint = Tint(
        spectrum(rng, *(rng.uniform(0.001, 0.1), 1.0)) * rng.uniform(0.2, 1.2) / (2.0 * film),
        float(rng.choice([0.0, 10.0 ** rng.uniform(-4.0, np.log10(0.02))])),
    )
    seen = ground_of(rng, kind, angles)
    job["paints"][0] |= {
        "absorption_per_um": {"from_nm": 380, "step_nm": 10, "values": list(tint.absorption)},
        "scatter_per_um": tint.scatter,
    }
    if rng.random() < 0.4:  # what lies under the tint is a base coat, which hides on every card
        job["paints"].append({"name": "base", "role": "base", "kind": kind, "reflectance": bands(seen)})
        job["ground"] = {"kind": "solid", "reflectance": bands(ground_of(rng, "solid", [45]))}
    else:
        job["ground"] = {"kind": kind, "reflectance": bands(seen)}
    looked_at = ANGLES if kind == "solid" else angles
    job["viewing"] = {
        "illuminant": illuminant,
        "observer_deg": observer,
        "aspecular_deg": int(rng.choice(looked_at)),
    }
    halves = np.sort(rng.choice(np.arange(1, 9), rng.integers(2, 6), replace=False)) / 2.0
    sticker = str(rng.choice(["black_grey_white", "black_grey", "black_white"]))
    job["cards"] = {"ladder": [float(coats) for coats in halves], "sticker": sticker}
    return job, (kind, seen), tint


def amounts(coats):
    """Full coats, and a thin one directly before the last of them."""
    full = [1.0] * int(coats)
    return full if coats == int(coats) else [*full[:-1], 0.5, *full[-1:]]


def card_job(job, coats):
    """The card as a panel, sprayed with the settings of the job's own coats, the last of them over and over."""
    full = [coat for coat in job["coats"] if coat["amount"] > 0.75] or job["coats"]
    laid, place = [], 0
    for amount in amounts(coats):
        coat = dict(full[min(place, len(full) - 1)], amount=amount, reach="one_side", edge_pass=False)
        place += amount == 1.0
        gun = Gun(job["gun"])
        coat["margin_mm"] = max(coat["margin_mm"], 2.0 * gun.tan_width * coat["distance_mm"])
        coat["lead_mm"] = max(coat["lead_mm"], 2.0 * gun.tan_depth * coat["distance_mm"])
        laid.append(coat)
    flat = {"length_mm": CARD_MM[0], "width_mm": CARD_MM[1], "crown_along_mm": 0.0, "crown_across_mm": 0.0}
    return job | {"panel": flat, "coats": laid}


# The comparisons


def check_cards(runner, ledger, rng):
    check_weights(ledger, rng)
    compared = 0
    for faults in (False, True):
        for illuminant in ILLUMINANTS:
            for observer in OBSERVERS:
                job, base, tint = cards_job(rng, illuminant, observer, faults)
                kind = COMPARED[(compared + int(rng.integers(0, 2)) * 3) % len(COMPARED)]
                known = compare_with(kind, job, base, tint, rng)
                where = f"{kind}, {base[0]} base, {illuminant}, {observer} degrees"
                report = runner.cards(job)
                check_ladder(job, report["cards"], faults, where, ledger, rng, integrate=compared % 6 == 0)
                Looks(job, base, tint, where, ledger).check(report, known)
                compared += 1


def check_weights(ledger, rng):
    for illuminant in ILLUMINANTS:
        for observer in OBSERVERS:
            seen = np.array([spectrum(rng, 0.0, 1.0)])
            one, other = (lab(seen, illuminant, observer) for lab in (lab_of, lab_by_weights))
            ledger.compare("rounding", "colour-science: weights against integration", other[0], one[0])


def check_ladder(job, cards, faults, where, ledger, rng, integrate):
    """The films: of one card by integration over all its cells; of all without faults by what the gun lays."""
    for coats, card in zip(job["cards"]["ladder"], cards, strict=True):
        film, sprayed = card["film"], card_job(job, coats)
        ledger.compare("exact", "coats of a card", card["coats"], coats, where=where)
        spacings = [2.0 * Gun(job["gun"]).tan_width * c["distance_mm"] * (1.0 - c["overlap"]) for c in sprayed["coats"]]
        if faults or max(spacings) > CARD_MM[1]:
            continue  # the budget holds for whole spacings
        laid = sum(budget(sprayed, coat) for coat in sprayed["coats"])
        held = np.clip(laid, film["min_um"], film["max_um"])
        ledger.compare("film", "film of a card: budget within its ripple", held, laid, laid, where)
    if integrate:
        place = int(rng.integers(0, len(cards)))
        given, sprayed = cards[place]["film"], card_job(job, job["cards"]["ladder"][place])
        # whole cells: the last column reaches over the rim
        x, y = (np.arange(CELL_MM / 2.0, span, CELL_MM) for span in CARD_MM)
        x, y = (places.ravel() for places in np.meshgrid(x, y))
        film, _ = film_at(sprayed, "tinted", x, y)
        expected = [film.mean(), film.std(), film.min(), film.max()]
        found = [given[key] for key in ("mean_um", "sd_um", "min_um", "max_um")]
        ledger.compare("film", "film of a card: mean, sd, least, most", found, expected, film.mean(), where)


def compare_with(kind, job, base, tint, rng):
    """Puts the target or the car into the job; the film of the paint that it is, where it is one."""
    view, known = job["viewing"], rng.uniform(0.3, 3.5) * budget(job, job["coats"][0] | {"amount": 1.0})
    known = float(np.clip(known, 1.0, 150.0))
    angles = ANGLES if base[0] == "solid" else list(base[1])
    angles = [int(angle) for angle in rng.permutation(angles)[: rng.integers(2, 4)]]
    job["target"] = {"film_um": known}
    typed = [rng.uniform(20, 70), rng.uniform(-40, 40), rng.uniform(-40, 40)]
    if kind == "target film":
        return known
    if kind == "target colour":
        job["target"] = {"lab": typed}
    elif kind == "the same paint":
        job["car"] = {"reflectance": bands({angle: tint.over(base, [known], angle)[0] for angle in angles})}
        return known
    elif kind == "another colour":
        job["car"] = {"reflectance": bands({angle: spectrum(rng, 0.01, rng.uniform(0.2, 0.8)) for angle in angles})}
    else:
        light = view["illuminant"] if kind == "typed colour" else ILLUMINANTS[ILLUMINANTS.index(view["illuminant"]) - 1]
        job["car"] = {"lab": {str(a): typed for a in angles}, "illuminant": light, "observer_deg": view["observer_deg"]}
    return None


class Looks:
    """The colours of a job's paint, and the comparison of a report with them."""

    def __init__(self, job, base, tint, where, ledger):
        self.job, self.base, self.tint, self.where, self.ledger = job, base, tint, where, ledger
        self.view = job["viewing"]
        self.aspecular = self.view["aspecular_deg"]

    def lab(self, films, aspecular, base=None):
        seen = self.tint.over(base or self.base, np.atleast_1d(films), aspecular)
        return lab_by_weights(seen, self.view["illuminant"], self.view["observer_deg"])

    def compared(self, aspecular):
        """The colour that the cards are compared with at an angle, if there is one."""
        car, target = self.job.get("car"), self.job["target"]
        light = self.view["illuminant"], self.view["observer_deg"]
        if car and "reflectance" in car:
            seen = car["reflectance"].get(str(aspecular))
            return None if seen is None else lab_by_weights(np.array(seen), *light)
        if car:
            return car["lab"].get(str(aspecular)) if (car["illuminant"], car["observer_deg"]) == light else None
        if "film_um" in target:
            return self.lab(target["film_um"], aspecular)[0]
        return target["lab"] if aspecular == self.aspecular else None

    def check_colour(self, name, given, lab):
        self.ledger.compare("card lab", f"{name}: L*a*b*", given["lab"], lab, where=self.where)
        chroma, hue = np.hypot(lab[1], lab[2]), np.degrees(np.arctan2(lab[2], lab[1]))
        self.ledger.compare("card lab", f"{name}: chroma", given["chroma"], chroma, where=self.where)
        # as a length on the circle of hues: a grey has no hue to speak of
        turn = (given["hue_deg"] - hue + 180.0) % 360.0 - 180.0
        self.ledger.compare("card lab", f"{name}: hue", np.radians(turn) * chroma, 0.0, where=self.where)

    def optional(self, name, given, expected, kind="card difference"):
        if expected is None or given is None:
            self.ledger.compare("exact", f"{name}: there or not", given is None, expected is None, where=self.where)
        else:
            self.ledger.compare(kind, name, given, expected, where=self.where)

    def check(self, report, known):
        wanted, films = self.compared(self.aspecular), [card["film"]["mean_um"] for card in report["cards"]]
        self.optional("compared with: L*a*b*", report["compared_lab"], wanted, "card lab")
        self.check_colour("bare base", report["base"], self.lab(0.0, self.aspecular)[0])
        labs = self.lab(films, self.aspecular)
        off = [None] * len(films) if wanted is None else difference(labs, np.array(wanted))
        steps = [*difference(labs[:-1], labs[1:]), None]
        angles = ANGLES if self.base[0] == "solid" else list(self.base[1])
        by_angle = {str(angle): self.lab(films, angle) for angle in angles}
        contact = {name: ("contact", np.full(36, rho)) for name, rho in STICKER.items()}
        fields = {f: self.lab(films, self.aspecular, contact[f]) for f in self.job["cards"]["sticker"].split("_")}
        for i, card in enumerate(report["cards"]):
            self.check_colour("card", card["colour"], labs[i])
            self.optional("card to car or target", card["delta_e00"], off[i])
            self.optional("card to the next", card["to_next_card"], steps[i])
            for name, given, expected in [("angle", card["angles"], by_angle), ("sticker", card["sticker"], fields)]:
                self.ledger.compare("exact", f"{name}s: the same ones", sorted(given) == sorted(expected), True)
                for key, of in expected.items():
                    self.check_colour(name, given[key], of[i])
            flop = None
            if {"15", "45", "110"} <= {*by_angle}:
                l15, l45, l110 = (by_angle[angle][i][0] for angle in ("15", "45", "110"))
                flop = 2.69 * max(l15 - l110, 0.0) ** 1.11 / l45**0.86
            self.optional("flop index", card["flop_index"], flop)
        self.check_nearest(report, films, known)

    def check_nearest(self, report, films, known):
        angles = ANGLES if self.base[0] == "solid" else list(self.base[1])
        if not self.job.get("car"):
            angles = [self.aspecular]
        wanted = {angle: self.compared(angle) for angle in angles if self.compared(angle) is not None}
        found = report["nearest"]
        if not wanted or found is None:
            self.optional("nearest film", found, wanted or None)
            return

        def off(films):
            each = [difference(self.lab(films, angle), np.array(lab)) for angle, lab in wanted.items()]
            return np.sqrt(np.mean(np.square(each), axis=0))

        ladder = self.job["cards"]["ladder"]
        most = np.clip(max(film / coats for film, coats in zip(films, ladder, strict=True)) * MOST_COATS, 10.0, 500.0)
        grid, step = np.arange(0.0, most, 0.4), 0.4
        coarse = off(grid)
        best = grid[np.argmin(coarse)]
        while step > 1e-5:
            near = np.clip(best + step * np.linspace(-1.5, 1.5, 31), 0.0, most)
            best, step = near[np.argmin(off(near))], step / 8.0
        film, ledger, where = found["film_um"], self.ledger, self.where
        theirs, ours, *sides = off(np.array([film, best, best - 1e-3, best + 1e-3]))
        # CIEDE2000 jumps where hues are opposite: at the foot of a jump a film of the coarse search will do
        jump = abs(sides[1] - sides[0]) > 0.1
        kind, name = ("jump", ", at a jump") if jump else ("halving", "")
        # theirs may be nearer: where hues are opposite it can lie between two films of the search
        ledger.compare(kind, f"nearest: no film is nearer{name}", max(theirs, ours), ours, where=where)
        if known is not None and known < most - 1.0:
            ledger.compare("nearest", "nearest film: the paint's own", film, known, where=where)
        # a valley that the search found, not a plain, and no second one as deep
        elif not jump and theirs > ours - 0.01 and np.sum(coarse < coarse.min() + 0.02) < 25:
            ledger.compare("valley", "nearest film: another colour", film, best, where=where)
        given = found["delta_e00"]
        each = {str(angle): difference(self.lab(film, angle)[0], np.array(lab)) for angle, lab in wanted.items()}
        ledger.compare("exact", "nearest: the same angles", sorted(given) == sorted(each), True, where=where)
        found_each, each_value = [given[angle] for angle in each], [*each.values()]
        ledger.compare("card difference", "nearest: differences", found_each, each_value, where=where)
        worst = max(each.values())
        if min(abs(worst - PERCEIVED), abs(worst - ACCEPTED)) > 1e-3 and abs(film - most) > 1.0:
            expected = "reached" if worst < PERCEIVED else "near" if worst < ACCEPTED else "not_of_this_paint"
            ledger.compare("exact", "verdict", found["verdict"] == expected, True, where=where)
        self.check_place(found, films, ladder)

    def check_place(self, found, films, ladder):
        """Coats between the cards, from no coat on, and beyond the last as between the last two."""
        film = found["film_um"]
        if not np.all(np.diff([0.0, *films]) > 0.0):
            return  # the job's later coats are so much thinner that more of them lay less
        xs, ys = [0.0, *films], [0.0, *ladder]
        i = min(max(int(np.searchsorted(xs, film)), 1), len(xs) - 1)
        coats = ys[i - 1] + (film - xs[i - 1]) * (ys[i] - ys[i - 1]) / (xs[i] - xs[i - 1])
        self.ledger.compare("rounding", "nearest: coats", found["coats"], coats, where=self.where)
        below = [c for c, f in zip(ladder, films, strict=True) if f <= film]
        above = [c for c, f in zip(ladder, films, strict=True) if f > film]
        between = [below[-1] if below else None, above[0] if above else None]
        self.ledger.compare("exact", "nearest: between two cards", found["between"] == between, True, where=self.where)
