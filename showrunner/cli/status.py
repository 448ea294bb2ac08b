"""`play --status`: where a running show stands, in lines and as JSON."""

import time
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from showrunner.cli.common import Call
from showrunner.cli.output import print_json, print_lines
from showrunner.live.seen import SIMULATED

if TYPE_CHECKING:
    from showrunner.live.link import RemoteShow
    from showrunner.live.picture import Picture
    from showrunner.state.moments import Piece

TRIES_AGAIN_S = 0.02
ANSWERS_WITHIN_S = 4.0
"""How long a show is waited for whose link is being made again."""


def tell_status(call: Call, slug: str, folder: Path) -> int:
    """Say where a show stands; 1 if it is not running. Where nothing answers its processes are named."""
    from showrunner.live.link import running

    client = _answering(folder)
    if client is None and not running(folder):
        print_json({"show": slug, "running": False}) if call.json else click.echo(f"{slug} is not running")
        return 1
    if client is None:
        return _silent(call, slug, folder)
    picture = client.picture()
    client.close()
    piece = client.script.pieces[picture.state.song] if picture.state.song is not None else None
    how: dict[str, Any] = {"simulated": client.simulated, "full_house": client.night.full_house}
    levels = client.script.levels(piece.slug, picture.state.trims) if piece is not None else None
    how["input_gain_db"] = None if levels is None else levels.input_gain.set_db
    how["interface_volume_db"] = None if levels is None else levels.interface_volume.set_db
    data = _running(slug, picture, piece, how)
    if call.json:
        print_json(data)
    else:
        print_lines(_running_lines(data, picture, piece))
    return 0


def _answering(folder: Path) -> "RemoteShow | None":
    """A way to the running show; None if it is not running, or does not answer in time."""
    from showrunner.live.link import LinkError, RemoteShow, running

    until_s = time.perf_counter() + ANSWERS_WITHIN_S
    while True:
        try:
            return RemoteShow(folder)
        except LinkError:
            if not running(folder) or time.perf_counter() > until_s:
                return None
        time.sleep(TRIES_AGAIN_S)


def _silent(call: Call, slug: str, folder: Path) -> int:
    """Say that a show runs of which nothing more is heard: its link is being made again, or it hangs."""
    from showrunner.live.holding import of_run

    parts = [{"part": one.part, "pid": one.pid} for one in of_run(folder)]
    if call.json:
        print_json({"show": slug, "running": True, "engine": "not answering", "processes": parts})
    else:
        named = ", ".join(f"{one['part']} {one['pid']}" for one in parts)
        click.echo(f"{slug} is running (not answering); processes: {named}")
    return 0


def _running(slug: str, picture: "Picture", piece: "Piece | None", how: dict[str, Any]) -> dict[str, Any]:
    state = picture.state
    return {
        "show": slug,
        "running": True,
        "engine": picture.engine,
        "realtime": picture.realtime,
        **how,
        "phase": state.phase,
        "song": state.song,
        "cue": piece.moments[state.moment].name if piece is not None else None,
        "song_elapsed_s": state.clock.elapsed_s(picture.at_s) if state.clock is not None else None,
        "show_elapsed_s": picture.at_s - picture.began_s if picture.began_s is not None else None,
        "muted": state.muted,
        "trims": dict(state.trims),
        "withheld": sorted(state.withheld),
        "order": state.order,
        "travels": state.travels,
        "ports": picture.plugged,
        "lost": sorted(state.lost),
        "missing": {port: sorted(side for of, side in state.missing if of == port) for port in sorted(state.lost)},
        "owed": sorted(state.owed),
        "answers": picture.answers,
        "loops": picture.loops,
        "troubles": picture.troubles,
    }


def _running_lines(data: dict[str, Any], picture: "Picture", piece: "Piece | None") -> Iterator[str]:
    phase = data["phase"]
    where = "over" if phase == "over" else f"{phase}: {piece.song.title if piece is not None else '-'}"
    how = f" {SIMULATED}" if data["simulated"] else ""
    cue = f", {data['cue']}" if piece is not None else ""
    yield f"{data['show']} is running{how} ({picture.engine}); {where}{cue}; {picture.state.sound}"
    if piece is not None:
        full = ", full house" if data["full_house"] else ""
        yield f"gain {data['input_gain_db']:g} dB, volume {data['interface_volume_db']:g} dB{full}"
    for what, names in (("lost", data["lost"]), ("program owed", data["owed"]), ("looping", data["loops"])):
        if names:
            yield f"{what}: {', '.join(names)}"
    for port, why in picture.troubles.items():
        yield f"{port}: {why}"
    if not picture.realtime:
        yield "the system gave no real-time priority"
