"""What tests need of the machine: where it is missing they do not run, and the end of the run says so.

With SHOWRUNNER_ALL_TESTS=1 in the environment a test that is skipped, for whatever reason, is a failure.
"""

import os
import shutil
from collections import Counter
from collections.abc import Generator, Iterable
from typing import Any, NoReturn

import pytest

ALL_TESTS = "SHOWRUNNER_ALL_TESTS"
PACKAGES = {"jackd": "jackd2", "nsenter": "util-linux", "tmux": "tmux", "unshare": "util-linux"}
"""Debian's package of each program that a test needs."""


def need(*programs: str) -> None:
    """Go on where all of these programs are there; else the test does not run."""
    missing = [program for program in programs if shutil.which(program) is None]
    if missing:
        did_not_run(f"no {' and no '.join(missing)} here")


def did_not_run(why: str) -> NoReturn:
    """End a test that can't run on this machine."""
    __tracebackhide__ = True
    pytest.skip(why)


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport() -> Generator[None, Any, Any]:
    """Count a test that did not run as failed where all must run."""
    return _all_must_run((yield))


@pytest.hookimpl(wrapper=True)
def pytest_make_collect_report() -> Generator[None, Any, Any]:
    """Count a file that was skipped as a whole as failed where all must run."""
    return _all_must_run((yield))


def _all_must_run(report: Any) -> Any:
    if report.skipped and not hasattr(report, "wasxfail") and os.environ.get(ALL_TESTS):
        report.outcome = "failed"
        report.longrepr = f"did not run: {_why(report)} ({ALL_TESTS} is set)"
    return report


def _why(report: Any) -> str:
    _file, _line, reason = report.longrepr
    return str(reason).removeprefix("Skipped: ")


def summary(skipped: Iterable[Any]) -> list[str]:
    """Which tests did not run and why, a line for each file and reason, and what to install; nothing if all ran."""
    counts = Counter((report.nodeid.partition("::")[0], _why(report)) for report in skipped)
    if not counts:
        return []
    packages = sorted({package for program, package in PACKAGES.items() if shutil.which(program) is None})
    return [
        f"{counts.total()} {'test' if counts.total() == 1 else 'tests'} did not run:",
        *(f"  {count} of {file}: {why}" for (file, why), count in sorted(counts.items())),
        *([f"To run them install (Debian's names): {' '.join(packages)}"] if packages else []),
    ]


@pytest.hookimpl(wrapper=True, tryfirst=True)
def pytest_sessionfinish(session: pytest.Session) -> Generator[None]:
    """Print the summary as the last lines of the run, after pytest's own; a worker of xdist prints nothing."""
    yield
    reporter = session.config.pluginmanager.getplugin("terminalreporter")
    if reporter is not None:
        for line in summary(reporter.stats.get("skipped", [])):
            reporter.write_line(line)
