"""What the playing screen shows of a picture, as words: a pure function, so that it can be told without a screen."""

from collections.abc import Mapping, Set
from math import isclose

from showrunner.curves.laws import ends_of, to_value
from showrunner.curves.ruler import Span, spans
from showrunner.curves.tables import CurveTable
from showrunner.live.counting import counting
from showrunner.live.nightclock import clock, minutes_of
from showrunner.live.picture import Picture
from showrunner.live.seen import SIMULATED, Arrival, Count, Row, Sight, Standing, Trouble, Wordings
from showrunner.live.trouble import troubles
from showrunner.live.wording import (
    counted,
    goes_by_itself,
    hands_do,
    lateness,
    move_to,
    starts_with,
    take_guitar,
)
from showrunner.model.tempo import stretch_at
from showrunner.model.units import Meter, format_clock, format_length, format_over
from showrunner.planning.underway import Ahead, Plan
from showrunner.state.hands import Hands, left
from showrunner.state.moments import Piece
from showrunner.state.script import Script
from showrunner.state.steps import CHOICE_LASTS_S
from showrunner.state.values import State

JUST_BEFORE_S = 0.001
FOUND_WITHIN_PCT = 10.0
"""A pedal within this of its place is there; common practice, no source."""


def sight(script: Script, picture: Picture, plan: Plan | None, arrived: Set[Arrival] = frozenset()) -> Sight:
    """What to show of a picture; `arrived` are pedals that have been where their moment wants them."""
    state, ahead, late = picture.state, None, None
    if plan is not None:
        now_min = minutes_of(plan.date, picture.unix_s)
        began_min = None if picture.began_unix_s is None else minutes_of(plan.date, picture.began_unix_s)
        ahead = plan.ahead_of(state, picture.at_s, picture.began_s, now_min, began_min)
        if now_min is not None:
            ahead = ahead._replace(finish=clock(plan.date, ahead.finish))
        late = ahead.late_s if picture.began_s is not None else None
    trouble = (*troubles(script, picture), *(_too_long(script, state, ahead) if late is not None else ()))
    status = _status(
        script, picture, plan, ahead, late is not None and plan is not None and plan.time.starts is not None
    )
    if not state.order:
        return Sight("empty", ("NO SONGS",), "the show has no songs", (), ("",), ("",), status, (), trouble)
    if state.choice is not None:
        return _choosing(script, picture, status, trouble)
    if state.phase == "over":
        sounds = (state.sound.upper(),)
        aside = lateness(late)
        return Sight(
            "over", ("THE END",), "the show is over", (), ("HOLD: CHOOSE",), aside, status, (), trouble, beside=sounds
        )
    piece = script.piece(state.order[state.place], state.trims)
    standing = tuple(_standing(script, state, piece, arrived))
    if state.phase == "song":
        label = f"now · {piece.song.title}" + (" · open: the clock waits" if _open(piece, state) else "")
        count = counting(piece, state, picture.at_s)
        elapsed_s = state.clock.elapsed_s(picture.at_s) if state.clock is not None else 0.0
        head, beside, titled = song_head(piece, state.moment, elapsed_s, count)
        do, after, aside = _song_do(script, state, piece, plan, arrived), _after(script, state), lateness(late)
        return Sight("song", head, label, do, after, aside, status, standing, trouble, count, beside, titled)
    label = f"next · {piece.song.title} · {_moment_name(piece, state.moment)}"
    trouble = (*trouble, *_weak(piece, plan))
    do = _large(*_turned(script, state, piece, plan), *hands_do(piece, state), *_feet(piece, state, arrived))
    head, after, beside = _titles(piece), starts_with(piece.song), (state.sound.upper(),)
    return Sight(
        "changeover", head, label, do, after, lateness(late), status, standing, trouble, beside=beside, titled=True
    )


def song_head(piece: Piece, number: int, elapsed_s: float, count: Count | None) -> tuple[Wordings, Wordings, bool]:
    """What stands largest in a song, what stands beside it, and whether the first is its title, as until a cue.

    The meter is always there, and so are title and beat while it is counted in.
    """
    meter, titles = str(_meter(piece, number, elapsed_s)), _titles(piece)
    if count is not None:
        return titles, tuple(f"{words}  {meter}" for words in counted(count.bars_left, count.beat)), True
    if number == 0:
        return titles, (meter,), True
    return (piece.moments[number].name.upper(),), tuple(f"{title}  {meter}" for title in titles), False


def _meter(piece: Piece, number: int, elapsed_s: float) -> Meter:
    """The meter in force at a moment, so many seconds into its song but before the next moment's place."""
    moments = piece.moments[number : number + 2]
    places = [moment.at_s if moment.cue is not None else None for moment in moments]
    here, after = places[0], places[1] if len(places) > 1 else None
    began_s = here or 0.0
    at_s = max(began_s, elapsed_s)
    if after is not None and at_s >= after:
        at_s = max(began_s, after - JUST_BEFORE_S)
    stretch = stretch_at(piece.song, at_s)
    return stretch.meter if stretch is not None else piece.song.meter


def arrivals(script: Script, state: State) -> set[Arrival]:
    """Controls that stand now where the moment wants them."""
    if not state.order:
        return set()
    piece = script.piece(state.order[state.place], state.trims)
    return {
        (piece.slug, state.moment, name)
        for name, wanted in _wanted(piece, state.moment).items()
        if name in state.travels and abs(state.travels[name] - wanted) <= FOUND_WITHIN_PCT
    }


def _wanted(piece: Piece, number: int) -> Mapping[str, float]:
    """Where the moment itself wants controls; at the first one of a song everything its curves use.

    What goes there by itself needs nobody.
    """
    moment, controls = piece.moments[number], piece.rig.controls
    wanted = moment.cue.controls if moment.cue is not None else {}
    if number == piece.first:
        used = set(piece.song.curves.get(moment.curves or "", {})) | piece.song.start.controls.keys()
        wanted = {name: travel for name, travel in moment.controls.items() if name in used}
    return {name: to for name, to in wanted.items() if name not in controls or not goes_by_itself(controls[name], to)}


def _still_wanted(piece: Piece, state: State, arrived: Set[Arrival]) -> dict[str, float]:
    wanted = _wanted(piece, state.moment)
    return {name: to for name, to in wanted.items() if (piece.slug, state.moment, name) not in arrived}


def _feet(piece: Piece, state: State, arrived: Set[Arrival]) -> list[str]:
    controls, wanted = piece.rig.controls, _still_wanted(piece, state, arrived)
    return [move_to(name, controls[name], to) for name, to in wanted.items() if name in controls]


def _song_do(script: Script, state: State, piece: Piece, plan: Plan | None, arrived: Set[Arrival]) -> tuple[str, ...]:
    cue = piece.moments[state.moment].cue
    hands = [] if state.ready else [*_turned(script, state, piece, plan), *hands_do(piece, state)]
    if cue is not None and cue.say is not None:
        hands.append(cue.say)
    elif cue is not None and cue.stop is not None:
        hands.append(f"damp {cue.stop.by}")
    return _large(*hands, *_feet(piece, state, arrived))


def _large(*said: str) -> tuple[str, ...]:
    """What is said, as it stands in big letters."""
    return tuple(each.upper() for each in said)


def _turned(script: Script, state: State, piece: Piece, plan: Plan | None) -> tuple[str, ...]:
    """Levels that hands have to turn: those that no target sets and that are not as they were left."""
    if plan is None:
        return ()
    wanted = script.by_hand_levels(piece.slug, state.trims)
    return tuple(f"{name} {to:g} dB" for name, to in wanted.items() if state.hands.levels.get(name) != to)


def _weak(piece: Piece, plan: Plan | None) -> tuple[Trouble, ...]:
    """Batteries of the guitar that comes next which won't last, said while one can still be changed."""
    if plan is None:
        return ()
    mine = piece.song.instrument
    return tuple(
        Trouble(
            (f"BATTERY {life.battery.upper()}",),
            f"{life.battery} won't last: {life.hours_left:.1f} h left, {life.hours_needed:.1f} h wanted with its "
            f"margin; {'fit a fresh one' if life.fresh_is_enough else 'too small: take two'}",
            grave=False,
        )
        for life in plan.weak
        if not life.guitars or mine in life.guitars
    )


def _choosing(script: Script, picture: Picture, status: str, trouble: tuple[Trouble, ...]) -> Sight:
    choice = picture.state.choice
    assert choice is not None
    piece = script.pieces[choice.songs[choice.shown]]
    left_s = max(0.0, choice.touched_s + CHOICE_LASTS_S - picture.at_s)
    kind = "reserve" if piece.slug in script.reserve and piece.slug not in picture.state.order else "in the set"
    label = f"choosing {choice.shown + 1} of {len(choice.songs)} · {kind} · nothing is sent yet"
    head = tuple(f"? {title}" for title in _titles(piece))
    do = _large("hold to take song", *take_guitar(piece, _hands_left(script, picture.state)))
    after, beside = ("NEXT, BACK: OTHERS", "NEXT / BACK"), (str(piece.song.meter),)
    return Sight(
        "choosing", head, label, do, after, (f"{left_s:.0f} S",), status, (), trouble, beside=beside, titled=True
    )


def _hands_left(script: Script, state: State) -> Hands:
    """The hands as the song at hand leaves them."""
    piece = script.piece(state.order[state.place], state.trims)
    levels = script.by_hand_levels(piece.slug, state.trims)
    return left(state.hands, piece, state.moment, levels, changeover=state.phase == "changeover")


def _titles(piece: Piece) -> Wordings:
    return tuple(dict.fromkeys((piece.song.title.upper(), piece.song.short_title)))


def _moment_name(piece: Piece, number: int) -> str:
    return piece.moments[number].name if number or not piece.song.cues else "start"


def _open(piece: Piece, state: State) -> bool:
    cue = piece.moments[state.moment].cue
    return cue is not None and cue.open


def _after(script: Script, state: State) -> Wordings:
    """What the next press brings: a cue, the next song, or the end."""
    piece = script.piece(state.order[state.place], state.trims)
    if state.moment + 1 < len(piece.moments):
        return (f"→ {piece.moments[state.moment + 1].name.upper()}",)
    if state.place + 1 == len(state.order):
        return ("→ THE END", "→ END")
    following = state.order[state.place + 1]
    titles = _titles(script.pieces[following])
    sign = "→→" if script.runs_on(piece.slug, following) else "→"
    return tuple(f"{sign} {title}" for title in titles)


def _standing(script: Script, state: State, piece: Piece, arrived: Set[Arrival]) -> list[Standing]:
    moment, found = piece.moments[state.moment], []
    wanted = _still_wanted(piece, state, arrived)
    for control, curve in piece.song.curves.get(moment.curves or "", {}).items():
        table = script.table(piece.slug, moment.curves, control, state.trims)
        if table is None:
            continue
        travel = state.travels.get(control)
        values = table.value(travel) if travel is not None else None
        moves = [
            spans(curve, name, piece.added.get(name, 0.0), ends_of(script.rig.targets[name])) for name in table.targets
        ]
        rows = tuple(
            _row(script, state, name, moves[index], values[index] if values is not None else None)
            for index, name in enumerate(table.targets)
        )
        assumed = _assumed(state, control, table, moment.controls.get(control)) if travel is None else None
        found.append(Standing(control, travel, wanted.get(control), curve.travel, rows, assumed))
    return found


def _assumed(state: State, control: str, table: CurveTable, travel: float | None) -> float | None:
    """Where a control that was not heard is taken to stand: where the moment wants it, if its targets are there."""
    if travel is None:
        return None
    aims = {name: state.aims.get(name) for name in table.targets}
    there = [
        aim is not None
        and aim.how == "fixed"
        and aim.control == control
        and isclose(aim.value, table.asked(name, travel))
        for name, aim in aims.items()
    ]
    return travel if any(there) else None


def _row(script: Script, state: State, name: str, moves: tuple[Span, ...], of_curve: float | None) -> Row:
    target, number, aim = script.rig.targets[name], state.known.get(name), state.aims.get(name)
    has = to_value(target, number) if number is not None else None
    follows = aim is not None and aim.how == "follows"
    value = of_curve if follows and number is not None else has
    return Row(name, moves, value, target.unit, number, None if follows else of_curve)


def _too_long(script: Script, state: State, ahead: Ahead | None) -> tuple[Trouble, ...]:
    """What to leave out of a show that is over its time; said between songs, where it can be left out."""
    if ahead is None or ahead.over_s is None or ahead.over_s <= 0 or state.phase != "changeover" or not ahead.drop:
        return ()
    first = script.pieces[ahead.drop[0]].song
    more = f" +{len(ahead.drop) - 1}" if len(ahead.drop) > 1 else ""
    names = " and ".join(script.pieces[song].song.title for song in ahead.drop)
    words = f"the show will end {format_over(ahead.over_s)} over its time: leave out {names}"
    big = (f"DROP {first.title.upper()}{more}", f"DROP {first.short_title}{more}")
    return (Trouble(tuple(dict.fromkeys(big)), words, grave=False),)


def _status(script: Script, picture: Picture, plan: Plan | None, ahead: Ahead | None, by_clock: bool) -> str:
    """One line for a near look: where in the show and the song, its trims, when it ends, what was answered.

    The song's title only where it does not stand in large letters, so that the end of the show has room at 80 columns.
    """
    state, parts = picture.state, [SIMULATED] if picture.simulated else []
    if state.order:
        piece = script.piece(state.order[state.place], state.trims)
        shown_large = state.phase != "over" and state.choice is None
        parts.append(f"{state.place + 1}/{len(state.order)}" + ("" if shown_large else f" {piece.song.title}"))
        if state.phase == "song":
            parts.append(f"cue {state.moment}/{len(piece.moments) - 1}")
        if state.clock is not None:
            parts.append(
                f"{format_length(state.clock.elapsed_s(picture.at_s))} of {format_length(piece.song.duration)}"
            )
        if state.phase == "changeover" and plan is not None:
            trims, full = script.levels(piece.slug, state.trims), ", full house" if script.room.full_house else ""
            parts.append(f"gain {trims.input_gain.set_db:g} dB, volume {trims.interface_volume.set_db:g} dB{full}")
    if ahead is not None:
        parts.append(f"{format_length(ahead.remaining_s)} to go")
        if by_clock:
            parts.append(f"ends {format_clock(ahead.finish)}")
        if ahead.over_s is not None and ahead.over_s > 0:
            names = " and ".join(script.pieces[song].song.title for song in ahead.drop)
            parts.append(f"{format_over(ahead.over_s)} over" + (f": drop {names}" if names else ""))
    parts += [f"{port} {answer}" for port, answer in sorted(picture.answers.items())]
    return " · ".join(parts)
