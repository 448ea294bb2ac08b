"""Every rule is explained, fires where it was planted, and only there."""

import re
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from showrunner.checks import thresholds
from showrunner.checks.finding import LEVELS, Finding
from showrunner.checks.rules import RULES
from showrunner.checks.run import SystemPorts, check
from showrunner.model.library import Book

CASES: dict[str, Any] = {
    rule: case
    for file in sorted((Path(__file__).parent / "cases").glob("*.toml"))
    for rule, case in tomllib.loads(file.read_text(encoding="utf-8")).items()
}
NAMES = [rule.name for rule in RULES]
BookOf = Callable[..., Book]


def found(healthy: dict[str, Any], book_of: BookOf, edits: dict[str, Any], ports: SystemPorts) -> tuple[Finding, ...]:
    edits = dict(edits)
    without = tuple(edits.pop("without", ()))
    for path in [path for path, value in edits.items() if value == "like full"]:
        edits[path] = healthy["rigs"]["full"] | {"title": f"{path.split('/')[1].title()} rig"}
    return check(book_of(healthy, edits, without), ports=ports)


def test_every_rule_has_a_case_and_every_case_a_rule() -> None:
    assert set(CASES) == set(NAMES)


def test_no_two_rules_share_a_name() -> None:
    assert len(set(NAMES)) == len(NAMES)


@pytest.mark.parametrize("rule", RULES, ids=NAMES)
def test_a_rule_is_explained(rule: Any) -> None:
    """Four headings, the same for all: the fault as a thing that can be seen, then why, an example and a remedy."""
    assert rule.level in LEVELS
    assert [heading for heading, _ in rule.page] == ["Looked for", "Because", "Such as", "Fix"]
    looked_for, because, such_as, fix = (text for _, text in rule.page)
    assert re.match(r"(A|An|Two) [a-z]", looked_for)
    assert all(len(text.split()) >= 5 for text in (looked_for, because, fix))
    assert all(text[0].isupper() and text.endswith(".") for text in (looked_for, because))
    assert such_as


FIGURES = {name: value for name, value in vars(thresholds).items() if name.isupper()}


@pytest.mark.parametrize("name", FIGURES)
def test_a_figure_that_rules_judge_by_is_told_and_marked(name: str) -> None:
    """As the code uses it, beside the words common practice: no page says another one, and none keeps it to itself."""
    figure = f"{FIGURES[name] * (100 if name.endswith('_SHARE') else 1):g}"
    marked = [rule.looks_for + rule.because for rule in RULES if "ommon practice" in rule.looks_for + rule.because]
    assert any(re.search(rf"(?<![\d.]){re.escape(figure)}(?![\d.]*\d)", page) for page in marked)


def test_nothing_is_found_in_the_healthy_book(healthy: dict[str, Any], book_of: BookOf, ports: SystemPorts) -> None:
    assert check(book_of(healthy), ports=ports) == ()


@pytest.mark.parametrize("name", NAMES)
def test_a_rule_fires_where_it_was_planted_and_no_other_does(
    name: str, healthy: dict[str, Any], book_of: BookOf, ports: SystemPorts
) -> None:
    case, level = CASES[name], next(rule.level for rule in RULES if rule.name == name)
    findings = found(healthy, book_of, case["fires"], ports)
    expect = case["expect"]
    assert [finding.rule for finding in findings] == [name] * expect.get("count", 1)
    finding = findings[0]
    assert "/".join(map(str, (finding.kind, finding.slug, *finding.key))) == expect["at"]
    assert finding.level == level
    assert expect["says"] in finding.what
    assert expect.get("mend", "") in finding.mend
    assert finding.why
    assert finding.mend


@pytest.mark.parametrize("name", NAMES)
def test_a_near_miss_stays_silent(name: str, healthy: dict[str, Any], book_of: BookOf, ports: SystemPorts) -> None:
    findings = found(healthy, book_of, CASES[name]["near"], ports)
    assert [finding for finding in findings if finding.silenced is None] == []
