"""A time-stamp authority of one's own, made of the machine's openssl, for a test."""

import threading
from collections.abc import Iterator
from contextlib import contextmanager
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path

from tests.openssl import openssl

CONFIG = """
[ req ]
distinguished_name = name
[ name ]
[ root ]
basicConstraints = critical,CA:TRUE
keyUsage = critical,keyCertSign
subjectKeyIdentifier = hash
[ leaf ]
basicConstraints = critical,CA:FALSE
keyUsage = critical,digitalSignature
extendedKeyUsage = critical,timeStamping
subjectKeyIdentifier = hash
authorityKeyIdentifier = keyid
[ tsa ]
default_tsa = tsa_one
[ tsa_one ]
serial = {folder}/serial
signer_cert = {folder}/tsa.pem
signer_key = {folder}/tsa.key
signer_digest = sha256
default_policy = 1.3.6.1.4.1.99999.1
digests = sha256, sha512
accuracy = secs:1
"""


def make_authority(folder: Path, name: str = "Stamps") -> Path:
    """Make the keys and certificates of an authority; return its root certificate."""
    (folder / "openssl.cnf").write_text(CONFIG.format(folder=folder))
    (folder / "serial").write_text("01\n")
    for who in ("root", "tsa"):
        openssl(f"ecparam -name prime256v1 -genkey -noout -out {who}.key", folder=folder)
    openssl(
        f"req -x509 -new -key root.key -subj /CN={name}-root -days 30 -config openssl.cnf"
        " -extensions root -out root.pem",
        folder=folder,
    )
    openssl(
        f"req -new -key tsa.key -subj /CN={name} -config openssl.cnf -out tsa.csr",
        folder=folder,
    )
    openssl(
        "x509 -req -in tsa.csr -CA root.pem -CAkey root.key -set_serial 2 -days 30"
        " -extfile openssl.cnf -extensions leaf -out tsa.pem",
        folder=folder,
    )
    return folder / "root.pem"


@contextmanager
def serving(folder: Path) -> Iterator[str]:
    """Answer time-stamp requests over HTTP by `openssl ts`; yields the address."""

    class Authority(BaseHTTPRequestHandler):
        def do_POST(self) -> None:
            asked = self.rfile.read(int(self.headers["Content-Length"]))
            (folder / "asked.tsq").write_bytes(asked)
            openssl(
                "ts -reply -queryfile asked.tsq -config openssl.cnf -section tsa_one"
                " -out answer.tsr",
                folder=folder,
            )
            answer = (folder / "answer.tsr").read_bytes()
            self.send_response(200)
            self.send_header("Content-Type", "application/timestamp-reply")
            self.send_header("Content-Length", str(len(answer)))
            self.end_headers()
            self.wfile.write(answer)

        def log_message(self, *args: object) -> None:
            """Stay quiet."""

    server = ThreadingHTTPServer(("127.0.0.1", 0), Authority)
    thread = threading.Thread(target=server.serve_forever)
    thread.start()
    try:
        yield f"http://127.0.0.1:{server.server_port}/"
    finally:
        server.shutdown()
        thread.join()
        server.server_close()
