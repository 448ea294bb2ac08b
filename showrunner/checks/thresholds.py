"""Numbers the rules judge by: common practice, no published source; units in the names."""

CUES_APART_S = 2.0
"""Two cues nearer than this are hard to step to by foot."""

PEDAL_TO_SWITCH_S = 1.0
"""A foot's way between a pedal and a footswitch."""

PEDAL_TO_PEDAL_S = 1.5
"""A foot's way from one pedal to another."""

PLACE_PCT = 10.0
"""How far off a pedal ends up, in travel, when it is placed without looking."""

DEAD_END_PCT = 3.0
"""Travel at heel and toe in which pedals often don't move their reading."""

JITTER_RAW = 1
"""How far a resting control's reading wavers, in raw values of 7 bits."""

SAME_SHARE = 0.03
"""Share of a target's range within which two values count as the same: where `meet` meets."""

NOTICE_S = 4.0
"""Least notice of a cue."""

NOTICE_BARS = 2
"""Notice of a cue where that is longer."""

GLANCE_WORDS = 5
"""Words that can be read at a glance."""

FAST_SWEEP_S = 0.25
"""A fast sweep from heel to toe."""

BOARD_MESSAGES_PER_S = 200
"""Most messages a floor board sends."""

LATE_MS = 10.0
"""Delay of a sound behind the foot that is noticed; the same as Wessel and Wright (2002) give for an action."""

SUSPECT_TRIM_DB = 6.0
"""A trim beyond this, up or down, is more likely a mistake than a need."""

AUDIBLE_STEP_DB = 0.5
"""A step in level up to this is taken for smooth."""

LOUDEST_OVER_THRESHOLD_DB = 80.0
"""How far over the threshold of hearing the top of a level's range is heard; for the smallest difference heard."""

HEARD_DOWN_TO_DB = 60.0
"""What lies further under the top of a level's range is not heard beside a band."""

STRETCH_OVER_DB = 2.0
"""How much louder than its show a stretch may be before the desk has to ride it."""
