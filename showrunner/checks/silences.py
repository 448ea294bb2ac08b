"""Rules on rules: what a song silences, and whether there was anything to silence."""

from collections.abc import Iterator

from showrunner.checks.context import Context
from showrunner.checks.finding import Finding, Rule
from showrunner.model.nearest import nearest


def _unknown_silence(context: Context) -> Iterator[Finding]:
    for facts in context.songs:
        for name in facts.piece.song.quiet:
            if name not in context.rules:
                near = nearest(name, sorted(context.rules))
                yield UNKNOWN_SILENCE.in_song(
                    facts,
                    ("quiet", name),
                    what=f'"{name}" is silenced here, and there is no such rule'
                    + (f'; did you mean "{near}"?' if near is not None else ""),
                    why="What was meant to be silenced is still reported, or the rule has gone.",
                    mend=f'Write "{near}" instead.' if near is not None else "Take the entry out.",
                )


UNKNOWN_SILENCE = Rule(
    name="unknown-silence",
    level="warning",
    find=_unknown_silence,
    looks_for="An entry of a song's quiet table that names no rule.",
    because="A misspelt name silences nothing.",
    such_as='quiet = { "audible-stp" = "the swell is meant to step" }',
    fix="Copy the rule's name from the finding it is meant for.",
)


def _unused_silence(context: Context) -> Iterator[Finding]:
    for facts in context.songs:
        for name, reason in facts.piece.song.quiet.items():
            looked_at = context.ports is not None or name != "unplugged"
            if name in context.rules and looked_at and (facts.slug, name) not in context.fired:
                yield UNUSED_SILENCE.in_song(
                    facts,
                    ("quiet", name),
                    what=f'"{name}" is silenced here («{reason}»), and finds nothing to silence',
                    why="It would hide a new finding of that rule that nobody has looked at yet.",
                    mend="Take the entry out, unless it is there for another rig or show.",
                )


UNUSED_SILENCE = Rule(
    name="unused-silence",
    level="note",
    find=_unused_silence,
    looks_for="An entry of a song's quiet table whose rule found nothing in that song.",
    because="A silence left over from an earlier version hides what goes wrong next.",
    such_as='quiet = { "two-curves" = "never together" } in a song whose curve sets no longer share a target.',
    fix="Take it out; put it back with a reason if the finding returns.",
)
