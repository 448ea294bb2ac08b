"""Trouble in words: what is wrong now, the worst first, and what to do about it."""

from showrunner.live.picture import Picture
from showrunner.live.seen import Trouble
from showrunner.state.script import Script

PASSING_S = 2.5
"""How long something that has passed already stays on the screen."""


def troubles(script: Script, picture: Picture) -> tuple[Trouble, ...]:
    """Everything that is wrong or was refused just now, the worst first."""
    return (*_lasting(script, picture), *_passing(picture))


def _lasting(script: Script, picture: Picture) -> list[Trouble]:
    state, found = picture.state, []
    if picture.engine == "not answering":
        words = "pedals may still sound; if this stays, q and then play takes the show up again"
        found.append(Trouble(("PLAYER NOT ANSWERING",), words))
    if picture.engine == "ended":
        found.append(Trouble(("SHOW ENDED",), "the show was ended; nothing plays any more"))
    for name in sorted(picture.troubles.keys() - state.lost):
        is_port = name in script.rig.ports
        big = (f"PORT {name.upper()} CLOSED", f"{name.upper()} CLOSED") if is_port else (f"{name.upper()} TROUBLE",)
        big = ("CHECK THE PLACE",) if name == "place" else big
        grave = name not in ("log", "saving", "take", "lock")
        found.append(Trouble(big, f"{name}: {picture.troubles[name]}", grave=grave))
    found += [_lost(script, picture, port) for port in sorted(state.lost)]
    for port in picture.loops:
        words = f"what is sent to {port} comes back at once: that path is stopped; look for a second route in the host"
        found.append(Trouble((f"LOOP ON {port.upper()}",), words))
    for control in sorted(state.withheld):
        words = f"{control} is not passed on for a moment, so that an ear can tell whether the host hears it itself"
        found.append(Trouble((f"{control.upper()} HELD BACK",), words, grave=False))
    silent = sorted(name for name, answer in picture.answers.items() if answer == "no answer")
    for port in (name for name in silent if name not in state.lost):  # without its input no answer is heard
        words = f"{port} was sent to and does not answer; the host may have stopped"
        found.append(Trouble((f"{port.upper()} SILENT",), words))
    for port in sorted(state.owed):
        words = f"{port} came back without its program: hold back to send it; tails will be cut"
        found.append(Trouble(("PROGRAM OWED",), words))
    if state.muted and state.phase == "song":
        found.append(Trouble(("MUTED",), "the output is muted while the song plays; press m or the mute switch"))
    return found


def _lost(script: Script, picture: Picture, port: str) -> Trouble:
    """A port that is gone, or the side of it that is."""
    sides = [side for side in script.rig.ports[port].sides if (port, side) in picture.state.missing]
    heard = "input" in sides and any(control.port == port for control in script.rig.controls.values())
    parts = ("its pedals stand still as they were",) if heard else ()
    what = " and ".join((*parts, *(("nothing reaches it",) if "output" in sides else ())))
    mend = picture.troubles.get(port, "check the cable")
    words = f"{what}; {mend}" if what else mend
    if len(sides) == len(script.rig.ports[port].sides):
        return Trouble((f"PORT {port.upper()} LOST", f"{port.upper()} LOST"), f"{port} is gone: {words}")
    big = f"{port} {sides[0]} missing".upper()
    return Trouble((f"PORT {big}", big), f"{port}: {sides[0]} missing: {words}")


def _passing(picture: Picture) -> list[Trouble]:
    recent = [notice for at_s, notice in picture.notices if picture.at_s - at_s < PASSING_S]
    found = []
    if picture.engine == "restarted":
        found.append(Trouble(("PLAYER RESTARTED",), "pedals play again; no program was sent", grave=False))
    for notice in reversed(recent):
        if notice.kind == "too soon":
            found.append(Trouble(("TOO SOON",), "the press came too soon after the last and was ignored", grave=False))
        elif notice.kind == "nothing":
            found.append(Trouble((notice.say.split(";")[0].upper(), "NOT DONE"), notice.say, grave=False))
        elif notice.kind == "port found":
            found.append(Trouble((f"{notice.say.upper()} IS BACK",), f"{notice.say} is back", grave=False))
        elif notice.kind == "cancelled":
            found.append(Trouble(("NOT CHANGED",), "choosing was left; the order stays as it was", grave=False))
        else:
            continue
        break
    return found
