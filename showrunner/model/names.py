"""What the rigs of a book have between them, and what is said of a name that none of them has."""

from collections.abc import Iterable, Mapping, Sequence
from typing import NamedTuple

from showrunner.model.keys import KeyPath
from showrunner.model.nearest import Hint
from showrunner.model.rig import Rig


class Wrong(NamedTuple):
    """A name that points at nothing, or a place that can't be, before it is known of which document."""

    key: KeyPath
    what: str
    hint: str | Hint


class RigNames:
    """What the rigs of a book have between them; nothing is missing where there is no rig or one could not be read."""

    def __init__(self, rigs: Mapping[str, Rig], *, whole: bool) -> None:
        every = tuple(rigs.values()) if whole else ()
        self._names: Mapping[str, set[str]] = {
            "control": {name for rig in every for name in rig.controls},
            "target": {name for rig in every for name in rig.targets},
            "port": {name for rig in every for name in rig.ports},
            "battery": {name for rig in every for name in rig.batteries},
            "guitar": {name for rig in every for name in rig.instruments},
        }
        self._sure = bool(every)
        self._outputs = {name for rig in every for name, port in rig.ports.items() if port.sends}
        self._positions: dict[str, set[str]] = {}
        self._tunings: dict[str, set[str]] = {}
        free = {name for rig in every for name, control in rig.controls.items() if not control.positions}
        for rig in every:
            for name, control in rig.controls.items():
                if name not in free:
                    self._positions.setdefault(name, set()).update(control.positions)
            for name, guitar in rig.instruments.items():
                self._tunings.setdefault(name, set()).update(guitar.tunings)

    def missing(self, kind: str, name: str | None, key: KeyPath) -> Sequence[Wrong]:
        """That no rig has a control, target, port, battery or guitar of this name, if none has."""
        if not self._sure or name is None or name in self._names[kind]:
            return ()
        mend = Hint(name, self._names[kind], f"add the {kind} to a rig, or take it out here")
        return (Wrong(key, f'no rig has a {kind} "{name}"', mend),)

    def missing_keys(self, kind: str, names: Iterable[str], key: KeyPath) -> Sequence[Wrong]:
        """The keys of a table that no rig has as a control, target, port, battery or guitar."""
        if self._names[kind].issuperset(names):
            return ()
        return [wrong for name in names for wrong in self.missing(kind, name, (*key, name))]

    def by_hand(self, states: Mapping[str, str], key: KeyPath) -> Sequence[Wrong]:
        """States of controls that no rig has, or that their selectors have in no rig."""
        wrong = list(self.missing_keys("control", states, key))
        for name, position in states.items():
            known = self._positions.get(name)
            if known is not None and position not in known:
                what = f'"{name}" has no position "{position}" in any rig'
                wrong.append(Wrong((*key, name), what, Hint(position, known, _it_has(known))))
        return wrong

    def tuning(self, instrument: str | None, tuning: str | None, key: KeyPath) -> Sequence[Wrong]:
        """That a guitar is tuned so in no rig, if it isn't."""
        known = self._tunings.get(instrument) if instrument is not None else None
        if known is None or tuning is None or tuning in known:
            return ()
        what = f'the guitar "{instrument}" has no tuning "{tuning}" in any rig'
        return (Wrong(key, what, Hint(tuning, known, _it_has(known))),)

    def output(self, port: str, key: KeyPath) -> Sequence[Wrong]:
        """That no rig has a port of this name, or that nothing can be sent to it in any."""
        if port not in self._names["port"] or port in self._outputs:
            return self.missing("port", port, key)
        return (Wrong(key, f'the port "{port}" has no output in any rig', "give it output or virtual"),)


def _it_has(names: Iterable[str]) -> str:
    return f"it has {', '.join(sorted(names))}"
