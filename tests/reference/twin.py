"""A second implementation of the whole closed loop, for test_twin.c: engine, throttle and computer at idle.

Written from docs/physics.md and models/four-16.cfg alone; numbers in square brackets are sections of that
page. Nothing is shared with the C code: own reader of the engine file, own quadrature of the gap, LSODA
instead of CVODE.

    /usr/bin/python3 tests/reference/twin.py ENGINE.cfg

prints CSV, a row every 0.1 s of the SCENARIO below; test_twin.c builds the same one. No scatter, cranking,
stall or fault codes. Needs python3-numpy and python3-scipy; exit code 77 says that they are not installed.
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
)
DURATION_S = 95.0
CONDITIONS = ("film_um", "edge_film_um", "leak_mm2", "drag_nm", "compressor", "gear", "pedal_pct")
AMBIENT_PA, INTAKE_K, COOLANT_C, ELECTRICAL_W = 100e3, 298.15, 90.0, 300.0

DT = 0.01  # s, the computer's period [6]
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
    """Gap area over blade angle for one film: midpoint sums round the bore, splined, tabled in fine steps."""

    ANGLES, SECTORS, FINE = 600, 16384, 100000

    def __init__(self, engine, film_um, edge_film_um):
        throttle = engine["throttle"]
        self.closed = throttle["closed_deg"] * DEG
        opening = np.linspace(0.0, 1.0, self.ANGLES + 1)[:-1] ** 2 * (0.5 * math.pi - self.closed)
        films = film_um * 1e-6, edge_film_um * 1e-6
        areas = [self.area(throttle, engine["film"], *films, self.closed + x) for x in opening]
        spline = CubicSpline(opening, areas)
        self.areas = spline(np.linspace(0.0, opening[-1], self.FINE + 1)).tolist()
        self.step = opening[-1] / self.FINE

    @classmethod
    def area(cls, throttle, film, film_m, edge_film_m, psi):
        radius, closed = throttle["bore_radius_mm"] * 1e-3, throttle["closed_deg"] * DEG
        band, land = film["band_mm"] * 1e-3, throttle["edge_land_mm"] * 1e-3
        theta = (np.arange(cls.SECTORS) + 0.5) * (2.0 * math.pi / cls.SECTORS)
        sine, cosine = np.sin(theta), np.cos(theta)
        k = math.cos(psi) / math.cos(closed)
        blade = radius * k / np.sqrt(k * k * cosine**2 + sine**2)
        edge = blade - throttle["clearance_um"] * 1e-6 + edge_film_m
        inner = np.maximum(edge, 0.5e-3 * throttle["shaft_mm"] / np.abs(sine))
        dz = sine * (blade * math.tan(psi) - radius * math.tan(closed))
        half = band * np.where(dz >= 0.0, 1.0 + film["downstream_ratio"], 1.0 - film["downstream_ratio"])
        z = np.maximum(np.abs(dz) - 0.5 * land, 0.0)
        bias = 1.0 + film["bias_ratio"] * np.cos(theta - film["bias_from_shaft_deg"] * DEG)
        thickness = np.where(z < half, film_m * np.cos(0.5 * math.pi * z / half) ** 2 * bias, 0.0)
        ring = np.maximum((radius - thickness) ** 2 - inner**2, 0.0)
        return 0.5 * math.fsum(ring) * (2.0 * math.pi / cls.SECTORS)

    def at(self, psi):
        place = clamp((psi - self.closed) / self.step, 0.0, self.FINE - 1e-6)
        i = int(place)
        return self.areas[i] + (self.areas[i + 1] - self.areas[i]) * (place - i)


# ---- [2] flow through an opening ----

CRITICAL = (2.0 / (G + 1.0)) ** (G / (G - 1.0))
MOUTH = 0.997


def nozzle(r):
    return r ** (1.0 / G) * math.sqrt(2.0 * G / (G - 1.0) * (1.0 - r ** ((G - 1.0) / G)))


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


# ---- [3], [4], [5] the engine ----

PSI, TURN, P, T, BURN, W, COMPRESSOR, CONVERTER, SENSOR = range(9)
ABSOLUTE = (1e-10, 1e-8, 1e-4, 1e-6, 1e-13, 1e-7, 1e-9, 1e-9, 1e-11)


class Plant:
    def __init__(self, engine):
        throttle, intake, charge = engine["throttle"], engine["intake"], engine["charge"]
        burn, friction, load = engine["combustion"], engine["friction"], engine["loads"]
        self.closed = throttle["closed_deg"] * DEG
        self.discharge = curve(throttle["discharge_by_opening_deg"], DEG, 1.0)
        self.wn, self.zeta = throttle["drive_natural_frequency_rad_s"], throttle["drive_damping_ratio"]
        self.k_filter = intake["filter_drop_kpa_at_100gps"] * 1e3 / 0.1**2
        self.k_exhaust = intake["exhaust_drop_kpa_at_100gps"] * 1e3 / 0.1**2
        self.volume = intake["manifold_volume_l"] * 1e-3
        self.wall_h, self.wall_t = intake["wall_conductance_w_k"], intake["wall_c"] + 273.15
        self.ventilation = intake["ventilation_mm2"] * 1e-6
        self.vd, self.cylinders = charge["displacement_l"] * 1e-3, charge["cylinder_count"]
        self.compression, self.overlap = charge["compression_ratio"], charge["valve_overlap_deg_m"]
        self.s, self.y = charge["pressure_slope_ratio"], charge["pressure_offset_kpa"] * 1e3
        self.breathing = curve(charge["speed_factor_by_rpm"], RPM, 1.0)
        self.heat_per_air = burn["heating_value_mj_kg"] * 1e6 / burn["stoichiometric_ratio"]
        self.efficiency = curve(burn["efficiency_by_rpm"], RPM, 1.0)
        self.best_spark = curve(burn["best_spark_by_rpm"], RPM, DEG)
        self.x0, self.wx = burn["dilution_onset_pct"] / 100.0, burn["dilution_width_pct"] / 100.0
        self.lag = burn["torque_lag_cycles"]
        self.fmep = (friction["constant_bar"], friction["per_krpm_bar"], friction["per_krpm2_bar"])
        self.alternator = load["alternator_efficiency_pct"] / 100.0
        self.fade = (load["alternator_fade_low_rpm"] * RPM, load["alternator_fade_high_rpm"] * RPM)
        self.t_compressor, self.tau_compressor = load["compressor_nm"], load["compressor_lag_s"]
        self.t_converter, self.tau_converter = load["converter_nm"], load["converter_lag_s"]
        self.w_converter = load["converter_rpm"] * RPM
        self.inertia = engine["crank"]["inertia_kg_m2"]
        self.tau_sensor = engine["air_sensor"]["lag_s"]

    def metered(self, cda, p, t):
        """[2] Air through gap and ventilation; this air sets the duct's pressure, hence the loop."""
        m = 0.0
        for _ in range(50):
            before = m
            m = flow(cda, AMBIENT_PA - self.k_filter * m * abs(m), INTAKE_K, p, t)
            if abs(m - before) < 1e-14:
                break
        return m

    def airflow(self, psi, gap, leak, p, t):
        """kg/s through gap and ventilation, and through the leak."""
        cda = self.discharge(psi - self.closed) * gap.at(psi) + self.ventilation
        return self.metered(cda, p, t), flow(0.6 * leak, AMBIENT_PA, INTAKE_K, p, t)

    def rates(self, state, _time, gap, command, spark, leak, drag, clutch, gear):
        psi, turn, p, t, burning, w, compressor, converter, sensor = state
        metered, leaked = self.airflow(psi, gap, leak, p, t)
        m = metered + leaked
        heat_in = sum(part * (INTAKE_K if part >= 0.0 else t) for part in (metered, leaked))

        per_cycle = self.breathing(w) * max(self.s * p + self.y, 0.0) * self.vd / (R * t)
        m_cyl = per_cycle * w / (4.0 * math.pi)
        dp = (G - 1.0) / self.volume * (CP * heat_in - CP * m_cyl * t + self.wall_h * (self.wall_t - t))
        dt = t * (dp / p - (m - m_cyl) * R * t / (p * self.volume))
        p_exhaust = AMBIENT_PA + self.k_exhaust * m_cyl**2

        x = self.residual(w, p, p_exhaust)
        retard = self.best_spark(w) - spark
        eta = self.efficiency(w) * max(1.0 - (retard / (45.0 * DEG)) ** 2, 0.05)
        if x > self.x0:
            eta *= max(1.0 - ((x - self.x0) / self.wx) ** 2, 0.0)
        torque = burning * self.heat_per_air * eta / (4.0 * math.pi)

        n = w / RPM / 1000.0
        friction = (self.fmep[0] + self.fmep[1] * n + self.fmep[2] * n * n) * 1e5 * self.vd / (4.0 * math.pi)
        pumping = (p_exhaust - p) * self.vd / (4.0 * math.pi)
        u = clamp((w - self.fade[0]) / (self.fade[1] - self.fade[0]), 0.0, 1.0)
        alternator = u * u * (3.0 - 2.0 * u) * ELECTRICAL_W / (self.alternator * w)
        loads = self.t_compressor * compressor + self.t_converter * (w / self.w_converter) ** 2 * converter
        return (
            turn,
            self.wn**2 * (command - psi) - 2.0 * self.zeta * self.wn * turn,
            dp,
            dt,
            (per_cycle - burning) * w / (4.0 * math.pi * self.lag),
            (torque - friction - pumping - alternator - loads - drag) / self.inertia,
            (clutch - compressor) / self.tau_compressor,
            (gear - converter) / self.tau_converter,
            (metered - sensor) / self.tau_sensor,
        )

    def residual(self, w, p, p_exhaust):
        n, ratio = max(w / (2.0 * math.pi), 1.0), p / p_exhaust
        overlap = 1.266 * self.overlap / n * ratio**-0.87 * math.sqrt(abs(p - p_exhaust) * 1e-5)
        return min(overlap + 0.632 * ratio**-0.74 / self.compression, 0.9)


# ---- [6] the computer ----


class Computer:
    def __init__(self, engine, plant, clean):
        target, air, spark = engine["idle_target"], engine["idle_air"], engine["idle_spark"]
        by_coolant = target["by_coolant_c"]
        self.warm = by_coolant[-1][1] * RPM
        self.target_now = curve(by_coolant, 1.0, RPM)(COOLANT_C)
        self.gear_step = target["drive_rpm"] * RPM - self.warm
        self.compressor_target = target["compressor_rpm"] * RPM
        self.base = air["base_gps"] * GPS
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
        # What the clean bore passes, choked, at each angle of the table, for the way back from air to angle.
        self.angles = plant.closed + clean.step * np.arange(clean.FINE + 1)
        discharge = np.array([plant.discharge(angle - plant.closed) for angle in self.angles])
        self.unit_flow = AMBIENT_PA / math.sqrt(R * INTAKE_K) * CHOKED
        self.passes = self.unit_flow * discharge * np.array(clean.areas)
        self.ventilation = self.unit_flow * plant.ventilation

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

        air = self.base * (goal / self.warm + self.effort + self.learned)
        air += compressor * self.compressor_air + gear * self.gear_air
        idle_angle = float(np.interp(air - self.ventilation, self.passes, self.angles))
        self.command = idle_angle + self.pedal_opening(pedal)
        spark = min(self.spark_base + clamp(self.spark_gain * e, *self.spark_limits), self.best_spark(w))
        if pressed:
            spark = self.running_spark(w)
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


# ---- the run ----


class Run:
    def __init__(self, path):
        self.engine = read_config(path)
        self.gaps = {}
        self.conditions = dict.fromkeys(CONDITIONS, 0.0)
        self.plant = Plant(self.engine)
        self.computer = Computer(self.engine, self.plant, self.gap())
        speed, pressure = self.computer.target_now, 30e3
        opening = self.plant.closed + 3.0 * DEG
        self.state = [opening, 0.0, pressure, 320.0, 1.5e-4, speed, 0.0, 0.0, self.computer.base]

    def gap(self):
        films = self.conditions["film_um"], self.conditions["edge_film_um"]
        if films not in self.gaps:
            self.gaps[films] = Gap(self.engine, *films)
        return self.gaps[films]

    def decide(self):
        now = self.conditions
        self.computer.tick(self.state[W], now["compressor"], now["gear"], now["pedal_pct"])

    def advance(self):
        now = self.conditions
        held = (self.gap(), self.computer.command, self.computer.spark, now["leak_mm2"] * 1e-6,
                now["drag_nm"], now["compressor"], now["gear"])
        steps = odeint(self.plant.rates, self.state, (0.0, DT), args=held, rtol=1e-8, atol=ABSOLUTE)
        answer = steps[-1].tolist()
        closed = self.plant.closed
        if not all(map(math.isfinite, answer)) or answer[PSI] < closed or answer[W] < 10.0 * RPM:
            raise ArithmeticError(f"the twin left what it describes: {answer}")
        self.state = answer

    def settle(self):
        """Idles until still; the learned offset takes over the whole effort at once, not in minutes."""
        for _ in range(4):
            for _ in range(1000):
                self.decide()
                self.advance()
            self.computer.learn(self.computer.effort)
        if abs(self.state[W] - self.computer.target_now) > 0.1 * RPM:
            raise ArithmeticError(f"the twin does not idle: {self.state}")

    def print_row(self, tick):
        psi, p, t = self.state[PSI], self.state[P], self.state[T]
        air = sum(self.plant.airflow(psi, self.gap(), self.conditions["leak_mm2"] * 1e-6, p, t))
        values = (tick * DT, self.state[W] / RPM, p / 1e3, (psi - self.plant.closed) / DEG,
                  100.0 * self.computer.effort, 100.0 * self.computer.learned, air / GPS)
        print(",".join(f"{value:.6f}" for value in values))


def main():
    run = Run(sys.argv[1])
    run.settle()
    print("time_s,speed_rpm,manifold_kpa,blade_deg,effort_pct,learned_pct,airflow_gps")
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
