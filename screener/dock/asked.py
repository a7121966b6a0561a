"""What a request asks, checked: numbers, texts and JSON bodies from outside."""

from __future__ import annotations

from typing import TYPE_CHECKING, TypeVar

from pydantic import BaseModel, ValidationError

from screener.errors import WrongUsage

if TYPE_CHECKING:
    from starlette.requests import Request

Model = TypeVar("Model", bound=BaseModel)
LARGEST = 2**31 - 1
"""Ids are 32-bit in every database."""
LARGEST_JSON_BYTES = 64_000


def number_of(request: Request, name: str, *, usual: int | None = None, most: int = LARGEST) -> int:
    """Return a whole number from the path or the query, from 0 to ``most``.

    Raises
    ------
    WrongUsage
        It is missing and there is no ``usual``, or it is no such number.
    """
    text = str(request.path_params.get(name, request.query_params.get(name, "")))
    if not text and usual is not None:
        return usual
    if not (text.isascii() and text.isdecimal() and len(text) <= 10 and int(text) <= most):
        raise WrongUsage(f"give a whole number from 0 to {most}.", where=name, code="number")
    return int(text)


def text_of(request: Request, name: str, *, usual: str | None = None) -> str:
    """Return a text from the query.

    Raises
    ------
    WrongUsage
        It is missing and there is no ``usual``.
    """
    text = request.query_params.get(name, usual)
    if text is None:
        raise WrongUsage("this has to be said in the address.", where=name, code="missing")
    return text


async def body_of(request: Request, model: type[Model]) -> Model:
    """Return the JSON body as ``model``.

    Raises
    ------
    WrongUsage
        It is too long, no JSON, or not what is asked for.
    """
    body = b""
    async for piece in request.stream():
        body += piece
        if len(body) > LARGEST_JSON_BYTES:
            raise WrongUsage("this is too long.", where="body", code="too_large")
    try:
        return model.model_validate_json(body)
    except ValidationError as error:
        first = error.errors(include_url=False, include_context=False, include_input=False)[0]
        where = ".".join(str(part) for part in first["loc"]) or "body"
        raise WrongUsage(f"{first['msg']}.", where=where, code="body") from error
