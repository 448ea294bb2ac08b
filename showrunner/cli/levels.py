"""`levels`: how loud recordings are, and the trims that match them."""

import math
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

import click

from showrunner.cli.common import Call, as_path, command, find, open_book, trouble
from showrunner.cli.output import caution, columns, number, paragraph, print_json, print_lines, width
from showrunner.cli.recording import need_numpy, progress, recording
from showrunner.levels.headroom import CEILING_DBTP
from showrunner.levels.match import SUSPECT_DB, Match, Measured, matched
from showrunner.model.cautions import LOUDER

if TYPE_CHECKING:
    from showrunner.levels.loudness import Loudness

BARS = " ▁▂▃▄▅▆▇█"
SHOWN_RANGE_LU = 24.0


class Of(NamedTuple):
    """A file, as typed, and how loud it is."""

    file: str
    loudness: "Loudness"


@command(
    examples=(
        "showrunner levels board-mix.wav",
        "showrunner levels low-lantern.flac --song low-lantern --write",
        "showrunner levels *.wav --match --target -18",
        "showrunner levels board-mix.wav --json",
    )
)
@click.argument("files", nargs=-1, required=True, metavar="FILE…")
@click.option("--song", metavar="SONG", help="The song that this one recording is of, at the rig's reference trims.")
@click.option("--write", is_flag=True, help="Write the loudness into the song's [level].")
@click.option("--match", is_flag=True, help="Propose a trim for each, so that all are equally loud.")
@click.option("--target", type=float, metavar="LUFS", help="How loud to match to; else where they meet.")
def levels(
    call: Call, files: tuple[str, ...], song: str | None, write: bool, match: bool, target: float | None
) -> None:
    """How loud recordings are: integrated, short-term and momentary loudness, range and true peak.

    Reads WAV, RF64, AIFF, CAF, AU, FLAC, Ogg Vorbis, Opus, MP3 and what else libsndfile reads, of any length, and
    measures by ITU-R BS.1770 and EBU Tech 3341 and 3342. No proposed trim takes a true peak over -3 dBTP. Needs the
    packages numpy and soundfile; without soundfile it reads plain WAV alone.
    """
    _check_usage(files, song, write, match, target)
    need_numpy()
    found = [Of(file, _measure(as_path(file))) for file in files]
    matches = _matches(found, target) if match else None
    wrote = _write(call, found[0], song) if song is not None and write else None
    if matches is not None and any(match.trim_db > 0 for match in matches.values()):
        caution(LOUDER)
    if call.json:
        print_json(levels_data(found, matches) | ({} if wrote is None else {"song": song, "wrote": wrote}))
    else:
        print_lines(levels_lines(found, matches))
        if song is not None:
            print_lines([f"\nwrote [level] into {wrote}" if wrote else f"\n--write puts it into the song {song}"])


def levels_data(found: Sequence[Of], matches: Mapping[str, Match] | None) -> dict[str, Any]:
    """The measures as JSON, and the proposed trims if they were asked for."""
    data: dict[str, Any] = {
        "files": [
            {
                "file": of.file,
                "integrated_lufs": of.loudness.integrated_lufs,
                "short_term_max_lufs": of.loudness.short_term_max_lufs,
                "momentary_max_lufs": of.loudness.momentary_max_lufs,
                "range_lu": of.loudness.range_lu,
                "true_peak_dbtp": of.loudness.true_peak_dbtp,
            }
            for of in found
        ]
    }
    if matches is not None:
        data["match"] = [{"file": file, **match._asdict()} for file, match in matches.items()]
    return data


def levels_lines(found: Sequence[Of], matches: Mapping[str, Match] | None) -> Iterator[str]:
    """The measures as text: a table, a plot over time for each, and the proposed trims."""
    rows: list[tuple[str, ...]] = [("", "integrated", "short-term", "momentary", "range", "true peak")]
    for of in found:
        heard = of.loudness
        loud = (heard.integrated_lufs, heard.short_term_max_lufs, heard.momentary_max_lufs)
        range_lu = "–" if heard.range_lu is None else f"{heard.range_lu:.1f} LU"
        rows.append(
            (Path(of.file).name, *(_said(v, "LUFS") for v in loud), range_lu, _said(heard.true_peak_dbtp, "dBTP"))
        )
    yield from columns(rows, indent=0, right=range(1, 6))
    for of in found:
        yield from _plot(of)
    if any(not math.isfinite(of.loudness.integrated_lufs) for of in found):
        yield ""
        yield from paragraph("– too short or too quiet to say; 0.4 s is the least, 3 s for short-term and range.")
    if matches is not None:
        yield from _proposed(found, matches)


def _check_usage(files: tuple[str, ...], song: str | None, write: bool, match: bool, target: float | None) -> None:
    if song is not None and len(files) != 1:
        raise click.UsageError("--song goes with one recording")
    if write and song is None:
        raise click.UsageError("--write needs to know the song; say --song SONG")
    if target is not None and not match:
        raise click.UsageError("--target goes with --match")
    if target is not None and not -120 <= target <= 0:
        raise click.UsageError("--target is a loudness from -120 to 0 LUFS")


def _measure(path: Path) -> "Loudness":
    from showrunner.levels.loudness import measure

    with recording(path) as opened:
        try:
            return measure(progress(path, opened), opened.rate_hz, opened.channels)
        except ValueError as error:
            raise trouble(str(error), file=str(path)) from None


def _matches(found: Sequence[Of], target: float | None) -> dict[str, Match]:
    return matched({of.file: Measured(of.loudness.integrated_lufs, of.loudness.true_peak_dbtp) for of in found}, target)


def _proposed(found: Sequence[Of], matches: Mapping[str, Match]) -> Iterator[str]:
    yield ""
    rows = []
    for of in found:
        match = matches.get(of.file)
        if match is None:
            rows.append((Path(of.file).name, "–", "too quiet to match"))
            continue
        said = f"{match.short_db:.1f} dB short: its peaks are in the way" if match.short_db > 0.05 else ""
        if not said and abs(match.trim_db) > SUSPECT_DB:
            said = f"beyond {SUSPECT_DB:g} dB: look for what is wrong first"
        rows.append((Path(of.file).name, f"{match.trim_db:+.1f} dB", said))
    yield f"trim_db that matches them, no true peak over {number(CEILING_DBTP)} dBTP"
    yield from columns(rows, right=(1,))


def _write(call: Call, of: Of, word: str) -> str:
    """Writes the loudness into the song's file, leaving the rest as it is; returns the file, relative to the book."""
    from showrunner.book.change import apply, edit
    from showrunner.book.save import digest, save

    reading = open_book(call)
    name = find(reading, word, "song")
    file, was = reading.file(*name), reading.sources[name]
    figures = {"integrated_lufs": of.loudness.integrated_lufs, "true_peak_dbtp": of.loudness.true_peak_dbtp}
    source = was
    for key, figure in figures.items():
        if not math.isfinite(figure):
            raise trouble("this recording is too short or too quiet to be a song's level", file=of.file)
        source = apply(source, edit(file, source, ("level", key), round(figure, 2)))
    save(reading.root / file, source, digest(was))
    return file


def _plot(of: Of) -> Iterator[str]:
    """Short-term loudness over time as one row of bars, the loudest moment full height."""
    values = [float(value) for value in of.loudness.short_term_lufs]
    top = of.loudness.short_term_max_lufs
    if len(values) < 2 or not math.isfinite(top):
        return
    room = max(1, min(len(values), width() - 2))
    cells = []
    for cell in range(room):
        part = values[cell * len(values) // room : (cell + 1) * len(values) // room]
        height = 1 + (max(part) - top) / SHOWN_RANGE_LU
        cells.append(BARS[max(0, math.ceil(height * (len(BARS) - 1))) if height > 0 else 0])
    yield ""
    yield from paragraph(
        f"{Path(of.file).name}, short-term over {of.loudness.seconds:.0f} s; full height {top:.1f} LUFS, "
        f"none {number(SHOWN_RANGE_LU)} LU below"
    )
    yield f"  {''.join(cells)}".rstrip()


def _said(level: float, unit: str) -> str:
    return f"{level:.1f} {unit}" if math.isfinite(level) else "–"
