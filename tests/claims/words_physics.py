"""Words that promise physics: choked flow, a gap that is wider, a mixture that never notices."""
import math
import re

import predicates
import rundata
import sources
from saying import holds, rows, value_windows, window

CHOKED_RATIO = 0.53    # gas tables, air: (2 / 2.4)^3.5 = 0.528
COLD_C = 70.0          # a warm engine's coolant stands above: 80 to 100 usual
MIXTURE_PCT = 3.0      # trims of a sound engine wander by this much (common practice, no source)


def choked(claim, word):
    ambient = sources.ambient_kpa(claim.run.scenario, window(claim)[0])
    manifold = rows(claim, 'manifold_kpa')
    if manifold and rundata.mean(manifold) / ambient > CHOKED_RATIO + 0.005:
        claim.say('"%s", but the pressure ratio is %.3f', word, rundata.mean(manifold) / ambient)


def only_area(claim, word):
    """Air follows the area and nothing else: only where all idle air passes the blade."""
    if claim.run.engine.cable:
        claim.say('"%s" of an engine whose idle air passes a valve as well', word)
    if any(name in predicates.standing(claim.run.scenario, *window(claim)) for name in ('leak_mm2', 'boot_leak_mm2', 'booster_leak_mm2', 'charge_leak_mm2')):
        claim.say('"%s" while a leak feeds it', word)


def left_band(claim, word):
    """The edge has left the film's band: it travels R (sin b - sin a) along the bore, the band reaches band_mm from the closed line."""
    engine, throttle = claim.run.engine, claim.run.engine.keys['throttle']
    blade = rows(claim, 'blade_deg')
    if not blade:
        return
    closed = throttle['closed_deg']
    travel = throttle['bore_radius_mm'] * (math.sin(math.radians(closed + max(blade))) - math.sin(math.radians(closed)))
    if travel < engine.keys['film']['band_mm']:
        claim.say('"%s", but it moved %.1f mm and the band reaches %.1f mm', word, travel, engine.keys['film']['band_mm'])


def slower_air(claim, word):
    """A rate is compared with a rate: two predicates' worth of values, in the right order."""
    if not holds(claim, 'below', 'above'):
        claim.say('"%s" needs a predicate: below or above on the two rates', word)


def mixture_quiet(claim, word):
    """The mixture did not notice: the trims' sum in the last window that the claim measures is what it was in the first, or zero."""
    sums = []
    for from_s, to_s in sorted(w for w in set(value_windows(claim)) if None not in w):
        short, long_ = rows(claim, 'stft_pct', from_s, to_s), rows(claim, 'ltft_pct', from_s, to_s)
        running = rows(claim, 'speed_rpm', from_s, to_s)
        if short and long_ and running and min(running) > 300.0:
            sums.append((rundata.mean(short) + rundata.mean(long_), from_s, to_s))
    if len(sums) == 1:
        sums.insert(0, (0.0, 0.0, 0.0))
    if sums and abs(sums[-1][0] - sums[0][0]) > MIXTURE_PCT:
        claim.say('"%s", but the trims go from %.1f to %.1f %%', word, sums[0][0], sums[-1][0])


ALL_SHARE, NEARLY_SHARE = 0.01, 0.06  # what may pass the sensor by where all air, or nearly all, is said to be weighed


def all_weighed(claim, word):
    if not claim.run.engine.air_flow:
        claim.say('"%s" of an engine without an air-flow sensor', word)
    share = NEARLY_SHARE if re.search(r'\b(?:nearly|almost) ' + re.escape(word), claim.text, re.I) else ALL_SHARE
    for from_s, to_s in set(value_windows(claim)):
        air, unmetered = rows(claim, 'airflow_gps', from_s, to_s), rows(claim, 'unmetered_gps', from_s, to_s)
        if air and unmetered and rundata.mean(unmetered) > share * rundata.mean(air):
            claim.say('"%s", but %.2f of %.2f g/s are not from %g to %g s', word, rundata.mean(unmetered), rundata.mean(air), from_s, to_s)


def thickest(claim, word):
    film = rows(claim, 'film_um')
    most = max(claim.run.rows.channel('film_um'))
    if film and max(film) < most - 1.0:
        claim.say('"%s", but the film reaches %.1f um elsewhere and %.1f um here', word, most, max(film))


def flares(claim, word):
    pedal = rows(claim, 'pedal_pct')
    if pedal and max(pedal) > 1.0:
        claim.say('"%s", but the pedal is pressed to %.1f %%', word, max(pedal))
