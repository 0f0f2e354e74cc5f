"""Alien 1: air-flow metered, electronic throttle, learned air in g/s.

Throttle    Gap between blade edge and wall integrated round the bore. The wall is contoured: it follows the edge for a
            few millimetres, so that near closed the gap grows slower than a plain bore's. Film: a smooth bump along the
            wall (Gauss), centred off the closed line, thicker towards the blade's tips, thicker on one side.
Charge      Ideal charge less residual gas by overlap and clearance (form and coefficients of Fox, Cheng and Heywood 1993,
            SAE 931025, from memory); filling falls with speed; exhaust gas let into the manifold is a state.
Torque      Fuel that finds air times a gross efficiency (falls with residual gas, bell-shaped in spark), less pumping
            (p_exhaust - p_manifold), less rubbing after Chen and Flynn 1965 (form; coefficients drawn round the original
            0.137 + 0.005 p_max + 0.162 v_piston bar, from memory), less alternator, less accessories.
Computer    Every 20 ms in whole numbers: idle air in 1/256 g/s = its own table + one learned 8-bit cell per load state +
            proportional + integral part, each limited; blade from the nominal unit's area table; spark by speed error.
Trims       Short term integrates the switching sensor; long term in two cells, idle and off idle.

Invented: all spreads of parameters from model to model and unit to unit, the controller's numbers, and the contour's form.
"""
import types

import numpy

from gas import KELVIN, R_AIR, Curve, barometer_pa, orifice, sine_quadrature, within
from simulator import Simulator, bisect, draw_day, spread

KIND = "metered"
CAUSES = {"film": (0.05, 0.80), "vacuum_leak": (0.7, 14.0), "torn_boot": (20.0, 300.0), "air_flow_low": (0.94, 0.68),
          "coolant_low": (-10.0, -50.0), "fuel_weak": (0.93, 0.72), "spark_missing": (20.0, 100.0),
          "cylinder_compression": (15.0, 90.0), "drag": (1.5, 9.0), "ventilation_stuck": (0.7, 10.0), "purge_stuck": (0.5, 7.0),
          "track_shifted_up": (0.04, 0.18)}
UNIT_COUNT = 256.0  # counts of the computer's idle air in a g/s
CELL_COUNTS = 5     # one step of a learned cell: 0.02 g/s


def draw_model(rng):
    litres = rng.uniform(1.2, 2.6)
    automatic = rng.uniform() < 0.6
    stroke = 0.088 * (litres / 1.8) ** (1.0 / 3.0) * rng.uniform(0.93, 1.08)
    return {
        "displacement_m3": litres * 1e-3, "cylinders": 4 if litres < 2.2 else float(rng.choice([4, 6])),
        "compression": rng.uniform(9.2, 11.5), "stroke_m": stroke, "automatic": float(automatic),
        "inertia": 0.09 * litres + (0.10 if automatic else 0.04), "bore_m": (0.050 + 0.006 * (litres - 1.6)) * rng.uniform(0.94, 1.08),
        "closed_deg": rng.uniform(3.5, 8.0), "clearance_m": rng.uniform(18e-6, 42e-6), "contour": rng.uniform(0.05, 0.5),
        "contour_m": rng.uniform(1.5, 4.5) * 1e-3, "discharge": rng.uniform(0.62, 0.78), "film_centre_m": rng.uniform(-0.3, 1.2) * 1e-3,
        "film_width_m": rng.uniform(0.8, 3.0) * 1e-3, "film_tilt": rng.uniform(0.0, 0.5), "manifold_ratio": rng.uniform(1.3, 2.6),
        "filling": rng.uniform(0.58, 0.84), "filling_fall": rng.uniform(-0.02, 0.10), "overlap": rng.uniform(0.15, 0.7),
        "heating": rng.uniform(0.12, 0.35), "efficiency": rng.uniform(0.37, 0.44), "efficiency_residual": rng.uniform(0.4, 0.9),
        "best_spark": rng.uniform(26.0, 33.0), "spark_width": rng.uniform(42.0, 60.0), "rub_a": rng.uniform(0.10, 0.24), "rub_b": 0.005,
        "rub_c": rng.uniform(0.12, 0.19), "rub_d": rng.uniform(0.0, 0.006), "viscosity": rng.uniform(0.004, 0.009),
        "electric_w": rng.uniform(150.0, 300.0), "alternator": rng.uniform(0.50, 0.62),
        "compressor_nm": 4.5 + 2.0 * litres * rng.uniform(0.8, 1.3), "fan_w": rng.uniform(60.0, 180.0),
        "converter_nm": (9.0 + 3.0 * litres) * rng.uniform(0.8, 1.2), "ventilation_m2": rng.uniform(0.8, 2.2) * 1e-6,
        "boot_path_m2": rng.uniform(1300.0, 2600.0) * 1e-6, "miss_oxygen": rng.uniform(0.6, 1.0), "maf_gain": 1.0,
        "position_slope": rng.uniform(0.88, 1.02), "position_offset": rng.uniform(8.0, 15.0),
        "rest_pct": float(rng.choice([0, 0, 0, 4.5])), "target_rpm": float(round(rng.uniform(640.0, 860.0) / 10.0) * 10),
        "target_ac": float(rng.choice([0, 0, 50, 100])), "target_drive": float(rng.choice([-100, -60, 0])),
        "spark_idle": rng.uniform(4.0, 16.0), "spark_2500": rng.uniform(26.0, 36.0), "spark_up": rng.uniform(5.0, 12.0),
        "spark_down": rng.uniform(6.0, 12.0), "spark_gain": rng.uniform(0.05, 0.12), "gain_p": rng.uniform(0.6, 1.2),
        "gain_i": rng.uniform(0.25, 0.5), "limit_up": rng.uniform(0.30, 0.85), "limit_down": rng.uniform(0.35, 0.7),
        "cell_most": float(rng.integers(22, 64)), "relearns_stop": float(rng.uniform() < 0.6),
        "trim_most": float(rng.choice([20, 25, 30, 33])), "load_kind": float(rng.choice([0, 0, 1])),
        "relative_fixed": float(rng.choice([0, 0, 1])), "altitude_m": rng.uniform(0.0, 900.0),
    }


def draw_unit(model, rng):
    unit = spread(rng, model, bore_m=0.0015, clearance_m=0.10, contour=0.05, discharge=0.015, filling=0.012, overlap=0.06,
                  efficiency=0.012, rub_a=0.08, rub_c=0.05, electric_w=0.08, ventilation_m2=0.08, maf_gain=0.015, compression=0.01,
                  compressor_nm=0.06, converter_nm=0.05, position_slope=0.006, heating=0.08)
    unit["closed_deg"] += rng.normal(0.0, 0.08)
    unit["position_offset"] += rng.normal(0.0, 0.35)
    return unit


def area_rows(units, film_m, degrees):
    """Open area, m2, of each unit (row) at these blade angles above its stop (a row for all, or one each): the gap round the bore.
    Half the circumference lies before, half behind the shaft; the bump sits at `film_centre_m` along the bore."""
    phi, step = sine_quadrature(16)
    column = lambda name: getattr(units, name)[:, None, None]
    radius = 0.5 * column("bore_m")
    closed = numpy.radians(column("closed_deg"))
    blade = closed + numpy.radians(numpy.atleast_2d(degrees))[:, :, None]
    along = radius * numpy.sin(phi) * (numpy.sin(blade) - numpy.sin(closed)) / numpy.cos(closed)
    plain = radius * numpy.sin(phi) ** 2 * (1.0 - numpy.cos(blade) / numpy.cos(closed))
    gap = column("clearance_m") + plain * (1.0 - column("contour") * numpy.exp(-(along / column("contour_m")) ** 2))
    area = 0.0
    for side in (-1.0, 1.0):
        bump = numpy.asarray(film_m)[:, None, None] * (1.0 + side * column("film_tilt")) * (0.35 + 0.65 * numpy.sin(phi) ** 2)
        bump = bump * numpy.exp(-((along - column("film_centre_m")) / column("film_width_m")) ** 2)
        area = area + (2.0 * numpy.maximum(gap - bump, 0.03 * gap) * radius * step).sum(axis=2)
    return area


class Metered(Simulator):
    WARM_C, WARM_UP_RPM_C = 76.0, 7.0
    GRID_DEG = 0.25

    def prepare(self):
        u, d = self.u, self.d
        self.degrees = numpy.arange(0.0, 36.0, self.GRID_DEG)
        nothing = 0.0 * self.ones
        self.clean = Curve(self.GRID_DEG, area_rows(u, nothing, self.degrees))
        self.filmed = Curve(self.GRID_DEG, area_rows(u, self.f.film_thickness_m, self.degrees))
        self.ambient_pa = barometer_pa(u.altitude_m) + 1000.0 * d.barometer_kpa
        self.intake_k = KELVIN + d.ambient_c + d.intake_rise_c
        self.exhaust_pa = self.ambient_pa * 1.02

    def area_m2(self, degrees):
        clean = self.clean.at(degrees)
        return clean + (self.filmed.at(degrees) - clean) * self.grown

    def charge_k(self, u):
        return self.intake_k + u.heating * (KELVIN + self.d.coolant_c - self.intake_k)

    def breathe(self, u, rpm, pressure_pa, burnt):
        """kg/s of fresh gas and of everything from the manifold, and the share of burnt gas in the cylinder."""
        ratio = within(pressure_pa / self.exhaust_pa, 0.1, 1.0)
        residual = 1.266 * u.overlap / (rpm / 60.0) * ratio ** -0.87 * numpy.sqrt(numpy.maximum(self.exhaust_pa - pressure_pa, 0.0)
                                                                                  * 1e-5)
        residual = within(residual + 0.632 / u.compression * ratio ** -0.74, 0.0, 0.65)
        filling = u.filling * (1.0 - u.filling_fall * (rpm - 750.0) / 1000.0)
        whole = filling * pressure_pa * u.displacement_m3 * rpm / 120.0 / (R_AIR * self.charge_k(u)) * (1.0 - residual)
        return whole * (1.0 - burnt), whole, residual + burnt * (1.0 - residual)

    def torque_nm(self, u, rpm, pressure_pa, air, fuel, spark, burnt, extra_nm=0.0, sound=1.0):
        omega = rpm * numpy.pi / 30.0
        best = u.best_spark + 25.0 * (burnt - 0.3) + 3.0 * (rpm - 750.0) / 1000.0
        efficiency = u.efficiency * (1.0 - u.efficiency_residual * (burnt - 0.25)) * numpy.exp(-((spark - best) / u.spark_width) ** 2)
        heat_w = numpy.minimum(fuel, air / 14.0) * 43.0e6
        peak_bar = 1.6 * pressure_pa * 1e-5 * u.compression ** 1.3
        piston = 2.0 * u.stroke_m * rpm / 60.0
        cold = 1.0 + u.viscosity * numpy.maximum(90.0 - self.d.coolant_c, -10.0)
        rub_bar = (u.rub_a + u.rub_b * peak_bar + u.rub_c * piston + u.rub_d * piston ** 2) * cold * self.d.friction_ratio
        watts = u.electric_w + self.d.electric_w + u.fan_w * self.ac
        loads = watts / (u.alternator * omega) + self.ac * self.engaged * u.compressor_nm * self.d.ac_ratio
        loads = loads + self.gear * self.engaged * u.converter_nm * self.d.gear_ratio * (rpm / 750.0) ** 2
        swept = u.displacement_m3 / (4.0 * numpy.pi)
        return heat_w * efficiency * sound / omega - (self.exhaust_pa - pressure_pa + rub_bar * 1e5) * swept - loads - extra_nm

    def calibrate(self, ac, gear):
        """What the maker's table says: idle air, g/s, of the nominal car on a mean day under this load."""
        u, before = self.nominal, (self.ac, self.gear)
        self.ac, self.gear = ac, gear
        rpm = u.target_rpm + ac * u.target_ac + gear * u.target_drive

        def lacking(pressure):
            air, _, burnt = self.breathe(u, rpm, pressure, 0.0)
            return self.torque_nm(u, rpm, pressure, air, air / 14.6, u.spark_idle, burnt)

        pressure = bisect(lacking, 9e3 * self.ones, 95e3 * self.ones)
        self.ac, self.gear = before
        return 1000.0 * self.breathe(u, rpm, pressure, 0.0)[0], pressure

    def plausible(self):
        """Which nominal cars idle as published figures say engines do (reference figures: air a litre, manifold pressure)."""
        per_litre = self.table_gps / (self.u.displacement_m3 * 1000.0)
        blade = self.table_area.inverse(self.throttle_share_kg_s(self.table_gps) / self.choked)
        return (per_litre > 0.82) & (per_litre < 1.12) & (self.table_pressure > 24e3) & (self.table_pressure < 40e3) & (blade > 0.4)

    def throttle_share_kg_s(self, air_gps):
        """What of the idle air the computer expects through the throttle: all but the crankcase's."""
        return numpy.maximum(air_gps * 1e-3 - 0.7 * self.nominal.ventilation_m2 * self.choked, 5e-5)

    def start(self):
        """The computer's tables are those of the nominal car of the model on a standard day, this car's own share of luck left out."""
        u = self.u
        self.nominal = types.SimpleNamespace(**{key: getattr(u, "nominal_" + key, getattr(u, key)) for key in vars(u)})
        day, self.d = self.d, types.SimpleNamespace(**{key: value * 0.0 for key, value in vars(self.d).items()})
        self.d.coolant_c = 90.0 * self.ones
        self.d.friction_ratio = self.d.ac_ratio = self.d.gear_ratio = self.ones
        keep, self.intake_k = self.intake_k, 298.0 * self.ones
        self.table_gps, pressure = self.calibrate(0.0, 0.0)
        self.table_pressure = pressure
        self.choked = self.ambient_pa * 0.6847 / numpy.sqrt(R_AIR * 298.0)  # kg/s a m2
        self.table_ac, self.table_drive = self.calibrate(1.0, 0.0)[0] - self.table_gps, self.calibrate(0.0, 1.0)[0] - self.table_gps
        self.d, self.intake_k = day, keep
        sound = area_rows(self.nominal, 0.0 * self.ones, self.degrees)
        self.table_area = Curve(self.GRID_DEG, sound * self.nominal.discharge[:, None])
        zero = 0.0 * self.ones
        zeros = {name: zero.copy() for name in ("burnt", "cell", "integral", "short", "long_idle", "long_off", "air")}
        return types.SimpleNamespace(rpm=u.target_rpm.copy(), pressure=pressure, blade=3.0 * self.ones, spark=u.spark_idle.copy(),
                                     lam=self.ones.copy(), maf=self.table_gps.copy(), stop_seen=self.stop_pct(), **zeros)

    def stop_pct(self):
        return self.u.position_offset + 20.0 * self.fault("tps1_offset_v")

    def control(self):
        """Whole-number idle control; with the foot on the pedal its parts are held."""
        u, s = self.u, self.s
        off = s.pedal > 0.02
        miss = numpy.where(off, 0.0, self.target() - numpy.round(s.rpm))
        most, least = numpy.round(u.limit_up * self.table_gps * UNIT_COUNT), -numpy.round(u.limit_down * self.table_gps * UNIT_COUNT)
        learned = s.cell * CELL_COUNTS
        raw = s.integral + within(miss, -100, 100) * u.gain_i * self.TICK_S * UNIT_COUNT * 0.02
        s.integral = within(raw, least - learned, most - learned)
        part = within(learned + numpy.trunc(s.integral) + numpy.trunc(miss * u.gain_p * UNIT_COUNT * 0.004), least, most)
        if self.ticks % (50 // self.LAPSE) == 0 and not self.ac and not self.gear:
            step = numpy.where(off | (abs(miss) > 200), 0.0, numpy.sign(s.integral) * (abs(s.integral) > 2 * CELL_COUNTS))
            moved = within(s.cell + step, -u.cell_most, u.cell_most)
            s.integral = s.integral - (moved - s.cell) * CELL_COUNTS
            s.cell = moved
        faster = (self.target() - self.ac * u.target_ac - self.gear * u.target_drive) / u.target_rpm
        air_gps = self.table_gps * faster ** 1.3 + self.ac * self.table_ac + self.gear * self.table_drive + part / UNIT_COUNT
        wanted = self.throttle_share_kg_s(air_gps) / self.choked
        command = numpy.round((self.table_area.inverse(wanted) + s.pedal) / 0.05) * 0.05
        # The position loop closes on track 1 against the stop that was learned at key on.
        s.stop_seen = numpy.where(u.relearns_stop > 0, self.stop_pct(), u.position_offset)
        s.blade = within(command + (s.stop_seen - self.stop_pct()) / u.position_slope, 0.0, 35.0)
        idle_spark = u.spark_idle + within(miss * u.spark_gain, -u.spark_down, u.spark_up)
        driven = u.spark_idle + (u.spark_2500 - u.spark_idle) * within((s.rpm - 900.0) / 1600.0, 0.0, 1.2)
        s.spark = numpy.round(2.0 * numpy.where(off, driven, idle_spark)) / 2.0
        return off

    def fuel_kg_s(self, off):
        u, s = self.u, self.s
        cold = 1.0 + 0.004 * numpy.maximum(70.0 - self.coolant_seen(), 0.0)
        trims = 1.0 + (s.short + numpy.where(off, s.long_off, s.long_idle)) / 100.0
        return s.maf * 1e-3 / 14.6 * trims * cold * self.fault("fuel_delivery_ratio") * self.d.fuel_ratio

    def trim(self, off):
        """The sensor switches; its mean is what counts: the integrator stops where the exhaust looks stoichiometric."""
        u, s = self.u, self.s
        missing = self.fault("spark_missing_pct") / 100.0 / u.cylinders
        lean = within(s.lam - 1.0 + u.miss_oxygen * missing, -0.04, 0.04)
        s.short = within(s.short + 60.0 * lean * self.TICK_S * 2.0, -u.trim_most, u.trim_most)
        rate = 0.5 * self.TICK_S
        for name, here in (("long_idle", ~off), ("long_off", off)):
            held = getattr(s, name)
            step = numpy.where(here, rate * s.short, 0.0)
            moved = within(held + step, -u.trim_most, u.trim_most)
            setattr(s, name, moved)
            s.short = s.short - (moved - held)

    def flows(self):
        """kg/s into the manifold: throttle, crankcase (metered), leak, purge, exhaust gas."""
        u, f = self.u, self.fault
        flux = orifice(1.0, self.ambient_pa, self.intake_k, self.s.pressure)  # kg/s a m2
        throttle = flux * self.area_m2(self.s.blade) * u.discharge
        crankcase = flux * (u.ventilation_m2 * 0.7 + f("ventilation_stuck_mm2") * 0.7e-6)
        leak = flux * f("leak_mm2") * 0.7e-6
        purge = flux * (self.d.purge_mm2 + f("purge_stuck_mm2")) * 0.7e-6
        egr = orifice(f("egr_stuck_mm2") * 0.7e-6, self.exhaust_pa, 700.0 * self.ones, self.s.pressure)
        return throttle, crankcase, leak, purge, egr

    def tick(self):
        u, s = self.u, self.s
        self.foot()
        off = self.control()
        throttle, crankcase, leak, purge, egr = self.flows()
        boot = self.fault("boot_leak_mm2") * 1e-6
        metered = (throttle + crankcase) * u.boot_path_m2 / (u.boot_path_m2 + boot)
        s.maf = 1000.0 * metered * u.maf_gain * self.fault("maf_gain_ratio")
        air, whole, burnt = self.breathe(u, s.rpm, s.pressure, s.burnt)
        fuel = self.fuel_kg_s(off) + purge * self.d.purge_rich / 14.6
        s.lam = s.lam + 0.1 * (air / (14.6 * fuel) - s.lam)
        self.trim(off)
        loss = self.fault("cylinder_compression_loss_pct") / 100.0
        sound = 1.0 - (self.fault("spark_missing_pct") / 100.0 + numpy.minimum(1.25 * loss, 1.1)) / u.cylinders
        torque = self.torque_nm(u, s.rpm, s.pressure, air, fuel, s.spark, burnt, self.fault("drag_nm"), sound)
        inflow = throttle + crankcase + leak + purge + egr
        gas = s.pressure * u.manifold_ratio * u.displacement_m3 / (R_AIR * self.charge_k(u))
        s.burnt = within(s.burnt + self.TICK_S * (egr - s.burnt * inflow) / gas, 0.0, 0.9)
        s.pressure = within(s.pressure * (1.0 + self.TICK_S * (inflow - whole) / gas), 4e3, self.ambient_pa)
        s.air, self.balance = air, (inflow, whole, torque)
        self.turn(torque)

    def load_pct(self, off):
        """The car's own idea of calculated load: share of the most air at this speed, or pressure over barometer."""
        u, s = self.u, self.s
        most = 0.86 * self.ambient_pa / (R_AIR * 298.0) * u.displacement_m3 * s.rpm / 120.0 * 1000.0
        return 100.0 * numpy.where(u.load_kind > 0, s.pressure / self.ambient_pa, s.maf / most)

    def shown(self):
        u, s = self.u, self.s
        off = s.pedal > 0.02
        long_term = numpy.where(off, s.long_off, s.long_idle)
        return {"speed_rpm": s.rpm, "target_rpm": self.target(), "tp_pct": self.stop_pct() + u.position_slope * s.blade, "maf_gps": s.maf,
                "blade_pct": self.relative_pct(self.stop_pct() + u.position_slope * s.blade, s.stop_seen),
                "load_pct": self.load_pct(off), "spark_deg": s.spark, "stft_pct": s.short, "ltft_pct": long_term,
                "trim_pct": s.short + long_term, "coolant_c": self.coolant_seen(), "intake_c": self.intake_k - KELVIN,
                "blade_deg": s.blade, "air_gps": 1000.0 * s.air, "pressure_kpa": s.pressure / 1000.0, "learned": s.cell,
                "open_m2": self.area_m2(s.blade)}

    def key_on(self):
        return {"tp_pct": self.stop_pct() + self.u.rest_pct, "barometer_kpa": self.ambient_pa / 1000.0}
