"""The addresses of the page. `api.json` describes them; the server shows it under `/api.json`."""

import gzip
import json
import tempfile
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from importlib import resources
from pathlib import Path
from typing import Any
from urllib.parse import quote

from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import FileResponse, JSONResponse, PlainTextResponse, Response, StreamingResponse
from starlette.routing import Route

from purfle.errors import PurfleError
from purfle.web.artwork import safe_name
from purfle.web.gate import TooLarge
from purfle.web.hands import Gone, Hands
from purfle.web.open_job import OpenJob

STATIC = Path(str(resources.files("purfle") / "web" / "static"))
DESCRIPTION = STATIC.parent / "api.json"
KINDS = {".html": "text/html", ".css": "text/css", ".js": "text/javascript", ".svg": "image/svg+xml"}
MADE_KINDS = {".pdf": "application/pdf", ".svg": "image/svg+xml", ".png": "image/png", ".json": "application/json"}
FOR_LONG = {"cache-control": "private, max-age=31536000, immutable"}
"""Of what never changes under its address: fonts and figures of wood, which say nothing of the job."""
FONTS = ("text-400", "text-600", "figures-400", "figures-600")
DRESSES = ("seam", "thickness", "detail", "passes", "season", "cutters")
"""What can be asked for of a sentence; made by `dressing`, which the server does not load."""
Json = dict[str, Any]


class Pages:
    """What the addresses answer for one open job. `shelf`: the folder of this launch."""

    def __init__(self, folder: Path, shelf: Path) -> None:
        self.shelf = shelf
        self.hands = Hands(shelf)
        self.job = OpenJob(folder, self.hands)
        self.archive = shelf / "made.zip"

    def app(self) -> Starlette:
        """The application."""
        routes = [
            Route("/", self.page),
            Route("/static/{name}", self.static),
            Route("/font/{name}.woff", self.font),
            Route("/wood/{wood}/{size}/{seed}.jpg", self.wood),
            Route("/job", self.document),
            Route("/status", self.status),
            Route("/states", self.states),
            Route("/dress/{what}", self.dress),
            Route("/events", self.events),
            Route("/edit", self.edit, methods=["POST"]),
            Route("/artwork", self.artwork, methods=["POST"]),
            Route("/move", self.move, methods=["POST"]),
            Route("/take-over", self.take_over, methods=["POST"]),
            Route("/write", self.write, methods=["POST"]),
            Route("/cancel", self.cancel, methods=["POST"]),
            Route("/again", self.again, methods=["POST"]),
            Route("/api.json", self.description),
            Route("/made.zip", self.made_archive),
            Route("/made/{name}", self.made),
        ]
        return Starlette(
            routes=routes, lifespan=self._life, exception_handlers={PurfleError: _faults, TooLarge: _too_large}
        )

    @asynccontextmanager
    async def _life(self, _: Starlette) -> AsyncIterator[None]:
        await self.hands.hand("quick")
        yield
        await self.job.close()
        await self.hands.close()

    async def page(self, request: Request) -> Response:
        """The page itself."""
        return _small(request, STATIC / "page.html")

    async def static(self, request: Request) -> Response:
        """A part of the page, by its plain name."""
        name = request.path_params["name"]
        file = STATIC / name
        if name not in {one.name for one in STATIC.iterdir()} or file.suffix not in KINDS:
            return PlainTextResponse("There is no such file.\n", 404)
        return _small(request, file)

    async def font(self, request: Request) -> Response:
        """A font, cut down to what the page needs."""
        name = request.path_params["name"]
        if name not in FONTS:
            return PlainTextResponse("There is no such font.\n", 404)
        return await self._from_hand({"do": "font", "font": name}, "font/woff")

    async def wood(self, request: Request) -> Response:
        """The figure of a wood as a picture of so many mm."""
        try:
            wide, high = (min(4000.0, max(1.0, float(side))) for side in request.path_params["size"].split("x"))
        except ValueError:
            return PlainTextResponse("A size is two numbers with an x between them.\n", 404)
        named = {key: request.path_params[key] for key in ("wood", "seed")}
        look = request.query_params.get("look", "")
        ask = {"do": "wood", "size": [wide, high], **named, **({"look": look} if look in ("fresh", "aged") else {})}
        return await self._from_hand(ask, "image/jpeg")

    async def _from_hand(self, ask: Json, kind: str) -> Response:
        """A file that a hand makes, kept on the shelf under what was asked."""
        name = quote(json.dumps(ask, sort_keys=True), safe="")[-180:]
        file = self.shelf / f"file {name}"
        if not file.is_file():
            try:
                _, body = await self.hands.ask("pictures", ask)
            except Gone:
                return PlainTextResponse("It could not be drawn.\n", 503)
            if not body:
                return PlainTextResponse("There is no such thing.\n", 404)
            file.write_bytes(body)
        return FileResponse(file, media_type=kind, headers=FOR_LONG)

    async def document(self, request: Request) -> Response:
        """The job as the page draws it, with its status."""
        await self.job.open()
        status = json.dumps(self.job.status(request.query_params.get("page", ""))).encode()
        body = b'{"status":%s,"document":%s}' % (status, self.job.document or b"null")
        return Response(body, media_type="application/json")

    async def status(self, request: Request) -> Response:
        """Where the job stands."""
        return JSONResponse(self.job.status(request.query_params.get("page", "")))

    async def states(self, _: Request) -> Response:
        """Every state that the job has had."""
        return JSONResponse(self.job.states())

    async def dress(self, request: Request) -> Response:
        """What a chosen sentence dresses the drawing with."""
        what = request.path_params["what"]
        if what not in DRESSES:
            return PlainTextResponse("There is no such thing.\n", 404)
        return Response(await self.job.dress(what), media_type="application/json")

    async def events(self, request: Request) -> Response:
        """What happens, for as long as the page listens."""
        page = request.query_params.get("page", "")[:40]
        return StreamingResponse(self.job.events(page), media_type="text/event-stream")

    async def edit(self, request: Request) -> Response:
        """A change of the job."""
        given = await _json(request, {"changes": list})
        return _answer(await self.job.edit(_page(request), given))

    async def artwork(self, request: Request) -> Response:
        """A picture or drawing, as it is, with its name in the address: kept in the job folder, it is the design."""
        try:
            name = safe_name(request.query_params.get("name", ""))
        except PurfleError as refusal:
            return _answer(_told(refusal))
        with tempfile.NamedTemporaryFile(dir=self.shelf, prefix="come-") as come:
            async for part in request.stream():
                come.write(part)
            come.flush()
            return _answer(await self.job.bring(_page(request), name, Path(come.name)))

    async def move(self, request: Request) -> Response:
        """Undo, redo, or an earlier state brought back."""
        given = await _json(request, {"how": str})
        number = given.get("state", -1)
        return _answer(await self.job.move(_page(request), given["how"], number if isinstance(number, int) else -1))

    async def take_over(self, request: Request) -> Response:
        """Let this page write."""
        return JSONResponse(self.job.take_over(_page(request)))

    async def write(self, request: Request) -> Response:
        """Have sheets and files made, proven and written."""
        return _answer(self.job.start_writing(_page(request), self.archive))

    async def cancel(self, request: Request) -> Response:
        """End long work."""
        given = await _json(request, {"what": str})
        return JSONResponse(self.job.cancel(given["what"]))

    async def again(self, _: Request) -> Response:
        """Reckon what was stopped."""
        return JSONResponse(self.job.again())

    async def description(self, _: Request) -> Response:
        """Every address, machine-readable."""
        return FileResponse(DESCRIPTION, media_type="application/json")

    async def made_archive(self, _: Request) -> Response:
        """All files in one archive."""
        if self.job.made is None or not self.archive.is_file():
            return PlainTextResponse("Nothing was written yet.\n", 404)
        name = f"{self.job.made['slug']}.zip"
        return FileResponse(self.archive, media_type="application/zip", filename=name)

    async def made(self, request: Request) -> Response:
        """One file that was written."""
        name = request.path_params["name"]
        if self.job.made is None or name not in {one["name"] for one in self.job.made["files"]}:
            return PlainTextResponse("There is no such file.\n", 404)
        file = self.job.folder / "made" / name
        if not file.is_file():
            return PlainTextResponse("This file is not there any more; write the files again.\n", 404)
        kind = MADE_KINDS.get(file.suffix, "application/octet-stream")
        how = "inline" if file.suffix in (".pdf", ".png") else "attachment"
        return FileResponse(file, media_type=kind, filename=name, content_disposition_type=how)


def _small(request: Request, file: Path) -> Response:
    """A part of the page, packed where the browser unpacks it."""
    headers, data = {"cache-control": "no-cache", "vary": "accept-encoding"}, file.read_bytes()
    if "gzip" in request.headers.get("accept-encoding", ""):
        headers["content-encoding"], data = "gzip", gzip.compress(data, mtime=0)
    return Response(data, media_type=KINDS[file.suffix], headers=headers)


def _page(request: Request) -> str:
    return request.headers.get("x-purfle-page", "")[:40]


async def _json(request: Request, wanted: dict[str, type]) -> Json:
    """The body as an object that has these keys. Raises a fault."""
    try:
        found = json.loads(await request.body())
    except (ValueError, RecursionError):
        found = None
    if not isinstance(found, dict) or not all(isinstance(found.get(key), kind) for key, kind in wanted.items()):
        keys = ", ".join(wanted)
        raise PurfleError("This request cannot be used", request.url.path, f"Send a JSON object with: {keys}.")
    return found


def _answer(told: Json) -> Response:
    """What became of a change. One that is refused was understood: its faults are an answer, no failure."""
    return JSONResponse(told)


async def _too_large(_: Request, __: Exception) -> Response:
    return PlainTextResponse("Too much at once.\n", 413)


async def _faults(_: Request, refusal: Exception) -> Response:
    assert isinstance(refusal, PurfleError)
    return JSONResponse(_told(refusal), 422)


def _told(refusal: PurfleError) -> Json:
    return {"faults": [{"what": o.what, "where": o.where, "mend": o.mend, "key": ""} for o in refusal.faults]}
