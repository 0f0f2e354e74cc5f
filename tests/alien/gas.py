"""Gas flow, as three different simulators need it. SI; every argument may be an array.

The flow function's values are held in test_alien.py against the table of an independent source (isentropic flow).
"""
import numpy

R_AIR = 287.05  # J/(kg K), dry air
KELVIN = 273.15


def within(value, least, most):
    """numpy.clip without its overhead, which is half the time of a tick."""
    return numpy.minimum(numpy.maximum(value, least), most)


def psi_exact(ratio, gamma=1.4):
    """Flow function of an ideal nozzle; choked below the critical ratio. m = CdA p0 / sqrt(R T0) psi."""
    critical = (2.0 / (gamma + 1.0)) ** (gamma / (gamma - 1.0))
    r = within(ratio, critical, 1.0)
    return numpy.sqrt(2.0 * gamma / (gamma - 1.0) * numpy.maximum(r ** (2.0 / gamma) - r ** ((gamma + 1.0) / gamma), 0.0))


def psi_simple(ratio):
    """The approximation 2 sqrt(r - r^2) of Crossley and Cook, and of Guzzella and Onder, choked below one half; scaled to
    the exact choked value, as a maker calibrates it."""
    r = within(ratio, 0.5, 1.0)
    return 0.6847 * 2.0 * numpy.sqrt(numpy.maximum(r - r * r, 0.0))


def orifice(area_m2, upstream_pa, upstream_k, downstream_pa, psi=psi_exact):
    """kg/s through an effective area (discharge included); none flows backwards."""
    return area_m2 * upstream_pa / numpy.sqrt(R_AIR * upstream_k) * psi(downstream_pa / upstream_pa)


def barometer_pa(altitude_m):
    """ISO 2533 up to 11 km."""
    return 101325.0 * (1.0 - 2.25577e-5 * altitude_m) ** 5.25588


def sine_quadrature(count):
    """Midpoints of a quarter of the bore's circumference, from the shaft (0) to the blade's tip (pi/2), and the step."""
    step = 0.5 * numpy.pi / count
    return (numpy.arange(count) + 0.5) * step, step


class Curve:
    """One curve per lane over a common even grid: value by linear interpolation, and the inverse of a rising one."""

    def __init__(self, step, values):
        self.step, self.values = step, values
        self.rows = numpy.arange(values.shape[0])

    def at(self, x):
        place = within(x / self.step, 0.0, self.values.shape[1] - 1.001)
        left = place.astype(int)
        low = self.values[self.rows, left]
        return low + (place - left) * (self.values[self.rows, left + 1] - low)

    def inverse(self, y):
        """The least x whose value is y, 0 or the end outside."""
        right = within((self.values < numpy.asarray(y)[:, None]).sum(axis=1), 1, self.values.shape[1] - 1)
        low, high = self.values[self.rows, right - 1], self.values[self.rows, right]
        return (right - 1 + within((y - low) / numpy.maximum(high - low, 1e-30), 0.0, 1.0)) * self.step
