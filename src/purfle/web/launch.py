"""`purfle open`: the server on this machine alone, and the page in the maker's browser."""

import secrets
import shutil
import socket
import sys
import tempfile
import threading
import webbrowser
from argparse import Namespace
from pathlib import Path

import uvicorn

from purfle.errors import FolderError
from purfle.web.app import Pages
from purfle.web.gate import Gate
from purfle.web.store import JOB

LOOPBACK = "127.0.0.1"


def run(arguments: Namespace) -> int:
    """Serve until it is stopped."""
    folder = job_folder(Path(arguments.job))
    shelf = Path(tempfile.mkdtemp(prefix="purfle-"))
    try:
        return serve(folder, shelf, arguments.port, not arguments.no_browser)
    finally:
        shutil.rmtree(shelf, ignore_errors=True)


def job_folder(given: Path) -> Path:
    """The folder that holds job.toml. Raises FolderError."""
    folder = given.parent if given.is_file() and given.name == JOB else given
    if not (folder / JOB).is_file():
        mend = "Make a job with: purfle new FOLDER PICTURE, then: purfle open FOLDER"
        raise FolderError(f"There is no {JOB} in this folder", str(given), mend)
    return folder.resolve()


def serve(folder: Path, shelf: Path, port: int, browser: bool) -> int:
    """The server of one job, on a free port where `port` is 0."""
    listening = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listening.bind((LOOPBACK, port))
        listening.listen(64)  # who comes before the server is ready waits, instead of being refused
    except OSError as refusal:
        raise FolderError(f"This port cannot be used: {refusal.strerror}", str(port), "Leave --port out.") from refusal
    host = f"{LOOPBACK}:{listening.getsockname()[1]}"
    secret = secrets.token_urlsafe(24)
    app = Gate(Pages(folder, shelf).app(), host, secret)
    address = f"http://{host}/open/{secret}"
    print(f"The page of {folder.name}: {address}", flush=True)
    print("It is for this machine alone. Ctrl-C ends it; the job stays in its folder.", flush=True)
    if browser:
        threading.Timer(0.3, webbrowser.open, [address]).start()
    quiet = {"log_level": "warning", "access_log": False, "server_header": False}
    config = uvicorn.Config(app, timeout_graceful_shutdown=1, **quiet)  # type: ignore[arg-type]
    try:
        uvicorn.Server(config).run(sockets=[listening])
    except KeyboardInterrupt:
        print("\nClosed. The job stays as it is.", file=sys.stderr)
    return 0
