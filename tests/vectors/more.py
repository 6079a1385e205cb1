"""References of the random cases (tests/manual/cases.py) that have no golden vectors of their own; needs mpmath alone.

Each is the exact function of the double arguments. What has vectors is in section.py, path.py, hydraulics.py and networks.py.
"""

from fractions import Fraction

from mpmath import mp, mpf

# Units

FOOT = Fraction(3048, 10000)
INCH = FOOT / 12
GALLON = 231 * INCH**3
CUBIC_FOOT = FOOT**3
POUND_FORCE = Fraction("0.45359237") * Fraction("9.80665")

# What one of the unit is in SI: exact by definition (NIST SP 811, from memory).
FACTORS = {
    "ft": FOOT,
    "inch": INCH,
    "us_ft": Fraction(1200, 3937),
    "yard": 3 * FOOT,
    "mm": Fraction(1, 1000),
    "cm": Fraction(1, 100),
    "percent": Fraction(1, 100),
    "in_per_ft": Fraction(1, 12),
    "mm_per_m": Fraction(1, 1000),
    "gallon": GALLON,
    "imperial_gallon": Fraction("0.00454609"),
    "litre": Fraction(1, 1000),
    "cubic_foot": CUBIC_FOOT,
    "l_per_s": Fraction(1, 1000),
    "gal_per_min": GALLON / 60,
    "ft_per_s": FOOT,
    "lb_per_ft2": POUND_FORCE / FOOT**2,
}


def unit(name, x):
    """A number in SI."""
    if name == "deg":
        return mpf(x) * mp.pi / 180
    if name == "one_in":
        return 1 / mpf(x)
    return mpf(x) * FACTORS[name].numerator / FACTORS[name].denominator


def from_si(name, x):
    """A number in the unit."""
    if name == "deg":
        return mpf(x) * 180 / mp.pi
    if name == "one_in":
        return 1 / mpf(x)
    return mpf(x) * FACTORS[name].denominator / FACTORS[name].numerator


# Order statistics, noise


def quantile(values, p):
    """Hyndman and Fan 1996, type 7."""
    place = (len(values) - 1) * mpf(p)
    below = min(int(mp.floor(place)), len(values) - 2)
    return mpf(values[below]) + (place - below) * (mpf(values[below + 1]) - mpf(values[below]))


def ar1_mean_variance(n, rho):
    """Of the mean of n readings: the sum over all pairs, by how far they are apart."""
    r = mpf(rho)
    if rho == 1:
        return mpf(1)
    # sum over k of 2 (n - k) r^k, with the two geometric sums in closed form.
    return (n * (1 + r) / (1 - r) - 2 * r * (1 - r**n) / (1 - r) ** 2) / mpf(n) ** 2


def wander_variance(sd, length):
    x = mpf(length) / 3
    return mpf(sd) ** 2 * (2 * (x - 1 + mp.exp(-x)) / x**2 if x else 1)


def rounding_error_sd(q, s):
    """Root mean square over the places of the true value: the Fourier series of the error, to its last digit."""
    r = mpf(s) / mpf(q)
    if r < 0.02:
        # The same series summed the other way (Poisson): what is left out is below exp(-1/(4 r^2)), 1e-271.
        return mpf(q) * mp.sqrt(mpf(1) / 12 - r / mp.sqrt(mp.pi) + r * r)
    terms = int(12.5 / (2 * mp.pi * r)) + 2  # beyond, exp(-156) of the first
    return mpf(q) * mp.sqrt(mp.fsum(mp.exp(-4 * (mp.pi * k * r) ** 2) / (2 * (mp.pi * k) ** 2) for k in range(1, terms)))


# Hydraulics beside hydraulics.py


def viscosity(t):
    t = mpf(t)
    d = 20 - t
    exponent = d / (t + 96) * (mpf("1.2364") - mpf("1.37e-3") * d + mpf("5.7e-6") * d * d)
    density = 1000 * (1 - (t + mpf("288.9414")) / (mpf("508929.2") * (t + mpf("68.12963"))) * (t - mpf("3.9863")) ** 2)
    return mpf("1.002e-3") * mpf(10) ** exponent / density


def critical_shear(grain):
    return mpf("0.867") * (1000 * mpf(grain)) ** mpf("0.277")


def waste_water(units, factor):
    flow = mpf(factor) * mp.sqrt(mp.fsum(mpf(u) for u in units))
    return max(flow, *(mpf(u) for u in units)) / 1000


# Places


def ellipse(east, north, correlation):
    """Standard deviations along the axes: roots of the eigenvalues of the covariance."""
    e, n, c = mpf(east) ** 2, mpf(north) ** 2, mpf(correlation) * mpf(east) * mpf(north)
    spread = mp.sqrt(((e - n) / 2) ** 2 + c * c)
    return mp.sqrt((e + n) / 2 + spread), mp.sqrt(max(mpf(0), (e + n) / 2 - spread))


def tape(first, second, place):
    """Distances, and along and square off the line from the first mark to the second."""
    base = [mpf(b) - mpf(a) for a, b in zip(first, second)]
    to, over = ([mpf(p) - mpf(a) for a, p in zip(mark, place)] for mark in (first, second))
    length = mp.hypot(*base)
    along = (base[0] * to[0] + base[1] * to[1]) / length
    right = (base[1] * to[0] - base[0] * to[1]) / length
    return mp.hypot(*to), mp.hypot(*over), along, right


def place(longitude, latitude, grid_north, east, north):
    """Longitude and latitude of a point of the plane that touches the WGS 84 ellipsoid; latitude by Newton's steps to the last digit."""
    a, f = mpf(6378137), 1 / mpf("298.257223563")
    e2 = f * (2 - f)
    lat, g = mpf(latitude), mpf(grid_north)
    x, y = mpf(east) * mp.cos(g) + mpf(north) * mp.sin(g), mpf(north) * mp.cos(g) - mpf(east) * mp.sin(g)
    n = a / mp.sqrt(1 - e2 * mp.sin(lat) ** 2)
    away, along = n * mp.cos(lat) - y * mp.sin(lat), n * (1 - e2) * mp.sin(lat) + y * mp.cos(lat)
    p = mp.hypot(away, x)
    # The normal through the point meets the axis at -e2 N sin(lat): lat is a fixed point of this, of factor 1/150 to the step.
    found = mp.atan2(along, p * (1 - e2))
    for _ in range(60):
        s = mp.sin(found)
        before, found = found, mp.atan2(along + e2 * a / mp.sqrt(1 - e2 * s * s) * s, p)
        if abs(found - before) < mpf(10) ** (8 - mp.dps):
            break
    else:
        raise AssertionError((longitude, latitude, east, north))
    lon = mpf(longitude) + mp.atan2(x, away)
    return (lon - 2 * mp.pi if lon > mp.pi else lon + 2 * mp.pi if lon <= -mp.pi else lon), found


# Chains


def profile(lengths, tilts, scale):
    """Fall, and slope: fall over horizontal length."""
    fall = mpf(scale) * mp.fsum(mpf(l) * mp.sin(mpf(t)) for l, t in zip(lengths, tilts))
    level = mpf(scale) * mp.fsum(mpf(l) * mp.cos(mpf(t)) for l, t in zip(lengths, tilts))
    return fall, fall / level


def water(mean_area, bore, stations, heights, tilts, tailwater):
    """All water below the level that sills and tailwater hold, the outlet being the last station, and the greatest depth of the piece with
    the least that is wet; `mean_area` is that of section.py."""
    level, total, shallow = mpf(heights[-1]) + mpf(tailwater), mpf(0), mpf(1)
    for i in reversed(range(len(tilts))):
        foot, head = mpf(heights[i + 1]), mpf(heights[i])
        level = max(level, foot)
        cosine = mp.cos(mpf(tilts[i]))
        depths = (level - foot) / cosine, (level - head) / cosine
        total += mean_area(bore, *depths) * (mpf(stations[i + 1]) - mpf(stations[i]))
        shallow = min(shallow, max(depths)) if max(depths) > 0 else shallow
    return total, shallow
