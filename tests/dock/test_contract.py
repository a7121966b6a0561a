"""The contract of the interface: held against the routes, and against whatever schemathesis thinks of.

Expectations: OpenAPI 3.1.0; schemathesis' own checks of statuses, content types and schemas of answers.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest
import schemathesis
from dock.conftest import ORDER, PROGRAM
from dock.servers import BUSY, Server, fake_server
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from schemathesis import GenerationMode
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    response_schema_conformance,
    status_code_conformance,
)

from screener.dock import api, live
from screener.dock.openapi import OPERATIONS, Operation, document

EXAMPLES = 12
CONFORMS = [status_code_conformance, content_type_conformance, response_schema_conformance]


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    folder = tmp_path_factory.mktemp("contract")
    with fake_server(str(folder / "record.sqlite"), folder / "photos") as started:
        with started.client() as client:
            # Something that small ids can hit.
            run = client.post("/api/v1/deliveries", params={"name": "o.csv"}, content=ORDER).json()["run_id"]
            client.post(f"/api/v1/deliveries/{run}/scans", json={"line": "1", "text": "6203-2RS"})
        yield started


@pytest.mark.parametrize("operation", OPERATIONS, ids=lambda each: f"{each.method} {each.path}")
def test_nothing_that_schemathesis_sends_is_our_fault(operation: Operation, server: Server) -> None:
    contract = schemathesis.openapi.from_dict(document())
    described = contract[f"/api/v1{operation.path}"][operation.method.upper()]
    modes = st.sampled_from([GenerationMode.POSITIVE, GenerationMode.NEGATIVE])

    @given(case=modes.flatmap(lambda mode: described.as_strategy(generation_mode=mode)))
    @settings(max_examples=EXAMPLES, deadline=None, suppress_health_check=list(HealthCheck))
    def send(case: schemathesis.Case) -> None:
        if operation.path == "/changes" and isinstance(case.query, dict):
            case.query.pop("wait", None)  # it would do what it says
        answer = case.call(base_url=server.address, headers=PROGRAM)
        assert answer.status_code < 500 or (answer.status_code == BUSY and answer.headers["retry-after"]), answer.text
        case.validate_response(answer, checks=CONFORMS)

    send()


def test_every_route_has_its_contract_and_the_reverse() -> None:
    routed = {
        (method.lower(), route.path)
        for route in (*api.routes(), *live.routes())
        for method in (route.methods or ())
        if route.path.startswith("/api/v1/") and method != "HEAD" and not route.path.endswith("openapi.json")
    }
    assert {(each.method, f"/api/v1{each.path}") for each in OPERATIONS} == routed


def test_the_list_of_addresses_in_the_documentation_is_whole() -> None:
    from screener.dock import app

    told = set(re.findall(r"``(?:GET |POST|PUT ) +(/api/v1/[^`?\s]*)", app.__doc__ or ""))
    assert told == {f"/api/v1{each.path}" for each in OPERATIONS}


def test_the_document_has_the_parts_that_openapi_asks_for() -> None:
    made = document()
    assert made["openapi"].startswith("3.1")
    names = [operation["operationId"] for path in made["paths"].values() for operation in path.values()]
    assert len(names) == len(set(names)), "OpenAPI 3.1.0, 4.8.10: operationId is unique"
    for path, operations in made["paths"].items():
        for operation in operations.values():
            given = {p["name"] for p in operation["parameters"] if p["in"] == "path"}
            assert given == set(re.findall(r"{(\w+)}", path)), "4.8.12: each part of the path is a parameter"
    references = set(re.findall(r"#/components/schemas/(\w+)", repr(made)))
    assert references <= set(made["components"]["schemas"])
