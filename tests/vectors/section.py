"""Writes section.json and math.json: arguments as doubles, answers with 50 digits, from 120.

The answer is that of the exact function of the double arguments. 120 digits, because the formulas for shallow water and
for nearly equal depths lose up to 60 of them. Needs mpmath (1.3 or 1.4): python section.py
"""

import json
import math
import random
import re
from pathlib import Path
from statistics import NormalDist

from mpmath import mp, mpf

mp.dps = 120
HERE = Path(__file__).parent
CASES = 200
draw = random.Random(2011)

CIRCLES = [(d, d) for d in (0.1, 0.10097, 0.15024, 0.3, 0.0779272, 2.0)]
ELLIPSES = [(0.11, 0.09), (0.09, 0.11), (0.2, 0.05), (0.05, 0.2), (0.1, 0.1), (0.3, 0.299999), (0.5, 0.05), (1.0, 0.001)]


def phi(bore, depth):
    height = mpf(bore[1])
    depth = min(max(mpf(depth), mpf(0)), height)
    return 2 * mp.asin(mp.sqrt(depth / height))


def area(bore, depth):
    p = phi(bore, depth)
    return mpf(bore[0]) * bore[1] / 4 * (p - mp.sin(p) * mp.cos(p))


def antiderivative(bore, depth):
    w, h = mpf(bore[0]), mpf(bore[1])
    p = phi(bore, depth)
    inside = w * h * h / 8 * (mp.sin(p) - mp.sin(p) ** 3 / 3 - p * mp.cos(p))
    return inside + mp.pi / 4 * w * h * max(mpf(depth) - h, mpf(0))


def mean_area(bore, first, second):
    if first == second:
        return area(bore, first)
    return (antiderivative(bore, second) - antiderivative(bore, first)) / (mpf(second) - mpf(first))


def perimeter(bore, depth):
    w, h = mpf(bore[0]), mpf(bore[1])
    p = phi(bore, depth)
    if w == h:
        return w * p
    # Both sides of x = w/2 sin t, y = -h/2 cos t.
    return w * mp.ellipe(p, 1 - (h / w) ** 2)


def top_width(bore, depth):
    return mpf(bore[0]) * mp.sin(phi(bore, depth))


def depth_for_area(bore, a):
    """By Newton from above, where phi - sin phi cos phi is convex; past the middle from the other side."""
    w, h = mpf(bore[0]), mpf(bore[1])
    target = 4 * mpf(a) / (w * h)
    if target >= mp.pi:
        return h
    if target <= 0:
        return mpf(0)
    other = target > mp.pi / 2
    if other:
        target = mp.pi - target
    p = min(mp.cbrt(1.5 * target) * mpf("1.3"), mp.pi / 2)
    for _ in range(60):
        step = (p - mp.sin(p) * mp.cos(p) - target) / (2 * mp.sin(p) ** 2)
        p -= step
        if abs(step) < p * mpf(10) ** -60:
            break
    else:
        raise AssertionError((bore, a))
    depth = h * mp.sin(p / 2) ** 2
    return h - depth if other else depth


def fractions():
    """Depths as shares of the height, at the hard places first."""
    hard = [1e-9, 1e-8, 3e-7, 1e-6, 1e-5, 1e-4, 1e-3, 0.01, 0.05, 0.1, 0.2, 0.3, 0.7, 0.8, 0.9, 0.99]
    for edge in (0.25, 0.5, 0.75):
        hard += [edge, math.nextafter(edge, 0), math.nextafter(edge, 1), edge - 1e-9, edge + 1e-9]
    hard += [1 - e for e in (2**-53, 1e-15, 1e-13, 1e-11, 1e-9, 1e-7, 1e-5, 1e-3)] + [1.0]
    yield from hard
    while True:
        yield draw.choice([10 ** draw.uniform(-9, 0), draw.random(), 1 - 10 ** draw.uniform(-16, -0.3)])


def by_depth(function, bores):
    rows = []
    for i, share in zip(range(CASES), fractions()):
        bore = bores[i % len(bores)]
        depth = share * bore[1]
        rows.append([*bore, depth, digits(function(bore, depth))])
    return rows


def pairs(bore):
    """Pairs of depths: equal, nearly equal, at the edge of the Taylor series, far, across and past both ends."""
    h = bore[1]
    d = next(shares) * h
    kind = draw.randrange(10)
    if kind == 0:
        return d, d
    if kind == 1:
        return d, math.nextafter(d, 2 * h)
    if kind == 2:
        return d, d + draw.choice([1e-17, 1e-15, 1e-13, 1e-10, 1e-7, 1e-5]) * h
    if kind == 3:  # half the difference is 1/64 of the middle, a little less, a little more
        half = d / 64 * draw.choice([1, 1 - 1e-9, 1 + 1e-9, 0.9, 1.1, 2])
        return d - half, d + half
    if kind == 4:  # the same seen from the crown
        u = d / 64 * draw.choice([1, 1 - 1e-9, 1 + 1e-9, 0.9, 1.1, 2])
        return h - d - u, h - d + u
    if kind == 5:
        return -draw.choice([1e-17, 1e-9, 1e-3, 0.5, 3]) * h, d
    if kind == 6:
        return d, h * (1 + draw.choice([0, 2**-52, 1e-15, 1e-9, 1e-3, 0.5, 3]))
    if kind == 7:
        return math.nextafter(h, 0), h * (1 + draw.choice([0, 2**-52, 1e-12, 1]))
    if kind == 8:
        return -0.3 * h, 1.7 * h
    return d, draw.choice([0.0, h, 0.5 * h, draw.random() * h])


shares = fractions()


def means():
    rows = []
    for i in range(2 * CASES):
        bore = (CIRCLES + ELLIPSES)[i % 14]
        first, second = pairs(bore)
        if draw.random() < 0.5:
            first, second = second, first
        rows.append([*bore, first, second, digits(mean_area(bore, first, second))])
    return rows


def depths():
    rows = []
    for i, share in zip(range(CASES), fractions()):
        bore = (CIRCLES + ELLIPSES)[i % 14]
        full = (math.pi / 4) * (bore[0] * bore[1])
        a = min(float(area(bore, share * bore[1])), full)
        ulps = 4 * math.ulp(a)
        rows.append([*bore, a, *(digits(depth_for_area(bore, mpf(a) + e)) for e in (-ulps, 0, ulps))])
    return rows


def digits(x):
    """An answer with 50 digits: in the file a number like any other, since a number in JSON may have as many as it likes."""
    return f"={mp.nstr(x, 50)}"


def write(name, sections):
    def told(row):
        return re.sub(r'"=([^"]*)"', r"\1", json.dumps(row))

    lines = [f'"{key}": [\n' + ",\n".join(told(row) for row in rows) + "\n]" for key, rows in sections.items()]
    (HERE / name).write_text("{\n" + ",\n".join(lines) + "\n}\n")


def quantile(p):
    """Newton on the tail that keeps its digits."""
    p = mpf(p)
    if p > 0.5:
        return -quantile(1 - p)
    x = mpf(NormalDist().inv_cdf(float(p)))
    for _ in range(8):
        x -= (mp.erfc(-x / mp.sqrt(2)) / 2 - p) / mp.npdf(x)
    return x


def spread(low, high, count=CASES, signed=False):
    """Log-uniform."""
    values = [math.exp(draw.uniform(math.log(low), math.log(high))) for _ in range(count)]
    return [v * draw.choice([-1, 1]) for v in values] if signed else values


def probabilities():
    hard = [0.5, 0.075, 0.925, math.nextafter(0.075, 0), math.nextafter(0.925, 1), 0.025, 0.975, 1e-3, 0.9995]
    hard += [math.exp(-25), 1 - 2**-53, 2**-53, 5e-324, 2.3e-308, 1e-300, 0.5 + 2**-53, 0.5 - 2**-54, 0.5 + 1e-9]
    tails = spread(1e-300, 0.5, 80)
    return hard + tails + [1 - 10 ** draw.uniform(-15, -0.3) for _ in range(50)] + [draw.random() for _ in range(52)]


def one(function, arguments):
    return [[x, digits(function(mpf(x)))] for x in arguments]


def two(function, arguments):
    return [[x, y, digits(function(mpf(x), mpf(y)))] for x, y in arguments]


def elementary():
    angles = spread(1e-9, 10, signed=True) + [math.pi / 2, math.pi, 1e5, 1e22, 355.0]
    units = spread(1e-9, 1, signed=True) + [0.5, -0.5, 1 - 2**-53, 1 - 1e-9, 0.7071067811865476]
    tails = [draw.uniform(-6, 26.5) for _ in range(100)] + spread(1e-9, 6, 100, signed=True)
    return {
        "sin": one(mp.sin, angles),
        "cos": one(mp.cos, angles),
        "tan": one(mp.tan, angles),
        "asin": one(mp.asin, units),
        "acos": one(mp.acos, units),
        "atan": one(mp.atan, spread(1e-9, 1e9, signed=True)),
        "exp": one(mp.exp, spread(1e-9, 700, signed=True)),
        "exp_m1": one(mp.expm1, spread(1e-9, 700, signed=True)),
        "ln": one(mp.log, spread(1e-300, 1e300) + [1 + 1e-9, 1 - 1e-9, 0.999]),
        "ln_1p": one(mp.log1p, spread(1e-12, 1e9) + [-x for x in spread(1e-12, 0.999)]),
        "log10": one(mp.log10, spread(1e-300, 1e300) + [1 + 1e-9, 1000.0]),
        "cbrt": one(lambda x: mp.sign(x) * mp.cbrt(abs(x)), spread(1e-300, 1e300, signed=True)),
        "erf": one(mp.erf, spread(1e-9, 6, 200, signed=True)),
        "erfc": one(mp.erfc, tails),
        "normal_cdf": one(lambda x: mp.erfc(-x / mp.sqrt(2)) / 2, [draw.uniform(-37, 9) for _ in range(CASES)]),
        "normal_quantile": one(quantile, probabilities()),
        "atan2": two(mp.atan2, zip(spread(1e-6, 1e6, signed=True), spread(1e-6, 1e6, signed=True))),
        "hypot": two(mp.hypot, zip(spread(1e-160, 1e-150), spread(1e-160, 1e-150)))
        + two(mp.hypot, zip(spread(1e-6, 1e6), spread(1e-6, 1e6))),
        "pow": two(mp.power, zip(spread(1e-6, 1e6), spread(1e-3, 40, signed=True))),
    }


def main():
    write(
        "section.json",
        {
            "area": by_depth(area, CIRCLES + ELLIPSES),
            "antiderivative": by_depth(antiderivative, CIRCLES + ELLIPSES),
            "perimeter_circle": by_depth(perimeter, CIRCLES),
            "perimeter_ellipse": by_depth(perimeter, ELLIPSES),
            "mean_area": means(),
            "depth_for_area": depths(),
        },
    )
    write("math.json", elementary())


if __name__ == "__main__":
    main()
