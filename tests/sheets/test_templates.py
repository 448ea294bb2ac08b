"""A user's own copies of templates: they go first, and a broken one says where."""

import shutil
from pathlib import Path
from typing import Any, get_args

import pytest

from showrunner.model.library import Book
from showrunner.sheets.errors import SheetError
from showrunner.sheets.render import Audience, render


@pytest.fixture
def own(tmp_path: Path, templates: list[Path]) -> list[Path]:
    """An empty templates folder of the user's before the one that comes with the program."""
    (tmp_path / "sheets").mkdir()
    (tmp_path / "secrets.txt").write_text("not a template")
    return [tmp_path, *templates]


def write(own: list[Path], name: str, text: str) -> None:
    (own[0] / "sheets" / name).write_text(text, encoding="utf-8")


@pytest.mark.parametrize(("into", "suffix"), [("text", "txt"), ("md", "md"), ("html", "html")])
def test_a_users_template_goes_before_ours(book: Book, own: list[Path], into: Any, suffix: str) -> None:
    write(own, f"floor.{suffix}", "Only $show\n%each parts\n%each songs\n${label:>4}|${short:12}|$hands\n%end\n%end\n")
    sheet = render(book, "dock", "floor", into, own).decode().splitlines()
    assert sheet[:3] == [
        "Only A night at the dock",
        "   1|TIDE OVER   |string driver: fundamental",
        "   2|FERRY       |",
    ]


def test_a_users_page_goes_before_ours_and_still_finds_what_ours_share(book: Book, own: list[Path]) -> None:
    ours = render(book, "dock", "floor", "pdf", own)
    write(own, "floor.typ", '#import "look.typ": *\n#show: setup\n#data.show\n')
    assert render(book, "dock", "floor", "pdf", own) != ours


def test_a_users_look_changes_our_pages(book: Book, own: list[Path]) -> None:
    ours = render(book, "dock", "crew", "pdf", own)
    shutil.copy(own[1] / "sheets" / "look.typ", own[0] / "sheets" / "look.typ")
    assert render(book, "dock", "crew", "pdf", own) == ours
    look = (own[1] / "sheets" / "look.typ").read_text(encoding="utf-8")
    write(own, "look.typ", look.replace('paper = "a4"', 'paper = "us-letter"'))
    assert render(book, "dock", "crew", "pdf", own) != ours


@pytest.mark.parametrize(
    ("text", "line", "what"),
    [
        ("$show\n\n$shwo\n", 3, 'the sheet has nothing called "shwo" here; did you mean "show"'),
        ("%each parts\n$title\n", 1, "%each has no %end"),
        ("$show\n%if parts\n%each parts\n%end\n", 2, "%if has no %end"),
        ("$show\n%end\n", 2, "%end without %each or %if"),
        ("%each parts\n%else\n%end\n", 2, "%else belongs to %if"),
        ("%whenever parts\n%end\n", 1, "%whenever is no word of a template"),
        ("a\nb\n$ 5\n", 3, '"$ 5" is not a field'),
        ("${show:wide}\n", 1, "is not a field"),
        ("%each not parts\n%end\n", 1, '"not parts" is not a name'),
        ("%each show\n%end\n", 1, '"show" is not a list'),
        ("\n$parts\n", 2, '"parts" has parts of its own'),
        ("\n%include ../secrets.txt\n", 2, "there is no sheet template ../secrets.txt"),
        ("%if parts\n" * 40, 31, "more than 30 %each, %if and %include inside each other"),
        ("$show\n%include floor.txt\n", 2, "more than 30 %each, %if and %include inside each other"),
    ],
)
def test_a_broken_template_says_file_line_and_mend(
    book: Book, own: list[Path], text: str, line: int, what: str
) -> None:
    write(own, "floor.txt", text)
    with pytest.raises(SheetError) as caught:
        render(book, "dock", "floor", "text", own)
    assert (caught.value.file, caught.value.line) == (own[0] / "sheets" / "floor.txt", line)
    assert what in str(caught.value)
    assert caught.value.mend


@pytest.mark.parametrize(
    ("name", "text", "line"),
    [
        ("floor.typ", '#import "look.typ": *\n#show: setup\n\n#data.nothing\n', 4),
        ("floor.typ", "#let x = (1\n", 1),
        ("look.typ", "#let data = (:)\n#let setup(body) = body\n#let margin = nonsense\n", 3),
    ],
)
def test_a_broken_page_says_file_and_line(book: Book, own: list[Path], name: str, text: str, line: int) -> None:
    write(own, name, text)
    with pytest.raises(SheetError) as caught:
        render(book, "dock", "floor", "pdf", own)
    assert (caught.value.file, caught.value.line) == (own[0] / "sheets" / name, line)


@pytest.mark.parametrize(("into", "name"), [("text", "floor.txt"), ("pdf", "floor.typ")])
def test_a_template_that_is_not_utf_8_says_where(book: Book, own: list[Path], into: Any, name: str) -> None:
    (own[0] / "sheets" / name).write_bytes(b"a\nb \xff\n")
    with pytest.raises(SheetError, match="this is not UTF-8 text") as caught:
        render(book, "dock", "floor", into, own)
    assert (caught.value.file, caught.value.line) == (own[0] / "sheets" / name, 2)


def test_a_users_head_goes_on_every_page_and_its_mistakes_have_its_own_line(book: Book, own: list[Path]) -> None:
    write(own, "head.html", "<body>\n<h1>Mine: $show</h1>\n")
    for audience in get_args(Audience):
        assert render(book, "dock", audience, "html", own).startswith(b"<body>\n<h1>Mine: A night at the dock</h1>\n")
    write(own, "head.html", "<body>\n$nothing\n")
    with pytest.raises(SheetError) as caught:
        render(book, "dock", "desk", "html", own)
    assert (caught.value.file, caught.value.line) == (own[0] / "sheets" / "head.html", 2)


def test_a_missing_template_says_where_it_was_looked_for(book: Book, tmp_path: Path) -> None:
    with pytest.raises(SheetError, match=r"there is no sheet template floor\.txt in .*sheets"):
        render(book, "dock", "floor", "text", [tmp_path])


def test_a_template_can_ask_what_there_is(book: Book, own: list[Path]) -> None:
    asks = "%if optional\n$label may go\n%else\n%if not clock\n$label any time\n%end\n%end\n"
    write(own, "floor.txt", f"%each parts\n%each songs\n{asks}%end\n%end\n")
    assert render(book, "dock", "floor", "text", own).decode() == "2 may go\nR1 any time\n"


def test_a_template_can_go_through_plain_words(book: Book, own: list[Path]) -> None:
    write(own, "floor.txt", "%each parts\n%each songs\n%each changes\n$label: $item\n%end\n%end\n%end\n")
    changes = render(book, "dock", "floor", "text", own).decode().splitlines()
    assert changes[:3] == ["2: change to high", "2: tune to drop D", "2: capo 2"]


def test_remarks_doubled_signs_and_optional_lines(book: Book, own: list[Path]) -> None:
    write(own, "desk.txt", "%# not shown\n%%100 $$5\n%? Last time $last_time\n%? nothing $audience_of_none")
    with pytest.raises(SheetError, match="audience_of_none"):
        render(book, "dock", "desk", "text", own)
    write(own, "desk.txt", "%# not shown\n%%100 $$5\n%each parts\n%? set $title\n%end\n")
    assert render(book, "dock", "desk", "text", own).decode().splitlines() == ["%100 $5", "set encore", "set reserve"]


def test_a_long_line_goes_on_under_its_last_name(book: Book, own: list[Path]) -> None:
    write(own, "desk.txt", "Mind: $caution\n")
    first, second, third = render(book, "dock", "desk", "text", own).decode().splitlines()
    assert first.startswith("Mind: Protect")
    assert second.startswith("      ")
    assert not second[6:].startswith(" ")
    assert third.startswith("      ")
