"""Writes networks.json: published levelling adjustments, straight-line fits and quantiles, computed anew at 50 digits.

Needs mpmath. Run it in this folder: python networks.py

Every case holds the data, what was published (with its source; "from memory" where the page was not seen) and what the same
data give here, rounded to the nearest double. Fails if a published figure does not come out to the digits it has.

Residuals are adjusted less observed, as the published cases have them. w is the residual over its own standard deviation.
The smallest detectable error is delta_0 sd / sqrt(redundancy), delta_0 for one false alarm in a thousand and a power of 80 %.
Standard deviations are those of the observations as given, not multiplied by s0.
"""

import json
import random
from pathlib import Path

import mpmath
from mpmath import mp, mpf

mp.dps = 60
HERE = Path(__file__).parent

GAMA = "GNU Gama 1.5.09, output of gama-local for the sample of a vertical network (seen in a copy of the output)"
GHILANI = "C. D. Ghilani and P. R. Wolf, Adjustment Computations, 4th edition, chapter 12"
MAHUN = "J. Mahun, Least Squares Lite, chapters B (brute force) and E (weights), as web pages"
HEIGHTS = (
    "; heights of the benchmarks are not in the text: they follow, to the hundredth of a foot, from the residuals and heights"
    " that are, and those from Q and from R agree"
)
NIST = "NIST Statistical Reference Datasets, linear regression"


def level(text):
    """Observations from lines `from to rise [weight]`."""
    return [(a, b, *(float(x) for x in rest)) for a, b, *rest in (line.split() for line in text.strip().splitlines())]


NETWORKS = [
    {
        "name": "gama",
        "source": GAMA,
        "seen": True,
        "unit": "m",
        "fixed": {"1a": 1000.0},
        "unknown": ["4", "3", "2"],
        "sd": 0.005,
        "rows": level("1a 4 -1.225\n4 3 -0.848\n3 2 1.342\n2 1a 0.720\n1a 2 -0.724\n2 3 -1.335\n3 4 0.842\n4 1a 1.231"),
        "published": {
            "heights": [998.77513, 997.93325, 999.27487],
            "height_sds": [0.0031, 0.0035, 0.0031],
            "adjusted": [-1.22488, -0.84187, 1.34163, 0.72513, -0.72513, -1.34163, 0.84187, 1.22488],
            "adjusted_sds": [0.0031] * 8,
            "vpv": 5.865,
            "degrees_of_freedom": 5,
            "largest_w": [5, 1.68],
        },
        "remark": "published [pvv] is 146.625 in mm with weights 1, that is 5.865 over the variance; m0' 5.42 mm is 5 s0",
    },
    {
        "name": "ghilani and wolf, equal weights",
        "source": GHILANI + ", from memory",
        "seen": False,
        "unit": "ft",
        "fixed": {"X": 100.0, "Y": 107.5},
        "unknown": ["A", "B", "C"],
        "sd": 1.0,
        "rows": level("X A 5.10\nA Y 2.34\nY C -1.25\nC X -6.13\nA B -0.68\nY B -3.00\nB C 1.70"),
        "published": {
            "heights": [105.141, 104.483, 106.188],
            "residuals": [0.041, 0.019, -0.062, -0.058, 0.022, -0.017, 0.005],
            "s0": 0.050,
            "degrees_of_freedom": 4,
        },
    },
    {
        "name": "ghilani and wolf, weights 12 over miles",
        "source": GHILANI + ", from memory",
        "seen": False,
        "unit": "ft",
        "fixed": {"X": 100.0, "Y": 107.5},
        "unknown": ["A", "B", "C"],
        "rows": level("X A 5.10 3\nA Y 2.34 4\nY C -1.25 6\nC X -6.13 4\nA B -0.68 6\nY B -3.00 6\nB C 1.70 6"),
        "published": {"heights": [105.150, 104.489, 106.197], "s0": 0.107, "degrees_of_freedom": 4},
    },
    {
        "name": "ghilani and wolf, example 12.1",
        "source": GHILANI + ", example 12.1, from memory (height of A seen)",
        "seen": False,
        "unit": "m",
        "fixed": {"A": 437.596},
        "unknown": ["B", "C", "D"],
        "sds": [0.006, 0.004, 0.005, 0.003, 0.004, 0.012],
        "rows": level("A B 10.509\nB C 5.360\nC D -8.523\nD A -7.348\nB D -3.167\nA C 15.881"),
        "published": {"heights": [448.1087, 453.4685, 444.9436], "degrees_of_freedom": 3},
        "remark": "s0 is remembered as 0.66; the data give 0.65",
    },
    {
        "name": "mahun, no line between the points",
        "source": MAHUN + HEIGHTS,
        "seen": True,
        "unit": "ft",
        "fixed": {"A": 806.52, "B": 818.32, "C": 820.12, "D": 824.04},
        "unknown": ["Q", "R"],
        "sd": 1.0,
        "rows": level("A Q 8.91\nB Q -2.92\nC Q -4.67\nD Q -8.66\nA R -3.56\nC R -17.12\nD R -21.10"),
        "published": {
            "residuals": [-0.015, 0.015, -0.035, 0.035, 0.007, -0.033, 0.027],
            "vpv": 0.004767,
            "degrees_of_freedom": 5,
        },
    },
    {
        "name": "mahun, equal weights",
        "source": MAHUN + HEIGHTS,
        "seen": True,
        "unit": "ft",
        "fixed": {"A": 806.52, "B": 818.32, "C": 820.12, "D": 824.04},
        "unknown": ["Q", "R"],
        "sd": 1.0,
        "rows": level("A Q 8.91\nB Q -2.92\nC Q -4.67\nD Q -8.66\nA R -3.56\nC R -17.12\nD R -21.10\nQ R -12.47"),
        "published": {"heights": [815.418, 802.962], "degrees_of_freedom": 6},
        "remark": "published s0 is 0.028, with 0.013 and 0.014 for the heights; the data give 0.029, 0.013 and 0.015",
    },
    {
        "name": "mahun, weights 12 over setups",
        "source": MAHUN + HEIGHTS,
        "seen": True,
        "unit": "ft",
        "fixed": {"A": 806.52, "B": 818.32, "C": 820.12, "D": 824.04},
        "unknown": ["Q", "R"],
        "rows": level(
            "A Q 8.91 4\nB Q -2.92 6\nC Q -4.67 12\nD Q -8.66 4\nA R -3.56 4\nC R -17.12 3\nD R -21.10 6\nQ R -12.47 4"
        ),
        "published": {"s0": 0.067, "scaled_sds": [0.012, 0.016], "degrees_of_freedom": 6},
        "remark": "published heights are 815.424 and 802.958, a thousandth less than the data give: rounding on the way",
    },
]


def normal_quantile(p):
    """Newton on the distribution function."""
    x = mpf(0)
    for _ in range(200):
        step = (mpmath.ncdf(x) - p) / mpmath.npdf(x)
        step = max(min(step, mpf(1) / 2), -mpf(1) / 2)
        x -= step
        if abs(step) < mpf(10) ** -55:
            return x
    raise AssertionError(p)


def delta_0(alpha, power):
    """Shift of a normal variable that a two-sided test finds with that power (the far tail left out, as Baarda does)."""
    return normal_quantile(1 - mpf(alpha) / 2) + normal_quantile(mpf(power))


def survival(x, degrees):
    """Upper tail of chi-square."""
    with mp.workdps(80):
        a, half = mpf(degrees) / 2, mpf(x) / 2
        value = mpmath.gammainc(a, half, mpmath.inf, regularized=True)
    return +value


def finite_survival(x, degrees):
    """The same by a finite sum: another way, to check the first."""
    with mp.workdps(80):
        half = mpf(x) / 2
        if degrees % 2 == 0:
            total, term = mpf(0), mpmath.exp(-half)
            for k in range(degrees // 2):
                total, term = total + term, term * half / (k + 1)
            return +total
        total = mpmath.erfc(mpmath.sqrt(half))
        term = mpmath.exp(-half) * mpmath.sqrt(half) / mpmath.gamma(mpf(3) / 2)
        for k in range((degrees - 1) // 2):
            total, term = total + term, term * half / (k + mpf(3) / 2)
        return +total


def chi_square_quantile(p, degrees):
    """Bisection on the upper tail, then Newton."""
    low, high = mpf(0), mpf(10) * (degrees + 10)
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if finite_survival(middle, degrees) > 1 - p else (low, middle)
    x = (low + high) / 2
    for _ in range(6):
        density = mpmath.exp((mpf(degrees) / 2 - 1) * mpmath.log(x) - x / 2) / (
            2 ** (mpf(degrees) / 2) * mpmath.gamma(mpf(degrees) / 2)
        )
        x += (finite_survival(x, degrees) - (1 - p)) / density
    return x


def adjust(net):
    """Heights and all that goes with them."""
    rows, unknown = net["rows"], net["unknown"]
    n, u = len(rows), len(unknown)
    if "sd" in net:
        variances = [mpf(net["sd"]) ** 2] * n
    elif "sds" in net:
        variances = [mpf(s) ** 2 for s in net["sds"]]
    else:
        variances = [1 / mpf(row[3]) for row in rows]
    a, right = mpmath.zeros(n, u), mpmath.zeros(n, 1)
    for i, row in enumerate(rows):
        right[i] = mpf(row[2])
        for point, sign in ((row[0], -1), (row[1], 1)):
            if point in net["fixed"]:
                right[i] -= sign * mpf(net["fixed"][point])
            else:
                a[i, unknown.index(point)] += sign
    weights = mpmath.diag([1 / v for v in variances])
    cofactor = (a.T * weights * a) ** -1
    x = cofactor * a.T * weights * right
    v = a * x - right
    share = [1 - (a[i, :] * cofactor * a[i, :].T)[0] / variances[i] for i in range(n)]
    vpv = sum(v[i] ** 2 / variances[i] for i in range(n))
    d0 = delta_0("0.001", "0.8")
    sds = [mpmath.sqrt(q) for q in variances]
    return sds, {
        "heights": list(x),
        "height_sds": [mpmath.sqrt(cofactor[i, i]) for i in range(u)],
        "adjusted": [mpf(rows[i][2]) + v[i] for i in range(n)],
        "adjusted_sds": [mpmath.sqrt((a[i, :] * cofactor * a[i, :].T)[0]) for i in range(n)],
        "residuals": list(v),
        "redundancy": share,
        "w": [v[i] / (sds[i] * mpmath.sqrt(share[i])) for i in range(n)],
        "smallest_detectable": [d0 * sds[i] / mpmath.sqrt(share[i]) for i in range(n)],
        "vpv": vpv,
        "degrees_of_freedom": n - u,
        "s0": mpmath.sqrt(vpv / (n - u)),
        "p_value": survival(vpv, n - u),
    }


def agree(value, published, name):
    """Within 0.6 of the last digit published (a figure may have been rounded twice)."""
    digits = repr(published).split("e")[0]
    unit = mpf(10) ** -len(digits.split(".")[1]) if "." in digits else mpf(1)
    assert abs(value - mpf(digits)) <= 0.6 * unit, (name, mpmath.nstr(value, 12), published)


def check(net, found):
    """Published figures against those found here."""
    for key, value in net["published"].items():
        if key == "largest_w":
            index = max(range(len(found["w"])), key=lambda i: abs(found["w"][i]))
            assert index == value[0]
            agree(abs(found["w"][index]), value[1], net["name"])
        elif key == "degrees_of_freedom":
            assert found[key] == value
        elif key == "scaled_sds":
            for sd, published in zip(found["height_sds"], value):
                agree(sd * found["s0"], published, net["name"])
        elif isinstance(value, list):
            for one, published in zip(found[key], value, strict=True):
                agree(one, published, (net["name"], key))
        else:
            agree(found[key], value, (net["name"], key))


NORRIS_Y = """0.1 338.8 118.1 888.0 9.2 228.1 668.5 998.5 449.1 778.9 559.2 0.3 0.1 778.1 668.8 339.3 448.9 10.8 557.7 228.3
998.0 888.8 119.6 0.3 0.6 557.6 339.3 888.0 998.5 778.9 10.2 117.6 228.9 668.4 449.2 0.2"""
NORRIS_X = """0.2 337.4 118.2 884.6 10.1 226.5 666.3 996.3 448.6 777.0 558.2 0.4 0.6 775.5 666.9 338.0 447.5 11.6 556.0 228.1
995.8 887.6 120.2 0.3 0.3 556.8 339.1 887.2 999.0 779.0 11.1 118.3 229.2 669.1 448.9 0.5"""

FITS = [
    {
        "name": "Norris",
        "source": NIST + ", Norris (seen in public test files)",
        "powers": [0, 1],
        "x": [float(v) for v in NORRIS_X.split()],
        "y": [float(v) for v in NORRIS_Y.split()],
        "published": {
            "coefficients": [-0.262323073774029, 1.00211681802045],
            "coefficient_sds": [0.232818234301152, 0.000429796848199937],
            "residual_sd": 0.884796396144373,
            "sum_of_squares": 26.6173985294224,
        },
    },
    {
        "name": "NoInt1",
        "source": NIST + ", NoInt1, from memory",
        "powers": [1],
        "x": [float(v) for v in range(60, 71)],
        "y": [float(v) for v in range(130, 141)],
        "published": {
            "coefficients": [2.07438016528926],
            "coefficient_sds": [0.0165289256198347],
            "residual_sd": 3.56753034006338,
        },
    },
    {
        "name": "Wampler1",
        "source": NIST + ", Wampler1, from memory",
        "powers": [0, 1, 2, 3, 4, 5],
        "x": [float(v) for v in range(21)],
        "y": [float(sum(v**k for k in range(6))) for v in range(21)],
        "published": {"coefficients": [1.0] * 6, "residual_sd": 0.0},
    },
]


def fit(case):
    """Least squares of y on powers of x; decimals are taken as printed, as the certified values do."""
    x, y = ([mpf(repr(v)) for v in case[key]] for key in ("x", "y"))
    a = mpmath.matrix([[v**k for k in case["powers"]] for v in x])
    right = mpmath.matrix(y)
    cofactor = (a.T * a) ** -1
    b = cofactor * a.T * right
    v = a * b - right
    squares = sum(e**2 for e in v)
    squares = mpf(0) if squares < mpf(10) ** -30 else squares
    sd = mpmath.sqrt(squares / (len(x) - len(b)))
    return {
        "coefficients": list(b),
        "coefficient_sds": [sd * mpmath.sqrt(cofactor[i, i]) for i in range(len(b))],
        "residual_sd": sd,
        "sum_of_squares": squares,
    }


CHI_SQUARE = {
    1: [0.0010, 0.0039, 3.8415, 5.0239, 6.6349, 10.8276],
    2: [0.0506, 0.1026, 5.9915, 7.3778, 9.2103, 13.8155],
    3: [0.2158, 0.3518, 7.8147, 9.3484, 11.3449, 16.2662],
    4: [0.4844, 0.7107, 9.4877, 11.1433, 13.2767, 18.4668],
    5: [0.8312, 1.1455, 11.0705, 12.8325, 15.0863, 20.5150],
    6: [1.2373, 1.6354, 12.5916, 14.4494, 16.8119, 22.4577],
    10: [3.2470, 3.9403, 18.3070, 20.4832, 23.2093, 29.5883],
    20: [9.5908, 10.8508, 31.4104, 34.1696, 37.5662, 45.3147],
    30: [16.7908, 18.4927, 43.7730, 46.9792, 50.8922, 59.7031],
}
PROBABILITIES = [0.025, 0.05, 0.95, 0.975, 0.99, 0.999]
TESTS = [  # alpha, power, two-sided quantile, delta_0, lambda_0
    (0.001, 0.8, 3.290527, 4.132148, 17.074647),
    (0.01, 0.8, 2.575829, 3.417451, 11.678968),
    (0.05, 0.8, 1.959964, 2.801585, 7.84888),
]


def quantiles():
    """Standard tables, computed again."""
    chi = []
    for degrees, row in CHI_SQUARE.items():
        for p, published in zip(PROBABILITIES, row):
            x = chi_square_quantile(mpf(repr(p)), degrees)
            assert abs(x - mpf(repr(published))) <= mpf("0.00005001"), (degrees, p)
            chi.append({"degrees": degrees, "probability": p, "published": published, "computed": x})
    tests = []
    for alpha, power, w, d0, l0 in TESTS:
        found = [normal_quantile(1 - mpf(repr(alpha)) / 2), delta_0(repr(alpha), repr(power))]
        found.append(found[1] ** 2)
        for value, published in zip(found, (w, d0, l0)):
            agree(value, published, alpha)
        published = {"w": w, "delta_0": d0, "lambda_0": l0}
        computed = dict(zip(("w", "delta_0", "lambda_0"), found))
        tests.append({"alpha": alpha, "power": power, "published": published, "computed": computed})
    return chi, tests


def survivals():
    """200 upper tails: every few degrees, from far below to far above the mean."""
    draw = random.Random(9)
    degrees = list(range(1, 41)) + [draw.randint(41, 500) for _ in range(158)] + [499, 500]
    rows = []
    for i, d in enumerate(degrees):
        kind = i % 5
        if kind == 0:
            x = d * draw.uniform(0.5, 1.5)
        elif kind == 1:
            x = max(1e-3, d + (2 * d) ** 0.5 * draw.uniform(-4, 6))
        elif kind == 2:
            x = d * 10 ** draw.uniform(-6, -0.3)
        elif kind == 3:
            x = d + draw.uniform(100, 900)
        else:
            x = float(d) + draw.choice([0.0, 1.0, -0.5])
        value, other = survival(x, d), finite_survival(x, d)
        assert abs(value / other - 1) < mpf(10) ** -50, (x, d)
        assert value > mpf(10) ** -300
        rows.append([d, x, float(value)])
    return rows


def doubles(value):
    """Numbers of many digits to the nearest double, in lists and dictionaries."""
    if isinstance(value, dict):
        return {key: doubles(v) for key, v in value.items()}
    if isinstance(value, (list, tuple)):
        return [doubles(v) for v in value]
    return float(value) if isinstance(value, mpf) else value


def main():
    networks = []
    for net in NETWORKS:
        sds, found = adjust(net)
        check(net, found)
        rows = [{"from": r[0], "to": r[1], "rise": r[2], "sd": s} for r, s in zip(net["rows"], sds)]
        entry = {key: net[key] for key in ("name", "source", "seen", "unit", "fixed", "unknown")}
        networks.append(
            {
                **entry,
                "observations": rows,
                "published": net["published"],
                "remark": net.get("remark", ""),
                "computed": found,
            }
        )
    fits = []
    for case in FITS:
        found = fit(case)
        for key, published in case["published"].items():
            pairs = zip(found[key], published) if isinstance(published, list) else [(found[key], published)]
            for value, one in pairs:
                assert abs(value - mpf(repr(one))) <= mpf("6e-15") * abs(value), (case["name"], key)
        fits.append({**case, "computed": found})
    chi, tests = quantiles()
    parts = {
        "networks": networks,
        "fits": fits,
        "chi_square_quantiles": chi,
        "tests": tests,
        "chi_square_survival": survivals(),
    }
    lines = [f' "source": "networks.py with mpmath {mpmath.__version__}"']
    for key, rows in parts.items():
        lines.append(f' "{key}": [\n  ' + ",\n  ".join(json.dumps(doubles(row)) for row in rows) + "\n ]")
    (HERE / "networks.json").write_text("{\n" + ",\n".join(lines) + "\n}\n")


if __name__ == "__main__":
    main()
