"""The last thing that every line of every screen goes through: characters that steer a terminal are made visible."""

from rich.segment import Segment
from textual.color import Color
from textual.filter import LineFilter

from showrunner.model.visible import steers, visible


class Controls(LineFilter):
    """Shows a sign for each character that steers; the line stays as wide as it was laid out, without such."""

    def apply(self, segments: list[Segment], background: Color) -> list[Segment]:  # noqa: ARG002
        """The same segments where nothing steers; else visible ones, cut off at the line's width."""
        if not any(steers(segment.text) for segment in segments if segment.control is None):
            return segments
        shown = [
            Segment(visible(segment.text), segment.style) if segment.control is None else segment
            for segment in segments
        ]
        return Segment.adjust_line_length(shown, Segment.get_line_length(segments))


CONTROLS = Controls()
