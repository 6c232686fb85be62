#!/usr/bin/env python3
"""Writes the two INVENTED demonstration paints, `ember` and `kelp`, as CSV beside this file.

Nothing here was measured and no real paint is meant: every number was chosen so that the colours are plausible.
Run with Python 3, no packages: python3 assets/jobs/paints/invent.py

Absorption a(wavelength), 1/um, napierian (transmittance = exp(-a * film * path)): a sum of Gaussians.
Ground R(wavelength, aspecular angle): reflectance factor of an effect base under untinted clear, 45 degree light,
by the facet closed form (flakes as small mirrors, their tilts spread as a sum of two Gaussians in tan(tilt)):

    R = (Ti Tv / n^2) * ( pi c F D(tilt) / (4 cos ti cos tv)  +  d / (1 - k d) )
    D(tilt) = sum of share_j * exp(-tan(tilt)^2 / m_j^2) / (pi m_j^2 cos(tilt)^4)

Ti, Tv: Fresnel transmittance on the way in and out; ti, tv: angles inside the film (Snell, n = 1.5); tilt = (ti - tv) / 2;
F: reflectance of a flake; c: share of the surface covered by flakes; d: diffuse reflectance between them;
k = 0.59634576: internal diffuse reflectance of a smooth n = 1.5 film. Near the highlight R exceeds 1, as it really does.
"""

import math
import pathlib

REFRACTIVE_INDEX = 1.5
INTERNAL_DIFFUSE = 0.59634576
WAVELENGTHS = range(380, 740, 10)
ASPECULAR = (-15, 15, 25, 45, 75, 110)


def gauss(x, centre, width):
    return math.exp(-0.5 * ((x - centre) / width) ** 2)


def step(x, centre, width):
    return 1.0 / (1.0 + math.exp(-(x - centre) / width))


def bands(x, *triples):
    return sum(height * gauss(x, centre, width) for height, centre, width in triples)


def inside(angle):
    return math.asin(math.sin(angle) / REFRACTIVE_INDEX)


def transmittance(angle):
    n, c1, c2 = REFRACTIVE_INDEX, math.cos(angle), math.cos(inside(angle))
    across, along = (c1 - n * c2) / (c1 + n * c2), (n * c1 - c2) / (n * c1 + c2)
    return 1.0 - 0.5 * (across**2 + along**2)


def tilts(tilt, spread):
    return sum(
        share * math.exp(-((math.tan(tilt) / m) ** 2)) / (math.pi * m**2 * math.cos(tilt) ** 4) for share, m in spread
    )


def effect_base(aspecular, flake, between, cover, spread):
    light, view = math.radians(45.0), math.radians(45.0 - aspecular)
    ti, tv = inside(light), inside(view)
    mirrors = math.pi * cover * flake * tilts((ti - tv) / 2, spread) / (4 * math.cos(ti) * math.cos(tv))
    diffuse = between / (1.0 - INTERNAL_DIFFUSE * between)
    return transmittance(light) * transmittance(view) / REFRACTIVE_INDEX**2 * (mirrors + diffuse)


def ember_absorption(w):
    """A transparent yellowish red: deeper, darker and bluer with film."""
    tail = 6e-4 * math.exp(-(w - 600) / 35) if w > 600 else 0.0
    return 8e-5 + tail + bands(
        w, (0.0235, 545, 22), (0.0195, 508, 27), (0.0088, 577, 12), (0.0017, 600, 15), (0.0034, 450, 36), (0.0034, 385, 34)
    )


def ember_ground(w, aspecular):
    """An orange-gold effect base with a fair flop."""
    flake = 0.87 * math.exp(-(2.0 * step(w, 512, -16) + 0.18 * gauss(w, 546, 24) + 0.05))
    between = 0.048 + 0.30 * step(w, 560, 15)
    return effect_base(aspecular, flake, between, 0.70, ((0.68, 0.17), (0.32, 0.52)))


def kelp_absorption(w):
    """A transparent yellowish green: strong from 580 to 700 nm and below 490 nm, clear only around 530 nm."""
    return 0.0026 + bands(
        w, (0.032, 595, 26), (0.020, 646, 30), (0.014, 700, 34), (0.016, 390, 36), (0.032, 462, 31)
    )


def kelp_ground(w, aspecular):
    """A pale straw-gold effect base: pale flakes widely spread over a pale filler, so little flop."""
    flake = 0.90 * math.exp(-(0.86 * step(w, 478, -26) + 0.12))
    between = 0.17 + 0.30 * step(w, 497, 28)
    return effect_base(aspecular, flake, between, 0.74, ((0.70, 0.27), (0.30, 0.55)))


def write(name, absorption, ground):
    here = pathlib.Path(__file__).parent
    tint = ["wavelength_nm,a_per_um_napierian"] + [f"{w},{absorption(w):.6g}" for w in WAVELENGTHS]
    (here / f"{name}_absorption.csv").write_text("\n".join(tint) + "\n")
    base = ["wavelength_nm," + ",".join(f"R_as{a}" for a in ASPECULAR)]
    base += [f"{w}," + ",".join(f"{ground(w, a):.6f}" for a in ASPECULAR) for w in WAVELENGTHS]
    (here / f"{name}_ground.csv").write_text("\n".join(base) + "\n")


if __name__ == "__main__":
    write("ember", ember_absorption, ember_ground)
    write("kelp", kelp_absorption, kelp_ground)
