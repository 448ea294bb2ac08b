"""Steps that may be heard: how far a level jumps between neighbouring values of the control."""

import math
from collections.abc import Iterator
from itertools import pairwise
from typing import NamedTuple

from showrunner.curves.laws import numbering, to_value
from showrunner.curves.numbers import numbers_over
from showrunner.curves.shapes import columns, row_in
from showrunner.curves.travel import travels_of
from showrunner.model.rig import Control, Target
from showrunner.model.song import Curve


class Step(NamedTuple):
    """A change from one controller number to the next one sent, and the travel, %, at which it comes."""

    travel: float
    from_number: int
    to_number: int
    from_value: float
    to_value: float

    @property
    def size(self) -> float:
        """How far the value jumps, in the target's unit."""
        return abs(self.to_value - self.from_value)


def steps(control: Control, curve: Curve, name: str, target: Target) -> Iterator[Step]:
    """Every change of a target's number as its control goes from heel to toe, by what the numbers stand for.

    A number that is skipped, because the control is coarser than the target or the row jumps, makes a larger step.
    """
    travels = travels_of(control)
    numbers = numbers_over(travels, columns(curve, name), row_in(curve, name), numbering(target))
    for travel, (before, after) in zip(travels[1:], pairwise(numbers), strict=True):
        if before != after:
            yield Step(travel, before, after, to_value(target, before), to_value(target, after))


def largest_step(control: Control, curve: Curve, name: str, target: Target) -> Step | None:
    """The largest of the steps, the first of equals; None where the target rests all the way.

    Its size is in dB where the target's unit is dB; in other units how loud a step is isn't known.
    """
    return max(steps(control, curve, name, target), key=lambda step: step.size, default=None)


def in_db(target: Target) -> bool:
    """Whether a step of this target is a step in loudness of known size."""
    return target.level and target.unit == "dB"


def just_noticeable_db(above_threshold_db: float) -> float:
    """The smallest level difference heard, dB, for a sound so far above the threshold of hearing.

    ΔI/I = 0.463·(I/I0)^−0.072: Jesteadt, Wier and Green (1977). Their listeners compared tones in quiet.
    """
    return 10 * math.log10(1 + 0.463 * 10 ** (-0.072 * above_threshold_db / 10))
