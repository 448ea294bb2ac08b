"""`play --plain`: the running show as lines, for a screen reader, a pipe or no terminal at all."""

from collections.abc import Iterator

from showrunner.live.picture import Client, Picture
from showrunner.live.wording import hands_do
from showrunner.model.units import format_length
from showrunner.state.events import Notice

WORDS = {
    "changeover": "changeover to {song}",
    "song": "{song} begins",
    "cue": "{cue}",
    "over": "the show is over",
    "too soon": "too soon, ignored",
    "choosing": "choosing: {say}",
    "taken": "taken: {say}",
    "cancelled": "choice cancelled",
    "muted": "muted",
    "sounding": "sounding",
    "port lost": "PORT LOST: {say}",
    "port found": "port back: {say}",
    "program": "program {say} sent",
    "program owed": "the program is owed on {say}: hold back to send it",
    "nothing": "{say}",
    "restarted": "the engine was started again",
    "trimmed": "trim: {say}",
    "withheld": "nothing is passed on from {say} for a moment",
    "passed on": "{say} is passed on again",
    "loop": "LOOP: what was sent came back on {say}; that path is stopped",
}
"""What is said of each kind of notice."""


def said(client: Client, notice: Notice) -> str:
    """A notice in words."""
    titles = {slug: piece.song.title for slug, piece in client.script.pieces.items()}
    song = titles.get(notice.song or "", notice.song or "")
    say = titles.get(notice.say, notice.say)
    if notice.kind == "program" and notice.song is not None and notice.song in client.script.pieces:
        program = client.script.pieces[notice.song].song.program
        port = client.script.rig.ports.get(program.port) if program is not None else None
        say = str(int(notice.say) + (port.programs_count_from if port is not None else 0))
    return WORDS[notice.kind].format(song=song, cue=notice.cue or "", say=say)


def hands(client: Client, picture: Picture) -> Iterator[str]:
    """What the hands have to do now, a line each."""
    state = picture.state
    if not state.order:
        return
    piece = client.script.pieces[state.order[state.place]]
    moment = piece.moments[state.moment]
    if not state.ready:
        yield from hands_do(piece, state)
    if moment.cue is not None and moment.cue.say:
        yield moment.cue.say
    after = piece.moments[state.moment + 1] if state.moment + 1 < len(piece.moments) else None
    if state.phase == "song":
        yield f"next: {after.name}" if after is not None else "next: the end of the song"


def lines(client: Client, picture: Picture, since_s: float) -> Iterator[tuple[float, str]]:
    """What was said after a time, each with its own time, and after each step what the hands have to do."""
    for at_s, notice in picture.notices:
        if at_s > since_s:
            stamp = format_length(int(at_s - picture.began_s)) if picture.began_s is not None else ""
            yield at_s, f"{stamp:>7}  {said(client, notice)}"
            if notice.kind in ("changeover", "song", "cue") and notice is picture.notices[-1][1]:
                yield from ((at_s, f"{'':>7}    {line}") for line in hands(client, picture))
