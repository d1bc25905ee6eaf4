"""What a spec cannot do: load anything, run for ever, eat the memory; and what is said where the library is missing."""

import json
import os
import threading
import time
from collections.abc import Iterator
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any

import pytest
from tests.blocks.grammar.making import BARS, LOOK, TIDES, made

from wallbill.blocks.grammar import shell
from wallbill.blocks.grammar.shell import Limits, engrave
from wallbill.blocks.grammar.spec import Request, composed, read_spec
from wallbill.errors import SheetError

POINT: dict[str, Any] = {"mark": "point", "encoding": {"x": {"field": "x", "type": "quantitative"}}}


def asked(spec: dict[str, Any]) -> Request:
    """A request that has not been checked, as if the check had been passed by."""
    return Request(json.dumps(spec), "en-GB", "UTC")


def children() -> set[int]:
    """The processes that this one has started and that still run."""
    listed = Path(f"/proc/self/task/{os.getpid()}/children").read_text(encoding="ascii")
    return {int(number) for number in listed.split()}


@pytest.fixture
def server() -> Iterator[tuple[str, list[str]]]:
    """The address of a server, and the paths that were asked of it."""
    seen: list[str] = []

    class Answers(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            seen.append(self.path)
            self.send_response(200)
            self.end_headers()
            self.wfile.write(b'[{"x": 1}]')

        def log_message(self, format: str, *args: object) -> None:  # noqa: A002  the library's name
            pass

    listening = ThreadingHTTPServer(("127.0.0.1", 0), Answers)
    thread = threading.Thread(target=listening.serve_forever, daemon=True)
    thread.start()
    yield f"http://127.0.0.1:{listening.server_port}", seen
    listening.shutdown()
    listening.server_close()
    thread.join()


@pytest.mark.parametrize(
    ("spec", "field"),
    [
        ({**POINT, "data": {"url": "http://example.com/x.json"}}, "data.url"),
        ({"layer": [POINT, {**POINT, "data": {"url": "file:///etc/hostname"}}]}, "layer.1.data.url"),
        (
            {**POINT, "transform": [{"lookup": "a", "from": {"data": {"url": "x.csv"}, "key": "b"}}]},
            "transform.0.from.data.url",
        ),
    ],
)
def test_data_from_outside_is_refused_with_its_place(spec: dict[str, Any], field: str) -> None:
    with pytest.raises(SheetError, match="loads nothing from outside") as caught:
        composed(spec, None, look=LOOK, file="sheets/rain.json")
    assert caught.value.where.field == field
    assert caught.value.where.file == "sheets/rain.json"
    assert "facts.NAME" in caught.value.mend


def test_pictures_from_outside_are_refused() -> None:
    with pytest.raises(SheetError, match="holds no pictures"):
        composed({"mark": {"type": "image"}}, None, look=LOOK, file="")


def test_even_a_spec_that_passed_the_check_reaches_no_server(server: tuple[str, list[str]]) -> None:
    address, seen = server
    with pytest.raises(SheetError, match="not allowed"):
        engrave(asked({**POINT, "data": {"url": f"{address}/rows.json"}}), Limits())
    picture = {
        "data": {"values": [{"x": 1}]},
        "mark": {"type": "image", "url": f"{address}/quay.png", "width": 9, "height": 9},
        "encoding": {"x": {"field": "x", "type": "quantitative"}},
    }
    engrave(asked(picture), Limits())
    assert seen == []


@pytest.mark.parametrize(
    ("transform", "limits"),
    [
        ({"calculate": "length(sequence(0, 400000000))", "as": "x"}, Limits(20.0, 400 << 20)),
        ({"calculate": "length(sequence(0, 400000000))", "as": "x"}, Limits(0.8)),
        ({"calculate": "test('(a+)+$', pad('', 60, 'a') + 'b')", "as": "x"}, Limits(3.0)),
    ],
    ids=["memory", "time", "an expression that never ends"],
)
def test_a_hostile_spec_is_ended_and_leaves_no_process(transform: dict[str, Any], limits: Limits) -> None:
    before = children()
    spec = {**POINT, "data": {"values": [{"x": 1}]}, "transform": [transform]}
    began = time.monotonic()
    with pytest.raises(SheetError) as caught:
        engrave(asked(spec), limits)
    assert time.monotonic() - began < limits.seconds + 5
    assert caught.value.mend
    assert children() <= before


def test_billions_of_rows_from_nothing_are_ended() -> None:
    spec = {**POINT, "data": {"sequence": {"start": 0, "stop": 3_000_000_000, "as": "x"}}}
    with pytest.raises(SheetError, match=r"memory|given up"):
        engrave(asked(spec), Limits(10.0, 400 << 20))


def test_a_spec_nested_without_end_is_refused() -> None:
    deep: dict[str, Any] = POINT
    for _ in range(200):
        deep = {"layer": [deep]}
    with pytest.raises(SheetError, match="nested more than 60 deep"):
        composed(deep, None, look=LOOK, file="")
    with pytest.raises(SheetError, match="nested more than 60 deep"):
        read_spec("[" * 100_000, file="sheets/deep.json")


def test_too_much_data_is_refused() -> None:
    with pytest.raises(SheetError, match=r"5\.\d MiB of JSON, the most is 4"):
        composed(POINT, [{"x": "y" * 1000}] * 5300, look=LOOK, file="")


def test_too_much_to_be_drawn_is_refused() -> None:
    rows = {"sequence": {"start": 0, "stop": 25_000, "as": "x"}}
    with pytest.raises(SheetError, match="too much to be drawn"):
        made({**POINT, "data": rows})


@pytest.mark.parametrize(
    ("spec", "words"),
    [
        ({"mark": "cloud"}, "cannot be laid out"),
        ({**BARS, "transform": [{"calculate": "((", "as": "x"}]}, "cannot be laid out"),
        ({"$schema": "https://vega.github.io/schema/vega/v5.json", "marks": []}, "of another kind"),
    ],
)
def test_a_wrong_spec_is_told(spec: dict[str, Any], words: str) -> None:
    with pytest.raises(SheetError, match=words) as caught:
        made(spec, TIDES)
    assert len(caught.value.what) < 500
    assert caught.value.mend


def test_a_file_that_is_no_json_is_told_with_its_line() -> None:
    with pytest.raises(SheetError) as caught:
        read_spec('{\n"mark": "bar",\n}', file="sheets/rain.json")
    assert str(caught.value.where) in {"sheets/rain.json:3", "sheets/rain.json:2"}
    with pytest.raises(SheetError, match="JSON object"):
        read_spec("[]", file="sheets/rain.json")


def test_where_the_library_is_missing_its_extra_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(shell, "_LIBRARY", "no_such_library")
    with pytest.raises(SheetError, match="not installed") as caught:
        engrave(asked(BARS), Limits())
    assert 'pip install "wallbill[vega]"' in caught.value.mend
