"""PDF pages through typst, from templates that are given the data as JSON."""

import json
import re
import tempfile
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from showrunner.sheets.errors import SheetError
from showrunner.sheets.find import every, find, fonts, read

MADE_AT = 0
"""Seconds since 1970 that a page says it was made at: fixed, so that the same book gives the same bytes."""

_OTHER_SCRIPTS = re.compile("[^\u0000-\u052f\u1d00-\u22ff\u2500-\u27ff\ufffd]")
"""What the shipped face doesn't have: anything but Latin, Greek, Cyrillic, punctuation and signs."""

_PLACE = re.compile(r"┌─ (.+?):(\d+):\d+")


def to_pdf(name: str, data: Mapping[str, Any], templates: Sequence[Path]) -> bytes:
    """The pages of one typst template; SheetError with its file and line if the template doesn't work.

    All templates are laid into one folder first, the user's over ours, so that a copy of one still finds the others
    and no template can read anything else. The machine's own fonts are used only for scripts that ours lack, so that
    other pages look the same anywhere.
    """
    import typst

    find(name, templates)
    said = json.dumps(data, ensure_ascii=False)
    sources = every(".typ", templates)
    with tempfile.TemporaryDirectory(prefix="showrunner-") as folder:
        root = Path(folder)
        for file, source in sources.items():
            (root / file).write_text(read(source), encoding="utf-8", newline="\n")
        try:
            return typst.compile(
                root / name,
                root=root,
                font_paths=list(fonts(templates)),
                ignore_system_fonts=_OTHER_SCRIPTS.search(said) is None,
                format="pdf",
                sys_inputs={"data": said},
                timestamp=MADE_AT,
            )
        except typst.TypstError as error:
            raise _in_template(error.message, error.diagnostic, sources, name) from error


def _in_template(message: str, diagnostic: str, sources: Mapping[str, Path], name: str) -> SheetError:
    place = _PLACE.search(diagnostic)
    file, line = (Path(place[1]).name, int(place[2])) if place is not None else (name, None)
    hint = re.search(r"= hint: (.+)", diagnostic)
    mend = hint[1] if hint is not None else "mend the template, or take your copy away to have the usual one"
    return SheetError(message, mend, sources.get(file, sources[name]), line)
