"""Writes hydraulics.json: arguments as doubles, answers with 50 digits, from 60.

Velocity, flow, the most that is carried, normal depths, critical depth, of circles and ellipses by both laws of friction. Roots are
found by halving a bracket, with no step taken from the library that is tested. Needs mpmath: python hydraulics.py > hydraulics.json
"""

import json
import random
import re

from mpmath import mp, mpf

mp.dps = 60
GRAVITY = mpf("9.80665")
CASES = 120
draw = random.Random(1876)


def area(bore, t):
    return mpf(bore[0]) * bore[1] / 4 * (t - mp.sin(t) * mp.cos(t))


def perimeter(bore, t):
    w, h = mpf(bore[0]), mpf(bore[1])
    if w == h:
        return w * t
    m = 1 - (h / w) ** 2
    return 2 * w * mp.ellipe(m) if t >= mp.pi else w * mp.ellipe(t, m)


def angle(bore, depth):
    return 2 * mp.asin(mp.sqrt(mpf(depth) / mpf(bore[1])))


def depth(bore, t):
    return mpf(bore[1]) * mp.sin(t / 2) ** 2


def velocity(case, t):
    bore, law, rough, viscosity, slope = case
    radius = area(bore, t) / perimeter(bore, t)
    if law == 0:
        return radius ** (mpf(2) / 3) * mp.sqrt(mpf(slope)) / mpf(rough)
    s = mp.sqrt(8 * GRAVITY * radius * mpf(slope))
    return max(mpf(0), -2 * s * mp.log10(mpf(rough) / (mpf("14.8") * radius) + mpf("2.51") * mpf(viscosity) / (4 * radius * s)))


def flow(case, t):
    return area(case[0], t) * velocity(case, t)


def halved(below, low, high):
    """Where `below` turns from true to false."""
    for _ in range(190):
        middle = (low + high) / 2
        if below(middle):
            low = middle
        else:
            high = middle
    return (low + high) / 2


def root(f, low, high):
    """The same by the Illinois form of regula falsi, in a tenth of the steps; that the sign changes about the place is proved at the end."""
    a, b, fa, fb = low, high, f(low), f(high)
    assert fa * fb <= 0, (low, high)
    for _ in range(400):
        if fb == 0:
            return b
        c = (a * fb - b * fa) / (fb - fa)
        fc = f(c)
        step = abs(c - b)
        if fc * fb < 0:
            a, fa = b, fb
        else:
            fa /= 2
        b, fb = c, fc
        if step <= abs(b) * mpf(10) ** (27 - mp.dps):
            near = abs(b) * mpf(10) ** (30 - mp.dps)
            assert f(b - near) * f(b + near) <= 0, (low, high)
            return b
    raise AssertionError((low, high))


def greatest(case):
    """By the sign of the derivative."""
    step = mpf(10) ** -25
    return halved(lambda t: flow(case, t + step) > flow(case, t - step), mp.pi / 2, mp.pi - step)


def cases():
    bores = [(d, d) for d in (0.1, 0.10226, 0.15, 0.6, 2.0)] + [(0.11, 0.09), (0.09, 0.11), (0.3, 0.06)]
    for _ in range(CASES):
        slope = float(10 ** draw.uniform(-4, -0.5))
        if draw.random() < 0.5:
            yield (draw.choice(bores), 0, float(draw.uniform(0.008, 0.03)), 0.0, slope)
        else:
            yield (draw.choice(bores), 1, float(10 ** draw.uniform(-5, -2.7)), float(draw.uniform(0.8e-6, 1.6e-6)), slope)


def digits(x):
    """An answer with 50 digits: in the file a number like any other, since a number in JSON may have as many as it likes."""
    return f"={mp.nstr(x, 50)}"


def main():
    rows = {"flow": [], "most": [], "normal": [], "critical": []}
    for case in cases():
        bore, law, rough, viscosity, slope = case
        head = [bore[0], bore[1], law, rough, viscosity, slope]
        y = float(bore[1] * draw.uniform(0.02, 1.0))
        t = angle(bore, y)
        rows["flow"].append([*head, y, digits(velocity(case, t)), digits(flow(case, t))])
        top = greatest(case)
        most, full = flow(case, top), flow(case, mp.pi)
        rows["most"].append([*head, digits(depth(bore, top)), digits(most), digits(full)])
        share = draw.choice([draw.uniform(0.001, 0.9), draw.uniform(0.9, 0.999), float(full / most) + draw.uniform(0.01, 0.9) * float(1 - full / most)])
        asked = float(most * share)
        lower = halved(lambda t: flow(case, t) < asked, mpf(0), top)
        upper = halved(lambda t: flow(case, t) > asked, top, mp.pi) if asked >= full else None
        h = mpf(10) ** -20
        condition = abs(asked / depth(bore, lower) * (depth(bore, lower + h) - depth(bore, lower - h)) / (flow(case, lower + h) - flow(case, lower - h)))
        upper_depth = None if upper is None else digits(depth(bore, upper))
        rows["normal"].append([*head, asked, digits(depth(bore, lower)), upper_depth, float(condition)])
        through = float(area(bore, mp.pi) * 10 ** draw.uniform(-3, 0.5))
        critical = halved(
            lambda t: mpf(through) ** 2 * mpf(bore[0]) * mp.sin(t) > GRAVITY * area(bore, t) ** 3, mpf(10) ** -12, mp.pi - mpf(10) ** -15
        )
        rows["critical"].append([bore[0], bore[1], through, digits(depth(bore, critical))])
    text = json.dumps(rows, indent=None, separators=(",", ":")).replace("],[", "],\n[")
    print(re.sub(r'"=([^"]*)"', r"\1", text))


if __name__ == "__main__":
    main()
