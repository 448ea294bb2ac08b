"""Numbers the rules judge by: common practice, no published source; units in the names."""

CUES_APART_S = 2.0
"""Two cues nearer than this are hard to step to by foot."""

PEDAL_TO_SWITCH_S = 1.0
"""A foot's way between a pedal and a footswitch."""

PEDAL_TO_PEDAL_S = 1.5
"""A foot's way from one pedal to another."""
