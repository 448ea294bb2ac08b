"""Sheets for tonight speak of tonight, and say all that desk and crew need, in every format."""

import copy
import re
from collections.abc import Callable
from itertools import product
from pathlib import Path
from typing import Any, get_args

import pytest

from showrunner.model.library import Book
from showrunner.model.show import Tonight
from showrunner.planning.changeover import changeovers
from showrunner.planning.spots import LOUDEST, spots
from showrunner.sheets.render import Audience, content, render

AUDIENCES = get_args(Audience)
CHANGES: dict[str, dict[str, Any]] = {
    "capo": {"ferry": 1, "tide": 3},
    "tuning": {"ferry": "standard"},
    "instrument": {"lamp": "low"},
    "tempo_bpm": {"tide": 90, "ferry": 71.5},
    "trim_db": {"tide": -6, "lamp": 2.5},
    "duration": {"tide": 200, "ferry": 75},
}
"""Every field of [tonight], with songs and what they get."""

FOLLOWS_CAPO = {"key", "first_chord", "music"}


def without(data: Any, names: set[str]) -> Any:
    if isinstance(data, dict):
        return {name: without(value, names) for name, value in data.items() if name not in names}
    return [without(value, names) for value in data] if isinstance(data, list) else data


def test_every_field_of_tonight_is_tried() -> None:
    assert CHANGES.keys() == Tonight.model_fields.keys()


@pytest.mark.parametrize(("audience", "field"), list(product(AUDIENCES, CHANGES)))
def test_a_sheet_says_what_it_would_say_if_the_song_itself_were_written_so(
    files: Any, book_of: Callable[[Any], Book], audience: Any, field: str
) -> None:
    written, tonight = copy.deepcopy(files), copy.deepcopy(files)
    for slug, value in CHANGES[field].items():
        plain = f"{value // 60}:{value % 60:02}" if field == "duration" else value
        written["song"][slug][field] = plain
        tonight["show"]["dock"].setdefault("tonight", {})[slug] = {field: plain}
    leaves = {"tonight"} | (FOLLOWS_CAPO if field in ("capo", "tuning") else set())
    found, wanted = (without(content(book_of(of), "dock", audience), leaves) for of in (tonight, written))
    assert found == wanted
    assert found != without(content(book_of(files), "dock", audience), leaves) or field in ("trim_db", "tempo_bpm")


@pytest.mark.parametrize("audience", AUDIENCES)
def test_the_key_that_sounds_follows_the_capo(files: Any, book_of: Callable[[Any], Book], audience: Any) -> None:
    """Tide is in D minor without a capo and starts on Dm: at the third fret the same shape sounds a minor third up."""
    files["show"]["dock"]["tonight"] = {"tide": {"capo": 3}}
    (tide,) = (
        song
        for part in content(book_of(files), "dock", audience)["parts"]
        for song in part["songs"]
        if song["slug"] == "tide"
    )
    assert (tide["key"], tide["first_chord"]) == ("F minor", "Fm (Dm shape)")
    assert "starts on Fm (Dm shape)" in tide["music"]
    assert "key F minor, usually D minor" in tide["tonight"]


def test_the_desk_names_the_song_that_soundcheck_finds_loudest(files: Any, book_of: Callable[[Any], Book]) -> None:
    """Tide was measured 2.8 LU over Ferry; with 3 dB less of its own trim it is the quieter one."""
    files["song"]["tide"]["trim_db"] = -3
    book = book_of(files)
    desk = {song["slug"]: song["mark"] for part in content(book, "dock", "desk")["parts"] for song in part["songs"]}
    measured = {slug for slug in ("tide", "ferry") if desk[slug]}
    loud = {spot.song for spot in spots(book, book.shows["dock"], book.rigs["small"]) if LOUDEST in spot.covers}
    assert measured == {"tide", "ferry"}
    assert (desk["tide"], desk["ferry"]) == ("quietest", "loudest")
    assert "tide" not in loud


@pytest.mark.parametrize("into", ["text", "md", "html"])
def test_the_desk_has_tempo_trims_and_the_time_of_every_cue_in_each_format(
    files: Any, book_of: Callable[[Any], Book], templates: list[Path], into: Any
) -> None:
    files["song"]["tide"].update(trim_db=1.5, tempo_changes=[{"bar": 9, "tempo_bpm": 133}])
    files["venue"]["dock"]["trims"] = {"interface_volume_db": 2, "full_house_db": 1, "targets": {"echo": -5}}
    book = book_of(files)
    text = " ".join(re.sub(r"<[^>]*>|\\", " ", render(book, "dock", "desk", into, templates).decode()).split())
    assert all(words in text for words in ("120", "bar 9: 133", "echo -5 %", "+1 dB more on the interface volume"))
    assert "input gain 0 dB, interface volume 3.5 dB, the song's own trim +1.5 dB" in text.replace("&#x27;", "'")
    for part in content(book, "dock", "desk")["parts"]:
        for cue in (cue for song in part["songs"] for cue in song["cues"]):
            assert cue["place"] in text
            assert cue["name"] in text


def test_the_desk_hears_of_a_full_house_what_the_volume_has_room_for(
    files: Any, book_of: Callable[[Any], Book]
) -> None:
    """By hand: 1 of 3 dB are left below the volume's end, and 2 for the song that is trimmed by -1 dB."""
    files["venue"]["dock"]["trims"] = {"interface_volume_db": -1, "full_house_db": 3}
    files["song"]["tide"]["trim_db"] = -1
    volume = {"stage": "interface output", "range_db": [-60, 0], "nominal_dbfs": -18, "clip_dbfs": 0}
    files["rig"]["small"]["gain"] = [{**volume, "stage": "interface input"}, volume]
    assert content(book_of(files), "dock", "desk")["full_house"] == "+1 dB (+2 dB in Tide Over Everything)"


def test_a_set_without_a_title_has_no_colon_after_what_stands_before_it(
    files: Any, book_of: Callable[[Any], Book], templates: list[Path]
) -> None:
    for part in files["show"]["dock"]["sets"]:
        part.pop("title", None)
    files["show"]["dock"]["sets"] = files["show"]["dock"]["sets"][:1]
    for into in ("text", "md", "html"):
        text = render(book_of(files), "dock", "crew", into, templates).decode()  # type: ignore[arg-type]
        assert "Before each song" in text
        assert not re.search(r"Before each song:\s*(---|<|$)", text, re.MULTILINE)


def test_each_template_of_the_desk_and_the_crew_uses_what_the_others_use(templates: list[Path]) -> None:
    """The pages (typst) can't be read back here, so that their names are looked at."""
    for audience, names in (
        ("desk", ("tempo", "tempo_changes", "trims", "cues", "start_levels", "offsets", "full_house", "tonight")),
        ("crew", ("takes", "too_short", "mains", "lifting", "tonight")),
    ):
        for suffix, sign in ((".txt", r"\$"), (".md", r"\$"), (".html", r"\$"), (".typ", r"[a-z]+\.")):
            source = (templates[0] / "sheets" / f"{audience}{suffix}").read_text(encoding="utf-8")
            for name in names:
                assert re.search(rf"({sign}|%each ){name}\b", source), f"{audience}{suffix} lacks {name}"


def test_the_crew_see_what_changeovers_take_and_which_are_too_short(
    files: Any, book_of: Callable[[Any], Book], templates: list[Path]
) -> None:
    book = book_of(files)
    crew = {song["slug"]: song for part in content(book, "dock", "crew")["parts"] for song in part["songs"]}
    for one in changeovers(book, book.shows["dock"], book.rigs["small"]):
        song = crew[one.after]
        assert (song["needs_s"], song["has_s"]) == (one.needs_s, one.has_s)
        assert bool(song["too_short"]) == (one.short_s > 0)
    # By hand: 10 s for the capo off and 8 s for the one string that is not tuned so, in a segue that leaves none.
    assert crew["lamp"]["takes"] == "takes 18 s, there are 0 s"
    for into in ("text", "md", "html"):
        text = " ".join(render(book, "dock", "crew", into, templates).decode().split())  # type: ignore[arg-type]
        assert "takes 18 s, there are 0 s" in text
        assert "TOO SHORT by 18 s" in text


@pytest.mark.parametrize("into", ["text", "md", "html"])
def test_the_crew_are_warned_of_mains_and_of_lifting(book: Book, templates: list[Path], into: Any) -> None:
    text = " ".join(render(book, "dock", "crew", into, templates).decode().split())
    assert "licensed electrician" in text
    assert "local codes come first" in text
    assert "two people to what is heavy" in text


def test_on_the_pages_a_number_keeps_its_sign_and_its_unit(templates: list[Path]) -> None:
    """The pages (typst) can't be read back here, so that what they hold together is looked at."""
    source = (templates[0] / "sheets" / "look.typ").read_text(encoding="utf-8")
    (together,) = re.findall(r'show regex\("(.*?)"\): box', source)
    text = "fade moves pad level down to -12 dB, up 2.5 %, at 1:30 s"
    assert [found[0] for found in re.finditer(together, text)] == ["-12 dB", "2.5 %", "1:30 s"]
