"""Two times through the same playing as text."""

from collections.abc import Iterator, Mapping, Sequence

from showrunner.cli.output import columns
from showrunner.model.song import Song
from showrunner.takes.comparing import Difference, difference_row
from showrunner.takes.replaying import Step


def difference_lines(
    found: Sequence[Difference], steps: Sequence[Step], songs: Mapping[str, Song], words: tuple[str, str]
) -> Iterator[str]:
    """Differences as text; `words` are what the two times are called."""
    yield from columns([difference_row(one, steps, songs, words) for one in found])
