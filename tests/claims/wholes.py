"""What no single sentence shows: that the summary says nothing else, one criterion for what is hidden, repairs and causes all told."""
import re

import claims
import words
import figures
import predicates
import saying
import words_causes

HIDING_ENDS = re.compile(r'\b(?:hid|hides|hidden|hide|invisible)\b[^.;]*?(-?[\d.]*\d) ?(?:um|mm)\b|'
                         r'\bfrom (-?[\d.]*\d) ?um (?:on )?(?:film is speed|it shows|on it is speed|the speed)', re.I)
REPAIR = re.compile(r'\b(?:clean(?:ed|ing)?|mend(?:ed|ing)?|repair(?:ed)?|put right|replaced|renewed|fixed|went away|gone|taken away|made thinner|back to|healed|restored)\b', re.I)
# Seconds that a fault must stand, or what follows a repair must last, to be worth a word.
WORTH_S = 12.0
CHAIN_LINKS, CHAIN_NUMBERS, HEADLINE_SENTENCES = 5, 3, 2


def fold(text):
    return ' '.join(text.split())


def as_told(claim):
    """A claim as it stands in the summary: of a code with the code and its name before it."""
    return fold('%s | %s | %s' % (claim['code'], claim.get('name'), claim['text']) if claim.get('code') else claim['text'])


def check_summary(run):
    """Sentences of the summary that no claim has said, numbers that no claim knows."""
    found = []
    left = fold(unfolded(run.summary))
    for claim in sorted(run.claims, key=lambda claim: -len(as_told(claim))):
        text = as_told(claim)
        if text not in left:
            found.append('the summary lacks: %s' % text[:100])
        left = left.replace(text, ' ', 1)
    return found + check_left(run)


def unfolded(summary):
    """The table of codes with each row on one line: its columns are wrapped."""
    lines, at = [], None
    for line in summary.splitlines():
        header = re.match(r'\s*(code)\s+(name\b.*?)\s{2,}(\S.*)$', line)
        if header:
            at = [header.start(group) for group in (1, 2, 3)]
            continue
        if at and not line.strip():
            at = None
        if not at:
            lines.append(line)
            continue
        cells = [line[at[0]:at[1]], line[at[1]:at[2]], line[at[2]:]]
        if cells[0].strip():
            lines.append(' | '.join(cell.strip() for cell in cells))
        elif lines:
            parts = lines[-1].split(' | ')
            lines[-1] = ' | '.join((part + ' ' + cell.strip()).strip() for part, cell in zip(parts, cells))
    return '\n'.join(lines)


# Headings of the summary whose lines are lists, not sentences: checked against the files instead.
LISTS = ('Readings', 'Events', 'Scan tool', 'Files')


def sections(summary):
    """{heading: lines} of the summary; a heading stands unindented between an empty line and an indented one. First comes ''."""
    parts, heading, lines = {'': []}, '', summary.splitlines()
    for i, line in enumerate(lines):
        alone = i > 0 and not lines[i - 1].strip() and line[:1].strip() and i + 1 < len(lines) and not re.search(r'[.:]$', line)
        if alone and re.match(r'\s+\S|$|P\d{4} ', lines[i + 1]):
            heading = line
            parts.setdefault(heading, [])
        elif i > 0 and not lines[i - 1].strip() and line.startswith('A teaching model'):
            heading = 'Files'
            parts.setdefault(heading, [])
        else:
            parts[heading].append(line)
    return parts


def check_left(run):
    """Within the sections of sentences nothing is left once every claim's text is struck out."""
    found = []
    for heading, lines in sections(unfolded(run.summary)).items():
        if heading.startswith(LISTS):
            continue
        if heading == '':
            lines = lines[2:]  # title, engine and length
        left = fold(' '.join(re.sub(r'^\s*(?:\d+\.|-)\s', ' ', line) for line in lines))
        for claim in sorted(run.claims, key=lambda claim: -len(as_told(claim))):
            left = left.replace(as_told(claim), ' ')
        for sentence in re.split(r'(?<=[.!?])\s', left):
            if len(re.findall(r'\w{2,}', sentence)) > 2:
                found.append('under "%s" a sentence without a claim: %s' % (heading, fold(sentence)[:120]))
    return found


def check_hidden(run):
    """One criterion for hidden, one number of the film at which it ends."""
    numbers = {}
    for claim in run.claims:
        for value in claim.get('values', []):
            if 'hidden' in str(value.get('name')) and figures.plain_unit(value.get('unit')) in ('um', 'mm'):
                scale = 1e3 if figures.plain_unit(value.get('unit')) == 'mm' else 1.0
                numbers.setdefault(round(float(value['value']) * scale), claim['text'])
        for match in HIDING_ENDS.finditer(claim['text']):
            word = match.group(1) or match.group(2)
            scale = 1e3 if re.search(r'\bmm\b', match.group(0)) else 1.0
            numbers.setdefault(round(float(word) * scale), claim['text'])
    if len(numbers) > 1:
        return ['what is hidden ends at %s um: one criterion, one number' % ', '.join(str(n) for n in sorted(numbers))]
    return []


def spans(scenario, name):
    """(from, to) of every stretch in which the fault stands."""
    row, value, since, found = scenario.faults[name], scenario.initial[name], 0.0, []
    least = saying.FILM_UM if name.endswith('film_um') else 1e-9
    wrong = abs(value - row['start']) > least
    for at, _, new in scenario.changes(name) + [(scenario.duration_s, None, None)]:
        if new is None or abs(new - row['start']) <= least:
            if wrong:
                found.append((since, at))
            wrong = False
        elif not wrong:
            since, wrong = at, True
    return found


def names_of(name):
    """Patterns by which a sentence may speak of a fault."""
    patterns = [pattern for pattern, names in words_causes.CAUSES if name in names]
    if 'film' in name:
        patterns.append(r'\b(?:bore|valve|blade) (?:is|was) cleaned\b|\bthe clean\b(?! bore)')
    return patterns + [re.escape(name)]


def speaks_of(run, name, wanted=None):
    row = run.scenario.faults[name]
    phrase = re.split(r'[:;,]', row['text'])[0]
    patterns = names_of(name) + [re.escape(phrase)]
    for claim in run.claims:
        if any(re.search(pattern, claim['text'], re.I) for pattern in patterns) and (wanted is None or wanted.search(claim['text'])):
            return True
        for step in claim.get('holds', []):
            if wanted is None and name in str(step.get('except', '')):
                return True
    return False


def check_told(run):
    """Every fault that stands for a while is told, and so is every repair that the run goes on after."""
    found = []
    scenario = run.scenario
    for name, row in scenario.faults.items():
        if row['kind'] != 'fault' or name in predicates.SIDES:
            continue
        for from_s, to_s in spans(scenario, name):
            if to_s - from_s < WORTH_S or not runs_between(run, from_s, to_s):
                continue
            if not speaks_of(run, name):
                found.append('%s stands from %g to %g s, and no sentence speaks of it' % (name, from_s, to_s))
            elif scenario.duration_s - to_s > WORTH_S and runs_between(run, to_s, scenario.duration_s) and not speaks_of(run, name, REPAIR):
                found.append('%s is repaired at %g s, and no sentence says so' % (name, to_s))
    return found


def runs_between(run, from_s, to_s):
    speed = run.rows.window('speed_rpm', from_s, to_s)
    return bool(speed) and sum(value > 300.0 for value in speed) * run.scenario.record_s > WORTH_S


CHAIN_SLACK_S = 2.0


def about(claim):
    """(earliest, latest) time that a link can be about: the one it tells, else where its readings lie."""
    match = re.search(r'\b(?:At|From|From the start) ([\d.]+)(?: to [\d.]+)? s\b', claim['text'])
    if match:
        return float(match.group(1)) - CHAIN_SLACK_S, float(match.group(1)) + CHAIN_SLACK_S
    windows = [(value['from_s'], value['to_s']) for value in claim['values'] if figures.is_number(value.get('from_s'))]
    windows = windows or [(claim.get('from_s', 0.0), claim.get('to_s', 0.0))]
    return min(window[0] for window in windows), max(window[1] for window in windows) + CHAIN_SLACK_S


def in_order(spans_):
    """Whether there is a time for each, none before the one of its forerunner."""
    now = 0.0
    for earliest, latest in spans_:
        now = max(now, earliest)
        if now > latest:
            return False
    return True


def check_form(run):
    """The shape of what is read: a headline of two sentences, five links in order of time, three numbers each."""
    found = []
    chain = [claim for claim in run.claims if claim.get('part') == 'chain']
    headline = ' '.join(claim['text'] for claim in run.claims if claim.get('part') == 'headline')
    if not headline:
        found.append('there is no headline')
    if len(saying.SENTENCE.split(headline)) > HEADLINE_SENTENCES:
        found.append('the headline has %d sentences' % len(saying.SENTENCE.split(headline)))
    if len(chain) > CHAIN_LINKS:
        found.append('the chain has %d links' % len(chain))
    for claim in chain:
        if len(figures.numbers_of(claim['text'])) > CHAIN_NUMBERS:
            found.append('a link has %d numbers: %s' % (len(figures.numbers_of(claim['text'])), claim['text'][:80]))
    if not in_order([about(claim) for claim in chain]):
        found.append('the chain is not in order of time: %s' % ', '.join('%g to %g' % about(claim) for claim in chain))
    return found


def check_table(run):
    """Events listed in the summary are those of events.csv, in its order and at its times."""
    lines = []
    for heading, part in sections(run.summary).items():
        if heading.startswith('Events'):
            lines = [line.strip() for line in part if line.strip()]
    found = []
    for line in lines:
        match = re.match(r'([\d.]+) s  (.*)', line)
        if match and not any(event['text'].startswith(match.group(2)) and abs(event['time_s'] - float(match.group(1))) < 0.051
                             for event in run.events):
            found.append('events.csv has no such event: %s' % line)
    return found


def check(run):
    found = []
    if re.search(r'\b-?(?:nan|inf)\b', run.summary, re.I):
        found.append('nan or inf in the summary')
    if not run.claims:
        found.append('there are no claims')
    for test in (check_summary, check_hidden, check_told, check_form, check_table):
        found += test(run)
    return found


def check_run(run):
    """Every complaint about a run: (kind of the claim or "run", its text, what is wrong)."""
    found = [('run', '', complaint) for complaint in check(run)]
    for told in run.claims:
        found += [(told.get('kind', '?'), told.get('text', ''), complaint) for complaint in check_claim(run, told)]
    return found


def check_claim(run, told):
    claim = claims.Claim(run, told)
    claim.check()
    words.check(claim)
    return claim.complaints
