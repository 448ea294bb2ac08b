"""A control's messages held back for a moment, so that an ear can tell whether the host hears the control itself."""

from showrunner.state.receiver import push
from showrunner.state.values import Withheld, Work

WITHHELD_S = 2.0
"""How long a control is withheld from its first movement on."""
WAITS_FOR_S = 10.0
"""How long its first movement is waited for."""


def withhold(work: Work, control: str) -> None:
    """Pass nothing on from a control until it has been moved for two seconds, or was not moved for ten."""
    the, rig = work.script.rig.controls.get(control), work.script.rig
    if the is None or the.by_hand or rig.routing == "beside":
        work.show("nothing", f"{control} does not pass through here: nothing to be withheld")
        return
    work.withheld[control] = Withheld(work.at_s + WAITS_FOR_S)
    work.show("withheld", control)


def moved(work: Work, control: str) -> None:
    """The first movement of a control that is withheld starts its two seconds."""
    held = work.withheld.get(control)
    if held is not None and held.moved_s is None:
        work.withheld[control] = Withheld(work.at_s + WITHHELD_S, work.at_s)


def pass_time(work: Work) -> None:
    """Controls withheld long enough are passed on again, and what they move catches up."""
    for control in [control for control, held in work.withheld.items() if work.at_s >= held.until_s]:
        del work.withheld[control]
        push(work, [name for name, aim in work.aims.items() if aim.control == control])
        work.show("passed on", control)
