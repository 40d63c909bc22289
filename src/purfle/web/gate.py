"""The gate: who may speak to the server, and what every answer says to the browser.

Only this machine's browser that was opened with the secret of this launch gets in. Sources: RFC 9110 (Host, Origin),
RFC 6265bis (SameSite), W3C Fetch Metadata (Sec-Fetch-Site), W3C Content Security Policy Level 3.
"""

import hmac
import secrets
from http.cookies import CookieError, SimpleCookie

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import PlainTextResponse, RedirectResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

OWN_HEADER = "x-purfle-page"
"""Every request that changes something carries it; a form of a foreign page cannot."""
LARGEST_BODY = 32_000_000
"""Bytes of a request at most (a picture that is dropped); all else is small."""
LARGEST_WORDS = 200_000
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; font-src 'self'; "
    "connect-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
)
ALWAYS = {
    "content-security-policy": POLICY,
    "x-content-type-options": "nosniff",
    "referrer-policy": "no-referrer",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "camera=(), microphone=(), geolocation=()",
}
CLOSED = (
    "This address opens only from the link that Purfle shows in the terminal.\n"
    "Mend: open that link again, or start anew with: purfle open JOB\n"
)


class TooLarge(Exception):
    """More came than a request may hold."""


class Gate:
    """Around the whole application. `host` is the one address that it answers to, with its port."""

    def __init__(self, app: ASGIApp, host: str, secret: str) -> None:
        self.app = app
        self.host = host
        self.secret = secret
        self.pass_word = secrets.token_urlsafe(32)
        self.cookie = f"purfle-{host.rpartition(':')[2]}"

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let through what may pass; every answer gets the headers."""
        if scope["type"] == "lifespan":
            await self.app(scope, receive, send)
            return
        if scope["type"] != "http":
            return

        async def sent(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in ALWAYS.items():
                    headers[name] = value
                headers.setdefault("cache-control", "no-store")
            await send(message)

        answer = self._refusal(scope)
        if answer is not None:
            await answer(scope, receive, sent)
            return
        await self.app(scope, _counted(scope, receive), sent)

    def _refusal(self, scope: Scope) -> Response | None:
        """What is answered instead; None for what may pass."""
        headers, path = Headers(scope=scope), scope["path"]
        if headers.getlist("host") != [self.host]:
            return PlainTextResponse("Wrong host.\n", 421)
        site = headers.get("sec-fetch-site", "same-origin")
        if path.startswith("/open/") and scope["method"] == "GET":
            if not hmac.compare_digest(path.removeprefix("/open/").encode(), self.secret.encode()):
                return PlainTextResponse(CLOSED, 403)
            answer = RedirectResponse("/", 303)
            answer.set_cookie(self.cookie, self.pass_word, httponly=True, samesite="strict", path="/")
            return answer
        if not self._has_pass(headers.get("cookie", "")):
            return PlainTextResponse(CLOSED, 403)
        if site not in ("same-origin", "none"):
            return PlainTextResponse("Asked from another site.\n", 403)
        if scope["method"] not in ("GET", "HEAD"):
            if headers.get("origin") != f"http://{self.host}" or site != "same-origin":
                return PlainTextResponse("Asked from another site.\n", 403)
            if not headers.get(OWN_HEADER):
                return PlainTextResponse("The page's own header is missing.\n", 403)
        return None

    def _has_pass(self, cookies: str) -> bool:
        try:
            found = SimpleCookie(cookies).get(self.cookie)
        except CookieError:
            return False
        return found is not None and hmac.compare_digest(found.value.encode(), self.pass_word.encode())


def _counted(scope: Scope, receive: Receive) -> Receive:
    """The body as it comes, counted while it is read."""
    most = LARGEST_BODY if scope["path"] == "/artwork" else LARGEST_WORDS
    come = 0

    async def counting() -> Message:
        nonlocal come
        message = await receive()
        come += len(message.get("body", b""))
        if come > most:
            raise TooLarge
        return message

    return counting
