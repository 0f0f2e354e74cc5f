"""Alien 2: metered by manifold pressure and speed; electronic throttle, or a cable throttle with a stepper valve beside it.

Throttle    A polynomial in the blade's angle (leak, linear, quadratic part), no geometry. Film: takes a film area in
            harmony with what is open, A - A F / (A + F), fading as the blade leaves the deposit; never closes the gap whole.
Bypass      Steps of a valve, area as a power of the step; its own film closes it from the seat on.
Flow        The square-root approximation of the nozzle (Crossley and Cook; Guzzella and Onder), choked below one half.
Charge      Port flow V n (s p - y) / 120 R T with an offset y, after Hendricks and others 1996 (SAE 960037; form and size
            from memory), s with a hump of tuning over speed.
Torque      Power balance after Hendricks and Sorenson 1990 (SAE 900616; from memory): efficiency as a product over speed,
            pressure, spark and mixture; losses as a polynomial of speed; pumping n p (a + b n). Coefficients drawn round theirs.
Alternator  Torque of a loss polynomial in watts; the voltage gives way where the load is large at low speed.
Computer    Every 20 ms in per mille of opening (or steps): table over coolant + learned value + P + I. Learned by counting:
            after so many seconds on one side of a dead band it moves one step. Spark against the speed error, and a barometer
            taken at key on from the manifold sensor.
Trims       Integrator on the mixture; long term as a slope over all, with an additive part at idle (two learned numbers).

Invented: spreads, the computer's numbers, the film's law.
"""
import types

import numpy

from gas import KELVIN, R_AIR, barometer_pa, orifice, psi_simple, within
from simulator import Simulator, bisect, spread

KIND = "pressure"
_COMMON = {"film": (0.05, 0.80), "vacuum_leak": (0.7, 14.0), "pressure_low": (-1.5, -7.0), "coolant_low": (-10.0, -50.0),
           "fuel_weak": (0.93, 0.72), "spark_missing": (20.0, 100.0), "cylinder_compression": (15.0, 90.0), "drag": (1.5, 9.0),
           "egr_stuck": (1.0, 10.0), "purge_stuck": (0.5, 7.0), "track_shifted_up": (0.04, 0.18)}
CAUSES = {**_COMMON, "position_lost": (-0.25, -1.2)}
CAUSES_CABLE = {**_COMMON, "bypass_film": (0.1, 0.8)}


def draw_model(rng):
    litres = rng.uniform(0.9, 2.0)
    cable = rng.uniform() < 0.35
    size = litres / 1.4
    return {
        "displacement_m3": litres * 1e-3, "cylinders": 3.0 if litres < 1.15 else 4.0, "compression": rng.uniform(8.8, 10.8),
        "cable": float(cable), "automatic": float(rng.uniform() < 0.35), "inertia": 0.07 * litres + rng.uniform(0.05, 0.10),
        "bore_m": 0.044 + 0.008 * (litres - 1.0), "leak_m2": rng.uniform(0.6, 2.2) * 1e-6 * size,
        "open_1": rng.uniform(0.9, 2.4) * 1e-6 * size, "open_2": rng.uniform(0.14, 0.30) * 1e-6 * size,
        "stop_deg": rng.uniform(0.1, 0.5) if cable else 0.0, "film_fade_deg": rng.uniform(4.0, 14.0),
        "valve_m2": rng.uniform(18.0, 30.0) * 1e-6 * size, "valve_power": rng.uniform(1.1, 1.7),
        "valve_steps": float(rng.integers(120, 220)), "manifold_ratio": rng.uniform(1.4, 3.0), "filling": rng.uniform(0.80, 0.97),
        "filling_offset_pa": rng.uniform(6.0, 12.0) * 1e3, "hump": rng.uniform(-0.04, 0.06), "heating_k": rng.uniform(6.0, 24.0),
        "efficiency": 0.558 * rng.uniform(0.98, 1.12), "efficiency_fall": rng.uniform(0.36, 0.41), "best_lead": rng.uniform(22.0, 30.0),
        "spark_square": rng.uniform(0.00026, 0.0005), "loss_0": 1.673 * rng.uniform(0.30, 0.62), "loss_1": 0.272 * rng.uniform(0.7, 1.3),
        "loss_2": 0.0135, "pump_0": 0.969 * rng.uniform(0.9, 1.1), "pump_1": 0.206 * rng.uniform(0.8, 1.2),
        "electric_w": rng.uniform(110.0, 230.0), "alternator_loss": rng.uniform(40.0, 100.0),
        "alternator_square": rng.uniform(2.5e-4, 6e-4), "compressor_nm": 5.0 + 2.5 * litres * rng.uniform(0.7, 1.3),
        "fan_w": rng.uniform(60.0, 160.0), "converter_nm": (8.0 + 4.0 * litres) * rng.uniform(0.8, 1.2),
        "ventilation_m2": rng.uniform(0.5, 1.5) * 1e-6, "miss_oxygen": rng.uniform(0.5, 1.0), "position_slope": rng.uniform(0.86, 1.0),
        "position_offset": rng.uniform(7.0, 16.0), "rest_pct": 0.0 if cable else float(rng.choice([0, 0, 4.0])),
        "target_rpm": float(round(rng.uniform(650.0, 880.0) / 10.0) * 10), "target_ac": float(rng.choice([0, 50, 100, 150])),
        "target_drive": float(rng.choice([-80, -40, 0])), "spark_idle": rng.uniform(2.0, 14.0), "spark_2500": rng.uniform(22.0, 34.0),
        "spark_most": rng.uniform(5.0, 9.0), "spark_gain": rng.uniform(0.04, 0.10), "gain_p": rng.uniform(0.10, 0.2),
        "gain_i": rng.uniform(0.05, 0.10), "range_up": rng.uniform(0.35, 1.0), "range_down": rng.uniform(0.4, 0.8),
        "learn_most": rng.uniform(0.2, 0.8), "trim_most": float(rng.choice([20, 25, 30])), "load_kind": float(rng.choice([0, 1])),
        "relative_fixed": float(rng.choice([0, 0, 1])), "relearns_stop": float(rng.uniform() < 0.5), "sensor_kpa": 0.0,
        "altitude_m": rng.uniform(0.0, 900.0),
    }


def draw_unit(model, rng):
    unit = spread(rng, model, leak_m2=0.12, open_1=0.04, open_2=0.02, valve_m2=0.03, filling=0.012, filling_offset_pa=0.04,
                  efficiency=0.012, loss_0=0.05, loss_1=0.05, electric_w=0.08, ventilation_m2=0.08, compressor_nm=0.06,
                  converter_nm=0.05, position_slope=0.006)
    unit["stop_deg"] += abs(rng.normal(0.0, 0.04)) * model["cable"]
    unit["position_offset"] += rng.normal(0.0, 0.35)
    unit["sensor_kpa"] = rng.normal(0.0, 0.3)
    return unit


class Pressure(Simulator):
    WARM_C, WARM_UP_RPM_C = 80.0, 6.0
    def prepare(self):
        u, d = self.u, self.d
        self.ambient_pa = barometer_pa(u.altitude_m) + 1000.0 * d.barometer_kpa
        self.intake_k = KELVIN + d.ambient_c + d.intake_rise_c
        self.exhaust_pa = self.ambient_pa * 1.015

    def clean_m2(self, u, degrees):
        x = numpy.maximum(degrees, 0.0)
        return u.leak_m2 + u.open_1 * x + u.open_2 * x * x

    def area_m2(self, degrees):
        """`film_thickness_m` times the bore's circumference is the film's own area, were it not for what the air keeps open."""
        clean = self.clean_m2(self.u, degrees)
        film = numpy.pi * self.u.bore_m * self.fault("film_thickness_m") / (1.0 + (degrees / self.u.film_fade_deg) ** 2)
        return clean - clean * film / (clean + film)

    def valve_m2(self, u, steps, film=0.0):
        x = within(steps / u.valve_steps, 0.0, 1.0)
        return u.valve_m2 * numpy.maximum(x - 0.15 * film, 0.0) ** u.valve_power * (1.0 - 0.75 * film)

    def charge_k(self, u):
        return self.intake_k + u.heating_k

    def port_kg_s(self, u, rpm, pressure_pa):
        """All gas that the cylinders take. The offset stands for residual gas, and goes with the exhaust's pressure."""
        slope = u.filling * (1.0 + u.hump * (rpm - 750.0) / 1750.0)
        pull = numpy.maximum(slope * pressure_pa - u.filling_offset_pa * self.exhaust_pa / 101325.0, 500.0)
        return u.displacement_m3 * rpm / 120.0 * pull / (R_AIR * self.charge_k(u))

    def torque_nm(self, u, rpm, pressure_pa, air, fuel, spark, extra_nm=0.0, sound=1.0, burnt=0.0):
        omega, n, bar = rpm * numpy.pi / 30.0, rpm / 1000.0, pressure_pa * 1e-5
        lead = spark - (u.best_lead + 2.0 * (n - 0.75) - 4.0 * (bar - 0.3) + 30.0 * burnt)
        mixture = air / (14.6 * fuel)
        rich, lean = -1.299 + 3.599 * mixture - 1.332 * mixture ** 2, -0.0205 + 1.741 * mixture - 0.745 * mixture ** 2
        over_mixture = numpy.where(mixture < 1.0, rich, lean) / 0.968
        efficiency = u.efficiency * (1.0 - u.efficiency_fall * n ** -0.36) * (0.9301 + 0.2154 * bar - 0.1657 * bar ** 2)
        efficiency = efficiency * numpy.maximum(1.0 - u.spark_square * lead ** 2, 0.2) * within(over_mixture, 0.2,
                                                                                                1.1) * (1.0 - 0.5 * burnt)
        size = u.displacement_m3 / 1.275e-3
        cold = 1.0 + 0.006 * numpy.maximum(90.0 - self.d.coolant_c, -8.0)
        losses_w = 1000.0 * size * n * (u.loss_0 + u.loss_1 * n + u.loss_2 * n * n) * self.d.friction_ratio * cold
        pumping_w = 1000.0 * size * n * (self.exhaust_pa / 101325.0 * 1.0132 - bar) * (u.pump_0 - u.pump_1 * n)
        watts = u.electric_w + self.d.electric_w + self.ac * u.fan_w
        held = 1.0 - 0.10 * within((watts - 350.0) / 300.0, 0.0, 1.0)
        alternator_w = watts * held + u.alternator_loss + u.alternator_square * watts ** 2
        loads = alternator_w / omega + self.ac * self.engaged * u.compressor_nm * self.d.ac_ratio
        loads = loads + self.gear * self.engaged * u.converter_nm * self.d.gear_ratio * (rpm / 750.0) ** 2
        return (fuel * 43.0e6 * efficiency * sound - losses_w - pumping_w) / omega - loads - extra_nm

    def calibrate(self, ac, gear):
        u, before = self.nominal, (self.ac, self.gear)
        self.ac, self.gear = ac, gear
        rpm = u.target_rpm + ac * u.target_ac + gear * u.target_drive

        def lacking(pressure):
            air = self.port_kg_s(u, rpm, pressure)
            return self.torque_nm(u, rpm, pressure, air, air / 14.6, u.spark_idle)

        pressure = bisect(lacking, 9e3 * self.ones, 95e3 * self.ones)
        self.ac, self.gear = before
        air = self.port_kg_s(u, rpm, pressure)
        area = air / (self.ambient_pa * psi_simple(pressure / self.ambient_pa) / numpy.sqrt(R_AIR * self.intake_k)) - u.ventilation_m2
        return air, pressure, self.opening_for(u, area)

    def opening_for(self, u, area_m2):
        """Blade angle of an electronic throttle, steps of a cable car's valve: what the nominal unit needs."""
        lack = numpy.maximum(area_m2 - u.leak_m2, 0.0)
        degrees = (-u.open_1 + numpy.sqrt(u.open_1 ** 2 + 4.0 * u.open_2 * lack)) / (2.0 * u.open_2)
        beside = numpy.maximum(area_m2 - self.clean_m2(u, u.stop_deg), 0.0) / u.valve_m2
        return numpy.where(u.cable > 0, u.valve_steps * beside ** (1.0 / u.valve_power), degrees)

    def start(self):
        u, zero = self.u, 0.0 * self.ones
        self.nominal = types.SimpleNamespace(**{key: getattr(u, "nominal_" + key, getattr(u, key)) for key in vars(u)})
        day, keep = self.d, self.intake_k
        self.d = types.SimpleNamespace(**{key: zero for key in vars(day)})
        self.d.coolant_c, self.d.friction_ratio, self.d.ac_ratio, self.d.gear_ratio = 90.0 * self.ones, self.ones, self.ones, self.ones
        self.intake_k = 298.0 * self.ones
        self.table_air, self.table_pressure, self.table_open = self.calibrate(0.0, 0.0)
        self.table_ac = self.calibrate(1.0, 0.0)[2] - self.table_open
        self.table_drive = self.calibrate(0.0, 1.0)[2] - self.table_open
        self.d, self.intake_k = day, keep
        zeros = {name: zero.copy() for name in ("burnt", "learned", "integral", "waited", "steps", "short", "slope", "added", "air")}
        return types.SimpleNamespace(rpm=u.target_rpm.copy(), pressure=self.table_pressure.copy(), blade=self.table_open.copy(),
                                     spark=u.spark_idle.copy(), lam=self.ones.copy(), stop_seen=self.stop_pct(), **zeros)

    def plausible(self):
        per_litre = self.table_air / self.u.displacement_m3
        opened = numpy.where(self.u.cable > 0, self.table_open / self.u.valve_steps, self.table_open / 10.0)
        fits = (per_litre > 0.82) & (per_litre < 1.12) & (self.table_pressure > 24e3) & (self.table_pressure < 40e3)
        return fits & (opened > 0.08) & (opened < 0.6)

    def stop_pct(self):
        return self.u.position_offset + self.u.position_slope * self.u.stop_deg + 20.0 * self.fault("tps1_offset_v")

    def map_seen_pa(self, pressure_pa):
        return pressure_pa + 1000.0 * (self.u.sensor_kpa + self.fault("map_offset_kpa"))

    def control(self):
        """Parts in per mille of the table's idle opening; the learned one counted up and down."""
        u, s = self.u, self.s
        off = s.pedal > 0.02
        miss = numpy.where(off, 0.0, self.target() - numpy.round(s.rpm / 4.0) * 4.0)
        most, least = numpy.round(1000.0 * u.range_up), -numpy.round(1000.0 * u.range_down)
        s.integral = within(s.integral + within(miss, -120, 120) * u.gain_i * self.TICK_S * 12.0, least, most)
        if not self.ac and not self.gear:
            side = numpy.where(off | (abs(s.integral) < 12.0), 0.0, numpy.sign(s.integral))
            s.waited = numpy.where(side == 0.0, 0.0, s.waited + side * self.TICK_S * self.LAPSE)
            step = numpy.where(abs(s.waited) >= 1.0, numpy.sign(s.waited), 0.0) * 8.0
            moved = within(s.learned + step, -1000.0 * u.learn_most, 1000.0 * u.learn_most)
            s.integral, s.learned, s.waited = s.integral - (moved - s.learned), moved, numpy.where(step != 0.0, 0.0, s.waited)
        part = within(numpy.trunc(s.learned + s.integral + miss * u.gain_p * 4.0), -900.0, most + 300.0)
        faster = (self.target() - self.gear * u.target_drive - self.ac * u.target_ac) / u.target_rpm
        opening = self.table_open * faster ** 0.8 * (1.0 + part / 1000.0) + self.ac * self.table_ac + self.gear * self.table_drive
        # Track 1 is what the position loop closes on; the stop it counts from was learned well, long ago, or wrongly.
        s.stop_seen = numpy.where(u.relearns_stop > 0, self.stop_pct(),
                                  u.position_offset) + u.position_slope * self.fault("position_offset_deg")
        shift = (s.stop_seen - self.stop_pct()) / u.position_slope
        electronic = numpy.maximum(numpy.round(opening * 50.0) / 50.0 + s.pedal + shift, 0.0)
        s.blade = numpy.where(u.cable > 0, u.stop_deg + s.pedal, electronic)
        s.steps = numpy.where(u.cable > 0, within(numpy.round(opening), 0.0, u.valve_steps), 0.0)
        idle_spark = u.spark_idle + within(miss * u.spark_gain, -u.spark_most, u.spark_most)
        driven = u.spark_idle + (u.spark_2500 - u.spark_idle) * within((s.rpm - 1000.0) / 1500.0, 0.0, 1.3)
        s.spark = numpy.round(2.0 * numpy.where(off, driven, idle_spark)) / 2.0
        return off

    def fuel_kg_s(self, off):
        """Speed density: what the nominal car would draw at the pressure that the sensor shows."""
        s, n = self.s, self.nominal
        seen = numpy.maximum(self.map_seen_pa(s.pressure), 4e3)
        expected = self.port_kg_s(n, s.rpm, seen)
        cold = 1.0 + 0.004 * numpy.maximum(70.0 - self.coolant_seen(), 0.0)
        added = numpy.where(off, s.added * self.table_air / expected, s.added)
        trims = 1.0 + (s.short + s.slope + added) / 100.0
        return expected / 14.6 * trims * cold * self.fault("fuel_delivery_ratio") * self.d.fuel_ratio

    def trim(self, off):
        u, s = self.u, self.s
        missing = self.fault("spark_missing_pct") / 100.0 / u.cylinders
        lean = within(s.lam - 1.0 + u.miss_oxygen * missing, -0.05, 0.05)
        s.short = within(s.short + 90.0 * lean * self.TICK_S, -u.trim_most, u.trim_most)
        step = 0.4 * self.TICK_S * s.short
        slope = within(s.slope + numpy.where(off, step, 0.3 * step), -u.trim_most, u.trim_most)
        added = within(s.added + numpy.where(off, 0.0, 0.7 * step), -0.6 * u.trim_most, 0.6 * u.trim_most)
        s.short, s.slope, s.added = s.short - numpy.where(off, slope - s.slope, slope - s.slope + added - s.added), slope, added

    def tick(self):
        u, s, f = self.u, self.s, self.fault
        self.foot()
        off = self.control()
        flux = orifice(1.0, self.ambient_pa, self.intake_k, s.pressure, psi_simple)  # kg/s a m2
        valve = self.valve_m2(u, s.steps, f("bypass_film")) * (u.cable > 0)
        throttle = flux * (self.area_m2(s.blade) + valve)
        others = flux * (u.ventilation_m2 + 0.7e-6 * (f("ventilation_stuck_mm2") + f("leak_mm2")))
        purge = flux * (0.7e-6 * (self.d.purge_mm2 + f("purge_stuck_mm2")))
        egr = orifice(0.7e-6 * f("egr_stuck_mm2"), self.exhaust_pa, 650.0 * self.ones, s.pressure, psi_simple)
        whole = self.port_kg_s(u, s.rpm, s.pressure)
        air = whole * (1.0 - s.burnt)
        fuel = self.fuel_kg_s(off) + purge * self.d.purge_rich / 14.6
        s.lam = s.lam + 0.1 * (air / (14.6 * fuel) - s.lam)
        self.trim(off)
        loss = f("cylinder_compression_loss_pct") / 100.0
        sound = 1.0 - (f("spark_missing_pct") / 100.0 + numpy.minimum(loss * (1.0 + 0.3 * loss), 1.15)) / u.cylinders
        torque = self.torque_nm(u, s.rpm, s.pressure, air, fuel, s.spark, f("drag_nm"), sound, s.burnt)
        inflow = throttle + others + purge + egr
        gas = s.pressure * u.manifold_ratio * u.displacement_m3 / (R_AIR * self.charge_k(u))
        s.burnt = within(s.burnt + self.TICK_S * (egr - s.burnt * inflow) / gas, 0.0, 0.9)
        s.pressure = within(s.pressure * (1.0 + self.TICK_S * (inflow - whole) / gas), 4e3, self.ambient_pa)
        s.air, self.balance = air, (inflow, whole, torque)
        self.turn(torque)

    def shown(self):
        u, s = self.u, self.s
        off = s.pedal > 0.02
        seen = numpy.maximum(self.map_seen_pa(s.pressure), 4e3)
        at_most = self.port_kg_s(self.nominal, s.rpm, self.map_seen_pa(self.ambient_pa))
        load = 100.0 * numpy.where(u.load_kind > 0, seen / self.map_seen_pa(self.ambient_pa),
                                   self.port_kg_s(self.nominal, s.rpm, seen) / at_most)
        long_term = s.slope + numpy.where(off, s.added * self.table_air / self.port_kg_s(self.nominal, s.rpm, seen), s.added)
        position = u.position_offset + 20.0 * self.fault("tps1_offset_v") + u.position_slope * s.blade
        return {"speed_rpm": s.rpm, "target_rpm": self.target(), "tp_pct": position,
                "blade_pct": self.relative_pct(position, s.stop_seen),
                "map_kpa": seen / 1000.0, "load_pct": load, "spark_deg": s.spark, "stft_pct": s.short, "ltft_pct": long_term,
                "trim_pct": s.short + long_term, "bypass_steps": s.steps, "coolant_c": self.coolant_seen(),
                "intake_c": self.intake_k - KELVIN,
                "blade_deg": s.blade, "air_gps": 1000.0 * s.air, "pressure_kpa": s.pressure / 1000.0, "learned": s.learned,
                "open_m2": self.area_m2(s.blade) + self.valve_m2(u, s.steps, self.fault("bypass_film")) * (u.cable > 0)}

    def key_on(self):
        return {"tp_pct": self.stop_pct() + self.u.rest_pct, "map_kpa": self.map_seen_pa(self.ambient_pa) / 1000.0}
