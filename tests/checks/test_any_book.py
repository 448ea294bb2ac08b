"""Whatever stands in a book, a check answers."""

from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from showrunner.checks.rules import RULES
from showrunner.checks.run import SystemPorts, check
from showrunner.model.library import Book
from showrunner.model.rig import Rig
from showrunner.model.show import Show
from showrunner.model.song import Song
from showrunner.model.venue import Venue

CONTROLS = ("swell", "strip", "sw 1", "knob")
TARGETS = ("drive", "mix", "output")
LIMBS = ("left foot", "right foot", "fretting hand", "picking hand")


def some(**fields: Any) -> st.SearchStrategy[dict[str, Any]]:
    """A table with any of these fields, or without them."""
    return st.fixed_dictionaries({}, optional=fields)


def tables(names: tuple[str, ...], values: st.SearchStrategy[Any], least: int = 0) -> st.SearchStrategy[dict[str, Any]]:
    return st.dictionaries(st.sampled_from(names), values, min_size=least, max_size=3)


travels = st.just([0, 2, 100]) | st.lists(st.integers(0, 100), min_size=1, max_size=4, unique=True).map(sorted)
values = st.integers(-60, 0) | st.floats(-1e6, 1e6, allow_nan=False)
calibrations = st.tuples(st.integers(0, 20), st.integers(90, 127), st.integers(0, 10), st.integers(90, 100)).map(
    lambda ends: [[ends[0], ends[2]], [ends[1], ends[3]]]
)
heard = st.fixed_dictionaries(
    {
        "kind": st.sampled_from(("pedal", "strip", "switch")),
        "port": st.sampled_from(("floor", "floor", "gone")),
        "channel": st.just(1),
        "cc": st.sampled_from((4, 6, 11, 36, 80)),
    },
    optional={
        "limb": st.sampled_from(LIMBS),
        "bits": st.sampled_from((7, 14)),
        "calibration": calibrations,
        "rest": st.integers(0, 100),
        "on_release": st.just({"to": 0}),
    },
)
by_hand = st.fixed_dictionaries(
    {"kind": st.just("selector"), "positions": st.just(["off", "on"]), "rest": st.sampled_from(("off", "on"))}
)
targets = st.one_of(
    st.fixed_dictionaries(
        {
            "port": st.sampled_from(("host", "host", "gone")),
            "channel": st.just(1),
            "cc": st.sampled_from((7, 20, 39, 70, 123)),
            "range": st.just([-60, 0]),
        },
        optional={
            "law": st.sampled_from(("linear", "gm-volume")),
            "level": st.booleans(),
            "unit": st.just("dB"),
            "bits": st.sampled_from((7, 14)),
            "rest": st.integers(-60, 0),
        },
    ),
    st.just({"port": "host", "channel": 2, "cc": 7, "range": [20, 2000], "law": "log", "unit": "Hz"}),
)
guitars = st.fixed_dictionaries(
    {"tunings": st.just({"standard": ["E2", "A2"]})},
    optional={
        "carries": st.sampled_from((["knob"], ["strip"], ["knob", "swell"])),
        "battery": st.sampled_from(("cell", "no")),
    },
)
rigs = st.fixed_dictionaries(
    {
        "format": st.just(1),
        "title": st.just("Rig"),
        "ports": st.fixed_dictionaries(
            {
                "floor": st.sampled_from(({"input": "a*"}, {"input": "z"}, {"output": "*"})),
                "host": st.sampled_from(({"output": "*"}, {"virtual": "v", "wire": "din"})),
            }
        ),
        "controls": st.fixed_dictionaries({"swell": heard, "sw 1": heard}, optional={"strip": heard, "knob": by_hand}),
        "targets": st.fixed_dictionaries({"drive": targets, "mix": targets}, optional={"output": targets}),
    },
    optional={
        "routing": st.sampled_from(("through", "beside")),
        "steps": st.sampled_from(({"next": "sw 1"}, {"next": "knob", "back": "none", "guard_ms": 1500})),
        "mute": st.just({"target": "output", "value": -90, "switch": "swell"}),
        "instruments": st.fixed_dictionaries({"six": guitars}, optional={"twelve": guitars}),
        "batteries": st.just({"cell": {"capacity_mah": 500, "load_ma": 10}}),
        "gain": st.just([{"stage": "in", "range_db": [0, 10]}, {"stage": "interface output", "range_db": [-9, 0]}]),
        "trims": st.just({"volume_target": "output", "input_gain_db": 30}),
    },
)


@st.composite
def curves(draw: st.DrawFn) -> dict[str, Any]:
    travel = draw(travels)
    row = st.lists(values, min_size=len(travel), max_size=len(travel))
    shaped = st.builds(
        lambda at, shape: {"values": at, "shape": shape}, row, st.sampled_from(("smooth", "step", "equal-power"))
    )
    moves = draw(tables((*TARGETS, "gone"), row | shaped, least=1))
    return {"travel": travel, "moves": moves, "entry": draw(st.sampled_from(("jump", "meet", "glide")))}


sets = ("verse", "lead")
standing = {
    "curves": st.sampled_from((*sets, "gone")),
    "controls": tables((*CONTROLS, "gone"), st.integers(0, 100)),
    "targets": tables((*TARGETS, "gone"), values),
    "by_hand": tables(CONTROLS, st.sampled_from(("off", "on", "up"))),
}
cues = st.fixed_dictionaries(
    {"name": st.sampled_from(("A", "B", "C"))},
    optional=standing
    | {
        "at": st.sampled_from(("0:00", "0:01", "0:02", "9:00")),
        "hold": st.booleans(),
        "open": st.booleans(),
        "say": st.just("one two three four five six"),
        "stop": st.just({"by": "picking hand", "driver": "off"}),
    },
)
songs = st.fixed_dictionaries(
    {
        "format": st.just(1),
        "title": st.sampled_from(("One", "Two", "Three")),
        "duration": st.sampled_from(("0:00", "3:00")),
        "curves": st.fixed_dictionaries(
            {"verse": tables(CONTROLS, curves(), least=1)}, optional={"lead": tables(CONTROLS, curves())}
        ),
        "cues": st.lists(cues, max_size=3),
        "start": some(**standing),
    },
    optional={
        "tempo_bpm": st.just(90),
        "instrument": st.sampled_from(("six", "twelve", "gone")),
        "tuning": st.sampled_from(("standard", "drop D")),
        "program": some(bank_lsb=st.just(1)).map(lambda p: {"port": "host", "channel": 1, "number": 3} | p),
        "trim_db": st.integers(-20, 20),
        "level": st.sampled_from(({"integrated_lufs": -18, "true_peak_dbtp": 2}, {"integrated_lufs": -30})),
        "quiet": st.just({"two-curves": "no reason", "none": "none"}),
    },
)
shows = st.fixed_dictionaries(
    {
        "format": st.just(1),
        "title": st.just("Show"),
        "sets": st.permutations(("a", "b", "c")).map(
            lambda order: [{"songs": [{"song": order[0], "then": "segue"}, {"song": order[1]}]}, {"songs": []}]
        ),
    },
    optional={
        "rig": st.sampled_from(("full", "gone")),
        "venue": st.sampled_from(("hall", "gone")),
        "start": st.just("22:59"),
        "slot": st.just("5:00"),
        "encore": st.just(["d"]),
        "stand_ins": st.just({"a": {"swell": "strip"}, "b": {"strip": "gone"}}),
        "tonight": st.just({"a": {"capo": 2, "tuning": "open G", "duration": "1:00"}}),
        "trims": st.just({"interface_volume_db": 9, "targets": {"gone": 1}}),
        "checklists": st.just(["gone"]),
    },
)
VENUE = {
    "format": 1,
    "title": "Hall",
    "curfew": "23:00",
    "sound_limit": {"laeq_db": 99, "over": "2:00"},
    "trims": {"full_house_db": 2},
}


@st.composite
def books(draw: st.DrawFn) -> Book:
    return Book(
        name="Any",
        rig=draw(st.sampled_from(("full", None))),
        rigs={name: Rig.model_validate(draw(rigs)) for name in ("full", "small")},
        songs={name: Song.model_validate(draw(songs)) for name in ("a", "b", "c")},
        venues={"hall": Venue.model_validate(VENUE)},
        shows={"friday": Show.model_validate(draw(shows))},
    )


@settings(max_examples=80, deadline=None)
@given(books())
def test_any_book_can_be_checked_and_every_finding_says_what_why_and_what_to_do(book: Book) -> None:
    names = {rule.name for rule in RULES}
    for finding in check(book, ports=SystemPorts(("a1", "a2"), ("v", "w"), virtual=False)):
        assert finding.rule in names
        assert finding.what
        assert finding.why
        assert finding.mend
        assert finding.song is None or finding.song in book.songs


@settings(max_examples=30, deadline=None)
@given(books())
def test_findings_on_any_book_do_not_depend_on_the_order_of_its_files(book: Book) -> None:
    backwards = book._replace(songs=dict(reversed(book.songs.items())), rigs=dict(reversed(book.rigs.items())))
    assert check(book) == check(backwards)


@settings(max_examples=30, deadline=None)
@given(books())
def test_no_finding_comes_twice(book: Book) -> None:
    findings = check(book)
    assert len(set(findings)) == len(findings)
