"""Writes random cases with their answers of 50 digits and more, for tests/random_cases.rs: python cases.py FOLDER [CASES]

The formulas are those of tests/vectors; here is only where the cases lie: all over the range that a function is for, and in its corners
(near empty, near full, near level, nearly straight, nearly equal, huge, denormal). Seeded by the name of the function. Needs mpmath.

A line is the arguments, then of each answer: the nearest double, what is left to the exact value, and the unit that errors are counted in
(that value for relative errors, a unit in the last place for the elementary functions), each answer after a semicolon; "-" where there is
none.
"""

import math
import random
import sys
from multiprocessing import Pool
from pathlib import Path

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE.parent / "vectors"))

import hydraulics  # noqa: E402
import more  # noqa: E402
import networks  # noqa: E402
import path  # noqa: E402
import section  # noqa: E402
from mpmath import mp, mpf  # noqa: E402

LEAST = 2.2250738585072014e-308
EPS = 2.0**-52
WHOLE = {}


def case(name, dps=60):
    """A function that gives the arguments and answers of one case; `draw` is its stream of random numbers."""

    def keep(function):
        WHOLE[name] = (function, dps)
        return function

    return keep


class Draw(random.Random):
    def spread(self, low, high, signed=False):
        x = math.exp(self.uniform(math.log(low), math.log(high)))
        return -x if signed and self.random() < 0.5 else x

    def denormal(self):
        return self.choice([-1, 1]) * self.randrange(1, 2**52) * 5e-324

    def near(self, x, ulps=40):
        for _ in range(self.randrange(ulps)):
            x = math.nextafter(x, self.choice([-math.inf, math.inf]))
        return x

    def bore(self):
        """Circles, and now and then an ellipse."""
        d = self.choice([self.spread(0.02, 2), 0.1, self.uniform(0.05, 0.3)])
        h = d * self.choice([self.spread(0.05, 20), self.uniform(0.8, 1.2)])
        return (d, h) if self.random() < 0.2 and 0.001 <= h <= 20 else (d, d)

    def share(self, least=1e-9):
        """Depth over height: all over, near empty, near full, about the places where a method changes."""
        kind = self.randrange(6)
        if kind == 0:
            return self.spread(least, 1)
        if kind == 1:
            return 1 - self.spread(2.0**-53, 0.5)
        if kind == 2:
            return self.near(self.choice([0.25, 0.5, 0.75, 1 - 2.0**-30]))
        if kind == 3:
            return self.choice([0.25, 0.5, 0.75]) + self.spread(1e-14, 1e-3, True)
        return self.uniform(least, 1)


def relative(x, condition=1):
    return x, max(abs(float(x)), LEAST) * float(condition)


def ulps(x):
    return x, math.ulp(float(x))


# Elementary functions


def elementary(name, reference, arguments, unit=ulps):
    case(name)(lambda draw: (lambda x: (x, [unit(reference(*(mpf(v) for v in x)))]))(arguments(draw)))


def angle(draw):
    return [
        draw.choice(
            [
                draw.spread(1e-9, 10, True),
                draw.spread(1e-300, 1e300, True),
                draw.near(draw.randrange(1, 10**6) * math.pi / 2),
                draw.uniform(-7, 7),
                draw.denormal(),
            ]
        )
    ]


def share_of_one(draw):
    return [draw.choice([-1, 1]) * draw.choice([draw.random(), draw.spread(1e-300, 1), 1 - draw.spread(1e-16, 1), draw.near(0.5)])]


def any_positive(draw):
    return [draw.choice([draw.spread(1e-300, 1e300), draw.near(1.0), 1 + draw.spread(1e-15, 0.5, True), abs(draw.denormal())])]


def exponent(draw):
    return [draw.choice([draw.spread(1e-300, 700, True), draw.uniform(-745, 709), draw.uniform(-1, 1)])]


def power(draw):
    while True:
        x, y = draw.choice([draw.spread(1e-300, 1e300), draw.near(1.0, 9), draw.uniform(0.1, 10)]), draw.spread(1e-3, 1e3, True)
        if -700 < y * math.log(x) < 700:
            return [x, y]


def plane(draw):
    x = draw.spread(1e-150, 1e150, True)
    return [x, draw.choice([x * draw.spread(1e-10, 1e10, True), draw.near(x), draw.spread(1e-150, 1e150, True)])]


elementary("sin", mp.sin, angle)
elementary("cos", mp.cos, angle)
elementary("tan", mp.tan, angle)
elementary("asin", mp.asin, share_of_one)
elementary("acos", mp.acos, share_of_one)
elementary("atan", mp.atan, lambda draw: [draw.choice([draw.spread(1e-300, 1e300, True), draw.uniform(-3, 3), draw.denormal()])])
elementary("exp", mp.exp, exponent)
elementary("exp_m1", mp.expm1, exponent)
elementary("ln", mp.log, any_positive)
elementary("ln_1p", mp.log1p, lambda draw: [draw.choice([draw.spread(1e-300, 1e300), draw.uniform(-1, 1), -1 + draw.spread(1e-16, 1)])])
elementary("log10", mp.log10, any_positive)
elementary(
    "cbrt",
    lambda x: mp.sign(x) * mp.cbrt(abs(x)),
    lambda draw: [draw.choice([draw.spread(1e-300, 1e300, True), draw.denormal(), draw.uniform(-10, 10)])],
)
elementary("erf", mp.erf, lambda draw: [draw.choice([draw.spread(1e-300, 6, True), draw.uniform(-4, 4)])])
elementary("erfc", mp.erfc, lambda draw: [draw.choice([draw.spread(1e-300, 6, True), draw.uniform(-6, 26.5)])])
elementary("atan2", mp.atan2, plane)
elementary("hypot", mp.hypot, plane)
elementary("pow", mp.power, power)


@case("normal_cdf")
def normal_cdf(draw):
    x = draw.choice([draw.uniform(-37, 9), draw.spread(1e-300, 9, True)])
    value = mp.erfc(-mpf(x) / mp.sqrt(2)) / 2
    return [x], [relative(value, (3 + min(x, 0) ** 2) * EPS)]


@case("normal_quantile")
def normal_quantile(draw):
    p = draw.choice([draw.random(), draw.spread(1e-300, 0.5), 1 - draw.spread(1e-15, 0.5), draw.near(0.075), draw.near(0.925), 0.5 + draw.spread(1e-15, 1e-3, True)])
    p = min(max(p, 1e-300), 1 - 2.0**-53)
    return [p], [relative(section.quantile(p), EPS)]


@case("chi_square_above", 90)
def chi_square(draw):
    degrees = draw.choice([draw.randrange(1, 40), draw.randrange(1, 40), int(draw.spread(1, 1000))])
    x = min(draw.choice([degrees * draw.spread(0.1, 10), draw.spread(1e-9, 2000), draw.uniform(0, 100)]), 1400.0)
    return [float(degrees), x], [relative(networks.finite_survival(x, degrees))]


@case("sum")
def total(draw):
    n = 1000 if draw.random() < 0.01 else draw.randrange(1, 40)
    values = [draw.choice([draw.spread(1e-20, 1e20, True), draw.uniform(-1, 1)]) for _ in range(n)]
    return values, [(mp.fsum(mpf(v) for v in values), EPS * math.fsum(abs(v) for v in values))]


@case("quantile")
def quantile(draw):
    values = sorted(draw.choice([draw.uniform(-1, 1), draw.spread(1e-9, 1e9, True)]) for _ in range(draw.randrange(2, 20)))
    p = draw.choice([draw.random(), draw.spread(1e-12, 1), 1 - draw.spread(1e-12, 1)])
    return [p, *values], [(more.quantile(values, p), EPS * max(abs(v) for v in values))]


# Noise


@case("ar1_mean_variance", 90)
def ar1(draw):
    n, rho = int(draw.spread(1, 1e6)), draw.choice([draw.random(), 1 - draw.spread(1e-15, 1), draw.spread(1e-9, 1)])
    return [float(n), rho], [relative(more.ar1_mean_variance(n, rho), n * EPS)]


@case("wander_variance", 90)
def wander(draw):
    sd, length = draw.spread(1e-6, 1), draw.choice([draw.spread(1e-12, 1e6), draw.near(3e-4), draw.uniform(0, 100)])
    return [sd, length], [relative(more.wander_variance(sd, length))]


@case("rounding_error_sd")
def rounding(draw):
    q = draw.spread(1e-6, 1)
    s = q * draw.choice([draw.uniform(0, 1), draw.spread(1e-9, 1), draw.near(0.1)])
    return [q, s], [relative(more.rounding_error_sd(q, s))]


# Units


def units(name):
    def number(draw):
        return draw.choice([draw.spread(1e-290, 1e290, True), draw.uniform(-1e4, 1e4), draw.randrange(-(10**6), 10**6) / 1000 or 1.0])

    @case(name)
    def there(draw):
        x = number(draw)
        return [x], [ulps(more.unit(name, x))]

    @case(f"to_{name}")
    def back(draw):
        x = number(draw)
        return [x], [ulps(more.from_si(name, x))]


for unit in [*more.FACTORS, "deg", "one_in"]:
    units(unit)
elementary("slope_to_tilt", mp.atan, lambda draw: [draw.choice([draw.spread(1e-12, 1e3, True), draw.uniform(-0.1, 0.1)])])
elementary("tilt_to_slope", mp.tan, lambda draw: [draw.choice([draw.spread(1e-12, 1.57, True), draw.uniform(-0.1, 0.1)])])


# The bore


def by_depth(name, reference, dps, kind="any"):
    @case(name, dps)
    def one(draw):
        bore = draw.bore()
        while (kind == "circle") != (bore[0] == bore[1]) and kind != "any":
            bore = draw.bore()
        depth = min(draw.share() * bore[1], bore[1])
        return [*bore, depth], [relative(reference(bore, depth))]


by_depth("area", section.area, 120)
by_depth("antiderivative", section.antiderivative, 120)
by_depth("top_width", section.top_width, 60)
by_depth("perimeter_circle", section.perimeter, 60, "circle")
by_depth("perimeter_ellipse", section.perimeter, 50, "ellipse")
by_depth("hydraulic_radius", lambda bore, depth: section.area(bore, depth) / section.perimeter(bore, depth), 80, "circle")


@case("mean_area", 120)
def mean_area(draw):
    # The pairs of the golden vectors, of bores of its own.
    bore = draw.bore()
    section.draw, section.shares = draw, iter(draw.share, None)
    first, second = section.pairs(bore)
    if draw.random() < 0.5:
        first, second = second, first
    return [*bore, first, second], [relative(section.mean_area(bore, first, second))]


@case("depth_for_area", 90)
def depth_for_area(draw):
    bore = draw.bore()
    full = math.pi / 4 * (bore[0] * bore[1])
    a = min(float(section.area(bore, min(draw.share() * bore[1], bore[1]))), full)
    low, depth, high = (section.depth_for_area(bore, mpf(a) + k * 4 * math.ulp(a)) for k in (-1, 0, 1))
    # What four units in the last place of the area are in the depth, and half of one of the depth's own.
    return [*bore, a], [(depth, float(max(depth - low, high - depth)) / 4 + math.ulp(float(depth)) / 8)]


# Paths


def course(draw):
    u, kind = draw.uniform, draw.randrange(7)
    t, a = u(-1.4, 1.4), u(-7, 7)
    if kind == 0:  # nearly straight
        size = draw.spread(1e-150, 1e-6) if draw.random() < 0.2 else draw.spread(1e-16, 1e-6)
        if size < 1e-17:
            return size * u(-1, 1), 0.3, size * u(-1, 1), 0.3
        return t, a, t + size * u(-1, 1), a + size * u(-1, 1)
    if kind == 1:  # near level
        size = draw.spread(1e-12, 1e-2)
        return size * u(-1, 1), a, size * u(-1, 1), a + u(-1, 1)
    if kind == 2:  # near upright
        side, size = draw.choice([-1, 1]), draw.spread(1e-12, 1e-2)
        upright = math.pi / 2 - size
        return side * upright, u(0, 6.28), side * (upright - size * u(0, 1)), u(0, 6.28)
    if kind == 3:  # azimuth through north
        size = draw.spread(1e-10, 0.1)
        return u(-0.5, 0.5), 2 * math.pi - size, u(-0.5, 0.5), size * u(0, 1)
    if kind == 4:  # near a reversal
        short = draw.spread(1e-6, 1)
        t = u(-0.7, 0.7)
        return t, u(0, 3), -t + short * u(0.5, 1), math.pi + u(0, 3)
    if kind == 5:  # a drain
        return 0.02 + u(-0.03, 0.03), a, 0.02 + u(-0.03, 0.03), a + draw.choice([0.0, u(-1, 1), u(-0.01, 0.01)])
    return t, a, u(-1.4, 1.4), u(-7, 7)


@case("dogleg", 340)
def dogleg(draw):
    at = course(draw)
    beta, _ = path.course(1.0, *at)
    return [*at], [relative(beta)]


@case("minimum_curvature")
def minimum_curvature(draw):
    length = draw.choice([draw.spread(1e-9, 1e6), draw.uniform(0.01, 3)])
    while True:
        at = course(draw)
        if max(abs(at[0]), abs(at[2])) <= math.pi / 2:
            beta, move = path.course(length, *at)
            if beta < math.pi - 1e-6:
                unit = float(path.norm(move) / mp.cos(beta / 2))
                return [length, *at], [(x, unit) for x in move]


@case("profile")
def profile(draw):
    n = draw.randrange(1, 25)
    lengths = [draw.choice([draw.uniform(0.05, 4), draw.spread(0.01, 100)]) for _ in range(n)]
    breaks = [draw.uniform(-20, 20)]
    for length in lengths:
        breaks.append(breaks[-1] + length)
    tilts = [draw.choice([draw.uniform(-0.04, 0.05), draw.spread(1e-12, 0.7, True), 0.0]) for _ in range(n)]
    scale = draw.choice([1.0, draw.uniform(0.95, 1.05)])
    exact = [mpf(b) - mpf(a) for a, b in zip(breaks, breaks[1:])]
    fall, slope = more.profile(exact, tilts, scale)
    # Of the stations, which are inside 3000 m, and of what the heights add up to.
    size = float(mp.fsum(abs(l * mp.sin(mpf(t))) for l, t in zip(exact, tilts)))
    size = max(size, LEAST) + 1e-3 * EPS
    return [scale, float(n), *breaks, *tilts], [(fall, size), (slope, size / float(mp.fsum(exact)) / 0.7)]


# Hydraulics


def pipe(draw, ellipses=0.1):
    bore = draw.bore()
    while bore[0] != bore[1] and draw.random() > ellipses / 0.2:
        bore = draw.bore()
    slope = draw.spread(1e-5, 1)
    if draw.random() < 0.5:
        return (bore, 0, draw.uniform(0.008, 0.03), 0.0, slope)
    case = (bore, 1, draw.spread(1e-6, 3e-3), draw.uniform(0.8e-6, 1.6e-6), slope)
    # By Colebrook and White a bore as narrow as its wall is rough carries nothing.
    return case if hydraulics.velocity(case, mp.pi) > 0 else pipe(draw, ellipses)


def told(case):
    bore, law, rough, viscosity, slope = case
    return [*bore, float(law), rough, viscosity, slope]


def film(case, t, velocity):
    """How an error grows where the logarithm of Colebrook and White is near nothing: 1 + 1 / |ln|."""
    if case[1] == 0 or velocity == 0:
        return 1
    radius = hydraulics.area(case[0], t) / hydraulics.perimeter(case[0], t)
    return 1 + 2 * mp.sqrt(8 * hydraulics.GRAVITY * radius * mpf(case[4])) / (velocity * mp.log(10))


@case("flow", 80)
def flow(draw):
    case = pipe(draw)
    depth = min(draw.share() * case[0][1], case[0][1])
    t = hydraulics.angle(case[0], depth)
    velocity = hydraulics.velocity(case, t)
    grows = film(case, t, velocity)
    return [*told(case), depth], [relative(velocity, grows), relative(velocity * hydraulics.area(case[0], t), grows)]


MANNING_TOP = {}


def top(case):
    """The half-angle of the most; by Manning in a circle it is the same for all."""
    bore, law = case[:2]
    if law == 0 and bore[0] == bore[1]:
        if mp.dps not in MANNING_TOP:
            MANNING_TOP[mp.dps] = stationary(case)
        return MANNING_TOP[mp.dps]
    return stationary(case)


def stationary(case):
    step = mpf(10) ** -25
    rises = lambda t: hydraulics.flow(case, t + step) - hydraulics.flow(case, t - step)  # noqa: E731
    return hydraulics.root(rises, mp.pi / 2, mp.pi - 2 * step)


@case("most", 65)
def most(draw):
    case = pipe(draw, 0.04)
    t = top(case)
    bore = case[0]
    return told(case), [relative(hydraulics.depth(bore, t)), relative(hydraulics.flow(case, t)), relative(hydraulics.flow(case, mp.pi))]


@case("normal_depth", 65)
def normal(draw):
    case = pipe(draw, 0.04)
    bore, full = case[0], hydraulics.flow(case, mp.pi)
    kind, at = draw.randrange(5), mp.pi
    if kind == 0:
        share = draw.spread(1e-9, 0.999)
    elif kind < 3:
        share = draw.uniform(0.001, 0.999)
    else:  # about the full bore and the most, where there are two depths
        at = top(case)
        over = float(hydraulics.flow(case, at) / full)
        share = over * (1 - draw.spread(1e-10, 1e-2)) if kind == 3 else 1 + draw.uniform(-0.2, 1) * (over - 1)
    asked = float(full * share)
    if asked < full:
        at = mp.pi
    short = lambda t: hydraulics.flow(case, t) - asked  # noqa: E731
    lower = hydraulics.root(lambda t: mp.cbrt(hydraulics.flow(case, t) / asked) - 1, mpf(10) ** -9, at)
    h = mpf(10) ** -20
    by = (hydraulics.depth(bore, lower + h) - hydraulics.depth(bore, lower - h)) / (hydraulics.flow(case, lower + h) - hydraulics.flow(case, lower - h))
    condition = max(1, abs(asked / hydraulics.depth(bore, lower) * by))
    answers = [relative(hydraulics.depth(bore, lower), condition)]
    if asked >= full:
        answers.append(relative(hydraulics.depth(bore, hydraulics.root(short, at, mp.pi)), condition))
    else:
        answers.append(None)
    return [*told(case), asked], answers


@case("critical_depth", 65)
def critical(draw):
    bore = draw.bore()
    through = float(hydraulics.area(bore, mp.pi) * draw.spread(1e-6, 10))
    over = lambda t: mp.log(hydraulics.GRAVITY * hydraulics.area(bore, t) ** 3 / (mpf(through) ** 2 * mpf(bore[0]) * mp.sin(t)))  # noqa: E731
    t = hydraulics.root(over, mpf(10) ** -9, mp.pi - mpf(10) ** -20)
    return [*bore, through], [relative(hydraulics.depth(bore, t))]


@case("froude_and_shear", 80)
def froude(draw):
    bore = draw.bore()
    depth, through, slope = min(draw.share(), 1 - 1e-12) * bore[1], draw.spread(1e-9, 10), draw.spread(1e-6, 1)
    area, width = section.area(bore, depth), section.top_width(bore, depth)
    radius = area / section.perimeter(bore, depth)
    number = through / area / mp.sqrt(hydraulics.GRAVITY * area / width)
    return [*bore, depth, through, slope], [relative(number), relative(1000 * hydraulics.GRAVITY * radius * mpf(slope))]


def for_flow(name, of, vary, at):
    """What carries a flow: that of a size that is near, moved by what the flow is off as a double. The next term is of the order of 1e-32."""

    @case(name, 80)
    def one(draw):
        case = pipe(draw, 0)
        filling = draw.uniform(0.02, 1)
        x, h = mpf(at(case)), mpf(10) ** -25
        exact = of(vary(case, x), filling)
        if exact == 0:  # a film as thin as the wall is rough
            return one(draw)
        asked = float(exact)
        by = (of(vary(case, x * (1 + h)), filling) - of(vary(case, x * (1 - h)), filling)) / (2 * h * x)
        found = x + (asked - exact) / by
        return [*told(case), filling, asked], [relative(found)]


def filled(case, filling):
    bore = case[0]
    return hydraulics.flow(case, 2 * mp.asin(mp.sqrt(mpf(filling))) if bore else None)


for_flow("diameter_for_flow", filled, lambda case, x: ((x, x), *case[1:]), lambda case: case[0][0])
for_flow("slope_for_flow", filled, lambda case, x: (*case[:4], x), lambda case: case[4])


@case("water_viscosity")
def viscosity(draw):
    t = draw.uniform(0, 60)
    return [t], [relative(more.viscosity(t))]


@case("critical_shear")
def critical_shear(draw):
    grain = draw.spread(1e-5, 0.1)
    return [grain], [relative(more.critical_shear(grain))]


@case("waste_water_flow")
def waste_water(draw):
    units = [draw.choice([0.3, 0.5, 0.6, 0.8, 1.5, 2.0, draw.uniform(0, 3)]) for _ in range(draw.randrange(1, 60))]
    factor = draw.choice([0.5, 0.7, 1.0, 1.2])
    return [factor, *units], [relative(more.waste_water(units, factor))]


# Places


@case("place")
def place(draw):
    longitude = draw.choice([draw.uniform(-math.pi, math.pi), math.pi - draw.spread(1e-9, 1e-3), -math.pi + draw.spread(1e-9, 1e-3)])
    latitude = draw.choice([-1, 1]) * draw.choice([math.asin(draw.random()), math.pi / 2 - draw.spread(1e-9, 1e-2), draw.spread(1e-12, 1)])
    north = draw.choice([0.0, draw.uniform(-math.pi, math.pi)])
    reach, way = draw.spread(0.01, 9e4), draw.uniform(0, 2 * math.pi)
    x, y = reach * math.sin(way), reach * math.cos(way)
    lon, lat = more.place(longitude, latitude, north, x, y)
    earth = 6378137.0
    # Errors in metres on the ground.
    return [longitude, latitude, north, x, y], [(lon, 1 / (earth * float(mp.cos(lat)))), (lat, 1 / earth)]


@case("ellipse", 90)
def ellipse(draw):
    east, north = draw.spread(1e-6, 10), draw.choice([draw.spread(1e-6, 10), 1.0])
    correlation = draw.choice([draw.uniform(-1, 1), 0.0, draw.choice([-1, 1]) * (1 - draw.spread(1e-15, 1))])
    return [east, north, correlation], [relative(x) for x in more.ellipse(east, north, correlation)]


@case("tape")
def tape(draw):
    first, place = ([draw.uniform(-500, 500) for _ in range(2)] for _ in range(2))
    reach, way = draw.spread(0.11, 100), draw.uniform(0, 2 * math.pi)
    second = [first[0] + reach * math.sin(way), first[1] + reach * math.cos(way)]
    one, other, along, right = more.tape(first, second, place)
    return [*first, *second, *place], [relative(one), relative(other), (along, float(one)), (right, float(one))]


# Pools


@case("pools", 90)
def pools(draw):
    bore = draw.bore()
    n = draw.randrange(2, 10)
    stations, heights, tilts = [draw.uniform(0, 20)], [draw.uniform(0, 3)], []
    for _ in range(n):
        length = draw.uniform(0.05, 4)
        fall = length * math.sin(draw.choice([draw.uniform(-0.04, 0.05), draw.uniform(-0.04, 0.05), draw.spread(1e-12, 1, True), 0.0]))
        stations.append(stations[-1] + length)
        heights.append(heights[-1] - fall)
        tilts.append(math.asin(max(-1.0, min(1.0, (heights[-2] - heights[-1]) / (stations[-1] - stations[-2])))))
    tail = draw.choice([0.0, draw.uniform(0, 0.3)])
    water, shallow = more.water(section.mean_area, bore, stations, heights, tilts, tail)
    # A pool below a billionth of a metre is none.
    if shallow < 1e-8:
        return pools(draw)
    return [*bore, tail, float(n), *stations, *heights, *tilts], [relative(water)]


def write(job):
    name, folder, count = job
    function, mp.dps = WHOLE[name]
    draw = Draw(f"fallwise {name}")
    with open(folder / f"{name}.txt", "w") as out:
        for _ in range(count):
            arguments, answers = function(draw)
            line = [" ".join(repr(float(x)) for x in arguments)]
            for answer in answers:
                if answer is None:
                    line.append("-")
                    continue
                value, unit = answer
                near = float(value)
                line.append(f"{near!r} {float(value - near)!r} {unit!r}")
            out.write("; ".join(line) + "\n")
    return name


# The slowest first, so that none is left alone at the end.
SLOW = ["normal_depth", "most", "mean_area", "depth_for_area", "pools", "critical_depth", "perimeter_ellipse", "flow", "rounding_error_sd"]


def main():
    folder = Path(sys.argv[1])
    count = int(sys.argv[2]) if len(sys.argv) > 2 else 10_000
    folder.mkdir(parents=True, exist_ok=True)
    names = sorted(WHOLE, key=lambda name: (SLOW.index(name) if name in SLOW else len(SLOW), name))
    with Pool() as pool:
        for _ in pool.imap_unordered(write, [(name, folder, count) for name in names]):
            pass
    print(f"{len(names)} functions, {count} cases each")


if __name__ == "__main__":
    main()
