"""The routes of the page. Each job that is opened has a process of its own behind it."""

from __future__ import annotations

import asyncio
import json
import tomllib
from collections.abc import AsyncIterator, Awaitable, Callable, Sequence
from contextlib import asynccontextmanager
from dataclasses import fields
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import UploadFile
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import FileResponse, JSONResponse, Response, StreamingResponse
from starlette.routing import Mount, Route
from starlette.staticfiles import StaticFiles

from marker.errors import FaultyInput, MarkerError
from marker.jobfile.reference import names, reference
from marker.outputs.folders import LAYOUT, job_folder
from marker.web.dropped import LARGEST_DRAWINGS, Dropped, Told, kept_in
from marker.web.folder import PICTURE, JobFolder, JobPlace, Shelf
from marker.web.making import check_picture, garments, import_job, make_job
from marker.web.process import STOP, Failure, RequestFailed, Values, WorkerProcess
from marker.web.security import Gate
from marker.web.waiting_desk import OPEN, WaitingDesk

STATIC = Path(__file__).parent / "static"
HEARTBEAT_SECONDS = 15.0
"""How often a silent stream of events says that it is still there."""

LOOKED_UP_EVERY_SECONDS = 0.5
"""How often it sees whether anybody listens, and whether the server is to end."""

MOST_OPEN = 6
"""Jobs that have a process at one time; the one that was asked longest ago makes room."""

_TOLD = tuple(each.name for each in fields(Told))
_CANNOT, _FAULTY, _NOT_FOUND = 409, 422, 404


def create_app(folder: Path, hosts: Sequence[str], secret: str) -> Starlette:
    """The page on a folder of jobs, for these values of the Host header and this secret.

    `state.end` : to be called when the server is to end, so that nobody who waits holds it up.
    """
    page = _Page(JobFolder(folder))
    job = "/api/jobs/{job}"
    routes = [
        Route("/", lambda _: FileResponse(STATIC / "index.html")),
        Mount("/static", StaticFiles(directory=STATIC)),
        Route("/api/jobs", page.jobs),
        Route("/api/jobs", page.make, methods=["POST"]),
        Route("/api/garments", page.garments),
        Route("/api/reference", page.reference),
        Route("/api/drawings", page.import_drawings, methods=["POST"]),
        Route(job, page.asked("job")),
        Route(f"{job}/desk", page.asked("desk")),
        Route(f"{job}/layout", page.asked("layout")),
        Route(f"{job}/picture", page.picture),
        Route(f"{job}/trying", page.asked("trying")),
        Route(f"{job}/kept", page.asked("kept")),
        Route(f"{job}/bought", page.asked("bought")),
        Route(f"{job}/findings", page.asked("findings")),
        Route(f"{job}/pattern", page.asked("pattern")),
        Route(f"{job}/text", page.asked("text")),
        Route(f"{job}/bands", page.asked("bands")),
        Route(f"{job}/pages", page.asked("pages")),
        Route(f"{job}/events", page.events),
        Route(f"{job}/file", page.file),
        Route(f"{job}/check", page.check),
        Route(f"{job}/order", page.order, methods=["POST"]),
        Route(f"{job}/drawings", page.add_drawings, methods=["POST"]),
        Route(f"{job}/{{room}}/{{what}}", page.act, methods=["POST"]),
    ]

    @asynccontextmanager
    async def lifespan(_app: Starlette) -> AsyncIterator[None]:
        page.begin()
        yield
        page.close()

    app = Starlette(
        routes=routes,
        middleware=[Middleware(Gate, hosts=hosts, secret=secret)],
        exception_handlers={RequestFailed: _failed, FaultyInput: _faulty, MarkerError: _missing},
        lifespan=lifespan,
    )
    app.state.end = page.leave
    return app


Handler = Callable[[Request], Awaitable[Response]]


class _Page:
    """The folder, and the process of each job that is open."""

    def __init__(self, folder: JobFolder) -> None:
        self._folder = folder
        self._open: dict[str, WorkerProcess] = {}
        self._spare: WorkerProcess | None = None
        self._shelf: WorkerProcess | None = None
        self._opening = asyncio.Lock()
        self._ending = False

    def begin(self) -> None:
        """Have a process ready, so that the first job opens at once."""
        self._spare = WorkerProcess(WaitingDesk)

    def leave(self) -> None:
        """Let go of all who wait for something; from any thread."""
        self._ending = True
        for process in self._processes:
            process.give_up()

    def close(self) -> None:
        for process in self._processes:
            process.end()

    @property
    def _processes(self) -> list[WorkerProcess]:
        return [*self._open.values(), *filter(None, [self._spare, self._shelf])]

    async def jobs(self, _request: Request) -> Response:
        """Every job of the folder: id, name, path, and whether a layout is stored."""
        return JSONResponse(await run_in_threadpool(self._listed))

    async def picture(self, request: Request) -> Response:
        """The layout that stands for a job, in little."""
        place = self._folder.job(request.path_params["job"])
        if self._shelf is None or not self._shelf.alive:
            self._shelf = WorkerProcess(Shelf)
        body = {"path": str(place.path), "outputs": str(self._folder.outputs)}
        return JSONResponse(await self._shelf.ask(PICTURE, body))

    async def garments(self, _request: Request) -> Response:
        """The garments that can be drafted, with their measures and options."""
        return JSONResponse(await run_in_threadpool(garments))

    async def reference(self, request: Request) -> Response:
        """What a job file may say, `?about=piece.fold`, and the names of all that it tells of."""
        about = request.query_params.get("about", "")
        text = await run_in_threadpool(reference, about) if about else ""
        return JSONResponse({"text": text, "names": names()})

    async def make(self, request: Request) -> Response:
        """A new job: a garment from measures, or a starter."""
        path = await run_in_threadpool(make_job, self._folder.root, await _body(request))
        return JSONResponse({"id": self._folder.place(path).id})

    async def import_drawings(self, request: Request) -> Response:
        """A new job of dropped drawings, sent as a form."""
        drawings, said = await _dropped(request)
        name = said.pop("name", "")
        told = Told(**{key: said.get(key, "") for key in _TOLD})
        path, lines, pictures = await run_in_threadpool(
            import_job, self._folder.root, name, drawings, told
        )
        answer = {"id": self._folder.place(path).id, "report": lines, "pictures": pictures}
        return JSONResponse(answer)

    async def add_drawings(self, request: Request) -> Response:
        """The pieces of dropped drawings, sent as a form, shown; or added to the job, where it
        says which are `chosen`, as JSON."""
        drawings, said = await _dropped(request)
        body: dict[str, Any] = {**said}
        if "chosen" in said:
            body["chosen"] = _json(said["chosen"])
        with TemporaryDirectory() as folder:
            put = [await run_in_threadpool(kept_in, Path(folder), each) for each in drawings]
            body["paths"] = list(map(str, put))
            return JSONResponse(await (await self._process(request)).ask("drawings", body))

    async def order(self, request: Request) -> Response:
        """The counts in an `order`'s file and maybe its `sheet`, sent as a form."""
        async with request.form(max_files=1, max_fields=2) as form:  # the sheet, and the tab
            file, sheet = form.get("order"), str(form.get("sheet") or "")
            if not isinstance(file, UploadFile):
                raise MarkerError("the page sent no file of an order.")
            dropped = Dropped(file.filename or "", await file.read())
        with TemporaryDirectory() as folder:
            path = await run_in_threadpool(kept_in, Path(folder), dropped)
            body = {"path": str(path), "sheet": sheet}
            return JSONResponse(await (await self._process(request)).ask("order", body))

    async def check(self, request: Request) -> Response:
        """A photo with the outlines that were found in it: `?name=photo.jpg`."""
        place = self._folder.job(request.path_params["job"])
        return FileResponse(check_picture(place.path, request.query_params.get("name", "")))

    def asked(self, what: str) -> Handler:
        """A route that asks a job's process, with the address's parameters."""

        async def answer(request: Request) -> Response:
            values = {key: value for key, value in request.query_params.items() if key != "key"}
            return JSONResponse(await (await self._process(request)).ask(what, values))

        return answer

    def told(self, what: str) -> Handler:
        """A route that hands a job's process what the request holds."""

        async def answer(request: Request) -> Response:
            return JSONResponse(
                await (await self._process(request)).ask(what, await _body(request))
            )

        return answer

    async def act(self, request: Request) -> Response:
        """Something done to a part of the job: `layout/move`, `pattern/set`."""
        what = request.path_params["what"]
        name = what if what == STOP else f"{request.path_params['room']} {what}"
        return await self.told(name)(request)

    async def file(self, request: Request) -> Response:
        """A drawing or print made on request, to download: `?kind=diagram.pdf`."""
        made = await (await self._process(request)).ask("file", dict(request.query_params))
        headers = {"Content-Disposition": f'attachment; filename="{made["name"]}"'}
        return Response(made["content"], media_type=made["type"], headers=headers)

    async def events(self, request: Request) -> Response:
        """What happens on the job's table, as server-sent events."""
        told = self._told(request, await self._process(request))
        return StreamingResponse(told, media_type="text/event-stream")

    async def _told(self, request: Request, process: WorkerProcess) -> AsyncIterator[str]:
        queue = process.listen()
        silent = 0.0
        try:
            yield ": here\n\n"
            while not (self._ending or await request.is_disconnected()):
                try:
                    event = await asyncio.wait_for(queue.get(), LOOKED_UP_EVERY_SECONDS)
                except TimeoutError:
                    silent += LOOKED_UP_EVERY_SECONDS
                    if silent >= HEARTBEAT_SECONDS:
                        silent = 0.0
                        yield ": still here\n\n"
                    continue
                yield f"data: {json.dumps(event, ensure_ascii=False)}\n\n"
        finally:
            process.ignore(queue)

    def _listed(self) -> list[dict[str, Any]]:
        return [self._summary(place) for place in self._folder.jobs()]

    def _summary(self, place: JobPlace) -> dict[str, Any]:
        name = _name(place.path) or place.shown
        laid = job_folder(name, root=self._folder.outputs) / LAYOUT
        return {"id": place.id, "path": place.shown, "name": name, "laid": laid.is_file()}

    async def _process(self, request: Request) -> WorkerProcess:
        place = self._folder.job(request.path_params["job"])
        async with self._opening:  # a page asks for several things at once
            process = self._open.pop(place.id, None)
            if process is None or not process.alive:
                process = await self._started(place)
            self._open[place.id] = process  # the latest asked comes last
        return process

    async def _started(self, place: JobPlace) -> WorkerProcess:
        while len(self._open) >= MOST_OPEN:
            self._open.pop(next(iter(self._open))).end()
        spare, self._spare = self._spare, None
        process = spare if spare is not None and spare.alive else WorkerProcess(WaitingDesk)
        await process.ask(OPEN, {"path": str(place.path), "outputs": str(self._folder.outputs)})
        self._spare = WorkerProcess(WaitingDesk)
        return process


async def _body(request: Request) -> Values:
    """The JSON object of a request, empty where it has none."""
    text = await request.body()
    values = _json(text) if text else {}
    if not isinstance(values, dict):
        raise MarkerError("the page sent something that is no JSON object.")
    return values


def _json(text: str | bytes) -> Any:
    """What JSON says; None for what is none."""
    try:
        return json.loads(text)
    except (ValueError, RecursionError):
        return None


async def _dropped(request: Request) -> tuple[list[Dropped], dict[str, str]]:
    """The drawings of a form, and what it says besides."""
    async with request.form(max_files=LARGEST_DRAWINGS, max_fields=12) as form:
        files = [each for each in form.getlist("drawing") if isinstance(each, UploadFile)]
        drawings = [Dropped(each.filename or "", await each.read()) for each in files]
        said = {key: str(value) for key, value in form.items() if key != "drawing"}
    return drawings, said


def _name(path: Path) -> str | None:
    """The job's name, as far as the file can be read at all."""
    try:
        name = tomllib.loads(path.read_text(encoding="utf-8")).get("name")
    except (OSError, ValueError):
        return None
    return name if isinstance(name, str) else None


def _failed(_request: Request, error: Exception) -> Response:
    assert isinstance(error, RequestFailed)
    return _refused(error.failure)


def _faulty(_request: Request, error: Exception) -> Response:
    assert isinstance(error, FaultyInput)
    return _refused(Failure.of(error))


def _refused(failure: Failure) -> Response:
    answer = {"message": failure.message, "faults": list(failure.faults)}
    return JSONResponse(answer, _FAULTY if failure.faulty else _CANNOT)


def _missing(_request: Request, error: Exception) -> Response:
    return JSONResponse({"message": str(error)}, _NOT_FOUND)
