"""`checklist`: a show's lists asked in the terminal, what the program can see for itself looked at first."""

import time
from collections.abc import Mapping
from contextlib import suppress
from typing import Any

import click

from showrunner.cli.common import Call, command, find, find_show, open_book, trouble
from showrunner.cli.output import print_json
from showrunner.live.doubling import HOST_HEARS, Reading, Trial, judged
from showrunner.live.listening import Listening
from showrunner.live.ports import PortError
from showrunner.live.ticked import DONE, SEEN, answers, keep, lists_of, undone
from showrunner.live.verifying import Facts, Verdict, needs_ports, to_try, verified
from showrunner.model.checklist import Checklist, Item

STOPPED = "what was answered is kept; the same command goes on from here"
LOOKS_EVERY_S = 0.02
KEYS = "Enter: done, n: not done, q: stop"


@command(
    examples=(
        "showrunner checklist pellmarsh-hall",
        "showrunner checklist pellmarsh-hall --list line-check",
        "showrunner checklist pellmarsh-hall --json",
    )
)
@click.argument("show")
@click.option("--list", "wanted", metavar="LIST", help="Only this list, one of the book's.")
@click.option("--anew", is_flag=True, help="Forget what was answered before.")
def checklist(call: Call, show: str, wanted: str | None, anew: bool) -> int:
    """A show's checklists, one item at a time; answers are kept, and shared with the screens.

    What the program can see for itself it looks at first: ports, controls that are heard, batteries, findings, room
    on the disk, mains power, trims. Whether the host hears a pedal by itself as well it asks your ear, while it is
    moved and not passed on. With --json nothing is asked. Exit 1 while a critical item is not done.
    """
    reading = open_book(call)
    slug = find_show(reading, show)
    lists = lists_of(reading.book, slug)
    if wanted is not None:
        named = find(reading, wanted, "checklist")[1]
        lists = [(named, reading.book.checklists[named])]
    if not lists:
        raise trouble("the book has no checklist", "showrunner new checklist NAME makes one")
    rig = reading.book.rigs.get(reading.book.rig_of(reading.book.shows[slug]) or "")
    if anew:
        for name, the_list in lists:
            keep(reading.root, slug, name, dict.fromkeys(item.ask for item in the_list.items))
    asks_ports = any(needs_ports(item.verify or "") for _, the_list in lists for item in the_list.items)
    looking = Looking(Facts(reading.root, reading.book, slug, rig), asks_ports=asks_ports)
    try:
        if call.json:
            print_json({"show": slug, "lists": [_data(looking, name, the_list) for name, the_list in lists]})
        else:
            with suppress(StoppedError):
                for name, the_list in lists:
                    _ask(looking, name, the_list)
        left = {name: undone(the_list, answers(reading.root, slug, name)) for name, the_list in lists}
    finally:
        looking.close()
    if not call.json:
        for name, asks in left.items():
            for ask in asks:
                click.echo(f"critical and not done, {name}: {ask}")
    return 1 if any(left.values()) else 0


class StoppedError(Exception):
    """The player has asked to stop."""


class Looking:
    """What the program can see of a show; ports are opened only if some item is about them."""

    def __init__(self, facts: Facts, *, asks_ports: bool) -> None:
        self.facts = facts
        self._listening: Listening | None = None
        if facts.rig is not None and facts.show is not None and asks_ports:
            self._listening = Listening(facts.root, facts.show, facts.rig)

    def verdict(self, verify: str) -> Verdict:
        """What is seen of an item now."""
        if needs_ports(verify) and self._listening is not None:
            try:
                heard = self._listening.look(time.perf_counter())
            except PortError as error:
                return Verdict(None, f"the system's ports can't be looked at: {error}")
            self.facts = self.facts._replace(names=heard.names, reach=heard.reach, playing=heard.playing)
        return verified(verify, self.facts)

    def withhold(self, control: str) -> Trial:
        """Begin a try of whether the host hears a control itself."""
        if self._listening is not None:
            self._listening.withhold(control)
        return Trial(control, time.perf_counter())

    def tried(self, trial: Trial) -> Trial:
        """The try with what is read of its control now; Trouble if the ports can't be looked at."""
        now_s = time.perf_counter()
        try:
            held = self._listening.tried(trial.control, now_s) if self._listening is not None else Reading(False, False)
        except PortError as error:
            raise trouble(f"the system's ports can't be looked at: {error}") from error
        return trial.read(held, now_s)

    def close(self) -> None:
        """Let go of the ports."""
        if self._listening is not None:
            self._listening.close()


def _data(looking: Looking, name: str, the_list: Checklist) -> dict[str, Any]:
    facts = looking.facts
    said = answers(facts.root, facts.show, name)
    rows = []
    for item in the_list.items:
        verdict = looking.verdict(item.verify) if item.verify is not None else None
        rows.append(
            {
                "ask": item.ask,
                "answer": item.answer,
                "critical": item.critical,
                "who": item.who,
                "verify": item.verify,
                "verified": verdict.good if verdict is not None else None,
                "seen": verdict.said if verdict is not None else None,
                "answered": said.get(item.ask),
            }
        )
    return {"list": name, "title": the_list.title, "when": the_list.when, "items": rows}


def _ask(looking: Looking, name: str, the_list: Checklist) -> None:
    """One list; StoppedError if the player stops, and then what was answered is kept."""
    facts = looking.facts
    when = f", {the_list.when}" if the_list.when else ""
    said: Mapping[str, str] = answers(facts.root, facts.show, name)
    there = [item for item in the_list.items if said.get(item.ask) not in (DONE, SEEN)]
    click.echo(f"{the_list.title}{when}: {len(there)} of {len(the_list.items)} to do")
    for item in there:
        answer = _answer(looking, item)
        keep(facts.root, facts.show, name, {item.ask: answer})
    click.echo()


def _answer(looking: Looking, item: Item) -> str | None:
    who = f" ({item.who})" if item.who else ""
    critical = "critical: " if item.critical else ""
    click.echo(f"  {critical}{item.ask}: {item.answer or 'done'}{who}")
    control = to_try(item.verify, looking.facts.rig)
    heard = _by_ear(looking, control) if control is not None else None
    if heard is not None:
        return heard
    while True:
        verdict = looking.verdict(item.verify) if item.verify is not None else None
        if verdict is not None:
            click.echo(
                f"    {'seen' if verdict.good else 'not so' if verdict.good is False else 'not seen'}: {verdict.said}"
            )
            if verdict.good:
                return SEEN
        looks = "; l: look again" if verdict is not None else ""
        word = _prompt(f"    {KEYS}{looks}").lower()
        if word in ("", "y", "yes", "done"):
            again = looking.verdict(item.verify) if item.verify is not None else None
            if again is not None and again.good:
                click.echo(f"    {again}")
                return SEEN
            return DONE
        if word in ("q", "quit", "stop"):
            click.echo(STOPPED)
            raise StoppedError
        if word in ("n", "no"):
            why = _prompt("    why is it left?") if item.critical else ""
            return f"left: {why}" if why else None
        if word not in ("l", "look"):
            click.echo(f'    "{word}" is no answer here')


def _by_ear(looking: Looking, control: str) -> str | None:
    """Whether the host hears a control itself, as the player's ear tells; None where that was not tried."""
    if _prompt(f"    Enter: try it, then move {control} for two seconds and listen; s: don't try") != "":
        return None
    trial = looking.withhold(control)
    said = ""
    while (phase := trial.phase(time.perf_counter())) in ("waits", "move", "moving"):
        if trial.held and not said:
            said = trial.words(time.perf_counter())
            click.echo(f"    {said}")
        time.sleep(LOOKS_EVERY_S)
        trial = looking.tried(trial)
    if phase != "listen":
        click.echo(f"    {trial.words(time.perf_counter())}")
        return None
    while (word := _prompt(f"    {trial.words(time.perf_counter())} y/n").lower()) not in ("y", "yes", "n", "no"):
        click.echo(f'    "{word}" is no answer here')
    moved = word.startswith("y")
    click.echo(f"    {judged(control, moved=moved)}")
    return HOST_HEARS if moved else DONE


def _prompt(text: str) -> str:
    try:
        said: str = click.prompt(text, default="", show_default=False, prompt_suffix=" ")
    except click.Abort:
        click.echo(f"\n{STOPPED}")
        raise StoppedError from None
    return said.strip()
