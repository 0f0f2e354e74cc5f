"""Scenario and engine files, read without the program: groups, lists, texts and numbers of the libconfig format."""
import re

TOKEN = re.compile(r'\s+|//[^\n]*|#[^\n]*|/\*.*?\*/|(?P<text>"(?:[^"\\]|\\.)*")|(?P<number>[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)'
                   r'|(?P<name>[A-Za-z*][A-Za-z0-9_*-]*)|(?P<mark>[{}()\[\]=:;,])', re.S)


def tokens(text):
    position = 0
    while position < len(text):
        match = TOKEN.match(text, position)
        if not match:
            raise ValueError('cannot be read: %r' % text[position:position + 30])
        position = match.end()
        if match.lastgroup:
            yield match.lastgroup, match.group()
    yield 'end', ''


class Reader:
    def __init__(self, text):
        self.tokens = list(tokens(text))
        self.at = 0

    def peek(self):
        return self.tokens[self.at][1]

    def take(self):
        self.at += 1
        return self.tokens[self.at - 1]

    def group(self, end):
        members = {}
        while self.peek() != end:
            _, name = self.take()
            if self.take()[1] not in ('=', ':'):
                raise ValueError('no value follows %s' % name)
            members[name] = self.value()
            if self.peek() in (';', ','):
                self.take()
        self.take()
        return members

    def value(self):
        kind, word = self.take()
        if kind == 'text':
            while self.tokens[self.at][0] == 'text':
                word = word[:-1] + self.take()[1][1:]
            return word[1:-1].replace('\\"', '"')
        if kind == 'number':
            return float(word)
        if kind == 'name':
            return word.lower() == 'true'
        if word == '{':
            return self.group('}')
        items = []
        while self.peek() not in (')', ']'):
            items.append(self.value())
            if self.peek() == ',':
                self.take()
        self.take()
        return items


def read(path):
    """The file's outermost group as a dict; groups are dicts, lists are lists, numbers are floats."""
    with open(path, encoding='utf-8') as file:
        return Reader(file.read()).group('')
