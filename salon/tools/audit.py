"""Ask the Python Packaging Advisory Database whether a locked dependency has a known fault.

`make check` runs it. Without a way to the database it says so and does not fail: what could
not be asked is no answer.
"""

import json
import subprocess
import sys
from pathlib import Path
from typing import NotRequired, TypedDict

LOCK = Path(__file__).resolve().parents[1] / "requirements" / "run.txt"


class Fault(TypedDict):
    """A known fault, as the database tells it."""

    id: str
    fix_versions: list[str]


class Dependency(TypedDict):
    """A locked dependency with its faults; without `vulns` it was not asked for."""

    name: str
    version: str
    vulns: NotRequired[list[Fault]]


def audited(lock: Path) -> list[Dependency] | None:
    """Return the locked dependencies with their faults; None where nobody answered."""
    command = [sys.executable, "-m", "pip_audit", "--requirement", str(lock)]
    options = ["--disable-pip", "--require-hashes", "--format", "json", "--progress-spinner"]
    done = subprocess.run(
        [*command, *options, "off", "--timeout", "15"],
        capture_output=True,
        text=True,
        check=False,
    )
    try:
        found: list[Dependency] = json.loads(done.stdout)["dependencies"]
    except (ValueError, KeyError):
        lines = done.stderr.strip().splitlines()
        sys.stderr.write(f"{lines[-1]}\n" if lines else "")
        return None
    return found


def main() -> int:
    """Print what was found; return 1 where a dependency has a known fault."""
    found = audited(LOCK)
    if found is None:
        sys.stdout.write("Dependencies: NOT audited, the advisory database did not answer.\n")
        return 0
    faults = [(package, fault) for package in found for fault in package.get("vulns", ())]
    for package, fault in faults:
        fixed = ", ".join(fault["fix_versions"]) or "no version yet"
        sys.stdout.write(
            f"{package['name']} {package['version']}: {fault['id']}, fixed in {fixed}\n"
        )
    sys.stdout.write(f"Dependencies: {len(found)} audited, {len(faults)} known faults.\n")
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main())
