"""The user's own editor, on a file of the book, with the screens out of its way."""

import os
import shlex
import shutil
import subprocess
from pathlib import Path
from typing import Any

from textual.app import App, SuspendNotSupported

from showrunner.book.problems import BookError


def edit_in(app: App[Any], file: Path) -> None:
    """Open the file and wait until the editor is left; BookError where there is none that can be opened."""
    command = editor()
    if command is None:
        raise BookError("there is no editor", "name yours in VISUAL or EDITOR")
    if not os.path.isfile(file):
        raise BookError(f"{file.name} is not there any more", "nothing was opened")
    try:
        with app.suspend():
            subprocess.run([*command, str(file)], check=False)
    except (OSError, SuspendNotSupported):
        raise BookError(f"{command[0]} can't be opened from here", "name another editor in VISUAL or EDITOR") from None


def editor() -> list[str] | None:
    """The user's editor as a command: VISUAL, EDITOR, or one that the system has; None where there is none."""
    for name in ("VISUAL", "EDITOR"):
        if os.environ.get(name, "").strip():
            try:
                return shlex.split(os.environ[name], posix=os.name != "nt")
            except ValueError:
                return [os.environ[name]]
    return next(([name] for name in ("sensible-editor", "nano", "vi", "notepad") if shutil.which(name)), None)
