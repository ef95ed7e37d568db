"""Reading TOML that people write, and saying in plain words what is wrong with it."""

from __future__ import annotations

import re
import tomllib
from typing import Any

from marker.files.budget import Most
from marker.files.faults import FaultList, Unusable
from marker.files.reading import read_text
from marker.files.toml_places import TomlLines

_PLACE = re.compile(r" \(at (?:line (?P<line>\d+), column \d+|end of document)\)")
_TWICE = re.compile(r"Cannot declare \((?P<names>.*)\) twice")
_USUAL = "Correct that line; texts stand in quotation marks, lists in square brackets"
_LONGEST_LINE = 500  # longer ones are not looked at: they hold points, not mistakes of spelling

_UNCLOSED = "a quotation mark is missing at the end"
_HEADER = re.compile(r"(?P<open>\[\[?)\s*(?P<name>[^\[\]\s]+)\s*\]\]?")
_ALONE = ("order", "cloth")  # tables of which a job has one
_OPENED = re.compile(r"""=\s*(?:"[^"]*|'[^']*)$""")
# where a table begins: under its header, or after a dot in its key
_BEGUN = re.compile(r"^[ \t]*\[|\.[ \t]*[A-Za-z_\"']", re.MULTILINE)
_DEEP = re.compile(
    r"(?:\.[ \t]*(?:[\w-]{1,80}|\"[^\"\n]{0,80}\"|'[^'\n]{0,80}')[ \t]*)"
    + f"{{{Most.TOML_DEPTH.most}}}"
)

# what the parser says -> the same in plain words
_WORDS = {
    "Invalid value": "there is no value, or none that TOML knows",
    "Expected newline or end of document after a statement": "something stands behind the value",
    "Unclosed array": "a list has no closing bracket, or no comma between two entries",
    "Unterminated string": _UNCLOSED,
    "Illegal character '\\n'": _UNCLOSED,
    "Illegal character '\\r'": _UNCLOSED,
    'Expected "\'"': _UNCLOSED,
    "Expected '=' after a key in a key/value pair": "an equals sign is missing after a key",
}

# what a line that can't be read looks like -> problem, remedy
_LOOKS = (
    (r"[“”„‘’«»]", "a quotation mark is curved", 'Write straight ones, such as "150 cm"'),
    (
        r"=\s*[+-]?\d+,\d+\s*(?:[,}]|$)",
        "a number has a decimal comma",
        "Write a decimal point, such as 1.5",
    ),
    (
        r"=\s*[+-]?[\d.,/ ]+ *[a-zA-Z]+\s*$",
        "a length stands without quotation marks",
        'Write it as a text, such as "150 cm"',
    ),
    (
        r"=\s*[A-Za-z][\w ]*$",
        "a word stands without quotation marks",
        'Write it as a text, such as "one way"',
    ),
    (
        r"^\s*[A-Za-z_]+\s*:",
        "a colon stands where an equals sign belongs",
        "Write key = value",
    ),
    (
        r"^\s*[A-Za-z]\w* [\w ]+=",
        "a key with a space in it stands without quotation marks",
        'Write it as a text, such as "centre front" = ...',
    ),
)


def read_toml(faults: FaultList, text: str | None = None) -> dict[str, Any]:
    """The tables of the list's file, or of a text that is to be in it.

    From then on the list knows the lines. Raises Unusable where it can't be read.
    """
    content = read_text(faults.file) if text is None else text
    tables = parse_toml(content)
    faults.lines = TomlLines(content)
    return tables


def parse_toml(text: str) -> dict[str, Any]:
    """The tables of a TOML text; raises Unusable where it is none, or is too much."""
    _count(text)
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise _broken(str(error), text) from error
    except (ValueError, RecursionError) as error:  # numbers of thousands of digits, deep nesting
        raise Unusable("this can't be a job file", "Start from `marker new`") from error


def _count(text: str) -> None:
    """Refuse what would take the parser long; texts and comments count too."""
    Most.TOML_KEYS.demand(text.count("=") + len(_BEGUN.findall(text)))
    Most.TOML_ENTRIES.demand(text.count(","))
    if _DEEP.search(text):
        raise Most.TOML_DEPTH.exceeded(Most.TOML_DEPTH.most + 1)


def _broken(said: str, text: str) -> Unusable:
    found = _PLACE.search(said)
    where = found[0].removeprefix(" (at ").removesuffix(")") if found else "some place"
    lines = text.splitlines() or [""]
    line = int(found["line"]) if found and found["line"] else len(lines)
    alone = _alone(said, lines, line)
    if alone:
        return alone
    said = said.partition(" (at ")[0]
    if _WORDS.get(said) == _UNCLOSED and not (found and found["line"]):
        line = next((n for n, each in enumerate(lines, 1) if _OPENED.search(_code(each))), line)
        where = f"line {line}"
    problem, remedy = _plain(said, lines[min(line, len(lines)) - 1])
    return Unusable(f"broken TOML at {where}: {problem}", remedy, line)


def _alone(said: str, lines: list[str], line: int) -> Unusable | None:
    """What is wrong where [name] and [[name]] both stand there; None where they don't."""
    header = _HEADER.fullmatch(_code(lines[min(line, len(lines)) - 1]).strip()[:_LONGEST_LINE])
    if header is None or header["name"] in _ALONE:
        return None
    other = re.escape("[" if header["open"] == "[[" else "[[") + rf"\s*{re.escape(header['name'])}"
    found = (n for n, each in enumerate(lines[: line - 1], 1) if re.match(rf"\s*{other}\s*]", each))
    at = next(found, None)
    if at is None or not ("overwrite a value" in said or _TWICE.search(said)):
        return None
    wrong = at if header["open"] == "[[" else line
    remedy = "Write both brackets twice, as for each table of which there may be several"
    return Unusable(
        f"[{header['name']}] at line {wrong} must be [[{header['name']}]]", remedy, wrong
    )


def _code(line: str) -> str:
    """A line without its comment; one in a text may be taken for a comment."""
    return line.partition(" #")[0]


def _plain(said: str, line: str) -> tuple[str, str]:
    twice = _TWICE.search(said)
    if twice:
        name = ".".join(re.findall(r"'([^']*)'", twice["names"]))
        remedy = f"Give it once; where there may be several, each begins with [[{name}]]"
        return f"[{name}] stands there twice", remedy
    if "overwrite a value" in said:
        return "this key or table is there twice", "Give it once"
    code = _code(line)
    for looks, problem, remedy in _LOOKS if len(code) <= _LONGEST_LINE else ():
        if re.search(looks, code):
            return problem, remedy
    return _WORDS.get(said, said[:1].lower() + said[1:]), _USUAL
