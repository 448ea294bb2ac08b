"""Every module here names the source of its values: ISO, IEC, ITU-R, EBU and the like, or a reference library."""

import ast
import re
from pathlib import Path

import pytest

SOURCE = re.compile(
    r"\b(ISO|IEC|ITU-R|EBU|SMPTE|NIOSH|CFR|HSE|NUREG|MIDI|SciPy|numpy|published discharge test|Jesteadt)\b"
)
MODULES = sorted(file for file in Path(__file__).parent.glob("test_*.py"))


@pytest.mark.parametrize("module", MODULES, ids=lambda file: file.stem)
def test_a_module_names_the_source_of_its_values(module: Path) -> None:
    tree = ast.parse(module.read_text(encoding="utf-8"))
    assert SOURCE.search(ast.get_docstring(tree) or "")


@pytest.mark.parametrize("module", MODULES, ids=lambda file: file.stem)
def test_no_figure_of_our_own_stands_among_published_ones(module: Path) -> None:
    if module.name != Path(__file__).name:
        said = re.findall(r"invented|made up|common practice", module.read_text(encoding="utf-8"), re.IGNORECASE)
        assert said == []
