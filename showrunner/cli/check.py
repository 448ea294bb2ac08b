"""`check`: what will go wrong, before it does."""

from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any

import click

from showrunner.book.problems import Problem
from showrunner.book.read import JOURNAL
from showrunner.checks import RULES
from showrunner.checks.finding import LEVELS, Finding
from showrunner.checks.rules import BY_NAME
from showrunner.checks.run import SystemPorts
from showrunner.checks.run import check as run_rules
from showrunner.cli.common import Call, Fault, command, faults_of, find, open_book, rests_on, tonight, trouble
from showrunner.cli.output import paragraph, plural, print_json, print_lines, working
from showrunner.model.keys import dotted
from showrunner.model.library import Book
from showrunner.model.nearest import did_you_mean

if TYPE_CHECKING:
    from showrunner.book.read import Reading

ERRORS_FOUND = 1
UNREADABLE = 2


def rule_named(name: str) -> str:
    """The name, if it is a rule's; else wrong usage with the nearest."""
    if name not in BY_NAME:
        raise click.UsageError(f'no rule "{name}"; {did_you_mean(name, BY_NAME, "showrunner check --explain all")}')
    return name


def look_at_ports() -> SystemPorts:
    """The system's MIDI ports; Trouble where they can't be looked at."""
    from showrunner.live.ports import PortError
    from showrunner.live.system import system_ports

    try:
        return system_ports()
    except PortError as error:
        raise trouble(f"the system's MIDI ports can't be looked at: {error}", "leave --ports out") from error
    except ModuleNotFoundError as error:
        what = f"the system's MIDI ports can't be looked at here ({error.name} is missing)"
        raise trouble(what, "leave --ports out") from error


@command(
    examples=(
        "showrunner check",
        "showrunner check pellmarsh-hall",
        "showrunner check pellmarsh-hall --rig small --level warning",
        "showrunner check pellmarsh-hall --ports --json",
        "showrunner check --explain two-curves",
        "showrunner check --explain all",
    )
)
@click.argument("show", required=False)
@click.option("--rig", metavar="RIG", help="Check on this rig instead of the show's own or the book's usual one.")
@click.option("--ports", is_flag=True, help="Look whether the rig's MIDI ports are plugged in now.")
@click.option(
    "--rule", "rules", metavar="RULE", type=rule_named, multiple=True, help="Only this rule; may be repeated."
)
@click.option("--level", type=click.Choice(LEVELS), help="Only findings of this level or worse.")
@click.option(
    "--explain",
    metavar="RULE",
    help="The page of a rule: what is looked for, because, such as, fix; all for every rule.",
)
def check(
    call: Call,
    show: str | None,
    rig: str | None,
    ports: bool,
    rules: tuple[str, ...],
    level: str | None,
    explain: str | None,
) -> int:
    """Find what will go wrong: with one show on its rig, or with every song and show of the book.

    An error will fail, a warning may be heard or missed, a note is worth knowing. Exit 1 if there is an error, 2 if
    a file that was asked for can't be read. On the show's own day notes are folded away; --level note tells them.
    """
    if explain is not None:
        return _explain(call, explain)
    reading = open_book(call)
    show = find(reading, show, "show")[1] if show is not None else None
    rig = find(reading, rig, "rig")[1] if rig is not None else None
    system = look_at_ports() if ports else None
    with working("checking"):
        found = run_rules(reading.book, show=show, rig=rig, ports=system)
    today = show is not None and reading.book.shows[show].date == tonight()
    least = level or ("warning" if today and not rules and not call.json else "note")
    asked = [finding for finding in found if not rules or finding.rule in rules]
    kept = [finding for finding in asked if LEVELS.index(finding.level) <= LEVELS.index(least)]
    folded = sum(finding.silenced is None for finding in asked) - sum(finding.silenced is None for finding in kept)
    about = None if show is None else {JOURNAL, *(reading.file(*name) for name in _asked(reading, show, rig))}
    wrong = [problem for problem in reading.problems if about is None or problem.file in about]
    wrong += _half_closed(reading)
    used = rig or reading.book.rig_of(reading.book.shows[show] if show is not None else None)
    if call.json:
        print_json(check_data(reading, show, used, ports, kept) | _errors(faults_of(wrong)))
    else:
        print_lines(check_lines(reading, show, used, kept, len(wrong), each_its_own=show is None and rig is None))
        if folded and level is None:
            print_lines([f"{plural(folded, 'note')} folded away tonight; --level note tells"])
    if {reading.file(*name) for name in reading.unread} & {problem.file for problem in wrong}:
        return UNREADABLE
    return ERRORS_FOUND if wrong or any(f.level == "error" and f.silenced is None for f in kept) else 0


def _asked(reading: "Reading", show: str, rig: str | None) -> list[tuple[str, str]]:
    """Kind and slug of each file that a show rests on, the book's own among them where that names its rig."""
    by_book = rig is None and reading.book.shows[show].rig is None
    return [*rests_on(reading, show, rig), *([("book", "")] if by_book else [])]


def _half_closed(reading: "Reading") -> list[Problem]:
    """Closings that a version from before there were journals left half done, said on standard error as well."""
    from showrunner.live.closing import half_done_records

    what, mend = (
        "closing this was stopped half way",
        "showrunner log SHOW --close --write, of any show, settles it first",
    )
    found = [Problem(record, None, "", what, mend) for record in half_done_records(reading.root)]
    for problem in found:
        click.echo(str(problem), err=True)
    return found


def _errors(faults: Sequence[Fault]) -> dict[str, Any]:
    return {"errors": [fault._asdict() for fault in faults]} if faults else {}


def check_data(
    reading: "Reading", show: str | None, rig: str | None, ports: bool, found: Sequence[Finding]
) -> dict[str, Any]:
    """Findings as JSON, each with its file and line; `silenced` is the reason written in the song, else null."""
    return {
        "show": show,
        "rig": rig,
        "ports": "looked at" if ports else "not looked at",
        "findings": [
            {
                "rule": finding.rule,
                "level": finding.level,
                "file": reading.file(finding.kind, finding.slug),
                "line": reading.line(finding.kind, finding.slug, finding.key),
                "key": dotted(finding.key),
                "song": finding.song,
                "cue": finding.cue,
                "what": finding.what,
                "why": finding.why,
                "mend": finding.mend,
                "silenced": finding.silenced,
            }
            for finding in found
        ],
    }


def check_lines(
    reading: "Reading",
    show: str | None,
    rig: str | None,
    found: Sequence[Finding],
    wrong: int = 0,
    *,
    each_its_own: bool = False,
) -> Iterator[str]:
    """Findings as text, by song, those with errors first; then the count, beside that of what is wrong in the files."""
    open_ones = [finding for finding in found if finding.silenced is None]
    for heading, of_song in _by_song(reading.book, open_ones).items():
        yield heading
        for finding in of_song:
            place = reading.file(finding.kind, finding.slug)
            line = reading.line(finding.kind, finding.slug, finding.key)
            at = place if line is None else f"{place}:{line}"
            cue = f", at {finding.cue}" if finding.cue is not None else ""
            yield f"  {finding.level}  {at}{cue}  [{finding.rule}]"
            yield from paragraph(finding.what, 4)
            yield from paragraph(finding.mend, 4)
        yield ""
    for finding in found:
        if finding.silenced is not None:
            yield from paragraph(f"silenced in {finding.song}: {finding.rule}, because {finding.silenced}", hang=2)
    on = " and each show on its own" if each_its_own and reading.book.shows else ""
    yield from paragraph(summary(reading.book, show, rig, open_ones, on, wrong), hang=2)
    if open_ones:
        yield f"More on a rule: showrunner check --explain {open_ones[0].rule}"


def summary(
    book: Book, show: str | None, rig: str | None, found: Sequence[Finding], also_on: str = "", wrong: int = 0
) -> str:
    """One line: what was checked, on which rig, how much was found, and how much kept it from being looked at."""
    about = book.shows[show].title if show is not None else book.name or "the book"
    on = f" on {book.rigs[rig].title}" if rig is not None and rig in book.rigs else ""
    counts = [(level, sum(finding.level == level for finding in found)) for level in LEVELS]
    said = ", ".join(plural(count, level) for level, count in counts if count)
    beside = f", beside {plural(wrong, 'problem')} in the files themselves" if wrong else ""
    return f"{about}{on}{also_on}: {said or 'nothing found'}{beside}"


def _by_song(book: Book, found: Sequence[Finding]) -> Mapping[str, list[Finding]]:
    groups: dict[str, list[Finding]] = {}
    for finding in found:
        song = book.songs.get(finding.song) if finding.song is not None else None
        document = getattr(book, f"{finding.kind}s", {}).get(finding.slug)
        heading = song.title if song is not None else getattr(document, "title", finding.slug or "the book")
        groups.setdefault(heading, []).append(finding)
    return groups


def _explain(call: Call, name: str) -> int:
    rules = RULES if name == "all" else (BY_NAME[rule_named(name)],)
    if call.json:
        print_json({"rules": [{k: v for k, v in rule._asdict().items() if k != "find"} for rule in rules]})
        return 0
    for index, rule in enumerate(rules):
        if index:
            click.echo()
        click.echo(f"{rule.name} ({rule.level})")
        for heading, text in rule.page:
            print_lines(paragraph(f"{heading}: {text}", 2, 4))
    return 0
