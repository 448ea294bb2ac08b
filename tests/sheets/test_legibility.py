"""What can be read from where on the floor sheet."""

import re
import struct
from pathlib import Path

import pytest

DISTANCE_MM = 1600
POINT_MM = 25.4 / 72


def letter_height_mm(distance_mm: float, minutes: float) -> float:
    return 6.283 * distance_mm * minutes / 21600


def capital_share(font: Path) -> float:
    """Height of a capital as a share of the type size: OS/2 sCapHeight over head unitsPerEm (OpenType 1.9)."""
    data = font.read_bytes()
    (count,) = struct.unpack_from(">H", data, 4)
    records = (struct.unpack_from(">4sIII", data, 12 + 16 * i) for i in range(count))
    at = {tag: offset for tag, _, offset, _ in records}
    (height,) = struct.unpack_from(">h", data, at[b"OS/2"] + 88)
    (em,) = struct.unpack_from(">H", data, at[b"head"] + 18)
    return float(height / em)


def smallest_sizes_pt(floor: str) -> tuple[float, float]:
    sizes = [(float(title), float(small)) for title, small in re.findall(r"\(([\d.]+), ([\d.]+)\)", floor)]
    return min(title for title, _ in sizes), min(small for _, small in sizes)


@pytest.fixture
def capital_mm(templates: list[Path]) -> tuple[float, float]:
    """Height of the smallest capitals of titles and of the small lines."""
    share = min(capital_share(font) for font in (templates[0] / "fonts").glob("*.otf"))
    title, small = smallest_sizes_pt((templates[0] / "sheets" / "floor.typ").read_text(encoding="utf-8"))
    return title * POINT_MM * share, small * POINT_MM * share


def test_titles_can_be_read_standing(capital_mm: tuple[float, float]) -> None:
    # NUREG-0700 rev. 2, 1.3.1-4: 16 minutes of arc at least; 9.31 mm at 2 m
    assert letter_height_mm(2000, 16) == pytest.approx(9.31, abs=0.005)
    assert capital_mm[0] >= letter_height_mm(DISTANCE_MM, 16)


def test_the_small_lines_can_be_read_from_where_the_docstring_says(capital_mm: tuple[float, float]) -> None:
    assert capital_mm[1] >= letter_height_mm(660, 16)
