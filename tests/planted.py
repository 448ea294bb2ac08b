"""A copy of the demo book in which whatever can hold a character that steers a terminal does."""

import json
import re
import shutil
from pathlib import Path

from showrunner.places import demo_book

TITLE, COLOUR, ROUND = "\x1b]0;x\x07", "\x9b31m", "\u202e"
RAW = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u061c\u200e\u200f\u2028-\u202e\u2066-\u2069]")
"""What no terminal may get from a file; line feed and tab may be ours."""
_WORDS = re.compile(r'(?m)^(title|say|ask|name|who|note|by|short|key) = "([^"]*)"')
_NAMES = re.compile(r'"([a-z]+ [a-z]+)"')
_FIXED = {"left foot", "right foot", "picking hand", "fretting hand", "both hands", "open air", "not here"}
_PLACES = ("after ", "not ", "gap ", "talk ", "port ", "control ", "battery ")


def planted(to: Path) -> Path:
    """The demo book with marks that turn text round in its words and names, and controls in its logs and takes."""
    shutil.copytree(demo_book(), to, ignore=shutil.ignore_patterns(".*"))
    for file in to.glob("**/*.toml"):
        text = _WORDS.sub(lambda one: f'{one[1]} = "{one[2]}{ROUND}\u2028"', file.read_text(encoding="utf-8"))
        file.write_text(_NAMES.sub(_name, text), encoding="utf-8")
    for file in to.glob("runs/*/*.jsonl"):
        lines = []
        for line in file.read_text(encoding="utf-8").splitlines():
            entry = json.loads(line)
            for name in ("say", "cue", "who", "unit"):
                if isinstance(entry.get(name), str):
                    entry[name] += f"{TITLE}{COLOUR}{ROUND}\n"
            lines.append(json.dumps(entry))
        song = {
            **json.loads(lines[-1]),
            "kind": "song",
            "song": f"no{TITLE}song{COLOUR}",
            "say": TITLE,
            "number": 99999,
        }
        file.write_text("\n".join([*lines, json.dumps(song)]) + "\n", encoding="utf-8")
    take = next(to.glob("takes/*/*.mid"))
    data = take.read_bytes()
    take.with_name(f"2026{TITLE}{COLOUR}.mid").write_bytes(data)
    take.with_name("steers.mid").write_bytes(data.replace(b"Theme", b"\x1b]0;x"))
    (to / "songs" / f"odd{TITLE}{COLOUR}\n.toml").write_text("format = 1")
    return to


def _name(found: re.Match[str]) -> str:
    word = found[1]
    return found[0] if word in _FIXED or word.startswith(_PLACES) else f'"{word}{ROUND}"'
