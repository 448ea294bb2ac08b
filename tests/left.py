"""A run that broke off: its folder as it is left where the machine went off, or all of it was killed."""

import datetime
import time
from pathlib import Path
from typing import Any

from showrunner.live.folder import RUN, STATE, write_json
from showrunner.live.freeze import to_json
from showrunner.live.night import Night, night_of, write_night
from showrunner.live.saved import VERSION
from showrunner.live.uptime import boot, uptime_s
from showrunner.model.library import Book
from showrunner.model.rig import Rig
from showrunner.model.show import Show
from showrunner.model.song import Song
from showrunner.state.values import State

AT_S = 1000.0
NAME = "0123456789abcdef"


def leave(
    folder: Path, night: Night, state: State, *, ago_s: float = 60.0, wall_s: float | None = None, **saved: Any
) -> None:
    """Leave a run that had been played for 1000 s, `ago_s` ago; `wall_s` ago by the time of day, if that differs.

    `saved` changes what was saved.
    """
    write_night(night, folder)
    of = saved.pop("boot", boot())
    write_json(folder / RUN, {"version": 1, "name": NAME, "boot": of, "zero_s": uptime_s() - AT_S - ago_s})
    unix_s = time.time() - (ago_s if wall_s is None else wall_s)
    kept = {"state": to_json(state), "at_s": AT_S, "unix_s": unix_s, "began_s": None, "began_unix_s": None}
    write_json(folder / STATE, {"version": VERSION, **kept, "done": [], "boot": of, **saved})


def night(*, rig: str = "big", date: str | None = None, bpm: int = 100, **how: bool) -> Night:
    """The night of a show of two songs, Eel and Tin."""
    rigs = {slug: Rig.model_validate({"format": 1, "title": f"{slug.title()} rig"}) for slug in ("big", "small")}
    songs = {
        slug: Song.model_validate(
            {"format": 1, "title": slug.title(), "duration": "3:20", "tempo_bpm": bpm, "meter": "4/4"}
        )
        for slug in ("eel", "tin")
    }
    show: dict[str, Any] = {"format": 1, "title": "Friday", "sets": [{"songs": [{"song": "eel"}, {"song": "tin"}]}]}
    shows = {"friday": Show.model_validate(show | ({"date": datetime.date.fromisoformat(date)} if date else {}))}
    return night_of(Book(rigs=rigs, shows=shows, songs=songs), "friday", rig, **how)
