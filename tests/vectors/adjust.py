"""Writes adjust.json: adjustments of a chain with ties, solved in the full space of their unknowns at 50 digits.

Needs numpy, mpmath, python-flint and gtsam (versions are written into the file). Run it in this folder: python adjust.py
(about 4 minutes; `python adjust.py 20` makes the first 20 problems only and prints what it found).

Every problem is solved three times, by code that shares as little as can be:

* `Exact`: Gauss-Newton in the full space with Lagrange multipliers for what holds exactly. Derivatives by forward
  differentiation, numbers are balls of 200 bits (python-flint), so that the digits written are known to be right.
* `walk`: positions by walking along unit vectors in space, derivatives by complex steps, solved by a factor graph
  (gtsam) in doubles from another start.
* for some problems, `walk` again with mpmath at 80 digits, derivatives by central differences: the gradient must vanish at
  the answer, the standard deviations come from a matrix inverted there, and profile, plan and chi-square must be the
  doubles nearest to what is found there.

The model. A segment k has the tilt t_k, the setup r the sign s_r and the offset b_r = zero + seating_r: means are
t_k + s_r b_r + error. True length is (1 + c) times length on the counter. The elevation falls by (1 + c) sin(t) a metre of
station, rises at steps and wanders with the lips. A bend is an arc of the noted angle: its directions are
(sin((1-f)b) u1 + sin(fb) u2)/sin b with the noted b; u2 comes from its own tilt and the azimuth after the turn, which comes
from the estimated angle of the bend. A place is evaluated at its station (a taped one at b_0 + (taped - b_0)/(1 + c)) plus
its own error. Lips are a Brownian path on the stations as they are written (for a depth, less `behind_m`); taped places
occur only without lips, where that needs no choice.
"""

import json
import math
import random
import sys
import tempfile
from importlib.metadata import version
from pathlib import Path

import flint
import gtsam
import mpmath
import numpy as np
from flint import arb, arb_mat

flint.ctx.prec = 200
COUNT = 500
HERE = Path(__file__).parent


# ---------------------------------------------------------------------------------------------------------------- #
# What a tie says: shared by all the ways to solve.
# ---------------------------------------------------------------------------------------------------------------- #


def places(known):
    """Names of the places of a tie, in order."""
    return [name for name in ("from", "to", "at", "edge") if isinstance(known.get(name), dict)]


def behind(known):
    return known.get("behind_m", 0.0)


def equations(known):
    """What a tie says: list of (quantity, terms that add up to its value, standard deviations to be combined)."""
    kind = known["kind"]
    if kind == "invert":
        return [("height_at", [known["elevation_m"]], [known["sd_m"]])]
    if kind == "height_difference":
        return [("rise_from_to", [known["rise_m"]], [known["sd_m"]])]
    if kind == "length":
        return [("length", [known["length_m"]], [known["sd_m"]])]
    if kind == "level_check":
        return [("zero", [known["reading_rad"], -known["surface_rad"]], [known["sd_rad"]])]
    if kind == "reversal_check":
        half = [known["first_rad"] / 2, known["second_rad"] / 2]  # halving is exact
        return [("zero", half, [known["sd_rad"] / 2, known["sd_rad"] / 2])]
    if kind == "water_level":
        return [("rise_from_to", [], [known["level_sd_m"]] * 2)]
    if kind == "water_depth":
        return [("rise_at_edge", [known["depth_m"]], [known["sd_m"], known["level_sd_m"]])]
    if kind == "depth":
        return [("transmitter", [known["ground_m"], -known["depth_m"]], [known["sd_m"], known["ground_sd_m"]])]
    if kind == "plan":
        return [(q, [known[q + "_m"]], [known["sd_m"]]) for q in ("east", "north")]
    if kind == "azimuth":
        return [("azimuth", [known["azimuth_rad"]], [known["sd_rad"]])]
    raise AssertionError(kind)


HEIGHTS = ("invert", "height_difference", "water_level", "water_depth", "depth")


def lip_stations(problem, outputs):
    """Exact stations (fractions of flint) at which lips are unknown, growing."""
    found = set()
    for tie in problem["ties"]:
        known = tie["known"]
        if known["kind"] in HEIGHTS:
            for name in places(known):
                found.add(exact(known[name]["station_m"]) - exact(behind(known)))
    found.update(exact(s) for s in outputs)
    return sorted(found)


def exact(x):
    """A double as a fraction."""
    top, bottom = float(x).as_integer_ratio()
    return flint.fmpq(top, bottom)


def datum(problem):
    """What the ties determine of height, position and direction, and how many degrees of freedom that takes."""
    kinds = [tie["known"]["kind"] for tie in problem["ties"]]
    height = any(k in ("invert", "depth") for k in kinds)
    plans, directions = kinds.count("plan"), kinds.count("azimuth")
    direction = directions > 0 or plans > 1
    taken = int(height) + 2 * (plans > 0) + direction
    return {"height": height, "position": plans > 0 and direction, "direction": direction, "plans": plans, "taken": taken}


# ---------------------------------------------------------------------------------------------------------------- #
# First geometry: sums over pieces, forward differentiation, balls.
# ---------------------------------------------------------------------------------------------------------------- #


class Dual:
    """A number and its derivatives with respect to the unknowns."""

    __slots__ = ("v", "g")

    def __init__(self, v, g=None):
        self.v, self.g = v, g or {}

    def add(self, other, factor=1):
        """Adds a multiple of another in place."""
        self.v = self.v + factor * other.v
        for key, d in other.g.items():
            self.g[key] = self.g[key] + factor * d if key in self.g else factor * d
        return self

    def copy(self):
        return Dual(self.v, dict(self.g))

    def times(self, other):
        out = Dual(self.v * other.v, {k: d * other.v for k, d in self.g.items()})
        for key, d in other.g.items():
            out.g[key] = out.g[key] + self.v * d if key in out.g else self.v * d
        return out

    def of(self, value, slope):
        return Dual(value, {k: d * slope for k, d in self.g.items()})

    def sin(self):
        return self.of(self.v.sin(), self.v.cos())

    def cos(self):
        return self.of(self.v.cos(), -self.v.sin())

    def sqrt(self):
        root = self.v.sqrt()
        return self.of(root, 1 / (2 * root))

    def asin(self):
        return self.of(self.v.asin(), 1 / (1 - self.v * self.v).sqrt())

    def inverse(self):
        return self.of(1 / self.v, -1 / (self.v * self.v))

    def half(self):
        return self.of(self.v / 2, arb(0.5))


class Exact:
    """The unknowns of a problem, its equations and its answer."""

    def __init__(self, problem, outputs):
        self.problem, self.outputs = problem, outputs
        p = problem
        self.breaks = [arb(b) for b in p["breaks_m"]]
        self.b0 = self.breaks[0]
        self.has = datum(p)
        self.lips = lip_stations(p, outputs) if p["lip_variance_m"] > 0 else []
        self.names, self.start, self.priors = [], {}, {}  # priors: name -> (mean, variance)
        n = len(self.breaks) - 1
        for k in range(n):
            self.unknown(("tilt", k))
        self.normal(("zero",), p["zero_rad"], p["zero_sd_rad"])
        for r in range(len(p["setups"])):
            self.normal(("seating", r), 0.0, p["seating_sd_rad"])
        self.normal(("c",), p["counter_scale"], p["counter_scale_sd"])
        for j, step in enumerate(p["steps"]):
            self.normal(("rise", j), step["rise_m"], step["rise_sd_m"])
        for j, bend in enumerate(p["bends"]):
            self.normal(("deflection", j), bend["deflection_rad"], bend["deflection_sd_rad"])
        for name, known in (("e0", self.has["height"]), ("east0", self.has["plans"]), ("north0", self.has["plans"])):
            self.unknown((name,)) if known else self.fixed((name,))
        self.unknown(("azimuth0",)) if self.has["direction"] else self.fixed(("azimuth0",))
        for i, tie in enumerate(p["ties"]):
            for name in places(tie["known"]):
                self.normal(("error", i, name), 0.0, tie["known"][name]["sd_m"])
        before = exact(p["breaks_m"][0])
        for i, station in enumerate(self.lips):
            if station > before:
                self.names.append(("lip", i))
                self.priors[("lip", i)] = (arb(0), arb(p["lip_variance_m"]) * arb(station - before))
            self.start[("lip", i)] = arb(0)
            before = station
        self.index = {name: i for i, name in enumerate(self.names)}
        self.lay_out()

    def unknown(self, name):
        self.names.append(name)

    def fixed(self, name, value=0.0):
        self.start[name] = arb(value)

    def normal(self, name, mean, sd):
        self.start[name] = arb(mean)
        if sd > 0:
            self.names.append(name)
            self.priors[name] = (arb(mean), arb(sd) * arb(sd))

    def lay_out(self):
        """Straight pieces ('straight', from, to, segment, leg) and arcs ('arc', from, to, bend, segment, leg)."""
        p = self.problem
        n = len(self.breaks) - 1
        at_break = {p["breaks_m"].index(b["station_m"]): j for j, b in enumerate(p["bends"])}
        self.pieces, leg, start = [], 0, self.breaks[0]
        self.legs = []  # bend before each leg, and the segment before that bend
        for k in range(n):
            j = at_break.get(k + 1)
            if j is None:
                self.pieces.append(("straight", start, self.breaks[k + 1], k, leg))
                start = self.breaks[k + 1]
                continue
            half = arb(p["bends"][j]["radius_m"]) * abs(arb(p["bends"][j]["deflection_rad"])) / 2
            self.pieces.append(("straight", start, self.breaks[k + 1] - half, k, leg))
            start = self.breaks[k + 1] + half
            self.pieces.append(("arc", self.breaks[k + 1] - half, start, k, leg, j))
            self.legs.append((j, k))
            leg += 1

    def set(self, values):
        """Takes values of all parameters and computes what everything needs."""
        self.x = {name: Dual(v, {self.index[name]: arb(1)} if name in self.index else {}) for name, v in values.items()}
        n = len(self.breaks) - 1
        tilts = [self.x[("tilt", k)] for k in range(n)]
        self.sin, self.cos = [t.sin() for t in tilts], [t.cos() for t in tilts]
        self.scale = Dual(arb(1)).add(self.x[("c",)])
        azimuth = self.x[("azimuth0",)].copy()
        self.azimuths = [azimuth]
        for j, k in self.legs:
            beta = self.x[("deflection", j)]
            change = tilts[k + 1].copy().add(tilts[k], -1).half().sin()
            top = beta.half().sin()
            top = top.times(top).add(change.times(change), -1)
            ratio = top.times(self.cos[k].times(self.cos[k + 1]).inverse())
            sign = 1 if self.problem["bends"][j]["deflection_rad"] > 0 else -1
            azimuth = azimuth.copy().add(ratio.sqrt().asin(), 2 * sign)
            self.azimuths.append(azimuth)
        self.level = [(a.sin(), a.cos()) for a in self.azimuths]

    def shares(self, station):
        """Of each segment and leg, how much of its direction is passed up to the station (a Dual): [(segment, leg, share)]."""
        out = []
        for piece in self.pieces:
            kind, start, end, k, leg = piece[:5]
            if not station.v > start:
                break
            inside = station.v < end
            if kind == "straight":
                length = station.copy().add(Dual(start), -1) if inside else Dual(end - start)
                out.append((k, leg, length))
                continue
            b = abs(arb(self.problem["bends"][piece[5]]["deflection_rad"]))
            g = (station.v - start) / (end - start) if inside else arb(1)
            assert not (inside and station.g), "a place with an error on an arc"
            passed = g * (end - start) * (g * b / 2).sin() / (g * b / 2) / b.sin()
            out.append((k, leg, Dual(passed * ((1 - g / 2) * b).sin())))
            out.append((k + 1, leg + 1, Dual(passed * (g * b / 2).sin())))
        return out

    def height(self, station, nominal):
        """Elevation; lips belong to the station as written."""
        fall = Dual(arb(0))
        for k, _, share in self.shares(station):
            fall.add(share.times(self.sin[k]))
        out = self.x[("e0",)].copy().add(fall.times(self.scale), -1)
        for j, step in enumerate(self.problem["steps"]):
            if station.v > arb(step["station_m"]):
                out.add(self.x[("rise", j)])
        for i, lip in enumerate(self.lips):
            if lip <= nominal:
                out.add(self.x[("lip", i)])
        return out

    def plan(self, station, which):
        out = Dual(arb(0))
        for k, leg, share in self.shares(station):
            out.add(share.times(self.cos[k]).times(self.level[leg][which]))
        return self.x[(("east0", "north0")[which],)].copy().add(out.times(self.scale))

    def segment(self, station):
        for piece in self.pieces:
            if station.v < piece[2]:
                assert piece[0] == "straight"
                return piece[3], piece[4]
        raise AssertionError("beyond the end")

    def place(self, i, name):
        known = self.problem["ties"][i]["known"]
        at = known[name]
        if at["taped"]:
            station = Dual(self.b0).add(self.scale.inverse(), arb(at["station_m"]) - self.b0)
        else:
            station = Dual(arb(at["station_m"]))
        station.add(self.x[("error", i, name)]).add(Dual(arb(behind(known))), -1)
        return station, exact(at["station_m"]) - exact(behind(known))

    def quantity(self, i, which):
        if which == "zero":
            return self.x[("zero",)]
        known = self.problem["ties"][i]["known"]
        if which == "length":
            return Dual(arb(0)).add(self.scale, arb(known["to_m"]) - arb(known["from_m"]))
        if which == "rise_from_to" or which == "rise_at_edge":
            first, second = which.split("_")[1:]
            return self.height(*self.place(i, second)).add(self.height(*self.place(i, first)), -1)
        station, nominal = self.place(i, "at")
        if which == "height_at":
            return self.height(station, nominal)
        if which == "transmitter":
            return self.height(station, nominal).add(self.cos[self.segment(station)[0]], arb(known["above_m"]))
        if which == "azimuth":
            return self.azimuths[self.segment(station)[1]]
        return self.plan(station, ("east", "north").index(which))

    def rows(self):
        """Equations at the values set: (misfit, derivatives of the quantity, variance), ties last, and of which tie."""
        out = []
        for k, r, mean, sd in self.problem["means"]:
            q = self.x[("tilt", k)].copy()
            sign = int(self.problem["setups"][r])
            q.add(self.x[("zero",)], sign).add(self.x[("seating", r)], sign)
            out.append((arb(mean) - q.v, q.g, arb(sd) * arb(sd), None))
        for name, (mean, variance) in self.priors.items():
            out.append((mean - self.x[name].v, {self.index[name]: arb(1)}, variance, None))
        for i, tie in enumerate(self.problem["ties"]):
            for which, value, sds in equations(tie["known"]):
                q = self.quantity(i, which)
                misfit = sum((arb(v) for v in value), arb(0)) - q.v
                if which == "azimuth":
                    misfit -= 2 * arb.pi() * round(float(misfit) / (2 * math.pi))
                out.append((misfit, q.g, sum((arb(s) * arb(s) for s in sds), arb(0)), i))
        return out

    def system(self, multipliers):
        """The matrix with multipliers, and the right-hand side."""
        rows = self.rows()
        n = len(self.names)
        held = [row for row in rows if row[2] == 0]
        size = n + len(held)
        a = [[arb(0)] * size for _ in range(size)]
        right = [arb(0)] * size
        for misfit, g, variance, _ in rows:
            if variance == 0:
                continue
            items = list(g.items())
            for i, d in items:
                w = d / variance
                right[i] += w * misfit
                for j, e in items:
                    a[i][j] += w * e
        for h, (misfit, g, _, _) in enumerate(held):
            right[n + h] = misfit
            for i, d in g.items():
                a[i][n + h] = a[n + h][i] = d
                right[i] -= d * multipliers[h]
        return arb_mat(a), right, rows

    def solve(self, guess):
        """Gauss-Newton to rest. `guess`: starting values of what has no prior. Returns values, inverse, rows, steps."""
        values = dict(self.start)
        values.update({name: arb(v) for name, v in guess.items() if name in self.index or name in values})
        for r in range(len(self.problem["setups"])):
            values.setdefault(("seating", r), arb(0))
        held = sum(1 for t in self.problem["ties"] for e in equations(t["known"]) if not any(e[2]))
        multipliers = [arb(0)] * held
        n = len(self.names)
        for step in range(1, 80):
            self.set(values)
            matrix, right, rows = self.system(multipliers)
            move = matrix.solve(arb_mat(len(right), 1, right))
            for i, name in enumerate(self.names):
                values[name] = (values[name] + move[i, 0]).mid()
            multipliers = [(m + move[n + h, 0]).mid() for h, m in enumerate(multipliers)]
            # In units of what an unknown's own equations allow; 1e-32 of that is far below any sd written.
            typical = [1 / float(matrix[i, i]) ** 0.5 if float(matrix[i, i]) > 0 else 1.0 for i in range(n)]
            if max(abs(float(move[i, 0])) / typical[i] for i in range(n)) < 1e-32:
                break
        else:
            raise Refused("no rest")
        self.set(values)
        matrix, right, rows = self.system(multipliers)
        return values, matrix.inv(), rows, step


class Refused(Exception):
    """A problem drawn that is not kept."""


def chi_square(rows):
    return sum((r[0] * r[0] / r[2] for r in rows if not r[2] == 0), arb(0))


def propagate(inverse, g):
    items = list(g.items())
    total = arb(0)
    for i, d in items:
        for j, e in items:
            total += d * e * inverse[i, j]
    return total


class Digits:
    """Balls to doubles, and how wide the widest ball was."""

    worst = 0.0

    @classmethod
    def number(cls, ball, sd=None):
        """A value; without an sd (held exactly) its digits are counted from 1e-6 at least."""
        reference = sd or max(abs(float(ball)), 1e-6)
        if abs(float(ball)) < 1e-30:
            return 0.0
        cls.worst = max(cls.worst, float(ball.rad()) / reference)
        return float(ball.mid())

    @classmethod
    def sd(cls, variance):
        if float(variance.mid()) < 1e-40:
            return 0.0  # held exactly
        cls.worst = max(cls.worst, float(variance.rad() / variance.mid()))
        return float(variance.mid().sqrt())


def answer(problem, outputs, plan_outputs, guess):
    """The answer as it is written, and the solver for further checks."""
    model = Exact(problem, outputs)
    values, inverse, rows, steps = model.solve(guess)

    def figure(dual):
        sd = Digits.sd(propagate(inverse, dual.g))
        return Digits.number(dual.v, sd or None), sd

    def pair(out, name, unit, duals):
        figures = [figure(d) for d in duals]
        out[f"{name}_{unit}" if unit else name] = [f[0] for f in figures]
        out[f"{name}_sd_{unit}" if unit else f"{name}_sd"] = [f[1] for f in figures]

    n = len(problem["breaks_m"]) - 1
    out = {}
    pair(out, "tilt", "rad", [model.x[("tilt", k)] for k in range(n)])
    pair(
        out, "offset", "rad", [model.x[("zero",)].copy().add(model.x[("seating", r)]) for r in range(len(problem["setups"]))]
    )
    out["zero_rad"], out["zero_sd_rad"] = figure(model.x[("zero",)])
    out["counter_scale"], out["counter_scale_sd"] = figure(model.x[("c",)])
    pair(out, "rise", "m", [model.x[("rise", j)] for j in range(len(problem["steps"]))])
    pair(out, "deflection", "rad", [model.x[("deflection", j)] for j in range(len(problem["bends"]))])

    heights = [model.height(Dual(arb(s)), exact(s)) for s in outputs]
    profile = {"station_m": outputs}
    pair(profile, "fall", "m", [model.x[("e0",)].copy().add(h, -1) for h in heights])
    if model.has["height"]:
        pair(profile, "elevation", "m", heights)
    out["profile"] = profile
    if problem["plan"]:
        plan = {"station_m": plan_outputs}
        stations = [Dual(arb(s)) for s in plan_outputs]
        if model.has["position"]:
            pair(plan, "east", "m", [model.plan(s, 0) for s in stations])
            pair(plan, "north", "m", [model.plan(s, 1) for s in stations])
        if model.has["direction"]:
            pair(plan, "azimuth", "rad", [model.azimuths[model.segment(s)[1]] for s in stations])
            balls = [model.azimuths[model.segment(s)[1]].v for s in stations]
            plan["azimuth_rad"] = [float(a - 2 * arb.pi() * math.floor(float(a) / (2 * math.pi))) for a in balls]
        out["plan"] = plan

    out["ties"] = tie_answers(model, inverse, rows)

    bare = dict(problem, ties=[])
    _, _, bare_rows, _ = Exact(bare, outputs).solve(guess)
    total, without = chi_square(rows), chi_square(bare_rows)
    out["chi_square"] = Digits.number(total - without)
    out["chi_square_without_ties"] = Digits.number(without, 1.0)
    count = sum(1 for r in rows if r[3] is not None)
    out["degrees_of_freedom"] = count - model.has["taken"]
    return out, model, values, inverse, rows, steps


def tie_answers(model, inverse, rows):
    """Of each tie: errors of its places; of each of its equations what is left, and how it is checked by everything else."""
    out = []
    for i, tie in enumerate(model.problem["ties"]):
        known = tie["known"]
        entry = {}
        errors = [model.x[("error", i, name)] for name in places(known)]
        entry["station_error_m"] = [Digits.number(e.v, 1e-3) for e in errors]
        entry["station_error_sd_m"] = [Digits.sd(propagate(inverse, e.g)) if e.g else 0.0 for e in errors]
        own = {
            model.index[("error", i, name)]: arb(known[name]["sd_m"]) * arb(known[name]["sd_m"])
            for name in places(known)
            if known[name]["sd_m"] > 0
        }
        entry["residual"], entry["sd"], entry["redundancy"], entry["standardised"] = [], [], [], []
        for misfit, g, variance, _ in (r for r in rows if r[3] == i):
            entry["residual"].append(0.0 if variance == 0 else Digits.number(misfit, float(variance) ** 0.5))
            # The equation with its stations' errors counted as its own.
            total = variance + sum((g[k] * g[k] * v for k, v in own.items() if k in g), arb(0))
            rest = {k: d for k, d in g.items() if k not in own}
            left = misfit + sum((g[k] * model.x[model.names[k]].v for k in own if k in g), arb(0))
            entry["sd"].append(Digits.sd(total) if total > 0 else 0.0)
            if variance == 0 or (known["kind"] == "plan" and own):
                entry["redundancy"].append(None)
                entry["standardised"].append(None)
                continue
            share = 1 - propagate(inverse, rest) / total
            entry["redundancy"].append(float(share) if float(share) > 1e-30 else 0.0)
            tells = float(share) > 1e-20
            entry["standardised"].append(float(left / (total * share).sqrt()) if tells else None)
        out.append(entry)
    return out


# ---------------------------------------------------------------------------------------------------------------- #
# Second geometry: a walk along unit vectors, for any kind of number.
# ---------------------------------------------------------------------------------------------------------------- #


def real(x):
    """The first real part, as a double, to compare with."""
    x = np.asarray(x)
    return float(x.ravel()[0].real) if x.dtype != object else float(x.ravel()[0])


def walk(problem, x, station, lib):
    """Point in space (without lips), tilt and azimuth at a station. `x`: parameter -> value; `lib`: sin, cos, sqrt, asin."""
    at = real(station)
    num = lib.num
    breaks = problem["breaks_m"]
    bends = {b["station_m"]: (j, b) for j, b in enumerate(problem["bends"])}
    stretch = 1 + x[("c",)]

    def unit(tilt, azimuth):
        return [lib.cos(tilt) * lib.sin(azimuth), lib.cos(tilt) * lib.cos(azimuth), -lib.sin(tilt)]

    point = [x[("east0",)], x[("north0",)], x[("e0",)]]
    azimuth, start = x[("azimuth0",)], num(breaks[0])
    for j, step in enumerate(problem["steps"]):
        if step["station_m"] < at:
            point[2] = point[2] + x[("rise", j)]
    for k in range(len(breaks) - 1):
        tilt = x[("tilt", k)]
        u = unit(tilt, azimuth)
        j, bend = bends.get(breaks[k + 1], (None, None))
        half = num(bend["radius_m"]) * abs(num(bend["deflection_rad"])) / 2 if bend else num(0)
        end = num(breaks[k + 1]) - half
        if at <= end or k == len(breaks) - 2:
            return [p + stretch * (station - start) * c for p, c in zip(point, u)], tilt, azimuth
        point = [p + stretch * (end - start) * c for p, c in zip(point, u)]
        start = end
        if not bend:
            continue
        noted = abs(num(bend["deflection_rad"]))
        after = x[("tilt", k + 1)]
        s, d = lib.sin(x[("deflection", j)] / 2), lib.sin((after - tilt) / 2)
        turn = 2 * lib.asin(lib.sqrt((s * s - d * d) / (lib.cos(tilt) * lib.cos(after))))
        azimuth = azimuth + (turn if bend["deflection_rad"] > 0 else -turn)
        v = unit(after, azimuth)
        whole = at >= end + 2 * half
        passed = 2 * half if whole else station - end
        angle = noted * passed / (2 * half)
        middle = [(lib.sin(noted - angle / 2) * p + lib.sin(angle / 2) * q) / lib.sin(noted) for p, q in zip(u, v)]
        chord = stretch * passed * lib.sin(angle / 2) / (angle / 2)
        point = [p + chord * m for p, m in zip(point, middle)]
        if not whole:
            return point, tilt, azimuth
        start = end + 2 * half
    raise AssertionError


def lips_at(problem, lips, x, nominal, lib):
    return sum((x[("lip", i)] for i, s in enumerate(lips) if s <= nominal), lib.num(0))


def said(problem, lips, i, which, x, lib):
    """The quantity of an equation, by the walk."""
    known = problem["ties"][i]["known"]
    num = lib.num
    b0 = num(problem["breaks_m"][0])
    if which == "zero":
        return x[("zero",)]
    if which == "length":
        return (1 + x[("c",)]) * (num(known["to_m"]) - num(known["from_m"]))

    def spot(name):
        s = num(known[name]["station_m"])
        if known[name]["taped"]:
            s = b0 + (s - b0) / (1 + x[("c",)])
        nominal = exact(known[name]["station_m"]) - exact(behind(known))
        point, tilt, azimuth = walk(problem, x, s + x[("error", i, name)] - num(behind(known)), lib)
        return point, tilt, azimuth, lips_at(problem, lips, x, nominal, lib)

    def up(name):
        point, _, _, lip = spot(name)
        return point[2] + lip

    if which == "rise_from_to":
        return up("to") - up("from")
    if which == "rise_at_edge":
        return up("edge") - up("at")
    point, tilt, azimuth, lip = spot("at")
    if which == "transmitter":
        return point[2] + lip + num(known["above_m"]) * lib.cos(tilt)
    return {"height_at": point[2] + lip, "azimuth": azimuth, "east": point[0], "north": point[1]}[which]


class Doubles:
    """Elementary functions of (arrays of complex) doubles."""

    sin, cos, sqrt, asin, num = np.sin, np.cos, np.sqrt, np.arcsin, float


class Fifty:
    """Elementary functions of mpmath."""

    sin, cos, sqrt, asin, num = mpmath.sin, mpmath.cos, mpmath.sqrt, mpmath.asin, mpmath.mpf


# ---------------------------------------------------------------------------------------------------------------- #
# Factor graph.
# ---------------------------------------------------------------------------------------------------------------- #


def by_factor_graph(model, guess, rows):
    """Largest differences of estimates and of standard deviations from the answer, in sds: by gtsam."""
    problem = model.problem
    graph, values = gtsam.NonlinearFactorGraph(), gtsam.Values()
    start = dict(guess)
    for k in range(len(problem["breaks_m"]) - 1):
        r, mean = next((r, mean) for j, r, mean, _ in problem["means"] if j == k)
        start[("tilt", k)] = mean - problem["setups"][r] * problem["zero_rad"]
    for name, away in (("e0", 1.0), ("east0", 3.0), ("north0", -2.0), ("azimuth0", 0.1)):
        start[(name,)] += away
    for name in model.names:
        mean = float(model.priors[name][0]) if name in model.priors else start[name]
        values.insert(model.index[name], float(mean))
    fixed = {name: float(v) for name, v in model.start.items() if name not in model.index}
    fixed.update({("seating", r): 0.0 for r in range(len(problem["setups"])) if ("seating", r) not in model.index})

    def noise(variance):
        sd = math.sqrt(variance)
        return gtsam.noiseModel.Constrained.All(1) if sd == 0 else gtsam.noiseModel.Isotropic.Sigma(1, sd)

    def linear(keys, factors, value):
        def error(this, v, jacobians):
            if jacobians is not None:
                for i, f in enumerate(factors):
                    jacobians[i] = np.array([[f]])
            return np.array([sum(f * v.atDouble(k) for k, f in zip(keys, factors)) - value])

        return error

    for k, r, mean, sd in problem["means"]:
        sign = problem["setups"][r]
        terms = [(("tilt", k), 1.0), (("zero",), sign), (("seating", r), sign)]
        terms = [(model.index[name], f) for name, f in terms if name in model.index]
        keys = [t[0] for t in terms]
        at = mean if ("zero",) in model.index else mean - sign * problem["zero_rad"]
        graph.add(gtsam.CustomFactor(noise(sd**2), keys, linear(keys, [t[1] for t in terms], at)))
    for name, (mean, variance) in model.priors.items():
        graph.add(gtsam.PriorFactorDouble(model.index[name], float(mean), noise(float(variance))))

    def tie(i, which, keys, value):
        names = [model.names[k] for k in keys]

        def error(this, v, jacobians):
            now = np.array([v.atDouble(k) for k in keys])
            table = now[:, None] + 1e-30j * np.eye(len(keys))
            x = dict(fixed)
            x.update({name: 0.0 for name in model.names})
            x.update(dict(zip(names, table)))
            q = said(problem, model.lips, i, which, x, Doubles)
            q = np.broadcast_to(np.asarray(q, dtype=complex), (len(keys),))
            if jacobians is not None:
                for j in range(len(keys)):
                    jacobians[j] = np.array([[q[j].imag / 1e-30]])
            e = q[0].real - value
            if which == "azimuth":
                e = math.remainder(e, 2 * math.pi)
            return np.array([e])

        return error

    tie_rows = iter(r for r in rows if r[3] is not None)
    for i, t in enumerate(problem["ties"]):
        for which, value, sds in equations(t["known"]):
            keys = sorted(next(tie_rows)[1])
            if keys:
                graph.add(gtsam.CustomFactor(noise(sum(s * s for s in sds)), keys, tie(i, which, keys, math.fsum(value))))

    parameters = gtsam.GaussNewtonParams()
    parameters.setLinearSolverType("MULTIFRONTAL_QR")
    parameters.setRelativeErrorTol(0.0)
    parameters.setAbsoluteErrorTol(0.0)
    parameters.setMaxIterations(30)
    parameters.setErrorTol(0.0)
    optimizer = gtsam.GaussNewtonOptimizer(graph, values, parameters)
    for _ in range(25):
        optimizer.iterate()
    return graph, optimizer.values()


# ---------------------------------------------------------------------------------------------------------------- #
# mpmath.
# ---------------------------------------------------------------------------------------------------------------- #


def by_mpmath(model, values, inverse_exact, out):
    """The largest step that is left at the answer and the largest relative difference of an sd, by the walk at 80 digits."""
    mp = mpmath.mp
    problem, names = model.problem, model.names
    with mp.workdps(80):
        num = mpmath.mpf
        base = {name: num(v.mid().str(70, radius=False)) for name, v in values.items()}
        h = num(10) ** -25
        rows = []
        for k, r, mean, sd in problem["means"]:
            sign = int(problem["setups"][r])
            terms = {("tilt", k): 1, ("zero",): sign, ("seating", r): sign}
            misfit = num(mean) - sum(f * base[name] for name, f in terms.items())
            rows.append((misfit, {model.index[q]: num(f) for q, f in terms.items() if q in model.index}, num(sd) ** 2))
        for name in model.priors:
            mean, variance = prior(problem, name, model.lips, num)
            rows.append((mean - base[name], {model.index[name]: num(1)}, variance))
        for i, t in enumerate(problem["ties"]):
            for which, value, sds in equations(t["known"]):
                misfit = mpmath.fsum(num(v) for v in value) - said(problem, model.lips, i, which, base, Fifty)
                if which == "azimuth":
                    misfit -= 2 * mpmath.pi * mpmath.nint(misfit / (2 * mpmath.pi))
                g = {}
                for j, name in enumerate(names):
                    up = said(problem, model.lips, i, which, {**base, name: base[name] + h}, Fifty)
                    down = said(problem, model.lips, i, which, {**base, name: base[name] - h}, Fifty)
                    if up != down:
                        g[j] = (up - down) / (2 * h)
                rows.append((misfit, g, sum(num(s) ** 2 for s in sds)))
        n = len(names)
        held = [row for row in rows if row[2] == 0]
        a, right = mpmath.zeros(n + len(held)), mpmath.zeros(n + len(held), 1)
        for misfit, g, variance in rows:
            if variance:
                for i, d in g.items():
                    right[i] += d * misfit / variance
                    for j, e in g.items():
                        a[i, j] += d * e / variance
        for q, (misfit, g, _) in enumerate(held):
            right[n + q] = misfit
            for i, d in g.items():
                a[i, n + q] = a[n + q, i] = d
        inverse = a**-1
        move = inverse * right
        sds = [mpmath.sqrt(abs(inverse[i, i])) for i in range(n)]
        figures_by_walk(model, base, inverse, out)
        total = mpmath.fsum(misfit**2 / variance for misfit, _, variance in rows if variance)
        without = chi_square_of_means(model, rows)
        nearest(out["chi_square"], total - without)
        nearest(out["chi_square_without_ties"], without)
        steps = [abs(move[i]) / max(s, num(10) ** -12) for i, s in enumerate(sds)]
        reference = [
            num(inverse_exact[i, i].mid().sqrt().str(58, radius=False)) if s > 1e-20 else s for i, s in enumerate(sds)
        ]
        return float(max(steps)), float(max(abs(s / r - 1) for s, r in zip(sds, reference) if r > 1e-20))


def nearest(written, value):
    """A double written must be the nearest one."""
    assert abs(mpmath.mpf(written) - value) <= abs(value) * mpmath.mpf(2) ** -52 + mpmath.mpf(10) ** -29, (written, value)


def figures_by_walk(model, base, inverse, out):
    """Profile, plan and their standard deviations as written, against the walk."""
    problem, h = model.problem, mpmath.mpf(10) ** -25

    def figure(quantity, value, sd):
        g = []
        for name in model.names:
            up, down = (quantity({**base, name: base[name] + step}) for step in (h, -h))
            g.append((up - down) / (2 * h))
        used = [i for i, d in enumerate(g) if d]
        variance = mpmath.fsum(g[i] * g[j] * inverse[i, j] for i in used for j in used)
        nearest(value, quantity(base))
        nearest(sd, mpmath.sqrt(variance) if variance > mpmath.mpf(10) ** -40 else mpmath.mpf(0))

    def point(x, station):
        at, _, azimuth = walk(problem, x, mpmath.mpf(station), Fifty)
        return {
            "east": at[0],
            "north": at[1],
            "elevation": at[2] + lips_at(problem, model.lips, x, exact(station), Fifty),
            "azimuth": azimuth,
        }

    profile, plan = out["profile"], out.get("plan", {"station_m": []})
    for i, s in enumerate(profile["station_m"]):
        figure(lambda x: x[("e0",)] - point(x, s)["elevation"], profile["fall_m"][i], profile["fall_sd_m"][i])
        if "elevation_m" in profile:
            figure(lambda x: point(x, s)["elevation"], profile["elevation_m"][i], profile["elevation_sd_m"][i])
    for i, s in enumerate(plan["station_m"]):
        for key in ("east", "north"):
            if f"{key}_m" in plan:
                figure(lambda x: point(x, s)[key], plan[f"{key}_m"][i], plan[f"{key}_sd_m"][i])
        if "azimuth_rad" in plan:
            turns = 2 * mpmath.pi * mpmath.floor(point(base, s)["azimuth"] / (2 * mpmath.pi))
            figure(lambda x: point(x, s)["azimuth"] - turns, plan["azimuth_rad"][i], plan["azimuth_sd_rad"][i])


def chi_square_of_means(model, rows):
    """What is left of the means without ties: tilts and offsets only, all else rests at its prior."""
    kinds = ("tilt", "zero", "seating")
    used = [i for i, name in enumerate(model.names) if name[0] in kinds]
    slot = {i: j for j, i in enumerate(used)}
    n, num = len(used), mpmath.mpf
    a, right, ours = mpmath.zeros(n), mpmath.zeros(n, 1), []
    count = len(model.problem["means"]) + len(model.priors)
    for misfit, g, variance in rows[:count]:
        if all(i in slot for i in g):
            ours.append((misfit, g, variance))
            for i, d in g.items():
                right[slot[i]] += d * misfit / variance
                for j, e in g.items():
                    a[slot[i], slot[j]] += d * e / variance
    move = mpmath.lu_solve(a, right)
    left = [(misfit - sum(d * move[slot[i]] for i, d in g.items()), variance) for misfit, g, variance in ours]
    return sum((e**2 / v for e, v in left), num(0))


def prior(problem, name, lips, num):
    """Mean and variance of what has a prior, read from the problem anew."""
    kind = name[0]
    if kind == "zero":
        return num(problem["zero_rad"]), num(problem["zero_sd_rad"]) ** 2
    if kind == "seating":
        return num(0), num(problem["seating_sd_rad"]) ** 2
    if kind == "c":
        return num(problem["counter_scale"]), num(problem["counter_scale_sd"]) ** 2
    if kind == "rise":
        return num(problem["steps"][name[1]]["rise_m"]), num(problem["steps"][name[1]]["rise_sd_m"]) ** 2
    if kind == "deflection":
        bend = problem["bends"][name[1]]
        return num(bend["deflection_rad"]), num(bend["deflection_sd_rad"]) ** 2
    if kind == "error":
        return num(0), num(problem["ties"][name[1]]["known"][name[2]]["sd_m"]) ** 2
    before = lips[name[1] - 1] if name[1] else exact(problem["breaks_m"][0])
    gap = lips[name[1]] - before
    return num(0), num(problem["lip_variance_m"]) * num(int(gap.p)) / num(int(gap.q))


# ---------------------------------------------------------------------------------------------------------------- #
# Problems.
# ---------------------------------------------------------------------------------------------------------------- #


class Maker:
    """Draws one problem: true parameters first, then what is measured of them."""

    def __init__(self, number, draw):
        self.number, self.draw = number, draw

    def normal(self, sd):
        return self.draw.gauss(0, 1) * sd

    def make(self):
        draw, number = self.draw, self.number
        plan, lip = number % 3 == 2, 0.0 if (number // 3) % 3 == 0 else 1e-6
        self.exact_ties = number % 5 == 4
        n = int(10 + 51 * draw.random() ** 2.2)
        total = draw.uniform(max(10, 0.8 * n), 90)
        start = draw.choice([0.0, 0.0, 3.7, -1.25])
        parts = [0.15 + draw.gammavariate(2, 1) for _ in range(n)]
        breaks, at = [start], start
        for part in parts:
            at += max(0.2, part * total / sum(parts))
            breaks.append(round(at, 4))
        p = {"name": "", "breaks_m": breaks, "plan": plan}
        self.p, self.n = p, n
        p["setups"] = [1.0] if draw.random() < 0.5 else [draw.choice([1.0, -1.0]), draw.choice([1.0, -1.0])]
        p["zero_rad"] = draw.choice([0.0, round(self.normal(0.003), 6)])
        p["zero_sd_rad"] = draw.choice([0.005236, 0.002, 0.0005, 0.01])
        p["seating_sd_rad"] = draw.choice([0.0, 0.0005, 0.0009, 0.002])
        p["counter_scale"] = draw.choice([0.0, 0.0, round(self.normal(0.005), 5)])
        p["counter_scale_sd"] = draw.choice([0.0, 0.001, 0.002, 0.005, 0.01, 0.005, 0.002])
        p["lip_variance_m"] = lip
        self.steps()
        p["bends"] = []
        self.tilts(plan)
        self.truth(lip)
        self.means()
        self.ties(plan, lip)
        has = datum(p)
        p["name"] = f"{number:03} " + ("plan" if plan else "vertical") + ("" if has["height"] else ", no datum of height")
        p["name"] += ", exact ties" if self.exact_ties else ""
        p["name"] += ", plan not determined" if plan and not has["position"] else ""
        plans = [t["known"]["at"]["station_m"] for t in p["ties"] if t["known"]["kind"] == "plan"]
        if len(plans) > 1 and max(plans) - min(plans) < 0.3 * (breaks[-1] - breaks[0]):
            raise Refused("plan ties together")
        guess = {("tilt", k): self.x[("tilt", k)] for k in range(n)}
        guess.update({(q,): self.x[(q,)] for q in ("e0", "east0", "north0", "azimuth0")})
        if not has["height"]:
            guess[("e0",)] = 0.0
        if not has["plans"]:
            guess[("east0",)] = guess[("north0",)] = 0.0
        if not has["direction"]:
            guess[("azimuth0",)] = 0.0
        outputs = sorted(round(draw.uniform(breaks[0], breaks[-1]), 4) for _ in range(4)) + [breaks[-1]]
        plan_outputs = []
        while plan and len(plan_outputs) < 3:
            s = round(draw.uniform(breaks[0], breaks[-1]), 4)
            if all(abs(s - b["station_m"]) > 0.3 for b in p["bends"]):
                plan_outputs.append(s)
        return p, outputs, sorted(plan_outputs), guess

    def steps(self):
        draw, p = self.draw, self.p
        p["steps"] = []
        for _ in range(draw.choice([0, 0, 1, 2])):
            for _ in range(100):
                s = round(draw.uniform(p["breaks_m"][0], p["breaks_m"][-1]), 3)
                if self.free(s, 0.3):
                    rise = round(draw.uniform(-0.015, 0.02), 4)
                    p["steps"].append(
                        {"station_m": s, "rise_m": rise, "rise_sd_m": draw.choice([0.003, 0.003, 0.005, 0.001, 0.0])}
                    )
                    break
        p["steps"].sort(key=lambda step: step["station_m"])

    def free(self, s, margin):
        marks = self.p["breaks_m"] + [step["station_m"] for step in self.p["steps"]]
        inside = self.p["breaks_m"][0] < s < self.p["breaks_m"][-1]
        return inside and min(abs(s - m) for m in marks) >= margin

    def tilts(self, plan):
        draw, p = self.draw, self.p
        style = draw.choice(["falling", "rough", "mixed"])
        tilts = []
        for _ in range(self.n):
            t = draw.gauss(0.02, 0.008) if style == "falling" else draw.uniform(-0.052, 0.052)
            t = 0.0 if draw.random() < 0.1 else t
            tilts.append(draw.choice([-1, 1]) * math.radians(20) if style == "mixed" and draw.random() < 0.08 else t)
        self.tilt = tilts
        if not plan:
            return
        widths = [b - a for a, b in zip(p["breaks_m"], p["breaks_m"][1:])]
        good = [k for k in range(1, self.n) if min(widths[k - 1], widths[k]) > 0.7]
        for k in sorted(draw.sample(good, min(len(good), draw.choice([0, 1, 1, 2, 2])))):
            if p["bends"] and p["breaks_m"][k] - p["bends"][-1]["station_m"] < 0.7:
                continue
            sd = draw.choice([0.0261799, 0.01, 0.05, 0.0261799, 0.0])
            least = abs(tilts[k] - tilts[k - 1]) + 6 * sd + 0.12
            size = draw.choice([0.19635, 0.392699, 0.785398, 1.5708])
            size = size if size > least else min(1.5, least + 0.2)
            noted = round(draw.choice([-1, 1]) * size, 6)
            radius = round(min(draw.uniform(0.05, 0.25), 0.36 / size), 3)
            p["bends"].append(
                {"station_m": p["breaks_m"][k], "deflection_rad": noted, "deflection_sd_rad": sd, "radius_m": radius}
            )

    def truth(self, lip):
        draw, p = self.draw, self.p
        zero = p["zero_rad"] + self.normal(p["zero_sd_rad"])
        self.x = {("tilt", k): t for k, t in enumerate(self.tilt)}
        self.x.update({("c",): p["counter_scale"] + self.normal(p["counter_scale_sd"]), ("zero",): zero})
        self.x.update({("rise", j): s["rise_m"] + self.normal(s["rise_sd_m"]) for j, s in enumerate(p["steps"])})
        self.x.update(
            {("deflection", j): b["deflection_rad"] + self.normal(b["deflection_sd_rad"]) for j, b in enumerate(p["bends"])}
        )
        self.x.update({("e0",): draw.uniform(0, 120), ("azimuth0",): draw.uniform(0, 2 * math.pi)})
        self.x.update({("east0",): draw.uniform(-500, 500), ("north0",): draw.uniform(-500, 500)})
        if draw.random() < 0.5:
            self.x.update({("east0",): 0.0, ("north0",): 0.0})
        self.offset = [zero + self.normal(p["seating_sd_rad"]) for _ in p["setups"]]
        self.grid = [0.0]
        for _ in range(int(100 * (p["breaks_m"][-1] - p["breaks_m"][0])) + 2):
            self.grid.append(self.grid[-1] + self.normal(math.sqrt(lip * 0.01)))

    def point(self, s):
        """True point with its lip, tilt and azimuth."""
        p, tilt, azimuth = walk(self.p, self.x, s, Doubles)
        q = 100 * (s - self.p["breaks_m"][0])
        i = min(max(int(q), 0), len(self.grid) - 2)
        return [p[0], p[1], p[2] + self.grid[i] + (q - i) * (self.grid[i + 1] - self.grid[i])], tilt, azimuth

    def means(self):
        draw, p = self.draw, self.p
        setups = range(len(p["setups"]))
        p["means"] = []
        noise = 10 ** draw.uniform(-4, -2.7)
        for k in range(self.n):
            both = len(p["setups"]) == 2 and draw.random() < 0.6
            for r in setups if both else [draw.choice(setups)]:
                sd = float(f"{min(2e-3, max(1e-4, noise * draw.uniform(0.5, 2))):.3g}")
                p["means"].append([k, r, round(self.tilt[k] + p["setups"][r] * self.offset[r] + self.normal(sd), 8), sd])
        if len({r for _, r, _, _ in p["means"]}) < len(p["setups"]):
            raise Refused("a setup without a mean")

    def place(self, near=None):
        """A place and the true station of it on the counter."""
        draw, p = self.draw, self.p
        b0 = p["breaks_m"][0]
        sd = 0.0 if draw.random() < 0.5 else round(draw.uniform(0.02, 0.1), 3)
        taped = p["lip_variance_m"] == 0 and near is None and draw.random() < 0.4
        for attempt in range(600):
            if attempt == 300:
                sd, taped = (0.02, taped) if sd else (0.0, False)
            s = round(near + draw.uniform(-0.02, 0.02) if near else draw.uniform(b0, p["breaks_m"][-1]), 4)
            margin = 0.3 + 5 * sd
            if taped:
                margin += (abs(p["counter_scale"]) + 5 * p["counter_scale_sd"]) * (s - b0)
            if self.free(s, margin):
                on_counter = b0 + (s - b0) / (1 + self.x[("c",)]) if taped else s
                return {"station_m": s, "sd_m": sd, "taped": taped}, on_counter + self.normal(sd)
        raise Refused("no place")

    def exact_place(self, used):
        for _ in range(300):
            s = round(self.draw.uniform(self.p["breaks_m"][0], self.p["breaks_m"][-1]), 4)
            k = sum(1 for b in self.p["breaks_m"] if b < s)
            if self.free(s, 0.3) and k not in used:
                used.add(k)
                return {"station_m": s, "sd_m": 0.0, "taped": False}, s
        raise Refused("no place for an exact tie")

    def ties(self, plan, lip):
        draw, p = self.draw, self.p
        p["ties"] = []
        kinds = ["invert"] * 4 + ["height_difference"] * 3 + ["length", "level_check", "reversal_check"]
        kinds += ["water_level"] * 3 + ["water_depth"] * 2 + ["depth"] * 3
        count = draw.randint(2, 12)
        chosen = []
        if plan:
            kinds += ["plan"] * 6 + ["azimuth"] * 2
            if draw.random() < 0.85:
                chosen = ["plan", draw.choice(["plan", "azimuth"])]
        if draw.random() < 0.15:
            kinds = [k for k in kinds if k not in ("invert", "depth")]
        chosen += [draw.choice(kinds) for _ in range(max(0, count - len(chosen)))]
        for kind in chosen:
            p["ties"].append({"known": getattr(self, kind)()})
        if self.exact_ties:
            self.add_exact(plan)
        draw.shuffle(p["ties"])

    def add_exact(self, plan):
        draw, p = self.draw, self.p
        free = ["invert", "invert", "height_difference", "level_check", "reversal_check"]
        free += ["length"] if p["counter_scale_sd"] > 0 else []
        free += ["plan", "azimuth"] if plan else []
        used, done = set(), set()
        for kind in draw.sample(free, draw.randint(1, 3)):
            group = "zero" if "check" in kind else kind
            if group in done and kind != "invert":
                continue
            done.add(group)
            places_of = {"invert": ["at"], "height_difference": ["from", "to"], "plan": ["at"], "azimuth": ["at"]}.get(
                kind, []
            )
            spots = [self.exact_place(used) for _ in places_of]
            known = getattr(self, kind)(spots, 0.0)
            if len(p["ties"]) >= 12:
                p["ties"].pop()
            p["ties"].insert(0, {"known": known})

    def sd(self, low, high):
        return float(f"{math.exp(self.draw.uniform(math.log(low), math.log(high))):.2g}")

    def invert(self, spots=None, sd=None):
        ((at, s),) = spots or [self.place()]
        sd = self.sd(0.001, 0.03) if sd is None else sd
        return {"kind": "invert", "at": at, "elevation_m": round(self.point(s)[0][2] + self.normal(sd), 5), "sd_m": sd}

    def height_difference(self, spots=None, sd=None):
        (a, s), (b, t) = spots or [self.place(), self.place()]
        sd = self.sd(0.001, 0.03) if sd is None else sd
        rise = self.point(t)[0][2] - self.point(s)[0][2] + self.normal(sd)
        return {"kind": "height_difference", "from": a, "to": b, "rise_m": round(rise, 5), "sd_m": sd}

    def length(self, spots=None, sd=None):
        a, b = sorted(round(self.draw.uniform(self.p["breaks_m"][0], self.p["breaks_m"][-1]), 2) for _ in range(2))
        b = b if b - a > 1 else self.p["breaks_m"][-1]
        sd = self.sd(0.005, 0.1) if sd is None else sd
        true = (1 + self.x[("c",)]) * (b - a) + self.normal(sd)
        return {"kind": "length", "from_m": a, "to_m": b, "length_m": round(true, 5), "sd_m": sd}

    def level_check(self, spots=None, sd=None):
        sd = self.sd(2e-4, 2e-3) if sd is None else sd
        surface = self.draw.choice([0.0, round(self.normal(0.01), 5)])
        return {
            "kind": "level_check",
            "reading_rad": round(self.x[("zero",)] + surface + self.normal(sd), 7),
            "surface_rad": surface,
            "sd_rad": sd,
        }

    def reversal_check(self, spots=None, sd=None):
        sd = self.sd(2e-4, 2e-3) if sd is None else sd
        tilt = self.normal(0.02)
        first, second = (round(self.x[("zero",)] + s * tilt + self.normal(sd), 7) for s in (1, -1))
        return {"kind": "reversal_check", "first_rad": first, "second_rad": second, "sd_rad": sd}

    def water_level(self, spots=None, sd=None):
        """Two places at one height but for the error of the levels, if there are such; else a height difference."""
        level = self.draw.choice([0.003, 0.002, 0.005])
        pair = self.crossing(self.normal(math.hypot(level, level)))
        if pair is None:
            return self.height_difference()
        return {"kind": "water_level", "from": pair[0], "to": pair[1], "level_sd_m": level}

    def crossing(self, above):
        """A place and another that is truly `above` higher."""
        b0, end = self.p["breaks_m"][0], self.p["breaks_m"][-1]
        for _ in range(6):
            at, s = self.place()
            aim = self.point(s)[0][2] + above
            grid = [b0 + (end - b0) * i / 400 for i in range(401)]
            heights = [self.point(q)[0][2] - aim for q in grid]
            hits = [q for q, a, b in zip(grid, heights, heights[1:]) if a * b <= 0 and abs(q - s) > 1]
            self.draw.shuffle(hits)
            for low in hits:
                high = low + (end - b0) / 400
                ends = [self.point(q)[0][2] - aim for q in (low, high)]
                for _ in range(40):
                    middle = (low + high) / 2
                    if (self.point(middle)[0][2] - aim) * ends[0] > 0:
                        low = middle
                    else:
                        high = middle
                sd = 0.0 if self.draw.random() < 0.5 else round(self.draw.uniform(0.02, 0.1), 3)
                station = round(low - self.normal(sd), 4)
                if self.free(station, 0.3 + 5 * sd):
                    return at, {"station_m": station, "sd_m": sd, "taped": False}
        return None

    def water_depth(self, spots=None, sd=None):
        depth, sd, level = self.draw.uniform(0.01, 0.06), self.draw.choice([0.003, 0.005, 0.01]), 0.003
        pair = self.crossing(depth)
        if pair is None:
            return self.invert()
        seen = round(depth + math.hypot(sd, level) * self.draw.gauss(0, 1), 4)
        return {
            "kind": "water_depth",
            "at": pair[0],
            "depth_m": max(seen, 0.001),
            "sd_m": sd,
            "edge": pair[1],
            "level_sd_m": level,
        }

    def depth(self, spots=None, sd=None):
        """The transmitter follows: keep its place from breaks too."""
        for _ in range(200):
            at, s = self.place()
            follows, above = self.draw.choice([0.0, 0.0, 0.15, 0.4]), self.draw.choice([0.05, 0.0, 0.075])
            if self.free(at["station_m"] - follows, 0.3 + 5 * at["sd_m"] + (0.01 * abs(s) + 0.3 if at["taped"] else 0)):
                break
        else:
            raise Refused("no place for a transmitter")
        sd, ground_sd = self.sd(0.02, 0.1), self.draw.choice([0.0, 0.01, 0.03])
        point, tilt, _ = self.point(s - follows)
        deep = self.draw.uniform(0.6, 3)
        ground = round(point[2] + deep, 3)
        seen = ground - point[2] - above * math.cos(tilt) + math.hypot(sd, ground_sd) * self.draw.gauss(0, 1)
        return {
            "kind": "depth",
            "at": at,
            "depth_m": round(seen, 4),
            "sd_m": sd,
            "ground_m": ground,
            "ground_sd_m": ground_sd,
            "behind_m": follows,
            "above_m": above,
        }

    def plan(self, spots=None, sd=None):
        ((at, s),) = spots or [self.place()]
        sd = self.sd(0.02, 0.3) if sd is None else sd
        point = self.point(s)[0]
        return {
            "kind": "plan",
            "at": at,
            "east_m": round(point[0] + self.normal(sd), 5),
            "north_m": round(point[1] + self.normal(sd), 5),
            "sd_m": sd,
        }

    def azimuth(self, spots=None, sd=None):
        ((at, s),) = spots or [self.place()]
        sd = self.sd(0.01, 0.1) if sd is None else sd
        value = (self.point(s)[2] + self.normal(sd)) % (2 * math.pi)
        return {"kind": "azimuth", "at": at, "azimuth_rad": round(value, 7), "sd_rad": sd}


def check_places(model, values):
    """Places must be in the segment of the station as written; bends must bend; the direction must be known."""
    for i, tie in enumerate(model.problem["ties"]):
        for name in places(tie["known"]):
            station, nominal = model.place(i, name)
            low, high = sorted([float(station.v), float(arb(nominal))])
            marks = model.problem["breaks_m"] + [s["station_m"] for s in model.problem["steps"]]
            reach = 0.2 if model.problem["bends"] else 0.01
            if any(low - reach < m < high + reach for m in marks):
                raise Refused("a place wandered")
    for j, k in model.legs:
        change = abs(float(values[("tilt", k + 1)] - values[("tilt", k)]))
        if abs(float(values[("deflection", j)])) < change + 0.02:
            raise Refused("a bend is flatter than its kink")


def main():
    count = int(sys.argv[1]) if len(sys.argv) > 1 else COUNT
    problems, refused, most_steps = [], {}, 0
    graph_solved, graph_x, graph_sd, graph_failed = 0, 0.0, 0.0, []
    mp_done, mp_x, mp_sd = 0, 0.0, 0.0
    for number in range(count):
        for attempt in range(200):
            draw = random.Random(1000 * number + attempt)
            try:
                problem, outputs, plan_outputs, guess = Maker(number, draw).make()
                out, model, values, inverse, rows, steps = answer(problem, outputs, plan_outputs, guess)
                check_places(model, values)
                if max([0.0] + out.get("plan", {}).get("azimuth_sd_rad", [])) > 0.15:
                    raise Refused("direction hardly known")
                break
            except Refused as reason:
                refused[str(reason)] = refused.get(str(reason), 0) + 1
        else:
            raise AssertionError("nothing drawn")
        most_steps = max(most_steps, steps)
        sds = [Digits.sd(inverse[i, i]) for i in range(len(model.names))]
        scale = [s or 1e-6 for s in sds]  # what is held exactly: in millionths
        try:
            graph, result = by_factor_graph(model, guess, rows)
            there = max(
                abs(result.atDouble(i) - float(values[name])) / s for (i, name), s in zip(enumerate(model.names), scale)
            )
            marginals = gtsam.Marginals(graph, result)
            spread = max(abs(marginals.marginalCovariance(i)[0, 0] ** 0.5 / s - 1) for i, s in enumerate(sds) if s > 0)
            graph_solved, graph_x, graph_sd = graph_solved + 1, max(graph_x, there), max(graph_sd, spread)
            if there > 1e-5 or spread > 1e-5:
                print(problem["name"], "factor graph differs:", there, spread, flush=True)
        except RuntimeError as error:
            graph_failed.append([problem["name"], str(error).strip().splitlines()[0][:80]])
        if mp_done < 40 and len(model.names) < 60 and number % 2 == 0 or number in (2, 4, 14, 29):
            left, spread = by_mpmath(model, values, inverse, out)
            mp_done, mp_x, mp_sd = mp_done + 1, max(mp_x, left), max(mp_sd, spread)
        problems.append({**problem, "answer": out})
        if number % 50 == 0:
            print(number, problem["name"], len(model.names), "unknowns", flush=True)
    chi = [(p["answer"]["chi_square"], p["answer"]["degrees_of_freedom"]) for p in problems]
    header = {
        "source": "adjust.py",
        "versions": {
            "python-flint": flint.__version__,
            "mpmath": mpmath.__version__,
            "numpy": np.__version__,
            "gtsam": version("gtsam"),
        },
        "checks": {
            "largest_radius_of_a_ball_in_sds": Digits.worst,
            "most_steps": most_steps,
            "mpmath": {"problems": mp_done, "largest_step_left_in_sds": mp_x, "largest_relative_difference_of_sd": mp_sd},
            "factor_graph": {
                "problems": graph_solved,
                "largest_difference_in_sds": graph_x,
                "largest_relative_difference_of_sd": graph_sd,
                "failed": graph_failed,
            },
            "chi_square_over_degrees_of_freedom": sum(c for c, _ in chi) / max(1, sum(d for _, d in chi)),
            "drawn_anew": refused,
        },
    }
    print(json.dumps(header, indent=1))
    text = (
        json.dumps(header)[:-1]
        + ', "problems": [\n'
        + ",\n".join(json.dumps(p, separators=(",", ":"), allow_nan=False) for p in problems)
        + "\n]}\n"
    )
    # A part of the problems, for a trial, must not take the place of them all.
    target = HERE / "adjust.json" if count == COUNT else Path(tempfile.gettempdir()) / "adjust_part.json"
    target.write_text(text)
    print(target, len(text))


if __name__ == "__main__":
    main()
