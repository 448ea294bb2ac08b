"""JSON Schema (draft 2020-12) of the book's files, for editors that complete and check TOML by it."""

import json
from typing import Any

from showrunner.model.document import Document
from showrunner.model.library import KINDS, BookFile

_DIALECT = "https://json-schema.org/draft/2020-12/schema"


def schema(kind: str) -> str:
    """The schema of a kind of file (song, rig, venue, show, checklist, book) as text; KeyError for another kind."""
    model: type[Document] = BookFile if kind == "book" else KINDS[kind]
    made = model.model_json_schema()
    tables = {name: _plain(table) for name, table in made.pop("$defs", {}).items()}
    if "Move" in tables:
        tables["Move"] = _row_or_table(tables["Move"])
    whole = {"$schema": _DIALECT, "title": kind, **_plain(made)} | ({"$defs": tables} if tables else {})
    return json.dumps(whole, ensure_ascii=False, indent=2) + "\n"


def _plain(node: Any) -> Any:
    """Without null, which TOML doesn't have, and without titles and defaults that only repeat the key or say null."""
    if isinstance(node, list):
        return [_plain(item) for item in node]
    if not isinstance(node, dict):
        return node
    plain = {
        key: _plain(value) for key, value in node.items() if key not in ("title", "default", "anyOf", "properties")
    }
    if "properties" in node:
        plain["properties"] = {name: _plain(field) for name, field in node["properties"].items()}
    if "anyOf" in node:
        arms = [_plain(arm) for arm in node["anyOf"] if arm != {"type": "null"}]
        plain = (arms[0] | plain) if len(arms) == 1 else {"anyOf": arms, **plain}
    if isinstance(node.get("default"), str | int | float):
        plain["default"] = node["default"]
    if node.get("type") == "object" and "minLength" in plain:
        plain["minProperties"] = plain.pop("minLength")
    return plain


def _row_or_table(move: dict[str, Any]) -> dict[str, Any]:
    """A target's row may be a bare list of values, too."""
    return {"description": move["description"], "anyOf": [move["properties"]["values"], move]}
