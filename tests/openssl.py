"""The openssl of the machine: another reader of what the product writes."""

import shutil
import subprocess
from pathlib import Path


def openssl(command: str, *, folder: Path) -> str:
    """Run an openssl command in a folder and return what it printed; it must succeed."""
    program = shutil.which("openssl")
    assert program, "Install openssl (make browser does)."
    done = subprocess.run(
        [program, *command.split()], cwd=folder, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout + done.stderr
