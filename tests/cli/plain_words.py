"""plain_words.py: nothing that people read says it in words of yesterday, or in words that are not English. Truth: the editing of all pages
for version 1.0.0 (docs/glossary.md has the words to use); a phrase that was taken out is a row here, so that it does not come back."""
import pathlib
import re
import sys

TOP = pathlib.Path(__file__).resolve().parents[2]
# phrase, what to write
ODD = (
    (r"make(?:s)? (?:it|them|that) good\b|\bmade good\b|\bmaking good\b", "compensate, repair"),
    (r"\bheed(?:s|ed|ing)?\b", "allow for, follow"),
    (r"\bas good as none\b", "almost none"),
    (r"\bwhat was not:", "the rest"),
    (r"\blets? (?:one )?expect\b", "predicts"),
    (r"\bcomes? to least\b", "costs least"),
    (r"\bgive or take\b", "plus or minus"),
    (r"\bis known no more\b", "is no longer known"),
    (r"\bthousands parted\b|\bparted by\b", "separated"),
    (r"\bit wants [A-Z]|\bwants (?:a|an|one|text|false|two) ", "needs, must be"),
    (r"\bmend(?:ed|s|ing)?\b", "repair"),
    (r"\bcrie[sd] wolf\b", "gives a false alarm"),
    (r"\bthis very (?:car|run)\b|\bthe very (?:car|run|same)\b", "this"),
    (r"\bnothing of the kind\b", "nothing like it"),
    (r"\bpoisons\b", "is poisonous"),
    (r"\bbefore or behind the car\b", "in front of or behind the car"),
    (r"\bpassed over and\b", "skipped"),
    (r"\btold apart for\b", "told apart from"),
    (r"\bwhereof\b|\bthereof\b|\bthereby\b|\bhitherto\b|\bhence of\b|\bnaught\b|\bnought\b", "plain words"),
)
# Files whose words have not been edited yet: shorten this list, never lengthen it.
LATER = ()


def literals(text):
    text = re.sub(r"/\*.*?\*/|(?<![:\"'])//[^\n]*", "", text, flags=re.S)
    return re.sub(r'"\s*\\?\s*"', "", " ".join(re.findall(r'"(?:[^"\\\n]|\\.)*"', text)))


def read(path):
    text = path.read_text(encoding="utf-8")
    return literals(text) if path.suffix in (".c", ".h") else re.sub(r"`[^`\n]*`", "``", text)


def pages():
    yield from (TOP / name for name in ("README.md", "DEVELOPERS.md"))
    for folder, pattern in (("docs", "**/*.md"), ("scenarios", "**/*.cfg"), ("scenarios", "**/*.md"), ("models", "*.cfg"), ("src", "**/*.[ch]")):
        yield from sorted((TOP / folder).glob(pattern))


wrong = 0
for path in pages():
    name = path.relative_to(TOP).as_posix()
    text = re.sub(r"\s+", " ", read(path))
    for phrase, instead in ODD:
        for found in re.finditer(phrase, text, re.I):
            if any(re.search(pattern, name) for pattern in LATER):
                continue
            print(f'{name}: "{text[max(0, found.start() - 30):found.end() + 20]}": write {instead}')
            wrong += 1
sys.exit(1 if wrong else 0)
