"""What a cue sheet says, and how it is put on paper."""

from showrunner.sheets.errors import SheetError
from showrunner.sheets.render import Audience, SheetFormat, content, render

__all__ = ["Audience", "SheetError", "SheetFormat", "content", "render"]
