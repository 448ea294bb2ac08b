"""A checklist: one thing to ask at a time, some of which the program can see for itself."""

from pydantic import Field

from showrunner.model.document import Document, Format, Line, Row

VERIFY = r"^(findings|disk|mains|trims|(port|control|battery|not doubled) \S.*)$"


class Item(Document):
    """One line of a checklist."""

    ask: Line = Field(description="what to look at")
    answer: Line | None = Field(None, description="what it must be")
    critical: bool = Field(False, description="the show can't start without it")
    who: Line | None = Field(None, description="whose job it is")
    verify: Line | None = Field(
        None,
        pattern=VERIFY,
        description="what the program can see itself: port NAME, control NAME, battery NAME, not doubled NAME, "
        "findings, disk, mains or trims",
    )


class Checklist(Document):
    """A list of items for one occasion."""

    format: Format
    title: Line = Field(description="the checklist's name")
    when: Line | None = Field(None, description="the occasion it is for")
    items: Row[Item] = Field((), description="in order; critical ones first")
