"""Rules on rooms: trims that a stage can't follow, headroom that isn't there."""

from collections.abc import Iterator

from showrunner.checks.context import Context, Facts
from showrunner.checks.finding import Finding, Rule
from showrunner.checks.thresholds import SUSPECT_TRIM_DB
from showrunner.levels.gain import Trims, trims
from showrunner.levels.headroom import (
    CEILING_DBTP,
    INPUT_GAIN,
    INPUT_HEADROOM_DB,
    INPUT_PEAK_OVER_NOMINAL_DB,
    INTERFACE_VOLUME,
    StageLevel,
    along_chain,
    what_to_turn,
)
from showrunner.model.venue import Venue
from showrunner.planning.song_levels import CutOff, cut_off, moved
from showrunner.planning.trims import of_cut_off


def _venue(context: Context) -> Venue | None:
    slug = context.show.venue if context.show is not None else None
    return context.book.venues.get(slug) if slug is not None else None


def _tonight(context: Context) -> Iterator[tuple[Facts, Trims]]:
    """Every song of the show with its trims, for a full house where that is louder."""
    if context.show is None:
        return
    venue, full = _venue(context), bool(_in_full_house(context))
    for facts in context.songs:
        yield facts, trims(context.rig, facts.piece.song, venue, context.show, full)


def _in_full_house(context: Context) -> str:
    """Words for what counts with a full house, nothing where that is no louder."""
    venue = _venue(context)
    return " in a full house" if venue is not None and venue.trims.full_house_db > 0 else ""


def _stages(context: Context) -> Iterator[tuple[Facts, StageLevel]]:
    """The stage with the least headroom to spare of every song of the show.

    Beyond the input only what was measured counts: a guess would find the same of every song.
    """
    for facts, found in _tonight(context):
        chain = along_chain(context.rig, facts.piece.song, found, moved(facts.piece, found))
        stages = [stage for place, stage in enumerate(chain) if stage.measured or place == 0]
        if stages:
            yield facts, min(stages, key=lambda stage: stage.spare_db)


def _suspect_trim(context: Context) -> Iterator[Finding]:
    for facts in context.songs:
        trim = facts.piece.song.trim_db
        if abs(trim) > SUSPECT_TRIM_DB:
            kind, slug, key = facts.place(("trim_db",))
            yield _suspect(kind, slug, key, f'"{facts.title}"', trim, facts.slug)
    venue, show = _venue(context), context.show
    for kind, of, offsets in (("venue", show.venue if show else None, venue), ("show", context.show_slug, show)):
        if offsets is None or of is None:
            continue
        for name in ("input_gain_db", "interface_volume_db"):
            trim = getattr(offsets.trims, name)
            if abs(trim) > SUSPECT_TRIM_DB:
                yield _suspect(kind, of, ("trims", name), offsets.title, trim, None)


def _suspect(kind: str, slug: str, key: tuple[str | int, ...], of: str, trim: float, song: str | None) -> Finding:
    return SUSPECT_TRIM.in_file(
        kind,
        slug,
        key,
        song=song,
        what=f"{of} is trimmed by {trim:+g} dB; trims are seldom over {SUSPECT_TRIM_DB:g} dB (common practice)",
        why="So much is more often a slip, or a level that is wrong elsewhere, and it eats headroom.",
        mend="Look for the cause where the level is made: the patch, the guitar's trim or the input gain.",
    )


SUSPECT_TRIM = Rule(
    name="suspect-trim",
    level="warning",
    find=_suspect_trim,
    looks_for=f"A trim of a song, a room or a show beyond {SUSPECT_TRIM_DB:g} dB (common practice).",
    because="Trims are for what a room or a song needs beyond a rig that is set right.",
    such_as="trim_db = 12",
    fix="Set the patch's own level, and keep trims small.",
)


def _trim_cut_off(context: Context) -> Iterator[Finding]:
    for facts, found in _tonight(context):
        for remark in found.remarks:
            empty = trims(context.rig, facts.piece.song, _venue(context), context.show).remarks
            full = _in_full_house(context) if remark not in empty else ""
            yield TRIM_CUT_OFF.in_song(
                facts,
                ("trim_db",),
                what=f"for {facts.title}{full}, {remark.what}",
                why="The song comes out at another level than was found at the soundcheck.",
                mend=f"{remark.mend[:1].upper()}{remark.mend[1:]}.",
            )
        for lost in cut_off(facts.piece, found):
            yield _offset_cut_off(context, facts, lost)


def _offset_cut_off(context: Context, facts: Facts, lost: CutOff) -> Finding:
    """An offset that takes a song past its target's range, placed where the offset is written."""
    venue, remark = _venue(context), of_cut_off(lost)
    in_room = venue is not None and lost.target in venue.trims.targets
    kind, slug = ("venue", context.show.venue if context.show else None) if in_room else ("show", context.show_slug)
    return TRIM_CUT_OFF.in_file(
        kind,
        slug or "",
        ("trims", "targets", lost.target),
        song=facts.slug,
        what=f"in {facts.title}, {remark.what}",
        why="The song sounds there as it would without that part of the trim.",
        mend=f"{remark.mend[:1].upper()}{remark.mend[1:]}.",
    )


TRIM_CUT_OFF = Rule(
    name="trim-cut-off",
    level="warning",
    find=_trim_cut_off,
    looks_for="A sum of trims, of rig, guitar, room, full house, show and song, that is more than a stage allows; or "
    "an offset that takes a song's values past their target's range.",
    because="A stage stops at its end, and the rest of the trim is lost.",
    such_as="Input gain 32 dB, +20 for the room and +12 for the guitar, on a stage that goes to 60 dB.",
    fix="Share the level differently between input gain, host and interface volume.",
)


def _low_headroom(context: Context) -> Iterator[Finding]:
    for facts, stage in _stages(context):
        if 0 < stage.headroom_db < stage.needed_db - 1e-9:
            yield LOW_HEADROOM.in_song(facts, ("level",), **_clipping(context, facts, stage))


def _clips(context: Context) -> Iterator[Finding]:
    for facts, stage in _stages(context):
        if stage.headroom_db <= 0:
            yield CLIPS.in_song(facts, ("level",), **_clipping(context, facts, stage))


_WRITTEN = {
    INPUT_GAIN: ": the guitar's trim_db, or input_gain_db of the room or the show",
    INTERFACE_VOLUME: ": this song's trim_db, or interface_volume_db of the room or the show",
}
"""Where the files say how far up something is turned."""


def _clipping(context: Context, facts: Facts, stage: StageLevel) -> dict[str, str]:
    turn = what_to_turn(context.rig, [one.stage for one in context.rig.gain].index(stage.stage))
    full = _in_full_house(context) if turn == INTERFACE_VOLUME else ""
    guess = (
        "" if stage.measured else f", with a guitar that peaks {INPUT_PEAK_OVER_NOMINAL_DB:g} dB over the working level"
    )
    left = f"has {stage.headroom_db:.1f} dB left" if stage.headroom_db > 0 else f"is {-stage.headroom_db:.1f} dB over"
    return {
        "what": f'"{stage.stage}" {left} at the loudest moment of "{facts.title}"{full}; {stage.needed_db:g} dB should '
        f"be kept (common practice){guess}",
        "why": "A show is played louder than its soundcheck, and what clips here is distorted in every loudspeaker.",
        "mend": f"Turn {turn} down {stage.needed_db - stage.headroom_db:.1f} dB{_WRITTEN.get(turn, '')}.",
    }


LOW_HEADROOM = Rule(
    name="low-headroom",
    level="warning",
    find=_low_headroom,
    looks_for="A stage of the gain chain at which a song's loudest moment, with tonight's trims, leaves less than "
    f"{INPUT_HEADROOM_DB:g} dB at the input or {-CEILING_DBTP:g} dB at an output (common practice).",
    because="On the night everything is played a little louder.",
    such_as="A song measured at -3 dBTP, with +2.5 dB of trims on the interface volume.",
    fix="Keep the margin; louder is the desk's and the loudspeakers' work.",
)

CLIPS = Rule(
    name="clips",
    level="error",
    find=_clips,
    looks_for="A stage of the gain chain that a song's loudest moment overloads with tonight's trims.",
    because="Clipping cannot be undone further on.",
    such_as="A song measured at -1 dBTP, with +4 dB of trims.",
    fix="Turn down where the chain first clips, and up after it.",
)


def _trim_without_target(context: Context) -> Iterator[Finding]:
    venue, show = _venue(context), context.show
    for kind, of, offsets in (("venue", show.venue if show else None, venue), ("show", context.show_slug, show)):
        if offsets is None or of is None or context.rig_slug not in context.book.rigs:
            continue
        for name in offsets.trims.targets:
            if name not in context.rig.targets:
                yield TRIM_WITHOUT_TARGET.in_file(
                    kind,
                    of,
                    ("trims", "targets", name),
                    what=f'{offsets.title} trims "{name}", and {context.rig.title} has no such target',
                    why="That part of what the room needs is lost on this rig.",
                    mend="Add the target to the rig, or find what does the same on it.",
                )


TRIM_WITHOUT_TARGET = Rule(
    name="trim-without-target",
    level="warning",
    find=_trim_without_target,
    looks_for="A target that the room or the show trims and the rig does not have.",
    because="A trim on a target that isn't there does nothing.",
    such_as='[trims.targets] "reverb mix" = -4 for a church, on a rig without that target.',
    fix="Name targets alike on all rigs.",
)
