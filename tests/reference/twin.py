"""A second implementation of the whole closed loop, for test_twin.c: engine, throttle and computer at idle.

Numbers in square brackets are sections of docs/physics.md, from which it is written. Nothing is shared with
the C code: own reader of the engine file, own quadrature of the gap, LSODA instead of CVODE.

    /usr/bin/python3 tests/reference/twin.py ENGINE.cfg

prints CSV, a row every 0.1 s of the SCENARIO below; test_twin.c builds the same one. Warm, one bank, ideal
position loop [6.1]; no scatter, cranking, stall or fault codes. Needs python3-numpy and python3-scipy; exit
code 77 says that they are not installed.
"""
import bisect
import math
import re
import sys

try:
    import numpy as np
    from scipy.integrate import odeint
    from scipy.interpolate import CubicSpline, PchipInterpolator
except ImportError as missing:
    print(f"twin.py: {missing}", file=sys.stderr)
    sys.exit(77)

# What happens; test_twin.c says the same in its own words.
SCENARIO = (
    (5.0, "film_um", 30.0),
    (20.0, "compressor", 1.0),
    (30.0, "compressor", 0.0),
    (35.0, "film_um", 45.0),
    (45.0, "gear", 1.0),
    (55.0, "film_um", 0.0),
    (62.0, "gear", 0.0),
    (70.0, "leak_mm2", 2.0),
    (74.0, "drag_nm", 3.0),
    (78.0, "edge_film_um", 15.0),
    (84.0, "pedal_pct", 30.0),
    (85.5, "pedal_pct", 0.0),
    (95.0, "drag_nm", 0.0),
    (95.0, "leak_mm2", 6.0),
    (110.0, "egr_stuck_mm2", 4.0),
    (116.0, "egr_stuck_mm2", 0.0),
    (118.0, "boot_leak_mm2", 150.0),
    (124.0, "boot_leak_mm2", 0.0),
    (126.0, "purge_stuck_mm2", 1.0),
    (132.0, "purge_stuck_mm2", 0.0),
    (133.0, "fuel_delivery_ratio", 0.9),
)
DURATION_S = 145.0
SOUND = {"film_um": 0.0, "edge_film_um": 0.0, "leak_mm2": 0.0, "drag_nm": 0.0, "compressor": 0.0, "gear": 0.0,
         "pedal_pct": 0.0, "egr_stuck_mm2": 0.0, "boot_leak_mm2": 0.0, "purge_stuck_mm2": 0.0,
         "fuel_delivery_ratio": 1.0}
PURGE_VAPOUR = 0.15  # the condition's default
AMBIENT_PA, INTAKE_K, COOLANT_C, OIL_C, ELECTRICAL_W = 100e3, 298.15, 90.0, 90.0, 300.0

DT = 0.01  # s, the computer's period
ROW_TICKS = 10
R = 287.05287  # J/(kg K)
G = 1.4
CP = G * R / (G - 1.0)
RPM = 2.0 * math.pi / 60.0
DEG = math.pi / 180.0
GPS = 1e-3


def read_config(path):
    """What engine files use of libconfig's language: groups, lists, numbers, strings, // comments."""
    with open(path, encoding="utf-8") as file:
        text = re.sub(r"//[^\n]*", "", file.read())
    tokens = re.findall(r'"[^"]*"|[A-Za-z_]\w*|[-+]?[0-9.]+(?:[eE][-+]?\d+)?|[={}();,]', text)
    tokens.reverse()

    def group(end):
        values = {}
        while tokens and tokens[-1] != end:
            key = tokens.pop()
            if tokens.pop() != "=":
                raise ValueError(f"{path}: '=' is missing behind {key}")
            values[key] = value()
            if tokens and tokens[-1] in ";,":
                tokens.pop()
        if end:
            tokens.pop()
        return values

    def value():
        token = tokens.pop()
        if token == "{":
            return group("}")
        if token == "(":
            items = []
            while tokens[-1] != ")":
                items.append(value())
                if tokens[-1] == ",":
                    tokens.pop()
            tokens.pop()
            return items
        return token[1:-1] if token.startswith('"') else float(token)

    return group(None)


def curve(points, x_unit, y_unit):
    """The monotone cubic of Fritsch and Carlson through the points, level beyond them."""
    xs = [x * x_unit for x, _ in points]
    ys = [y * y_unit for _, y in points]
    pieces = PchipInterpolator(xs, ys).c.T.tolist()  # highest power first, about each piece's left end

    def at(x):
        if x <= xs[0]:
            return ys[0]
        if x >= xs[-1]:
            return ys[-1]
        i = bisect.bisect_right(xs, x) - 1
        c3, c2, c1, c0 = pieces[i]
        u = x - xs[i]
        return c0 + u * (c1 + u * (c2 + u * c3))

    return at


def clamp(x, least, most):
    return min(max(x, least), most)


# ---- [1] the gap ----


class Gap:
    """What is open and what passes, over blade angle for one film: midpoint sums round the bore, splined, tabled in fine steps."""

    ANGLES, SECTORS, FINE, PLACES = 300, 2048, 100000, 33

    def __init__(self, engine, film_um, edge_film_um):
        throttle = engine["throttle"]
        self.closed = throttle["closed_deg"] * DEG
        # finer near the stop, and no further than where the blade goes behind the shaft
        opening = np.linspace(0.0, 1.0, self.ANGLES + 1)[:-1] ** 3 * (75.0 * DEG - self.closed)
        films = film_um * 1e-6, edge_film_um * 1e-6
        sums = [self.passage(throttle, engine["film"], *films, self.closed + x) for x in opening]
        fine = np.linspace(0.0, opening[-1], self.FINE + 1)
        self.areas, self.passing = [CubicSpline(opening, [pair[i] for pair in sums])(fine).tolist() for i in (0, 1)]
        self.step = opening[-1] / self.FINE

    @classmethod
    def passage(cls, throttle, film, film_m, edge_film_m, psi):
        radius, closed = throttle["bore_radius_mm"] * 1e-3, throttle["closed_deg"] * DEG
        band, land = film["band_mm"] * 1e-3, throttle["edge_land_mm"] * 1e-3
        rb, delta = radius - throttle["clearance_um"] * 1e-6 + edge_film_m, psi - closed
        k, rise = math.cos(psi) / math.cos(closed), math.sin(psi) / math.cos(closed)
        hides = min((0.5e-3 * throttle["shaft_mm"] - 0.5 * land * math.sin(delta)) / (k * rb), 1.0)
        begin, half_way = math.asin(max(hides, 0.0)), cls.SECTORS // 2
        width = (math.pi - 2.0 * begin) / half_way
        phi = begin + (np.arange(half_way) + 0.5) * width
        corners = np.array([begin, math.pi - begin, -begin, begin - math.pi])  # no width: what they face is asked below
        width = np.concatenate([np.full(cls.SECTORS, width), np.zeros(4)])
        phi = np.concatenate([phi, -phi, corners])[:, None]
        side = np.sign(np.sin(phi))
        h = np.linspace(-0.5 * land, 0.5 * land, cls.PLACES)[None, :]
        x, y = rb * np.cos(phi), k * rb * np.abs(np.sin(phi)) - h * math.sin(delta)
        r = np.hypot(x, y)
        ahead = rb * np.abs(np.sin(phi)) * rise + h * math.cos(delta)
        middle_y = k * rb * np.abs(np.sin(phi))
        sine = side * middle_y / np.hypot(x, middle_y)
        ahead = ahead - radius * np.abs(sine) * math.tan(closed)
        half = band * (1.0 + film["downstream_ratio"] * side * np.sign(ahead))
        cosine = x / np.hypot(x, middle_y)
        where = film["bias_from_shaft_deg"] * DEG
        bias = 1.0 + film["bias_ratio"] * (cosine * math.cos(where) + sine * math.sin(where))
        inset = np.where(np.abs(ahead) < half, film_m * np.cos(0.5 * math.pi * ahead / half) ** 2 * bias, 0.0)
        gap = radius - inset - r
        place = np.argmin(gap, axis=1)
        rows = np.arange(cls.SECTORS + 4)
        low, up, down = gap[rows, place], gap[:, 0], gap[:, -1]
        if film_m > 0.0:  # a parabola through the best place and its neighbours
            inner = np.clip(place, 1, cls.PLACES - 2)
            a, b, c = gap[rows, inner - 1], gap[rows, inner], gap[rows, inner + 1]
            bend, lean = a + c - 2.0 * b, c - a
            use = (place == inner) & (bend > 0.0)
            shift = np.where(use, -0.5 * lean / np.where(use, bend, 1.0), 0.0)
            low = low - np.where(use, 0.125 * lean**2 / np.where(use, bend, 1.0), 0.0)
        else:
            shift = 0.0
        spot = h[0, place] + shift * (h[0, 1] - h[0, 0] if land > 0.0 else 0.0)
        x, y = x[:, 0], middle_y[:, 0] - spot * math.sin(delta)
        r = np.hypot(x, y)
        turn = rb * (k * rb * np.cos(phi[:, 0]) ** 2 + y * np.abs(np.sin(phi[:, 0]))) / r**2
        free = np.maximum(low[-4:], 0.0)
        open_ = low > 0.0
        low = np.where(open_, low, 1e-12)
        area = np.where(open_, low * (r + 0.5 * low) * turn * width, 0.0)

        def wedge(length, end):
            end = np.maximum(end, low)
            return 0.5 * length * low * (low + end) / end**2

        length = wedge(spot + 0.5 * land, up) + wedge(0.5 * land - spot, down)
        n = REFERENCE_CD * viscous_length(101325.0, 293.15, 0.35) * length / low**2
        corner = cls.corners(radius, 0.5e-3 * throttle["shaft_mm"], rb * math.cos(begin), free)
        return math.fsum(area) + corner, math.fsum(area * 2.0 / (n + np.sqrt(n * n + 4.0))) + corner

    @staticmethod
    def corners(radius, half_shaft, x, free):
        """Between shaft and wall, up to where the blade comes out; free: gaps there."""
        first, last = math.asin(half_shaft / radius), math.atan2(half_shaft, x)
        one = 0.5 * (radius**2 * (last - first) - half_shaft**2 * (1.0 / math.tan(first) - 1.0 / math.tan(last)))
        clean = radius - half_shaft / math.sin(last)
        if last <= first or clean <= 0.0:
            return 0.0
        return one * math.fsum(np.minimum((free / clean) ** 2, 1.0))

    def at(self, psi):
        place = clamp((psi - self.closed) / self.step, 0.0, self.FINE - 1e-6)
        i = int(place)
        return [v[i] + (v[i + 1] - v[i]) * (place - i) for v in (self.areas, self.passing)]


# ---- [2] flow through an opening ----

CRITICAL = (2.0 / (G + 1.0)) ** (G / (G - 1.0))
MOUTH = 0.997


def nozzle(r):
    return r ** (1.0 / G) * math.sqrt(2.0 * G / (G - 1.0) * (1.0 - r ** ((G - 1.0) / G)))


REFERENCE_CD = 0.66


def viscous_length(p_up, t_up, r):
    """[2.1] The running engine stays below the laminar zone's edge; there it is not asked for."""
    mu = 1.716e-5 * (t_up / 273.15) ** 1.5 * (273.15 + 110.4) / (t_up + 110.4)
    psi = nozzle(max(r, CRITICAL))
    return 24.0 * mu * math.sqrt(R * t_up) / p_up * psi / (1.0 - min(r, MOUTH) ** 2)


def effective(open_, passing, cd, relative):
    """[2.1] CdA of gaps of all widths, by the one width that explains what passes."""
    if passing <= 0.0:
        return 0.0
    n = (open_ / passing - passing / open_) * relative * cd / REFERENCE_CD
    return cd * open_ * 2.0 / (n + math.sqrt(n * n + 4.0))


def nozzle_slope(r):
    """-dPsi/dr."""
    u, v = r ** (2.0 / G), r ** ((G + 1.0) / G)
    return -0.5 * math.sqrt(2.0 * G / (G - 1.0) / (u - v)) * (2.0 / G * u / r - (G + 1.0) / G * v / r)


CHOKED, MOUTH_VALUE, MOUTH_SLOPE = nozzle(CRITICAL), nozzle(MOUTH), nozzle_slope(MOUTH)


def psi_function(r, t_up, t_down):
    if r <= CRITICAL:
        return CHOKED
    if r <= MOUTH:
        return nozzle(r)
    e, v, s = 1.0 - MOUTH, MOUTH_VALUE, MOUTH_SLOPE
    s0 = (1.5 * v / e - 0.5 * s) * 0.5 * (1.0 + math.sqrt(t_up / t_down))
    u = (1.0 - r) / e
    return v * u * u * (3.0 - 2.0 * u) + e * s0 * u * (1.0 - u) ** 2 - e * s * u * u * (1.0 - u)


def flow(cda, p_a, t_a, p_b, t_b):
    """kg/s from a to b, negative the other way."""
    if p_a >= p_b:
        return cda * p_a / math.sqrt(R * t_a) * psi_function(p_b / p_a, t_a, t_b)
    return -cda * p_b / math.sqrt(R * t_b) * psi_function(p_a / p_b, t_b, t_a)


# ---- [3] to [6] the engine ----

PSI, TURN, P, T, B, BURN, FUEL, WALL, W, COMPRESSOR, CONVERTER, SENSOR = range(12)
ABSOLUTE = (1e-10, 1e-8, 1e-4, 1e-6, 1e-9, 1e-13, 1e-14, 1e-14, 1e-7, 1e-9, 1e-9, 1e-11)


class Plant:
    def __init__(self, engine):
        throttle, intake, charge = engine["throttle"], engine["intake"], engine["charge"]
        burn, mix = engine["combustion"], engine["mixture"]
        friction, load = engine["friction"], engine["loads"]
        self.closed = throttle["closed_deg"] * DEG
        self.discharge = curve(throttle["discharge_by_opening_deg"], DEG, 1.0)
        self.wn, self.zeta = throttle["drive_natural_frequency_rad_s"], throttle["drive_damping_ratio"]
        self.k_filter = intake["filter_drop_kpa_at_100gps"] * 1e3 / 0.1**2
        self.purge = intake.get("purge_mm2", 0.0) * 1e-6  # warm and in closed loop all the time
        self.purge_vapour = intake.get("purge_vapour_pct", 6.4) / 100.0
        self.k_exhaust = intake["exhaust_drop_kpa_at_100gps"] * 1e3 / 0.1**2
        self.volume = intake["manifold_volume_l"] * 1e-3
        self.wall_h = intake["wall_conductance_w_k"]
        self.wall_t = INTAKE_K + intake["wall_warmth_ratio"] * (COOLANT_C + 273.15 - INTAKE_K)
        self.exhaust_t = engine["warmth"]["exhaust_gas_c"] + 273.15
        self.ventilation = intake["ventilation_mm2"] * 1e-6
        self.vd, self.cylinders = charge["displacement_l"] * 1e-3, charge["cylinder_count"]
        self.compression, self.overlap = charge["compression_ratio"], charge["valve_overlap_deg_m"]
        self.s, self.y = charge["pressure_slope_ratio"], charge["pressure_offset_kpa"] * 1e3
        self.z = max(self.s, self.compression / (self.compression - 1.0))
        self.breathing = curve(charge["speed_factor_by_rpm"], RPM, 1.0)
        self.afr = burn["stoichiometric_ratio"]
        self.heat_per_air = burn["heating_value_mj_kg"] * 1e6 / self.afr
        self.efficiency = curve(burn["efficiency_by_rpm"], RPM, 1.0)
        self.retard_loss = burn.get("retard_loss_per_deg2", 2.33e-4) / DEG**2
        self.best_spark = curve(burn["best_spark_by_rpm"], RPM, DEG)
        self.x0, self.wx = burn["dilution_onset_pct"] / 100.0, burn["dilution_width_pct"] / 100.0
        self.lag = burn["torque_lag_cycles"]
        self.wall_share = mix["wall_share_ratio"]
        self.l0, self.bend = mix["best_lambda"], mix["torque_curvature"]
        self.wall_tau = curve(mix["wall_time_s_by_c"], 1.0, 1.0)(COOLANT_C)
        self.fmep = (friction["constant_bar"], friction["per_krpm_bar"], friction["per_krpm2_bar"])
        self.oil = curve(friction["oil_factor_by_c"], 1.0, 1.0)(OIL_C)
        self.alternator = load["alternator_efficiency_pct"] / 100.0
        self.fade = (load["alternator_fade_low_rpm"] * RPM, load["alternator_fade_high_rpm"] * RPM)
        self.t_compressor, self.tau_compressor = load["compressor_nm"], load["compressor_lag_s"]
        self.t_converter, self.tau_converter = load["converter_nm"], load["converter_lag_s"]
        self.w_converter = load["converter_rpm"] * RPM
        self.inertia = engine["crank"]["inertia_kg_m2"]
        self.tau_sensor = engine["air_sensor"]["lag_s"]

    def vapour(self, now):
        """Fuel in what the purge brings: the usual opening's share and that of a valve stuck open, by area."""
        stuck = 0.6e-6 * now["purge_stuck_mm2"]
        both = stuck + self.purge
        return (stuck * PURGE_VAPOUR + self.purge * self.purge_vapour) / both if both > 0.0 else 0.0

    def duct(self, cda, k, p, t):
        """[3.1] Air through blade and ventilation; this air sets the duct's pressure, hence the loop."""
        m = 0.0
        for _ in range(50):
            before = m
            m = flow(cda, AMBIENT_PA - k * m * abs(m), INTAKE_K, p, t)
            if abs(m - before) < 1e-14:
                break
        return m

    def charge(self, p, t, w, p_exhaust=AMBIENT_PA):
        line = self.s * p + self.y * p_exhaust / 101325.0
        return self.breathing(w) * max(min(line, self.z * p), 0.0) * self.vd / (R * t)

    def air(self, psi, p, t, w, gap, now):
        """[3] Flows: metered, duct, leak, purge, recirculation; gas per cycle and exhaust pressure."""
        relative = viscous_length(AMBIENT_PA, INTAKE_K, p / AMBIENT_PA) / viscous_length(101325.0, 293.15, 0.35)
        cda = effective(*gap.at(psi), self.discharge(psi - self.closed), relative) + self.ventilation
        density = AMBIENT_PA / (R * INTAKE_K)
        beside = 1.0 + 0.6 * now["boot_leak_mm2"] * 1e-6 * math.sqrt(2.0 * density * self.k_filter)
        duct = self.duct(cda, self.k_filter / beside**2, p, t)
        leak = flow(0.6e-6 * now["leak_mm2"], AMBIENT_PA, INTAKE_K, p, t)
        purge = flow(0.6e-6 * now["purge_stuck_mm2"] + self.purge, AMBIENT_PA, INTAKE_K, p, t)
        p_exhaust = AMBIENT_PA
        for _ in range(20):  # a gram more against a pascal more: converges at once
            before = p_exhaust
            per_cycle = self.charge(p, t, w, p_exhaust)
            p_exhaust = AMBIENT_PA + self.k_exhaust * (per_cycle * w / (4.0 * math.pi)) ** 2
            if abs(p_exhaust - before) < 1e-9:
                break
        back = flow(0.6e-6 * now["egr_stuck_mm2"], p_exhaust, self.exhaust_t, p, t)
        return duct / beside, duct, leak, purge, back, per_cycle, p_exhaust

    def rates(self, state, _time, gap, command, spark, fuel, now):
        psi, turn, p, t, b, burning, burning_fuel, wall, w, compressor, converter, sensor = state
        metered, duct, leak, purge, back, per_cycle, p_exhaust = self.air(psi, p, t, w, gap, now)
        m = duct + leak + purge + back
        heat_in = sum(part * (INTAKE_K if part >= 0.0 else t) for part in (duct, leak, purge))
        heat_in += back * (self.exhaust_t if back >= 0.0 else t)
        brings = sum(-b * max(part, 0.0) for part in (duct, leak, purge)) + (1.0 - b) * max(back, 0.0)
        cycles = w / (4.0 * math.pi)
        m_cyl = per_cycle * cycles
        mass = p * self.volume / (R * t)
        dp = (G - 1.0) / self.volume * (CP * heat_in - CP * m_cyl * t + self.wall_h * (self.wall_t - t))
        dt = t * (dp / p - (m - m_cyl) / mass)

        injected = fuel * cycles * now["fuel_delivery_ratio"]
        drawn = (1.0 - self.wall_share) * injected + wall / self.wall_tau + max(purge, 0.0) * self.vapour(now)

        own = self.residual(w, p, p_exhaust)
        x = own + (1.0 - own) * b
        retard = self.best_spark(w) - spark
        eta = self.efficiency(w) * max(1.0 - self.retard_loss * retard**2, 0.05)
        if x > self.x0:
            eta *= max(1.0 - ((x - self.x0) / self.wx) ** 2, 0.0)
        lam = self.mixture(burning, burning_fuel)
        eta *= max(1.0 + self.bend * ((1.0 - self.l0) ** 2 - (lam - self.l0) ** 2), 0.0)
        torque = burning * self.heat_per_air * eta / (4.0 * math.pi)

        n = w / RPM / 1000.0
        friction = (self.fmep[0] + self.fmep[1] * n + self.fmep[2] * n * n) * 1e5 * self.vd / (4.0 * math.pi)
        friction *= self.oil
        pumping = (p_exhaust - p) * self.vd / (4.0 * math.pi)
        u = clamp((w - self.fade[0]) / (self.fade[1] - self.fade[0]), 0.0, 1.0)
        alternator = u * u * (3.0 - 2.0 * u) * ELECTRICAL_W / (self.alternator * w)
        loads = self.t_compressor * compressor + self.t_converter * (w / self.w_converter) ** 2 * converter
        return (
            turn,
            self.wn**2 * (command - psi) - 2.0 * self.zeta * self.wn * turn,
            dp,
            dt,
            brings / mass,
            (per_cycle * (1.0 - b) - burning) * cycles / self.lag,
            (drawn / cycles - burning_fuel) * cycles / self.lag,
            self.wall_share * injected - wall / self.wall_tau,
            (torque - friction - pumping - alternator - loads - now["drag_nm"]) / self.inertia,
            (now["compressor"] - compressor) / self.tau_compressor,
            (now["gear"] - converter) / self.tau_converter,
            (metered - sensor) / self.tau_sensor,
        )

    def mixture(self, air, fuel):
        return air / self.afr / fuel if fuel > 0.0 else 100.0

    def residual(self, w, p, p_exhaust):
        n, ratio = max(w / (2.0 * math.pi), 1.0), p / p_exhaust
        overlap = 1.266 * self.overlap / n * ratio**-0.87 * math.sqrt(abs(p - p_exhaust) * 1e-5)
        return min(overlap + 0.632 * ratio**-0.74 / self.compression, 0.9)


class OxygenSensor:
    """[7]"""

    def __init__(self, fuel):
        self.delay, self.follow = fuel["sensor_delay_cycles"], 1.0 - math.exp(-DT / fuel["sensor_lag_s"])
        self.past, self.reading = [], 1.0

    def tick(self, lam, w):
        ticks = round(self.delay * 4.0 * math.pi / max(w, 10.0) / DT)
        self.past.append(min(lam, 2.0))
        seen = self.past[-1 - min(ticks, 511, len(self.past) - 1)]
        self.reading += self.follow * (seen - self.reading)


# ---- [8], [9] the computer ----


class Computer:
    def __init__(self, engine, plant, clean):
        target, air, spark = engine["idle_target"], engine["idle_air"], engine["idle_spark"]
        by_coolant = target["by_coolant_c"]
        self.warm = by_coolant[-1][1] * RPM
        self.target_now = curve(by_coolant, 1.0, RPM)(COOLANT_C)
        self.gear_step = target["drive_rpm"] * RPM - self.warm
        self.compressor_target = target["compressor_rpm"] * RPM
        self.base = air["base_gps"] * GPS
        self.cold = curve(air["cold_ratio_by_c"], 1.0, 1.0)(COOLANT_C)
        self.compressor_air, self.gear_air = air["compressor_gps"] * GPS, air["drive_gps"] * GPS
        self.kp = air["proportional_pct_per_rpm"] / 100.0 / RPM
        self.ki = air["integral_pct_per_rpm_s"] / 100.0 / RPM
        self.window = air["integral_window_rpm"] * RPM
        self.effort_limits = air["effort_least_pct"] / 100.0, air["effort_most_pct"] / 100.0
        self.learned_limits = air["learned_least_pct"] / 100.0, air["learned_most_pct"] / 100.0
        self.learn_time, self.learn_delay = air["learn_time_s"], air["learn_delay_s"]
        self.spark_base, self.spark_gain = spark["base_deg"] * DEG, spark["gain_deg_per_rpm"] * DEG / RPM
        self.spark_limits = -spark["retard_limit_deg"] * DEG, spark["advance_limit_deg"] * DEG
        self.slew = spark["slew_deg_per_s"] * DEG * DT
        self.best_spark = plant.best_spark
        self.running_spark = curve(spark["running_deg_by_rpm"], RPM, DEG)
        self.pedal_opening = curve(engine["pedal"]["opening_deg_by_pct"], 1.0, DEG)
        self.pedal_closed = engine["pedal"]["closed_pct"]
        self.integral = self.effort = self.learned = 0.0
        self.spark, self.command = self.spark_base, plant.closed
        self.settled, self.loads = 0.0, (0.0, 0.0)
        self.fade, self.electrical_air = plant.fade, air.get("electrical_gps_per_kw", 0.0) * GPS / 1e3
        # What the clean bore passes, choked, at each angle of the table, for the way back from air to angle.
        self.angles = plant.closed + clean.step * np.arange(clean.FINE + 1)
        discharge = np.array([plant.discharge(angle - plant.closed) for angle in self.angles])
        self.unit_flow = AMBIENT_PA / math.sqrt(R * INTAKE_K) * CHOKED
        relative = viscous_length(AMBIENT_PA, INTAKE_K, 0.35) / viscous_length(101325.0, 293.15, 0.35)
        self.passes = self.unit_flow * np.array(
            [effective(a, b, c, relative) for a, b, c in zip(clean.areas, clean.passing, discharge)])
        self.ventilation = self.unit_flow * (plant.ventilation + plant.purge)

    def tick(self, w, compressor, gear, pedal):
        pressed = pedal > self.pedal_closed
        self.settled = self.settled + DT if (compressor, gear) == self.loads and not pressed else 0.0
        self.loads = compressor, gear
        goal = self.target_now + gear * self.gear_step
        if compressor:
            goal = max(goal, self.compressor_target)
        e = goal - w
        if not pressed:
            self.regulate(e)

        air = self.base * (self.cold * goal / self.warm + self.effort + self.learned)
        air += compressor * self.compressor_air + gear * self.gear_air
        u = clamp((w - self.fade[0]) / (self.fade[1] - self.fade[0]), 0.0, 1.0)
        air += self.electrical_air * u * u * (3.0 - 2.0 * u) * ELECTRICAL_W
        idle_angle = float(np.interp(air - self.ventilation, self.passes, self.angles))
        self.command = min(idle_angle + self.pedal_opening(pedal), 0.5 * math.pi)
        spark = min(self.spark_base + clamp(self.spark_gain * e, *self.spark_limits), self.best_spark(w))
        if pressed:
            share = clamp((w - self.warm) / (600.0 * RPM), 0.0, 1.0)
            spark = min(self.spark_base + share * (self.running_spark(w) - self.spark_base), self.best_spark(w))
        self.spark += clamp(spark - self.spark, -self.slew, self.slew)

    def regulate(self, e):
        least, most = self.effort_limits
        wanted, step = self.kp * e + self.integral, self.ki * e * DT
        pushes = (wanted >= most and step > 0.0) or (wanted <= least and step < 0.0)
        if abs(e) <= self.window and not pushes:
            self.integral = clamp(self.integral + step, least, most)
        self.effort = clamp(self.kp * e + self.integral, least, most)
        if self.settled >= self.learn_delay:
            self.learn(self.effort * DT / self.learn_time)

    def learn(self, amount):
        before = self.learned
        self.learned = clamp(before + amount, *self.learned_limits)
        self.integral -= self.learned - before


class FuelComputer:
    """[9] One bank, air-flow sensor, warm, pedal never down far enough to leave the closed loop."""

    IDLE, OFF_IDLE = 0, 1

    def __init__(self, engine, plant, base):
        fuel = engine["fuel"]
        self.plant, self.base = plant, base
        self.kp, self.ki = fuel["proportional"], fuel["integral_per_s"]
        self.short_limit, self.long_limit = fuel["short_limit_pct"] / 100.0, fuel["long_limit_pct"] / 100.0
        self.long_time = fuel["long_time_s"]
        self.pressure, self.wall, self.per_cycle = 30e3, 0.0, 0.0
        self.short, self.integral, self.long, self.cell = 0.0, 0.0, [0.0, 0.0], self.IDLE

    def manifold_t(self, m):
        plant = self.plant
        return (m * CP * INTAKE_K + plant.wall_h * plant.wall_t) / (m * CP + plant.wall_h)

    def tick(self, w, sensor, lam, pressed):
        cycles = w / (4.0 * math.pi)
        guess = self.plant.charge(self.pressure, self.manifold_t(self.base), w) * cycles
        t = self.manifold_t(guess)
        air = self.plant.charge(self.pressure, t, w)
        self.pressure += DT * R * t / self.plant.volume * (sensor - air * cycles)
        self.pressure = clamp(self.pressure, 5e3, AMBIENT_PA)

        self.cell = self.OFF_IDLE if pressed else self.IDLE
        self.trim(lam)
        wanted = air / self.plant.afr * (1.0 + self.short + self.long[self.cell]) * cycles
        tau, share = self.plant.wall_tau, self.plant.wall_share
        injected = max((wanted - self.wall / tau) / (1.0 - share), 0.0)
        self.wall = share * injected * tau + (self.wall - share * injected * tau) * math.exp(-DT / tau)
        self.per_cycle = injected / cycles

    def trim(self, lam):
        e, limit = clamp(lam - 1.0, -0.3, 0.3), self.short_limit
        wanted = self.kp * e + self.integral
        if not ((wanted >= limit and e > 0.0) or (wanted <= -limit and e < 0.0)):
            self.integral += self.ki * e * DT
        self.short = clamp(self.kp * e + self.integral, -limit, limit)
        self.learn(self.short * DT / self.long_time)

    def learn(self, amount):
        before = self.long[self.cell]
        self.long[self.cell] = clamp(before + amount, -self.long_limit, self.long_limit)
        self.integral -= self.long[self.cell] - before


# ---- the run ----


class Run:
    def __init__(self, path):
        self.engine = read_config(path)
        self.gaps = {}
        self.conditions = dict(SOUND)
        self.plant = Plant(self.engine)
        self.computer = Computer(self.engine, self.plant, self.gap())
        speed, pressure = self.computer.target_now, 30e3
        opening = self.plant.closed + 3.0 * DEG
        self.fuel = FuelComputer(self.engine, self.plant, self.computer.base)
        self.sensor = OxygenSensor(self.engine["fuel"])
        air = self.plant.charge(pressure, 320.0, speed)
        fuel = air / self.plant.afr
        self.state = [opening, 0.0, pressure, 320.0, 0.0, air, fuel, 0.0, speed, 0.0, 0.0, self.computer.base]

    def gap(self):
        films = self.conditions["film_um"], self.conditions["edge_film_um"]
        if films not in self.gaps:
            self.gaps[films] = Gap(self.engine, *films)
        return self.gaps[films]

    def decide(self):
        now, w = self.conditions, self.state[W]
        self.sensor.tick(self.plant.mixture(self.state[BURN], self.state[FUEL]), w)
        self.computer.tick(w, now["compressor"], now["gear"], now["pedal_pct"])
        pressed = now["pedal_pct"] > self.computer.pedal_closed
        self.fuel.tick(w, self.state[SENSOR], self.sensor.reading, pressed)

    def advance(self):
        held = self.gap(), self.computer.command, self.computer.spark, self.fuel.per_cycle, self.conditions
        steps = odeint(self.plant.rates, self.state, (0.0, DT), args=held, rtol=1e-8, atol=ABSOLUTE)
        answer = steps[-1].tolist()
        closed = self.plant.closed
        if not all(map(math.isfinite, answer)) or answer[PSI] < closed or answer[W] < 10.0 * RPM:
            raise ArithmeticError(f"the twin left what it describes: {answer}")
        self.state = answer

    def settle(self):
        """[10] Idles until still; what is learned takes over the whole effort at once, not in minutes."""
        for left in range(5, -1, -1):
            for _ in range(2000):
                self.decide()
                self.advance()
            if left:
                self.computer.learn(self.computer.effort)
                self.fuel.learn(self.fuel.short)
        if abs(self.state[W] - self.computer.target_now) > 0.1 * RPM:
            raise ArithmeticError(f"the twin does not idle: {self.state}")

    def print_row(self, tick):
        psi, p, t, w = self.state[PSI], self.state[P], self.state[T], self.state[W]
        _, duct, leak, purge, *_ = self.plant.air(psi, p, t, w, self.gap(), self.conditions)
        air = duct + leak + purge - max(purge, 0.0) * self.plant.vapour(self.conditions)
        values = (tick * DT, w / RPM, p / 1e3, (psi - self.plant.closed) / DEG,
                  100.0 * self.computer.effort, 100.0 * self.computer.learned, air / GPS, self.sensor.reading,
                  100.0 * self.fuel.short, 100.0 * self.fuel.long[self.fuel.cell])
        print(",".join(f"{value:.6f}" for value in values))


def main():
    run = Run(sys.argv[1])
    run.settle()
    print("time_s,speed_rpm,manifold_kpa,blade_deg,effort_pct,learned_pct,airflow_gps,"
          "lambda,stft_pct,ltft_pct")
    for tick in range(round(DURATION_S / DT) + 1):
        for at_s, name, value in SCENARIO:
            if round(at_s / DT) == tick:
                run.conditions[name] = value
        run.decide()
        if tick % ROW_TICKS == 0:
            run.print_row(tick)
        run.advance()


if __name__ == "__main__":
    main()
