"""What will go wrong before it does: the rules, one function each, and the run over all of them."""

from showrunner.checks.finding import Finding, Level, Rule
from showrunner.checks.rules import RULES

__all__ = ["RULES", "Finding", "Level", "Rule"]
