"""Where everything is that the program reads or writes outside a book: one answer in a checkout and in a wheel."""

from pathlib import Path

import platformdirs

_PACKAGE = Path(__file__).resolve().parent
_SHIPPED = _PACKAGE / "_shipped" if (_PACKAGE / "_shipped").is_dir() else _PACKAGE.parent
_NAME = "showrunner"


def demo_book() -> Path:
    """The folder of the demo book."""
    return _SHIPPED / "shows" / "saltmarsh"


def templates() -> Path:
    """The folder of starter files and sheet templates."""
    return _SHIPPED / "templates"


def default_book() -> Path:
    """The user's own book, where neither --book nor SHOWRUNNER_BOOK names another."""
    return platformdirs.user_data_path(_NAME, appauthor=False) / "book"


def user_templates() -> Path:
    """Where a user's own copies of templates come first."""
    return platformdirs.user_config_path(_NAME, appauthor=False) / "templates"


def template_folders() -> tuple[Path, Path]:
    """Where templates are looked for: the user's own first."""
    return user_templates(), templates()


def settings_file() -> Path:
    """Where the user's own settings for the screens are."""
    return platformdirs.user_config_path(_NAME, appauthor=False) / "settings.toml"


def typed_path(text: str) -> Path:
    """A path as it was typed; ~ is the user's own folder, and no other's."""
    return Path(text).expanduser() if text.startswith("~/") else Path(text)


def state_folder() -> Path:
    """Where a running show keeps its socket, snapshot and error log."""
    return platformdirs.user_state_path(_NAME, appauthor=False)
