"""The requests: who may make them and what they answer.

Only this machine's own browser, and only the page that holds the secret of the start address: the address carries it
after #, which no browser sends, the page sends it back in a header. Host and Origin must be ours, no other origin is
allowed anything, bodies are limited, and nothing but the named files of one folder and the results listed in a
manifest is ever read.
"""

from __future__ import annotations

import hmac
import json
import secrets
from collections.abc import Callable
from importlib import resources
from typing import TYPE_CHECKING, Any

from templategen.page.desk import Desk, Refused

if TYPE_CHECKING:
    from starlette.applications import Starlette
    from starlette.requests import Request
    from starlette.responses import Response

LARGEST_BODY = 1_500_000  # bytes: a spec of the largest size and what is asked about it
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob: data:; connect-src 'self'; "
    "base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
)
HEADERS = {
    "Content-Security-Policy": POLICY,
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "no-referrer",
    "Cache-Control": "no-store",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
}
STATIC = {
    "": ("page.html", "text/html; charset=utf-8"),
    "page.css": ("page.css", "text/css; charset=utf-8"),
    "page.js": ("page.js", "text/javascript; charset=utf-8"),
    "fields.js": ("fields.js", "text/javascript; charset=utf-8"),
    "talk.js": ("talk.js", "text/javascript; charset=utf-8"),
}
TYPES = {
    "svg": "image/svg+xml",
    "pdf": "application/pdf",
    "html": "text/html; charset=utf-8",
    "json": "application/json",
    "csv": "text/csv; charset=utf-8",
}


def application(desk: Desk, port: int, secret: str) -> Starlette:
    """The page as an ASGI application. port: that it will be asked at; secret: what every question must carry."""
    from starlette.applications import Starlette
    from starlette.responses import Response
    from starlette.routing import Route

    host = f"127.0.0.1:{port}"

    def answer(status: int, data: Any) -> Response:
        text = json.dumps(data, ensure_ascii=False, allow_nan=False)
        return Response(text, status, HEADERS, "application/json")

    def refusal(request: Request, needs_secret: bool) -> Response | None:
        if request.headers.get("host") != host:
            return answer(403, {"error": "this page answers only at the address it was opened with"})
        origin = request.headers.get("origin")
        if origin is not None and origin != f"http://{host}":
            return answer(403, {"error": "another page asked"})
        given = request.headers.get("authorization", "")
        if needs_secret and not hmac.compare_digest(given.encode(), f"Bearer {secret}".encode()):
            return answer(401, {"error": "open the page with the address that templategen open printed"})
        return None

    async def static(request: Request) -> Response:
        name = request.path_params.get("name", "")
        if (no := refusal(request, needs_secret=False)) is not None:
            return no
        if name not in STATIC:
            return answer(404, {"error": "there is nothing here"})
        file, kind = STATIC[name]
        data = resources.files("templategen.page").joinpath("static", file).read_bytes()
        return Response(data, 200, HEADERS, kind)

    async def ask(request: Request) -> Response:
        from starlette.concurrency import run_in_threadpool

        if (no := refusal(request, needs_secret=True)) is not None:
            return no
        question: Callable[..., Any] | None = desk.questions.get(request.path_params["question"])
        if question is None:
            return answer(404, {"error": "there is no such question"})
        body = b""
        async for piece in request.stream():
            body += piece
            if len(body) > LARGEST_BODY:
                return answer(413, {"error": "that is larger than a spec can be"})
        try:
            given = json.loads(body or b"{}")
        except (ValueError, RecursionError):
            return answer(400, {"error": "the question is no JSON"})
        try:
            return answer(200, await run_in_threadpool(desk.answer, question, given))
        except Refused as error:
            return answer(error.status, {"error": str(error), **error.more})

    async def result(request: Request) -> Response:
        if (no := refusal(request, needs_secret=True)) is not None:
            return no
        path = desk.result(request.path_params["job"], request.path_params["file"])
        if path is None:
            return answer(404, {"error": "there is no such result"})
        kind = TYPES.get(path.suffix[1:], "application/octet-stream")
        return Response(path.read_bytes(), 200, HEADERS, kind)

    return Starlette(
        routes=[
            Route("/", static, methods=["GET"]),
            Route("/{name}", static, methods=["GET"]),
            Route("/ask/{question}", ask, methods=["POST"]),
            Route("/results/{job}/{file}", result, methods=["GET"]),
        ]
    )


def serve(desk: Desk, port: int, browse: bool, say: Callable[[str], None]) -> None:
    """Open the page and answer until interrupted. port: 0 for any that is free."""
    import socket
    import webbrowser

    import uvicorn

    with socket.socket(socket.AF_INET, socket.SOCK_STREAM) as listening:
        listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        listening.bind(("127.0.0.1", port))
        taken = listening.getsockname()[1]
        secret = secrets.token_urlsafe(24)
        address = f"http://127.0.0.1:{taken}/#{secret}"
        config = uvicorn.Config(
            application(desk, taken, secret),
            log_level="error",
            access_log=False,
            timeout_graceful_shutdown=2,
            server_header=False,
            date_header=False,
            limit_concurrency=64,
        )
        say(f"The page is open at {address}\nInterrupt (Ctrl-C) closes it; what is saved stays.")
        if browse:
            webbrowser.open(address)
        try:
            uvicorn.Server(config).run(sockets=[listening])
        finally:
            desk.runs.stop_all()
