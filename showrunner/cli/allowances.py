"""The figures of common practice that a command reckoned with, in one line under what it prints."""

from collections.abc import Iterator

from showrunner.cli.output import paragraph
from showrunner.levels.headroom import CEILING_DBTP, INPUT_HEADROOM_DB, INPUT_PEAK_OVER_NOMINAL_DB, SOLO_LIFT_DB
from showrunner.model.rig import Instrument
from showrunner.model.units import format_length
from showrunner.planning.evidence import LIVE_STRETCH
from showrunner.planning.handwork import KNOB_S, PARK_S, SELECTOR_S, SWAP_S
from showrunner.planning.lineup import APPLAUSE_S, BREAK_S, WALK_OFF_S
from showrunner.planning.timing import FINISH_EARLY_S

PAUSES = f"applause {APPLAUSE_S:g} s; between sets {format_length(BREAK_S)}"
LIVE = f"songs run {round((LIVE_STRETCH - 1) * 100)} % long live"
ENDS = f"walking off {WALK_OFF_S:g} s; finish {FINISH_EARLY_S / 60:g} minutes early"
HANDS = (
    f"where the rig gives no seconds, another guitar {SWAP_S:g} s, a string to retune "
    f"{Instrument.model_fields['retune_s_per_string'].default:g} s, a capo "
    f"{Instrument.model_fields['capo_s'].default:g} s, a selector or switch {SELECTOR_S:g} s, a knob {KNOB_S:g} s, a "
    f"pedal to its place {PARK_S:g} s"
)
LEVELS = (
    f"a guitar peaks {INPUT_PEAK_OVER_NOMINAL_DB:g} dB over its working level; {INPUT_HEADROOM_DB:g} dB are kept at "
    f"the input and {-CEILING_DBTP:g} dB at outputs; a solo is lifted {SOLO_LIFT_DB:g} dB where a song says no levels"
)


def allowances(*figures: str) -> Iterator[str]:
    """The line, broken to fit."""
    yield from paragraph(f"Allowances (common practice): {'; '.join(figures)}.")
