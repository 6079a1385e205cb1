"""Reference values for paths, to 50 digits (mpmath). Run: python3 path.py > path.json

Cases are the exact values of the doubles printed. Of each course: displacement east, north, up over its length, and the
angle between its two directions. The angle is taken from the vectors with arc tangent of |u1 - u2| over |u1 + u2| at 50
digits, not from the formulas under test.
"""

import json
import random

from mpmath import atan2, cos, mp, mpf, pi, sin, sqrt, tan

mp.dps = 60
random.seed(20)


def unit(tilt, azimuth):
    t, a = mpf(tilt), mpf(azimuth)
    return [cos(t) * sin(a), cos(t) * cos(a), -sin(t)]


def norm(v):
    return sqrt(sum(x * x for x in v))


def course(length, t1, a1, t2, a2):
    u, v = unit(t1, a1), unit(t2, a2)
    beta = 2 * atan2(norm([x - y for x, y in zip(u, v)]), norm([x + y for x, y in zip(u, v)]))
    ratio = 1 if beta == 0 else tan(beta / 2) / (beta / 2)
    return beta, [mpf(length) * ratio * (x + y) / 2 for x, y in zip(u, v)]


def text(x):
    return mp.nstr(x, 50)


def main():
    cases = []

    def add(kind, length, t1, a1, t2, a2):
        beta, move = course(length, t1, a1, t2, a2)
        cases.append(
            {
                "kind": kind,
                "length_m": length,
                "tilt_rad": [t1, t2],
                "azimuth_rad": [a1, a2],
                "dogleg_rad": text(beta),
                "move_m": [text(x) for x in move],
            }
        )

    uniform = random.uniform
    for k in range(60):  # tiny turns, from 1e-15 to 1e-6 rad
        size = 10.0 ** uniform(-15, -6)
        t, a = uniform(-1.4, 1.4), uniform(0, 6.28)
        add("tiny", uniform(0.01, 3), t, a, t + size * uniform(-1, 1), a + size * uniform(-1, 1))
    for k in range(30):  # level to a hair
        size = 10.0 ** uniform(-12, -2)
        a = uniform(0, 6.28)
        add("near level", uniform(0.01, 3), size * uniform(-1, 1), a, size * uniform(-1, 1), a + uniform(-1, 1))
    for k in range(30):  # upright to a hair
        size = 10.0 ** uniform(-12, -2)
        side = random.choice([-1, 1])
        upright = float(pi / 2) - size
        add("near upright", 1.0, side * upright, uniform(0, 6.28), side * (upright - size * uniform(0, 1)), uniform(0, 6.28))
    for k in range(30):  # azimuth through north
        size = 10.0 ** uniform(-10, -1)
        add("wrap", 1.0, uniform(-0.5, 0.5), float(2 * pi) - size, uniform(-0.5, 0.5), size * uniform(0, 1))
        t = uniform(-0.5, 0.5)
        add("wrap", 1.0, t, float(2 * pi) - size, t, size * uniform(0, 1))
    for k in range(30):  # wide turns, up to pi - 1e-6
        short = 10.0 ** uniform(-6, 0)
        t, a = uniform(-0.7, 0.7), uniform(0, 3)
        add("wide", 1.0, t, a, -t + short * uniform(0.5, 1), a + float(pi) - short * uniform(0, 0.2))
    for k in range(10):  # lengths
        add("short", 10.0 ** uniform(-9, -3), 0.02, 1.0, 0.03, 1.1)
        add("long", 10.0 ** uniform(3, 6), 0.02, 1.0, 0.03, 1.1)

    angles = [uniform(-10, 10) for _ in range(100)] + [10.0 ** uniform(-12, 5) for _ in range(100)]
    angles += [float(k * pi / 2) for k in (-3, -2, -1, 1, 2, 3, 4, 50, 1001, 60001)]
    sines = [{"angle_rad": x, "sin": text(sin(mpf(x))), "cos": text(cos(mpf(x)))} for x in angles]
    print(json.dumps({"courses": cases, "angles": sines}, indent=0))


if __name__ == "__main__":
    main()
