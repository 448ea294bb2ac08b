"""What keeps a sheet from being made: a show that isn't there, or a template that doesn't work."""

from pathlib import Path


class SheetError(Exception):
    """A sheet can't be made: what is wrong, the template's file and line where it is in one, and what to do."""

    def __init__(self, what: str, mend: str, file: Path | None = None, line: int | None = None) -> None:
        place = "" if file is None else f"{file}: " if line is None else f"{file}:{line}: "
        super().__init__(f"{place}{what}; {mend}")
        self.what, self.mend, self.file, self.line = what, mend, file, line
