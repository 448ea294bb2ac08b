"""What all documents share: strict, frozen all the way down, and the field types named once."""

from collections.abc import Mapping
from types import MappingProxyType
from typing import Annotated, Any, Literal, TypeVar

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, GetCoreSchemaHandler, PlainSerializer, Strict
from pydantic.json_schema import WithJsonSchema
from pydantic_core import CoreSchema, core_schema

from showrunner.model.units import (
    Meter,
    format_clock,
    format_length,
    parse_clock,
    parse_length,
    parse_meter,
    parse_note,
)

K = TypeVar("K")
V = TypeVar("V")
T = TypeVar("T")

MOST_ENTRIES = 1000
"""Entries that a list or table of a document may have: what grows with one times another stays small."""

_EMPTY: Mapping[Any, Any] = MappingProxyType({})


class PartError(ValueError):
    """What is wrong with one part of a document: `part` is its key below the document's, so that its line is told."""

    def __init__(self, what: str, *part: str | int) -> None:
        super().__init__(what)
        self.part = part


class Document(BaseModel):
    """A table of a file: no unknown keys, no coercion, no change after it is made."""

    model_config = ConfigDict(extra="forbid", frozen=True, strict=True, allow_inf_nan=False)


class _Frozen:
    """Turns a validated dict into a read-only mapping, and back when it is written out."""

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        key, value = source.__args__
        table = core_schema.dict_schema(
            handler.generate_schema(key), handler.generate_schema(value), max_length=MOST_ENTRIES
        )
        return core_schema.no_info_after_validator_function(
            MappingProxyType,
            table,
            serialization=core_schema.wrap_serializer_function_ser_schema(
                lambda mapping, write: write(dict(mapping)), schema=table
            ),
        )


Table = Annotated[Mapping[K, V], _Frozen()]
"""A read-only mapping of at most `MOST_ENTRIES`; a TOML table whose keys the user chooses."""

Row = Annotated[tuple[T, ...], Strict(False), Field(max_length=MOST_ENTRIES)]
"""A tuple of at most `MOST_ENTRIES`; a TOML array."""

Pair = Annotated[tuple[T, T], Strict(False)]
"""A tuple of two; a TOML array of two."""


def no_entries() -> Any:
    """An empty Table, for `Field(default_factory=…)`."""
    return _EMPTY


def _from_text(parse: Any, write: Any, title: str, example: str) -> tuple[Any, ...]:
    def read(value: object) -> object:
        if not isinstance(value, str):
            raise ValueError(f'{title} is written in quotes, as in "{example}"')
        return parse(value)

    return (
        BeforeValidator(read),
        PlainSerializer(write, return_type=str),
        WithJsonSchema({"type": "string", "examples": [example]}),
    )


_length, _clock, _meter = (
    _from_text(parse_length, format_length, "a length", "6:40"),
    _from_text(parse_clock, format_clock, "a clock time", "20:45"),
    _from_text(parse_meter, str, "a meter", "7/8"),
)

Length = Annotated[int, *_length]
"""Seconds; written `m:ss` or `h:mm:ss`."""

ClockTime = Annotated[int, *_clock]
"""Minutes after the midnight that starts the show's date; written `hh:mm`."""

MeterField = Annotated[Meter, *_meter]
"""A time signature; written `7/8`."""


def _check_note(name: str) -> str:
    parse_note(name)
    return name


Line = Annotated[str, Field(min_length=1, max_length=500, pattern=r"^[^\x00-\x1f\x7f-\x9f]*$")]
"""One line of text without control characters."""

Words = Annotated[str, Field(max_length=5000, pattern=r"^[^\x00-\x08\x0b-\x1f\x7f-\x9f]*$")]
"""Text that may run over several lines."""

NoteName = Annotated[Line, BeforeValidator(lambda v: _check_note(v) if isinstance(v, str) else v)]
"""A scientific pitch name, `F#3`."""


def _only_whole(value: object) -> object:
    if isinstance(value, bool | float):
        raise ValueError("this is not a whole number; write it without a decimal point")
    return value


Whole = BeforeValidator(_only_whole)
"""Keeps `true` and `1.0`, which equal 1, out of a Literal of whole numbers."""

Format = Annotated[Literal[1], Whole, Field(description="version of the file's layout; always 1")]
Channel = Annotated[int, Field(ge=1, le=16)]
Number = Annotated[int, Field(ge=0, le=127)]
Bits = Annotated[Literal[7, 14], Whole]
Percent = Annotated[float, Field(ge=0, le=100)]
Positive = Annotated[float, Field(gt=0)]
NotNegative = Annotated[float, Field(ge=0)]
MOST_DB, MOST_VALUE = 200.0, 1e12
"""As far as a trim can be put, in dB and in any other unit."""

Value = Annotated[float, Field(ge=-MOST_VALUE, le=MOST_VALUE)]
"""A value in a target's own unit; bounded so that no sum or difference of two overflows."""

Decibels = Annotated[float, Field(ge=-MOST_DB, le=MOST_DB)]
Bpm = Annotated[float, Field(ge=10, le=400)]
