"""What a document's model knows at a key path: its fields, their descriptions and what may stand there."""

import types
from collections.abc import Iterator, Mapping
from typing import Annotated, Any, Union, get_args, get_origin

from pydantic.fields import FieldInfo

from showrunner.model.document import Document
from showrunner.model.keys import KeyPath


def fields_at(model: type[Document], path: KeyPath) -> Mapping[str, FieldInfo]:
    """The fields of the table at a path; empty where its keys are the user's own or it is no table."""
    for annotation in _annotations_at(model, path):
        if isinstance(annotation, type) and issubclass(annotation, Document):
            return annotation.model_fields
    return {}


def field_at(model: type[Document], path: KeyPath) -> FieldInfo | None:
    """The field that a path ends in, None where the last step is a list item or one of the user's own keys."""
    return fields_at(model, path[:-1]).get(str(path[-1])) if path else None


def _annotations_at(model: type[Document], path: KeyPath) -> list[Any]:
    found: list[Any] = [model]
    for step in path:
        found = [inner for outer in found for inner in _inside(outer, step)]
    return found


def _inside(annotation: Any, step: str | int) -> Iterator[Any]:
    if isinstance(annotation, type) and issubclass(annotation, Document):
        field = annotation.model_fields.get(str(step))
        if field is not None:
            yield from _arms(field.annotation)
        return
    origin, parts = get_origin(annotation), get_args(annotation)
    if isinstance(step, int) and origin is tuple:
        yield from _arms(parts[0] if Ellipsis in parts or step >= len(parts) else parts[step])
    elif isinstance(step, str) and isinstance(origin, type) and issubclass(origin, Mapping):
        yield from _arms(parts[1])


def _arms(annotation: Any) -> Iterator[Any]:
    """The plain types that an annotation allows, without their constraints."""
    origin = get_origin(annotation)
    if origin is Annotated:
        yield from _arms(get_args(annotation)[0])
    elif origin in (Union, types.UnionType):
        for arm in get_args(annotation):
            yield from _arms(arm)
    else:
        yield annotation
