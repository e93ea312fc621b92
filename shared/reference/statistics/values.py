"""Writes values.csv: intervals, claims and tests of two counts by scipy.

    python values.py > values.csv        (pip install scipy)

One row per value: kind, four counts or empty, level of confidence or probability, value.
Exact limits come from scipy's beta quantile, Fisher's test from scipy's fisher_exact.
"""

import random
import sys

import numpy
import scipy
from scipy import special, stats

random.seed(20081)
LEVELS = ["0.8", "0.9", "0.95", "0.99", "0.999"]


def row(kind, counts, level, value):
    counts = [str(count) for count in counts] + [""] * (4 - len(counts))
    print(",".join([kind, *counts, level, repr(float(value))]))


def count():
    return int(10 ** random.uniform(0.3, 4))


def intervals():
    for _ in range(130):
        n = count()
        k = random.choice([random.randint(1, n), random.randint(1, min(n, 5)), n - random.randint(0, min(n - 1, 4))])
        level = random.choice(LEVELS)
        risk = round(1 - float(level), 12)
        row("exact_low", [k, n], level, stats.beta.ppf(risk / 2, k, n - k + 1))
        row("exact_only_low", [k, n], level, stats.beta.ppf(risk, k, n - k + 1))
        if k < n:
            row("exact_high", [k, n], level, stats.beta.isf(risk / 2, k + 1, n - k))
            row("exact_only_high", [k, n], level, stats.beta.isf(risk, k + 1, n - k))
        wilson = stats.binomtest(k, n).proportion_ci(float(level), "wilson")
        row("wilson_low", [k, n], level, wilson.low)
        row("wilson_high", [k, n], level, wilson.high)
        row("jeffreys_low", [k, n], level, stats.beta.ppf(risk / 2, k + 0.5, n - k + 0.5))
        row("jeffreys_high", [k, n], level, stats.beta.isf(risk / 2, k + 0.5, n - k + 0.5))


def fisher():
    for _ in range(100):
        n, m = count() // 10 + 1, count() // 10 + 1
        k, j = random.randint(0, n), random.randint(0, m)
        if random.random() < 0.5:
            j = min(m, random.randint(0, 3))
        table = [[k, n - k], [j, m - j]]
        row("fisher_either", [k, n, j, m], "", stats.fisher_exact(table).pvalue)
        row("fisher_fewer_after", [k, n, j, m], "", stats.fisher_exact(table, "greater").pvalue)
        row("fisher_more_after", [k, n, j, m], "", stats.fisher_exact(table, "less").pvalue)


def chances():
    for _ in range(40):
        n = count()
        p = random.choice(["0.001", "0.01", "0.05", "0.1", "0.2", "0.5", "0.9"])
        if stats.binom.pmf(0, n, float(p)) > 1e-290:
            row("chance_of_no_failure", [n], p, stats.binom.pmf(0, n, float(p)))
            row("chance_of_a_failure", [n], p, stats.binom.sf(0, n, float(p)))


print(f"# scipy {scipy.__version__}, numpy {numpy.__version__}, Python {sys.version.split()[0]}; "
      "written by values.py")
print("kind,a,b,c,d,level,scipy")
intervals()
fisher()
chances()
