#!/usr/bin/python3
"""The gap of a throttle by brute force: a solid blade is turned in a solid bore and the distances are measured.

Nothing here is derived. The edge of the closed blade is a cloud of points on a cylinder that fits the bore, its height cut along
the bore; it is turned about the shaft by a rotation matrix. The wall, with whatever sits on it, is a polyline along the bore, a
point every 4 um, one for every slice round the bore. In each slice the gap is the least distance from any point of the blade's edge
to any point of the wall, 0 where a point of the blade lies beyond the wall; the open area is the sum over the slices of that gap
times the arc which the slice covers half-way between blade and wall, the shaft's shadow left out.

Prints rows "kind,opening_deg,film_um,land_mm,case,area_mm2" for tests/reference/test_film_area.c. Cases: see CASES."""

import sys

try:
    import numpy as np
except ImportError:
    sys.exit(77)

RADIUS, CLOSED, SHAFT, CLEARANCE = 26.0, np.radians(7.0), 8.0, 0.022  # mm
SLICES, HEIGHTS, WALL_STEP, WALL_BEYOND = 360, 21, 0.004, 0.3

# band half-width, downstream share, bias, where it is thickest, offset; contour height and length; edge film. All mm and rad.
EVEN = dict(band=4.0, skew=0.0, bias=0.0, where=0.0, offset=0.0, contour=0.0, length=0.0, edge=0.0)
UNEVEN = dict(EVEN, skew=0.2, bias=0.3, where=np.radians(90.0))
CASES = [
    EVEN,
    UNEVEN,
    dict(UNEVEN, where=np.radians(30.0), edge=0.01),
    dict(UNEVEN, offset=2.5, band=1.5),
    dict(EVEN, contour=0.12, length=5.0),
    dict(UNEVEN, contour=0.08, length=3.0, offset=-1.0, band=2.5),
]


def wall_mm(case, film, land, theta, z):
    """Distance of wall, or what sits on it, from the axis, at heights z (downstream) of one slice."""
    line = RADIUS * np.sin(theta) * np.tan(CLOSED)
    ahead = np.sign(np.sin(theta)) * (z - line) - 0.5 * land
    inset = np.zeros_like(z)
    if case["contour"]:
        on = (ahead > 0.0) & (ahead < case["length"])
        inset[on] = case["contour"] * np.sin(np.pi * ahead[on] / case["length"]) ** 2
    away = z - line - case["offset"]
    half = case["band"] * np.where(away >= 0.0, 1.0 + case["skew"], 1.0 - case["skew"])
    crest = film * (1.0 + case["bias"] * np.cos(theta - case["where"]))
    inset += np.where(np.abs(away) < half, crest * np.cos(0.5 * np.pi * away / half) ** 2, 0.0)
    return RADIUS - inset


def turned(case, land, delta, phi, heights):
    """Points of the edge at angle phi of the closed blade, after the blade has turned."""
    fits = RADIUS - CLEARANCE + case["edge"]
    closed = np.stack([np.full_like(heights, fits * np.cos(phi)), np.full_like(heights, fits * np.sin(phi)),
                       fits * np.sin(phi) * np.tan(CLOSED) + heights])
    turn = np.array([[1, 0, 0], [0, np.cos(delta), -np.sin(delta)], [0, np.sin(delta), np.cos(delta)]])
    return turn @ closed


def area_mm2(case, opening_deg, film, land):
    delta, heights = np.radians(opening_deg), np.linspace(-0.5 * land, 0.5 * land, HEIGHTS if land else 1)
    total, width = 0.0, 2.0 * np.pi / SLICES
    for i in range(SLICES):
        phi = (i + 0.5) * width
        x, y, z = turned(case, land, delta, phi, heights)
        theta, r = np.arctan2(np.mean(y), np.mean(x)), np.hypot(x, y)
        along = np.arange(z.min() - WALL_BEYOND, z.max() + WALL_BEYOND, WALL_STEP)
        wall = wall_mm(case, film, land, theta, along)
        distance = np.hypot(r[:, None] - wall[None, :], z[:, None] - along[None, :]).min(axis=1)
        distance = np.where(r >= np.interp(z, along, wall), 0.0, distance)
        best = int(np.argmin(distance))
        if abs(y[best]) < 0.5 * SHAFT:
            continue
        ends = [turned(case, land, delta, p, heights[best : best + 1]) for p in (phi - 0.5 * width, phi + 0.5 * width)]
        (x0, y0), (x1, y1) = [(float(e[0][0]), float(e[1][0])) for e in ends]
        arc = abs(np.arctan2(x0 * y1 - y0 * x1, x0 * x1 + y0 * y1))
        total += distance[best] * (r[best] + 0.5 * distance[best]) * arc
    return total


def main():
    for opening in (0.0, 0.4, 1.0, 2.13, 3.2, 7.0, 20.0):
        for film in (0.0, 10.0, 40.0, 60.0, 130.0):
            for land in (0.0, 1.5, 2.0):
                case = 0 if land != 1.5 else 1
                print(f"solid,{opening},{film},{land},{case},{area_mm2(CASES[case], opening, 1e-3 * film, land):.6f}")
        for case in range(2, len(CASES)):
            for film in (0.0, 55.0):
                print(f"solid,{opening},{film},1.5,{case},{area_mm2(CASES[case], opening, 1e-3 * film, 1.5):.6f}")


main()
