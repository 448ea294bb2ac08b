"""Rules on rows and sets: values that can't be reached, rows that do nothing, sets that never come in."""

from collections.abc import Iterator

from showrunner.checks.context import Context, Facts, TargetRow
from showrunner.checks.finding import Finding, Rule
from showrunner.checks.targets import wanted
from showrunner.checks.words import amount
from showrunner.model.rig import Target


def _outside_range(context: Context) -> Iterator[Finding]:
    targets = context.rig.targets
    ends = {name: (min(target.range), max(target.range)) for name, target in targets.items()}
    for facts in context.songs:
        for row in facts.rows:
            if row.target in ends:
                low, high = ends[row.target]
                if row.low < low or row.high > high:
                    furthest = row.low if low - row.low > row.high - high else row.high
                    yield _outside(facts, row, targets[row.target], furthest)
        for moment in facts.naming:
            for name, value in facts.named(moment).items():
                if name in ends and not ends[name][0] <= value <= ends[name][1]:
                    yield OUTSIDE_RANGE.at_cue(
                        facts,
                        moment,
                        "targets",
                        name,
                        **_words(name, value, targets[name], f'at "{moment.name}"'),
                    )


def _outside(facts: Facts, row: TargetRow, target: Target, value: float) -> Finding:
    where = f'"{row.control}" in "{row.of_set}" at {row.travel[row.move.values.index(value)]:g} %'
    key = facts.row_key(row)
    return OUTSIDE_RANGE.in_song(facts, key, **_words(row.target, value, target, f"by {where}"))


def _words(name: str, value: float, target: Target, where: str) -> dict[str, str]:
    low, high = min(target.range), max(target.range)
    end = high if value > high else low
    return {
        "what": f'"{name}" is to go to {amount(value, target.unit)} {where}; it goes from {low:g} to '
        f"{amount(high, target.unit)}",
        "why": f"It stops at {amount(end, target.unit)}, and the rest of the movement does nothing.",
        "mend": f"Write {end:g} or less far, or mend the target's range in the rig if it really goes further.",
    }


OUTSIDE_RANGE = Rule(
    name="outside-range",
    level="error",
    find=_outside_range,
    looks_for="A value in a row, at the start or at a cue outside the range of its target.",
    because="What lies outside is cut off: the sound that was meant is never reached.",
    such_as="drive = [3, 18], where the target's range is [-12, 12].",
    fix="Stay inside the range, or correct the range in the rig.",
)


def _flat_row(context: Context) -> Iterator[Finding]:
    for facts in context.songs:
        for row in facts.rows:
            if row.low == row.high and len(row.travel) > 1:
                yield FLAT_ROW.in_song(
                    facts,
                    facts.row_key(row),
                    what=f'"{row.control}" doesn\'t move "{row.target}" in "{row.of_set}": {row.low:g} over its '
                    "whole travel",
                    why="The foot expects a change and hears none; the row holds the target where a cue may want it.",
                    mend=f'Set "{row.target}" at the cue or the start instead, or write the row that was meant.',
                )


FLAT_ROW = Rule(
    name="flat-row",
    level="note",
    find=_flat_row,
    looks_for="A row whose values are all the same.",
    because="Often a row that was started and never finished; as a fixed value it belongs to the cue.",
    such_as="drive = [6, 6, 6]",
    fix="Write targets = { drive = 6 } at the cue, or give the row its movement.",
)


def _unused_set(context: Context) -> Iterator[Finding]:
    for facts in context.songs:
        used = {moment.curves for moment in facts.piece.moments}
        for of_set in facts.piece.song.curves:
            if of_set not in used:
                yield UNUSED_SET.in_song(
                    facts,
                    ("curves", of_set),
                    what=f'no cue brings in the curve set "{of_set}"',
                    why="Its curves never come into force.",
                    mend=f'Write curves = "{of_set}" at the cue it is for, or take it out.',
                )


UNUSED_SET = Rule(
    name="unused-set",
    level="note",
    find=_unused_set,
    looks_for="A curve set that neither the start nor any cue names.",
    because="Often a cue was renamed or lost, and the part is played with the curves of the one before.",
    such_as='[curves.lead.swell] in a song whose cues never say curves = "lead".',
    fix="Name the set at its cue, or take it out of the file.",
)


def _trim_overridden(context: Context) -> Iterator[Finding]:
    volume = context.rig.trims.volume_target
    if volume is None:
        return
    for facts in context.songs:
        if volume not in facts.targets:
            continue
        key, use = wanted(facts, volume)
        yield TRIM_OVERRIDDEN.in_song(
            facts,
            key,
            what=f'"{volume}" is the interface volume that carries tonight\'s trims, and is also {use}',
            why="The room's, the show's and the song's trim are lost: this song comes out as loud as it was at home.",
            mend="Use another level target for the song's own dynamics.",
        )


TRIM_OVERRIDDEN = Rule(
    name="trim-overridden",
    level="warning",
    find=_trim_overridden,
    looks_for="A song that moves or sets the rig's volume_target itself.",
    because="One target cannot carry both the room's trim and the song's dynamics.",
    such_as='volume_target = "output" in the rig\'s trims, and targets = { output = -6 } at a cue.',
    fix="Keep volume_target for trims and mute; put a second level target in the host for songs.",
)


def _no_way_back(context: Context) -> Iterator[Finding]:
    rig, mute = context.rig, context.rig.mute
    target = rig.targets.get(mute.target) if mute is not None else None
    if mute is None or target is None or target.rest is not None or mute.target == rig.trims.volume_target:
        return
    if not all(_opens_at(facts, mute.target) for facts in context.songs):
        yield NO_WAY_BACK.in_file(
            "rig",
            context.rig_slug,
            ("targets", mute.target),
            what=f'"{mute.target}" mutes and has no rest: it stays down in a song that gives it no value as it begins',
            why="The output is muted before a song, and where it has no value nothing is sent to bring it back.",
            mend=f'Write rest under [targets."{mute.target}"] in the rig: where it stands when it sounds.',
        )


def _opens_at(facts: Facts, target: str) -> bool:
    """Whether a target has a value as the song begins: it is named, or a curve gives it one where its control is."""
    first, controls = facts.first, facts.piece.rig.controls
    curves = facts.piece.song.curves.get(first.curves or "", {})
    movers = (name for name, the in curves.items() if target in the.moves and name in controls)
    return target in first.targets or next(movers, None) in first.controls


NO_WAY_BACK = Rule(
    name="no-way-back",
    level="error",
    find=_no_way_back,
    looks_for="A rig that mutes by a target without a rest, and a song that gives that target no value as it begins.",
    because="Muting turns the target down; where nothing says to what it goes back, it stays down.",
    such_as='[mute] target = "output", no rest under [targets.output], and songs that never name it.',
    fix="Give the target that mutes a rest in the rig.",
)
