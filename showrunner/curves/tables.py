"""A curve compiled for one rig: a row of numbers for every raw value, and the bytes for what changes."""

from collections.abc import Callable, Mapping, Sequence
from functools import cached_property, partial
from itertools import repeat
from types import MappingProxyType
from typing import NamedTuple

from showrunner.curves.laws import inside, numbering
from showrunner.curves.message import messages
from showrunner.curves.numbers import numbers_over
from showrunner.curves.shapes import Row, columns, row_in
from showrunner.curves.travel import travels_of
from showrunner.model.rig import Control, Target
from showrunner.model.song import Curve

NO_TRIMS: Mapping[str, float] = MappingProxyType({})

Known = tuple[int | None, ...]
"""Numbers the receiver has, in the curve's row order; None where that is not known."""


class Send(NamedTuple):
    """One message and the port, by the rig's name, that it goes to."""

    port: str
    message: bytes


class CurveTable:
    """A curve's numbers for every raw value of its control; targets that the rig lacks are left out.

    They are worked out once the first is asked for, since plans and checks want only values, or by `compile`.
    """

    def __init__(
        self, targets: Mapping[str, Target], shapes: Sequence[Row], number: Callable[[], list[tuple[int, ...]]]
    ) -> None:
        self.targets = tuple(targets)
        self._targets = tuple(targets.values())
        self._shapes = shapes
        self._number = number

    @cached_property
    def _rows(self) -> list[tuple[int, ...]]:
        return self._number()

    def compile(self) -> None:
        """Work out every number now, ahead of the message that would wait for it."""
        len(self._rows)

    def row(self, raw: int) -> tuple[int, ...]:
        """Controller number of each target for a raw value; equal rows are one object."""
        return self._rows[raw]

    def value(self, travel: float) -> tuple[float, ...]:
        """Exact value of each target, in its own unit and inside its range, at a travel in %."""
        return tuple(inside(target, shape(travel)) for target, shape in zip(self._targets, self._shapes, strict=True))

    def asked(self, target: str, travel: float) -> float:
        """Value that a target's row asks for at a travel in %, in its unit; with trims it may lie beyond its range."""
        return self._shapes[self.targets.index(target)](travel)

    def sends(self, before: Known | None, raw: int) -> tuple[Send, ...]:
        """Messages for exactly those targets whose number differs from `before`; for all where that is None."""
        row = self._rows[raw]
        was: Known = (None,) * len(row) if before is None else before
        return tuple(
            Send(target.port, message)
            for target, old, new in zip(self._targets, was, row, strict=True)
            if old != new
            for message in messages(target, new)
        )


def compile_curve(
    control: Control, curve: Curve, targets: Mapping[str, Target], added: Mapping[str, float] = NO_TRIMS
) -> CurveTable:
    """The table of a curve under a control, for those of its targets that a rig has.

    `added` is what trims add to a target's values, in its unit. The sum is held to the range, not what it is made of.
    """
    wanted = {name: targets[name] for name in curve.moves if name in targets}
    shapes = [row_in(curve, name, added.get(name, 0.0)) for name in wanted]
    return CurveTable(wanted, shapes, partial(_rows_of, control, curve, wanted, shapes))


def _rows_of(
    control: Control, curve: Curve, targets: Mapping[str, Target], shapes: Sequence[Row]
) -> list[tuple[int, ...]]:
    travels = travels_of(control)
    by_target = [
        numbers_over(travels, columns(curve, name), shape, numbering(target))
        for (name, target), shape in zip(targets.items(), shapes, strict=True)
    ]
    seen: dict[tuple[int, ...], tuple[int, ...]] = {}
    rows = zip(*by_target, strict=True) if targets else repeat((), len(travels))
    return [seen.setdefault(row, row) for row in rows]
