"""Rules on a room's sound limit, against how loud the songs are to each other."""

import math
from collections.abc import Iterator

from showrunner.checks.context import Context
from showrunner.checks.finding import Finding, Rule
from showrunner.checks.thresholds import STRETCH_OVER_DB
from showrunner.checks.words import listed
from showrunner.levels.gain import loudness_lufs
from showrunner.model.units import format_length


def loudest_stretch(songs: list[tuple[float, float, float]], window_s: float) -> tuple[float, int, int]:
    """The stretch of a given length that is loudest against the whole, dB, with its first and last song.

    `songs` are starts and lengths in seconds and levels in dB; the pauses between count as silence.
    """
    end = songs[-1][0] + songs[-1][1]
    powers = [10 ** (level / 10) for _, _, level in songs]
    whole = math.fsum(power * length for power, (_, length, _) in zip(powers, songs, strict=True)) / end
    worst = (-math.inf, 0, 0)
    first = 0
    for last in range(len(songs)):
        until = songs[last][0] + songs[last][1]
        while songs[first][0] + songs[first][1] <= until - window_s:
            first += 1
        heard = math.fsum(
            powers[place] * (songs[place][1] - max(0.0, until - window_s - songs[place][0]))
            for place in range(first, last + 1)
        )
        over = 10 * math.log10(heard / window_s / whole)
        if over > worst[0]:
            worst = (over, first, last)
    return worst


def _loud_stretch(context: Context) -> Iterator[Finding]:
    show = context.show
    venue = context.book.venues.get(show.venue) if show is not None and show.venue is not None else None
    limit = venue.sound_limit if venue is not None else None
    if show is None or limit is None or limit.over <= 0 or context.show_slug is None:
        return
    levels = {facts.slug: level for facts in context.order if (level := loudness_lufs(facts.piece.song)) is not None}
    times = [song for part in context.time.sets for song in part.songs] if context.time is not None else []
    if len(times) < 2 or any(time.song not in levels for time in times):
        return
    titles = [context.book.songs[time.song].title for time in times]
    songs = [(time.starts_s, max(time.expected_s, 1.0), levels[time.song]) for time in times]
    over_db, first, last = loudest_stretch(songs, float(limit.over))
    if over_db > STRETCH_OVER_DB:
        length = format_length(limit.over)
        yield LOUD_STRETCH.in_file(
            "show",
            context.show_slug,
            ("sets",),
            what=f"the {length} up to the end of {listed(titles[last : last + 1])} are {over_db:.1f} dB louder than "
            f"the show as a whole{_from(titles, first, last)}; the room allows {limit.laeq_db:g} dB(A) over {length}",
            why="If the desk sets the whole to the limit, this stretch is over it. Only a sound level meter in the "
            f"room and the rules of the place can say what is allowed. Up to {STRETCH_OVER_DB:g} dB a desk evens out "
            "(common practice).",
            mend="Lower the loudest songs by their trim_db, part them in the order, or agree on a lower level with the "
            "desk.",
        )


def _from(titles: list[str], first: int, last: int) -> str:
    return f" (they begin in {listed(titles[first : first + 1])})" if first < last else ""


LOUD_STRETCH = Rule(
    name="loud-stretch",
    level="warning",
    find=_loud_stretch,
    looks_for="A stretch as long as the room's limit is averaged over, in which the songs' measured loudness is "
    f"more than {STRETCH_OVER_DB:g} dB (common practice) over the show as a whole.",
    because="A limit holds for every stretch of its length, not for the night; people are exposed to that level.",
    such_as="Three songs at -16 LUFS in a row, in a show of songs at -22, where 99 dB(A) over 15:00 is allowed.",
    fix="Match the songs' loudness by their trims, and leave the limit to the meter and to local rules.",
)
