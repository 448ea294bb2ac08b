"""`calibrate`: a control's reach and response found by asking, and written into its rig."""

import time
from collections import deque
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any, NamedTuple, Protocol

import click

from showrunner.book.change import apply, edit
from showrunner.book.read import read_document
from showrunner.book.save import digest, save
from showrunner.cli.common import Call, Trouble, command, difference, faults_of, find, open_book, trouble
from showrunner.cli.output import columns, number, print_json, print_lines
from showrunner.curves.calibrate import Calibration, CalibrationError
from showrunner.live.calibrating import Calibrating, Reader, Step
from showrunner.live.fake import FakeSystem
from showrunner.live.kept import real_system
from showrunner.live.patching import Patch
from showrunner.live.ports import Hears, PortError, System
from showrunner.live.pretend import LAWS, Foot
from showrunner.model.nearest import did_you_mean
from showrunner.model.rig import Control, Rig

if TYPE_CHECKING:
    from showrunner.book.read import Reading

FAILS = 5
"""How often one step may go wrong before the asking ends."""


class Player(Protocol):
    """Whoever moves the control: does a step and says so by returning."""

    def clock(self) -> float: ...
    def go(self, step: Step) -> None: ...
    def rest(self, seconds: float) -> None: ...


class Person:
    """The player at the keyboard: Enter says that it is done."""

    def clock(self) -> float:
        """The monotonic clock, s."""
        return time.perf_counter()

    def go(self, step: Step) -> None:  # noqa: ARG002
        """Wait for Enter."""
        click.prompt("  Enter", default="", show_default=False, prompt_suffix=" ", err=True)

    def rest(self, seconds: float) -> None:
        """Let a time pass."""
        time.sleep(seconds)


class Calibrated(NamedTuple):
    """What was found, and the rig's file with it put in."""

    found: Calibration
    file: str
    before: bytes
    after: bytes

    @property
    def difference(self) -> list[str]:
        """What changes, as a unified difference of the file's lines."""
        return difference(self.file, self.before, self.after, "calibrated")


@command(
    examples=(
        "showrunner calibrate full swell",
        "showrunner calibrate full swell --write",
        "showrunner calibrate full swell --simulate slow-heel",
    )
)
@click.argument("rig")
@click.argument("control")
@click.option("--write", is_flag=True, help="Write the calibration into the rig's file.")
@click.option(
    "--simulate", type=click.Choice(list(LAWS)), help="Try it with a pretended pedal of this response; no hardware."
)
def calibrate(call: Call, rig: str, control: str, write: bool, simulate: str | None) -> None:
    """Find how far a control reaches and how even it is, by marks held still and slow sweeps there and back.

    It asks for one thing at a time; answer with Enter. What it finds is shown, and written only with --write.
    """
    reading = open_book(call)
    slug = find(reading, rig, "rig")[1]
    the_rig = reading.book.rigs[slug]
    name, the = control_of(the_rig, control)
    cut = _only_port(the_rig, the)
    player: Player
    if simulate is not None:
        system = FakeSystem.simulated(cut)
        player = Foot(system, cut, the, LAWS[simulate])
        found = asked(cut, name, system, player)
    else:
        found = asked(cut, name, real_system(), Person())
    calibrated = _put_in(reading, slug, name, found)
    if write and calibrated.after != calibrated.before:
        save(reading.root / calibrated.file, calibrated.after, digest(calibrated.before))
    if call.json:
        print_json({"rig": slug, "control": name, "file": calibrated.file, "written": write, **found_data(found)})
    else:
        print_lines(found_lines(name, the, calibrated, written=write))


def control_of(rig: Rig, word: str) -> tuple[str, Control]:
    """The control to calibrate; Trouble where the rig has none of that name or it has no travel to find."""
    control = rig.controls.get(word)
    if control is None:
        there = ", ".join(name for name, c in rig.controls.items() if not c.by_hand)
        raise trouble(f'{rig.title} has no control "{word}"', did_you_mean(word, rig.controls, f"it has {there}"))
    if control.by_hand:
        raise trouble(f'"{word}" is by hand: it sends nothing that could be read')
    if control.kind in ("switch", "selector"):
        raise trouble(f'"{word}" is a {control.kind}; only what has travel is calibrated')
    if rig.ports.get(control.port or "") is None or rig.ports[control.port or ""].input is None:
        raise trouble(f'"{word}" is on the port "{control.port}", which has no input in this rig')
    return word, control


def asked(rig: Rig, control: str, system: System, player: Player) -> Calibration:
    """The calibration that the player's answers make; Trouble where a port is missing or it can't be found."""
    heard: deque[tuple[float, str, bytes]] = deque()

    def hears(port: str) -> Hears:
        return lambda message: heard.append((player.clock(), port, bytes(message)))

    patch, reader, asking = Patch(system, rig, hears), Reader(rig, control), Calibrating(rig.controls[control])
    fails = 0
    try:
        while (step := asking.step) is not None:
            _plugged(patch, rig, player.clock())
            click.echo(step.say, err=True)
            player.go(step)
            at_s = player.clock()
            if step.hold_s:
                player.rest(step.hold_s)
                at_s += step.hold_s
            while heard and heard[0][0] <= at_s:
                for reading in reader.heard(*heard.popleft()):
                    asking.heard(*reading)
            for reading in reader.waited(at_s):
                asking.heard(*reading)
            try:
                click.echo(f"  {asking.done(at_s)}", err=True)
                fails = 0
            except CalibrationError as error:
                fails += 1
                if fails == FAILS:
                    raise
                click.echo(f"  {error}", err=True)
        return asking.found()
    except (CalibrationError, PortError) as error:
        raise trouble(str(error)) from error
    finally:
        patch.close()


def _plugged(patch: Patch, rig: Rig, now_s: float) -> None:
    patch.look(now_s)
    for name in patch.lost:
        what = patch.troubles.get(name, f'nothing fits "{rig.ports[name].input}"')
        raise trouble(f"the port {name} is not there: {what}", "plug it in, or try --simulate even without it")


def _only_port(rig: Rig, control: Control) -> Rig:
    """The rig with nothing but the port the control is on, to be listened to."""
    name = control.port or ""
    port = rig.ports[name].model_copy(update={"output": None, "virtual": None, "unmapped": "drop"})
    return rig.model_copy(update={"ports": {name: port}, "steps": None, "mute": None})


def _put_in(reading: "Reading", slug: str, control: str, found: Calibration) -> Calibrated:
    file, before = reading.file("rig", slug), reading.sources["rig", slug]
    pairs = [[raw, int(travel) if travel == int(travel) else travel] for raw, travel in found.pairs]
    after = apply(before, edit(file, before, ("controls", control, "calibration"), pairs))
    document, problems = read_document("rig", slug, after)
    if document is None:
        raise Trouble(*faults_of(problems))
    return Calibrated(found, file, before, after)


def found_data(found: Calibration) -> dict[str, Any]:
    """A calibration as JSON."""
    return {
        "calibration": found.pairs,
        "reach": found.reach,
        "dead_heel_pct": found.dead_heel_pct,
        "dead_toe_pct": found.dead_toe_pct,
        "jitter_raw": found.jitter_raw,
        "jitter_pct": found.jitter_pct,
        "hysteresis_raw": found.hysteresis_raw,
        "hysteresis_pct": found.hysteresis_pct,
        "uneven_pct": found.uneven_pct,
        "uneven": found.uneven,
        "rejected": found.rejected,
    }


def found_lines(name: str, control: Control, calibrated: Calibrated, *, written: bool) -> Iterator[str]:
    """A calibration as text, with what changes in the file."""
    found = calibrated.found
    even = "not even; with these pairs it feels even" if found.uneven else "even enough for a foot"
    yield name
    yield from columns(
        [
            ("reach", f"raw {found.reach[0]} to {found.reach[1]} of 0 to {control.top}"),
            ("dead at the heel", f"{_pct(found.dead_heel_pct)} of travel"),
            ("dead at the toe", f"{_pct(found.dead_toe_pct)} of travel"),
            ("jitter", f"{found.jitter_raw} raw, {_pct(found.jitter_pct)} of travel"),
            ("hysteresis", f"{number(round(found.hysteresis_raw, 1))} raw, {_pct(found.hysteresis_pct)} of travel"),
            ("from straight", f"{_pct(found.uneven_pct)} of travel at most: {even}"),
            ("left out", f"{found.rejected} stray readings"),
        ]
    )
    yield ""
    if calibrated.after == calibrated.before:
        yield f"{calibrated.file} has this calibration already"
        return
    yield from calibrated.difference
    yield ""
    yield f"wrote {calibrated.file}" if written else "nothing is written yet; say --write to write it"


def _pct(value: float) -> str:
    return f"{number(round(value, 1))} %"
