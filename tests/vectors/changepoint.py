"""Writes changepoint.json: segmentations by a general change-point package, for tests/segmentation.rs.

Needs numpy and ruptures (versions are written into the file). Run it in this folder: python changepoint.py

Each case holds values, the penalty of a break in units of the values squared, the first reading of each segment and
the cost (sum of squares about the segment means, plus penalties). Both exact methods of the package must agree:
KernelCPD with the linear kernel and Pelt with jump=1.
"""

import json

import numpy as np
import ruptures


def cost(values, starts, penalty):
    """Sum of squares about the segment means plus penalties."""
    parts = np.split(np.asarray(values), starts[1:])
    return sum(((p - p.mean()) ** 2).sum() for p in parts) + penalty * (len(starts) - 1)


def case(name, values, penalty):
    """One case, values rounded so that the file holds exactly what was segmented."""
    values = [round(float(v), 6) for v in values]
    signal = np.array(values).reshape(-1, 1)
    kernel = ruptures.KernelCPD(kernel="linear", min_size=1).fit(signal).predict(pen=penalty)
    pelt = ruptures.Pelt(model="l2", jump=1, min_size=1).fit(signal).predict(pen=penalty)
    assert kernel == pelt, name
    starts = [0, *(int(k) for k in kernel[:-1])]
    return {
        "name": name,
        "values": values,
        "penalty": float(penalty),
        "starts": starts,
        "cost": float(cost(values, starts, penalty)),
    }


def main():
    """The cases: unit noise unless the name says otherwise."""
    rng = np.random.default_rng(1)
    noise = rng.standard_normal
    cases = [
        case("no break, 300", noise(300), 2 * np.log(300)),
        case("no break, 300, penalty of a tenth", noise(300), 0.2 * np.log(300)),
        case("six breaks, 400", np.repeat([0, 3, 1, 4, 2, 5, 0], [50, 60, 70, 40, 80, 60, 40]) + noise(400), 12.0),
        case("sticks of 40, 600", np.repeat(rng.normal(0, 2, 15), 40) + noise(600), 2 * np.log(600)),
        case("slope, 200", np.linspace(0, 20, 200) + noise(200), 8.0),
        case("spikes, 200", noise(200) + 30 * (rng.random(200) < 0.03), 15.0),
        case("heavy tails, 300", rng.standard_t(2, 300), 20.0),
        case("tilt in degrees, noise 0.25, 500", np.repeat([1.1, 0.4, -0.3, 1.2], 125) + 0.25 * noise(500), 0.0625 * 12),
    ]
    with open("changepoint.json", "w", encoding="utf-8") as file:
        origin = f"changepoint.py with ruptures {ruptures.__version__}, numpy {np.__version__}"
        file.write('{\n "source": ' + json.dumps(origin) + ',\n "cases": [\n  ')
        file.write(",\n  ".join(json.dumps(c) for c in cases) + "\n ]\n}\n")


if __name__ == "__main__":
    main()
