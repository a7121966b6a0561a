"""The contract of the interface as an OpenAPI 3.1 document, made from the bodies it takes and the values it gives.

A test holds it against the routes, so a route without a contract, or the reverse, does not pass.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Any, Literal

from pydantic import TypeAdapter
from pydantic.json_schema import models_json_schema

from screener import __version__
from screener.dock import answers, bodies

API = "/api/v1"
_FILE = {"application/octet-stream": {"schema": {"type": "string", "format": "binary"}}}
_ID = {"type": "integer", "minimum": 0, "maximum": 2**31 - 1}
_LINE = {"type": "string", "minLength": 1, "maxLength": 60}
_SHOWS = {"type": "string", "enum": ["box", "face1", "face2", "other"]}
_NAME = {"type": "string", "maxLength": 300}
_PHOTO_FORM = {
    "multipart/form-data": {
        "schema": {
            "type": "object",
            "required": ["line", "shows", "photo"],
            "properties": {"line": _LINE, "shows": _SHOWS, "photo": {"type": "string", "format": "binary"}},
        }
    }
}
_ABOUT = (
    "Give “Authorization: Bearer TOKEN” (screener dock --token-file). 503 with Retry-After: busy, send the same again; "
    "nothing is lost or doubled by that. A result never says who made a part: it is what agreed, what did not, what "
    "was not checked, and what to do next."
)


@dataclass(frozen=True, slots=True)
class Operation:
    """One thing that can be asked."""

    method: Literal["get", "post", "put"]
    path: str
    summary: str
    gives: type
    status: int = 200
    takes: type[bodies.Body] | None = None
    file: dict[str, Any] | None = None
    query: tuple[tuple[str, dict[str, Any], bool], ...] = ()
    """(name, schema, whether it has to be given)."""


_LINE_QUERY = (("line", _LINE, True),)
_PHOTO_QUERY = (*_LINE_QUERY, ("shows", _SHOWS, False), ("name", _NAME, False))
_CHANGES_QUERY = (("after", _ID, False), ("wait", {"type": "integer", "minimum": 0, "maximum": 25}, False))
OPERATIONS: tuple[Operation, ...] = (
    Operation("get", "/deliveries", "Deliveries and single parts, newest first.", answers.Deliveries),
    Operation(
        "post",
        "/deliveries",
        "Begin a delivery from an order file (CSV or spreadsheet), or go on with the unfinished one of the same order.",
        answers.Opened,
        201,
        file=_FILE,
        query=(("name", _NAME, True),),
    ),
    Operation("get", "/deliveries/{run}", "A delivery with its lines as they stand.", answers.BenchDelivery),
    Operation("get", "/deliveries/{run}/line", "One line.", answers.BenchLine, query=_LINE_QUERY),
    Operation(
        "post", "/deliveries/{run}/finish", "The delivery is worked through.", answers.Opened, takes=bodies.Finished
    ),
    Operation("post", "/deliveries/{run}/photos", "Give a photo as a form.", answers.GotIt, 202, file=_PHOTO_FORM),
    Operation(
        "put",
        "/deliveries/{run}/photos/{sha256}",
        "Give a photo by the hash of its bytes. Sending the same again adds nothing.",
        answers.GotIt,
        202,
        file=_FILE,
        query=_PHOTO_QUERY,
    ),
    Operation(
        "post",
        "/deliveries/{run}/photos/withdraw",
        "Take a photo away from a line it does not belong to.",
        answers.BenchLine,
        takes=bodies.Withdrawal,
    ),
    Operation("post", "/deliveries/{run}/scans", "Add a scan.", answers.BenchLine, takes=bodies.Scan),
    Operation("post", "/deliveries/{run}/readings", "Add a reading.", answers.BenchLine, takes=bodies.Reading),
    Operation(
        "post", "/deliveries/{run}/corrections", "Correct a misreading.", answers.BenchLine, takes=bodies.Corrected
    ),
    Operation("post", "/parts", "Begin a single part.", answers.OpenedPart, 201, takes=bodies.Part),
    Operation("get", "/items/{item}", "One recorded answer with its history.", answers.Item),
    Operation("post", "/items/{item}/hold", "Keep an item back.", answers.Item, takes=bodies.Decision),
    Operation("post", "/items/{item}/release", "Let an item go.", answers.Item, takes=bodies.Decision),
    Operation("get", "/held", "Items kept back now.", answers.Held),
    Operation("get", "/suppliers", "What was received from each supplier.", answers.Suppliers),
    Operation("post", "/find", "The lines that a scanned code may belong to.", answers.Lines, takes=bodies.Text),
    Operation("post", "/decode", "The codes in a picture, which is not kept.", answers.Decoded, file=_FILE),
    Operation("get", "/changes", "What changed after an event.", answers.Changed, query=_CHANGES_QUERY),
)


@cache
def document() -> dict[str, Any]:
    """Return the contract."""
    taken = sorted({each.takes for each in OPERATIONS if each.takes}, key=lambda each: each.__name__)
    _, schemas = models_json_schema(
        [(model, "validation") for model in taken], ref_template="#/components/schemas/{model}"
    )
    paths: dict[str, Any] = {}
    given: dict[str, Any] = dict(schemas["$defs"])
    for each in OPERATIONS:
        paths.setdefault(API + each.path, {})[each.method] = _operation(each, given)
    return {
        "openapi": "3.1.0",
        "info": {"title": "screener dock", "version": __version__, "description": _ABOUT},
        "paths": paths,
        "components": {"schemas": given, "securitySchemes": {"token": {"type": "http", "scheme": "bearer"}}},
        "security": [{"token": []}],
    }


def _operation(each: Operation, given: dict[str, Any]) -> dict[str, Any]:
    described: dict[str, Any] = {
        "summary": each.summary,
        "operationId": "_".join([each.method, *(part.strip("{}") for part in each.path.split("/") if part)]),
        "parameters": [*_path_parameters(each.path), *_query_parameters(each)],
        "responses": {
            str(each.status): {"description": "Done.", "content": _json(_schema(each.gives, given))},
            "503": {"description": "Busy: send the same again.", "content": _json(_schema(answers.Fault, given))},
            "default": {"description": "Refused.", "content": _json(_schema(answers.Fault, given))},
        },
    }
    if each.takes is not None:
        body = _json({"$ref": f"#/components/schemas/{each.takes.__name__}"})
        described["requestBody"] = {"required": True, "content": body}
    if each.file is not None:
        described["requestBody"] = {"required": True, "content": each.file}
    return described


def _schema(value: type, given: dict[str, Any]) -> dict[str, Any]:
    """Return a reference to the schema of a value, adding it to ``given`` with what it is made of."""
    made = TypeAdapter(value).json_schema(mode="serialization", ref_template="#/components/schemas/{model}")
    given.update(made.pop("$defs", {}))
    given[value.__name__] = made
    return {"$ref": f"#/components/schemas/{value.__name__}"}


def _path_parameters(path: str) -> list[dict[str, Any]]:
    schemas = {"run": _ID, "item": _ID, "sha256": {"type": "string", "pattern": "^[0-9a-f]{64}$"}}
    return [
        {"name": name, "in": "path", "required": True, "schema": schema}
        for name, schema in schemas.items()
        if f"{{{name}}}" in path
    ]


def _query_parameters(each: Operation) -> list[dict[str, Any]]:
    return [
        {"name": name, "in": "query", "required": required, "schema": schema} for name, schema, required in each.query
    ]


def _json(schema: dict[str, Any]) -> dict[str, Any]:
    return {"application/json": {"schema": schema}}
