"""Every screen as it looks, at three sizes, in every theme, on a terminal of sixteen colours and without colour."""

import pytest
from scenes import SCENES
from syrupy.assertion import SnapshotAssertion
from syrupy.extensions.single_file import SingleFileSnapshotExtension, WriteMode
from taken import taken
from textpicture import text_picture

SIZES = [(80, 24), (120, 36), (200, 60)]
EACH = pytest.mark.parametrize("name", SCENES)
AT_EACH_SIZE = pytest.mark.parametrize("size", SIZES, ids=lambda size: "x".join(map(str, size)))


class TextPictures(SingleFileSnapshotExtension):
    """Each picture in a text file of its own."""

    file_extension = "txt"
    _write_mode = WriteMode.TEXT


@pytest.fixture
def picture(snapshot: SnapshotAssertion) -> SnapshotAssertion:
    """The picture that was looked at and kept."""
    return snapshot.use_extension(TextPictures)


@EACH
@AT_EACH_SIZE
def test_it_looks_as_it_did(name: str, size: tuple[int, int], picture: SnapshotAssertion) -> None:
    assert text_picture(taken(name, size).looks) == picture
