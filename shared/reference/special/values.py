"""Writes values.csv: special functions by scipy, and by mpmath with 360 digits as a judge of both.

    python values.py > values.csv        (pip install scipy mpmath)

One row per value: function, up to three arguments, value by scipy, value by mpmath.
"""

import sys

import mpmath as mp
import numpy
import scipy
from scipy import special, stats

mp.mp.dps = 360  # a tail of 1e-250 is found as 1 minus the other, and still has digits to spare
SMALL = [1e-250, 1e-60, 1e-20, 1e-9, 1e-4, 0.025, 0.2, 0.5]


def short(x):
    return float(f"{x:.6g}")


def row(name, args, by_scipy, by_mpmath):
    args = [repr(float(a)) for a in args] + [""] * (3 - len(args))
    print(",".join([name, *args, repr(float(by_scipy)), mp.nstr(by_mpmath, 20, min_fixed=0, max_fixed=0)]))


def mp_beta(a, b, x):
    """I_x(a, b) and its complement, from the series about the nearer end; all terms positive."""
    a, b, x = mp.mpf(a), mp.mpf(b), mp.mpf(x)
    front = mp.exp(mp.loggamma(a + b) - mp.loggamma(a) - mp.loggamma(b) + a * mp.log(x) + b * mp.log1p(-x))

    def below(p, q, z):
        # I_z(p, q) = front / p * sum (p + q)_n / (p + 1)_n z^n
        total, term, n = mp.mpf(1), mp.mpf(1), 0
        while term > total * mp.mpf(10) ** -340:
            term *= (p + q + n) / (p + 1 + n) * z
            total += term
            n += 1
        return front / p * total

    if x <= 0.5:
        lower = below(a, b, x)
        return lower, 1 - lower
    upper = below(b, a, 1 - x)
    return 1 - upper, upper


def mp_gamma(a, x):
    a, x = mp.mpf(a), mp.mpf(x)
    return mp.gammainc(a, 0, x, regularized=True), mp.gammainc(a, x, mp.inf, regularized=True)


def mp_t(dof, t):
    dof, t = mp.mpf(dof), mp.mpf(t)
    outer = mp_beta(dof / 2, mp.mpf(1) / 2, dof / (dof + t * t))[0] / 2
    return (outer, 1 - outer) if t < 0 else (1 - outer, outer)


def root(f, start, p):
    """x with f(x) = p, in logarithms: bracketed about a start that may be poor, then halved to 1e-20."""
    wanted = mp.log(mp.mpf(p))
    g = lambda u: mp.log(f(mp.exp(u))) - wanted
    u, width = mp.log(mp.mpf(start)), mp.mpf(10) ** -12
    while g(u - width) * g(u + width) > 0:
        width *= 16
    return mp.exp(mp.findroot(g, (u - width, u + width), solver="anderson", tol=1e-40, verify=False))


def ln_gamma():
    for x in [1e-8, 1e-3, 0.25, 0.5, 0.9, 1.1, 1.5, 1.9, 2.1, 2.5, 3, 3.7, 5, 7.25, 10, 12.5, 17, 33.3, 50, 99.5,
              171, 200.5, 500, 1e3, 1234.5, 1e4, 1e5, 1e6, 1e8, 1e12]:
        row("ln_gamma", [x], special.gammaln(x), mp.loggamma(x))


def errors():
    for x in [-3, -1.1, -0.3, 1e-10, 1e-4, 0.01, 0.1, 0.3, 0.5, 0.84, 0.9, 1, 1.2, 1.25, 1.5, 2, 2.5, 3, 4, 5]:
        row("erf", [x], special.erf(x), mp.erf(mp.mpf(x)))
    for x in [-2, -0.5, 0.1, 0.5, 0.84, 1, 1.25, 1.5, 2, 2.8, 2.9, 3, 4, 5, 6, 7.5, 8, 10, 12, 15, 20, 25, 26]:
        row("erfc", [x], special.erfc(x), mp.erfc(mp.mpf(x)))


def normal():
    for z in [-37, -30, -20, -12, -8, -6, -5, -4, -3, -2.5, -2, -1.96, -1.5, -1, -0.5, -0.1, 0, 0.3, 1, 2]:
        row("normal_lower", [z], special.ndtr(z), mp.erfc(-mp.mpf(z) / mp.sqrt(2)) / 2)
    for z in [-200, -60, -38, -31, -29, -15, -5, -1, 0, 1, 4, 6, 8]:
        lower = mp.erfc(-mp.mpf(z) / mp.sqrt(2)) / 2
        row("ln_normal_lower", [z], special.log_ndtr(z), mp.log(lower))
    for p in [1e-300, *SMALL, 1e-100, 1e-12, 1e-6, 0.001, 0.01, 0.05, 0.0749, 0.0751, 0.1, 0.25, 0.3, 0.4, 0.45, 0.49]:
        start = special.ndtri(p)
        exact = 0 if p == 0.5 else -root(lambda z: mp.erfc(z / mp.sqrt(2)) / 2, -start, p)
        row("normal_quantile_lower", [p], start, mp.mpf(exact))


def gammas():
    for a in [0.5, 1, 2.5, 4, 10, 63, 1e3, 1e4]:
        for p in SMALL:
            x = short(stats.gamma.ppf(p, a))
            if x > 0:
                lower, upper = mp_gamma(a, x)
                row("gamma_lower", [a, x], special.gammainc(a, x), lower)
            x = short(stats.gamma.isf(p, a))
            lower, upper = mp_gamma(a, x)
            row("gamma_upper", [a, x], special.gammaincc(a, x), upper)
        for p in SMALL:
            start = special.gammaincinv(a, p)
            if start > 0:
                row("gamma_quantile_lower", [a, p], start, root(lambda x: mp_gamma(a, x)[0], start, p))
            start = special.gammainccinv(a, p)
            row("gamma_quantile_upper", [a, p], start, root(lambda x: mp_gamma(a, x)[1], start, p))


PAIRS = [(0.5, 0.5), (1, 1), (1, 10), (10, 1), (0.5, 10.5), (2, 9), (3, 3), (5.5, 195.5), (1, 1000), (2, 999),
         (40, 60), (101, 900), (500.5, 0.5), (5e3, 5e3), (1, 1e5), (5e5, 0.5)]


def betas():
    for a, b in PAIRS:
        for p in SMALL:
            x = short(stats.beta.ppf(p, a, b))
            if 0 < x < 1:
                row("beta_lower", [a, b, x], special.betainc(a, b, x), mp_beta(a, b, x)[0])
            x = short(stats.beta.isf(p, a, b))
            if 0 < x < 1:
                row("beta_upper", [a, b, x], special.betaincc(a, b, x), mp_beta(a, b, x)[1])
        for p in SMALL:
            start = special.betaincinv(a, b, p)
            if start > 1e-300:
                exact = root(lambda x: mp_beta(a, b, x)[0], start, p)
                row("beta_quantile_lower", [a, b, p], start, exact)


def student():
    for dof in [1, 2, 3, 4.5, 9, 16.7645, 50, 200, 1e3, 1e5, 1e6]:
        for t in [1e-6, 0.1, 0.7, 1, 1.96, 2.5, 4, 6, 10, 37, 1e3]:
            upper = mp_t(dof, t)[1]
            if upper > mp.mpf(10) ** -290:
                row("student_t_upper", [dof, t], special.stdtr(dof, -t), upper)
        for p in [1e-250, 1e-30, 1e-9, 1e-4, 0.005, 0.025, 0.1, 0.25, 0.3, 0.45, 0.499]:
            start = -stats.t.ppf(p, dof)
            if 0 < start < 1e150:  # scipy 1.17 gives an infinity of the wrong sign at 1e-250 with 3 degrees
                row("student_t_quantile_upper", [dof, p], start, root(lambda t: mp_t(dof, t)[1], start, p))


print(f"# scipy {scipy.__version__}, numpy {numpy.__version__}, mpmath {mp.__version__} (360 digits), "
      f"Python {sys.version.split()[0]}; written by values.py")
print("function,a,b,c,scipy,mpmath")
ln_gamma()
errors()
normal()
gammas()
betas()
student()
