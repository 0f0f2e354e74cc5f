"""Values from scipy, for test_probability_scipy.c. Prints CSV: kind, then numbers; the answer of scipy comes last.

Run with Debian's own interpreter, /usr/bin/python3 (package python3-scipy). Exit code 77: not installed.

gamma      a, x, 0, 0                scipy.special.gammaincc
chi        chi2, dof, 0, 0           scipy.stats.chi2.sf
cdf        x, 0, 0, 0                scipy.special.ndtr
linear     a, la, b, lb              log of scipy.integrate.quad
curve      what, argument, 0, 0      quad and brentq on the curve below; what: 0 log integral, 1 mean, 2 cdf, 3 quantile
normals    d, 0, 0, 0                bits about which of two normals d apart, scipy.integrate.quad
entry      n, row, column, 0         one entry of a covariance, for the three kinds below
solution   n, i, 0, 0                entry of scipy.linalg.solve of it and the numbers 1, 2, ...
logdet     n, 0, 0, 0                numpy.linalg.slogdet
inverse    n, row, column, 0         scipy.linalg.inv
"""
import math
import sys

try:
    import numpy
    import scipy.integrate
    import scipy.linalg
    import scipy.optimize
    import scipy.special
    import scipy.stats
except ImportError as missing:
    print(f"probability_oracle.py: {missing}", file=sys.stderr)
    sys.exit(77)

# The same curve as in test_probability_scipy.c.
CURVE_X = (-3.0, -1.0, 0.5, 0.75, 2.0, 6.0)
CURVE_LOG = (-9.0, -0.5, 1.0, 1.0, -0.25, -30.0)


def show(kind, *values):
    print(kind + "," + ",".join(f"{value:.17g}" for value in values))


def integral(function, a, b, points=None):
    return scipy.integrate.quad(function, a, b, points=points, epsabs=0.0, epsrel=1e-12, limit=500)[0]


def density(x):
    return math.exp(numpy.interp(x, CURVE_X, CURVE_LOG))


def curve_mass(to):
    ends = [x for x in CURVE_X if x < to] + [to]
    return sum(integral(density, a, b) for a, b in zip(ends, ends[1:]))


def normals_bits(d):
    """1/2 sum over both of the integral of f log2(f / mixture)."""
    def gain(x):
        other = d * (x - 0.5 * d)  # log of the other density over this one, whose mean is 0
        return math.exp(-0.5 * x * x) * (1.0 - math.log1p(math.exp(other)) / math.log(2.0))
    return integral(gain, -12.0, 12.0, [0.0, 0.5 * d]) / math.sqrt(2.0 * math.pi)


for a in (1e-3, 0.01, 0.3, 0.5, 1, 2.5, 7, 19.99, 20, 33.3, 100, 1e3, 1e4, 1e5, 1e6):
    spread = math.sqrt(a) + 1.0
    for step in range(-12, 31):
        x = a + step * 0.5 * spread
        if x > 0:
            show("gamma", a, x, 0, 0, scipy.special.gammaincc(a, x))
    for x in (1e-8 * a, 0.01 * a, 0.3 * a):
        show("gamma", a, x, 0, 0, scipy.special.gammaincc(a, x))

for dof in (1, 2, 3, 5, 12, 100, 777):
    for ratio in (0.01, 0.5, 0.9, 1.0, 1.3, 2.0, 3.0):
        show("chi", ratio * dof, dof, 0, 0, scipy.stats.chi2.sf(ratio * dof, dof))

for step in range(-74, 17):
    show("cdf", 0.5 * step, 0, 0, 0, scipy.special.ndtr(0.5 * step))

for a, b in ((0.0, 1.0), (-2.0, 5.0), (100.0, 100.5)):
    for la in (-3.0, 0.0, 2.0):
        for rise in (-40.0, -3.0, -1e-3, -1e-9, 0.0, 1e-12, 1e-5, 0.3, 7.0, 25.0):
            line = integral(lambda x: math.exp(rise * (x - a) / (b - a)), a, b)
            show("linear", a, la, b, la + rise, la + math.log(line))

whole = curve_mass(CURVE_X[-1])
show("curve", 0, 0, 0, 0, math.log(whole))
show("curve", 1, 0, 0, 0,
     sum(integral(lambda x: x * density(x), a, b) for a, b in zip(CURVE_X, CURVE_X[1:])) / whole)
for step in range(1, 36):
    x = -3.0 + 0.25 * step
    show("curve", 2, x, 0, 0, curve_mass(x) / whole)
for step in range(1, 20):
    p = step / 20.0
    found = scipy.optimize.brentq(lambda x: curve_mass(x) / whole - p, -3.0, 6.0, xtol=1e-14, rtol=1e-14)
    show("curve", 3, p, 0, 0, found)

for d in (0.1, 0.5, 1.0, 2.0, 3.0, 5.0):
    show("normals", d, 0, 0, 0, normals_bits(d))

random = numpy.random.RandomState(7)
for n in (1, 2, 5, 12, 24):
    square = random.normal(size=(n, n + 3))
    covariance = square @ square.T + 0.01 * numpy.eye(n)
    right = numpy.arange(1.0, n + 1.0)
    for row in range(n):
        for column in range(row + 1):
            show("entry", n, row, column, 0, covariance[row, column])
    for i, value in enumerate(scipy.linalg.solve(covariance, right, assume_a="sym")):
        show("solution", n, i, 0, 0, value)
    show("logdet", n, 0, 0, 0, numpy.linalg.slogdet(covariance)[1])
    for row, values in enumerate(scipy.linalg.inv(covariance)):
        for column, value in enumerate(values):
            show("inverse", n, row, column, 0, value)
