"""Plain documents (TOML) to the classes of the model, with one wording of what is wrong with them.

Nothing is read from the disk here: the caller hands over how to get at the text.
"""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Iterator
from typing import Any, TypeVar, get_args

from pydantic import BaseModel, ValidationError

from pushproof.errors import ConfigurationError

M = TypeVar("M", bound=BaseModel)


def load(
    model: type[M], read: Callable[[], str], where: str, *, missing: str = "no such file"
) -> M:
    """Return the document that a TOML text describes.

    Parameters
    ----------
    model
        Its class.
    read
        Gives the text.
    where
        What it is and where, for messages (``"recipe moss.toml"``).
    missing
        What to say where there is no such file.

    Raises
    ------
    ConfigurationError
        If it is missing, cannot be read, is not TOML or has faults; every fault is named.
    """
    try:
        document = tomllib.loads(read())
    except FileNotFoundError:
        raise ConfigurationError(f"{where}: {missing}") from None
    except (OSError, UnicodeDecodeError) as error:
        raise ConfigurationError(f"{where}: cannot be read: {error}") from error
    except tomllib.TOMLDecodeError as error:
        raise ConfigurationError(f"{where}: not valid TOML: {error}") from error
    return checked(model, document, where)


def checked(model: type[M], document: Any, where: str) -> M:
    """Return the document that a plain one describes.

    Raises
    ------
    ConfigurationError
        Naming every bad field, what was found and what is known.
    """
    try:
        return model.model_validate(document)
    except ValidationError as error:
        raise ConfigurationError(f"{where}: {faults(error, model)}") from error


def faults(error: ValidationError, model: type[BaseModel]) -> str:
    """Return every fault of a document in words: its place, what is wrong, what was found."""
    lines = []
    for fault in error.errors():
        place = ".".join(str(part) for part in fault["loc"]) or "document"
        if fault["type"] == "extra_forbidden":
            known = ", ".join(_fields_at(model, fault["loc"][:-1]))
            lines.append(f"{place}: unknown field" + (f" (known: {known})" if known else ""))
        elif fault["type"] == "missing":
            lines.append(f"{place}: is missing")
        else:
            whole = isinstance(fault["input"], dict)  # a fault between fields, not of a value
            found = "" if whole else f", found {_short(fault['input'])}"
            lines.append(f"{place}: {_plain(fault['msg'])}{found}")
    return "; ".join(lines)


def _plain(message: str) -> str:
    """Return a message of the validation with a small first letter; names keep theirs."""
    text = message.removeprefix("Value error, ")
    return text if text[1:2].isupper() else text[:1].lower() + text[1:]


def _short(value: Any) -> str:
    text = repr(value)
    return text if len(text) <= 200 else f"{text[:200]}..."


def _fields_at(model: type[BaseModel], place: tuple[int | str, ...]) -> list[str]:
    """Return the fields of the part of a document at a place, none where that is not known."""
    here = model
    for part in place:
        if part not in here.model_fields:
            continue  # the place in a list, or a key of a table of tables
        inner = next(_models(here.model_fields[str(part)].annotation), None)
        if inner is None:
            return []
        here = inner
    return list(here.model_fields)


def _models(annotation: Any) -> Iterator[type[BaseModel]]:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        yield annotation
    for inner in get_args(annotation):
        yield from _models(inner)
