"""Moving through the show: by foot, by key, by clock."""

from showrunner.state.arrive import bring, come_in, recall, start_clock, step_on, take_up
from showrunner.state.events import Asked
from showrunner.state.receiver import push, recall_program, silence
from showrunner.state.values import Choice, Press, Work

SONG_GUARD_S = 1.0
"""A song change ignores presses for this long (common practice)."""
DEBOUNCE_S = 0.03
"""A contact that opens and closes again within this long has bounced (common practice, no source)."""
CHOICE_LASTS_S = 8.0
"""A choice left untouched this long is cancelled."""
PRESSED = 64
"""From this value on a switch is on (MIDI 1.0, p. 12)."""


def switch(work: Work, name: str, raw: int, before: int | None) -> None:
    """A step or mute switch reads a raw value: on release where it can be held, on the press otherwise."""
    rig = work.script.rig
    latching = rig.controls[name].sends == "latching"
    down, was_down = raw >= PRESSED, before is not None and before >= PRESSED
    pressed = (before is not None and down != was_down) or (before is None and down) if latching else down
    if rig.mute is not None and name == rig.mute.switch:
        if pressed and (latching or not was_down):
            _press_mute(work, name)
        return
    if latching:
        if pressed and name not in work.presses and _accepted(work, name):
            work.presses[name] = Press(work.at_s, held=True, released_s=work.at_s)
            act(work, _role(work, name))
    elif down and not was_down:
        press = work.presses.get(name)
        if press is not None:
            work.presses[name] = press._replace(released_s=None)
        elif _accepted(work, name):
            work.presses[name] = Press(work.at_s)
    elif not down:
        _let_go(work, name)


def _let_go(work: Work, name: str) -> None:
    """A release steps at once, but for one that comes so soon that its contact may have bounced: that waits."""
    press = work.presses.get(name)
    if press is None or press.released_s is not None:
        return
    work.stepped_s = work.at_s
    acts = not press.held and work.at_s >= press.at_s + DEBOUNCE_S
    work.presses[name] = Press(press.at_s, press.held or acts, work.at_s)
    if acts:
        act(work, _role(work, name))


def held(work: Work) -> None:
    """Act on switches held long enough or let go, and drop a choice nobody touches."""
    steps = work.script.rig.steps
    for name, press in list(work.presses.items()):
        if press.released_s is not None:
            if work.at_s >= press.released_s + DEBOUNCE_S:
                del work.presses[name]
                if not press.held:
                    act(work, _role(work, name))
            continue
        if steps is not None and not press.held and work.at_s >= press.at_s + steps.hold_ms / 1000:
            work.presses[name] = press._replace(held=True)
            work.stepped_s = work.at_s
            if work.choice is not None:
                act(work, "take")
            else:
                act(work, "choose" if name == steps.next else "program")
    if work.choice is not None and work.at_s >= work.choice.touched_s + CHOICE_LASTS_S:
        act(work, "cancel")


def ask(work: Work, event: Asked) -> None:
    """A step asked for by other means than a foot; no guard."""
    act(work, event.what)


def act(work: Work, what: str) -> None:
    """Do one step; what can't be done is said and changes nothing."""
    if not work.order and what != "mute":
        work.show("nothing", "the show has no songs")
    elif work.choice is not None and what in ("next", "back"):
        _browse(work, 1 if what == "next" else -1)
    else:
        _ACTS[what](work)


def mute(work: Work, on: bool) -> None:
    """Turn the mute target down, or back to what it should have."""
    if work.muted == on or work.script.rig.mute is None:
        return
    work.muted = on
    work.show("muted" if on else "sounding")
    if on:
        silence(work)
    elif work.script.rig.mute.target in work.script.rig.targets:
        push(work, [work.script.rig.mute.target])


def up(work: Work, place: int, *, order: tuple[str, ...] | None = None, after_s: float = SONG_GUARD_S) -> None:
    """Open the changeover to a song, of a new order if there is one: silence at once, its program and values later.

    They wait as long as a foot can't begin the song, so that a step taken back meanwhile costs no program. The mute
    comes first, while the song that is left is still up.
    """
    songs = work.order if order is None else order
    work.clock, work.guard_s = None, SONG_GUARD_S
    mute(work, True)
    take_up(work, place, work.script.pieces[songs[place]].first, "changeover", order=songs)
    work.brings_s = work.at_s + after_s
    work.show("changeover")
    brought(work)


def brought(work: Work) -> None:
    """Bring the song of a changeover to the receiver once it is time."""
    if work.brings_s is not None and work.at_s >= work.brings_s:
        bring(work)


def _next(work: Work) -> None:
    if work.phase == "over":
        work.show("nothing", "the show is over; hold to choose another song")
    elif work.phase == "changeover":
        _begin(work)
    elif work.moment + 1 < len(work.piece.moments):
        step_on(work)
        work.show("cue", "" if work.now.cue is None else work.now.cue.say or "")
    elif work.place + 1 == len(work.order):
        work.phase, work.clock = "over", None
        mute(work, True)
        work.show("over")
    elif work.script.runs_on(work.order[work.place], work.order[work.place + 1]):
        come_in(work, work.place + 1, work.script.pieces[work.order[work.place + 1]].first, "song")
        work.segued = True
        _begin(work)
    else:
        up(work, work.place + 1)


def _begin(work: Work) -> None:
    if work.brings_s is not None:
        bring(work)
    work.ready = work.phase == "changeover"
    work.phase = "song"
    work.guard_s = SONG_GUARD_S
    mute(work, False)
    start_clock(work)
    work.show("song")


def _back(work: Work) -> None:
    piece, cue = work.piece, work.now.cue
    if work.phase == "song" and cue is not None and cue.open and cue.back_to is not None:
        names = {moment.name: moment.number for moment in piece.moments[1:]}
        recall(work, names.get(cue.back_to, work.moment - 1))
        work.show("cue")
    elif work.phase == "song" and work.moment > piece.first:
        recall(work, work.moment - 1)
        work.show("cue")
    elif work.phase == "over":
        _return(work, work.place)
    elif work.phase == "song" and not work.segued:
        work.phase, work.ready, work.clock = "changeover", False, None
        mute(work, True)
        work.show("changeover")
    elif work.place > 0:
        _return(work, work.place - 1)
    else:
        work.show("nothing", "this is where the show starts")


def _return(work: Work, place: int) -> None:
    """Back into a song at its last moment; its clock starts anew, since nothing knows how far the band is."""
    last = len(work.script.pieces[work.order[place]].moments) - 1
    if place == work.place:
        recall(work, last)
        work.phase, work.segued = "song", False
    else:
        come_in(work, place, last, "song")
    work.guard_s = SONG_GUARD_S
    mute(work, False)
    start_clock(work)
    work.show("cue")


def _choose(work: Work) -> None:
    later = work.order[work.place + 1 :]
    songs = (*later, *(slug for slug in work.script.reserve if slug not in work.order))
    if not songs:
        work.show("nothing", "no other song is left tonight")
        return
    work.choice = Choice(songs, 0, work.at_s)
    work.show("choosing", songs[0])


def _browse(work: Work, by: int) -> None:
    if work.choice is None:
        return
    songs, shown, _ = work.choice
    work.choice = Choice(songs, (shown + by) % len(songs), work.at_s)
    work.show("choosing", songs[work.choice.shown])


def _take(work: Work) -> None:
    if work.choice is None:
        return
    taken = work.choice.songs[work.choice.shown]
    work.choice = None
    played = work.place if work.phase == "changeover" else work.place + 1
    rest = (slug for slug in work.order[played:] if slug != taken)
    work.show("taken", taken)
    up(work, played, order=(*work.order[:played], taken, *rest))


def _cancel(work: Work) -> None:
    if work.choice is not None:
        work.choice = None
        work.show("cancelled")


def _ask_program(work: Work) -> None:
    work.brings_s = None
    recall_program(work, anew=True)
    push(work)


_ACTS = {
    "next": _next,
    "back": _back,
    "choose": _choose,
    "take": _take,
    "cancel": _cancel,
    "mute": lambda work: mute(work, not work.muted),
    "program": _ask_program,
}


def _role(work: Work, name: str) -> str:
    steps = work.script.rig.steps
    return "next" if steps is not None and name == steps.next else "back"


def _guard_s(work: Work) -> float:
    steps = work.script.rig.steps
    return steps.guard_ms / 1000 if steps is not None else 0.0


def _press_mute(work: Work, name: str) -> None:
    before = work.presses.get(name)
    if before is not None and work.at_s < before.at_s + _guard_s(work):
        work.show("too soon")
        return
    work.presses[name] = Press(work.at_s, held=True)
    mute(work, not work.muted)


def _accepted(work: Work, name: str) -> bool:
    """Whether a press counts: back at any time, so that a stray step can be taken back, next outside the guard."""
    guard_s = 0.0 if _role(work, name) == "back" else max(work.guard_s, _guard_s(work))
    if work.stepped_s is not None and work.at_s < work.stepped_s + guard_s:
        work.show("too soon")
        return False
    work.stepped_s, work.guard_s = work.at_s, 0.0
    return True
