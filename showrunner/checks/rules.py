"""Every rule, in the order they run."""

from showrunner.checks import controls, cues, guitars, hands, midi, ports, silences, targets
from showrunner.checks.finding import Rule

RULES: tuple[Rule, ...] = (
    controls.MISSING_RIG,
    ports.UNPLUGGED,
    controls.MISSING_CONTROL,
    controls.UNHEARD_CONTROL,
    targets.MISSING_TARGET,
    guitars.MISSING_GUITAR,
    guitars.MISSING_TUNING,
    hands.MISSING_POSITION,
    controls.STEP_SWITCH_USED,
    targets.TWO_CURVES,
    guitars.NOTE_NEVER_STOPPED,
    guitars.DRIVER_LEFT_ON,
    hands.BY_HAND_LEFT,
    cues.CUE_IN_GUARD,
    cues.CUES_TOO_CLOSE,
    controls.MEET_SPRINGS_BACK,
    controls.FEWER_BITS,
    midi.SAME_CONTROLLER,
    midi.RESERVED_CONTROLLER,
    midi.NO_LSB,
    silences.UNKNOWN_SILENCE,
    silences.UNUSED_SILENCE,
)
"""Unused silences come last: they ask what the others found."""

BY_NAME = {rule.name: rule for rule in RULES}
"""Rules by name, for explaining one and choosing some."""
