"""`curve`: values and controller numbers, as data, tables and drawings."""

from pathlib import Path

import pytest


def test_json_has_the_shape_of_the_design_and_exact_numbers(run_json, book: Path):
    data = run_json("curve", "low-lantern", "--at", "0,75", "--book", book)
    assert data == {
        "song": "low-lantern",
        "curves": [
            {
                "set": "verse",
                "control": "swell",
                "rows": [
                    {
                        "travel": 0.0,
                        "targets": {
                            "echo mix": {"value": 0.0, "unit": "%", "number": 0},
                            "drive": {"value": 3.0, "unit": "dB", "number": 79},
                        },
                    },
                    {
                        "travel": 75.0,
                        "targets": {
                            "echo mix": {"value": 30.0, "unit": "%", "number": 38},
                            "drive": {"value": 7.5, "unit": "dB", "number": 103},
                        },
                    },
                ],
            }
        ],
    }


def test_without_travels_the_curves_own_columns_are_said(run_json, book: Path):
    rows = run_json("curve", "low-lantern", "--book", book)["curves"][0]["rows"]
    assert [row["travel"] for row in rows] == [0, 50, 100]


def test_a_target_the_rig_lacks_has_a_value_but_no_number(run_json, book: Path):
    row = run_json("curve", "low-lantern", "--rig", "small", "--book", book)["curves"][0]["rows"][2]
    assert row["targets"]["echo mix"] == {"value": 40.0, "unit": None, "number": None}


def test_text_has_a_row_for_each_target_with_its_numbers(run, book: Path):
    text = run("curve", "low-lantern", "--book", book).stdout
    assert "drive     dB  3 (79)   3 (79)  12 (127)" in text


def test_many_travels_are_broken_into_tables_that_fit(run, book: Path):
    travels = ",".join(str(at) for at in range(0, 101, 5))
    lines = run("curve", "low-lantern", "--at", travels, "--book", book).stdout.splitlines()
    assert max(map(len, lines)) <= 80
    assert sum(line.split()[0] == "travel" for line in lines) > 1


def test_plot_draws_within_the_terminal(run, book: Path):
    result = run("curve", "low-lantern", "--plot", "--book", book)
    lines = result.stdout.splitlines()
    assert result.exit_code == 0
    assert max(map(len, lines)) <= 80
    assert any("heel" in line and "toe" in line for line in lines)
    assert any("echo mix" in line for line in lines)


@pytest.mark.parametrize(
    ("args", "said"),
    [
        (("--at", "0,fifty"), '"fifty" is not a travel'),
        (("--at", "nan"), '"nan" is not a travel'),
        (("--at", "101"), '"101" is not a travel'),
        (("--set", "verze"), 'did you mean "verse"?'),
        (("--control", "fade"), "there are: swell"),
    ],
)
def test_wrong_usage_exits_2(args, said, run, book: Path):
    result = run("curve", "low-lantern", *args, "--book", book)
    assert result.exit_code == 2
    assert said in result.stderr


def test_a_song_without_curves_says_so(run, book: Path):
    (book / "songs/bare.toml").write_text('format = 1\ntitle = "Bare"\nduration = "1:00"\n')
    assert run("curve", "bare", "--book", book).stdout == "bare has no curves\n"
