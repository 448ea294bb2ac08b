"""The stage carried through any order of some songs, each change between two of them worked out once."""

from collections.abc import Sequence

from showrunner.planning.handwork import needed_s, steps_to
from showrunner.planning.stage import Stage, after_playing, at_rest
from showrunner.state.moments import Piece


class Carried:
    """What the changeovers of these songs take in whatever order they are played, as `changeover.changeovers` has it.

    How a song leaves the stage depends on the songs before it where one names no guitar, or a control has no rest.
    """

    def __init__(self, pieces: Sequence[Piece]) -> None:
        self.pieces = pieces
        self._stages: list[Stage] = []
        self._numbers: dict[object, int] = {}
        self._opened: dict[int, int] = {}
        self._ways: dict[tuple[int, int], tuple[float, int]] = {}

    def needs_s(self, order: Sequence[int]) -> list[float]:
        """Seconds of each changeover of an order of the songs, given by their numbers; one less than there are."""
        found: list[float] = []
        at, ways = self._opens(order[0]) if order else 0, self._ways
        for song in order[1:]:
            way = ways.get((at, song)) or self._work_out(at, song)
            found.append(way[0])
            at = way[1]
        return found

    def _opens(self, song: int) -> int:
        if song not in self._opened:
            piece = self.pieces[song]
            self._opened[song] = self._number(after_playing(at_rest(piece.rig, piece), piece))
        return self._opened[song]

    def _work_out(self, at: int, song: int) -> tuple[float, int]:
        stage, piece = self._stages[at], self.pieces[song]
        way = needed_s(steps_to(stage, piece)), self._number(after_playing(stage, piece))
        self._ways[at, song] = way
        return way

    def _number(self, stage: Stage) -> int:
        key = (
            stage.guitar,
            stage.tuning,
            stage.capo,
            frozenset(stage.by_hand.items()),
            frozenset(stage.controls.items()),
        )
        if key not in self._numbers:
            self._numbers[key] = len(self._stages)
            self._stages.append(stage)
        return self._numbers[key]
