"""A production process hands a mail to a server that speaks SMTP (RFC 5321)."""

import os
import socketserver
import subprocess
import sys
import threading
from pathlib import Path

from tests.project.test_environment import PRODUCTION, ROOT


class Server(socketserver.TCPServer):
    allow_reuse_address = True

    def __init__(self) -> None:
        super().__init__(("127.0.0.1", 0), Session)
        self.lines: list[str] = []


class Session(socketserver.StreamRequestHandler):
    """Says yes to everything, as RFC 5321, 4.2.1 numbers it, and keeps what it hears."""

    server: Server

    def handle(self) -> None:
        self._answer("220 mail.example ready")
        in_data = False
        for raw in self.rfile:
            line = raw.decode().rstrip("\r\n")
            self.server.lines.append(line)
            if in_data:
                in_data = line != "."
                if not in_data:
                    self._answer("250 OK")
            elif line.upper() == "DATA":
                in_data = True
                self._answer("354 Go ahead")
            elif line.upper() == "QUIT":
                self._answer("221 Bye")
                return
            else:
                self._answer("250 OK")

    def _answer(self, line: str) -> None:
        self.wfile.write(f"{line}\r\n".encode())


def test_a_mail_reaches_the_server_of_the_address(tmp_path: Path) -> None:
    with Server() as server:
        threading.Thread(target=server.serve_forever, daemon=True).start()
        done = subprocess.run(
            [sys.executable, "manage.py", "sendtestemail", "guest@example.com"],
            cwd=ROOT,
            env={
                "PATH": os.environ["PATH"],
                **PRODUCTION,
                "DATABASE_URL": f"sqlite:///{tmp_path / 'salon.sqlite3'}",
                "EMAIL_URL": f"smtp://127.0.0.1:{server.server_address[1]}",
                "DEFAULT_FROM_EMAIL": "Corner House <hello@salon.example>",
            },
            check=False,
            capture_output=True,
            text=True,
        )
        server.shutdown()

    assert done.returncode == 0, done.stderr
    heard = server.lines
    assert any(line.startswith("mail FROM:<hello@salon.example>") for line in heard)
    assert "rcpt TO:<guest@example.com>" in heard
    assert "From: Corner House <hello@salon.example>" in heard
