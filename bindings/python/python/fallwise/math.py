"""Elementary functions that give the same bits on any machine; scalars and arrays, broadcast against each other.

What is not finite goes through as IEEE 754 has it.

Examples
--------
>>> normal_quantile(0.975)
1.9599639845400536
"""

from ._core import (
    acos,
    asin,
    atan,
    atan2,
    cbrt,
    chi_square_above,
    cos,
    erf,
    erfc,
    exp,
    exp_m1,
    hypot,
    ln,
    ln_1p,
    log10,
    median,
    normal_cdf,
    normal_quantile,
    pow,
    quantile,
    sin,
    sum,
    tan,
)

__all__ = [
    "acos",
    "asin",
    "atan",
    "atan2",
    "cbrt",
    "chi_square_above",
    "cos",
    "erf",
    "erfc",
    "exp",
    "exp_m1",
    "hypot",
    "ln",
    "ln_1p",
    "log10",
    "median",
    "normal_cdf",
    "normal_quantile",
    "pow",
    "quantile",
    "sin",
    "sum",
    "tan",
]
