"""Whether a show's soundcheck is done: kept with its run, so that it lasts over a restart of the program."""

from pathlib import Path

from showrunner.live.folder import keep_json, read_json, where_run
from showrunner.model.show import Show

FILE = "soundcheck.json"


def is_locked(root: Path, slug: str, show: Show) -> bool:
    """Whether the trims of a show's night are out of a stray key's reach; another date is another night."""
    kept = read_json(where_run(root, slug) / FILE)
    return kept is not None and kept.get("locked") is True and kept.get("date") == str(show.date)


def lock(root: Path, slug: str, show: Show, *, on: bool) -> None:
    """Lock a show's night, or unlock it; on disk before this returns. SaveError where it can't be."""
    keep_json(where_run(root, slug), FILE, lambda _: {"locked": on, "date": str(show.date)})
