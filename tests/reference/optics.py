"""What light does in clears, grounds and layers that scatter, written out from the laws alone with closed forms and
quadrature, and colour by colour-science 0.4.7. Spectra are arrays whose last axis has 36 bands, 380 to 730 nm.

Fresnel, Snell: M. Born & E. Wolf, Principles of Optics, 1.5. Solid grounds: F. C. Williams & F. R. Clapper 1953, J. Opt.
Soc. Am. 43, 595. Layers: P. Kubelka 1948, J. Opt. Soc. Am. 38, 448. Surface: J. L. Saunderson 1942, J. Opt. Soc. Am. 32,
727. How haze and base coats are joined with them is the program's own choice (its `src/colour/base.rs`) and followed here.
"""

from functools import cache

import colour
import numpy as np

ILLUMINANTS = ["D65", "A", "LED-B3"]
OBSERVERS = {2: "CIE 1931 2 Degree Standard Observer", 10: "CIE 1964 10 Degree Standard Observer"}
REFRACTIVE_INDEX = 1.5
HIDDEN, CARD = 0.5, (0.0, 0.8)  # CIEDE2000 over black and white at which a base counts as hiding; that black and white


# Colour


def lab_of(reflectances, illuminant, observer):
    """CIELAB of reflectances, one a row: every spectrum integrated by colour-science."""
    values = np.array([tristimulus(row, illuminant, observer) for row in reflectances])
    return colour.XYZ_to_Lab(values, white_of(illuminant, observer))


def lab_by_weights(reflectances, illuminant, observer):
    """The same with the weight that colour-science gives to each band: its integration is linear."""
    return colour.XYZ_to_Lab(reflectances @ weights(illuminant, observer), white_of(illuminant, observer))


def tristimulus(values, illuminant, observer):
    sample = colour.SpectralDistribution(values, np.arange(380, 731, 10))
    cmfs, light = colour.MSDS_CMFS[OBSERVERS[observer]], colour.SDS_ILLUMINANTS[illuminant]
    return colour.sd_to_XYZ(sample, cmfs, light, method="ASTM E308") / 100.0


@cache
def white_of(illuminant, observer):
    return colour.XYZ_to_xy(tristimulus(np.ones(36), illuminant, observer))


@cache
def weights(illuminant, observer):
    return np.array([tristimulus(band, illuminant, observer) for band in np.eye(36)])


def difference(labs, others):
    return colour.delta_E(labs, others, method="CIE 2000")


# The surface


def refracted(angle):
    return np.arcsin(np.sin(np.radians(angle)) / REFRACTIVE_INDEX)


def path_factor(aspecular):
    """Way in and out of a film against its thickness; light at 45 degrees, the angle from its mirror direction."""
    return sum(1.0 / np.cos(refracted(angle)) for angle in (45.0, 45.0 - aspecular))


def fresnel(angle):
    """Unpolarised light from air, degrees."""
    outside, inside, n = np.cos(np.radians(angle)), np.cos(refracted(angle)), REFRACTIVE_INDEX
    s, p = (outside - n * inside) / (outside + n * inside), (n * outside - inside) / (n * outside + inside)
    return (s**2 + p**2) / 2.0


def exchanged(aspecular):
    """Of the light that an evenly diffuse ground sends out whole, what reaches the eye before any is mirrored back."""
    return (1.0 - fresnel(45.0)) * (1.0 - fresnel(45.0 - aspecular)) / REFRACTIVE_INDEX**2


def gauss(count):
    at, weight = np.polynomial.legendre.leggauss(count)
    return (at + 1.0) / 2.0, weight / 2.0


def mirrored_inside(depth):
    """Of diffuse light at the bottom of a clear, what its surface sends back there; depth = napierian absorption times
    film, paid twice along every slanting way. The integral of 2 c F(c) exp(-2 depth / c) over the cosine c."""
    critical, depth = np.sqrt(1.0 - 1.0 / REFRACTIVE_INDEX**2), np.asarray(depth)[..., None]
    # beyond the critical angle all is mirrored; the cube lays the places close where c is small
    at, weight = gauss(80)
    c = critical * at**3
    total = np.sum(weight * 3.0 * critical * at**2 * 2.0 * c * np.exp(-2.0 * depth / c), axis=-1)
    # steeper, by the cosine outside: c dc = outside d(outside) / n^2
    outside, weight = gauss(40)
    c = np.sqrt(critical**2 + (outside / REFRACTIVE_INDEX) ** 2)
    mirrored = fresnel(np.degrees(np.arccos(outside)))
    part = weight * 2.0 * outside / REFRACTIVE_INDEX**2 * mirrored * np.exp(-2.0 * depth / c)
    return total + np.sum(part, axis=-1)


K1, K2 = fresnel(0.0), float(mirrored_inside(0.0))


def measured(inside):
    """Seen along the normal with the gloss excluded, of a reflectance inside a film (Saunderson)."""
    return (1.0 - K1) * (1.0 - K2) * inside / (1.0 - K2 * inside)


# Grounds and layers


def inside_of(seen):
    """The reflectance in contact with clear of a ground measured at 45:0 under untinted clear."""
    return seen / (exchanged(45.0) + seen * K2)


def under_clear(inside, depth, aspecular):
    """A solid ground under a clear (Williams and Clapper)."""
    out = exchanged(aspecular) * inside * np.exp(-depth * path_factor(aspecular))
    return out / (1.0 - inside * mirrored_inside(depth))


def layer(absorption, scatter, film):
    """Reflectance over black and transmittance (Kubelka); `absorption` and `scatter` above 0."""
    a = (scatter + absorption) / scatter
    b = np.sqrt(a**2 - 1.0)
    sinh, cosh = np.sinh(b * scatter * film), np.cosh(b * scatter * film)
    return sinh / (a * sinh + b * cosh), b / (a * sinh + b * cosh)


def on_ground(layer_of, ground):
    reflected, through = layer_of
    return reflected + through**2 * ground / (1.0 - reflected * ground)


class Tint:
    """A tinted clear: napierian absorption, and scatter of diffuse light, 1/um."""

    def __init__(self, absorption, scatter):
        self.absorption, self.scatter = np.array(absorption), scatter

    def over(self, base, films, aspecular):
        """Reflectance over a base, a row for each film. Base: its kind, and its reflectance by angle, which for a solid
        one is that at 45; of kind `contact` it is the reflectance in contact with the clear."""
        kind, seen = base
        films = np.asarray(films, dtype=float)[:, None]
        depth = self.absorption * films
        if kind == "effect":
            clear = seen[aspecular] * np.exp(-depth * path_factor(aspecular))
        else:
            inside = inside_of(seen[45]) if kind == "solid" else seen
            clear = under_clear(inside, depth, aspecular)
        if self.scatter == 0.0:
            return clear
        hazy = layer(2.0 * self.absorption, self.scatter, films)
        plain = 0.0 * depth, np.exp(-2.0 * depth)
        if kind == "effect":
            return clear * (hazy[1] / plain[1]) ** 2 + measured(hazy[0])
        return np.maximum(clear + measured(on_ground(hazy, inside)) - measured(on_ground(plain, inside)), 0.0)


class BaseCoat:
    """A base coat by its reflectance at 45:0 where it hides, and the film at which it does."""

    def __init__(self, seen, hides_at):
        self.thick = np.clip(inside_of(seen), 0.002, 0.98)
        self.ratio = (1.0 - self.thick) ** 2 / (2.0 * self.thick)  # K/S, Kubelka & Munk 1931
        low, high = 1e-3, 80.0  # scatter times film
        while high - low > 1e-9 * high:
            middle = np.sqrt(low * high)
            low, high = (low, middle) if self.contrast(middle) < HIDDEN else (middle, high)
        self.scatter = high / hides_at

    def contrast(self, depth):
        black, white = (measured(on_ground(layer(self.ratio, 1.0, depth), field)) for field in CARD)
        return difference(*(lab_by_weights(seen, "D65", 10) for seen in (black, white)))

    def over(self, kind, thick, ground, film, aspecular):
        """A film of it on a ground, as a base for `Tint.over`. An effect base has of its look at an angle what it has of
        its diffuse reflectance, and the ground shines through as diffuse light does."""
        ground_kind, ground_seen = ground
        below = np.minimum(inside_of(ground_seen[45 if ground_kind == "solid" else aspecular]), 1.0)
        coat = layer(self.ratio * self.scatter, self.scatter, film)
        if kind == "solid":
            return "contact", on_ground(coat, below)
        ground_there = ground_seen[aspecular] if ground_kind == "effect" else under_clear(below, 0.0, aspecular)
        let_through = coat[1] ** 2 / (1.0 - coat[0] * below)
        return "effect", {aspecular: coat[0] / self.thick * thick[aspecular] + let_through * ground_there}
