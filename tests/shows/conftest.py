"""The demo book, read once."""

import pytest

from showrunner.book.read import Reading, read_book
from showrunner.model.library import Book
from showrunner.places import demo_book


@pytest.fixture(scope="session")
def reading() -> Reading:
    """What reading the demo book gives."""
    return read_book(demo_book())


@pytest.fixture(scope="session")
def book(reading: Reading) -> Book:
    """The demo book's documents."""
    return reading.book
