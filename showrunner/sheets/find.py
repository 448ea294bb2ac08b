"""Where templates are: the first of the given folders that has a file wins, so a user's copy goes before ours."""

from collections.abc import Sequence
from pathlib import Path

from showrunner.plain_file import read_file
from showrunner.sheets.errors import SheetError

SHEETS, FONTS = "sheets", "fonts"


def find(name: str, templates: Sequence[Path]) -> Path:
    """Path of a sheet template, `floor.typ`; SheetError if no folder has it."""
    for folder in templates:
        path = folder / SHEETS / name
        if path.is_file() and Path(name).name == name:
            return path
    raise SheetError(
        f"there is no sheet template {name} in {', '.join(str(f / SHEETS) for f in templates) or 'any folder'}",
        "put the file there, or add the folder that the program came with",
    )


def every(suffix: str, templates: Sequence[Path]) -> dict[str, Path]:
    """Every sheet template with a suffix, by name, so that one may include another."""
    found: dict[str, Path] = {}
    for folder in reversed(templates):
        found.update({path.name: path for path in sorted((folder / SHEETS).glob(f"*{suffix}")) if path.is_file()})
    return found


def fonts(templates: Sequence[Path]) -> list[Path]:
    """Folders with fonts, the user's first."""
    return [folder / FONTS for folder in templates if (folder / FONTS).is_dir()]


def read(path: Path) -> str:
    """A template's text; SheetError with the line if it isn't UTF-8, or if it can't be read."""
    try:
        raw = read_file(path)
    except OSError as error:
        raise SheetError(f"the template can't be read ({error.strerror})", "see to the file's rights", path) from error
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw[: error.start].count(b"\n") + 1
        raise SheetError("this is not UTF-8 text", "save the file as UTF-8", path, line) from error
