"""The straightforward program of plain.rs in vectorised NumPy: a step's whole box at once. Same arguments and answers.

Shares nothing with fanlap."""

import sys
import time

import numpy as np

kind, job, out = sys.argv[1:]
numbers = iter(map(float, open(job).read().split()))
(tan_width, tan_depth, m, k, heavy_end, split, fluid, transfer, at_distance, falls_over, length, width, crown_along,
 crown_across, cell, solids) = (next(numbers) for _ in range(16))
passes = [np.array([[next(numbers) for _ in range(10)] for _ in range(int(next(numbers)))])
          for _ in range(int(next(numbers)))]
x = (np.arange(int(np.ceil(length / cell))) + 0.5) * cell
y = (np.arange(int(np.ceil(width / cell))) + 0.5) * cell


def pattern(u, v):
    q = 1 - u * u
    with np.errstate(divide="ignore", invalid="ignore"):
        rest = 1 - v * v / q
        inside = (q > 0) & (rest > 0)
        q, rest = np.where(inside, q, 0), np.where(inside, rest, 0)
    fault = (1 + heavy_end * u) * (1 - split + split * (2 * m + 3) * u * u)
    return np.where(inside, scale * fault * q ** (m - 0.5) * rest ** k, 0)


scale = 1.0
middle = (np.arange(2000) + 0.5) / 1000 - 1
scale = 1e6 / pattern(middle[:, None], middle[None, :]).sum()


def transfer_at(z):
    share = transfer * np.exp(-(z - at_distance) / falls_over) if falls_over else transfer + 0 * z
    return np.minimum(share, 0.95)


def steps(moments):
    """Seconds of a step of 2 mm, and the poses in the middle of each."""
    way = np.linalg.norm(np.diff(moments[:, 1:4], axis=0), axis=1).sum()
    count = int(np.ceil(way / 2))
    step = moments[-1, 0] / count
    at = (np.arange(count) + 0.5) * step
    nozzle, aim, fan = (np.stack([np.interp(at, moments[:, 0], moments[:, i + j]) for j in range(3)], 1)
                        for i in (1, 4, 7))
    aim /= np.linalg.norm(aim, axis=1)[:, None]
    fan -= (fan * aim).sum(1)[:, None] * aim
    fan /= np.linalg.norm(fan, axis=1)[:, None]
    return step, zip(nozzle, aim, fan, np.cross(aim, fan))


def cells(places, least, most):
    return slice(np.searchsorted(places, least), np.searchsorted(places, most, "right"))


def square(film):
    for moments in passes:
        seconds, poses = steps(moments)
        for nozzle, _, fan, across in poses:
            h = nozzle[2]
            a, b = h * tan_width, h * tan_depth
            reach = np.abs(fan) * a + np.abs(across) * b
            dose = 1000 * solids * seconds * fluid * transfer_at(h) / (a * b)
            columns = cells(x, nozzle[0] - reach[0], nozzle[0] + reach[0])
            rows = cells(y, nozzle[1] - reach[1], nozzle[1] + reach[1])
            dx, dy = x[columns] - nozzle[0], (y[rows] - nozzle[1])[:, None]
            film[rows, columns] += dose * pattern((dx * fan[0] + dy * fan[1]) / a, (dx * across[0] + dy * across[1]) / b)


def crown(rise, span, at):
    xi = 2 * at / span - 1
    return rise * (1 - xi * xi), -4 * rise * xi / span


def general(film):
    heights = min(crown_along, 0) + min(crown_across, 0), max(crown_along, 0) + max(crown_across, 0)
    (hx, sx), (hy, sy) = crown(crown_along, length, x), crown(crown_across, width, y)
    corners = np.array([(s, t) for s in (-1, 1) for t in (-1, 1)])
    for moments in passes:
        seconds, poses = steps(moments)
        dose = 1000 * solids * seconds * fluid / (tan_width * tan_depth)
        for nozzle, aim, fan, across in poses:
            rays = aim + corners @ np.stack([tan_width * fan, tan_depth * across])
            far = np.minimum((np.array(heights)[:, None] - nozzle[2]) / np.minimum(rays[:, 2], -1e-3), 2000)
            hits = nozzle[:2] + far[:, :, None] * rays[None, :, :2]
            least, most = hits.min((0, 1)), hits.max((0, 1))
            columns, rows = cells(x, least[0], most[0]), cells(y, least[1], most[1])
            rx, ry = x[columns] - nozzle[0], (y[rows] - nozzle[1])[:, None]
            rz = hx[columns] + hy[rows, None] - nozzle[2]
            z = rx * aim[0] + ry * aim[1] + rz * aim[2]
            facing = (sx[columns] * rx + sy[rows, None] * ry - rz) / np.sqrt(1 + sx[columns] ** 2 + sy[rows, None] ** 2)
            u = (rx * fan[0] + ry * fan[1] + rz * fan[2]) / (z * tan_width)
            v = (rx * across[0] + ry * across[1] + rz * across[2]) / (z * tan_depth)
            lands = (z > 0) & (facing > 0)
            film[rows, columns] += np.where(lands, dose * transfer_at(z) * pattern(u, v) * facing / z ** 3, 0)


film = np.zeros((len(y), len(x)))
for _ in sys.stdin:
    start = time.perf_counter()
    film = np.zeros((len(y), len(x)))
    (square if kind == "square" else general)(film)
    print(1000 * (time.perf_counter() - start), flush=True)
film.tofile(out)
