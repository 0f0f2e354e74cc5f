"""Tables from answers: what came first, what was sure and wrong, which intervals held, and how often what was said to be likely was so."""
import collections
import re

SURE = 0.90
UNLISTED = "unlisted"  # the program's word for a cause that it does not know
BINS = (0.0, 0.02, 0.1, 0.2, 0.35, 0.5, 0.65, 0.8, 0.9, 0.97, 1.0)


def share(part, whole):
    return f"{part}/{whole}" + (f" ({100.0 * part / whole:.0f} %)" if whole else "")


def reasons(results):
    """Why the program refused, most frequent first; sentences that differ in their numbers only are one."""
    said = collections.Counter(re.sub(r"[-+]?[0-9][-0-9.e]*", "N", answer["refused"]) for _, answer in results if answer.get("refused"))
    return dict(said.most_common(6))


def ranked(answer):
    return sorted(answer["causes"].items(), key=lambda pair: -pair[1]["p"])


def first(answer):
    return ranked(answer)[0]


def summary(results):
    """One class: counts over (case, answer) pairs; an answer is None where the program refused."""
    told = [(case, answer) for case, answer in results if answer.get("causes")]
    single = [(case, answer) for case, answer in told if case["first"]]
    seen = [(case, answer) for case, answer in single if case["detectable"]]
    good = [(case, answer) for case, answer in single if case["cause"] == "nothing"]
    seen_all = sum(case["first"] and case["detectable"] for case, _ in results)
    sure_wrong = [(case, answer) for case, answer in single if first(answer)[1]["p"] >= SURE and first(answer)[0] != case["cause"]]
    unlisted = [pair for pair in sure_wrong if first(pair[1])[0] == UNLISTED]
    visible = lambda pairs: [pair for pair in pairs if pair[0]["detectable"] or pair[0]["cause"] == "nothing"]
    films = [(case, answer) for case, answer in told if case["cause"] == "film" and answer.get("area")]
    held = [pair for pair in films if pair[1]["area"][1] <= 100.0 * pair[0]["area_lost_there"] <= pair[1]["area"][2]]
    # Intervals are conditional on a film: those where it is thought likely are told apart.
    likely = [pair for pair in films if pair[1]["causes"].get("film", {"p": 0.0})["p"] >= 0.5]
    likely_held = [pair for pair in likely if pair in held]
    return {"cases": len(results), "refused": len(results) - len(told), "detectable": len(seen), "detectable_all": seen_all,
            "true_first": sum(first(a)[0] == c["cause"] for c, a in seen), "nothing": len(good),
            "nothing_first": sum(first(a)[0] == "nothing" for c, a in good), "singles": len(single), "sure_wrong": len(sure_wrong),
            "sure_wrong_visible": len(visible(sure_wrong)), "visible": len(visible(single)),
            "reasons": reasons(results),
            "sure_unlisted": len(unlisted), "sure_wrong_unflagged": sum(bool(a["explained"]) for _,
                                                                        a in sure_wrong), "unexplained": sum(not a["explained"] for _,
                                                                                                         a in single),
            "films": len(films), "held": len(held), "likely": len(likely), "likely_held": len(likely_held),
            "film_width": sum(a["area"][2] - a["area"][1] for _, a in films) / max(1, len(films)),
            "film_error": sum(abs(a["area"][0] - 100.0 * c["area_lost_there"]) for c, a in films) / max(1, len(films))}


def odds(results):
    """Bins of stated probability, all causes of all cases: (from, to, pairs, mean stated, frequency). The garage draws from a known
    list, each cause equally often; so what is stated is taken given that list, and a case counts by how often the program thinks
    that its cause stands behind a complaint against how often the garage drew it."""
    told = [(case, answer) for case, answer in results if answer.get("causes") and case["first"]]
    drawn = collections.Counter(case["cause"] for case, _ in told)
    rows = []
    for low, high in zip(BINS, BINS[1:]):
        pairs = stated = true = weight = 0.0
        for case, answer in told:
            prior = answer["causes"].get(case["cause"], {"prior": 0.0})["prior"]
            w = prior / drawn[case["cause"]]
            possible = {name: cause["p"] for name, cause in answer["causes"].items() if name in case["drawn"]}
            total = sum(possible.values())
            for name, p in possible.items():
                p = p / total if total else 0.0
                if low <= p < high or (high == 1.0 and p == 1.0):
                    pairs, weight = pairs + 1, weight + w
                    stated, true = stated + w * p, true + w * (name == case["cause"])
        if pairs and weight:
            rows.append((low, high, int(pairs), stated / weight, true / weight))
    return rows


def confusion(results):
    """{true cause: {first said: count}} over detectable cases and good cars."""
    table = collections.defaultdict(collections.Counter)
    for case, answer in results:
        if case["first"] and (case["detectable"] or case["cause"] == "nothing"):
            table[case["cause"]][first(answer)[0] if answer.get("causes") else "(refused)"] += 1
    return table


def alienness(results):
    """How far good cars lie from what the program makes of them, in standard deviations of the instrument alone; after its fit
    where there was one, otherwise (good cases only) from what it expects of a good car of the kind: {condition: (readings, root
    mean square, share beyond 1.5)}; under "cars" how many good cars were told, the mean number of conditions with a reading
    beyond 1.5, and the share of cars with three or more."""
    parts, far = collections.defaultdict(list), []
    for case, answer in results:
        if answer.get("off") and (answer.get("fitted") or case["cause"] == "nothing"):
            for condition, off in answer["off"]:
                parts[condition].append(off)
            far.append(len({condition for condition, off in answer["off"] if abs(off) >= 1.5}))
    table = {c: (len(v), (sum(x * x for x in v) / len(v)) ** 0.5, sum(abs(x) >= 1.5 for x in v) / len(v)) for c, v in parts.items()}
    if far:
        table["cars"] = (len(far), sum(far) / len(far), sum(x >= 3 for x in far) / len(far))
    return table


def text(kind, name, results):
    """The tables of one class, as lines."""
    s = summary(results)
    lines = [f"{kind}, {name}: {s['cases']} cases, {s['refused']} refused, {s['unexplained']} of {s['singles']} flagged as not explained",
             f"  true cause first, detectable   {share(s['true_first'], s['detectable'])}",
             f"  nothing first, good cars       {share(s['nothing_first'], s['nothing'])}",
             f"  sure (>= 90 %) and wrong       {share(s['sure_wrong'], s['singles'])}; of detectable and good "
             f"{share(s['sure_wrong_visible'], s['visible'])}; of the former {s['sure_unlisted']} say unlisted, "
             f"{s['sure_wrong_unflagged']} are unflagged",
             f"  area lost within its interval  {share(s['held'], s['films'])}; where film >= 50 % {share(s['likely_held'], s['likely'])}; "
             f"mean width {s['film_width']:.1f}, mean error {s['film_error']:.1f} points"]
    lines += ["  stated     pairs   mean stated   frequency"]
    lines += [f"  {low:4.2f}-{high:4.2f} {pairs:6d} {100 * stated:11.1f} % {100 * true:9.1f} %" for low, high, pairs, stated,
              true in odds(results)]
    lines += ["  true cause             said first"]
    for cause, row in sorted(confusion(results).items()):
        lines.append(f"  {cause:22s} " + ", ".join(f"{said} {count}" for said, count in row.most_common()))
    alien = alienness(results)
    if alien:
        cars, conditions, three = alien.pop("cars")
        lines.append("  how alien (good cars, instrument sds: rms, share beyond 1.5): " +
                     "; ".join(f"{c} {rms:.1f}, {100 * far:.0f} % of {n}" for c, (n, rms, far) in alien.items()))
        lines.append(f"  {100 * three:.0f} % of {cars} good cars differ by 1.5 or more at three or more conditions, "
                     f"on average at {conditions:.1f}")
    return lines + [f"  refused {count} x: {reason}" for reason, count in s["reasons"].items()]


def curves(results):
    """Area lost at idle from logs, filmed against clean and clean against clean on another day: counts and means. A log of the
    filmed car has no point where its clean idle stood, so the truth is the share lost where the filmed car idles."""
    told = [(case, answer) for case, answer in results if answer.get("area")]
    films = [(100.0 * case["area_lost_there"] if case["log"] == "filmed" else 0.0, case["log"], *answer["area"]) for case, answer in told]
    out = {"cases": len(results), "refused": len(results) - len(told)}
    for log in ("filmed", "again"):
        rows = [row for row in films if row[1] == log]
        out[log] = {"told": len(rows), "held": sum(low <= true <= high for true, _, _, low, high in rows),
                    "width": sum(high - low for *_, low, high in rows) / max(1, len(rows)),
                    "bias": sum(best - true for true, _, best, _, _ in rows) / max(1, len(rows)),
                    "error": sum(abs(best - true) for true, _, best, _, _ in rows) / max(1, len(rows)),
                    "claimed": sum(low > 0.0 for *_, low, _ in rows)}
    return out


def curves_text(kind, results):
    table = curves(results)
    lines = [f"{kind}, curve: {table['cases']} logs, {table['refused']} refused"]
    for log, title in (("filmed", "filmed against clean"), ("again", "clean against clean")):
        row = table[log]
        lines.append(f"  {title:22s} interval holds {share(row['held'], row['told'])}, "
                     f"a loss above 0 claimed in {share(row['claimed'], row['told'])}; "
                     f"mean width {row['width']:.1f}, error {row['error']:.1f}, bias {row['bias']:+.1f} points")
    return lines + [f"  refused {count} x: {reason}" for reason, count in reasons(results).items()]
