"""Cautions where sound, mains or weight can hurt someone: one text each, shown wherever it applies.

They are the usual ones of the trade; local codes, the venue's rules and licensed practice come before them.
"""

HEARING = (
    "Protect your hearing: what is lost does not come back. Wear protection that suits the level, keep away from the "
    "loudspeakers, take quiet breaks. Limits differ by country; local rules and a licensed professional come first."
)
"""Where a day's sound is added up."""

SOUND_LIMIT = (
    "Protect your hearing and everyone else's: loud sound does lasting harm. "
    "Where the venue, the law or the person responsible on site asks for less, that holds."
)
"""Where a sheet says how loud it may be."""

REAL_PORTS = (
    "Over real ports a message can make it loud at once. Start quiet, protect your hearing, and keep a hand on a real "
    "volume control. The limits of the venue and local rules come first."
)
"""Before a show or a rehearsal is begun on real ports."""

LOUDER = (
    "This makes it louder. Turn down first and bring it up slowly, with hearing protection and a hand on a real volume "
    "control. The limits of the venue and local rules come first."
)
"""Before trims that raise the level, a full house, and trims that match songs."""

TRYING_VALUES = "Turn down and wear hearing protection before values are tried: one step can be very loud."
"""Where single values are sent to the host."""

SOUNDCHECK = "Start quiet, and wear hearing protection while levels are being found."
"""Before and during a soundcheck."""

MAINS = (
    "earthed outlets only, behind a residual-current device (RCD, GFCI); never lift an earth; no damaged lead, "
    "no liquids near it. Distribution and repairs are for a licensed electrician; local codes come first."
)
"""Where a stage is set up."""

LIFTING = (
    "know the weight, use a trolley, two people to what is heavy or awkward, clear the way first. What hangs "
    "overhead is for a qualified rigger; local rules come first."
)
"""Where gear is carried."""
