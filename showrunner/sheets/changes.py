"""What has to be changed on arriving at a song: guitar, tuning, capo, what the hands set, where controls should be."""

from showrunner.sheets.order import Entry
from showrunner.sheets.words import capo_at
from showrunner.state.moments import Piece, rest_by_hand


def tuning_of(piece: Piece) -> str:
    """The tuning a song is played in: its own, else its guitar's rest tuning."""
    guitar = piece.rig.instruments.get(piece.song.instrument or "")
    return piece.song.tuning or (guitar.home_tuning if guitar is not None else "")


def guitar_changes(entry: Entry) -> tuple[str, ...]:
    """What becomes of guitar, tuning and capo between the song before and this one."""
    if entry.piece is None:
        return ()
    song, tuning, before = entry.piece.song, tuning_of(entry.piece), entry.before
    swap = before is not None and song.instrument is not None and before.song.instrument != song.instrument
    guitar = entry.piece.rig.instruments.get(song.instrument or "")
    if before is not None and not swap:
        tuned, capo = tuning_of(before), before.song.capo
    else:
        tuned, capo = guitar.home_tuning if guitar is not None else tuning, 0
    return tuple(
        part
        for part in (
            f"change to {song.instrument}" if swap else "",
            f"tune to {tuning}" if tuning and tuning != tuned else "",
            (capo_at(song.capo) or "capo off") if song.capo != capo else "",
        )
        if part
    )


def hands_at_start(entry: Entry) -> dict[str, str]:
    """What the hands set on arriving at a song, from where the song before left it, else from the rig's rest."""
    piece = entry.piece
    if piece is None:
        return {}
    before = entry.before.moments[-1].by_hand if entry.before is not None else rest_by_hand(piece.rig)
    return {name: to for name, to in piece.moments[piece.first].by_hand.items() if before.get(name) != to}


def pedals_at_start(entry: Entry) -> dict[str, float]:
    """Where controls should be at the first note: those the song names, and those the song before left elsewhere."""
    piece = entry.piece
    if piece is None:
        return {}
    moment = piece.moments[piece.first]
    named = {**piece.song.start.controls, **(moment.cue.controls if moment.cue is not None else {})}
    left = entry.before.moments[-1].controls if entry.before is not None else {}
    return {
        name: travel for name, travel in moment.controls.items() if name in named or left.get(name, travel) != travel
    }
