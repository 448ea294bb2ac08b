"""What the rig screen says, as lines of text: its ports, its controls on the ruler, its targets, what it lacks."""

from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple

from textual.content import Content

from showrunner.book.read import Reading
from showrunner.curves.calibrate import Calibration
from showrunner.curves.ruler import scale
from showrunner.live.seen import Wordings
from showrunner.model.cautions import TRYING_VALUES
from showrunner.model.cells import fit
from showrunner.model.library import Book
from showrunner.model.rig import Control, Port, Rig, Target
from showrunner.planning.rig_differences import PartDifferences, differences, touched
from showrunner.tui.asking import LAW, Asking
from showrunner.tui.at_hand import still
from showrunner.tui.plugged import Seen
from showrunner.tui.unread import unread_of

NAME_CELLS = 16
STATE_CELLS = 20
HERE, LIT, HEARD = "▸", "●", "·"
MOST_NAMED = 4


class Line(NamedTuple):
    """A line of a list: its text, whether it is the one at hand, and whether it was heard just now."""

    text: str
    here: bool
    lit: bool = False


def port_lines(rig: Rig, seen: Seen) -> Iterator[str]:
    """Each side of each of the rig's ports with what it is on this system, then what else is there."""
    for name, port in rig.ports.items():
        for side, pattern in _sides(port):
            key = f"{name}.{side}"
            there = seen.names.get(name, {}).get(side)
            way = "in " if side == "input" else "out"
            told = there if there is not None else f'missing: nothing fits "{pattern}"'
            if there is None and name in seen.troubles:
                told = f"there, but: {seen.troubles[name]}"
            several = f"; {len(seen.several[key])} fit, write more of the name" if key in seen.several else ""
            yield f"{HEARD if there is None else LIT} {fit(name, 10)} {way}  {told}{several}"
    if seen.others:
        yield f"  also there: {', '.join(seen.others)}"


def there(rig: Rig, seen: Seen) -> tuple[int, int]:
    """How many sides of the rig's ports are there, and how many it wants."""
    wanted = sum(len(list(_sides(port))) for port in rig.ports.values())
    return sum(len(sides) for sides in seen.names.values()), wanted


def control_lines(rig: Rig, seen: Seen, at: int, width: int, height: int) -> list[Line]:
    """The controls on the ruler from heel to toe, those around `at`."""
    names = list(rig.controls)
    shown = _window(names, at, height)
    return [_control(name, rig.controls[name], seen, name == names[at], width) for name in shown]


def target_lines(rig: Rig, seen: Seen, at: int, width: int, height: int) -> list[Line]:
    """The targets with their range and what was sent to them, those around `at`; -1 for none at hand."""
    names = list(rig.targets)
    shown = _window(names, at, height)
    return [_target(name, rig.targets[name], seen, at >= 0 and name == names[at], width) for name in shown]


def plugged_words(rig: Rig, seen: Seen, *, pretended: bool) -> str:
    """How much of the rig is plugged in, and what came in that is no control's."""
    if pretended:
        return f"{rig.title} · without hardware: keys move its controls, nothing is sent out"
    if not seen.ready:
        return f"{rig.title} · no MIDI answers on this system; w goes on without hardware"
    found, wanted = there(rig, seen)
    stray = f" · no control's: {seen.stray}" if seen.stray else ""
    return f"{rig.title} · {found} of {wanted} ports there{stray}"


def about(name: str, of: str, rig: Rig, seen: Seen) -> list[str]:
    """What a control or a target of the rig is, and what became of the value it was sent."""
    if of == "controls":
        return [about_control(name, rig.controls[name])]
    said = [f"{name}: {seen.said[name]}"] if name in seen.said else []
    return [about_target(name, rig.targets[name]), *said, TRYING_VALUES]


def about_control(name: str, control: Control) -> str:
    """Where a control is heard, or how it is set."""
    what = control.kind + (f" under the {control.limb}" if control.limb is not None else "")
    if control.by_hand:
        states = f": {', '.join(control.positions)}" if control.positions else ""
        return f"{name}: {what}, set by hand{states}"
    wire = f"port {control.port}, channel {control.channel}, controller {control.cc}"
    wire += f" and {(control.cc or 0) + 32}, 14 bits" if control.bits == 14 else ""
    if control.calibration:
        low, high = control.calibration[0][0], control.calibration[-1][0]
        return f"{name}: {what}; {wire}; calibrated, raw {low:g} to {high:g} of {control.top}"
    reach = "" if control.kind in ("switch", "selector") else "; not calibrated, so the whole range counts"
    return f"{name}: {what}; {wire}{reach}"


def in_large(name: str, rig: Rig, seen: Seen) -> Wordings | None:
    """A control that was heard, in few words for a far look; None if it is not known any more."""
    control, raw = rig.controls.get(name), seen.raws.get(name)
    if control is None or raw is None:
        return None
    if control.kind == "switch":
        state = "DOWN" if raw > control.top // 2 else "UP"
    else:
        state = f"{seen.travels.get(name, 0.0):.0f} %"
    return (f"{name.upper()}  {state}",)


def about_target(name: str, target: Target) -> str:
    """Where a target is sent, and by which law."""
    wire = f"port {target.port}, channel {target.channel}, controller {target.cc}"
    wire += f" and {target.cc + 32}, 14 bits" if target.bits == 14 else ""
    louder = "; a step in it is a step in loudness: start low" if target.level else ""
    low, high = target.range
    return f"{name}: {low:g} to {high:g} {target.unit}, {target.law}; {wire}{louder}"


def still_at(was: Rig | None, now: Rig | None, at: dict[str, int]) -> dict[str, int]:
    """Where the entries at hand of both lists are once the rig was read anew."""
    if was is None or now is None:
        return at
    return {of: still(names_of(was)[of], names_of(now)[of], row) for of, row in at.items()}


def no_rig(reading: Reading, slug: str | None) -> list[str]:
    """What is said where there is no rig to show: all that is wrong in its file, else what to do."""
    wrong = unread_of(reading, "rig", slug)
    return wrong.lines() if wrong is not None else [_to_do(reading, slug)]


def _to_do(reading: Reading, slug: str | None) -> str:
    if not reading.slugs("rig"):
        return "this book has no rig yet; the command showrunner new rig NAME makes one"
    return "choose a rig with o" if slug is None else f"the rig {slug} is not there; o goes to another"


def beside_usual(book: Book, slug: str | None, rig: Rig) -> list[str]:
    """What a rig lacks beside the book's usual one; nothing about that one itself."""
    usual = book.rig_of()
    if usual is None or usual == slug or usual not in book.rigs:
        return []
    return [lacking(book.rigs[usual].title, differences(book, book.rigs[usual], rig))]


def lacking(usual: str, parts: Sequence[PartDifferences]) -> str:
    """What a rig lacks beside the usual one, and how many songs that touches."""
    lacks = [f"{part.part}: {_named([one.name for one in part.lacks])}" for part in parts if part.lacks]
    songs = touched([part._replace(otherwise=()) for part in parts])
    if not lacks:
        return f"it has all that {usual} has"
    count = f"{len(songs)} song{'s' if len(songs) != 1 else ''}" if songs else "no song"
    return (
        f"it lacks, beside {usual}, {'; '.join(lacks)} ({count} of the book want{'s' if len(songs) <= 1 else ''} them)"
    )


def found_lines(found: Calibration, top: int) -> list[str]:
    """A calibration that was found, in words."""
    even = "not even; with these pairs it feels even" if found.uneven else "even enough for a foot"
    pairs = " ".join(f"{raw}:{travel:g}" for raw, travel in found.pairs)
    return [
        f"reaches raw {found.reach[0]} to {found.reach[1]} of 0 to {top}; {even}",
        f"still over {found.dead_heel_pct:.1f} % at the heel, {found.dead_toe_pct:.1f} % at the toe; "
        f"trembles by {found.jitter_raw} raw, lags by {found.hysteresis_raw:.1f} raw",
        f"raw:travel  {pairs}",
    ]


def asked_lines(asking: Asking, rig: Rig) -> list[str]:
    """Where a calibration stands, in words."""
    who = f", with a pretended pedal ({LAW})" if asking.pretended else ""
    lines = [f"calibrating {asking.control}{who}"]
    if asking.found is not None:
        return [*lines, *found_lines(asking.found, rig.controls[asking.control].top)]
    if asking.failed:
        return [*lines, f"not found: {asking.failed}"]
    return [*lines, *([asking.said] if asking.said else []), asking.asks]


def content_of(lines: list[Line], *, at_hand: bool) -> Content:
    """The lines with what is at hand and what was heard just now set off."""
    styled = [
        Content.styled(line.text, "bold $success" if line.lit else "bold $primary" if line.here and at_hand else "")
        for line in lines
    ]
    return Content("\n").join(styled)


def _sides(port: Port) -> Iterator[tuple[str, str]]:
    if port.input is not None:
        yield "input", port.input
    if port.sends:
        yield "output", port.output if port.output is not None else port.virtual or ""


def _control(name: str, control: Control, seen: Seen, here: bool, width: int) -> Line:
    lit, raw, travel = name in seen.lit, seen.raws.get(name), seen.travels.get(name)
    sign = LIT if lit else HEARD if raw is not None else " "
    room = max(8, width - NAME_CELLS - STATE_CELLS - 5)
    if control.by_hand:
        states = " / ".join(control.positions) or str(control.rest or "")
        middle, state = fit(states, room), "by hand"
    elif control.kind == "switch":
        down = raw is not None and raw > control.top // 2
        state = "not heard yet" if raw is None else f"{'down' if down else 'up'}  raw {raw}"
        middle = ("▇" * room if down else "▁" * room) if raw is not None else " " * room
    else:
        marks = [pair[1] for pair in control.calibration] or [0.0, 100.0]
        middle = scale(marks, room, travel)
        state = "not heard yet" if travel is None else f"{travel:5.1f} %  raw {raw}"
    return Line(f"{HERE if here else ' '}{sign} {fit(name, NAME_CELLS)} {middle} {fit(state, STATE_CELLS)}", here, lit)


def _target(name: str, target: Target, seen: Seen, here: bool, width: int) -> Line:
    low, high = target.range
    rest = "" if target.rest is None else f"rest {target.rest:g}"
    spread = fit(f"{low:g} to {high:g} {target.unit}", 18)
    text = f"{HERE if here else ' '}  {fit(name, NAME_CELLS)} {spread} {seen.said.get(name, rest)}"
    return Line(fit(text, width), here)


def _window(names: Sequence[str], at: int, height: int) -> Sequence[str]:
    first = max(0, min(at - height // 2, len(names) - height))
    return names[first : first + max(1, height)]


def _named(names: Sequence[str]) -> str:
    more = len(names) - MOST_NAMED
    return ", ".join(names[:MOST_NAMED]) + (f" and {more} more" if more > 0 else "")


def names_of(rig: Rig) -> Mapping[str, tuple[str, ...]]:
    """The two lists of the screen by name."""
    return {"controls": tuple(rig.controls), "targets": tuple(rig.targets)}
