"""scipy's integral of a density given at even shares of a film's severity, for test_estimate_integral.c.

Reads "share log_likelihood" lines from stdin; prints log of the integral over 0 to 1, then the shares with 5, 50 and 95 % below.
Run with Debian's own interpreter, /usr/bin/python3 (package python3-scipy). Exit code 77: not installed.
"""
import sys

try:
    import numpy
    import scipy.integrate
    import scipy.interpolate
    import scipy.optimize
except ImportError as missing:
    print(f"estimate_oracle.py: {missing}", file=sys.stderr)
    sys.exit(77)

rows = numpy.array([[float(cell) for cell in line.split()] for line in sys.stdin])
share, log_likelihood = rows[:, 0], rows[:, 1]
top = log_likelihood.max()
density = scipy.interpolate.PchipInterpolator(share, numpy.exp(log_likelihood - top))


def below(x):
    return scipy.integrate.quad(density, share[0], x, limit=500, epsabs=1e-9, points=share[(share > 0.0) & (share < x)][:200])[0]


whole = scipy.integrate.simpson(numpy.exp(log_likelihood - top), x=share)
quantiles = [scipy.optimize.brentq(lambda x: below(x) - p * below(1.0), 0.0, 1.0, xtol=1e-6) for p in (0.05, 0.5, 0.95)]
print(top + numpy.log(whole), *quantiles)
