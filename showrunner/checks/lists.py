"""Rules on checklists."""

from collections.abc import Iterator

from showrunner.checks.context import Context
from showrunner.checks.finding import Finding, Rule


def _critical_late(context: Context) -> Iterator[Finding]:
    slugs = context.show.checklists if context.show is not None else sorted(context.book.checklists)
    for slug in slugs:
        checklist = context.book.checklists.get(slug)
        items = checklist.items if checklist is not None else ()
        plain = next((item for item in items if not item.critical), None)
        for place, item in enumerate(items):
            if item.critical and plain is not None and place > items.index(plain):
                yield CRITICAL_LATE.in_file(
                    "checklist",
                    slug,
                    ("items", place),
                    what=f'"{item.ask}" is critical and comes after "{plain.ask}", which is not',
                    why="Lists are broken off when time runs out, and what comes last is what is missed.",
                    mend=f'Move it before "{plain.ask}".',
                )


CRITICAL_LATE = Rule(
    name="critical-late",
    level="warning",
    find=_critical_late,
    looks_for="A critical item that comes after others in its checklist (Degani and Wiener, NASA CR-177549: "
    "critical items first).",
    because="The show cannot start without them, and the end of a list is what an interruption costs.",
    such_as='{ ask = "towels" }, then { ask = "driver cell", critical = true }',
    fix="Sort the list: what the show depends on first.",
)
