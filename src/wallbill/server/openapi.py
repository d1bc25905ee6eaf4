"""The OpenAPI document of what programs may ask of the server (OpenAPI 3.1)."""

import json
from collections.abc import Mapping
from typing import Any

from wallbill import __version__
from wallbill.server.model import Form
from wallbill.server.refusing import PROBLEM, TEXT
from wallbill.server.reporting import report_schema

_MEDIA_TYPES = (
    (Form.PNG, "image/png"),
    (Form.BMP, "image/bmp"),
    (Form.PBM, "image/x-portable-bitmap"),
    (Form.PLATES, "application/octet-stream"),
)


def openapi(paths: Mapping[str, Any]) -> dict[str, Any]:
    """The document. ``paths``: path items of the rest of the server, in OpenAPI's form; one of a device goes before."""
    return {
        "openapi": "3.1.0",
        "info": {
            "title": "Wallbill",
            "version": __version__,
            "summary": "Pictures for the displays of a wall, and what displays say of themselves.",
        },
        "paths": {**paths, **_device_paths()},
        "components": {
            "schemas": {"Report": report_schema(), "Problem": _problem_schema()},
            "securitySchemes": {
                "key": {"type": "http", "scheme": "bearer", "description": "The display's key."}
            },
        },
    }


def openapi_bytes(paths: Mapping[str, Any]) -> bytes:
    """The document as JSON."""
    return json.dumps(openapi(paths), ensure_ascii=False, separators=(",", ":")).encode()


def _device_paths() -> dict[str, Any]:
    found: dict[str, Any] = {}
    for place, parameters, how in (
        ("{name}", ["name"], {"security": [{"key": []}]}),
        ("{name}/{key}", ["name", "key"], {"security": []}),
    ):
        wanted = [_parameter(name) for name in parameters]
        found[f"/displays/{place}/report"] = {"parameters": wanted, "post": {**_report(parameters), **how}}
        for form, media_type in _MEDIA_TYPES:
            item = {
                method: {**_picture(method, form, media_type, parameters), **how}
                for method in ("get", "head")
            }
            found[f"/displays/{place}/impression.{form}"] = {"parameters": wanted, **item}
    return found


def _report(parameters: list[str]) -> dict[str, Any]:
    refused = ((400, "No JSON object."), (401, "No key."), (404, "No such display for this key."),
               (413, "More than 4096 bytes."), (422, "A value that cannot be right."), (429, "Too often."))  # fmt: skip
    return {
        "operationId": _id("report", parameters),
        "summary": "What a display says of itself",
        "requestBody": {
            "required": True,
            "content": {"application/json": {"schema": {"$ref": "#/components/schemas/Report"}}},
        },
        "responses": {
            "204": {"description": "Taken."},
            **{
                str(status): {
                    "description": what,
                    "content": {PROBLEM: {"schema": {"$ref": "#/components/schemas/Problem"}}},
                    **_more_headers(status),
                }
                for status, what in refused
            },
        },
    }


def _picture(method: str, form: Form, media_type: str, parameters: list[str]) -> dict[str, Any]:
    refused = ((401, "No key."), (404, "No such display for this key."), (412, "A precondition does not hold."),
               (429, "Too often."), (503, "Nothing to show yet."))  # fmt: skip
    asked = [_header("If-None-Match"), _header("If-Modified-Since")]
    if form is Form.PLATES:
        what = "Entity tag of the plates that the device has; the part that changed may be sent then."
        asked.append({"name": "last", "in": "query", "description": what, "schema": {"type": "string"}})
    return {
        "operationId": _id(f"{method}_{form}", parameters),
        "summary": f"What the display is to show, as {form}",
        "parameters": asked,
        "responses": {
            "200": _given(media_type),
            "304": {
                "description": "Nothing new; come back when max-age says.",
                "headers": _fields("ETag", "Cache-Control"),
            },
            **{
                str(status): {
                    "description": what,
                    "content": {TEXT: {"schema": {"type": "string"}}},
                    **_more_headers(status),
                }
                for status, what in refused
            },
        },
    }


def _given(media_type: str) -> dict[str, Any]:
    return {
        "description": "The picture; come back when max-age says.",
        "headers": _fields("ETag", "Cache-Control", "Last-Modified", "Repr-Digest"),
        "content": {media_type: {}},
    }


def _more_headers(status: int) -> dict[str, Any]:
    if status == 401:
        return {"headers": _fields("WWW-Authenticate")}
    return {"headers": _fields("Retry-After")} if status in {429, 503} else {}


def _fields(*names: str) -> dict[str, Any]:
    return {name: {"required": True, "schema": {"type": "string"}} for name in names}


def _header(name: str) -> dict[str, Any]:
    return {"name": name, "in": "header", "schema": {"type": "string"}}


def _parameter(name: str) -> dict[str, Any]:
    return {"name": name, "in": "path", "required": True, "schema": {"type": "string", "minLength": 1}}


def _id(what: str, parameters: list[str]) -> str:
    return what if "key" not in parameters else f"{what}_by_path"


def _problem_schema() -> dict[str, Any]:
    """Problem details as RFC 9457 has them, with ``mend`` and ``faults`` added."""
    text = {"type": "string"}
    fault = {"type": "object", "properties": {"field": text, "what": text}, "required": ["field", "what"]}
    return {
        "type": "object",
        "properties": {
            "title": text,
            "status": {"type": "integer"},
            "detail": text,
            "mend": text,
            "faults": {"type": "array", "items": fault},
        },
        "required": ["title", "status", "detail", "mend"],
    }
