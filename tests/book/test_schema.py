import json
import re
from collections.abc import Iterator
from typing import Any

import pytest

from showrunner.book.schema import schema
from showrunner.model.library import KINDS, BookFile

EVERY_KIND = [*KINDS, "book"]


def tables(whole: dict[str, Any]) -> Iterator[dict[str, Any]]:
    """Every table of a schema that names its keys."""
    for node in (whole, *whole.get("$defs", {}).values()):
        yield from (table for table in (node, *node.get("anyOf", [])) if "properties" in table)


@pytest.mark.parametrize("kind", EVERY_KIND)
def test_a_schema_names_every_key_of_its_kind_and_what_must_be_there(kind: str) -> None:
    whole = json.loads(schema(kind))
    model = BookFile if kind == "book" else KINDS[kind]
    # JSON Schema draft 2020-12, section 8.1.1: the dialect is declared by $schema.
    assert whole["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    assert whole["properties"].keys() == model.model_fields.keys()
    assert set(whole["required"]) == {name for name, field in model.model_fields.items() if field.is_required()}
    assert whole["additionalProperties"] is False


@pytest.mark.parametrize("kind", EVERY_KIND)
def test_every_key_has_its_description(kind: str) -> None:
    silent = [
        name
        for table in tables(json.loads(schema(kind)))
        for name, field in table["properties"].items()
        if not field.get("description")
    ]
    assert silent == []


@pytest.mark.parametrize("kind", EVERY_KIND)
def test_no_schema_speaks_of_null_which_toml_does_not_have(kind: str) -> None:
    assert "null" not in schema(kind)


@pytest.mark.parametrize("kind", EVERY_KIND)
def test_every_reference_leads_somewhere(kind: str) -> None:
    whole = json.loads(schema(kind))
    assert set(re.findall(r'"#/\$defs/(\w+)"', schema(kind))) == whole.get("$defs", {}).keys()


def test_a_row_may_be_a_bare_list_or_a_table() -> None:
    move = json.loads(schema("song"))["$defs"]["Move"]
    assert [arm["type"] for arm in move["anyOf"]] == ["array", "object"]


def test_texts_with_a_form_of_their_own_are_text_with_an_example() -> None:
    duration = json.loads(schema("song"))["properties"]["duration"]
    assert (duration["type"], duration["examples"]) == ("string", ["6:40"])


def test_a_kind_that_is_none_has_no_schema() -> None:
    with pytest.raises(KeyError):
        schema("setlist")
