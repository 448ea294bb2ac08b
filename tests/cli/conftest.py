"""A small book of our own, written out file by file, and a runner for the command line."""

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from showrunner.cli.main import program

FILES = {
    "book.toml": 'format = 1\nname = "Two songs"\nrig = "big"\n',
    "songs/low-lantern.toml": """\
format = 1
title = "Low Lantern"
tempo_bpm = 120
duration = "4:00"
instrument = "tenor"

[start]
curves = "verse"
controls = { swell = 0 }
by_hand = { "string driver" = "low" }

# the pedal brings the echo in, and from half way on the drive
[curves.verse.swell]
travel = [0, 50, 100]
[curves.verse.swell.moves]
"echo mix" = [0, 20, 40]
drive = [3, 3, 12]

[[cues]]
name = "Verse"
at = "0:00"

[[cues]]
name = "Ring"
at = "1:00"
by_hand = { "string driver" = "high" }
hold = true

[[cues]]
name = "End"
at = "3:00"
stop = { by = "picking hand", driver = "off" }
""",
    "songs/harbour.toml": """\
format = 1
title = "Harbour Steps"
duration = "5:30"
instrument = "tenor"
program = { port = "host", channel = 1, number = 3 }

[curves.main.swell]
travel = [0, 100]
[curves.main.swell.moves]
drive = [-6, 6]
""",
    "rigs/big.toml": """\
format = 1
title = "Big rig"
[ports.floor]
input = "Floor*"
[ports.host]
output = "Host*"
settle_ms = 100
[controls.swell]
kind = "pedal"
limb = "right foot"
port = "floor"
channel = 1
cc = 11
[controls."sw 1"]
kind = "switch"
limb = "left foot"
port = "floor"
channel = 1
cc = 80
[controls."string driver"]
kind = "selector"
limb = "picking hand"
positions = ["off", "low", "high"]
rest = "off"
[targets.drive]
port = "host"
channel = 1
cc = 70
unit = "dB"
range = [-12, 12]
rest = 0
[targets."echo mix"]
port = "host"
channel = 1
cc = 71
range = [0, 100]
rest = 0
[steps]
next = "sw 1"
[instruments.tenor]
tunings = { standard = ["E2", "A2", "D3", "G3", "B3", "E4"] }
rest_tuning = "standard"
carries = ["string driver"]
battery = "driver cell"
[batteries."driver cell"]
capacity_mah = 550
load_ma = 18
""",
    "rigs/small.toml": """\
format = 1
title = "Small rig"
[ports.floor]
input = "Floor*"
[ports.host]
output = "Host*"
[controls."sw 1"]
kind = "switch"
limb = "left foot"
port = "floor"
channel = 1
cc = 80
[controls."string driver"]
kind = "selector"
limb = "picking hand"
positions = ["off", "low", "high"]
rest = "off"
[targets.drive]
port = "host"
channel = 1
cc = 70
unit = "dB"
range = [-12, 12]
rest = 0
[steps]
next = "sw 1"
[instruments.tenor]
tunings = { standard = ["E2", "A2", "D3", "G3", "B3", "E4"] }
rest_tuning = "standard"
carries = ["string driver"]
battery = "driver cell"
[batteries."driver cell"]
capacity_mah = 550
load_ma = 18
""",
    "venues/harbour.toml": 'format = 1\ntitle = "The Harbour Room"\nkind = "club"\ncurfew = "23:00"\n',
    "shows/friday.toml": """\
format = 1
title = "Friday at the Harbour"
date = 2026-11-20
venue = "harbour"
start = "20:45"
slot = "20:00"
[[sets]]
title = "Only set"
songs = [{ song = "low-lantern", then = "talk 0:45" }, { song = "harbour" }]
""",
    "checklists/door.toml": """\
format = 1
title = "At the door"
[[items]]
ask = "Is the spare cell in the case?"
critical = true
""",
}

CHAIN = """
[targets.output]
port = "host"
channel = 1
cc = 7
unit = "dB"
range = [-60, 6]
level = true
[[gain]]
stage = "interface input"
range_db = [0, 60]
[[gain]]
stage = "software"
range_db = [0, 0]
[[gain]]
stage = "interface output"
range_db = [-60, 6]
[trims]
input_gain_db = 32
interface_volume_db = -12
volume_target = "output"
"""


@pytest.fixture
def book(tmp_path: Path) -> Path:
    """A book of two songs, two rigs, a venue, a show and a checklist."""
    root = tmp_path / "book"
    for name, text in FILES.items():
        path = root / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
    return root


@pytest.fixture
def with_chain(book: Path) -> Path:
    """The book with a gain chain in its rig and a room that needs something."""
    rig, venue = book / "rigs/big.toml", book / "venues/harbour.toml"
    rig.write_text(rig.read_text() + CHAIN)
    venue.write_text(venue.read_text() + "depth_m = 20\n[trims]\ninterface_volume_db = 3\nfull_house_db = 2\n")
    return book


Run = Callable[..., Result]


@pytest.fixture
def run() -> Run:
    """Runs the command line in this process; a traceback fails the test."""

    def call(*args: object, typed: str | None = None, **env: str) -> Result:
        settings = {"SHOWRUNNER_BOOK": "", "COLUMNS": "80", **env}
        words = [str(arg) for arg in args]
        result = CliRunner(env=settings).invoke(program, words, input=typed, prog_name="showrunner")
        if result.exception is not None and not isinstance(result.exception, SystemExit):
            raise result.exception
        return result

    return call


@pytest.fixture
def run_json(run: Run) -> Callable[..., Any]:
    """Runs a command with --json and gives back what it printed, parsed."""
    return lambda *args: json.loads(run(*args, "--json").stdout)


ROWS = [
    (1000.0, "began", None, None, ""),
    (1001.0, "changeover", "low-lantern", "Verse", ""),
    (1100.0, "song", "low-lantern", "Verse", ""),
    (1160.0, "cue", "low-lantern", "Ring", ""),
    (1161.0, "cue", "low-lantern", "Verse", ""),
    (1162.0, "cue", "low-lantern", "Ring", ""),
    (1200.0, "port lost", "low-lantern", "Ring", "host"),
    (1202.5, "port found", "low-lantern", "Ring", "host"),
    (1210.0, "too soon", "low-lantern", "Ring", ""),
    (1350.0, "changeover", "harbour", "start", ""),
    (1410.0, "song", "harbour", "start", ""),
    (1750.0, "over", "harbour", "start", ""),
    (1800.0, "ended", None, None, ""),
]


@pytest.fixture
def night(book: Path) -> Path:
    """A night of two songs, the first 10 s over, and after it a run in which nothing was played."""
    lines = [
        json.dumps({"time": "2026-11-20T20:45:00", "unix_s": at_s, "kind": kind, "song": song, "cue": cue, "say": say})
        for at_s, kind, song, cue, say in [*ROWS, (2000.0, "began", None, None, "")]
    ]
    file = book / "runs/friday/2026-11-20.jsonl"
    file.parent.mkdir(parents=True)
    file.write_text("\n".join([*lines, '{"kind": "so']) + "\n", encoding="utf-8")
    return book
