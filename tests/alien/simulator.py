"""What the three simulators share: many cars side by side as lanes of arrays, the clock, the driver's foot, the log.

No physics of an engine stands here. A simulator brings
    draw_model(rng), draw_unit(model, rng), draw_day(rng)    dicts of numbers
    CAUSES                                                   {cause: (least, most)} in the unit of the program's list
    prepare(), start(), tick(), shown()                      its equations
and each is an integration in ticks of its computer; a reading is the mean over the last seconds.
"""
import copy
import types

import numpy

from gas import within

# (compressor, gear, speed that the foot holds; 0: foot off)
CONDITIONS = {"idle": (0, 0, 0), "idle_ac": (1, 0, 0), "drive": (0, 1, 0), "hold_2500": (0, 0, 2500)}

BALANCE = ("inflow_kg_s", "outflow_kg_s", "torque_nm")  # what must vanish, or agree, once all has settled

NO_FAULT = {"film_thickness_m": 0.0, "bypass_film": 0.0, "leak_mm2": 0.0, "boot_leak_mm2": 0.0, "ventilation_stuck_mm2": 0.0,
            "purge_stuck_mm2": 0.0, "egr_stuck_mm2": 0.0, "maf_gain_ratio": 1.0, "map_offset_kpa": 0.0, "coolant_bias_c": 0.0,
            "fuel_delivery_ratio": 1.0, "spark_missing_pct": 0.0, "cylinder_compression_loss_pct": 0.0, "drag_nm": 0.0,
            "tps1_offset_v": 0.0, "position_offset_deg": 0.0}

# Which quantity a cause moves; film's severity is drawn as a share of idle air area and solved for its thickness.
QUANTITY = {"film": "film_thickness_m", "bypass_film": "bypass_film", "vacuum_leak": "leak_mm2", "torn_boot": "boot_leak_mm2",
            "ventilation_stuck": "ventilation_stuck_mm2", "purge_stuck": "purge_stuck_mm2", "egr_stuck": "egr_stuck_mm2",
            "air_flow_low": "maf_gain_ratio", "pressure_low": "map_offset_kpa", "pressure_high": "map_offset_kpa",
            "coolant_low": "coolant_bias_c", "fuel_weak": "fuel_delivery_ratio", "spark_missing": "spark_missing_pct",
            "cylinder_compression": "cylinder_compression_loss_pct", "drag": "drag_nm", "track_shifted_up": "tps1_offset_v",
            "position_lost": "position_offset_deg"}


def stack(rows):
    """Dicts with the same keys as one namespace of arrays."""
    return types.SimpleNamespace(**{key: numpy.array([row[key] for row in rows], dtype=float) for key in rows[0]})


class Simulator:
    TICK_S = 0.02
    WARM_C = WARM_UP_RPM_C = None  # a simulator's own: when its engine is warm, and how much faster it idles a degree below
    GROWTH_S = 10.0  # over which a fault grows from nothing: a film comes slowly, and the computer learns meanwhile
    IDLE_S, OTHER_S, MEAN_S = 32.0, 18.0, 4.0
    CLUTCH_S = 1.0  # compressor and gear take hold while the computer, which ordered them, already gives air
    LAPSE = 10  # slow learning is this many times faster than on the road, so that it is over when the reading is taken

    def __init__(self, units, days, faults):
        self.u, self.d, self.f = stack(units), stack(days), stack(faults)
        self.count = len(units)
        self.ones = numpy.ones(self.count)
        self.ac = self.gear = self.hold_rpm = 0.0
        self.engaged = 1.0
        self.grown = 0.0
        self.ticks = 0
        self.prepare()
        self.s = self.start()
        self.s.pedal, self.s.pedal_sum = 0.0 * self.ones, 0.0 * self.ones
        self.s.stalled = numpy.zeros(self.count, dtype=bool)

    def fault(self, name):
        """The fault as far as it has grown, from its harmless value."""
        harmless = NO_FAULT[name]
        return harmless + (getattr(self.f, name) - harmless) * self.grown

    def coolant_seen(self):
        return numpy.round(self.d.coolant_c + self.fault("coolant_bias_c"))

    def target(self):
        """Higher by so much a degree below the temperature of a warm engine, and with loads."""
        u = self.u
        warm_up = numpy.maximum(self.WARM_C - self.coolant_seen(), 0.0) * self.WARM_UP_RPM_C
        return numpy.round(u.target_rpm + warm_up + self.ac * u.target_ac + self.gear * u.target_drive)

    def relative_pct(self, position_pct, stop_seen_pct):
        """Identifier 45 as this model means it: above the learned stop, or above a fixed number of the maker's; never negative."""
        zero = numpy.where(self.u.relative_fixed > 0, self.u.nominal_position_offset - 1.0, stop_seen_pct)
        return numpy.maximum(position_pct - zero, 0.0)

    def foot(self):
        """A mechanic who holds a speed (his own idea of it: day.foot_rpm off) or opens slowly; zero with the foot off."""
        if not numpy.any(self.hold_rpm):
            return
        miss = numpy.where(self.hold_rpm > 0, self.hold_rpm + self.d.foot_rpm - self.s.rpm, 0.0)
        self.s.pedal_sum = within(self.s.pedal_sum + 0.0012 * miss * self.TICK_S, 0.0, 30.0)
        self.s.pedal = within(self.s.pedal_sum + 0.0012 * miss, 0.0, 30.0)

    def turn(self, torque_nm):
        """Speed after a tick under this net torque; below 300 rpm the engine has stalled and is no car to read."""
        rpm = self.s.rpm + torque_nm / self.u.inertia * self.TICK_S * 30.0 / numpy.pi
        self.s.stalled |= rpm < 300.0
        self.s.rpm = within(rpm, 200.0, 6500.0)

    def run(self, condition, seconds, watch=None):
        self.ac, self.gear, self.hold_rpm = (float(x) for x in CONDITIONS[condition])
        ticks, mean = round(seconds / self.TICK_S), round(self.MEAN_S / self.TICK_S)
        sums = {}
        for k in range(ticks):
            if self.grown < 1.0:
                self.grown = min(1.0, self.grown + self.TICK_S / self.GROWTH_S)
            self.engaged = min(1.0, k * self.TICK_S / self.CLUTCH_S)
            if watch:
                watch(self, k)
            self.tick()
            self.ticks += 1
            if k >= ticks - mean:
                for name, value in {**self.shown(), **dict(zip(BALANCE, self.balance))}.items():
                    sums[name] = sums.get(name, 0.0) + value / mean
        return sums

    def readings(self):
        """{condition: {channel: exact mean}}: idle until everything has been learned, each other condition from there; the key-on
        readings are those of the car as it is then, with its fault fully grown."""
        out = {"idle": self.run("idle", self.IDLE_S)}
        out["key_on"] = self.key_on()
        settled = copy.deepcopy(self.s)
        for condition in ("idle_ac", "drive", "hold_2500"):
            self.s = copy.deepcopy(settled)
            out[condition] = self.run(condition, self.OTHER_S)
            if condition == "drive":
                out[condition]["stalled"] = self.s.stalled & (self.u.automatic > 0)
            else:
                out[condition]["stalled"] = self.s.stalled
        self.s = settled
        return out

    def slow_opening(self, polls, opening_s=105.0, top_rpm=3000.0, rest_s=15.0):
        """A log from the settled idle: foot off for a while, then slowly to top_rpm. `polls` names the channels, asked one
        after the other, five rounds a second. Rows of (time, channel values), exact."""
        idle_rpm = self.shown()["speed_rpm"]
        rows = []

        def watch(sim, k):
            if k % 10 == 0:
                rows.append([k * self.TICK_S, {}])
                past = k * self.TICK_S - rest_s
                wanted = idle_rpm + (top_rpm - idle_rpm) * min(1.0, past / opening_s)
                sim.hold_rpm = wanted if past > 0 else 0.0 * self.ones
            if k % 10 < len(polls):
                rows[-1][1][polls[k % 10]] = sim.shown()[polls[k % 10]]

        self.run("idle", rest_s + opening_s, watch)
        return rows


def bisect(function, low, high, steps=40):
    """Root of a function rising from negative to positive, lane by lane."""
    for _ in range(steps):
        middle = 0.5 * (low + high)
        above = function(middle) > 0.0
        low, high = numpy.where(above, low, middle), numpy.where(above, middle, high)
    return 0.5 * (low + high)


def spread(rng, model, **shares):
    """A unit of a model: each named key scattered by a share of itself (sd)."""
    unit = dict(model)
    for key, share in shares.items():
        unit[key] = model[key] * (1.0 + share * float(within(rng.standard_normal(), -2.5, 2.5)))
    return unit


def draw_day(rng):
    """Weather, electrical load, fuel and what else is another each day. From the day-to-day spreads of one real car's logs
    (barometer 0.4 kPa, trims 1.7 %, air 3 %) and common practice."""
    return {"barometer_kpa": rng.normal(0.0, 0.5), "ambient_c": rng.uniform(3.0, 33.0), "intake_rise_c": rng.uniform(4.0, 22.0),
            "coolant_c": rng.normal(89.0, 2.5), "electric_w": rng.uniform(-60.0, 90.0), "purge_mm2": rng.uniform(0.0, 1.0) ** 2 * 0.5,
            "purge_rich": rng.uniform(0.0, 1.6), "fuel_ratio": rng.normal(1.0, 0.012), "friction_ratio": rng.normal(1.0, 0.012),
            "ac_ratio": rng.normal(1.0, 0.09), "gear_ratio": rng.normal(1.0, 0.03), "foot_rpm": rng.normal(0.0, 20.0)}
