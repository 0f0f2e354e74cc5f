"""Values from libraries of others, for test_fluids_oracle.c. Prints CSV: kind, a, b, c, d, value.

Run with Debian's own interpreter, /usr/bin/python3 (packages python3-fluids, python3-scipy).
Exit code 77: not installed.

kind        a            b            c            d               value
flow        p_up, Pa     T_up, K      p_down, Pa   CdA, m2         kg/s, nozzle from fluids' relations
api         p_up         T_up         p_down       kg/s            m2, fluids.API520_A_g
critical    p_up         0            0            0               Pa, fluids.P_critical_flow
atmosphere  H, m         T, K         0            pressure, Pa    density kg/m3, fluids.ATMOSPHERE_1976
area        D, mm        d, mm        psi0, deg    psi, deg        mm2, scipy.integrate.quad across the shaft
example     number       0            0            0               m2, fluids.API520_A_g, API 520's examples
"""
import math
import sys

try:
    import fluids
    from scipy.integrate import quad
except ImportError as missing:
    print(f"fluids_oracle.py: {missing}", file=sys.stderr)
    sys.exit(77)

GAMMA = 1.4
AIR_CONSTANT = 287.05287  # J/(kg K), ISO 2533; the same as in src/physics/gas.h
MOLAR_MASS = fluids.constants.R / AIR_CONSTANT  # kg/mol, so that fluids' molar relations mean the same gas
EARTH_RADIUS_M = 6356766.0  # US Standard Atmosphere 1976

UPSTREAM_PA = (60e3, 79495.2, 101325.0, 180e3)
UPSTREAM_K = (233.15, 288.15, 293.15, 393.15)
RATIOS = (0.05, 0.2, 0.35, 0.5, 0.528, 0.5285, 0.55, 0.65, 0.75, 0.85, 0.92, 0.97, 0.99, 0.9969)
CDA_M2 = (0.5e-6, 20e-6, 1500e-6)


def show(kind, *values):
    print(kind + "," + ",".join(f"{value:.17g}" for value in values))


def nozzle_flow(p_up, t_up, p_down, cda):
    """Speed at the throat from fluids' isentropic work, temperature there from its isentropic relation."""
    throat = max(p_down, fluids.P_critical_flow(p_up, GAMMA))
    temperature = fluids.isentropic_T_rise_compression(t_up, p_up, throat, GAMMA)
    work = fluids.isentropic_work_compression(T1=t_up, k=GAMMA, P1=p_up, P2=throat, eta=1)  # J/mol, negative
    speed = math.sqrt(-2.0 * work / MOLAR_MASS)
    return throat / (AIR_CONSTANT * temperature) * speed * cda


def throttle_area(diameter, shaft, closed, angle):
    """mm2: bore less blade and shaft, slice by slice along the shaft; no film."""
    ratio = math.cos(math.radians(angle)) / math.cos(math.radians(closed))

    def slice_at(u):
        half = 0.5 * diameter * math.cos(u)
        return max(half - max(ratio * half, 0.5 * shaft), 0.0) * half

    kinks = []
    if shaft > 0:
        for width in (0.5 * shaft, 0.5 * shaft / ratio):  # where the shaft meets the wall and the blade
            if width < 0.5 * diameter:
                kinks.append(math.acos(width / (0.5 * diameter)))
    value, _ = quad(slice_at, 0.0, 0.5 * math.pi, points=kinks or None, epsabs=1e-11, epsrel=1e-12, limit=200)
    return 4.0 * value


# The anchor: API Std 520 Part 1, examples 1 and 2, as fluids documents them; the test checks these.
EXAMPLE = {"m": 24270 / 3600.0, "T": 348.0, "Z": 0.90, "MW": 51.0, "k": 1.11, "P1": 670e3,
           "Kb": 1, "Kc": 1, "Kd": 0.975}
show("example", 1, 0, 0, 0, fluids.API520_A_g(**EXAMPLE))
show("example", 2, 0, 0, 0, fluids.API520_A_g(P2=532e3, **EXAMPLE))

for p_up in UPSTREAM_PA:
    show("critical", p_up, 0, 0, 0, fluids.P_critical_flow(p_up, GAMMA))
    for t_up in UPSTREAM_K:
        for ratio in RATIOS:
            p_down = ratio * p_up
            for cda in CDA_M2:
                show("flow", p_up, t_up, p_down, cda, nozzle_flow(p_up, t_up, p_down, cda))
            flow = 5e-3
            area = fluids.API520_A_g(m=flow, T=t_up, Z=1, MW=1e3 * MOLAR_MASS, k=GAMMA, P1=p_up, P2=p_down,
                                     Kd=1, Kb=1, Kc=1)
            show("api", p_up, t_up, p_down, flow, area)

for altitude in range(-1000, 11001, 500):
    geometric = EARTH_RADIUS_M * altitude / (EARTH_RADIUS_M - altitude)
    air = fluids.ATMOSPHERE_1976(geometric)
    show("atmosphere", altitude, air.T, 0, air.P, air.rho)

for diameter, shaft, closed in ((57, 10, 8), (57, 0, 8), (50, 8, 6), (58.7, 0, 7.9), (40, 7, 12)):
    for step in range(1, 30):
        angle = closed + (89.0 - closed) * (step / 29.0) ** 2
        show("area", diameter, shaft, closed, angle, throttle_area(diameter, shaft, closed, angle))
