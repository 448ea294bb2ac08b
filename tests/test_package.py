"""What is handed on: the wheel and the sdist, each built here, and the licences of what is in them."""

import re
import sys
import tarfile
import zipfile
from email import message_from_string
from importlib import metadata
from pathlib import Path

import pytest
from hatchling import build

ROOT = Path(__file__).parents[1]
BINDING = "python-rtmidi" if sys.version_info < (3, 13) else "supriya-midi"


@pytest.fixture
def wheel(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> zipfile.ZipFile:
    monkeypatch.chdir(ROOT)
    return zipfile.ZipFile(tmp_path / build.build_wheel(str(tmp_path)))


def test_the_wheel_has_the_licences_of_all_that_is_in_it(wheel: zipfile.ZipFile) -> None:
    (info,) = {name.partition("/")[0] for name in wheel.namelist() if ".dist-info/" in name}
    said = message_from_string(wheel.read(f"{info}/METADATA").decode())
    assert said["License-Expression"] == "MIT AND OFL-1.1"
    for file in said.get_all("License-File", []):
        assert wheel.read(f"{info}/licenses/{file}") == (ROOT / file).read_bytes()
    assert set(said.get_all("License-File", [])) == {"LICENSE", "templates/fonts/LICENSE-Inter.txt"}
    fonts = [name for name in wheel.namelist() if name.endswith((".otf", ".ttf", ".woff2"))]
    assert fonts
    assert all("/fonts/Inter-" in name for name in fonts)


def test_the_wheel_brings_demo_book_templates_and_styles(wheel: zipfile.ZipFile) -> None:
    assert {f"showrunner/_shipped/{name}" for name in _files("shows", "templates")} <= set(wheel.namelist())
    assert set(_files("showrunner")) <= set(wheel.namelist())


def test_the_sdist_has_all_that_its_tests_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(ROOT)
    with tarfile.open(tmp_path / build.build_sdist(str(tmp_path))) as sdist:
        names = {name.partition("/")[2] for name in sdist.getnames()}
    top = {"README.md", "DEVELOPERS.md", "LICENSE", "pyproject.toml"}
    assert top | set(_files(".ci", ".pictures", "showrunner", "shows", "templates", "tests")) <= names


def test_the_readme_names_the_typeface() -> None:
    assert "typeface Inter" in (ROOT / "README.md").read_text(encoding="utf-8")


def test_every_library_that_the_midi_binding_brings_has_its_licence_told() -> None:
    told = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8").partition("## Licences")[2].partition("\n## ")[0]
    brought = {file.name for file in metadata.files(BINDING) or () if re.match(r"lib.*\.(so|dylib)\b", file.name)}
    assert f"| {BINDING} {metadata.version(BINDING)} |" in told
    for name in brought:
        assert re.match(r"[a-z]+", name)[0] in told


def _files(*folders: str) -> dict[str, Path]:
    """All files in folders of the checkout that belong to it, by their path from there."""
    files = [file for folder in folders for file in (ROOT / folder).rglob("*") if file.is_file()]
    return {file.relative_to(ROOT).as_posix(): file for file in files if "__pycache__" not in file.parts}
