"""What is lost when one control does another's work, in points: only their proportions count.

All are judgement, common practice without a source. A thousand is one target that does not move where it should.
"""

ROW_LOST = 1000
"""For each row of a curve that nothing moves any more: of the wanted control left out, or of a stand-in's own job."""

PLACE_LOST = 100
"""For each cue at which a stand-in should stand elsewhere for its own job."""

NO_MIDDLE = 50
"""A switch for anything that travels: for each row whose middle is lost, all but those that step."""

NO_HALF_WAY = 60
"""A switch for anything that travels: for each cue that wants it neither at heel nor at toe."""

HAND_AWAY = 60
"""A knob or selector: for each curve set in which a hand leaves the strings to turn it."""

FINGERS_BUSY = 25
"""A strip for anything under a foot or a hand's switch: for each curve set in which a finger has to be on it."""

PRESS_TO_END = 5
"""Something that travels for a switch: it has to be moved right to its ends."""

SPRINGS_BACK = 20
"""For each curve set in which a stand-in goes back by itself and the wanted control would stay."""

LETS_GO = 40
"""For each cue whose place a stand-in leaves by itself, unless it is held there."""

STAYS = 15
"""A stand-in stays where it is left, and the wanted control would go back by itself."""

COARSE_LEVEL = 15
"""For each row of a target that is level where a stand-in has less than half as many steps."""

COARSE = 4
"""The same for each row of any other target."""

OUT_OF_REACH = 30
"""For each row with a column that the wanted control reaches and the stand-in doesn't."""

LIMB_NEEDED = 40
"""For each cue at which the stand-in's limb is needed for something else, and the wanted control's was not."""

LIMB_SHARED = 15
"""For each curve set in which the stand-in's limb has another control to move, and the wanted control's had not."""

TWO_JOBS = 20
"""A stand-in that has its own job in other curve sets of the song."""

RESTS_ELSEWHERE = 10
"""A stand-in that rests elsewhere, in a song that doesn't say where the control starts."""

CHANGES_OVER_SHOW = 60
"""For every further control that does the work of the same one anywhere in the show: nobody relearns it per song."""

MID_TRAVEL_PCT = (10.0, 90.0)
"""Travel that is neither heel nor toe."""

REACH_PCT = 1.0
"""How much of the travel may be out of reach without being missed."""
