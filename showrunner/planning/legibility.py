"""Whether letters on a screen can be read from where the player stands."""

from math import hypot
from typing import Literal, NamedTuple

LEAST_ARC_MIN = 16.0
"""Least letter height, minutes of arc (NUREG-0700 rev. 2 §1.3.1-4)."""
PREFERRED_ARC_MIN = 20.0
"""Preferred letter height, minutes of arc (NUREG-0700 rev. 2 §1.3.1-4)."""
MM_PER_INCH = 25.4
WIDE = (16, 9)
"""Width to height of a usual laptop screen."""

Reach = Literal["reached", "barely", "too small"]


class Legibility(NamedTuple):
    """Letter height on the screen against what the distance asks for, mm."""

    height_mm: float
    least_mm: float
    preferred_mm: float

    @property
    def reach(self) -> Reach:
        """Whether the preferred height is reached, only the least, or neither."""
        if self.height_mm >= self.preferred_mm:
            return "reached"
        return "barely" if self.height_mm >= self.least_mm else "too small"


def letter_height_mm(distance_m: float, arc_min: float) -> float:
    """Height of a letter that spans `arc_min` minutes of arc at a distance (NUREG-0700 rev. 2 §1.3.1-4)."""
    return 6.283 * distance_m * 1000 * arc_min / 21600


def row_height_mm(diagonal_in: float, rows: int, shape: tuple[int, int] = WIDE) -> float:
    """Height of one of the rows that fill a screen of this diagonal, inches."""
    return diagonal_in * MM_PER_INCH * shape[1] / hypot(*shape) / max(1, rows)


def legibility(distance_m: float, diagonal_in: float, rows: int, letter_rows: float) -> Legibility:
    """A letter `letter_rows` rows high on a screen of `rows` rows, seen from a distance in metres."""
    return Legibility(
        letter_rows * row_height_mm(diagonal_in, rows),
        letter_height_mm(distance_m, LEAST_ARC_MIN),
        letter_height_mm(distance_m, PREFERRED_ARC_MIN),
    )
