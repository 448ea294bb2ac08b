"""What will go wrong before it does: the rules, one function each, and the run over all of them."""

from typing import TYPE_CHECKING, Any

from showrunner.checks.finding import Finding, Level, Rule

if TYPE_CHECKING:
    from showrunner.checks.rules import RULES

__all__ = ["RULES", "Finding", "Level", "Rule"]


def __getattr__(name: str) -> Any:
    """RULES, loaded when it is first asked for: a finding can be shown without what found it."""
    if name == "RULES":
        from showrunner.checks.rules import RULES

        return RULES
    raise AttributeError(name)
