"""Alien 3: turbocharged direct injection with an adjustable intake camshaft; air-flow sensor before the compressor, and a
manifold sensor. Idle and no load only: the compressor is a small restriction in the pipe there.

Throttle    Plain bore, elliptical plate, shaft and leakage (Heywood's form); the discharge falls with the pressure ratio.
            Film: a wedge, thickest at the closed line, thinning to nothing over some degrees, on part of the circumference.
Pipe        Sensor, compressor, charge-air hoses, throttle: a torn hose behind the sensor takes air in that nobody metered.
Charge      Filling over speed times the clearance term (Vc + Vd)/Vd - (Vc/Vd)(p_exhaust/p)^(1/kappa) (Guzzella and Onder's form,
            coefficients drawn round a published set), less with late closing of the intake valve: the camshaft's angle is a
            table over speed and load. The fuel cools the charge.
Torque      Otto efficiency 1 - r^(1 - k) times losses and spark (1 - cos), less pumping, less Barnes-Moss's
            0.97 + 0.15 N + 0.05 N^2 bar (Heywood eq. 13.6, from memory) scaled to a modern engine, less fuel and vacuum pumps.
Computer    Torque-based, tenths of Nm in whole numbers: wanted torque = learned loss (a cell per gear and compressor) + P + I,
            turned into air by the nominal car's inverse and a spark reserve, air into blade angle. The air-flow sensor closes a
            second loop: what it shows against what was wanted moves a learned *area factor* (8 bits, limited).
Trims       Wide-band sensor: proportional and integral; one multiplicative long-term number for all.

Invented: spreads, the computer's numbers, the film's wedge, the pipe's restriction at idle.
"""
import types

import numpy

from gas import KELVIN, R_AIR, Curve, barometer_pa, orifice, within
from simulator import Simulator, bisect, spread

KIND = "turbo"
CAUSES = {"film": (0.05, 0.80), "vacuum_leak": (0.7, 12.0), "torn_boot": (15.0, 200.0), "air_flow_low": (0.94, 0.70),
          "coolant_low": (-10.0, -50.0), "fuel_weak": (0.93, 0.74), "spark_missing": (20.0, 100.0),
          "cylinder_compression": (15.0, 90.0), "drag": (1.5, 9.0), "ventilation_stuck": (0.7, 10.0), "purge_stuck": (0.5, 7.0),
          "position_lost": (-0.25, -1.2)}


def draw_model(rng):
    litres = rng.uniform(1.0, 2.0)
    return {
        "displacement_m3": litres * 1e-3, "cylinders": 3.0 if litres < 1.3 else 4.0, "compression": rng.uniform(9.3, 10.8),
        "automatic": float(rng.uniform() < 0.6), "inertia": 0.10 * litres + rng.uniform(0.06, 0.12), "bore_m": rng.uniform(0.043, 0.056),
        "shaft": rng.uniform(0.14, 0.20), "closed_deg": rng.uniform(4.0, 8.0), "leak_m2": rng.uniform(1.5, 5.0) * 1e-6,
        "discharge": rng.uniform(0.60, 0.76), "discharge_fall": rng.uniform(0.0, 0.12), "film_width_deg": rng.uniform(2.0, 9.0),
        "film_part": rng.uniform(0.55, 1.0), "pipe_m2": rng.uniform(420.0, 800.0) * 1e-6, "manifold_ratio": rng.uniform(1.2, 2.2),
        "filling_0": 0.45 * rng.uniform(0.85, 1.1), "filling_1": 3.42e-3 * rng.uniform(0.85, 1.1),
        "filling_2": 7.7e-6 * rng.uniform(0.9, 1.1), "cam_late": rng.uniform(0.80, 1.0), "cam_2500": rng.uniform(0.90, 1.0),
        "cooling_k": rng.uniform(4.0, 12.0), "warming": rng.uniform(0.2, 0.5), "otto": rng.uniform(0.70, 0.79),
        "spark_best": rng.uniform(22.0, 30.0), "spark_turn": rng.uniform(1.2, 1.6), "rub": rng.uniform(0.42, 0.62),
        "pump_nm": rng.uniform(0.8, 2.2), "electric_w": rng.uniform(160.0, 330.0), "alternator": rng.uniform(0.55, 0.68),
        "compressor_nm": 5.0 + 2.2 * litres * rng.uniform(0.8, 1.2), "fan_w": rng.uniform(80.0, 220.0),
        "converter_nm": (9.0 + 4.0 * litres) * rng.uniform(0.8, 1.2), "ventilation_m2": rng.uniform(0.5, 1.6) * 1e-6,
        "miss_oxygen": rng.uniform(0.7, 1.0), "maf_gain": 1.0, "position_slope": rng.uniform(0.88, 1.0),
        "position_offset": rng.uniform(9.0, 16.0), "rest_pct": float(rng.choice([0, 5.0])),
        "target_rpm": float(round(rng.uniform(660.0, 860.0) / 10.0) * 10), "target_ac": float(rng.choice([0, 40, 100])),
        "target_drive": float(rng.choice([-90, -50, 0])), "spark_idle": rng.uniform(0.0, 9.0), "spark_2500": rng.uniform(18.0, 28.0),
        "spark_up": rng.uniform(6.0, 13.0), "spark_down": rng.uniform(5.0, 10.0), "gain_p": rng.uniform(0.10, 0.22),
        "gain_i": rng.uniform(0.06, 0.12), "torque_most": rng.uniform(70.0, 150.0), "cell_most": float(rng.integers(30, 90)),
        "factor_most": rng.uniform(1.3, 2.2), "factor_least": rng.uniform(0.55, 0.75), "trim_most": float(rng.choice([20, 25, 30])),
        "load_kind": float(rng.choice([0, 1])), "relative_fixed": float(rng.choice([0, 0, 1])), "sensor_kpa": 0.0,
        "altitude_m": rng.uniform(0.0, 900.0),
    }


def draw_unit(model, rng):
    unit = spread(rng, model, bore_m=0.0015, leak_m2=0.12, discharge=0.015, filling_0=0.012, cam_late=0.012, otto=0.010, rub=0.035,
                  pump_nm=0.08, electric_w=0.08, ventilation_m2=0.08, maf_gain=0.015, compressor_nm=0.06, converter_nm=0.05,
                  position_slope=0.006, pipe_m2=0.05)
    unit["closed_deg"] += rng.normal(0.0, 0.08)
    unit["position_offset"] += rng.normal(0.0, 0.35)
    unit["sensor_kpa"] = rng.normal(0.0, 0.3)
    return unit


def plate_m2(units, degrees):
    """Open area of an elliptical plate with a shaft in a plain bore, leakage included; column of units, row of angles."""
    column = lambda name: getattr(units, name)[:, None]
    a, closed = column("shaft"), numpy.radians(column("closed_deg"))
    blade = closed + numpy.radians(degrees)[None, :]
    c, c0 = numpy.cos(blade), numpy.cos(closed)
    chord = a / c * numpy.sqrt(numpy.maximum(c * c - a * a * c0 * c0, 0.0)) + c / c0 * numpy.arcsin(within(a * c0 / c, -1.0, 1.0))
    part = 1.0 - c / c0 + 2.0 / numpy.pi * (chord - a * numpy.sqrt(1.0 - a * a) - numpy.arcsin(a))
    return 0.25 * numpy.pi * column("bore_m") ** 2 * part + column("leak_m2")


class Turbo(Simulator):
    WARM_C, WARM_UP_RPM_C = 70.0, 8.0
    GRID_DEG = 0.25

    def prepare(self):
        u, d = self.u, self.d
        self.degrees = numpy.arange(0.0, 36.0, self.GRID_DEG)
        self.clean = Curve(self.GRID_DEG, plate_m2(u, self.degrees))
        self.ambient_pa = barometer_pa(u.altitude_m) + 1000.0 * d.barometer_kpa
        self.intake_k = KELVIN + d.ambient_c + d.intake_rise_c
        self.exhaust_pa = self.ambient_pa * 1.03

    def area_m2(self, degrees):
        """The wedge narrows its part of the circumference; where it is thicker than the gap, a fifteenth of the gap is left."""
        clean = self.clean.at(degrees)
        thickness = self.fault("film_thickness_m") * numpy.maximum(1.0 - degrees / self.u.film_width_deg, 0.0) ** 1.5
        ringed = self.u.film_part
        gap = clean / (numpy.pi * self.u.bore_m)
        return clean * (1.0 - ringed) + numpy.pi * self.u.bore_m * ringed * numpy.maximum(gap - thickness, gap / 15.0)

    def charge_k(self, u):
        return self.intake_k + u.warming * 0.35 * (KELVIN + self.d.coolant_c - self.intake_k) - u.cooling_k

    def port_kg_s(self, u, rpm, pressure_pa):
        omega = rpm * numpy.pi / 30.0
        clearance = 1.0 / (u.compression - 1.0)
        breathing = 1.0 + clearance - clearance * numpy.maximum(self.exhaust_pa / pressure_pa, 1.0) ** (1.0 / 1.35)
        cam = u.cam_late + (u.cam_2500 - u.cam_late) * within((rpm - 1000.0) / 1500.0, 0.0, 1.0)
        filling = (u.filling_0 + u.filling_1 * omega - u.filling_2 * omega ** 2) * numpy.maximum(breathing, 0.05) * cam
        return filling * u.displacement_m3 * rpm / 120.0 * pressure_pa / (R_AIR * self.charge_k(u))

    def efficiency(self, u, rpm, spark, burnt):
        late = numpy.radians(u.spark_best + 2.0 * (rpm - 750.0) / 1000.0 + 30.0 * burnt - spark)
        return (1.0 - u.compression ** -0.27) * u.otto * (1.0 - 0.5 * (1.0 - numpy.cos(u.spark_turn * 1.2 * late))) * (1.0 - 0.4 * burnt)

    def losses_nm(self, u, rpm, pressure_pa):
        n, omega = rpm / 1000.0, rpm * numpy.pi / 30.0
        cold = 1.0 + 0.005 * numpy.maximum(90.0 - self.d.coolant_c, -8.0)
        rub_pa = 1e5 * (0.97 + 0.15 * n + 0.05 * n * n) * u.rub * self.d.friction_ratio * cold
        watts = u.electric_w + self.d.electric_w + self.ac * u.fan_w
        loads = watts / (u.alternator * omega) + self.ac * self.engaged * u.compressor_nm * self.d.ac_ratio
        loads = loads + self.gear * self.engaged * u.converter_nm * self.d.gear_ratio * (rpm / 750.0) ** 2
        return (self.exhaust_pa - pressure_pa + rub_pa) * u.displacement_m3 / (4.0 * numpy.pi) + u.pump_nm + loads

    def heat_nm(self, u, rpm, air, fuel, spark, burnt):
        return numpy.minimum(fuel, air / 14.0) * 43.0e6 * self.efficiency(u, rpm, spark, burnt) / (rpm * numpy.pi / 30.0)

    def calibrate(self, ac, gear):
        u, before = self.nominal, (self.ac, self.gear)
        self.ac, self.gear = ac, gear
        rpm = u.target_rpm + ac * u.target_ac + gear * u.target_drive

        def lacking(pressure):
            air = self.port_kg_s(u, rpm, pressure)
            return self.heat_nm(u, rpm, air, air / 14.6, u.spark_idle, 0.0) - self.losses_nm(u, rpm, pressure)

        pressure = bisect(lacking, 9e3 * self.ones, 95e3 * self.ones)
        loss = self.losses_nm(u, rpm, pressure)
        self.ac, self.gear = before
        return self.port_kg_s(u, rpm, pressure), pressure, loss

    def start(self):
        u, zero = self.u, 0.0 * self.ones
        self.nominal = types.SimpleNamespace(**{key: getattr(u, "nominal_" + key, getattr(u, key)) for key in vars(u)})
        day, keep = self.d, self.intake_k
        self.d = types.SimpleNamespace(**{key: zero for key in vars(day)})
        self.d.coolant_c, self.d.friction_ratio, self.d.ac_ratio, self.d.gear_ratio = 90.0 * self.ones, self.ones, self.ones, self.ones
        self.intake_k = 298.0 * self.ones
        self.table_air, self.table_pressure, self.table_loss = self.calibrate(0.0, 0.0)
        self.table_ac, self.table_drive = self.calibrate(1.0, 0.0)[2] - self.table_loss, self.calibrate(0.0, 1.0)[2] - self.table_loss
        self.choked = self.ambient_pa * 0.6847 / numpy.sqrt(R_AIR * self.intake_k)
        self.d, self.intake_k = day, keep
        self.table_area = Curve(self.GRID_DEG, plate_m2(self.nominal, self.degrees) * self.nominal.discharge[:, None])
        zeros = {name: zero.copy() for name in ("burnt", "loss", "integral", "factor_sum", "short", "long", "air")}
        return types.SimpleNamespace(rpm=u.target_rpm.copy(), pressure=self.table_pressure.copy(), factor=self.ones.copy(),
                                     blade=2.0 * self.ones, spark=u.spark_idle.copy(), lam=self.ones.copy(),
                                     maf=1000.0 * self.table_air, **zeros)

    def plausible(self):
        per_litre = self.table_air / self.u.displacement_m3
        blade = self.table_area.inverse(self.table_air / self.choked - self.nominal.ventilation_m2 * 0.7)
        return (per_litre > 0.82) & (per_litre < 1.12) & (self.table_pressure > 24e3) & (self.table_pressure < 40e3) & (blade > 0.4)

    def stop_pct(self):
        return self.u.position_offset + 20.0 * self.fault("tps1_offset_v")

    def control(self):
        """Torque in tenths of a Nm; air for it at the reserve's spark; blade by table and learned factor."""
        u, s = self.u, self.s
        off = s.pedal > 0.02
        miss = numpy.where(off, 0.0, self.target() - numpy.round(s.rpm))
        s.integral = within(s.integral + within(miss, -100, 100) * u.gain_i * self.TICK_S * 10.0, -u.torque_most - s.loss,
                            u.torque_most - s.loss)
        if self.ticks % (50 // self.LAPSE) == 0 and not self.ac and not self.gear:
            step = numpy.where(off | (abs(s.integral) < 3.0), 0.0, numpy.sign(s.integral))
            moved = within(s.loss + step, -u.cell_most, u.cell_most)
            s.integral, s.loss = s.integral - (moved - s.loss), moved
        part = within(s.loss + numpy.trunc(s.integral) + numpy.trunc(miss * u.gain_p * 3.0), -u.torque_most, u.torque_most)
        wanted_nm = numpy.maximum(self.table_loss + self.ac * self.table_ac + self.gear * self.table_drive + 0.1 * part, 2.0)
        power_ratio = wanted_nm / self.table_loss * self.target() / u.target_rpm
        wanted = self.table_air * power_ratio
        # What the air-flow sensor shows against what was wanted: a slow loop, in steps of 1/128, in idle only.
        if self.ticks % (50 // self.LAPSE) == 0:
            lack = 1.0 - s.maf * 1e-3 / numpy.maximum(wanted, 1e-5)
            s.factor_sum = numpy.where(off, 0.0, s.factor_sum + lack)
            step = numpy.where(abs(s.factor_sum) > 0.05, numpy.sign(s.factor_sum) / 128.0, 0.0)
            s.factor = within(s.factor + step, u.factor_least, u.factor_most)
            s.factor_sum = numpy.where(step != 0.0, 0.0, s.factor_sum)
        through = numpy.maximum(wanted / self.choked - 0.7 * self.nominal.ventilation_m2, 2e-7) * s.factor
        command = numpy.round((self.table_area.inverse(through) + s.pedal) * 25.0) / 25.0
        s.blade = within(command + self.fault("position_offset_deg"), 0.0, 35.0)
        idle_spark = u.spark_idle + within(miss * 0.12, -u.spark_down, u.spark_up)
        driven = u.spark_idle + (u.spark_2500 - u.spark_idle) * within((s.rpm - 900.0) / 1600.0, 0.0, 1.2)
        s.spark = numpy.round(2.0 * numpy.where(off, driven, idle_spark)) / 2.0
        return off

    def trim(self):
        u, s = self.u, self.s
        missing = self.fault("spark_missing_pct") / 100.0 / u.cylinders
        lean = within(s.lam - 1.0 + u.miss_oxygen * missing, -0.10, 0.10)
        s.short = within(s.short + 60.0 * lean * self.TICK_S, -u.trim_most, u.trim_most)
        moved = within(s.long + 0.4 * self.TICK_S * s.short, -u.trim_most, u.trim_most)
        s.short, s.long = s.short - (moved - s.long), moved

    def tick(self):
        u, s, f = self.u, self.s, self.fault
        self.foot()
        off = self.control()
        # The pipe: a quadratic drop over filter and idling compressor at last tick's flow.
        pipe_pa = self.ambient_pa - (s.maf * 1e-3 / u.pipe_m2) ** 2 / (2.0 * self.ambient_pa / (R_AIR * self.intake_k))
        ratio = s.pressure / pipe_pa
        discharge = u.discharge * (1.0 - u.discharge_fall * within(ratio - 0.53, 0.0, 0.47))
        throttle = orifice(self.area_m2(s.blade) * discharge, pipe_pa, self.intake_k, s.pressure)
        flux = orifice(1.0, self.ambient_pa, self.intake_k, s.pressure)  # kg/s a m2
        crankcase = flux * (0.7 * u.ventilation_m2 + 0.7e-6 * f("ventilation_stuck_mm2"))
        leak = flux * (0.7e-6 * f("leak_mm2"))
        purge = flux * (0.7e-6 * (self.d.purge_mm2 + f("purge_stuck_mm2")))
        egr = orifice(0.7e-6 * f("egr_stuck_mm2"), self.exhaust_pa, 650.0 * self.ones, s.pressure)
        metered = (throttle + crankcase) * u.pipe_m2 / (u.pipe_m2 + 1e-6 * f("boot_leak_mm2"))
        s.maf = 1000.0 * metered * u.maf_gain * f("maf_gain_ratio")
        whole = self.port_kg_s(u, s.rpm, s.pressure)
        air = whole * (1.0 - s.burnt)
        cold = 1.0 + 0.003 * numpy.maximum(65.0 - self.coolant_seen(), 0.0)
        injected = s.maf * 1e-3 / 14.6 * (1.0 + (s.short + s.long) / 100.0) * cold * f("fuel_delivery_ratio") * self.d.fuel_ratio
        fuel = injected + purge * self.d.purge_rich / 14.6
        s.lam = s.lam + 0.1 * (air / (14.6 * fuel) - s.lam)
        self.trim()
        loss = f("cylinder_compression_loss_pct") / 100.0
        sound = 1.0 - (f("spark_missing_pct") / 100.0 + numpy.minimum(1.2 * loss, 1.1)) / u.cylinders
        torque = self.heat_nm(u, s.rpm, air, fuel, s.spark, s.burnt) * sound - self.losses_nm(u, s.rpm, s.pressure) - f("drag_nm")
        inflow = throttle + crankcase + leak + purge + egr
        gas = s.pressure * u.manifold_ratio * u.displacement_m3 / (R_AIR * self.charge_k(u))
        s.burnt = within(s.burnt + self.TICK_S * (egr - s.burnt * inflow) / gas, 0.0, 0.9)
        s.pressure = within(s.pressure * (1.0 + self.TICK_S * (inflow - whole) / gas), 4e3, self.ambient_pa)
        s.air, self.balance = air, (inflow, whole, torque)
        self.turn(torque)

    def shown(self):
        u, s = self.u, self.s
        most = 0.90 * self.ambient_pa / (R_AIR * 298.0) * u.displacement_m3 * s.rpm / 120.0 * 1000.0
        load = 100.0 * numpy.where(u.load_kind > 0, s.pressure / self.ambient_pa, s.maf / most)
        return {"speed_rpm": s.rpm, "target_rpm": self.target(), "tp_pct": self.stop_pct() + u.position_slope * s.blade, "maf_gps": s.maf,
                "blade_pct": self.relative_pct(self.stop_pct() + u.position_slope * s.blade,
                                               self.stop_pct() + u.position_slope * self.fault("position_offset_deg")),
                "map_kpa": s.pressure / 1000.0 + u.sensor_kpa, "load_pct": load, "spark_deg": s.spark, "stft_pct": s.short,
                "ltft_pct": s.long,
                "trim_pct": s.short + s.long, "coolant_c": self.coolant_seen(), "intake_c": self.intake_k - KELVIN, "blade_deg": s.blade,
                "air_gps": 1000.0 * s.air, "pressure_kpa": s.pressure / 1000.0, "learned": s.loss, "open_m2": self.area_m2(s.blade)}

    def key_on(self):
        return {"tp_pct": self.stop_pct() + self.u.rest_pct, "barometer_kpa": self.ambient_pa / 1000.0,
                "map_kpa": self.ambient_pa / 1000.0 + self.u.sensor_kpa}
