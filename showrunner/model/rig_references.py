"""Names inside a rig that point at nothing, and ports that face the wrong way."""

from collections.abc import Iterable, Iterator

from showrunner.model.keys import KeyPath
from showrunner.model.names import Wrong
from showrunner.model.nearest import Hint
from showrunner.model.rig import Control, Rig


def wrong_in_rig(rig: Rig) -> Iterator[Wrong]:
    """Names in a rig that the rig itself doesn't have, and ports that face the wrong way."""
    for name, port in rig.ports.items():
        if port.pass_to is not None:
            yield from _port(rig, port.pass_to, ("ports", name, "unmapped"), sends=True)
    for name, control in rig.controls.items():
        if control.port is not None:
            yield from _port(rig, control.port, ("controls", name, "port"), sends=False)
    for name, target in rig.targets.items():
        yield from _port(rig, target.port, ("targets", name, "port"), sends=True)
    if rig.steps is not None:
        yield from _switch(rig, rig.steps.next, ("steps", "next"))
        yield from _switch(rig, rig.steps.back, ("steps", "back"))
    if rig.mute is not None:
        yield from _named("target", rig.mute.target, rig.targets, ("mute", "target"))
        yield from _switch(rig, rig.mute.switch, ("mute", "switch"))
    for name, guitar in rig.instruments.items():
        for number, carried in enumerate(guitar.carries):
            yield from _named("control", carried, rig.controls, ("instruments", name, "carries", number))
        yield from _named("battery", guitar.battery, rig.batteries, ("instruments", name, "battery"))
        yield from _named("guitar", guitar.spare, rig.instruments, ("instruments", name, "spare"))
        if guitar.spare == name:
            yield Wrong(("instruments", name, "spare"), "a guitar can't be its own spare", "name another guitar")
    yield from _named("target", rig.trims.volume_target, rig.targets, ("trims", "volume_target"))


def _named(kind: str, name: str | None, known: Iterable[str], key: KeyPath) -> Iterator[Wrong]:
    if name is not None and name not in known:
        mend = Hint(name, known, f"add the {kind} to this rig, or take it out here")
        yield Wrong(key, f'this rig has no {kind} "{name}"', mend)


def _port(rig: Rig, name: str, key: KeyPath, *, sends: bool) -> Iterator[Wrong]:
    port = rig.ports.get(name)
    if port is None:
        yield from _named("port", name, rig.ports, key)
    elif sends and not port.sends:
        yield Wrong(key, f'the port "{name}" has no output', "give it output or virtual, or name another port")
    elif not sends and port.input is None:
        yield Wrong(key, f'the port "{name}" has no input', "give it input, or name another port")


def _switch(rig: Rig, name: str | None, key: KeyPath) -> Iterator[Wrong]:
    control: Control | None = None if name is None else rig.controls.get(name)
    if control is None:
        yield from _named("control", name, rig.controls, key)
    elif control.kind != "switch":
        yield Wrong(key, f'"{name}" is a {control.kind}', "name a switch")
    elif control.by_hand:
        yield Wrong(key, f'the switch "{name}" sends nothing', "give it port, channel and cc, or name another switch")
