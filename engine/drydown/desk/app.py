"""The desk as a web application: routes, what they take and what they give."""

from __future__ import annotations

import json
from collections.abc import Callable
from importlib.resources import files
from pathlib import PurePath
from typing import Any

from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response, StreamingResponse
from starlette.routing import Route

from ..errors import InputError
from ..report.drawing import hatch_css
from ..run.simulation import SimulationError
from .desk import Desk, Stale
from .events import Events
from .filing import Filing
from .guard import ATTACH, LOOKED_AT, TooLarge
from .handing_over import page_of, results_of, sheet_of
from .searching import entry_of, search

#: Kinds of the files of the page.
KINDS = {
    ".html": "text/html; charset=utf-8", ".css": "text/css; charset=utf-8", ".js": "text/javascript; charset=utf-8",
    ".svg": "image/svg+xml", ".png": "image/png", ".woff2": "font/woff2", ".json": "application/json",
    ".webmanifest": "application/manifest+json", ".toml": "application/toml", ".nc": "application/netcdf",
}  # fmt: skip
#: What the page of a result and the desk share.
SHARED = ("page.css", "explorer.js")


class Served:
    """A desk with its routes.

    Parameters
    ----------
    desk : Desk
    events : Events
    filing : Filing
    close : callable
        Ends what was begun for it.
    """

    def __init__(self, desk: Desk, events: Events, filing: Filing, close: Callable[[], None]) -> None:
        self.desk, self.events, self.close = desk, events, close
        self.ending: Callable[[], bool] = lambda: False
        do, done = desk, desk.doing

        def post(path: str, act: Callable[[dict[str, Any]], Any]) -> Route:
            return Route(path, _takes(act), methods=["POST"])

        routes = [
            Route("/", _static("index.html")),
            Route("/page/{name}", _static()),
            Route("/api/events", self._events),
            Route("/api/state", _gives(lambda _: do.state())),
            Route("/api/answer", _gives(lambda _: _there(done.shown(), "there is no answer yet"))),
            Route("/api/cards", _gives(lambda _: done.cards())),
            Route("/api/pins", _gives(lambda _: do.pinned())),
            Route("/api/files", _gives(lambda _: filing.listed())),
            Route("/api/search", _gives(self._search)),
            Route("/api/entry", _gives(lambda r: entry_of(r.query_params.get("name", ""), do.system))),
            post("/api/edit", lambda body: do.edit(body, body.pop("base", None))),
            post("/api/undo", lambda _: do.undo()),
            post("/api/redo", lambda _: do.redo()),
            post("/api/take", do.take),
            post("/api/pin", lambda body: do.pin(body.get("name"))),
            post("/api/unpin", lambda body: do.unpin(body.get("pin"))),
            post("/api/open", lambda body: filing.open(body.get("name"))),
            post("/api/upload", lambda body: filing.upload(body.get("name"), body.get("text"))),
            post("/api/save", lambda body: filing.save(body.get("name"), body.get("over"))),
            Route(ATTACH, _attach(filing), methods=["POST"]),
            Route("/file/case.toml", _hands_over(desk, "toml", lambda: filing.text().encode())),
            Route("/file/page.html", _hands_over(desk, "html", lambda: page_of(desk).encode())),
            Route("/file/sheet.html", _hands_over(desk, "html", lambda: sheet_of(desk).encode())),
            Route("/file/results.nc", _hands_over(desk, "nc", lambda: results_of(desk))),
        ]
        self.app = Starlette(routes=routes, exception_handlers={Exception: _failed, 404: _none, 405: _none})

    def _search(self, request: Request) -> Any:
        asked = request.query_params
        limit = asked.get("limit", "30")
        number = int(limit) if limit.isdecimal() and len(limit) < 4 else 30
        return search(asked.get("words", ""), asked.get("kind", ""), self.desk.system, number)

    async def _events(self, request: Request) -> Response:
        return StreamingResponse(self.events.listen(self.ending), media_type="text/event-stream")


class Missing(Exception):
    """What was asked for is not there."""


def _there(found: Any, why: str) -> Any:
    if found is None:
        raise Missing(why)
    return found


def _static(fixed: str = "") -> Callable[[Request], Any]:
    async def give(request: Request) -> Response:
        name = fixed or request.path_params["name"]
        if name == "hatches.css":
            return Response(hatch_css(), media_type=KINDS[".css"])
        home = files("drydown.report").joinpath("assets") if name in SHARED else files("drydown.desk").joinpath("page")
        there = {p.name: p for p in home.iterdir() if p.is_file()}
        kind = KINDS.get(PurePath(name).suffix)
        if name not in there or kind is None:
            return PlainTextResponse("there is nothing of that name\n", 404)
        return Response(there[name].read_bytes(), media_type=kind)

    return give


def _hands_over(desk: Desk, ending: str, make: Callable[[], bytes]) -> Callable[[Request], Any]:
    """Return a route that hands a file over; asked to look at it, a page is shown apart from the desk."""

    async def give(request: Request) -> Response:
        try:
            data = await run_in_threadpool(make)
        except InputError as error:
            return _json({"error": error.message, "at": error.where}, 422)
        except (SimulationError, OSError) as error:
            return _json({"error": str(error), "at": ""}, 422)
        headers = {"content-security-policy": LOOKED_AT}
        if ending != "html" or "look" not in request.query_params:
            stem = desk.now.path.stem if desk.now.path.suffix == ".toml" else "wall"
            stem = "".join(c if (c.isalnum() and c.isascii()) or c in "-_" else "-" for c in stem)
            headers["content-disposition"] = f'attachment; filename="{stem}.{ending}"'
        return Response(data, media_type=KINDS[f".{ending}"], headers=headers)

    return give


def _attach(filing: Filing) -> Callable[[Request], Any]:
    async def take(request: Request) -> Response:
        try:
            data = await request.body()
        except TooLarge as error:
            return _json({"error": str(error), "at": ""}, 413)
        return await _told(lambda: filing.attach(request.query_params.get("name", ""), data))

    return take


def _json(found: Any, status: int = 200) -> Response:
    text = json.dumps(found, ensure_ascii=False, allow_nan=False, separators=(",", ":"))
    return Response(text.encode(errors="replace"), status, media_type="application/json")


def _gives(act: Callable[[Request], Any]) -> Callable[[Request], Any]:
    """Return a route that gives what a function finds, as JSON."""

    async def route(request: Request) -> Response:
        return await _told(lambda: act(request))

    return route


def _takes(act: Callable[[dict[str, Any]], Any]) -> Callable[[Request], Any]:
    """Return a route that takes a table in JSON."""

    async def route(request: Request) -> Response:
        try:
            body = json.loads(await request.body() or b"{}")
        except TooLarge as error:
            return _json({"error": str(error), "at": ""}, 413)
        except (ValueError, RecursionError):
            return _json({"error": "that is no JSON", "at": ""}, 400)
        if not isinstance(body, dict):
            return _json({"error": "a table is needed", "at": ""}, 400)
        return await _told(lambda: act(body))

    return route


async def _told(act: Callable[[], Any]) -> Response:
    """Return what an act gives, or why it cannot, in one line."""
    try:
        return _json(await run_in_threadpool(act))
    except InputError as error:
        return _json({"error": error.message, "at": error.where}, 422)
    except Stale as error:
        return _json({"error": str(error), "at": ""}, 409)
    except Missing as error:
        return _json({"error": str(error), "at": ""}, 404)
    except OSError as error:
        return _json({"error": f"{error.strerror or error}", "at": str(error.filename or "")}, 422)


async def _failed(_: Request, error: Exception) -> Response:
    return _json({"error": f"the desk has a fault: {type(error).__name__}: {error}", "at": ""}, 500)


async def _none(_: Request, __: Exception) -> Response:
    return _json({"error": "there is nothing at that address", "at": ""}, 404)
