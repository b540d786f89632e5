"""A salon without containers: what the units of systemd run, run as they say it."""

import os
import shlex
import shutil
import ssl
import subprocess
from collections import defaultdict
from pathlib import Path

import pytest
from django.db import connection

from tests.serving.installation import ROOT, SITE, Installation, free_port
from tests.serving.visitor import Visitor

PASSWORD = "three kettles and a lamp"
SERVE = ROOT / "salon" / "tools" / "serve.sh"
Unit = dict[str, list[str]]


def _read(path: Path) -> Unit:
    """Return the settings of a unit; one that is named twice has two values."""
    found: Unit = defaultdict(list)
    for line in path.read_text().splitlines():
        if line and line[0] not in "[#":
            name, _equals, value = line.partition("=")
            found[name].append(value)
    return found


def _environment(unit: Unit) -> dict[str, str]:
    lines = [
        line for file in unit["EnvironmentFile"] for line in Path(file).read_text().split("\n")
    ]
    lines += [word for value in unit["Environment"] for word in shlex.split(value)]
    found = dict(line.split("=", 1) for line in lines if line and not line.startswith("#"))
    return {"PATH": os.environ["PATH"], **found}


@pytest.fixture
def place(tmp_path: Path) -> Path:
    """A folder with settings and units, as `make serve` writes them elsewhere."""
    with free_port() as web, free_port() as http, free_port() as https:
        ports = {"BIND": f"127.0.0.1:{web}", "UPSTREAMS": f"127.0.0.1:{web}"}
        ports |= {"HTTP_PORT": str(http), "HTTPS_PORT": str(https)}
    here = {
        "PATH": os.environ["PATH"],
        "SERVE_STATE": str(tmp_path / "state"),
        "SERVE_SETTINGS": str(tmp_path / "salon.env"),
        "SERVE_USER": "root",  # an account that every machine has
    }
    for words in (
        ["settings", here["SERVE_SETTINGS"], SITE],
        ["units", str(tmp_path / "units")],
    ):
        subprocess.run(["/bin/sh", str(SERVE), *words], env=here, check=True)
    with Path(here["SERVE_SETTINGS"]).open("a") as file:
        file.writelines(f"{name}={value}\n" for name, value in ports.items())
    return tmp_path


def test_new_settings_hold_new_keys_that_only_their_owner_reads(place: Path) -> None:
    file = place / "salon.env"
    before = file.read_text()

    subprocess.run(["/bin/sh", str(SERVE), "settings", str(file), SITE], check=True)

    assert file.read_text() == before  # never written over: the keys would be lost
    assert file.stat().st_mode & 0o077 == 0
    keys = {line for line in before.splitlines() if "_KEY=" in line}
    assert len({line.split("=", 1)[1] for line in keys}) == len(keys) == 3


@pytest.mark.skipif(shutil.which("systemd-analyze") is None, reason="no systemd here")
def test_systemd_finds_the_units_valid(place: Path) -> None:
    done = subprocess.run(
        [shutil.which("systemd-analyze") or "", "verify", *map(str, place.glob("units/*"))],
        capture_output=True, text=True, check=False,
    )  # fmt: skip

    assert (done.returncode, done.stderr.strip()) == (0, "")


def test_no_unit_runs_with_more_rights_than_it_needs(place: Path) -> None:
    for path in place.glob("units/*.service"):
        unit = _read(path)
        assert unit["User"], path
        assert unit["NoNewPrivileges"] == ["yes"]
        assert unit["ProtectSystem"][0] in {"strict", "full"}
        assert unit["UMask"] == ["0077"]
    assert _read(place / "units/salon-proxy.service")["CapabilityBoundingSet"] == [
        "CAP_NET_BIND_SERVICE"
    ]


@pytest.mark.slow
@pytest.mark.django_db(transaction=True)
@pytest.mark.skipif(connection.vendor != "sqlite", reason="has an SQLite file of its own")
@pytest.mark.skipif(shutil.which("caddy") is None, reason="caddy is not installed")
def test_what_the_units_run_is_a_salon_that_a_tablet_can_trust(
    place: Path, salon_file: Path
) -> None:
    units = {path.stem: _read(path) for path in place.glob("units/*.service")}
    state = place / "state"
    state.mkdir()
    shutil.move(salon_file, state / "salon.sqlite3")  # as after an earlier release
    here = Installation(place, _environment(units["salon-web"]), "")
    for command in units["salon-migrate"]["ExecStart"]:
        subprocess.run(shlex.split(command), cwd=ROOT, env=here.environment, check=True)
    founding = ["--time-zone", "Europe/Dublin", "--owner", "ada", "--owner-name", "Ada"]
    _manage(place, "found_salon", "--name", "Corner House", *founding, typed=f"{PASSWORD}\n")
    try:
        web, worker, proxy = (
            here.start(*shlex.split(units[name]["ExecStart"][0]), **_environment(units[name]))
            for name in ("salon-web", "salon-worker", "salon-proxy")
        )
        web.port = int(here.environment["BIND"].rpartition(":")[2])
        web.wait_until(lambda: here.answers(web.port, "/readyz"))
        worker.wait_until(lambda: b'"running"' in Visitor(web.port, SITE).get("/readyz").body)
        plain = Visitor(int(here.environment["HTTP_PORT"]), SITE)
        proxy.wait_until(lambda: here.answers(plain.port, "/trust/"))

        # A new tablet: over plain HTTP it reads how to trust, and gets the certificate.
        assert "full trust" in plain.get("/trust/").text
        root = plain.get("/trust/root.crt")
        assert root.headers["Content-Type"] == "application/x-x509-ca-cert"
        assert plain.get("/sign-in/").location.startswith("https://")
        assert b"PRIVATE" not in plain.get("/trust/root.key").body
        trust = ssl.create_default_context(cadata=root.text)
        tablet = Visitor(int(here.environment["HTTPS_PORT"]), SITE, trust)
        proxy.wait_until(lambda: _is_up(tablet))
        tablet.sign_in("ada", PASSWORD)
        assert tablet.get("/salon/").status == 200

        drill = shlex.split(units["salon-drill"]["ExecStart"][0])
        done = subprocess.run(
            drill, cwd=ROOT, env=here.environment, capture_output=True, text=True, check=False
        )
        assert "Restored and compared" in done.stdout, done.stderr
        told = _manage(place, "doctor")
        for subject in (
            "Worker",
            "Proxy",
            "Static files",
            "Guards",
            "Photos",
            "Clock",
            "Address",
        ):
            assert f"ok    {subject}: " in told, told
    finally:
        here.stop_all()


def _is_up(tablet: Visitor) -> bool:
    try:
        return tablet.get("/healthz").status == 200
    except OSError:
        return False


def _manage(place: Path, *words: str, typed: str = "") -> str:
    """Run a command of the product as the README says."""
    settings = {"SERVE_SETTINGS": str(place / "salon.env"), "SERVE_USER": "root"}
    return subprocess.run(
        ["/bin/sh", str(SERVE), "manage", *words],
        env={"PATH": os.environ["PATH"], **settings},
        input=typed,
        capture_output=True,
        text=True,
        check=False,
    ).stdout
