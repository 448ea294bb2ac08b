"""Rules on who moves a target: one control after another, across a song's curve sets."""

from collections.abc import Iterator, Mapping, Set
from itertools import pairwise

from showrunner.checks.context import Context, Facts
from showrunner.checks.finding import Finding, Rule
from showrunner.model.song import Curve


def _movers(facts: Facts, of_set: str | None, heard: Set[str]) -> Mapping[str, tuple[str, Curve]]:
    """The control and curve that move each target in a curve set; the first where two do."""
    movers: dict[str, tuple[str, Curve]] = {}
    for control, curve in facts.piece.song.curves.get(of_set or "", {}).items():
        if control in heard:
            for target in curve.moves:
                movers.setdefault(target, (control, curve))
    return movers


def _two_sources(context: Context) -> Iterator[Finding]:
    heard = {name for name, control in context.rig.controls.items() if not control.by_hand}
    for facts in context.songs:
        if len(facts.piece.song.curves) < 2:
            continue
        movers = {of_set: _movers(facts, of_set, heard) for of_set in facts.piece.song.curves}
        for before, moment in pairwise(facts.piece.moments):
            if moment.curves == before.curves:
                continue
            was = movers.get(before.curves or "", {})
            for target, (control, curve) in movers.get(moment.curves or "", {}).items():
                other = was[target][0] if target in was else control
                if other != control and curve.entry == "jump" and target not in facts.named(moment):
                    yield TWO_SOURCES.in_song(
                        facts,
                        (*facts.control_key(moment.curves or "", control), "moves", target),
                        cue=moment.name,
                        what=f'"{target}" goes from "{other}" over to "{control}" at "{moment.name}", by a jump',
                        why=f'"{control}" seldom stands where "{other}" has left the sound.',
                        mend=f'If it should go over unheard, write entry = "meet" or "glide" for "{control}" in '
                        f'"{moment.curves}", or set "{target}" at the cue.',
                    )


TWO_SOURCES = Rule(
    name="two-sources",
    level="note",
    find=_two_sources,
    looks_for="A target that another control takes over when a curve set comes in by a jump.",
    because="The value changes at the press of a switch, by as much as the two controls stand apart.",
    such_as="The verse has drive on swell, the lead has it on wash, and wash stands at heel when the lead comes in.",
    fix="Keep a target on one control through a song, or let the other take over by meeting or gliding.",
)
