"""An installation as a salon has it: its own database, processes in production mode."""

import os
import re
import socket
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import IO

from tests.serving.visitor import Visitor

ROOT = Path(__file__).resolve().parents[2]
SITE = "salon.local"
LISTENING = re.compile(r"Listening at: http://127\.0\.0\.1:(\d+)")


@dataclass
class Service:
    """A process that was started here, its port and what it wrote."""

    process: subprocess.Popen[bytes]
    log: Path
    port: int = 0

    @property
    def is_alive(self) -> bool:
        return self.process.poll() is None

    def said(self) -> str:
        return self.log.read_text(errors="replace")

    def wait_until(self, holds: Callable[[], bool]) -> None:
        """Ask again until something holds; a process that ended meanwhile is a failure."""
        while not holds():
            assert self.is_alive, self.said()
            time.sleep(0.05)

    def stop(self) -> None:
        """End it as a supervisor does, and wait for its end."""
        self.process.terminate()
        self.process.wait()

    def workers(self) -> list[int]:
        """Return the process numbers of its children."""
        path = Path(f"/proc/{self.process.pid}/task/{self.process.pid}/children")
        return [int(number) for number in path.read_text().split()]


@dataclass
class Installation:
    """Where it lies, how its processes are told so, and which of them run."""

    folder: Path
    environment: dict[str, str]
    database: str  # the name of the database, or the file
    services: list[Service] = field(default_factory=list)
    prefix: tuple[str, ...] = ()  # a command that every process is started by

    def start(self, *command: str, **more: str) -> Service:
        log = self.folder / f"log-{len(self.services)}"
        out: IO[bytes]
        with log.open("wb") as out:
            process = subprocess.Popen(
                [*self.prefix, *command],
                cwd=ROOT,
                env={**self.environment, **more},
                stdout=out,
                stderr=subprocess.STDOUT,
            )
        service = Service(process, log)
        self.services.append(service)
        return service

    def web(self, *more: str, port: int = 0, **environment: str) -> Service:
        """Start the web service and wait until it answers that it runs."""
        service = self.start(
            sys.executable, "-m", "gunicorn", "salon.wsgi", "-c", "salon/gunicorn.py",
            "--bind", f"127.0.0.1:{port}", "--workers", "1", *more, **environment,
        )  # fmt: skip
        service.wait_until(lambda: LISTENING.search(service.said()) is not None)
        found = LISTENING.search(service.said())
        assert found
        service.port = int(found.group(1))
        service.wait_until(lambda: self.answers(service.port))
        return service

    def answers(self, port: int, path: str = "/healthz") -> bool:
        """Return whether a service says over plain HTTP that all is well."""
        try:
            return Visitor(port, SITE).get(path).status == 200
        except OSError:
            return False

    def stop_all(self) -> None:
        for service in self.services:
            if service.is_alive:
                service.stop()


@contextmanager
def free_port() -> Iterator[int]:
    """Give a port that nobody listens on."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port: int = free.getsockname()[1]
    yield port


def surroundings(folder: Path, url: str, var: Path) -> dict[str, str]:
    """Return the environment of a service in production mode."""
    kept = ("SECRET_KEY", "SIGNING_KEY", "STORAGE_KEY", "PATH", "PGOPTIONS")
    return {
        **{name: os.environ[name] for name in kept if name in os.environ},
        "SALON_MODE": "production",
        "DATABASE_URL": url,
        "ALLOWED_HOSTS": SITE,
        "VAR_DIR": str(var),
        "MEDIA_ROOT": str(folder / "media"),
        "ANCHOR_DIR": str(folder),
        "PROXY_COUNT": "1",
        "EMAIL_BACKEND": "django.core.mail.backends.locmem.EmailBackend",
    }
